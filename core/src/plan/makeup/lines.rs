//! A part as the events that a person would send for it one by one.

use super::{Change, Joined, Part, Target, What};
use crate::catalogue::Catalogue;
use crate::job::{Colour, ThingId, Tip, Wiring};
use crate::token::Line;
use crate::token::path::{tip_text, word_of};
use crate::words::say;

/// A place for a pigtail or an end, as an event names it.
fn target_text(target: &Target) -> String {
    match target {
        Target::Terminal { device, terminal } => format!("{device}.{terminal}"),
        Target::Shell(id) => format!("{id}~"),
    }
}

impl Part {
    /// What a new splice of this part is called, in words.
    pub fn name(&self) -> String {
        let key = match self.what {
            What::Grounds => "screen.splice.name.grounds",
            What::Neutrals => "screen.splice.name.neutrals",
            What::ConstantHot | What::Common | What::Cap | What::Remark => "screen.splice.name.constant_hot",
            What::SwitchedLeg => "screen.splice.name.switched_leg",
            What::Traveler => "screen.splice.name.traveler",
            What::ProtectedHot => "plan.splice.protected_hot",
            What::ProtectedNeutrals => "plan.splice.protected_neutrals",
        };
        say(key, &[])
    }

    /// The events that note this part in the box `at`, without layer and how it is known. `free` makes a splice's name
    /// one that no other splice of the box has.
    pub fn lines(
        &self,
        wiring: &Wiring,
        catalogue: &Catalogue,
        at: ThingId,
        free: &mut dyn FnMut(&str) -> String,
    ) -> Vec<Line> {
        match &self.change {
            Change::Splice(joined) => vec![self.join(joined, wiring, catalogue, at, free)],
            Change::Land { tip, to: to @ Target::Terminal { device, terminal } } => {
                let kind = wiring.devices.get(device).and_then(|note| catalogue.device(note.kind.get()?));
                let landing = super::nets::landing(kind, terminal);
                let line = Line::new("land").word(tip_text(tip)).word(target_text(to));
                vec![line.word(word_of(&landing))]
            }
            Change::Land { tip, to: Target::Shell(_) } => {
                vec![Line::new("place").word(tip_text(tip)).word("shell")]
            }
            Change::Through(a, b) => {
                vec![Line::new("place").word(tip_text(a)).word("through").word(tip_text(b))]
            }
            Change::Cap(tip) => vec![Line::new("place").word(tip_text(tip)).word("capped")],
            Change::Remark(tip, colour) => {
                vec![Line::new("set").word(tip_text(tip)).with("remarked", word_of(colour))]
            }
        }
    }

    fn join(
        &self,
        joined: &Joined,
        wiring: &Wiring,
        catalogue: &Catalogue,
        at: ThingId,
        free: &mut dyn FnMut(&str) -> String,
    ) -> Line {
        let name = match joined.splice {
            Some(splice) => splice.to_string(),
            None => format!("{at}+{}", free(&self.name())),
        };
        let ends = joined.ends.iter().chain(&joined.moved);
        let line = ends.fold(Line::new("join").word(name), |line, tip| line.word(tip_text(tip)));
        let line = joined.pigtails.iter().fold(line, |line, to| line.word(format!(">{}", target_text(to))));
        let line = line.with_some("connector", joined.connector.as_ref());
        // A pigtail is like the first end; the pigtail of a hot is not white because a white is in its splice.
        let first = joined.ends.iter().chain(&joined.moved).find_map(|tip| match tip {
            Tip::Wire { run, wire, .. } => catalogue.conductor(wiring.runs.get(run)?, *wire),
            Tip::Lead { .. } => None,
        });
        let white = first.is_some_and(|conductor| matches!(conductor.colour, Colour::White | Colour::Gray));
        let neutral = matches!(self.what, What::Neutrals | What::ProtectedNeutrals);
        let black = (white && !neutral).then_some("black");
        line.with_some("pigtail", black)
    }
}
