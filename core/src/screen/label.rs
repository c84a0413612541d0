//! What is written on an end: typed, or one of the trade's common words.

use crate::job::{ThingId, Tip, Wiring};
use crate::refusal::Refusal;
use crate::token::Line;
use crate::token::path::tip_text;

use super::inside::label_words;
use super::parts::{
    blank, box_words, choice, deeds, edge_of_tip, label, place_words, sentence, strand, tip_words, tips_in, w, wf,
};
use super::row::{Body, Pick, Row, Screen};
use super::view::View;

/// Words that are written most; trade abbreviations, common practice without a source.
const QUICK: [&str; 8] = ["hot_in", "hot_out", "neut", "neut_in", "trav_1", "trav_2", "sw_leg", "sw_leg_in"];

/// The page `label tip=<end>`, or `label box=<box>` to choose an end.
pub(super) fn show(view: &View<'_>) -> Result<Screen, Refusal> {
    let wiring = view.asked();
    let Some(name) = view.address.field("tip") else {
        let at = view.box_asked()?;
        return Ok(list(view, wiring, at));
    };
    let tip = view.names().tip(name)?;
    let at = wiring.box_of(&tip);
    let over = at.map(|at| box_words(wiring, at)).unwrap_or_default();
    let mut screen = view.screen(&over, &wf("label.of", &[("tip", &tip_words(view, wiring, &tip))]));
    let then = match at {
        Some(at) => view.page_here("label").with("box", at),
        None => view.address.clone(),
    };
    let note = |text: &str| {
        let event = Line::new("label").word(tip_text(&tip)).word(text);
        view.event_then(event.with_some("layer", view.layer_field()), &then)
    };
    let body = Body::Strands {
        title: place_words(view, wiring, &tip),
        second: label_words(wiring, &tip),
        strands: vec![strand(view, wiring, &tip)],
    };
    screen.rows.push(Row::new("is", body).edge(edge_of_tip(view, wiring, &tip)));
    let written = label(wiring, &tip);
    let options = proposals(wiring, &tip).into_iter().map(|text| {
        let on = written.as_deref() == Some(&text);
        Pick::new(&text, note(&text)).on(on)
    });
    screen.rows.push(choice("quick", &w("label.quick"), options.collect()));
    screen.rows.push(blank("text", &w("label.text"), written.as_deref().unwrap_or_default(), note("?")));
    screen.rows.push(deeds(None, vec![Pick::new(&w("nothing_written"), note("-"))]));
    Ok(screen)
}

/// Common words, and where the run leads to.
fn proposals(wiring: &Wiring, tip: &Tip) -> Vec<String> {
    let mut words: Vec<String> = QUICK.iter().map(|key| w(&format!("tape.{key}"))).collect();
    if let Tip::Wire { run, side, .. } = tip {
        let far = wiring.runs.get(run).and_then(|note| note.side(side.other()).in_box.get().copied().flatten());
        let tag = far.map(|far| wiring.tag(far)).filter(|tag| !tag.is_empty());
        if let Some(tag) = tag {
            words.insert(0, wf("tape.to", &[("tag", &tag)]));
            words.push(wf("tape.neut_of", &[("tag", &tag)]));
        }
    }
    words
}

/// The ends of a box with what is written on each.
fn list(view: &View<'_>, wiring: &Wiring, at: ThingId) -> Screen {
    let mut screen = view.screen(&box_words(wiring, at), &w("label.title"));
    screen.tag = wiring.boxes.get(&at).and_then(|note| note.tag.get().cloned());
    let tips = tips_in(view, wiring, at);
    if tips.is_empty() {
        screen.rows.push(sentence("none", &w("label.no_ends")));
    }
    for tip in tips {
        let title = tip_words(view, wiring, &tip);
        let second =
            wf("state_and", &[("state", &label_words(wiring, &tip)), ("more", &place_words(view, wiring, &tip))]);
        let body = Body::Strands { title, second, strands: vec![strand(view, wiring, &tip)] };
        let to = view.page_here("label").with("tip", tip_text(&tip));
        let row = Row::new(&format!("end {}", tip_text(&tip)), body);
        screen.rows.push(row.edge(edge_of_tip(view, wiring, &tip)).leads(view.go(&to)));
    }
    let back = Pick::new(&w("deed.to_box"), view.go(&view.page_here("box").word(at)));
    screen.rows.push(deeds(Some(back), Vec::new()));
    screen
}
