//! The steps of a booking: what the owner arranges, and what the trade is asked to do.

use super::{Making, StepKind, works};
use crate::engine::plan::Visit;
use crate::report::words;
use crate::text::clean;

/// Ring, have the parts ready, bring the car, ask for the work, fetch it, agree what is owed.
pub(super) fn steps(making: &mut Making, visit: &Visit) {
    let Some(booking) = &visit.booking else { return };
    let library = making.subject.library;
    let trade = words::a_trade(&booking.trade);
    let title = format!("Ring {trade} by {}", words::day(booking.book_by));
    let mut ring = making.step(StepKind::Arrange, title, &[]);
    ring.notes = vec![
        format!(
            "Ask for {}, or the nearest day they have; the plan has the car back for {}.",
            words::day(visit.date),
            words::day(booking.away_until)
        ),
        "Read them the work below, and ask for their price before they begin.".to_owned(),
    ];
    making.put(ring);
    if !visit.buy.is_empty() {
        let by = visit
            .order_by
            .map_or_else(String::new, |day| format!(", ordered by {}", words::day(day)));
        let mut parts = making.step(StepKind::Arrange, format!("Have the parts in hand{by}"), &[]);
        parts.notes = vec!["Agree first whether they fit parts that you bring.".to_owned()];
        making.put(parts);
    }
    let mut bring = making.step(
        StepKind::Arrange,
        format!(
            "Bring the car on {}, with this sheet and the parts",
            words::day(visit.date)
        ),
        &[],
    );
    bring.notes = vec![
        "Show them each place; a chalk mark or a photograph of it saves an argument.".to_owned(),
        "A car that may not be driven goes on a trailer.".to_owned(),
    ];
    making.put(bring);
    for (n, part, repair) in works(making.subject, visit) {
        let title = format!(
            "Ask for: {}, {}",
            words::small(&clean(&repair.name)),
            clean(&part.station.words())
        );
        let same_as = making.noted.iter().find(|(id, _)| *id == repair.id).map(|(_, at)| *at);
        let mut step = making.step(StepKind::AskFor, title, &repair.cautions);
        step.work = Some(n);
        match same_as {
            Some(at) if !repair.notes.is_empty() => step.same_as = Some(at),
            Some(_) => {}
            None => {
                step.notes = repair.notes.iter().map(|note| clean(note)).collect();
                making.noted.push((repair.id.clone(), step.number));
            }
        }
        making.put(step);
    }
    for owed in &visit.follow_ups {
        let found = library.follow_up(&owed.follow_up);
        let name = clean(found.map_or(owed.follow_up.as_str(), |f| f.name.as_str()));
        let cautions = found.map_or(&[][..], |f| f.cautions.as_slice());
        let mut step = making.step(StepKind::Owed, super::at_place("", &name, &owed.station), cautions);
        step.notes = vec![words::large(words::OWED_AFTER_BOOKING) + "."];
        making.put(step);
    }
    let title = format!(
        "Fetch it by {} and look at every part again",
        words::day(booking.away_until)
    );
    let mut fetch = making.step(StepKind::Arrange, title, &[]);
    fetch.notes =
        vec!["Grade what was done on the next Round: nothing is taken as good that nobody has looked at.".to_owned()];
    making.put(fetch);
}
