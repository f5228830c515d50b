//! Many sites at once: each answer in its place, a failure stopping nothing.

use crate::outcome::Refusal;
use std::panic::{AssertUnwindSafe, catch_unwind};

pub use wetrun_doubt::each;

/// An answer to one of many: a fault of the program on it is no reason to leave the others without one.
///
/// # Errors
/// The refusal of `answer`, or one that says that the program failed.
pub fn guarded<T>(answer: impl FnOnce() -> Result<T, Refusal>) -> Result<T, Refusal> {
    catch_unwind(AssertUnwindSafe(answer))
        .unwrap_or_else(|_| Err(Refusal::because("the program failed on this file")))
}

#[cfg(test)]
mod tests {
    use super::guarded;

    #[test]
    #[allow(clippy::panic)]
    fn a_failure_is_a_refusal() {
        let done = guarded::<()>(|| panic!("a planted failure"));
        assert!(done.is_err_and(|refusal| refusal.to_string().contains("the program failed")));
    }
}
