//! The tightening table.

use super::Row;
use crate::engine::plan::Visit;
use crate::report::{Subject, words};
use crate::rubric::{Fixing, PartId, Tightened};
use crate::text::clean;

/// The rows, in the order in which they get their final torque: at once, at ride height, on the ground.
pub(super) fn rows(subject: &Subject, visit: &Visit) -> Vec<Row> {
    let library = subject.library;
    let mut rows: Vec<Row> = visit
        .tightening
        .iter()
        .enumerate()
        .filter_map(|(place, tightening)| {
            let fixing = library.repair(&tightening.repair)?.fixings.get(tightening.fixing)?;
            Some(Row {
                number: 0,
                when: fixing.tightened,
                part: tightening.part.clone(),
                part_name: words::part(library, &tightening.part),
                repair: tightening.repair.clone(),
                count: fixing.count,
                name: clean(&fixing.name),
                size: size(fixing),
                locking: words::locking(fixing.locking).map(str::to_owned),
                held_by: fixing.held_by.as_deref().map(clean),
                manual: manual(subject, &tightening.part, fixing),
                guide: tightening.guide,
                place,
            })
        })
        .collect();
    rows.sort_by_key(|row| match row.when {
        Tightened::AtOnce => 0,
        Tightened::AtRideHeight => 1,
        Tightened::OnTheGround => 2,
    });
    for (number, row) in rows.iter_mut().enumerate() {
        row.number = number + 1;
    }
    rows
}

/// Thread, class and hexagon, as far as the rubrics give them.
pub(super) fn size(fixing: &Fixing) -> String {
    let thread = fixing.thread.as_ref().map(|thread| {
        let class = fixing
            .class
            .as_ref()
            .map_or_else(String::new, |c| format!(" {}", clean(c)));
        format!("{}{class}", clean(thread))
    });
    let hex = fixing.hex.map(|hex| format!("{hex} mm hex"));
    let known: Vec<String> = [thread, hex].into_iter().flatten().collect();
    if known.is_empty() {
        "size not known".to_owned()
    } else {
        known.join(", ")
    }
}

/// The value of the car's own manual for a fixing.
fn manual(subject: &Subject, part: &PartId, fixing: &Fixing) -> Option<String> {
    let own = subject.car.torque(part, &fixing.name)?;
    Some(clean(&own.torque.to_string()))
}
