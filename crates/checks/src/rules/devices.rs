//! First-flush devices: where they are, what they hold, and what is not shown of them.

use crate::Judged;
use wetrun_facts::FirstFlush;
use wetrun_units::Volume;

/// First-flush devices, each with the tag of its place.
pub(super) fn first_flush_devices<'a>(input: &Judged<'a>) -> Vec<(&'a str, FirstFlush)> {
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
pub(super) fn first_flush_volume(input: &Judged<'_>) -> Option<Volume> {
    let volumes: Option<Vec<Volume>> =
        first_flush_devices(input).iter().map(|(_, device)| device.volume).collect();
    let volumes = volumes.filter(|v| !v.is_empty())?;
    Some(volumes.iter().fold(Volume::ZERO, |sum, v| sum + *v))
}

/// The keys that would show how much the first-flush devices hold, or that there are none.
pub(super) fn first_flush_keys(input: &Judged<'_>) -> Vec<String> {
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
pub(super) fn says_no_first_flush(input: &Judged<'_>) -> bool {
    let mut downspouts = 0..input.network.downspouts().len();
    downspouts.all(|index| input.facts.downspout(index).no_first_flush)
        && first_flush_devices(input).is_empty()
}
