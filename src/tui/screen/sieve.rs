//! What a list shows: one side, one end, one system; and the search list that jumps within it. Every list of parts has the same
//! keys for it.

use super::{Effect, Over, pick};
use crate::report::words;
use crate::rubric::{Axle, PartId, Side, System};
use crate::tui::desk::Desk;
use crate::tui::keys::Command;

/// Which parts pass.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Sieve {
    /// Only this side.
    pub side: Option<Side>,
    /// Only this end.
    pub end: Option<Axle>,
    /// Only this system.
    pub system: Option<System>,
}

impl Sieve {
    /// Whether a part passes.
    #[must_use]
    pub fn passes(&self, desk: &Desk, id: &PartId) -> bool {
        self.side.is_none_or(|s| id.station.side == Some(s)) && self.passes_but_side(desk, id)
    }

    /// Whether a part passes whatever its side.
    #[must_use]
    pub fn passes_but_side(&self, desk: &Desk, id: &PartId) -> bool {
        self.end.is_none_or(|e| id.station.axle == Some(e))
            && self
                .system
                .is_none_or(|s| desk.library.component(&id.component).is_some_and(|c| c.system == s))
    }

    /// Goes on to the next side, end or system; says whether the command asked for that.
    pub fn update(&mut self, desk: &Desk, command: Command) -> bool {
        match command {
            Command::FilterSide => {
                self.side = match self.side {
                    None => Some(Side::Left),
                    Some(Side::Left) => Some(Side::Right),
                    Some(Side::Right) => None,
                };
            }
            Command::FilterEnd => {
                self.end = match self.end {
                    None => Some(Axle::Front),
                    Some(Axle::Front) => Some(Axle::Rear),
                    Some(Axle::Rear) => None,
                };
            }
            Command::FilterSystem => self.system = self.next_system(desk),
            _ => return false,
        }
        true
    }

    /// Lets everything pass; says whether something was held back.
    pub fn clear(&mut self) -> bool {
        std::mem::take(self) != Sieve::default()
    }

    /// What passes, in words; `None` if everything does.
    #[must_use]
    pub fn words(&self) -> Option<String> {
        let mut only: Vec<&str> = Vec::new();
        only.extend(self.side.map(Side::word));
        only.extend(self.end.map(Axle::word));
        only.extend(self.system.map(words::system));
        (!only.is_empty()).then(|| format!("only {}", only.join(", ")))
    }

    /// The next system that this car has parts of; none after the last.
    fn next_system(&self, desk: &Desk) -> Option<System> {
        let mut systems: Vec<System> = Vec::new();
        for part in desk.car.as_ref()?.part_ids(&desk.library) {
            let system = desk.library.component(&part.component).map(|c| c.system);
            systems.extend(system.filter(|s| !systems.contains(s)));
        }
        systems.sort();
        match self.system {
            None => systems.first().copied(),
            Some(now) => systems.into_iter().find(|s| *s > now),
        }
    }
}

/// The search list over the lines of the list shown, each with a word for its right edge.
#[must_use]
pub fn search(lines: Vec<(String, String)>, selected: usize) -> Vec<Effect> {
    let list = pick::Model::new("Find in this list", pick::For::Line, lines, selected);
    vec![Effect::Over(Box::new(Over::Pick(list)))]
}
