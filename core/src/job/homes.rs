//! What is in which box, in which splice, on which device: looked up once for a wiring that no longer changes.

use std::collections::BTreeMap;

use super::id::ThingId;
use super::subject::{Place, Side, Tip};
use super::wiring::Wiring;

/// A side of a run with its letter.
type Lettered<'t> = (Option<&'t String>, ThingId, Side);

/// What is where, each list in the order in which a wiring gives it.
#[derive(Debug)]
pub(crate) struct Homes {
    pub(crate) runs: BTreeMap<ThingId, Vec<(ThingId, Side)>>,
    pub(crate) pigtails: BTreeMap<ThingId, Vec<ThingId>>,
    pub(crate) devices: BTreeMap<ThingId, Vec<ThingId>>,
    pub(crate) splices: BTreeMap<ThingId, Vec<ThingId>>,
    /// Ends by the splice that they are in, or the device that they are on.
    pub(crate) ends: BTreeMap<ThingId, Vec<Tip>>,
}

/// A wiring's homes, if it is sealed. A copy is not: whoever copies a wiring may change it.
#[derive(Debug, Default)]
pub(crate) struct Seal(pub(crate) Option<Box<Homes>>);

impl Clone for Seal {
    fn clone(&self) -> Self {
        Self(None)
    }
}

impl Homes {
    /// One walk over a wiring.
    pub(crate) fn of(wiring: &Wiring) -> Self {
        let mut homes = Self {
            runs: BTreeMap::new(),
            pigtails: BTreeMap::new(),
            devices: BTreeMap::new(),
            splices: BTreeMap::new(),
            ends: BTreeMap::new(),
        };
        let mut lettered: BTreeMap<ThingId, Vec<Lettered<'_>>> = BTreeMap::new();
        for (run, note) in &wiring.runs {
            if note.is_inside() {
                let home = note.near.in_box.get().copied().flatten();
                homes.pigtails.entry(home.unwrap_or(*run)).or_default().push(*run);
                continue;
            }
            for side in Side::BOTH {
                let at = note.side(side);
                if let Some(Some(home)) = at.in_box.get() {
                    lettered.entry(*home).or_default().push((at.letter.get(), *run, side));
                }
            }
        }
        homes.runs = lettered.into_iter().map(|(home, runs)| (home, by_letter(runs))).collect();
        let mut ganged: BTreeMap<ThingId, Vec<(u8, ThingId)>> = BTreeMap::new();
        for (device, note) in &wiring.devices {
            if let Some(Some(home)) = note.in_box.get() {
                ganged.entry(*home).or_default().push((note.gang.or(u8::MAX), *device));
            }
        }
        homes.devices = ganged.into_iter().map(|(home, devices)| (home, by_gang(devices))).collect();
        for (splice, note) in &wiring.splices {
            if let Some(Some(home)) = note.in_box.get() {
                homes.splices.entry(*home).or_default().push(*splice);
            }
        }
        for (tip, note) in &wiring.tips {
            if let Some(Place::Splice(of) | Place::Terminal { device: of, .. }) = note.place.get() {
                homes.ends.entry(*of).or_default().push(tip.clone());
            }
        }
        homes
    }
}

/// Runs by letter and then by name; those without a letter last.
pub(crate) fn by_letter(mut runs: Vec<Lettered<'_>>) -> Vec<(ThingId, Side)> {
    runs.sort_by(|a, b| (a.0.is_none(), a).cmp(&(b.0.is_none(), b)));
    runs.into_iter().map(|(_, run, side)| (run, side)).collect()
}

/// Devices by gang and then by name.
pub(crate) fn by_gang(mut devices: Vec<(u8, ThingId)>) -> Vec<ThingId> {
    devices.sort_unstable();
    devices.into_iter().map(|(_, device)| device).collect()
}
