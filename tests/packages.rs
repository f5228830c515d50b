//! The packages: what lies in them, and that the same input gives the same bytes.

use crate::support::root;
use std::path::Path;
use std::process::Command;

/// Packs a stand-in that hands everything on to the program, which is too large to pack for a test.
fn packed(folder: &Path) -> Vec<u8> {
    let stand_in = folder.join("wetrun");
    let text = format!("#!/bin/sh\nexec '{}' \"$@\"\n", env!("CARGO_BIN_EXE_wetrun"));
    std::fs::write(&stand_in, text).unwrap();
    use std::os::unix::fs::PermissionsExt;
    std::fs::set_permissions(&stand_in, std::fs::Permissions::from_mode(0o755)).unwrap();
    let out = folder.join("out");
    let ran = Command::new(root().join("crates/cli/packages/pack"))
        .args([&stand_in, &out])
        .arg("gzip")
        .env("SOURCE_DATE_EPOCH", "1700000000")
        .output()
        .unwrap();
    assert!(ran.status.success(), "{}", String::from_utf8_lossy(&ran.stderr));
    let version = env!("CARGO_PKG_VERSION");
    let ends = |end: &str| {
        std::fs::read_dir(&out).unwrap().flatten().any(|f| {
            let name = f.file_name().into_string().unwrap();
            name.contains(version) && name.ends_with(end)
        })
    };
    assert!(ends(".deb") && ends(".tar.gz"));
    let deb = std::fs::read_dir(&out).unwrap().flatten().map(|f| f.path());
    std::fs::read(deb.into_iter().find(|p| p.extension().is_some_and(|e| e == "deb")).unwrap())
        .unwrap()
}

#[test]
fn a_package_holds_the_program_its_pages_and_completions() {
    if Command::new("dpkg-deb").arg("--version").output().is_err() {
        eprintln!("left out: there is no dpkg-deb");
        return;
    }
    let (one, other) = (tempfile::tempdir().unwrap(), tempfile::tempdir().unwrap());
    let bytes = packed(one.path());
    assert!(bytes == packed(other.path()), "packed twice, other bytes");
    let deb = one.path().join("wetrun.deb");
    std::fs::write(&deb, bytes).unwrap();
    let tree = one.path().join("tree");
    let ran = Command::new("dpkg-deb").arg("-x").args([&deb, &tree]).output().unwrap();
    assert!(ran.status.success(), "{}", String::from_utf8_lossy(&ran.stderr));
    let check = root().join("fixtures/ok/us-hall-six-downspouts/site.yaml");
    let ran = Command::new(tree.join("usr/bin/wetrun")).arg("check").arg(check).output().unwrap();
    assert!(String::from_utf8(ran.stdout).unwrap().starts_with("HOLDS"));
    for (path, has) in [
        ("bash-completion/completions/wetrun", "complete -F"),
        ("zsh/vendor-completions/_wetrun", "#compdef wetrun"),
        ("fish/vendor_completions.d/wetrun.fish", "complete -c wetrun"),
        ("doc/wetrun/copyright", "DejaVu"),
        ("doc/wetrun/copyright", "Apache License"),
    ] {
        let text = std::fs::read_to_string(tree.join("usr/share").join(path)).unwrap();
        assert!(text.contains(has), "{path}");
    }
    // A page for every command that the help names.
    let help = Command::new(env!("CARGO_BIN_EXE_wetrun")).arg("help").output().unwrap();
    let help = String::from_utf8(help.stdout).unwrap();
    let (_, commands) = help.split_once("Commands:\n").unwrap();
    let (commands, _) = commands.split_once("\n\n").unwrap();
    let names = commands.lines().filter(|line| line.starts_with("  ") && !line.starts_with("   "));
    let names: Vec<&str> = names.filter_map(|line| line.split_whitespace().next()).collect();
    assert!(names.len() > 10, "{names:?}");
    for name in names.iter().filter(|name| **name != "help") {
        let page = tree.join(format!("usr/share/man/man1/wetrun-{name}.1.gz"));
        assert!(page.is_file(), "{name}");
    }
}
