//! Several lines of text being typed: a note.

use ratatui::buffer::Buffer;
use ratatui::layout::{Position, Rect};
use ratatui::style::Style;

use super::{Field, cells, window};
use crate::tui::keys::Key;

/// Lines being typed, one of them with the cursor.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Lines {
    lines: Vec<Field>,
    at: usize,
}

impl Lines {
    /// Lines holding a text, the cursor at its end.
    #[must_use]
    pub fn holding(words: &str) -> Lines {
        let lines: Vec<Field> = words.split('\n').map(Field::holding).collect();
        Lines {
            at: lines.len().saturating_sub(1),
            lines,
        }
    }

    /// What they hold.
    #[must_use]
    pub fn value(&self) -> String {
        let lines: Vec<String> = self.lines.iter().map(Field::value).collect();
        lines.join("\n")
    }

    /// Whether the cursor stands on an empty line at the end.
    #[must_use]
    pub fn ends_empty(&self) -> bool {
        self.at + 1 == self.lines.len() && self.lines.last().is_some_and(Field::is_empty)
    }

    /// Goes up or down a line; says whether there was one.
    pub fn go(&mut self, down: bool) -> bool {
        let to = if down {
            Some(self.at + 1).filter(|n| *n < self.lines.len())
        } else {
            self.at.checked_sub(1)
        };
        self.at = to.unwrap_or(self.at);
        to.is_some()
    }

    /// Breaks the line at the cursor.
    pub fn split(&mut self) {
        if let Some(line) = self.lines.get_mut(self.at) {
            let rest = line.split();
            self.at += 1;
            self.lines.insert(self.at, rest);
        }
    }

    /// Puts in typed or pasted text at the cursor; its line breaks are kept, control characters dropped.
    pub fn insert(&mut self, words: &str) {
        let words = words.replace("\r\n", "\n").replace('\r', "\n");
        for (n, piece) in words.split('\n').enumerate() {
            if n > 0 {
                self.split();
            }
            if let Some(line) = self.lines.get_mut(self.at) {
                line.insert(piece);
            }
        }
    }

    /// Takes a key of an editing field; Backspace and Delete join lines at their ends.
    pub fn take(&mut self, key: Key) {
        let more = self.at + 1 < self.lines.len();
        let Some(line) = self.lines.get_mut(self.at) else {
            return;
        };
        match key {
            Key::Backspace if line.at_start() && self.at > 0 => {
                let rest = self.lines.remove(self.at);
                self.at -= 1;
                if let Some(line) = self.lines.get_mut(self.at) {
                    line.take(Key::End);
                    line.join(rest);
                }
            }
            Key::Delete if line.at_end() && more => {
                let rest = self.lines.remove(self.at + 1);
                if let Some(line) = self.lines.get_mut(self.at) {
                    line.join(rest);
                }
            }
            key => {
                line.take(key);
            }
        }
    }

    /// Draws them and returns where the cursor stands.
    pub fn draw(&self, buf: &mut Buffer, area: Rect, style: Style) -> Option<Position> {
        let mut cursor = None;
        for (dy, n) in (0..area.height).zip(window(self.at, self.lines.len(), area.height)) {
            let Some(line) = self.lines.get(n) else { continue };
            let place = line.draw(buf, area, 0, dy, style);
            cursor = if n == self.at { place } else { cursor };
        }
        cursor
    }

    /// How many rows they take.
    #[must_use]
    pub fn rows(&self) -> u16 {
        cells(self.lines.len())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn lines_are_broken_and_joined_where_the_cursor_stands() {
        let mut note = Lines::holding("ball joint\nnew boot");
        note.take(Key::Home);
        note.take(Key::Backspace);
        assert_eq!(note.value(), "ball jointnew boot");
        note.split();
        assert_eq!(note.value(), "ball joint\nnew boot");
        assert!(note.go(false) && !note.go(false));
        note.take(Key::End);
        note.take(Key::Delete);
        assert_eq!(note.value(), "ball jointnew boot");
        note.insert("; \u{1b}[2Jdry\r\n");
        assert_eq!(note.value(), "ball joint; [2Jdry\nnew boot");
    }
}
