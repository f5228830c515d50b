//! The one constant that motion adds to the laws of flow.

/// Standard gravity, m/s².
pub(crate) const G: f64 = 9.80665;
