//! The days one after another: runoff, overflows, transfers, uses.

use crate::plan::{Plan, Transfer, Use};
use crate::rain::Rain;
use crate::year::{Course, MonthYear, TankYear, Totals, UseYear, Year};
use wetrun_network::{TankId, cascade};
use wetrun_units::{Length, Volume};

const S_PER_DAY: f64 = 86_400.0;
/// A use that misses no more is not short, and a tank that holds no more above its least is empty.
const NOTHING_M3: f64 = 1e-9;

/// In which order a day goes; the two bracket what a finer step would give.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Order {
    /// Yield after spillage: overflows, transfers, uses, of what stood there in the morning.
    #[default]
    UseLast,
    /// Yield before spillage: uses, overflows, transfers.
    UseFirst,
}

/// Runs the days of `rain` through a plan; `course` keeps every day.
///
/// # Source
/// Yield after and before spillage: Jenkins et al. 1978; Fewkes and Butler 2000.
pub fn run(plan: &Plan, rain: &Rain, order: Order, course: bool) -> Year {
    let mut run = Run::new(plan, rain, order);
    for (day, depth) in rain.days.iter().enumerate() {
        run.day(day, depth.unwrap_or_default(), course);
    }
    run.finish()
}

struct Run<'p> {
    plan: &'p Plan,
    rain: &'p Rain,
    order: Order,
    /// Tanks, those that overflow into others before them.
    cascade: Vec<usize>,
    held_m3: Vec<f64>,
    morning_m3: Vec<f64>,
    reaches_m3: Vec<f64>,
    runoff_m3: Vec<f64>,
    /// Of the day.
    today: Day,
    tanks: Vec<Sums>,
    uses: Vec<Uses>,
    out: Year,
    month: Day,
    all: Day,
}

#[derive(Clone, Copy, Default)]
struct Day {
    rain_m3: f64,
    caught_m3: f64,
    overflowed_m3: f64,
    asked_m3: f64,
    met_m3: f64,
}

impl Day {
    fn add(&mut self, day: &Self) {
        self.rain_m3 += day.rain_m3;
        self.caught_m3 += day.caught_m3;
        self.overflowed_m3 += day.overflowed_m3;
        self.asked_m3 += day.asked_m3;
        self.met_m3 += day.met_m3;
    }
}

#[derive(Clone, Copy, Default)]
struct Sums {
    volume_m3: f64,
    least_m3: f64,
    start_m3: f64,
    received_m3: f64,
    given_m3: f64,
    overflowed_m3: f64,
    days_empty: usize,
}

#[derive(Clone, Copy, Default)]
struct Uses {
    asked_m3: f64,
    met_m3: f64,
    short: usize,
    running: usize,
    longest: usize,
    longest_from: usize,
}

impl<'p> Run<'p> {
    fn new(plan: &'p Plan, rain: &'p Rain, order: Order) -> Self {
        let tanks = plan.tanks.iter().map(|tank| {
            let volume_m3 = tank.volume.to_m3();
            let start_m3 = volume_m3 * tank.start.to_ratio();
            let least_m3 = volume_m3 * tank.least.to_ratio();
            Sums { volume_m3, least_m3, start_m3, ..Sums::default() }
        });
        let tanks: Vec<Sums> = tanks.collect();
        let missing = rain.days.iter().filter(|depth| depth.is_none()).count();
        Self {
            plan,
            rain,
            order,
            cascade: {
                let to = plan.tanks.iter().map(|tank| tank.overflow_to.map(TankId::new));
                cascade(&to.collect::<Vec<_>>()).into_iter().map(TankId::index).collect()
            },
            held_m3: tanks.iter().map(|tank| tank.start_m3).collect(),
            morning_m3: vec![0.0; tanks.len()],
            reaches_m3: vec![0.0; tanks.len()],
            runoff_m3: vec![0.0; plan.downspouts.len()],
            today: Day::default(),
            uses: vec![Uses::default(); plan.uses.len()],
            tanks,
            out: Year { days: rain.days.len(), days_missing: missing, ..Year::default() },
            month: Day::default(),
            all: Day::default(),
        }
    }

    fn day(&mut self, day: usize, depth: Length, course: bool) {
        self.today = Day::default();
        self.morning_m3.clone_from(&self.held_m3);
        let date = self.rain.first.plus(day);
        let (year, month, _) = date.parts();
        self.roofs(day, depth);
        if self.order == Order::UseFirst {
            self.all_uses(day, month);
        }
        self.overflows(day);
        for transfer in &self.plan.transfers {
            self.transfer(day, transfer);
        }
        if self.order == Order::UseLast {
            self.all_uses(day, month);
        }
        for (tank, held_m3) in self.tanks.iter_mut().zip(&self.held_m3) {
            tank.days_empty += usize::from(*held_m3 <= tank.least_m3 + NOTHING_M3);
        }
        if depth > self.out.heaviest.map_or(Length::ZERO, |(_, most)| most) {
            self.out.heaviest = Some((day, depth));
        }
        self.month.add(&self.today);
        self.all.add(&self.today);
        let last = day + 1 == self.rain.days.len() || date.plus(1).parts().1 != month;
        if last {
            let sums = std::mem::take(&mut self.month);
            self.out.months.push(MonthYear {
                year,
                month,
                rain: Volume::m3(sums.rain_m3),
                caught: Volume::m3(sums.caught_m3),
                overflowed: Volume::m3(sums.overflowed_m3),
                asked: Volume::m3(sums.asked_m3),
                met: Volume::m3(sums.met_m3),
                end: Volume::m3(self.held_m3.iter().sum()),
            });
        }
        if course {
            self.out.course.push(Course {
                rain: Volume::m3(self.today.rain_m3),
                overflowed: Volume::m3(self.today.overflowed_m3),
                asked: Volume::m3(self.today.asked_m3),
                met: Volume::m3(self.today.met_m3),
                tanks: self.held_m3.iter().map(|held_m3| Volume::m3(*held_m3)).collect(),
            });
        }
    }

    fn is_shut(&self, tank: usize, day: usize) -> bool {
        self.plan.shut.is_some_and(|s| s.tank == tank && (s.first..=s.last).contains(&day))
    }

    /// Lets water into a tank; past a shut one it runs to the ground.
    fn receive(&mut self, day: usize, tank: usize, water_m3: f64) {
        if self.is_shut(tank, day) {
            self.today.overflowed_m3 += water_m3;
        } else {
            self.held_m3[tank] += water_m3;
            self.tanks[tank].received_m3 += water_m3;
        }
    }

    fn roofs(&mut self, day: usize, depth: Length) {
        let depth_m = depth.to_m();
        if depth_m <= 0.0 {
            return;
        }
        self.runoff_m3.fill(0.0);
        for roof in &self.plan.roofs {
            let area_m2 = roof.area.to_m2();
            self.today.rain_m3 += depth_m * area_m2;
            let wet_m = (depth_m - roof.wetting.to_m()).max(0.0);
            let runoff_m3 = roof.runoff.to_ratio() * wet_m * area_m2;
            for (downspout, share) in &roof.to {
                self.runoff_m3[*downspout] += runoff_m3 * share.to_ratio();
            }
        }
        self.reaches_m3.fill(0.0);
        for (downspout, runoff_m3) in self.plan.downspouts.iter().zip(&self.runoff_m3) {
            let caught_m3 = (runoff_m3 - downspout.first_flush.to_m3()).max(0.0);
            for (tank, share) in &downspout.to {
                self.reaches_m3[*tank] += caught_m3 * share.to_ratio();
            }
        }
        for tank in 0..self.reaches_m3.len() {
            let water_m3 = self.reaches_m3[tank];
            self.today.caught_m3 += water_m3;
            self.receive(day, tank, water_m3);
        }
    }

    fn overflows(&mut self, day: usize) {
        for place in 0..self.cascade.len() {
            let tank = self.cascade[place];
            let over_m3 = self.held_m3[tank] - self.tanks[tank].volume_m3;
            if over_m3 <= 0.0 || self.is_shut(tank, day) {
                continue;
            }
            self.held_m3[tank] = self.tanks[tank].volume_m3;
            self.tanks[tank].overflowed_m3 += over_m3;
            match self.plan.tanks[tank].overflow_to {
                Some(to) => self.receive(day, to, over_m3),
                None => self.today.overflowed_m3 += over_m3,
            }
        }
    }

    fn transfer(&mut self, day: usize, transfer: &Transfer) {
        let Transfer { from, to, .. } = *transfer;
        let shut = self.is_shut(from, day) || self.is_shut(to, day);
        let room_m3 = self.tanks[to].volume_m3;
        let starts = self.held_m3[to] < transfer.when_below.to_ratio() * room_m3;
        if shut || !starts {
            return;
        }
        let left_m3 = transfer.leaves.to_ratio() * self.tanks[from].volume_m3;
        let wanted_m3 = transfer.until.to_ratio() * room_m3 - self.held_m3[to];
        let moved_m3 = wanted_m3
            .min(self.held_m3[from] - left_m3)
            .min(transfer.rate.to_m3_per_s() * S_PER_DAY)
            .max(0.0);
        self.held_m3[from] -= moved_m3;
        self.held_m3[to] += moved_m3;
        self.tanks[from].given_m3 += moved_m3;
        self.tanks[to].received_m3 += moved_m3;
    }

    fn all_uses(&mut self, day: usize, month: i64) {
        let plan = self.plan;
        for (index, wants) in plan.uses.iter().enumerate() {
            let in_season = usize::try_from(month - 1).ok().and_then(|m| wants.months.get(m));
            let asked_m3 = match in_season {
                Some(true) => wants.takes.to_m3_per_s() * S_PER_DAY,
                _ => 0.0,
            };
            let met_m3 = self.take(day, wants, asked_m3);
            self.today.asked_m3 += asked_m3;
            self.today.met_m3 += met_m3;
            let uses = &mut self.uses[index];
            uses.asked_m3 += asked_m3;
            uses.met_m3 += met_m3;
            if asked_m3 - met_m3 > NOTHING_M3 {
                uses.short += 1;
                uses.running += 1;
                if uses.running > uses.longest {
                    uses.longest = uses.running;
                    uses.longest_from = day + 1 - uses.running;
                }
            } else {
                uses.running = 0;
            }
        }
    }

    /// What a use may take from a tank.
    fn gives_m3(&self, day: usize, tank: usize) -> f64 {
        if self.is_shut(tank, day) {
            return 0.0;
        }
        let now_m3 = self.held_m3[tank];
        let free_m3 = match self.order {
            Order::UseLast => now_m3.min(self.morning_m3[tank]),
            Order::UseFirst => now_m3,
        };
        (free_m3 - self.tanks[tank].least_m3).max(0.0)
    }

    /// Takes what a use asks for, or what its tanks can give: in proportion to what each can.
    fn take(&mut self, day: usize, wants: &Use, asked_m3: f64) -> f64 {
        let all_m3: f64 = wants.from.iter().map(|tank| self.gives_m3(day, *tank)).sum();
        if asked_m3 <= 0.0 || all_m3 <= 0.0 {
            return 0.0;
        }
        let part = (asked_m3 / all_m3).min(1.0);
        let mut met_m3 = 0.0;
        for tank in &wants.from {
            let taken_m3 = self.gives_m3(day, *tank) * part;
            self.held_m3[*tank] -= taken_m3;
            self.tanks[*tank].given_m3 += taken_m3;
            met_m3 += taken_m3;
        }
        met_m3
    }

    fn finish(mut self) -> Year {
        let start_m3: f64 = self.tanks.iter().map(|tank| tank.start_m3).sum();
        let end_m3: f64 = self.held_m3.iter().sum();
        let all = self.all;
        let lost_m3 = all.rain_m3 - all.caught_m3;
        let balance_m3 = all.rain_m3 + start_m3 - lost_m3 - all.met_m3 - all.overflowed_m3 - end_m3;
        self.out.totals = Totals {
            rain: Volume::m3(all.rain_m3),
            caught: Volume::m3(all.caught_m3),
            lost: Volume::m3(lost_m3),
            used: Volume::m3(all.met_m3),
            overflowed: Volume::m3(all.overflowed_m3),
            balance: Volume::m3(balance_m3),
        };
        self.out.tanks = self.tanks.iter().zip(&self.held_m3).map(tank_year).collect();
        self.out.uses = self.uses.iter().map(use_year).collect();
        self.out
    }
}

fn tank_year((sums, end_m3): (&Sums, &f64)) -> TankYear {
    TankYear {
        start: Volume::m3(sums.start_m3),
        received: Volume::m3(sums.received_m3),
        given: Volume::m3(sums.given_m3),
        overflowed: Volume::m3(sums.overflowed_m3),
        end: Volume::m3(*end_m3),
        days_empty: sums.days_empty,
    }
}

fn use_year(uses: &Uses) -> UseYear {
    UseYear {
        asked: Volume::m3(uses.asked_m3),
        met: Volume::m3(uses.met_m3),
        days_short: uses.short,
        longest_short: uses.longest,
        longest_from: uses.longest_from,
    }
}
