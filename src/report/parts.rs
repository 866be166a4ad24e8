//! What to buy for the visits.

use serde::Serialize;

use super::page::{Paper, Table, left, right, wide};
use super::{Subject, cells, words};
use crate::car::Buying;
use crate::engine::plan::{Plan, ToBuy, Visit};

/// Every part of the plan's visits with its visit and number, those to be ordered first in front.
fn all(plan: &Plan) -> Vec<(usize, &Visit, &ToBuy)> {
    let mut all: Vec<(usize, &Visit, &ToBuy)> = plan
        .visits
        .iter()
        .enumerate()
        .flat_map(|(n, visit)| visit.parts.iter().map(move |bought| (n + 1, visit, bought)))
        .collect();
    let rank = |b: &ToBuy| (matches!(b.status, Buying::InHand), b.order_by.is_none());
    all.sort_by(|a, b| {
        rank(a.2)
            .cmp(&rank(b.2))
            .then(a.2.order_by.cmp(&b.2.order_by))
            .then(a.0.cmp(&b.0))
    });
    all
}

/// The list as text.
#[must_use]
pub fn text(subject: &Subject, plan: &Plan, paper: Paper) -> String {
    let (car, library) = (subject.car, subject.library);
    let name = crate::text::clean(&car.profile.name);
    let mut page = super::standing::begin(paper, subject, &format!("What to buy for {name}, by {}", plan.today));
    page.gap();
    let all = all(plan);
    if all.is_empty() {
        page.paragraph(0, "No planned repair needs anything that is bought.");
        return page.finish();
    }
    let mut table = Table::new(&[
        left("order by"),
        right("visit"),
        left("day"),
        right("price"),
        wide("what"),
        wide("for"),
        wide("status"),
    ]);
    for (number, visit, bought) in &all {
        table.row(vec![
            bought.order_by.map_or_else(String::new, |d| d.to_string()).into(),
            number.to_string().into(),
            visit.date.to_string().into(),
            words::money(&car.profile, f64::from(bought.count) * bought.cost).into(),
            format!("{} × {}", bought.count, crate::text::clean(&bought.name)).into(),
            words::part(library, &bought.part).into(),
            words::to_get(bought).into(),
        ]);
    }
    page.table(&table);
    page.gap();
    let due: f64 = all.iter().map(|(_, _, b)| b.to_pay()).sum();
    page.paragraph(
        0,
        &format!(
            "Still to pay for parts: {}. Say what is ordered or in hand with `tinworm order CAR PART`.",
            words::money(&car.profile, due)
        ),
    );
    page.finish()
}

/// One row of the list.
#[derive(Serialize)]
struct Row<'a> {
    visit: usize,
    date: String,
    #[serde(flatten)]
    bought: &'a ToBuy,
    status_in_words: String,
}

/// The list as JSON.
///
/// # Errors
/// As [`super::json`].
pub fn json(_subject: &Subject, plan: &Plan) -> Result<String, serde_json::Error> {
    let rows: Vec<Row> = all(plan)
        .into_iter()
        .map(|(visit, at, bought)| Row {
            visit,
            date: at.date.to_string(),
            bought,
            status_in_words: words::to_get(bought),
        })
        .collect();
    super::json(&rows)
}

/// The list as CSV.
#[must_use]
pub fn csv(_subject: &Subject, plan: &Plan) -> String {
    let header = [
        "order_by",
        "visit",
        "date",
        "part",
        "repair",
        "name",
        "count",
        "price",
        "lead_days",
        "status",
        "in_hand_by",
    ];
    let rows: Vec<Vec<String>> = all(plan)
        .into_iter()
        .map(|(number, visit, b)| {
            vec![
                b.order_by.map(|d| d.to_string()).unwrap_or_default(),
                number.to_string(),
                visit.date.to_string(),
                b.part.to_string(),
                b.repair.clone(),
                cells::guarded(&b.name),
                b.count.to_string(),
                cells::rounded(f64::from(b.count) * b.cost, 2),
                b.lead_days.to_string(),
                words::buying(b.status),
                b.ready.to_string(),
            ]
        })
        .collect();
    cells::csv(&header, &rows)
}
