//! Runs the program and finds the repository's files.

use std::path::{Path, PathBuf};
use std::process::{Command, Output};

/// The top of the repository.
pub(crate) fn root() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../..").canonicalize().unwrap()
}

/// The program, run from the top of the repository, without colour from the environment.
pub(crate) fn wetrun(args: &[&str]) -> Command {
    let mut command = Command::new(env!("CARGO_BIN_EXE_wetrun"));
    command.args(args).current_dir(root());
    for name in ["NO_COLOR", "CLICOLOR", "CLICOLOR_FORCE", "FORCE_COLOR"] {
        command.env_remove(name);
    }
    command
}

/// What a run wrote and how it ended.
pub(crate) struct Ran {
    pub(crate) status: i32,
    pub(crate) stdout: String,
    pub(crate) stderr: String,
}

pub(crate) fn run(args: &[&str]) -> Ran {
    ran(wetrun(args).output().unwrap())
}

pub(crate) fn ran(output: Output) -> Ran {
    Ran {
        status: output.status.code().expect("the program was killed"),
        stdout: String::from_utf8(output.stdout).unwrap(),
        stderr: String::from_utf8(output.stderr).unwrap(),
    }
}

/// The folders of `fixtures/<kind>` in order, by name.
pub(crate) fn cases(kind: &str) -> Vec<String> {
    let folder = root().join("fixtures").join(kind);
    let mut names: Vec<String> = std::fs::read_dir(folder)
        .unwrap()
        .map(|entry| entry.unwrap().file_name().into_string().unwrap())
        .collect();
    names.sort();
    names
}

/// All files under a folder of the repository whose names end in `end`.
pub(crate) fn files(folder: &str, end: &str) -> Vec<PathBuf> {
    let mut found = Vec::new();
    let mut folders = vec![root().join(folder)];
    while let Some(folder) = folders.pop() {
        for entry in std::fs::read_dir(folder).unwrap() {
            let path = entry.unwrap().path();
            if path.is_dir() {
                folders.push(path);
            } else if path.to_string_lossy().ends_with(end) {
                found.push(path);
            }
        }
    }
    found.sort();
    found
}

/// Compares `text` with a file of the repository; `UPDATE_EXPECT=1` writes the file instead.
pub(crate) fn expect(path: &Path, text: &str) {
    if std::env::var_os("UPDATE_EXPECT").is_some() {
        std::fs::write(path, text).unwrap();
        return;
    }
    let expected = std::fs::read_to_string(path).unwrap_or_default();
    let place = path.strip_prefix(root()).unwrap_or(path).display();
    if expected != text {
        let differs = expected.lines().zip(text.lines()).position(|(a, b)| a != b);
        let line = differs.unwrap_or_else(|| expected.lines().count().min(text.lines().count()));
        panic!(
            "{place} differs from line {}:\n  expected: {}\n  found:    {}\n\
             (UPDATE_EXPECT=1 writes what was found)",
            line + 1,
            expected.lines().nth(line).unwrap_or("<end>"),
            text.lines().nth(line).unwrap_or("<end>"),
        );
    }
}
