//! The list of sites: the first screen.

use crate::job::{Notes, SiteNote, ThingId};
use crate::token::Line;
use crate::words::{count, say};

use super::row::{Body, Pick, Row, Screen};

/// One site in the list.
pub struct SiteLine {
    /// Its name in words.
    pub name: String,
    /// Its address.
    pub address: String,
    /// The day of its last entry.
    pub last: String,
}

impl SiteLine {
    /// What the list shows of a site.
    pub fn of(notes: &Notes, site: ThingId) -> Self {
        let note = SiteNote::read(notes, site);
        let last = notes.entries().last().map(|(_, kept)| kept.noted.entry.wall.day()).unwrap_or_default();
        Self { name: note.name.or(site.to_string()), address: note.address.or(String::new()), last }
    }
}

/// The list of sites; a site whose file could not be read shows why. `held` says what is held at any of them.
pub fn sites(address: &Line, known: &[(ThingId, Result<SiteLine, String>)], held: &[String]) -> Screen {
    let mut rows =
        vec![Row::new("sites", Body::Headline { text: count("screen.sites", known.len(), &[]), right: Vec::new() })];
    for (id, line) in known {
        let row = match line {
            Ok(line) => {
                let second = say("screen.site_last", &[("address", &line.address), ("day", &line.last)]);
                let body =
                    Body::Item { tag: None, title: line.name.clone(), second, value: String::new(), mark: false };
                let to = Line::new("job").with("site", id);
                Row::new(&format!("site {id}"), body).leads(Line::new("go").word(to).to_string())
            }
            Err(why) => Row::new(
                &format!("site {id}"),
                Body::Notice {
                    hazard: false,
                    title: say("screen.site_not_read", &[]),
                    text: why.clone(),
                    citation: None,
                },
            ),
        };
        rows.push(row);
    }
    let new = Pick::new(&say("screen.new_site", &[]), "site name=?".to_owned())
        .asks(&say("screen.ask_site_name", &[]), false);
    let take_in = Pick::new(&say("screen.take_any", &[]), Line::new("take-in").to_string())
        .asks_file(&say("screen.take_any.ask", &[]));
    rows.push(Row::new("deeds", Body::Deeds { back: false, main: Some(new), others: vec![take_in] }));
    Screen {
        address: address.to_string(),
        over: String::new(),
        title: say("screen.notebook", &[]),
        tag: None,
        drawn: known.len() as u64,
        rows,
        ongoing: (!held.is_empty()).then(|| held.join("; ")),
        file: None,
        beside: None,
    }
}
