//! The best plan of a small problem, by a dynamic programme over sets of jobs.
//!
//! Visit by visit, for every set of jobs that can be done by then, the least exposure is kept. From each set the next visit takes
//! every batch that fits and to which nothing could be added, and at most one long job that runs on. A batch is in one pair of
//! hands, the owner's or a trade's; each is tried, and a visit in which a long job ends is in the hands of that job. Which
//! set-ups are open and what is spent follow from the set. Sets that cannot lead to anything better than the best plan known, by the
//! bound of [`super::bound`], are dropped.

use std::collections::BTreeMap;

use super::bound::Prices;
use super::decode::{CLOSE, Filled, NOBODY, NOWHERE, OWNER, Ready};
use super::problem::{Problem, Schedule};
use super::search::quick;

/// Up to so many jobs the best plan is always found.
pub const ALWAYS_EXACT: usize = 12;

/// Up to so many jobs it is tried.
pub const SOMETIMES_EXACT: usize = 24;

/// Batches looked at before a problem of more than [`ALWAYS_EXACT`] jobs is given up: about a fifth of a second.
const PATIENCE: u64 = 4_000_000;

/// The best plan, proven; `None` for a problem too large for it.
///
/// Up to 12 jobs it always answers; up to 24 if the bounds cut enough away.
#[must_use]
pub fn exact(problem: &Problem) -> Option<Schedule> {
    let ready = Ready::new(problem);
    (ready.jobs <= SOMETIMES_EXACT).then_some(())?;
    let known = quick(&ready, 0);
    solve(&ready, &known)
}

/// Finds the best plan, given one that is good already.
pub(super) fn solve(ready: &Ready, known: &Filled) -> Option<Schedule> {
    if ready.jobs > SOMETIMES_EXACT || ready.setup_hours.len() > 128 {
        return None;
    }
    let known_best = ready.total(&known.visit);
    let prices = Prices::new(ready, known_best, !ready.stays_open);
    let mut programme = Programme {
        ready,
        prices,
        before: masks(ready),
        layers: vec![BTreeMap::new(); ready.visits + 1],
        steps: Vec::new(),
        best: known_best,
        best_step: None,
        patience: if ready.jobs <= ALWAYS_EXACT { u64::MAX } else { PATIENCE },
    };
    programme.run()?;
    let mut filled = known.clone();
    if programme.best_step.is_some() {
        filled.visit.fill(NOWHERE);
        filled.begins.fill(NOWHERE);
        let mut at = programme.best_step;
        while let Some(step) = at.and_then(|at| programme.steps.get(at)) {
            for job in (0..ready.jobs).filter(|&job| step.batch >> job & 1 == 1) {
                filled.visit[job] = step.visit;
                filled.begins[job] = step.visit;
            }
            if let Some((job, end)) = step.long {
                filled.visit[job] = end;
                filled.begins[job] = step.visit;
            }
            at = step.from;
        }
    }
    Some(ready.schedule(&filled, true))
}

fn masks(ready: &Ready) -> Vec<u32> {
    ready
        .before
        .iter()
        .map(|firsts| firsts.iter().fold(0, |mask, &first| mask | 1 << first))
        .collect()
}

/// One visit's work on the way to a set.
#[derive(Debug, Clone, Copy)]
struct Step {
    from: Option<usize>,
    visit: usize,
    batch: u32,
    long: Option<(usize, usize)>,
}

/// A way to have a set done: whose hands the coming visit is in and how many of its hours a long job still takes, exposure, last
/// step.
#[derive(Debug, Clone, Copy)]
struct Label {
    hands: usize,
    taken: f64,
    exposure: f64,
    step: Option<usize>,
}

impl Label {
    /// Whether whatever can follow the other can follow this one at no more exposure.
    fn serves(&self, other: &Label) -> bool {
        self.taken <= other.taken
            && self.exposure <= other.exposure
            && (self.hands == NOBODY || self.hands == other.hands)
    }
}

struct Programme<'a> {
    ready: &'a Ready,
    prices: Prices,
    before: Vec<u32>,
    /// Sets done before each visit.
    layers: Vec<BTreeMap<u32, Vec<Label>>>,
    steps: Vec<Step>,
    best: f64,
    best_step: Option<usize>,
    patience: u64,
}

/// A batch being put together.
#[derive(Clone, Copy)]
struct Batch {
    done: u32,
    jobs: u32,
    hands: usize,
    used: f64,
    open: u128,
    cost: f64,
    exposure: f64,
}

impl Programme<'_> {
    /// `None` when patience ends.
    fn run(&mut self) -> Option<()> {
        let start = Label {
            hands: NOBODY,
            taken: 0.0,
            exposure: 0.0,
            step: None,
        };
        if let Some(first) = self.layers.first_mut() {
            first.insert(0, vec![start]);
        }
        for visit in 0..self.ready.visits {
            let layer = std::mem::take(&mut self.layers[visit]);
            for (done, labels) in layer {
                for label in labels {
                    self.leave(done, visit, label)?;
                }
            }
        }
        Some(())
    }

    /// Everything that can be done in a visit from one set.
    fn leave(&mut self, done: u32, visit: usize, label: Label) -> Option<()> {
        if self.hopeless(done, visit, &label) {
            return Some(());
        }
        let ready = self.ready;
        let members = (0..ready.jobs).filter(|&job| done >> job & 1 == 1);
        let (open, cost) = members.fold((0, 0.0), |(open, cost), job| {
            (open | ready.needs[job], cost + ready.costs[job])
        });
        let batch = Batch {
            done,
            jobs: 0,
            hands: NOBODY,
            used: label.taken,
            open: if ready.stays_open { open } else { 0 },
            cost,
            exposure: label.exposure,
        };
        // An idle visit is tried with each, so that it is kept wherever one of them has nothing to add.
        for hands in (0..ready.all_hands).filter(|&hands| label.hands == NOBODY || label.hands == hands) {
            let may: Vec<usize> = ready
                .order
                .iter()
                .copied()
                .filter(|&job| done >> job & 1 == 0 && ready.hands[job] == hands && ready.earliest[job] <= visit)
                .filter(|&job| ready.pinned[job].is_none_or(|pinned| pinned == visit))
                .collect();
            self.fill(&may, 0, Batch { hands, ..batch }, visit, label.step)?;
        }
        Some(())
    }

    /// Adds jobs from `at` on to a batch in all ways, and records each batch worth recording.
    fn fill(&mut self, may: &[usize], at: usize, batch: Batch, visit: usize, from: Option<usize>) -> Option<()> {
        self.patience = self.patience.checked_sub(1)?;
        let ready = self.ready;
        let hours = ready.room(batch.hands, visit);
        let room = hours + CLOSE;
        let mut full = true;
        for (place, &job) in may.iter().enumerate() {
            let has = batch.done | batch.jobs;
            if has >> job & 1 == 1 || self.before[job] & !has != 0 || !self.affords(&batch, job, visit) {
                continue;
            }
            let opened = batch.used + ready.opening(ready.needs[job] & !batch.open);
            if opened + ready.hours[job] <= room {
                full = false;
                if place >= at {
                    let with = Batch {
                        jobs: batch.jobs | 1 << job,
                        used: opened + ready.hours[job],
                        open: batch.open | ready.needs[job],
                        cost: batch.cost + ready.costs[job],
                        exposure: batch.exposure + ready.exposure(job, visit),
                        ..batch
                    };
                    self.fill(may, place + 1, with, visit, from)?;
                }
            } else if ready.runs_on(job, visit) && hours - opened > CLOSE {
                self.begin_long(job, ready.hours[job] - (hours - opened), &batch, visit, from);
            }
        }
        // With money short it may be right to leave room: what is spent now is missing later.
        if full || !ready.money.is_empty() {
            let label = Label {
                hands: NOBODY,
                taken: 0.0,
                exposure: batch.exposure,
                step: None,
            };
            let step = Step {
                from,
                visit,
                batch: batch.jobs,
                long: None,
            };
            self.record(batch.done | batch.jobs, visit + 1, label, step);
        }
        Some(())
    }

    fn affords(&self, batch: &Batch, job: usize, visit: usize) -> bool {
        let cost = self.ready.costs[job];
        cost <= 0.0
            || self
                .ready
                .money
                .get(visit)
                .is_none_or(|allowed| batch.cost + cost <= allowed + CLOSE)
    }

    fn begin_long(&mut self, job: usize, mut left: f64, batch: &Batch, visit: usize, from: Option<usize>) {
        for end in visit + 1..self.ready.visits {
            let hours = self.ready.room(batch.hands, end);
            if left <= hours + CLOSE {
                let exposure = batch.exposure + self.ready.exposure(job, end);
                let label = Label {
                    hands: batch.hands,
                    taken: left,
                    exposure,
                    step: None,
                };
                let step = Step {
                    from,
                    visit,
                    batch: batch.jobs,
                    long: Some((job, end)),
                };
                self.record(batch.done | batch.jobs | 1 << job, end, label, step);
                return;
            }
            left -= hours;
        }
    }

    /// Whether nothing better than the best known can come of a set.
    fn hopeless(&self, done: u32, visit: usize, label: &Label) -> bool {
        let left = (0..self.ready.jobs).filter(|&job| done >> job & 1 == 0);
        let least: f64 = left.map(|job| self.prices.least(job, visit)).sum();
        let gone = match label.hands {
            NOBODY => 0.0,
            OWNER => label.taken,
            trade => self.prices.booked(self.ready, trade, visit),
        };
        label.exposure + least - self.prices.hours_from(visit, gone) >= self.best - 1e-10 * self.best.abs()
    }

    fn record(&mut self, done: u32, visit: usize, mut label: Label, step: Step) {
        if self.hopeless(done, visit, &label) {
            return;
        }
        let labels = self.layers[visit].entry(done).or_default();
        if labels.iter().any(|old| old.serves(&label)) {
            return;
        }
        label.step = Some(self.steps.len());
        self.steps.push(step);
        labels.retain(|old| !label.serves(old));
        labels.push(label);
        let left = (0..self.ready.jobs).filter(|&job| done >> job & 1 == 0);
        let total = label.exposure + left.map(|job| self.ready.left_out[job]).sum::<f64>();
        if total < self.best {
            self.best = total;
            self.best_step = label.step;
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::engine::plan::problem::Job;
    use rand::{RngExt, SeedableRng};
    use rand_pcg::Pcg64Mcg;

    /// Two long jobs in different hands, and short ones that want what a long one leaves of its last visit.
    fn random(dice: &mut Pcg64Mcg) -> Problem {
        let visits = 6;
        let jobs = dice.random_range(3..6);
        let listed = (0..jobs).map(|n| {
            let with = [None, Some(0)][if n < 2 { n } else { dice.random_range(0..2) }];
            let mut carried = 0.0;
            let exposure = (0..visits).map(|_| {
                carried += f64::from(dice.random_range(0..40_u8));
                carried
            });
            let exposure = exposure.collect();
            let (hours, whole) = match with {
                None => (f64::from(dice.random_range(1..=2_u8)), 3.0),
                Some(_) => (f64::from(dice.random_range(1..=7_u8)), 8.0),
            };
            Job {
                hours: if n < 2 { whole + hours } else { hours },
                with,
                setups: if n == 2 { vec![0] } else { Vec::new() },
                exposure,
                earliest: dice.random_range(0..3) * usize::from(n >= 2),
                cost: 0.0,
                pinned: None,
            }
        });
        Problem {
            jobs: listed.collect(),
            visit_hours: vec![3.0; visits],
            booking_hours: vec![8.0; visits],
            setups: vec![0.5],
            before: if dice.random() {
                vec![(0, 2), (1, 2)]
            } else {
                Vec::new()
            },
            stays_open: dice.random(),
            ..Problem::default()
        }
    }

    #[test]
    fn the_programme_needs_no_good_plan_to_start_from() {
        let mut dice = Pcg64Mcg::seed_from_u64(31);
        for number in 0..1000 {
            let problem = random(&mut dice);
            let ready = Ready::new(&problem);
            let good = quick(&ready, 1);
            let from_good = solve(&ready, &good).map(|s| s.exposure);
            let from_nothing = solve(&ready, &Filled::empty(&ready)).map(|s| s.exposure);
            let difference = from_good.zip(from_nothing).map(|(a, b)| (a - b).abs());
            assert!(
                difference.is_some_and(|d| d < 1e-6),
                "{number}: {from_good:?} and {from_nothing:?} for {problem:#?}"
            );
        }
    }
}
