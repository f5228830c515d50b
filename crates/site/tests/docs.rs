//! The reference of the site file against the program: its examples are read, and every key the
//! program knows stands in it.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

use wetrun_site::{Code, read};

const DOCS: &str = include_str!("../../../docs/site-file.md");

#[test]
fn the_whole_example_is_read() {
    let blocks: Vec<&str> =
        DOCS.split("```yaml\n").skip(1).map(|b| b.split("```").next().unwrap()).collect();
    let whole: Vec<&str> = blocks.iter().copied().filter(|b| b.starts_with("wetrun: 1")).collect();
    assert_eq!(whole.len(), 1);
    let site = read(whole[0], "docs").unwrap_or_else(|faults| panic!("{faults}"));
    assert_eq!(site.network.lines().len(), 3);
    for block in blocks.iter().filter(|b| !b.starts_with("wetrun: 1") && !b.starts_with(' ')) {
        let text = format!("{}{block}", whole[0]);
        read(text, "docs").unwrap_or_else(|faults| panic!("{faults}"));
    }
}

/// A key that no section has makes the program list those it has.
#[test]
fn every_key_of_the_program_is_in_the_reference() {
    let file = "zz: 1\nwetrun: 1\nname: a\nunits: si\nstorm: { zz: 1 }\nwater: { zz: 1 }\n\
        targets: { zz: 1 }\nroofs: { R: { zz: 1 } }\ngutters: { G: { zz: 1 } }\n\
        downspouts: { D: { zz: 1, screen: { zz: 1 }, pipe: { zz: 1 }, first_flush: { zz: 1 } } }\n\
        points: { P: { zz: 1, vent: { zz: 1 }, drain_outlet: { zz: 1 } } }\n\
        lines: { L: { zz: 1, profile: [ { zz: 1 } ] } }\n\
        tanks: { T: { zz: 1, overflow: { zz: 1 }, hold_down: { zz: 1 } } }\n\
        pipes: { X: { zz: 1, sizes: { 4 in: { zz: 1 } } } }\nfittings: { F: { zz: 1 } }\n\
        uses: { U: { zz: 1 } }\ntransfers: { V: { zz: 1 } }\nbenchmarks: { B: { zz: 1 } }\nrules: { U: { zz: 1 } }\n\
        documents: { zz: 1 }\nground: { zz: 1 }\ntest: { zz: 1 }\ntolerances: { zz: 1 }\n";
    let faults = read(file, "x").unwrap_err();
    let lists: Vec<&str> = faults
        .list()
        .iter()
        .filter(|fault| fault.code == Code::UnknownKey)
        .map(|fault| fault.expected.strip_prefix("one of ").unwrap())
        .collect();
    assert!(lists.len() >= 25, "{}", lists.len());
    for key in lists.iter().flat_map(|list| list.split(", ")) {
        let forms = [
            format!("`{key}`"),
            format!(".{key}`"),
            format!("{key}:"),
            format!("{key},"),
            format!("{key} }}"),
            format!("## {}", key),
            format!("`{key}."),
        ];
        let lower = DOCS.to_lowercase();
        assert!(forms.iter().any(|form| lower.contains(form)), "`{key}` is not in the reference");
    }
}
