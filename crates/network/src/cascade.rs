//! The order in which tanks pass their water on.

use crate::id::TankId;

/// Tanks ordered so that each comes before the one it overflows into; `overflows_to` has an entry
/// for each tank. Those that overflow round in a circle, which no valid network has, are left out.
///
/// ```
/// # use wetrun_network::{TankId, cascade};
/// let [shed, barn, pond] = [0, 1, 2].map(TankId::new);
/// assert_eq!(cascade(&[Some(pond), Some(shed), None]), [barn, shed, pond]);
/// ```
pub fn cascade(overflows_to: &[Option<TankId>]) -> Vec<TankId> {
    let mut waiting = vec![0_usize; overflows_to.len()];
    for to in overflows_to.iter().flatten() {
        waiting[to.index()] += 1;
    }
    let all = (0..overflows_to.len()).map(TankId::new);
    let mut order: Vec<TankId> = all.filter(|tank| waiting[tank.index()] == 0).collect();
    let mut next = 0;
    while let Some(tank) = order.get(next) {
        next += 1;
        if let Some(to) = overflows_to[tank.index()] {
            waiting[to.index()] -= 1;
            if waiting[to.index()] == 0 {
                order.push(to);
            }
        }
    }
    order
}
