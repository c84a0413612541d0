//! A list of all row kinds with every edge, served like the notebook, for the tests of the page in a browser.
//! It is no notebook: it keeps nothing but what was pressed last.

mod kinds;
mod tour;

use std::sync::Arc;

fn main() -> Result<(), Box<dyn std::error::Error>> {
    let options = boxproof_desk::page::Options { first: "kinds".to_owned(), ..boxproof_desk::page::Options::default() };
    Ok(boxproof_desk::page::serve(Arc::new(tour::Tour::default()), options)?)
}
