//! What is written on the ends of a box: as written, as proposed, or typed.

use crate::job::{Note, ThingId, Tip, Wiring};
use crate::plan::label::{abbreviations, with, word_as};
use crate::plan::{Labels, Roles};
use crate::refusal::Refusal;
use crate::token::Line;
use crate::token::path::tip_text;
use crate::words::count;

use super::inside::label_words;
use super::parts::{
    blank, box_words, choice, deeds, edge_of_tip, headline, label, place_words, sentence, strand, tip_words, tips_in,
    w, wf,
};
use super::row::{Body, Edge, Pick, Row, Screen, Strand};
use super::view::View;

/// What is proposed for the ends of a box on which nothing is noted as written, in the words of whoever looks.
pub(super) fn proposals(view: &View<'_>, at: ThingId) -> Vec<(Tip, String)> {
    let wiring = view.asked();
    let short = abbreviations(view.notes, view.author);
    let roles = Roles::of(wiring, view.catalogue);
    Labels::new(wiring, view.catalogue, &roles, &short).proposals(at)
}

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
    let proposed = at.and_then(|at| proposals(view, at).into_iter().find(|(of, _)| *of == tip));
    let proposed = proposed.map(|(_, words)| words);
    let options = quick(view, wiring, &tip, proposed.as_deref()).into_iter().map(|text| {
        let on = written.as_deref() == Some(&text);
        let second = if proposed.as_deref() == Some(&text) { w("label.proposed") } else { String::new() };
        Pick::new(&text, note(&text)).second(&second).on(on)
    });
    screen.rows.push(choice("quick", &w("label.quick"), options.collect()));
    screen.rows.push(blank("text", &w("label.text"), written.as_deref().unwrap_or_default(), note("?")));
    screen.rows.push(deeds(None, vec![Pick::new(&w("deed.nothing_written"), note("-"))]));
    Ok(screen)
}

/// What is proposed, then common words, and where the run leads to; each once, as this person writes them.
fn quick(view: &View<'_>, wiring: &Wiring, tip: &Tip, proposed: Option<&str>) -> Vec<String> {
    let short = abbreviations(view.notes, view.author);
    let word = |key: &str| word_as(key, &short);
    let mut words: Vec<String> = proposed.map(str::to_owned).into_iter().collect();
    let far = match tip {
        Tip::Wire { run, side, .. } => {
            wiring.runs.get(run).and_then(|note| note.side(side.other()).in_box.get().copied().flatten())
        }
        Tip::Lead { .. } => None,
    };
    let far = far.map(|far| wiring.tag(far)).filter(|tag| !tag.is_empty());
    words.extend(far.as_ref().map(|tag| with(&word("to"), tag)));
    words.extend(["hot_in", "hot_out", "neut", "neut_in"].map(word));
    words.extend(["1", "2"].map(|number| with(&word("trav"), number)));
    words.extend(["sw_leg", "sw_leg_in"].map(word));
    words.extend(far.as_ref().map(|tag| with(&word("neut"), tag)));
    let mut seen = std::collections::BTreeSet::new();
    words.retain(|text| seen.insert(text.clone()));
    words
}

/// The ends of a box with what is written on each, and what is proposed where nothing is.
fn list(view: &View<'_>, wiring: &Wiring, at: ThingId) -> Screen {
    let mut screen = view.screen(&box_words(wiring, at), &w("label.title"));
    screen.tag = wiring.boxes.get(&at).and_then(|note| note.tag.get().cloned());
    let tips = tips_in(view, wiring, at);
    if tips.is_empty() {
        screen.rows.push(sentence("none", &w("label.no_ends")));
    }
    let proposed = proposals(view, at);
    if !proposed.is_empty() {
        let open = count("screen.label.open", proposed.len(), &[]);
        screen.rows.push(headline("proposed", &open, ""));
        screen.rows.push(sentence("about", &w("label.about")));
    }
    for tip in tips {
        let words = proposed.iter().find(|(of, _)| *of == tip).map(|(_, words)| words.as_str());
        screen.rows.push(end_row(view, wiring, &tip, words));
    }
    let back = Pick::new(&w("deed.to_box"), view.go(&view.page_here("box").word(at)));
    let print = Pick::new(&w("deed.print"), view.go(&view.page("print").with("box", at)));
    let (main, others) = match all_as_proposed(view, &proposed) {
        Some(all) => (all, vec![print, back]),
        None => (back, vec![print]),
    };
    screen.rows.push(deeds(Some(main), others));
    screen
}

/// One end: dashed, with the proposed words on tape, where nothing is written yet.
fn end_row(view: &View<'_>, wiring: &Wiring, tip: &Tip, proposed: Option<&str>) -> Row {
    let title = tip_words(view, wiring, tip);
    let place = place_words(view, wiring, tip);
    let to = view.page_here("label").with("tip", tip_text(tip));
    let key = format!("end {}", tip_text(tip));
    let strand = strand(view, wiring, tip);
    let Some(words) = proposed else {
        let planned = matches!(wiring.tips.get(tip).map(|note| &note.label),
            Some(Note::Said(Some(_), basis)) if matches!(basis.layer, crate::job::Layer::Planned(_)));
        let state = label_words(wiring, tip);
        let state = if planned { wf("label.planned", &[("words", &state)]) } else { state };
        let second = wf("state_and", &[("state", &state), ("more", &place)]);
        let edge = if planned { Edge::Planned } else { edge_of_tip(view, wiring, tip) };
        return Row::new(&key, Body::Strands { title, second, strands: vec![strand] }).edge(edge).leads(view.go(&to));
    };
    let second = wf("state_and", &[("state", &wf("label.proposed_words", &[("words", words)])), ("more", &place)]);
    // Nothing is on the tape yet: the words stand beside the conductor, not on a cream strip.
    let strands = vec![Strand { text: words.to_owned(), tape: false, ..strand }];
    Row::new(&key, Body::Strands { title, second, strands }).edge(Edge::Planned).leads(view.go(&to))
}

/// One act for all of them. In what is planned it says what shall be written; elsewhere it says that it is written
/// now. Either way it was confirmed in bulk and not looked at one by one.
fn all_as_proposed(view: &View<'_>, proposed: &[(Tip, String)]) -> Option<Pick> {
    if proposed.is_empty() {
        return None;
    }
    let mut event = Line::new("label");
    for (tip, words) in proposed {
        event = event.word(tip_text(tip)).word(words);
    }
    let planned = view.asked_word() == "planned" && view.layer_field().is_some();
    let key = if planned { "screen.label.plan_all" } else { "screen.label.write_all" };
    let event = event.with_some("layer", view.layer_field()).with("how", "confirmed");
    let second = w(if planned { "label.plan_all_why" } else { "label.write_all_why" });
    Some(Pick::new(&count(key, proposed.len(), &[]), view.event(event)).second(&second))
}
