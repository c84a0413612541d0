//! A noted value in words: what it is of, and what it says.

use crate::catalogue::{
    box_name, bus_name, colour_name, connector_name, link_name, load_name, run_name, size_name, switch_name,
};
use crate::job::value::{Length, LengthUnit};
use crate::job::{Conductor, Kind, Value};
use crate::words::say;

use super::name::{Names, listed, words_of};

/// What a value is of, and what it says: `("Volume", "32.0 in³")`.
pub(super) fn words(names: &Names<'_>, of: Option<Kind>, value: &Value) -> (String, String) {
    let field = say(&format!("record.value.{}", name_of(value)), &[]);
    let text = text_value(value)
        .or_else(|| amount_value(value))
        .or_else(|| part_value(value))
        .or_else(|| thing_value(names, of, value))
        .unwrap_or_default();
    (field, text)
}

/// The name of a value's kind as entries write it.
fn name_of(value: &Value) -> String {
    match serde_json::to_value(value) {
        Ok(serde_json::Value::Object(fields)) => fields.keys().next().cloned().unwrap_or_default(),
        _ => String::new(),
    }
}

fn yes_no(yes: bool) -> String {
    say(if yes { "record.yes" } else { "record.no" }, &[])
}

/// Values that are words already.
fn text_value(value: &Value) -> Option<String> {
    Some(match value {
        Value::Name(text)
        | Value::Tag(text)
        | Value::Location(text)
        | Value::Address(text)
        | Value::Customer(text)
        | Value::JobNumber(text)
        | Value::Permit(text)
        | Value::Scope(text)
        | Value::Licence(text)
        | Value::Serial(text)
        | Value::Category(text)
        | Value::OtherCircuits(text)
        | Value::Method(text)
        | Value::Insulation(text)
        | Value::Letter(text)
        | Value::Number(text)
        | Value::Directory(text)
        | Value::Label(Some(text)) => text.clone(),
        Value::Label(None) => say("record.label.none", &[]),
        Value::Key(author) => author.to_string(),
        _ => return None,
    })
}

/// Values that are counted, measured, or one of a few.
fn amount_value(value: &Value) -> Option<String> {
    let with = |n: &dyn std::fmt::Display, key: &str| say(key, &[("n", &n.to_string())]);
    Some(match value {
        Value::Edition(year) => year.to_string(),
        Value::DeadLimit(volts) => with(volts, "record.amount.volts"),
        Value::Volume(volume) => with(volume, "rule.unit.in3"),
        Value::Clamps(n) | Value::Studs(n) | Value::Gangs(n) | Value::Gang(n) => n.to_string(),
        Value::Present(yes)
        | Value::Canopy(yes)
        | Value::Accessible(yes)
        | Value::SmallOpening(yes)
        | Value::LowVoltage(yes)
        | Value::GroundPath(yes) => yes_no(*yes),
        Value::Length(length) => self::length(length),
        Value::FreeLength(inches) => with(inches, "rule.unit.in"),
        Value::Torque(torque) => with(torque, "record.amount.torque"),
        Value::Rating(amperes) => with(amperes, "rule.unit.a"),
        Value::System(system) => words_of("record.system", system),
        Value::EntersAt(at) => words_of("record.enters", at),
        Value::Leg(bus) => bus_name(*bus),
        Value::Supply(kind) => words_of("record.supply", kind),
        Value::Is(kind) => words_of("record.kind", kind),
        Value::Colour(colour) | Value::Remarked(Some(colour)) => colour_name(*colour),
        Value::Remarked(None) => say("record.remarked.none", &[]),
        _ => return None,
    })
}

/// Values of one part of a subject.
fn part_value(value: &Value) -> Option<String> {
    Some(match value {
        Value::Burden(burden) => {
            let key = if burden.low { "record.kit.low" } else { "record.kit.high" };
            say(key, &[("n", &burden.kilohms.to_string())])
        }
        Value::Addition(addition) => match &addition.volume {
            Some(volume) => format!("{}, {}", addition.what, say("rule.unit.in3", &[("n", &volume.to_string())])),
            None => addition.what.clone(),
        },
        Value::Wire(wire) => format!("{}: {}", u16::from(wire.n) + 1, conductor(&wire.conductor)),
        Value::Link(link) => {
            let key = if link.whole { "record.link.whole" } else { "record.link.broken" };
            say(key, &[("link", &link_name(&link.link))])
        }
        Value::Watts(watts) => {
            let (load, watts) = (load_name(&watts.load), watts.watts.to_string());
            say("record.amount.watts", &[("load", &load), ("n", &watts)])
        }
        Value::Mapping(mapping) => {
            let key = if mapping.listed { "record.mapping.listed" } else { "record.mapping.reversed" };
            say(key, &[("switch", &switch_name(&mapping.switch))])
        }
        Value::Abbreviation(short) => say("record.amount.short", &[("of", &short.of), ("text", &short.text)]),
        Value::Range(range) => {
            let (connector, size) = (connector_name(&range.connector), size_name(&range.size));
            let (least, most) = (range.least.to_string(), range.most.to_string());
            let fill = [("connector", &connector), ("size", &size), ("least", &least), ("most", &most)];
            say("record.amount.range", &fill.map(|(slot, text)| (slot, text.as_str())))
        }
        _ => return None,
    })
}

/// Values that speak of other things.
fn thing_value(names: &Names<'_>, of: Option<Kind>, value: &Value) -> Option<String> {
    let nowhere = || say("record.name.nowhere", &[]);
    Some(match value {
        Value::Type(kind) => type_name(names, of, kind),
        Value::InBox(at) => at.map_or_else(nowhere, |at| names.r#box(at)),
        Value::After(job) => job.map_or_else(nowhere, |job| names.thing(job)),
        Value::Promise(promise) => format!("{}: {}", names.load(&promise.load), names.asked(&promise.rule)),
        Value::Open(open) => {
            let key = if open.open { "record.opens.yes" } else { "record.opens.no" };
            format!("{}: {}, {}", names.r#box(open.r#box), say(key, &[]), open.why)
        }
        Value::Feed(source) => names.source(*source),
        Value::FedBy(fed) => {
            let key = if fed.reaches { "record.fed.yes" } else { "record.fed.no" };
            say(key, &[("source", &names.source(fed.source))])
        }
        Value::Place(place) => names.place(place),
        Value::PluggedInto(load) => load.as_ref().map_or_else(|| say("record.unplugged", &[]), |load| names.load(load)),
        _ => return None,
    })
}

/// A catalogue entry in words.
fn type_name(names: &Names<'_>, of: Option<Kind>, kind: &str) -> String {
    match of {
        Some(Kind::Box) => box_name(kind),
        Some(Kind::Run) => run_name(kind),
        Some(Kind::Splice) => connector_name(kind),
        _ => names.catalogue.device_name(kind),
    }
}

/// A length with its unit, and whether it was measured.
pub(super) fn length(length: &Length) -> String {
    let key = match length.unit {
        LengthUnit::Feet => "record.amount.feet",
        LengthUnit::Metres => "record.amount.metres",
    };
    let text = say(key, &[("n", &length.value.to_string())]);
    if length.measured { text } else { say("record.amount.estimated", &[("length", &text)]) }
}

/// A conductor in words.
fn conductor(conductor: &Conductor) -> String {
    let (colour, size) = (colour_name(conductor.colour), size_name(&conductor.size));
    let metal = words_of("record.metal", &conductor.metal);
    let make = say(if conductor.stranded { "record.stranded" } else { "record.solid" }, &[]);
    let ground = if conductor.ground { say("record.ground", &[]) } else { String::new() };
    listed([format!("{colour} {size} {metal}"), make, ground])
}
