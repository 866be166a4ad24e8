//! The decline of one check as a chart: band, median, limit, looks, repairs.

use jiff::civil::{Date, date};
use maud::html;

use super::drawing::at;
use super::model::Drawing;
use crate::engine::clock::days_between;
use crate::engine::history::{DeclinePoint, DeclineSeries};
use crate::engine::{CheckState, Spread};
use crate::report::words;
use crate::rubric::{Check, Library, PartId};
use crate::text;

const SIZE: (f64, f64) = (560.0, 200.0);
/// Where the field begins and ends: left, right, top, bottom.
const FIELD: [f64; 4] = [46.0, 550.0, 10.0, 176.0];

/// Where days and damage fall on the sheet.
struct Scale {
    first: Date,
    days: f64,
    top: f64,
}

impl Scale {
    fn x(&self, day: Date) -> f64 {
        let [left, right, ..] = FIELD;
        left + (right - left) * (days_between(self.first, day) / self.days).clamp(0.0, 1.0)
    }

    fn y(&self, damage: f64) -> f64 {
        let [_, _, top, bottom] = FIELD;
        bottom - (bottom - top) * (damage / self.top).clamp(0.0, 1.0)
    }

    fn point(&self, point: &DeclinePoint, of: fn(&Spread) -> f64) -> String {
        format!("{},{}", at(self.x(point.date)), at(self.y(of(&point.damage))))
    }
}

/// The stretches of a series between repairs: what a repair renews does not go on from before.
fn stretches(series: &DeclineSeries) -> Vec<Vec<&DeclinePoint>> {
    let mut all: Vec<Vec<&DeclinePoint>> = vec![Vec::new()];
    for point in &series.points {
        let broken = all.last().and_then(|s| s.last()).is_some_and(|before| {
            series
                .repairs
                .iter()
                .any(|(day, _)| *day > before.date && *day <= point.date)
        });
        if broken {
            all.push(Vec::new());
        }
        if let Some(stretch) = all.last_mut() {
            stretch.push(point);
        }
    }
    all
}

/// One check's chart.
pub(super) fn decline(
    library: &Library,
    part: &PartId,
    check: &Check,
    state: &CheckState,
    series: &DeclineSeries,
) -> Drawing {
    let days = || {
        let points = series.points.iter().map(|p| p.date);
        points.chain(series.looks.iter().map(|l| l.date)).chain([series.today])
    };
    let first = days().min().unwrap_or(series.today);
    let last = days().max().unwrap_or(series.today);
    let highest = series.points.iter().map(|p| p.damage.high).fold(1.2, f64::max);
    let scale = Scale {
        first,
        days: days_between(first, last).max(1.0),
        top: highest.min(2.0),
    };
    Drawing {
        title: format!(
            "{}: {}",
            words::part(library, part),
            words::small(&text::clean(&check.name))
        ),
        description: format!(
            "Damage from {first} to {last}, 1 is the limit. Today {} ({} to {}). Time to the limit: {}. Past it today with \
             probability {}, at the next survey {}.",
            text::figure(state.damage.mid),
            text::figure(state.damage.low),
            text::figure(state.damage.high),
            words::years_left(&state.years_left),
            text::percent(state.past_limit_now),
            text::percent(state.past_limit_then)
        ),
        lines: lines(library, check, state, series),
        size: SIZE,
        shapes: shapes(&scale, series, last),
    }
}

fn lines(library: &Library, check: &Check, state: &CheckState, series: &DeclineSeries) -> Vec<String> {
    let mut dated: Vec<(Date, String)> = series
        .looks
        .iter()
        .map(|look| (look.date, format!("seen {}", words::seen(&look.seen, Some(check)))))
        .chain(
            series
                .repairs
                .iter()
                .map(|(day, repair)| (*day, words::small(&words::repair(library, repair)))),
        )
        .collect();
    dated.sort_by_key(|(day, _)| *day);
    let mut lines: Vec<String> = dated.into_iter().map(|(day, said)| format!("{day}: {said}")).collect();
    if series.looks.is_empty() {
        lines.push("Nobody has seen it: all of this is the rubric's usual life".to_owned());
    }
    lines.push(format!(
        "Pace {}, resting on {}",
        words::pace(state.grades_per_year),
        words::rests_on(state.rests_on_looks)
    ));
    for years in [1i16, 2, 5] {
        let day = series.today.saturating_add(jiff::Span::new().years(years));
        let near = |p: &&DeclinePoint| days_between(p.date, day).abs();
        let ahead = series.points.iter().filter(|p| p.date >= series.today);
        let point = ahead.min_by(|a, b| near(a).total_cmp(&near(b)));
        if let Some(point) = point.filter(|p| near(p) < 60.0) {
            lines.push(format!(
                "Forecast for {}: damage {} ({} to {}), past the limit with probability {}",
                point.date,
                text::figure(point.damage.mid),
                text::figure(point.damage.low),
                text::figure(point.damage.high),
                text::percent(point.past_limit)
            ));
        }
    }
    lines
}

fn shapes(scale: &Scale, series: &DeclineSeries, last: Date) -> String {
    let [left, right, top, bottom] = FIELD;
    let years: Vec<Date> = (scale.first.year() + 1..=last.year()).map(|y| date(y, 1, 1)).collect();
    let every = years.len().div_ceil(10).max(1);
    let today = at(scale.x(series.today));
    let shapes = html! {
        @for stretch in stretches(series) {
            @let lower = stretch.iter().map(|p| scale.point(p, |s| s.low));
            @let upper = stretch.iter().rev().map(|p| scale.point(p, |s| s.high));
            @let outline = lower.chain(upper).collect::<Vec<_>>().join(" ");
            @let median = stretch.iter().map(|p| scale.point(p, |s| s.mid)).collect::<Vec<_>>().join(" ");
            polygon points=(outline) fill="#cfd8f4" stroke="#7f93d8" stroke-width="0.5" {}
            polyline points=(median) fill="none" stroke="#10208a" stroke-width="1.6" {}
        }
        @for year in years.iter().step_by(every) {
            @let x = at(scale.x(*year));
            line x1=(x) x2=(x) y1=(at(bottom)) y2=(at(bottom + 4.0)) stroke="#000" {}
            text x=(x) y=(at(bottom + 15.0)) text-anchor="middle" font-size="10" { (year.year()) }
        }
        line x1=(at(left)) x2=(at(right)) y1=(at(bottom)) y2=(at(bottom)) stroke="#000" {}
        line x1=(at(left)) x2=(at(left)) y1=(at(top)) y2=(at(bottom)) stroke="#000" {}
        text x=(at(left - 5.0)) y=(at(bottom)) text-anchor="end" font-size="10" { "new" }
        line x1=(at(left)) x2=(at(right)) y1=(at(scale.y(1.0))) y2=(at(scale.y(1.0))) stroke="#000" stroke-dasharray="7 4" {}
        text x=(at(left - 5.0)) y=(at(scale.y(1.0) + 3.0)) text-anchor="end" font-size="10" { "limit" }
        line x1=(today) x2=(today) y1=(at(top)) y2=(at(bottom)) stroke="#000" stroke-width="0.6" {}
        text x=(at(scale.x(series.today) + 3.0)) y=(at(top + 8.0)) font-size="9" { "today" }
        @for (day, _) in &series.repairs {
            @let x = at(scale.x(*day));
            line x1=(x) x2=(x) y1=(at(top)) y2=(at(bottom)) stroke="#000" stroke-dasharray="1.5 2.5" {}
            text x=(at(scale.x(*day) - 3.0)) y=(at(top + 8.0)) text-anchor="end" font-size="9" { "repair" }
        }
        @for look in &series.looks {
            @let x = scale.x(look.date);
            @let middle = scale.y(if look.to.is_finite() { f64::midpoint(look.from, look.to) } else { look.from });
            circle cx=(at(x)) cy=(at(middle)) r="7" fill="#fff" stroke="#000" {}
            text x=(at(x)) y=(at(middle + 3.5)) text-anchor="middle" font-size="10" font-weight="bold" { (look.grade) }
        }
    };
    shapes.into_string()
}
