//! What was asked for: each load point always on, never, toggled by these switches, or as found.

use crate::job::{Handle, LoadPoint, Promised, ThingId};
use crate::refusal::Refusal;
use crate::token::Line;
use crate::token::path::{handle_text, load_text};

use crate::name::Called;

use super::front::site_name;
use super::parts::{all_boxes, choice, deeds, item, listed, sentence, toggled, w, wiring_of};
use super::row::{Edge, Pick, Screen};
use super::said::{load_words, promise_words};
use super::view::View;

/// Every load point of the planned wiring, box by box.
fn loads(view: &View<'_>) -> Vec<LoadPoint> {
    let wiring = view.planned();
    let mut out = Vec::new();
    for device in all_boxes(view).into_iter().flat_map(|at| wiring.devices_in(at)) {
        let kind = wiring.devices.get(&device).and_then(|note| note.kind.get());
        let loads = kind.and_then(|kind| view.catalogue.device(kind)).into_iter().flat_map(|kind| &kind.loads);
        out.extend(loads.filter(|load| !load.auxiliary).map(|load| LoadPoint { device, load: load.id.clone() }));
    }
    out
}

/// The page `promises`.
pub(super) fn list(view: &View<'_>) -> Result<Screen, Refusal> {
    let mut screen = view.screen(&site_name(view), &w("promise.title"));
    screen.rows.push(sentence("about", &w(if view.job.is_some() { "promise.about" } else { "promise.no_job" })));
    for load in loads(view) {
        let rule = view.planned().promises.get(&load).cloned();
        let words = promise_words(view, view.planned(), rule.as_ref().unwrap_or(&Promised::AsFound));
        let to = view.page("promise").with("load", load_text(&load));
        let row = item(&format!("load {}", load_text(&load)), &load_words(view, view.planned(), &load), &words);
        let row = row.edge(if rule.is_some() { Edge::Planned } else { Edge::Found });
        screen.rows.push(if view.job.is_some() { row.leads(view.go(&to)) } else { row });
    }
    screen.rows.push(deeds(None, Vec::new()));
    Ok(screen)
}

/// Every handle that a hand works, box by box.
fn handles(view: &View<'_>) -> Vec<(ThingId, Handle)> {
    let wiring = view.planned();
    let mut out = Vec::new();
    for at in all_boxes(view).into_iter().filter(|at| !super::order::is_panel(view, wiring_of(view, *at), *at)) {
        for device in wiring.devices_in(at) {
            let kind = wiring.devices.get(&device).and_then(|note| note.kind.get());
            let switches =
                kind.and_then(|kind| view.catalogue.device(kind)).into_iter().flat_map(|kind| &kind.switches);
            let worked = switches.filter(|switch| !switch.automatic);
            out.extend(worked.map(|switch| (at, Handle { device, switch: switch.id.clone() })));
        }
    }
    out
}

/// The page `promise load=<load> handles=…`.
pub(super) fn show(view: &View<'_>) -> Result<Screen, Refusal> {
    let load = view.names().load(view.address.field("load").unwrap_or_default())?;
    let wiring = view.planned();
    let mut screen = view.screen(&w("promise.title"), &load_words(view, wiring, &load));
    let known = wiring.promises.get(&load).cloned().unwrap_or(Promised::AsFound);
    screen.rows.push(item("is", &promise_words(view, wiring, &known), "").edge(Edge::Planned));
    let note = |rule: &str| {
        let event = Line::new("promise").word(load_text(&load)).word(rule);
        view.event_then(event, &view.page("promises"))
    };
    let options = [("always", Promised::Always), ("never", Promised::Never), ("as-found", Promised::AsFound)]
        .map(|(word, rule)| Pick::new(&promise_words(view, wiring, &rule), note(word)).on(rule == known));
    screen.rows.push(choice("rule", &w("promise.rule"), options.into()));
    let first = match &known {
        Promised::Toggled(handles) => handles.iter().map(handle_text).collect::<Vec<_>>().join(","),
        _ => String::new(),
    };
    let list = view.address.field("handles").map_or(first, str::to_owned);
    let picked: Vec<&str> = list.split(',').filter(|name| !name.is_empty()).collect();
    let options: Vec<Pick> = handles(view)
        .into_iter()
        .map(|(_, handle)| {
            let name = handle_text(&handle);
            let words = Called::new(wiring, view.catalogue).handle(&handle);
            // An emptied list must stay in the address, or the noted one would come back.
            let next = toggled(&list, &name);
            let next = if next.is_empty() { ",".to_owned() } else { next };
            Pick::new(&words, view.here("handles", &next)).on(picked.contains(&name.as_str()))
        })
        .collect();
    if !options.is_empty() {
        screen.rows.push(choice("handles", &w("promise.handles"), options));
    }
    let main = (!picked.is_empty() && !listed(view, "handles").is_empty()).then(|| {
        let event = Line::new("promise").word(load_text(&load)).word("toggled");
        let event = picked.iter().fold(event, Line::word);
        Pick::new(&w("deed.note_promise"), view.event_then(event, &view.page("promises")))
    });
    screen.rows.push(deeds(main, Vec::new()));
    Ok(screen)
}
