//! How long a site with 10 000 entries takes to open, and an entry to reach the disk.
//!
//! `cargo bench -p boxproof-tests --bench log`

use std::error::Error;
use std::fs;
use std::io::{self, Write};
use std::time::{Duration, Instant};

use boxproof_core::job::{Add, At, Decimal, Fact, Figure, Handle, Happening, How, Layer, Mode, Pair, Place};
use boxproof_core::job::{Purpose, Reading, Set, Side, Spot, Subject, Tip, Value};
use boxproof_core::log::{About, Log};
use boxproof_tests::every::{self, Pen, thing};

const ENTRIES: usize = 10_000;

/// Acts as they are noted in a house: mostly places of ends, with readings and remarks between.
fn act(n: usize) -> Vec<Fact> {
    let wire = u8::try_from(n % 3).unwrap_or(0);
    let run = thing(u8::try_from(n % 250).unwrap_or(0));
    let tip = Tip::Wire { run, wire, side: Side::Near };
    let add = |of: Subject, what| Fact::Add(Add { of, what });
    match n % 4 {
        0 => {
            let at = At { handle: Handle { device: thing(30), switch: "a".into() }, position: "up".into() };
            let reading = Reading {
                purpose: Purpose::Dead,
                check: Some(thing(50)),
                pair: Pair { from: Spot::Shell(thing(10)), to: Spot::Tip(tip) },
                at: vec![at],
                instrument: thing(60),
                mode: Mode::AcLow,
                figure: Figure::Number(Decimal::new(2, 1)),
                shown: None,
            };
            vec![add(thing(10).into(), Happening::Read(reading))]
        }
        1 => vec![add(thing(10).into(), Happening::Remark("paint on the screws, plate cracked".into()))],
        _ => {
            let place = |value| {
                let layer = Layer::Found(thing(2));
                Fact::Set(Set { of: tip.clone().into(), layer, value, how: How::Seen, replaces: Vec::new() })
            };
            vec![place(Value::Place(Place::Splice(thing(40)))), place(Value::Label(Some("B3-A white".into())))]
        }
    }
}

/// The least and the median, in milliseconds.
fn ends(mut times: Vec<Duration>) -> (f64, f64) {
    times.sort_unstable();
    let at = |n: usize| times.get(n).map_or(f64::NAN, |time| time.as_secs_f64() * 1e3);
    (at(0), at(times.len() / 2))
}

/// Runs `work` so many times and gives the least and the median in milliseconds.
fn timed(times: usize, mut work: impl FnMut() -> Result<(), Box<dyn Error>>) -> Result<(f64, f64), Box<dyn Error>> {
    let mut all = Vec::with_capacity(times);
    for _ in 0..times {
        #[allow(clippy::disallowed_methods, reason = "a benchmark measures time")]
        let start = Instant::now();
        work()?;
        all.push(start.elapsed());
    }
    Ok(ends(all))
}

fn main() -> Result<(), Box<dyn Error>> {
    let folder = tempfile::tempdir()?;
    let path = folder.path().join("site.boxproof");
    let mut pen = Pen::new(1, every::site());
    let mut lines = Vec::new();
    for n in 0..ENTRIES {
        boxproof_core::log::line::write(&pen.write(act(n))?, &mut lines)?;
    }
    let mut log = Log::create(&path, About::Site(every::site()))?;
    let taking_in = timed(1, || {
        log.take_in(&mut &lines[..])?;
        Ok(())
    })?;
    let verifying = timed(1, || {
        log.verify()?;
        Ok(())
    })?;
    drop(log);
    let bytes = fs::metadata(&path)?.len();

    let opening = timed(21, || {
        let mut log = Log::open(&path)?;
        let notes = log.notes(0)?;
        if notes.noted.len() == ENTRIES { Ok(()) } else { Err("not all entries were read".into()) }
    })?;
    // The floor: the bytes of the file, from the system's cache.
    let reading = timed(21, || {
        fs::read(&path)?;
        Ok(())
    })?;

    let mut log = Log::open(&path)?;
    let noting = timed(101, || {
        let signed = pen.write(act(2))?;
        Ok(_ = log.append(&signed)?)
    })?;
    // The floor: the same number of bytes behind a file, synced.
    let mut plain = fs::File::create(folder.path().join("plain"))?;
    let syncing = timed(101, || {
        plain.write_all(&[b'x'; 4_096])?;
        Ok(plain.sync_all()?)
    })?;

    let mut out = io::stdout().lock();
    let mut say = |what: &str, (least, median): (f64, f64), floor: Option<(f64, f64)>| {
        let ratio = floor.map(|(_, floor)| format!(", {:.1} times the floor", median / floor)).unwrap_or_default();
        writeln!(out, "{what:<34} {median:8.2} ms (least {least:.2}){ratio}")
    };
    say("open, check hashes, read", opening, Some(reading))?;
    say("sign, verify, note one on disk", noting, Some(syncing))?;
    say("take in all, verified", taking_in, None)?;
    say("verify all", verifying, None)?;
    writeln!(io::stdout(), "{ENTRIES} entries, {bytes} bytes")?;
    Ok(())
}
