//! The Python package through its front door: packed as a wheel, put into a fresh environment, used.
//!
//! It needs the Python environment of the independent readers (`tests/readers/install`); without it the
//! test says that it was left out, and fails where `WETRUN_READERS_REQUIRED` is set.
#![allow(clippy::unwrap_used, clippy::panic)]

use std::io::Write;
use std::path::{Path, PathBuf};
use std::process::Command;

fn root() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../..").canonicalize().unwrap()
}

/// What a command prints; it must end well.
fn said(command: &mut Command) -> String {
    let done = command.output().unwrap();
    let (out, err) = (String::from_utf8_lossy(&done.stdout), String::from_utf8_lossy(&done.stderr));
    assert!(done.status.success(), "{command:?}\n{out}\n{err}");
    out.into_owned()
}

#[test]
fn the_wheel_works_in_a_fresh_environment() {
    let python = root().join("target/readers/bin/python");
    if !python.is_file() {
        let required = std::env::var_os("WETRUN_READERS_REQUIRED").is_some_and(|v| v != "0");
        assert!(!required, "readers not installed, and WETRUN_READERS_REQUIRED is set");
        let said = b"tests left out: no readers (tests/readers/install)\n";
        std::io::stderr().write_all(said).unwrap();
        return;
    }
    // The module that was built beside this test.
    let module = std::env::current_exe().unwrap().with_file_name("libwetrun_native.so");
    assert!(module.is_file(), "{}", module.display());
    let here = Path::new(env!("CARGO_MANIFEST_DIR"));
    let scratch = tempfile::tempdir().unwrap();
    let pack = |folder: &Path| {
        let mut command = Command::new(&python);
        command.arg("-I").arg(here.join("pack")).arg(&module).arg(folder);
        PathBuf::from(said(&mut command).trim_end())
    };
    let wheel = pack(scratch.path());
    let again = pack(&scratch.path().join("again"));
    assert_eq!(std::fs::read(&wheel).unwrap(), std::fs::read(again).unwrap(), "not the same bytes");
    let fresh = scratch.path().join("fresh");
    said(Command::new(&python).args(["-I", "-m", "venv", "--without-pip"]).arg(&fresh));
    let inside = fresh.join("bin/python");
    said(
        Command::new(&python)
            .args(["-I", "-m", "pip", "--quiet", "--disable-pip-version-check", "--python"])
            .arg(&inside)
            .args(["install", "--no-index", "--no-deps", "--no-compile"])
            .arg(&wheel),
    );
    let program = module.with_file_name("../wetrun");
    said(
        Command::new(&inside)
            .arg("-I")
            .arg(here.join("tests/front.py"))
            .arg(root().join("fixtures"))
            .arg(program),
    );
    // What a type checker makes of it, and of those who use it.
    said(
        Command::new(&python)
            .args(["-I", "-m", "mypy", "--strict", "--no-incremental", "--cache-dir=/dev/null"])
            .arg("--python-executable")
            .arg(&inside)
            .arg(here.join("tests/typed.py"))
            .current_dir(scratch.path()),
    );
    // A table of sites on an engine, which has the package beside its own.
    let packages = said(Command::new(&inside).args([
        "-I",
        "-c",
        "import sysconfig; print(sysconfig.get_path('platlib'))",
    ]));
    said(
        Command::new(&python)
            .arg(here.join("tests/engine.py"))
            .arg(here.join("examples/table.py"))
            .arg(root().join("fixtures"))
            .arg(scratch.path())
            .env("PYTHONPATH", packages.trim_end()),
    );
}
