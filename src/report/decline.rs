//! One part's history and forecast: as numbers, and as a small chart of plain letters, a line for each date.

use jiff::civil::Date;

use super::page::{Page, Paper, Table, left, right};
use super::{Subject, cells, words};
use crate::engine::history::{DeclinePoint, DeclineSeries};
use crate::engine::{CheckState, Spread};
use crate::rubric::{Check, PartId};
use crate::text;

/// One check with its state and its series, if the engine gives one.
#[derive(Debug, Clone)]
pub struct CheckDecline<'a> {
    /// The check of the rubric.
    pub check: &'a Check,
    /// What is said of it today.
    pub state: Option<&'a CheckState>,
    /// History and forecast.
    pub series: Option<DeclineSeries>,
}

/// The decline of a part's checks as text.
#[must_use]
pub fn text(subject: &Subject, part: &PartId, checks: &[CheckDecline], paper: Paper) -> String {
    let Subject {
        car,
        library,
        assessment,
    } = subject;
    let mut page = Page::new(paper);
    page.heading(&format!(
        "Decline of {} of {} on {}",
        words::small(&words::part(library, part)),
        text::clean(&car.profile.name),
        assessment.today
    ));
    page.paragraph(0, words::ORDERS_WORK_ONLY);
    super::standing::notice(&mut page, subject);
    for check in checks {
        one(&mut page, part, check, subject);
    }
    page.finish()
}

fn one(page: &mut Page, part: &PartId, decline: &CheckDecline, subject: &Subject) {
    let check = decline.check;
    page.heading(&format!("{} [{}]", text::clean(&check.name), check.id));
    for survey in &subject.car.surveys {
        if let Some(look) = survey.look(part, &check.id) {
            let note = if look.note.is_empty() {
                String::new()
            } else {
                format!(" – {}", text::clean(&look.note))
            };
            page.item(
                0,
                &format!("{}: {}{note}", survey.date, words::seen(&look.seen, Some(check))),
            );
        }
    }
    if let Some(series) = &decline.series {
        for (date, repair) in &series.repairs {
            page.item(
                0,
                &format!("{date}: {} (starts again)", words::repair(subject.library, repair)),
            );
        }
    }
    let Some(state) = decline.state else {
        page.paragraph(0, "The engine says nothing of this check.");
        return;
    };
    numbers(page, check, state);
    if let Some(series) = &decline.series {
        page.gap();
        forecast(page, series);
        page.gap();
        chart(page, series);
    }
}

fn numbers(page: &mut Page, check: &Check, state: &CheckState) {
    let grades: Vec<String> = state
        .grades
        .iter()
        .enumerate()
        .filter(|(_, p)| **p >= 0.005)
        .map(|(digit, p)| format!("{digit}: {}", text::percent(*p)))
        .collect();
    page.gap();
    page.hanging(
        0,
        "Today     ",
        &format!(
            "damage {} ({} to {}), 1 is the limit; grade {}",
            text::figure(state.damage.mid),
            text::figure(state.damage.low),
            text::figure(state.damage.high),
            grades.join(", ")
        ),
    );
    page.hanging(
        0,
        "Pace      ",
        &format!(
            "{}, resting on {}; driven by {}",
            words::pace(state.grades_per_year),
            words::rests_on(state.rests_on_looks),
            words::driver(check.decline.driver)
        ),
    );
    page.hanging(
        0,
        "Limit     ",
        &format!(
            "{}; past it now {}, at the next survey {}",
            words::years_left(&state.years_left),
            text::percent(state.past_limit_now),
            text::percent(state.past_limit_then)
        ),
    );
    page.hanging(0, "Quickened ", &text::percent(state.quickened));
    if let Some(uneven) = state.uneven.filter(|u| *u > 0.0) {
        page.hanging(
            0,
            "Uneven    ",
            &format!(
                "{} of damage between the points: look for the cause",
                text::figure(uneven)
            ),
        );
    }
    if let Some(change) = &state.change {
        page.hanging(0, "Change    ", &words::change(change));
    }
    for flag in &state.flags {
        page.hanging(0, "Odd       ", words::flag(*flag));
    }
}

/// The values on a date, straight between the days of the series; beyond its last day, those of the last.
fn at(series: &DeclineSeries, date: Date) -> Option<DeclinePoint> {
    let Some(after) = series.points.iter().position(|p| p.date >= date) else {
        return series.points.last().cloned();
    };
    let next = series.points.get(after)?;
    let Some(before) = after.checked_sub(1).and_then(|n| series.points.get(n)) else {
        return Some(next.clone());
    };
    let days = crate::engine::clock::days_between;
    let share = days(before.date, date) / days(before.date, next.date).max(1.0);
    let between = |of: fn(&DeclinePoint) -> f64| of(before) + (of(next) - of(before)) * share;
    Some(DeclinePoint {
        date,
        damage: Spread {
            low: between(|p| p.damage.low),
            mid: between(|p| p.damage.mid),
            high: between(|p| p.damage.high),
        },
        past_limit: between(|p| p.past_limit),
    })
}

fn forecast(page: &mut Page, series: &DeclineSeries) {
    let mut table = Table::new(&[
        left("forecast"),
        left("date"),
        right("damage"),
        right("10 %"),
        right("90 %"),
        right("past limit"),
    ]);
    let last = series.points.last().map(|p| p.date);
    for (name, months) in [
        ("today", 0),
        ("half a year", 6),
        ("1 year", 12),
        ("2 years", 24),
        ("5 years", 60),
    ] {
        let Ok(date) = series.today.checked_add(jiff::Span::new().months(months)) else {
            continue;
        };
        // The forecast's last day may fall short of a round date by a few days.
        let slack = jiff::Span::new().days(20);
        if months > 0
            && last
                .and_then(|last| last.checked_add(slack).ok())
                .is_none_or(|last| date > last)
        {
            continue;
        }
        if let Some(point) = at(series, date) {
            table.row(vec![
                name.into(),
                point.date.to_string().into(),
                text::figure(point.damage.mid).into(),
                text::figure(point.damage.low).into(),
                text::figure(point.damage.high).into(),
                text::percent(point.past_limit).into(),
            ]);
        }
    }
    if !table.is_empty() {
        page.table(&table);
    }
}

/// How many lines a chart has at most, besides those of looks.
const LINES: usize = 16;

fn chart(page: &mut Page, series: &DeclineSeries) {
    if series.points.is_empty() {
        return;
    }
    let cells = page.paper().width.saturating_sub(28).clamp(20, 60);
    let top = series
        .points
        .iter()
        .map(|p| p.damage.high)
        .fold(1.25, f64::max)
        .min(2.0);
    let column = |damage: f64| -> usize {
        let share = (damage / top).clamp(0.0, 1.0);
        let mut cell = 0;
        while cell + 1 < cells && (cell as f64 + 1.0) / cells as f64 <= share {
            cell += 1;
        }
        cell
    };
    let limit = column(1.0);
    let every = series.points.len().div_ceil(LINES).max(1);
    let mut lines: Vec<(Date, String)> = Vec::new();
    for (n, point) in series.points.iter().enumerate() {
        let next = series.points.get(n + 1).map(|p| p.date);
        let here = |date: Date| date >= point.date && next.is_none_or(|next| date < next);
        let looks: Vec<_> = series.looks.iter().filter(|l| here(l.date)).collect();
        let repaired = series.repairs.iter().any(|(date, _)| here(*date));
        if n % every != 0 && looks.is_empty() && !repaired && !here(series.today) {
            continue;
        }
        let mut row: Vec<char> = vec![' '; cells];
        let mut put = |at: usize, mark: char| {
            if let Some(cell) = row.get_mut(at) {
                *cell = mark;
            }
        };
        for cell in column(point.damage.low)..=column(point.damage.high) {
            put(cell, '-');
        }
        put(limit, '|');
        put(column(point.damage.mid), 'o');
        for look in &looks {
            let middle = if look.to.is_finite() {
                f64::midpoint(look.from, look.to)
            } else {
                look.from
            };
            put(column(middle), char::from(b'0' + look.grade.digit()));
        }
        let mut remark = String::new();
        if here(series.today) {
            remark.push_str(" today");
        }
        if repaired {
            remark.push_str(" repaired");
        }
        let body: String = row.into_iter().collect();
        lines.push((point.date, format!("{body}{remark}")));
    }
    page.line(&format!("{:12}{}", "", scale(cells, limit)));
    for (date, line) in lines {
        page.line(&format!("{date}  {line}"));
    }
    page.paragraph(
        0,
        "Damage to the right: o the median, --- from 10 to 90 %, | the limit, a digit the grade seen on the day or soon after.",
    );
}

fn scale(cells: usize, limit: usize) -> String {
    let mut line = String::from("new");
    while line.len() < limit.min(cells) {
        line.push(' ');
    }
    line.push_str("limit");
    line
}

/// The decline as JSON.
///
/// # Errors
/// As [`super::json`].
pub fn json(subject: &Subject, part: &PartId, checks: &[CheckDecline]) -> Result<String, serde_json::Error> {
    let rows: Vec<serde_json::Value> = checks
        .iter()
        .map(|c| {
            Ok(serde_json::json!({
                "check": c.check.id,
                "name": c.check.name,
                "state": serde_json::to_value(c.state)?,
                "rests_on": c.state.map(|s| words::rests_on(s.rests_on_looks)),
                "series": serde_json::to_value(&c.series)?,
            }))
        })
        .collect::<Result<_, serde_json::Error>>()?;
    super::json(&serde_json::json!({
        "car": subject.car.profile.name,
        "today": subject.assessment.today,
        "part": part,
        "name": words::part(subject.library, part),
        "remark": words::ORDERS_WORK_ONLY,
        "checks": rows,
    }))
}

/// The decline as CSV, a row for each check and date.
#[must_use]
pub fn csv(checks: &[CheckDecline]) -> String {
    let header = [
        "check",
        "date",
        "damage_10",
        "damage_50",
        "damage_90",
        "past_limit",
        "forecast",
    ];
    let mut rows = Vec::new();
    for check in checks {
        let Some(series) = &check.series else { continue };
        for point in &series.points {
            rows.push(vec![
                check.check.id.clone(),
                point.date.to_string(),
                cells::rounded(point.damage.low, 4),
                cells::rounded(point.damage.mid, 4),
                cells::rounded(point.damage.high, 4),
                cells::rounded(point.past_limit, 4),
                if point.date > series.today { "yes" } else { "no" }.to_owned(),
            ]);
        }
    }
    cells::csv(&header, &rows)
}
