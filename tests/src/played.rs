//! A script played through the real notebook into a real log, and what it leaves noted.

use boxproof_core::app::script::{ScriptFault, play};
use boxproof_core::job::Notes;
use boxproof_core::log::Folder;

/// What a case of a few lines begins with: a site, a person, a meter, a job. What follows is noted as found.
pub const CASE: &str = r#"day 2026-05-12 -05:00
hand case
09:00 site name="A case"
person name="A. Rowe"
instrument name=M1 kind=meter high=10000 low=3
job name=Case edition=2020
09:05 arrive "A. Rowe" job=Case
layer found
"#;

/// Plays a script to its end, or to the stop of this name.
///
/// # Errors
/// [`ScriptFault`], with the line that was refused; line 0 if the disk was at fault.
pub fn notes_of(script: &str, until: Option<&str>) -> Result<Notes, ScriptFault> {
    let disk = |why: String| ScriptFault { line: 0, text: String::new(), why };
    let folder = tempfile::tempdir().map_err(|why| disk(why.to_string()))?;
    let played = play(script, folder.path(), until)?;
    let log = Folder::open(folder.path()).and_then(|folder| folder.site(played.site));
    let read = log.and_then(|mut log| log.notes(0)).map_err(|why| disk(why.to_string()))?;
    Ok(Notes::fold(read.noted))
}
