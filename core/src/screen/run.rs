//! Noting a run: its type, where it enters, where it comes from, its length; it brings its conductors.

use crate::catalogue::{RunForm, run_name};
use crate::job::value::System;
use crate::job::{Side, ThingId, Wiring};
use crate::refusal::Refusal;
use crate::token::Line;
use crate::token::path::word_of;
use crate::words::{count, say};

use super::order::{boxes_as_power_runs, is_panel};
use super::parts::{amount, box_words, choice, deeds, letter, run_kind, sentence, w, wf, wiring_of};
use super::row::{Body, Edge, Pick, Row, Screen, Strand};
use super::view::View;

/// Types that stand first; the rest under "other". Which are common is the trade's practice, without a source.
const COMMON: [&str; 3] = ["nm-14-2", "nm-14-3", "nm-12-2"];
/// The same where lengths are metres.
const METRIC: [&str; 3] = ["round-1.5-3", "round-2.5-3", "flat-2.5-2-cpc"];
/// What old walls and workshops hold: as quick as the rest.
const OLD: [&str; 3] = ["emt", "knob-and-tube-pair", "nm-14-2-no-ground"];
/// Stands in the address where the type was looked for and is not known.
const UNKNOWN: &str = "unknown";
/// Where a run enters, in the three rows of three that a box has from the front.
const SIDES: [&str; 9] =
    ["top_left", "top", "top_right", "left", "back", "right", "bottom_left", "bottom", "bottom_right"];
/// Most boxes that are listed before the others are asked for.
const FIRST_BOXES: usize = 9;

/// The address in which a run of the box `at` begins to be noted. Where one answer alone is likely it stands there
/// already: the type of the run that was noted last, and for a box's first run the one run that leads nobody knows where.
pub(super) fn opening(view: &View<'_>, at: ThingId) -> Line {
    let line = view.page_here("run").with("box", at).with_some("type", last_type(view, at));
    let mut open = open_runs(view, at);
    match (view.asked().runs_in(at).is_empty(), open.len(), open.pop()) {
        (true, 1, Some((run, side))) => line.with("joins", format!("{run}/{}", word_of(&side))),
        _ => line,
    }
}

/// The type of the run that was noted last in this box, else at this site. Names grow with time.
fn last_type(view: &View<'_>, at: ThingId) -> Option<String> {
    let wiring = view.planned();
    let of_box = wiring.runs_in(at).into_iter().map(|(run, _)| run).max();
    let of_site = || wiring.runs.iter().rev().find(|(_, note)| !note.is_inside()).map(|(run, _)| *run);
    wiring.runs.get(&of_box.or_else(of_site)?)?.kind.get().cloned()
}

/// Sides of runs that are in no box that anyone knows, where the other side is in another box than `at`.
pub(super) fn open_runs(view: &View<'_>, at: ThingId) -> Vec<(ThingId, Side)> {
    open_sides(view).into_iter().filter(|(_, _, from)| *from != at).map(|(run, side, _)| (run, side)).collect()
}

/// Sides of runs that are in no box that anyone knows, each with the box of the other side, as the power runs.
pub(super) fn open_sides(view: &View<'_>) -> Vec<(ThingId, Side, ThingId)> {
    let wiring = view.asked();
    let mut open = Vec::new();
    for from in boxes_as_power_runs(view) {
        for (run, side) in wiring.runs_in(from) {
            let other = wiring.runs.get(&run).map(|note| note.side(side.other()));
            if other.is_some_and(|other| other.in_box.get().copied().flatten().is_none()) {
                open.push((run, side.other(), from));
            }
        }
    }
    open
}

/// One more run like the box's last, in one touch: the next letter, the other end not known.
pub(super) fn same_again(view: &View<'_>, wiring: &Wiring, at: ThingId) -> Option<Pick> {
    let (run, side) = wiring.runs_in(at).into_iter().max_by_key(|(run, _)| *run)?;
    let kind = wiring.runs.get(&run)?.kind.get()?;
    if is_panel(view, wiring, at) {
        return None;
    }
    let event = Line::new("run").word(format!("{at}/{}", next_letter(view, at))).with("kind", kind);
    let event = event.with_some("wires", super::wires::noted(view, wiring, run)).with_some("layer", view.layer_field());
    let words = wf("deed.run_again", &[("letter", &letter(wiring, run, side))]);
    let second = wf("run.again", &[("kind", &run_name(kind))]);
    Some(Pick::new(&words, view.event(event.with("to", "?"))).second(&second))
}

/// The page `run box=<box> type=… enters=… from=… joins=… length=…`. Nothing but the type has to be answered, and that
/// may be said to be not known.
pub(super) fn show(view: &View<'_>) -> Result<Screen, Refusal> {
    let at = view.box_asked()?;
    let wiring = wiring_of(view, at);
    let mut screen = view.screen(&box_words(wiring, at), &w("run.title"));
    screen.tag = wiring.boxes.get(&at).and_then(|note| note.tag.get().cloned());
    screen.rows.extend(types(view));
    let kind = chosen_type(view);
    let joins = view.address.field("joins").is_some();
    if !joins {
        screen.rows.extend(super::wires::rows(view, &kind));
    }
    screen.rows.push(comes_from(view, at));
    screen.rows.extend(feeds(view, at));
    screen.rows.extend(length(view));
    screen.rows.push(enters(view, wiring, at));
    screen.rows.extend(brings(view, &kind, &next_letter(view, at)));
    let main = act(view, at, &view.page_here("box").word(at));
    let more = main.is_some().then(|| {
        let next = view.page_here("run").with("box", at).with("type", &kind);
        let next = ["size", "wires", "ground_path", "colours"]
            .into_iter()
            .fold(next, |next, field| next.with_some(field, view.address.field(field)));
        act(view, at, &next).map(|pick| Pick { text: w("deed.and_one_more"), ..pick })
    });
    screen.rows.push(deeds(main, more.flatten().into_iter().collect()));
    Ok(screen)
}

fn get<'t>(view: &'t View<'_>, field: &str) -> &'t str {
    view.address.field(field).unwrap_or_default()
}

/// The type that is chosen: the address's, or that of the run whose other end is taken for this one.
fn chosen_type(view: &View<'_>) -> String {
    let joined = view.address.field("joins").and_then(|name| view.names().side(name).ok());
    let of_joined = joined.and_then(|(run, _)| view.asked().runs.get(&run)?.kind.get().cloned());
    of_joined.unwrap_or_else(|| get(view, "type").to_owned())
}

/// The types: the common ones, those that this site has, old ones; all of them under "other". Every one is one touch.
fn types(view: &View<'_>) -> Vec<Row> {
    let chosen = chosen_type(view);
    let common = if length_unit(view) == "m" { METRIC } else { COMMON };
    let mut first: Vec<String> = common.iter().map(|kind| (*kind).to_owned()).collect();
    let here = view.planned().runs.values().filter(|run| !run.is_inside()).filter_map(|run| run.kind.get());
    let old = OLD.map(str::to_owned);
    for kind in here.chain(std::iter::once(&chosen)) {
        let known = view.catalogue.run(kind).is_some_and(|kind| kind.form != RunForm::Pigtail);
        if known && !first.contains(kind) && !old.contains(kind) && first.len() < 7 {
            first.push(kind.clone());
        }
    }
    first.extend(old);
    let pick = |kind: &String| Pick::new(&run_name(kind), view.here("type", kind)).on(*kind == chosen);
    let mut options: Vec<Pick> = first.iter().map(pick).collect();
    options.push(Pick::new(&w("not_known"), view.here("type", UNKNOWN)).on(chosen == UNKNOWN));
    let form = get(view, "form").to_owned();
    options.push(Pick::new(&w("other"), view.here("form", if form.is_empty() { "cable" } else { "" })));
    let mut rows = vec![choice("type", &w("run.type"), options)];
    if !form.is_empty() {
        let forms = [
            ("cable", RunForm::Cable),
            ("raceway", RunForm::Raceway),
            ("open", RunForm::Open),
            ("cord", RunForm::Cord),
        ];
        let options =
            forms.map(|(name, _)| Pick::new(&w(&format!("form.{name}")), view.here("form", name)).on(form == name));
        rows.push(choice("form", &w("run.form"), options.into()));
        let wanted = forms.iter().find(|(name, _)| *name == form).map(|(_, form)| *form);
        let of_form = view.catalogue.runs().filter(|kind| Some(kind.form) == wanted).map(|kind| kind.id.clone());
        rows.push(choice("all-types", &w("run.all_types"), of_form.map(|kind| pick(&kind)).collect()));
    }
    rows
}

/// Where it enters: three rows of three sides, with the run that enters there already.
fn enters(view: &View<'_>, wiring: &Wiring, at: ThingId) -> Row {
    let chosen = get(view, "enters");
    let taken = |side: &str| {
        let here = wiring.runs_in(at).into_iter().filter(|(run, known)| {
            let note = wiring.runs.get(run).and_then(|note| note.side(*known).enters_at.get());
            note.is_some_and(|point| word_of(point) == side)
        });
        let letters: Vec<String> = here.map(|(run, known)| letter(wiring, run, known)).collect();
        if letters.is_empty() { String::new() } else { wf("run_letter", &[("letter", &letters.join(", "))]) }
    };
    let options = SIDES.map(|side| {
        let pick = Pick::new(&w(&format!("enters.{side}")), view.here("enters", side)).second(&taken(side));
        pick.on(side == chosen)
    });
    choice("enters", &w("run.enters"), options.into())
}

/// This address with another answer to where the run comes from.
fn from(view: &View<'_>, field: &str, value: &str) -> String {
    let mut to = view.address.clone();
    for name in ["from", "joins", "feed"] {
        to.fields.remove(name);
    }
    view.go(&to.with(field, value))
}

/// Where it comes from: first boxes with a run whose other end is not known, then the others, not known, a new box.
fn comes_from(view: &View<'_>, at: ThingId) -> Row {
    let wiring = view.asked();
    let (joins, chosen) = (get(view, "joins"), get(view, "from"));
    let chosen_box = view.names().box_named(chosen).ok();
    let open = open_sides(view).into_iter().filter(|(_, _, from)| *from != at);
    let mut options: Vec<Pick> = open
        .map(|(run, side, id)| {
            let name = format!("{run}/{}", word_of(&side));
            let pick =
                Pick::new(&wiring.tag(id), from(view, "joins", &name)).second(&its_run(wiring, run, side.other()));
            pick.on(joins == name)
        })
        .collect();
    let boxes: Vec<ThingId> = boxes_as_power_runs(view).into_iter().filter(|id| *id != at).collect();
    let all = !get(view, "boxes").is_empty() || boxes.len() <= FIRST_BOXES;
    let shown = boxes.iter().filter(|id| all || Some(**id) == chosen_box);
    let first = boxes.iter().filter(|_| !all).take(FIRST_BOXES).filter(|id| Some(**id) != chosen_box);
    options.extend(shown.chain(first).map(|id| {
        let known = wiring_of(view, *id);
        let place = known.boxes.get(id).and_then(|note| note.location.get().cloned()).unwrap_or_default();
        let on = joins.is_empty() && Some(*id) == chosen_box;
        Pick::new(&known.tag(*id), from(view, "from", &id.to_string())).second(&place).on(on)
    }));
    if !all {
        options.push(Pick::new(&w("run.more_boxes"), view.here("boxes", "all")));
    }
    let unknown = joins.is_empty() && chosen_box.is_none();
    options.push(Pick::new(&w("not_known"), from(view, "from", "unknown")).on(unknown));
    let new = view.page_here("note-box").with("run", &view.address);
    options.push(Pick::new(&w("run.new_box"), view.go(&new)));
    choice("from", &w("run.from"), options)
}

/// A run whose other end is not known, by what its box calls it.
pub(super) fn its_run(wiring: &Wiring, run: ThingId, side: Side) -> String {
    wf("run.its_run", &[("letter", &letter(wiring, run, side)), ("kind", &run_kind(wiring, run))])
}

/// The two boxes of the run as it will be noted, a panel always as the far one; the far one may not be known.
fn two_boxes(view: &View<'_>, at: ThingId) -> (ThingId, Option<ThingId>) {
    let from = view.names().box_named(get(view, "from")).ok();
    match from {
        Some(other) if is_panel(view, wiring_of(view, at), at) => (other, Some(at)),
        other => (at, other),
    }
}

/// Where it comes from a panel: from which breaker.
fn feeds(view: &View<'_>, at: ThingId) -> Option<Row> {
    let (_, far) = two_boxes(view, at);
    let panel = far.filter(|far| is_panel(view, wiring_of(view, *far), *far))?;
    Some(breakers(view, panel, get(view, "feed"), |id| view.here("feed", &id.to_string())))
}

/// The breakers of a panel as a choice, and a way to note one more.
pub(super) fn breakers(view: &View<'_>, panel: ThingId, chosen: &str, token: impl Fn(ThingId) -> String) -> Row {
    let wiring = wiring_of(view, panel);
    let mut options: Vec<Pick> = wiring
        .devices_in(panel)
        .into_iter()
        .map(|id| {
            let second = wiring.devices.get(&id).and_then(|note| note.directory.get().cloned()).unwrap_or_default();
            let words = super::held::source_words(view, id);
            Pick::new(&words, token(id)).second(&second).on(chosen == id.to_string())
        })
        .collect();
    let new = view.page_here("device").with("box", panel).with("back", &view.address);
    options.push(Pick::new(&w("run.new_breaker"), view.go(&new)));
    choice("feed", &w("run.feed"), options)
}

/// The unit that lengths are typed in at this site.
pub(super) fn length_unit(view: &View<'_>) -> &'static str {
    let metric = view.planned().boxes.values().any(|note| note.system.get() == Some(&System::Single230));
    if metric { "m" } else { "ft" }
}

fn length(view: &View<'_>) -> Vec<Row> {
    let typed = get(view, "length");
    let mut rows = vec![amount("length", &w("run.length"), typed, length_unit(view), view.here("length", "?"))];
    if !typed.trim().is_empty() {
        let estimated = get(view, "est");
        let options = [("", "run.measured"), ("est", "run.estimated")]
            .map(|(word, key)| Pick::new(&w(key), view.here("est", word)).on(word == estimated));
        rows.push(choice("est", &w("run.length_is"), options.into()));
    }
    rows
}

/// What it brings: the conductors of its type, or those that were picked.
fn brings(view: &View<'_>, kind: &str, letter: &str) -> Option<Row> {
    let known = view.catalogue.run(kind)?;
    let listed = super::wires::listed(view, kind);
    let colour = |wire: &str| wire.split_whitespace().next().map(str::to_owned);
    let colours: Vec<String> = match listed.filter(|_| view.address.field("joins").is_none()) {
        Some(list) => list.split(", ").filter_map(colour).collect(),
        None => known.wires.iter().map(|wire| word_of(&wire.colour)).collect(),
    };
    if colours.is_empty() {
        return Some(sentence("brings", &w("run.brings_none")).edge(Edge::Unknown));
    }
    let strands: Vec<Strand> = colours
        .into_iter()
        .map(|colour| {
            let words = say("name.tip", &[("letter", letter), ("colour", &say(&format!("colour.{colour}"), &[]))]);
            Strand { colour, text: words, tape: false }
        })
        .collect();
    let title = count("screen.run.brings", strands.len(), &[]);
    let body = Body::Strands { title, second: run_name(kind), strands };
    let edge = if view.asked_word() == "planned" { Edge::Planned } else { Edge::Found };
    Some(Row::new("brings", body).edge(edge))
}

/// The first letter that no run of a box has, in any layer of the job.
pub(super) fn next_letter(view: &View<'_>, at: ThingId) -> String {
    let layers = [view.found(), view.planned(), view.left()];
    let taken: Vec<String> = layers
        .iter()
        .flat_map(|wiring| wiring.runs_in(at).into_iter().map(|(run, side)| letter(wiring, run, side)))
        .collect();
    let letters = ('A'..='Z').map(String::from).chain((2..100).map(|n| format!("A{n}")));
    letters.into_iter().find(|letter| !taken.contains(letter)).unwrap_or_else(|| "Z".to_owned())
}

/// The act, once a type is there or said to be not known; `then` is where it leads.
fn act(view: &View<'_>, at: ThingId, then: &Line) -> Option<Pick> {
    let letter = next_letter(view, at);
    let length = get(view, "length").trim().to_owned();
    let length = (!length.is_empty()).then(|| format!("{length} {} {}", length_unit(view), get(view, "est")));
    let common = |event: Line| {
        let enters = view.address.field("enters").filter(|_| two_boxes(view, at).0 == at);
        let event = event.with_some("enters", enters).with_some("length", length.as_deref().map(str::trim));
        event.with_some("layer", view.layer_field())
    };
    let words = wf("deed.note_run", &[("letter", &letter)]);
    if let Some(joins) = view.address.field("joins") {
        let event = Line::new("set").word(joins).with("in", at).with("letter", &letter);
        return Some(Pick::new(&words, view.event_then(common(event), then)));
    }
    let kind = view.address.field("type").filter(|kind| !kind.is_empty())?;
    let (near, far) = two_boxes(view, at);
    let event = Line::new("run").word(format!("{near}/{}", next_letter(view, near)));
    let event = event.with_some("kind", (kind != UNKNOWN).then_some(kind));
    let event = event.with("to", far.map_or("?".to_owned(), |far| format!("{far}/{}", next_letter(view, far))));
    let event = ["ground_path", "feed"].into_iter().fold(event, |event, field| {
        event.with_some(field, view.address.field(field).filter(|value| !value.is_empty()))
    });
    let event = event.with_some("wires", super::wires::listed(view, kind));
    Some(Pick::new(&words, view.event_then(common(event), then)))
}
