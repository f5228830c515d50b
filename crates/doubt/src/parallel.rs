//! Work shared among threads whose result does not hang on how many there are.

use std::panic::resume_unwind;
use std::sync::atomic::{AtomicUsize, Ordering};
use std::thread;

/// What the main thread of a program has.
const STACK: usize = 8 << 20;

/// `work` of every number below `count`, in order, on so many threads at the most; the caller's is one
/// of them. Whoever is done takes the next number, as some take longer than others.
///
/// # Example
/// ```
/// assert_eq!(wetrun_doubt::each(4, 2, |number| number * number), [0, 1, 4, 9]);
/// ```
pub fn each<T: Send>(count: usize, threads: usize, work: impl Fn(usize) -> T + Sync) -> Vec<T> {
    let next = AtomicUsize::new(0);
    let share = || {
        let mut done = Vec::new();
        loop {
            let index = next.fetch_add(1, Ordering::Relaxed);
            if index >= count {
                return done;
            }
            done.push((index, work(index)));
        }
    };
    let mut all: Vec<(usize, T)> = thread::scope(|scope| {
        let start = |_| thread::Builder::new().stack_size(STACK).spawn_scoped(scope, share);
        let running: Vec<_> = (1..threads.min(count)).filter_map(|n| start(n).ok()).collect();
        let mut done = share();
        for thread in running {
            match thread.join() {
                Ok(more) => done.extend(more),
                Err(panic) => resume_unwind(panic),
            }
        }
        done
    });
    all.sort_by_key(|(index, _)| *index);
    all.into_iter().map(|(_, done)| done).collect()
}

#[cfg(test)]
mod tests {
    use super::each;

    #[test]
    fn answers_stand_in_the_order_of_the_numbers() {
        for threads in [0, 1, 2, 3, 200] {
            let expected: Vec<usize> = (0..100).map(|i| i * i).collect();
            assert_eq!(each(100, threads, |i| i * i), expected, "{threads}");
        }
        assert!(each(0, 4, |i| i).is_empty());
    }
}
