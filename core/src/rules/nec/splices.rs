//! Connectors: one conductor in each port, and the combinations printed on a pack.

use std::collections::BTreeMap;

use super::edition::Edition;
use crate::catalogue::{ConnectorForm, PointForm, connector_name, size_name};
use crate::job::{SpliceNote, Tip};
use crate::rules::finding::{Amount, Finding, Severity, Unit};
use crate::rules::index::Index;
use crate::rules::name;

pub(super) fn check(index: &Index<'_>, edition: Edition) -> Vec<Finding> {
    index.wiring.splices.values().filter_map(|splice| of_splice(index, splice, edition)).collect()
}

fn of_splice(index: &Index<'_>, splice: &SpliceNote, edition: Edition) -> Option<Finding> {
    let ends = index.in_splice.get(&splice.id).map_or(&[][..], Vec::as_slice);
    if ends.len() < 2 {
        return None; // parted, or not yet made up
    }
    let kind = splice.connector.get().and_then(|kind| index.catalogue.connector(kind));
    let Some(kind) = kind else {
        return Some(finding(index, splice, edition, "rule.ports.not_known", ends.len(), None, Vec::new()));
    };
    match kind.form {
        ConnectorForm::Lever | ConnectorForm::PushIn => {
            let ports = usize::from(kind.ports?);
            let over = ends.len() > ports;
            over.then(|| finding(index, splice, edition, "rule.ports.over", ends.len(), Some(ports), Vec::new()))
        }
        ConnectorForm::WireConnector => packed(index, splice, &kind.id, ends, edition),
        ConnectorForm::NotKnown => {
            Some(finding(index, splice, edition, "rule.ports.not_known", ends.len(), None, Vec::new()))
        }
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
fn packed(index: &Index<'_>, splice: &SpliceNote, kind: &str, ends: &[&Tip], edition: Edition) -> Option<Finding> {
    let mut sizes: BTreeMap<Option<String>, usize> = BTreeMap::new();
    for end in ends {
        *sizes.entry(size(index, end)).or_default() += 1;
    }
    let n = ends.len();
    let one_size = match sizes.keys().next() {
        Some(Some(size)) if sizes.len() == 1 => size.clone(),
        _ => return Some(finding(index, splice, edition, "rule.range.mixed", n, None, Vec::new())),
    };
    let words = vec![("size", size_name(&one_size)), ("pack", connector_name(kind))];
    let Some((least, most)) = index.wiring.ranges.get(&(kind.to_owned(), one_size)) else {
        return Some(finding(index, splice, edition, "rule.range.not_known", n, None, words));
    };
    let (least, most) = (usize::from(*least), usize::from(*most));
    if n > most {
        Some(finding(index, splice, edition, "rule.range.over", n, Some(most), words))
    } else if n < least {
        Some(finding(index, splice, edition, "rule.range.under", n, Some(least), words))
    } else {
        None
    }
}

fn finding(
    index: &Index<'_>,
    splice: &SpliceNote,
    edition: Edition,
    rule: &'static str,
    n: usize,
    limit: Option<usize>,
    mut words: Vec<(&'static str, String)>,
) -> Finding {
    let in_box = splice.in_box.get().copied().flatten();
    words.push(("where", name::r#box(index, in_box)));
    words.push(("splice", name::splice(index, splice.id)));
    let amount = |n: usize| Amount::new(i64::try_from(n).unwrap_or(i64::MAX), Unit::Conductor);
    Finding {
        rule,
        severity: if limit.is_some() { Severity::Over } else { Severity::NotKnown },
        place: splice.id.into(),
        in_box,
        amount: Some(amount(n)),
        limit: limit.map(amount),
        citation: edition.cite(edition.section("connector")),
        fill: words,
    }
}
