//! Good plans for problems of any size: many starts, then sequences changed a little at a time.
//!
//! Every sequence of jobs fills the visits in one way (see `decode`), so the search walks over sequences: it takes one job
//! or a short block elsewhere, or swaps two jobs, and refills the visits from the first place that changed. Worse sequences are
//! taken now and then, less and less often (simulated annealing). Its budget is counted in fillings, not in seconds, and
//! its dice are seeded: the same problem and seed give the same plan on every machine.

use rand::{RngExt, SeedableRng};
use rand_pcg::Pcg64Mcg;

use super::bound;
use super::decode::{Filled, OWNER, Ready};
use super::exact::{ALWAYS_EXACT, SOMETIMES_EXACT, solve};
use super::problem::{Problem, Schedule};

/// Fillings tried on a large problem.
const FILLINGS: u64 = 110_000;
/// Most fillings tried before an exact solution.
const QUICK: u64 = 6_000;
/// Walks the fillings are shared between.
const WALKS: u64 = 4;

/// A plan of least exposure as far as can be found: proven best for small problems, else the best of a long search.
///
/// The answer depends on the problem and the seed only. Jobs that fit nowhere stay without a visit; see
/// [`super::problem`].
#[must_use]
pub fn search(problem: &Problem, seed: u64) -> Schedule {
    search_knowing(problem, seed, &[])
}

/// As [`search`], and never worse than filling the visits in the order known; jobs it does not name come last.
#[must_use]
pub fn search_knowing(problem: &Problem, seed: u64, known: &[usize]) -> Schedule {
    let ready = Ready::new(problem);
    let mut first = quick(&ready, seed);
    if !known.is_empty() {
        let named = known.iter().copied().filter(|job| *job < ready.jobs);
        let rest = ready.order.iter().copied().filter(|job| !known.contains(job));
        let filled = fill(&ready, &named.chain(rest).collect::<Vec<_>>());
        if filled.exposure < first.exposure {
            first = filled;
        }
    }
    if ready.jobs <= SOMETIMES_EXACT {
        let good = if ready.jobs <= ALWAYS_EXACT {
            first.clone()
        } else {
            walk(&ready, seed, FILLINGS / 4, first.clone())
        };
        if let Some(best) = solve(&ready, &good) {
            return best;
        }
    }
    // A search that begins with what another one found needs less.
    let fillings = if known.is_empty() { FILLINGS } else { FILLINGS / 3 };
    let found = walk(&ready, seed, fillings, first);
    let mut schedule = ready.schedule(&found, false);
    schedule.proven = schedule.exposure <= bound::bound(problem);
    schedule
}

/// A good plan in little time.
pub(super) fn quick(ready: &Ready, seed: u64) -> Filled {
    let fillings = QUICK.min(40 * (ready.jobs as u64).pow(2));
    walk(ready, seed, fillings, fill(ready, &ready.order))
}

/// Fills the visits from a sequence; firsts of pairs are taken before their seconds.
fn fill(ready: &Ready, sequence: &[usize]) -> Filled {
    let mut filled = Filled::empty(ready);
    let mut taken = Vec::with_capacity(sequence.len());
    for &job in sequence {
        take(ready, &mut filled, job, &mut taken);
    }
    filled
}

/// Places a job after all it waits for, and notes the order in which that was done.
fn take(ready: &Ready, filled: &mut Filled, job: usize, taken: &mut Vec<usize>) {
    if filled.has(job) {
        return;
    }
    for &first in &ready.before[job] {
        take(ready, filled, first, taken);
    }
    filled.place(ready, job);
    taken.push(job);
}

/// Several walks from several starts; returns the best plan met, `known` included.
fn walk(ready: &Ready, seed: u64, fillings: u64, known: Filled) -> Filled {
    let mut best = known;
    if ready.jobs == 0 || ready.visits == 0 {
        return best;
    }
    let mut dice = Pcg64Mcg::seed_from_u64(seed);
    let mut best_sequence = by_visit(ready, &best);
    for round in 0..WALKS {
        let mut start = best_sequence.clone();
        let mut least = f64::INFINITY;
        for attempt in 0..8_u32 {
            let spread = if attempt < 2 && round == 0 {
                0.0
            } else {
                0.15 * f64::from(attempt)
            };
            let sequence = dispatch(ready, attempt % 2 == 0, spread, &mut dice);
            let total = ready.total(&fill(ready, &sequence).visit);
            if total < least {
                least = total;
                start = sequence;
            }
        }
        if round + 1 == WALKS {
            start = best_sequence.clone();
        }
        let mut chain = Chain::new(ready, start);
        chain.run(fillings / WALKS, &mut dice);
        if ready.total(&chain.best.visit) < ready.total(&best.visit) {
            best_sequence = chain.best_sequence;
            best = chain.best;
        }
    }
    best
}

/// The jobs of a plan in the order of their visits.
fn by_visit(ready: &Ready, filled: &Filled) -> Vec<usize> {
    let mut sequence = ready.order.clone();
    sequence.sort_by_key(|&job| (filled.begins[job], filled.visit[job]));
    sequence
}

/// A start: always next the job that takes away most exposure for each of the owner's hours it costs where the filling stands,
/// set-ups that are open already being free, and so is a booking that is made already. Smith's rule when there are no set-ups.
fn dispatch(ready: &Ready, look_far: bool, spread: f64, dice: &mut Pcg64Mcg) -> Vec<usize> {
    let mut filled = Filled::empty(ready);
    let mut taken = Vec::with_capacity(ready.jobs);
    let noise: Vec<f64> = (0..ready.jobs)
        .map(|_| (spread * (dice.random::<f64>() - 0.5) * 4.0).exp())
        .collect();
    for &job in ready.order.iter().filter(|&&job| ready.pinned[job].is_some()) {
        take(ready, &mut filled, job, &mut taken);
    }
    let last = ready.visits - 1;
    while taken.len() < ready.jobs {
        let mut chosen = None;
        let mut most = f64::NEG_INFINITY;
        for &job in ready.order.iter().filter(|&&job| !filled.has(job)) {
            let mut trial = None;
            for visit in ready.earliest[job].min(last)..ready.visits {
                let more = ready.hours[job] + ready.opening(ready.needs[job] & !filled.open(visit));
                let left = filled.left(ready, job, visit);
                if visit == last || left.is_some_and(|left| more <= left + 1e-6 || ready.runs_on(job, visit)) {
                    let asks = match ready.hands[job] {
                        OWNER => more,
                        trade if filled.is_in(trade, visit) => 0.0,
                        _ => ready.visit_hours[visit],
                    };
                    trial = Some((visit, asks));
                    break;
                }
            }
            let Some((visit, asks)) = trial else { continue };
            let until = if look_far { last } else { (visit + 2).min(last) };
            let slope = (ready.exposure(job, until) - ready.exposure(job, visit)) / (until - visit).max(1) as f64;
            let worth = (slope + 1e-12) / (asks.max(1e-3) * (1.0 + visit as f64)) * noise[job];
            if worth > most {
                most = worth;
                chosen = Some(job);
            }
        }
        match chosen.or_else(|| ready.order.iter().copied().find(|&job| !filled.has(job))) {
            Some(job) => take(ready, &mut filled, job, &mut taken),
            None => break,
        }
    }
    taken
}

/// One walk over sequences.
struct Chain<'a> {
    ready: &'a Ready,
    sequence: Vec<usize>,
    /// The filling before each place of the sequence.
    before: Vec<Filled>,
    now: f64,
    /// Least exposure any job can have: used to stop a filling that cannot be taken.
    least: Vec<f64>,
    trial: Filled,
    changed: Vec<usize>,
    taken: Vec<usize>,
    best: Filled,
    best_sequence: Vec<usize>,
}

impl<'a> Chain<'a> {
    fn new(ready: &'a Ready, sequence: Vec<usize>) -> Chain<'a> {
        let empty = Filled::empty(ready);
        let soonest = bound::soonest(ready);
        let least = (0..ready.jobs)
            .map(|job| {
                if soonest[job] < ready.visits {
                    ready.exposure(job, soonest[job])
                } else {
                    ready.left_out[job]
                }
            })
            .collect();
        let mut chain = Chain {
            ready,
            before: vec![empty.clone(); ready.jobs + 1],
            now: 0.0,
            least,
            trial: empty.clone(),
            changed: Vec::new(),
            taken: Vec::new(),
            best: empty,
            best_sequence: sequence.clone(),
            sequence,
        };
        chain.refill(0);
        chain.best.copy_from(&chain.before[ready.jobs]);
        chain
    }

    /// Fills anew from a place on and keeps the filling before each place.
    fn refill(&mut self, from: usize) {
        self.trial.copy_from(&self.before[from]);
        for place in from..self.sequence.len() {
            self.trial.place(self.ready, self.sequence[place]);
            self.before[place + 1].copy_from(&self.trial);
        }
        self.now = self.trial.exposure;
    }

    fn run(&mut self, fillings: u64, dice: &mut Pcg64Mcg) {
        let jobs = self.sequence.len();
        if jobs < 2 {
            return;
        }
        let hot = 0.02 * self.now.abs() / jobs as f64 + 1e-12;
        let mut heat = hot;
        for filling in 0..fillings {
            if filling % 64 == 0 {
                heat = hot * 1e-4_f64.powf(filling as f64 / fillings as f64);
            }
            let ceiling = self.now - heat * (1.0 - dice.random::<f64>()).ln();
            let from = self.change(dice);
            if !self.try_from(from, ceiling) {
                continue;
            }
            self.sequence.truncate(from);
            self.sequence.extend_from_slice(&self.taken);
            self.refill(from);
            if self.now < self.best.exposure - 1e-12 * self.now.abs() {
                self.best.copy_from(&self.before[jobs]);
                self.best_sequence.clone_from(&self.sequence);
            }
        }
    }

    /// Fills a changed sequence from the first place that changed; false as soon as it is over the ceiling.
    fn try_from(&mut self, from: usize, ceiling: f64) -> bool {
        self.trial.copy_from(&self.before[from]);
        self.taken.clear();
        let mut rest: f64 = self.changed.iter().skip(from).map(|&job| self.least[job]).sum();
        for place in from..self.changed.len() {
            let had = self.taken.len();
            take(self.ready, &mut self.trial, self.changed[place], &mut self.taken);
            for &job in &self.taken[had..] {
                rest -= self.least[job];
            }
            if self.trial.exposure + rest > ceiling + 1e-9 * ceiling.abs() {
                return false;
            }
        }
        true
    }

    /// Writes a neighbour of the sequence and says from which place it differs.
    fn change(&mut self, dice: &mut Pcg64Mcg) -> usize {
        let jobs = self.sequence.len();
        self.changed.clone_from(&self.sequence);
        let one = dice.random_range(0..jobs);
        let mut other = dice.random_range(0..jobs - 1);
        other += usize::from(other >= one);
        let kind: f64 = dice.random();
        if kind < 0.4 {
            let job = self.changed.remove(one);
            self.changed.insert(other, job);
        } else if kind < 0.8 {
            self.changed.swap(one, other);
        } else {
            let length = dice.random_range(2..=4).min(jobs);
            let start = one.min(jobs - length);
            let block: Vec<usize> = self.changed.drain(start..start + length).collect();
            let to = other.min(self.changed.len());
            self.changed.splice(to..to, block);
            return start.min(to);
        }
        one.min(other)
    }
}
