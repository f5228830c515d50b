//! All that is followed for a flush, on all cores: the drains as they are, larger ones, and gulps.

use super::cures::{self, Cure, Gulp, Tried, Wider};
use super::needs::Opened;
use super::{Alone, FlushRun, Inflow, opened, ranked};
use crate::outcome::Refusal;
use wetrun_doubt::each;
use wetrun_facts::Facts;
use wetrun_motion::{Flushed, Hose, NotFollowed, OpenDrain, Scene, flush};
use wetrun_network::{LineId, PointId};
use wetrun_site::Site;
use wetrun_solver::Scenario;
use wetrun_units::Speed;

/// What all of it is about.
pub(super) struct Work<'a> {
    pub(super) site: &'a Site,
    pub(super) facts: &'a Facts,
    pub(super) scene: &'a Scene<'a>,
    /// The speed that carries silt.
    pub(super) carries: Speed,
    pub(super) threads: usize,
}

/// Drains that open together while hoses run.
struct Opening<'a> {
    open: Vec<PointId>,
    drains: Vec<OpenDrain>,
    hoses: &'a [Hose],
}

/// What can be followed by itself.
enum Piece {
    /// An opening as it is, by its place.
    Run(usize),
    /// One with larger bores.
    Wider(usize, Wider),
    /// A gulp down a line as one opens.
    Gulp(usize, LineId),
}

/// What came of it.
enum Done {
    Run(Box<Result<Flushed, NotFollowed>>),
    Wider(usize, Tried),
    Gulp(usize, LineId, Option<Gulp>),
}

/// What an opening was followed for besides itself.
#[derive(Clone, Default)]
struct Beside {
    /// Larger bores, the least first.
    tried: Vec<Tried>,
    /// For each line whether a gulp was looked for, and found.
    gulps: Vec<Option<Option<Gulp>>>,
}

impl<'a> Work<'a> {
    /// Every drain by itself in the order in which to open them, and every set of drains with hoses.
    pub(super) fn done(
        &self,
        drains: &[PointId],
        sets: Vec<Vec<PointId>>,
        hoses: &'a [Hose],
        scenario: &Scenario,
    ) -> Result<(Vec<Alone>, Vec<FlushRun>), Refusal> {
        let mut openings: Vec<Opening<'_>> =
            drains.iter().map(|drain| self.opening(vec![*drain], &[])).collect();
        let mut asked = Vec::new();
        for set in sets {
            let known = openings.iter().position(|it| it.open == set && it.hoses == hoses);
            asked.push(known.unwrap_or(openings.len()));
            if known.is_none() {
                openings.push(self.opening(set, hoses));
            }
        }
        let (flushed, beside) = self.followed(&openings, &asked)?;
        let alone = flushed[..drains.len()].to_vec();
        let order = ranked(self.site, self.carries, drains.to_vec(), alone);
        let run = |of: usize| self.run(&openings[of], flushed[of].clone(), &beside[of], scenario);
        Ok((order, asked.into_iter().map(run).collect()))
    }

    fn opening(&self, open: Vec<PointId>, hoses: &'a [Hose]) -> Opening<'a> {
        let drains = open.iter().filter_map(|at| opened(self.site, self.facts, *at)).collect();
        Opening { open, drains, hoses }
    }

    /// Follows all openings, and what stands beside those that are asked for.
    fn followed(
        &self,
        openings: &[Opening<'_>],
        asked: &[usize],
    ) -> Result<(Vec<Flushed>, Vec<Beside>), Refusal> {
        let lines = self.site.network.lines().len();
        let mut pieces: Vec<Piece> = (0..openings.len()).map(Piece::Run).collect();
        // Which lines need more than the drains as they are is known after. Larger bores answer for all
        // lines at once; gulps, one by one, only where cores would stand idle.
        let idle = openings.len() < self.threads;
        for &of in asked.iter().filter(|of| openings[**of].hoses.is_empty()) {
            let wider = Wider::all(self.site, &openings[of].drains);
            pieces.extend(wider.into_iter().map(|wider| Piece::Wider(of, wider)));
            if idle {
                pieces.extend((0..lines).map(|line| Piece::Gulp(of, LineId::new(line))));
            }
        }
        let done = each(pieces.len(), self.threads, |place| match &pieces[place] {
            Piece::Run(of) => {
                let Opening { drains, hoses, .. } = &openings[*of];
                Done::Run(Box::new(flush(self.scene, drains, hoses, self.carries)))
            }
            Piece::Wider(of, wider) => {
                Done::Wider(*of, wider.tried(self.site, self.scene, self.carries))
            }
            Piece::Gulp(of, line) => {
                Done::Gulp(*of, *line, self.gulp(&openings[*of].drains, *line))
            }
        });
        let mut flushed = Vec::new();
        let none = Beside { gulps: vec![None; lines], ..Beside::default() };
        let mut beside = vec![none; openings.len()];
        for done in done {
            match done {
                Done::Run(run) => flushed.push(run.map_err(Refusal::because)?),
                Done::Wider(of, tried) => beside[of].tried.push(tried),
                Done::Gulp(of, line, gulp) => beside[of].gulps[line.index()] = Some(gulp),
            }
        }
        Ok((flushed, beside))
    }

    /// What would carry silt through the lines that an opening does not clean.
    fn run(
        &self,
        opening: &Opening<'_>,
        flushed: Flushed,
        beside: &Beside,
        scenario: &Scenario,
    ) -> FlushRun {
        let state = Opened::new(self.site, self.facts, scenario, &opening.open, &flushed.shut);
        let poor = |line: &usize| flushed.lines[*line].peak_velocity < self.carries;
        let poor: Vec<usize> = (0..flushed.lines.len()).filter(poor).collect();
        let would = each(poor.len(), self.threads, |place| {
            let line = poor[place];
            let gulp = beside.gulps[line];
            let gulp = || gulp.unwrap_or_else(|| self.gulp(&opening.drains, LineId::new(line)));
            let cure = Cure {
                drain: cures::least(&beside.tried, line, self.carries),
                gulp: if opening.hoses.is_empty() { gulp() } else { None },
            };
            (state.needs(line, self.carries), cure)
        });
        let mut needs: Vec<Option<Inflow>> = vec![None; flushed.lines.len()];
        let mut cures = vec![Cure::default(); flushed.lines.len()];
        for (line, (inflow, cure)) in poor.into_iter().zip(would) {
            (needs[line], cures[line]) = (Some(inflow), cure);
        }
        FlushRun { open: opening.open.clone(), flushed, needs, cures }
    }

    fn gulp(&self, drains: &[OpenDrain], line: LineId) -> Option<Gulp> {
        cures::gulp(&self.site.network, self.scene, drains, line, self.carries)
    }
}
