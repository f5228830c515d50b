//! What is asked of a flush on a command line: which drains together, and hoses.

use crate::outcome::Refusal;
use wetrun_motion::{Hose, Place};
use wetrun_network::{DownspoutId, PointId};
use wetrun_site::Site;
use wetrun_units::Flow;

/// Points with a drain, in file order.
pub(super) fn drains(site: &Site) -> Vec<PointId> {
    let points = site.network.points().iter().enumerate();
    points.filter(|(_, p)| p.drain.is_some()).map(|(place, _)| PointId::new(place)).collect()
}

/// Which drains each run opens.
pub(super) fn sets(
    site: &Site,
    drains: &[PointId],
    asked: &[String],
) -> Result<Vec<Vec<PointId>>, Refusal> {
    if asked.is_empty() {
        let mut sets: Vec<_> = drains.iter().map(|drain| vec![*drain]).collect();
        if drains.len() > 1 {
            sets.push(drains.to_vec());
        }
        return Ok(sets);
    }
    let mut set = Vec::new();
    for tag in asked {
        let point = site.network.points().iter().position(|point| point.tag == *tag);
        let Some(point) = point.map(PointId::new) else {
            return Err(Refusal::because(format_args!(
                "--open `{}`: no point has this tag{}",
                tag.escape_debug(),
                known(site, drains)
            )));
        };
        if !drains.contains(&point) {
            return Err(Refusal::because(format_args!(
                "--open `{tag}`: this point has no drain{}",
                known(site, drains)
            )));
        }
        if !set.contains(&point) {
            set.push(point);
        }
    }
    set.sort_unstable();
    Ok(vec![set])
}

fn known(site: &Site, drains: &[PointId]) -> String {
    let tags: Vec<&str> = drains.iter().map(|id| site.network.point(*id).tag.as_str()).collect();
    if tags.is_empty() { String::new() } else { format!("; drains are at {}", tags.join(", ")) }
}

/// A hose as it was written on a command line.
pub(super) fn hose(site: &Site, text: &str) -> Result<Hose, Refusal> {
    let wrong = |why: &dyn std::fmt::Display| {
        Refusal::because(format_args!("--hose `{}`: {why}", text.escape_debug()))
    };
    let Some((flow, tag)) = text.rsplit_once('@') else {
        return Err(wrong(&"a flow and a place, such as `10 gpm@D4`"));
    };
    let flow = site.units.read_flow(flow.trim()).map_err(|error| wrong(&error))?;
    if flow <= Flow::ZERO {
        return Err(wrong(&"a hose brings more than nothing"));
    }
    let tag = tag.trim();
    let network = &site.network;
    let downspout = network.downspouts().iter().position(|d| d.tag == tag);
    let point = network.points().iter().position(|p| p.tag == tag);
    let at = match (downspout, point) {
        (Some(place), _) => Place::Downspout(DownspoutId::new(place)),
        (None, Some(place)) => Place::Point(PointId::new(place)),
        (None, None) => return Err(wrong(&"no downspout and no point has this tag")),
    };
    Ok(Hose { at, flow })
}
