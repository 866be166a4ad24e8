//! While you are in there: work that a visit could do with little more opening.

use super::model::{Offer, Visit};
use super::setups::step_at;
use super::visit::Context;
use crate::engine::state::PartState;
use crate::rubric::{Pair, PartId};

/// Parts from this grade on are offered while their place is open.
const OFFER_FROM: u8 = 2;

/// Parts at grade 2 or worse that nothing planned renews and that need no more opening than a visit does anyway.
pub(crate) fn offers(context: &Context, visits: &mut [Visit]) {
    let planned: Vec<&PartId> = context.tasks.iter().flat_map(|t| &t.covers).collect();
    let mut offered: Vec<PartId> = Vec::new();
    for visit in visits.iter_mut() {
        let opened = |step: &str, station: &crate::rubric::Station| {
            visit.access.iter().any(|o| o.step == step && o.station.meets(station))
        };
        let mut offers = Vec::new();
        for part in &context.assessment.parts {
            let wants = wants_offer(part);
            let twin_done = part.id.twin().is_some_and(|twin| {
                visit.work.iter().any(|w| {
                    w.covers.contains(&twin)
                        && context
                            .library
                            .repair(&w.repair)
                            .is_some_and(|r| r.pair == Pair::Should && r.component == twin.component)
                })
            });
            if planned.contains(&&part.id) || offered.contains(&part.id) || !(wants || twin_done) {
                continue;
            }
            let best = context
                .library
                .all()
                .repairs
                .iter()
                .filter(|r| r.component == part.id.component && r.specialist.is_none())
                .filter_map(|repair| {
                    let steps: Vec<String> = repair
                        .access
                        .iter()
                        .map(|id| step_at(context.library, id, &part.id.station).to_owned())
                        .collect();
                    let closure = context.library.access_closure(&steps);
                    let all_open = closure.iter().all(|s| opened(&s.id, &part.id.station));
                    // The other side of a pair is offered although its own wheel is still on.
                    let some_open = closure.iter().any(|s| visit.access.iter().any(|o| o.step == s.id));
                    if !(all_open && !closure.is_empty() || twin_done && some_open) {
                        return None;
                    }
                    let saves: f64 = closure
                        .iter()
                        .filter(|s| opened(&s.id, &part.id.station))
                        .map(|s| s.hours)
                        .sum();
                    let more: f64 = closure
                        .iter()
                        .filter(|s| !opened(&s.id, &part.id.station))
                        .map(|s| s.hours)
                        .sum();
                    let hours = repair.hours + context.trouble.mean_hours(context.assessment, repair, &part.id) + more;
                    let times = context.trouble.pace.times;
                    Some((repair, hours * times, saves * times))
                })
                .min_by(|a, b| a.1.total_cmp(&b.1));
            if let Some((repair, hours, saves)) = best {
                offered.push(part.id.clone());
                offers.push(Offer {
                    repair: repair.id.clone(),
                    part: part.id.clone(),
                    hours,
                    saves,
                    other_side: twin_done,
                });
            }
        }
        visit.while_in_there = offers;
    }
}

fn wants_offer(part: &PartState) -> bool {
    part.seen && part.worst.as_ref().is_some_and(|w| w.grade.digit() >= OFFER_FROM)
}
