//! The work plan: what to look at first, the visits with their reasons, and what found no place.

use jiff::civil::Date;
use serde::Serialize;

use super::page::{Page, Paper, Table, left, right, wide};
use super::{Subject, cells, visit, words};
use crate::engine::plan::{Booking, Plan};
use crate::text;

/// How good the plan is, in a sentence.
#[must_use]
pub fn proof(plan: &Plan) -> String {
    if plan.visits.is_empty() {
        String::new()
    } else if plan.proven_best {
        "No other plan carries less exposure: proven by trying every one that could.".to_owned()
    } else if plan.bound <= 0.0 {
        "Found by search; how far from the best it may be is not known.".to_owned()
    } else {
        format!(
            "Found by search; it carries at most {} more exposure than the best possible plan.",
            text::percent(plan.gap())
        )
    }
}

/// When the car may be driven again as far as the plan goes, in a sentence.
#[must_use]
pub fn back_on_the_road(subject: &Subject, plan: &Plan) -> String {
    match plan.back_on_the_road {
        Some(date) if date <= plan.today && subject.assessment.notice.is_empty() => {
            "No planned part keeps it off the road today; that is not a statement that it is safe.".to_owned()
        }
        Some(date) => format!(
            "As far as this plan goes, no planned part keeps it off the road after {}: look at each again before driving.",
            words::day(date)
        ),
        None if subject.assessment.notice.is_empty() => String::new(),
        None => "This plan does not end the notice: something that keeps the car off the road has no visit.".to_owned(),
    }
}

/// The plan as text.
#[must_use]
pub fn text(subject: &Subject, plan: &Plan, paper: Paper) -> String {
    let Subject {
        car,
        library,
        assessment,
    } = subject;
    let mut page = super::standing::begin(
        paper,
        subject,
        &format!("Work plan for {}, made {}", text::clean(&car.profile.name), plan.today),
    );
    if !plan.look_first.is_empty() {
        page.heading("First look at what nobody has seen");
        let mut table = Table::new(&[right("exposure"), right("minutes"), wide("part"), wide("checks")]);
        for look in &plan.look_first {
            let names: Vec<String> = look
                .checks
                .iter()
                .map(|c| words::small(&words::check(library, &look.part.component, c)))
                .collect();
            table.row(vec![
                words::points(look.points).into(),
                format!("{:.0}", look.minutes).into(),
                words::part(library, &look.part).into(),
                names.join(", ").into(),
            ]);
        }
        page.table(&table);
    }
    if !car.progress.open.is_empty() {
        page.heading("Stands open");
        for job in &car.progress.open {
            page.item(0, &words::stands_open(library, job));
        }
    }
    page.gap();
    if plan.visits.is_empty() {
        let said = if !plan.not_placed.is_empty() {
            "No visit could be made; see below why."
        } else if assessment.parts.iter().all(|p| !p.seen) {
            "There is no work to plan: nothing has been seen of this car yet."
        } else {
            "There is no work to plan: nothing that was seen is worn enough to call for it. Look again at the next survey."
        };
        page.paragraph(0, said);
    } else {
        overview(&mut page, subject, plan);
        for (n, visit) in plan.visits.iter().enumerate() {
            visit::text(&mut page, subject, n + 1, visit);
        }
    }
    if !plan.not_placed.is_empty() {
        page.heading("Wanted, but without a place");
        for missing in &plan.not_placed {
            let repair = missing
                .repair
                .as_ref()
                .map(|r| format!(", {}", words::small(&words::repair(library, r))))
                .unwrap_or_default();
            page.item(
                0,
                &format!(
                    "{}{repair}: {}",
                    words::part(library, &missing.part),
                    words::not_placed(missing.because)
                ),
            );
        }
    }
    page.finish()
}

fn overview(page: &mut Page, subject: &Subject, plan: &Plan) {
    let Subject { car, library, .. } = subject;
    let mut table = Table::new(&[
        right("visit"),
        left("day"),
        right("hours"),
        right("cost"),
        right("takes away"),
        right("left after"),
        wide("work"),
    ]);
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
        table.row(vec![
            (n + 1).to_string().into(),
            visit.date.to_string().into(),
            visit
                .booking
                .as_ref()
                .map_or_else(|| words::hours_in_list(visit), |_| "away".to_owned())
                .into(),
            words::money(&car.profile, visit.cost).into(),
            text::percent(visit.share).into(),
            words::points(visit.left_after).into(),
            match &visit.booking {
                Some(booking) => format!("{}; {}", words::booking(booking), work.join("; ")).into(),
                None => work.join("; ").into(),
            },
        ]);
    }
    page.table(&table);
    page.gap();
    page.paragraph(0, words::HOURS_OF_LISTS);
    page.paragraph(
        0,
        &format!(
            "Exposure of the planned parts: {} if the plan is followed, {} if nothing is done until its last visit.",
            words::points(plan.exposure),
            words::points(plan.exposure_undone)
        ),
    );
    for sentence in [
        proof(plan),
        back_on_the_road(subject, plan),
        words::pace_of_work(&plan.pace),
    ] {
        if !sentence.is_empty() {
            page.paragraph(0, &sentence);
        }
    }
    limits(page, subject, plan);
}

/// What is done by the days that matter, what may be late, and what each limit costs.
fn limits(page: &mut Page, subject: &Subject, plan: &Plan) {
    let library = subject.library;
    let late = plan.visits.iter().flat_map(|v| &v.parts).filter(|b| b.overdue);
    let late: Vec<String> = late
        .map(|b| {
            format!(
                "{} ({}): {}",
                b.name,
                words::small(&words::part(library, &b.part)),
                words::to_get(b)
            )
        })
        .collect();
    let told = [
        (
            "Days that matter",
            plan.targets.iter().map(|t| words::target(library, t)).collect(),
        ),
        ("Late parts", late),
        (
            "What your limits cost",
            plan.limits
                .iter()
                .map(|cost| words::limit_cost(library, cost))
                .collect::<Vec<String>>(),
        ),
    ];
    for (heading, lines) in told {
        if lines.is_empty() {
            continue;
        }
        page.heading(heading);
        for line in lines {
            page.item(0, &line);
        }
    }
}

/// The plan as JSON: every value of the engine, with names and reasons in words beside the ids.
///
/// # Errors
/// As [`super::json`].
pub fn json(subject: &Subject, plan: &Plan) -> Result<String, serde_json::Error> {
    super::json(&value(subject, plan)?)
}

/// The plan as a value.
///
/// # Errors
/// As [`super::json`].
pub(super) fn value(subject: &Subject, plan: &Plan) -> Result<serde_json::Value, serde_json::Error> {
    #[derive(Serialize)]
    struct Named<'a, T> {
        words: String,
        #[serde(flatten)]
        value: &'a T,
    }
    let Subject {
        car,
        library,
        assessment,
    } = subject;
    let visits: Vec<serde_json::Value> = plan
        .visits
        .iter()
        .map(|visit| {
            let mut value = serde_json::to_value(visit)?;
            let work: Vec<Named<_>> = visit
                .work
                .iter()
                .map(|w| Named {
                    words: format!(
                        "{}: {}",
                        words::parts(library, &w.on),
                        words::repair(library, &w.repair)
                    ),
                    value: w,
                })
                .collect();
            if let Some(object) = value.as_object_mut() {
                object.insert("work".into(), serde_json::to_value(work)?);
                let why: Vec<String> = visit.why.iter().map(|w| words::why(library, w)).collect();
                object.insert("tightening".into(), visit::tightening_json(subject, visit)?);
                object.insert("why_in_words".into(), why.into());
                if let Some(booking) = &visit.booking {
                    object.insert("booking_in_words".into(), words::booking(booking).into());
                }
                if let Some(over) = words::may_run_over(visit) {
                    object.insert("may_run_over_in_words".into(), over.into());
                }
                object.insert("cautions_in_words".into(), visit::cautions(library, visit).into());
            }
            Ok(value)
        })
        .collect::<Result<_, serde_json::Error>>()?;
    let not_placed: Vec<Named<_>> = plan
        .not_placed
        .iter()
        .map(|n| Named {
            words: format!("{}: {}", words::part(library, &n.part), words::not_placed(n.because)),
            value: n,
        })
        .collect();
    let look_first: Vec<Named<_>> = plan
        .look_first
        .iter()
        .map(|l| Named {
            words: words::part(library, &l.part),
            value: l,
        })
        .collect();
    let notice: Vec<String> = assessment.notice.iter().map(|n| words::notice(library, n)).collect();
    Ok(serde_json::json!({
        "car": car.profile.name,
        "today": plan.today,
        "remark": words::ORDERS_WORK_ONLY,
        "notice": notice,
        "look_first": look_first,
        "visits": visits,
        "not_placed": not_placed,
        "exposure": plan.exposure,
        "exposure_undone": plan.exposure_undone,
        "bound": plan.bound,
        "proven_best": plan.proven_best,
        "gap": plan.gap(),
        "back_on_the_road": plan.back_on_the_road,
        "stands_open": car.progress.open.iter().map(|job| words::stands_open(library, job)).collect::<Vec<_>>(),
        "targets": plan.targets.iter().map(|t| Named { words: words::target(library, t), value: t }).collect::<Vec<_>>(),
        "limits": plan.limits.iter().map(|l| Named { words: words::limit_cost(library, l), value: l }).collect::<Vec<_>>(),
        "pace": plan.pace,
        "pace_in_words": words::pace_of_work(&plan.pace),
    }))
}

/// The columns of the plan as CSV.
pub(super) const COLUMNS: [&str; 16] = [
    "visit",
    "date",
    "repair",
    "part",
    "name",
    "covers",
    "hours",
    "exposure",
    "trade",
    "book_by",
    "away_until",
    "because",
    "visit_cost",
    "order_by",
    "left_after",
    "tightening",
];

/// The plan as CSV, a row for each repair.
#[must_use]
pub fn csv(subject: &Subject, plan: &Plan) -> String {
    cells::csv(&COLUMNS, &rows(subject, plan))
}

/// The rows of the plan as CSV.
pub(super) fn rows(subject: &Subject, plan: &Plan) -> Vec<Vec<String>> {
    let mut rows = Vec::new();
    for (n, visit) in plan.visits.iter().enumerate() {
        for work in &visit.work {
            let covers: Vec<String> = work.covers.iter().map(ToString::to_string).collect();
            let booked = |day: fn(&Booking) -> Date| {
                let booking = visit.booking.as_ref();
                booking.map_or_else(String::new, |b| day(b).to_string())
            };
            rows.push(vec![
                (n + 1).to_string(),
                visit.date.to_string(),
                work.repair.clone(),
                work.part.to_string(),
                cells::guarded(&words::repair(subject.library, &work.repair)),
                covers.join("; "),
                cells::rounded(work.hours, 2),
                cells::rounded(work.points, 3),
                cells::guarded(work.trade.as_deref().unwrap_or_default()),
                booked(|b| b.book_by),
                booked(|b| b.away_until),
                cells::guarded(&words::because(work.because)),
                cells::rounded(visit.cost, 2),
                visit.order_by.map(|d| d.to_string()).unwrap_or_default(),
                cells::rounded(visit.left_after, 3),
                cells::guarded(&visit::tightening_cell(subject, visit, work)),
            ]);
        }
    }
    rows
}
