//! A finding: what is not as a section of the code asks, where and by how much; or what would have to be known.

use std::fmt;

use crate::job::{Subject, ThingId};
use crate::words::say;

/// What a finding comes to. What is as asked, equality with a limit included, gives no finding.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Severity {
    /// Beyond the limit.
    Over,
    /// Something that decides it is not known.
    NotKnown,
}

/// The unit of an [`Amount`]. Each rule counts in the unit of its own table, in whole steps, because equal to the
/// limit is a pass.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Unit {
    /// One ten-thousandth of a cubic inch.
    CubicInchE4,
    /// One thousandth of an inch.
    InchE3,
    /// One thousandth of an ampere.
    Milliampere,
    /// Conductors.
    Conductor,
}

impl Unit {
    /// How many decimal places a whole step stands behind the unit that people read, and the least to show.
    fn places(self) -> (u8, usize) {
        match self {
            Self::CubicInchE4 => (4, 1),
            Self::InchE3 | Self::Milliampere => (3, 0),
            Self::Conductor => (0, 0),
        }
    }

    fn words(self) -> &'static str {
        match self {
            Self::CubicInchE4 => "rule.unit.in3",
            Self::InchE3 => "rule.unit.in",
            Self::Milliampere => "rule.unit.a",
            Self::Conductor => "rule.unit.count",
        }
    }
}

/// An exact amount in whole steps of its unit.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Amount {
    /// Whole steps.
    pub value: i64,
    /// The step.
    pub unit: Unit,
}

impl Amount {
    /// `value` steps of `unit`.
    pub const fn new(value: i64, unit: Unit) -> Self {
        Self { value, unit }
    }

    /// The bare number: `30.0`, `5.625`, `15`.
    pub fn number(self) -> String {
        let (places, least) = self.unit.places();
        let full = crate::job::Decimal::new(self.value, places).to_string();
        let Some((whole, part)) = full.split_once('.') else { return full };
        let kept = part.trim_end_matches('0').len().max(least);
        match part.get(..kept) {
            Some(part) if !part.is_empty() => format!("{whole}.{part}"),
            _ => whole.to_owned(),
        }
    }
}

impl fmt::Display for Amount {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&say(self.unit.words(), &[("n", &self.number())]))
    }
}

/// Where a finding comes from: a section of an edition.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Citation {
    /// The section: `314.16(B)`.
    pub section: String,
    /// The edition's name: `NEC 2020`.
    pub edition: String,
}

/// One finding.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Finding {
    /// Key of its words: `rule.fill.over`. The part up to the second dot names the rule.
    pub rule: &'static str,
    /// Beyond the limit, or not known.
    pub severity: Severity,
    /// What it is about.
    pub place: Subject,
    /// The box that it is in, if it is in one.
    pub in_box: Option<ThingId>,
    /// What there is.
    pub amount: Option<Amount>,
    /// What is asked, at most or at least.
    pub limit: Option<Amount>,
    /// Section and edition.
    pub citation: Citation,
    /// What is filled into its words beside the amounts.
    pub fill: Vec<(&'static str, String)>,
}

impl Finding {
    /// The rule's name in words: "box fill".
    pub fn rule_name(&self) -> String {
        let short: Vec<&str> = self.rule.split('.').take(2).collect();
        say(&short.join("."), &[])
    }

    /// By how much it is beyond the limit, where there is one.
    pub fn by(&self) -> Option<Amount> {
        let (amount, limit) = (self.amount?, self.limit?);
        (amount.unit == limit.unit).then(|| Amount::new((amount.value - limit.value).abs(), amount.unit))
    }

    /// What, where and by how much, in words.
    pub fn what(&self) -> String {
        let text = |amount: Option<Amount>| amount.map(|amount| amount.to_string()).unwrap_or_default();
        let (amount, limit, by) = (text(self.amount), text(self.limit), text(self.by()));
        let mut fill: Vec<(&str, &str)> = vec![("amount", &amount), ("limit", &limit), ("by", &by)];
        fill.extend(self.fill.iter().map(|(slot, text)| (*slot, text.as_str())));
        say(self.rule, &fill)
    }

    /// The whole finding: what, where, by how much, section and edition, and who decides.
    pub fn sentence(&self) -> String {
        let Citation { section, edition } = &self.citation;
        say("rule.sentence", &[("what", &self.what()), ("section", section), ("edition", edition)])
    }
}
