//! What limits the Plan: the days that matter, what each limit costs, how long the owner's jobs take.

use ratatui::buffer::Buffer;
use ratatui::layout::Rect;

use super::super::Effect;
use crate::report::words;
use crate::tui::desk::Desk;
use crate::tui::keys::Command;
use crate::tui::widget::para;

/// The list.
#[derive(Debug, Clone, Default)]
pub struct Model {
    asked: bool,
}

impl Model {
    /// Asks again after a change of the car; there is nothing else to do here.
    pub fn update(&mut self, desk: &Desk, _: Command) -> Vec<Effect> {
        self.asked = desk.limits.is_none() && desk.is_current();
        if self.asked { vec![Effect::Limits] } else { Vec::new() }
    }

    /// Draws it.
    pub fn view(&self, desk: &Desk, area: Rect, buf: &mut Buffer) {
        let theme = &desk.theme;
        let (Some(says), Some(car)) = (desk.says(), &desk.car) else {
            return;
        };
        let library = &desk.library;
        let mut dy = para(buf, area, 0, "Days that matter", theme.title());
        if says.plan.targets.is_empty() {
            dy += para(buf, area, dy, "None is set; Car sets them.", theme.dim());
        }
        for target in &says.plan.targets {
            dy += para(buf, area, dy, &words::target(library, target), theme.text());
        }
        if !car.progress.open.is_empty() {
            dy += 1 + para(buf, area, dy + 1, "Stands open", theme.title());
        }
        for job in &car.progress.open {
            dy += para(buf, area, dy, &words::stands_open(library, job), theme.caution());
        }
        dy += 1 + para(buf, area, dy + 1, "What your limits cost", theme.title());
        match &desk.limits {
            None => dy += para(buf, area, dy, "Planning without each of them …", theme.dim()),
            Some(costs) if costs.is_empty() => {
                dy += para(
                    buf,
                    area,
                    dy,
                    "None of them costs one per cent of the exposure.",
                    theme.text(),
                );
            }
            Some(costs) => {
                for cost in costs.iter() {
                    dy += para(buf, area, dy, &words::limit_cost(library, cost), theme.text());
                }
            }
        }
        dy += 1 + para(buf, area, dy + 1, "Hours", theme.title());
        para(buf, area, dy, &words::pace_of_work(&says.plan.pace), theme.text());
    }
}
