//! The files of the desk, as its caller hands them over.

use std::io;

/// What tells that a file was written: two stamps that differ are worth a look at the bytes.
pub type Stamp = Option<[u64; 3]>;

/// The one file of a desk and what is kept beside it. Nothing else is read or written, and no path
/// crosses this border.
pub trait Files: Send + Sync {
    /// What messages call the file.
    fn name(&self) -> String;

    /// Whether the file is one that nobody has written yet: then it need not be there.
    fn is_new(&self) -> bool;

    /// The bytes of the file; `None` where it is not there.
    ///
    /// # Errors
    /// Where it is there and cannot be read.
    fn read(&self) -> io::Result<Option<Vec<u8>>>;

    /// A cheap look at it; `None` where it is not there.
    fn stamp(&self) -> Stamp;

    /// Writes it whole or not at all.
    ///
    /// # Errors
    /// Where it cannot be written; it is as it was then.
    fn write(&self, bytes: &[u8]) -> io::Result<()>;

    /// The days of rain that were given beside the file, with their name; `None` where none were.
    ///
    /// # Errors
    /// Where they cannot be read.
    fn days(&self) -> io::Result<Option<(String, String)>>;

    /// Unsaved edits of an earlier run, where there are any.
    ///
    /// # Errors
    /// Where there are some and they cannot be read.
    fn kept(&self) -> io::Result<Option<Vec<u8>>>;

    /// Keeps unsaved edits for a later run; `None`: there are none any more.
    ///
    /// # Errors
    /// Where they cannot be kept.
    fn keep(&self, bytes: Option<&[u8]>) -> io::Result<()>;
}
