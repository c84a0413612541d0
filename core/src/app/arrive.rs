//! A file of entries that comes from elsewhere: each entry goes to the site that it is of, and a site that is new here
//! begins with it.

use std::collections::BTreeMap;

use crate::job::ThingId;
use crate::screen::Screen;
use crate::token::Line;
use crate::words::{count, say};

use super::site::OpenSite;
use super::{Notebook, Refusal, Sent, files};

impl Notebook {
    /// Takes in a file of any sites. One without a single sound entry is refused before anything is made.
    pub(super) fn take_any(&self, sites: &mut BTreeMap<ThingId, OpenSite>, sent: &Sent) -> Result<Screen, Refusal> {
        let path = files::chosen(sent)?;
        let within = files::sites_of(path)?;
        if within.is_empty() {
            return Err(Refusal::Input(say("file.no_entries", &[])));
        }
        let here = self.sites()?;
        let mut words = Vec::new();
        for id in &within {
            if !here.contains(id) {
                sites.insert(*id, OpenSite::begin(&self.folder, *id)?);
            }
            let mut taken = files::take_in(self.site(sites, *id)?, path)?;
            // Entries of the other sites in the file are taken too, each by its own.
            taken.other_sites.retain(|site, _| !within.contains(site));
            words.push(files::taken_words(&taken));
        }
        let then = match within.first() {
            Some(only) if within.len() == 1 => Line::new("job").with("site", only),
            _ => {
                words.insert(0, count("file.sites", within.len(), &[]));
                Line::new("sites")
            }
        };
        self.told(sites, &then, words.join(" "))
    }
}
