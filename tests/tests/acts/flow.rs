//! A two-gang box at the foot of a stair is noted, made up and labelled by a thumb that presses what is shown.

use boxproof_core::app::Sent;
use boxproof_core::job::{Kind, Layer, Notes};
use boxproof_core::screen::Screen;

use crate::screen_support::Thumb;

/// What is known before the box is opened: the panel, the box that feeds it, the boxes that it leads to, with what is
/// in them. The runs from B1 and from B6 lead nobody knows where.
const BEFORE: &str = r#"
person name="W. Tolliver"
set site range="wire-connector-small 14 2 4"
set site range="wire-connector-middle 14 2 5"
set site range="wire-connector-large 14 2 6"
job name="Back stair, wall light" edition=2020
arrive "W. Tolliver" job="Back stair, wall light"
box tag=P location="panel in the cellar" kind=panel system=split_phase
device P:7 kind=breaker-1p-15 number=7 leg=a
box tag=B1 location="cellar, by panel" kind=square-4-1.5
box tag=B4 location="glue bench receptacle" kind=device-3x2-2.75
box tag=B5 location="wall light, foot of stair" kind=round-4-2.125
box tag=B6 location="top of stair" kind=nonmetallic-1g volume=20.3
box tag=B7 location="landing ceiling" kind=octagon-4-1.5
run B1/A to=P kind=nm-14-2 length="9 ft" feed=P:7
run B1/B to=? kind=nm-14-2 length="26 ft"
run B6/A to=? kind=nm-14-3 length="31 ft est"
run B7/A to=B6/B kind=nm-14-2 length="8 ft est"
join B1+hot connector=wire-connector-small B1/A/black B1/B/black
join B1+neutrals connector=wire-connector-small B1/A/white B1/B/white
join B1+grounds connector=wire-connector-small B1/A/bare B1/B/bare >B1~
device B4:receptacle kind=receptacle-15-duplex gang=1
device B5:light kind=luminaire-led watts="lamp 12"
device B6:switch kind=switch-3way gang=1
land B6/A/black B6:switch.traveler_1 screw
land B6/A/red B6:switch.traveler_2 screw
land B6/B/black B6:switch.common screw
place B6/A/white through B6/B/white
join B6+grounds connector=wire-connector-small B6/A/bare B6/B/bare >B6:switch.ground
device B7:light kind=luminaire watts="lamp 34"
join B7+hot connector=wire-connector-small B7/A/black B7:light.hot
join B7+neutrals connector=wire-connector-small B7/A/white B7:light.neutral
join B7+grounds connector=wire-connector-middle B7/A/bare B7:light.ground >B7~
"#;

/// What was asked for. It is noted on its own page and is no fact of the box, so its touches are not counted here.
const ASKED: &str = r#"
promise B5:light.lamp toggled "B3:switch and receptacle on one yoke.handle"
promise B7:light.lamp toggled "B3:three-way switch.handle" B6:switch.handle
promise B4:receptacle.upper always
"#;

/// The flow when it is through.
pub(crate) struct Done {
    /// Every touch and typed text that was sent.
    pub(crate) acts: usize,
    /// Every screen that was reached.
    pub(crate) screens: Vec<Screen>,
    thumb: Thumb,
}

impl Done {
    pub(crate) fn notes(&self) -> Notes {
        self.thumb.notebook.notes(self.thumb.notebook.sites().unwrap()[0]).unwrap()
    }

    /// The layer in which the box is planned.
    pub(crate) fn layer(&self) -> Layer {
        Layer::Planned(self.notes().things(Kind::Job, Layer::Site)[0])
    }
}

/// Sends a line as another program would; it is no touch.
fn note(thumb: &mut Thumb, line: &str) {
    let site = thumb.notebook.sites().unwrap()[0];
    let drawn = thumb.notebook.revision(site).unwrap();
    let sent = Sent { token: format!("{line} site={site}"), input: None, drawn };
    thumb.notebook.send(&sent).unwrap_or_else(|refusal| panic!("{line}: {refusal}"));
}

/// Notes the box from the front page on.
pub(crate) fn two_gang() -> Done {
    let mut thumb = Thumb::new();
    thumb.press_and_type("New site", "Lantern Lane");
    for line in BEFORE.lines().filter(|line| !line.is_empty()) {
        note(&mut thumb, line);
    }
    let site = thumb.notebook.sites().unwrap()[0];
    thumb.screen = thumb.notebook.screen(&format!("job site={site}")).unwrap();
    thumb.reached.clear();

    // The box, and the run that it is reached by.
    thumb.press("Note a box").choose("Free tags", "B3").choose("It is where this run leads", "B1");
    thumb.choose("Place", "foot of stair").choose("Construction", "nonmetallic two-gang");
    thumb.fill("Volume marked on it", "32.0").choose("Internal cable clamps", "1").press("Note box B3");
    // Runs: one that comes from a noted box, then two more.
    thumb.press("Note a run").choose("Comes from", "B6").press("Note, one more");
    thumb.choose("Type", "14-2 with ground").choose("Comes from", "B4").fill("Length", "11").press("Note run C");
    thumb.press("Note a device").choose("Kind", "three-way switch").press("Note three-way switch");
    // What is planned.
    thumb.choose("Layer", "planned");
    thumb.press("Note a run").choose("Comes from", "B5").fill("Length", "14").press("Note run D");
    thumb.press("Note a device").choose("Kind", "switch and receptacle on one yoke");
    thumb.press("Note switch and receptacle on one yoke");
    for line in ASKED.lines().filter(|line| !line.is_empty()) {
        note(&mut thumb, line);
    }
    thumb.screen = thumb.notebook.screen(&thumb.screen.address).unwrap();
    // The proposed make-up, seen and taken as listed.
    for _ in ["see it", "all as listed"] {
        let main = thumb.main().unwrap();
        thumb.press(&main);
    }
    // All labels as they are proposed, in one act.
    thumb.press("Labels");
    let all = thumb.main().unwrap();
    thumb.press(&all);
    Done { acts: thumb.reached.len(), screens: thumb.reached.clone(), thumb }
}
