//! The kit: what the packs say that connectors take, so that the screens can count; what a person writes on tape.

use crate::catalogue::{ConnectorForm, ConnectorType, connector_name};
use crate::plan::label::{WORDS, word, word_as, writer};
use crate::refusal::Refusal;
use crate::token::Line;

use super::front::site_name;
use super::parts::{blank, choice, deeds, headline, sentence, valued, w, wf};
use super::row::{Edge, Pick, Row, Screen};
use super::view::View;

/// The entry for a wire connector of which nobody said the size: no pack says what it takes.
const SIZE_NOT_SAID: &str = "wire-connector";

/// Sizes that a pack is asked for first.
const SIZES: [&str; 3] = ["14", "12", "10"];

/// The page `kit`: `kit connector=… size=… least=…`.
pub(super) fn show(view: &View<'_>) -> Result<Screen, Refusal> {
    let mut screen = view.screen(&site_name(view), &w("kit.title"));
    screen.rows.push(sentence("about", &w("kit.about")));
    for ((connector, size), (least, most)) in &view.found().ranges {
        let title = wf("kit.of_size", &[("connector", &connector_name(connector)), ("size", size)]);
        let value = wf("kit.range", &[("least", &least.to_string()), ("most", &most.to_string())]);
        let row = valued(&format!("range {connector} {size}"), &title, "", &value);
        screen.rows.push(row.edge(Edge::Found));
    }
    let packed = || view.catalogue.connectors().filter(|kind| kind.form == ConnectorForm::WireConnector);
    let size = view.address.field("size").unwrap_or(SIZES[0]);
    // The first pack of which nothing is noted is asked for next.
    let ranges = &view.found().ranges;
    let of_a_size = |kind: &&ConnectorType| kind.id != SIZE_NOT_SAID;
    let open = packed().filter(of_a_size).find(|kind| !ranges.contains_key(&(kind.id.clone(), size.to_owned())));
    let next = open.map(|kind| kind.id.as_str()).unwrap_or_default();
    let chosen = view.address.field("connector").unwrap_or(next);
    let options = packed()
        .map(|kind| Pick::new(&connector_name(&kind.id), view.here("connector", &kind.id)).on(kind.id == chosen));
    screen.rows.push(headline("note", &w("kit.note"), ""));
    screen.rows.push(choice("connector", &w("kit.connector"), options.collect()));
    let options =
        SIZES.map(|known| Pick::new(&wf("awg", &[("size", known)]), view.here("size", known)).on(known == size));
    screen.rows.push(choice("size", &w("kit.size"), options.into()));
    // A pack mostly begins with two; common practice without a source.
    let least = view.address.field("least").unwrap_or("2");
    let options =
        (1..=3).map(|n: u8| Pick::new(&n.to_string(), view.here("least", &n.to_string())).on(n.to_string() == least));
    screen.rows.push(choice("least", &w("kit.least"), options.collect()));
    if !(chosen.is_empty() || size.is_empty() || least.is_empty()) {
        let from: u8 = least.parse().unwrap_or(1);
        let options = (from.max(2)..=8).map(|most: u8| {
            let range = format!("{chosen} {size} {least} {most}");
            let event = Line::new("set").word(view.site).with("range", range);
            let then = view.page("kit").with("size", size).with("least", least);
            Pick::new(&most.to_string(), view.event_then(event, &then))
        });
        screen.rows.push(choice("most", &w("kit.most"), options.collect()));
    }
    screen.rows.extend(words(view));
    screen.rows.push(deeds(None, Vec::new()));
    Ok(screen)
}

/// What this person writes on tape instead of the words that are proposed.
fn words(view: &View<'_>) -> Vec<Row> {
    let mut rows = vec![headline("words", &w("kit.words"), "")];
    let Some(person) = writer(view.notes, view.author) else {
        rows.push(sentence("no-person", &w("kit.no_person")));
        return rows;
    };
    let name = person.name.or(w("unnamed"));
    rows.push(sentence("words-about", &wf("kit.words_about", &[("person", &name)])));
    rows.extend(WORDS.into_iter().map(|key| {
        let plain = word(key);
        let event = Line::new("set").word(person.id).with("abbreviation", &plain).with("as", "?");
        let label = wf("kit.short_for", &[("word", &plain)]);
        blank(&format!("word {key}"), &label, &word_as(key, &person.abbreviations), view.event(event))
    }));
    rows
}
