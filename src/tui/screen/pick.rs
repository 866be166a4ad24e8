//! A list that shrinks while one types: every word typed must occur in a line.

use ratatui::buffer::Buffer;
use ratatui::layout::{Position, Rect};

use super::Effect;
use crate::text;
use crate::tui::keys::{Command, Key};
use crate::tui::theme::Theme;
use crate::tui::widget::{Field, panel, put, put_right, row, step, tint, window};

/// What a line is chosen for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum For {
    /// A check of the Round to go to.
    Round,
    /// A place of the walk of the Round to go to.
    RoundPlace,
    /// A part whose decline to show.
    Decline,
    /// A fixing to show.
    Fixing,
    /// A part in the list of parts to go to.
    Parts,
    /// A line of the list on the screen shown.
    Line,
    /// A usual car that a new one is like.
    NewCar,
}

/// A search list.
#[derive(Debug, Clone)]
pub struct Model {
    heading: String,
    purpose: For,
    /// Lines, each with a word for its right edge.
    lines: Vec<(String, String)>,
    typed: Field,
    selected: usize,
}

impl Model {
    /// A list to choose from, with the line to start on.
    #[must_use]
    pub fn new(heading: &str, purpose: For, lines: Vec<(String, String)>, selected: usize) -> Model {
        Model {
            heading: heading.to_owned(),
            purpose,
            lines,
            typed: Field::default(),
            selected,
        }
    }

    /// The places of the lines that fit what is typed.
    fn matching(&self) -> Vec<usize> {
        let typed = self.typed.value().to_lowercase();
        let words: Vec<&str> = typed.split_whitespace().collect();
        self.lines
            .iter()
            .enumerate()
            .filter(|(_, (line, tag))| {
                let hay = format!("{line} {tag}").to_lowercase();
                words.iter().all(|w| hay.contains(w))
            })
            .map(|(n, _)| n)
            .collect()
    }

    /// Takes a key that is text.
    pub fn type_key(&mut self, key: Key) {
        if self.typed.take(key) {
            self.selected = 0;
        }
    }

    /// Takes pasted text.
    pub fn paste(&mut self, words: &str) {
        self.typed.insert(words);
        self.selected = 0;
    }

    /// Does what is asked.
    pub fn update(&mut self, command: Command) -> Vec<Effect> {
        let found = self.matching();
        match command {
            Command::Up => self.selected = step(self.selected, -1, found.len()),
            Command::Down => self.selected = step(self.selected, 1, found.len()),
            Command::PageUp => self.selected = step(self.selected, -10, found.len()),
            Command::PageDown => self.selected = step(self.selected, 10, found.len()),
            Command::Close => return vec![Effect::CloseOver],
            Command::Open => {
                return match found.get(self.selected) {
                    Some(line) => vec![Effect::CloseOver, Effect::Chosen(self.purpose, *line)],
                    None => vec![Effect::Say(
                        "Nothing fits what is typed; rub something out or press Esc.".to_owned(),
                    )],
                };
            }
            _ => {}
        }
        Vec::new()
    }

    /// Draws it and says where the cursor stands.
    pub fn view(&self, theme: &Theme, area: Rect, buf: &mut Buffer) -> Option<Position> {
        let inside = panel(buf, area, 76, area.height, &self.heading, theme.rule(), theme.title());
        let asked = row(buf, inside, 0, 0, &[("/", theme.accent()), (" ", theme.text())]);
        let cursor = self.typed.draw(buf, inside, asked, 0, theme.text());
        let found = self.matching();
        put_right(
            buf,
            inside,
            0,
            &format!("{} of {}", found.len(), self.lines.len()),
            theme.dim(),
        );
        let list = Rect::new(
            inside.x,
            inside.y.saturating_add(1),
            inside.width,
            inside.height.saturating_sub(1),
        );
        let shown = window(self.selected, found.len(), list.height);
        for (dy, n) in (0..list.height).zip(shown.clone()) {
            let Some((line, tag)) = found.get(n).and_then(|at| self.lines.get(*at)) else {
                continue;
            };
            let room = usize::from(list.width).saturating_sub(text::width(tag) + 1);
            put(buf, list, 0, dy, &text::shorten(line, room), theme.text());
            put_right(buf, list, dy, tag, theme.dim());
            if n == self.selected {
                tint(buf, list, dy, theme.selected());
            }
        }
        cursor
    }
}
