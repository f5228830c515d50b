//! The writers of the file formats: PDF, SVG, HTML and DXF.

pub(crate) mod dxf;
pub(crate) mod html;
pub(crate) mod pdf;
pub(crate) mod svg;
