//! Wyes and tees as formulas: what one adds to its point's head, as each of its legs sees it.

use super::book::{Look, Sheet};
use super::ex::{Ex, n};
use wetrun_network::{Junction, JunctionKind};
use wetrun_solver::laws::junction::{
    ANGLE_OF_TEE, ANGLE_OF_WYE, BEYOND_RAMP, LARGE_BRANCH, RAMP_BEGINS, RAMP_FROM, RAMP_TO,
    SMALL_BRANCH, TEE_RUN,
};

/// A row of the sheet: the branch, then the two legs of the run, each with its flow inward and its
/// area; gives what each sees. The law and its source stand in `docs/hydraulics.md`.
pub(super) fn row(
    sheet: &mut Sheet,
    row: u32,
    tag: &str,
    junction: Junction,
    legs: [(Ex, Ex); 3],
    g: &Ex,
) -> [Ex; 3] {
    if row == 1 {
        sheet.heads(
            0,
            &[
                "point",
                "45 degrees: 1.41, 90: 0",
                "added K",
                "branch, inward",
                "run, first, inward",
                "run, second, inward",
                "area of the branch",
                "area, first",
                "area, second",
                "first goes out",
                "alike",
                "combined",
                "share q",
                "K of the branch",
                "adds at branch, m",
                "adds at first, m",
                "adds at second, m",
            ],
        );
    }
    let (zero, one, two, half) = (n(0.0), n(1.0), n(2.0), n(0.5));
    sheet.text(row, 0, tag, Look::Plain);
    let angle = match junction.kind {
        JunctionKind::Wye => ANGLE_OF_WYE,
        JunctionKind::Tee => ANGLE_OF_TEE,
    };
    let f = sheet.number(row, 1, angle, Look::Plain);
    let added = sheet.number(row, 2, junction.added_k, Look::Plain);
    let flow = [0, 1, 2].map(|leg| sheet.formula(row, 3 + leg, &legs[leg as usize].0, Look::Small));
    let area = [0, 1, 2].map(|leg| sheet.formula(row, 6 + leg, &legs[leg as usize].1, Look::Small));
    // The leg of the run that carries the most out of the point takes the combined flow.
    let first = flow[1].at_most(&flow[2]);
    let out_first = sheet.formula(row, 9, &first.then(&one, &zero), Look::Plain);
    let goes = half.below(&out_first);
    let (out, other) = (goes.then(&flow[1], &flow[2]), goes.then(&flow[2], &flow[1]));
    let (area_out, area_other) = (goes.then(&area[1], &area[2]), goes.then(&area[2], &area[1]));
    let same = zero.below(&(&out * &other));
    let sizes = (out.abs(), other.abs());
    let alike = same.then(&(sizes.0.min(&sizes.1) / sizes.0.max(&sizes.1)), &zero);
    let alike = sheet.formula(row, 10, &alike, Look::Small);
    let combined = sheet.formula(row, 11, &-&out, Look::Small);
    let comes = zero.below(&flow[0]);
    let share =
        comes.then(&zero.below(&combined).then(&(&flow[0] / &combined).min(&one), &zero), &zero);
    let q = sheet.formula(row, 12, &share, Look::Small);
    let velocity = |flow: &Ex, area: &Ex| {
        let speed = flow / area;
        &speed * &speed / (&two * g)
    };
    let branch_k = |of_run: &Ex| {
        let beta2 = &area[0] / of_run;
        let bracket = &one + &q * &q / (&beta2 * &beta2)
            - &two * (&one - &q) * (&one - &q)
            - &f / &beta2 * &q * &q;
        let ramp = n(RAMP_BEGINS) + (&q - n(RAMP_FROM));
        let ramp = q.below(&n(RAMP_TO)).then(&ramp, &n(BEYOND_RAMP));
        let measured = q.at_most(&n(RAMP_FROM)).then(&(n(LARGE_BRANCH) * (&one - &q)), &ramp);
        beta2.at_most(&n(SMALL_BRANCH)).then(&one, &measured) * bracket + &added
    };
    // What goes along: the combined stream, or what passes by a branch that takes some out.
    let passing = other.min(&(combined.max(&zero) - &flow[0])).max(&zero);
    let stream = comes.then(&combined, &passing);
    let k_main = sheet.formula(row, 13, &branch_k(&area_out), Look::Small);
    let main = &k_main * velocity(&stream, &area_out);
    let second = branch_k(&area_other) * velocity(&stream, &area_other);
    let at_branch = &main + &half * &alike * (second - &main);
    let run_k = match junction.kind {
        JunctionKind::Tee => n(TEE_RUN) * &q - &q * &q,
        JunctionKind::Wye => {
            &one - (&one - &q) * (&one - &q) - &f / (&area[0] / &area_out) * &q * &q
        }
    };
    let run_k = comes.then(&(run_k + &added), &added);
    let at_other = run_k * velocity(&stream, &area_out) * (&one - &alike);
    // All that comes leaves by an opening here: no streams go on together.
    let none = |ex: &Ex| comes.then(&combined.at_most(&zero).then(&zero, ex), ex);
    let (at_branch, at_other) = (none(&at_branch), none(&at_other));
    [
        sheet.formula(row, 14, &at_branch, Look::Small),
        sheet.formula(row, 15, &goes.then(&zero, &at_other), Look::Small),
        sheet.formula(row, 16, &goes.then(&at_other, &zero), Look::Small),
    ]
}
