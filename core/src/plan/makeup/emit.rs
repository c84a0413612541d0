//! From nets to the parts of a way, in the order in which a box is folded in.

use std::collections::{BTreeMap, BTreeSet};

use super::connector;
use super::net::Net;
use super::nets::{Choice, Nets, Weaver};
use super::scene::Scene;
use super::{Change, Joined, Part, Target, What, Why};
use crate::job::{Colour, Tip};
use crate::plan::role::Duty;

/// The parts of a way, and the ends that it leaves open.
pub(super) fn parts(scene: &Scene<'_>, choice: Choice) -> (Vec<Part>, Vec<Tip>) {
    let Nets { made, travelers, passing, ended } = Weaver::nets(scene, choice);
    let mut emit = Emit { scene, choice, parts: Vec::new(), keys: BTreeMap::new() };
    for net in made {
        emit.net(net);
    }
    for (tip, empty, why) in travelers {
        if let Some(lead) = empty.tip() {
            emit.splice_of(What::Traveler, vec![tip, lead], BTreeSet::from([why]));
        } else {
            let to = Target::Terminal { device: empty.device, terminal: empty.point };
            emit.part(What::Traveler, vec![why], Change::Land { tip, to });
        }
    }
    for (a, b, why) in passing {
        emit.splice_of(What::Traveler, vec![a, b], BTreeSet::from([why]));
    }
    for tip in ended {
        emit.part(What::Cap, vec![Why::Unused], Change::Cap(tip));
    }
    emit.remarks();
    let placed: BTreeSet<&Tip> = emit.parts.iter().flat_map(Part::ends).collect();
    let open = scene.free.iter().filter(|tip| !placed.contains(tip)).cloned().collect();
    (emit.parts, open)
}

struct Emit<'s, 'a> {
    scene: &'s Scene<'a>,
    choice: Choice,
    parts: Vec<Part>,
    keys: BTreeMap<&'static str, usize>,
}

fn is_run(tip: &Tip) -> bool {
    matches!(tip, Tip::Wire { .. })
}

impl Emit<'_, '_> {
    fn part(&mut self, what: What, why: Vec<Why>, change: Change) {
        let word = match what {
            What::Grounds => "grounds",
            What::Neutrals => "neutrals",
            What::ConstantHot => "hot",
            What::SwitchedLeg => "leg",
            What::Traveler => "traveler",
            What::Common => "common",
            What::ProtectedHot => "protected-hot",
            What::ProtectedNeutrals => "protected-neutrals",
            What::Cap => "cap",
            What::Remark => "remark",
        };
        let times = self.keys.entry(word).or_default();
        *times += 1;
        let key = if *times == 1 { word.to_owned() } else { format!("{word}-{times}") };
        self.parts.push(Part { key, what, why, change });
    }

    fn splice_of(&mut self, what: What, ends: Vec<Tip>, why: BTreeSet<Why>) {
        let joined = Joined { ends, ..Joined::default() };
        self.splice(what, why, joined);
    }

    /// A splice with its connector.
    fn splice(&mut self, what: What, why: BTreeSet<Why>, mut joined: Joined) {
        let there = joined.splice.map(|splice| self.scene.wiring.ends_in(splice)).unwrap_or_default();
        joined.had = there.len();
        let note = joined.splice.and_then(|splice| self.scene.wiring.splices.get(&splice));
        let current = note.and_then(|note| note.connector.get()).map(String::as_str);
        // A pigtail is made like the conductors that it comes from.
        let ends: Vec<&Tip> = there.into_iter().chain(&joined.ends).chain(&joined.moved).collect();
        joined.connector = connector::choose(self.scene, self.choice.form, current, &ends, joined.count());
        self.part(what, why.into_iter().take(3).collect(), Change::Splice(joined));
    }

    fn net(&mut self, net: Net) {
        let new = net.ends.len() + net.targets.len() + net.commons.len();
        if new == 0 {
            return;
        }
        if net.splice.is_some() {
            self.extended(net);
        } else if !net.direct.is_empty() {
            self.shared(net);
        } else {
            self.made(net);
        }
    }

    /// A splice that is there takes more.
    fn extended(&mut self, net: Net) {
        let Net { what, ends, mut targets, mut commons, splice, why, .. } = net;
        if !self.scene.found {
            targets.append(&mut commons);
        }
        if !ends.is_empty() || !targets.is_empty() {
            let why = if why.is_empty() { BTreeSet::from([Why::Here]) } else { why };
            self.splice(what, why, Joined { splice, ends, pigtails: targets, ..Joined::default() });
        }
        // As found, each common by itself; the splice that it comes from is there.
        for common in commons {
            let joined = Joined { splice, pigtails: vec![common], ..Joined::default() };
            self.splice(What::Common, BTreeSet::from([Why::Here]), joined);
        }
    }

    /// What is under a terminal now goes into a splice with what comes. As found nothing is moved.
    fn shared(&mut self, net: Net) {
        if self.scene.found || !net.ends.iter().any(is_run) && net.targets.is_empty() && net.commons.is_empty() {
            return;
        }
        let mut pigtails: Vec<Target> = Vec::new();
        let mut moved = Vec::new();
        for (tip, target) in net.direct {
            if !moved.contains(&tip) {
                moved.push(tip);
                pigtails.extend(target);
            }
        }
        pigtails.extend(net.targets);
        pigtails.extend(net.commons);
        let mut why = net.why;
        why.insert(Why::Shares);
        self.splice(net.what, why, Joined { ends: net.ends, moved, pigtails, ..Joined::default() });
    }

    /// Nothing is noted of it yet.
    fn made(&mut self, net: Net) {
        let Net { what, ends, mut targets, mut commons, why, .. } = net;
        if !ends.iter().any(is_run) {
            return; // nothing comes to it
        }
        match (ends.as_slice(), targets.as_slice(), commons.as_slice()) {
            ([only], [], []) => {
                let devices = self.scene.wiring.devices_in(self.scene.at);
                if matches!(what, What::Neutrals) && !devices.is_empty() {
                    self.part(What::Cap, vec![Why::Unused], Change::Cap(only.clone()));
                }
            }
            ([only], [target], []) | ([only], [], [target]) => {
                let land = Change::Land { tip: only.clone(), to: target.clone() };
                let what = if commons.is_empty() { what } else { What::Common };
                self.part(what, why.into_iter().take(3).collect(), land);
            }
            ([a, b], [], []) if self.choice.through && what == What::Neutrals && is_run(a) && is_run(b) => {
                self.part(what, why.into_iter().take(3).collect(), Change::Through(a.clone(), b.clone()));
            }
            _ => {
                let mut singly = Vec::new();
                if self.scene.found {
                    singly = commons;
                } else {
                    targets.append(&mut commons);
                }
                self.splice(what, why, Joined { ends, pigtails: targets, singly, ..Joined::default() });
            }
        }
    }

    /// A white that is used as a hot is re-marked where it can be seen (200.7(C)). As found it is as it is.
    fn remarks(&mut self) {
        if self.scene.found {
            return;
        }
        let used: Vec<Tip> = self
            .parts
            .iter()
            .filter(|part| !matches!(part.what, What::Grounds | What::Neutrals | What::ProtectedNeutrals | What::Cap))
            .flat_map(Part::ends)
            .filter(|tip| is_run(tip) && self.scene.is_white(tip) && self.scene.duty(tip) != Some(Duty::Neutral))
            .cloned()
            .collect();
        for tip in used {
            self.part(What::Remark, vec![Why::Loop], Change::Remark(tip, Colour::Black));
        }
    }
}
