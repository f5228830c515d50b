//! Independent readers of what is exchanged: scripts of this folder, in a Python environment of
//! their own.
//!
//! Without it the tests that need it say that they were left out; `WETRUN_READERS_REQUIRED=1`
//! makes them fail instead. `tests/readers/install` makes it.

use crate::support::root;
use std::io::Write;
use std::process::Command;

/// What a script of this folder prints; none where the readers are not installed and not required.
/// A script that fails fails the test, with what it said.
pub(crate) fn read_by(script: &str, args: &[&str]) -> Option<String> {
    let python = root().join("target/readers/bin/python");
    if !python.is_file() {
        left_out("readers");
        return None;
    }
    let script = root().join("tests/readers").join(script);
    let done = Command::new(python).arg("-I").arg(&script).args(args).output().unwrap();
    let said = String::from_utf8_lossy(&done.stderr);
    assert!(done.status.success(), "{} {args:?}: {said}", script.display());
    Some(String::from_utf8(done.stdout).unwrap())
}

/// Says that tests were left out, or fails where they must not be.
pub(crate) fn left_out(what: &str) {
    let required = std::env::var_os("WETRUN_READERS_REQUIRED").is_some_and(|v| v != "0");
    assert!(!required, "{what} not installed, and WETRUN_READERS_REQUIRED is set");
    // Not by a macro: those stay unseen when a test passes.
    let said = format!("tests left out: no {what} (tests/readers/install)\n");
    std::io::stderr().write_all(said.as_bytes()).unwrap();
}
