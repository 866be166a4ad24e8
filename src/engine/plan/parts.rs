//! Parts to buy for the tasks: what each costs still, and when the plan may count on it.

use jiff::civil::Date;

use super::model::ToBuy;
use super::setups::{SetupKind, setups_of};
use crate::car::{Buying, Car, ExtraWork, OpenJob};
use crate::rubric::{Fixing, Library, NewPart, PartId, Repair};

/// Longest time from order to hand that is believed, in days.
const LONGEST: u32 = 3650;

/// Hours to drill out a sheared fixing and make its thread good, where the rubric does not know what cutting it off takes (judgement).
pub const SHEARED: f64 = 1.5;

/// The fixing of a repair by its name, or by a part of its name that no other one has.
#[must_use]
pub fn fixing_called<'r>(repair: &'r Repair, name: &str) -> Option<&'r Fixing> {
    let name = name.trim().to_lowercase();
    let exact = repair.fixings.iter().find(|f| f.name.to_lowercase() == name);
    let mut near = repair.fixings.iter().filter(|f| f.name.to_lowercase().contains(&name));
    exact.or_else(|| near.next().filter(|_| near.next().is_none()))
}

/// What a sheared fixing of a repair puts on top: the hours given, else those of cutting it off where the rubric knows them.
#[must_use]
pub fn sheared(repair: &Repair, name: &str, hours: Option<f64>) -> ExtraWork {
    let fixing = fixing_called(repair, name);
    let known = || fixing.and_then(|f| f.cut_off).map_or(SHEARED, |minutes| minutes / 60.0);
    ExtraWork {
        what: format!("make good the sheared {name}"),
        hours: hours.unwrap_or_else(known),
        buy: Vec::new(),
    }
}

/// A repair of a part as it stands open from a day on, with what it opens; or, if it does so already, as it is known.
#[must_use]
pub fn left_open(car: &Car, library: &Library, repair: &Repair, part: &PartId, since: Date) -> OpenJob {
    let known = car.progress.open_on(part).filter(|job| job.repair == repair.id);
    let steps = setups_of(library, repair, part).into_iter();
    known.cloned().unwrap_or_else(|| OpenJob {
        part: part.clone(),
        repair: repair.id.clone(),
        since,
        hours_so_far: 0.0,
        hours_left: None,
        open_steps: steps
            .filter(|(setup, _)| setup.kind == SetupKind::Opens)
            .map(|(setup, _)| setup.id)
            .collect(),
        did: Vec::new(),
        extra: Vec::new(),
        note: String::new(),
    })
}

/// A day some days after another.
pub(crate) fn days_after(day: Date, days: u32) -> Date {
    day.saturating_add(jiff::Span::new().days(i64::from(days.min(LONGEST))))
}

/// What a repair of some parts needs, with what the owner has said of it.
pub(crate) fn to_buy(car: &Car, today: Date, repair: &Repair, on: &[PartId], open: Option<&OpenJob>) -> Vec<ToBuy> {
    let mut all: Vec<ToBuy> = on
        .iter()
        .flat_map(|part| repair.buy.iter().map(move |new| one(car, today, repair, part, new)))
        .collect();
    if let Some(job) = open {
        let extra = job.extra.iter().flat_map(|extra| &extra.buy);
        all.extend(extra.map(|new| one(car, today, repair, &job.part, new)));
    }
    all
}

fn one(car: &Car, today: Date, repair: &Repair, part: &PartId, new: &NewPart) -> ToBuy {
    let said = car.progress.purchase(part, &repair.id, &new.name);
    let lead_days = said.and_then(|p| p.lead_days).unwrap_or(new.lead_days).min(LONGEST);
    let status = said.map_or(Buying::ToBuy, |p| p.status);
    let overdue = matches!(status, Buying::Ordered { expected } if expected < today);
    let ready = match status {
        Buying::ToBuy => days_after(today, lead_days),
        Buying::Ordered { expected } if expected < today => days_after(today, lead_days.max(1)),
        Buying::Ordered { expected } => expected,
        Buying::InHand => today,
    };
    ToBuy {
        part: part.clone(),
        repair: repair.id.clone(),
        name: new.name.clone(),
        count: new.count,
        cost: said
            .and_then(|p| p.price)
            .map_or(new.cost, |all| all / f64::from(new.count.max(1))),
        lead_days,
        status,
        ready,
        overdue,
        order_by: None,
    }
}

/// Hours to go on a job that stands open, closing up included: what its owner says, else what is left of the plan's hours and at
/// least a quarter of them (judgement: who stops half-way has met trouble); with what came on top.
pub(crate) fn hours_to_go(job: &OpenJob, planned: f64) -> f64 {
    let left = job
        .hours_left
        .unwrap_or_else(|| (planned - job.hours_so_far.max(0.0)).max(planned / 4.0));
    left.max(0.0) + job.extra.iter().map(|extra| extra.hours.max(0.0)).sum::<f64>()
}
