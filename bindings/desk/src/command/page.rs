//! `boxproof page`: the notebook's screens, for a browser on this machine.

use std::path::PathBuf;
use std::sync::Arc;

use boxproof_core::app::line::Line;
use boxproof_core::words::say;
use boxproof_desk::page::{Options, serve};
use clap::Args;

use super::{Fault, Status, examples_of, site};
use crate::out;

#[derive(Args)]
pub(crate) struct Page {
    #[arg(default_value = "notebook", help = say("desk.page.folder", &[]))]
    folder: PathBuf,
    #[arg(long, value_name = "N", default_value_t = 0, help = say("desk.page.port", &[]))]
    port: u16,
}

pub(crate) fn examples() -> String {
    examples_of(&[
        ("boxproof page", "desk.page.example.new"),
        ("boxproof page lane --port 8041", "desk.page.example.port"),
    ])
}

impl Page {
    pub(crate) fn run(&self) -> Result<Status, Fault> {
        let book = site::notebook(&self.folder)?;
        let first = match book.sites()?.as_slice() {
            [only] => Line::new("job").with("site", only).to_string(),
            _ => String::new(),
        };
        out::tell(&say("desk.page.open", &[("path", &self.folder.display().to_string())]));
        serve(Arc::new(book), Options { port: self.port, first, ..Options::default() })?;
        Ok(Status::Nothing)
    }
}
