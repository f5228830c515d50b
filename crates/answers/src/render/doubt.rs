//! Words that every rendering of a doubt shares: inputs, what they rest on, chances, faults, steps.

use wetrun_doubt::{
    Amount, Chance, Fault, Harm, Input, Like, Moved, PipeType, Step, Study, Subject,
};
use wetrun_facts::Facts;
use wetrun_network::{DownspoutId, Network};
use wetrun_units::{Length, UnitSystem, decimal, trimmed};

/// What a doubt is told of.
#[derive(Clone, Copy)]
pub(crate) struct Told<'a> {
    /// The units of the site file.
    pub(crate) units: UnitSystem,
    /// The network.
    pub(crate) network: &'a Network,
    /// What else the drawing shows.
    pub(crate) facts: &'a Facts,
    /// The pipe types that the inputs speak of.
    pub(crate) types: &'a [PipeType],
}

impl Told<'_> {
    /// An input in a sentence: `the rain`, `the level of D3's outlet`.
    pub(crate) fn input(&self, subject: &Subject) -> String {
        match subject {
            Subject::Rain => "the rain".to_owned(),
            Subject::Runoff => "the runoff".to_owned(),
            Subject::Area(roof) => format!("the area of {}", self.roof(*roof)),
            Subject::Roughness(kind) => format!("the roughness of {}", self.kind(*kind)),
            Subject::C(kind) => format!("the C of {}", self.kind(*kind)),
            Subject::Bores(kind) => format!("the bores of {}", self.kind(*kind)),
            Subject::Fitting(name) => format!("the loss of {name}"),
            Subject::DownspoutK(id) => format!("the extra loss in {}", self.downspout(*id)),
            Subject::LineK(id) => format!("the extra loss in {}", self.network.line(*id).tag),
            Subject::Junctions => "the losses of wyes and tees".to_owned(),
            Subject::Opening(id) => format!("the level of {}", self.opening(*id)),
            Subject::Inlet(id) => format!("the inlet level of {}", self.network.tank(*id).tag),
            Subject::Temperature => "the water's temperature".to_owned(),
            Subject::Silt => "the silt".to_owned(),
            Subject::SiltOf(id) => format!("the silt in {}", self.network.line(*id).tag),
            _ => String::new(),
        }
    }

    fn roof(&self, index: usize) -> String {
        let name = self.facts.roofs.get(index).map_or("", |roof| &roof.name);
        format!("roof {name}")
    }

    fn kind(&self, index: usize) -> &str {
        self.types.get(index).map_or("", |kind| &kind.name)
    }

    /// The tag of a downspout.
    pub(crate) fn downspout(&self, id: DownspoutId) -> &str {
        &self.network.downspout(id).tag
    }

    fn opening(&self, id: DownspoutId) -> String {
        let this = self.network.downspout(id);
        let what = if this.leaf_head.is_some() { "leaf head" } else { "outlet" };
        format!("{}'s {what}", this.tag)
    }

    /// How an input moved, as somebody would tell it on site: `rain 12 % heavier`.
    pub(crate) fn moved(&self, subject: &Subject, by: Amount) -> String {
        let share = |by: Amount| match by {
            Amount::Share(share) => share.to_ratio(),
            Amount::Factor(factor) => factor - 1.0,
            _ => 0.0,
        };
        let [more, less] = match subject {
            Subject::Rain => ["heavier", "lighter"],
            Subject::Runoff | Subject::DownspoutK(_) | Subject::LineK(_) => ["more", "less"],
            Subject::Fitting(_) => ["more", "less"],
            Subject::Area(_) => ["larger", "smaller"],
            Subject::Bores(_) => ["wider", "narrower"],
            Subject::C(_) => ["higher", "lower"],
            Subject::Roughness(_) => ["rougher", "smoother"],
            Subject::Junctions => ["more", "less"],
            Subject::Opening(_) | Subject::Inlet(_) => ["high", "low"],
            Subject::Temperature => ["warmer", "colder"],
            _ => ["", ""],
        };
        let side = |value: f64| if value < 0.0 { less } else { more };
        let part = share(by);
        let part = format!("{} {}", per_cent(part.abs()), side(part));
        match (subject, by) {
            (Subject::Rain, _) => format!("rain {part}"),
            (Subject::Runoff, _) => format!("{part} runoff"),
            (Subject::Area(roof), _) => format!("{} {part}", self.roof(*roof)),
            (Subject::Roughness(kind), Amount::Factor(factor)) => {
                let times = if factor < 1.0 { 1.0 / factor } else { factor };
                format!("{} {} times {}", self.kind(*kind), decimal(times, 1), side(factor - 1.0))
            }
            (Subject::C(kind), _) => format!("the C of {} {part}", self.kind(*kind)),
            (Subject::Bores(kind), _) => format!("bores of {} {part}", self.kind(*kind)),
            (Subject::Fitting(name), _) => format!("{part} loss in every {name}"),
            (Subject::DownspoutK(id), _) => format!("{part} extra loss in {}", self.downspout(*id)),
            (Subject::LineK(id), _) => {
                format!("{part} extra loss in {}", self.network.line(*id).tag)
            }
            (Subject::Junctions, Amount::Coefficient(k)) => {
                format!("wyes and tees {} velocity heads {}", decimal(k.abs(), 2), side(k))
            }
            (Subject::Opening(id), Amount::Length(by)) => {
                let height = small(self.units, by);
                format!("{} {height} {}", self.opening(*id), side(by.to_m()))
            }
            (Subject::Inlet(id), Amount::Length(by)) => {
                let tag = &self.network.tank(*id).tag;
                format!("{tag}'s inlet {} {}", small(self.units, by), side(by.to_m()))
            }
            (Subject::Temperature, Amount::Warmth(by)) => {
                let by_k = by.to_k();
                format!("water {} {}", warmth(self.units, by_k.abs()), side(by_k))
            }
            (Subject::Silt, Amount::Length(depth)) => {
                format!("{} of silt in every line", small(self.units, depth))
            }
            (Subject::SiltOf(id), Amount::Length(depth)) => {
                let tag = &self.network.line(*id).tag;
                format!("{} of silt in {tag}", small(self.units, depth))
            }
            _ => part,
        }
    }

    /// What moved at the nearest failure: those that go farthest, and how many others there are.
    pub(crate) fn all_moved(&self, study: &Study, moved: &[Moved]) -> String {
        const MOST: usize = 5;
        // A fiftieth of the square of the distance.
        const SAID: f64 = 0.02;
        let distance2: f64 = moved.iter().map(|m| m.deviations * m.deviations).sum();
        let said = moved.iter().filter(|m| m.deviations * m.deviations >= SAID * distance2);
        let said: Vec<String> =
            said.take(MOST).map(|m| self.moved(&study.inputs[m.input].subject, m.by)).collect();
        let others = moved.len() - said.len();
        let mut words = list(&said);
        if others > 0 {
            let inputs = if others == 1 { "other input" } else { "other inputs" };
            words.push_str(&format!("; {others} {inputs} by less"));
        }
        words
    }

    /// A fault and where it is: `M3 half closed`.
    pub(crate) fn fault(&self, harm: &Harm) -> String {
        let at = &harm.at;
        match harm.fault {
            Fault::HalfClosed(_) => format!("{at} half closed"),
            Fault::ScreenHalfClosed(_) => format!("screen of {at} half closed"),
            Fault::TankShut(_) => format!("{at} shut"),
            Fault::OverflowBlocked(_) => format!("overflow of {at} blocked"),
            Fault::DrainOpen(_) => format!("drain of {at} left open"),
            Fault::RoofDoubled(_) => format!("roof {at} twice as large"),
            _ => String::new(),
        }
    }

    /// What a step says to do, with the tag and the number.
    pub(crate) fn step(&self, step: Step) -> String {
        match step {
            Step::SurveyOpening(id, level) => {
                format!("survey {} to {}", self.opening(id), small(self.units, level))
            }
            Step::SurveyLevels(level) => {
                let to = small(self.units, level);
                format!("survey every outlet, leaf head and tank inlet to {to}")
            }
            Step::MeasureRoofs => "measure every roof on site to 1 %".to_owned(),
            Step::MakersFittings => {
                "get the makers' own loss figures of the fittings, good to 10 %".to_owned()
            }
            Step::MeasureBores => "measure the bores of the pipe delivered to 0.1 %".to_owned(),
            Step::Flush => "flush the lines, so that no silt lies in them".to_owned(),
            _ => String::new(),
        }
    }

    /// The width of an input's law, as a report shows it.
    pub(crate) fn width(&self, input: &Input) -> String {
        match input.width() {
            Amount::Share(share) => per_cent(share.to_ratio()),
            Amount::Factor(factor) => format!("×{}", trimmed(factor, 2)),
            Amount::Length(length) => small(self.units, length),
            Amount::Warmth(by) => warmth(self.units, by.to_k()),
            Amount::Coefficient(k) => trimmed(k, 3),
        }
    }
}

/// What an input's width rests on, and how well that is known.
pub(crate) fn basis(input: &Input) -> String {
    match (&input.basis, input.given) {
        (Some(basis), _) => basis.clone(),
        (None, true) => "site file".to_owned(),
        (None, false) => usual(&input.subject).to_owned(),
    }
}

/// What the built-in widths rest on. None of them is a law.
pub(crate) fn usual(subject: &Subject) -> &'static str {
    match subject {
        Subject::Rain => "rain tables of neighbouring stations differ by that (common practice)",
        Subject::Runoff => "what a roof holds back or splashes off (common practice)",
        Subject::Area(_) => "a roof measured off drawings (common practice)",
        Subject::Roughness(_) => "published values of one material span that (recalled)",
        Subject::C(_) => "published values of new smooth pipe, 140 to 155 (recalled)",
        Subject::Bores(_) => "wall tolerance of pipe standards (recalled)",
        Subject::Fitting(_) | Subject::DownspoutK(_) | Subject::LineK(_) => {
            "published values of one fitting differ by that and more (read)"
        }
        Subject::Junctions => "published relations differ by about 0.2 (read)",
        Subject::Opening(_) => "a gutter or leaf head set with a level (common practice)",
        Subject::Inlet(_) => "a tank set with a level (common practice)",
        Subject::Temperature => "rain and soil through the year (common practice)",
        Subject::Silt | Subject::SiltOf(_) => "flushed lines (common practice)",
        _ => "common practice",
    }
}

/// A number in SI and its unit.
pub(crate) fn in_si(amount: Amount) -> (f64, &'static str) {
    match amount {
        Amount::Share(share) => (share.to_ratio(), "share"),
        Amount::Factor(factor) => (factor, "factor"),
        Amount::Length(length) => (length.to_m(), "m"),
        Amount::Warmth(warmth) => (warmth.to_k(), "K"),
        Amount::Coefficient(k) => (k, "coefficient"),
    }
}

/// The name of an input's law in a result.
pub(crate) fn like(input: &Input) -> &'static str {
    match input.like {
        Like::Normal => "normal",
        Like::Lognormal => "lognormal",
        Like::Even => "even",
    }
}

/// A chance in words: `1 of 180`, `12 of 100`; what was never seen as `less than 1 of 1110`.
pub(crate) fn one_of(chance: &Chance) -> String {
    if chance.chance <= 0.0 {
        return format!("less than 1 of {}", rounded_down(1.0 / chance.high));
    }
    if chance.chance >= 1.0 {
        return "all".to_owned();
    }
    plain_chance(chance.chance)
}

/// A chance between none and all in words.
pub(crate) fn plain_chance(chance: f64) -> String {
    if chance > 0.995 {
        return "more than 99 of 100".to_owned();
    }
    if chance > 0.1 {
        return format!("{} of 100", decimal(100.0 * chance, 0));
    }
    format!("1 of {}", two_digits(1.0 / chance))
}

/// A large number to two digits.
fn two_digits(number: f64) -> String {
    let mut step = 1.0;
    while number / step >= 100.0 {
        step *= 10.0;
    }
    decimal((number / step).round() * step, 0)
}

/// A bound to three digits, on the safe side.
fn rounded_down(number: f64) -> String {
    let mut step = 1.0;
    while number / step >= 1000.0 {
        step *= 10.0;
    }
    decimal((number / step).floor() * step, 0)
}

/// A share as per cent: two digits of a small one.
pub(crate) fn per_cent(share: f64) -> String {
    let number = 100.0 * share;
    let places = if number >= 9.95 {
        0
    } else if number >= 0.095 {
        1
    } else {
        2
    };
    format!("{} %", trimmed(number, places))
}

/// A small height without its sign: millimetres, or inches to a hundredth.
fn small(units: UnitSystem, height: Length) -> String {
    let size_m = height.to_m().abs();
    match units {
        UnitSystem::Si if size_m < 0.0095 => format!("{} mm", trimmed(size_m * 1e3, 1)),
        UnitSystem::Si => format!("{} mm", decimal(size_m * 1e3, 0)),
        UnitSystem::Us => format!("{} in", trimmed(size_m / 0.0254, 2)),
    }
}

fn warmth(units: UnitSystem, kelvins: f64) -> String {
    match units {
        UnitSystem::Si => format!("{} °C", trimmed(kelvins, 1)),
        UnitSystem::Us => format!("{} °F", trimmed(1.8 * kelvins, 1)),
    }
}

/// `a`, `a and b`, `a, b and c`.
pub(crate) fn list(parts: &[String]) -> String {
    match parts {
        [] => String::new(),
        [one] => one.clone(),
        [first @ .., last] => format!("{} and {last}", first.join(", ")),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn chances_in_words() {
        let seen = |chance: f64| one_of(&Chance { chance, low: 0.0, high: 0.0009002 });
        assert_eq!(seen(0.0), "less than 1 of 1110");
        assert_eq!(seen(1.0), "all");
        assert_eq!(seen(0.122), "12 of 100");
        assert_eq!(seen(0.0055), "1 of 180");
        assert_eq!(seen(0.0998), "1 of 10");
        assert_eq!(seen(0.999), "more than 99 of 100");
        assert_eq!(per_cent(0.15), "15 %");
        assert_eq!(per_cent(0.005), "0.5 %");
        assert_eq!(per_cent(0.0002), "0.02 %");
    }
}
