//! A station put into a line's profile.

use super::split::{at, one, stations};
use super::{outline, site};
use crate::outcome::Refusal;
use crate::site_levels::value;
use wetrun_network::Station;
use wetrun_site::Written;
use wetrun_site::edit::{Change, change};

/// The text with a station in the middle of the widest gap of a line's profile; a line without a
/// profile gets one that says what it was: straight between its ends.
///
/// # Errors
/// A refusal where the line is not there, or the file has errors.
pub fn with_station(text: &str, tag: &str) -> Result<String, Refusal> {
    let (site, written) = (site(text)?, outline(text)?);
    let line = site.network.lines().iter().find(|line| line.tag == tag);
    let line = line.ok_or_else(|| Refusal::because(format_args!("there is no line `{tag}`")))?;
    let keys = ["lines", tag, "profile"];
    let put = match written.written(&keys) {
        None => {
            let length = match written.written(&["lines", tag, "length"]) {
                Some(Written::Text(length)) => length.to_owned(),
                _ => value(site.units, line.length),
            };
            Change::yaml(&keys, stations(site.units, &line.profile, &length))
        }
        Some(_) => {
            let gaps = line.profile.windows(2).enumerate();
            let gap = |pair: &[Station]| (pair[1].at - pair[0].at).to_m();
            let widest = gaps.max_by(|(_, a), (_, b)| gap(a).total_cmp(&gap(b)));
            let Some((index, [a, b])) = widest else { return Ok(text.to_owned()) };
            let station = at(line, a.at + (b.at - a.at) * 0.5);
            let index = (index + 1).to_string();
            let keys = ["lines", tag, "profile", &index];
            Change::item(&keys, one(site.units, &station, &value(site.units, station.at)))
        }
    };
    change(text, &[put]).map_err(Refusal::because)
}
