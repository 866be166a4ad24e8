//! What to look at while it is apart.

use jiff::Span;

use super::LookThere;
use super::steps::{open_by, opened_here};
use crate::engine::plan::Plan;
use crate::engine::plan::setups::step_at;
use crate::report::{Subject, words};
use crate::rubric::{PartId, Stage};

/// A look this many days old is worth taking again while the part is open (judgement: one winter lies between).
const OLD_DAYS: i64 = 365;

/// Parts that the opened steps reach, that the visit does not renew, and of which checks are unseen or long unseen; those
/// nobody has seen first, by what not knowing them carries.
pub(super) fn while_apart(subject: &Subject, plan: &Plan, nth: usize) -> Vec<LookThere> {
    let Some(visit) = plan.visits.get(nth).filter(|v| v.booking.is_none()) else {
        return Vec::new();
    };
    let library = subject.library;
    let open = open_by(subject, plan, nth);
    let here = opened_here(subject, plan, nth);
    let covered = |part: &PartId| {
        visit
            .work
            .iter()
            .any(|w| w.covers.contains(part) || w.on.contains(part))
    };
    let mut found: Vec<(f64, LookThere)> = Vec::new();
    for state in subject.assessment.parts.iter().filter(|p| !covered(&p.id)) {
        let Some(component) = library.component(&state.id.component) else {
            continue;
        };
        let reached = component.opened_by.iter().any(|id| {
            let step = step_at(library, id, &state.id.station);
            open.iter()
                .chain(&here)
                .any(|(open, station)| open == step && station.meets(&state.id.station))
        });
        if !reached {
            continue;
        }
        let mut look = LookThere {
            part: state.id.clone(),
            part_name: words::part(library, &state.id),
            unseen: Vec::new(),
            old: Vec::new(),
            minutes: 0.0,
        };
        for check in component.checks.iter().filter(|c| raised(c.stage)) {
            let Some(seen) = state.checks.iter().find(|s| s.check == check.id) else {
                continue;
            };
            let name = words::small(&words::check(library, &component.id, &check.id));
            match &seen.last {
                None => look.unseen.push(name),
                Some(last) if last.date.saturating_add(Span::new().days(OLD_DAYS)) <= visit.date => {
                    look.old.push((name, last.date));
                }
                Some(_) => continue,
            }
            look.minutes += check.minutes;
        }
        if !(look.unseen.is_empty() && look.old.is_empty()) {
            found.push((state.unknown_points, look));
        }
    }
    found.sort_by(|(a, one), (b, other)| {
        let unseen = |look: &LookThere| look.unseen.is_empty();
        unseen(one).cmp(&unseen(other)).then(b.total_cmp(a))
    });
    found.into_iter().map(|(_, look)| look).collect()
}

/// Looks that opening the car helps; the others are taken on its wheels, in the cabin or on the road.
fn raised(stage: Stage) -> bool {
    matches!(
        stage,
        Stage::Bonnet | Stage::FrontRaised | Stage::RearRaised | Stage::Underneath
    )
}
