//! Work shared among threads whose result does not hang on how many there are.

use std::thread;

/// `work` of every number below `n`, in order.
pub(crate) fn each<T: Send>(n: usize, threads: usize, work: impl Fn(usize) -> T + Sync) -> Vec<T> {
    let threads = threads.clamp(1, n.max(1));
    if threads == 1 {
        return (0..n).map(work).collect();
    }
    // Every thread takes each so-many-th: neighbours take alike long.
    let work = &work;
    let shares: Vec<Vec<T>> = thread::scope(|scope| {
        let share = |first: usize| {
            scope.spawn(move || (first..n).step_by(threads).map(work).collect::<Vec<T>>())
        };
        let running: Vec<_> = (0..threads).map(share).collect();
        let done = running.into_iter().map(|thread| match thread.join() {
            Ok(share) => share,
            Err(panic) => std::panic::resume_unwind(panic),
        });
        done.collect()
    });
    let mut shares: Vec<_> = shares.into_iter().map(Vec::into_iter).collect();
    let count = shares.len().max(1);
    (0..n).filter_map(|index| shares.get_mut(index % count)?.next()).collect()
}

#[cfg(test)]
mod tests {
    use super::each;

    #[test]
    fn the_order_is_that_of_the_numbers() {
        for threads in [1, 2, 3, 8, 200] {
            assert_eq!(each(100, threads, |i| i * i), (0..100).map(|i| i * i).collect::<Vec<_>>());
        }
        assert!(each(0, 4, |i| i).is_empty());
    }
}
