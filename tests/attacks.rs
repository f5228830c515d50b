//! Attacks on the whole program: each is refused in words that name the file, and shows nothing else.

use crate::support::{Ran, ran, root, run, wetrun};
use std::fs;
use std::io::Write;
use std::process::Stdio;

const DEMO: &str = "fixtures/ok/us-hall-six-downspouts/site.yaml";

/// What was refused, and said so on stderr alone.
fn refused(ran: &Ran) -> &str {
    assert_eq!((ran.status, ran.stdout.as_str()), (2, ""), "{}", ran.stderr);
    let seen = |c: char| c == '\n' || !c.is_control();
    assert!(ran.stderr.chars().all(seen), "{:?}", ran.stderr);
    &ran.stderr
}

#[test]
fn a_file_cut_off_is_no_pass_for_any_command() {
    let folder = tempfile::tempdir().unwrap();
    let text = fs::read_to_string(root().join(DEMO)).unwrap();
    let cut = folder.path().join("cut.yaml");
    let cut = cut.to_str().unwrap();
    let out = folder.path().join("set.html");
    let out = out.to_str().unwrap();
    let mut at = 0;
    // After each line before the tanks, which come last.
    for line in text.split_inclusive('\n').take_while(|line| !line.starts_with("tanks:")) {
        at += line.len();
        fs::write(cut, &text[..at]).unwrap();
        assert!(refused(&run(&["check", cut])).contains("cut.yaml"), "{}", &text[..at]);
    }
    let before = text.find("roofs:").unwrap();
    fs::write(cut, &text[..before]).unwrap();
    for args in [
        &["review", cut][..],
        &["levels", cut],
        &["size", cut],
        &["sheet", cut, "-o", out],
        &["compare", DEMO, cut],
        &["compare", cut, DEMO],
    ] {
        assert!(refused(&run(args)).contains("cut.yaml"), "{args:?}");
    }
    assert!(!folder.path().join("set.html").exists());
}

/// Twice as many points take twice as long, not four times: so many took a minute once.
#[test]
fn points_that_no_line_meets_cost_little_and_change_nothing() {
    let text = fs::read_to_string(root().join(DEMO)).unwrap();
    let stray: String = (0..80_000).map(|n| format!("  X{n}: {{ level: 99 ft }}\n")).collect();
    let folder = tempfile::tempdir().unwrap();
    let many = folder.path().join("many.yaml");
    fs::write(&many, text.replace("points:\n", &format!("points:\n{stray}"))).unwrap();
    let began = std::time::Instant::now();
    let check = |site: &str| {
        let ran = run(&["check", site, "--format", "json"]);
        serde_json::from_str::<serde_json::Value>(&ran.stdout).unwrap()
    };
    let many = check(many.to_str().unwrap());
    assert!(began.elapsed().as_secs() < 20, "{:?}", began.elapsed());
    let few = check(DEMO);
    for same in ["verdict", "downspouts", "lines", "tanks", "findings"] {
        assert_eq!(many[same], few[same], "{same}");
    }
    assert_eq!(many["points"].as_object().unwrap().len(), 80_006);
}

/// What comes after the last fault that is told is not kept: it took three times the memory once.
#[cfg(target_os = "linux")]
#[test]
fn bad_values_without_end_are_refused_in_little_memory() {
    let text = fs::read_to_string(root().join(DEMO)).unwrap();
    let bad: String = (0..300_000).map(|n| format!("  X{n}: {{ level: bad }}\n")).collect();
    let folder = tempfile::tempdir().unwrap();
    let many = folder.path().join("many.yaml");
    fs::write(&many, text.replace("points:\n", &format!("points:\n{bad}"))).unwrap();
    // No more than this of address space, kB.
    let capped = std::process::Command::new("sh")
        .args(["-c", "ulimit -v 300000 && exec \"$0\" check \"$1\"", env!("CARGO_BIN_EXE_wetrun")])
        .arg(&many)
        .output()
        .unwrap();
    let ran = ran(capped);
    assert!(refused(&ran).contains("many.yaml:29:16"), "{}", &ran.stderr[..2000]);
}

#[test]
fn what_is_typed_never_commands_the_terminal() {
    for odd in ["a\u{1b}[31mb", "a\u{1b}]0;x\u{7}", "a\u{9b}2J", "a\u{202e}b", "a\u{200b}b"] {
        for args in [
            &["check", odd][..],
            &["explain", odd],
            &["check", DEMO, "--storm", odd],
            &["compare", DEMO, odd],
            &["sheet", DEMO, "-o", odd],
            &[odd],
        ] {
            let ran = run(args);
            let text = refused(&ran);
            assert!(!text.contains(['\u{202e}', '\u{200b}']), "{text:?}");
        }
    }
}

#[test]
fn rain_on_the_command_line_has_the_limits_of_the_file() {
    for rain in ["1e300 mm/h", "361000 mm/h", "-1 mm/h", "nan", "inf"] {
        let ran = run(&["check", DEMO, "--storm", rain]);
        assert!(refused(&ran).contains("--storm"), "{}", ran.stderr);
    }
}

#[test]
fn what_is_read_from_a_pipe_has_a_name() {
    let mut child = wetrun(&["check", "-"])
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .unwrap();
    child.stdin.take().unwrap().write_all(b"wetrun: 1\nname: x\n").unwrap();
    let ran = ran(child.wait_with_output().unwrap());
    assert!(refused(&ran).contains("<stdin>"), "{}", ran.stderr);
}

#[test]
fn open_sizes_and_missing_files_are_told_by_name() {
    let open = "fixtures/size/us-hall-six-downspouts/site.yaml";
    for args in [&["check", open][..], &["compare", DEMO, open], &["compare", open, DEMO]] {
        assert!(refused(&run(args)).contains(open), "{args:?}");
    }
    assert!(refused(&run(&["compare", DEMO, "gone.yaml"])).contains("gone.yaml"));
}

#[test]
fn a_text_tagged_as_bytes_is_not_taken_for_what_it_says() {
    let text = fs::read_to_string(root().join(DEMO)).unwrap();
    let folder = tempfile::tempdir().unwrap();
    let tagged = folder.path().join("tagged.yaml");
    let name = text.lines().find(|line| line.starts_with("name:")).unwrap();
    for bytes in ["aGVsbG8=", "MTA="] {
        fs::write(&tagged, text.replace(name, &format!("name: !!binary {bytes}"))).unwrap();
        for command in ["check", "review", "levels", "size"] {
            let ran = run(&[command, tagged.to_str().unwrap()]);
            let told = refused(&ran);
            assert!(told.contains("tagged.yaml") && told.contains("!!binary"), "{told}");
        }
    }
}

/// The page may load nothing and run nothing, whatever its site says.
#[test]
fn a_page_forbids_the_browser_to_load_or_run_anything() {
    let text = fs::read_to_string(root().join(DEMO)).unwrap();
    let folder = tempfile::tempdir().unwrap();
    let (site, page) = (folder.path().join("site.yaml"), folder.path().join("set.html"));
    let name = text.lines().find(|line| line.starts_with("name:")).unwrap();
    let odd = "name: '\"><script>alert(1)</script><img src=x onerror=alert(1)>'";
    fs::write(&site, text.replace(name, odd)).unwrap();
    run(&["sheet", site.to_str().unwrap(), "-o", page.to_str().unwrap()]);
    let page = fs::read_to_string(page).unwrap();
    let policy = "<meta http-equiv=\"Content-Security-Policy\" content=\"default-src 'none'; ";
    let at = page.find(policy).expect("a policy");
    assert!(!page[at..].split('>').next().unwrap().contains("script-src"));
    // Nothing that it governs stands before it.
    assert!(["<style", "<link", "<body"].iter().all(|tag| page.find(tag).unwrap() > at));
    assert!(!page.contains("<script") && !page.contains("<img src=x"));
}
