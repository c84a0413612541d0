//! Programs from outside that checks call.

use std::path::Path;

/// Debian's Python, which has Debian's packages; where there is none, the first one in PATH.
pub fn python() -> &'static str {
    const DEBIAN: &str = "/usr/bin/python3";
    if Path::new(DEBIAN).exists() { DEBIAN } else { "python3" }
}
