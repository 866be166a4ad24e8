//! How Decline looks.

use jiff::civil::Date;
use ratatui::buffer::Buffer;
use ratatui::layout::Rect;

use super::Model;
use crate::engine::CheckState;
use crate::engine::history::{DeclinePoint, DeclineSeries};
use crate::report::words;
use crate::rubric::Check;
use crate::text;
use crate::tui::desk::Desk;
use crate::tui::widget::chart::Chart;
use crate::tui::widget::{is_low, para, part_heading, put, put_right_of};

/// Columns kept for the labels of the damage axis.
const AXIS: u16 = 7;

impl Model {
    /// Draws it.
    pub fn view(&self, desk: &Desk, area: Rect, buf: &mut Buffer) {
        let theme = &desk.theme;
        if desk.says().is_none() {
            return;
        }
        let (Some(part), Some(id)) = (&self.part, &self.check) else {
            put(
                buf,
                area,
                1,
                1,
                "There is nothing to show yet: r begins the Round.",
                theme.text(),
            );
            return;
        };
        let check = desk.library.check(&part.component, id);
        let name = check.map_or(id.as_str(), |c| c.name.as_str());
        let checks = desk.part(part).map_or(0, |p| p.checks.len());
        let number = desk
            .part(part)
            .and_then(|p| p.checks.iter().position(|c| c.check == *id))
            .map_or(0, |n| n + 1);
        let rights = [
            format!("check {number} of {checks} ‹ ›  {} years", self.years),
            format!("{number} of {checks}, {} years", self.years),
            format!("{number} of {checks}"),
        ];
        let rights = rights.each_ref().map(String::as_str);
        let heading = Rect::new(area.x + 1, area.y, area.width.saturating_sub(2), area.height).intersection(area);
        part_heading(buf, heading, 0, (&desk.library, part, name), &rights, theme);

        let wide = area.width >= 110;
        let numbers_wide = if wide { 46 } else { 0 };
        let numbers_high: u16 = match () {
            () if wide => 0,
            () if is_low(area) => 2,
            () => 9.min(area.height / 2),
        };
        let plot = Rect::new(
            area.x,
            area.y + 1,
            area.width.saturating_sub(numbers_wide),
            area.height.saturating_sub(numbers_high + 1),
        )
        .intersection(area);
        let numbers = if wide {
            Rect::new(plot.right() + 1, plot.y, numbers_wide - 2, plot.height)
        } else {
            Rect::new(area.x + 1, plot.bottom(), area.width.saturating_sub(2), numbers_high)
        }
        .intersection(area);
        match desk.series_of(part, id, self.years) {
            Some(found) => match &found.series {
                Some(series) if !series.points.is_empty() => draw_chart(desk, series, plot, buf),
                _ => {
                    put(
                        buf,
                        plot,
                        1,
                        1,
                        "The engine has no forecast for this check.",
                        theme.text(),
                    );
                }
            },
            None => {
                put(buf, plot, 1, 1, "reckoning…", theme.dim());
            }
        }
        if let Some(state) = desk.check_state(part, id) {
            let series = desk.series_of(part, id, self.years).and_then(|s| s.series.as_ref());
            draw_numbers(desk, check, state, series, numbers, buf);
        }
    }
}

/// A curve of the chart.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Curve {
    Low,
    High,
    Median,
}

impl Curve {
    fn of(self, point: &DeclinePoint) -> f64 {
        match self {
            Curve::Low => point.damage.low,
            Curve::High => point.damage.high,
            Curve::Median => point.damage.mid,
        }
    }
}

/// A date's place between two others, 0 to 1.
fn place(date: Date, from: Date, to: Date) -> f64 {
    let days = |a: Date, b: Date| f64::from((b - a).get_days());
    let all = days(from, to);
    if all <= 0.0 { 0.0 } else { days(from, date) / all }
}

/// Draws the curves, the limit, the looks and the repairs.
fn draw_chart(desk: &Desk, series: &DeclineSeries, area: Rect, buf: &mut Buffer) {
    let theme = &desk.theme;
    if area.width <= AXIS + 10 || area.height < 5 {
        return;
    }
    let (Some(from), Some(to)) = (
        series.points.first().map(|p| p.date),
        series.points.last().map(|p| p.date),
    ) else {
        return;
    };
    let highest = series.points.iter().map(|p| p.damage.high).fold(1.2, f64::max).min(2.0);
    let plot = Rect::new(area.x + AXIS, area.y, area.width - AXIS - 1, area.height - 2);
    let up = |damage: f64| damage / highest;
    // Grades stand at the middle of their bands, the limit at 1.
    for (level, label) in [(0.0, "new"), (1.0, "limit")] {
        let dy = f64::from(plot.height - 1) * (1.0 - up(level));
        put(buf, area, 0, rows(dy), &format!("{label:>6}"), theme.dim());
    }
    let mut chart = Chart::new(buf, plot, theme.ascii);
    chart.level(up(1.0), theme.title());
    chart.upright(place(series.today, from, to), theme.dim());
    // The median comes last, so that it stays whole where the curves meet.
    for curve in [Curve::Low, Curve::High, Curve::Median] {
        let points: Vec<(f64, f64)> = series
            .points
            .iter()
            .map(|p| (place(p.date, from, to), up(curve.of(p).min(highest))))
            .collect();
        let (every, style) = if curve == Curve::Median {
            (1, theme.bar())
        } else {
            (2, theme.uncertain())
        };
        chart.curve(&points, every, style);
    }
    for (date, _) in &series.repairs {
        let x = place(*date, from, to);
        chart.upright(x, theme.accent());
        chart.mark(x, 0.0, "R", theme.accent());
    }
    for look in &series.looks {
        let digit = look.grade.to_string();
        let middle = if look.to > look.from {
            (look.from + look.to.min(1.3)) / 2.0
        } else {
            look.from
        };
        chart.mark(
            place(look.date, from, to),
            up(middle.min(highest)),
            &digit,
            theme.grade(look.grade),
        );
    }
    draw_dates(desk, series, (from, to), area, plot, buf);
}

fn draw_dates(desk: &Desk, series: &DeclineSeries, span: (Date, Date), area: Rect, plot: Rect, buf: &mut Buffer) {
    let theme = &desk.theme;
    let dy = area.height - 2;
    let put_at = |buf: &mut Buffer, date: Date, words: &str| {
        let wanted = place(date, span.0, span.1) * f64::from(plot.width.saturating_sub(1));
        let half = u16::try_from(text::width(words) / 2).unwrap_or(0);
        let dx = (AXIS + rows(wanted))
            .saturating_sub(half)
            .min(area.width.saturating_sub(2 * half + 1));
        put(buf, area, dx, dy, words, theme.dim());
        dx
    };
    let years = i32::from(span.1.year()) - i32::from(span.0.year());
    let room = i32::from(plot.width) / 6;
    let step = (years / room.max(1) + 1).max(1);
    for n in (1..=years).step_by(usize::try_from(step).unwrap_or(1)) {
        let year = i16::try_from(i32::from(span.0.year()) + n).unwrap_or(i16::MAX);
        if let Ok(date) = Date::new(year, 1, 1)
            && date <= span.1
        {
            put_at(buf, date, &year.to_string());
        }
    }
    let today = place(series.today, span.0, span.1) * f64::from(plot.width.saturating_sub(1));
    put(buf, area, AXIS + rows(today) + 1, 0, "today", theme.dim());
    let legends = [
        "line median, dots 10–90 %, digits looks, R repair ",
        "line median, dots 10–90 %, R repair ",
    ];
    put_right_of(buf, area, dy + 1, 0, &legends, theme.dim());
}

/// A whole number of rows or columns from a float, by counting.
fn rows(value: f64) -> u16 {
    (0..u16::MAX)
        .take_while(|n| f64::from(*n) + 0.5 < value)
        .last()
        .map_or(0, |n| n + 1)
}

fn draw_numbers(
    desk: &Desk,
    check: Option<&Check>,
    state: &CheckState,
    series: Option<&DeclineSeries>,
    area: Rect,
    buf: &mut Buffer,
) {
    let theme = &desk.theme;
    let mut dy = 0;
    if let Some(last) = &state.last {
        let line = format!("Last seen {}: {}", last.date, words::seen(&last.seen, check));
        dy += para(buf, area, dy, &line, theme.text());
    } else {
        dy += para(
            buf,
            area,
            dy,
            "Never seen since it was new: the rubric alone speaks.",
            theme.text(),
        );
    }
    if area.height <= 2 {
        // Of all that could be said, what matters in one line.
        let line = format!(
            "Limit in {}; past it today {}",
            text::years(state.years_left.mid),
            text::percent(state.past_limit_now)
        );
        put(buf, area, 0, dy, &line, theme.text());
        return;
    }
    let mut x = 0;
    if area.width >= 62 {
        x = put(buf, area, 0, dy, "Grade today ", theme.text());
    } else {
        dy += para(buf, area, dy, "Grade today", theme.text());
    }
    for (grade, p) in crate::units::Grade::ALL.into_iter().zip(state.grades) {
        if x + 8 > area.width {
            (x, dy) = (0, dy + 1);
        }
        x += put(buf, area, x, dy, &format!(" {grade} "), theme.grade(grade));
        x += put(buf, area, x, dy, &format!("{:<5}", text::percent(p)), theme.text()).min(4);
    }
    dy += 1;
    let pace = format!(
        "Pace {}; past its limit today {}, at the next survey {}",
        words::pace(state.grades_per_year),
        text::percent(state.past_limit_now),
        text::percent(state.past_limit_then)
    );
    dy += para(buf, area, dy, &pace, theme.text());
    dy += para(
        buf,
        area,
        dy,
        &format!("Time until the limit {}", words::years_left(&state.years_left)),
        theme.text(),
    );
    let rests = format!(
        "Rests on {}; has quickened with probability {}",
        words::rests_on(state.rests_on_looks),
        text::percent(state.quickened)
    );
    dy += para(buf, area, dy, &rests, theme.dim());
    if let Some(change) = &state.change {
        dy += para(buf, area, dy, &words::change(change), theme.text());
    }
    for flag in &state.flags {
        dy += para(buf, area, dy, &words::large(words::flag(*flag)), theme.caution());
    }
    if let Some(uneven) = state.uneven.filter(|u| *u >= 0.2) {
        let line = format!(
            "Worn unevenly: its points are {} of the loss apart; look for the cause.",
            text::percent(uneven)
        );
        dy += para(buf, area, dy, &line, theme.caution());
    }
    if let Some(series) = series {
        dy += 1;
        dy += draw_table(desk, series, area, dy, buf);
        for (date, repair) in &series.repairs {
            dy += para(
                buf,
                area,
                dy,
                &format!("R {date}  {}", words::repair(&desk.library, repair)),
                theme.text(),
            );
        }
    }
}

/// The forecast as numbers: some dates from today on.
fn draw_table(desk: &Desk, series: &DeclineSeries, area: Rect, dy: u16, buf: &mut Buffer) -> u16 {
    let theme = &desk.theme;
    let ahead: Vec<&DeclinePoint> = series.points.iter().filter(|p| p.date >= series.today).collect();
    let rows = usize::from(area.height.saturating_sub(dy + 1)).min(8);
    if rows == 0 || ahead.is_empty() {
        return 0;
    }
    put(
        buf,
        area,
        0,
        dy,
        "            damage  10–90 %       past limit",
        theme.dim(),
    );
    let every = (ahead.len() / rows).max(1);
    let mut taken = 1;
    for point in ahead.iter().step_by(every).take(rows) {
        let line = format!(
            "{}  {:>5.2}  {:>5.2}–{:<5.2}   {:>6}",
            point.date,
            point.damage.mid,
            point.damage.low,
            point.damage.high,
            text::percent(point.past_limit)
        );
        put(buf, area, 0, dy + taken, &line, theme.text());
        taken += 1;
    }
    taken
}
