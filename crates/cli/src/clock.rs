//! How far a run over time has come, on a terminal, once it takes longer.

use indicatif::{ProgressBar, ProgressStyle};
use std::time::{Duration, Instant};
use wetrun_answers::Watch;

/// A run that takes no longer says nothing.
const PATIENCE: Duration = Duration::from_secs(1);

/// One line to stderr, on a terminal alone; gone when the run has ended.
pub(crate) struct Clock {
    bar: ProgressBar,
    started: Instant,
}

impl Clock {
    pub(crate) fn new() -> Self {
        let bar = ProgressBar::new_spinner();
        let style = ProgressStyle::with_template("{spinner} {msg}");
        bar.set_style(style.unwrap_or_else(|_| ProgressStyle::default_spinner()));
        Self { bar, started: Instant::now() }
    }

    /// Runs something that tells the moments it comes to; `what` names it.
    pub(crate) fn over<T>(&self, what: &str, run: impl FnOnce(Watch<'_>) -> T) -> T {
        run(Watch { told: &|at| self.tell(what, at.to_s()), ..Watch::default() })
    }

    fn tell(&self, what: &str, at_s: f64) {
        if self.bar.is_hidden() || self.started.elapsed() < PATIENCE {
            return;
        }
        self.bar.set_message(format!("{what}: {}", moment(at_s)));
        self.bar.tick();
    }
}

impl Drop for Clock {
    fn drop(&mut self) {
        self.bar.finish_and_clear();
    }
}

/// A moment of a run, to the second at first and to the minute from an hour on.
fn moment(at_s: f64) -> String {
    let minutes = (at_s / 60.0).floor();
    if minutes < 60.0 {
        format!("{minutes} min {:.0} s followed", (at_s - 60.0 * minutes).floor())
    } else {
        let hours = (minutes / 60.0).floor();
        format!("{hours} h {} min followed", minutes - 60.0 * hours)
    }
}

#[cfg(test)]
mod tests {
    #[test]
    fn moments_read_as_a_person_tells_them() {
        for (at_s, words) in [
            (0.0, "0 min 0 s followed"),
            (59.999, "0 min 59 s followed"),
            (754.0, "12 min 34 s followed"),
            (3600.0, "1 h 0 min followed"),
            (90_061.0, "25 h 1 min followed"),
        ] {
            assert_eq!(super::moment(at_s), words);
        }
    }
}
