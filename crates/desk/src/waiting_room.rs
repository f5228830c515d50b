//! Connections that have not shown the secret: few of them, so that a crowd harms nobody.

use std::collections::VecDeque;
use std::sync::Mutex;
use tokio::task::AbortHandle;

/// So many may wait; who comes then sends the one away that has waited longest.
const SEATS: usize = 64;

/// Who waits.
#[derive(Default)]
pub(crate) struct WaitingRoom {
    waiting: Mutex<VecDeque<(u64, AbortHandle)>>,
}

impl WaitingRoom {
    /// A connection comes in.
    pub(crate) fn enter(&self, id: u64, connection: AbortHandle) {
        let mut waiting = self.waiting();
        waiting.retain(|(_, other)| !other.is_finished());
        if waiting.len() >= SEATS
            && let Some((_, longest)) = waiting.pop_front()
        {
            longest.abort();
        }
        waiting.push_back((id, connection));
    }

    /// A connection has shown the secret: it waits no more.
    pub(crate) fn leave(&self, id: u64) {
        self.waiting().retain(|(other, _)| *other != id);
    }

    fn waiting(&self) -> std::sync::MutexGuard<'_, VecDeque<(u64, AbortHandle)>> {
        self.waiting.lock().unwrap_or_else(std::sync::PoisonError::into_inner)
    }
}
