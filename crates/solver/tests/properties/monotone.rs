//! Which way levels move when one thing changes.

use crate::support::random::{Kinds, PLAIN_TREE, site};
use crate::{config, parts};
use proptest::prelude::*;
use wetrun_network::{Network, Parts};
use wetrun_solver::Scenario;
use wetrun_units::{Intensity, Length};

const NO_JUNCTIONS: Kinds = Kinds { loops: true, tanks: 3, low_lips: true, ..PLAIN_TREE };

/// Standing levels, and whether anything spills.
fn levels(parts: Parts, scenario: &Scenario) -> (Vec<f64>, bool) {
    let network = Network::build(parts).expect("still a network");
    let state = wetrun_solver::solve(&network, scenario).expect("a steady state");
    let spills = state.downspouts.iter().any(|d| d.spilled.to_m3_per_s() > 0.0);
    (state.downspouts.iter().map(|d| d.standing_level.to_m()).collect(), spills)
}

proptest! {
    #![proptest_config(config())]

    /// A higher inlet lowers no standing level: without junction losses every loss only rises
    /// with its flow.
    #[test]
    fn a_higher_inlet_lowers_no_level(
        seed in 0..1_000_000_000_u64, which in any::<usize>(), up in 0.001..0.8_f64,
    ) {
        let (network, scenario) = site(seed, NO_JUNCTIONS);
        let (first, _) = levels(parts(&network), &scenario);
        let mut raised = parts(&network);
        let tank = which % raised.tanks.len();
        let old = raised.tanks[tank].inlet;
        raised.tanks[tank].inlet = old + Length::m(up);
        for line in &mut raised.lines {
            let id = wetrun_network::TankId::new(tank);
            let end = wetrun_network::End::Tank(id);
            let last = line.profile.len() - 1;
            for (joined, station) in [(line.from, 0), (line.to, last)] {
                if joined == end {
                    line.profile[station].level = old + Length::m(up);
                }
            }
        }
        let (second, _) = levels(raised, &scenario);
        for (d, (before, after)) in first.iter().zip(&second).enumerate() {
            prop_assert!(*after >= before - 1e-6, "D{} falls from {before} to {after}", d + 1);
        }
    }

    /// A wider line on a tree with one tank, where nothing spills, raises no standing level: every
    /// flow stays and every loss is less. (Where a downspout spills, a wider line brings more of its
    /// water down, which may lift the others.)
    #[test]
    fn a_wider_line_raises_no_level(
        seed in 0..1_000_000_000_u64, which in any::<usize>(), wider in 1.01..3.0_f64,
    ) {
        let (network, scenario) = site(seed, PLAIN_TREE);
        let (first, spills) = levels(parts(&network), &scenario);
        prop_assume!(!spills);
        let mut widened = parts(&network);
        let line = which % widened.lines.len();
        widened.lines[line].pipe.inside = widened.lines[line].pipe.inside * wider;
        let (second, _) = levels(widened, &scenario);
        for (d, (before, after)) in first.iter().zip(&second).enumerate() {
            prop_assert!(*after <= before + 1e-6, "D{} rises from {before} to {after}", d + 1);
        }
    }

    /// More rain never lessens what comes out of the openings together, and a higher opening lowers
    /// no level and no head: without junction losses every loss only rises with its flow.
    #[test]
    fn openings_answer_one_way(
        seed in 0..1_000_000_000_u64, which in any::<usize>(), up in 0.001..0.8_f64,
        more in 1.01..3.0_f64,
    ) {
        let (network, scenario) = site(seed, Kinds { openings: true, ..NO_JUNCTIONS });
        let state = |network: &Network, scenario: &Scenario| {
            wetrun_solver::solve(network, scenario).expect("a steady state")
        };
        let first = state(&network, &scenario);
        let escapes = |state: &wetrun_solver::Steady| -> Vec<f64> {
            state.openings.iter().map(|o| o.escapes.to_m3_per_s()).collect()
        };
        let rain = Intensity::m_per_s(more * scenario.intensity.to_m_per_s());
        let heavier = state(&network, &Scenario { intensity: rain, ..scenario });
        let total: f64 = first.downspouts.iter().map(|d| d.demand.to_m3_per_s()).sum();
        for (less, more) in escapes(&first).iter().zip(escapes(&heavier)) {
            prop_assert!(more >= less - 1e-9 * total, "{less:e} becomes {more:e} in more rain");
        }
        let mut raised = parts(&network);
        let open: Vec<usize> =
            (0..raised.points.len()).filter(|&p| raised.points[p].opening.is_some()).collect();
        prop_assume!(!open.is_empty());
        if let Some(opening) = &mut raised.points[open[which % open.len()]].opening {
            opening.level = opening.level + Length::m(up);
        }
        let second = state(&Network::build(raised).expect("still a network"), &scenario);
        for (before, after) in first.points.iter().zip(&second.points) {
            let fall = (before.head - after.head).to_m();
            prop_assert!(fall <= 1e-6, "a head falls by {fall:e}");
        }
        for (before, after) in first.downspouts.iter().zip(&second.downspouts) {
            let fall = (before.standing_level - after.standing_level).to_m();
            prop_assert!(fall <= 1e-6, "a level falls by {fall:e}");
        }
    }
}
