//! What the gallery answers: a few screens, a count of the acts it took, a refusal, a panic, a file.

use std::sync::{Mutex, PoisonError};
use std::time::Duration;

use boxproof_core::app::{Refusal, Sent};
use boxproof_core::screen::{Body, FileOut, Screen};
use boxproof_desk::page::Screens;

use crate::kinds;

/// The gallery's memory.
#[derive(Default)]
pub(crate) struct Tour {
    seen: Mutex<Seen>,
}

#[derive(Default)]
struct Seen {
    /// Acts that counted; the revision.
    acts: u64,
    /// What came last, in words.
    last: String,
}

impl Screens for Tour {
    fn screen(&self, address: &str) -> Result<Screen, Refusal> {
        let seen = self.seen.lock().unwrap_or_else(PoisonError::into_inner);
        let mut screen = match address {
            "kinds" => kinds::all(),
            "laptop" => kinds::laptop(),
            "dead" => kinds::dead_check(),
            "edges" => kinds::edges(),
            _ => return Err(Refusal::Input(format!("There is no screen at {address}. Nothing was changed. Go back."))),
        };
        screen.drawn = seen.acts;
        if address == "kinds" {
            let text = format!("acts {}; last {}", seen.acts, seen.last);
            screen.rows.insert(0, kinds::row("count", Body::Sentence { text }));
        }
        Ok(screen)
    }

    fn send(&self, sent: &Sent) -> Result<Screen, Refusal> {
        match sent.token.split_once(':').unwrap_or((&sent.token, "")) {
            ("go", address) => self.screen(address),
            ("refuse", _) => Err(Refusal::Input("B6 was not noted: it has no cables. Add one first.".to_owned())),
            // A panic of the core, as the border meets it.
            ("break", _) => std::panic::resume_unwind(Box::new("the gallery broke on purpose")),
            ("file", _) => self.with_file(),
            _ => {
                {
                    let mut seen = self.seen.lock().unwrap_or_else(PoisonError::into_inner);
                    if sent.drawn == seen.acts {
                        seen.acts += 1;
                        seen.last = said(sent);
                    }
                }
                if sent.token.starts_with("slow") {
                    std::thread::sleep(Duration::from_millis(300));
                }
                self.screen("kinds")
            }
        }
    }
}

impl Tour {
    fn with_file(&self) -> Result<Screen, Refusal> {
        let path = std::env::temp_dir().join(format!("boxproof-gallery-{}.csv", std::process::id()));
        std::fs::write(&path, "box,state\nB3,as left\n").map_err(|why| Refusal::Storage(why.to_string()))?;
        let mut screen = self.screen("kinds")?;
        screen.file = Some(FileOut {
            name: "day record, B3.csv".to_owned(),
            media: "text/csv".to_owned(),
            path: path.to_string_lossy().into_owned(),
        });
        Ok(screen)
    }
}

/// What came, with the content of a file that was handed in.
fn said(sent: &Sent) -> String {
    let input = sent.input.clone().unwrap_or_default();
    if sent.token == "import" {
        return format!("import {}", std::fs::read_to_string(&input).unwrap_or_else(|why| why.to_string()));
    }
    format!("{} {input}", sent.token)
}
