//! What a site shows, with the thresholds that it sets: each read as its rule's own kind of amount.

use crate::outcome::Refusal;
use std::time::Duration;
use wetrun_checks::{Amount, Facts, LimitGiven};
use wetrun_site::{Code, Diagnostic, RuleLimit, Site};
use wetrun_units::{Length, UnitSystem, nearest};

/// The facts of a site.
///
/// # Errors
/// A refusal where `rules:` names a rule that does not exist, or gives it a limit of the wrong
/// kind.
pub(crate) fn facts(site: &Site) -> Result<Facts, Refusal> {
    let limits = limits(site)?;
    let facts = site.facts();
    let freeboard = freeboard(&limits).unwrap_or(facts.freeboard);
    Ok(Facts { freeboard, limits, ..facts })
}

/// The freeboard that `rules:` sets; it and `targets.freeboard` are one thing.
fn freeboard(limits: &[LimitGiven]) -> Option<Length> {
    limits.iter().filter(|given| given.rule == "freeboard").find_map(|given| match given.limit {
        Amount::Length(limit) => Some(limit),
        _ => None,
    })
}

/// The thresholds of the site file, each read as its rule's own; every fault of them together.
fn limits(site: &Site) -> Result<Vec<LimitGiven>, Refusal> {
    let read: Vec<_> = site.rules.iter().map(|rule| limit(site, rule)).collect();
    if read.iter().any(Result::is_err) {
        let faults = read.into_iter().filter_map(Result::err).map(|fault| *fault).collect();
        return Err(site.diagnostics(faults).into());
    }
    Ok(read.into_iter().flatten().collect())
}

fn limit(site: &Site, given: &RuleLimit) -> Result<LimitGiven, Box<Diagnostic>> {
    let keys = ["rules", given.rule.as_str(), "limit"];
    let Some(rule) = wetrun_checks::rule(&given.rule) else {
        let names = wetrun_checks::rules().iter().map(|rule| rule.name);
        let near = nearest(&given.rule, names).map(str::to_owned);
        let message = format!("there is no rule `{}`", given.rule);
        let expected = "a rule that the review has: `wetrun explain` lists them";
        let mut fault = site.fault_at(&keys[..2], Code::Reference, message, expected);
        fault.nearest = near;
        return Err(Box::new(fault));
    };
    let Some(built_in) = rule.limit else {
        let message = format!("the rule `{}` has no limit to change", given.rule);
        let fault = site.fault_at(&keys[..2], Code::Reference, message, "a rule with a limit");
        return Err(Box::new(fault));
    };
    let limit = read_limit(site.units, built_in, &given.limit).ok_or_else(|| {
        let message = format!("`{}` is no limit of this rule", given.limit);
        let expected = format!("a limit such as `{}`", built_in.show(site.units));
        Box::new(site.fault_at(&keys, Code::Value, message, expected))
    })?;
    Ok(LimitGiven {
        rule: given.rule.clone(),
        limit,
        reason: given.reason.clone(),
        basis: given.basis.clone().unwrap_or_else(|| "not given".to_owned()),
    })
}

/// Reads a text as the same kind of amount as `like`.
fn read_limit(units: UnitSystem, like: Amount, text: &str) -> Option<Amount> {
    match like {
        Amount::Length(_) => length(units, text).map(Amount::Length),
        Amount::Area(_) => units.read_area(text).ok().map(Amount::Area),
        Amount::Volume(_) => units.read_volume(text).ok().map(Amount::Volume),
        Amount::Flow(_) => units.read_flow(text).ok().map(Amount::Flow),
        Amount::Intensity(_) => units.read_intensity(text).ok().map(Amount::Intensity),
        Amount::Speed(_) => units.read_speed(text).ok().map(Amount::Speed),
        Amount::Slope(_) => units.read_slope(text).ok().map(Amount::Slope),
        Amount::Fraction(_) => units.read_fraction(text).ok().map(Amount::Fraction),
        Amount::Number(_) => {
            text.trim().parse().ok().filter(|n: &f64| n.is_finite()).map(Amount::Number)
        }
        Amount::Time(_) => {
            let time = units.read_time(text).ok()?;
            Duration::try_from_secs_f64(time.to_s()).ok().map(Amount::Time)
        }
        Amount::Pressure(_) => units.read_pressure(text).ok().map(Amount::Pressure),
    }
}

/// A length with its unit: limits are large and small, so that a bare number would not say which.
fn length(units: UnitSystem, text: &str) -> Option<Length> {
    let bare = text.trim().parse::<f64>().is_ok_and(|number| number != 0.0);
    units.read_level(text).ok().filter(|_| !bare)
}
