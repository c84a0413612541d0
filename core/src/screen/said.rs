//! Facts in words: what a value, a happening or a subject is called where people read them back.

use crate::catalogue::{box_name, colour_name, connector_name, link_name, load_name, run_name};
use crate::job::value::{LengthUnit, LoadWatts};
use crate::job::{Fact, Happening, Held, Kind, LoadPoint, Promised, Subject, Target, ThingId, Value, Wiring};
use crate::name::Called;
use crate::token::path::word_of;
use crate::words::{english, say};

use super::parts::{box_words, letter, splice_words, tip_full, w, wf, words_of_place};
use super::view::View;

/// A thing in words.
pub(super) fn thing_words(view: &View<'_>, wiring: &Wiring, id: ThingId) -> String {
    let named = |of: ThingId| {
        let take = crate::job::wiring::pick!(Name);
        let layer = crate::job::Layer::Site;
        let name = view.notes.note(&of.into(), &crate::job::FieldKind::Name.into(), layer, take);
        name.or(w("unnamed"))
    };
    match view.notes.kind(id) {
        Some(Kind::Box) => box_words(wiring, id),
        Some(Kind::Device) => Called::new(wiring, view.catalogue).device_in_box(id),
        Some(Kind::Splice) => within(wiring, id, &splice_words(view, wiring, id)),
        Some(Kind::Run) => Called::new(wiring, view.catalogue).run(id),
        _ => named(id),
    }
}

/// A part of a box with the box's tag before it.
fn within(wiring: &Wiring, id: ThingId, words: &str) -> String {
    let boxes = super::parts::box_of_subject(wiring, &id.into());
    match boxes.first().map(|at| wiring.tag(*at)).filter(|tag| !tag.is_empty()) {
        Some(tag) => wf("in_box", &[("box", &tag), ("what", words)]),
        None => words.to_owned(),
    }
}

/// A subject in words.
pub(super) fn subject_words(view: &View<'_>, wiring: &Wiring, of: &Subject) -> String {
    match of {
        Subject::Thing(id) => thing_words(view, wiring, *id),
        Subject::Side(run, side) => {
            let at = wiring.runs.get(run).and_then(|note| note.side(*side).in_box.get().copied().flatten());
            let run = wf("run_letter", &[("letter", &letter(wiring, *run, *side))]);
            match at {
                Some(at) => wf("in_box", &[("box", &wiring.tag(at)), ("what", &run)]),
                None => run,
            }
        }
        Subject::Tip(tip) => Called::new(wiring, view.catalogue).tip_in_box(tip),
    }
}

/// A load point in words, with its box.
pub(super) fn load_words(view: &View<'_>, wiring: &Wiring, load: &LoadPoint) -> String {
    Called::new(wiring, view.catalogue).load(load)
}

/// A promise in words.
pub(super) fn promise_words(view: &View<'_>, wiring: &Wiring, rule: &Promised) -> String {
    match rule {
        Promised::Always => w("promise.always"),
        Promised::Never => w("promise.never"),
        Promised::AsFound => w("promise.as_found"),
        Promised::Toggled(handles) => {
            let names: Vec<String> =
                handles.iter().map(|handle| Called::new(wiring, view.catalogue).handle(handle)).collect();
            wf("promise.toggled", &[("handles", &names.join(", "))])
        }
    }
}

/// The name of the field that a value fills: "length", "label".
pub(super) fn field_words(value: &Value) -> String {
    let key = match serde_json::to_value(value) {
        Ok(serde_json::Value::Object(one)) => one.keys().next().cloned().unwrap_or_default(),
        _ => String::new(),
    };
    let words = english().find(&format!("screen.field.{key}"));
    words.map_or_else(|| key.replace('_', " "), str::to_owned)
}

/// A value in words.
pub(super) fn value_words(view: &View<'_>, wiring: &Wiring, value: &Value) -> String {
    let thing = |id: &ThingId| thing_words(view, wiring, *id);
    match value {
        Value::Place(place) => words_of_place(view, wiring, place),
        Value::Label(None) | Value::Remarked(None) => w("nothing_written"),
        Value::Remarked(Some(colour)) | Value::Colour(colour) => colour_name(*colour),
        Value::InBox(None) => w("not_known"),
        Value::InBox(Some(id)) | Value::After(Some(id)) | Value::Feed(id) => thing(id),
        Value::Type(kind) => type_words(view, kind),
        Value::Length(length) => {
            let unit = if length.unit == LengthUnit::Feet { "ft" } else { "m" };
            let key = if length.measured { "length" } else { "length_estimated" };
            wf(key, &[("value", &length.value.to_string()), ("unit", unit)])
        }
        Value::Volume(volume) => wf("volume", &[("value", &volume.to_string())]),
        Value::Wire(wire) => format!("{} {}", colour_name(wire.conductor.colour), wire.conductor.size),
        Value::Addition(addition) => addition.what.clone(),
        Value::Link(link) => {
            let state = w(if link.whole { "link_whole" } else { "link_broken" });
            format!("{} {state}", link_name(&link.link))
        }
        Value::Watts(LoadWatts { load, watts }) => format!("{} {watts} W", load_name(load)),
        Value::Promise(promise) => {
            let (load, rule) = (load_words(view, wiring, &promise.load), promise_words(view, wiring, &promise.rule));
            wf("said_of", &[("what", &load), ("words", &rule)])
        }
        Value::Open(open) => {
            let words = w(if open.open { "to_open" } else { "not_to_open" });
            wf("said_of", &[("what", &thing(&open.r#box)), ("words", &format!("{words}, {}", open.why))])
        }
        Value::FedBy(fed) => {
            wf(if fed.reaches { "reaches" } else { "reaches_not" }, &[("source", &thing(&fed.source))])
        }
        Value::Abbreviation(short) => wf("kit.short_is", &[("of", &short.of), ("text", &short.text)]),
        Value::EntersAt(point) => w(&format!("enters.{}", word_of(point))),
        other => plain(other),
    }
}

/// A value that is one word, number, yes or no.
fn plain(value: &Value) -> String {
    let inner = match serde_json::to_value(value) {
        Ok(serde_json::Value::Object(one)) => one.into_iter().next().map(|(_, inner)| inner),
        _ => None,
    };
    match inner {
        Some(serde_json::Value::String(text)) => text.replace('_', " "),
        Some(serde_json::Value::Bool(true)) => w("yes"),
        Some(serde_json::Value::Bool(false)) => w("no"),
        Some(serde_json::Value::Number(number)) => number.to_string(),
        _ => String::new(),
    }
}

/// An entry of any of the catalogue's lists in words.
fn type_words(view: &View<'_>, kind: &str) -> String {
    if view.catalogue.device(kind).is_some() {
        view.catalogue.device_name(kind)
    } else if view.catalogue.box_type(kind).is_some() {
        box_name(kind)
    } else if view.catalogue.connector(kind).is_some() {
        connector_name(kind)
    } else if view.catalogue.run(kind).is_some() {
        run_name(kind)
    } else {
        kind.to_owned()
    }
}

/// A happening in words.
pub(super) fn happening_words(view: &View<'_>, wiring: &Wiring, what: &Happening) -> String {
    let person = |id: &ThingId| view.person_name(*id);
    match what {
        Happening::CoverOff => w("happened.cover_off"),
        Happening::CoverOn => w("happened.cover_on"),
        Happening::Isolated(Held::Lock(by)) => wf("happened.lock", &[("person", &person(by))]),
        Happening::Isolated(Held::Guarded) => w("happened.guarded"),
        Happening::Isolated(Held::NotKnown) => w("happened.hold_unknown"),
        Happening::Unlocked(by) => wf("happened.unlock", &[("person", &person(by))]),
        Happening::Switched { on } => w(if *on { "happened.on" } else { "happened.off" }),
        Happening::Read(reading) => {
            let figure = figure_words(&reading.figure, reading.mode);
            let pair = Called::new(wiring, view.catalogue).pair(&reading.pair);
            wf("happened.read", &[("pair", &pair), ("figure", &figure)])
        }
        Happening::Proved(proof) => {
            wf("happened.meter", &[("on", &proof.on), ("figure", &figure_words(&proof.figure, proof.mode))])
        }
        Happening::Asked(asked) => crate::words::count("screen.happened.asked", asked.pairs.len(), &[]),
        Happening::Tried(trial) => w(if trial.on { "happened.tried_on" } else { "happened.tried_off" }),
        Happening::Looked { tip, seen } => {
            let (tip, place) = (tip_full(view, wiring, tip), words_of_place(view, wiring, seen));
            wf("happened.looked", &[("tip", &tip), ("place", &place)])
        }
        Happening::Parted => w("happened.parted"),
        Happening::FirstLook { indicated, .. } => {
            w(if *indicated { "happened.first_look_yes" } else { "happened.first_look_no" })
        }
        Happening::Gone { ended } => w(if *ended { "happened.gone_ended" } else { "happened.gone" }),
        Happening::Arrived { .. } => w("happened.arrived"),
        Happening::Back => w("happened.back"),
        Happening::Signed { .. } => w("happened.signed"),
        Happening::Hours(hours) => wf("happened.hours", &[("hours", &hours.to_string())]),
        Happening::Used(used) => format!("{} {} {}", used.amount, used.unit, used.item),
        Happening::Told(words)
        | Happening::Readied(words)
        | Happening::Concluded(words)
        | Happening::Remark(words)
        | Happening::FoundNotOurs(words)
        | Happening::DoNotCover(words)
        | Happening::MayCover(words)
        | Happening::Unfinished(words)
        | Happening::Extra(words) => {
            let label = field_of_happening(what);
            wf("said_of", &[("what", &label), ("words", words)])
        }
    }
}

fn field_of_happening(what: &Happening) -> String {
    let key = match serde_json::to_value(what) {
        Ok(serde_json::Value::Object(one)) => one.keys().next().cloned().unwrap_or_default(),
        _ => String::new(),
    };
    w(&format!("happened.{key}"))
}

/// What an instrument showed, in words.
pub(super) fn figure_words(figure: &crate::job::Figure, mode: crate::job::Mode) -> String {
    let unit = match mode {
        crate::job::Mode::Ohms => "Ω",
        crate::job::Mode::Clamp => "A",
        _ => "V",
    };
    match figure {
        crate::job::Figure::Number(value) => format!("{value} {unit}"),
        crate::job::Figure::NoDigits(words) => words.clone(),
        crate::job::Figure::OverRange => w("over_range"),
    }
}

/// A fact in words.
pub(super) fn fact_words(view: &View<'_>, wiring: &Wiring, fact: &Fact) -> String {
    match fact {
        Fact::Set(set) => {
            let of = view.notes.sames().subject(&set.of);
            let value = view.notes.sames().value(&set.value);
            let (field, words) = (field_words(&value), value_words(view, wiring, &value));
            wf("fact", &[("of", &subject_words(view, wiring, &of)), ("field", &field), ("words", &words)])
        }
        Fact::Add(add) => {
            let of = view.notes.sames().subject(&add.of);
            let words = happening_words(view, wiring, &view.notes.sames().happening(&add.what));
            wf("said_of", &[("what", &subject_words(view, wiring, &of)), ("words", &words)])
        }
        Fact::Same(same) => {
            let (a, b) = (thing_words(view, wiring, same.a), thing_words(view, wiring, same.b));
            wf("fact_same", &[("a", &a), ("b", &b)])
        }
        Fact::Strike(strike) => match strike.what {
            Target::Entry(_) | Target::Fact(_) if strike.reason.is_empty() => w("fact_strike"),
            _ => wf("fact_strike_why", &[("why", &strike.reason)]),
        },
        Fact::Newer(_) => say("screen.fact_newer", &[]),
    }
}
