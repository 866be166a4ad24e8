//! The repairs that would do for a part, each planned, so that hours, cost and exposure can be set against each other: the whole arm
//! against its joint and bushes one by one, a boot alone against the joint.

use serde::Serialize;

use super::build::plan;
use super::candidates::only_hides;
use super::model::Plan;
use super::whatif::{Difference, difference};
use crate::car::{Car, Wishes};
use crate::engine::lives::covered;
use crate::engine::state::Assessment;
use crate::rubric::{Library, PartId, Repair};

/// One way to put a part right.
#[derive(Debug, Clone, Serialize)]
pub struct Alternative {
    /// The work it means near that part: repair and part, in working order.
    pub work: Vec<(String, PartId)>,
    /// Whether it is what the plan does as it is.
    pub planned: bool,
    /// What it changes against that.
    pub difference: Difference,
    /// The owner's wishes that bring it about.
    pub wishes: Wishes,
}

/// Every way to put a part right that the rubrics know, the plan's own first, then by exposure.
///
/// A treatment that would only cover what it finds is none of them. The part is planned whatever its standing, so that a part which is no work yet can be asked about too.
#[must_use]
pub fn alternatives(car: &Car, library: &Library, assessment: &Assessment, part: &PartId) -> Vec<Alternative> {
    let ids: Vec<PartId> = assessment.parts.iter().map(|p| p.id.clone()).collect();
    let as_it_is = plan(car, library, assessment);
    let mut asked = car.clone();
    let wanted = as_it_is.work_on(part).is_some();
    if !wanted {
        asked.wishes.dropped.retain(|p| p != part);
        asked.wishes.ticked.push(part.clone());
    }
    let own = if wanted {
        as_it_is
    } else {
        plan(&asked, library, assessment)
    };
    // The part with all that any repair renews together with it.
    let mut near: Vec<PartId> = vec![part.clone()];
    let mut bigger: Vec<(&str, PartId)> = Vec::new();
    for repair in library.all().repairs.iter().filter(|r| !r.also_renews.is_empty()) {
        for main in ids.iter().filter(|id| id.component == repair.component) {
            let inside = covered(&ids, repair, main);
            if inside.contains(&part) {
                bigger.push((&repair.id, main.clone()));
                near.extend(
                    inside
                        .into_iter()
                        .filter(|id| !near.contains(id))
                        .cloned()
                        .collect::<Vec<_>>(),
                );
            }
        }
    }
    let mut all = vec![asked.wishes.clone()];
    for (repair, main) in &bigger {
        let mut wishes = without(&asked.wishes, &near);
        wishes.chosen.insert(main.clone(), (*repair).to_owned());
        // A repair that renews several takes the place of theirs only where one of them is work.
        all.push(wishes);
    }
    let honest = |id: &PartId, repair: &Repair| !assessment.part(id).is_some_and(|state| only_hides(state, repair));
    let own_repairs = library.repairs_of(&part.component).filter(|r| r.also_renews.is_empty());
    for repair in own_repairs.filter(|r| honest(part, r)) {
        let mut wishes = without(&asked.wishes, &near);
        wishes.chosen.insert(part.clone(), repair.id.clone());
        for other in near.iter().filter(|id| *id != part) {
            let alone = library
                .repairs_of(&other.component)
                .filter(|r| r.also_renews.is_empty() && honest(other, r));
            let fewest = alone.min_by(|a, b| a.hours.total_cmp(&b.hours));
            wishes.chosen.extend(fewest.map(|r| (other.clone(), r.id.clone())));
        }
        all.push(wishes);
    }
    let mut found: Vec<Alternative> = Vec::new();
    for (nth, wishes) in all.into_iter().enumerate() {
        let mut other = asked.clone();
        other.wishes = wishes;
        let made = if nth == 0 {
            own.clone()
        } else {
            plan(&other, library, assessment)
        };
        let work = work_near(&made, &near);
        let does_it = work.iter().any(|_| made.work_on(part).is_some());
        if !does_it || found.iter().any(|f| f.work == work) {
            continue;
        }
        found.push(Alternative {
            work,
            planned: nth == 0 && wanted,
            difference: difference(assessment, &own, &made),
            wishes: other.wishes,
        });
    }
    let exposure = |a: &Alternative| (!a.planned, a.difference.points());
    found.sort_by(|a, b| {
        let (a, b) = (exposure(a), exposure(b));
        a.0.cmp(&b.0).then(a.1.total_cmp(&b.1))
    });
    found
}

fn work_near(plan: &Plan, near: &[PartId]) -> Vec<(String, PartId)> {
    let does = plan
        .work()
        .filter(|(_, work)| work.covers.iter().any(|p| near.contains(p)));
    let mut work: Vec<(String, PartId)> = does.map(|(_, w)| (w.repair.clone(), w.part.clone())).collect();
    work.sort();
    work
}

/// Wishes with no repair chosen for some parts.
fn without(wishes: &Wishes, near: &[PartId]) -> Wishes {
    let mut wishes = wishes.clone();
    wishes.chosen.retain(|part, _| !near.contains(part));
    wishes
}
