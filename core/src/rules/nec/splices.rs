//! Connectors: one conductor in each port, and the combinations printed on a pack.

use std::collections::{BTreeMap, BTreeSet};

use super::edition::Edition;
use crate::catalogue::{ConnectorForm, PointForm, connector_name, size_name};
use crate::job::{SpliceNote, ThingId, Tip};
use crate::rules::finding::{Amount, Finding, Severity, Unit};
use crate::rules::index::Index;
use crate::rules::name;

/// What is said of one splice.
enum Said {
    /// Beyond a number, which is given.
    Beyond { rule: &'static str, n: usize, limit: usize, size: Option<String> },
    /// Not known.
    Open(Open),
}

/// Why a splice cannot be judged. Alike ones of a box make one finding: a box of old splices needs one look, not ten
/// lines.
#[derive(PartialEq, Eq, PartialOrd, Ord)]
enum Open {
    /// What it is spliced with.
    Connector,
    /// The pack's list for a mixture of sizes, or the sizes themselves.
    Mixed,
    /// What the pack lists for one size.
    Pack { pack: String, size: String },
}

pub(super) fn check(index: &Index<'_>, edition: Edition) -> Vec<Finding> {
    let mut findings = Vec::new();
    let mut open: BTreeMap<(Option<ThingId>, Open), Vec<ThingId>> = BTreeMap::new();
    for splice in index.wiring.splices.values() {
        match said(index, splice) {
            Some(Said::Open(why)) => open.entry((in_box(splice), why)).or_default().push(splice.id),
            Some(Said::Beyond { rule, n, limit, size }) => {
                findings.push(beyond(index, splice, edition, (rule, n, limit), size));
            }
            None => {}
        }
    }
    findings
        .extend(open.into_iter().filter_map(|((here, why), splices)| not_known(index, edition, here, why, &splices)));
    findings
}

fn in_box(splice: &SpliceNote) -> Option<ThingId> {
    splice.in_box.get().copied().flatten()
}

fn said(index: &Index<'_>, splice: &SpliceNote) -> Option<Said> {
    let ends = index.in_splice.get(&splice.id).map_or(&[][..], Vec::as_slice);
    let n = ends.len();
    if n < 2 {
        return None; // parted, or not yet made up
    }
    let Some(kind) = splice.connector.get().and_then(|kind| index.catalogue.connector(kind)) else {
        return Some(Said::Open(Open::Connector));
    };
    match kind.form {
        ConnectorForm::Lever | ConnectorForm::PushIn => {
            let limit = usize::from(kind.ports?);
            (n > limit).then_some(Said::Beyond { rule: "rule.ports.over", n, limit, size: None })
        }
        ConnectorForm::WireConnector => by_pack(index, &kind.id, ends),
        ConnectorForm::NotKnown => Some(Said::Open(Open::Connector)),
        ConnectorForm::Crimp | ConnectorForm::Soldered | ConnectorForm::SplitBolt => None,
    }
}

/// The size of an end's conductor: a run's, or a device's own lead by the catalogue.
fn size(index: &Index<'_>, tip: &Tip) -> Option<String> {
    match tip {
        Tip::Wire { .. } => index.conductor(tip).map(|conductor| conductor.size),
        Tip::Lead { device, lead } => {
            let point = index.kind(*device)?.point(lead)?;
            if point.form == PointForm::Lead { point.size.clone() } else { None }
        }
    }
}

/// A twisted-on connector against the pack's range. A pack lists combinations; the range noted for one size says
/// nothing of a mixture, so a mixture is not known.
fn by_pack(index: &Index<'_>, pack: &str, ends: &[&Tip]) -> Option<Said> {
    let sizes: BTreeSet<Option<String>> = ends.iter().map(|end| size(index, end)).collect();
    let size = match sizes.into_iter().collect::<Vec<_>>().as_slice() {
        [Some(size)] => size.clone(),
        _ => return Some(Said::Open(Open::Mixed)),
    };
    let Some((least, most)) = index.wiring.ranges.get(&(pack.to_owned(), size.clone())) else {
        return Some(Said::Open(Open::Pack { pack: pack.to_owned(), size }));
    };
    let (n, least, most) = (ends.len(), usize::from(*least), usize::from(*most));
    let size = Some(size);
    match n {
        _ if n > most => Some(Said::Beyond { rule: "rule.range.over", n, limit: most, size }),
        _ if n < least => Some(Said::Beyond { rule: "rule.range.under", n, limit: least, size }),
        _ => None,
    }
}

fn beyond(
    index: &Index<'_>,
    splice: &SpliceNote,
    edition: Edition,
    (rule, n, limit): (&'static str, usize, usize),
    size: Option<String>,
) -> Finding {
    let count = |n: usize| Some(Amount::new(i64::try_from(n).unwrap_or(i64::MAX), Unit::Conductor));
    Finding {
        rule,
        severity: Severity::Over,
        place: splice.id.into(),
        in_box: in_box(splice),
        amount: count(n),
        limit: count(limit),
        citation: edition.cite(edition.section("connector")),
        fill: vec![
            ("where", name::r#box(index, in_box(splice))),
            ("splice", name::splice(index, splice.id)),
            ("size", size.map(|size| size_name(&size)).unwrap_or_default()),
        ],
    }
}

fn not_known(
    index: &Index<'_>,
    edition: Edition,
    here: Option<ThingId>,
    why: Open,
    splices: &[ThingId],
) -> Option<Finding> {
    let (rule, pack, size) = match why {
        Open::Connector => ("rule.ports.not_known", String::new(), String::new()),
        Open::Mixed => ("rule.range.mixed", String::new(), String::new()),
        Open::Pack { pack, size } => ("rule.range.not_known", connector_name(&pack), size_name(&size)),
    };
    let names: Vec<String> = splices.iter().map(|splice| name::splice(index, *splice)).collect();
    Some(Finding {
        rule,
        severity: Severity::NotKnown,
        place: here.or(splices.first().copied())?.into(),
        in_box: here,
        amount: None,
        limit: None,
        citation: edition.cite(edition.section("connector")),
        fill: vec![("where", name::r#box(index, here)), ("splices", names.join(", ")), ("pack", pack), ("size", size)],
    })
}
