//! Filling visits from a sequence of jobs, each into the first visit that takes it.
//!
//! Some sequence always gives a best plan. Take a best plan and write its jobs down visit by visit, a job that runs on last in
//! the visit it begins in, firsts of pairs before seconds. When a job's turn comes, everything written before it stands no
//! later than in the plan, so its own visit holds nothing but jobs that stood there with it: it fits there, or found an
//! earlier place. It finds the visit free or in its own hands for the same reason. Exposures never fall with time, so the filled
//! plan is no worse.

use super::problem::{Job, Problem, Schedule};

/// Slack in hours and money below which two sums are the same.
pub(super) const CLOSE: f64 = 1e-6;

/// Marks a job without a place.
pub(super) const NOWHERE: usize = usize::MAX;

/// The owner's hands: see [`Ready::hands`].
pub(super) const OWNER: usize = 0;

/// Marks a visit in nobody's hands yet.
pub(super) const NOBODY: usize = usize::MAX;

/// Marks a visit that a long job passes through and nothing else may use.
const PASSED_THROUGH: usize = usize::MAX - 1;

/// Most set-ups that can be shared; the bits of a mask.
const SHARED: usize = 128;

/// A problem made ready: cleaned numbers, masks, pairs without circles, exposures for every visit.
#[derive(Debug)]
pub(super) struct Ready {
    pub jobs: usize,
    pub visits: usize,
    /// Hours of each job.
    pub hours: Vec<f64>,
    /// Set-ups of each job.
    pub needs: Vec<u128>,
    /// Hours of a job and all its set-ups.
    pub alone: Vec<f64>,
    pub setup_hours: Vec<f64>,
    pub visit_hours: Vec<f64>,
    booking_hours: Vec<f64>,
    /// In whose hands each job is: the owner's, or those of a trade, numbered from 1.
    pub hands: Vec<usize>,
    /// How many different hands there are, the owner's included.
    pub all_hands: usize,
    pub before: Vec<Vec<usize>>,
    /// Jobs in an order that keeps the pairs.
    pub order: Vec<usize>,
    exposures: Vec<f64>,
    /// Exposure of each job if it is left out.
    pub left_out: Vec<f64>,
    pub earliest: Vec<usize>,
    pub pinned: Vec<Option<usize>>,
    pub costs: Vec<f64>,
    /// What may be spent by each visit without harm to a later one; empty when money is no matter.
    pub money: Vec<f64>,
    pub stays_open: bool,
}

impl Ready {
    pub fn new(problem: &Problem) -> Ready {
        let jobs = problem.jobs.len();
        let usable = |hours: Option<&f64>| hours.filter(|h| h.is_finite()).map_or(0.0, |h| h.max(0.0));
        let visit_hours: Vec<f64> = problem.visit_hours.iter().map(|h| usable(Some(h))).collect();
        let visits = visit_hours.len();
        let booking_hours = (0..visits).map(|v| usable(problem.booking_hours.get(v))).collect();
        let mut trades: Vec<usize> = problem.jobs.iter().filter_map(|job| job.with).collect();
        trades.sort_unstable();
        trades.dedup();
        let hands = |job: &Job| {
            job.with
                .and_then(|with| trades.binary_search(&with).ok())
                .map_or(OWNER, |trade| trade + 1)
        };
        let setup_hours: Vec<f64> = problem.setups.iter().map(|&h| hours(h)).collect();
        let mut ready = Ready {
            jobs,
            visits,
            hours: Vec::with_capacity(jobs),
            needs: Vec::with_capacity(jobs),
            alone: Vec::with_capacity(jobs),
            visit_hours,
            booking_hours,
            hands: problem.jobs.iter().map(hands).collect(),
            all_hands: trades.len() + 1,
            before: vec![Vec::new(); jobs],
            order: Vec::with_capacity(jobs),
            exposures: Vec::with_capacity(jobs * visits),
            left_out: Vec::with_capacity(jobs),
            earliest: problem.jobs.iter().map(|job| job.earliest).collect(),
            pinned: problem.jobs.iter().map(|job| job.pinned).collect(),
            costs: problem
                .jobs
                .iter()
                .map(|job| if job.cost > 0.0 { job.cost } else { 0.0 })
                .collect(),
            money: allowances(&problem.money, visits),
            stays_open: problem.stays_open,
            setup_hours,
        };
        for job in &problem.jobs {
            let (mut own, mut needs) = (hours(job.hours), 0_u128);
            let mut wanted = if job.with.is_none() {
                job.setups.clone()
            } else {
                Vec::new()
            };
            wanted.sort_unstable();
            wanted.dedup();
            for setup in wanted {
                match ready.setup_hours.get(setup) {
                    Some(_) if setup < SHARED => needs |= 1 << setup,
                    Some(more) => own += more,
                    None => {}
                }
            }
            ready.hours.push(own);
            ready.needs.push(needs);
            let alone = own + ready.opening(needs);
            ready.alone.push(alone);
            let mut last = 0.0;
            for visit in 0..visits.max(job.exposure.len()) {
                last = job
                    .exposure
                    .get(visit)
                    .copied()
                    .filter(|e| e.is_finite())
                    .unwrap_or(last);
                if visit < visits {
                    ready.exposures.push(last);
                }
            }
            ready.left_out.push(last);
        }
        ready.pair(&problem.before);
        ready
    }

    /// Takes the pairs one by one, leaving out those that would close a circle.
    fn pair(&mut self, before: &[(usize, usize)]) {
        for &(first, second) in before {
            if first < self.jobs
                && second < self.jobs
                && !self.waits_for(first, second)
                && !self.before[second].contains(&first)
            {
                self.before[second].push(first);
            }
        }
        let mut seen = vec![false; self.jobs];
        for job in 0..self.jobs {
            self.visit_first(job, &mut seen);
        }
    }

    /// Whether `job` is `other` or comes after it by the pairs taken so far.
    fn waits_for(&self, job: usize, other: usize) -> bool {
        let mut seen = vec![false; self.jobs];
        let mut stack = vec![job];
        while let Some(at) = stack.pop() {
            if at == other {
                return true;
            }
            if !std::mem::replace(&mut seen[at], true) {
                stack.extend(&self.before[at]);
            }
        }
        false
    }

    /// Adds a job to the order, after all it waits for.
    fn visit_first(&mut self, job: usize, seen: &mut [bool]) {
        let mut stack = vec![job];
        while let Some(&at) = stack.last() {
            let next = if seen[at] {
                None
            } else {
                self.before[at].iter().copied().find(|&first| !seen[first])
            };
            if let Some(first) = next {
                stack.push(first);
            } else {
                stack.pop();
                if !std::mem::replace(&mut seen[at], true) {
                    self.order.push(at);
                }
            }
        }
    }

    /// Exposure of a job done in a visit.
    pub fn exposure(&self, job: usize, visit: usize) -> f64 {
        self.exposures[job * self.visits + visit]
    }

    /// Hours of a set of set-ups.
    pub fn opening(&self, mut setups: u128) -> f64 {
        let mut sum = 0.0;
        while setups != 0 {
            sum += self.setup_hours[setups.trailing_zeros() as usize];
            setups &= setups - 1;
        }
        sum
    }

    /// Hours a visit has in some hands.
    pub fn room(&self, hands: usize, visit: usize) -> f64 {
        if hands == OWNER {
            self.visit_hours[visit]
        } else {
            self.booking_hours[visit]
        }
    }

    /// Whether a job is longer than the whole of a visit and may therefore run on.
    pub fn runs_on(&self, job: usize, visit: usize) -> bool {
        self.alone[job] > self.room(self.hands[job], visit) + CLOSE && self.alone[job].is_finite()
    }

    /// Jobs at places in visits, as a schedule.
    pub fn schedule(&self, filled: &Filled, proven: bool) -> Schedule {
        let place = |&visit: &usize| (visit != NOWHERE).then_some(visit);
        Schedule {
            visit: filled.visit.iter().map(place).collect(),
            begins: filled.begins.iter().map(place).collect(),
            exposure: self.total(&filled.visit),
            proven,
        }
    }

    /// Sum of exposures, added in the order of the jobs so that the same plan always has the same sum.
    pub fn total(&self, visit: &[usize]) -> f64 {
        visit
            .iter()
            .enumerate()
            .map(|(job, &visit)| {
                if visit == NOWHERE {
                    self.left_out[job]
                } else {
                    self.exposure(job, visit)
                }
            })
            .sum()
    }
}

fn hours(given: f64) -> f64 {
    if given.is_nan() { f64::INFINITY } else { given.max(0.0) }
}

/// What may be spent by each visit so that no later visit's sum is passed either.
fn allowances(money: &[f64], visits: usize) -> Vec<f64> {
    let Some(&last) = money.last() else { return Vec::new() };
    let mut allowed: Vec<f64> = (0..visits)
        .map(|visit| money.get(visit).copied().unwrap_or(last))
        .collect();
    let mut least = f64::INFINITY;
    for sum in allowed.iter_mut().rev() {
        least = if sum.is_nan() { 0.0 } else { sum.min(least) };
        *sum = least;
    }
    allowed
}

/// Visits partly filled.
#[derive(Debug, Clone, Default)]
pub(super) struct Filled {
    used: Vec<f64>,
    /// In whose hands each visit is.
    hands: Vec<usize>,
    /// Set-ups open in each visit.
    open: Vec<u128>,
    spent: Vec<f64>,
    /// The visit that completes each job.
    pub visit: Vec<usize>,
    pub begins: Vec<usize>,
    placed: Vec<bool>,
    /// Sum of exposures of the jobs dealt with.
    pub exposure: f64,
}

impl Filled {
    pub fn empty(ready: &Ready) -> Filled {
        Filled {
            used: vec![0.0; ready.visits],
            hands: vec![NOBODY; ready.visits],
            open: vec![0; ready.visits],
            spent: vec![0.0; if ready.money.is_empty() { 0 } else { ready.visits }],
            visit: vec![NOWHERE; ready.jobs],
            begins: vec![NOWHERE; ready.jobs],
            placed: vec![false; ready.jobs],
            exposure: 0.0,
        }
    }

    /// Takes over another filling without new memory.
    pub fn copy_from(&mut self, other: &Filled) {
        self.used.clone_from(&other.used);
        self.hands.clone_from(&other.hands);
        self.open.clone_from(&other.open);
        self.spent.clone_from(&other.spent);
        self.visit.clone_from(&other.visit);
        self.begins.clone_from(&other.begins);
        self.placed.clone_from(&other.placed);
        self.exposure = other.exposure;
    }

    /// Whether a job has been dealt with.
    pub fn has(&self, job: usize) -> bool {
        self.placed[job]
    }

    /// Hours a visit has left for a job; `None` if it is in other hands.
    pub fn left(&self, ready: &Ready, job: usize, visit: usize) -> Option<f64> {
        let own = ready.hands[job];
        (self.hands[visit] == own || self.hands[visit] == NOBODY).then(|| ready.room(own, visit) - self.used[visit])
    }

    /// Whether a visit is in some hands already.
    pub fn is_in(&self, hands: usize, visit: usize) -> bool {
        self.hands[visit] == hands
    }

    /// Set-ups open in a visit.
    pub fn open(&self, visit: usize) -> u128 {
        self.open[visit]
    }

    /// Places a job in the first visit that takes it. What it waits for must have been dealt with.
    pub fn place(&mut self, ready: &Ready, job: usize) {
        self.placed[job] = true;
        let mut from = ready.earliest[job];
        for &first in &ready.before[job] {
            from = from.max(self.visit[first]);
        }
        let (mut visit, mut until) = (from, ready.visits);
        if let Some(pinned) = ready.pinned[job] {
            visit = if pinned >= from { pinned } else { NOWHERE };
            until = ready.visits.min(pinned.saturating_add(1));
        }
        while visit < until {
            if let Some(end) = self.ends(ready, job, visit) {
                self.put(ready, job, visit, end);
                self.exposure += ready.exposure(job, end);
                return;
            }
            visit += 1;
        }
        self.exposure += ready.left_out[job];
    }

    /// The visit that completes a job begun in `visit`; `None` if it cannot begin there.
    fn ends(&self, ready: &Ready, job: usize, visit: usize) -> Option<usize> {
        let free = self.left(ready, job, visit)?;
        let hours = ready.hours[job];
        let splits = ready.runs_on(job, visit);
        if hours > free + CLOSE && !splits {
            return None;
        }
        let free = free - ready.opening(ready.needs[job] & !self.open[visit]);
        let end = if hours <= free + CLOSE {
            visit
        } else if splits && free > CLOSE {
            self.run_on(ready, job, hours - free, visit)?.0
        } else {
            return None;
        };
        let cost = ready.costs[job];
        let enough = cost <= 0.0
            || self
                .spent
                .iter()
                .zip(&ready.money)
                .skip(visit)
                .all(|(spent, allowed)| spent + cost <= allowed + CLOSE);
        enough.then_some(end)
    }

    /// Where a job that has `left` hours to go after `visit` ends, and how much of that visit it takes.
    fn run_on(&self, ready: &Ready, job: usize, mut left: f64, visit: usize) -> Option<(usize, f64)> {
        for next in visit + 1..ready.visits {
            let free = self.left(ready, job, next)?;
            if left <= free + CLOSE {
                return Some((next, left));
            }
            if self.hands[next] != NOBODY {
                return None;
            }
            left -= free;
        }
        None
    }

    fn put(&mut self, ready: &Ready, job: usize, visit: usize, end: usize) {
        let needs = ready.needs[job];
        let new = needs & !self.open[visit];
        let opening = ready.opening(new);
        let own = ready.hands[job];
        self.hands[visit] = own;
        if end == visit {
            self.used[visit] += opening + ready.hours[job];
        } else {
            let left = ready.hours[job] - (ready.room(own, visit) - self.used[visit] - opening);
            if let Some((end, rest)) = self.run_on(ready, job, left, visit) {
                for between in visit..end {
                    self.used[between] = ready.room(own, between);
                }
                self.hands[visit + 1..end].fill(PASSED_THROUGH);
                self.hands[end] = own;
                self.used[end] += rest;
            }
        }
        self.open[visit] |= needs;
        if ready.stays_open {
            // A visit that paid for one of them later on is given its hours back.
            let mut later = new;
            for next in visit + 1..ready.visits {
                let back = later & self.open[next];
                if back != 0 {
                    self.used[next] -= ready.opening(back);
                    later &= !back;
                }
                self.open[next] |= needs;
            }
        }
        if ready.costs[job] > 0.0 {
            for spent in self.spent.iter_mut().skip(visit) {
                *spent += ready.costs[job];
            }
        }
        self.visit[job] = end;
        self.begins[job] = visit;
    }
}
