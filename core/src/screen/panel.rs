//! What a panel holds: each breaker with its circuit, its leg, how it is held, and the runs that leave by it. A panel
//! has no picture: its inside is the utility's side too, and no picture of it could be drawn from what is noted.

use crate::catalogue::{DeviceGroup, bus_name, point_name};
use crate::job::{Place, Side, ThingId, Tip, Wiring};
use crate::words::count;

use super::held::{Held, source_words};
use super::inside::far_words;
use super::parts::{caution, headline, run_kind, tip_words, tips_in, valued, w, wf};
use super::row::Row;
use super::view::View;

/// The breakers of a panel by circuit number, and that the rest of a panel stays live.
pub(super) fn rows(view: &View<'_>, wiring: &Wiring, at: ThingId) -> Vec<Row> {
    let mut breakers = breakers(view, wiring, at);
    breakers.sort_by_key(|id| by_number(wiring, *id));
    let mut rows = vec![headline("breakers", &w("panel.breakers"), &count("screen.panel.n", breakers.len(), &[]))];
    rows.extend(breakers.into_iter().map(|id| breaker_row(view, wiring, at, id)));
    rows.push(caution("panel-live", &w("panel.live"), &w("panel.live_text")));
    rows
}

fn breakers(view: &View<'_>, wiring: &Wiring, at: ThingId) -> Vec<ThingId> {
    let mut devices = wiring.devices_in(at);
    devices.retain(|id| {
        let kind = wiring.devices.get(id).and_then(|note| note.kind.get()).and_then(|kind| view.catalogue.device(kind));
        kind.is_some_and(|kind| kind.group == DeviceGroup::Overcurrent)
    });
    devices
}

/// Circuit 12 comes after circuit 7; a breaker without a number comes last.
fn by_number(wiring: &Wiring, id: ThingId) -> (u32, String, ThingId) {
    let number = wiring.devices.get(&id).and_then(|note| note.number.get().cloned());
    let digits: String = number.iter().flat_map(|text| text.chars()).take_while(char::is_ascii_digit).collect();
    (digits.parse().unwrap_or(u32::MAX), number.unwrap_or_default(), id)
}

fn breaker_row(view: &View<'_>, wiring: &Wiring, at: ThingId, id: ThingId) -> Row {
    let note = wiring.devices.get(&id);
    let kind = note.and_then(|note| note.kind.get()).map(|kind| view.catalogue.device_name(kind));
    let title = match kind {
        Some(kind) => wf("said_short", &[("what", &source_words(view, id)), ("words", &kind)]),
        None => source_words(view, id),
    };
    let hold = Held::of(view, id);
    let leg = note.and_then(|note| note.leg.get()).map(|leg| bus_name(*leg));
    let directory = note.and_then(|note| note.directory.get());
    let mut parts = vec![leg.unwrap_or_else(|| w("panel.leg_unknown"))];
    parts.extend(directory.map(|line| wf("panel.directory", &[("line", line)])));
    let runs = runs(view, wiring, at, id);
    if runs.is_empty() {
        parts.push(w("panel.no_run"));
    }
    parts.extend(runs);
    if hold.is_off() {
        parts.push(hold.lock_words(view));
    }
    let to = view.go(&view.page("source").word(id));
    valued(&format!("breaker {id}"), &title, &parts.join("; "), &hold.words(view)).edge(hold.edge()).leads(to)
}

/// The runs that leave by a breaker: those with a conductor on it, and those that somebody said come from it.
fn runs(view: &View<'_>, wiring: &Wiring, at: ThingId, breaker: ThingId) -> Vec<String> {
    let mut words = Vec::new();
    let mut landed = Vec::new();
    for tip in tips_in(view, wiring, at) {
        let Some(Place::Terminal { device, terminal, .. }) = wiring.place(&tip) else { continue };
        let Tip::Wire { run, side, .. } = &tip else { continue };
        if *device == breaker {
            let (run_words, tip, terminal) =
                (run_words(wiring, *run, *side), tip_words(view, wiring, &tip), point_name(terminal));
            words.push(wf("panel.lands", &[("run", &run_words), ("tip", &tip), ("terminal", &terminal)]));
            landed.push(*run);
        }
    }
    for (run, side) in wiring.runs_in(at) {
        let said = wiring.runs.get(&run).is_some_and(|note| note.side(side).feed.get() == Some(&breaker));
        if said && !landed.contains(&run) {
            words.push(wf("panel.said", &[("run", &run_words(wiring, run, side))]));
        }
    }
    words
}

fn run_words(wiring: &Wiring, run: ThingId, side: Side) -> String {
    wf("panel.run", &[("kind", &run_kind(wiring, run)), ("far", &far_words(wiring, run, side))])
}
