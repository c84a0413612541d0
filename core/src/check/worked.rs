//! Which boxes a job works in, and since when their power is on.

use std::collections::BTreeSet;

use crate::job::{Happening, JobNote, Layer, Notes, Place, Stamp, Subject, ThingId, Wiring};

/// The boxes that a job works in: those it means to open, those whose cover came off on its visits, those of which
/// anything was noted as left. In the order of their tags; panels are none of them. `left` is the wiring as it left it.
pub fn worked(notes: &Notes, job: Option<ThingId>, left: &Wiring) -> Vec<ThingId> {
    let mut worked = BTreeSet::new();
    if let Some(job) = job.map(|job| JobNote::read(notes, job)) {
        let opens = job.opens.iter().filter_map(|note| note.get()).filter(|open| open.open);
        worked.extend(opens.map(|open| open.r#box));
    }
    let visits: BTreeSet<_> =
        notes.visits().into_iter().filter(|visit| Some(visit.job) == job).map(|visit| visit.id).collect();
    for happened in notes.happened() {
        if let (Happening::CoverOff, Subject::Thing(id)) = (&happened.what, &happened.of)
            && happened.visit.is_some_and(|visit| visits.contains(&visit))
        {
            worked.insert(*id);
        }
    }
    if let Layer::Left(_) = left.layer {
        for subject in notes.subjects() {
            let fields = notes.all_fields(subject);
            let noted = fields.iter().any(|field| !notes.current(subject, field, left.layer).is_empty());
            if noted {
                worked.extend(boxes_of(left, subject));
            }
        }
    }
    let is_panel = |id: &ThingId| left.boxes.get(id).is_some_and(|note| note.system.is_said());
    left.boxes_in_order().into_iter().filter(|id| worked.contains(id) && !is_panel(id)).collect()
}

/// The boxes that a subject belongs to; a run belongs to its boxes only by what is noted of its sides and ends, and an
/// end that is not there to none.
fn boxes_of(wiring: &Wiring, subject: &Subject) -> Vec<ThingId> {
    let nowhere = match subject {
        Subject::Thing(id) => wiring.runs.contains_key(id),
        Subject::Tip(tip) => wiring.place(tip).is_none_or(|place| *place == Place::Absent),
        Subject::Side(..) => false,
    };
    if nowhere { Vec::new() } else { wiring.boxes_of(subject) }
}

/// When the power of these sources last came on: what was read or tried before it does not answer for now.
pub fn on_since(notes: &Notes, sources: &[ThingId]) -> Option<Stamp> {
    let mut on = notes.happened().filter(|happened| {
        let of = matches!(&happened.of, Subject::Thing(id) if sources.contains(id));
        of && happened.what == Happening::Switched { on: true }
    });
    on.next_back().map(|happened| happened.stamp)
}
