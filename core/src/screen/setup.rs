//! Pages that set up: people, instruments, jobs, and what a job is done by.

use crate::job::{InstrumentNote, JobNote, Kind, Layer, PersonNote, SiteNote, ThingId};
use crate::refusal::Refusal;
use crate::rules::Edition;
use crate::token::Line;

use super::front::site_name;
use super::parts::{amount, blank, choice, deeds, headline, item, sentence, w};
use super::row::{Edge, Pick, Row, Screen};
use super::view::View;

/// The page `setup`: what stands behind the work.
pub(super) fn show(view: &View<'_>) -> Result<Screen, Refusal> {
    let mut screen = view.screen(&site_name(view), &w("setup.title"));
    let site = SiteNote::read(view.notes, view.site);
    let set = |of: ThingId, field: &str| view.event(Line::new("set").word(of).with(field, "?"));
    let rows = [("name", site.name), ("address", site.address), ("customer", site.customer)];
    for (field, note) in rows {
        let label = w(&format!("setup.site_{field}"));
        screen.rows.push(blank(field, &label, &note.or(String::new()), set(view.site, field)));
    }
    screen.rows.push(headline("jobs", &w("setup.jobs"), ""));
    for id in view.notes.things(Kind::Job, Layer::Site) {
        let note = JobNote::read(view.notes, id);
        let to = view.page("job-setup").with("job", id);
        let row = item(&format!("job {id}"), &note.name.or(w("unnamed")), &note.scope.or(String::new()));
        screen.rows.push(row.edge(Edge::Found).leads(view.go(&to)));
    }
    screen.rows.push(headline("people", &w("setup.people"), ""));
    screen.rows.extend(view.notes.things(Kind::Person, Layer::Site).into_iter().map(|id| person_row(view, id)));
    screen.rows.push(headline("instruments", &w("setup.instruments"), ""));
    screen.rows.extend(instrument_rows(view));
    let pick = |page: &str, key: &str| Pick::new(&w(key), view.go(&view.page(page)));
    let others = vec![
        pick("person", "deed.person"),
        pick("instrument", "deed.instrument"),
        pick("new-job", "deed.new_job"),
        pick("kit", "deed.kit"),
    ];
    screen.rows.push(deeds(None, others));
    Ok(screen)
}

fn person_row(view: &View<'_>, id: ThingId) -> Row {
    let note = PersonNote::read(view.notes, id);
    let to = view.page("person").with("person", id);
    let licence = note.licence.or(w("setup.no_licence"));
    item(&format!("person {id}"), &note.name.or(w("unnamed")), &licence).edge(Edge::Found).leads(view.go(&to))
}

fn instrument_rows(view: &View<'_>) -> Vec<Row> {
    let all = view.notes.things(Kind::Instrument, Layer::Site).into_iter();
    all.map(|id| {
        let note = InstrumentNote::read(view.notes, id);
        let kind = note.kind.get().map_or_else(|| w("not_known"), |kind| w(&format!("instrument.{kind}")));
        let parts: Vec<String> = [note.category.get(), note.serial.get()].into_iter().flatten().cloned().collect();
        let second = std::iter::once(kind).chain(parts).collect::<Vec<_>>().join(", ");
        let to = view.page("instrument").with("instrument", id);
        let row = item(&format!("instrument {id}"), &note.name.or(w("unnamed")), &second);
        row.edge(Edge::Found).leads(view.go(&to))
    })
    .collect()
}

/// A field of the address that is typed, and stands there until the act is noted.
pub(super) fn typed(view: &View<'_>, field: &str, label: &str) -> Row {
    blank(field, &w(label), view.address.field(field).unwrap_or_default(), view.here(field, "?"))
}

/// The event's fields that are filled in the address.
pub(super) fn taken_over(view: &View<'_>, event: Line, fields: &[&str]) -> Line {
    let mut event = event;
    for field in fields {
        let value = view.address.field(field).filter(|value| !value.trim().is_empty());
        event = event.with_some(field, value);
    }
    event
}

fn is_filled(view: &View<'_>, field: &str) -> bool {
    view.address.field(field).is_some_and(|value| !value.trim().is_empty())
}

/// The page `person`: a new one, or one that is noted.
pub(super) fn person(view: &View<'_>) -> Result<Screen, Refusal> {
    if let Some(name) = view.address.field("person") {
        let id = view.names().thing_named(name, Kind::Person)?;
        let note = PersonNote::read(view.notes, id);
        let mut screen = view.screen(&w("setup.person"), &note.name.or(w("unnamed")));
        let set = |field: &str| view.event(Line::new("set").word(id).with(field, "?"));
        screen.rows.push(blank("name", &w("setup.person_name"), &note.name.or(String::new()), set("name")));
        screen.rows.push(blank("licence", &w("setup.licence"), &note.licence.or(String::new()), set("licence")));
        screen.rows.push(deeds(None, Vec::new()));
        return Ok(screen);
    }
    let mut screen = view.screen(&site_name(view), &w("setup.new_person"));
    screen.rows.push(sentence("about", &w("setup.person_about")));
    screen.rows.push(typed(view, "name", "setup.person_name"));
    screen.rows.push(typed(view, "licence", "setup.licence"));
    let main = is_filled(view, "name").then(|| {
        let mut event = taken_over(view, Line::new("person"), &["name", "licence"]);
        // The first person noted from this notebook is the one who writes with its key.
        let people = view.notes.things(Kind::Person, Layer::Site).into_iter();
        let keyed = people.filter(|id| PersonNote::read(view.notes, *id).key.get() == Some(&view.author));
        if keyed.count() == 0 {
            event = event.with("key", view.author);
        }
        // The first one goes on to the work; whoever adds one more sets things up.
        let then = if view.notes.things(Kind::Person, Layer::Site).is_empty() { "job" } else { "setup" };
        Pick::new(&w("deed.note_person"), view.event_then(event, &view.page(then)))
    });
    screen.rows.push(deeds(main, Vec::new()));
    Ok(screen)
}

/// The page `instrument`: a new one, or one that is noted.
pub(super) fn instrument(view: &View<'_>) -> Result<Screen, Refusal> {
    if let Some(name) = view.address.field("instrument") {
        let id = view.names().thing_named(name, Kind::Instrument)?;
        return Ok(one_instrument(view, id));
    }
    let mut screen = view.screen(&site_name(view), &w("setup.new_instrument"));
    // The first instrument of a kit is a meter: without one nothing is read.
    let none = view.notes.things(Kind::Instrument, Layer::Site).is_empty();
    let kind = view.address.field("kind").unwrap_or(if none { "meter" } else { "" });
    screen.rows.push(kinds(kind, |kind| view.here("kind", kind)));
    for (field, label) in
        [("name", "setup.instrument_name"), ("serial", "setup.serial"), ("category", "setup.category")]
    {
        screen.rows.push(typed(view, field, label));
    }
    if kind == "meter" {
        for field in ["high", "low"] {
            let known = view.address.field(field).unwrap_or_default();
            let label = w(&format!("setup.impedance_{field}"));
            screen.rows.push(amount(field, &label, known, "kΩ", view.here(field, "?")));
        }
    }
    let main = (is_filled(view, "name") && !kind.is_empty()).then(|| {
        let fields = ["name", "serial", "category", "high", "low"];
        let event = taken_over(view, Line::new("instrument").with("kind", kind), &fields);
        Pick::new(&w("deed.note_instrument"), view.event_then(event, &view.page("setup")))
    });
    screen.rows.push(deeds(main, Vec::new()));
    Ok(screen)
}

fn kinds(known: &str, token: impl Fn(&str) -> String) -> Row {
    let options = ["meter", "proximity", "proving-unit"].map(|kind| {
        let second = if kind == "proximity" { w("instrument.proximity_why") } else { String::new() };
        Pick::new(&w(&format!("instrument.{kind}")), token(kind)).second(&second).on(kind == known)
    });
    choice("kind", &w("instrument.kind"), options.into())
}

fn one_instrument(view: &View<'_>, id: ThingId) -> Screen {
    let note = InstrumentNote::read(view.notes, id);
    let mut screen = view.screen(&w("setup.instrument"), &note.name.or(w("unnamed")));
    let set = |field: &str| Line::new("set").word(id).with(field, "?");
    let kind = note.kind.or(String::new());
    screen.rows.push(kinds(&kind, |kind| view.event(Line::new("set").word(id).with("kind", kind))));
    for (field, label, value) in [
        ("name", "setup.instrument_name", note.name.or(String::new())),
        ("serial", "setup.serial", note.serial.or(String::new())),
        ("category", "setup.category", note.category.or(String::new())),
    ] {
        screen.rows.push(blank(field, &w(label), &value, view.event(set(field))));
    }
    for (field, low) in [("high", false), ("low", true)] {
        let burdens = note.burdens.iter().filter_map(|note| note.get());
        let known = burdens.filter(|burden| burden.low == low).map(|burden| burden.kilohms.to_string()).next();
        let label = w(&format!("setup.impedance_{field}"));
        screen.rows.push(amount(field, &label, &known.unwrap_or_default(), "kΩ", view.event(set(field))));
    }
    screen.rows.push(deeds(None, Vec::new()));
    screen
}

/// Editions to choose from, with who decides.
fn editions(known: Option<u16>, token: impl Fn(u16) -> String) -> Vec<Row> {
    let options = Edition::all().map(|edition| {
        let year = edition.year();
        Pick::new(edition.name(), token(year)).on(known == Some(year))
    });
    let row = choice("edition", &w("setup.edition"), options.collect());
    vec![row, sentence("edition-note", &w("setup.edition_note"))]
}

/// In an address: the new job goes on from no other.
const NO_JOB: &str = "none";

/// The page `new-job`.
pub(super) fn new_job(view: &View<'_>) -> Result<Screen, Refusal> {
    let mut screen = view.screen(&site_name(view), &w("setup.new_job"));
    screen.rows.push(typed(view, "name", "setup.job_name"));
    let known = view.address.field("edition").and_then(|year| year.parse().ok());
    screen.rows.extend(editions(known, |year| view.here("edition", &year.to_string())));
    screen.rows.push(typed(view, "scope", "setup.scope"));
    screen.rows.push(typed(view, "job_number", "setup.job_number"));
    screen.rows.push(typed(view, "permit", "setup.permit"));
    let limit = view.address.field("limit").unwrap_or_default();
    screen.rows.push(amount("limit", &w("setup.limit"), limit, "V", view.here("limit", "?")));
    // What was left last is where this one begins, unless it is said to stand alone.
    let jobs = view.notes.things(Kind::Job, Layer::Site);
    let last = || view.notes.job_now().map(|job| job.to_string()).unwrap_or_default();
    let after = view.address.field("after").map_or_else(last, str::to_owned);
    if !jobs.is_empty() {
        let options = jobs.iter().map(|id| {
            let name = JobNote::read(view.notes, *id).name.or(w("unnamed"));
            Pick::new(&name, view.here("after", &id.to_string())).on(after == id.to_string())
        });
        let alone = Pick::new(&w("setup.after_none"), view.here("after", NO_JOB)).on(after == NO_JOB);
        screen.rows.push(choice("after", &w("setup.after"), options.chain([alone]).collect()));
    }
    let main = is_filled(view, "name").then(|| {
        let fields = ["name", "edition", "scope", "job_number", "permit", "limit"];
        let after = Some(after.as_str()).filter(|after| !after.is_empty() && *after != NO_JOB);
        let event = taken_over(view, Line::new("job"), &fields).with_some("after", after);
        Pick::new(&w("deed.note_job"), view.event_then(event, &view.page("job")))
    });
    screen.rows.push(deeds(main, Vec::new()));
    Ok(screen)
}

/// The page `job-setup`: what is set for a job.
pub(super) fn job(view: &View<'_>) -> Result<Screen, Refusal> {
    let note = view.job_note().ok_or_else(|| Refusal::Input(crate::words::say("refuse.no_job", &[])))?;
    let mut screen = view.screen(&w("setup.job"), &note.name.or(w("unnamed")));
    let set = |field: &str, value: &str| view.event(Line::new("set").word(note.id).with(field, value));
    screen.rows.push(blank("name", &w("setup.job_name"), &note.name.or(String::new()), set("name", "?")));
    let known = note.edition.get().copied();
    screen.rows.extend(editions(known, |year| set("edition", &year.to_string())));
    let limit = note.dead_limit.get().map(ToString::to_string).unwrap_or_default();
    screen.rows.push(amount("limit", &w("setup.limit"), &limit, "V", set("limit", "?")));
    for (field, label, value) in [
        ("scope", "setup.scope", &note.scope),
        ("job_number", "setup.job_number", &note.number),
        ("permit", "setup.permit", &note.permit),
    ] {
        screen.rows.push(blank(field, &w(label), &value.or(String::new()), set(field, "?")));
    }
    let others = vec![
        Pick::new(&w("deed.promises"), view.go(&view.page("promises"))),
        Pick::new(&w("deed.opens"), view.go(&view.page("opens"))),
    ];
    screen.rows.push(deeds(None, others));
    Ok(screen)
}
