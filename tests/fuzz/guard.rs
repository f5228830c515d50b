//! Watches a run from beside: an input that takes too long or too much memory is kept and ends it.

use std::path::{Path, PathBuf};
use std::sync::{Arc, Mutex, MutexGuard};
use std::time::{Duration, Instant};

/// No input may take longer, on a machine with other work, in a build for tests.
const LONGEST: Duration = Duration::from_secs(60);
/// Nor may the whole run hold more.
const MOST_MEMORY_KB: u64 = 1 << 20;

/// What runs now.
#[derive(Debug, Default)]
struct Now {
    started: Option<Instant>,
    command: String,
    input: Vec<u8>,
}

/// The watch, and where inputs are kept.
#[derive(Clone, Debug)]
pub(crate) struct Guard {
    now: Arc<Mutex<Now>>,
    kept: PathBuf,
}

impl Guard {
    /// Watches until the process ends.
    pub(crate) fn start() -> Self {
        let kept = Path::new(env!("CARGO_TARGET_TMPDIR")).join("fuzz");
        std::fs::create_dir_all(&kept).unwrap();
        let guard = Self { now: Arc::default(), kept };
        let watch = guard.clone();
        std::thread::spawn(move || {
            loop {
                std::thread::sleep(Duration::from_millis(50));
                watch.look();
            }
        });
        guard
    }

    /// Runs `work` on an input, watched; how long it took comes with what it came to.
    pub(crate) fn watched<T>(
        &self,
        command: &str,
        input: &[u8],
        work: impl FnOnce() -> T,
    ) -> (T, Duration) {
        let started = Instant::now();
        *self.now() =
            Now { started: Some(started), command: command.to_owned(), input: input.to_vec() };
        let came_to = work();
        self.now().started = None;
        (came_to, started.elapsed())
    }

    /// Keeps an input that broke something, for a person to look at; says where.
    pub(crate) fn keep(&self, command: &str, input: &[u8]) -> PathBuf {
        let sum = input.iter().fold(0xcbf2_9ce4_8422_2325_u64, |sum, byte| {
            (sum ^ u64::from(*byte)).wrapping_mul(0x0100_0000_01b3)
        });
        let word = command.split(' ').next().unwrap_or_default();
        let path = self.kept.join(format!("{word}-{sum:016x}.yaml"));
        std::fs::write(&path, input).unwrap();
        path
    }

    fn now(&self) -> MutexGuard<'_, Now> {
        self.now.lock().unwrap()
    }

    fn look(&self) {
        let now = self.now();
        let Some(started) = now.started else { return };
        let slow = started.elapsed() > LONGEST;
        if slow || resident_kb() > MOST_MEMORY_KB {
            let kept = self.keep(&now.command, &now.input);
            let what = if slow { "takes too long" } else { "takes too much memory" };
            eprintln!("`{}` {what}: {}", now.command, kept.display());
            std::process::exit(101);
        }
    }
}

/// The memory that this process holds, where the system tells.
fn resident_kb() -> u64 {
    let status = std::fs::read_to_string("/proc/self/status").unwrap_or_default();
    let line = status.lines().find_map(|line| line.strip_prefix("VmRSS:"));
    line.and_then(|text| text.split_whitespace().next()?.parse().ok()).unwrap_or(0)
}
