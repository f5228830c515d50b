//! The rules, one file each, in the order of the checklist.

mod bores;
mod prelude;
mod stated;
mod unsealed;

macro_rules! rules {
    ($($module:ident)*) => {
        $(pub(crate) mod $module;)*

        /// Every rule, in the order of the checklist.
        pub(crate) static ALL: [&crate::Rule; [$(stringify!($module)),*].len()] =
            [$(&$module::RULE),*];
    };
}

rules! {
    datum levels_agree drawings line_profile calculation storm_basis wet_condition designer
    inlet_below_openings lowest_opening freeboard no_spill no_escape authority_difference
    construction_tolerance low_roof
    roof_areas gutter_capacity gutter_outlet screen_blocked downspout_filling losses_itemised
    pipe_bore no_reduction design_velocity self_cleansing stale_volume law_range
    hump_vent vent_top low_point_drain drain_outlet drain_time cleanouts riser_slope self_venting
    watertight_level joint_type joint_head test_level test_duration test_medium restraint
    hold_point
    cover cover_vehicles frost_depth frost_exposed footings services bedding
    leaf_screen insect_mesh first_flush first_flush_stale flush_daylight
    tank_rim overflow_missing overflow_capacity overflow_size inlet_air_gap overflow_discharge overflow_cascade
    linked_tanks tank_base tank_access flotation
    manual as_built inspection_interval labels
}

use crate::Judged;
use crate::facts::FirstFlush;
use crate::finding::Finding;
use crate::pipes::Pipes;
use crate::rule::Rule;
use crate::say;
use crate::terrain::Spot;
use wetrun_network::{DownspoutId, End, Overflow, TankId};
use wetrun_units::{Length, Volume};
use wetrun_verdict::Cause;

/// The level up to which a downspout must be watertight: standing level and freeboard, at most
/// its opening.
fn watertight_to_m(input: &Judged<'_>, index: usize) -> f64 {
    let standing_m = input.steady.downspouts[index].standing_level.to_m();
    let opening_m = input.network.downspouts()[index].opening().to_m();
    (standing_m + input.facts.freeboard.to_m()).min(opening_m)
}

/// Whether a tank receives water: from a line, or from what another tank overflows.
fn fed(input: &Judged<'_>, pipes: &Pipes<'_>, tank: TankId) -> bool {
    !pipes.at(End::Tank(tank)).is_empty() || overflows_into(input, tank).next().is_some()
}

/// The overflows that run into a tank, each with the tag of its tank.
fn overflows_into<'a>(
    input: &Judged<'a>,
    tank: TankId,
) -> impl Iterator<Item = (&'a str, &'a Overflow)> {
    let overflows =
        input.network.tanks().iter().filter_map(|t| Some((&*t.tag, t.overflow.as_ref()?)));
    overflows.filter(move |(_, overflow)| overflow.to == Some(tank))
}

/// The largest bore that fills a tank, in metres, or `None` where nothing does; and whether a pipe
/// that fills it is not shown.
fn largest_inlet_m(input: &Judged<'_>, pipes: &Pipes<'_>, tank: TankId) -> (Option<f64>, bool) {
    let lines = pipes.at(End::Tank(tank)).iter().map(|(l, _)| input.network.line(*l).pipe.inside);
    let overflows = || overflows_into(input, tank).map(|(_, overflow)| overflow.pipe.as_ref());
    let bores = lines.chain(overflows().flatten().map(|pipe| pipe.inside));
    let largest_m = bores.map(Length::to_m).reduce(f64::max);
    (largest_m, overflows().any(|pipe| pipe.is_none()))
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

/// How far an opening must come up, where it can: a leaf head stays below the gutter's outlet.
fn raise_opening(input: &Judged<'_>, index: usize, by_m: f64) -> Option<String> {
    let downspout = &input.network.downspouts()[index];
    let units = input.facts.units;
    let level = say::level_up(units, downspout.opening().to_m() + by_m);
    match downspout.leaf_head {
        None => {
            let by = say::height_up(units, by_m);
            Some(format!(
                "raise the outlet of {} to {level} (by {by}), its lip with it",
                downspout.tag
            ))
        }
        Some(_) => {
            let fits = units.read_level(&level).is_ok_and(|level| level <= downspout.outlet);
            fits.then(|| format!("raise the leaf head of {} to {level}", downspout.tag))
        }
    }
}

/// A larger bore for a downspout, and for the lines below it that would be smaller.
fn larger_downspout(input: &Judged<'_>, pipes: &Pipes<'_>, index: usize, bore_m: f64) -> String {
    let foot = End::Downspout(DownspoutId::new(index));
    let tag = &input.network.downspouts()[index].tag;
    let below = bores::below_a_downspout(input, pipes, foot, bore_m);
    let below = below.map_or(String::new(), |lines| format!(", and {lines} below it"));
    format!("give {tag}{below} a bore of {} or more", say::size_up(input.facts.units, bore_m))
}

/// The keys that would show how much the first-flush devices hold, or that there are none.
fn first_flush_keys(input: &Judged<'_>) -> Vec<String> {
    let silent: Vec<(&str, &str)> = first_flush_devices(input)
        .into_iter()
        .filter(|(_, device)| device.volume.is_none())
        .map(|(tag, _)| {
            let downspout = input.network.downspouts().iter().any(|d| d.tag == tag);
            (if downspout { "downspouts" } else { "points" }, tag)
        })
        .collect();
    match silent.as_slice() {
        [] => vec!["defaults.downspouts.first_flush".to_owned()],
        some => some
            .iter()
            .map(|(section, tag)| format!("{section}.{tag}.first_flush.volume"))
            .collect(),
    }
}

/// Whether the drawing says that no downspout has a first-flush device, and shows none elsewhere.
fn says_no_first_flush(input: &Judged<'_>) -> bool {
    let mut downspouts = 0..input.network.downspouts().len();
    downspouts.all(|index| input.facts.downspout(index).no_first_flush)
        && first_flush_devices(input).is_empty()
}

/// Whether the verdict has a failure of a kind at a downspout.
fn fails(input: &Judged<'_>, index: usize, cause: Cause) -> bool {
    input.verdict.at_downspout(DownspoutId::new(index)).any(|failure| failure.cause() == cause)
}

/// Says that high or low places may hide between the ends of lines whose profile is not shown.
fn unknown_profiles(rule: &Rule, input: &Judged<'_>, what: &str) -> Option<Finding> {
    let lines = input.network.lines().iter().enumerate();
    let hidden: Vec<&str> = lines
        .filter(|(index, _)| !input.facts.line(*index).profile_shown)
        .map(|(_, line)| line.tag.as_str())
        .collect();
    if hidden.is_empty() {
        return None;
    }
    let message = format!("whether {what} lies between the ends is not shown: no profile");
    let finding = rule.not_shown(input, &hidden.join(", "), &message);
    let missing = hidden.iter().map(|tag| format!("lines.{tag}.profile")).collect();
    Some(Finding { missing, ..finding })
}

/// A node at or beside a low place: the end of a line that runs through it.
fn node_of(input: &Judged<'_>, spots: &[Spot]) -> End {
    let node = spots.iter().find_map(|spot| match spot {
        Spot::Node(end) => Some(*end),
        Spot::Along(id, _) => {
            let line = input.network.line(*id);
            Some(if matches!(line.from, End::Tank(_)) { line.to } else { line.from })
        }
        Spot::TankEnd => None,
    });
    node.unwrap_or(End::Downspout(DownspoutId::new(0)))
}

/// Says that a tank is filled by an overflow whose pipe is not shown.
fn overflow_pipes_not_shown(rule: &Rule, input: &Judged<'_>, tank: TankId) -> Finding {
    let message = "the pipe of the overflow that fills it is not shown";
    let finding = rule.not_shown(input, &input.network.tank(tank).tag, message);
    let open = overflows_into(input, tank).filter(|(_, overflow)| overflow.pipe.is_none());
    Finding {
        missing: open.map(|(tag, _)| format!("tanks.{tag}.overflow.pipe")).collect(),
        ..finding
    }
}

/// An overflow brought down to a level at the most. `None` where that puts it at the floor or below
/// the water that it must run into, or parts the tank from one that it is balanced with.
fn lower_overflow(input: &Judged<'_>, tank: TankId, to_m: f64) -> Option<String> {
    let end = End::Tank(tank);
    let other = |line: &wetrun_network::Line| if line.from == end { line.to } else { line.from };
    let mut lines = input.network.lines().iter().filter(|l| l.from == end || l.to == end);
    let linked = lines.any(|line| matches!(other(line), End::Tank(_)));
    let own = input.network.tank(tank);
    let next = own.overflow.as_ref()?.to.and_then(|to| input.steady.tanks[to.index()].water_level);
    let least_m =
        [own.floor, next].into_iter().flatten().map(Length::to_m).fold(f64::MIN, f64::max);
    if linked || to_m <= least_m || own.floor.is_none() {
        return None;
    }
    let level = say::level_down(input.facts.units, to_m);
    Some(format!("lower the overflow of {} to {level}", own.tag))
}
