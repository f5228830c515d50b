//! Meshes in which hundreds of pools stand behind crests: what is hardest to search.

#![allow(clippy::expect_used, clippy::unwrap_used, clippy::panic, clippy::print_stdout)]

mod support;

use support::random::mesh;
use support::residuals;
use wetrun_solver::{Prepared, Scenario};
use wetrun_units::Intensity;

/// Up to 700 lines, in the storm and in drizzles down to a ten-thousandth of it. More by `WETRUN_LONG`.
#[test]
fn pools_by_the_hundred() {
    let seeds = if std::env::var_os("WETRUN_LONG").is_some() { 200 } else { 12 };
    for rain in [1.0, 0.01, 1e-4] {
        let (mut most, mut fallbacks) = (0, 0);
        for seed in 0..seeds {
            let (network, storm) = mesh(seed, 400);
            let intensity = Intensity::m_per_s(rain * storm.intensity.to_m_per_s());
            let scenario = Scenario { intensity, ..storm };
            let mut prepared = Prepared::new(&network, &scenario).unwrap();
            let state = prepared.steady().unwrap();
            let demand: f64 = state.downspouts.iter().map(|d| d.demand.to_m3_per_s()).sum();
            let left = residuals::imbalance_m3_per_s(&network, &state);
            assert!(left <= 1e-9 * demand, "{seed} in {rain} of the storm: {left:e}");
            let off = residuals::head_error_m(&network, &scenario, &state);
            assert!(off <= 1e-7, "{seed} in {rain} of the storm: {off:e}");
            most = most.max(state.residuals.iterations);
            fallbacks += u32::from(prepared.fallbacks() > 0);
        }
        println!("{rain} of the storm: at most {most} steps, {fallbacks} of {seeds} by a fallback");
        assert!(most < 3_000, "{rain} of the storm: {most} steps");
        assert!(10 * fallbacks <= seeds as u32, "{rain} of the storm: {fallbacks} by a fallback");
    }
}
