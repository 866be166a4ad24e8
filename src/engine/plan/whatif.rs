//! What another plan would change: nothing is kept, the plan is made for a car of which something else is supposed.

use jiff::civil::Date;
use serde::Serialize;

use super::build::plan;
use super::model::{Plan, Work};
use crate::car::{Buying, Car, Purchase, Session};
use crate::engine::clock::days_between;
use crate::engine::state::Assessment;
use crate::rubric::{Library, PartId};

/// Something supposed.
#[derive(Debug, Clone, PartialEq)]
pub enum Supposed {
    /// All sessions have so many hours.
    Hours(f64),
    /// So much money is in hand; `None` if it is no matter.
    Budget(Option<f64>),
    /// So much comes in each month.
    PerMonth(f64),
    /// A part's repair is done on the first session from a day on.
    Pinned(PartId, Date),
    /// The plan chooses the day of a part's repair.
    Free(PartId),
    /// A part is left out of the plan.
    Dropped(PartId),
    /// A part is planned whatever its standing.
    Ticked(PartId),
    /// A part gets this repair.
    Chosen(PartId, String),
    /// All that the repairs of a part need is in hand.
    InHand(PartId),
    /// There is a session on a day besides.
    Session(Session),
}

/// The car of which something else is supposed.
#[must_use]
pub fn suppose(car: &Car, library: &Library, what: &[Supposed]) -> Car {
    let mut car = car.clone();
    for supposed in what {
        let (profile, wishes) = (&mut car.profile, &mut car.wishes);
        match supposed {
            Supposed::Hours(hours) => {
                let sessions = &mut profile.sessions;
                sessions.hours = *hours;
                sessions.hours_on.clear();
                sessions.listed.iter_mut().for_each(|s| s.hours = *hours);
            }
            Supposed::Budget(money) => {
                profile.budget.limited = money.is_some();
                if let Some(money) = money {
                    profile.budget.in_hand = *money;
                    profile.budget.since = None;
                }
            }
            Supposed::PerMonth(money) => {
                profile.budget.per_month = *money;
                profile.budget.limited = true;
            }
            Supposed::Pinned(part, day) => {
                wishes.pinned.insert(part.clone(), *day);
            }
            Supposed::Free(part) => {
                wishes.pinned.remove(part);
            }
            Supposed::Dropped(part) => {
                wishes.ticked.retain(|p| p != part);
                wishes.dropped.push(part.clone());
            }
            Supposed::Ticked(part) => {
                wishes.dropped.retain(|p| p != part);
                wishes.ticked.push(part.clone());
            }
            Supposed::Chosen(part, repair) => {
                wishes.chosen.insert(part.clone(), repair.clone());
            }
            Supposed::InHand(part) => {
                for repair in library.repairs_of(&part.component) {
                    for new in &repair.buy {
                        let mut purchase = Purchase::new(part.clone(), &repair.id, &new.name);
                        purchase.status = Buying::InHand;
                        car.progress.buy(purchase);
                    }
                }
            }
            Supposed::Session(session) => {
                profile.sessions.listed.retain(|s| s.date != session.date);
                profile.sessions.listed.push(*session);
            }
        }
    }
    car
}

/// What one plan changes against another.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Difference {
    /// Exposure of all that either plan does, under the plan as it is.
    pub exposure_before: f64,
    /// Under the other.
    pub exposure_after: f64,
    /// The day until which a part counts that a plan leaves as it is.
    pub until: Date,
    /// Hours of the owner's, under the plan as it is.
    pub hours_before: f64,
    /// Under the other.
    pub hours_after: f64,
    /// Money, under the plan as it is.
    pub cost_before: f64,
    /// Under the other.
    pub cost_after: f64,
    /// When the last visit of the plan as it is ends.
    pub ends_before: Option<Date>,
    /// And of the other.
    pub ends_after: Option<Date>,
    /// When the car may be driven again, as far as the plan as it is goes.
    pub back_before: Option<Date>,
    /// And the other.
    pub back_after: Option<Date>,
    /// Work whose day or exposure differs; that which carries most more comes first.
    pub moves: Vec<Moved>,
}

impl Difference {
    /// Points more (or, below zero, fewer) under the other plan.
    #[must_use]
    pub fn points(&self) -> f64 {
        self.exposure_after - self.exposure_before
    }
}

/// Work that another plan does on another day, or not at all.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Moved {
    /// The part it is for.
    pub part: PartId,
    /// The repair under the plan as it is.
    pub repair_before: Option<String>,
    /// And under the other.
    pub repair_after: Option<String>,
    /// The day it is finished under the plan as it is.
    pub before: Option<Date>,
    /// And under the other.
    pub after: Option<Date>,
    /// Points that its parts carry more under the other.
    pub points: f64,
}

/// Sets two plans of one car against each other.
#[must_use]
pub fn difference(assessment: &Assessment, before: &Plan, after: &Plan) -> Difference {
    let ends = |plan: &Plan| plan.work().map(|(_, w)| w.done_on).max();
    let until = ends(before)
        .max(ends(after))
        .unwrap_or(assessment.until)
        .max(assessment.until);
    let at = |part: &PartId, day: Option<Date>| {
        let days = days_between(assessment.today, day.unwrap_or(until));
        assessment.part(part).map_or(0.0, |p| p.exposure.at(days))
    };
    let done = |plan: &Plan, part: &PartId| plan.work_on(part).map(|(_, work)| work.done_on);
    let mut parts: Vec<&PartId> = Vec::new();
    let (mut exposure_before, mut exposure_after) = (0.0, 0.0);
    let mut moves: Vec<Moved> = Vec::new();
    let works = || after.work().chain(before.work()).map(|(_, work)| work);
    for work in works() {
        let mut moved = moved(before, after, work);
        for part in work.covers.iter() {
            if parts.contains(&part) {
                continue;
            }
            parts.push(part);
            let (was, is) = (at(part, done(before, part)), at(part, done(after, part)));
            exposure_before += was;
            exposure_after += is;
            moved.points += is - was;
        }
        let same = moved.before == moved.after && moved.repair_before == moved.repair_after;
        let known = moves.iter().any(|m| m.part == moved.part);
        let says_nothing = moved.points.abs() < 1e-9 && (same || known);
        if !says_nothing {
            moves.push(moved);
        }
    }
    moves.sort_by(|a, b| b.points.total_cmp(&a.points).then_with(|| a.part.cmp(&b.part)));
    Difference {
        exposure_before,
        exposure_after,
        until,
        hours_before: before.hours(),
        hours_after: after.hours(),
        cost_before: before.cost(),
        cost_after: after.cost(),
        ends_before: ends(before),
        ends_after: ends(after),
        back_before: before.back_on_the_road,
        back_after: after.back_on_the_road,
        moves,
    }
}

/// Where work stands in both plans, by the part it is for.
fn moved(before: &Plan, after: &Plan, work: &Work) -> Moved {
    let (was, is) = (before.work_on(&work.part), after.work_on(&work.part));
    Moved {
        part: work.part.clone(),
        repair_before: was.map(|(_, w)| w.repair.clone()),
        repair_after: is.map(|(_, w)| w.repair.clone()),
        before: was.map(|(_, w)| w.done_on),
        after: is.map(|(_, w)| w.done_on),
        points: 0.0,
    }
}

/// The plan under something supposed, and what that changes.
#[must_use]
pub fn what_if(
    car: &Car,
    library: &Library,
    assessment: &Assessment,
    now: &Plan,
    what: &[Supposed],
) -> (Plan, Difference) {
    let other = plan(&suppose(car, library, what), library, assessment);
    let difference = difference(assessment, now, &other);
    (other, difference)
}
