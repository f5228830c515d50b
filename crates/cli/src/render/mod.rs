//! Results as text for people and as JSON for programs.

pub(crate) mod json;
pub(crate) mod sheet;
pub(crate) mod show;
pub(crate) mod table;
pub(crate) mod text;
pub(crate) mod wrap;
