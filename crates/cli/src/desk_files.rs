//! The files of a desk: the site file, and the unsaved edits that are kept beside it.

use crate::files::{beside, no_larger, replace};
use std::ffi::OsString;
use std::fs::{self, File, OpenOptions, TryLockError};
use std::io::{self, ErrorKind, Write};
use std::path::{Path, PathBuf};
use std::time::UNIX_EPOCH;
use wetrun_desk::{Files, Stamp};

/// A site file by its path.
#[derive(Debug)]
pub(crate) struct DeskFiles {
    site: PathBuf,
    kept: PathBuf,
    days: Option<PathBuf>,
    new: bool,
    /// Held as long as the program runs, however it ends.
    _claim: Option<File>,
}

/// Another desk has the site open: what one keeps unsaved the other would write over.
#[derive(Debug)]
pub(crate) struct Taken;

impl DeskFiles {
    /// The files of a site, with the days of rain that are read beside it.
    ///
    /// # Errors
    /// [`Taken`] where another desk has it open.
    pub(crate) fn new(site: &Path, days: Option<PathBuf>) -> Result<Self, Taken> {
        let hidden = |ending: &str| {
            let mut name = OsString::from(".");
            name.push(site.file_name().unwrap_or_default());
            name.push(ending);
            site.with_file_name(name)
        };
        let claim = claim(&hidden(".desk"))?;
        Ok(Self {
            site: site.to_owned(),
            kept: hidden(".unsaved"),
            days,
            new: false,
            _claim: claim,
        })
    }

    /// The same of a site that nobody has written yet.
    ///
    /// # Errors
    /// As [`DeskFiles::new`].
    pub(crate) fn new_site(site: &Path, days: Option<PathBuf>) -> Result<Self, Taken> {
        Ok(Self { new: true, ..Self::new(site, days)? })
    }
}

/// A lock that the system takes back when the program ends, also where it is killed. None where the
/// folder takes no file: then no unsaved edits are kept there either.
fn claim(path: &Path) -> Result<Option<File>, Taken> {
    let mut options = OpenOptions::new();
    let opened = options.read(true).write(true).create(true).truncate(false).open(path);
    let Ok(file) = opened else { return Ok(None) };
    match file.try_lock() {
        Ok(()) => Ok(Some(file)),
        Err(TryLockError::WouldBlock) => Err(Taken),
        // A file system that knows no locks.
        Err(TryLockError::Error(_)) => Ok(None),
    }
}

impl Files for DeskFiles {
    fn name(&self) -> String {
        self.site.display().to_string()
    }

    fn is_new(&self) -> bool {
        self.new
    }

    fn read(&self) -> io::Result<Option<Vec<u8>>> {
        read(&self.site)
    }

    fn stamp(&self) -> Stamp {
        let found = fs::metadata(&self.site).ok()?;
        let written = found.modified().ok()?.duration_since(UNIX_EPOCH).ok()?;
        #[cfg(unix)]
        let place = std::os::unix::fs::MetadataExt::ino(&found);
        #[cfg(not(unix))]
        let place = 0;
        Some([u64::try_from(written.as_nanos()).unwrap_or(0), found.len(), place])
    }

    fn write(&self, bytes: &[u8]) -> io::Result<()> {
        replace(&self.site, bytes)
    }

    fn days(&self) -> io::Result<Option<(String, String)>> {
        let Some(path) = &self.days else { return Ok(None) };
        let bytes = read(path)?.ok_or_else(|| io::Error::from(ErrorKind::NotFound))?;
        let text = String::from_utf8(bytes)
            .map_err(|_| io::Error::new(ErrorKind::InvalidData, "not a text file in UTF-8"))?;
        Ok(Some((path.display().to_string(), text)))
    }

    fn kept(&self) -> io::Result<Option<Vec<u8>>> {
        read(&self.kept)
    }

    fn keep(&self, bytes: Option<&[u8]>) -> io::Result<()> {
        let Some(bytes) = bytes else {
            return match fs::remove_file(&self.kept) {
                Err(error) if error.kind() != ErrorKind::NotFound => Err(error),
                _ => Ok(()),
            };
        };
        let folder = self.kept.parent().filter(|folder| !folder.as_os_str().is_empty());
        let mut file = beside(folder.unwrap_or(Path::new(".")))?;
        // Who may not read the site may not read what is to become of it.
        if let Ok(site) = fs::metadata(&self.site) {
            file.as_file().set_permissions(site.permissions())?;
        }
        file.write_all(bytes)?;
        file.persist(&self.kept).map_err(|error| error.error)?;
        Ok(())
    }
}

fn read(path: &Path) -> io::Result<Option<Vec<u8>>> {
    match fs::metadata(path) {
        Ok(found) if found.is_file() => {}
        // A pipe or a device is not opened: it may never answer.
        Ok(_) => return Err(io::Error::new(ErrorKind::InvalidInput, "it is no plain file")),
        Err(error) if error.kind() == ErrorKind::NotFound => return Ok(None),
        Err(error) => return Err(error),
    }
    no_larger(File::open(path)?).map(Some)
}
