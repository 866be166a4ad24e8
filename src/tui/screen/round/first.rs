//! The first look: a round of about a quarter of an hour through the checks that tell most, and which checks a round asks.

use std::collections::BTreeSet;

use super::Model;
use crate::engine::first_look::{MINUTES, first_look};
use crate::rubric::{PartId, Stage};
use crate::tui::desk::{Desk, Stop};
use crate::tui::screen::Effect;

/// Minutes of looking from which on a whole round is long enough for a first look to be offered before it.
const LONG: f64 = 45.0;

/// Which checks the round asks.
#[derive(Debug, Clone, Default, PartialEq)]
pub enum Asks {
    /// All.
    #[default]
    All,
    /// Those of a first look, once the engine has said which.
    WaitsForFirst,
    /// Those of a first look.
    First,
}

/// Parts with the checks chosen of them.
pub type Chosen = BTreeSet<(PartId, String)>;

/// The minutes of looking of a whole round.
pub fn whole_minutes(desk: &Desk) -> f64 {
    desk.stops
        .iter()
        .filter_map(|s| desk.check_at(s))
        .map(|c| c.minutes)
        .sum()
}

/// Whether the whole round is so long that a first look is worth offering.
pub fn is_long(desk: &Desk) -> bool {
    whole_minutes(desk) >= LONG
}

/// Whether nothing of the car has been seen yet.
pub fn nothing_seen(desk: &Desk) -> bool {
    !desk
        .car
        .iter()
        .flat_map(|c| &c.surveys)
        .flat_map(|s| &s.looks)
        .any(|l| l.seen.is_seen())
}

/// Whether the car is raised at a stage.
fn is_raised(stage: Stage) -> bool {
    matches!(stage, Stage::FrontRaised | Stage::RearRaised | Stage::Underneath)
}

impl Model {
    /// Whether the round asks a stop.
    pub(super) fn asks_for(&self, stop: &Stop) -> bool {
        self.asks != Asks::First || self.chosen.contains(&(stop.part.clone(), stop.check.clone()))
    }

    /// The stops the round asks, with their places among all.
    pub(super) fn asked<'d>(&'d self, desk: &'d Desk) -> impl DoubleEndedIterator<Item = (usize, &'d Stop)> {
        desk.stops.iter().enumerate().filter(|(_, stop)| self.asks_for(stop))
    }

    /// Goes over to the first look, or on with the whole round.
    pub(super) fn other_round(&mut self, desk: &Desk) -> Vec<Effect> {
        if self.asks == Asks::All {
            return self.ask_first(desk);
        }
        self.asks = Asks::All;
        let words = format!("The whole round: {} checks.", desk.stops.len());
        vec![Effect::Say(words)]
    }

    /// Goes over to the first look; the engine is asked which checks it has if it has not said.
    pub(super) fn ask_first(&mut self, desk: &Desk) -> Vec<Effect> {
        self.asks = Asks::WaitsForFirst;
        if desk.says().is_none() && self.chosen.is_empty() {
            return vec![Effect::Reckon(desk.version)];
        }
        self.reckoned(desk)
    }

    /// The engine has spoken: the first look can be chosen, if it waits for that.
    pub fn reckoned(&mut self, desk: &Desk) -> Vec<Effect> {
        let Some(says) = desk.says().filter(|_| self.asks == Asks::WaitsForFirst) else {
            return Vec::new();
        };
        if self.chosen.is_empty() {
            let first = first_look(&says.assessment, &desk.library, MINUTES);
            self.minutes = first.minutes;
            self.chosen = first.checks;
        }
        if self.chosen.is_empty() {
            self.asks = Asks::All;
            let words = "Nothing has gone unseen for long: there is no first look to make.";
            return vec![Effect::Say(words.to_owned())];
        }
        self.asks = Asks::First;
        self.at = self
            .next_open(desk, None)
            .or_else(|| self.asked(desk).next().map(|(at, _)| at))
            .unwrap_or(self.at);
        let raised = self.asked(desk).filter(|(_, s)| is_raised(s.stage)).count();
        let stands = if raised == 0 {
            "none with the car raised".to_owned()
        } else {
            format!("{raised} with the car raised")
        };
        vec![Effect::Say(format!(
            "First look: {} checks, {:.0} min, {stands}. w: the whole round.",
            self.chosen.len(),
            self.minutes
        ))]
    }
}
