//! Notes entries in a log and says each one's hash once it is acknowledged, until somebody kills it.

use std::error::Error;
use std::io::{self, Write};
use std::path::PathBuf;

use boxproof_core::log::{About, Log, LogError};
use boxproof_tests::every::{self, Pen};

fn main() -> Result<(), Box<dyn Error>> {
    let path = PathBuf::from(std::env::args_os().nth(1).ok_or("which file?")?);
    let mut log = match Log::open(&path) {
        Err(LogError::Missing { .. }) => Log::create(&path, About::Site(every::site()))?,
        opened => opened?,
    };
    let mut pen = Pen::new(1, every::site());
    let next = log.next(pen.author())?;
    pen.follow(next.seq, next.prev, next.tick);
    let mut out = io::stdout().lock();
    loop {
        log.append(&pen.remark(&"until somebody kills it ".repeat(20))?)?;
        writeln!(out, "{}", pen.last())?;
        out.flush()?;
    }
}
