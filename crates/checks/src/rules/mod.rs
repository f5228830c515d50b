//! The rules, one file each but for plain statements, in the order of the checklist.

mod bores;
mod devices;
mod opening;
mod prelude;
mod proof;
mod stated;
mod statements;
mod tanks;
mod unsealed;

/// Every rule is a module: of a file of its own, or, in brackets, of a row of `statements`.
macro_rules! rules {
    (@place ($row:ident)) => { pub(crate) use statements::$row; };
    (@place $module:ident) => { pub(crate) mod $module; };
    (@rule ($row:ident)) => { &$row::RULE };
    (@rule $module:ident) => { &$module::RULE };
    ($($place:tt)*) => {
        $(rules!(@place $place);)*

        /// Every rule, in the order of the checklist.
        pub(crate) static ALL: [&crate::Rule; [$(stringify!($place)),*].len()] =
            [$(rules!(@rule $place)),*];
    };
}

rules! {
    datum levels_agree drawings line_profile calculation storm_basis wet_condition (designer)
    inlet_below_openings lowest_opening freeboard no_spill no_escape authority_difference
    construction_tolerance low_roof
    roof_areas gutter_capacity gutter_outlet screen_blocked downspout_filling losses_itemised
    pipe_bore no_reduction design_velocity self_cleansing stale_volume law_range
    hump_vent vent_top low_point_drain drain_outlet drain_time cleanouts riser_slope self_venting
    watertight_level joint_type joint_head test_level test_duration test_medium (restraint)
    (hold_point)
    cover cover_vehicles frost_depth frost_exposed (footings) (services) (bedding)
    leaf_screen insect_mesh first_flush first_flush_stale flush_daylight
    tank_rim overflow_missing overflow_capacity overflow_size inlet_air_gap overflow_discharge overflow_cascade
    linked_tanks tank_base tank_access flotation
    (manual) (as_built) (inspection_interval) (labels)
}

use devices::{first_flush_devices, first_flush_keys, first_flush_volume, says_no_first_flush};
use tanks::{fed, largest_inlet_m, lower_overflow, overflow_pipes_not_shown};

use crate::Judged;
use crate::finding::Finding;
use crate::opened::DrainOpened;
use crate::rule::Rule;
use crate::terrain::Spot;
use wetrun_network::{DownspoutId, End, PointId};
use wetrun_units::Length;
use wetrun_verdict::Cause;

/// The level up to which a downspout must be watertight: standing level and freeboard, at most
/// its opening.
fn watertight_to_m(input: &Judged<'_>, index: usize) -> f64 {
    let standing_m = input.steady.downspouts[index].standing_level.to_m();
    let opening_m = input.network.downspouts()[index].opening().to_m();
    (standing_m + input.facts.freeboard.to_m()).min(opening_m)
}

/// What opening a drain by itself does, where that was followed.
fn opened<'a>(input: &Judged<'a>, at: PointId) -> Option<&'a DrainOpened> {
    input.drains?.iter().find(|opened| opened.at == at)
}

/// Said where it was not.
const NOT_FOLLOWED: &str =
    "what opening the drain does was not followed here: `wetrun flush` follows it";

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

/// A larger bore for a downspout, and for what stands below it and would be smaller.
fn larger_downspout(input: &Judged<'_>, index: usize, bore_m: f64) -> Option<String> {
    let foot = End::Downspout(DownspoutId::new(index));
    bores::Larger::new(input, bore_m).below(foot).words(Some(index))
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
