//! Files that the program writes: whole or not at all, and never over what it reads.

use crate::support::{root, run};
use std::fs;
use std::path::Path;

const OPEN: &str = "fixtures/size/us-hall-six-downspouts/site.yaml";

fn copied(folder: &Path, from: &str, name: &str) -> String {
    let path = folder.join(name);
    fs::copy(root().join(from), &path).unwrap();
    path.to_str().unwrap().to_owned()
}

#[test]
fn nothing_is_written_over_what_is_read() {
    let folder = tempfile::tempdir().unwrap();
    let site = copied(folder.path(), OPEN, "site.yaml");
    let before = fs::read(&site).unwrap();
    let hard = folder.path().join("hard.yaml");
    fs::hard_link(&site, &hard).unwrap();
    let mut names = vec![site.clone(), hard.to_str().unwrap().to_owned()];
    #[cfg(unix)]
    {
        let soft = folder.path().join("soft.yaml");
        std::os::unix::fs::symlink(&site, &soft).unwrap();
        names.push(soft.to_str().unwrap().to_owned());
    }
    names.push(folder.path().join("./site.yaml").to_str().unwrap().to_owned());
    for out in &names {
        let ran = run(&["size", &site, "--write", out]);
        assert_eq!((ran.status, ran.stdout.as_str()), (2, ""), "{out}");
        assert!(ran.stderr.contains("--force"), "{}", ran.stderr);
        assert_eq!(fs::read(&site).unwrap(), before, "{out}");
    }
    let ran = run(&["size", &site, "--write", &site, "--force"]);
    assert_eq!(ran.status, 0, "{}", ran.stderr);
    assert_eq!(run(&["check", &site]).status, 0);
    assert_ne!(fs::read(&site).unwrap(), before);

    let site = copied(folder.path(), "fixtures/ok/us-hall-six-downspouts/site.yaml", "s.html");
    let ran = run(&["sheet", &site, "-o", &site]);
    assert_eq!(ran.status, 2);
    assert!(fs::read_to_string(&site).unwrap().contains("wetrun: 1"));
    let site = copied(folder.path(), "fixtures/levels/workshop/site.yaml", "workshop.yaml");
    let readings = copied(folder.path(), "fixtures/levels/workshop/readings.yaml", "readings.yaml");
    let before = [&site, &readings].map(|file| fs::read(file).unwrap());
    for out in [&site, &readings] {
        let ran = run(&["levels", &site, "--as-built", &readings, "--write", out]);
        assert_eq!((ran.status, ran.stdout.as_str()), (2, ""), "{out}");
        assert!(ran.stderr.contains("--force"), "{}", ran.stderr);
    }
    assert_eq!([&site, &readings].map(|file| fs::read(file).unwrap()), before);
    // What an earlier run wrote is no input.
    let set = folder.path().join("set.html");
    for _ in 0..2 {
        assert_eq!(run(&["sheet", &site, "-o", set.to_str().unwrap()]).status, 0);
    }
}

#[test]
fn what_cannot_be_written_is_told_by_name() {
    let folder = tempfile::tempdir().unwrap();
    let place = |name: &str| folder.path().join(name).to_str().unwrap().to_owned();
    fs::create_dir(place("folder.yaml")).unwrap();
    for out in [place("folder.yaml"), place("missing/out.yaml"), "-".to_owned()] {
        let ran = run(&["size", OPEN, "--write", &out]);
        assert_eq!((ran.status, ran.stdout.as_str()), (2, ""), "{out}");
        assert!(ran.stderr.contains(&format!("cannot write `{out}`")), "{}", ran.stderr);
    }
    // Nothing is left beside.
    assert_eq!(fs::read_dir(folder.path()).unwrap().count(), 1);
}

#[cfg(unix)]
#[test]
fn a_full_disk_and_permissions() {
    use std::os::unix::fs::PermissionsExt;
    if Path::new("/dev/full").exists() {
        let ran = run(&["size", OPEN, "--write", "/dev/full"]);
        assert_eq!((ran.status, ran.stdout.as_str()), (2, ""));
    }
    let folder = tempfile::tempdir().unwrap();
    let out = folder.path().join("out.yaml");
    fs::write(&out, "before").unwrap();
    fs::set_permissions(&out, fs::Permissions::from_mode(0o640)).unwrap();
    assert_eq!(run(&["size", OPEN, "--write", out.to_str().unwrap()]).status, 0);
    assert_eq!(fs::metadata(&out).unwrap().permissions().mode() & 0o777, 0o640);
}
