//! What the job's documents state, for the cover and for the owner.

use wetrun_checks::{Amount, Documents, Facts, Ground, Stated, WaterTest};
use wetrun_network::Tank;
use wetrun_units::UnitSystem;

/// Names and texts of what is stated; what is not shown is left out.
type Lines = Vec<(String, String)>;

/// For the cover: who, which drawings, for what rain, on what ground, tested how.
pub(super) fn cover(facts: &Facts) -> Lines {
    let units = facts.units;
    let d = &facts.documents;
    let mut lines = Lines::new();
    let mut add = |name: &str, text: Option<String>| {
        lines.extend(text.map(|text| (name.to_owned(), text)));
    };
    add("Designer", words(d.designer.as_ref()));
    add("Drawings", d.drawings.as_ref().map(|names| names.join(", ")));
    add("Calculation for", d.calculation.as_ref().map(|r| format!("revision {r}")));
    add("Return period", d.return_period.clone());
    add("Storm averaged over", d.storm_duration.map(|t| Amount::Time(t).show(units)));
    let rain = facts.ordinary_rain;
    add("Ordinary rain", rain.map(|r| Amount::Intensity(r).show(units)));
    add("Roof area measured", d.roof_area.map(|a| Amount::Area(a).show(units)));
    permission(d, units, &mut add);
    add("Tolerances", tolerances(facts));
    ground(&facts.ground, units, &mut add);
    add("Restraint", words(d.restraint.as_ref()));
    add("Water test", facts.test.as_ref().map(|test| water_test(test, units)));
    add("Hold point", words(d.hold_point.as_ref()));
    add("As-built record", words(d.as_built.as_ref()));
    handover(d, &mut add);
    lines
}

/// For the owner: what to read, how often somebody looks, where water goes.
pub(super) fn owner(facts: &Facts, tanks: &[Tank]) -> Lines {
    let mut lines = Lines::new();
    let mut add = |name: &str, text: Option<String>| {
        lines.extend(text.map(|text| (name.to_owned(), text)));
    };
    handover(&facts.documents, &mut add);
    for (tank, shown) in tanks.iter().zip(&facts.tanks) {
        let (tag, units) = (&tank.tag, facts.units);
        add(&format!("{tag}: access"), words(shown.access.as_ref()));
        let distance = shown.discharge.map(|distance| Amount::Length(distance).show(units));
        let out = distance.map(|d| format!("runs out {d} from the building"));
        add(&format!("{tag}: overflow"), out);
    }
    lines
}

fn handover(d: &Documents, add: &mut impl FnMut(&str, Option<String>)) {
    add("Owner's manual", words(d.manual.as_ref()));
    add("Inspection", words(d.inspection.as_ref()));
    add("Stale water", words(d.stale_water.as_ref()));
    add("Labels", words(d.labels.as_ref()));
}

fn permission(d: &Documents, units: UnitSystem, add: &mut impl FnMut(&str, Option<String>)) {
    add("Pipes stand full", words(d.wet_condition.as_ref()));
    let asks = |asks: bool| if asks { "asked for by the code" } else { "not asked for" };
    add("Continuous slope", d.continuous_slope.map(|c| asks(c).to_owned()));
    add("Acceptance", words(d.accepted.as_ref()));
    let least = d.authority_difference.map(|least| match least.to_m() {
        0.0 => "the authority asks for no least height".to_owned(),
        _ => format!("{} at least, by the authority", Amount::Length(least).show(units)),
    });
    add("Opening over inlet", least);
}

fn ground(ground: &Ground, units: UnitSystem, add: &mut impl FnMut(&str, Option<String>)) {
    add("Frost depth", ground.frost_depth.map(|depth| Amount::Length(depth).show(units)));
    add("Ground water, highest", ground.water_level.map(|l| units.show_level(l).to_string()));
    add("Footings", words(ground.footings.as_ref()));
    add("Services", words(ground.services.as_ref()));
    add("Bedding", words(ground.bedding.as_ref()));
}

fn tolerances(facts: &Facts) -> Option<String> {
    let given = facts.tolerances.as_ref()?;
    let one = |name: &str, off: Option<_>| {
        off.map(|off| format!("{name} ±{}", Amount::Length(off).show(facts.units)))
    };
    let all = [one("openings", given.opening), one("tank inlets", given.inlet)];
    let all: Vec<String> = all.into_iter().flatten().collect();
    (!all.is_empty()).then(|| all.join(", "))
}

fn water_test(test: &WaterTest, units: UnitSystem) -> String {
    let medium = test.medium.clone().unwrap_or_else(|| "medium not shown".to_owned());
    let level = test.level.map(|level| format!("held at {}", units.show_level(level)));
    let time = test.duration.map(|time| format!("for {}", Amount::Time(time).show(units)));
    let parts = [Some(medium), level, time];
    parts.into_iter().flatten().collect::<Vec<_>>().join(" ")
}

/// A statement as the file words it; a denial stays one.
pub(super) fn words(stated: Option<&Stated>) -> Option<String> {
    stated.map(|stated| match stated {
        Stated::Yes(text) => text.clone(),
        Stated::No => "none".to_owned(),
    })
}
