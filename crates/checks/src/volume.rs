//! How much water stands in the pipes between storms.

use crate::Judged;
use crate::pipes::{Pipes, wet_fraction};
use wetrun_network::{End, Line, Pipe};
use wetrun_units::Volume;

/// The water that stands in the pipes between storms, for each line, then for each downspout.
pub(crate) fn stale(input: &Judged<'_>) -> Vec<Volume> {
    let pipes = input.pipes();
    let lines = input.network.lines().iter().map(|line| Volume::m3(line_m3(&pipes, line, None)));
    let downspouts = input.network.downspouts().iter().enumerate().map(|(index, downspout)| {
        let height_m = pipes.rest_at_downspout_m(index) - downspout.foot.to_m();
        let most_m = downspout.opening().to_m() - downspout.foot.to_m();
        Volume::m3(area_m2(&downspout.pipe) * height_m.clamp(0.0, most_m))
    });
    lines.chain(downspouts).collect()
}

/// The water of the group of lines that stands above a level, in m³: what a drain there empties.
pub(crate) fn above_m3(input: &Judged<'_>, pipes: &Pipes<'_>, group: usize, level_m: f64) -> f64 {
    let in_group = |end: End| !matches!(end, End::Tank(_)) && pipes.group(end) == group;
    let lines: f64 = input
        .network
        .lines()
        .iter()
        .filter(|line| in_group(line.from) || in_group(line.to))
        .map(|line| line_m3(pipes, line, Some(level_m)))
        .sum();
    let downspouts: f64 = input
        .network
        .downspouts()
        .iter()
        .enumerate()
        .filter(|(i, _)| in_group(End::Downspout(wetrun_network::DownspoutId::new(*i))))
        .map(|(index, downspout)| {
            let top_m = pipes.rest_at_downspout_m(index).min(downspout.opening().to_m());
            let bottom_m = downspout.foot.to_m().max(level_m);
            area_m2(&downspout.pipe) * (top_m - bottom_m).max(0.0)
        })
        .sum();
    lines + downspouts
}

/// The water that stands in a line between storms, in m³; only what is above a level, if given.
fn line_m3(pipes: &Pipes<'_>, line: &Line, above_m: Option<f64>) -> f64 {
    let rest_m = pipes.rest_along_m(line);
    let run_m = (line.profile.last().map_or(0.0, |s| s.at.to_m())).max(f64::MIN_POSITIVE);
    let pieces = line.profile.windows(2).zip(rest_m.windows(2));
    let wet: f64 = pieces
        .map(|(stations, rests)| {
            let part = (stations[1].at.to_m() - stations[0].at.to_m()) / run_m;
            let levels_m = (stations[0].level.to_m(), stations[1].level.to_m());
            let full = wet_fraction(levels_m, (rests[0], rests[1]));
            let below = above_m.map_or(0.0, |level_m| wet_fraction(levels_m, (level_m, level_m)));
            part * (full - below).max(0.0)
        })
        .sum();
    wet * line.length.to_m() * area_m2(&line.pipe)
}

fn area_m2(pipe: &Pipe) -> f64 {
    let bore_m = pipe.inside.to_m();
    std::f64::consts::FRAC_PI_4 * bore_m * bore_m
}
