//! From what is known of a box to the box, unfolded.

use std::collections::BTreeMap;

use crate::catalogue::{
    ConnectorForm, DeviceGroup, DeviceType, Metalwork, PointForm, Role, colour_name, connector_name, point_name,
    run_name, run_short_name,
};
use crate::job::{Colour, Note, Place, Side, ThingId, Tip, Wiring};
use crate::name::Called;
use crate::token::path::word_of;
use crate::words::{count, say};

use super::shape::Edge;
use super::unfolded::{
    Cable, Device, End, Face, Finish, Holder, Joint, Label, Metal, Outline, Pigtail, Seat, Sense, Terminal, Unfolded,
};

/// What is shown of a thing or an end beside what the wiring says of it.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Seen {
    /// How sure we are.
    pub edge: Option<Edge>,
    /// It differs from what was found.
    pub changed: bool,
    /// A hazard of the switch table is at this very place: it is hatched, and said.
    pub hazard: bool,
    /// Sent when it is touched.
    pub token: String,
    /// It is the end that is being moved.
    pub held: bool,
}

/// Something that a box picture shows.
#[derive(Debug, Clone, Copy)]
pub enum Shown<'a> {
    /// A conductor's end or a device's lead.
    Tip(&'a Tip),
    /// What is written on an end.
    Label(&'a Tip),
    /// A run where it enters.
    Run(ThingId, Side),
    /// A splice.
    Splice(ThingId),
    /// A device.
    Device(ThingId),
    /// A terminal that takes a conductor, or a lead; a place to touch only if the eye gives it a token.
    Terminal(ThingId, &'a str),
    /// The metal of a box; only whether a hazard is there is asked.
    Shell(ThingId),
}

/// Who looks: knows states, what changed, and what a touch sends.
pub trait Eye {
    /// What is shown of it.
    fn see(&self, shown: Shown<'_>) -> Seen;
}

/// A row of the picture before its ends are known.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
enum Row {
    Splice(ThingId),
    /// Ends on the metal of the box.
    Shell,
    /// Two ends of one conductor that passes through.
    Through(Tip, Tip),
    /// A pigtail from terminal to terminal.
    Jumper(Tip),
    /// On a device, nobody knows on which terminal.
    On(ThingId),
    /// Capped or bare.
    Free,
    /// Noted in two places at once.
    Twice,
    /// Nobody noted where they are.
    Unknown,
}

/// Unfolds the box `at` of a wiring. A run that `before` had in the box and that is there no more keeps its column.
pub fn unfold(called: Called<'_>, at: ThingId, before: &Wiring, eye: &dyn Eye) -> Unfolded {
    let mut unfolding = Unfolding { called, at, eye, rows: BTreeMap::new(), devices: called.wiring.devices_in(at) };
    let tips = unfolding.tips();
    for tip in &tips {
        unfolding.row_of(tip);
    }
    unfolding.order();
    let kind = called.wiring.boxes.get(&at).and_then(|note| note.kind.get());
    let kind = kind.and_then(|kind| called.catalogue.box_type(kind));
    let mut cables: Vec<((u8, String), Cable)> =
        called.wiring.runs_in(at).into_iter().map(|(run, side)| unfolding.cable(run, side)).collect();
    let stays = called.wiring.runs_in(at);
    let gone = before.runs_in(at).into_iter().filter(|run| !stays.contains(run));
    let was = Unfolding { called: Called::new(before, called.catalogue), rows: BTreeMap::new(), ..unfolding.clone() };
    cables.extend(gone.map(|(run, side)| {
        let (place, cable) = was.cable(run, side);
        (place, Cable { removed: true, changed: true, ends: Vec::new(), ..cable })
    }));
    cables.sort_by(|a, b| a.0.cmp(&b.0));
    let inside = Unfolded {
        metal: kind.is_some_and(|kind| kind.metal),
        outline: match kind {
            Some(kind) if kind.none => Outline::Air,
            Some(kind) if kind.octagon => Outline::Octagon,
            _ => Outline::Square,
        },
        hazard: eye.see(Shown::Shell(at)).hazard,
        cables: cables.into_iter().map(|(_, cable)| cable).collect(),
        joints: unfolding.joints(&tips),
        devices: unfolding.devices.iter().map(|device| unfolding.device(*device)).collect(),
        spoken: String::new(),
    };
    let spoken = say(
        "picture.box",
        &[
            ("box", &called.r#box(at)),
            ("cables", &count("picture.cables", inside.cables.len(), &[])),
            ("joints", &count("picture.joints", inside.joints.len(), &[])),
            ("devices", &count("picture.devices", inside.devices.len(), &[])),
        ],
    );
    Unfolded { spoken, ..inside }
}

#[derive(Clone)]
struct Unfolding<'a> {
    called: Called<'a>,
    at: ThingId,
    eye: &'a dyn Eye,
    /// Rows with their numbers, once they are ordered.
    rows: BTreeMap<Row, usize>,
    devices: Vec<ThingId>,
}

impl<'a> Unfolding<'a> {
    fn wiring(&self) -> &'a Wiring {
        self.called.wiring
    }

    fn kind(&self, device: ThingId) -> Option<&'a DeviceType> {
        self.called.catalogue.device(self.wiring().devices.get(&device)?.kind.get()?)
    }

    /// Every end in the box: of cables, of pigtails, leads of devices.
    fn tips(&self) -> Vec<Tip> {
        let wires = |run: ThingId, sides: &[Side]| -> Vec<Tip> {
            let note = self.wiring().runs.get(&run);
            let wires = note.map(|note| self.called.catalogue.conductors(note)).unwrap_or_default();
            let each = wires.into_iter().map(|(wire, _)| wire);
            each.flat_map(|wire| sides.iter().map(move |side| Tip::Wire { run, wire, side: *side })).collect()
        };
        let mut tips: Vec<Tip> =
            self.wiring().runs_in(self.at).into_iter().flat_map(|(run, side)| wires(run, &[side])).collect();
        tips.extend(self.wiring().pigtails_in(self.at).into_iter().flat_map(|run| wires(run, &Side::BOTH)));
        for device in &self.devices {
            let leads = self.kind(*device).into_iter().flat_map(|kind| &kind.points);
            let leads = leads.filter(|point| point.form == PointForm::Lead);
            tips.extend(leads.map(|point| Tip::Lead { device: *device, lead: point.id.clone() }));
        }
        tips
    }

    fn is_inside(&self, tip: &Tip) -> bool {
        match tip {
            Tip::Wire { run, .. } => self.wiring().runs.get(run).is_some_and(crate::job::RunNote::is_inside),
            Tip::Lead { .. } => true,
        }
    }

    /// The row that an end belongs to; none if it is on a terminal here.
    fn row(&self, tip: &Tip) -> Option<Row> {
        let row = match self.wiring().place(tip) {
            Some(Place::Splice(splice)) => Row::Splice(*splice),
            Some(Place::Terminal { device, terminal, .. }) => {
                return if self.terminal(*device, terminal).is_some() { None } else { Some(Row::Unknown) };
            }
            Some(Place::SomewhereOn(device)) => Row::On(*device),
            Some(Place::Shell(_)) => Row::Shell,
            Some(Place::Through(other)) => pair(tip, other),
            Some(Place::Capped | Place::Loose | Place::Absent) => Row::Free,
            None if self.is_twice(tip) => Row::Twice,
            Some(Place::Bus { .. }) | None => {
                let through =
                    |(_, note): &(&Tip, &crate::job::TipNote)| note.place.get() == Some(&Place::Through(tip.clone()));
                match self.wiring().tips.iter().find(through) {
                    Some((other, _)) => pair(tip, other),
                    None => Row::Unknown,
                }
            }
        };
        Some(row)
    }

    fn is_twice(&self, tip: &Tip) -> bool {
        self.wiring().tips.get(tip).is_some_and(|note| note.place.is_twice())
    }

    fn row_of(&mut self, tip: &Tip) {
        if let Some(row) = self.row(tip) {
            self.rows.insert(row, 0);
        } else if self.is_inside(tip) && self.row(&other(tip)).is_none() {
            self.rows.insert(Row::Jumper(first_of(tip, &other(tip))), 0);
        }
    }

    /// From the back of the box to the front.
    fn order(&mut self) {
        let mut rows: Vec<Row> = self.rows.keys().cloned().collect();
        rows.sort_by_cached_key(|row| (self.class(row), self.first(row), row.clone()));
        self.rows = rows.into_iter().enumerate().map(|(n, row)| (row, n)).collect();
    }

    fn members(&self, row: &Row) -> Vec<Tip> {
        match row {
            Row::Splice(splice) => self.wiring().ends_in(*splice).into_iter().cloned().collect(),
            Row::Through(a, b) => vec![a.clone(), b.clone()],
            Row::Jumper(tip) => vec![tip.clone()],
            Row::Shell | Row::On(_) | Row::Free | Row::Twice | Row::Unknown => Vec::new(),
        }
    }

    /// Grounds, neutrals, the rest; what is not joined comes last.
    fn class(&self, row: &Row) -> u8 {
        match row {
            Row::Shell => 0,
            Row::On(_) => 5,
            Row::Free => 6,
            Row::Twice => 7,
            Row::Unknown => 8,
            Row::Jumper(_) => 4,
            Row::Splice(_) | Row::Through(..) => {
                let members = self.members(row);
                if members.iter().any(|tip| self.is_ground(tip)) {
                    1
                } else if members.iter().all(|tip| self.is_neutral(tip)) {
                    2
                } else {
                    3
                }
            }
        }
    }

    /// Splices keep the order in which their first cable ends come.
    fn first(&self, row: &Row) -> Option<Tip> {
        self.members(row).into_iter().min_by_key(|tip| (self.is_inside(tip), tip.clone()))
    }

    fn is_ground(&self, tip: &Tip) -> bool {
        match tip {
            Tip::Wire { run, wire, .. } => {
                let note = self.wiring().runs.get(run);
                note.and_then(|note| self.called.catalogue.conductor(note, *wire)).is_some_and(|wire| wire.ground)
            }
            Tip::Lead { device, lead } => {
                self.kind(*device).and_then(|kind| kind.point(lead)).is_some_and(|point| point.role == Role::Ground)
            }
        }
    }

    fn is_neutral(&self, tip: &Tip) -> bool {
        let white = matches!(self.called.colour(tip), Some(Colour::White | Colour::Gray));
        white && self.remarked(tip).is_none()
    }

    fn remarked(&self, tip: &Tip) -> Option<Colour> {
        self.wiring().tips.get(tip).and_then(|note| note.remarked.get().copied().flatten())
    }

    /// A terminal of a device in this box, by its place.
    fn terminal(&self, device: ThingId, terminal: &str) -> Option<Seat> {
        let place = self.devices.iter().position(|known| *known == device)?;
        let terminal = points(self.kind(device)?).position(|point| point.id == terminal)?;
        Some(Seat::Terminal(place, terminal))
    }

    fn seat(&self, tip: &Tip) -> Option<Seat> {
        if let Some(row) = self.row(tip) {
            return self.rows.get(&row).map(|n| Seat::Joint(*n));
        }
        match self.wiring().place(tip) {
            Some(Place::Terminal { device, terminal, .. }) => self.terminal(*device, terminal),
            _ => None,
        }
    }

    fn cable(&self, run: ThingId, side: Side) -> ((u8, String), Cable) {
        let seen = self.eye.see(Shown::Run(run, side));
        let note = self.wiring().runs.get(&run);
        let here = note.map(|note| note.side(side));
        let kind = note.and_then(|note| note.kind.get());
        let words = kind.map(|kind| run_name(kind)).unwrap_or_default();
        let letter = here.and_then(|here| here.letter.get().cloned()).unwrap_or_else(|| "?".to_owned());
        let enters = here.and_then(|here| here.enters_at.get());
        let far = note.and_then(|note| note.side(side.other()).in_box.get().copied().flatten());
        let from = far.map_or_else(|| say("picture.from_unknown", &[]), |far| self.called.r#box(far));
        let spoken = say("picture.cable", &[("letter", &letter), ("kind", &words), ("from", &from)]);
        let order = enters.map_or(u8::MAX, |point| *point as u8);
        let of_kind = kind.and_then(|kind| self.called.catalogue.run(kind));
        let wires = note.map(|note| self.called.catalogue.conductors(note)).unwrap_or_default();
        let ends = wires.into_iter().filter_map(|(wire, _)| self.end(&Tip::Wire { run, wire, side })).collect();
        let cable = Cable {
            letter: letter.clone(),
            kind: kind.map(|kind| run_short_name(kind)).unwrap_or_default(),
            enters: enters.map(|point| say(&format!("picture.enters.{}", word_of(point)), &[])).unwrap_or_default(),
            from,
            jacket: of_kind.and_then(|kind| kind.jacket.clone()).unwrap_or_default(),
            edge: if far.is_none() { Some(Edge::Unknown) } else { seen.edge },
            changed: seen.changed,
            removed: false,
            ends,
            sense: sense(&spoken, &seen),
        };
        ((order, letter), cable)
    }

    fn end(&self, tip: &Tip) -> Option<End> {
        let seen = self.eye.see(Shown::Tip(tip));
        let seat = self.seat(tip)?;
        let colour = self.called.colour(tip).unwrap_or(Colour::CannotTell);
        let note = self.wiring().tips.get(tip);
        let label = self.label(tip);
        let finish = match (note.map(|note| &note.place), self.row(tip)) {
            (Some(Note::Said(Place::Loose, _)), _) => Finish::Bare,
            (Some(Note::Said(Place::Capped | Place::Absent, _)), _) => Finish::Capped,
            (_, Some(Row::Unknown | Row::Twice | Row::On(_))) => Finish::Unknown,
            _ => Finish::Joined,
        };
        let spoken = self.end_spoken(tip, label.as_ref());
        Some(End {
            colour: word_of(&colour),
            word: colour_name(colour),
            letters: say(&format!("picture.letters.{}", word_of(&colour)), &[]),
            remarked: self.remarked(tip).map(|colour| word_of(&colour)),
            label,
            seat,
            finish,
            edge: seen.edge,
            changed: seen.changed,
            hazard: seen.hazard,
            sense: sense(&spoken, &seen),
        })
    }

    /// What is written on an end; all that is said of it where that was noted twice.
    fn label(&self, tip: &Tip) -> Option<Label> {
        match &self.wiring().tips.get(tip)?.label {
            Note::Said(Some(text), _) => {
                let planned = self.eye.see(Shown::Label(tip)).edge == Some(Edge::Planned);
                Some(Label { text: text.clone(), planned, twice: false })
            }
            Note::Twice(said) => {
                let words = |text: &Option<String>| text.clone().unwrap_or_else(|| say("picture.unwritten", &[]));
                let all: Vec<String> = said.iter().map(|(text, _)| words(text)).collect();
                Some(Label { text: all.join(" / "), planned: false, twice: true })
            }
            Note::Said(None, _) | Note::NotSaid => None,
        }
    }

    fn end_spoken(&self, tip: &Tip, label: Option<&Label>) -> String {
        let place = match self.row(tip) {
            Some(row) => self.row_name(&row),
            None => match self.wiring().place(tip) {
                Some(Place::Terminal { device, terminal, .. }) => say(
                    "name.terminal",
                    &[("device", &self.called.device(*device)), ("terminal", &point_name(terminal))],
                ),
                _ => String::new(),
            },
        };
        let name = self.called.tip(tip);
        match label {
            Some(label) if label.twice => {
                say("picture.end_twice", &[("tip", &name), ("label", &label.text), ("place", &place)])
            }
            Some(label) => say("picture.end_labelled", &[("tip", &name), ("label", &label.text), ("place", &place)]),
            None => say("picture.end", &[("tip", &name), ("place", &place)]),
        }
    }

    fn row_name(&self, row: &Row) -> String {
        match row {
            Row::Splice(splice) => self.called.splice(*splice),
            Row::Shell => say("name.shell", &[]),
            Row::Through(..) => say("picture.through", &[]),
            Row::Jumper(_) => say("picture.jumper", &[]),
            Row::On(device) => say("picture.somewhere_on", &[("device", &self.called.device(*device))]),
            Row::Free => say("picture.free", &[]),
            Row::Twice => say("picture.twice", &[]),
            Row::Unknown => say("picture.unknown", &[]),
        }
    }

    fn joints(&self, tips: &[Tip]) -> Vec<Joint> {
        let mut joints: Vec<(usize, Joint)> = self.rows.iter().map(|(row, n)| (*n, self.joint(row))).collect();
        joints.sort_by_key(|(n, _)| *n);
        let mut joints: Vec<Joint> = joints.into_iter().map(|(_, joint)| joint).collect();
        for tip in tips.iter().filter(|tip| self.is_inside(tip)) {
            for (joint, pigtail) in self.pigtails(tip) {
                if let Some(joint) = joints.get_mut(joint) {
                    joint.pigtails.push(pigtail);
                }
            }
        }
        joints
    }

    fn joint(&self, row: &Row) -> Joint {
        let mut joint = Joint { name: self.row_name(row), ..Joint::default() };
        match row {
            Row::Splice(splice) => {
                let seen = self.eye.see(Shown::Splice(*splice));
                joint.edge = seen.edge;
                joint.changed = seen.changed;
                joint.hazard = seen.hazard;
                let note = self.wiring().splices.get(splice);
                let kind = note.and_then(|note| note.connector.get());
                let known = kind.and_then(|kind| self.called.catalogue.connector(kind));
                let used = self.wiring().ends_in(*splice).len();
                joint.text = kind.map(|kind| connector_name(kind)).unwrap_or_default();
                if let Some(ports) = known.and_then(|kind| kind.ports) {
                    joint.spare = usize::from(ports).saturating_sub(used);
                    let (used, ports) = (used.to_string(), ports.to_string());
                    let form = known.map(|kind| say(&format!("picture.form.{}", word_of(&kind.form)), &[]));
                    let form = form.unwrap_or_default();
                    joint.text = say("picture.ports", &[("form", &form), ("used", &used), ("ports", &ports)]);
                }
                joint.holder = match known.map(|kind| kind.form) {
                    Some(ConnectorForm::WireConnector) => Holder::WireConnector,
                    Some(ConnectorForm::PushIn) => Holder::PushIn,
                    _ => Holder::Other,
                };
                joint.sense = sense(&joint.name, &seen);
            }
            Row::Through(..) => joint.holder = Holder::Through,
            Row::Shell => joint.hazard = self.eye.see(Shown::Shell(self.at)).hazard,
            Row::Jumper(_) => {}
            Row::Twice => (joint.holder, joint.edge) = (Holder::Free, Some(Edge::Disagrees)),
            Row::On(_) | Row::Free | Row::Unknown => joint.holder = Holder::Free,
        }
        if joint.sense == Sense::default() {
            joint.sense.spoken.clone_from(&joint.name);
        }
        joint
    }

    /// The pigtails that an inner end makes: one from its joint to its other side; from a jumper's row one to each
    /// side.
    fn pigtails(&self, tip: &Tip) -> Vec<(usize, Pigtail)> {
        let make = |to: Seat| self.pigtail(tip, to);
        match (tip, self.seat(tip)) {
            (Tip::Lead { device, lead }, Some(Seat::Joint(joint))) => {
                self.terminal(*device, lead).map(|to| (joint, make(to))).into_iter().collect()
            }
            (Tip::Lead { device, lead }, Some(to @ Seat::Terminal(..))) => {
                let Some(row) = self.rows.get(&Row::Jumper(tip.clone())) else { return Vec::new() };
                let own = self.terminal(*device, lead);
                own.into_iter().chain([to]).map(|to| (*row, make(to))).collect()
            }
            (Tip::Wire { side, .. }, Some(Seat::Joint(joint))) => match self.seat(&other(tip)) {
                Some(to @ Seat::Terminal(..)) => vec![(joint, make(to))],
                // Both sides in joints: drawn once.
                Some(to @ Seat::Joint(other)) if *side == Side::Near && other != joint => vec![(joint, make(to))],
                _ => Vec::new(),
            },
            (Tip::Wire { .. }, Some(to @ Seat::Terminal(..))) => {
                let row = self.rows.get(&Row::Jumper(first_of(tip, &other(tip))));
                row.map(|row| (*row, make(to))).into_iter().collect()
            }
            (_, None) => Vec::new(),
        }
    }

    fn pigtail(&self, tip: &Tip, to: Seat) -> Pigtail {
        let seen = self.eye.see(Shown::Tip(tip));
        let colour = self.called.colour(tip).unwrap_or(Colour::CannotTell);
        let key = if matches!(tip, Tip::Lead { .. }) { "picture.lead" } else { "name.pigtail" };
        let word = say(key, &[("colour", &colour_name(colour))]);
        let spoken = self.end_spoken(tip, None);
        let sense = sense(&spoken, &seen);
        Pigtail { colour: word_of(&colour), word, to, edge: seen.edge, changed: seen.changed, sense }
    }

    fn device(&self, id: ThingId) -> Device {
        let seen = self.eye.see(Shown::Device(id));
        let kind = self.kind(id);
        let note = self.wiring().devices.get(&id);
        let name = self.called.device(id);
        let of_kind = kind.map(|kind| self.called.catalogue.device_name(&kind.id)).filter(|words| *words != name);
        let terminals: Vec<Terminal> = kind
            .into_iter()
            .flat_map(points)
            .map(|point| Terminal {
                name: point_name(&point.id),
                hazard: self.eye.see(Shown::Terminal(id, &point.id)).hazard,
                metal: match (point.form, point.metalwork) {
                    (PointForm::Lead, _) => Metal::Lead,
                    (_, Some(Metalwork::Brass)) => Metal::Brass,
                    (_, Some(Metalwork::Silver)) => Metal::Silver,
                    (_, Some(Metalwork::Green)) => Metal::Green,
                    (_, Some(Metalwork::Dark)) => Metal::Dark,
                    (_, Some(Metalwork::Plain) | None) => Metal::Plain,
                },
                sense: match point.form {
                    PointForm::Terminal => {
                        let spoken = say("picture.empty", &[("device", &name), ("terminal", &point_name(&point.id))]);
                        sense(&spoken, &self.eye.see(Shown::Terminal(id, &point.id)))
                    }
                    _ => Sense::default(),
                },
            })
            .collect();
        let place = |id: &str| kind.and_then(|kind| points(kind).position(|point| point.id == id));
        let whole = |link: &str| note.and_then(|note| note.links.get(link)?.get().copied()).unwrap_or(true);
        let links = kind.into_iter().flat_map(|kind| &kind.links);
        let links = links.filter_map(|(link, a, b)| Some((place(a)?, place(b)?, whole(link)))).collect();
        let spoken = match &of_kind {
            Some(kind) => say("picture.device", &[("device", &name), ("kind", kind)]),
            None => name.clone(),
        };
        Device {
            name,
            note: of_kind.unwrap_or_default(),
            face: kind.map_or(Face::Other, |kind| face_of(kind.group)),
            edge: seen.edge,
            changed: seen.changed,
            hazard: seen.hazard,
            terminals,
            links,
            sense: sense(&spoken, &seen),
        }
    }
}

/// The far side of a pigtail; a lead ends at its own device.
fn other(tip: &Tip) -> Tip {
    match tip {
        Tip::Wire { run, wire, side } => Tip::Wire { run: *run, wire: *wire, side: side.other() },
        Tip::Lead { .. } => tip.clone(),
    }
}

fn sense(spoken: &str, seen: &Seen) -> Sense {
    let state = seen.edge.map(|edge| say(&format!("state.{}", word_of(&edge)), &[])).unwrap_or_default();
    let hazard = if seen.hazard { say("picture.hazard", &[]) } else { String::new() };
    let parts = [spoken, &state, &hazard];
    let spoken = parts.into_iter().filter(|part| !part.is_empty()).collect::<Vec<_>>().join(", ");
    Sense { spoken, token: seen.token.clone(), held: seen.held }
}

/// Points that take or bring a conductor.
fn points(kind: &DeviceType) -> impl Iterator<Item = &crate::catalogue::DevicePoint> {
    kind.points.iter().filter(|point| matches!(point.form, PointForm::Terminal | PointForm::Lead))
}

fn face_of(group: DeviceGroup) -> Face {
    match group {
        DeviceGroup::Switch | DeviceGroup::Control => Face::Switch,
        DeviceGroup::Receptacle | DeviceGroup::Protective => Face::Receptacle,
        DeviceGroup::Combination => Face::Combination,
        DeviceGroup::Luminaire => Face::Light,
        DeviceGroup::Load | DeviceGroup::PlugIn | DeviceGroup::Overcurrent => Face::Other,
    }
}

fn pair(a: &Tip, b: &Tip) -> Row {
    Row::Through(a.min(b).clone(), a.max(b).clone())
}

fn first_of(a: &Tip, b: &Tip) -> Tip {
    a.min(b).clone()
}
