//! `parts` and `order`: what to buy, and how far the buying has come.

use super::args::{Form, Order};
use super::desk::{Desk, part_of};
use super::exit::Failure;
use super::reports::of_car;
use crate::car::{Buying, Car, Change, Purchase};
use crate::engine::plan::{Plan, ToBuy, plan};
use crate::report::{parts as report, words};
use crate::rubric::{Library, PartId};

/// Lists what to buy for the visits.
pub fn parts(desk: &Desk, car: &str, form: Form) -> Result<String, Failure> {
    of_car(desk, car, |subject| {
        let made = plan(subject.car, subject.library, subject.assessment);
        if form.json {
            Ok(report::json(subject, &made)?)
        } else if form.csv {
            Ok(report::csv(subject, &made))
        } else {
            Ok(report::text(subject, &made, desk.paper))
        }
    })
}

/// Says how far the buying for a part has come.
pub fn order(desk: &Desk, asked: &Order) -> Result<String, Failure> {
    let library = desk.library()?;
    let mut open = desk.write_to(&asked.car)?;
    let car = open.car();
    let part = part_of(car, &library, &asked.part)?;
    let things = things(desk, car, &library, &part, asked)?;
    let price = asked
        .price
        .as_deref()
        .map(|t| super::desk::number("--price", t))
        .transpose()?;
    let usual: f64 = things.iter().map(|t| f64::from(t.count) * t.cost).sum();
    // A price for several things is shared out as they usually cost.
    let share = |thing: &ToBuy| {
        let own = f64::from(thing.count) * thing.cost;
        if usual > 0.0 {
            own / usual
        } else {
            1.0 / things.len() as f64
        }
    };
    let mut changes = Vec::new();
    let mut said = String::new();
    for thing in &things {
        let known = car.progress.purchase(&thing.part, &thing.repair, &thing.name);
        let mut purchase = known
            .cloned()
            .unwrap_or_else(|| Purchase::new(thing.part.clone(), &thing.repair, &thing.name));
        purchase.lead_days = asked.lead_days.or(purchase.lead_days);
        purchase.price = price.map(|p| p * share(thing)).or(purchase.price);
        let days = purchase.lead_days.unwrap_or(thing.lead_days);
        let wanted = if asked.in_hand {
            Some(Buying::InHand)
        } else if asked.to_buy || (asked.expected.is_none() && (asked.lead_days.is_some() || price.is_some())) {
            asked.to_buy.then_some(Buying::ToBuy)
        } else {
            let expected = asked.expected.unwrap_or_else(|| {
                desk.today
                    .saturating_add(jiff::Span::new().days(i64::from(days.min(3650))))
            });
            Some(Buying::Ordered { expected })
        };
        if let Some(status) = wanted {
            purchase = purchase.now_is(status, desk.today, f64::from(thing.count) * thing.cost);
        }
        said.push_str(&format!(
            "{} × {} ({}): {}.\n",
            thing.count,
            crate::text::clean(&thing.name),
            words::small(&words::part(&library, &thing.part)),
            words::buying(purchase.status)
        ));
        changes.push(Change::Buy(purchase));
    }
    super::desk::record(&mut open, changes)?;
    Ok(said)
}

/// What the repair of a part needs: of the repair named, else of that planned for it.
fn things(desk: &Desk, car: &Car, library: &Library, part: &PartId, asked: &Order) -> Result<Vec<ToBuy>, Failure> {
    let assessment = desk.assessed(car, library);
    let mut car = car.clone();
    if let Some(repair) = &asked.repair {
        let found = super::wishes::repair_of(library, part, repair)?;
        super::wishes::not_too_late(library, &assessment, part, found)?;
        car.wishes.chosen.insert(part.clone(), repair.clone());
    }
    if asked.repair.is_some() {
        car.wishes.ticked.push(part.clone());
    }
    let made: Plan = plan(&car, library, &assessment);
    let Some((visit, work)) = made.work_on(part) else {
        return Err(Failure::NotFound(format!(
            "no repair of {part} is planned; name the repair with --repair, or `tinworm tick` the part"
        )));
    };
    let all = visit
        .parts
        .iter()
        .filter(|t| t.repair == work.repair && work.on.contains(&t.part));
    let all: Vec<ToBuy> = all.cloned().collect();
    let Some(only) = &asked.only else {
        return if all.is_empty() {
            Err(Failure::NotFound(format!(
                "`{}` needs nothing that is bought",
                work.repair
            )))
        } else {
            Ok(all)
        };
    };
    let names: Vec<String> = all.iter().map(|t| t.name.clone()).collect();
    let named: Vec<ToBuy> = all
        .into_iter()
        .filter(|t| t.name.eq_ignore_ascii_case(only.trim()))
        .collect();
    if named.is_empty() {
        let hint = super::desk::meant(only, names.iter().map(String::as_str));
        return Err(Failure::NotFound(format!(
            "--only: `{}` needs no `{only}`{hint}; it needs {}",
            work.repair,
            names.join(", ")
        )));
    }
    Ok(named)
}
