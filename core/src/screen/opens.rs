//! Which boxes the plan opens, and which it leaves alone, each with its reason.

use crate::job::ThingId;
use crate::job::value::OpenOrNot;
use crate::refusal::Refusal;
use crate::token::Line;
use crate::words::count;

use super::front::site_name;
use super::order::{boxes_as_power_runs, is_panel};
use super::parts::{blank, box_words, choice, deeds, headline, item, sentence, w, wiring_of};
use super::row::{Body, Edge, Pick, Row, Screen};
use super::view::View;

fn said(view: &View<'_>, at: ThingId) -> Option<OpenOrNot> {
    let job = view.job_note()?;
    job.opens.iter().filter_map(|note| note.get()).find(|open| open.r#box == at).cloned()
}

/// The page `opens`.
pub(super) fn list(view: &View<'_>) -> Result<Screen, Refusal> {
    let mut screen = view.screen(&site_name(view), &w("opens.title"));
    if view.job.is_none() {
        screen.rows.push(sentence("no-job", &w("opens.no_job")));
        screen.rows.push(deeds(None, Vec::new()));
        return Ok(screen);
    }
    let boxes = boxes_as_power_runs(view).into_iter().filter(|id| !is_panel(view, wiring_of(view, *id), *id));
    let boxes: Vec<(ThingId, Option<OpenOrNot>)> = boxes.map(|id| (id, said(view, id))).collect();
    for (key, wanted) in [("to_open", Some(true)), ("not_to_open", Some(false)), ("opens.unsaid", None)] {
        let of_kind: Vec<_> = boxes.iter().filter(|(_, said)| said.as_ref().map(|said| said.open) == wanted).collect();
        if of_kind.is_empty() {
            continue;
        }
        screen.rows.push(headline(key, &w(key), &of_kind.len().to_string()));
        screen.rows.extend(of_kind.into_iter().map(|(id, said)| row(view, *id, said.as_ref())));
    }
    let print = Pick::new(&w("deed.print"), view.go(&view.page("print").with("which", "all")));
    screen.rows.push(deeds(rest_stays_closed(view, &boxes), vec![print]));
    Ok(screen)
}

/// Once something is said to be opened, all others can be said to stay closed in one act.
fn rest_stays_closed(view: &View<'_>, boxes: &[(ThingId, Option<OpenOrNot>)]) -> Option<Pick> {
    let rest: Vec<ThingId> = boxes.iter().filter(|(_, said)| said.is_none()).map(|(id, _)| *id).collect();
    let opens = boxes.iter().any(|(_, said)| said.as_ref().is_some_and(|said| said.open));
    if rest.is_empty() || !opens {
        return None;
    }
    let event = rest.iter().fold(Line::new("not-to-open"), Line::word).with("why", w("opens.nothing_to_do"));
    let words = count("screen.opens.rest", rest.len(), &[]);
    Some(Pick::new(&words, view.event(event)).second(&w("opens.nothing_to_do")))
}

fn row(view: &View<'_>, id: ThingId, said: Option<&OpenOrNot>) -> Row {
    let wiring = wiring_of(view, id);
    let note = wiring.boxes.get(&id);
    let body = Body::Item {
        tag: note.and_then(|note| note.tag.get().cloned()),
        title: note.and_then(|note| note.location.get().cloned()).unwrap_or_else(|| w("place_unknown")),
        second: said.map(|said| said.why.clone()).unwrap_or_default(),
        value: String::new(),
        mark: false,
    };
    let edge = if said.is_some() { Edge::Planned } else { Edge::Unknown };
    let to = view.page("open").with("box", id);
    Row::new(&format!("box {id}"), body).edge(edge).leads(view.go(&to))
}

/// The page `open box=<box>`.
pub(super) fn show(view: &View<'_>) -> Result<Screen, Refusal> {
    let at = view.box_asked()?;
    let wiring = wiring_of(view, at);
    let mut screen = view.screen(&w("opens.title"), &box_words(wiring, at));
    if let Some(said) = said(view, at) {
        let title = w(if said.open { "to_open" } else { "not_to_open" });
        screen.rows.push(item("is", &title, &said.why).edge(Edge::Planned));
    }
    let note = |verb: &str, why: &str| view.event_then(Line::new(verb).word(at).with("why", why), &view.page("opens"));
    for (verb, key, reasons) in [
        ("to-open", "to_open", ["opens.feeds", "opens.new_device", "opens.mark", "opens.loose"]),
        ("not-to-open", "not_to_open", ["opens.nothing_to_do", "opens.stays", "opens.not_ours", "opens.no_reach"]),
    ] {
        let options = reasons.map(|reason| Pick::new(&w(reason), note(verb, &w(reason))));
        screen.rows.push(choice(key, &w(key), options.into()));
        screen.rows.push(blank(&format!("{key}-why"), &w("opens.why"), "", note(verb, "?")));
    }
    let to_box = Pick::new(&w("deed.the_box"), view.go(&view.page("box").word(at)));
    let print = Pick::new(&w("deed.print"), view.go(&view.page("print").with("box", at)));
    screen.rows.push(deeds(None, vec![to_box, print]));
    Ok(screen)
}
