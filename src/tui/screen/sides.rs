//! Sides: left against right, for every part that has a twin.

use ratatui::buffer::Buffer;
use ratatui::layout::Rect;

use super::Effect;
use super::sieve::{self, Sieve};
use crate::engine::sides::{SideDifference, SidePair};
use crate::report::words;
use crate::rubric::{PartId, Side};
use crate::text;
use crate::tui::desk::Desk;
use crate::tui::keys::{Command, Place};
use crate::tui::widget::{bar, is_low, para, part_in, put, put_right, rule, step, tint, window};

/// Sides.
#[derive(Debug, Clone, Default)]
pub struct Model {
    selected: usize,
    unlike_only: bool,
    sieve: Sieve,
}

impl Model {
    /// The places whose keys hold.
    #[must_use]
    pub fn places(&self) -> Vec<Place> {
        vec![Place::Sides, Place::Sieve, Place::List, Place::OfCar, Place::Everywhere]
    }

    fn pairs<'d>(&self, desk: &'d Desk) -> Vec<&'d SidePair> {
        let all = desk.says().map(|s| s.sides.as_slice()).unwrap_or_default();
        let mut pairs: Vec<&SidePair> = all
            .iter()
            .filter(|p| !self.unlike_only || !p.differences.is_empty())
            // A pair has both sides: asked for one, those are shown of which that side comes first.
            .filter(|p| self.sieve.side.is_none() || p.first == self.sieve.side)
            .filter(|p| self.sieve.passes_but_side(desk, &p.left))
            .collect();
        let weight = |p: &SidePair| p.left_points.max(p.right_points);
        pairs.sort_by(|a, b| weight(b).total_cmp(&weight(a)));
        pairs
    }

    /// Does what is asked.
    pub fn update(&mut self, desk: &Desk, command: Command) -> Vec<Effect> {
        let pairs = self.pairs(desk);
        self.selected = step(self.selected, 0, pairs.len());
        if let Some(by) = command.by(8) {
            self.selected = step(self.selected, by, pairs.len());
            return Vec::new();
        }
        match command {
            Command::OtherPane => {
                self.unlike_only = !self.unlike_only;
                self.selected = 0;
            }
            Command::Search => {
                let line = |p: &&SidePair| {
                    (
                        component(desk, &p.left),
                        words::points(p.left_points.max(p.right_points)),
                    )
                };
                return sieve::search(pairs.iter().map(line).collect(), self.selected);
            }
            _ if self.sieve.update(desk, command) => self.selected = 0,
            Command::Open => {
                if let Some(pair) = pairs.get(self.selected) {
                    let part = if pair.first == Some(Side::Right) {
                        &pair.right
                    } else {
                        &pair.left
                    };
                    return vec![Effect::ShowDecline(part.clone(), None)];
                }
            }
            _ => {}
        }
        Vec::new()
    }

    /// A line of the list was chosen.
    pub fn go_to(&mut self, line: usize) {
        self.selected = line;
    }

    /// Lets every pair pass; says whether some were held back.
    pub fn clear_sieve(&mut self) -> bool {
        self.sieve.clear()
    }

    /// Draws it.
    pub fn view(&self, desk: &Desk, area: Rect, buf: &mut Buffer) {
        let theme = &desk.theme;
        let pairs = self.pairs(desk);
        let heading = if self.unlike_only {
            " Only pairs that differ "
        } else {
            " All pairs, largest exposure first "
        };
        put(buf, area, 1, 0, heading, theme.dim());
        if let Some(only) = self.sieve.words() {
            let only = self
                .sieve
                .side
                .map_or(only.clone(), |s| format!("{only}: the {} comes first", s.word()));
            put_right(buf, area, 0, &format!("{only} "), theme.accent());
        }
        if pairs.is_empty() {
            let words = if self.sieve.words().is_some() {
                "No pair passes the filter: f, e and t change it, Esc shows all."
            } else if self.unlike_only {
                "No pair differs by a grade or by 30 % of the loss. Two equally bad sides are still bad: v shows all pairs."
            } else {
                "This car has no part with a twin on the other side yet."
            };
            para(
                buf,
                Rect::new(area.x + 1, area.y, area.width.saturating_sub(2), area.height),
                2,
                words,
                theme.text(),
            );
            return;
        }
        let below = if is_low(area) {
            0
        } else {
            (area.height / 3).clamp(6, 12)
        };
        let rows = area.height.saturating_sub(below + 2);
        let selected = step(self.selected, 0, pairs.len());
        let middle = area.width / 2 + 2;
        // On a narrow screen the figures need the room.
        let bar_wide = if area.width < 50 {
            3
        } else {
            (area.width / 7).clamp(6, 20)
        };
        let most = pairs
            .iter()
            .map(|p| p.left_points.max(p.right_points))
            .fold(0.0, f64::max);
        put(buf, area, middle.saturating_sub(4), 1, "left", theme.title());
        put(buf, area, middle + 9, 1, "right", theme.title());
        for (dy, n) in (2..2 + rows).zip(window(selected, pairs.len(), rows)) {
            let Some(pair) = pairs.get(n) else { continue };
            let mut both = pair.left.clone();
            both.station.side = None;
            let name = part_in(&desk.library, &both, middle.saturating_sub(bar_wide + 10));
            put(buf, area, 1, dy, &name, theme.text());
            let share = |points: f64| if most > 0.0 { points / most } else { 0.0 };
            let figure = format!("{:>5}", words::points(pair.left_points));
            put(
                buf,
                area,
                middle.saturating_sub(bar_wide + 8),
                dy,
                &figure,
                theme.text(),
            );
            let right = words::points(pair.right_points);
            put(buf, area, middle + 10 + bar_wide, dy, &right, theme.text());
            let both = if pair.both_bad { "both" } else { "" };
            put(buf, area, middle + 17 + bar_wide, dy, both, theme.title());
            if n == selected {
                tint(buf, area, dy, theme.selected());
            }
            // The left bar grows leftwards from the middle, the right one rightwards; both keep their shade when selected.
            let left = bar::text(share(pair.left_points), bar_wide);
            let solid: String = left.chars().map(|c| if c == '█' { '█' } else { '▐' }).rev().collect();
            let taken = u16::try_from(text::width(&solid)).unwrap_or(0);
            put(buf, area, middle.saturating_sub(taken), dy, &solid, theme.bar());
            put(
                buf,
                area,
                middle + 9,
                dy,
                &bar::text(share(pair.right_points), bar_wide),
                theme.bar(),
            );
            for (side, id, x) in [(0, &pair.left, middle), (1, &pair.right, middle + 4)] {
                let seen = if side == 0 { pair.seen.0 } else { pair.seen.1 };
                match desk.part(id).and_then(|p| p.worst.as_ref()) {
                    Some(worst) => put(
                        buf,
                        area,
                        x + 1,
                        dy,
                        &format!(" {} ", worst.grade),
                        theme.grade(worst.grade),
                    ),
                    None => put(buf, area, x + 1, dy, if seen { "   " } else { " ? " }, theme.dim()),
                };
            }
        }
        let top = 2 + rows;
        if below == 0 {
            return;
        }
        rule(buf, area, top, "", theme.rule(), theme.title());
        let detail = Rect::new(
            area.x + 1,
            area.y + top + 1,
            area.width.saturating_sub(2),
            below.saturating_sub(1),
        );
        if let Some(pair) = pairs.get(selected) {
            draw_pair(desk, pair, detail.intersection(area), buf);
        }
    }
}

/// A part's component and place, without its side.
fn component(desk: &Desk, id: &PartId) -> String {
    let mut id = id.clone();
    id.station.side = None;
    words::part(&desk.library, &id)
}

fn draw_pair(desk: &Desk, pair: &SidePair, area: Rect, buf: &mut Buffer) {
    let theme = &desk.theme;
    let mut dy = para(buf, area, 0, &component(desk, &pair.left), theme.title());
    let first = match pair.first {
        Some(_) => format!(
            "Which first: {} ({}).",
            words::sides_sure(pair.first, pair.sure),
            text::percent(pair.sure)
        ),
        None => "Which first: no telling.".to_owned(),
    };
    dy += para(buf, area, dy, &first, theme.text());
    let unseen = match pair.seen {
        (false, false) => "Neither side has been seen: look first.",
        (false, true) => "The left has not been seen: look at it before judging by the right.",
        (true, false) => "The right has not been seen: look at it before judging by the left.",
        (true, true) => "",
    };
    if !unseen.is_empty() {
        dy += para(buf, area, dy, unseen, theme.caution());
    }
    if pair.both_bad {
        dy += para(
            buf,
            area,
            dy,
            "Both sides are bad: each is in the plan for itself.",
            theme.caution(),
        );
    }
    for difference in &pair.differences {
        dy += para(buf, area, dy, &differs(desk, &pair.left, difference), theme.text());
    }
}

fn differs(desk: &Desk, part: &PartId, difference: &SideDifference) -> String {
    let check = words::check(&desk.library, &part.component, &difference.check);
    let loss = difference
        .loss
        .map_or(String::new(), |l| format!(", {} of the loss apart", text::percent(l)));
    format!(
        "{check}: left {}, right {}{loss} – the {} is worse; look for the cause.",
        difference.left,
        difference.right,
        difference.worse.word()
    )
}
