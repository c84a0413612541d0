//! From an event's verb to the facts of one act.

use crate::job::{Author, Fact, Happening, Kind, Layer};

use super::Refusal;
use super::act::{Act, refuse};

/// The facts that an event states. Nothing is noted yet.
pub(crate) fn perform(mut act: Act<'_>, author: Author, input: Option<&str>) -> Result<Vec<Fact>, Refusal> {
    if act.line.verb == "make-up" {
        return super::makeup::make_up(act);
    }
    match act.line.verb.as_str() {
        "person" => act.note_piece(Kind::Person)?,
        "instrument" => act.note_piece(Kind::Instrument)?,
        "job" => act.note_piece(Kind::Job)?,
        "supply" => act.note_piece(Kind::Supply)?,
        "box" => act.note_box()?,
        "run" => act.note_run()?,
        "device" => act.note_device()?,
        "join" => act.join()?,
        "land" => act.land()?,
        "place" => act.place()?,
        "cap" => act.cap()?,
        "label" => act.label()?,
        "set" => act.set_values()?,
        "remove" => act.remove()?,
        "promise" => act.promise()?,
        "to-open" => act.open_or_not(true)?,
        "not-to-open" => act.open_or_not(false)?,
        "seen" => act.seen()?,
        "as-planned" => act.as_planned()?,
        "take-back" => act.take_back(author)?,
        "bring-back" => act.bring_back(author)?,
        "strike" => act.strike()?,
        "same" => act.same()?,
        "apart" => act.apart()?,
        "confirm" => act.confirm()?,
        _ => happening(&mut act, input)?,
    }
    Ok(act.draft.into_facts())
}

fn happening(act: &mut Act<'_>, input: Option<&str>) -> Result<(), Refusal> {
    match act.line.verb.as_str() {
        "arrive" => act.arrive(),
        "leave" => act.move_person(false),
        "back" => act.move_person(true),
        "cover" => act.cover(),
        "off" => act.off(),
        "lock" => act.lock(),
        "unlock" => act.unlock(),
        "on" => act.on(),
        "told" => act.words_about(Happening::Told),
        "remark" => act.words_about(Happening::Remark),
        "conclude" => act.words_about(Happening::Concluded),
        "found-not-ours" => act.words_about(Happening::FoundNotOurs),
        "do-not-cover" => act.words_about(Happening::DoNotCover),
        "may-cover" => act.words_about(Happening::MayCover),
        "unfinished" => act.words_about(Happening::Unfinished),
        "extra" => act.words_about(Happening::Extra),
        "ready" => act.ready(),
        "used" => act.used(),
        "hours" => act.hours(),
        "prove" => act.prove(input),
        "read" => act.read(input),
        "ask" => act.ask_dead(),
        "answer" => act.answer(input),
        "try" => act.tried(),
        "part" => act.part(),
        "look" => act.look(),
        "first-look" => act.first_look(),
        "sign" => act.sign(),
        other => Err(refuse("refuse.no_verb", &[("name", other)])),
    }
}

impl Act<'_> {
    /// `person name="W. Tolliver" licence=J-0417`, `instrument name=M2 kind=meter`, `job name="Back stair"`
    fn note_piece(&mut self, kind: Kind) -> Result<(), Refusal> {
        let name = self.field("name")?;
        if self.names.thing_named(name, kind).is_ok() {
            return Err(refuse("refuse.name_taken", &[("name", name)]));
        }
        let id = self.draft.thing(kind, Layer::Site);
        self.set_fields(id, kind)
    }
}
