//! Decline: one check's history and forecast, as a chart and as numbers.

mod draw;

use super::{Effect, Over, pick};
use crate::report::words;
use crate::rubric::PartId;
use crate::tui::desk::Desk;
use crate::tui::keys::{Command, Place};

/// How many years ahead may be shown.
const YEARS: [u8; 3] = [2, 5, 10];

/// Decline.
#[derive(Debug, Clone)]
pub struct Model {
    part: Option<PartId>,
    check: Option<String>,
    years: u8,
}

impl Default for Model {
    fn default() -> Self {
        Model {
            part: None,
            check: None,
            years: 5,
        }
    }
}

impl Model {
    /// The places whose keys hold.
    #[must_use]
    pub fn places(&self) -> Vec<Place> {
        vec![Place::Decline, Place::OfCar, Place::Everywhere]
    }

    /// Shows a part, of its leading check if none is named.
    pub fn show(&mut self, desk: &Desk, part: PartId, check: Option<String>) {
        self.check = check.or_else(|| leading(desk, &part));
        self.part = Some(part);
    }

    /// Comes to the screen, or hears that the engine has spoken: asks for the series shown if it is not there.
    pub fn entered(&mut self, desk: &Desk) -> Vec<Effect> {
        if desk.says().is_none() {
            return Vec::new();
        }
        if self.part.as_ref().is_none_or(|p| desk.part(p).is_none()) {
            let first = parts(desk).into_iter().next();
            self.check = None;
            self.part = first;
        }
        if let Some(part) = self.part.clone() {
            if self.check.as_ref().is_none_or(|c| desk.check_state(&part, c).is_none()) {
                self.check = leading(desk, &part);
            }
            if let Some(check) = self.check.clone()
                && desk.series_of(&part, &check, self.years).is_none()
            {
                return vec![Effect::Series {
                    part,
                    check,
                    years: self.years,
                }];
            }
        }
        Vec::new()
    }

    /// Does what is asked.
    pub fn update(&mut self, desk: &Desk, command: Command) -> Vec<Effect> {
        let parts = parts(desk);
        let at = parts.iter().position(|p| Some(p) == self.part.as_ref()).unwrap_or(0);
        match command {
            Command::Up | Command::Down => {
                let to = if command == Command::Up {
                    at.checked_sub(1).unwrap_or(parts.len().saturating_sub(1))
                } else {
                    at + 1
                };
                if let Some(part) = parts.get(to).or(parts.first()) {
                    self.show(desk, part.clone(), None);
                }
            }
            Command::Next | Command::Previous => self.other_check(desk, command == Command::Next),
            Command::OtherPane => {
                let next = YEARS.iter().position(|y| *y == self.years).map_or(0, |n| n + 1);
                self.years = YEARS.get(next).copied().unwrap_or(2);
            }
            Command::Search => {
                let lines = parts
                    .iter()
                    .map(|p| {
                        let grade = desk.part(p).and_then(|s| s.worst.as_ref());
                        (
                            words::part(&desk.library, p),
                            grade.map_or(String::new(), |w| format!("worst {}", w.grade)),
                        )
                    })
                    .collect();
                let of = parts.iter().map(|p| vec![p.clone()]).collect();
                let list = pick::Model::new("Go to a part", pick::For::Decline, lines, at).of_parts(of);
                return vec![Effect::Over(Box::new(Over::Pick(list)))];
            }
            _ => return Vec::new(),
        }
        self.entered(desk)
    }

    /// A part was chosen from the search list.
    pub fn chosen(&mut self, desk: &Desk, line: usize) -> Vec<Effect> {
        if let Some(part) = parts(desk).get(line) {
            self.show(desk, part.clone(), None);
        }
        self.entered(desk)
    }

    fn other_check(&mut self, desk: &Desk, forwards: bool) {
        let Some(state) = self.part.as_ref().and_then(|p| desk.part(p)) else {
            return;
        };
        let ids: Vec<&String> = state.checks.iter().map(|c| &c.check).collect();
        let at = ids.iter().position(|c| Some(*c) == self.check.as_ref()).unwrap_or(0);
        let n = ids.len().max(1);
        let to = if forwards { (at + 1) % n } else { (at + n - 1) % n };
        self.check = ids.get(to).map(|c| (*c).clone());
    }
}

/// The parts in the order of the standing, those without a place last.
fn parts(desk: &Desk) -> Vec<PartId> {
    let mut parts: Vec<_> = desk
        .says()
        .map(|s| s.assessment.parts.iter().collect())
        .unwrap_or_default();
    parts.sort_by_key(|p: &&crate::engine::PartState| p.rank.map_or(usize::MAX, |r| r.place));
    parts.into_iter().map(|p| p.id.clone()).collect()
}

fn leading(desk: &Desk, part: &PartId) -> Option<String> {
    Some(desk.part(part)?.leading_check()?.check.clone())
}
