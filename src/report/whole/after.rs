//! The second half of the report: plan, worksheets, history.

use super::model::{Block, Cell, Section, Table, numbers_in, words_in};
use crate::car::{Car, Survey};
use crate::engine::plan::Plan;
use crate::report::{Subject, plan as plan_words, words, worksheet};
use crate::rubric::PartId;
use crate::text;

/// The visits, why each stands where it does, and what found no place.
pub(super) fn plan(subject: &Subject, plan: &Plan) -> Section {
    let Subject { car, library, .. } = subject;
    let mut section = Section::new("plan", "Work plan");
    if plan.visits.is_empty() {
        section.say(if plan.not_placed.is_empty() {
            "There is no work to plan: either nothing has been seen yet, or nothing that was seen is worn enough to call for it."
        } else {
            "No visit could be made; see below why."
        });
    }
    let mut table = Table::new(
        "Visits",
        &[
            numbers_in("visit"),
            words_in("day"),
            words_in("hours"),
            numbers_in("cost"),
            numbers_in("takes away"),
            numbers_in("left after"),
            words_in("work"),
        ],
    );
    for (n, visit) in plan.visits.iter().enumerate() {
        let work: Vec<String> = visit
            .work
            .iter()
            .map(|w| {
                format!(
                    "{} ({})",
                    words::small(&words::repair(library, &w.repair)),
                    words::stations(&w.on)
                )
            })
            .collect();
        let mut days = visit.date.to_string();
        for day in &visit.runs_on {
            days.push_str(&format!(", {day}"));
        }
        table.row(vec![
            (n + 1).to_string().into(),
            days.into(),
            visit
                .booking
                .as_ref()
                .map_or_else(|| words::hours_in_list(visit), words::booking)
                .into(),
            words::money(&car.profile, visit.cost).into(),
            text::percent(visit.share).into(),
            words::points(visit.left_after).into(),
            work.join("; ").into(),
        ]);
    }
    let any = !table.rows.is_empty();
    section.table(table);
    if any {
        section.say(words::HOURS_OF_LISTS.to_owned());
        section.say(format!(
            "Exposure of the planned parts: {} if the plan is followed, {} if nothing is done until its last visit.",
            words::points(plan.exposure),
            words::points(plan.exposure_undone)
        ));
        section.say(plan_words::proof(plan));
        section.say(plan_words::back_on_the_road(subject, plan));
    }
    for (n, visit) in plan.visits.iter().enumerate() {
        let mut lines: Vec<String> = visit.why.iter().map(|why| words::why(library, why)).collect();
        if let Some(day) = visit.order_by {
            lines.push(format!("order by {}", words::day(day)));
        }
        if !visit.tools_missing.is_empty() {
            lines.push(format!(
                "tools lacking: {}",
                text::clean(&visit.tools_missing.join("; "))
            ));
        }
        if !lines.is_empty() {
            section.head(format!("Visit {}, {}: why here", n + 1, words::day(visit.date)));
            section.list(lines);
        }
    }
    if !plan.not_placed.is_empty() {
        section.head("Wanted, but without a place");
        let lines = plan.not_placed.iter().map(|missing| {
            let repair = missing
                .repair
                .as_ref()
                .map(|r| format!(", {}", words::small(&words::repair(library, r))))
                .unwrap_or_default();
            format!(
                "{}{repair}: {}",
                words::part(library, &missing.part),
                words::not_placed(missing.because)
            )
        });
        section.list(lines.collect());
    }
    section
}

/// The worksheet of every visit.
pub(super) fn worksheets(subject: &Subject, plan: &Plan) -> Option<Section> {
    let mut section = Section::new("worksheets", "Worksheets");
    for nth in 0..plan.visits.len() {
        let sheet = worksheet::worksheet(subject, plan, nth)?;
        section.blocks.push(Block::Worksheet(Box::new(sheet)));
    }
    Some(section)
}

/// How many surveys stand beside each other.
const SURVEYS: usize = 4;

/// Surveys and repairs done.
pub(super) fn history(subject: &Subject) -> Section {
    let Subject { car, library, .. } = subject;
    let mut section = Section::new("history", "History");
    if car.surveys.is_empty() && car.repairs.is_empty() {
        section.say("No survey and no repair has been recorded.");
        return section;
    }
    section.table(surveys(car));
    let mut repairs = Table::new(
        "Repairs done",
        &[
            words_in("day"),
            words_in("repair"),
            words_in("part"),
            numbers_in("odometer"),
            numbers_in("hours"),
            numbers_in("cost"),
        ],
    );
    repairs.named_by = 1;
    for done in &car.repairs {
        repairs.row_with_note(
            vec![
                done.date.to_string().into(),
                words::repair(library, &done.repair).into(),
                words::part(library, &done.part).into(),
                done.odometer_km
                    .map(|km| words::distance(&car.profile, km))
                    .unwrap_or_default()
                    .into(),
                done.hours.map(words::hours).unwrap_or_default().into(),
                done.cost
                    .map(|cost| words::money(&car.profile, cost))
                    .unwrap_or_default()
                    .into(),
            ],
            text::clean(&done.note),
        );
    }
    section.table(repairs);
    seen(&mut section, subject);
    section
}

fn surveys(car: &Car) -> Table {
    let mut table = Table::new(
        "Surveys",
        &[
            words_in("day"),
            numbers_in("odometer"),
            numbers_in("seen"),
            numbers_in("not seen"),
            words_in("remark"),
        ],
    );
    for survey in &car.surveys {
        let seen = survey.looks.iter().filter(|l| l.seen.is_seen()).count();
        table.row(vec![
            survey.date.to_string().into(),
            survey
                .odometer_km
                .map(|km| words::distance(&car.profile, km))
                .unwrap_or_default()
                .into(),
            seen.to_string().into(),
            (survey.looks.len() - seen).to_string().into(),
            text::clean(&survey.note).into(),
        ]);
    }
    table
}

/// What each of the newest surveys saw of every check.
fn seen(section: &mut Section, subject: &Subject) {
    let Subject { car, library, .. } = subject;
    let from = car.surveys.len().saturating_sub(SURVEYS);
    let newest: Vec<&Survey> = car.surveys.iter().skip(from).collect();
    let mut order: Vec<(&PartId, &str)> = Vec::new();
    let mut known = std::collections::BTreeSet::new();
    for look in newest.iter().flat_map(|s| &s.looks) {
        if known.insert((&look.part, look.check.as_str())) {
            order.push((&look.part, &look.check));
        }
    }
    // A part's checks stand together, parts in the order in which they were first looked at.
    let mut parts: Vec<&PartId> = Vec::new();
    for (part, _) in &order {
        if !parts.contains(part) {
            parts.push(part);
        }
    }
    order.sort_by_key(|(part, _)| parts.iter().position(|p| p == part));
    let mut table = Table::new(
        if from == 0 {
            "What the surveys saw".to_owned()
        } else {
            format!("What the newest {SURVEYS} surveys saw")
        },
        &[words_in("part and check"), words_in("seen")],
    );
    for (part, check) in order {
        let rubric = library.check(&part.component, check);
        let said: Vec<String> = newest
            .iter()
            .filter_map(|survey| {
                let look = survey.look(part, check)?;
                let note = if look.note.is_empty() {
                    String::new()
                } else {
                    format!(" ({})", text::clean(&look.note))
                };
                Some(format!("{}: {}{note}", survey.date, words::seen(&look.seen, rubric)))
            })
            .collect();
        table.row(vec![
            Cell::from(format!(
                "{}: {}",
                words::part(library, part),
                words::small(&words::check(library, &part.component, check))
            )),
            said.join("; ").into(),
        ]);
    }
    section.table(table);
}
