//! What can be read of a damaged file.
//!
//! The file is read page by page, without SQLite, after the published description of the SQLite file format
//! (sqlite.org/fileformat2.html): every table leaf, in the database and in the write-ahead file beside it, whatever
//! the pages above it have become. Only what carries a fitting signature is taken, so a misread page can bring
//! nothing false. The file is never written.

use std::collections::{BTreeMap, BTreeSet};
use std::fs::File;
use std::io::{self, Read as _, Seek as _, SeekFrom, Write};
use std::ops::ControlFlow;
use std::path::Path;

use super::connection::beside;
use super::line;
use crate::job::sign::{self, Head, MOST_BYTES};
use crate::job::{Hash, Signed, ThingId};

/// Bytes of a page where the file no longer tells: SQLite's default, which every file of ours has.
const PAGE: usize = 4096;
/// Bytes of a frame's header in a write-ahead file, and of the file's own header.
const FRAME_HEADER: usize = 24;
const WAL_HEADER: usize = 32;

/// The entries that could be read of a damaged file.
#[derive(Debug, Clone, Default)]
pub struct Salvage {
    found: BTreeMap<Hash, (i64, Head, Signed)>,
}

impl Salvage {
    /// Reads what can be read. An error means that the file itself cannot be opened.
    pub fn read(path: &Path) -> io::Result<Self> {
        let mut salvage = Self::default();
        search(path, u64::MAX, &mut |row, signed| {
            salvage.take(row, signed);
            ControlFlow::Continue(())
        })?;
        Ok(salvage)
    }

    /// Whether a file holds at least one signed entry in its first `bytes`.
    pub(super) fn is_one_of_ours(path: &Path, bytes: u64) -> bool {
        let mut any = false;
        let _ = search(path, bytes, &mut |_, signed| {
            any = sign::read(&signed).is_ok();
            if any { ControlFlow::Break(()) } else { ControlFlow::Continue(()) }
        });
        any
    }

    fn take(&mut self, row: i64, signed: Signed) {
        if let Ok(read) = sign::read(&signed) {
            self.found.entry(read.hash()).or_insert((row, read.head(), signed));
        }
    }

    /// How many entries were found.
    pub fn len(&self) -> usize {
        self.found.len()
    }

    /// Whether nothing was found.
    pub fn is_empty(&self) -> bool {
        self.found.is_empty()
    }

    /// The sites that they belong to; a file of ours has one.
    pub fn sites(&self) -> BTreeSet<ThingId> {
        self.found.values().map(|(_, head, _)| head.site).collect()
    }

    /// The entries in the order in which they arrived in the file.
    pub fn entries(&self) -> Vec<(Hash, &Signed)> {
        let mut all: Vec<_> = self.found.iter().map(|(hash, (row, _, signed))| (*row, *hash, signed)).collect();
        all.sort_by_key(|(row, hash, _)| (*row, *hash));
        all.into_iter().map(|(_, hash, signed)| (hash, signed)).collect()
    }

    /// Gives out the entries as exchange lines, in the order that every phone agrees on.
    pub fn give_out(&self, to: &mut impl Write) -> io::Result<usize> {
        let mut all: Vec<_> = self
            .found
            .iter()
            .map(|(hash, (_, head, signed))| ((head.tick, head.author, head.seq, hash), signed))
            .collect();
        all.sort_by_key(|(stamp, _)| *stamp);
        for (_, signed) in &all {
            line::write(signed, to)?;
        }
        to.flush()?;
        Ok(all.len())
    }
}

type Found<'a> = dyn FnMut(i64, Signed) -> ControlFlow<()> + 'a;

/// Searches the pages of a file and of the write-ahead file beside it for rows that could be entries.
fn search(path: &Path, bytes: u64, found: &mut Found<'_>) -> io::Result<()> {
    let mut pages = Pages::of(path)?;
    let count = pages.file_len.min(bytes).div_ceil(pages.size as u64);
    for number in 1..=count {
        let Ok(page) = pages.in_file(number) else { continue };
        if pages.leaf(&page, number == 1, found).is_break() {
            return Ok(());
        }
    }
    for at in pages.frames.clone() {
        let Some(page) = pages.in_wal(at) else { continue };
        // A frame of page 1 begins with the database's header, as page 1 does.
        let first = page.starts_with(b"SQLite format 3\0");
        if pages.leaf(&page, first, found).is_break() {
            return Ok(());
        }
    }
    Ok(())
}

/// The pages of a database file and of its write-ahead file.
struct Pages {
    file: File,
    file_len: u64,
    wal: Option<File>,
    /// Bytes of a page, and of these the ones that SQLite uses.
    size: usize,
    usable: usize,
    /// Where each frame's page begins in the write-ahead file, in order; and the last one of each page number.
    frames: Vec<u64>,
    latest: BTreeMap<u64, u64>,
}

impl Pages {
    fn of(path: &Path) -> io::Result<Self> {
        let mut file = File::open(path)?;
        let file_len = file.metadata()?.len();
        let mut head = [0; 100];
        let known = file.read_exact(&mut head).is_ok() && head.starts_with(b"SQLite format 3\0");
        let told = usize::from(u16::from_be_bytes([head[16], head[17]]));
        let size = match told {
            1 if known => 65_536,
            512.. if known && told.is_power_of_two() => told,
            _ => PAGE,
        };
        // More than this is not allowed to be left unused in a page.
        let spare = if known { usize::from(head[20]) } else { 0 };
        let usable = size.saturating_sub(spare).max(480);
        let wal = File::open(beside(path, "-wal")).ok();
        let mut pages = Self { file, file_len, wal, size, usable, frames: Vec::new(), latest: BTreeMap::new() };
        pages.list_frames();
        Ok(pages)
    }

    fn list_frames(&mut self) {
        let Some(wal) = &mut self.wal else { return };
        let len = wal.metadata().map_or(0, |meta| meta.len());
        let step = (FRAME_HEADER + self.size) as u64;
        let mut at = WAL_HEADER as u64;
        while at + step <= len {
            let mut number = [0; 4];
            if wal.seek(SeekFrom::Start(at)).is_err() || wal.read_exact(&mut number).is_err() {
                return;
            }
            let page = at + FRAME_HEADER as u64;
            self.frames.push(page);
            self.latest.insert(u64::from(u32::from_be_bytes(number)), page);
            at += step;
        }
    }

    /// A page by its number, from 1. The last one may be cut short; what is missing reads as zeros.
    fn in_file(&mut self, number: u64) -> io::Result<Vec<u8>> {
        let at =
            number.checked_sub(1).and_then(|n| n.checked_mul(self.size as u64)).ok_or(io::ErrorKind::InvalidInput)?;
        if at >= self.file_len {
            return Err(io::ErrorKind::UnexpectedEof.into());
        }
        self.file.seek(SeekFrom::Start(at))?;
        let mut page = Vec::with_capacity(self.size);
        (&self.file).take(self.size as u64).read_to_end(&mut page)?;
        page.resize(self.size, 0);
        Ok(page)
    }

    fn in_wal(&mut self, at: u64) -> Option<Vec<u8>> {
        let wal = self.wal.as_mut()?;
        wal.seek(SeekFrom::Start(at)).ok()?;
        let mut page = vec![0; self.size];
        wal.read_exact(&mut page).ok()?;
        Some(page)
    }

    /// Reads every cell of a table leaf as a row; any other page holds none.
    fn leaf(&mut self, page: &[u8], first: bool, found: &mut Found<'_>) -> ControlFlow<()> {
        let start = if first { 100 } else { 0 };
        if page.get(start) != Some(&13) {
            return ControlFlow::Continue(());
        }
        let cells = two(page, start + 3).unwrap_or(0);
        for cell in 0..cells {
            let Some(at) = two(page, start + 8 + 2 * cell) else { break };
            // Overflow pages stand in the database, or newer in the write-ahead file: whichever fits the signature.
            for newer in [false, true] {
                let Some((row, payload)) = self.cell(page, at, newer) else { continue };
                for signed in entries_in(&payload) {
                    found(row, signed)?;
                }
            }
        }
        ControlFlow::Continue(())
    }

    /// A cell's row number and its whole payload.
    fn cell(&mut self, page: &[u8], at: usize, newer: bool) -> Option<(i64, Vec<u8>)> {
        let (len, at) = varint(page, at)?;
        let (row, at) = varint(page, at)?;
        let len = usize::try_from(len).ok().filter(|len| *len <= MOST_BYTES + 4096)?;
        let usable = self.usable;
        let local = if len <= usable - 35 {
            len
        } else {
            let least = (usable - 12) * 32 / 255 - 23;
            let most = least + (len - least) % (usable - 4);
            if most <= usable - 35 { most } else { least }
        };
        let mut payload = page.get(at..at + local)?.to_vec();
        let mut next = if local < len { four(page, at + local)? } else { 0 };
        while payload.len() < len {
            let page = match self.latest.get(&next).copied().filter(|_| newer) {
                Some(at) => self.in_wal(at)?,
                None => self.in_file(next).ok()?,
            };
            next = four(&page, 0)?;
            let part = (len - payload.len()).min(usable - 4);
            payload.extend_from_slice(page.get(4..4 + part)?);
        }
        Some((row.cast_signed(), payload))
    }
}

/// The entries that a row could hold: each of its texts with each of its values of 64 bytes.
fn entries_in(payload: &[u8]) -> Vec<Signed> {
    let (mut texts, mut signatures) = (Vec::new(), Vec::new());
    let Some((header, mut at)) = varint(payload, 0) else { return Vec::new() };
    let Ok(mut value) = usize::try_from(header) else { return Vec::new() };
    let end = value;
    while at < end {
        let Some((kind, after)) = varint(payload, at) else { break };
        at = after;
        let len = match kind {
            0 | 8 | 9 => 0,
            1..=4 => kind,
            5 => 6,
            6 | 7 => 8,
            _ => kind.saturating_sub(12) / 2,
        };
        let Some(stop) = usize::try_from(len).ok().and_then(|len| value.checked_add(len)) else { break };
        let Some(bytes) = payload.get(value..stop) else { break };
        value = stop;
        if kind >= 13 && kind % 2 == 1 && bytes.starts_with(b"{") {
            texts.extend(std::str::from_utf8(bytes));
        } else if kind >= 12 && kind % 2 == 0 {
            signatures.extend(<[u8; 64]>::try_from(bytes));
        }
    }
    let pairs = texts.iter().flat_map(|text| signatures.iter().map(|signature| (*text, *signature)));
    pairs.map(|(text, signature)| Signed { body: text.into(), signature }).collect()
}

fn two(bytes: &[u8], at: usize) -> Option<usize> {
    let pair = bytes.get(at..at + 2)?;
    Some(usize::from(u16::from_be_bytes(pair.try_into().ok()?)))
}

fn four(bytes: &[u8], at: usize) -> Option<u64> {
    let four = bytes.get(at..at + 4)?;
    Some(u64::from(u32::from_be_bytes(four.try_into().ok()?)))
}

/// SQLite's integer of one to nine bytes, and where it ends.
fn varint(bytes: &[u8], at: usize) -> Option<(u64, usize)> {
    let mut value = 0_u64;
    for n in 0..9 {
        let byte = *bytes.get(at + n)?;
        if n == 8 {
            return Some((value << 8 | u64::from(byte), at + 9));
        }
        value = value << 7 | u64::from(byte & 0x7f);
        if byte < 0x80 {
            return Some((value, at + n + 1));
        }
    }
    None
}
