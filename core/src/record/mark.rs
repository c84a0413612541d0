//! The small square beside a row, which says how it is known by its outline alone: in black and white, on a
//! photocopy, without its words.

use maud::{Markup, html};

use super::document::Mark;

/// The square of a mark. It is for the eye alone: the words stand beside it.
pub(super) fn square(mark: Mark) -> Markup {
    html! {
        svg.mark width="14" height="14" viewBox="0 0 14 14" aria-hidden="true" focusable="false" {
            @match mark {
                Mark::Unknown => rect.line x="2" y="2" width="10" height="10" stroke-width="2" stroke-dasharray="0.1 3.23" stroke-linecap="round" {}
                Mark::Planned => rect.line x="2" y="2" width="10" height="10" stroke-width="2" stroke-dasharray="4 2.67" {}
                Mark::Found => rect.line x="2" y="2" width="10" height="10" stroke-width="1.5" {}
                Mark::Unchecked => {
                    rect.line x="1" y="1" width="12" height="12" stroke-width="1" {}
                    rect.line x="4" y="4" width="6" height="6" stroke-width="1" {}
                }
                Mark::Earlier => {
                    rect.line x="2" y="2" width="10" height="10" stroke-width="1.5" {}
                    path.line d="M2 12 L12 2" stroke-width="1.5" {}
                }
                Mark::Told => {
                    rect.line x="2" y="2" width="10" height="10" stroke-width="1.5" {}
                    path.line d="M2 7 L12 7" stroke-width="1.5" {}
                }
                Mark::Left => rect.full x="1" y="1" width="12" height="12" {}
                Mark::Stale => path.line d="M2 12 L2 2 L12 2 L12 12 L9.5 9 L7 12 L4.5 9 Z" stroke-width="1.5" {}
                Mark::Disagrees => {
                    rect.full x="1" y="0" width="5.5" height="10" {}
                    rect.line x="8" y="4" width="5" height="9" stroke-width="1.5" {}
                }
            }
        }
    }
}
