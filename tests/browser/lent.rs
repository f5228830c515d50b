//! Browsers that one test after another uses, each with a page of its own: starting one takes longer
//! than most tests.

use super::devtools::Browser;
use std::ops::{Deref, DerefMut};
use std::sync::{Mutex, MutexGuard, PoisonError};

static IDLE: Mutex<Vec<Browser>> = Mutex::new(Vec::new());

/// A browser until its test ends; the next test begins with an empty page.
pub(crate) struct Lent(Option<Browser>);

impl Lent {
    /// One that nobody uses, else a new one.
    pub(crate) fn or_else(start: impl FnOnce() -> Browser) -> Self {
        let idle = idle().pop();
        Self(Some(idle.unwrap_or_else(start)))
    }
}

impl Deref for Lent {
    type Target = Browser;

    fn deref(&self) -> &Browser {
        self.0.as_ref().unwrap()
    }
}

impl DerefMut for Lent {
    fn deref_mut(&mut self) -> &mut Browser {
        self.0.as_mut().unwrap()
    }
}

impl Drop for Lent {
    fn drop(&mut self) {
        // After a failure nobody knows what state it is in.
        if std::thread::panicking() {
            return;
        }
        if let Some(mut browser) = self.0.take()
            && browser.forget()
        {
            idle().push(browser);
        }
    }
}

fn idle() -> MutexGuard<'static, Vec<Browser>> {
    IDLE.lock().unwrap_or_else(PoisonError::into_inner)
}
