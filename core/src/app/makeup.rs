//! `make-up B3 layer=planned way=1 parts=grounds,neutrals`: what the program proposes for a box, noted in one act. It is
//! worked out anew from the notes that the screen was drawn from, and so is what the person saw.

use std::collections::BTreeSet;

use crate::job::How;
use crate::job::ThingId;
use crate::name::Called;
use crate::plan::makeup::{Part, Way, is_found, ways};

use super::Refusal;
use super::act::{Act, refuse};
use super::line::Line;

impl Act<'_> {
    /// The events that the proposal stands for, one by one.
    pub(crate) fn make_up_lines(&self) -> Result<Vec<Line>, Refusal> {
        let at = self.names.box_named(self.word(0)?)?;
        let wiring = self.names.notes.wiring(self.layer);
        let catalogue = self.names.catalogue;
        let nothing = || refuse("refuse.nothing_to_make_up", &[]);
        let n = self.line.field("way").map_or(Ok(0), |way| super::act::small(way, u8::MAX).map(usize::from))?;
        let way: Way = ways(&wiring, catalogue, at).into_iter().nth(n).ok_or_else(nothing)?;
        let wanted: Option<BTreeSet<&str>> = self.line.field("parts").map(|parts| parts.split(',').collect());
        // As found, commons and travelers are confirmed one by one, never in bulk.
        let bulk = |part: &&Part| !(is_found(&wiring) && part.is_single());
        let chosen = |part: &&Part| wanted.as_ref().is_none_or(|wanted| wanted.contains(part.key.as_str()));
        let mut taken = self.splice_names(at);
        let mut free = |wanted: &str| {
            let numbered = (2..100).map(|n| format!("{wanted} {n}"));
            let mut all = std::iter::once(wanted.to_owned()).chain(numbered);
            let name = all.find(|name| !taken.contains(name)).unwrap_or_else(|| wanted.to_owned());
            taken.insert(name.clone());
            name
        };
        let parts = way.parts.iter().filter(bulk).filter(chosen);
        let lines: Vec<Line> = parts.flat_map(|part| part.lines(&wiring, catalogue, at, &mut free)).collect();
        if lines.is_empty() { Err(nothing()) } else { Ok(lines) }
    }

    /// Names that splices of a box have in any layer of the job.
    fn splice_names(&self, at: ThingId) -> BTreeSet<String> {
        let catalogue = self.names.catalogue;
        let mut names = BTreeSet::new();
        for wiring in self.names.wirings() {
            let called = Called::new(wiring, catalogue);
            names.extend(wiring.splices_in(at).into_iter().map(|splice| called.splice(splice)));
        }
        names
    }

    /// What is confirmed in bulk is never said to be seen.
    pub(crate) fn in_bulk(mut self) -> Self {
        self.how = How::Confirmed;
        self
    }
}
