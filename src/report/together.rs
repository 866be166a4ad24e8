//! The plan of several cars: one calendar, one budget.

use super::page::{Page, Paper, Table, left, right, wide};
use super::{Subject, plan as plans, standing, visit, words};
use crate::engine::plan::Visit;
use crate::engine::plan::together::Together;
use crate::text;

/// How the days are dealt out, in a sentence or two.
pub const RULE: &str = "Each session is given to one car: to the one whose next visit takes off the most exposure (that of a year from today) for each of \
     its days, if it is ready and can be paid; work that runs on keeps its car's next session, and a day that a repair is fixed to is its car's. Budgets in the same money that are kept \
     to are one pot. This is a rule of thumb: each car's plan is the best found on the days it was given, but another dealing-out \
     may be better.";

/// One car with the name of its folder.
#[derive(Debug, Clone, Copy)]
pub struct Owned<'a> {
    /// The name of its folder.
    pub name: &'a str,
    /// The car, and what is said of it.
    pub subject: Subject<'a>,
}

/// All visits by day, each with the place of its car.
fn visits(together: &Together) -> Vec<(usize, &Visit)> {
    let mut all: Vec<(usize, &Visit)> = together
        .plans
        .iter()
        .enumerate()
        .flat_map(|(at, plan)| plan.visits.iter().map(move |v| (at, v)))
        .collect();
    all.sort_by_key(|(_, visit)| visit.date);
    all
}

/// The plan as text.
#[must_use]
pub fn text(cars: &[Owned], together: &Together, paper: Paper) -> String {
    let mut page = Page::new(paper);
    page.heading(&format!("Work plan for {}", words::count(cars.len(), "car")));
    page.paragraph(0, words::ORDERS_WORK_ONLY);
    for owned in cars {
        if !owned.subject.assessment.notice.is_empty() {
            page.heading(&text::clean(&owned.subject.car.profile.name));
            standing::notice(&mut page, &owned.subject);
        }
    }
    page.gap();
    page.paragraph(0, RULE);
    let all = visits(together);
    if all.is_empty() {
        page.gap();
        page.paragraph(0, "There is no work to plan on any of them: look at them first.");
    } else {
        overview(&mut page, cars, &all);
    }
    for pot in &together.pots {
        let of: Vec<String> = pot
            .cars
            .iter()
            .filter_map(|at| cars.get(*at).map(|o| text::clean(o.name)))
            .collect();
        let Some(profile) = pot
            .cars
            .first()
            .and_then(|at| cars.get(*at))
            .map(|o| &o.subject.car.profile)
        else {
            continue;
        };
        page.paragraph(
            0,
            &format!(
                "One budget for {}: {} may be spent today, these visits cost {}.",
                of.join(", "),
                words::money(profile, pot.today),
                words::money(profile, pot.planned)
            ),
        );
    }
    for missed in &together.missed_pins {
        let (Some(own), Some(other)) = (cars.get(missed.car), cars.get(missed.taken_by)) else {
            continue;
        };
        page.paragraph(
            0,
            &format!(
                "{}: {} is fixed to {}, but {} has that session; {}.",
                text::clean(own.name),
                words::part(own.subject.library, &missed.part),
                missed.fixed_to,
                text::clean(other.name),
                match missed.planned {
                    Some(day) => format!("it is planned for {day}"),
                    None => "it found no place".to_owned(),
                }
            ),
        );
    }
    for (owned, plan) in cars.iter().zip(&together.plans) {
        let library = owned.subject.library;
        if plan.not_placed.is_empty() && plan.look_first.is_empty() {
            continue;
        }
        page.heading(&text::clean(&owned.subject.car.profile.name));
        if !plan.look_first.is_empty() {
            page.item(
                0,
                &format!(
                    "nobody has seen anything of {}; see `tinworm sheet {} --due`",
                    words::count(plan.look_first.len(), "part"),
                    text::clean(owned.name)
                ),
            );
        }
        for missing in &plan.not_placed {
            page.item(
                0,
                &format!(
                    "wanted, but without a place: {}: {}",
                    words::part(library, &missing.part),
                    words::not_placed(missing.because)
                ),
            );
        }
    }
    for (n, (at, one)) in all.iter().enumerate() {
        if let Some(owned) = cars.get(*at) {
            page.heading(&text::clean(&owned.subject.car.profile.name));
            visit::text(&mut page, &owned.subject, n + 1, one);
        }
    }
    page.finish()
}

fn overview(page: &mut Page, cars: &[Owned], all: &[(usize, &Visit)]) {
    let mut table = Table::new(&[
        right("visit"),
        left("day"),
        left("car"),
        right("hours"),
        right("cost"),
        wide("work"),
    ]);
    for (n, (at, visit)) in all.iter().enumerate() {
        let Some(owned) = cars.get(*at) else { continue };
        let Subject { car, library, .. } = owned.subject;
        let work = visit.work.iter().map(|w| {
            format!(
                "{} ({})",
                words::small(&words::repair(library, &w.repair)),
                words::stations(&w.on)
            )
        });
        let mut work = work.collect::<Vec<_>>().join("; ");
        if let Some(booking) = &visit.booking {
            work = format!("{}; {work}", words::booking(booking));
        }
        table.row(vec![
            (n + 1).to_string().into(),
            visit.date.to_string().into(),
            text::clean(owned.name).into(),
            match visit.booking {
                Some(_) => "away".to_owned(),
                None => words::hours_in_list(visit),
            }
            .into(),
            words::money(&car.profile, visit.cost).into(),
            work.into(),
        ]);
    }
    page.gap();
    page.table(&table);
    page.gap();
    page.paragraph(0, words::HOURS_OF_LISTS);
    page.gap();
}

/// The plan as JSON: whose session each day is, and each car's plan.
///
/// # Errors
/// As [`super::json`].
pub fn json(cars: &[Owned], together: &Together) -> Result<String, serde_json::Error> {
    let name = |at: usize| cars.get(at).map_or("", |o| o.name);
    let sessions: Vec<serde_json::Value> = together
        .dealt
        .iter()
        .map(|d| serde_json::json!({"date": d.date, "car": name(d.car), "hours": d.hours}))
        .collect();
    let budgets: Vec<serde_json::Value> = together
        .pots
        .iter()
        .map(|pot| {
            let of: Vec<&str> = pot.cars.iter().map(|at| name(*at)).collect();
            serde_json::json!({"currency": pot.currency, "cars": of, "today": pot.today, "planned": pot.planned})
        })
        .collect();
    let plans: Vec<serde_json::Value> = cars
        .iter()
        .zip(&together.plans)
        .map(|(owned, plan)| Ok(serde_json::json!({"car": owned.name, "plan": plans::value(&owned.subject, plan)?})))
        .collect::<Result<_, serde_json::Error>>()?;
    let missed: Vec<serde_json::Value> = together
        .missed_pins
        .iter()
        .map(|m| {
            serde_json::json!({
                "car": name(m.car), "part": m.part, "fixed_to": m.fixed_to, "taken_by": name(m.taken_by), "planned": m.planned,
            })
        })
        .collect();
    super::json(&serde_json::json!({
        "remark": words::ORDERS_WORK_ONLY,
        "rule": RULE,
        "sessions": sessions,
        "budgets": budgets,
        "missed_pins": missed,
        "cars": plans,
    }))
}

/// The plan as CSV: the rows of each car's plan behind the name of the car, by car.
#[must_use]
pub fn csv(cars: &[Owned], together: &Together) -> String {
    let header: Vec<&str> = std::iter::once("car").chain(plans::COLUMNS).collect();
    let mut rows: Vec<Vec<String>> = Vec::new();
    for (owned, plan) in cars.iter().zip(&together.plans) {
        let name = super::cells::guarded(owned.name);
        let own = plans::rows(&owned.subject, plan).into_iter();
        rows.extend(own.map(|row| std::iter::once(name.clone()).chain(row).collect()));
    }
    super::cells::csv(&header, &rows)
}
