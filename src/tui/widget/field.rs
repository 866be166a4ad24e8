//! A single line of text being typed.

use ratatui::buffer::Buffer;
use ratatui::layout::{Position, Rect};
use ratatui::style::Style;
use unicode_segmentation::UnicodeSegmentation;

use super::{cells, put};
use crate::text;
use crate::tui::keys::Key;

/// A line being typed, with its cursor between two of its characters as a person sees them.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Field {
    before: Vec<String>,
    after: Vec<String>,
}

impl Field {
    /// A field holding a text, the cursor at its end.
    #[must_use]
    pub fn holding(words: &str) -> Field {
        let mut field = Field::default();
        field.insert(words);
        field
    }

    /// What it holds.
    #[must_use]
    pub fn value(&self) -> String {
        self.before
            .iter()
            .chain(self.after.iter().rev())
            .map(String::as_str)
            .collect()
    }

    /// Whether it holds nothing.
    #[must_use]
    pub fn is_empty(&self) -> bool {
        self.before.is_empty() && self.after.is_empty()
    }

    /// Whether the cursor stands before everything.
    #[must_use]
    pub fn at_start(&self) -> bool {
        self.before.is_empty()
    }

    /// Whether the cursor stands behind everything.
    #[must_use]
    pub fn at_end(&self) -> bool {
        self.after.is_empty()
    }

    /// Cuts it at the cursor; what stood behind it is returned, the cursor before it.
    #[must_use]
    pub fn split(&mut self) -> Field {
        Field {
            before: Vec::new(),
            after: std::mem::take(&mut self.after),
        }
    }

    /// Puts another field behind everything; the cursor stays.
    pub fn join(&mut self, other: Field) {
        let mut after: Vec<String> = other.after;
        after.extend(other.before.into_iter().rev());
        after.append(&mut self.after);
        self.after = after;
    }

    /// Empties it.
    pub fn clear(&mut self) {
        *self = Field::default();
    }

    /// Puts in typed or pasted text at the cursor: line breaks and tabs become spaces, control characters are dropped.
    pub fn insert(&mut self, words: &str) {
        let words: String = words
            .replace("\r\n", " ")
            .chars()
            .map(|c| if matches!(c, '\n' | '\r' | '\t') { ' ' } else { c })
            .filter(|c| !c.is_control() && !text::clean(&c.to_string()).contains('␦'))
            .collect();
        // A combining mark joins the character before it, so the clusters are taken anew.
        let joined: String = self.before.concat() + &words;
        self.before = joined.graphemes(true).map(str::to_owned).collect();
    }

    /// Takes a key; says whether it was one of an editing field.
    pub fn take(&mut self, key: Key) -> bool {
        match key {
            Key::Char(c) => self.insert(&c.to_string()),
            Key::Backspace => {
                self.before.pop();
            }
            Key::Delete => {
                self.after.pop();
            }
            Key::Left => {
                if let Some(cluster) = self.before.pop() {
                    self.after.push(cluster);
                }
            }
            Key::Right => {
                if let Some(cluster) = self.after.pop() {
                    self.before.push(cluster);
                }
            }
            Key::Home | Key::Ctrl('a') => {
                self.after.extend(self.before.drain(..).rev());
            }
            Key::End | Key::Ctrl('e') => {
                self.before.extend(self.after.drain(..).rev());
            }
            Key::Ctrl('u') => self.before.clear(),
            Key::Ctrl('w') => {
                while self.before.last().is_some_and(|c| c.trim().is_empty()) {
                    self.before.pop();
                }
                while self.before.last().is_some_and(|c| !c.trim().is_empty()) {
                    self.before.pop();
                }
            }
            _ => return false,
        }
        true
    }

    /// Draws it in one row and returns where the cursor stands.
    pub fn draw(&self, buf: &mut Buffer, area: Rect, dx: u16, dy: u16, style: Style) -> Option<Position> {
        if dx >= area.width || dy >= area.height {
            return None;
        }
        let room = usize::from(area.width - dx);
        // Scrolled so that the cursor's cell is always inside.
        let mut start = self.before.len();
        let mut wide = 1;
        for cluster in self.before.iter().rev() {
            wide += text::width(cluster);
            if wide > room {
                break;
            }
            start -= 1;
        }
        let left = self.before.get(start..).unwrap_or_default().concat();
        let shown: String = left.clone() + &self.after.iter().rev().map(String::as_str).collect::<String>();
        put(buf, area, dx, dy, &shown, style);
        Some(Position::new(area.x + dx + cells(text::width(&left)), area.y + dy))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn editing_works_on_characters_as_people_see_them() {
        let mut field = Field::holding("ae\u{301}上");
        field.take(Key::Left);
        field.take(Key::Backspace);
        assert_eq!(field.value(), "a上");
        field.take(Key::Home);
        field.take(Key::Char('x'));
        assert_eq!(field.value(), "xa上");
        field.take(Key::Delete);
        field.take(Key::End);
        field.take(Key::Ctrl('w'));
        assert!(field.is_empty());
    }

    #[test]
    fn pasted_control_characters_and_line_breaks_do_no_harm() {
        let mut field = Field::default();
        field.insert("one\r\ntwo\u{1b}[31m\tthree\u{202e}");
        assert_eq!(field.value(), "one two[31m three");
    }
}
