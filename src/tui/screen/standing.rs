//! The Standing: what comes first and why, what to look at first, and where to look next.

mod draw;

use super::sieve::{self, Sieve};
use super::{Effect, Then};
use crate::car::Change;
use crate::engine::PartState;
use crate::report::words;
use crate::rubric::PartId;
use crate::tui::desk::{Desk, Keeping, Reckoned};
use crate::tui::keys::{Command, Place};
use crate::tui::widget::step;

/// Which list is shown.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Pane {
    /// Parts by exposure.
    #[default]
    Ranked,
    /// Parts of which nothing has been seen.
    LookFirst,
    /// Checks that are most worth a look.
    LookNext,
}

/// The Standing.
#[derive(Debug, Clone, Default)]
pub struct Model {
    pane: Pane,
    selected: usize,
    sieve: Sieve,
}

impl Model {
    /// The places whose keys hold.
    #[must_use]
    pub fn places(&self) -> Vec<Place> {
        vec![
            Place::Standing,
            Place::Sieve,
            Place::List,
            Place::OfCar,
            Place::Everywhere,
        ]
    }

    /// The ranked parts that pass the filters.
    fn ranked<'d>(&self, desk: &'d Desk, says: &'d Reckoned) -> Vec<&'d PartState> {
        let mut parts: Vec<&PartState> = says
            .assessment
            .parts
            .iter()
            .filter(|p| p.rank.is_some() && self.sieve.passes(desk, &p.id))
            .collect();
        parts.sort_by_key(|p| p.rank.map(|r| r.place));
        parts
    }

    /// The parts of the list shown, in its order.
    fn listed(&self, desk: &Desk) -> Vec<(PartId, Option<String>)> {
        let Some(says) = desk.says() else { return Vec::new() };
        match self.pane {
            Pane::Ranked => self.ranked(desk, says).iter().map(|p| (p.id.clone(), None)).collect(),
            Pane::LookFirst => says
                .plan
                .look_first
                .iter()
                .filter(|l| self.sieve.passes(desk, &l.part))
                .map(|l| (l.part.clone(), None))
                .collect(),
            Pane::LookNext => says
                .assessment
                .look_next
                .iter()
                .filter(|l| self.sieve.passes(desk, &l.part))
                .map(|l| (l.part.clone(), Some(l.check.clone())))
                .collect(),
        }
    }

    /// The search list over the list shown.
    fn search(&self, desk: &Desk, listed: &[(PartId, Option<String>)]) -> Vec<Effect> {
        let lines = listed.iter().map(|(id, check)| {
            let part = words::part(&desk.library, id);
            let line = match check {
                Some(check) => format!("{part} – {}", words::check(&desk.library, &id.component, check)),
                None => part,
            };
            let place = desk.part(id).and_then(|p| p.rank).map(|r| r.place.to_string());
            (line, place.unwrap_or_default())
        });
        sieve::search(lines.collect(), self.selected)
    }

    /// Does what is asked.
    pub fn update(&mut self, desk: &Desk, command: Command) -> Vec<Effect> {
        let listed = self.listed(desk);
        self.selected = step(self.selected, 0, listed.len());
        if let Some(by) = command.by(8) {
            self.selected = step(self.selected, by, listed.len());
            return Vec::new();
        }
        match command {
            Command::OtherPane => {
                self.pane = match self.pane {
                    Pane::Ranked => Pane::LookFirst,
                    Pane::LookFirst => Pane::LookNext,
                    Pane::LookNext => Pane::Ranked,
                };
                self.selected = 0;
            }
            Command::Search => return self.search(desk, &listed),
            _ if self.sieve.update(desk, command) => self.selected = 0,
            Command::Open => {
                if let Some((part, check)) = listed.get(self.selected) {
                    return vec![Effect::ShowDecline(part.clone(), check.clone())];
                }
            }
            Command::ReadOn => {
                if let Some((part, _)) = listed.get(self.selected) {
                    return draw::read_on(desk, part);
                }
            }
            Command::LookBack => {
                return vec![
                    Effect::Say("Setting the newest survey against the one before …".to_owned()),
                    Effect::LookBack,
                ];
            }
            Command::Tick => {
                if let Some((part, _)) = listed.get(self.selected) {
                    return tick(desk, part);
                }
            }
            _ => {}
        }
        Vec::new()
    }

    /// A line of the list shown was chosen.
    pub fn go_to(&mut self, line: usize) {
        self.selected = line;
    }

    /// Lets every part pass; says whether some were held back.
    pub fn clear_sieve(&mut self) -> bool {
        self.sieve.clear()
    }
}

/// Ticks a part for the plan, or takes the tick away.
pub fn tick(desk: &Desk, part: &PartId) -> Vec<Effect> {
    let Some(car) = &desk.car else { return Vec::new() };
    if let Keeping::ReadOnly(who) = &desk.keeping {
        return vec![Effect::Say(format!("Not kept: {who}"))];
    }
    let mut wishes = car.wishes.clone();
    let name = crate::report::words::part(&desk.library, part);
    let said = if wishes.ticked.contains(part) {
        wishes.ticked.retain(|p| p != part);
        format!("{name} is no longer ticked; the plan takes it only if its standing asks for it.")
    } else {
        wishes.ticked.push(part.clone());
        format!("{name} is ticked for the plan.")
    };
    vec![Effect::Record {
        changes: vec![Change::Wishes(wishes)],
        then: Then::Say(said),
    }]
}
