//! The rules, one file each.

pub(crate) mod freeboard;
pub(crate) mod law_range;
pub(crate) mod no_spill;
pub(crate) mod overflow_cascade;
