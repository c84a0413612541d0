//! Plays a day written as touches: `tests/thumb/first-visit.txt` says how its lines are read. The same files are played in a
//! browser by `tests/browser/test_thumb.py`.

#![allow(dead_code, reason = "each test that shares this file uses a part of it")]

use crate::screen_support::Thumb;

/// A day being played.
pub(crate) struct Day {
    pub(crate) thumb: Thumb,
    /// Everything that was sent: touches that only lead on, and typed texts, too.
    pub(crate) acts: usize,
    site: String,
}

impl Day {
    pub(crate) fn begin() -> Self {
        let thumb = Thumb::new();
        Self { thumb, acts: 0, site: String::new() }
    }

    pub(crate) fn play(&mut self, script: &str) {
        for line in script.lines().map(str::trim) {
            if line.is_empty() || line.starts_with('#') {
                continue;
            }
            if line == "end" {
                break;
            }
            let (verb, rest) = line.split_once(' ').unwrap_or((line, ""));
            self.step(verb, rest);
        }
    }

    fn step(&mut self, verb: &str, rest: &str) {
        let two = || rest.split_once(" | ").unwrap_or_else(|| panic!("{verb} {rest}: two parts with | between them"));
        let thumb = &mut self.thumb;
        match verb {
            "day" => thumb.on_day(rest),
            "at" => thumb.at(rest),
            "shows" => assert!(thumb.shows(rest), "“{rest}” is not on {}", thumb.seen()),
            _ => {
                self.acts += 1;
                match verb {
                    "press" => drop(thumb.press(rest)),
                    "type" => drop(thumb.press_and_type(two().0, two().1)),
                    "choose" => drop(thumb.choose(two().0, two().1)),
                    "fill" => drop(thumb.fill(two().0, two().1)),
                    "enter" => drop(thumb.enter(rest)),
                    "touch" => drop(thumb.touch(rest)),
                    "front" => self.front(),
                    // One touch for each pair.
                    "volts" => {
                        self.acts += rest.split(' ').count() - 1;
                        for volts in rest.split(' ') {
                            self.thumb.press(&format!("{volts} V"));
                        }
                    }
                    _ => panic!("{verb} is no touch"),
                }
            }
        }
    }

    /// Back to the front page: the shell's own way back, a touch like any other.
    fn front(&mut self) {
        if self.site.is_empty() {
            let site = self.thumb.notebook.sites().unwrap()[0];
            self.site = site.to_string();
        }
        let address = format!("job site={}", self.site);
        self.thumb.screen = self.thumb.notebook.screen(&address).unwrap();
    }
}
