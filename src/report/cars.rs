//! The list of cars.

use jiff::civil::Date;
use serde::Serialize;

use super::page::{Cell, Page, Paper, Table, left, right, wide};
use crate::text;
use crate::units::Grade;

/// What the list says of one car.
#[derive(Debug, Clone, PartialEq, Default, Serialize)]
pub struct CarLine {
    /// The name of its folder: what to call it on the command line.
    pub car: String,
    /// What its owner calls it.
    pub name: String,
    /// The newest survey.
    pub last_survey: Option<Date>,
    /// How many parts it has.
    pub parts: usize,
    /// The part that ranks first, in words.
    pub first: Option<String>,
    /// That part's worst grade.
    pub grade: Option<Grade>,
    /// Its exposure until the next survey.
    pub exposure: Option<f64>,
    /// The exposure of all parts seen until the next survey.
    pub points: Option<f64>,
    /// How many reasons keep it off the road.
    pub notice: usize,
    /// The next visit of its plan.
    pub next_visit: Option<Date>,
    /// Since when it is out of the lists.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub retired: Option<Date>,
    /// Why it cannot be read, if it cannot.
    pub trouble: Option<String>,
}

/// The list as text.
#[must_use]
pub fn text(lines: &[CarLine], retired: bool, paper: Paper) -> String {
    let mut page = Page::new(paper);
    if lines.is_empty() && retired {
        page.paragraph(0, "No car has been put out of the lists.");
        return page.finish();
    }
    if lines.is_empty() {
        page.paragraph(
            0,
            "There is no car yet. Make one with `tinworm new --name NAME`, or see the one in `tinworm demo`.",
        );
        return page.finish();
    }
    let mut table = Table::new(&[
        left("car"),
        wide("name"),
        left("last survey"),
        wide("first in the standing"),
        right("grade"),
        right("exposure"),
        right("all parts"),
        left("next visit"),
    ]);
    for line in lines {
        let mut note = match (&line.trouble, line.notice) {
            (Some(trouble), _) => format!("cannot be read: {}", text::clean(trouble)),
            (None, 0) => String::new(),
            (None, n) => format!("keep off the road: {}", super::words::count(n, "reason")),
        };
        if let Some(since) = line.retired {
            note = format!(
                "out of the lists since {since}; `tinworm retire {} --back` takes it back",
                text::clean(&line.car)
            );
        }
        table.row_with_note(
            vec![
                text::clean(&line.car).into(),
                text::clean(&line.name).into(),
                line.last_survey
                    .map_or_else(|| "none".to_owned(), |d| d.to_string())
                    .into(),
                line.first.clone().unwrap_or_default().into(),
                line.grade.map_or_else(Cell::default, |g| Cell::from(Some(g))),
                line.exposure.map(super::words::points).unwrap_or_default().into(),
                line.points.map(super::words::points).unwrap_or_default().into(),
                line.next_visit.map(|d| d.to_string()).unwrap_or_default().into(),
            ],
            note,
        );
    }
    page.table(&table);
    page.finish()
}

/// The list as CSV.
#[must_use]
pub fn csv(lines: &[CarLine]) -> String {
    let header = [
        "car",
        "name",
        "last_survey",
        "parts",
        "first",
        "grade",
        "exposure",
        "all_parts",
        "notice",
        "next_visit",
        "trouble",
    ];
    let day = |date: Option<Date>| date.map(|d| d.to_string()).unwrap_or_default();
    let rows: Vec<Vec<String>> = lines
        .iter()
        .map(|line| {
            vec![
                line.car.clone(),
                super::cells::guarded(&line.name),
                day(line.last_survey),
                line.parts.to_string(),
                super::cells::guarded(line.first.as_deref().unwrap_or_default()),
                line.grade.map(|g| g.to_string()).unwrap_or_default(),
                line.exposure.map(|p| super::cells::rounded(p, 3)).unwrap_or_default(),
                line.points.map(|p| super::cells::rounded(p, 3)).unwrap_or_default(),
                line.notice.to_string(),
                day(line.next_visit),
                super::cells::guarded(line.trouble.as_deref().unwrap_or_default()),
            ]
        })
        .collect();
    super::cells::csv(&header, &rows)
}
