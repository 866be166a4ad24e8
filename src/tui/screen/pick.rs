//! A list that shrinks while one types: every word typed must occur in a line. Where its lines are of parts, the filters of
//! the other lists of parts narrow it too, with Ctrl held, because letters are text here.

use ratatui::buffer::Buffer;
use ratatui::layout::{Position, Rect};

use super::Effect;
use super::sieve::Sieve;
use crate::rubric::PartId;
use crate::text;
use crate::tui::desk::Desk;
use crate::tui::keys::{Command, Key, Place};
use crate::tui::widget::{Field, cells, panel, put, put_right, row, step, tint, window};

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
    /// The parts each line is of; empty where the lines are of no parts.
    parts: Vec<Vec<PartId>>,
    sieve: Sieve,
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
            parts: Vec::new(),
            sieve: Sieve::default(),
            typed: Field::default(),
            selected,
        }
    }

    /// The same, its lines being of these parts.
    #[must_use]
    pub fn of_parts(self, parts: Vec<Vec<PartId>>) -> Model {
        Model { parts, ..self }
    }

    /// The places whose keys hold.
    #[must_use]
    pub fn places(&self) -> Vec<Place> {
        let mut places = vec![Place::Pick];
        if !self.parts.is_empty() {
            places.push(Place::PickSieve);
        }
        places.push(Place::Everywhere);
        places
    }

    /// Whether the filters let a line pass: one of its parts is enough.
    fn passes(&self, desk: &Desk, line: usize) -> bool {
        let of = self.parts.get(line).map_or(&[][..], Vec::as_slice);
        of.is_empty() || of.iter().any(|part| self.sieve.passes(desk, part))
    }

    /// The places of the lines that fit what is typed and pass the filters.
    fn matching(&self, desk: &Desk) -> Vec<usize> {
        let typed = self.typed.value().to_lowercase();
        let words: Vec<&str> = typed.split_whitespace().collect();
        self.lines
            .iter()
            .enumerate()
            .filter(|(n, _)| self.passes(desk, *n))
            .filter(|(_, (line, tag))| {
                let hay = format!("{line} {tag}").to_lowercase();
                words.iter().all(|w| hay.contains(w))
            })
            .map(|(n, _)| n)
            .collect()
    }

    /// After a change of the filters: keeps the line that was selected among those found before, if it still passes.
    fn stay(&mut self, desk: &Desk, before: &[usize]) {
        let line = before.get(self.selected);
        let now = self.matching(desk);
        self.selected = now.iter().position(|n| Some(n) == line).unwrap_or(0);
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
    pub fn update(&mut self, desk: &Desk, command: Command) -> Vec<Effect> {
        let found = self.matching(desk);
        if let Some(by) = command.by(10) {
            self.selected = step(self.selected, by, found.len());
            return Vec::new();
        }
        match command {
            _ if !self.parts.is_empty() && self.sieve.update(desk, command) => self.stay(desk, &found),
            Command::Close if self.sieve.clear() => self.stay(desk, &found),
            Command::Close => return vec![Effect::CloseOver],
            Command::Open => {
                return match found.get(self.selected) {
                    Some(line) => vec![Effect::CloseOver, Effect::Chosen(self.purpose, *line)],
                    None => vec![Effect::Say(if self.sieve.words().is_some() {
                        "Nothing here passes the filter; Esc lets all pass.".to_owned()
                    } else {
                        "Nothing fits what is typed; rub something out or press Esc.".to_owned()
                    })],
                };
            }
            _ => {}
        }
        Vec::new()
    }

    /// Draws it and says where the cursor stands.
    pub fn view(&self, desk: &Desk, area: Rect, buf: &mut Buffer) -> Option<Position> {
        let theme = &desk.theme;
        let inside = panel(buf, area, 76, area.height, &self.heading, theme.rule(), theme.title());
        let asked = row(buf, inside, 0, 0, &[("/", theme.accent()), (" ", theme.text())]);
        let cursor = self.typed.draw(buf, inside, asked, 0, theme.text());
        let found = self.matching(desk);
        let count = format!("{} of {}", found.len(), self.lines.len());
        put_right(buf, inside, 0, &count, theme.dim());
        if let Some(only) = self.sieve.words() {
            let before = Rect::new(
                inside.x,
                inside.y,
                inside.width.saturating_sub(cells(count.len()) + 2),
                inside.height,
            );
            put_right(buf, before, 0, &only, theme.accent());
        }
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
