//! What the file says nowhere is asked once for the whole site.

use crate::finding::{Finding, Outcome};

/// Keys that `defaults:` can answer for all of a section at once.
const DEFAULTS: [&str; 15] = [
    "downspouts.outlet_size",
    "downspouts.leaf_mesh",
    "downspouts.insect_mesh",
    "downspouts.first_flush",
    "downspouts.cleanout",
    "downspouts.frost",
    "points.cap",
    "lines.vehicles",
    "lines.frost",
    "tanks.inlet_mesh",
    "tanks.overflow_mesh",
    "tanks.base",
    "tanks.access",
    "tanks.frost",
    "tanks.buried",
];

/// Joins the findings of one rule that say the same thing is not shown at several places, where it
/// is shown at none.
pub(crate) fn once(findings: Vec<Finding>) -> Vec<Finding> {
    let mut out: Vec<Finding> = Vec::with_capacity(findings.len());
    for finding in &findings {
        if out.iter().any(|told| stands_for(told, finding)) {
            continue;
        }
        let alike: Vec<&Finding> = findings.iter().filter(|other| alike(other, finding)).collect();
        let asked = findings.iter().filter(|other| asks_alike(other, finding)).count();
        let elsewhere = findings
            .iter()
            .any(|other| matches!(other.outcome, Outcome::Pass | Outcome::Fail | Outcome::Caution));
        if alike.len() < 2 || alike.len() < asked || elsewhere {
            out.push(finding.clone());
            continue;
        }
        out.push(Finding {
            at: "site".to_owned(),
            message: format!("{} ({})", finding.message, everywhere(alike.len())),
            missing: shortest(&alike),
            value: None,
            limit: None,
            ..finding.clone()
        });
    }
    out
}

fn everywhere(places: usize) -> String {
    format!("all {places} places")
}

fn alike(a: &Finding, b: &Finding) -> bool {
    a.outcome == Outcome::NotShown && b.outcome == Outcome::NotShown && a.message == b.message
}

/// Whether two findings ask for the same keys, each at its own place.
fn asks_alike(a: &Finding, b: &Finding) -> bool {
    let names = |finding: &Finding| -> Vec<String> {
        let name = |key: &String| key.rsplit('.').next().unwrap_or_default().to_owned();
        finding.missing.iter().map(name).collect()
    };
    a.outcome == b.outcome && names(a) == names(b)
}

/// Whether a finding for the whole site was made of one like `finding`.
fn stands_for(told: &Finding, finding: &Finding) -> bool {
    told.at == "site"
        && finding.at != "site"
        && finding.outcome == Outcome::NotShown
        && told.outcome == Outcome::NotShown
        && told
            .message
            .strip_prefix(&*finding.message)
            .is_some_and(|rest| rest.starts_with(" (all "))
}

/// The keys that answer all of these: one of `defaults:` where it can.
fn shortest(findings: &[&Finding]) -> Vec<String> {
    let mut keys: Vec<String> = Vec::new();
    for key in findings.iter().flat_map(|finding| &finding.missing) {
        let key = default_of(key).unwrap_or_else(|| key.clone());
        if !keys.contains(&key) {
            keys.push(key);
        }
    }
    keys
}

/// `defaults.lines.vehicles` for `lines.L1.vehicles`.
fn default_of(key: &str) -> Option<String> {
    let (section, rest) = key.split_once('.')?;
    let name = rest.rsplit_once('.')?.1;
    DEFAULTS
        .iter()
        .find(|known| known.split_once('.') == Some((section, name)))
        .filter(|_| rest.matches('.').count() == 1)
        .map(|known| format!("defaults.{known}"))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn keys_of_one_section_have_a_default() {
        assert_eq!(default_of("lines.L1.vehicles").as_deref(), Some("defaults.lines.vehicles"));
        assert_eq!(default_of("lines.L1.profile"), None);
        assert_eq!(default_of("tanks.T1.hold_down.cover"), None);
        assert_eq!(default_of("revision"), None);
    }
}
