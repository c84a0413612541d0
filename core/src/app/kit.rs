//! A person's own kit: instruments, van stock, the person with their abbreviations. It is noted once and copied into a site on first use,
//! under the same names, so that an instrument's history can be followed from site to site.

use crate::job::{Fact, FieldKind, How, Kind, Layer, Notes, Subject, ThingId};

use super::Outside;
use super::draft::Draft;
use super::line::Line;

/// Kinds that a kit holds.
const KINDS: [Kind; 2] = [Kind::Person, Kind::Instrument];

fn named(notes: &Notes, kind: Kind, name: &str) -> Option<ThingId> {
    let field = FieldKind::Name.into();
    let take = crate::job::wiring::pick!(Name);
    let is = |id: &ThingId| {
        notes.note(&(*id).into(), &field, Layer::Site, take).get().is_some_and(|n| n == name) || id.to_string() == name
    };
    notes.things(kind, Layer::Site).into_iter().find(is)
}

/// The facts that bring what `line` names from the kit into a site that does not know it yet; none if nothing is
/// missing.
pub(crate) fn borrow(line: &Line, site: &Notes, kit: &Notes, outside: &dyn Outside) -> Vec<Fact> {
    let mut draft = Draft::new(site, outside);
    let words = line.words.first().into_iter().chain(["with", "by"].iter().filter_map(|name| line.fields.get(*name)));
    for name in words {
        for kind in KINDS {
            let (here, there) = (named(site, kind, name), named(kit, kind, name));
            match (here, there) {
                (None, Some(id)) => copy(kit, &id.into(), &mut draft),
                (Some(here), Some(there)) if line.verb == "arrive" && kind == Kind::Person => {
                    let of = [here, there].map(Subject::from);
                    missing(site, kit, FieldKind::Abbreviation, of, &mut draft);
                }
                _ => {}
            }
        }
    }
    if line.verb == "arrive" {
        ranges(site, kit, &mut draft);
    }
    draft.into_facts()
}

/// Copies every value that the kit has of a thing.
fn copy(kit: &Notes, of: &Subject, draft: &mut Draft<'_>) {
    for field in kit.all_fields(of) {
        for said in kit.current(of, &field, Layer::Site) {
            draft.set(of.clone(), Layer::Site, said.value.clone(), How::Carried);
        }
    }
}

/// Copies what the packs in the van say that connectors take, where the site has nothing of its own.
fn ranges(site: &Notes, kit: &Notes, draft: &mut Draft<'_>) {
    let (Some(here), Some(there)) = (the_site(site), the_site(kit)) else { return };
    missing(site, kit, FieldKind::Range, [here, there].map(Subject::from), draft);
}

/// Copies the parts of one kind that the kit has of a subject and the site has not.
fn missing(site: &Notes, kit: &Notes, kind: FieldKind, [here, there]: [Subject; 2], draft: &mut Draft<'_>) {
    for field in kit.fields(&there, kind) {
        if !site.current(&here, &field, Layer::Site).is_empty() {
            continue;
        }
        for said in kit.current(&there, &field, Layer::Site) {
            draft.set(here.clone(), Layer::Site, said.value.clone(), How::Carried);
        }
    }
}

fn the_site(notes: &Notes) -> Option<ThingId> {
    notes.things(Kind::Site, Layer::Site).first().copied()
}
