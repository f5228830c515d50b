//! Which way water runs in each line, what comes to a place and leaves it, and an order of the places.

use std::collections::VecDeque;
use wetrun_network::{End, LineId, Network, PlaceId};
use wetrun_solver::{LineState, Steady};

/// The directions of a solved state.
pub(super) struct Ways {
    /// Of each line in which water moves: where it comes from and where it runs to.
    ends: Vec<Option<[End; 2]>>,
    /// Lines by which water comes to each place, and by which it leaves, in file order.
    ins: Vec<Vec<usize>>,
    outs: Vec<Vec<usize>>,
}

impl Ways {
    pub(super) fn of(network: &Network, steady: &Steady) -> Self {
        let total: f64 = steady.downspouts.iter().map(|state| state.demand.to_m3_per_s()).sum();
        let least_m3_per_s = 1e-12 * total.max(1e-9);
        let way = |(index, state): (usize, &LineState)| {
            let this = network.line(LineId::new(index));
            let flow = state.flow.to_m3_per_s();
            let ends = if flow >= 0.0 { [this.from, this.to] } else { [this.to, this.from] };
            (flow.abs() > least_m3_per_s).then_some(ends)
        };
        let ends: Vec<_> = steady.lines.iter().enumerate().map(way).collect();
        let (mut ins, mut outs) =
            (vec![Vec::new(); network.places()], vec![Vec::new(); network.places()]);
        for (line, ends) in ends.iter().enumerate() {
            let Some([from, to]) = ends else { continue };
            outs[network.place(*from).index()].push(line);
            ins[network.place(*to).index()].push(line);
        }
        Self { ends, ins, outs }
    }

    /// Where a line's water comes from and where it runs to; none where it stands still.
    pub(super) fn ends(&self, line: usize) -> Option<[End; 2]> {
        self.ends[line]
    }

    /// The lines by which water comes to a place.
    pub(super) fn ins(&self, network: &Network, place: End) -> &[usize] {
        &self.ins[network.place(place).index()]
    }

    /// The lines by which water leaves a place.
    pub(super) fn outs(&self, network: &Network, place: End) -> &[usize] {
        &self.outs[network.place(place).index()]
    }

    /// Downspouts and points, each behind those that water comes to it from; what runs in a circle, and
    /// what lies behind it, comes last.
    pub(super) fn order(&self, network: &Network) -> Vec<End> {
        let tank = |end: &End| matches!(end, End::Tank(_));
        // What a tank gives waits for nothing.
        let from = |line: &usize| self.ends[*line].is_some_and(|[from, _]| !tank(&from));
        let mut waits: Vec<usize> =
            self.ins.iter().map(|ins| ins.iter().filter(|line| from(line)).count()).collect();
        let all = (0..network.places()).map(|place| network.end_at(PlaceId::new(place)));
        let places: Vec<End> = all.filter(|end| !tank(end)).collect();
        let mut ready: VecDeque<End> =
            places.iter().copied().filter(|end| waits[network.place(*end).index()] == 0).collect();
        let mut order = Vec::with_capacity(places.len());
        while let Some(end) = ready.pop_front() {
            order.push(end);
            for &line in self.outs(network, end) {
                let Some([_, to]) = self.ends[line] else { continue };
                let left = &mut waits[network.place(to).index()];
                *left -= 1;
                if *left == 0 && !tank(&to) {
                    ready.push_back(to);
                }
            }
        }
        order.extend(places.into_iter().filter(|end| waits[network.place(*end).index()] > 0));
        order
    }
}
