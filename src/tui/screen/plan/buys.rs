//! The parts to buy for the visits of the Plan; a key takes each from to buy to ordered to in hand.

use ratatui::buffer::Buffer;
use ratatui::layout::Rect;

use super::super::sieve::{self, Sieve};
use super::super::{Effect, Then};
use crate::car::{Buying, Change, Purchase};
use crate::engine::plan::{Plan, ToBuy, Visit};
use crate::report::words;
use crate::text;
use crate::tui::desk::Desk;
use crate::tui::keys::Command;
use crate::tui::widget::{para, put, put_right, step, tint, window};

/// The list.
#[derive(Debug, Clone, Default)]
pub struct Model {
    selected: usize,
    sieve: Sieve,
}

fn all<'p>(desk: &Desk, plan: &'p Plan, sieve: &Sieve) -> Vec<(&'p Visit, &'p ToBuy)> {
    let visits = plan.visits.iter();
    visits
        .flat_map(|v| v.parts.iter().map(move |bought| (v, bought)))
        .filter(|(_, bought)| sieve.passes(desk, &bought.part))
        .collect()
}

impl Model {
    /// Does what is asked.
    pub fn update(&mut self, desk: &Desk, command: Command) -> Vec<Effect> {
        let (Some(says), Some(car)) = (desk.says(), &desk.car) else {
            return Vec::new();
        };
        let all = all(desk, &says.plan, &self.sieve);
        self.selected = step(self.selected, command.by(8).unwrap_or(0), all.len());
        if self.sieve.update(desk, command) {
            self.selected = 0;
        }
        if command == Command::Search {
            let lines = all.iter().map(|(visit, bought)| {
                let part = words::small(&words::part(&desk.library, &bought.part));
                (format!("{}, {part}", text::clean(&bought.name)), visit.date.to_string())
            });
            return sieve::search(lines.collect(), self.selected);
        }
        if command != Command::Cycle {
            return Vec::new();
        }
        let Some((_, bought)) = all.get(self.selected) else {
            return vec![Effect::Say("There is nothing to buy.".to_owned())];
        };
        // What the list shows may be older than what was said last; the car knows.
        let known = car.progress.purchase(&bought.part, &bought.repair, &bought.name);
        let purchase = known
            .cloned()
            .unwrap_or_else(|| Purchase::new(bought.part.clone(), &bought.repair, &bought.name));
        let days = jiff::Span::new().days(i64::from(bought.lead_days));
        let next = match purchase.status {
            Buying::ToBuy => Buying::Ordered {
                expected: desk.today.saturating_add(days),
            },
            Buying::Ordered { .. } => Buying::InHand,
            Buying::InHand => Buying::ToBuy,
        };
        let said = format!("{}: {}.", text::clean(&bought.name), words::buying(next));
        let usual = f64::from(bought.count) * bought.cost;
        vec![Effect::Record {
            changes: vec![Change::Buy(purchase.now_is(next, desk.today, usual))],
            then: Then::Say(said),
        }]
    }

    /// A line of the list was chosen.
    pub fn go_to(&mut self, line: usize) {
        self.selected = line;
    }

    /// Lets everything pass; says whether something was held back.
    pub fn clear_sieve(&mut self) -> bool {
        self.sieve.clear()
    }

    /// Draws it.
    pub fn view(&self, desk: &Desk, area: Rect, buf: &mut Buffer) {
        let theme = &desk.theme;
        let (Some(says), Some(car)) = (desk.says(), &desk.car) else {
            return;
        };
        let all = all(desk, &says.plan, &self.sieve);
        if all.is_empty() {
            para(
                buf,
                area,
                0,
                if self.sieve.words().is_some() {
                    "Nothing to buy passes the filter: f, e and t change it, Esc shows all."
                } else {
                    "No planned repair needs anything that is bought."
                },
                theme.text(),
            );
            return;
        }
        let selected = step(self.selected, 0, all.len());
        let due: f64 = all.iter().map(|(_, b)| b.to_pay()).sum();
        let line = format!("Still to pay for parts: {}.", words::money(&car.profile, due));
        let top = para(buf, area, 0, &line, theme.text());
        let only = self.sieve.words().unwrap_or_default();
        // On a narrow screen the price gives way to what is bought.
        let narrow = area.width < 56;
        let (price_at, what_at) = if narrow { (area.width, 11) } else { (14, 24) };
        let what = if narrow {
            "What, status"
        } else {
            "What, for what, status"
        };
        let visit = if narrow { "Visit" } else { "For the visit" };
        for (dx, name) in [(0, visit), (price_at, "Price"), (what_at, what)] {
            put(buf, area, dx, top, name, theme.dim());
        }
        put_right(buf, area, top, &only, theme.accent());
        let rows = area.height.saturating_sub(top + 1);
        for (n, slot) in window(selected, all.len(), rows).zip(top + 1..) {
            let Some((visit, bought)) = all.get(n) else { continue };
            put(buf, area, 0, slot, &visit.date.to_string(), theme.text());
            let price = words::money(&car.profile, f64::from(bought.count) * bought.cost);
            put(buf, area, price_at, slot, &price, theme.text());
            let known = car.progress.purchase(&bought.part, &bought.repair, &bought.name);
            let status = if known.map_or(Buying::ToBuy, |p| p.status) == bought.status {
                words::to_get(bought)
            } else {
                words::buying(known.map_or(Buying::ToBuy, |p| p.status))
            };
            let mut line = format!("{} × {}", bought.count, text::clean(&bought.name));
            if !narrow {
                line.push_str(&format!(
                    ", {}",
                    words::small(&words::part(&desk.library, &bought.part))
                ));
            }
            // The status is never cut for the sake of the name; on a narrow screen it is said in short.
            let short = status.split(',').next().unwrap_or_default().to_owned();
            let status = if narrow { short } else { status };
            let status = format!(" – {status}");
            let room = usize::from(area.width.saturating_sub(what_at)).saturating_sub(text::width(&status));
            let line = format!("{}{status}", text::shorten(&line, room.max(8)));
            let style = if bought.overdue { theme.caution() } else { theme.text() };
            put(buf, area, what_at, slot, &line, style);
            if n == selected {
                tint(buf, area, slot, theme.selected());
            }
        }
    }
}
