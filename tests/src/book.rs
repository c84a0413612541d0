//! A notebook on a real folder, with a clock and random bytes that a test can foresee.

use std::path::Path;
use std::sync::Arc;
use std::sync::atomic::{AtomicI64, AtomicU64, Ordering};

use boxproof_core::app::{Notebook, Outside, Refusal, Sent};
use boxproof_core::job::{ThingId, Wall};
use boxproof_core::screen::Screen;

/// A clock that goes on by a second at each look, and bytes that count.
pub struct Steps {
    now_ms: AtomicI64,
    drawn: AtomicU64,
}

impl Default for Steps {
    fn default() -> Self {
        Self { now_ms: AtomicI64::new(1_780_000_000_000), drawn: AtomicU64::new(1) }
    }
}

impl Outside for Steps {
    fn now(&self) -> Wall {
        Wall { utc_ms: self.now_ms.fetch_add(1_000, Ordering::Relaxed), offset_min: -300 }
    }

    fn random(&self) -> [u8; 16] {
        let n = self.drawn.fetch_add(1, Ordering::Relaxed);
        (u128::from(n) << 64 | u128::from(n).wrapping_mul(0x9E37_79B9_7F4A_7C15)).to_be_bytes()
    }
}

/// A notebook with one site.
pub struct Book {
    /// The notebook.
    pub notebook: Notebook,
    /// The site.
    pub site: ThingId,
}

impl Book {
    /// Opens a notebook in `folder` and notes a site, a person, an instrument, a job and the arrival.
    pub fn begin(folder: &Path) -> Result<Self, Refusal> {
        let notebook = Notebook::open(folder, [7; 32], Arc::new(Steps::default()))?;
        let token = "site name=Hilltop".to_owned();
        notebook.send(&Sent { token, input: None, drawn: 0 })?;
        let site = notebook.sites()?.first().copied().ok_or_else(|| Refusal::Input("no site".into()))?;
        let book = Self { notebook, site };
        for line in [
            "person name=\"A. Marsh\"",
            "instrument name=M2 kind=meter high=10000 low=3",
            "job name=Porch edition=2020",
            "arrive \"A. Marsh\" job=Porch",
        ] {
            book.send(line)?;
        }
        Ok(book)
    }

    /// Sends an event from a screen that was drawn just now.
    pub fn send(&self, line: &str) -> Result<Screen, Refusal> {
        self.type_in(line, None)
    }

    /// Sends an event with typed text.
    pub fn type_in(&self, line: &str, input: Option<&str>) -> Result<Screen, Refusal> {
        let drawn = self.notebook.revision(self.site)?;
        let token = format!("{line} site={}", self.site);
        self.notebook.send(&Sent { token, input: input.map(str::to_owned), drawn })
    }
}
