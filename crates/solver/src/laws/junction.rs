//! What a wye or tee costs where two streams join, by the share that comes from the branch.

use core::f64::consts::FRAC_PI_4;
use wetrun_network::{Junction, JunctionKind};
use wetrun_units::{Flow, Fraction, Length};

use super::Caution;
use super::friction::G;

/// Loss coefficient of the branch where two streams join.
///
/// # Equation
/// `K = C [1 + (q/β²)² − 2(1 − q)² − (F/β²) q²]` on the velocity head of the combined stream;
/// `β` = branch bore ÷ combined bore, `F` = 1.41 (wye, 45°) or 0 (tee, 90°); `C` = 1 where
/// β² ≤ 0.35, else 0.9(1 − q) up to q = 0.4 and 0.55 beyond. The source's step of `C` from 0.54
/// to 0.55 at 0.4 is a ramp to 0.41 here, so that the loss has no jump.
/// # Arguments
/// * `kind`: wye or tee.
/// * `branch_bore`, `combined_bore`: above 0.
/// * `share`: `q`, the branch's part of the combined flow.
/// # Returns
/// The coefficient. It is *negative* at a small share: the faster run drags the branch along.
/// # Valid for
/// Shares of 0 to 1 ([`range`]); outside, that of the nearer end. Other published relations
/// differ by about ±0.2.
/// # Source
/// Crane Co., *Technical Paper 410*, combining tees and wyes, by way of the documentation of the
/// library `fluids`. The bracket is momentum theory (`F` = 2 cos θ, rounded), `C` is measured.
/// # Example
/// Equal bores, a quarter from a 90° branch (example 7-35 of the source): −0.042.
/// ```
/// # use wetrun_network::JunctionKind;
/// # use wetrun_solver::laws::junction;
/// # use wetrun_units::{Fraction, Length};
/// let bore = Length::m(0.10226);
/// let k = junction::branch_coefficient(JunctionKind::Tee, bore, bore, Fraction::ratio(0.25));
/// assert!((k - -0.0421875).abs() < 1e-9);
/// ```
pub fn branch_coefficient(
    kind: JunctionKind,
    branch_bore: Length,
    combined_bore: Length,
    share: Fraction,
) -> f64 {
    branch_k(kind, beta2(branch_bore, combined_bore), share.to_ratio()).0
}

/// Loss coefficient of the straight run where two streams join.
///
/// # Equation
/// Tee: `K = 1.55 q − q²`. Wye: `K = 1 − (1 − q)² − (F/β²) q²`. On the velocity head of the
/// combined stream, the letters as in [`branch_coefficient`].
/// # Arguments
/// As [`branch_coefficient`].
/// # Returns
/// The coefficient. A wye's is negative at a large share from a small branch.
/// # Valid for
/// As [`branch_coefficient`].
/// # Source
/// As [`branch_coefficient`].
/// # Example
/// A quarter from a 90° branch (example 7-35 of the source): 0.325.
/// ```
/// # use wetrun_network::JunctionKind;
/// # use wetrun_solver::laws::junction;
/// # use wetrun_units::{Fraction, Length};
/// let bore = Length::m(0.10226);
/// let k = junction::run_coefficient(JunctionKind::Tee, bore, bore, Fraction::ratio(0.25));
/// assert!((k - 0.325).abs() < 1e-12);
/// ```
pub fn run_coefficient(
    kind: JunctionKind,
    branch_bore: Length,
    combined_bore: Length,
    share: Fraction,
) -> f64 {
    run_k(kind, beta2(branch_bore, combined_bore), share.to_ratio()).0
}

/// What a wye or tee adds to the head of its point, as each of its three legs sees it.
///
/// # Equation
/// For a branch and a leg of the run that combine into the other leg: `K_branch V²/2g` at the
/// branch and `K_run V²/2g` at the run's leg, `V` the combined stream's speed, `K` as
/// [`branch_coefficient`] and [`run_coefficient`] give them; the leg that goes out sees the point.
/// # Arguments
/// * `kind`: wye or tee.
/// * `bores`: of the branch, then of the two legs of the run; above 0.
/// * `inward`: the flow towards the point along each, in the same order; their sum is 0, or what
///   leaves by an opening there.
/// # Returns
/// Heads in the same order, negative where the faster stream drags the other along.
/// # Valid for
/// Streams that combine. For others nothing is published: the relation is carried on without a
/// jump. The loss of a branch that turns to run outward stays that of a still branch; where the
/// branch alone feeds both legs of the run, the second leg's term fades as its outflow grows to the
/// first's, and the losses by either bore are blended. What leaves by an opening at the point takes
/// no part: the streams count as far as they go on together.
/// # Source
/// As [`branch_coefficient`].
/// # Example
/// Example 7-35 of the source: a quarter from the branch costs it −0.042 velocity heads.
/// ```
/// # use wetrun_network::JunctionKind;
/// # use wetrun_solver::laws::{head_loss, junction};
/// # use wetrun_units::{Flow, Length};
/// let bore = Length::m(0.10226);
/// let inward = [0.25e-2, 0.75e-2, -1e-2].map(Flow::m3_per_s);
/// let [branch, run, out] = junction::offsets(JunctionKind::Tee, [bore; 3], inward);
/// let speed = head_loss::full_speed(Flow::m3_per_s(1e-2), bore);
/// let velocity_head = head_loss::fitting(1.0, speed).to_m();
/// assert!((branch.to_m() + 0.0421875 * velocity_head).abs() < 1e-12);
/// assert!((run.to_m() - 0.325 * velocity_head).abs() < 1e-12);
/// assert_eq!(out, Length::ZERO);
/// ```
pub fn offsets(kind: JunctionKind, bores: [Length; 3], inward: [Flow; 3]) -> [Length; 3] {
    JunctionLaw::of(kind, bores, 0.0).offsets(inward)
}

/// [`offsets`] of one wye or tee, and how they answer to a change, for a search.
#[derive(Clone, Copy, Debug)]
pub struct JunctionLaw {
    kind: JunctionKind,
    /// Of the branch, then of the two legs of the run.
    area_m2: [f64; 3],
    added_k: f64,
}

/// The share of the largest flow by which flows are moved to see how offsets answer: a law of the
/// second degree is told from it to ten digits.
const NUDGE: f64 = 1e-5;

impl JunctionLaw {
    /// The law of a junction whose branch and legs of the run have these bores, above 0.
    pub fn new(junction: &Junction, bores: [Length; 3]) -> Self {
        Self::of(junction.kind, bores, junction.added_k)
    }

    fn of(kind: JunctionKind, bores: [Length; 3], added_k: f64) -> Self {
        let area_m2 = bores.map(|bore| FRAC_PI_4 * bore.to_m() * bore.to_m());
        Self { kind, area_m2, added_k }
    }

    /// What it adds to the head of its point as each leg sees it; see [`offsets`]. What the junction
    /// adds to both coefficients is in it.
    pub fn offsets(&self, inward: [Flow; 3]) -> [Length; 3] {
        self.heads_m(inward.map(Flow::to_m3_per_s)).map(Length::m)
    }

    /// How much more each leg's offset is for each m³/s more that flows inward along each leg, s/m².
    /// `scale` is a flow of the size of the problem's, above 0.
    pub fn slopes(&self, inward: [Flow; 3], scale: Flow) -> [[f64; 3]; 3] {
        self.slopes_s_per_m2(inward.map(Flow::to_m3_per_s), scale.to_m3_per_s())
    }

    pub(crate) fn heads_m(&self, inward: [f64; 3]) -> [f64; 3] {
        point_heads(self.kind, self.area_m2, self.added_k, inward)
    }

    pub(crate) fn slopes_s_per_m2(&self, inward: [f64; 3], scale: f64) -> [[f64; 3]; 3] {
        let largest = inward.iter().fold(NUDGE * scale, |most, flow| most.max(flow.abs()));
        let nudge = NUDGE * largest;
        let mut slopes = [[0.0; 3]; 3];
        for leg in 0..3 {
            let [less, more] = [-nudge, nudge].map(|nudge| {
                let mut inward = inward;
                inward[leg] += nudge;
                self.heads_m(inward)
            });
            for (of, slopes) in slopes.iter_mut().enumerate() {
                slopes[leg] = (more[of] - less[of]) / (2.0 * nudge);
            }
        }
        slopes
    }
}

/// Says when a share is none that a combining flow has.
pub fn range(share: Fraction) -> Option<Caution> {
    let share = share.to_ratio();
    (!(0.0..=1.0).contains(&share)).then_some(Caution::BranchShare { share })
}

fn beta2(branch_bore: Length, combined_bore: Length) -> f64 {
    let beta = branch_bore.to_m() / combined_bore.to_m();
    beta * beta
}

/// The same as [`offsets`] on bare numbers in SI, the areas of the bores given, with `added_k` added
/// to both coefficients. Where the run divides the added loss goes on with what passes along it, so
/// that nothing jumps where the branch turns.
fn point_heads(kind: JunctionKind, area_m2: [f64; 3], added_k: f64, inward: [f64; 3]) -> [f64; 3] {
    let head = |speed: f64| speed * speed / (2.0 * G);
    let mut heads = [0.0; 3];
    // The leg of the run that carries the most out of the point takes the combined flow.
    let (out, other) = if inward[1] <= inward[2] { (1, 2) } else { (2, 1) };
    // Where both legs of the run flow the same way, the losses by either's bore are blended so
    // that nothing jumps when the other becomes the greater.
    let alike = if inward[out] * inward[other] > 0.0 {
        let sizes = [inward[out].abs(), inward[other].abs()];
        sizes[0].min(sizes[1]) / sizes[0].max(sizes[1])
    } else {
        0.0
    };
    let blend = |loss: &dyn Fn(f64) -> f64| {
        let [main, second] = [area_m2[out], area_m2[other]];
        loss(main) + 0.5 * alike * (loss(second) - loss(main))
    };
    let combined = -inward[out];
    if inward[0] > 0.0 && combined <= 0.0 {
        return heads; // all that comes leaves by an opening here: no streams go on together
    }
    if inward[0] <= 0.0 {
        // The run divides, or both its legs leave, into the branch; what leaves by an opening here
        // does not pass.
        let passing = inward[other].min(combined.max(0.0) - inward[0]).max(0.0);
        heads[0] = blend(&|of_run| {
            (branch_k(kind, area_m2[0] / of_run, 0.0).0 + added_k) * head(passing / of_run)
        });
        heads[other] = added_k * head(passing / area_m2[out]) * (1.0 - alike);
        return heads;
    }
    let share = (inward[0] / combined).min(1.0);
    heads[0] = blend(&|of_run| {
        (branch_k(kind, area_m2[0] / of_run, share).0 + added_k) * head(combined / of_run)
    });
    let beta2 = area_m2[0] / area_m2[out];
    heads[other] =
        (run_k(kind, beta2, share).0 + added_k) * head(combined / area_m2[out]) * (1.0 - alike);
    heads
}

/// Loss coefficient of the branch on the combined velocity head, and its derivative by the
/// branch's share `q`. `beta2` is the square of branch bore ÷ combined bore. Outside 0..1 the
/// share is taken as its nearer end.
pub(crate) fn branch_k(kind: JunctionKind, beta2: f64, q: f64) -> (f64, f64) {
    let (q, inside) = held(q);
    let f = angle_factor(kind) / beta2;
    let bracket = 1.0 + q * q / (beta2 * beta2) - 2.0 * (1.0 - q) * (1.0 - q) - f * q * q;
    let d_bracket = 2.0 * q / (beta2 * beta2) + 4.0 * (1.0 - q) - 2.0 * f * q;
    let (c, d_c) = if beta2 <= SMALL_BRANCH { (1.0, 0.0) } else { empirical_factor(q) };
    (c * bracket, inside * (d_c * bracket + c * d_bracket))
}

/// Loss coefficient of the run on the combined velocity head, and its derivative by `q`.
pub(crate) fn run_k(kind: JunctionKind, beta2: f64, q: f64) -> (f64, f64) {
    let (q, inside) = held(q);
    match kind {
        JunctionKind::Tee => (TEE_RUN * q - q * q, inside * (TEE_RUN - 2.0 * q)),
        JunctionKind::Wye => {
            let f = angle_factor(kind) / beta2;
            let k = 1.0 - (1.0 - q) * (1.0 - q) - f * q * q;
            (k, inside * (2.0 * (1.0 - q) - 2.0 * f * q))
        }
    }
}

/// The share held to 0..1, and 1 inside that range, 0 outside it.
fn held(q: f64) -> (f64, f64) {
    if (0.0..=1.0).contains(&q) { (q, 1.0) } else { (q.clamp(0.0, 1.0), 0.0) }
}

/// `F` of [`branch_coefficient`].
fn angle_factor(kind: JunctionKind) -> f64 {
    match kind {
        JunctionKind::Wye => ANGLE_OF_WYE,
        JunctionKind::Tee => ANGLE_OF_TEE,
    }
}

/// `F` of [`branch_coefficient`] for a wye: twice the cosine of 45°, rounded as its source rounds it.
pub const ANGLE_OF_WYE: f64 = 1.41;
/// The same for a tee, at 90°.
pub const ANGLE_OF_TEE: f64 = 0.0;
/// Up to this `β²` the branch is small, and the factor `C` of [`branch_coefficient`] is 1.
pub const SMALL_BRANCH: f64 = 0.35;
/// `C` of a large branch at no share; it falls evenly to 0 at the whole.
pub const LARGE_BRANCH: f64 = 0.9;
/// The share from which `C` of a large branch is a ramp.
pub const RAMP_FROM: f64 = 0.40;
/// `C` where the ramp begins.
pub const RAMP_BEGINS: f64 = 0.54;
/// The share up to which it is one.
pub const RAMP_TO: f64 = 0.41;
/// `C` of a large branch beyond the ramp.
pub const BEYOND_RAMP: f64 = 0.55;
/// The coefficient of a tee's run is this for each share, less the share's square.
pub const TEE_RUN: f64 = 1.55;

/// The source's factor C for large branches, and its derivative. The source steps from 0.54 to
/// 0.55 at a share of 0.4; here the step is a ramp from 0.40 to 0.41, so that a solver meets no
/// jump.
fn empirical_factor(q: f64) -> (f64, f64) {
    if q <= RAMP_FROM {
        (LARGE_BRANCH * (1.0 - q), -LARGE_BRANCH)
    } else if q < RAMP_TO {
        (RAMP_BEGINS + (q - RAMP_FROM), 1.0)
    } else {
        (BEYOND_RAMP, 0.0)
    }
}
