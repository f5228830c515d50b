//! Sizes of a ring that no solution within bounds can have: by cost, by heads, speed, and bores.

use super::bounds::{Bounds, SLACK};
use super::frame::Frame;
use super::law::speed_m_per_s;
use super::layout::Toward;
use wetrun_network::LineEnd;

impl Bounds {
    /// Strikes off what alone costs more than the best design leaves for it.
    pub(super) fn cheaper(&mut self, frame: &Frame<'_>, best: f64) -> bool {
        let Some(floor) = self.floor(frame) else { return false };
        if floor >= best {
            return false;
        }
        if !best.is_finite() {
            return true;
        }
        let more = (best - floor) * (1.0 + 1e-9);
        for index in 0..self.sizes.len() {
            let Some(least) = self.cheapest(frame, index) else { return false };
            let choices = frame.choices(index);
            self.sizes[index].retain(|&choice| choices[choice].cost <= least + more);
        }
        for node in 0..frame.at_node.len() {
            if !frame.at_node[node].is_empty() && frame.falling {
                let front = frame.front(node, f64::INFINITY);
                let Some(least) = front.at(self.head[node][0]) else { return false };
                let head_m = front.most_for_m(least.cost + more);
                self.head[node][1] = self.head[node][1].min(head_m);
            }
        }
        true
    }

    /// Strikes off sizes of a line that its heads rule out, by the range of its flow.
    pub(super) fn fits(&mut self, frame: &Frame<'_>, index: usize, upstream: LineEnd) -> bool {
        let run = frame.run(index, upstream);
        let (up, down) = frame.along(index, upstream);
        let Toward::Node(node) = up else { return true };
        let [least, most] = self.run_flow(index, upstream);
        let sure = self.upstream(frame, index) == Some(upstream);
        let least = least - SLACK * frame.total_m3_per_s;
        let (step, up_to) = (run.steps.down(least.max(0.0)), run.steps.up(most.max(0.0)));
        let [low_m, high_m] = self.head[node];
        let (low, high) = (self.below(down, 0), self.below(down, 1));
        let targets = &frame.problem.targets;
        let choices = frame.choices(index);
        let mut sizes = std::mem::take(&mut self.sizes[index]);
        if sizes.len() > 1 || sure {
            sizes.retain(|&choice| {
                let pipe = &choices[choice].pipe;
                let low_enough = !(sure && low.is_known())
                    || run.rise_m(&run.at(choice, step), low) <= high_m + SLACK;
                let high_enough =
                    !high.is_known() || run.rise_m(&run.at(choice, up_to), high) >= low_m - SLACK;
                let too_fast = targets
                    .most_speed
                    .is_some_and(|limit| speed_m_per_s(pipe, least) > limit.to_m_per_s());
                let too_slow = targets
                    .least_speed
                    .is_some_and(|limit| speed_m_per_s(pipe, most) < limit.to_m_per_s());
                low_enough && high_enough && !(sure && (too_fast || too_slow))
            });
        }
        self.sizes[index] = sizes;
        !self.sizes[index].is_empty()
    }

    /// No pipe is smaller than one that feeds it, as far as the ways of the water are sure.
    pub(super) fn widens(&mut self, frame: &Frame<'_>) -> bool {
        for node in 0..frame.at_node.len() {
            // The least that anything fed here must have, the most that anything feeding may.
            let (mut least_m, mut most_m) = (0.0_f64, f64::INFINITY);
            for &(index, side) in &frame.at_node[node] {
                let choices = frame.choices(index);
                let bores = || self.sizes[index].iter().map(|&choice| choices[choice].bore_m);
                match self.upstream(frame, index) {
                    Some(upstream) if upstream == side => {
                        most_m = most_m.min(bores().fold(0.0, f64::max));
                    }
                    Some(_) => least_m = least_m.max(bores().fold(f64::INFINITY, f64::min)),
                    None => {}
                }
            }
            for &(index, side) in &frame.at_node[node] {
                let Some(upstream) = self.upstream(frame, index) else { continue };
                let leaves = upstream == side;
                let (choices, low_m) = (frame.choices(index), self.head[node][0]);
                self.sizes[index].retain(|&choice| {
                    let bore_m = choices[choice].bore_m;
                    if leaves {
                        bore_m >= least_m && frame.front(node, bore_m).at(low_m).is_some()
                    } else {
                        bore_m <= most_m
                    }
                });
                if self.sizes[index].is_empty() {
                    return false;
                }
            }
            if most_m < f64::INFINITY {
                let head_m = frame.front(node, most_m).most_m();
                self.head[node][1] = self.head[node][1].min(head_m);
                if !self.stands(node) {
                    return false;
                }
            }
        }
        true
    }
}
