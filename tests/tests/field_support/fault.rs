//! What is broken rather than wired, as a case writes it.

use boxproof_core::circuit::{Fault, Part, Point};
use boxproof_core::job::Spot;
use boxproof_core::token::Line;
use boxproof_core::token::path::{Names, one_of};

#[allow(clippy::needless_pass_by_value, reason = "it is handed to map_err")]
fn words(why: boxproof_core::refusal::Refusal) -> String {
    why.to_string()
}

/// `fault resistance joint B1/A/white ohms=22` and the others; `said` is without the first word.
pub(super) fn read(names: &Names<'_>, said: &Line) -> Result<Fault, String> {
    let number = |field: &str| -> Result<f64, String> {
        let value = said.field(field).ok_or_else(|| format!("{field}= is missing"))?;
        value.parse().map_err(|_| format!("{value} is no number"))
    };
    let all: Vec<&str> = said.words.iter().map(String::as_str).collect();
    Ok(match (said.verb.as_str(), all.as_slice()) {
        ("open", part) => Fault::Open(read_part(names, part)?),
        ("resistance", part) => Fault::Resistance { part: read_part(names, part)?, ohms: number("ohms")? },
        ("bridge", [from, to]) => {
            Fault::Bridge { from: point(names, from)?, to: point(names, to)?, ohms: number("ohms")? }
        }
        ("draws", [from, to]) => {
            let (from, to) = (point(names, from)?, point(names, to)?);
            Fault::Draws { from, to, watts: number("watts")?, volts: number("volts")? }
        }
        ("leg-lost", [panel, bus]) => {
            Fault::LegLost { panel: names.box_named(panel).map_err(words)?, bus: one_of(bus).map_err(words)? }
        }
        ("on-bus", [breaker, bus]) => {
            Fault::OnBus { breaker: names.device(breaker).map_err(words)?, bus: one_of(bus).map_err(words)? }
        }
        ("parked", [handle]) => Fault::Parked(names.handle(handle).map_err(words)?),
        ("stuck", [handle, position]) => {
            Fault::Stuck { handle: names.handle(handle).map_err(words)?, position: (*position).to_owned() }
        }
        ("no-contact", [handle, position]) => {
            Fault::NoContact { handle: names.handle(handle).map_err(words)?, position: (*position).to_owned() }
        }
        ("missing", [load]) => Fault::Missing(names.load(load).map_err(words)?),
        ("exchanged", [one, other]) => {
            Fault::Exchanged { one: names.tip(one).map_err(words)?, other: names.tip(other).map_err(words)? }
        }
        ("moved", [tip, to]) => Fault::Moved { tip: names.tip(tip).map_err(words)?, to: spot(names, to)? },
        _ => return Err("that is no fault; see tests/field/README.md".to_owned()),
    })
}

fn read_part(names: &Names<'_>, said: &[&str]) -> Result<Part, String> {
    let [kind, name] = said else { return Err("a part is a kind and a name, as “joint B3/A/white”".to_owned()) };
    Ok(match *kind {
        "joint" => Part::Joint(names.tip(name).map_err(words)?),
        "wire" => match names.tip(name).map_err(words)? {
            boxproof_core::job::Tip::Wire { run, wire, .. } => Part::Conductor { run, wire },
            boxproof_core::job::Tip::Lead { .. } => return Err(format!("{name} is a lead, not a conductor of a run")),
        },
        "contact" => Part::Contact(names.handle(name).map_err(words)?),
        "load" => Part::Load(names.load(name).map_err(words)?),
        "sheath" => Part::Sheath(names.run(name).map_err(words)?),
        "bond" => Part::Bond(names.box_named(name).map_err(words)?),
        "yoke" => Part::Yoke(names.device(name).map_err(words)?),
        "link" => {
            let (device, link) = name.split_once('.').ok_or_else(|| format!("{name}: which link?"))?;
            Part::Link { device: names.device(device).map_err(words)?, link: link.to_owned() }
        }
        other => return Err(format!("{other} is no kind of part")),
    })
}

/// A spot, or `earth`.
fn point(names: &Names<'_>, name: &str) -> Result<Point, String> {
    if name == "earth" { Ok(Point::Earth) } else { spot(names, name).map(Point::Spot) }
}

/// A place for a probe; the housing of a device too: `B7:light~`.
pub(super) fn spot(names: &Names<'_>, name: &str) -> Result<Spot, String> {
    match name.strip_suffix('~').filter(|device| device.contains(':')) {
        Some(device) => names.device(device).map(Spot::Shell).map_err(words),
        None => names.spot(name).map_err(words),
    }
}
