//! What each limit of the owner costs: the plan is made again without it.
//!
//! The plan without a limit starts its search from the sequence of the plan with it, so that chance alone never makes
//! freedom look dear. Both are set against each other by the exposure of the same tasks until the same day: a task without a
//! place counts until the later calendar's last session.

use jiff::civil::Date;
use rayon::prelude::*;
use serde::Serialize;

use super::booking::trade;
use super::build::{SEED, day_of, exposure_at, solved};
use super::model::ToBuy;
use super::pose::{Posed, Trades, pose};
use super::problem::Schedule;
use super::search::search_knowing;
use crate::car::{Buying, Car, Purchase};
use crate::engine::clock::days_between;
use crate::engine::state::Assessment;
use crate::rubric::{Library, PartId};

/// Costs below this share of the exposure are not told.
pub const WORTH_TELLING: f64 = 0.01;
/// Hours by which sessions are made longer to see what that brings.
pub const MORE_HOURS: f64 = 2.0;
/// Days by which an order is put off to see what ordering today brings.
pub const A_FORTNIGHT: u32 = 14;
/// Most parts whose ordering is looked at one by one: those of the tasks that carry most.
const MOST_ORDERS: usize = 6;

/// Something that keeps work back.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub enum Limit {
    /// The part's things are ordered today and not in a fortnight: the repair and the part.
    OrderToday(String, PartId),
    /// Things are on their way or must come.
    PartsToCome,
    /// Sessions are so long and not [`MORE_HOURS`] longer.
    Hours,
    /// Money comes in month by month.
    Money,
    /// Holidays and days that are not free.
    DaysOff,
    /// No session before a day.
    Beginning(Date),
    /// Dates that the owner fixed.
    Pins,
    /// Specialists have no day at once.
    Trades,
}

/// What a limit costs.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct LimitCost {
    /// The limit.
    pub limit: Limit,
    /// Exposure with it: of the plan as it is; where an order is put off, of the plan with the order put off.
    pub with: f64,
    /// Exposure without it.
    pub without: f64,
}

impl LimitCost {
    /// The share of the exposure that would go with the limit.
    #[must_use]
    pub fn share(&self) -> f64 {
        if self.with > 0.0 {
            (1.0 - self.without / self.with).max(0.0)
        } else {
            0.0
        }
    }
}

/// A plan as far as its exposure.
struct Carried<'a> {
    posed: Posed<'a>,
    schedule: Schedule,
}

impl Carried<'_> {
    fn last(&self) -> Option<Date> {
        self.posed.calendar.dates.last().copied()
    }

    /// Exposure of its tasks; one without a place counts until a day.
    fn exposure(&self, assessment: &Assessment, until: Date) -> f64 {
        let carried = self.posed.tasks.iter().enumerate().map(|(at, task)| {
            let visit = self.schedule.visit.get(at).copied().flatten();
            let day = visit.and_then(|visit| day_of(&self.posed.calendar, task, visit));
            exposure_at(assessment, task, days_between(assessment.today, day.unwrap_or(until)))
        });
        carried.sum()
    }

    /// The tasks in the order in which they are begun.
    fn sequence(&self) -> Vec<usize> {
        let mut all: Vec<usize> = (0..self.posed.tasks.len()).collect();
        let key = |at: &usize| {
            let of = |list: &[Option<usize>]| list.get(*at).copied().flatten().unwrap_or(usize::MAX);
            (of(&self.schedule.begins), of(&self.schedule.visit))
        };
        all.sort_by_key(key);
        all
    }
}

/// What each limit of a car's owner costs in exposure, dearest first; only those worth telling.
#[must_use]
pub fn limits(car: &Car, library: &Library, assessment: &Assessment) -> Vec<LimitCost> {
    let mut all = every_limit(car, library, assessment);
    all.retain(|cost| cost.share() >= WORTH_TELLING);
    all.sort_by(|a, b| b.share().total_cmp(&a.share()));
    all
}

/// As [`limits`], with those that cost nothing, in no order.
#[must_use]
pub fn every_limit(car: &Car, library: &Library, assessment: &Assessment) -> Vec<LimitCost> {
    let posed = pose(car, library, assessment, Trades::Wait);
    let schedule = solved(&posed.problem);
    let base = Carried { posed, schedule };
    if base.posed.tasks.is_empty() || base.posed.calendar.dates.is_empty() {
        return Vec::new();
    }
    let sequence = base.sequence();
    let again = |car: &Car, waiting: Trades| {
        let posed = pose(car, library, assessment, waiting);
        let schedule = search_knowing(&posed.problem, SEED, &sequence);
        Carried { posed, schedule }
    };
    let freed = freed(car, &base, assessment.today);
    freed
        .into_par_iter()
        .map(|(limit, other, waiting)| {
            let other = again(&other, waiting);
            let until = base.last().max(other.last()).unwrap_or(assessment.today);
            let (own, others) = (base.exposure(assessment, until), other.exposure(assessment, until));
            let (with, without) = match limit {
                Limit::OrderToday(..) => (others, own),
                _ => (own, others),
            };
            LimitCost { limit, with, without }
        })
        .collect()
}

/// The car without each of its limits; for an order, with the order put off.
fn freed(car: &Car, base: &Carried, today: Date) -> Vec<(Limit, Car, Trades)> {
    let mut all = Vec::new();
    let mut add = |limit, change: &dyn Fn(&mut Car)| {
        let mut other = car.clone();
        change(&mut other);
        all.push((limit, other, Trades::Wait));
    };
    add(Limit::Hours, &|car| longer(car, MORE_HOURS));
    if car.profile.budget.limited {
        add(Limit::Money, &|car| car.profile.budget.limited = false);
    }
    let sessions = &car.profile.sessions;
    let ahead = sessions.except.iter().any(|d| *d >= today) || sessions.days_off.iter().any(|off| off.to >= today);
    if ahead {
        add(Limit::DaysOff, &|car| {
            car.profile.sessions.except.clear();
            car.profile.sessions.days_off.clear();
        });
    }
    if let Some(from) = sessions.from.filter(|from| *from > today) {
        add(Limit::Beginning(from), &|car| car.profile.sessions.from = None);
    }
    if !car.wishes.pinned.is_empty() {
        add(Limit::Pins, &|car| car.wishes.pinned.clear());
    }
    let tasks = &base.posed.tasks;
    let buys: Vec<&ToBuy> = tasks.iter().flat_map(|t| &t.buys).filter(|b| b.ready > today).collect();
    if !buys.is_empty() {
        add(Limit::PartsToCome, &|car| {
            for bought in &buys {
                let mut purchase = purchase(car, bought);
                // What is still to be bought is still to be paid: time is freed here, not money.
                if bought.status == Buying::ToBuy {
                    purchase.lead_days = Some(0);
                } else {
                    purchase.status = Buying::InHand;
                }
                car.progress.buy(purchase);
            }
        });
    }
    let mut orders: Vec<usize> = (0..tasks.len())
        .filter(|at| {
            tasks
                .get(*at)
                .is_some_and(|t| t.buys.iter().any(|b| b.status == Buying::ToBuy && b.lead_days > 0))
        })
        .collect();
    let weight = |at: &usize| {
        base.posed.problem.jobs.get(*at).map_or(0.0, |job| {
            let exposure = &job.exposure;
            exposure.last().copied().unwrap_or(0.0) - exposure.first().copied().unwrap_or(0.0)
        })
    };
    orders.sort_by(|a, b| weight(b).total_cmp(&weight(a)).then(a.cmp(b)));
    for task in orders.into_iter().take(MOST_ORDERS).filter_map(|at| tasks.get(at)) {
        let Some(part) = task.on.first() else { continue };
        add(Limit::OrderToday(task.repair.id.clone(), part.clone()), &|car| {
            for bought in task
                .buys
                .iter()
                .filter(|b| b.status == Buying::ToBuy && b.lead_days > 0)
            {
                let mut purchase = purchase(car, bought);
                purchase.lead_days = Some(bought.lead_days + A_FORTNIGHT);
                car.progress.buy(purchase);
            }
        });
    }
    let waits = tasks
        .iter()
        .any(|t| trade(t.repair).is_some() && super::booking::wait(t.repair) > 0);
    if waits {
        all.push((Limit::Trades, car.clone(), Trades::AtOnce));
    }
    all
}

/// What is said of a part to buy, to be changed.
fn purchase(car: &Car, bought: &ToBuy) -> Purchase {
    let said = car.progress.purchase(&bought.part, &bought.repair, &bought.name);
    said.cloned()
        .unwrap_or_else(|| Purchase::new(bought.part.clone(), &bought.repair, &bought.name))
}

/// Makes every session longer.
pub fn longer(car: &mut Car, hours: f64) {
    let sessions = &mut car.profile.sessions;
    let more = |old: &mut f64| *old = (*old + hours).clamp(0.0, 24.0);
    more(&mut sessions.hours);
    sessions.hours_on.iter_mut().for_each(|(_, old)| more(old));
    sessions.listed.iter_mut().for_each(|session| more(&mut session.hours));
}
