//! The program `boxproof`: the notebook from a command line, and its screens on a page of this machine.
//!
//! It ends with 0 if nothing was found, with 1 if there are findings or disagreements, and with 2 if it could not do
//! what was asked; one sentence on standard error then says what happened, what was kept and what to do.

mod command;
mod out;

use std::process::ExitCode;

use boxproof_core::words::say;

fn main() -> ExitCode {
    // What broke is said in one sentence below; a trace would help nobody at a site.
    std::panic::set_hook(Box::new(|_| {}));
    match std::panic::catch_unwind(command::run) {
        Ok(Ok(status)) => status.into(),
        Ok(Err(fault)) => {
            out::tell(&fault.to_string());
            ExitCode::from(2)
        }
        Err(_) => {
            out::tell(&say("desk.broke", &[]));
            ExitCode::from(2)
        }
    }
}
