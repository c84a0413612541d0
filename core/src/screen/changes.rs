//! What differs in a box between two layers.

use std::collections::BTreeSet;

use crate::job::{ThingId, Wiring};

use super::parts::{
    connector_words, device_words, label, letter, place_words, splice_words, tip_words, tips_in, w, wf,
};
use super::view::View;

/// What differs in a box from one layer to another, in words, one for each run, device, splice and end outside them.
pub(super) fn changes(view: &View<'_>, from: &Wiring, to: &Wiring, at: ThingId) -> Vec<String> {
    let mut out = Vec::new();
    match (from.boxes.contains_key(&at), to.boxes.contains_key(&at)) {
        (false, true) => out.push(w("change.new_box")),
        (true, false) => return vec![w("change.box_gone")],
        _ => {}
    }
    runs(from, to, at, &mut out);
    out.extend(changes_inside(view, from, to, at));
    out
}

/// The same without the box itself and the runs that come to it: what is done with hands in the box.
pub(super) fn changes_inside(view: &View<'_>, from: &Wiring, to: &Wiring, at: ThingId) -> Vec<String> {
    let mut out = Vec::new();
    devices(view, from, to, at, &mut out);
    splices(view, from, to, at, &mut out);
    ends(view, from, to, at, &mut out);
    out
}

/// Names in one list, the other, or both.
fn both<T: Ord + Copy>(a: Vec<T>, b: Vec<T>) -> Vec<(T, bool, bool)> {
    let (a, b): (BTreeSet<T>, BTreeSet<T>) = (a.into_iter().collect(), b.into_iter().collect());
    a.union(&b).map(|one| (*one, a.contains(one), b.contains(one))).collect()
}

fn come_or_gone(was: bool, is: bool) -> Option<&'static str> {
    match (was, is) {
        (false, true) => Some("new"),
        (true, false) => Some("gone"),
        _ => None,
    }
}

fn runs(from: &Wiring, to: &Wiring, at: ThingId, out: &mut Vec<String>) {
    for ((run, side), was, is) in both(from.runs_in(at), to.runs_in(at)) {
        let wiring = if is { to } else { from };
        if let Some(how) = come_or_gone(was, is) {
            out.push(wf(&format!("change.run_{how}"), &[("letter", &letter(wiring, run, side))]));
        }
    }
}

fn devices(view: &View<'_>, from: &Wiring, to: &Wiring, at: ThingId, out: &mut Vec<String>) {
    for (device, was, is) in both(from.devices_in(at), to.devices_in(at)) {
        let name = || device_words(view, if is { to } else { from }, device);
        if let Some(how) = come_or_gone(was, is) {
            out.push(wf(&format!("change.device_{how}"), &[("device", &name())]));
        } else if from.landed_on(device) != to.landed_on(device) {
            out.push(wf("change.device_wired", &[("device", &name())]));
        }
    }
}

fn splices(view: &View<'_>, from: &Wiring, to: &Wiring, at: ThingId, out: &mut Vec<String>) {
    let standing = |wiring: &Wiring| {
        let here = wiring.splices_in(at).into_iter();
        here.filter(|splice| !wiring.ends_in(*splice).is_empty()).collect::<Vec<_>>()
    };
    for (splice, was, is) in both(standing(from), standing(to)) {
        let name = || splice_words(view, if is { to } else { from }, splice);
        if let Some(how) = come_or_gone(was, is) {
            out.push(wf(&format!("change.splice_{how}"), &[("splice", &name())]));
        } else if from.ends_in(splice) != to.ends_in(splice)
            || connector_words(from, splice) != connector_words(to, splice)
        {
            out.push(wf("change.splice_made_up", &[("splice", &name())]));
        }
    }
}

/// Ends that are free, capped or pass through in one of the layers and stay in the box, and labels.
fn ends(view: &View<'_>, from: &Wiring, to: &Wiring, at: ThingId, out: &mut Vec<String>) {
    let (was, is) = (tips_in(view, from, at), tips_in(view, to, at));
    let free = |wiring: &Wiring, tip| {
        !matches!(wiring.place(tip), None | Some(crate::job::Place::Splice(_) | crate::job::Place::Terminal { .. }))
    };
    for tip in is.iter().filter(|tip| was.contains(tip)) {
        let name = || tip_words(view, to, tip);
        let moved = from.place(tip) != to.place(tip);
        if moved && (free(from, tip) || free(to, tip)) {
            out.push(wf("change.end", &[("tip", &name()), ("place", &place_words(view, to, tip))]));
        }
        if label(from, tip) != label(to, tip) {
            let text = label(to, tip).unwrap_or_else(|| w("nothing_written"));
            out.push(wf("change.label", &[("tip", &name()), ("text", &text)]));
        }
    }
}
