//! All sheets as one HTML file that a browser prints one to a page: nothing in it is loaded from outside, and it is
//! well-formed XML, so that other programs can read it too.

use std::fmt::Write as _;

use crate::picture::svg::{Noon, Unit, element, escaped};
use crate::picture::{Paper, Picture};
use crate::words::say;

/// Writes sheets of one size of paper as one file.
pub fn page(paper: Paper, title: &str, sheets: &[Picture]) -> String {
    let (width, height) = paper.lengths();
    let title = escaped(title);
    let mut text = format!(
        "<!DOCTYPE html>\n<html xmlns=\"http://www.w3.org/1999/xhtml\" lang=\"en\"><head><meta charset=\"utf-8\"/>\
         <meta http-equiv=\"Content-Security-Policy\" content=\"default-src 'none'; style-src 'unsafe-inline'\"/>\
         <meta name=\"viewport\" content=\"width=device-width, initial-scale=1\"/>\
         <meta name=\"referrer\" content=\"no-referrer\"/><title>{title}</title><style>\
         @page{{size:{width} {height};margin:0}}\
         html,body{{margin:0;padding:0}}\
         .sheet{{width:{width};height:{height};overflow:hidden;break-inside:avoid}}\
         .sheet+.sheet{{break-before:page}}\
         .sheet>svg{{display:block;width:100%;height:100%}}\
         @media screen{{.sheet{{max-width:100%;height:auto;margin:0 auto 8px;border-bottom:1px dashed}}}}\
         </style></head><body><main>"
    );
    for sheet in sheets {
        // Writing to a String cannot fail.
        let _ = writeln!(text, "<div class=\"sheet\">{}</div>", element(sheet, Unit::Point, &Noon));
    }
    if sheets.is_empty() {
        let _ = write!(text, "<p>{}</p>", escaped(&say("sheet.nothing", &[])));
    }
    text.push_str("</main></body></html>\n");
    text
}
