//! The Android shell is built twice: by the Android plugin where there is an SDK, by Maven where there is none. Both
//! must mean the same versions, or what is tested here is not what is built there.
//!
//! No outside source: the two files are compared with each other.
#![allow(clippy::expect_used, clippy::panic, reason = "tests may stop at once")]

use std::fs;
use std::path::Path;

fn android(name: &str) -> String {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("../android").join(name);
    fs::read_to_string(&path).unwrap_or_else(|why| panic!("{}: {why}", path.display()))
}

/// A version of the catalog.
fn catalog(text: &str, name: &str) -> String {
    let line = text.lines().find_map(|line| line.strip_prefix(&format!("{name} = ")));
    line.unwrap_or_else(|| panic!("no {name} in the catalog")).trim_matches('"').to_owned()
}

/// A property of the Maven project.
fn property<'t>(text: &'t str, name: &str) -> &'t str {
    let from = text.split_once(&format!("<{name}>")).unwrap_or_else(|| panic!("no {name} in the pom")).1;
    from.split_once('<').expect("a closed element").0
}

#[test]
fn both_builds_mean_the_same_versions() {
    let (gradle, maven) = (android("gradle/libs.versions.toml"), android("jvm/pom.xml"));
    for (ours, theirs) in [("kotlin", "kotlin.version"), ("jna", "jna.version"), ("sdk-min", "oldest.sdk")] {
        assert_eq!(catalog(&gradle, ours), property(&maven, theirs), "{ours}");
    }
    for (flag, ours) in [("--min-sdk-version", "sdk-min"), ("--target-sdk-version", "sdk-target")] {
        let linked = format!("{flag} {} ", catalog(&gradle, ours));
        assert!(maven.contains(&linked), "resources are not linked with {linked}");
    }
}

#[test]
fn both_builds_take_the_same_sources() {
    let (gradle, maven) = (android("app/build.gradle.kts"), android("jvm/pom.xml"));
    assert!(gradle.contains("kotlin.directories += \"../../bindings/phone/kotlin\""));
    assert!(maven.contains("/../../bindings/phone/kotlin<"));
    for name in ["namespace = \"org.boxproof.shell\"", "applicationId = \"org.boxproof.shell\""] {
        assert!(gradle.contains(name), "{name}");
    }
    assert!(maven.contains("android_custom_package=org.boxproof.shell"));
    assert_eq!(property(&maven, "app"), "${project.basedir}/../app/src", "the ordinary layout");
}
