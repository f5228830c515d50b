//! The nearest failure: of all combinations of inputs at which a limit is passed, the one closest to
//! the drawing in standard normal space.
//!
//! The search is that of Hasofer and Lind (*Journal of the Engineering Mechanics Division* 100 (1974))
//! as Rackwitz and Fiessler go about it (*Computers and Structures* 9 (1978)): the limit is taken for a
//! plane, the plane's nearest point within every input's cut is the next one to look at, and a step
//! that gains nothing is halved. It starts at the drawing, for each of the limits that seem nearest,
//! and at the nearest of the samples that failed. What is found is followed on the ray from the
//! drawing until one side of it fails and the other does not.

use crate::law::{FAR, Law};
use crate::parallel;

/// A combination of inputs at which a limit is just passed.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Nearest {
    /// Standard normal numbers.
    pub(crate) z: Vec<f64>,
    /// Their distance from the drawing.
    pub(crate) distance: f64,
    /// The place whose limit it is.
    pub(crate) place: usize,
}

/// What is searched.
pub(crate) struct Field<L, T> {
    /// How much is left before each place's limit is passed, negative beyond it and smooth across;
    /// `None` where that cannot be told.
    pub(crate) left: L,
    /// The place that fails, if one does.
    pub(crate) failing: T,
}

/// How far an input is moved for a difference.
const NUDGE: f64 = 0.01;
const MOST_STEPS: usize = 40;
/// Limits that are searched from the drawing, and failed samples that are started from.
const MOST_PLACES: usize = 6;
const MOST_STARTS: usize = 4;
/// An input that moves less does not move.
const STILL: f64 = 1e-6;

/// The nearest failure within [`FAR`], from the drawing and from `failed` samples.
pub(crate) fn search<L, T>(
    laws: &[Law],
    field: &Field<L, T>,
    failed: &[&[f64]],
    threads: usize,
) -> Option<Nearest>
where
    L: Fn(&[f64]) -> Option<Vec<f64>> + Sync,
    T: Fn(&[f64]) -> Option<usize> + Sync,
{
    let drawn = vec![0.0; laws.len()];
    if let Some(place) = (field.failing)(&drawn) {
        return Some(Nearest { z: drawn, distance: 0.0, place });
    }
    let search = Search { laws, field, threads };
    let mut best: Option<Nearest> = None;
    let mut keep = |found: Option<Nearest>| {
        let nearer = |found: &Nearest| best.as_ref().is_none_or(|b| found.distance < b.distance);
        if let Some(found) = found.filter(nearer) {
            best = Some(found);
        }
        best.as_ref().map_or(f64::INFINITY, |best| best.distance)
    };
    let mut reach = f64::INFINITY;
    for (estimate, place) in search.seeming_nearest(&drawn) {
        // A plane so far off that even a bent limit is not nearer.
        if estimate > 1.5 * reach + 0.5 {
            break;
        }
        reach = keep(search.from(drawn.clone(), place));
    }
    for start in nearest_of(failed) {
        if let Some((z, place)) = search.edge(start) {
            keep(search.settled(z.clone()));
            keep(search.from(z, place));
        }
    }
    best.filter(|best| best.distance <= FAR)
}

/// The samples with the least distance.
fn nearest_of<'s>(failed: &[&'s [f64]]) -> Vec<&'s [f64]> {
    let mut by_distance: Vec<&[f64]> = failed.to_vec();
    by_distance.sort_by(|a, b| norm(a).total_cmp(&norm(b)));
    by_distance.truncate(MOST_STARTS);
    by_distance
}

struct Search<'a, L, T> {
    laws: &'a [Law],
    field: &'a Field<L, T>,
    threads: usize,
}

impl<L, T> Search<'_, L, T>
where
    L: Fn(&[f64]) -> Option<Vec<f64>> + Sync,
    T: Fn(&[f64]) -> Option<usize> + Sync,
{
    /// Places by how far a plane in place of each limit lies, the nearest first.
    fn seeming_nearest(&self, drawn: &[f64]) -> Vec<(f64, usize)> {
        let Some(left) = (self.field.left)(drawn) else { return Vec::new() };
        let slopes = self.slopes(drawn, &left, false);
        let mut places: Vec<(f64, usize)> = (left.iter().enumerate())
            .map(|(place, left)| {
                let slope: Vec<f64> = slopes.iter().map(|of_input| of_input[place]).collect();
                let plane = Plane::through(drawn, *left, &slope);
                let (z, reached) = plane.nearest(self.laws);
                // Out of reach by its plane it may yet be within by its bend.
                (if reached { norm(&z) } else { FAR + left.abs() }, place)
            })
            .collect();
        places.sort_by(|a, b| a.0.total_cmp(&b.0));
        places.truncate(MOST_PLACES);
        places
    }

    /// For each input how fast each place's limit comes nearer.
    fn slopes(&self, at: &[f64], left: &[f64], both_sides: bool) -> Vec<Vec<f64>> {
        parallel::each(self.laws.len(), self.threads, |input| {
            let (low, high) = self.laws[input].bounds();
            let side = |by: f64| {
                let mut z = at.to_vec();
                z[input] = (z[input] + by).clamp(low, high);
                let moved = z[input] - at[input];
                (self.field.left)(&z).filter(|_| moved != 0.0).map(|left| (moved, left))
            };
            let up = if at[input] + NUDGE <= high { side(NUDGE) } else { None };
            let down = if up.is_none() || both_sides { side(-NUDGE) } else { None };
            let drawn = (0.0, left.to_vec());
            let (one, other) = match (up, down) {
                (Some(up), Some(down)) => (up, down),
                (Some(one), None) | (None, Some(one)) => (one, drawn),
                (None, None) => return vec![0.0; left.len()],
            };
            let apart = one.0 - other.0;
            one.1.iter().zip(&other.1).map(|(a, b)| (a - b) / apart).collect()
        })
    }

    /// The nearest point of one place's limit that the search from a start ends at.
    fn from(&self, start: Vec<f64>, place: usize) -> Option<Nearest> {
        let mut z = start;
        let mut left = (self.field.left)(&z)?;
        let mut weight: f64 = 0.0;
        let mut fine = false;
        for _ in 0..MOST_STEPS {
            let slopes = self.slopes(&z, &left, fine);
            let slope: Vec<f64> = slopes.iter().map(|of_input| of_input[place]).collect();
            let plane = Plane::through(&z, left[place], &slope);
            let (goal, _) = plane.nearest(self.laws);
            let far = norm(&difference(&goal, &z));
            // What is left weighs more than any way back to the drawing would gain.
            weight = weight.max(2.0 * (norm(&goal) + far) / norm(&slope).max(f64::MIN_POSITIVE));
            let worth = |z: &[f64], left: f64| 0.5 * dot(z, z) + weight * left.abs();
            let before = worth(&z, left[place]);
            let mut taken = None;
            for part in [1.0, 0.5, 0.25, 0.1, 0.03, 0.01] {
                let next: Vec<f64> =
                    z.iter().zip(&goal).map(|(z, goal)| z + part * (goal - z)).collect();
                let Some(here) = (self.field.left)(&next) else { continue };
                if worth(&next, here[place]) < before {
                    taken = Some((next, here));
                    break;
                }
            }
            let moved = taken.as_ref().map_or(0.0, |(next, _)| norm(&difference(next, &z)));
            if let Some((next, here)) = taken {
                (z, left) = (next, here);
            }
            if moved < 1e-6 * (1.0 + norm(&z)) {
                if fine {
                    break;
                }
                fine = true; // once more, with slopes from both sides
            }
        }
        self.settled(z)
    }

    /// The combination on the ray through one at which failure just begins, verified on both sides.
    fn settled(&self, mut z: Vec<f64>) -> Option<Nearest> {
        z.iter_mut().filter(|z| z.abs() < STILL).for_each(|z| *z = 0.0);
        let (z, _) = self.edge(&z)?;
        let at = |t: f64| self.on_ray(&z, t);
        let fails = |t: f64| (self.field.failing)(&at(t));
        let widening = [1e-10, 1e-9, 1e-8, 1e-7, 1e-6, 1e-5, 1e-4, 1e-3];
        let mut high = 1.0 + widening.into_iter().find(|by| fails(1.0 + by).is_some())?;
        let mut low = 1.0 - widening.into_iter().find(|by| fails(1.0 - by).is_none())?;
        while high - low > 1e-11 {
            let middle = 0.5 * (low + high);
            if fails(middle).is_some() { high = middle } else { low = middle }
        }
        let place = fails(high)?;
        let z = at(high);
        Some(Nearest { distance: norm(&z), z, place })
    }

    /// Where the ray from the drawing through `z` first passes a limit, and whose.
    fn edge(&self, z: &[f64]) -> Option<(Vec<f64>, usize)> {
        const STEPS: [f64; 15] =
            [0.1, 0.2, 0.3, 0.4, 0.5, 0.6, 0.7, 0.8, 0.9, 0.96, 1.0, 1.001, 1.01, 1.05, 1.2];
        let least = |t: f64| {
            let left = (self.field.left)(&self.on_ray(z, t))?;
            let least = left.iter().enumerate().min_by(|a, b| a.1.total_cmp(b.1))?;
            Some((*least.1, least.0))
        };
        let mut low = 0.0;
        let (mut high, mut place) = STEPS.into_iter().find_map(|t| match least(t) {
            Some((left, place)) if left <= 0.0 => Some((t, place)),
            _ => {
                low = t;
                None
            }
        })?;
        for _ in 0..60 {
            let middle = 0.5 * (low + high);
            match least(middle) {
                Some((left, here)) if left <= 0.0 => (high, place) = (middle, here),
                _ => low = middle,
            }
        }
        Some((self.on_ray(z, high), place))
    }

    fn on_ray(&self, z: &[f64], t: f64) -> Vec<f64> {
        let within = |(z, law): (&f64, &Law)| {
            let (low, high) = law.bounds();
            (t * z).clamp(low, high)
        };
        z.iter().zip(self.laws).map(within).collect()
    }
}

/// A limit taken for a plane: the points whose product with `slope` is `at`.
struct Plane<'s> {
    slope: &'s [f64],
    at: f64,
}

impl<'s> Plane<'s> {
    /// The plane of a limit of which so much is left at `z`.
    fn through(z: &[f64], left: f64, slope: &'s [f64]) -> Self {
        Self { slope, at: dot(slope, z) - left }
    }

    /// The plane's point that is nearest to the drawing and within every input's cut, and whether
    /// there is one; else the point within the cuts that is nearest to the plane.
    fn nearest(&self, laws: &[Law]) -> (Vec<f64>, bool) {
        let towards = |by: f64| -> Vec<f64> {
            let within = |(slope, law): (&f64, &Law)| {
                let (low, high) = law.bounds();
                (by * slope).clamp(low, high)
            };
            self.slope.iter().zip(laws).map(within).collect()
        };
        let product = |by: f64| dot(self.slope, &towards(by));
        let size = dot(self.slope, self.slope);
        if size <= 0.0 {
            return (vec![0.0; laws.len()], false);
        }
        let sign = if self.at < 0.0 { -1.0 } else { 1.0 };
        let reaches = |by: f64| sign * product(sign * by) >= sign * self.at;
        let (mut low, mut high) = (0.0, sign * self.at / size);
        for _ in 0..200 {
            if reaches(high) {
                break;
            }
            (low, high) = (high, 2.0 * high.max(f64::MIN_POSITIVE));
        }
        if !reaches(high) {
            return (towards(sign * high), false);
        }
        for _ in 0..200 {
            let middle = 0.5 * (low + high);
            if middle <= low || middle >= high {
                break;
            }
            if reaches(middle) { high = middle } else { low = middle }
        }
        (towards(sign * high), true)
    }
}

fn dot(a: &[f64], b: &[f64]) -> f64 {
    a.iter().zip(b).map(|(a, b)| a * b).sum()
}

pub(crate) fn norm(a: &[f64]) -> f64 {
    libm::sqrt(dot(a, a))
}

fn difference(a: &[f64], b: &[f64]) -> Vec<f64> {
    a.iter().zip(b).map(|(a, b)| a - b).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::normal;

    /// The search on one limit.
    fn of(laws: &[Law], left: impl Fn(&[f64]) -> f64 + Sync) -> Option<Nearest> {
        let field = Field {
            left: |z: &[f64]| Some(vec![left(z)]),
            failing: |z: &[f64]| (left(z) <= 0.0).then_some(0),
        };
        search(laws, &field, &[], 2)
    }

    /// A plane lies as far off as its constant over the length of its slope.
    #[test]
    fn a_plane_lies_where_it_lies() {
        let slope = [0.3, -1.2, 0.0, 2.0, -0.7];
        let length = norm(&slope);
        for beta in [0.1, 1.0, 2.5, 3.4] {
            let found = of(&[Law::Normal; 5], |z| beta * length - dot(&slope, z)).unwrap();
            assert!((found.distance - beta).abs() < 1e-9, "{beta}: {found:?}");
            for (z, slope) in found.z.iter().zip(slope) {
                assert!((z - beta * slope / length).abs() < 1e-6, "{beta}: {found:?}");
            }
        }
        // Seven standard deviations off is too far.
        assert!(of(&[Law::Normal; 5], |z| 7.0 * length - dot(&slope, z)).is_none());
    }

    /// Where the nearest point of a plane lies beyond a cut, the rest makes up for it: of 2 x + y = 8
    /// within |x| ≤ 3 that is (3, 2).
    #[test]
    fn no_input_passes_its_cut() {
        let found = of(&[Law::Normal; 2], |z| 8.0 - 2.0 * z[0] - z[1]).unwrap();
        assert!((found.z[0] - 3.0).abs() < 1e-8 && (found.z[1] - 2.0).abs() < 1e-8, "{found:?}");
        assert!((found.distance - libm::sqrt(13.0)).abs() < 1e-8);
        assert!(of(&[Law::Normal; 2], |z| 10.0 - 2.0 * z[0] - z[1]).is_none());
        // Silt never lies deeper than the drawing's none.
        let found = of(&[Law::Filling, Law::Normal], |z| 2.0 + z[0] - z[1]).unwrap();
        assert!((found.z[0]).abs() < 1e-9 && (found.z[1] - 2.0).abs() < 1e-8, "{found:?}");
    }

    /// An even law by its equal-probability normal: nine tenths of the way from the middle to the end
    /// is Φ⁻¹(0.95).
    #[test]
    fn an_even_law_is_measured_by_chance() {
        let found = of(&[Law::Even], |z| 0.9 - Law::Even.value(z[0])).unwrap();
        assert!((found.distance - 1.644_854).abs() < 1e-6, "{found:?}");
        let found = of(&[Law::Filling], |z| 0.9 - Law::Filling.value(z[0])).unwrap();
        assert!((found.distance - normal::quantile(0.95)).abs() < 1e-8, "{found:?}");
    }

    /// A circle about another place, and two limits of which the second is nearer though it looks
    /// farther: x² y² grows fast.
    #[test]
    fn bent_limits() {
        let found = of(&[Law::Normal; 2], |z| {
            let (x, y) = (z[0] - 2.0, z[1] - 1.0);
            x * x + y * y - 1.0
        })
        .unwrap();
        assert!((found.distance - (libm::sqrt(5.0) - 1.0)).abs() < 1e-7, "{found:?}");
        let left = |z: &[f64]| vec![2.0 - z[0] - z[1], 1.0 - z[0] * z[0] * z[1] * z[1]];
        let field = Field {
            left: |z: &[f64]| Some(left(z)),
            failing: |z: &[f64]| left(z).iter().position(|left| *left <= 0.0),
        };
        let failed = [vec![-1.5, 1.6], vec![2.0, 2.0], vec![0.5, -2.5]];
        let failed: Vec<&[f64]> = failed.iter().map(Vec::as_slice).collect();
        let found = search(&[Law::Normal; 2], &field, &failed, 1).unwrap();
        assert!((found.distance - std::f64::consts::SQRT_2).abs() < 1e-7, "{found:?}");
    }

    /// A beam of reinforced concrete by Haldar and Mahadevan (*Probability, reliability and
    /// statistical methods in engineering design*, 2000, tables 7.5 and 7.6): seven normal numbers. The
    /// documentation of the Python library `limitstate` solves it and prints 3.8330281658128675.
    #[test]
    fn a_published_problem() {
        let mean = [1.56, 47.7, 3.5, 8.0, 13.2, 0.59, 326.25];
        let share = [0.036, 0.15, 0.21, 0.045, 0.086, 0.05, 0.17];
        // Nothing is cut there.
        let found = of(&[Law::Even; 7], |z| {
            let x: Vec<f64> = (0..7).map(|i| mean[i] * (1.0 + share[i] * z[i])).collect();
            let [steel, yields, concrete, width, depth, eta, moment] = x[..] else {
                return f64::NAN;
            };
            steel * yields * depth * (1.0 - eta * steel * yields / width / depth / concrete)
                - moment
        })
        .unwrap();
        assert!((found.distance - 3.833_028_165_8).abs() < 1e-5, "{found:?}");
    }

    /// A system that fails as it is drawn is its own nearest failure.
    #[test]
    fn what_fails_as_drawn_is_nearest() {
        let found = of(&[Law::Normal; 3], |z| z[0] - 0.1).unwrap();
        assert_eq!((found.distance, found.z), (0.0, vec![0.0; 3]));
    }
}
