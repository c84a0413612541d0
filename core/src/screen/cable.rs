//! One run as a box has it: each of its conductors, where it leads, its length, what is known of it.

use crate::catalogue::RunForm;
use crate::job::{Side, ThingId, Tip, Wiring};
use crate::refusal::Refusal;
use crate::token::Line;
use crate::token::path::{tip_text, word_of};
use crate::words::say;

use super::inside::{far_words, label_words, length_words};
use super::order::{boxes_as_power_runs, is_panel};
use super::parts::{
    amount, blank, choice, deeds, edge_of_tip, headline, letter, place_words, run_kind, strand, w, wf, wires_of,
    wiring_of,
};
use super::row::{Body, Edge, Pick, Row, Screen};
use super::run::{breakers, length_unit, next_letter};
use super::view::View;

/// The page `cable <run>/<side>`.
pub(super) fn show(view: &View<'_>) -> Result<Screen, Refusal> {
    let name = view.address.words.first().map(String::as_str).unwrap_or_default();
    let (run, side) = view.names().side(name)?;
    let wiring = view.asked();
    let at = wiring.runs.get(&run).and_then(|note| note.side(side).in_box.get().copied().flatten());
    let over = at.map(|at| super::parts::box_words(wiring, at)).unwrap_or_default();
    let fill =
        [("letter", letter(wiring, run, side)), ("kind", run_kind(wiring, run)), ("far", far_words(wiring, run, side))];
    let fill: Vec<(&str, &str)> = fill.iter().map(|(slot, text)| (*slot, text.as_str())).collect();
    let mut screen = view.screen(&over, &wf("run_title", &fill));
    screen.rows.extend(conductor_rows(view, wiring, run, side));
    let set = |field: &str, value: &str| {
        let of = format!("{run}/{}", word_of(&side));
        view.event(Line::new("set").word(of).with(field, value).with_some("layer", view.layer_field()))
    };
    screen.rows.extend(far_rows(view, wiring, run, side));
    let length = wiring.runs.get(&run).and_then(|note| note.length.get());
    let shown = length.map(|length| length.value.to_string()).unwrap_or_default();
    screen.rows.push(amount("length", &w("run.length"), &shown, length_unit(view), set("length", "?")));
    if let (Some(length), Some(_)) = (length, length_words(wiring, run)) {
        let unit = if length.unit == crate::job::value::LengthUnit::Feet { "ft" } else { "m" };
        let options = [("run.measured", true, ""), ("run.estimated", false, " est")].map(|(key, measured, word)| {
            let value = format!("{} {unit}{word}", length.value);
            Pick::new(&w(key), set("length", &value)).on(length.measured == measured)
        });
        screen.rows.push(choice("est", &w("run.length_is"), options.into()));
    }
    screen.rows.push(blank("letter", &w("run.letter"), &letter(wiring, run, side), set("letter", "?")));
    screen.rows.push(enters(wiring, run, side, &set));
    screen.rows.extend(more(view, wiring, run, &set));
    let remove = Line::new("remove").word(run).with_some("layer", view.layer_field());
    let then = at.map_or_else(|| view.page("job"), |at| view.page_here("box").word(at));
    screen.rows.push(deeds(None, vec![Pick::new(&w("deed.run_gone"), view.event_then(remove, &then))]));
    Ok(screen)
}

/// A row for each conductor at this side: where it is and what is written on it.
fn conductor_rows(view: &View<'_>, wiring: &Wiring, run: ThingId, side: Side) -> Vec<Row> {
    let tips = wires_of(view, wiring, run).into_iter().map(|wire| Tip::Wire { run, wire, side });
    tips.map(|tip| {
        let body = Body::Strands {
            title: place_words(view, wiring, &tip),
            second: label_words(wiring, &tip),
            strands: vec![strand(view, wiring, &tip)],
        };
        let to = view.page_here("end").with("tip", tip_text(&tip));
        let row = Row::new(&format!("end {}", tip_text(&tip)), body);
        row.edge(edge_of_tip(view, wiring, &tip)).leads(view.go(&to))
    })
    .collect()
}

/// The other side: the box there, or a choice of boxes and of runs that may be this same one.
fn far_rows(view: &View<'_>, wiring: &Wiring, run: ThingId, side: Side) -> Vec<Row> {
    let Some(note) = wiring.runs.get(&run) else { return Vec::new() };
    let here = note.side(side).in_box.get().copied().flatten();
    let far = note.side(side.other()).in_box.get().copied().flatten();
    let mut rows = vec![headline("far", &w("cable.far"), "")];
    if let Some(far) = far {
        let mut row = super::front::box_row(view, far);
        "far-box".clone_into(&mut row.key);
        rows.push(row);
    } else {
        let boxes = boxes_as_power_runs(view).into_iter().filter(|id| Some(*id) != here);
        let of = format!("{run}/{}", word_of(&side.other()));
        let options = boxes.map(|id| {
            let event = Line::new("set").word(&of).with("in", id).with("letter", next_letter(view, id));
            Pick::new(&wiring_of(view, id).tag(id), view.event(event.with_some("layer", view.layer_field())))
        });
        let mut options: Vec<Pick> = options.collect();
        let new = view.page_here("note-box").with("joins", &of);
        options.push(Pick::new(&w("run.new_box"), view.go(&new)));
        rows.push(choice("leads-to", &w("cable.leads_to"), options).edge(Edge::Unknown));
        rows.extend(same_as(view, wiring, run, side));
    }
    for at in [Side::Near, Side::Far] {
        let panel = note.side(at).in_box.get().copied().flatten();
        if let Some(panel) = panel.filter(|id| is_panel(view, wiring_of(view, *id), *id)) {
            let known = note.side(at).feed.get().map(ToString::to_string).unwrap_or_default();
            let of = format!("{run}/{}", word_of(&at));
            rows.push(breakers(view, panel, &known, |id| {
                let event = Line::new("set").word(&of).with("feed", id);
                view.event(event.with_some("layer", view.layer_field()))
            }));
        }
    }
    rows
}

/// Runs of the same type elsewhere whose other end is not known either: one of them may be this one, noted twice.
fn same_as(view: &View<'_>, wiring: &Wiring, run: ThingId, side: Side) -> Option<Row> {
    let mine = wiring.runs.get(&run)?;
    let here = mine.side(side).in_box.get().copied().flatten();
    let mut options = Vec::new();
    let apart = crate::job::alike::told_apart(view.notes);
    let others = wiring.runs.iter().filter(|(id, note)| **id != run && !note.is_inside());
    for (other, note) in others.filter(|(id, _)| !apart.has(run, **id)) {
        for at in Side::BOTH {
            let (this, that) = (note.side(at).in_box.get().copied().flatten(), note.side(at.other()).in_box.get());
            if this.is_some() && this != here && that.copied().flatten().is_none() && note.kind.get() == mine.kind.get()
            {
                let event = Line::new("same").word(format!("{run}/{}", word_of(&side)));
                let event = event.word(format!("{other}/{}", word_of(&at)));
                let words = super::said::subject_words(view, wiring, &crate::job::Subject::Side(*other, at));
                options.push(Pick::new(&words, view.event_then(event, &view.page("job"))));
            }
        }
    }
    (!options.is_empty()).then(|| choice("same", &w("cable.same"), options))
}

/// Where it enters, as noted.
fn enters(wiring: &Wiring, run: ThingId, side: Side, set: &impl Fn(&str, &str) -> String) -> Row {
    let known = wiring.runs.get(&run).and_then(|note| note.side(side).enters_at.get()).map(word_of);
    let sides = ["top_left", "top", "top_right", "left", "back", "right", "bottom_left", "bottom", "bottom_right"];
    let options = sides.map(|point| {
        Pick::new(&w(&format!("enters.{point}")), set("enters", point)).on(known.as_deref() == Some(point))
    });
    choice("enters", &w("run.enters"), options.into())
}

/// Wiring method, insulation, and for a raceway its conductors and its metal as ground.
fn more(view: &View<'_>, wiring: &Wiring, run: ThingId, set: &impl Fn(&str, &str) -> String) -> Vec<Row> {
    let Some(note) = wiring.runs.get(&run) else { return Vec::new() };
    let mut rows = vec![
        blank("method", &w("cable.method"), &note.method.or(String::new()), set("method", "?")),
        blank("insulation", &w("cable.insulation"), &note.insulation.or(String::new()), set("insulation", "?")),
        choice(
            "insulation-quick",
            &w("cable.insulation"),
            vec![Pick::new(&w("cable.do_not_disturb"), set("insulation", &w("cable.do_not_disturb")))],
        ),
    ];
    let form = note.kind.get().and_then(|kind| view.catalogue.run(kind)).map(|kind| kind.form);
    if form == Some(RunForm::Raceway) {
        let next = wires_of(view, wiring, run).last().map_or(0, |n| n.saturating_add(1));
        let options = ["black", "white", "red", "blue", "green"].map(|colour| {
            let ground = if colour == "green" { " ground" } else { "" };
            let size = view.address.field("size").unwrap_or("14");
            let wire = format!("{next} {colour} {size} copper{ground}");
            Pick::new(&say(&format!("colour.{colour}"), &[]), set("wire", &wire))
        });
        rows.push(choice("wire", &w("cable.one_more"), options.into()));
        let known = note.ground_path.get().copied();
        let options = [("yes", true), ("no", false)]
            .map(|(word, is)| Pick::new(&w(word), set("ground_path", word)).on(known == Some(is)));
        rows.push(choice("ground-path", &w("run.ground_path"), options.into()));
    }
    rows
}
