//! Many sites by one run: a line each, in order, a bad one stopping nothing.

use crate::support::{cases, files, ran, run, wetrun};
use serde_json::Value;
use std::io::Write;
use std::process::Stdio;

fn lines(stdout: &str) -> Vec<Value> {
    stdout.lines().map(|line| serde_json::from_str(line).unwrap()).collect()
}

fn demos() -> Vec<String> {
    cases("ok").iter().map(|name| format!("fixtures/ok/{name}/site.yaml")).collect()
}

fn with_input(args: &[&str], input: &str) -> crate::support::Ran {
    let mut command = wetrun(args);
    command.stdin(Stdio::piped()).stdout(Stdio::piped()).stderr(Stdio::piped());
    let mut child = command.spawn().unwrap();
    child.stdin.take().unwrap().write_all(input.as_bytes()).unwrap();
    ran(child.wait_with_output().unwrap())
}

#[test]
fn each_line_is_what_check_says_in_the_order_given() {
    let demos = demos();
    // Twice, and backwards: more than a batch of a small machine would show nothing new.
    let given: Vec<&str> = demos.iter().chain(demos.iter().rev()).map(String::as_str).collect();
    let ran = run(&[&["check", "--format", "jsonl"], &given[..]].concat());
    let found = lines(&ran.stdout);
    assert_eq!((ran.stderr.as_str(), found.len()), ("", given.len()));
    let mut fails = false;
    for (line, path) in found.iter().zip(&given) {
        let keys: Vec<&String> = line.as_object().unwrap().keys().collect();
        assert_eq!(keys, ["file", "result"]);
        assert_eq!(line["file"], **path);
        let check = run(&["check", path, "--format", "json"]);
        let check: Value = serde_json::from_str(&check.stdout).unwrap();
        assert_eq!(line["result"], check, "{path}");
        fails |= check["verdict"] == "fail";
    }
    assert_eq!(ran.status, i32::from(fails));
    let passing = "fixtures/ok/us-hall-six-downspouts/site.yaml";
    assert_eq!(run(&["check", passing, passing, "--format", "jsonl"]).status, 0);
}

#[test]
fn a_bad_file_stops_nothing_and_is_told_with_its_places() {
    let good = "fixtures/ok/us-hall-six-downspouts/site.yaml";
    let bad = "fixtures/err/value-wrong-kind/site.yaml";
    let open = "fixtures/size/us-hall-six-downspouts/site.yaml";
    let args = ["check", "--format", "jsonl", bad, good, "no/such.yaml", open, good];
    let ran = run(&args);
    assert_eq!((ran.status, ran.stderr.as_str()), (2, ""));
    let found = lines(&ran.stdout);
    let kinds: Vec<bool> = found.iter().map(|line| line.get("result").is_some()).collect();
    assert_eq!(kinds, [false, true, false, false, true]);
    // The place that `check` names.
    let check = run(&["check", bad]);
    let place = &found[0]["places"][0];
    let named = format!("site.yaml:{}:{}", place["line"], place["column"]);
    assert!(check.stderr.contains(&named), "{named}\n{}", check.stderr);
    assert_eq!((&place["key"], &place["code"]), (&"tanks.T1.inlet".into(), &"value".into()));
    let error = found[0]["error"].as_str().unwrap();
    assert_eq!(error, check.stderr.trim_end());
    assert_eq!(found[2]["places"].as_array().unwrap().len(), 0);
    assert!(found[3]["error"].as_str().unwrap().contains("size"), "{}", found[3]);
}

#[test]
fn a_folder_stands_for_its_files_by_name() {
    let ran = run(&["check", "fixtures/ok", "--format", "jsonl", "--no-spill-rains"]);
    let found: Vec<String> =
        lines(&ran.stdout).iter().map(|l| l["file"].as_str().unwrap().to_owned()).collect();
    assert_eq!(found, demos());
    assert_eq!(found.len(), files("fixtures/ok", ".yaml").len());
    // A folder without any is an error of its own, and the rest goes on.
    let empty = tempfile::tempdir().unwrap();
    let path = empty.path().to_str().unwrap();
    let ran = run(&["check", path, &found[0], "--format", "jsonl"]);
    let lines = lines(&ran.stdout);
    assert_eq!((ran.status, lines.len()), (2, 2));
    assert!(lines[0]["error"].as_str().unwrap().contains("no *.yaml"), "{}", lines[0]);
}

#[test]
fn paths_come_from_standard_input_too() {
    let demos = demos();
    let list = format!("{}\r\n\n{}\nfixtures/ok/us-tanks-that-meet\n", demos[0], demos[1]);
    let ran = with_input(&["check", "--each", "-", "--format", "jsonl"], &list);
    let found = lines(&ran.stdout);
    let last = "fixtures/ok/us-tanks-that-meet/site.yaml";
    let wanted = [demos[0].as_str(), &demos[1], last];
    assert_eq!(found.iter().map(|l| l["file"].as_str().unwrap()).collect::<Vec<_>>(), wanted);
    // Named files come before those of the list; a list may be a file.
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("list.txt");
    std::fs::write(&path, format!("{}\n", demos[1])).unwrap();
    let ran = run(&["check", last, "--each", path.to_str().unwrap(), "--format", "jsonl"]);
    let found = lines(&ran.stdout);
    assert_eq!((&found[0]["file"], &found[1]["file"]), (&last.into(), &demos[1].clone().into()));
    for args in [
        &["check", "--each", "-"][..],
        &["check", "--each", "-", "--format", "jsonl"],
        &["check", "--each", "no/such.txt", "--format", "jsonl"],
        &["check", &demos[0], &demos[1]],
        &["check", &demos[0], &demos[1], "--format", "json"],
        &["check", "fixtures/ok"],
        &["check", &demos[0], "--format", "jsonl", "--by", "line"],
        &["check", &demos[0], "--format", "jsonl", "--storm", "6 gal"],
        &["check", "--format", "jsonl"],
    ] {
        let ran = with_input(args, "");
        assert_eq!((ran.status, ran.stdout.as_str()), (2, ""), "{args:?}");
        assert!(!ran.stderr.is_empty());
    }
}

/// The storm of the command line holds for every site.
#[test]
fn what_replaces_the_storm_holds_for_all() {
    let demos = demos();
    let ran = run(&["check", &demos[1], &demos[6], "--format", "jsonl", "--storm", "90 mm/h"]);
    for line in lines(&ran.stdout) {
        let rain = line["result"]["storm"]["intensity_m_per_s"].as_f64().unwrap();
        assert!((rain * 3.6e6 - 90.0).abs() < 1e-9, "{line}");
    }
}

#[test]
fn whoever_has_seen_enough_may_close_the_pipe() {
    let many = vec!["fixtures/ok"; 40];
    let mut command = wetrun(&[&["check", "--format", "jsonl"], &many[..]].concat());
    command.stdout(Stdio::piped()).stderr(Stdio::piped());
    let mut child = command.spawn().unwrap();
    drop(child.stdout.take());
    let done = child.wait_with_output().unwrap();
    assert!(done.stderr.is_empty(), "{}", String::from_utf8_lossy(&done.stderr));
    // Not every site was answered: nobody may take that for a pass.
    assert_eq!(done.status.code(), Some(2));
}
