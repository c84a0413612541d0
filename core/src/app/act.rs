//! One event being turned into the facts of one act: what every verb needs at hand.

use crate::catalogue::Catalogue;
use crate::job::{Decimal, How, Kind, Layer, Notes, ThingId, Visit};
use crate::words::say;

use super::draft::Draft;
use super::line::Line;
use super::path::{Names, one_of};
use super::{Outside, Refusal};

/// An event being turned into facts.
pub(crate) struct Act<'a> {
    /// The event.
    pub(crate) line: &'a Line,
    /// What names mean.
    pub(crate) names: Names<'a>,
    /// The facts so far.
    pub(crate) draft: Draft<'a>,
    /// The layer that values go into.
    pub(crate) layer: Layer,
    /// How they are known.
    pub(crate) how: How,
    /// The job.
    pub(crate) job: Option<ThingId>,
    /// The author's visit.
    pub(crate) visit: Option<Visit>,
    /// Pigtails that this act has made so far.
    pub(crate) pigtails: usize,
}

/// A refusal for wrong input, from a key of the words.
pub(crate) fn refuse(key: &str, fill: &[(&str, &str)]) -> Refusal {
    Refusal::Input(say(key, fill))
}

/// The line with what was typed in place of every word and field that is a lone question mark, and in `watts="lamp ?"`.
/// `to=?` stays: it says that the other side of a run is not known.
pub(crate) fn filled(line: &Line, input: Option<&str>) -> Line {
    let typed = input.unwrap_or_default();
    let mut line = line.clone();
    let asked = line.fields.iter_mut().filter(|(name, _)| name.as_str() != "to").map(|(_, value)| value);
    for text in line.words.iter_mut().chain(asked).filter(|text| text.as_str() == "?") {
        typed.clone_into(text);
    }
    if let Some((load, "?")) = line.field("watts").and_then(|watts| watts.split_once(' ')) {
        let watts = format!("{load} {typed}");
        line = line.with("watts", watts);
    }
    line
}

impl<'a> Act<'a> {
    /// Makes ready for `line`: which job, which layer, how known.
    pub(crate) fn new(
        line: &'a Line,
        notes: &'a Notes,
        catalogue: &'a Catalogue,
        outside: &'a dyn Outside,
        visit: Option<&Visit>,
    ) -> Result<Self, Refusal> {
        let site_names = Names::new(notes, catalogue, Layer::Site);
        let job = match line.field("job") {
            Some(name) => Some(site_names.thing_named(name, Kind::Job)?),
            None => visit.map(|visit| visit.job).or_else(|| notes.job_now()),
        };
        let layer = match (line.field("layer"), job) {
            (None | Some("found"), Some(job)) => Layer::Found(job),
            (Some("planned"), Some(job)) => Layer::Planned(job),
            (Some("left"), Some(job)) => Layer::Left(job),
            (None | Some("site"), _) => Layer::Site,
            (Some("found" | "planned" | "left"), None) => return Err(refuse("refuse.no_job", &[])),
            (Some(other), _) => return Err(refuse("refuse.not_a_choice", &[("text", other)])),
        };
        let how = line.field("how").map_or(Ok(How::Seen), one_of)?;
        let names = Names::new(notes, catalogue, layer);
        Ok(Self { line, names, draft: Draft::new(notes, outside), layer, how, job, visit: visit.copied(), pigtails: 0 })
    }

    /// The `n`th word after the verb.
    pub(crate) fn word(&self, n: usize) -> Result<&'a str, Refusal> {
        let word = self.line.words.get(n).map(String::as_str);
        word.filter(|word| !word.trim().is_empty()).ok_or_else(|| refuse("refuse.missing", &[]))
    }

    /// A field that must be there.
    pub(crate) fn field(&self, name: &str) -> Result<&'a str, Refusal> {
        let value = self.line.field(name);
        value.filter(|value| !value.trim().is_empty()).ok_or_else(|| refuse("refuse.missing_field", &[("name", name)]))
    }

    /// The job, which this verb cannot do without.
    pub(crate) fn the_job(&self) -> Result<ThingId, Refusal> {
        self.job.ok_or_else(|| refuse("refuse.no_job", &[]))
    }

    /// The person whose visit it is, or who is named.
    pub(crate) fn person(&self, field: &str) -> Result<ThingId, Refusal> {
        match (self.line.field(field), self.visit) {
            (Some(name), _) => self.names.thing_named(name, Kind::Person),
            (None, Some(visit)) => Ok(visit.person),
            (None, None) => Err(refuse("refuse.nobody_here", &[])),
        }
    }
}

/// A number in a range that a person can mean; the limits are shown when it is not.
pub(crate) fn number(text: &str, least: f64, most: f64, unit: &str) -> Result<Decimal, Refusal> {
    let value: Decimal = text.trim().parse().map_err(|_| refuse("refuse.not_a_number", &[("text", text)]))?;
    if (least..=most).contains(&value.to_f64()) {
        return Ok(value);
    }
    let (least, most) = (least.to_string(), most.to_string());
    Err(refuse("refuse.out_of_range", &[("text", text), ("least", &least), ("most", &most), ("unit", unit)]))
}

/// A small count.
pub(crate) fn small(text: &str, most: u8) -> Result<u8, Refusal> {
    let value: u8 = text.trim().parse().map_err(|_| refuse("refuse.not_a_number", &[("text", text)]))?;
    if value <= most {
        return Ok(value);
    }
    let most = most.to_string();
    Err(refuse("refuse.out_of_range", &[("text", text), ("least", "0"), ("most", &most), ("unit", "")]))
}

/// A text that a person typed: trimmed, not empty, not endless.
pub(crate) fn text(text: &str) -> Result<String, Refusal> {
    const MOST: usize = 4_000;
    let text = text.trim();
    if text.is_empty() {
        return Err(refuse("refuse.empty_text", &[]));
    }
    if text.chars().count() > MOST {
        return Err(refuse("refuse.long_text", &[("most", &MOST.to_string())]));
    }
    Ok(text.to_owned())
}

/// Yes or no.
pub(crate) fn yes(text: &str) -> Result<bool, Refusal> {
    match text {
        "yes" | "true" | "on" | "whole" => Ok(true),
        "no" | "false" | "off" | "broken" => Ok(false),
        other => Err(refuse("refuse.not_a_choice", &[("text", other)])),
    }
}
