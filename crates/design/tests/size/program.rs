//! The same trees as a mixed-integer program in a general-purpose solver: a yes or no for every
//! size of every line, the heads as sums, written from the laws alone.

use crate::random::{Shape, tree};
use good_lp::{
    Expression, Solution, SolverModel, Variable, constraint, microlp, variable, variables,
};
use wetrun_design::size::{Outcome, Problem, choose};
use wetrun_network::{End, Line};
use wetrun_solver::laws::{head_loss, outfall, water};
use wetrun_units::{Flow, Length};

/// The least cost by the general-purpose solver, of a tree as [`tree`] makes them: one tank, all
/// lines open and running towards it, no inverts in the way. `None` where it finds none.
pub(crate) fn least_cost(problem: &Problem) -> Option<f64> {
    let network = &problem.network;
    let demand = |d: usize| network.downspouts()[d].catchment.to_m2();
    // What passes each end: lines were made from the tank outward.
    let mut flow = vec![0.0; network.lines().len()];
    for index in (0..flow.len()).rev() {
        let line = &network.lines()[index];
        if let End::Downspout(id) = line.from {
            flow[index] += demand(id.index());
        }
        if let Some(next) = next(problem, line) {
            flow[next] += flow[index];
        }
    }
    let mut variables = variables!();
    let mut picks: Vec<Vec<Variable>> = Vec::new();
    for open in &problem.open {
        let yes_or_no = |_| variables.add(variable().binary());
        picks.push(open.candidates.iter().map(yes_or_no).collect());
    }
    let sum = |line: usize, of: &dyn Fn(usize) -> f64| -> Expression {
        picks[line].iter().enumerate().map(|(size, pick)| of(size) * *pick).sum()
    };
    let bore = |line: usize, size: usize| problem.open[line].candidates[size].pipe.inside;
    let costs = (0..picks.len()).map(|line| {
        let length_m = network.lines()[line].length.to_m();
        sum(line, &|size| problem.open[line].candidates[size].cost_per_m * length_m)
    });
    let cost: Expression = costs.sum();
    let mut model = variables.minimise(cost.clone()).using(microlp);
    for (index, line) in network.lines().iter().enumerate() {
        model = model.with(constraint!(sum(index, &|_| 1.0) == 1.0));
        if let Some(next) = next(problem, line) {
            let bores = sum(next, &|size| bore(next, size).to_m() * 1e3)
                - sum(index, &|size| bore(index, size).to_m() * 1e3);
            model = model.with(constraint!(bores >= 0.0));
        }
        let End::Downspout(id) = line.from else { continue };
        let downspout = network.downspout(id);
        // Head lost from here to the tank, and what the last line needs over its invert.
        let mut head = Expression::from(0.0);
        let mut at = Some(index);
        while let Some(here) = at {
            let line = &network.lines()[here];
            let loss = |size: usize| {
                let bore = bore(here, size);
                let flow = Flow::m3_per_s(flow[here]);
                let viscosity = water::viscosity(problem.scenario.temperature);
                let roughness = Length::m(1.5e-6);
                let friction =
                    head_loss::darcy_weisbach(flow, roughness, bore, line.length, viscosity);
                let fittings = head_loss::fitting(line.k, head_loss::full_speed(flow, bore));
                let end = match line.to {
                    End::Tank(_) => outfall::critical_energy(flow, bore),
                    _ => Length::ZERO,
                };
                (friction + fittings + end).to_m()
            };
            head += sum(here, &loss);
            at = next(problem, line);
        }
        // The water stands over the foot by the head there and what its own pipe takes.
        let flow = Flow::m3_per_s(demand(id.index()));
        let viscosity = water::viscosity(problem.scenario.temperature);
        let slope = head_loss::darcy_weisbach(
            flow,
            Length::m(1.5e-6),
            downspout.pipe.inside,
            Length::m(1.0),
            viscosity,
        );
        let over_foot_m = (downspout.outlet - problem.targets.freeboard).to_m();
        let inlet_m = network.tanks()[0].inlet.to_m();
        let allowed_m = over_foot_m * (1.0 - slope.to_m()) - inlet_m;
        model = model.with(constraint!(head <= allowed_m));
    }
    model.solve().ok().map(|solution| solution.eval(&cost))
}

fn next(problem: &Problem, line: &Line) -> Option<usize> {
    problem.network.lines().iter().position(|other| other.from == line.to)
}

#[test]
fn a_mixed_integer_program_finds_the_same_cost() {
    let mut agreed = 0;
    for (lines, sizes) in [(5, 6), (10, 6), (15, 6), (20, 5), (30, 4), (40, 3)] {
        for (shape, head_m) in [(Shape::Comb, 0.35), (Shape::Bush, 0.3), (Shape::Row, 0.5)] {
            let problem = tree(lines as u64, lines, sizes, shape, head_m);
            let by_program = least_cost(&problem);
            let what = format!("{lines} lines, {sizes} sizes, {shape:?}");
            match choose(&problem, 0, &mut |_| {}).unwrap() {
                Outcome::Chosen(found) => {
                    let cost = found.design.cost;
                    let other =
                        by_program.unwrap_or_else(|| panic!("{what}: the program has none"));
                    assert!((cost - other).abs() <= 1e-6 * cost, "{what}: {cost} for {other}");
                    agreed += 1;
                }
                Outcome::NoneWorks(_) => assert!(by_program.is_none(), "{what}"),
            }
        }
    }
    println!("{agreed} agreed");
    assert!(agreed >= 10);
}
