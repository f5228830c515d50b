//! Many sites by one run: a line of JSON each, in the order given, on all cores.

use crate::commands::site_file::{Overrides, SiteFile, read_bytes};
use crate::outcome::{Refusal, Status};
use std::fs;
use std::io::{self, BufRead, Write};
use std::path::{Path, PathBuf};
use std::thread;
use wetrun_answers::many::{each, guarded};
use wetrun_answers::{Solved, json};

/// So many sites are in hand at once for each core: enough that none waits for another for long.
const IN_HAND: usize = 64;

/// Sites to check.
#[derive(Debug)]
pub(crate) struct Many {
    /// Files and folders, in order.
    pub(crate) paths: Vec<PathBuf>,
    /// Whether the rains at which water first leaves are left out.
    pub(crate) no_spill_rains: bool,
    pub(crate) overrides: Overrides,
}

/// A site file, or what could not be looked at.
enum Entry {
    Site(PathBuf),
    Lost { path: PathBuf, why: String },
}

impl Many {
    /// Checks every site and writes its line; the status is the worst of them.
    pub(crate) fn write(self, out: &mut dyn Write) -> io::Result<Status> {
        let cores = thread::available_parallelism().map_or(1, usize::from);
        let mut status = Status::Pass;
        let mut entries = self.paths.iter().flat_map(|path| entries(path));
        loop {
            let batch: Vec<Entry> = entries.by_ref().take(IN_HAND * cores).collect();
            if batch.is_empty() {
                return Ok(status);
            }
            for (line, ended) in each(batch.len(), cores, |index| self.line(&batch[index])) {
                out.write_all(line.as_bytes())?;
                out.write_all(b"\n")?;
                status = worse(status, ended);
            }
            out.flush()?;
        }
    }

    fn line(&self, entry: &Entry) -> (String, Status) {
        let path = match entry {
            Entry::Site(path) => path,
            Entry::Lost { path, why } => {
                let refusal = Refusal::because(format_args!("cannot read it: {why}"));
                return (json::many::lost(&path.to_string_lossy(), &refusal), Status::Refused);
            }
        };
        let name = path.to_string_lossy();
        let solved = guarded(|| self.solved(path))
            .and_then(|solved| Ok((json::many::found(&name, &solved)?, solved.status())));
        solved.unwrap_or_else(|refusal| (json::many::lost(&name, &refusal), Status::Refused))
    }

    fn solved(&self, path: &Path) -> Result<Solved, Refusal> {
        let file = SiteFile { path: path.to_owned() };
        let mut site = file.read()?;
        self.overrides.apply(&mut site)?;
        match self.no_spill_rains {
            true => Solved::without_spill_rains(site),
            false => Solved::new(site),
        }
    }
}

fn worse(one: Status, other: Status) -> Status {
    if (other as u8) > (one as u8) { other } else { one }
}

/// The paths in a list, one a line; a dash reads it from standard input.
///
/// # Errors
/// A refusal where the list cannot be read.
pub(crate) fn listed(list: &Path) -> Result<Vec<PathBuf>, Refusal> {
    let refuse = |error: io::Error| {
        Refusal::because(format_args!("cannot read the list `{}`: {error}", list.display()))
    };
    let bytes = read_bytes(list).map_err(refuse)?;
    let lines: io::Result<Vec<String>> = bytes.lines().collect();
    let lines = lines.map_err(refuse)?;
    let paths = lines.iter().map(|line| line.trim_end_matches('\r'));
    Ok(paths.filter(|line| !line.trim().is_empty()).map(PathBuf::from).collect())
}

/// A file is itself; a folder stands for its `*.yaml` by name, those of its folders among them.
fn entries(path: &Path) -> Vec<Entry> {
    if !path.is_dir() {
        return vec![Entry::Site(path.to_owned())];
    }
    let mut found = Vec::new();
    folder(path, &mut found);
    if found.is_empty() {
        let why = "there is no *.yaml in this folder".to_owned();
        found.push(Entry::Lost { path: path.to_owned(), why });
    }
    found
}

fn folder(path: &Path, found: &mut Vec<Entry>) {
    let listed = fs::read_dir(path).and_then(Iterator::collect::<io::Result<Vec<_>>>);
    let mut inner = match listed {
        Ok(inner) => inner,
        Err(error) => {
            found.push(Entry::Lost { path: path.to_owned(), why: error.to_string() });
            return;
        }
    };
    inner.sort_by_key(fs::DirEntry::file_name);
    for entry in inner {
        let path = entry.path();
        // Not through links: a folder may lead back into itself.
        if entry.file_type().is_ok_and(|kind| kind.is_dir()) {
            folder(&path, found);
        } else if path.extension().is_some_and(|end| end == "yaml") && !path.is_dir() {
            found.push(Entry::Site(path));
        }
    }
}
