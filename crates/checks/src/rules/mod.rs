//! The rules, one file each, in the order of the checklist.

mod prelude;
mod stated;

macro_rules! rules {
    ($($module:ident)*) => {
        $(pub(crate) mod $module;)*

        /// Every rule, in the order of the checklist.
        pub(crate) static ALL: [&crate::Rule; [$(stringify!($module)),*].len()] =
            [$(&$module::RULE),*];
    };
}

rules! {
    datum drawings line_profile calculation storm_basis wet_condition designer
    inlet_below_openings lowest_opening freeboard no_spill authority_difference
    construction_tolerance low_roof
    roof_areas gutter_capacity gutter_outlet screen_blocked downspout_filling losses_itemised
    pipe_bore no_reduction design_velocity self_cleansing stale_volume law_range
    hump_vent vent_top low_point_drain drain_outlet drain_time cleanouts riser_slope self_venting
    watertight_level joint_type joint_head test_level test_duration test_medium restraint
    hold_point
    cover cover_vehicles frost_depth frost_exposed footings services bedding
    leaf_screen insect_mesh first_flush first_flush_stale flush_daylight
    overflow_capacity overflow_size inlet_air_gap overflow_discharge overflow_cascade
    linked_tanks tank_base tank_access flotation
    manual as_built inspection_interval labels
}

use crate::Judged;
use crate::facts::FirstFlush;
use crate::finding::{Amount, Finding};
use crate::rule::{Rule, pass_if};
use crate::say;
use crate::terrain::Spot;
use wetrun_network::{End, Line};
use wetrun_units::{Length, Volume};

/// The level up to which a downspout must be watertight: standing level and freeboard, at most
/// its opening.
fn watertight_to_m(input: &Judged<'_>, index: usize) -> f64 {
    let standing_m = input.steady.downspouts[index].standing_level.to_m();
    let opening_m = input.network.downspouts()[index].opening().to_m();
    (standing_m + input.facts.freeboard.to_m()).min(opening_m)
}

/// Judges the least soil over the crown of a line.
fn cover_of(rule: &Rule, input: &Judged<'_>, index: usize, limit_m: f64) -> Finding {
    let units = input.facts.units;
    let line = &input.network.lines()[index];
    let Some((at_m, cover_m)) = least_cover_m(input, line) else {
        return rule.not_shown(input, &line.tag, "no ground level is shown above it");
    };
    let message = format!(
        "{} of soil over the crown at {} from its start; {} is asked for",
        say::height(units, cover_m),
        units.show_length(Length::m(at_m)),
        say::height(units, limit_m),
    );
    let mut finding = rule.at(input, &line.tag, pass_if(cover_m >= limit_m - 1e-9), message);
    if cover_m < limit_m - 1e-9 {
        let short = say::height(units, limit_m - cover_m);
        finding = finding.mended(format!("lay it {short} deeper there, or protect it"));
    }
    finding.with(Amount::Length(Length::m(cover_m)), Amount::Length(Length::m(limit_m)))
}

/// Where along a line the soil over its crown is thinnest, and how thick it is there.
fn least_cover_m(input: &Judged<'_>, line: &Line) -> Option<(f64, f64)> {
    let pipe_m = match line.pipe.outside {
        // From the invert, which is inside, to the outside of the crown.
        Some(outside) => (outside.to_m() + line.pipe.inside.to_m()) / 2.0,
        None => line.pipe.inside.to_m(),
    };
    let ground_of = |end: End| match end {
        End::Point(id) => input.network.point(id).ground,
        End::Downspout(id) => input.facts.downspout(id.index()).ground,
        End::Tank(_) => None,
    };
    let last = line.profile.len().saturating_sub(1);
    line.profile
        .iter()
        .enumerate()
        .filter_map(|(i, station)| {
            let at_end = match i {
                0 => ground_of(line.from),
                i if i == last => ground_of(line.to),
                _ => None,
            };
            let ground = station.ground.or(at_end)?;
            Some((station.at.to_m(), ground.to_m() - station.level.to_m() - pipe_m))
        })
        .min_by(|a, b| a.1.total_cmp(&b.1))
}

/// First-flush devices, each with the tag of its place.
fn first_flush_devices<'a>(input: &Judged<'a>) -> Vec<(&'a str, FirstFlush)> {
    let network = input.network;
    let downspouts = network.downspouts().iter().enumerate();
    let downspouts = downspouts
        .filter_map(|(i, d)| Some((d.tag.as_str(), input.facts.downspout(i).first_flush?)));
    let points = network.points().iter().enumerate();
    let points =
        points.filter_map(|(i, p)| Some((p.tag.as_str(), input.facts.point(i).first_flush?)));
    downspouts.chain(points).collect()
}

/// What all first-flush devices hold back, or `None` where a volume is not shown or there is no
/// device.
fn first_flush_volume(input: &Judged<'_>) -> Option<Volume> {
    let volumes: Option<Vec<Volume>> =
        first_flush_devices(input).iter().map(|(_, device)| device.volume).collect();
    let volumes = volumes.filter(|v| !v.is_empty())?;
    Some(volumes.iter().fold(Volume::ZERO, |sum, v| sum + *v))
}

/// The tag to report a high or low place by: a point or a downspout before a line.
fn spot_tag(input: &Judged<'_>, spots: &[Spot]) -> String {
    let node = spots.iter().find_map(|spot| match spot {
        Spot::Node(end) => Some(input.network.end_tag(*end).to_owned()),
        _ => None,
    });
    let line = spots.iter().find_map(|spot| match spot {
        Spot::Along(id, _) => Some(input.network.line(*id).tag.clone()),
        _ => None,
    });
    node.or(line).unwrap_or_else(|| "site".to_owned())
}

/// A high or low place in words.
fn spot_words(input: &Judged<'_>, spots: &[Spot]) -> String {
    let along = spots.iter().find_map(|spot| match spot {
        Spot::Along(id, station) => {
            let line = input.network.line(*id);
            let at = line.profile.get(*station).map_or(Length::ZERO, |s| s.at);
            let units = input.facts.units;
            Some(format!("{} from the start of {}", units.show_length(at), line.tag))
        }
        _ => None,
    });
    let node = spots.iter().any(|spot| matches!(spot, Spot::Node(_)));
    along.filter(|_| !node).unwrap_or_else(|| format!("at {}", spot_tag(input, spots)))
}
