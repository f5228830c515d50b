//! What a page can do to the file: moves, steps, saving, and a disk that others write too.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

mod support;

use std::sync::Arc;
use std::time::{Duration, Instant};
use support::{Memory, Running, SHED, over, running};

use serde_json::{Value, json};

/// A call of the page, with nothing special in view.
fn ask(desk: &Running, name: &str, mut body: Value) -> Value {
    body["view"] = json!({});
    let answer = desk.call(name, &body.to_string());
    assert_eq!(answer.status, 200, "{name}: {}", answer.body);
    serde_json::from_str(&answer.body).unwrap()
}

fn look(desk: &Running) -> Value {
    ask(desk, "look", json!({}))
}

fn text(answer: &Value) -> &str {
    answer["text"].as_str().unwrap()
}

fn moved(desk: &Running, gesture: &str, tag: &str, key: &str, by: Value) -> Value {
    let body = json!({ "gesture": gesture, "tag": tag, "key": key, "by": by });
    ask(desk, "move", body)
}

fn let_go(desk: &Running, gesture: &str) -> Value {
    ask(desk, "let-go", json!({ "gesture": gesture }))
}

/// Types over what the page has.
fn type_in(desk: &Running, gesture: &str, text: &str) -> Value {
    let revision = look(desk)["revision"].clone();
    ask(desk, "text", json!({ "gesture": gesture, "revision": revision, "text": text }))
}

/// Waits until the session has noticed something.
fn until(desk: &Running, what: &str, is: impl Fn(&Value) -> bool) -> Value {
    let began = Instant::now();
    loop {
        let answer = look(desk);
        if is(&answer) {
            return answer;
        }
        assert!(began.elapsed() < Duration::from_secs(10), "never: {what}: {answer}");
        std::thread::sleep(Duration::from_millis(30));
    }
}

#[test]
fn a_level_moves_in_its_own_spelling_and_nothing_else_does() {
    let desk = running();
    moved(&desk, "a", "D1", "foot", json!({ "steps": 1 }));
    let answer = moved(&desk, "a", "D1", "foot", json!({ "steps": 3 }));
    assert!(answer["text"].is_null() && answer["section"]["handles"].is_array());
    let answer = let_go(&desk, "a");
    assert_eq!(text(&answer), SHED.replace("foot: 0.50 m", "foot: 0.53 m"));
    moved(&desk, "b", "T1", "inlet", json!({ "fine_steps": -2 }));
    let answer = let_go(&desk, "b");
    assert_eq!(
        text(&answer),
        SHED.replace("foot: 0.50 m", "foot: 0.53 m").replace("inlet: 2.00", "inlet: 1.998")
    );
    // The lip keeps its height above the outlet; a drag is rounded to a millimetre.
    moved(&desk, "c", "D1", "outlet", json!({ "to_m": 2.9001234 }));
    let answer = let_go(&desk, "c");
    assert!(text(&answer).contains("outlet: 2.90, lip: 2.95, foot"), "{}", text(&answer));
    // Not below the foot, however far it is dragged.
    moved(&desk, "d", "D1", "outlet", json!({ "to_m": -9e5 }));
    assert!(text(&let_go(&desk, "d")).contains("outlet: 0.53, lip: 0.58"));
    // What a hand did is a step, and undo returns the very bytes.
    for _ in 0..4 {
        assert_eq!(look(&desk)["undo"], true);
        ask(&desk, "undo", json!({}));
    }
    let answer = look(&desk);
    assert_eq!(
        (text(&answer), &answer["undo"], &answer["saved"]),
        (SHED, &json!(false), &json!(true))
    );
    for _ in 0..4 {
        ask(&desk, "redo", json!({}));
    }
    assert!(text(&look(&desk)).contains("outlet: 0.53, lip: 0.58"));
    assert_eq!(desk.files.text(), SHED);
}

#[test]
fn a_hand_that_gives_up_leaves_no_trace() {
    let desk = running();
    moved(&desk, "a", "D1", "outlet", json!({ "steps": -20 }));
    assert_eq!(look(&desk)["undo"], true);
    ask(&desk, "let-go", json!({ "gesture": "a", "give_up": true }));
    let answer = look(&desk);
    assert_eq!((text(&answer), &answer["undo"]), (SHED, &json!(false)));
}

#[test]
fn while_a_hand_moves_the_picture_holds_still() {
    let desk = running();
    let at = |answer: &Value, key: &str| {
        let handles = answer["section"]["handles"].as_array().unwrap();
        let of = handles.iter().find(|h| h["key"] == key).unwrap();
        (of["x"].as_f64().unwrap(), of["y"].as_f64().unwrap())
    };
    let before = look(&desk);
    let scale = before["section"]["pt_per_m"].as_f64().unwrap();
    let answer = moved(&desk, "a", "D1", "outlet", json!({ "to_m": 4.0 }));
    assert_eq!(at(&answer, "foot"), at(&before, "foot"));
    // A metre up is as many points as the scale says.
    let up = at(&before, "outlet").1 - at(&answer, "outlet").1;
    assert!((up - scale).abs() < 0.01, "{up} {scale}");
}

/// What the page makes of a picture that is told by what changed.
fn patched(old: &Value, change: &Value) -> Value {
    let number = |value: &Value| usize::try_from(value.as_u64().unwrap()).unwrap();
    if let Some(put) = change.get("put") {
        return put.clone();
    }
    let mut next = old.clone();
    if let Some(runs) = change.get("lines") {
        let lines = next.as_array_mut().unwrap();
        for run in runs.as_array().unwrap().iter().rev() {
            let at = number(&run[0]);
            lines.splice(at..at + number(&run[1]), run[2].as_array().unwrap().iter().cloned());
        }
        return next;
    }
    for pair in change["in"].as_array().unwrap() {
        let place = match pair[0].as_str() {
            Some(key) => &mut next[key],
            None => &mut next[number(&pair[0])],
        };
        *place = patched(&place.clone(), &pair[1]);
    }
    next
}

/// A page that has a picture is told what changed in it, and has the whole one then; any other page is
/// told all of it.
#[test]
fn of_a_picture_that_is_there_only_what_changed_is_told() {
    let desk = running();
    let picture =
        |answer: &Value| json!({ "section": answer["section"], "tables": answer["tables"] });
    let call = |name: &str, body: Value| -> Value {
        serde_json::from_str(&desk.call(name, &body.to_string()).body).unwrap()
    };
    let first = look(&desk);
    assert!(first["since"].is_null());
    let mut known = (first["picture"].clone(), picture(&first));
    for steps in [1, 2, 40, -3, 0] {
        let view = json!({ "has": known.0 });
        let body = json!({
            "view": view, "gesture": "a", "tag": "D1", "key": "foot", "by": { "steps": steps },
        });
        let answer = call("move", body);
        assert!(answer["section"].is_null() && answer["tables"].is_null());
        assert_eq!(answer["since"]["picture"], known.0);
        let now = match &answer["since"]["change"] {
            Value::Null => known.1,
            change => patched(&known.1, change),
        };
        // Told again to a page that has nothing.
        let whole = moved(&desk, "a", "D1", "foot", json!({ "steps": steps }));
        assert!(whole["since"].is_null());
        assert_eq!(picture(&whole), now, "{steps}");
        // The picture that the page has is not the last one now: it is told all.
        let other = call("look", json!({ "view": { "has": answer["picture"] } }));
        assert!(other["since"].is_null() && other["section"]["panels"].is_array());
        known = (other["picture"].clone(), picture(&other));
    }
}

#[test]
fn saving_writes_what_stands_on_the_page() {
    let desk = running();
    moved(&desk, "a", "T1", "inlet", json!({ "steps": -1 }));
    assert_eq!(let_go(&desk, "a")["saved"], false);
    assert_eq!(desk.files.kept_text().unwrap(), SHED.replace("2.00", "1.99"));
    let answer = ask(&desk, "save", json!({}));
    assert_eq!(answer["saved"], true);
    assert_eq!(desk.files.text(), SHED.replace("2.00", "1.99"));
    assert_eq!(desk.files.kept_text(), None);
    // Undo goes on beyond what was saved.
    let answer = ask(&desk, "undo", json!({}));
    assert_eq!((text(&answer), &answer["saved"]), (SHED, &json!(false)));
    desk.files.read_only(true);
    let answer = ask(&desk, "save", json!({}));
    assert!(answer["refused"].as_str().unwrap().contains("cannot write"), "{answer}");
    assert_eq!((text(&answer), &answer["saved"]), (SHED, &json!(false)));
}

#[test]
fn while_nothing_is_unsaved_the_page_follows_the_file() {
    let desk = running();
    let other = SHED.replace("Shed", "Barn");
    desk.files.put(Some(other.as_bytes()));
    let answer = until(&desk, "the new name", |answer| answer["site"] == "Barn");
    assert_eq!((text(&answer), &answer["saved"]), (&*other, &json!(true)));
}

#[test]
fn a_change_on_disk_under_unsaved_edits_overwrites_nothing() {
    let desk = running();
    type_in(&desk, "a", &SHED.replace("inlet: 2.00", "inlet: 1.90"));
    let theirs = SHED.replace("90 mm/h", "95 mm/h").replace("inlet: 2.00", "inlet: 1.80");
    desk.files.put(Some(theirs.as_bytes()));
    let answer = until(&desk, "the choice", |answer| !answer["choice"].is_null());
    let choice = &answer["choice"];
    assert_eq!(choice["why"], "disk");
    assert_eq!(choice["hunks"].as_array().unwrap().len(), 2);
    assert_eq!(choice["hunks"][1]["mine"], "  T1: { inlet: 1.90 }\n");
    assert_eq!(choice["hunks"][1]["theirs"], "  T1: { inlet: 1.80 }\n");
    let refused = ask(&desk, "save", json!({}));
    assert!(refused["refused"].as_str().unwrap().contains("choose"));
    assert_eq!(desk.files.text(), theirs);
    // A choice that was made over another text is none.
    let settle = |mine: Value, revision: &Value| {
        let body = json!({ "choice": choice["number"], "revision": revision, "mine": mine });
        ask(&desk, "settle", body)
    };
    assert_eq!(settle(json!([true, true]), &json!(0))["stale"], true);
    assert_eq!(settle(json!([true]), &answer["revision"])["stale"], true);
    let answer = settle(json!([false, true]), &answer["revision"]);
    let both = SHED.replace("90 mm/h", "95 mm/h").replace("inlet: 2.00", "inlet: 1.90");
    assert_eq!((text(&answer), &answer["choice"]), (&*both, &Value::Null));
    assert_eq!(ask(&desk, "save", json!({}))["saved"], true);
    assert_eq!(desk.files.text(), both);
    // And back to what was typed.
    ask(&desk, "undo", json!({}));
    assert!(text(&look(&desk)).contains("90 mm/h"));
}

#[test]
fn what_an_earlier_run_left_is_offered() {
    let files = Arc::new(Memory::new(SHED));
    let left = SHED.replace("Shed", "Barn");
    files.leave(&left);
    let desk = over(Arc::clone(&files));
    let answer = look(&desk);
    assert_eq!((&answer["choice"]["why"], text(&answer)), (&json!("kept"), SHED));
    // Nothing is done before it is decided: it would be lost.
    let refused = moved(&desk, "a", "T1", "inlet", json!({ "steps": 1 }));
    assert!(refused["refused"].as_str().unwrap().contains("choose"));
    assert_eq!(files.kept_text().unwrap(), left);
    let number = &answer["choice"]["number"];
    let body = json!({ "choice": number, "revision": answer["revision"], "mine": [true] });
    let answer = ask(&desk, "settle", body);
    assert_eq!((text(&answer), &answer["saved"]), (&*left, &json!(false)));
    assert_eq!(files.kept_text().unwrap(), left);
    // Another run finds it again; left alone it is forgotten.
    let desk = over(Arc::clone(&files));
    let answer = look(&desk);
    let body = json!({
        "choice": answer["choice"]["number"], "revision": answer["revision"], "mine": [false],
    });
    let answer = ask(&desk, "settle", body);
    assert_eq!((text(&answer), &answer["saved"]), (SHED, &json!(true)));
    assert_eq!(files.kept_text(), None);
}

#[test]
fn a_file_that_is_gone_is_written_anew() {
    let desk = running();
    desk.files.put(None);
    let answer = until(&desk, "the file to be gone", |answer| answer["gone"] == true);
    assert_eq!((text(&answer), &answer["saved"]), (SHED, &json!(false)));
    assert_eq!(ask(&desk, "save", json!({}))["saved"], true);
    assert_eq!(desk.files.text(), SHED);
}

#[test]
fn a_file_that_is_no_text_any_more_is_not_written_over() {
    let desk = running();
    type_in(&desk, "a", &SHED.replace("Shed", "Barn"));
    desk.files.put(Some(b"\xff\xfe\0"));
    let answer = until(&desk, "trouble", |answer| answer["troubles"][0].is_string());
    assert!(answer["troubles"][0].as_str().unwrap().contains("no text file"));
    assert!(ask(&desk, "save", json!({}))["refused"].is_string());
    desk.files.put(Some(SHED.as_bytes()));
    until(&desk, "no trouble", |answer| answer["troubles"][0].is_null());
    assert_eq!(ask(&desk, "save", json!({}))["saved"], true);
}

#[test]
fn a_wrong_text_has_its_errors_at_their_lines_and_keeps_the_last_answer() {
    let desk = running();
    let good = look(&desk);
    assert_eq!(good["errors"], json!([]));
    let answer = type_in(&desk, "a", &SHED.replace("inlet: 2.00", "inlet: 2 gal"));
    let fault = &answer["errors"][0];
    assert_eq!((&fault["line"], &fault["key"]), (&json!(13), &json!("tanks.T1.inlet")));
    assert!(answer["sentence"].is_null() && answer["section"].is_null());
    // A page that has nothing yet gets the last answer, as the last.
    let blank = desk.call("look", "{\"view\":{\"blank\":true}}");
    let blank: Value = serde_json::from_str(&blank.body).unwrap();
    assert_eq!(blank["last"]["sentence"]["word"], good["sentence"]["word"]);
    assert!(blank["sentence"].is_null());
    // A level cannot be taken hold of in a text that makes no site.
    let refused = moved(&desk, "b", "D1", "outlet", json!({ "steps": 1 }));
    assert!(refused["refused"].as_str().unwrap().contains("errors"));
    let answer = type_in(&desk, "a", SHED);
    assert_eq!((&answer["errors"], &answer["saved"]), (&json!([]), &json!(true)));
}

#[test]
fn what_is_typed_in_one_go_is_one_step_and_keeps_line_ends() {
    let windows = SHED.replace('\n', "\r\n");
    let desk = over(Arc::new(Memory::new(&windows)));
    for name in ["B", "Ba", "Barn"] {
        type_in(&desk, "a", &SHED.replace("Shed", name));
    }
    assert_eq!(text(&look(&desk)), windows.replace("Shed", "Barn"));
    let answer = ask(&desk, "undo", json!({}));
    assert_eq!((text(&answer), &answer["undo"]), (&*windows, &json!(false)));
}

#[test]
fn two_pages_on_one_desk_follow_each_other() {
    let desk = running();
    let first = look(&desk);
    type_in(&desk, "a", &SHED.replace("Shed", "Barn"));
    // The other typed over a text that is no more: it is told, and nothing is lost.
    let body = json!({ "gesture": "b", "revision": first["revision"], "text": SHED });
    let answer = ask(&desk, "text", body);
    assert_eq!((&answer["stale"], answer["site"].as_str()), (&json!(true), Some("Barn")));
    // Whoever waits for news is told at once.
    let began = Instant::now();
    let told = desk.call("news", &json!({ "known": first["news"] }).to_string());
    let told: Value = serde_json::from_str(&told.body).unwrap();
    assert_ne!(told["news"], first["news"]);
    assert!(began.elapsed() < Duration::from_secs(5));
    // A hand that another page interrupts begins anew where it is.
    moved(&desk, "c", "T1", "inlet", json!({ "steps": 1 }));
    type_in(&desk, "d", &SHED.replace("Shed", "Hut").replace("2.00", "2.01"));
    moved(&desk, "c", "T1", "inlet", json!({ "steps": 1 }));
    let answer = let_go(&desk, "c");
    assert!(text(&answer).contains("Hut") && text(&answer).contains("inlet: 2.02"));
}

#[test]
fn the_storm_is_asked_and_the_file_stays() {
    let desk = running();
    let with = |view: Value| {
        let answer = desk.call("look", &json!({ "view": view }).to_string());
        serde_json::from_str::<Value>(&answer.body).unwrap()
    };
    let answer = with(json!({ "rain": 2.0, "tanks": "empty" }));
    assert_eq!(answer["storm"]["asked"], "180.0 mm/h");
    assert_eq!(answer["storm"]["own"], "90.0 mm/h");
    assert_eq!((&answer["storm"]["tanks"], text(&answer)), (&json!("empty"), SHED));
    // 60 m² of roof in 180 mm/h bring 3.00 L/s.
    assert_eq!(answer["tables"][0]["rows"][0]["cells"][0], "3.00");
    // More than twice is not asked for.
    assert_eq!(with(json!({ "rain": 3.0 }))["storm"]["asked"], "90.0 mm/h");
    assert_eq!(with(json!({ "rain": 0.0 }))["storm"]["asked"], "0.0 mm/h");
}

#[test]
fn what_takes_longer_is_called_off_by_what_comes_next() {
    let desk = running();
    let revision = look(&desk)["revision"].clone();
    let whole = ask(&desk, "rest", json!({ "revision": revision }));
    assert_eq!(whole["sentence"]["whole"], true);
    assert!(whole["sentence"]["cause"].as_str().unwrap().contains("; it "));
    let reviewed = ask(&desk, "review", json!({ "revision": revision }));
    assert_eq!(reviewed["storm"], whole["storm"]);
    let groups = reviewed["review"]["groups"].as_array().unwrap();
    assert_eq!(groups[0]["outcome"], "fail");
    let findings = groups.iter().map(|group| group["findings"].as_array().unwrap().len());
    assert!(findings.sum::<usize>() > 50);
    assert!(whole["plan"][0]["svg"].as_str().unwrap().starts_with("<svg"));
    type_in(&desk, "a", &SHED.replace("Shed", "Barn"));
    for what in ["rest", "review"] {
        assert_eq!(ask(&desk, what, json!({ "revision": revision })), json!({ "stale": true }));
    }
}

#[test]
fn what_is_typed_over_an_older_text_changes_its_own_lines_alone() {
    let desk = running();
    let over = |base: &str, typed: &str| {
        let body = json!({ "gesture": "t", "revision": 0, "base": base, "text": typed });
        ask(&desk, "text", body)
    };
    // Somebody else changes the inlet while the name is typed.
    let theirs = SHED.replace("inlet: 2.00", "inlet: 1.90");
    type_in(&desk, "a", &theirs);
    let answer = over(SHED, &SHED.replace("Shed", "Barn"));
    let both = theirs.replace("Shed", "Barn");
    assert_eq!((text(&answer), &answer["choice"]), (&*both, &Value::Null));
    // Each is a step of its own.
    assert_eq!(text(&ask(&desk, "undo", json!({}))), theirs);
    ask(&desk, "redo", json!({}));
    // Where both changed a line a person chooses, and until then nothing is saved.
    let clash = over(&both, &both.replace("inlet: 1.90", "inlet: 1.80"));
    assert_eq!(clash["choice"], Value::Null);
    let answer = over(&both, &both.replace("inlet: 1.90", "inlet: 1.70"));
    let choice = &answer["choice"];
    assert_eq!((&choice["why"], text(&answer)), (&json!("typed"), &*both.replace("1.90", "1.70")));
    assert_eq!(choice["hunks"][0]["mine"], "  T1: { inlet: 1.70 }\n");
    assert_eq!(choice["hunks"][0]["theirs"], "  T1: { inlet: 1.80 }\n");
    assert!(ask(&desk, "save", json!({}))["refused"].as_str().unwrap().contains("choose"));
    let settled = ask(
        &desk,
        "settle",
        json!({ "choice": choice["number"], "revision": answer["revision"], "mine": [false] }),
    );
    assert_eq!(text(&settled), both.replace("1.90", "1.80"));
    assert_eq!(ask(&desk, "save", json!({}))["saved"], true);
}

#[test]
fn a_change_on_disk_ends_what_a_hand_was_doing() {
    let desk = running();
    // A hand that holds a level where it was: nothing is unsaved.
    moved(&desk, "a", "T1", "inlet", json!({ "steps": 1 }));
    moved(&desk, "a", "T1", "inlet", json!({ "steps": 0 }));
    assert_eq!(look(&desk)["saved"], true);
    let theirs = SHED.replace("Shed", "Barn");
    desk.files.put(Some(theirs.as_bytes()));
    until(&desk, "the new name", |answer| answer["site"] == "Barn");
    // What the hand does next is no change of what others wrote.
    moved(&desk, "a", "T1", "inlet", json!({ "steps": 1 }));
    ask(&desk, "let-go", json!({ "gesture": "a", "give_up": true }));
    let answer = look(&desk);
    assert_eq!((text(&answer), &answer["saved"]), (&*theirs, &json!(true)));
    // Given up without another move it takes nothing back either.
    moved(&desk, "b", "T1", "inlet", json!({ "steps": 0 }));
    desk.files.put(Some(SHED.as_bytes()));
    until(&desk, "the old name", |answer| answer["site"] == "Shed");
    ask(&desk, "let-go", json!({ "gesture": "b", "give_up": true }));
    assert_eq!(text(&look(&desk)), SHED);
}

#[test]
fn edits_of_an_earlier_run_outlive_a_file_that_is_gone_for_a_moment() {
    let files = Arc::new(Memory::new(SHED));
    let left = SHED.replace("inlet: 2.00", "inlet: 1.90");
    files.leave(&left);
    let desk = over(Arc::clone(&files));
    files.put(None);
    until(&desk, "the file to be gone", |answer| answer["gone"] == true);
    let theirs = SHED.replace("Shed", "Barn");
    files.put(Some(theirs.as_bytes()));
    let answer = until(&desk, "the new name", |answer| answer["site"] == "Barn");
    assert_eq!(answer["choice"]["why"], "kept", "{}", answer["choice"]);
    assert_eq!(files.kept_text().unwrap(), left);
    // The two differ in the name and in the inlet.
    let choice = &answer["choice"];
    let body = json!({
        "choice": choice["number"], "revision": answer["revision"], "mine": [false, true],
    });
    let answer = ask(&desk, "settle", body);
    assert_eq!(text(&answer), theirs.replace("inlet: 2.00", "inlet: 1.90"));
}

#[test]
fn a_file_that_is_gone_for_a_moment_is_followed_while_nothing_is_unsaved() {
    let desk = running();
    desk.files.put(None);
    until(&desk, "the file to be gone", |answer| answer["gone"] == true);
    let theirs = SHED.replace("Shed", "Barn");
    desk.files.put(Some(theirs.as_bytes()));
    let answer = until(&desk, "the new file", |answer| answer["gone"] == false);
    assert_eq!(
        (text(&answer), &answer["choice"], &answer["saved"]),
        (&*theirs, &Value::Null, &json!(true))
    );
}

#[test]
fn what_takes_longer_says_what_it_is_an_answer_to() {
    let desk = running();
    let revision = look(&desk)["revision"].clone();
    let rest = |view: Value| {
        let body = json!({ "view": view, "revision": revision }).to_string();
        serde_json::from_str::<Value>(&desk.call("rest", &body).body).unwrap()
    };
    let answer = rest(json!({ "rain": 1.001, "tanks": "empty" }));
    assert_eq!(answer["storm"], json!({ "times": 1.001, "tanks": "empty" }));
    // More than twice is not asked for, and that is said.
    assert_eq!(rest(json!({ "rain": 3.0 }))["storm"], json!({ "times": 1.0, "tanks": "full" }));
}

/// A terrace of so many downspouts, which takes a while.
fn terrace(downspouts: usize) -> String {
    let mut text =
        "wetrun: 1\nname: Terrace\nunits: si\nstorm: { intensity: 60 mm/h }\n".to_owned();
    let mut all = [String::new(), String::new(), String::new(), String::new()];
    for n in 1..=downspouts {
        let to = if n == downspouts { "T1".to_owned() } else { format!("W{}", n + 1) };
        let rows = [
            format!("  R{n}: {{ area: 20 m2, to: D{n} }}\n"),
            format!("  D{n}: {{ outlet: 12, foot: 9, pipe: pvc-sch40 4 in }}\n"),
            format!("  W{n}: {{ level: 8.{:03} }}\n", 900 - n),
            format!(
                "  B{n}: {{ from: D{n}, to: W{n}, pipe: pvc-sch40 4 in, length: 3 m }}\n  \
                 M{n}: {{ from: W{n}, to: {to}, pipe: pvc-sch40 12 in, length: 3 m }}\n"
            ),
        ];
        all.iter_mut().zip(rows).for_each(|(all, row)| all.push_str(&row));
    }
    let names = ["roofs", "downspouts", "points", "lines"];
    for (name, rows) in names.iter().zip(all) {
        text.push_str(&format!("{name}:\n{rows}"));
    }
    text + "tanks:\n  T1: { inlet: 10.4, overflow: { level: 10.2 } }\n"
}

#[test]
fn what_nobody_waits_for_any_more_is_called_off() {
    use std::io::Write;
    let desk = over(Arc::new(Memory::new(&terrace(60))));
    let revision = look(&desk)["revision"].clone();
    let whole = || {
        let began = Instant::now();
        assert_eq!(ask(&desk, "rest", json!({ "revision": revision }))["sentence"]["whole"], true);
        began.elapsed()
    };
    let alone = whole();
    // Many ask and go away at once, as a page does whose slider moves; the text stays as it is.
    let body = json!({ "view": { "rain": 1.5 }, "revision": revision }).to_string();
    let head = format!(
        "POST /rest HTTP/1.1\r\nHost: {0}\r\nOrigin: http://{0}\r\nX-Wetrun-Secret: {1}\r\n\
         Content-Type: application/json\r\nContent-Length: {2}\r\n\r\n{body}",
        desk.host(),
        desk.secret,
        body.len()
    );
    for _ in 0..40 {
        let mut stream = desk.connect();
        stream.write_all(head.as_bytes()).unwrap();
    }
    let after = whole();
    assert!(
        after < alone * 8 + Duration::from_millis(200),
        "{alone:?} alone, {after:?} after them"
    );
}

/// To open a drain below sixty downspouts takes minutes; another text ends that.
#[test]
fn a_sheet_is_called_off_on_its_way() {
    let point = "W60: { level: 8.840";
    let drained = terrace(60).replace(point, &format!("{point}, drain: 50 mm"));
    let desk = Arc::new(over(Arc::new(Memory::new(&drained))));
    let asked = json!({ "revision": look(&desk)["revision"], "which": "flush" }).to_string();
    let asker = Arc::clone(&desk);
    let asking = std::thread::spawn(move || asker.call("sheet", &asked));
    std::thread::sleep(Duration::from_millis(300));
    assert!(!asking.is_finished());
    type_in(&desk, "a", &drained.replace("Terrace", "Row"));
    let changed = Instant::now();
    let answer = asking.join().unwrap();
    assert_eq!((answer.status, answer.body.as_str()), (200, "{\"stale\":true}"));
    assert!(changed.elapsed() < Duration::from_secs(10));
}

#[test]
fn a_mapping_is_written_by_the_program_whatever_its_names_are() {
    let odd = SHED.replace("D1", "'D: 1, {x}'");
    let desk = over(Arc::new(Memory::new(&odd)));
    let put =
        |keys: Value, value: Value| ask(&desk, "put", json!({ "keys": keys, "value": value }));
    let answer = put(json!(["roofs", "R1", "to"]), json!({ "D: 1, {x}": "100 %" }));
    assert_eq!(text(&answer), odd.replace("to: 'D: 1, {x}'", "to: { 'D: 1, {x}': 100 % }"));
    assert_eq!(answer["errors"], json!([]));
    let answer = put(json!(["lines", "M1", "pipe"]), json!({ "type": "own: pipe", "size": "any" }));
    assert!(text(&answer).contains("pipe: { type: 'own: pipe', size: any }"), "{}", text(&answer));
    let answer = put(json!(["tanks", "T2"]), json!({}));
    assert!(text(&answer).contains("  T2: {}\n"), "{}", text(&answer));
}
