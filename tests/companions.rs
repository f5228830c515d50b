//! Completions and manual pages: what shells and `man` make of them.

use crate::support::run;
use std::process::Command;

/// The program's output, where the program is there.
fn told_by(program: &str, args: &[&str]) -> Option<(bool, String)> {
    let done = Command::new(program).args(args).output().ok()?;
    let said = [done.stdout, done.stderr].concat();
    Some((done.status.success(), String::from_utf8_lossy(&said).into_owned()))
}

#[test]
fn shells_take_their_completions() {
    let folder = tempfile::tempdir().unwrap();
    for (shell, check) in [("bash", "-n"), ("zsh", "-n"), ("fish", "--no-execute")] {
        let ran = run(&["completions", shell]);
        assert_eq!((ran.status, ran.stderr.as_str()), (0, ""));
        for word in ["check", "review", "rain", "as-built"] {
            assert!(ran.stdout.contains(word), "{shell}: {word}");
        }
        let path = folder.path().join(shell);
        std::fs::write(&path, &ran.stdout).unwrap();
        let path = path.to_str().unwrap();
        match told_by(shell, &[check, path]) {
            Some((fine, said)) => assert!(fine && said.is_empty(), "{shell}: {said}"),
            None => crate::readers::left_out(shell),
        }
    }
    for shell in ["elvish", "powershell"] {
        assert!(run(&["completions", shell]).stdout.contains("review"), "{shell}");
    }
    for args in [&["completions", "tcsh"][..], &["completions"]] {
        let ran = run(args);
        assert_eq!((ran.status, ran.stdout.as_str()), (2, ""));
    }
}

/// bash itself completes a command of the program.
#[test]
fn bash_completes_a_command() {
    let script = run(&["completions", "bash"]).stdout;
    let asks = "COMP_WORDS=(wetrun rev); COMP_CWORD=1; _wetrun wetrun rev wetrun; \
                echo \"${COMPREPLY[@]}\"";
    let Some((fine, said)) = told_by("bash", &["-c", &format!("{script}\n{asks}")]) else { return };
    assert!(fine, "{said}");
    assert_eq!(said.trim(), "review");
}

#[test]
fn manual_pages_are_there_for_every_command() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().to_str().unwrap();
    let ran = run(&["man", path]);
    assert_eq!((ran.status, ran.stderr.as_str()), (0, ""));
    let help = run(&["--help"]).stdout;
    let commands = help.split("Commands:").nth(1).unwrap().split("Options:").next().unwrap();
    let commands =
        commands.lines().filter(|line| line.starts_with("  ") && !line.starts_with("   "));
    let names: Vec<&str> = commands.map(|line| line.split_whitespace().next().unwrap()).collect();
    assert!(names.len() > 12, "{names:?}");
    let pages = names.iter().filter(|name| **name != "help").map(|name| format!("wetrun-{name}.1"));
    for page in pages.chain(["wetrun.1".to_owned()]) {
        let text = std::fs::read_to_string(folder.path().join(&page)).unwrap();
        assert!(text.contains(".SH NAME") && text.contains(".SH SYNOPSIS"), "{page}");
        // `man` sets pages by groff; what it has to say of one goes to stderr.
        let file = folder.path().join(&page);
        let args = ["-man", "-Tutf8", "-ww", "-z", file.to_str().unwrap()];
        match told_by("groff", &args) {
            Some((fine, said)) => assert!(fine && said.is_empty(), "{page}: {said}"),
            None => crate::readers::left_out("groff"),
        }
    }
    let ran = run(&["man", "no/such/folder"]);
    assert_eq!((ran.status, ran.stdout.as_str()), (2, ""));
}
