//! Labels in a row or a column, moved apart as little as needed.

/// Places for labels of one size: as near to `wanted` (in ascending order) as may be, at least
/// `gap` apart, and between `low` and `high` where they fit there.
///
/// Labels that touch form a block; a block stands where the sum of squared moves is least.
pub(crate) fn spread(wanted: &[f64], gap: f64, low: f64, high: f64) -> Vec<f64> {
    // Less their rank, places that keep the gap only have to stay in order.
    let mut blocks: Vec<(f64, usize)> = Vec::new(); // mean, count
    for (rank, &want) in wanted.iter().enumerate() {
        let mut block = (want - rank as f64 * gap, 1);
        while let Some(&last) = blocks.last() {
            if last.0 <= block.0 {
                break;
            }
            let count = last.1 + block.1;
            let mean = (last.0 * last.1 as f64 + block.0 * block.1 as f64) / count as f64;
            block = (mean, count);
            blocks.pop();
        }
        blocks.push(block);
    }
    let top = high - gap * wanted.len().saturating_sub(1) as f64;
    let means = blocks.iter().flat_map(|&(mean, count)| std::iter::repeat_n(mean, count));
    means.enumerate().map(|(rank, mean)| mean.min(top).max(low) + rank as f64 * gap).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn leaves_what_has_room_and_parts_what_has_not() {
        assert_eq!(spread(&[0.0, 50.0, 100.0], 10.0, -100.0, 200.0), [0.0, 50.0, 100.0]);
        assert_eq!(spread(&[50.0, 50.0], 10.0, 0.0, 100.0), [45.0, 55.0]);
        assert_eq!(spread(&[98.0, 99.0, 100.0], 10.0, 0.0, 100.0), [80.0, 90.0, 100.0]);
    }

    #[test]
    fn never_closer_than_the_gap() {
        let wanted = [3.0, 3.1, 3.2, 9.0, 9.5, 30.0, 30.0, 30.0, 30.0, 41.0];
        let placed = spread(&wanted, 6.0, 0.0, 100.0);
        assert!(placed.windows(2).all(|w| w[1] - w[0] >= 6.0 - 1e-9), "{placed:?}");
        assert!(placed.iter().all(|&p| (0.0..=100.0).contains(&p)));
    }
}
