//! Named values as they stand in events: `volume=32.0`, `length="26 ft est"`, `watts="lamp 34"`.

use crate::catalogue::Catalogue;
use crate::job::value::{
    Abbreviation, Addition, Burden, FedBy, Length, LengthUnit, Link, LoadWatts, Mapping, NumberedWire, Range,
};
use crate::job::{Conductor, Kind, Layer, Metal, Subject, Value};

use super::Refusal;
use super::act::{Act, number, refuse, small, text, yes};
use super::line::Line;
use super::path::one_of;

/// Fields that say how an event is meant rather than stating a value.
const ABOUT_THE_EVENT: &[&str] = &["layer", "how", "job", "site", "then", "to", "by", "why", "pigtail", "joins", "as"];

impl Act<'_> {
    /// States every field of the event as a value of `of`, which is of `kind`.
    pub(crate) fn set_fields(&mut self, of: impl Into<Subject>, kind: Kind) -> Result<(), Refusal> {
        self.set_fields_of(self.line, &of.into(), kind)
    }

    /// States every field of `line` as a value of `of`.
    pub(crate) fn set_fields_of(&mut self, line: &Line, of: &Subject, kind: Kind) -> Result<(), Refusal> {
        for (name, value) in &line.fields {
            if ABOUT_THE_EVENT.contains(&name.as_str()) {
                continue;
            }
            let value = self.value(name, value, kind)?;
            // Whatever an instrument is, it is so in every layer of every job.
            let of_the_site = kind == Kind::Instrument || is_of_the_site(&value);
            let layer = if of_the_site { Layer::Site } else { self.layer };
            self.draft.set(of.clone(), layer, value, self.how);
        }
        Ok(())
    }

    fn value(&self, name: &str, given: &str, kind: Kind) -> Result<Value, Refusal> {
        if let Some(value) = words_value(name, given)? {
            return Ok(value);
        }
        if let Some(value) = amount_value(name, given)? {
            return Ok(value);
        }
        Ok(match name {
            "kind" | "connector" => Value::Type(known_type(self.names.catalogue, kind, given)?),
            "after" => Value::After(Some(self.names.thing_named(given, Kind::Job)?)),
            "in" => Value::InBox(Some(self.names.box_named(given)?)),
            "feed" => Value::Feed(self.names.device(given)?),
            "into" if given == "nothing" => Value::PluggedInto(None),
            "into" => Value::PluggedInto(Some(self.names.load(given)?)),
            "fed_by" => Value::FedBy(FedBy { source: self.names.source(given)?, reaches: true }),
            "not_fed_by" => Value::FedBy(FedBy { source: self.names.source(given)?, reaches: false }),
            "abbreviation" => Value::Abbreviation(self.abbreviation(given, kind)?),
            "key" => Value::Key(given.parse().map_err(|_| refuse("refuse.not_a_choice", &[("text", given)]))?),
            other => return Err(refuse("refuse.no_field", &[("name", other)])),
        })
    }

    /// `abbreviation="SW LEG" as="S.L."`, of a person.
    fn abbreviation(&self, of: &str, kind: Kind) -> Result<Abbreviation, Refusal> {
        if kind != Kind::Person {
            return Err(refuse("refuse.no_field", &[("name", "abbreviation")]));
        }
        Ok(Abbreviation { of: text(of)?, text: text(self.field("as")?)? })
    }
}

/// Values that are true of the site whatever the job and the layer.
fn is_of_the_site(value: &Value) -> bool {
    matches!(
        value,
        Value::Name(_)
            | Value::Tag(_)
            | Value::Location(_)
            | Value::Letter(_)
            | Value::Number(_)
            | Value::Directory(_)
            | Value::Address(_)
            | Value::Customer(_)
            | Value::JobNumber(_)
            | Value::Permit(_)
            | Value::Edition(_)
            | Value::After(_)
            | Value::Scope(_)
            | Value::DeadLimit(_)
            | Value::Licence(_)
            | Value::Key(_)
            | Value::Serial(_)
            | Value::Category(_)
            | Value::Burden(_)
            | Value::Range(_)
            | Value::Abbreviation(_)
            | Value::Supply(_)
    )
}

/// Values in words.
fn words_value(name: &str, given: &str) -> Result<Option<Value>, Refusal> {
    let make: fn(String) -> Value = match name {
        "name" => Value::Name,
        "tag" => Value::Tag,
        "location" => Value::Location,
        "letter" => Value::Letter,
        "number" => Value::Number,
        "directory" => Value::Directory,
        "address" => Value::Address,
        "customer" => Value::Customer,
        "job_number" => Value::JobNumber,
        "permit" => Value::Permit,
        "scope" => Value::Scope,
        "licence" => Value::Licence,
        "serial" => Value::Serial,
        "category" => Value::Category,
        "other_circuits" => Value::OtherCircuits,
        "method" => Value::Method,
        "insulation" => Value::Insulation,
        _ => return Ok(None),
    };
    Ok(Some(make(text(given)?)))
}

/// Values that are counted, measured or one of a few.
fn amount_value(name: &str, given: &str) -> Result<Option<Value>, Refusal> {
    Ok(Some(match name {
        "volume" => Value::Volume(number(given, 0.1, 10_000.0, "in³")?),
        "addition" => Value::Addition(addition(given)?),
        "clamps" => Value::Clamps(small(given, 20)?),
        "studs" => Value::Studs(small(given, 4)?),
        "gangs" => Value::Gangs(small(given, 12)?),
        "gang" => Value::Gang(small(given, 12)?),
        "canopy" => Value::Canopy(yes(given)?),
        "accessible" => Value::Accessible(yes(given)?),
        "small_opening" => Value::SmallOpening(yes(given)?),
        "low_voltage" => Value::LowVoltage(yes(given)?),
        "ground_path" => Value::GroundPath(yes(given)?),
        "system" => Value::System(one_of(given)?),
        "enters" => Value::EntersAt(one_of(given)?),
        "leg" => Value::Leg(one_of(given)?),
        "supply" => Value::Supply(one_of(given)?),
        "colour" => Value::Colour(one_of(given)?),
        "remarked" if given == "no" => Value::Remarked(None),
        "remarked" => Value::Remarked(Some(one_of(given)?)),
        "length" => Value::Length(length(given)?),
        "free" => Value::FreeLength(number(given, 0.0, 600.0, "in.")?),
        "torque" => Value::Torque(number(given, 0.1, 1_000.0, "lbf-in")?),
        "rating" => Value::Rating(number(given, 0.1, 1_200.0, "A")?),
        "edition" => Value::Edition(edition(given)?),
        "limit" => Value::DeadLimit(number(given, 0.1, 3.0, "V")?),
        "high" => Value::Burden(Burden { low: false, kilohms: number(given, 0.1, 100_000.0, "kΩ")? }),
        "low" => Value::Burden(Burden { low: true, kilohms: number(given, 0.1, 100_000.0, "kΩ")? }),
        "watts" => Value::Watts(watts(given)?),
        "link" => Value::Link(link(given)?),
        "mapping" => Value::Mapping(mapping(given)?),
        "wire" => Value::Wire(wire(given)?),
        "range" => Value::Range(range(given)?),
        _ => return Ok(None),
    }))
}

fn edition(given: &str) -> Result<u16, Refusal> {
    // Which editions have tables here is the rules' business: a year without one is noted and said to have none.
    given
        .parse()
        .ok()
        .filter(|year| (1990..2100).contains(year))
        .ok_or_else(|| refuse("refuse.no_edition", &[("text", given)]))
}

/// Splits a text into exactly `N` words.
fn parts<const N: usize>(given: &str) -> Result<[&str; N], Refusal> {
    let words: Vec<&str> = given.split_whitespace().collect();
    words.try_into().map_err(|_| refuse("refuse.not_a_choice", &[("text", given)]))
}

/// `26 ft`, `31 ft est`, `9.5 m`; feet where no unit stands.
fn length(given: &str) -> Result<Length, Refusal> {
    let mut words = given.split_whitespace();
    let value = words.next().unwrap_or_default();
    let (mut unit, mut measured) = (LengthUnit::Feet, true);
    for word in words {
        match word {
            "ft" => unit = LengthUnit::Feet,
            "m" => unit = LengthUnit::Metres,
            "est" => measured = false,
            other => return Err(refuse("refuse.not_a_choice", &[("text", other)])),
        }
    }
    let (most, name) = match unit {
        LengthUnit::Feet => (2_000.0, "ft"),
        LengthUnit::Metres => (600.0, "m"),
    };
    Ok(Length { value: number(value, 0.1, most, name)?, unit, measured })
}

/// `0 4.5 plaster ring`, or `0 - plaster ring` where no volume is marked.
fn addition(given: &str) -> Result<Addition, Refusal> {
    let mut words = given.splitn(3, ' ');
    let (n, volume, what) = (words.next(), words.next(), words.next());
    let volume = match volume.unwrap_or_default() {
        "-" => None,
        marked => Some(number(marked, 0.1, 1_000.0, "in³")?),
    };
    Ok(Addition { n: small(n.unwrap_or_default(), 20)?, what: text(what.unwrap_or_default())?, volume })
}

/// `lamp 34`.
fn watts(given: &str) -> Result<LoadWatts, Refusal> {
    let [load, watts] = parts(given)?;
    Ok(LoadWatts { load: load.to_owned(), watts: number(watts, 0.0, 50_000.0, "W")? })
}

/// `brass broken`.
fn link(given: &str) -> Result<Link, Refusal> {
    let [link, whole] = parts(given)?;
    Ok(Link { link: link.to_owned(), whole: yes(whole)? })
}

/// `handle listed` or `handle reversed`.
fn mapping(given: &str) -> Result<Mapping, Refusal> {
    let [switch, order] = parts(given)?;
    let listed = match order {
        "listed" => true,
        "reversed" => false,
        other => return Err(refuse("refuse.not_a_choice", &[("text", other)])),
    };
    Ok(Mapping { switch: switch.to_owned(), listed })
}

/// `0 black 12 copper stranded`, `3 bare 14 copper solid ground`.
fn wire(given: &str) -> Result<NumberedWire, Refusal> {
    let words: Vec<&str> = given.split_whitespace().collect();
    let [n, colour, size, rest @ ..] = words.as_slice() else {
        return Err(refuse("refuse.not_a_choice", &[("text", given)]));
    };
    let mut conductor = Conductor {
        colour: one_of(colour)?,
        size: (*size).to_owned(),
        metal: Metal::Copper,
        stranded: false,
        ground: false,
    };
    for word in rest {
        match *word {
            "stranded" => conductor.stranded = true,
            "solid" => conductor.stranded = false,
            "ground" => conductor.ground = true,
            metal => conductor.metal = one_of(metal)?,
        }
    }
    Ok(NumberedWire { n: small(n, 100)?, conductor })
}

/// `wire-connector-large 14 2 6`.
fn range(given: &str) -> Result<Range, Refusal> {
    let [connector, size, least, most] = parts(given)?;
    let (least, most) = (small(least, 40)?, small(most, 40)?);
    if least == 0 || least > most {
        return Err(refuse("refuse.not_a_choice", &[("text", given)]));
    }
    Ok(Range { connector: connector.to_owned(), size: size.to_owned(), least, most })
}

/// A catalogue entry that exists for this kind of thing.
fn known_type(catalogue: &Catalogue, kind: Kind, given: &str) -> Result<String, Refusal> {
    let known = match kind {
        Kind::Box => catalogue.box_type(given).is_some(),
        Kind::Run => catalogue.run(given).is_some(),
        Kind::Splice => catalogue.connector(given).is_some(),
        Kind::Device => catalogue.device(given).is_some(),
        Kind::Instrument => matches!(given, "meter" | "proximity" | "proving-unit"),
        _ => false,
    };
    if known { Ok(given.to_owned()) } else { Err(refuse("refuse.not_in_catalogue", &[("name", given)])) }
}
