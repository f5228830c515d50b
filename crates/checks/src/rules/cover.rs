//! Cover: enough soil lies over the pipe.

use super::prelude::*;
use wetrun_network::{End, Line};

/// The rule.
pub(crate) const RULE: Rule = Rule {
    name: "cover",
    section: Section::Ground,
    checks: "At both ends and every station the soil over the crown of the pipe is deep enough.",
    why: "A shallow pipe is crushed, dug up, or freezes.",
    limit: Some(Amount::Length(Length::m(0.3048))),
    threshold: "the least depth of soil over the crown, without vehicles",
    source: Source {
        text: "12 in is a common figure in US plumbing codes for sewers and water service; the \
               jurisdiction fills the number",
        confidence: Confidence::Read,
    },
    keys: "points.*.ground, downspouts.*.ground, tanks.*.ground, lines.*.profile[*].ground",
    mend: "lay the pipe deeper, or protect it",
    judge,
};

fn judge(rule: &Rule, input: &Judged<'_>) -> Vec<Finding> {
    let limit_m = rule.limit_si(input);
    let each = input.network.lines().iter().enumerate();
    each.map(|(index, _)| of_line(rule, input, index, limit_m)).collect()
}

/// Judges the least soil over the crown of a line. Ground that is not shown somewhere lets no line
/// pass.
pub(super) fn of_line(rule: &Rule, input: &Judged<'_>, index: usize, limit_m: f64) -> Finding {
    let units = input.facts.units;
    let line = &input.network.lines()[index];
    let cover = Cover::of(input, index);
    let Some((at_m, cover_m)) = cover.least.filter(|_| cover.unknown.is_empty()).or(cover
        .least
        .filter(|(_, cover_m)| *cover_m < limit_m - LEVEL_TOLERANCE_M))
    else {
        let mut message = "the ground is not shown at both ends and every station".to_owned();
        if cover.least.is_none() {
            message = "no ground level is shown above it".to_owned();
        }
        let finding = rule.not_shown(input, &line.tag, &message);
        return Finding { missing: cover.unknown, ..finding };
    };
    let holds = cover_m >= limit_m - LEVEL_TOLERANCE_M;
    let (has, asked) = if holds {
        (say::height(units, cover_m), say::height_up(units, limit_m))
    } else {
        say::heights(units, cover_m, limit_m)
    };
    let message = format!(
        "{has} of soil over the crown at {} from its start; {asked} is asked for",
        units.show_length(Length::m(at_m)),
    );
    let mut finding = rule.at(input, &line.tag, pass_if(holds), message);
    if !holds {
        let short = say::height_up(units, limit_m - cover_m);
        finding = finding.mended(format!("{short} more soil over it there, or protect it"));
    }
    finding.with(metres(cover_m), metres(limit_m))
}

/// The soil over a line.
struct Cover {
    /// Where it is thinnest, and how thick it is there, in metres.
    least: Option<(f64, f64)>,
    /// Keys of the ground levels that are not shown.
    unknown: Vec<String>,
}

impl Cover {
    fn of(input: &Judged<'_>, place: usize) -> Self {
        let line = &input.network.lines()[place];
        let pipe_m = match line.pipe.outside {
            // From the invert, which is inside, to the outside of the crown.
            Some(outside) => (outside.to_m() + line.pipe.inside.to_m()) / 2.0,
            None => line.pipe.inside.to_m(),
        };
        let last = line.profile.len().saturating_sub(1);
        let mut cover = Self { least: None, unknown: Vec::new() };
        for (index, station) in line.profile.iter().enumerate() {
            let end = match index {
                0 => Some(line.from),
                i if i == last => Some(line.to),
                _ => None,
            };
            let at_end = end.and_then(|end| ground_of(input, end));
            let Some(ground) = lower(station.ground, at_end) else {
                cover.unknown.push(key(input, line, index, end));
                continue;
            };
            let over_m = ground.to_m() - station.level.to_m() - pipe_m;
            // A riser to a tank above the ground has left the trench; a ramp leaves it on the way.
            if matches!(end, Some(End::Tank(_))) && station.level >= ground {
                let before = if index == 0 { 1 } else { last - 1 };
                let Some(foot) = line.profile.get(before) else { continue };
                if super::riser_slope::is_steep(input, foot, station) {
                    continue;
                }
                if !input.facts.line(place).profile_shown {
                    cover.unknown.push(format!("lines.{}.profile", line.tag));
                    continue;
                }
                let foot_m = foot.level.to_m() + pipe_m;
                let top_m = station.level.to_m() + pipe_m;
                let part = ((ground.to_m() - foot_m) / (top_m - foot_m)).clamp(0.0, 1.0);
                let at_m = foot.at.to_m() + part * (station.at.to_m() - foot.at.to_m());
                if cover.least.is_none_or(|(_, least_m)| least_m > 0.0) {
                    cover.least = Some((at_m, 0.0));
                }
                continue;
            }
            if cover.least.is_none_or(|(_, least_m)| over_m < least_m) {
                cover.least = Some((station.at.to_m(), over_m));
            }
        }
        cover
    }
}

/// The lower of two ground levels at one place, where the drawing gives both.
fn lower(a: Option<Length>, b: Option<Length>) -> Option<Length> {
    match (a, b) {
        (Some(a), Some(b)) => Some(if b < a { b } else { a }),
        (a, b) => a.or(b),
    }
}

/// The ground that is shown at an end of a line.
pub(super) fn ground_of(input: &Judged<'_>, end: End) -> Option<Length> {
    match end {
        End::Point(id) => input.network.point(id).ground,
        End::Downspout(id) => input.facts.downspout(id.index()).ground,
        End::Tank(id) => input.network.tank(id).ground,
    }
}

/// The key that shows the ground at a station.
fn key(input: &Judged<'_>, line: &Line, station: usize, end: Option<End>) -> String {
    match end {
        Some(end @ End::Point(_)) => format!("points.{}.ground", input.network.end_tag(end)),
        Some(end @ End::Downspout(_)) => format!("downspouts.{}.ground", input.network.end_tag(end)),
        Some(end @ End::Tank(_)) => format!("tanks.{}.ground", input.network.end_tag(end)),
        None => format!("lines.{}.profile[{station}].ground", line.tag),
    }
}
