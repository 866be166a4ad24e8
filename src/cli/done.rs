//! `done`: a repair that was done.

use super::args::Done;
use super::desk::{Desk, meant, number, pair, part_of, words_of};
use super::enter::odometer_fits;
use super::exit::Failure;
use super::found::{self, past_day};
use super::wishes::repair_of;
use crate::car::{Car, Change, RepairDone, TorqueUsed};
use crate::engine::plan::measure::planned_hours;
use crate::engine::plan::parts::fixing_called;
use crate::engine::plan::plan;
use crate::engine::workpace::learn;
use crate::report::page::{Page, Table, left, right, wide};
use crate::report::{json, words};
use crate::rubric::{Library, PartId, Repair};
use crate::text;
use crate::units::Torque;

/// Records, takes back or lists repairs done.
pub fn done(desk: &Desk, done: Done) -> Result<String, Failure> {
    let library = desk.library()?;
    if let (None, None, Some(flag)) = (&done.repair, done.visit, of_a_repair(&done)) {
        return Err(Failure::Usage(format!(
            "{flag} says something of a repair that was done; name the repair and its part, or --visit NUMBER. Nothing was recorded"
        )));
    }
    if let Some(number) = done.undo {
        return undo(desk, &done.car, number);
    }
    if let Some(number) = done.visit {
        return visit(desk, &done, &library, number);
    }
    let (Some(repair), Some(part)) = (&done.repair, &done.part) else {
        let car = desk.look_at(&done.car)?;
        return if done.form.json {
            Ok(json(&car.repairs)?)
        } else {
            Ok(list(desk, &car, &library))
        };
    };
    let mut open = desk.write_to(&done.car)?;
    let car = open.car();
    let id = part_of(car, &library, part)?;
    let repair = its_own(&library, &id, repair)?;
    let mut record = record(desk, car, &done, repair, &id)?;
    if record.hours.is_some() {
        let assessment = desk.assessed(car, &library);
        record.planned_hours = planned_hours(car, &library, &assessment, repair, std::slice::from_ref(&id));
    }
    let date = record.date;
    let mut changes = found::looks(car, &library, date, &id, &done.found, "")?;
    let mut said = found::in_words(&library, date, &changes);
    changes.extend(car.finishing(record));
    super::desk::record(&mut open, changes)?;
    said.push_str(&format!(
        "{date}: {} ({}) is recorded. Look at it again and grade it: what nobody has looked at since is not taken as good.\n",
        words::repair(&library, &repair.id),
        words::small(&words::part(&library, &id))
    ));
    Ok(said)
}

/// The first flag given that says something of a repair done. With nothing that it could be said of it must not be lost in silence.
fn of_a_repair(done: &Done) -> Option<&'static str> {
    let given = [
        ("--date", done.date.is_some()),
        ("--odometer", done.odometer.is_some()),
        ("--hours", done.hours.is_some()),
        ("--cost", done.cost.is_some()),
        ("--torque", !done.torque.is_empty()),
        ("--fitted", !done.fitted.is_empty()),
        ("--found", !done.found.is_empty()),
        ("--note", done.note.is_some()),
    ];
    given.into_iter().find(|(_, given)| *given).map(|(flag, _)| flag)
}

/// A repair of the component itself.
///
/// # Errors
/// When there is none such for the part, or it is work on a bigger part that renews this one along with it.
pub fn its_own<'l>(library: &'l Library, id: &PartId, repair: &str) -> Result<&'l Repair, Failure> {
    repair_of(library, id, repair)?;
    match library.repair(repair) {
        Some(own) if own.component == id.component => Ok(own),
        other => {
            let of = other.map_or("part", |r| r.component.as_str());
            let whole = PartId::new(of, id.station.corner());
            Err(Failure::Data(format!(
                "`{repair}` is work on the {of}, which renews {id} along with it; record it for the {of}, such as {whole}"
            )))
        }
    }
}

/// The record of one repair, without what its hours are measured by. Hours worked before it was left open count too.
fn record(desk: &Desk, car: &Car, done: &Done, repair: &Repair, id: &PartId) -> Result<RepairDone, Failure> {
    let date = past_day(car, done.date, desk)?;
    let positive = |flag: &str, text: &Option<String>| text.as_deref().map(|t| number(flag, t)).transpose();
    let odometer_km = positive("--odometer", &done.odometer)?.map(|d| car.profile.distance_unit.to_km(d));
    if let Some(km) = odometer_km {
        odometer_fits(car, date, km)?;
    }
    let before = car.progress.open_on(id).filter(|job| job.repair == repair.id);
    let before = before.map_or(0.0, |job| job.hours_so_far);
    let mut torques = Vec::new();
    for text in &done.torque {
        let (fixing, value) = pair("--torque", text)?;
        let known = fixing_called(repair, fixing);
        let Some(known) = known else {
            let names: Vec<&str> = repair.fixings.iter().map(|f| f.name.as_str()).collect();
            return Err(Failure::NotFound(format!(
                "--torque: `{fixing}` is no fixing of {}{}; it has {}",
                repair.id,
                meant(fixing, names.iter().copied()),
                if names.is_empty() {
                    "none".to_owned()
                } else {
                    names.join(", ")
                }
            )));
        };
        torques.push(TorqueUsed {
            fixing: known.name.clone(),
            torque: Torque::parse(value).map_err(|why| Failure::Usage(format!("--torque: {why}")))?,
        });
    }
    Ok(RepairDone {
        date,
        repair: repair.id.clone(),
        part: id.clone(),
        odometer_km,
        hours: positive("--hours", &done.hours)?.map(|hours| hours + before),
        cost: positive("--cost", &done.cost)?,
        note: done.note.clone().unwrap_or_default(),
        planned_hours: None,
        torques,
        fitted: done
            .fitted
            .iter()
            .map(|name| words_of("--fitted", name))
            .collect::<Result<_, _>>()?,
    })
}

/// Records all repairs of a visit: hours and cost in proportion to those planned.
fn visit(desk: &Desk, done: &Done, library: &Library, number: usize) -> Result<String, Failure> {
    let mut open = desk.write_to(&done.car)?;
    let car = open.car();
    let assessment = desk.assessed(car, library);
    let made = plan(car, library, &assessment);
    let Some(visit) = number.checked_sub(1).and_then(|at| made.visits.get(at)) else {
        return Err(Failure::NotFound(format!(
            "there is no visit number {number}; the plan has {}, see `tinworm plan CAR`",
            words::count(made.visits.len(), "visit")
        )));
    };
    let all: f64 = visit.work.iter().map(|w| w.hours).sum();
    let mut changes = Vec::new();
    let mut said = String::new();
    let mut car = car.clone();
    for work in &visit.work {
        let share = if all > 0.0 { work.hours / all } else { 0.0 };
        let Some(repair) = library.repair(&work.repair) else {
            continue;
        };
        for (nth, part) in work.on.iter().enumerate() {
            let mut record = record(desk, &car, done, repair, part)?;
            // Hours and cost of a pair are kept with its first side.
            let first = nth == 0 && visit.booking.is_none();
            record.hours = record.hours.filter(|_| first).map(|hours| hours * share);
            record.cost = record.cost.filter(|_| nth == 0).map(|cost| cost * share);
            if record.hours.is_some() {
                record.planned_hours = Some(visit.hours.mean / made.pace.times * share).filter(|h| *h > 0.0);
            }
            if changes.is_empty() {
                let looks = found::looks(&car, library, record.date, part, &done.found, "")?;
                said.push_str(&found::in_words(library, record.date, &looks));
                changes.extend(looks);
            }
            let more = car.finishing(record);
            for change in &more {
                car.apply(change.clone()).map_err(|e| Failure::Data(e.to_string()))?;
            }
            changes.extend(more);
        }
        said.push_str(&format!(
            "{} ({}) is recorded.\n",
            words::repair(library, &work.repair),
            words::small(&words::parts(library, &work.on))
        ));
    }
    super::desk::record(&mut open, changes)?;
    said.push_str("Look at them again and grade them: what nobody has looked at since is not taken as good.\n");
    Ok(said)
}

fn undo(desk: &Desk, car: &str, number: usize) -> Result<String, Failure> {
    let mut open = desk.write_to(car)?;
    let there = open.car().repairs.len();
    let Some(at) = number.checked_sub(1).filter(|at| *at < there) else {
        return Err(Failure::NotFound(format!(
            "there is no repair number {number}; {} recorded, see `tinworm done CAR`",
            words::count(there, "repair")
        )));
    };
    super::desk::record(&mut open, vec![Change::Undone(at)])?;
    Ok(format!("Repair number {number} is taken back.\n"))
}

/// Everything else that was written down of a repair.
fn remarks(repair: &RepairDone) -> String {
    let mut said = Vec::new();
    if !repair.fitted.is_empty() {
        said.push(format!("fitted {}", repair.fitted.join(", ")));
    }
    for used in &repair.torques {
        said.push(format!("{} {}", used.fixing, used.torque.as_typed()));
    }
    if !repair.note.is_empty() {
        said.push(repair.note.clone());
    }
    text::clean(&said.join("; "))
}

fn list(desk: &Desk, car: &Car, library: &Library) -> String {
    let mut page = Page::new(desk.paper);
    if car.repairs.is_empty() {
        page.paragraph(0, "No repair is recorded yet.");
        return page.finish();
    }
    let mut table = Table::new(&[
        right("no"),
        left("date"),
        wide("repair"),
        wide("part"),
        right("hours"),
        right("cost"),
        wide("remarks"),
    ]);
    for (n, repair) in car.repairs.iter().enumerate() {
        table.row(vec![
            (n + 1).to_string().into(),
            repair.date.to_string().into(),
            words::repair(library, &repair.repair).into(),
            words::part(library, &repair.part).into(),
            repair.hours.map(words::hours).unwrap_or_default().into(),
            repair
                .cost
                .map(|c| words::money(&car.profile, c))
                .unwrap_or_default()
                .into(),
            remarks(repair).into(),
        ]);
    }
    page.table(&table);
    let pace = learn(&car.repairs);
    if pace.jobs > 0 {
        page.gap();
        page.paragraph(0, &words::pace_of_work(&pace));
    }
    page.finish()
}
