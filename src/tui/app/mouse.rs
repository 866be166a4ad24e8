//! The mouse, once it was asked for: it presses keys. A click on the title or the key bar presses the key shown there; one on
//! a line of a list moves the selection there, and on the selected line opens it; the wheel moves the selection.

use ratatui::buffer::Buffer;
use ratatui::layout::Rect;
use ratatui::style::Modifier;

use super::App;
use crate::text;
use crate::tui::keys::{Binding, Command, Key, lookup};
use crate::tui::screen::{Effect, Over};
use crate::tui::widget::cells;

/// Lines that one turn of the wheel moves.
const TURN: usize = 3;

/// What is said when the mouse was taken or given back.
pub fn said(taken: bool) -> &'static str {
    if taken {
        "The mouse is taken: click selects, click again opens, the wheel moves. M gives it back for copying."
    } else {
        "The mouse is the terminal's again; M takes it."
    }
}

impl App {
    /// The wheel was turned.
    pub(super) fn wheel(&mut self, down: bool) -> Vec<Effect> {
        let key = if down { Key::Down } else { Key::Up };
        let moves = matches!(lookup(&self.places(), key), Some(Command::Up | Command::Down));
        let turn = if moves { TURN } else { 0 };
        (0..turn).flat_map(|_| self.key(key)).collect()
    }

    /// The left button was pressed.
    pub(super) fn click(&mut self, x: u16, y: u16) -> Vec<Effect> {
        if super::frame::too_small(self.size) {
            return Vec::new();
        }
        if y + 1 == self.size.1 {
            let laid = self.bar_laid(self.size.0);
            let wide = |b: &Binding| cells(text::width(b.shown) + 1 + text::width(b.short));
            let hit = laid
                .iter()
                .find(|(from, b)| (*from..from.saturating_add(wide(b))).contains(&x));
            // A grade is one of six keys; a click on their name means none of them.
            let one = hit.filter(|(_, b)| !matches!(b.command, Command::Grade(_)));
            return match one.and_then(|(_, b)| b.keys.first()) {
                Some(key) => self.key(*key),
                None => Vec::new(),
            };
        }
        if y == 0 && self.over.is_empty() {
            let tab = self.desk.car.as_ref().and_then(|_| self.tab_at(x));
            // Where something is asked the letters are answers.
            let goes = |key: &char| matches!(lookup(&self.places(), Key::Char(*key)), Some(Command::Go(_)));
            return tab.filter(goes).map_or_else(Vec::new, |key| self.key(Key::Char(key)));
        }
        // In a form or a question a line is no choice.
        if !matches!(self.over.last(), None | Some(Over::Pick(_) | Over::Files(_))) {
            return Vec::new();
        }
        self.click_line(x, y)
    }

    /// The state as it is drawn now.
    fn drawn(&self) -> Buffer {
        let area = Rect::new(0, 0, self.size.0, self.size.1);
        let mut buf = Buffer::empty(area);
        let _ = self.view(area, &mut buf);
        buf
    }

    /// Moves the selection to the line drawn in a row, by the keys that move it; opens it if it is selected already.
    fn click_line(&mut self, x: u16, y: u16) -> Vec<Effect> {
        let before = self.drawn();
        let Some(selected) = selected_row(&before, x) else {
            return Vec::new();
        };
        if selected == y {
            return self.key(Key::Enter);
        }
        let (key, most) = if y > selected {
            (Key::Down, y - selected)
        } else {
            (Key::Up, selected - y)
        };
        if !matches!(lookup(&self.places(), key), Some(Command::Up | Command::Down)) {
            return Vec::new();
        }
        let target = line_at(&before, x, y);
        let mut effects = Vec::new();
        for _ in 0..most {
            effects.extend(self.key(key));
            let now = self.drawn();
            if selected_row(&now, x).is_some_and(|row| line_at(&now, x, row) == target) {
                break;
            }
        }
        effects
    }
}

/// The row whose cell in a column is drawn as selected, below the title and above the key bar.
fn selected_row(buf: &Buffer, x: u16) -> Option<u16> {
    // Headings of lists are drawn so too, above the list: the lowest row is the line.
    (1..buf.area.height.saturating_sub(2)).rfind(|y| {
        buf.cell((x, *y))
            .is_some_and(|c| c.modifier.contains(Modifier::REVERSED))
    })
}

/// The words of a line around a column, without the mark of a selection.
fn line_at(buf: &Buffer, x: u16, y: u16) -> String {
    let from = x.saturating_sub(20);
    (from..x.saturating_add(20).min(buf.area.width))
        .filter_map(|x| buf.cell((x, y)))
        .map(|cell| cell.symbol().replace('›', " "))
        .collect()
}
