//! Gathering mistakes at their places, and the questions asked of nearly every field.

use std::collections::BTreeSet;

use super::near::nearest;
use crate::rubric::parse::{Mistake, Reading};
use crate::rubric::station::is_id;

/// Where an item stands: its file and its path there.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub struct Spot {
    pub file: usize,
    pub path: String,
}

impl Spot {
    /// A field of this item.
    pub fn field(&self, name: &str) -> Spot {
        Spot {
            file: self.file,
            path: format!("{}.{name}", self.path),
        }
    }

    /// An item of this list.
    pub fn item(&self, index: usize) -> Spot {
        Spot {
            file: self.file,
            path: format!("{}[{index}]", self.path),
        }
    }
}

/// The mistakes found so far.
pub struct Findings<'a> {
    readings: &'a [Reading],
    mistakes: Vec<Mistake>,
}

impl<'a> Findings<'a> {
    /// Begins with the mistakes of form.
    pub fn new(readings: &'a [Reading]) -> Findings<'a> {
        Findings {
            readings,
            mistakes: readings.iter().flat_map(|r| r.mistakes.iter().cloned()).collect(),
        }
    }

    /// Notes a mistake.
    pub fn add(&mut self, spot: &Spot, what: impl AsRef<str>, fix: impl AsRef<str>) {
        if let Some(reading) = self.readings.get(spot.file) {
            self.mistakes
                .push(reading.mistake_at(&spot.path, what.as_ref(), fix.as_ref()));
        }
    }

    /// Notes that something is lacking, unless it may be what could not be read of this item.
    pub fn lacking(&mut self, spot: &Spot, what: impl AsRef<str>, fix: impl AsRef<str>) {
        let item = spot.path.split_inclusive(']').next().unwrap_or_default();
        let hurt = self
            .readings
            .get(spot.file)
            .is_some_and(|reading| reading.hurt.contains(item));
        if !hurt {
            self.add(spot, what, fix);
        }
    }

    /// The line an item stands on.
    pub fn line(&self, spot: &Spot) -> usize {
        self.readings
            .get(spot.file)
            .map_or(0, |reading| reading.mistake_at(&spot.path, "", "").line)
    }

    /// All mistakes in the order of the files' names and of the text, none twice.
    pub fn sorted(mut self) -> Vec<Mistake> {
        self.mistakes.sort();
        self.mistakes.dedup();
        self.mistakes
    }

    /// An id must be of small letters, digits and single hyphens.
    pub fn id(&mut self, spot: &Spot, id: &str) {
        if !is_id(id) {
            self.add(
                spot,
                format!("`{id}` is no id"),
                "write small letters and digits with single hyphens between them: `track-rod-end`",
            );
        }
    }

    /// An id that comes from a standard, such as `M12x1.25`, `8.8` or `C3`.
    pub fn sign(&mut self, spot: &Spot, id: &str) {
        let fits = |c: char| c.is_ascii_alphanumeric() || matches!(c, '.' | '-');
        if id.is_empty() || !id.chars().all(fits) {
            self.add(
                spot,
                format!("`{id}` is no id"),
                "write letters, digits, points and hyphens only: `M12x1.25`",
            );
        }
    }

    /// A text must say something.
    pub fn text(&mut self, spot: &Spot, text: &str) {
        if text.trim().is_empty() {
            self.add(spot, "this text is empty", "say in a few words what belongs here");
        }
    }

    /// Each text of a list must say something.
    pub fn texts(&mut self, spot: &Spot, texts: &[String]) {
        for (at, text) in texts.iter().enumerate() {
            self.text(&spot.item(at), text);
        }
    }

    /// A number must keep to its range; numbers without end are found when the file is read.
    pub fn number(&mut self, spot: &Spot, value: f64, fits: bool, range: &str) {
        if value.is_finite() && !fits {
            self.add(
                spot,
                format!("{value} is out of range"),
                format!("write a number {range}"),
            );
        }
    }

    /// A number above 0.
    pub fn above_zero(&mut self, spot: &Spot, value: f64) {
        self.number(spot, value, value > 0.0, "above 0");
    }

    /// A number of 0 or more.
    pub fn not_below_zero(&mut self, spot: &Spot, value: f64) {
        self.number(spot, value, value >= 0.0, "of 0 or more");
    }

    /// A probability.
    pub fn share(&mut self, spot: &Spot, value: f64) {
        self.number(spot, value, (0.0..=1.0).contains(&value), "from 0 to 1");
    }

    /// A reference must lead somewhere.
    pub fn known(&mut self, spot: &Spot, what: &str, id: &str, known: &BTreeSet<&str>) {
        if known.contains(id) {
            return;
        }
        let fix = match nearest(id, known.iter().copied()) {
            Some(near) => format!("write `{near}`, or add `{id}`"),
            None if known.is_empty() => format!("add it, there is no {what} at all yet"),
            None if known.len() <= 8 => {
                let list: Vec<String> = known.iter().map(|id| format!("`{id}`")).collect();
                format!("add it, or write one of {}", list.join(", "))
            }
            None => "add it, or write one that is there".to_owned(),
        };
        self.add(spot, format!("there is no {what} `{id}`"), fix);
    }

    /// No word may stand in a list of ids twice.
    pub fn no_repeats(&mut self, spot: &Spot, ids: &[String]) {
        for (at, id) in ids.iter().enumerate() {
            if ids.iter().take(at).any(|earlier| earlier == id) {
                self.add(&spot.item(at), format!("`{id}` is named twice here"), "keep it once");
            }
        }
    }
}
