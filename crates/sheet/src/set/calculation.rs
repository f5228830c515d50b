//! The calculation sheet: equations, coefficients with sources, and every line's numbers.

use super::{Block, Part, Table, or_dash};
use crate::input::SheetInput;
use crate::values::{head, level_unit, pipe_name};
use wetrun_network::{FittingUse, Pipe};
use wetrun_solver::laws::head_loss;
use wetrun_solver::{FrictionLaw, LineState};
use wetrun_units::{Length, UnitSystem, decimal};

pub(super) fn part(input: &SheetInput<'_>) -> Part {
    let mut blocks = vec![Block::Heading("1  Equations".to_owned())];
    blocks.extend(equations(input));
    blocks.push(Block::Heading("2  Demand".to_owned()));
    blocks.extend(demand(input));
    blocks.push(Block::Heading("3  Pipes".to_owned()));
    blocks.push(Block::Table(pipes(input)));
    blocks.push(Block::Heading("4  Loss coefficients".to_owned()));
    blocks.extend(coefficients(input));
    blocks.push(Block::Heading("5  Lines".to_owned()));
    blocks.push(Block::Text(
        "Flow, speed and losses are positive from the first end to the second. Head lost in fittings includes the combining loss of a wye or tee at the line's end.".to_owned(),
    ));
    blocks.push(Block::Table(lines(input)));
    blocks.push(Block::Text(proof(input)));
    Part { title: "Calculation sheet".to_owned(), wide: false, blocks }
}

fn equations(input: &SheetInput<'_>) -> Vec<Block> {
    let mut lines = vec![
        "Demand of a downspout: Q = Σ (rain × roof area × runoff × share).".to_owned(),
        "Speed in the bore: V = Q / (π D²/4); D is the inside diameter.".to_owned(),
        "Head lost in fittings: h = ΣK · V²/2g, g = 9.80665 m/s² (32.174 ft/s²). The velocity head is not recovered anywhere.".to_owned(),
    ];
    match input.scenario.law {
        FrictionLaw::DarcyWeisbach => {
            lines.push("Friction (Darcy-Weisbach): h = f · L/D · V²/2g.".to_owned());
            lines.push("f by Colebrook-White for Re ≥ 4000: 1/√f = −2 log10( ε/(3.7 D) + 2.51/(Re √f) ); f = 64/Re for Re ≤ 2000; a smooth bridge between.".to_owned());
            let nu = wetrun_solver::laws::water::viscosity(input.scenario.temperature);
            let nu = decimal(nu.to_m2_per_s() * 1e6, 4);
            let temperature = input.units.show_temperature(input.scenario.temperature);
            let water = format!(
                "Reynolds number: Re = V D/ν with ν = {nu} × 10⁻⁶ m²/s at {temperature} (IAPWS)."
            );
            lines.push(water);
        }
        FrictionLaw::HazenWilliams => {
            lines.push("Friction (Hazen-Williams): V = 0.849 · C · R^0.63 · S^0.54 in m and s, with R = D/4; h = S · L, S with the exact exponent 1/0.54.".to_owned());
        }
    }
    if input.network.points().iter().any(|p| p.fitting.is_some()) {
        lines.push("Combining loss of a wye or tee, on the velocity head of the combined stream, q the branch's share of the flow, β branch bore over combined bore: branch K = C [1 + (q/β²)² − 2(1 − q)² − (F/β²) q²]; run K = 1 − (1 − q)² − (F/β²) q² (wye) or 1.55 q − q² (tee); F = 1.41 (wye) or 0 (tee); C = 1 where β² ≤ 0.35, else 0.9(1 − q) up to q = 0.4 and 0.55 beyond. Source: Crane Technical Paper 410.".to_owned());
    }
    lines.push("Head at a tank inlet: the larger of inlet invert + Ec(Q) and tank water level + V²/2g; Ec is the specific energy at critical depth in the round bore.".to_owned());
    lines.push("A full tank's water: overflow invert + Ec(Q) + K·Vc²/2g in the overflow pipe, Vc its critical speed.".to_owned());
    lines.push("Standing level of a downspout: head at its foot + friction over its wetted length + ΣK · V²/2g in its own pipe.".to_owned());
    lines.push(
        "At a high point that stands above the head downstream, the head is that invert + Ec(Q)."
            .to_owned(),
    );
    lines.into_iter().map(Block::Formula).collect()
}

fn demand(input: &SheetInput<'_>) -> Vec<Block> {
    let units = input.units;
    let flow = if units == UnitSystem::Us { "gpm" } else { "L/s" };
    let rain = units.show_intensity(input.scenario.intensity);
    let factor = match units {
        UnitSystem::Us => "1 in/h on 1 sq ft is 0.0103896 gpm (7.48052/(12 · 60)).",
        UnitSystem::Si => "1 mm/h on 1 m² is 1/3600 L/s.",
    };
    let mut blocks = vec![Block::Text(format!("Rain {rain} on every roof. {factor}"))];
    if input.facts.roofs.is_empty() {
        let mut table = Table::new(&[
            ("Downspout", "", false),
            ("Catchment × runoff", area_unit(units), true),
            ("Demand", flow, true),
        ]);
        for (d, state) in input.network.downspouts().iter().zip(&input.steady.downspouts) {
            table.row([
                d.tag.clone(),
                units.show_area(d.catchment).number,
                units.show_flow(state.demand).number,
            ]);
        }
        blocks.push(Block::Table(table));
        return blocks;
    }
    let mut table = Table::new(&[
        ("Roof", "", false),
        ("To", "", false),
        ("Area in plan", area_unit(units), true),
        ("Runoff", "", true),
        ("Share", "%", true),
        ("Demand", flow, true),
    ]);
    let shares = input.facts.roofs.iter().flat_map(|r| r.shares.iter().map(move |s| (r, s)));
    for (roof, share) in shares {
        let m2 = roof.area.to_m2() * roof.runoff.to_ratio() * share.share.to_ratio();
        let flow = wetrun_units::Flow::m3_per_s(m2 * input.scenario.intensity.to_m_per_s());
        table.row([
            roof.name.clone(),
            input.network.downspout(share.to).tag.clone(),
            units.show_area(roof.area).number,
            decimal(roof.runoff.to_ratio(), 2),
            units.show_fraction(share.share).number,
            units.show_flow(flow).number,
        ]);
    }
    let total: f64 = input.steady.downspouts.iter().map(|d| d.demand.to_m3_per_s()).sum();
    let total = units.show_flow(wetrun_units::Flow::m3_per_s(total)).number;
    let cells =
        ["All roofs".to_owned(), String::new(), String::new(), String::new(), String::new(), total];
    table.push(cells, super::RowKind::Total);
    blocks.push(Block::Table(table));
    blocks
}

fn area_unit(units: UnitSystem) -> &'static str {
    if units == UnitSystem::Us { "sq ft" } else { "m²" }
}

/// Every pipe once, in order of first use.
fn pipes(input: &SheetInput<'_>) -> Table {
    let units = input.units;
    let small = if units == UnitSystem::Us { "in" } else { "mm" };
    let (wall, wall_unit) = match input.scenario.law {
        FrictionLaw::DarcyWeisbach => ("Roughness ε", small),
        FrictionLaw::HazenWilliams => ("C", ""),
    };
    let mut table = Table::new(&[
        ("Pipe", "", false),
        ("Inside diameter", small, true),
        (wall, wall_unit, true),
        ("Source", "", false),
    ]);
    let network = input.network;
    let overflows = network.tanks().iter().filter_map(|t| t.overflow.as_ref()?.pipe.as_ref());
    let all = network
        .lines()
        .iter()
        .map(|l| &l.pipe)
        .chain(network.downspouts().iter().map(|d| &d.pipe))
        .chain(overflows);
    let mut seen: Vec<&Pipe> = Vec::new();
    for pipe in all {
        if seen.iter().any(|p| p.label == pipe.label && p.inside == pipe.inside) {
            continue;
        }
        seen.push(pipe);
        let wall = match input.scenario.law {
            FrictionLaw::DarcyWeisbach => pipe.roughness.map(|r| units.show_roughness(r).number),
            FrictionLaw::HazenWilliams => pipe.c.map(|c| decimal(c, 0)),
        };
        table.row([
            pipe_name(units, pipe),
            units.show_size(pipe.inside).number,
            wall.unwrap_or_else(|| "–".to_owned()),
            or_dash(&pipe.source),
        ]);
    }
    table
}

fn coefficients(input: &SheetInput<'_>) -> Vec<Block> {
    let mut table = Table::new(&[("Fitting", "", false), ("K", "", true), ("Source", "", false)]);
    for c in &input.coefficients {
        table.row([c.name.clone(), decimal(c.k, 3), or_dash(&c.source)]);
    }
    if input.coefficients.is_empty() {
        let network = input.network;
        let lines = network.lines().iter().flat_map(|l| &l.fittings);
        let used = lines.chain(network.downspouts().iter().flat_map(|d| &d.fittings));
        let mut seen: Vec<&FittingUse> = Vec::new();
        for fitting in used {
            if !seen.iter().any(|f| f.name == fitting.name) {
                seen.push(fitting);
                table.row([fitting.name.clone(), decimal(fitting.k, 3), "site file".to_owned()]);
            }
        }
    }
    if table.rows.is_empty() {
        return vec![Block::Text("The site file counts no fittings.".to_owned())];
    }
    let note = "K stands on the velocity head of the pipe the fitting is in. Published values of one fitting spread widely; the source is named for that reason.";
    vec![Block::Table(table), Block::Text(note.to_owned())]
}

fn lines(input: &SheetInput<'_>) -> Table {
    let units = input.units;
    let level = level_unit(units);
    let us = units == UnitSystem::Us;
    let hazen = input.scenario.law == FrictionLaw::HazenWilliams;
    let mut table = Table::new(&[
        ("Line", "", false),
        ("From, to", "", false),
        ("Bore", if us { "in" } else { "mm" }, true),
        ("Length", if us { "ft" } else { "m" }, true),
        ("Flow", if us { "gpm" } else { "L/s" }, true),
        ("Speed", if us { "ft/s" } else { "m/s" }, true),
        (if hazen { "Slope S" } else { "Re" }, if hazen { "%" } else { "" }, true),
        (if hazen { "C" } else { "f" }, "", true),
        ("ΣK", "", true),
        ("Friction", level, true),
        ("Fittings", level, true),
        ("Head, from", level, true),
        ("Head, to", level, true),
    ]);
    let mut broken = false;
    for (line, state) in input.network.lines().iter().zip(&input.steady.lines) {
        broken |= state.broken;
        let (first, second) = if hazen {
            let slope = state.friction_loss.to_m() / line.length.to_m() * 100.0;
            (decimal(slope, 3), line.pipe.c.map_or("–".to_owned(), |c| decimal(c, 0)))
        } else {
            (decimal(state.reynolds, 0), factor(state, line.pipe.inside, line.length))
        };
        table.row([
            if state.broken { format!("{} *", line.tag) } else { line.tag.clone() },
            format!("{} → {}", input.network.end_tag(line.from), input.network.end_tag(line.to)),
            units.show_size(line.pipe.inside).number,
            units.show_length(line.length).number,
            units.show_flow(state.flow).number,
            units.show_speed(state.velocity).number,
            first,
            second,
            decimal(line.total_k(), 2),
            head(units, state.friction_loss),
            head(units, state.fitting_loss),
            head(units, state.from_head),
            head(units, state.to_head),
        ]);
    }
    if broken {
        table.push(["* broken by a high point".to_owned()], super::RowKind::Group);
    }
    table
}

/// The friction factor that gives the friction loss, for a full line with flow.
fn factor(state: &LineState, bore: Length, length: Length) -> String {
    let velocity_head_m = head_loss::fitting(1.0, state.velocity).to_m().abs();
    let f = state.friction_loss.to_m().abs() * bore.to_m() / (length.to_m() * velocity_head_m);
    if state.broken || !f.is_finite() || velocity_head_m < 1e-12 {
        "–".to_owned()
    } else {
        decimal(f, 4)
    }
}

fn proof(input: &SheetInput<'_>) -> String {
    let residuals = &input.steady.residuals;
    let how = match residuals.iterations {
        0 => "Solved from the tanks outwards, without iteration".to_owned(),
        1 => "Solved in one step".to_owned(),
        n => format!("Solved in {n} steps"),
    };
    let small = |value: f64| if value == 0.0 { "0".to_owned() } else { format!("{value:.0e}") };
    format!(
        "{how}. Largest imbalance of flow at any point: {} of the total demand. Largest error of any head: {} m.",
        small(residuals.continuity),
        small(residuals.head.to_m())
    )
}
