//! `done`: a repair that was done.

use super::args::Done;
use super::desk::{Desk, number, part_of};
use super::enter::odometer_fits;
use super::exit::Failure;
use super::wishes::repair_of;
use crate::car::{Car, Change, RepairDone};
use crate::report::page::{Page, Table, left, right, wide};
use crate::report::{json, words};
use crate::rubric::{Library, PartId};
use crate::text;

/// Records, takes back or lists repairs done.
pub fn done(desk: &Desk, done: Done) -> Result<String, Failure> {
    let library = desk.library()?;
    if let Some(number) = done.undo {
        return undo(desk, &done.car, number);
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
    repair_of(&library, &id, repair)?;
    if let Some(of) = library
        .repair(repair)
        .map(|r| r.component.as_str())
        .filter(|c| *c != id.component)
    {
        let whole = PartId::new(of, id.station.corner());
        return Err(Failure::Data(format!(
            "`{repair}` is work on the {of}, which renews {id} along with it; record it for the {of}, such as {whole}"
        )));
    }
    let date = done.date.unwrap_or(desk.today);
    if date > desk.today {
        return Err(Failure::Data(format!(
            "--date: {date} is in the future; record it when it is done"
        )));
    }
    if let Some(built) = car.profile.built.filter(|b| date < *b) {
        return Err(Failure::Data(format!(
            "--date: {date} is before the car was built ({built})"
        )));
    }
    let positive = |flag: &str, text: &Option<String>| text.as_deref().map(|t| number(flag, t)).transpose();
    let odometer_km = positive("--odometer", &done.odometer)?.map(|d| car.profile.distance_unit.to_km(d));
    if let Some(km) = odometer_km {
        odometer_fits(car, date, km)?;
    }
    let record = RepairDone {
        date,
        repair: repair.clone(),
        part: id.clone(),
        odometer_km,
        hours: positive("--hours", &done.hours)?,
        cost: positive("--cost", &done.cost)?,
        note: done.note.unwrap_or_default(),
    };
    let mut changes = vec![Change::Done(record)];
    // What was wished for is done.
    let mut wishes = car.wishes.clone();
    wishes.ticked.retain(|p| *p != id);
    wishes.pinned.remove(&id);
    if wishes != car.wishes {
        changes.push(Change::Wishes(wishes));
    }
    open.record_all(changes)?;
    Ok(format!(
        "{date}: {} ({}) is recorded. Look at it again and grade it: what nobody has looked at since is not taken as good.\n",
        words::repair(&library, repair),
        words::small(&words::part(&library, &id))
    ))
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
    open.record(Change::Undone(at))?;
    Ok(format!("Repair number {number} is taken back.\n"))
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
        wide("found"),
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
            text::clean(&repair.note).into(),
        ]);
    }
    page.table(&table);
    page.finish()
}
