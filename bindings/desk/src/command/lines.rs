//! Entries as lines, from whatever holds them: an exchange file, a site's file, a damaged one.

use std::collections::BTreeMap;
use std::fs::File;
use std::io::{BufRead, BufReader, Cursor};
use std::path::Path;

use boxproof_core::job::ThingId;
use boxproof_core::job::sign::{self, Read};
use boxproof_core::log::line::{self, Line};
use boxproof_core::log::{LogError, Salvage};
use boxproof_core::words::count;

use super::{Fault, site};
use crate::out;

/// The lines in a file. Of a site's file they are its entries; of a damaged one, those that can be read.
pub(crate) fn of(path: &Path) -> Result<Box<dyn BufRead>, Fault> {
    if site::is_folder(path)? {
        return Err(Fault::of("desk.is_a_folder", path));
    }
    let mut bytes = Vec::new();
    match site::open(path) {
        Ok(mut log) => match log.give_out(&mut bytes) {
            Ok(_) => Ok(Box::new(Cursor::new(bytes))),
            Err(LogError::Damaged { .. }) => rescued(path),
            Err(error) => Err(error.into()),
        },
        Err(LogError::Damaged { .. }) => rescued(path),
        Err(LogError::NotOurs { .. }) => {
            let file = File::open(path).map_err(|error| site::not_read(path, &error))?;
            Ok(Box::new(BufReader::new(file)))
        }
        Err(error) => Err(error.into()),
    }
}

/// What can be read of a damaged file, with a word on it.
fn rescued(path: &Path) -> Result<Box<dyn BufRead>, Fault> {
    let salvage = Salvage::read(path).map_err(|error| site::not_read(path, &error))?;
    let mut bytes = Vec::new();
    let given = salvage.give_out(&mut bytes).map_err(|error| site::not_read(path, &error))?;
    out::tell(&count("desk.rescued", given, &[("path", &path.display().to_string())]));
    Ok(Box::new(Cursor::new(bytes)))
}

/// Entries whose signatures fit, by site, and the numbers of lines that hold none.
#[derive(Default)]
pub(crate) struct Sorted {
    /// Entries by site.
    pub(crate) sites: BTreeMap<ThingId, Vec<Read>>,
    /// Lines that begin like one of ours and are damaged or altered.
    pub(crate) wrong: Vec<usize>,
    /// Lines of something else.
    pub(crate) foreign: usize,
    /// What ended the reading early.
    pub(crate) ended: Option<String>,
}

/// Reads lines to their end.
pub(crate) fn sorted(from: &mut dyn BufRead) -> Sorted {
    let mut from = from;
    let mut sorted = Sorted::default();
    let mut text = Vec::new();
    for number in 1.. {
        match line::next(&mut from, &mut text) {
            Ok(true) => {}
            Ok(false) => break,
            Err(error) => {
                sorted.ended = Some(error.to_string());
                break;
            }
        }
        match line::parse(&text) {
            Line::Empty => {}
            Line::NotOurs | Line::TooLong => sorted.foreign += 1,
            Line::Damaged => sorted.wrong.push(number),
            Line::Entry(signed) => match sign::read(&signed) {
                Ok(read) => sorted.sites.entry(read.head().site).or_default().push(read),
                Err(_) => sorted.wrong.push(number),
            },
        }
    }
    sorted
}
