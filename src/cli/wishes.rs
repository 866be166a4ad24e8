//! `tick`, `choose`, `pin`, `drop`: what the owner decides about the plan.

use jiff::civil::Date;

use super::desk::{Desk, meant, part_of};
use super::exit::Failure;
use crate::car::{Car, Change, Wishes};
use crate::engine::Assessment;
use crate::engine::assess::assess;
use crate::report::words;
use crate::rubric::{Library, PartId, Repair, RepairKind};

/// Ticks a part, or takes the tick back.
pub fn tick(desk: &Desk, car: &str, part: &str, off: bool) -> Result<String, Failure> {
    change(desk, car, part, |_, wishes, library, id| {
        wishes.ticked.retain(|p| p != id);
        if off {
            return Ok(format!(
                "{} is planned only if its standing asks for it.",
                words::part(library, id)
            ));
        }
        if library.repairs_of(&id.component).next().is_none() {
            return Err(Failure::NotFound(format!(
                "the rubrics have no repair for `{}`; it cannot be planned",
                id.component
            )));
        }
        wishes.dropped.retain(|p| p != id);
        wishes.ticked.push(id.clone());
        Ok(format!(
            "{} is planned whatever its standing.",
            words::part(library, id)
        ))
    })
}

/// Chooses a repair, or leaves the choice to the plan.
pub fn choose(desk: &Desk, car: &str, part: &str, repair: Option<&str>) -> Result<String, Failure> {
    change(desk, car, part, |car, wishes, library, id| {
        let Some(repair) = repair else {
            wishes.chosen.remove(id);
            return Ok(format!(
                "The plan chooses the repair of {}.",
                words::small(&words::part(library, id))
            ));
        };
        let found = repair_of(library, id, repair)?;
        if matches!(found.kind, RepairKind::Treat(_)) {
            not_too_late(library, &assess(car, library, desk.today), id, found)?;
        }
        wishes.chosen.insert(id.clone(), repair.to_owned());
        Ok(format!(
            "{}: {}.",
            words::part(library, id),
            words::small(&words::repair(library, repair))
        ))
    })
}

/// Fixes a repair to a date, or frees it.
pub fn pin(desk: &Desk, car: &str, part: &str, date: Option<Date>) -> Result<String, Failure> {
    change(desk, car, part, |car, wishes, library, id| {
        let name = words::part(library, id);
        let Some(date) = date else {
            wishes.pinned.remove(id);
            return Ok(format!("The plan chooses the day for {}.", words::small(&name)));
        };
        if let Some(why) = words::no_day_to_fix(&car.profile.sessions, desk.today, date) {
            return Err(Failure::Data(why));
        }
        wishes.pinned.insert(id.clone(), date);
        Ok(format!("{name} is fixed to {}.", words::day(date)))
    })
}

/// Leaves a part out of the plan, or takes it back.
pub fn drop(desk: &Desk, car: &str, part: &str, off: bool) -> Result<String, Failure> {
    change(desk, car, part, |_, wishes, library, id| {
        wishes.dropped.retain(|p| p != id);
        let name = words::part(library, id);
        if off {
            return Ok(format!("{name} is planned again where its standing asks for it."));
        }
        wishes.ticked.retain(|p| p != id);
        wishes.pinned.remove(id);
        wishes.dropped.push(id.clone());
        Ok(format!(
            "{name} is left out of the plan. It keeps its place in the standing, and the car its notice."
        ))
    })
}

/// Holds that a repair would not only cover what it cannot put right.
///
/// # Errors
/// When it would; says up to which grade it serves and what can be chosen instead.
pub fn not_too_late(library: &Library, says: &Assessment, id: &PartId, repair: &Repair) -> Result<(), Failure> {
    let too_late = says.part(id).and_then(|part| words::too_late(library, part, repair));
    too_late.map_or(Ok(()), |why| Err(Failure::Data(why)))
}

/// A repair that does something for a part, by its id.
///
/// # Errors
/// When the rubrics have no such repair, or it is for something else; lists those that would do.
pub fn repair_of<'l>(library: &'l Library, id: &PartId, repair: &str) -> Result<&'l Repair, Failure> {
    let known: Vec<&str> = library.repairs_of(&id.component).map(|r| r.id.as_str()).collect();
    if let Some(found) = library.repair(repair).filter(|r| known.contains(&r.id.as_str())) {
        return Ok(found);
    }
    let hint = meant(repair, known.iter().copied());
    let list = if known.is_empty() {
        "the rubrics have none".to_owned()
    } else {
        format!("there are {}", known.join(", "))
    };
    Err(Failure::NotFound(format!(
        "`{repair}` is no repair for {id}{hint}; {list}"
    )))
}

fn change(
    desk: &Desk,
    car: &str,
    part: &str,
    wish: impl FnOnce(&Car, &mut Wishes, &Library, &PartId) -> Result<String, Failure>,
) -> Result<String, Failure> {
    let library = desk.library()?;
    let mut open = desk.write_to(car)?;
    let id = part_of(open.car(), &library, part)?;
    let mut wishes = open.car().wishes.clone();
    let said = wish(open.car(), &mut wishes, &library, &id)?;
    super::desk::record(&mut open, vec![Change::Wishes(wishes)])?;
    Ok(said + "\n")
}
