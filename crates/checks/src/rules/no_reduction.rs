//! No reduction: no pipe is smaller than one that feeds it.

use super::prelude::*;
use wetrun_network::{DownspoutId, End, LineId, PointId};

/// The rule.
pub(crate) const RULE: Rule = Rule {
    name: "no-reduction",
    section: Section::Capacity,
    checks: "No line has a smaller bore than a downspout or line that feeds it in the storm.",
    why: "A trunk or riser narrower than what runs into it is where leaves lodge, and where the \
          head goes.",
    limit: None,
    threshold: "the bore of the largest pipe that feeds it",
    source: Source {
        text: "IPC 1101.5: the size of a drainage pipe shall not be reduced in the direction of \
               flow",
        confidence: Confidence::Read,
    },
    keys: "downspouts.*.pipe, lines.*.pipe",
    mend: "give it the bore of the largest pipe that feeds it",
    judge,
};

/// Bores closer than this count as equal.
const BORE_TOLERANCE_M: f64 = 1e-6;

fn judge(rule: &Rule, input: &Judged<'_>) -> Vec<Finding> {
    let units = input.facts.units;
    let mut feeding: Vec<Option<(f64, String)>> = vec![None; input.network.lines().len()];
    let d = (0..input.network.downspouts().len()).map(|i| End::Downspout(DownspoutId::new(i)));
    let p = (0..input.network.points().len()).map(|i| End::Point(PointId::new(i)));
    for end in d.chain(p) {
        let Some((bore_m, tag)) = largest_feeding(input, end) else { continue };
        for (line, _) in input.network.meets(end) {
            if flow_into(input, line.index(), end) < -still(input)
                && feeding[line.index()].as_ref().is_none_or(|(m, _)| *m < bore_m)
            {
                feeding[line.index()] = Some((bore_m, tag.clone()));
            }
        }
    }
    let each = input.network.lines().iter().zip(feeding).enumerate();
    each.filter_map(|(index, (line, fed))| {
        let (bore_m, by) = fed?;
        let inside_m = line.pipe.inside.to_m();
        let holds = inside_m >= bore_m - BORE_TOLERANCE_M;
        let message = format!(
            "bore {}; the largest that feeds it is {by}, {}",
            units.show_size(line.pipe.inside),
            units.show_size(Length::m(bore_m)),
        );
        let mut finding = rule.at(input, &line.tag, pass_if(holds), message);
        if !holds {
            let larger = super::bores::Larger::new(input, bore_m);
            finding.mend = larger.line(LineId::new(index)).words(None);
        }
        Some(finding.with(Amount::Length(line.pipe.inside), metres(bore_m)))
    })
    .collect()
}

/// Flow below which a line counts as standing still, in m³/s.
fn still(input: &Judged<'_>) -> f64 {
    let total: f64 = input.steady.downspouts.iter().map(|d| d.demand.to_m3_per_s()).sum();
    total * 1e-8
}

/// A line's flow into one of its ends, in m³/s.
fn flow_into(input: &Judged<'_>, line: usize, end: End) -> f64 {
    let flow = input.steady.lines[line].flow.to_m3_per_s();
    if input.network.lines()[line].to == end { flow } else { -flow }
}

/// The bore and tag of the largest pipe that brings water to an end.
fn largest_feeding(input: &Judged<'_>, end: End) -> Option<(f64, String)> {
    let still = still(input);
    let mut largest: Option<(f64, String)> = None;
    if let End::Downspout(id) = end
        && input.steady.downspouts[id.index()].admitted.to_m3_per_s() > still
    {
        let downspout = input.network.downspout(id);
        largest = Some((downspout.pipe.inside.to_m(), downspout.tag.clone()));
    }
    for (line, _) in input.network.meets(end) {
        let bore_m = input.network.line(line).pipe.inside.to_m();
        if flow_into(input, line.index(), end) > still
            && largest.as_ref().is_none_or(|(m, _)| *m < bore_m)
        {
            largest = Some((bore_m, input.network.line(line).tag.clone()));
        }
    }
    largest
}
