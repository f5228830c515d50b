//! What a site file shows besides its network, handed to the rules.

use crate::outcome::Refusal;
use std::time::Duration;
use wetrun_checks::{
    Amount, Benchmark, Documents, DownspoutFacts, DrainOutlet, Facts, FirstFlush, Ground, Gutter,
    GutterShape, HoldDown, LimitGiven, LineFacts, PointFacts, Roof, Screen, Stated, TankFacts,
    Tolerances, Vent, WaterTest,
};
use wetrun_site::review_keys::{Cap, Device};
use wetrun_site::{Code, Diagnostic, RuleLimit, Site};
use wetrun_solver::laws::Force;
use wetrun_units::{Length, UnitSystem, nearest};

/// The facts of a site.
///
/// # Errors
/// A refusal where `rules:` names a rule that does not exist, or gives it a limit of the wrong
/// kind.
pub(crate) fn facts(site: &Site) -> Result<Facts, Refusal> {
    let review = &site.review;
    let limits = limits(site)?;
    Ok(Facts {
        units: site.units,
        freeboard: freeboard(&limits).unwrap_or(site.targets.freeboard),
        freeboard_given: site.targets.freeboard_given,
        datum: shown(site.datum.as_ref()),
        benchmarks: site
            .benchmarks
            .iter()
            .map(|b| Benchmark { tag: b.tag.clone(), level: b.level, at: shown(b.at.as_ref()) })
            .collect(),
        storm_basis: shown(site.storm.basis.as_ref()),
        ordinary_rain: review.ordinary_rain,
        revision: shown(review.revision.as_ref()),
        documents: documents(site),
        ground: ground(site),
        test: review.test.as_ref().map(|t| WaterTest {
            medium: shown(t.medium.as_ref()),
            level: t.level,
            duration: t.duration,
        }),
        tolerances: review
            .tolerances
            .as_ref()
            .map(|t| Tolerances { opening: t.opening, inlet: t.inlet }),
        roofs: site.roofs.iter().map(|r| Roof { name: r.tag.clone(), area: r.area }).collect(),
        gutters: site.gutters.iter().map(gutter).collect(),
        downspouts: (0..site.downspouts.len()).map(|i| downspout(site, i)).collect(),
        points: (0..site.points.len()).map(|i| point(site, i)).collect(),
        lines: (0..site.lines.len()).map(|i| line(site, i)).collect(),
        tanks: site.tanks.iter().map(|notes| tank(site, notes)).collect(),
        limits,
    })
}

/// The freeboard that `rules:` sets; it and `targets.freeboard` are one thing.
fn freeboard(limits: &[LimitGiven]) -> Option<Length> {
    limits.iter().filter(|given| given.rule == "freeboard").find_map(|given| match given.limit {
        Amount::Length(limit) => Some(limit),
        _ => None,
    })
}

fn stated(text: Option<&String>) -> Option<Stated> {
    Stated::of(text?)
}

/// A text that says something; words that only hold a place say nothing.
fn shown(text: Option<&String>) -> Option<String> {
    wetrun_checks::shown(text?).map(str::to_owned)
}

fn documents(site: &Site) -> Documents {
    let Some(documents) = &site.review.documents else { return Documents::default() };
    Documents {
        drawings: documents.drawings.as_ref().and_then(|names| drawings(names)),
        calculation: shown(documents.calculation.as_ref()),
        return_period: shown(documents.return_period.as_ref()),
        storm_duration: documents.storm_duration,
        wet_condition: stated(documents.wet_condition.as_ref()),
        continuous_slope: documents.continuous_slope,
        accepted: stated(documents.accepted.as_ref()),
        designer: stated(documents.designer.as_ref()),
        authority_difference: documents.authority_difference,
        roof_area: documents.roof_area,
        stale_water: stated(documents.stale_water.as_ref()),
        restraint: stated(documents.restraint.as_ref()),
        hold_point: stated(documents.hold_point.as_ref()),
        manual: stated(documents.manual.as_ref()),
        as_built: stated(documents.as_built.as_ref()),
        inspection: stated(documents.inspection.as_ref()),
        labels: stated(documents.labels.as_ref()),
    }
}

fn ground(site: &Site) -> Ground {
    let Some(shown) = &site.review.ground else { return Ground::default() };
    Ground {
        frost_depth: shown.frost_depth,
        water_level: shown.water_level,
        footings: stated(shown.footings.as_ref()),
        services: stated(shown.services.as_ref()),
        bedding: stated(shown.bedding.as_ref()),
    }
}

fn gutter(gutter: &wetrun_site::Gutter) -> Gutter {
    let shape = match gutter.shape {
        wetrun_site::GutterShape::HalfRound => GutterShape::HalfRound,
        wetrun_site::GutterShape::Rectangular | wetrun_site::GutterShape::Trapezoidal => {
            GutterShape::Rectangular
        }
    };
    Gutter {
        name: gutter.tag.clone(),
        shape,
        width: gutter.width,
        depth: gutter.depth.unwrap_or(gutter.width * 0.5),
        floor: gutter.review.bottom,
        slope: Some(gutter.slope),
        length: gutter.length,
        assumed: assumed(gutter),
    }
}

/// Keys of a gutter that the file does not give and that would make it carry less.
fn assumed(gutter: &wetrun_site::Gutter) -> Vec<&'static str> {
    let sole = gutter.shape == wetrun_site::GutterShape::Trapezoidal;
    let missing = [
        ("depth", gutter.depth.is_none()),
        ("length", gutter.length.is_none()),
        ("bottom", sole && gutter.review.bottom.is_none()),
    ];
    missing.into_iter().filter(|(_, missing)| *missing).map(|(key, _)| key).collect()
}

/// The drawings of the set that are named.
fn drawings(names: &[String]) -> Option<Vec<String>> {
    let named: Vec<String> = names.iter().filter_map(|name| shown(Some(name))).collect();
    (!named.is_empty()).then_some(named)
}

/// Whether an item writes down its fittings or a loss coefficient, none among them.
fn losses_shown(site: &Site, section: &str, tag: &str) -> bool {
    ["fittings", "k"].iter().any(|key| site.place(&[section, tag, key]).is_some())
}

fn downspout(site: &Site, index: usize) -> DownspoutFacts {
    let notes = &site.downspouts[index];
    let shown = &notes.review;
    let default = site.review.defaults.as_ref().and_then(|all| all.downspouts.as_ref());
    let tag = &site.network.downspouts()[index].tag;
    let leaf_mesh = shown.leaf_mesh.or(default.and_then(|all| all.leaf_mesh));
    let screen = site.place(&["downspouts", tag, "screen"]).is_some();
    DownspoutFacts {
        gutter: notes.gutter,
        lip_given: notes.lip_given,
        losses_shown: losses_shown(site, "downspouts", tag),
        outlet_size: shown.outlet_size.or(default.and_then(|all| all.outlet_size)),
        screen: (screen || leaf_mesh.is_some())
            .then_some(Screen { open: notes.screen_open, mesh: leaf_mesh }),
        insect_mesh: shown.insect_mesh.or(default.and_then(|all| all.insect_mesh)),
        first_flush: device(
            shown.first_flush.as_ref().or(default.and_then(|all| all.first_flush.as_ref())),
        ),
        no_first_flush: none(
            shown.first_flush.as_ref().or(default.and_then(|all| all.first_flush.as_ref())),
        ),
        watertight_to: shown.watertight_to,
        cleanout: shown.cleanout.or(default.and_then(|all| all.cleanout)),
        ground: shown.ground,
        frost: stated(shown.frost.as_ref().or(default.and_then(|all| all.frost.as_ref()))),
    }
}

fn device(shown: Option<&Device>) -> Option<FirstFlush> {
    match shown? {
        Device::Is(shown) => {
            Some(FirstFlush { volume: shown.volume, cap: shown.cap, ground: shown.ground })
        }
        Device::None => None,
    }
}

fn none(shown: Option<&Device>) -> bool {
    shown == Some(&Device::None)
}

fn point(site: &Site, index: usize) -> PointFacts {
    let shown = &site.points[index].review;
    let default = site.review.defaults.as_ref().and_then(|all| all.points.as_ref());
    let point = &site.network.points()[index];
    let said = site.place(&["points", &point.tag, "cleanout"]).is_some();
    let cap = shown.cap.or(default.and_then(|all| all.cap));
    PointFacts {
        cleanout: said.then_some(point.cleanout),
        vent: shown.vent.as_ref().map(|v| Vent { level: v.level, mesh: v.mesh }),
        cap: match cap {
            Some(Cap::At(level)) => Some(level),
            _ => None,
        },
        cap_sealed: cap == Some(Cap::Sealed),
        drain_outlet: shown
            .drain_outlet
            .as_ref()
            .map(|d| DrainOutlet { level: d.level, to: stated(d.to.as_ref()) }),
        first_flush: device(shown.first_flush.as_ref()),
    }
}

fn line(site: &Site, index: usize) -> LineFacts {
    let notes = &site.lines[index];
    let default = site.review.defaults.as_ref().and_then(|all| all.lines.as_ref());
    let tag = &site.network.lines()[index].tag;
    LineFacts {
        losses_shown: losses_shown(site, "lines", tag),
        profile_shown: notes.profile_given,
        vehicles: notes.review.vehicles.or(default.and_then(|all| all.vehicles)),
        frost: stated(notes.review.frost.as_ref().or(default.and_then(|all| all.frost.as_ref()))),
    }
}

fn tank(site: &Site, notes: &wetrun_site::TankNotes) -> TankFacts {
    let shown = &notes.review;
    let default = site.review.defaults.as_ref().and_then(|all| all.tanks.as_ref());
    TankFacts {
        inlet_mesh: shown.inlet_mesh.or(default.and_then(|all| all.inlet_mesh)),
        overflow_mesh: shown.overflow_mesh.or(default.and_then(|all| all.overflow_mesh)),
        discharge: shown.overflow_distance,
        base: stated(shown.base.as_ref().or(default.and_then(|all| all.base.as_ref()))),
        access: stated(shown.access.as_ref().or(default.and_then(|all| all.access.as_ref()))),
        frost: stated(shown.frost.as_ref().or(default.and_then(|all| all.frost.as_ref()))),
        buried: shown.buried.or(default.and_then(|all| all.buried)),
        hold_down: shown.hold_down.as_ref().map(|hold| HoldDown {
            outside: hold.outside,
            weight: hold.weight.map(|weight| Force::n(weight.to_n())),
            plan: hold.plan,
            cover: hold.cover,
        }),
    }
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
