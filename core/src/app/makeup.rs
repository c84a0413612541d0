//! A proposal for making up a box, noted in one act: the same proposal is worked out anew, and each of its parts is
//! noted by the events that a person would send for it.
//!
//! The revision of the screen guards that it is the same one. Whoever agrees has not looked: it is noted as confirmed.

use std::collections::BTreeSet;

use crate::job::{Fact, How, Layer};
use crate::plan::makeup::{Part, form_of, ways_with};
use crate::token::Line;

use super::Refusal;
use super::act::{Act, refuse};
use super::path::Names;

/// The facts of `make-up B3 layer=planned way=0 parts=grounds,neutrals connect=lever`; without `parts` all of them, in
/// the layer as found without commons and travelers.
pub(crate) fn make_up(act: Act<'_>) -> Result<Vec<Fact>, Refusal> {
    let at = act.names.box_named(act.word(0)?)?;
    let n: usize = act
        .line
        .field("way")
        .map_or(Ok(0), |way| way.parse().map_err(|_| refuse("refuse.not_a_number", &[("text", way)])))?;
    let form = form_of(act.line.field("connect"));
    let all = ways_with(act.names.wiring(), act.names.catalogue, at, form);
    let way = all.get(n).ok_or_else(|| refuse("refuse.makeup.none", &[]))?;
    let parts = picked(&way.parts, act.line.field("parts"), matches!(act.layer, Layer::Found(_) | Layer::Site))?;
    let mut lines = Vec::new();
    let mut taken: BTreeSet<String> = BTreeSet::new();
    for part in parts {
        let mut free = |name: &str| {
            let numbered = (2..100).map(|n| format!("{name} {n}"));
            let all = std::iter::once(name.to_owned()).chain(numbered);
            let is_free = |name: &String| !taken.contains(name) && act.names.splice(&format!("{at}+{name}")).is_err();
            let name = all.into_iter().find(is_free).unwrap_or_else(|| name.to_owned());
            taken.insert(name.clone());
            name
        };
        lines.extend(part.lines(act.names.wiring(), act.names.catalogue, at, &mut free));
    }
    noted(act, &lines)
}

/// The parts that are asked for.
fn picked<'p>(parts: &'p [Part], asked: Option<&str>, found: bool) -> Result<Vec<&'p Part>, Refusal> {
    let Some(asked) = asked else {
        let bulk: Vec<&Part> = parts.iter().filter(|part| !(found && part.is_single())).collect();
        return if bulk.is_empty() { Err(refuse("refuse.makeup.none", &[])) } else { Ok(bulk) };
    };
    let asked: Vec<&str> = asked.split(',').map(str::trim).filter(|key| !key.is_empty()).collect();
    if let Some(key) = asked.iter().find(|key| parts.iter().all(|part| part.key != **key)) {
        return Err(refuse("refuse.makeup.no_part", &[("name", key)]));
    }
    let chosen: Vec<&Part> = parts.iter().filter(|part| asked.contains(&part.key.as_str())).collect();
    if chosen.is_empty() {
        return Err(refuse("refuse.makeup.none", &[]));
    }
    if found && chosen.iter().any(|part| part.is_single()) {
        return Err(refuse("refuse.makeup.singly", &[]));
    }
    Ok(chosen)
}

/// Performs lines as one act, everything confirmed and nothing seen.
fn noted(act: Act<'_>, lines: &[Line]) -> Result<Vec<Fact>, Refusal> {
    let Act { names, draft, layer, job, visit, pigtails, .. } = act;
    let (notes, catalogue) = (names.notes, names.catalogue);
    let (mut draft, mut pigtails) = (draft, pigtails);
    for line in lines {
        let names = Names::new(notes, catalogue, layer);
        let mut inner = Act { line, names, draft, layer, how: How::Confirmed, job, visit, pigtails };
        match line.verb.as_str() {
            "join" => inner.join()?,
            "land" => inner.land()?,
            "place" => inner.place()?,
            _ => inner.set_values()?,
        }
        (draft, pigtails) = (inner.draft, inner.pigtails);
    }
    let mut facts = draft.into_facts();
    for fact in &mut facts {
        if let Fact::Set(set) = fact
            && set.how == How::Seen
        {
            set.how = How::Confirmed;
        }
    }
    Ok(facts)
}
