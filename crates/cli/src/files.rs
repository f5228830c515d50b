//! Reading files that are none too large, and writing them: whole or not at all, and never over what was
//! read unless that is wanted.

use crate::outcome::Refusal;
use clap::Args;
use std::fmt::Display;
use std::fs::{self, File};
use std::io::{self, Read, Write};
use std::path::Path;
use tempfile::{Builder, NamedTempFile};
use wetrun_site::LARGEST_BYTES;

/// Whether a file that was read may be written over.
#[derive(Clone, Copy, Debug, Args)]
pub(crate) struct Force {
    /// Write even over a file that this run reads.
    #[arg(long)]
    pub(crate) force: bool,
}

impl Force {
    /// Writes a file. What stood there before stays whole until the new content is on the disk:
    /// it is written beside, synced, and renamed.
    ///
    /// # Errors
    /// A refusal that names the file, and says what stands in the way; nothing is changed then.
    pub(crate) fn write(self, out: &Path, content: &[u8], inputs: &[&Path]) -> Result<(), Refusal> {
        let refuse = |why: &dyn Display| {
            Refusal::because(format_args!("cannot write `{}`: {why}", out.display()))
        };
        if out == Path::new("-") {
            return Err(refuse(&"`-` is standard output, which takes the report; name a file"));
        }
        let read = inputs.iter().find(|input| is_same(input, out));
        if let Some(read) = read.filter(|_| !self.force) {
            let read = read.display();
            return Err(refuse(&format_args!(
                "this run reads it as `{read}`; name another file, or add `--force`"
            )));
        }
        replace(out, content).map_err(|error| refuse(&error))
    }
}

/// What can be read to its end, where that is no more than a site file may have: what is larger is not
/// read.
pub(crate) fn no_larger(from: impl Read) -> io::Result<Vec<u8>> {
    let mut bytes = Vec::new();
    from.take(LARGEST_BYTES as u64 + 1).read_to_end(&mut bytes)?;
    if bytes.len() > LARGEST_BYTES {
        let message = format!("larger than {} MB", LARGEST_BYTES >> 20);
        return Err(io::Error::new(io::ErrorKind::FileTooLarge, message));
    }
    Ok(bytes)
}

/// Refuses a path at which something stands already.
///
/// # Errors
/// A refusal that names it.
pub(crate) fn refuse_existing(out: &Path) -> Result<(), Refusal> {
    if out == Path::new("-") {
        return Err(Refusal::because("`-` is no file: leave OUT away to print the site file"));
    }
    match fs::symlink_metadata(out) {
        Ok(_) => Err(there_already(out)),
        Err(_) => Ok(()),
    }
}

/// Writes a new file, whole or not at all, and over nothing.
///
/// # Errors
/// A refusal that names the file; nothing is changed then.
pub(crate) fn write_new(out: &Path, content: &[u8]) -> Result<(), Refusal> {
    refuse_existing(out)?;
    let written = || {
        let folder = out.parent().filter(|folder| !folder.as_os_str().is_empty());
        let mut beside = beside(folder.unwrap_or(Path::new(".")))?;
        beside.write_all(content)?;
        beside.as_file().sync_all()?;
        beside.persist_noclobber(out).map(|_| ()).map_err(|error| error.error)
    };
    written().map_err(|error: io::Error| match error.kind() {
        io::ErrorKind::AlreadyExists => there_already(out),
        _ => Refusal::because(format_args!("cannot write `{}`: {error}", out.display())),
    })
}

fn there_already(out: &Path) -> Refusal {
    Refusal::because(format_args!(
        "`{}` is there already, and a new file is never written over one: name another",
        out.display()
    ))
}

/// Whether two paths lead to one file, by whatever links.
fn is_same(input: &Path, out: &Path) -> bool {
    input != Path::new("-") && same_file::is_same_file(input, out).unwrap_or(false)
}

/// Replaces a file: what stood there stays whole until the new content is on the disk.
pub(crate) fn replace(out: &Path, content: &[u8]) -> io::Result<()> {
    // Through a link the file that it leads to is replaced, not the link.
    let target = fs::canonicalize(out).unwrap_or_else(|_| out.to_owned());
    let before = fs::metadata(&target).ok();
    if before.as_ref().is_some_and(fs::Metadata::is_dir) {
        return Err(io::Error::new(io::ErrorKind::IsADirectory, "it is a folder"));
    }
    if before.as_ref().is_some_and(|at| !at.is_file()) {
        // A pipe or a device cannot be replaced.
        return File::options().write(true).open(&target)?.write_all(content);
    }
    if before.as_ref().is_some_and(|at| at.permissions().readonly()) {
        return Err(io::Error::new(io::ErrorKind::PermissionDenied, "it is read-only"));
    }
    let folder = target.parent().filter(|folder| !folder.as_os_str().is_empty());
    let mut beside = beside(folder.unwrap_or(Path::new(".")))?;
    beside.write_all(content)?;
    if let Some(before) = before {
        beside.as_file().set_permissions(before.permissions())?;
    }
    beside.as_file().sync_all()?;
    beside.persist(&target).map_err(|error| error.error)?;
    Ok(())
}

/// An empty file in a folder, gone again unless it is kept, with the permissions of any new file.
pub(crate) fn beside(folder: &Path) -> io::Result<NamedTempFile> {
    let mut builder = Builder::new();
    builder.prefix(".wetrun-");
    #[cfg(unix)]
    builder.permissions(std::os::unix::fs::PermissionsExt::from_mode(0o666));
    builder.tempfile_in(folder)
}
