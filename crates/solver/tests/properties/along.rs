//! What is drawn and sized along a line is what was solved: its law as one maximum, its grade line
//! station by station, and the water that rests in it.

use super::{config, kinds, solved};
use crate::support::random::site;
use proptest::prelude::*;
use wetrun_network::{End, LineEnd, LineId};
use wetrun_solver::{Passage, grade_line};
use wetrun_units::{Flow, Length};

fn near(what: &str, x: Length, y: Length) -> Result<(), TestCaseError> {
    let off = (x - y).abs().to_m();
    prop_assert!(off <= 1e-7, "{}: {} and {} m", what, x.to_m(), y.to_m());
    Ok(())
}

proptest! {
    #![proptest_config(config())]

    /// From the head below, `max(downstream + loss, crest)` is the head above, and the grade line
    /// ends at what the state says of both ends.
    #[test]
    fn a_line_of_known_flow_lifts_what_it_meets(seed in 0..1_000_000_000_u64, bits in any::<u8>()) {
        let (network, scenario) = site(seed, kinds(bits));
        let state = solved(&network, &scenario)?;
        for (line, of) in network.lines().iter().zip(&state.lines) {
            let path = grade_line(&scenario, line, of);
            let ends = [path[0].head, path[path.len() - 1].head];
            near(&line.tag, ends[0], of.from_head)?;
            near(&line.tag, ends[1], of.to_head)?;
            let rises = path.windows(2).all(|pair| pair[0].at <= pair[1].at);
            prop_assert!(rises, "{}: out of order", line.tag);
            if of.flow == Flow::ZERO {
                continue;
            }
            let heads = [0, 1].map(|side| {
                [of.from_head, of.to_head][side] + of.junction_heads[side]
            });
            let (upstream, [up, down]) = match of.flow > Flow::ZERO {
                true => (LineEnd::From, [heads[0], heads[1]]),
                false => (LineEnd::To, [heads[1], heads[0]]),
            };
            let passage = Passage::new(&scenario, line, &line.pipe, of.flow.abs(), upstream);
            near(&line.tag, passage.rise(down), up)?;
        }
    }

    /// No invert stands above the water said to rest on it, and still water stands level: between
    /// two wet stations it falls nowhere but over an invert that it reaches.
    #[test]
    fn water_rests_level(seed in 0..1_000_000_000_u64, bits in any::<u8>()) {
        let (network, scenario) = site(seed, kinds(bits));
        let state = solved(&network, &scenario)?;
        let mut total_m3 = 0.0;
        for (index, line) in network.lines().iter().enumerate() {
            let id = LineId::new(index);
            let rest: Vec<_> = state.rest.along(id).collect();
            prop_assert_eq!(rest.len(), line.profile.len());
            for (station, level) in line.profile.iter().zip(&rest) {
                prop_assert!(level.is_none_or(|l| l.to_m() >= station.level.to_m() - 1e-9));
            }
            for (stations, levels) in line.profile.windows(2).zip(rest.windows(2)) {
                let [Some(one), Some(other)] = [levels[0], levels[1]] else { continue };
                let (high, at) = if one > other { (one, 0) } else { (other, 1) };
                let level = (one - other).abs().to_m() <= 1e-9;
                let crest = (high - stations[at].level).abs().to_m() <= 1e-9;
                prop_assert!(level || crest, "{}: {:?}", line.tag, rest);
            }
            for (end, level) in [(line.from, rest[0]), (line.to, rest[rest.len() - 1])] {
                // What stands at a point stands in every line there that does not rise out of it.
                if let (End::Point(_), Some(point), Some(level)) = (end, state.rest.at(end), level) {
                    prop_assert!((level - point).to_m() >= -1e-9, "{}: {:?}", line.tag, end);
                }
            }
            let water = state.rest.in_line(&network, id);
            let bore_m3 = std::f64::consts::FRAC_PI_4 * line.pipe.inside.to_m().powi(2);
            let most_m3 = bore_m3 * line.length.to_m();
            let here_m3: f64 = water.iter().map(|w| w.volume.to_m3()).sum();
            prop_assert!((0.0..=most_m3 * (1.0 + 1e-12)).contains(&here_m3));
            total_m3 += here_m3;
        }
        prop_assert!(state.rest.volume(&network).to_m3() >= total_m3 * (1.0 - 1e-12));
    }
}
