//! Several cars, one calendar and one budget: whose session each day is, and each car's plan on the days it is given.
//!
//! The rule, in the open because it is a rule of thumb and not a proof:
//!
//! 1. Each car is planned as if it were the only one, with all of the money. That gives its visits, in their order.
//! 2. The days on which any car has a session are gone through from today on. Each goes to one car: to one with a repair fixed
//!    to that very day; else to the one whose work begun earlier runs on over its next session; else, of those cars
//!    that have a session on that day and whose next visit is ready and can be paid, to the car whose next visit takes off the most
//!    exposure for each of its days. Exposure is that of a year from today for every car, so that one car's early survey
//!    does not make it look harmless.
//! 3. Each car is planned again on the days it was given, and no others, with the money that the other cars leave it. If
//!    something finds no place there that had one when the car was alone, it is given days that others gave back, then the next
//!    ones nobody has taken. A day on which a car does nothing after all is given back, and whoever still lacks days is planned
//!    once more when all have been.
//!
//! Money is one pot for all cars whose budgets are kept to and are in the same currency: what is in hand and what comes in each month,
//! added up, less what was spent. A car without such a budget neither pays into it nor waits for it. The pot is never overdrawn:
//! each car may spend by a day what is left on that day, and on every later day on which another car is to pay.

use std::collections::BTreeMap;

use jiff::civil::Date;
use serde::Serialize;

use super::build::plan_with;
use super::calendar::{money_by, sessions, spent};
use super::model::{NotPlacedBecause, Plan, Visit};
use crate::car::{Car, Session, Sessions};
use crate::engine::state::Assessment;
use crate::rubric::{Library, PartId};

/// Days from today over which exposure is compared between cars.
pub const COMPARED_OVER_DAYS: f64 = 365.0;
/// Days more that a car may be given when something found no place on its own.
const DAYS_MORE: usize = 8;
/// Sessions looked at in all.
const MOST_SESSIONS: usize = 500;

/// A session and the car it is given to.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Dealt {
    /// The day.
    pub date: Date,
    /// The car, by its place in the list.
    pub car: usize,
    /// Hours of the session.
    pub hours: f64,
}

/// A budget shared by cars.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Pot {
    /// The sign of the money.
    pub currency: String,
    /// The cars that share it, by their places in the list.
    pub cars: Vec<usize>,
    /// What may be spent today.
    pub today: f64,
    /// What the plans spend.
    pub planned: f64,
}

/// A repair fixed to a day whose session went to another car.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct MissedPin {
    /// The car, by its place in the list.
    pub car: usize,
    /// The part.
    pub part: PartId,
    /// The day it is fixed to.
    pub fixed_to: Date,
    /// The car that has that session, by its place in the list.
    pub taken_by: usize,
    /// The day its visit begins instead, if it has one.
    pub planned: Option<Date>,
}

/// The plans of several cars on one calendar and from one budget.
#[derive(Debug, Clone, Serialize)]
pub struct Together {
    /// The sessions that were given to a car, by day.
    pub dealt: Vec<Dealt>,
    /// The plan of each car, in the order of the cars.
    pub plans: Vec<Plan>,
    /// The budgets.
    pub pots: Vec<Pot>,
    /// Repairs that are not done on the day they are fixed to because another car has it.
    pub missed_pins: Vec<MissedPin>,
}

/// Plans several cars, each with what is said of it on the same day.
#[must_use]
pub fn together(cars: &[(&Car, &Assessment)], library: &Library) -> Together {
    let money = Money::new(cars);
    let alone: Vec<Plan> = cars
        .iter()
        .enumerate()
        .map(|(at, (car, says))| {
            let all = |day: Date| money.in_pot(cars, at, day);
            plan_with(car, library, says, Some(&all))
        })
        .collect();
    let mut deal = Deal::new(cars);
    deal.go(cars, &alone, &money);
    let mut paid = deal.paid.clone();
    let mut order: Vec<usize> = (0..cars.len()).collect();
    order.sort_by_key(|at| deal.first_day(*at).unwrap_or(Date::MAX));
    let mut plans: BTreeMap<usize, Plan> = BTreeMap::new();
    let lacks = |at: usize, made: &Plan| alone.get(at).is_some_and(|alone| lacks_days(made, alone));
    // Twice: what a later car gave back may be what an earlier one lacks.
    for at in order.iter().chain(&order).copied() {
        let Some((car, says)) = cars.get(at) else { continue };
        if plans.get(&at).is_some_and(|made| !lacks(at, made)) {
            continue;
        }
        let may = |day: Date| money.left_for(cars, at, day, &paid, Some(at));
        let on_its_days = |deal: &Deal| plan_with(&deal.only_its_days(car, at), library, says, Some(&may));
        let mut made = on_its_days(&deal);
        for _ in 0..DAYS_MORE {
            if !lacks(at, &made) || !deal.one_more(car, at, says.today) {
                break;
            }
            made = on_its_days(&deal);
        }
        deal.give_back(at, &made);
        if let Some(own) = paid.get_mut(at) {
            *own = made.visits.iter().map(|v| (v.date, v.cost)).collect();
        }
        plans.insert(at, made);
    }
    let plans: Vec<Plan> = plans.into_values().collect();
    let mut dealt = deal.dealt;
    dealt.sort_by_key(|d| d.date);
    let pots = money.pots(cars, &plans);
    let missed_pins = missed_pins(cars, &dealt, &plans);
    Together {
        dealt,
        plans,
        pots,
        missed_pins,
    }
}

/// Repairs whose day went to another car.
fn missed_pins(cars: &[(&Car, &Assessment)], dealt: &[Dealt], plans: &[Plan]) -> Vec<MissedPin> {
    let mut missed = Vec::new();
    for (at, ((car, says), plan)) in cars.iter().zip(plans).enumerate() {
        for (part, day) in &car.wishes.pinned {
            // The session it is meant for, which is the next one where that day is none.
            let own = sessions(&car.profile.sessions, says.today, MOST_SESSIONS);
            let meant = own.iter().map(|s| s.date).find(|date| date >= day);
            let taken = dealt.iter().find(|d| Some(d.date) == meant && d.car != at);
            let does = |visit: &&Visit| visit.work.iter().any(|w| w.covers.contains(part));
            let planned = plan.visits.iter().find(does).map(|v| v.date);
            if let Some(taken) = taken.filter(|_| planned.is_none_or(|date| Some(date) != meant)) {
                missed.push(MissedPin {
                    car: at,
                    part: part.clone(),
                    fixed_to: *day,
                    taken_by: taken.car,
                    planned,
                });
            }
        }
    }
    missed
}

/// The sessions a visit takes.
fn days_of(visit: &Visit) -> impl Iterator<Item = Date> + '_ {
    std::iter::once(visit.date).chain(visit.runs_on.iter().copied())
}

/// Whether something found no place for want of days that had one when the car was alone.
fn lacks_days(made: &Plan, alone: &Plan) -> bool {
    use NotPlacedBecause::{CalendarEnds, NoRoom, NoSession, PinnedDay, WaitsForUnplaced};
    made.not_placed.iter().any(|missing| {
        let for_days = matches!(
            missing.because,
            CalendarEnds | NoRoom | NoSession | PinnedDay | WaitsForUnplaced
        );
        for_days && !alone.not_placed.iter().any(|n| n.part == missing.part)
    })
}

/// Who shares which budget.
struct Money {
    /// For each car the first that shares its budget; `None` where cost delays nothing.
    pot: Vec<Option<usize>>,
}

impl Money {
    fn new(cars: &[(&Car, &Assessment)]) -> Money {
        let pot = cars
            .iter()
            .map(|(car, _)| {
                let own = &car.profile.budget;
                let same = |other: &&(&Car, &Assessment)| {
                    let budget = &other.0.profile.budget;
                    budget.limited && budget.currency.trim() == own.currency.trim()
                };
                let first = cars.iter().position(|other| same(&other));
                first.filter(|_| own.limited)
            })
            .collect();
        Money { pot }
    }

    fn share(&self, at: usize, with: usize) -> bool {
        let pot = |n: usize| self.pot.get(n).copied().flatten();
        pot(at).is_some() && pot(at) == pot(with)
    }

    /// Money that may have been spent from a car's pot by a day.
    fn in_pot(&self, cars: &[(&Car, &Assessment)], at: usize, day: Date) -> f64 {
        let sharing = cars.iter().enumerate().filter(|(n, _)| self.share(at, *n));
        sharing
            .map(|(_, (car, says))| money_by(&car.profile.budget, says.today, day) - spent(car, says.today))
            .sum()
    }

    /// What is left of a car's pot on a day, and on every later day on which somebody is to pay; what one car is to pay may
    /// be left out.
    fn left_for(
        &self,
        cars: &[(&Car, &Assessment)],
        at: usize,
        day: Date,
        paid: &[Vec<(Date, f64)>],
        without: Option<usize>,
    ) -> f64 {
        let others: Vec<(Date, f64)> = paid
            .iter()
            .enumerate()
            .filter(|(n, _)| Some(*n) != without && self.share(at, *n))
            .flat_map(|(_, paid)| paid.iter().copied())
            .collect();
        let on = |when: Date| {
            let gone: f64 = others.iter().filter(|(d, _)| *d <= when).map(|(_, cost)| cost).sum();
            self.in_pot(cars, at, when) - gone
        };
        let later = others.iter().map(|(d, _)| *d).filter(|d| *d > day);
        later.map(on).fold(on(day), f64::min)
    }

    fn pots(&self, cars: &[(&Car, &Assessment)], plans: &[Plan]) -> Vec<Pot> {
        let firsts = self.pot.iter().enumerate().filter(|(n, pot)| **pot == Some(*n));
        firsts
            .filter_map(|(first, _)| {
                let (car, says) = cars.get(first)?;
                let sharing: Vec<usize> = (0..cars.len()).filter(|n| self.share(first, *n)).collect();
                let planned = sharing.iter().filter_map(|n| plans.get(*n));
                Some(Pot {
                    currency: car.profile.budget.currency.clone(),
                    today: self.in_pot(cars, first, says.today),
                    planned: planned.flat_map(|p| &p.visits).map(|v| v.cost).sum(),
                    cars: sharing,
                })
            })
            .collect()
    }
}

/// The dealing out of days.
struct Deal {
    dealt: Vec<Dealt>,
    /// Days that a car was dealt and did not need.
    given_back: Vec<Date>,
    /// What each car is to pay, and when.
    paid: Vec<Vec<(Date, f64)>>,
    /// How many visits of its own plan each car has been given days for.
    served: Vec<usize>,
    /// Sessions that a car's begun visit still takes.
    owed: Vec<usize>,
}

impl Deal {
    fn new(cars: &[(&Car, &Assessment)]) -> Deal {
        Deal {
            dealt: Vec::new(),
            given_back: Vec::new(),
            paid: vec![Vec::new(); cars.len()],
            served: vec![0; cars.len()],
            owed: vec![0; cars.len()],
        }
    }

    fn first_day(&self, at: usize) -> Option<Date> {
        self.dealt.iter().filter(|d| d.car == at).map(|d| d.date).min()
    }

    fn taken(&self, day: Date) -> bool {
        self.dealt.iter().any(|d| d.date == day)
    }

    fn go(&mut self, cars: &[(&Car, &Assessment)], alone: &[Plan], money: &Money) {
        let mut days: Vec<Date> = cars
            .iter()
            .flat_map(|(car, says)| sessions(&car.profile.sessions, says.today, MOST_SESSIONS))
            .map(|session| session.date)
            .collect();
        days.sort_unstable();
        days.dedup();
        for day in days {
            let Some((at, hours)) = self.whose(cars, alone, money, day) else {
                continue;
            };
            self.dealt.push(Dealt {
                date: day,
                car: at,
                hours,
            });
            let (Some(owed), Some(served)) = (self.owed.get_mut(at), self.served.get_mut(at)) else {
                continue;
            };
            if *owed > 0 {
                *owed -= 1;
                continue;
            }
            if let Some(visit) = alone.get(at).and_then(|plan| plan.visits.get(*served)) {
                *owed = visit.runs_on.len();
                if let Some(paid) = self.paid.get_mut(at) {
                    paid.push((day, visit.cost));
                }
            }
            *served += 1;
        }
    }

    /// The car that a day is given to, with its hours.
    fn whose(&self, cars: &[(&Car, &Assessment)], alone: &[Plan], money: &Money, day: Date) -> Option<(usize, f64)> {
        // A day that a repair was fixed to is its car's, whatever else runs on.
        for (at, ((car, _), plan)) in cars.iter().zip(alone).enumerate() {
            let served = self.served.get(at).copied().unwrap_or(0);
            let mut to_come = plan.visits.iter().skip(served).filter(|v| v.date == day);
            let fixed = |v: &Visit| {
                let mut covered = v.work.iter().flat_map(|w| &w.covers);
                covered.any(|part| car.wishes.pinned.get(part) == Some(&day))
            };
            if let (true, Some(hours)) = (to_come.any(fixed), car.profile.sessions.on(day)) {
                return Some((at, hours));
            }
        }
        let mut best: Option<(usize, f64, f64)> = None;
        for (at, ((car, says), plan)) in cars.iter().zip(alone).enumerate() {
            let Some(hours) = car.profile.sessions.on(day) else {
                continue;
            };
            if self.owed.get(at).is_some_and(|owed| *owed > 0) {
                return Some((at, hours));
            }
            let next = self.served.get(at).and_then(|served| plan.visits.get(*served));
            let Some(visit) = next.filter(|v| v.date <= day) else {
                continue;
            };
            let limited = car.profile.budget.limited && visit.cost > 0.0;
            if limited && visit.cost > money.left_for(cars, at, day, &self.paid, None) {
                continue;
            }
            let worth = worth(says, visit);
            if best.is_none_or(|(_, _, most)| worth > most) {
                best = Some((at, hours, worth));
            }
        }
        best.map(|(at, hours, _)| (at, hours))
    }

    /// The car with no session but those it was given.
    fn only_its_days(&self, car: &Car, at: usize) -> Car {
        let mut only = car.clone();
        let own = self.dealt.iter().filter(|d| d.car == at);
        only.profile.sessions = Sessions {
            weekdays: Vec::new(),
            listed: own
                .map(|d| Session {
                    date: d.date,
                    hours: d.hours,
                })
                .collect(),
            hours_on: Vec::new(),
            from: None,
            except: Vec::new(),
            days_off: Vec::new(),
            ..car.profile.sessions.clone()
        };
        only
    }

    /// Takes back the days on which a plan does nothing.
    fn give_back(&mut self, at: usize, made: &Plan) {
        let used = |day: Date| made.visits.iter().any(|v| days_of(v).any(|d| d == day));
        let (kept, back) = self.dealt.drain(..).partition(|d| d.car != at || used(d.date));
        self.dealt = kept;
        self.given_back.extend(back.iter().map(|d: &Dealt| d.date));
    }

    /// Gives a car a session that nobody has: one given back, else the next after those it has; tells whether there was one.
    fn one_more(&mut self, car: &Car, at: usize, today: Date) -> bool {
        let last = self.dealt.iter().filter(|d| d.car == at).map(|d| d.date).max();
        let mut free = sessions(&car.profile.sessions, today, MOST_SESSIONS);
        free.retain(|s| !self.taken(s.date));
        let back = free.iter().find(|s| self.given_back.contains(&s.date));
        let next = back.or_else(|| free.iter().find(|s| last.is_none_or(|last| s.date > last)));
        let Some(session) = next else {
            return false;
        };
        self.dealt.push(Dealt {
            date: session.date,
            car: at,
            hours: session.hours,
        });
        true
    }
}

/// What a visit takes off for each of its days.
fn worth(says: &Assessment, visit: &Visit) -> f64 {
    let covered = visit.work.iter().flat_map(|w| &w.covers);
    let off: f64 = covered
        .filter_map(|part| says.part(part))
        .map(|p| p.exposure.at(COMPARED_OVER_DAYS))
        .sum();
    off / (1.0 + visit.runs_on.len() as f64)
}
