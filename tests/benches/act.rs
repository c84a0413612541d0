//! From one act to the next screen, on disk, in a job of 60 boxes; with the share of what it is made of.
//!
//! The named reference of the same run is one row inserted into a bare SQLite file under the same settings: the least
//! that an act on disk can cost. `cargo bench -p boxproof-tests --bench act`

use std::error::Error;
use std::io::{self, Write};
use std::time::{Duration, Instant};

use boxproof_core::catalogue::Catalogue;
use boxproof_core::circuit::{Circuit, SwitchTable, hazards};
use boxproof_core::job::{Layer, Notes, Wiring};
use boxproof_core::predict::Predictor;
use boxproof_tests::book::Book;

const BOXES: usize = 60;
const ACTS: usize = 60;

/// The median in milliseconds.
fn median(mut times: Vec<Duration>) -> f64 {
    times.sort_unstable();
    times.get(times.len() / 2).map_or(f64::NAN, |time| time.as_secs_f64() * 1e3)
}

/// Runs `work` for each number and gives the median in milliseconds.
fn timed(times: usize, mut work: impl FnMut(usize) -> Result<(), Box<dyn Error>>) -> Result<f64, Box<dyn Error>> {
    let mut all = Vec::with_capacity(times);
    for n in 0..times {
        #[allow(clippy::disallowed_methods, reason = "a benchmark measures time")]
        let start = Instant::now();
        work(n)?;
        all.push(start.elapsed());
    }
    Ok(median(all))
}

/// Notes a chain of boxes from a panel: a receptacle in each, everything spliced through.
fn house(book: &Book) -> Result<(), Box<dyn Error>> {
    book.send("box tag=P location=cellar kind=panel system=split_phase")?;
    book.send("device P:5 kind=breaker-1p-15 number=5 leg=b")?;
    book.send("device P:7 kind=breaker-1p-15 number=7 leg=a")?;
    let mut before = "P".to_owned();
    for n in 1..=BOXES {
        let tag = format!("B{n}");
        book.send(&format!("box tag={tag} location=\"room {n}\" kind=nonmetallic-1g volume=20.3"))?;
        let feed = if n == 1 { " feed=P:7" } else { "" };
        let to = if n == 1 { before.clone() } else { format!("{before}/B") };
        book.send(&format!("run {tag}/A to={to} kind=nm-14-2 length=\"12 ft\"{feed}"))?;
        book.send(&format!("device {tag}:receptacle kind=receptacle-15-duplex gang=1"))?;
        before = tag;
    }
    for n in 1..=BOXES {
        for (name, colour, terminal) in
            [("hot", "black", "hot_1"), ("neutrals", "white", "neutral_1"), ("grounds", "bare", "ground")]
        {
            let onward = if n == BOXES { String::new() } else { format!("B{n}/B/{colour}") };
            let connector = "connector=wire-connector-small";
            book.send(&format!("join B{n}+{name} {connector} B{n}/A/{colour} {onward} >B{n}:receptacle.{terminal}"))?;
        }
    }
    Ok(())
}

fn main() -> Result<(), Box<dyn Error>> {
    let folder = tempfile::tempdir()?;
    let book = Book::begin(folder.path())?;
    house(&book)?;
    let notes = book.notebook.notes(book.site)?;
    let entries: Vec<_> = notes.entries().map(|(_, kept)| kept.noted.as_ref().clone()).collect();

    let label = timed(ACTS, |n| {
        let n = n % BOXES + 1;
        let then = format!("box B{n} site={}", book.site);
        book.send(&format!("label B{n}/A/black \"TEXT {n}\" then=\"{then}\""))?;
        Ok(())
    })?;
    let front = timed(ACTS, |n| {
        let n = n % BOXES + 1;
        book.send(&format!("label B{n}/A/white \"TEXT {n}\""))?;
        Ok(())
    })?;
    let fold = timed(9, |_| {
        let _ = Notes::fold(entries.clone());
        Ok(())
    })?;
    let layer = notes.job_now().map_or(Layer::Site, Layer::Left);
    let wiring = timed(9, |_| {
        let _ = Wiring::of(&notes, layer);
        Ok(())
    })?;

    let parts = worked_out(&book, &notes, layer)?;
    let bare = rusqlite::Connection::open(folder.path().join("bare.sqlite"))?;
    bare.execute_batch("PRAGMA synchronous=EXTRA; PRAGMA journal_mode=WAL; CREATE TABLE t(body TEXT) STRICT;")?;
    let body = "x".repeat(600);
    let insert = timed(ACTS, |_| {
        bare.execute("INSERT INTO t VALUES (?1)", [&body])?;
        Ok(())
    })?;

    let mut out = io::stdout().lock();
    writeln!(out, "{BOXES} boxes, {} entries; medians in milliseconds", notes.revision())?;
    writeln!(out, "  a row into a bare SQLite file (reference)   {insert:8.2}")?;
    writeln!(
        out,
        "  a label noted, to the box's screen          {label:8.2}   {:6.1} × the reference",
        label / insert
    )?;
    writeln!(
        out,
        "  a label noted, to the front page            {front:8.2}   {:6.1} × the reference",
        front / insert
    )?;
    writeln!(out, "  folding every entry anew                    {fold:8.2}")?;
    writeln!(out, "  the wiring of one layer                     {wiring:8.2}")?;
    for (what, ms) in parts {
        writeln!(out, "  {what:<44}{ms:8.2}")?;
    }
    Ok(())
}

/// Milliseconds of each thing that is worked out from the wiring of a layer.
fn worked_out(book: &Book, notes: &Notes, layer: Layer) -> Result<Vec<(&'static str, f64)>, Box<dyn Error>> {
    let snapshot = Wiring::of(notes, layer);
    let catalogue = Catalogue::shared();
    let circuit = timed(9, |_| Circuit::of(&snapshot, catalogue).map(|_| ()).map_err(Into::into))?;
    let made = Circuit::of(&snapshot, catalogue)?;
    let groups = timed(9, |_| {
        let _ = made.groups();
        Ok(())
    })?;
    let table = timed(9, |_| {
        let _ = SwitchTable::of(&made);
        Ok(())
    })?;
    let dangers = timed(9, |_| {
        let _ = hazards(&made);
        Ok(())
    })?;
    let predictor = timed(9, |_| {
        let _ = Predictor::new(notes, &snapshot, catalogue, None);
        Ok(())
    })?;
    let page = |page: &str| {
        let address = format!("{page} site={}", book.site);
        timed(9, |_| book.notebook.screen(&address).map(|_| ()).map_err(Into::into))
    };
    let (live, tables) = (page("live")?, page("table layer=left")?);
    Ok(vec![
        ("its circuit", circuit),
        ("its handles and load points in groups", groups),
        ("its switch table", table),
        ("its hazards", dangers),
        ("what predicts its readings and trials", predictor),
        ("the live check's screen", live),
        ("the switch table's screen", tables),
    ])
}
