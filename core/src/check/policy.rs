//! The project's own limits, by name. None of them is a number of the code, and each says so.

use std::collections::BTreeMap;
use std::sync::OnceLock;

use serde::Deserialize;

use crate::job::{Decimal, JobNote};

const TEXT: &str = include_str!("../../../shared/tables/policy.json");

/// One named policy as the table states it.
#[derive(Debug, Clone, PartialEq, Eq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct PolicyLine {
    /// Its name; the words for people are under `policy.<id>`.
    pub id: String,
    /// The value.
    pub value: Decimal,
    /// Its unit.
    pub unit: String,
    /// Where it comes from.
    pub source: String,
    /// How that was confirmed.
    pub how: String,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Table {
    #[allow(dead_code, reason = "says what the table is, to whoever reads the file")]
    about: String,
    policies: Vec<PolicyLine>,
}

/// The policies that the program brings. A broken table, which a test refuses, is empty: limits are then zero, and
/// everything reads as over the limit.
pub fn policies() -> &'static [PolicyLine] {
    static LINES: OnceLock<Vec<PolicyLine>> = OnceLock::new();
    LINES.get_or_init(|| serde_json::from_str::<Table>(TEXT).map(|table| table.policies).unwrap_or_default())
}

/// The limits that a check goes by.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Policy {
    /// Volts above which a pair is not proven.
    pub dead_limit: Decimal,
    /// Volts from which on it is to be treated as live.
    pub treat_as_live: Decimal,
    /// Volts that a reading on a known live source shows at least, for a reference to be real.
    pub reference_live: Decimal,
    /// Ohms below which a pair looks like a short before power.
    pub looks_short: Decimal,
}

impl Policy {
    /// The project's policies.
    pub fn shared() -> Self {
        let all: BTreeMap<&str, Decimal> = policies().iter().map(|line| (line.id.as_str(), line.value)).collect();
        let value = |id: &str| all.get(id).copied().unwrap_or(Decimal::new(0, 0));
        Self {
            dead_limit: value("dead_limit"),
            treat_as_live: value("treat_as_live"),
            reference_live: value("reference_live"),
            looks_short: value("looks_short"),
        }
    }

    /// The policies of one job: its dead limit may be lower than the project's, never higher.
    pub fn of(job: &JobNote) -> Self {
        let mut policy = Self::shared();
        if let Some(own) = job.dead_limit.get()
            && own.to_f64() < policy.dead_limit.to_f64()
        {
            policy.dead_limit = *own;
        }
        policy
    }
}
