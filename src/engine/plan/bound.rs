//! How little exposure any plan must carry.
//!
//! Each repair alone, as early as it can possibly be completed, is a bound already. It is sharpened by the hours: everything
//! completed by a visit must fit into the hours up to it. Give each hour of each visit a price, never rising with time; a plan then
//! costs no less than each job at the visit that is cheapest for it, exposure and hours together, less the price of
//! all hours there are (Lagrange's relaxation; prices improved by steps along the overload, Held and Karp 1971).
//! A set-up is charged in equal shares to as many jobs as can at most share it. A booking takes a whole visit from the owner,
//! which is charged in equal shares to as many jobs as one booking can complete at most; its own hours cost nothing.

use super::decode::{CLOSE, Filled, OWNER, Ready};
use super::problem::Problem;

/// Rounds of improving the prices.
const ROUNDS: usize = 400;

/// Rounds of working out how many jobs can share a set-up.
const SHARING_ROUNDS: usize = 4;

/// A lower bound on the exposure of every plan of the problem.
///
/// Zero jobs have 0; without visits it is what all jobs carry when left out.
#[must_use]
pub fn bound(problem: &Problem) -> f64 {
    let ready = Ready::new(problem);
    let mut filled = Filled::empty(&ready);
    for &job in &ready.order {
        filled.place(&ready, job);
    }
    let free = Prices::free(&ready);
    let simple: f64 = (0..ready.jobs).map(|job| free.least(job, 0)).sum();
    let best = ready.total(&filled.visit);
    // Sums of many terms may be off by rounding; a bound errs downwards.
    let priced = Prices::new(&ready, best, true).whole() - 1e-9 * best.abs();
    simple.max(priced).min(best)
}

/// What hours cost in each visit, and from that what each job costs at least.
#[derive(Debug)]
pub(super) struct Prices {
    visits: usize,
    /// For each job and each first visit: least of exposure and priced hours from there on.
    least: Vec<f64>,
    /// Price of all hours from a visit on.
    tail: Vec<f64>,
    price: Vec<f64>,
    /// Share of a booking's visit that each of its jobs is charged, by trade.
    shares: Vec<f64>,
}

impl Prices {
    /// Hours for nothing.
    fn free(ready: &Ready) -> Prices {
        let soonest = soonest(ready);
        let charges = Charges::new(ready, false);
        Prices::at(ready, &soonest, &vec![0.0; ready.visits], &charges)
    }

    /// Prices for a problem one plan of which has the exposure `known`. With `shares`, set-ups are charged too; that
    /// holds for a whole problem, or for what is left of one whose set-ups are closed after each visit.
    pub fn new(ready: &Ready, known: f64, shares: bool) -> Prices {
        let soonest = soonest(ready);
        let charges = Charges::new(ready, shares);
        let mut price = vec![0.0; ready.visits];
        let mut best = Prices::at(ready, &soonest, &price, &charges);
        let (mut step, mut idle) = (1.0, 0);
        for _ in 0..ROUNDS {
            let now = Prices::at(ready, &soonest, &price, &charges);
            let (reached, so_far) = (now.whole(), best.whole());
            let over = overload(ready, &soonest, &price, &charges);
            let size: f64 = over.iter().map(|o| o * o).sum();
            if reached > so_far + 1e-9 * known.abs() {
                idle = 0;
            } else {
                idle += 1;
                if idle == 15 {
                    step *= 0.7;
                    idle = 0;
                }
            }
            if reached > so_far {
                best = now;
            }
            let gap = known * 1.001 - reached;
            if size <= 0.0 || gap <= 0.0 {
                break;
            }
            for (price, over) in price.iter_mut().zip(&over) {
                *price += step * gap / size * over;
            }
            falling(&mut price);
        }
        best
    }

    fn at(ready: &Ready, soonest: &[usize], price: &[f64], charges: &Charges) -> Prices {
        let visits = ready.visits;
        let mut least = vec![0.0; ready.jobs * (visits + 1)];
        for job in 0..ready.jobs {
            let mut low = ready.left_out[job];
            least[job * (visits + 1) + visits] = low;
            for visit in (0..visits).rev() {
                if visit >= soonest[job] {
                    let priced = if price[visit] > 0.0 {
                        price[visit] * charges.of(ready, job, visit)
                    } else {
                        0.0
                    };
                    low = low.min(ready.exposure(job, visit) + priced);
                }
                least[job * (visits + 1) + visit] = low;
            }
        }
        let mut tail = vec![0.0; visits + 1];
        for visit in (0..visits).rev() {
            tail[visit] = tail[visit + 1] + price[visit] * ready.visit_hours[visit];
        }
        Prices {
            visits,
            least,
            tail,
            price: price.to_vec(),
            shares: charges.shares.clone(),
        }
    }

    /// The owner's hours in a visit that a job completed there by a trade is charged.
    pub fn booked(&self, ready: &Ready, trade: usize, visit: usize) -> f64 {
        self.shares[trade] * ready.visit_hours[visit]
    }

    /// What a job costs at least if it is completed in `visit` or later.
    pub fn least(&self, job: usize, visit: usize) -> f64 {
        self.least[job * (self.visits + 1) + visit]
    }

    /// What the hours from `visit` on are worth when `taken` hours of it are gone.
    pub fn hours_from(&self, visit: usize, taken: f64) -> f64 {
        self.tail[visit] - self.price.get(visit).map_or(0.0, |price| price * taken)
    }

    fn whole(&self) -> f64 {
        let jobs: f64 = self.least.iter().step_by(self.visits + 1).sum();
        jobs - self.tail.first().copied().unwrap_or(0.0)
    }
}

/// By how much each visit is overfilled when every job takes its cheapest one.
fn overload(ready: &Ready, soonest: &[usize], price: &[f64], charges: &Charges) -> Vec<f64> {
    let mut over: Vec<f64> = ready.visit_hours.iter().map(|hours| -hours).collect();
    for (job, &soonest) in soonest.iter().enumerate() {
        let mut cheapest = (ready.left_out[job], None);
        for visit in (soonest..ready.visits).rev() {
            let cost = ready.exposure(job, visit) + price[visit] * charges.of(ready, job, visit);
            if cost <= cheapest.0 {
                cheapest = (cost, Some(visit));
            }
        }
        if let Some(visit) = cheapest.1 {
            over[visit] += charges.of(ready, job, visit);
        }
    }
    over
}

/// The nearest prices that never rise and are never negative (pooling neighbours that rise).
fn falling(price: &mut [f64]) {
    let mut pools: Vec<(f64, usize)> = Vec::with_capacity(price.len());
    for &one in price.iter() {
        let mut pool = (one, 1);
        while let Some(&(mean, count)) = pools.last() {
            if mean >= pool.0 {
                break;
            }
            pools.pop();
            let both = count + pool.1;
            pool = ((mean * count as f64 + pool.0 * pool.1 as f64) / both as f64, both);
        }
        pools.push(pool);
    }
    let even = pools
        .iter()
        .flat_map(|&(mean, count)| std::iter::repeat_n(mean.max(0.0), count));
    for (price, mean) in price.iter_mut().zip(even) {
        *price = mean;
    }
}

/// The owner's hours that each job is charged.
struct Charges {
    /// Those of the owner's jobs.
    hours: Vec<f64>,
    /// Of a booked job the share of the visit that completes it, by trade; 0 for the owner.
    shares: Vec<f64>,
}

impl Charges {
    fn new(ready: &Ready, set_ups: bool) -> Charges {
        Charges {
            hours: if set_ups { charged(ready) } else { ready.hours.clone() },
            shares: (0..ready.all_hands).map(|hands| share(ready, hands)).collect(),
        }
    }

    fn of(&self, ready: &Ready, job: usize, visit: usize) -> f64 {
        match ready.hands[job] {
            OWNER => self.hours[job],
            trade => self.shares[trade] * ready.visit_hours[visit],
        }
    }
}

/// One through the number of jobs that a visit booked with a trade can complete at most: those that fit into the longest
/// booking, and one that began before.
fn share(ready: &Ready, trade: usize) -> f64 {
    if trade == OWNER {
        return 0.0;
    }
    let mut left = (0..ready.visits).map(|v| ready.room(trade, v)).fold(CLOSE, f64::max) + CLOSE;
    let jobs = || (0..ready.jobs).filter(|&job| ready.hands[job] == trade);
    let mut hours: Vec<f64> = jobs().map(|job| ready.hours[job]).collect();
    hours.sort_by(f64::total_cmp);
    let fit = hours.iter().take_while(|&&own| {
        left -= own;
        left >= -CLOSE
    });
    let more = usize::from(!jobs().all(|job| fits(ready, job)));
    1.0 / (fit.count() + more).clamp(1, hours.len().max(1)) as f64
}

/// Hours of each job with its share of its set-ups.
///
/// How many jobs can share a set-up in one visit follows from their own hours and their shares of the other set-ups, which
/// follow from how many can share those: a few rounds of that, each of them valid by itself.
fn charged(ready: &Ready) -> Vec<f64> {
    let longest = ready.visit_hours.iter().copied().fold(0.0, f64::max);
    let users: Vec<Vec<usize>> = (0..ready.setup_hours.len().min(128))
        .map(|setup| {
            (0..ready.jobs)
                .filter(|&job| ready.needs[job] >> setup & 1 == 1)
                .collect()
        })
        .collect();
    let mut shares: Vec<f64> = vec![0.0; users.len()];
    let mut charged = ready.hours.clone();
    for _ in 0..SHARING_ROUNDS {
        for (setup, users) in users.iter().enumerate() {
            let opening = ready.setup_hours[setup];
            if users.is_empty() || !opening.is_finite() {
                continue;
            }
            let mut sharing = users.len();
            if !ready.stays_open {
                let mut hours: Vec<f64> = users.iter().map(|&job| charged[job] - shares[setup]).collect();
                hours.sort_by(f64::total_cmp);
                let mut left = longest - opening + CLOSE;
                let fit = hours
                    .iter()
                    .take_while(|&&own| {
                        left -= own;
                        left >= -CLOSE
                    })
                    .count();
                // One more than fit may share it when the last of them runs on.
                let more = usize::from(!users.iter().all(|&job| fits(ready, job)));
                sharing = sharing.min(fit + more).max(1);
            }
            let share = opening / sharing as f64;
            for &job in users {
                charged[job] += share - shares[setup];
            }
            shares[setup] = share;
        }
    }
    charged
}

/// Whether a job never runs on.
fn fits(ready: &Ready, job: usize) -> bool {
    (0..ready.visits).all(|visit| !ready.runs_on(job, visit))
}

/// The first visit that could complete each job, were it alone with what must come before it.
pub(super) fn soonest(ready: &Ready) -> Vec<usize> {
    let mut soonest: Vec<usize> = vec![0; ready.jobs];
    let mut needed: Vec<Vec<usize>> = vec![Vec::new(); ready.jobs];
    for &job in &ready.order {
        let mut from = ready.earliest[job].max(ready.pinned[job].unwrap_or(0));
        let mut all = vec![job];
        for &first in &ready.before[job] {
            // Other hands cannot have the same visit.
            let next = usize::from(ready.hands[first] != ready.hands[job]);
            from = from.max(soonest[first].saturating_add(next));
            all.extend(&needed[first]);
        }
        all.sort_unstable();
        all.dedup();
        let setups = all.iter().fold(0, |setups, &one| setups | ready.needs[one]);
        if ready.costs[job] > 0.0 {
            let cost: f64 = all.iter().map(|&one| ready.costs[one]).sum();
            from = from.max(
                ready
                    .money
                    .iter()
                    .take_while(|&&allowed| allowed + CLOSE < cost)
                    .count(),
            );
        }
        for hands in 0..ready.all_hands {
            let own = all.iter().filter(|&&one| ready.hands[one] == hands);
            let opening = if hands == OWNER { ready.opening(setups) } else { 0.0 };
            let hours = own.map(|&one| ready.hours[one]).sum::<f64>() + opening;
            let mut gone = 0.0;
            let reach = (0..ready.visits).take_while(|&visit| {
                gone += ready.room(hands, visit);
                gone + CLOSE < hours
            });
            from = from.max(reach.count());
        }
        soonest[job] = from;
        needed[job] = all;
    }
    soonest
}
