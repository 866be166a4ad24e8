//! What limits the Plan: the days that matter, what each limit costs, how long the owner's jobs take.

use ratatui::buffer::Buffer;
use ratatui::layout::Rect;
use ratatui::style::Style;

use super::super::Effect;
use crate::report::words;
use crate::text;
use crate::tui::desk::Desk;
use crate::tui::keys::Command;
use crate::tui::widget::{cells, put, put_right, scrolled};

/// The list.
#[derive(Debug, Clone, Default)]
pub struct Model {
    top: usize,
}

impl Model {
    /// Scrolls, and asks again after a change of the car.
    pub fn update(&mut self, desk: &Desk, command: Command) -> Vec<Effect> {
        let lines = lines(desk, usize::from(desk.columns.saturating_sub(2))).len();
        self.top = scrolled(self.top, command, lines, desk.rows);
        if desk.limits.is_none() && desk.is_current() {
            vec![Effect::Limits]
        } else {
            Vec::new()
        }
    }

    /// Draws it.
    pub fn view(&self, desk: &Desk, area: Rect, buf: &mut Buffer) {
        let lines = lines(desk, usize::from(area.width));
        // The last row tells how much there is below, where there is any.
        let whole = lines.len() <= usize::from(area.height);
        let rows = area.height.saturating_sub(u16::from(!whole));
        let from = self.top.min(lines.len().saturating_sub(usize::from(rows)));
        for (dy, (words, style)) in (0..rows).zip(lines.iter().skip(from)) {
            put(buf, area, 0, dy, words, *style);
        }
        let left = lines.len().saturating_sub(from + usize::from(rows));
        if left > 0 {
            put_right(buf, area, rows, &format!("{} more ↓", cells(left)), desk.theme.dim());
        }
    }
}

/// What is said, wrapped to a width.
fn lines(desk: &Desk, width: usize) -> Vec<(String, Style)> {
    let theme = &desk.theme;
    let (Some(says), Some(car)) = (desk.says(), &desk.car) else {
        return Vec::new();
    };
    let library = &desk.library;
    let mut said: Vec<(String, Style)> = Vec::new();
    let mut put = |words: &str, style: Style| {
        let wrapped = text::wrap(&text::clean(words), width);
        said.extend(wrapped.into_iter().map(|line| (line, style)));
    };
    put("Days that matter", theme.title());
    if says.plan.targets.is_empty() {
        put("None is set; Car sets them.", theme.dim());
    }
    for target in &says.plan.targets {
        put(&words::target(library, target), theme.text());
    }
    if !car.progress.open.is_empty() {
        put("", theme.text());
        put("Stands open", theme.title());
    }
    for job in &car.progress.open {
        put(&words::stands_open(library, job), theme.caution());
    }
    put("", theme.text());
    put("What your limits cost", theme.title());
    match &desk.limits {
        None => put("Planning without each of them …", theme.dim()),
        Some(costs) if costs.is_empty() => put("None of them costs one per cent of the exposure.", theme.text()),
        Some(costs) => {
            for cost in costs.iter() {
                put(&words::limit_cost(library, cost), theme.text());
            }
        }
    }
    put("", theme.text());
    put("Hours", theme.title());
    put(&words::pace_of_work(&says.plan.pace), theme.text());
    said
}
