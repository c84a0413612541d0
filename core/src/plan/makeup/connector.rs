//! Which connector takes a splice: what the site uses already, then the smallest that takes the count.
//!
//! A lever or push-in connector takes one conductor in each port. What a wire connector takes is printed on its pack
//! for one size; a pack lists mixtures one by one, so that the range noted for one size says nothing of them.

use std::collections::{BTreeMap, BTreeSet};

use super::scene::Scene;
use crate::catalogue::{ConnectorForm, ConnectorType};
use crate::job::Tip;

/// A wire connector of which nobody said the size.
const SIZE_NOT_SAID: &str = "wire-connector";

/// The size of an end's conductor: a run's, or a lead's by the catalogue.
fn size(scene: &Scene<'_>, tip: &Tip) -> Option<String> {
    match tip {
        Tip::Wire { run, wire, .. } => {
            scene.catalogue.conductor(scene.wiring.runs.get(run)?, *wire).map(|conductor| conductor.size)
        }
        Tip::Lead { device, lead } => scene.kind(*device)?.point(lead)?.size.clone(),
    }
}

/// Fewest and most conductors that a connector takes; nothing where nobody knows.
fn takes(scene: &Scene<'_>, kind: &ConnectorType, sizes: &BTreeSet<Option<String>>) -> Option<(usize, usize)> {
    match kind.form {
        ConnectorForm::Lever | ConnectorForm::PushIn => kind.ports.map(|ports| (1, usize::from(ports))),
        ConnectorForm::WireConnector => {
            let size = sizes.first().filter(|_| sizes.len() == 1)?.clone()?;
            let (least, most) = scene.wiring.ranges.get(&(kind.id.clone(), size))?;
            Some((usize::from(*least), usize::from(*most)))
        }
        // Others take what whoever makes them sees fit; they are kept where they are and never proposed.
        ConnectorForm::Crimp | ConnectorForm::Soldered | ConnectorForm::SplitBolt | ConnectorForm::NotKnown => None,
    }
}

/// A connector for `count` conductors, of which `ends` are known. Nothing: the one that is there takes them, or nobody
/// knows one that does.
pub(super) fn choose(
    scene: &Scene<'_>,
    wanted: Option<ConnectorForm>,
    current: Option<&str>,
    ends: &[&Tip],
    count: usize,
) -> Option<String> {
    let sizes: BTreeSet<Option<String>> = ends.iter().map(|tip| size(scene, tip)).collect();
    let fits = |kind: &ConnectorType| {
        takes(scene, kind, &sizes).is_some_and(|(least, most)| (least..=most).contains(&count)).then_some(())
    };
    let there = current.and_then(|current| scene.catalogue.connector(current));
    let all = || scene.catalogue.connectors().filter(|kind| fits(kind).is_some());
    let most = |kind: &ConnectorType| takes(scene, kind, &sizes).map_or(usize::MAX, |(_, most)| most);
    // What a person asks for comes before what is there and what the site uses; the smallest of it that takes them all.
    let asked = wanted.and_then(|form| all().filter(|kind| kind.form == form).min_by_key(|kind| most(kind)));
    let unsized_one = || scene.catalogue.connector(SIZE_NOT_SAID);
    let asked = asked.or_else(|| unsized_one().filter(|kind| wanted == Some(kind.form)));
    if let Some(kind) = asked {
        return (there.map(|there| &there.id) != Some(&kind.id)).then(|| kind.id.clone());
    }
    if there.is_some_and(|kind| fits(kind).is_some()) {
        return None;
    }
    let mut used: BTreeMap<&str, usize> = BTreeMap::new();
    for splice in scene.wiring.splices.values() {
        if let Some(kind) = splice.connector.get() {
            *used.entry(kind.as_str()).or_default() += 1;
        }
    }
    let mut forms: BTreeMap<Rank, usize> = BTreeMap::new();
    for (kind, times) in &used {
        if let Some(kind) = scene.catalogue.connector(kind) {
            *forms.entry(rank(kind.form)).or_default() += times;
        }
    }
    let preferred = there.map(|kind| rank(kind.form)).filter(|form| *form < OTHER);
    let preferred = preferred.or_else(|| {
        forms
            .iter()
            .filter(|(form, _)| **form < OTHER)
            .max_by_key(|(form, times)| (**times, std::cmp::Reverse(**form)))
            .map(|(form, _)| *form)
    });
    let known = |kind: &ConnectorType| {
        used.contains_key(kind.id.as_str()) || scene.wiring.ranges.keys().any(|(pack, _)| *pack == kind.id)
    };
    // As found it is what is there and not what would fit: where wire connectors are the custom, it is one of them.
    let custom = unsized_one().filter(|kind| scene.found && preferred == Some(rank(kind.form)));
    if let Some(kind) = custom.filter(|custom| all().all(|kind| kind.form != custom.form)) {
        return Some(kind.id.clone());
    }
    let best = all().min_by_key(|kind| (Some(rank(kind.form)) != preferred, !known(kind), rank(kind.form), most(kind)));
    best.map(|kind| kind.id.clone())
}

/// Forms in the order in which they are preferred where the site uses none.
type Rank = u8;

const OTHER: Rank = 3;

fn rank(form: ConnectorForm) -> Rank {
    match form {
        ConnectorForm::Lever => 0,
        ConnectorForm::PushIn => 1,
        ConnectorForm::WireConnector => 2,
        _ => OTHER,
    }
}
