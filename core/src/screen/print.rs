//! Printing labels and cards: which paper, what, of which boxes, how the first sheet looks.

use crate::job::ThingId;
use crate::job::value::System;
use crate::picture::{PHONE_WIDTH, Paper, Picture, paper};
use crate::record::sheet::{Source, What, boxes, changed_on, last_day, sheets};
use crate::refusal::Refusal;
use crate::token::Line;
use crate::words::count;

use super::front::site_name;
use super::parts::{box_words, choice, deeds, headline, sentence, w, wf, wiring_of};
use super::row::{Edge, Pick, Row, Screen};
use super::view::View;

/// Of which boxes something is printed.
const WHICH: [&str; 3] = ["box", "changed", "all"];

/// The page `print`: `paper=letter|a4 what=open|flags|cards|plates which=box|changed|all box=…`.
pub(super) fn show(view: &View<'_>) -> Result<Screen, Refusal> {
    let source = source(view);
    let at = view.address.field("box").map(|name| view.names().box_named(name)).transpose()?;
    let (paper, what) = (paper_asked(view)?, what_asked(view)?);
    let which = which_asked(view, at)?;
    let chosen = chosen(source, which, at);
    let over = at.map_or_else(|| site_name(view), |at| box_words(wiring_of(view, at), at));
    let mut screen = view.screen(&over, &w("print.title"));
    let options = What::ALL.map(|option| {
        let words = w(&format!("print.what.{}", option.name()));
        Pick::new(&words, view.here("what", option.name())).on(option == what)
    });
    screen.rows.push(choice("what", &w("print.what"), options.into()));
    screen.rows.push(choice("which", &w("print.which"), which_options(view, source, at, which)));
    let options = Paper::ALL.map(|option| {
        let second = w(&format!("print.paper.{}.size", option.name()));
        let words = w(&format!("print.paper.{}", option.name()));
        Pick::new(&words, view.here("paper", option.name())).second(&second).on(option == paper)
    });
    screen.rows.push(choice("paper", &w("print.paper"), options.into()));
    let made = sheets(source, what, paper, &chosen);
    let Some(first) = made.first() else {
        screen.rows.push(sentence("nothing", &crate::words::say("sheet.nothing", &[])));
        screen.rows.push(deeds(None, Vec::new()));
        return Ok(screen);
    };
    screen.rows.push(headline("preview", &w("print.first"), &count("screen.print.sheets", made.len(), &[])));
    screen.rows.push(preview(first));
    screen.rows.push(sentence("scale", &w("print.scale")));
    let mut event = Line::new("give-out").word("labels").with("site", view.site);
    event = event.with("paper", paper.name()).with("what", what.name()).with("which", which);
    event = event.with_some("box", at).with_some("job", view.address.field("job")).with("then", &view.address);
    screen.rows.push(deeds(Some(Pick::new(&w("deed.make_file"), event.to_string())), Vec::new()));
    Ok(screen)
}

/// What is printed, from the notes that the view looks at.
fn source<'a>(view: &View<'a>) -> Source<'a> {
    Source { notes: view.notes, catalogue: view.catalogue, site: view.site, job: view.job, author: Some(view.author) }
}

/// The paper that is asked for; else that of the site's country, which its panel's system tells.
fn paper_asked(view: &View<'_>) -> Result<Paper, Refusal> {
    if let Some(name) = view.address.field("paper") {
        return Paper::named(name).ok_or_else(|| refused(name));
    }
    let mut systems = view.planned().boxes.values().filter_map(|note| note.system.get());
    let metric = systems.any(|system| *system == System::Single230);
    Ok(if metric { Paper::A4 } else { Paper::Letter })
}

fn what_asked(view: &View<'_>) -> Result<What, Refusal> {
    view.address.field("what").map_or(Ok(What::Open), |name| What::named(name).ok_or_else(|| refused(name)))
}

/// Without a choice: the box that one comes from, else what changed on the last day, else all.
fn which_asked(view: &View<'_>, at: Option<ThingId>) -> Result<&'static str, Refusal> {
    match view.address.field("which") {
        Some(name) => WHICH.into_iter().find(|known| *known == name).ok_or_else(|| refused(name)),
        None if at.is_some() => Ok("box"),
        None if last_day(source(view)).is_some() => Ok("changed"),
        None => Ok("all"),
    }
}

fn refused(text: &str) -> Refusal {
    Refusal::Input(crate::words::say("refuse.not_a_choice", &[("text", text)]))
}

/// The boxes that something is printed of.
fn chosen(source: Source<'_>, which: &str, at: Option<ThingId>) -> Vec<ThingId> {
    match (which, at, last_day(source)) {
        ("box", Some(at), _) => vec![at],
        ("changed", _, Some(day)) => changed_on(source, &day),
        _ => boxes(source),
    }
}

fn which_options(view: &View<'_>, source: Source<'_>, at: Option<ThingId>, which: &str) -> Vec<Pick> {
    let pick = |name: &str, words: &str, second: &str| {
        Pick::new(words, view.here("which", name)).second(second).on(name == which)
    };
    let mut options = Vec::new();
    if let Some(at) = at {
        options.push(pick("box", &w("print.which.box"), &box_words(wiring_of(view, at), at)));
    }
    if let Some(day) = last_day(source) {
        let words =
            if day == view.now.day() { w("print.which.today") } else { wf("print.which.day", &[("day", &day)]) };
        options.push(pick("changed", &words, &count("words.boxes", changed_on(source, &day).len(), &[])));
    }
    options.push(pick("all", &w("print.which.all"), &count("words.boxes", boxes(source).len(), &[])));
    options
}

/// A sheet as wide as a phone.
fn preview(sheet: &Picture) -> Row {
    let scale = PHONE_WIDTH / sheet.width.max(1.0);
    let shapes = sheet.shapes.iter().map(|shape| paper::moved(shape, scale, (0.0, 0.0))).collect();
    let spoken = sheet.spoken.clone();
    let picture = Picture { width: PHONE_WIDTH, height: sheet.height * scale, shapes, places: Vec::new(), spoken };
    super::drawing::row("sheet", picture).edge(Edge::Planned)
}

/// What a line `give-out labels …` asks for: the paper, what, and the boxes.
pub(crate) fn ordered(view: &View<'_>) -> Result<(Paper, Vec<Picture>), Refusal> {
    let source = source(view);
    let at = view.address.field("box").map(|name| view.names().box_named(name)).transpose()?;
    let (paper, what) = (paper_asked(view)?, what_asked(view)?);
    let boxes = chosen(source, which_asked(view, at)?, at);
    Ok((paper, sheets(source, what, paper, &boxes)))
}
