//! The one door into a site file: bytes in, a site or every fault out.

use crate::diagnostic::{Code, Diagnostic, Diagnostics};
use crate::document::Document;
use crate::site::Site;
use crate::source::{Source, Span};
use crate::tree;
use std::sync::Arc;

/// No site file is larger, in bytes.
pub const LARGEST_BYTES: usize = 64 << 20;

/// Reads a site file.
///
/// `file_name` is what messages call the file. Nothing is opened here: the caller hands over
/// the bytes.
///
/// # Errors
/// [`Diagnostics`] with every independent fault in the file.
///
/// # Example
/// ```
/// let text = "
/// wetrun: 1
/// name: Garden hut
/// units: si
/// storm: { intensity: 100 mm/h }
/// roofs: { whole: { area: 24 m2, to: D1 } }
/// downspouts: { D1: { outlet: 2.4 m, foot: 0.1 m, pipe: pvc-sch40 3 in } }
/// lines: { L1: { from: D1, to: T1, pipe: pvc-sch40 3 in, length: 8 m } }
/// tanks: { T1: { inlet: 1.5 m } }
/// ";
/// let site = wetrun_site::read(text.as_bytes(), "hut.yaml")?;
/// assert_eq!(site.network.lines().len(), 1);
/// # Ok::<(), wetrun_site::Diagnostics>(())
/// ```
pub fn read(bytes: impl AsRef<[u8]>, file_name: &str) -> Result<Site, Diagnostics> {
    site(parsed(bytes.as_ref(), file_name)?)
}

/// The site of a document.
///
/// # Errors
/// Every independent fault.
pub(crate) fn site(mut document: Document) -> Result<Site, Diagnostics> {
    crate::shown::spread(&mut document.root);
    let source = Arc::clone(&document.source);
    crate::lower::site(&Arc::new(document)).map_err(|faults| Diagnostics::new(source, faults))
}

/// The document in a file's bytes.
///
/// # Errors
/// One fault, where the bytes are no text, too many, or no YAML.
pub(crate) fn parsed(bytes: &[u8], file_name: &str) -> Result<Document, Diagnostics> {
    let source = Arc::new(text_of(bytes, file_name)?);
    match tree::parse(&source) {
        Ok(root) => Ok(Document { source, root }),
        Err(error) => {
            let fault = crate::syntax::fault(&source, &error);
            Err(Diagnostics::new(source, vec![fault]))
        }
    }
}

/// The text of a file's bytes, as a source of diagnostics.
///
/// # Errors
/// One fault, where the bytes are no text or too many.
pub(crate) fn text_of(bytes: &[u8], file_name: &str) -> Result<Source, Diagnostics> {
    let refuse = |code, text: String, at, message: String, expected: &str| {
        let fault = Diagnostic::new(code, Span::new(at, 0), message).expected(expected);
        Err(Diagnostics::new(Arc::new(Source::new(file_name, text)), vec![fault]))
    };
    if bytes.len() > LARGEST_BYTES {
        let message = format!("this file has {} MB", bytes.len() >> 20);
        return refuse(Code::Limit, String::new(), 0, message, "a site file of 64 MB at most");
    }
    let bytes = bytes.strip_prefix(b"\xef\xbb\xbf").unwrap_or(bytes);
    match std::str::from_utf8(bytes) {
        Ok(text) => Ok(Source::new(file_name, text.to_owned())),
        Err(error) => {
            let good = error.valid_up_to();
            let byte = bytes.get(good).copied().unwrap_or_default();
            // Enough of the text for an excerpt, the bad bytes as marks.
            let text = String::from_utf8_lossy(&bytes[..bytes.len().min(good + 200)]).into_owned();
            let message = format!("byte {good} (0x{byte:02x}) does not belong to UTF-8 text");
            let wide = bytes.starts_with(b"\xff\xfe") || bytes.starts_with(b"\xfe\xff");
            let expected = match wide {
                true => "a text file saved as UTF-8, not as UTF-16",
                false => "a text file saved as UTF-8",
            };
            refuse(Code::Syntax, text, good, message, expected)
        }
    }
}
