//! What differs from the steady check, and why: each reason is tried by a run without it.

use super::{Storm, find_once, scene};
use crate::outcome::Refusal;
use crate::render::clock;
use std::collections::BTreeMap;
use wetrun_motion::{COUNTS, Moment, Pace, Passed, Scene, TankStart, Watch, storm as follow};
use wetrun_network::{DownspoutId, End, LineId, PlaceId};
use wetrun_units::{Length, Time, Volume};

/// A level this close to the steady one does not differ from it.
const SAME: Length = Length::m(1e-3);
/// A downspout that stays this far below its steady level is told of.
const LOWER: Length = Length::m(5e-3);

impl Storm {
    /// What differs from the steady check, a sentence each; empty where nothing does. Each reason is
    /// tried by another run, once.
    pub fn meaning(&self) -> &[String] {
        self.meaning.get_or_init(|| self.said(Watch::default()))
    }

    /// Works the meaning out as long as somebody waits for it; gives whether it is there then.
    pub fn find_meaning(&self, watch: Watch<'_>) -> bool {
        find_once(&self.meaning, watch, |watch| self.said(watch))
    }

    fn said(&self, watch: Watch<'_>) -> Vec<String> {
        let mut said = Vec::new();
        said.extend(self.swing());
        said.extend(self.stays_lower(watch));
        said.extend(self.fills());
        said.extend(self.stale());
        said
    }

    fn steady_fails(&self, at: DownspoutId) -> bool {
        let headroom = self.steady.downspouts[at.index()].headroom;
        self.steady_spills(at) || wetrun_verdict::lacks(headroom, self.freeboard)
    }

    fn all(&self) -> impl Iterator<Item = DownspoutId> {
        (0..self.passed.downspouts.len()).map(DownspoutId::new)
    }

    /// How far a downspout swings above its steady level.
    fn above(&self, at: DownspoutId) -> Length {
        let steady = &self.steady.downspouts[at.index()];
        self.passed.downspouts[at.index()].peak_level - steady.standing_level
    }

    fn tag(&self, at: DownspoutId) -> &str {
        &self.site.network.downspout(at).tag
    }

    /// The column that swings highest above its steady level: first of those that fail by it.
    fn swing(&self) -> Option<String> {
        let mut swings: Vec<DownspoutId> =
            self.all().filter(|&at| self.above(at) > SAME && !self.steady_spills(at)).collect();
        let by_it = |at: DownspoutId| self.fails(at) && !self.steady_fails(at);
        swings.sort_by(|&a, &b| {
            let first = by_it(b).cmp(&by_it(a));
            first.then(self.above(b).to_m().total_cmp(&self.above(a).to_m()))
        });
        let &worst = swings.first()?;
        let units = self.site.units;
        let height = |height| units.show_height(height);
        let steady = self.steady.downspouts[worst.index()].headroom;
        let own = self.headroom(worst);
        let comes_to = match (self.fails(worst), self.steady_fails(worst)) {
            (true, false) if self.passed.downspouts[worst.index()].spilled > COUNTS => {
                format!("it spills, where the steady check leaves {}", height(steady))
            }
            (true, false) => {
                format!(
                    "it keeps {} and fails, where the steady check leaves {}",
                    height(own),
                    height(steady)
                )
            }
            _ => format!("it keeps {}, not {}", height(own), height(steady)),
        };
        let others = match swings.len() - 1 {
            0 => String::new(),
            1 => format!("; {} swings too", self.tag(swings[1])),
            more => format!("; {more} others swing too"),
        };
        Some(format!(
            "The burst swings {}'s column {} above its steady level for {}: {comes_to}{others}. The \
             steady check alone is not on the safe side here.",
            self.tag(worst),
            height(self.above(worst)),
            clock::length(self.time_above(worst)),
        ))
    }

    /// How long a column stands above its steady level.
    fn time_above(&self, at: DownspoutId) -> Time {
        let steady = self.steady.downspouts[at.index()].standing_level;
        let mut seconds = 0.0;
        for pair in self.passed.moments.windows(2) {
            let over = [0, 1].map(|end: usize| (pair[end].levels[at.index()] - steady).to_m());
            let length = (pair[1].at - pair[0].at).to_s();
            let (low, high) = (over[0].min(over[1]), over[0].max(over[1]));
            if low >= 0.0 {
                seconds += length;
            } else if high > 0.0 {
                seconds += length * high / (high - low);
            }
        }
        Time::s(seconds)
    }

    /// What keeps the water below where the steady check has it.
    fn stays_lower(&self, watch: Watch<'_>) -> Option<String> {
        let units = self.site.units;
        let lower = self.steady_worst()?;
        let steady = &self.steady.downspouts[lower.index()];
        let spills = self.passed.downspouts[lower.index()].spilled > COUNTS;
        if spills || (self.above(lower) > Length::ZERO - LOWER && !self.steady_spills(lower)) {
            return None;
        }
        let tag = self.tag(lower);
        let own = units.show_height(self.headroom(lower));
        let heads = if self.steady_spills(lower) {
            format!(
                "Held for ever, the heaviest rain makes {tag} spill; as it passes {tag} keeps {own} \
                 and spills nothing"
            )
        } else {
            let word = if self.steady_fails(lower) { "fails with" } else { "keeps" };
            let steady = units.show_height(steady.headroom);
            format!(
                "Held for ever, the heaviest rain leaves {tag} where it {word} {steady}; as it passes \
                 {tag} keeps {own}"
            )
        };
        let reason = self.reason(lower, watch).unwrap_or_default();
        Some(format!("{heads}{reason}."))
    }

    /// Why a downspout stays below its steady level: what alone, taken away, lifts it nearly there.
    fn reason(&self, at: DownspoutId, watch: Watch<'_>) -> Option<String> {
        let level = |passed: &Passed| passed.downspouts[at.index()].peak_level;
        let steady = self.steady.downspouts[at.index()].standing_level;
        // Half of the way counts: the nearer half is then owed to it.
        let half = level(&self.passed) + (steady - level(&self.passed)) * 0.5;
        let without = |change: &dyn Fn(&mut Scene<'_>)| -> Option<bool> {
            let passed = self.run_with(change, watch).ok()?;
            let spills = passed.downspouts[at.index()].spilled > COUNTS;
            Some(level(&passed) > half || (spills && self.steady_spills(at)))
        };
        if self.site.gutter_of(at).is_some()
            && without(&|scene| scene.gutters.iter_mut().for_each(|gutter| *gutter = None))?
        {
            return Some(": the gutters store the burst".to_owned());
        }
        let starts = self.passed.tanks.iter().any(|tank| tank.full_at != Some(Time::ZERO));
        if starts
            && without(&|scene| scene.tanks.iter_mut().for_each(|tank| *tank = TankStart::Full))?
        {
            return Some(": the tanks are not full when the burst comes".to_owned());
        }
        if without(&|scene| scene.roofs.iter_mut().for_each(|roof| roof.lag = Time::ZERO))? {
            return Some(": the water takes its time on the roofs".to_owned());
        }
        Some(format!(": the heaviest rain lasts {} only", clock::length(self.heaviest_lasts())))
    }

    /// The longest time that the heaviest rain goes on.
    fn heaviest_lasts(&self) -> Time {
        let blocks = self.course.blocks();
        let heaviest = self.heaviest().to_m_per_s();
        let lasts = blocks.windows(2).filter(|pair| pair[0].rain_m_per_s >= heaviest);
        Time::s(lasts.map(|pair| pair[1].at_s - pair[0].at_s).fold(0.0, f64::max))
    }

    fn run_with(
        &self,
        change: &dyn Fn(&mut Scene<'_>),
        watch: Watch<'_>,
    ) -> Result<Passed, Refusal> {
        let mut scene = scene(&self.site, &self.scenario, watch)?;
        change(&mut scene);
        let pace = Pace { until: Some(self.passed.ended), ..Pace::default() };
        follow(&scene, &self.course, &pace).map_err(Refusal::because)
    }

    /// Which tanks fill while the storm passes, and what runs over from then on.
    fn fills(&self) -> Vec<String> {
        let units = self.site.units;
        let network = &self.site.network;
        let tanks = network.tanks().iter().zip(&self.passed.tanks);
        let fills = tanks.filter_map(|(tank, course)| {
            let at = course.full_at.filter(|at| *at > Time::ZERO)?;
            let overflow = tank.overflow.as_ref()?;
            let to = match overflow.to {
                Some(to) => format!("to {}", network.tank(to).tag),
                None => "off the site".to_owned(),
            };
            let over = clock::volume(units, course.overflowed);
            Some(format!("{} is full {}; {over} run over {to}.", tank.tag, clock::at(at)))
        });
        fills.collect()
    }

    /// What stood in the pipes reaches the tanks before any new water does: how much, and until when.
    fn stale(&self) -> Vec<String> {
        let network = &self.site.network;
        let rest = &self.steady.rest;
        let groups = network.groups();
        let mut of: BTreeMap<PlaceId, (Volume, Vec<(usize, f64)>)> = BTreeMap::new();
        for (place, line) in network.lines().iter().enumerate() {
            let Some(group) = groups.of_line(network, line) else { continue };
            let (stood, ends) = of.entry(group).or_default();
            let water = rest.in_line(network, LineId::new(place));
            *stood = water.iter().fold(*stood, |sum, water| sum + water.volume);
            for (end, sign) in [(line.from, -1.0), (line.to, 1.0)] {
                if matches!(end, End::Tank(_)) {
                    ends.push((place, sign));
                }
            }
        }
        for at in self.all() {
            let group = groups.of(network, End::Downspout(at));
            let water = rest.in_downspout(network, at);
            if let (Some(water), Some((stood, _))) = (water, of.get_mut(&group)) {
                *stood = *stood + water.volume;
            }
        }
        let stale = of.values().filter(|(stood, _)| *stood > COUNTS);
        stale.filter_map(|(stood, ends)| self.arrives(*stood, ends)).collect()
    }

    /// When so much has come to the tanks by these lines, each with the sign of what comes.
    fn arrives(&self, stood: Volume, ends: &[(usize, f64)]) -> Option<String> {
        let (network, units) = (&self.site.network, self.site.units);
        let mut tanks: Vec<&str> = Vec::new();
        for (place, sign) in ends {
            let line = &network.lines()[*place];
            let tag = network.end_tag(if *sign > 0.0 { line.to } else { line.from });
            if !tanks.contains(&tag) {
                tanks.push(tag);
            }
        }
        let comes = |moment: &Moment| -> f64 {
            ends.iter().map(|(line, sign)| sign * moment.flows[*line].to_m3_per_s()).sum()
        };
        let (mut came, mut at) = (0.0, None);
        for pair in self.passed.moments.windows(2) {
            let (seconds, flows) =
                ((pair[1].at - pair[0].at).to_s(), [0, 1].map(|end: usize| comes(&pair[end])));
            let lacks = stood.to_m3() - came;
            came += 0.5 * seconds * (flows[0] + flows[1]);
            if came >= stood.to_m3() {
                // Where the area below the flow between the two is what is lacking.
                let root = flows[0] * flows[0] + 2.0 * (flows[1] - flows[0]) / seconds * lacks;
                let later = 2.0 * lacks / (flows[0] + libm::sqrt(root.max(0.0)));
                at = Some(pair[0].at + Time::s(later.clamp(0.0, seconds)));
                break;
            }
        }
        let first = clock::volume(units, stood);
        let tanks = tanks.join(" and ");
        match at {
            Some(at) => Some(format!(
                "The first {first} that reach {tanks} stood in the pipes since the last rain; the \
                 roofs' own water comes from {} on.",
                clock::moment(at)
            )),
            None if came > COUNTS.to_m3() => Some(format!(
                "All that reaches {tanks} stood in the pipes since the last rain: {} of {first}.",
                clock::volume(units, Volume::m3(came))
            )),
            None => None,
        }
    }
}
