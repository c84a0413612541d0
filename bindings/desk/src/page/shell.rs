//! The page round a screen: head, settings, the dialog that asks, the banner for refusals and the live region.

use boxproof_core::words::say;
use maud::{DOCTYPE, Markup, html};

use super::shape::patterns;

/// The page with its first screen.
pub(super) fn page(screen: &Markup) -> Markup {
    let word = |key: &str| say(key, &[]);
    html! {
        (DOCTYPE)
        html lang="en" data-gone=(word("page.gone")) data-large=(word("page.large")) {
            head {
                meta charset="utf-8";
                meta name="viewport" content="width=device-width, initial-scale=1";
                title { "Boxproof" }
                link rel="icon" type="image/svg+xml" href="/mark.svg";
                link rel="stylesheet" href="/page.css";
                script src="/page.js" {}
            }
            body {
                (patterns())
                div #banner role="alert" hidden {
                    div.words {}
                    button.pick type="button" data-dismiss="1" { (word("page.dismiss")) }
                }
                (screen)
                div #live.unseen role="status" aria-live="polite" {}
                (asking())
                (number_keys())
            }
        }
    }
}

/// Choices that are the shell's own: they are kept in this browser and never reach the notebook.
pub(super) fn settings() -> Markup {
    let group = |name: &str, options: &[&str]| {
        html! {
            div.seg role="group" aria-label=(say(&format!("page.{name}"), &[])) {
                span.l { (say(&format!("page.{name}"), &[])) }
                div class={ "o n" (options.len()) } {
                    @for option in options {
                        button.pick type="button" data-set=(name) data-to=(option) aria-pressed="false" {
                            span { (say(&format!("page.{name}.{option}"), &[])) }
                        }
                    }
                }
            }
        }
    };
    html! {
        details.settings {
            summary { span { (say("page.settings", &[])) } i.go aria-hidden="true" {} }
            div.both {
                (group("light", &["system", "noon", "cellar"]))
                (group("hand", &["right", "left"]))
                (group("keys", &["page", "device"]))
            }
        }
    }
}

/// Keys for a number, in the order of a telephone's; the page shows them under the field that is typed in. The tab key
/// passes them by: who has it has real keys.
fn number_keys() -> Markup {
    html! {
        template #keys {
            div.keys role="group" aria-label=(say("page.keys", &[])) {
                @for digit in ["1", "2", "3", "4", "5", "6", "7", "8", "9"] {
                    button.pick type="button" tabindex="-1" data-key=(digit) { (digit) }
                }
                button.pick type="button" tabindex="-1" data-key="." aria-label=(say("page.keys.point", &[])) { "." }
                button.pick type="button" tabindex="-1" data-key="0" { "0" }
                button.pick type="button" tabindex="-1" data-key="Backspace" { (say("page.keys.delete", &[])) }
            }
        }
    }
}

/// The dialog that asks for a text, a number or a file.
fn asking() -> Markup {
    html! {
        dialog #ask aria-labelledby="ask-label" {
            form method="dialog" {
                label #ask-label for="ask-text" {}
                div.blank {
                    input #ask-text type="text" autocomplete="off" spellcheck="false" data-number="no";
                    span #ask-unit.unit hidden {}
                    div.keyed data-keys="1" {}
                }
                input #ask-file type="file" aria-labelledby="ask-label" hidden;
                div.o {
                    button.pick type="button" data-leave="1" { (say("page.leave", &[])) }
                    button.pick.enter type="submit" { (say("page.enter", &[])) }
                }
            }
        }
    }
}
