//! A form of a few lines: text, one of several, or some of several. What becomes of it is its [`Purpose`].

use jiff::civil::Date;
use ratatui::buffer::Buffer;
use ratatui::layout::{Position, Rect};

use super::{Effect, car, confirm, fixings, new_car, profile, round, visit};
use crate::rubric::PartId;
use crate::store::Draft;
use crate::text;
use crate::tui::desk::Desk;
use crate::tui::keys::{Command, Key, Place};
use crate::tui::screen::Over;
use crate::tui::theme::Theme;
use crate::tui::widget::{Field, Lines, cells, height, is_low, panel, para, put, put_right, step, window};
use crate::units::parse_decimal;

/// What a form is for.
#[derive(Debug, Clone, PartialEq)]
pub enum Purpose {
    /// A new car.
    NewCar,
    /// A survey to begin, or one whose odometer to correct.
    Survey,
    /// A note on a look of a survey, by its stop of the Round.
    LookNote(Date, usize),
    /// One line of the profile.
    Profile(profile::Line),
    /// When a part was fitted new.
    Fitted(PartId),
    /// A limit of the car's own.
    OwnLimit(PartId, Vec<String>),
    /// The manual's tightening value for a fixing of a part.
    OwnTorque(PartId, String),
    /// A note on a part.
    PartNote(PartId),
    /// A repair that was done: its id and part.
    Done(String, Vec<PartId>),
    /// A repair that was begun and not finished: its id and part.
    Leave(String, PartId),
    /// The date a part's repair is fixed to.
    Pin(PartId),
}

/// What stands in a line.
#[derive(Debug, Clone, PartialEq)]
pub enum Value {
    /// Text.
    Text(Field),
    /// Text of several lines, in a form of its own.
    Note(Lines),
    /// One of several.
    One {
        /// What there is to choose from.
        of: Vec<String>,
        /// The one chosen.
        at: usize,
    },
    /// Some of several.
    Some {
        /// What there is to choose from.
        of: Vec<String>,
        /// Which are chosen.
        on: Vec<bool>,
        /// Where the cursor stands.
        at: usize,
    },
}

/// A line of a form.
#[derive(Debug, Clone, PartialEq)]
pub struct Line {
    /// What is asked.
    pub label: String,
    /// A word of help.
    pub hint: String,
    /// What stands there.
    pub value: Value,
}

impl Line {
    /// A line of text.
    #[must_use]
    pub fn text(label: &str, hint: &str, holding: &str) -> Line {
        Line {
            label: label.to_owned(),
            hint: hint.to_owned(),
            value: Value::Text(Field::holding(holding)),
        }
    }

    /// Text of several lines; nothing else stands in its form.
    #[must_use]
    pub fn note(label: &str, hint: &str, holding: &str) -> Line {
        Line {
            label: label.to_owned(),
            hint: hint.to_owned(),
            value: Value::Note(Lines::holding(holding)),
        }
    }

    /// A choice.
    #[must_use]
    pub fn one(label: &str, hint: &str, of: Vec<String>, at: usize) -> Line {
        Line {
            label: label.to_owned(),
            hint: hint.to_owned(),
            value: Value::One { of, at },
        }
    }

    /// A choice of some.
    #[must_use]
    pub fn some(label: &str, hint: &str, of: Vec<String>, on: Vec<bool>) -> Line {
        Line {
            label: label.to_owned(),
            hint: hint.to_owned(),
            value: Value::Some { of, on, at: 0 },
        }
    }
}

/// What is wrong with a form: the line, and why.
pub type Wrong = (usize, String);

/// Letters from which on what was typed in a line is kept.
const WORTH_KEEPING: usize = 12;

/// A form being filled in.
#[derive(Debug, Clone)]
pub struct Model {
    heading: String,
    about: String,
    /// What becomes of it.
    pub purpose: Purpose,
    lines: Vec<Line>,
    begun_as: Vec<Line>,
    at: usize,
    wrong: Option<String>,
}

impl Model {
    /// A form with its lines.
    #[must_use]
    pub fn new(heading: &str, about: &str, purpose: Purpose, lines: Vec<Line>) -> Model {
        Model {
            heading: heading.to_owned(),
            about: about.to_owned(),
            purpose,
            begun_as: lines.clone(),
            lines,
            at: 0,
            wrong: None,
        }
    }

    /// The form as a screen laid over another.
    #[must_use]
    pub fn over(self) -> Effect {
        Effect::Over(Box::new(Over::Form(self)))
    }

    /// The places whose keys hold.
    #[must_use]
    pub fn places(&self) -> Vec<Place> {
        let own = if matches!(self.focused(), Some(Value::Note(_))) {
            Place::NoteForm
        } else {
            Place::Form
        };
        vec![own, Place::Everywhere]
    }

    /// What stands in the line under the cursor.
    fn focused(&self) -> Option<&Value> {
        self.lines.get(self.at).map(|l| &l.value)
    }

    /// The text of a line, without blanks around it.
    #[must_use]
    pub fn text(&self, line: usize) -> String {
        match self.lines.get(line).map(|l| &l.value) {
            Some(Value::Text(field)) => field.value().trim().to_owned(),
            Some(Value::Note(lines)) => lines.value().trim().to_owned(),
            _ => String::new(),
        }
    }

    /// Whether it has a line of that number.
    #[must_use]
    pub fn has(&self, line: usize) -> bool {
        line < self.lines.len()
    }

    /// The place chosen in a line.
    #[must_use]
    pub fn one(&self, line: usize) -> usize {
        match self.lines.get(line).map(|l| &l.value) {
            Some(Value::One { at, .. }) => *at,
            _ => 0,
        }
    }

    /// Which are chosen in a line.
    #[must_use]
    pub fn some(&self, line: usize) -> Vec<bool> {
        match self.lines.get(line).map(|l| &l.value) {
            Some(Value::Some { on, .. }) => on.clone(),
            _ => Vec::new(),
        }
    }

    /// The number in a line, if there is one.
    ///
    /// # Errors
    /// The line and what is wrong with it.
    pub fn number(&self, line: usize, least: f64) -> Result<Option<f64>, Wrong> {
        let typed = self.text(line);
        if typed.is_empty() {
            return Ok(None);
        }
        let value = parse_decimal(&typed).map_err(|why| (line, why))?;
        if value < least {
            return Err((line, format!("{typed} is too small; the least is {least}")));
        }
        Ok(Some(value))
    }

    /// The date in a line, if there is one: a day, a month or a year.
    ///
    /// # Errors
    /// The line and what is wrong with it.
    pub fn date(&self, line: usize) -> Result<Option<Date>, Wrong> {
        let typed = self.text(line);
        if typed.is_empty() {
            return Ok(None);
        }
        let whole = match typed.matches('-').count() {
            0 => format!("{typed}-01-01"),
            1 => format!("{typed}-01"),
            _ => typed.clone(),
        };
        whole.parse().map(Some).map_err(|_| {
            (
                line,
                format!("`{typed}` is not a date; write 2026-03-14, 2026-03 or 2026"),
            )
        })
    }

    /// Whether anything was changed.
    #[must_use]
    pub fn is_changed(&self) -> bool {
        plain(&self.lines) != plain(&self.begun_as)
    }

    /// By what the form is known again: what it is for, and about what.
    #[must_use]
    pub fn key(&self) -> String {
        format!("{:?}; {}", self.purpose, self.about)
    }

    /// What to keep of it while it is being filled in; `None` where a word or two are quickly typed again.
    #[must_use]
    pub fn draft(&self) -> Option<Draft> {
        let (now, before) = (plain(&self.lines), plain(&self.begun_as));
        let changed = || now.iter().zip(&before).filter(|(now, before)| now != before);
        let worth = changed().count() > 2 || changed().any(|(now, _)| now.chars().count() >= WORTH_KEEPING);
        worth.then(|| Draft {
            of: self.key(),
            lines: now.clone(),
        })
    }

    /// Puts back what was kept of it; says whether it fits and is anything else than what stands there.
    pub fn take_draft(&mut self, kept: &[String]) -> bool {
        if kept.len() != self.lines.len() || plain(&self.lines) == kept {
            return false;
        }
        for (line, kept) in self.lines.iter_mut().zip(kept) {
            match &mut line.value {
                Value::Text(field) => *field = Field::holding(kept),
                Value::Note(lines) => *lines = Lines::holding(kept),
                Value::One { of, at } => *at = kept.parse().ok().filter(|n| *n < of.len()).unwrap_or(*at),
                Value::Some { on, .. } => {
                    let kept: Vec<bool> = kept.chars().map(|c| c == '+').collect();
                    if kept.len() == on.len() {
                        *on = kept;
                    }
                }
            }
        }
        true
    }

    /// Takes a key that is no command.
    pub fn type_key(&mut self, key: Key) {
        self.wrong = None;
        match self.lines.get_mut(self.at).map(|l| &mut l.value) {
            Some(Value::Text(field)) => {
                field.take(key);
            }
            Some(Value::Note(lines)) => lines.take(key),
            Some(Value::One { of, at }) => match key {
                Key::Left => *at = at.checked_sub(1).unwrap_or(of.len().saturating_sub(1)),
                Key::Right | Key::Char(' ') => *at = if *at + 1 < of.len() { *at + 1 } else { 0 },
                Key::Char(c) => {
                    let letter = c.to_lowercase().to_string();
                    let fits = |n: &usize| of.get(*n).is_some_and(|o| o.to_lowercase().starts_with(&letter));
                    if let Some(n) = (*at + 1..of.len()).chain(0..=*at).find(fits) {
                        *at = n;
                    }
                }
                _ => {}
            },
            Some(Value::Some { of, on, at }) => match key {
                Key::Left => *at = step(*at, -1, of.len()),
                Key::Right => *at = step(*at, 1, of.len()),
                Key::Char(' ') => {
                    if let Some(flag) = on.get_mut(*at) {
                        *flag = !*flag;
                    }
                }
                _ => {}
            },
            None => {}
        }
    }

    /// Takes pasted text into a line of text; elsewhere it is dropped.
    pub fn paste(&mut self, words: &str) {
        match self.lines.get_mut(self.at).map(|l| &mut l.value) {
            Some(Value::Text(field)) => field.insert(words),
            Some(Value::Note(lines)) => lines.insert(words),
            _ => {}
        }
    }

    /// Does what is asked.
    pub fn update(&mut self, desk: &Desk, command: Command) -> Vec<Effect> {
        if let Some(Value::Note(lines)) = self.lines.get_mut(self.at).map(|l| &mut l.value) {
            match command {
                Command::Up | Command::Down => {
                    lines.go(command == Command::Down);
                    return Vec::new();
                }
                // A second Enter at the end saves; the empty line it would leave is trimmed away.
                Command::Open if !lines.ends_empty() => {
                    lines.split();
                    return Vec::new();
                }
                _ => {}
            }
        }
        match command {
            Command::Next => self.at = if self.at + 1 < self.lines.len() { self.at + 1 } else { 0 },
            Command::Previous => self.at = self.at.checked_sub(1).unwrap_or(self.lines.len().saturating_sub(1)),
            Command::Open if self.at + 1 < self.lines.len() => self.at += 1,
            Command::Open | Command::Save => return self.submit(desk),
            Command::Close if self.is_changed() => {
                let ask = confirm::Model::new(
                    "What you typed here is not saved. Throw it away?".to_owned(),
                    vec![Effect::CloseOver],
                );
                return vec![Effect::Over(Box::new(Over::Confirm(ask)))];
            }
            Command::Close => return vec![Effect::CloseOver],
            _ => {}
        }
        Vec::new()
    }

    fn submit(&mut self, desk: &Desk) -> Vec<Effect> {
        let done = match &self.purpose {
            Purpose::NewCar => new_car::submit(desk, self),
            Purpose::Survey => round::submit_survey(desk, self),
            Purpose::LookNote(date, stop) => round::submit_note(desk, self, *date, *stop),
            Purpose::Profile(line) => car::submit_profile(desk, self, *line),
            Purpose::Fitted(part) => car::submit_fitted(desk, self, part),
            Purpose::OwnLimit(part, checks) => car::submit_limit(desk, self, part, checks),
            Purpose::OwnTorque(part, fixing) => fixings::submit(desk, self, part, fixing),
            Purpose::PartNote(part) => car::submit_note(desk, self, part),
            Purpose::Done(repair, parts) => visit::submit_done(desk, self, repair, parts),
            Purpose::Leave(repair, part) => visit::submit_leave(desk, self, repair, part),
            Purpose::Pin(part) => visit::submit_pin(desk, self, part),
        };
        match done {
            Ok(effects) => effects,
            Err((line, why)) => {
                self.at = line;
                self.wrong = Some(why);
                Vec::new()
            }
        }
    }

    /// Draws it and says where the cursor stands.
    pub fn view(&self, theme: &Theme, area: Rect, buf: &mut Buffer) -> Option<Position> {
        let wide = area.width.min(78);
        let about = height(&self.about, wide.saturating_sub(4));
        let about = if self.about.is_empty() || is_low(area) {
            0
        } else {
            about + 1
        };
        let rows = match self.focused() {
            Some(Value::Note(lines)) => lines.rows().max(6),
            _ => cells(self.lines.len()),
        };
        let needed = about.saturating_add(rows).saturating_add(5);
        let inside = panel(
            buf,
            area,
            wide,
            needed.min(area.height),
            &self.heading,
            theme.rule(),
            theme.title(),
        );
        if about > 0 {
            para(buf, inside, 0, &self.about, theme.dim());
        }
        let list = Rect::new(
            inside.x,
            inside.y.saturating_add(about),
            inside.width,
            inside.height.saturating_sub(about.saturating_add(3)),
        )
        .intersection(inside);
        let mut cursor = None;
        if let Some(Value::Note(lines)) = self.focused() {
            cursor = lines.draw(buf, list, theme.text());
        }
        for (dy, n) in (0..list.height).zip(window(self.at, self.lines.len(), list.height)) {
            if let Some(line) = self.lines.get(n)
                && let Some(place) = draw_line(theme, list, buf, dy, line, n == self.at)
            {
                cursor = Some(place);
            }
        }
        let shown = window(self.at, self.lines.len(), list.height);
        if shown.end < self.lines.len() {
            let left = cells(self.lines.len() - shown.end);
            let border = Rect::new(inside.x, inside.bottom(), inside.width, 1).intersection(area);
            put_right(buf, border, 0, &format!(" {left} more ↓ "), theme.dim());
        }
        let hint = self.lines.get(self.at).map_or("", |l| l.hint.as_str());
        let foot = Rect::new(inside.x, inside.bottom().saturating_sub(2), inside.width, 2).intersection(inside);
        match &self.wrong {
            Some(why) => para(buf, foot, 0, why, theme.notice()),
            None => para(buf, foot, 0, hint, theme.dim()),
        };
        cursor
    }
}

/// Lines as plain text, for comparing and keeping.
fn plain(lines: &[Line]) -> Vec<String> {
    let value = |line: &Line| match &line.value {
        Value::Text(field) => field.value(),
        Value::Note(lines) => lines.value(),
        Value::One { at, .. } => at.to_string(),
        Value::Some { on, .. } => on.iter().map(|on| if *on { '+' } else { '-' }).collect(),
    };
    lines.iter().map(value).collect()
}

/// Draws one line; the focused one is marked, and its cursor's place returned.
fn draw_line(theme: &Theme, list: Rect, buf: &mut Buffer, dy: u16, line: &Line, focused: bool) -> Option<Position> {
    const VALUE_AT: u16 = 24;
    if matches!(line.value, Value::Note(_)) {
        return None;
    }
    let style = if focused { theme.accent() } else { theme.text() };
    put(buf, list, 0, dy, if focused { "›" } else { " " }, style);
    let label = Rect::new(list.x, list.y, list.width.min(VALUE_AT - 1), list.height);
    put(buf, label, 2, dy, &line.label, style);
    match &line.value {
        Value::Text(field) => {
            if field.is_empty() && !focused {
                put(buf, list, VALUE_AT, dy, "–", theme.dim());
            }
            let place = field.draw(buf, list, VALUE_AT, dy, theme.text());
            return place.filter(|_| focused);
        }
        // Drawn over the whole form.
        Value::Note(_) => {}
        Value::One { of, at } => {
            let chosen = of.get(*at).map_or("", String::as_str);
            if focused {
                put(buf, list, VALUE_AT, dy, &format!("‹ {chosen} ›"), theme.text());
                put_right(buf, list, dy, &format!(" {} of {}", at + 1, of.len()), theme.dim());
            } else {
                put(buf, list, VALUE_AT, dy, chosen, theme.text());
            }
        }
        Value::Some { of, on, at } => {
            let mut x = VALUE_AT;
            for (n, word) in of.iter().enumerate() {
                let chosen = on.get(n).copied().unwrap_or(false);
                let shown = if chosen {
                    format!("[{word}]")
                } else {
                    format!(" {word} ")
                };
                let style = if focused && n == *at {
                    theme.selected()
                } else if chosen {
                    theme.title()
                } else {
                    theme.dim()
                };
                x = x.saturating_add(put(buf, list, x, dy, &text::shorten(&shown, 12), style));
            }
        }
    }
    None
}
