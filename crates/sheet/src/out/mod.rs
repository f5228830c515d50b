//! The file formats: PDF, SVG and HTML.

pub(crate) mod html;
pub(crate) mod pdf;
pub(crate) mod svg;
