//! The first look: a round of about a quarter of an hour through the checks that tell most, and which checks a round asks.

use std::collections::BTreeSet;

use super::Model;
use crate::car::{Asked, Change, Survey};
use crate::engine::first_look::{MINUTES, first_look};
use crate::report::words;
use crate::rubric::{PartId, Stage};
use crate::tui::desk::{Desk, Keeping, Stop};
use crate::tui::screen::{Effect, Then};

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

    /// Whether a stop is the first at which the car stands raised.
    pub(super) fn raises(&self, desk: &Desk, at: usize) -> bool {
        let here = desk.stops.get(at).is_some_and(|s| is_raised(s.stage));
        here && !self.asked(desk).any(|(n, s)| n < at && is_raised(s.stage))
    }

    /// The survey in hand.
    fn survey_of<'d>(&self, desk: &'d Desk) -> Option<&'d Survey> {
        desk.car.as_ref()?.surveys.iter().find(|s| Some(s.date) == self.survey)
    }

    /// Takes the first look up again as which the survey in hand was begun, if there is something left of it.
    pub(super) fn take_up_first(&mut self, desk: &Desk) -> Vec<Effect> {
        self.chosen = self.kept(desk);
        let kept = self.survey_of(desk).and_then(|s| s.first_look.as_ref());
        let left = |model: &Model| {
            let mut stops = desk.stops.iter();
            stops.any(|s| model.chosen.contains(&(s.part.clone(), s.check.clone())) && model.is_open(desk, s))
        };
        match kept {
            Some(asks) if asks.is_empty() => self.ask_first(desk),
            Some(_) if left(self) => self.ask_first(desk),
            _ => Vec::new(),
        }
    }

    /// The checks that are kept of the first look of the survey in hand, as far as the car still has them.
    fn kept(&self, desk: &Desk) -> Chosen {
        let asks = self.survey_of(desk).and_then(|s| s.first_look.as_deref());
        let asks = asks
            .unwrap_or_default()
            .iter()
            .map(|a| (a.part.clone(), a.check.clone()));
        let there = |(part, check): &(PartId, String)| desk.stops.iter().any(|s| s.part == *part && s.check == *check);
        asks.filter(there).collect()
    }

    /// Keeps which checks the first look asks, so that it goes on after the program was left or ended.
    fn keep_first(&self, desk: &Desk, asks: Option<Vec<Asked>>) -> Vec<Effect> {
        let kept = self.survey_of(desk).map(|s| (s.date, &s.first_look));
        match kept {
            Some((survey, kept)) if *kept != asks && !matches!(desk.keeping, Keeping::ReadOnly(_)) => {
                vec![Effect::Record {
                    changes: vec![Change::FirstLook { survey, asks }],
                    then: Then::FirstChosen,
                }]
            }
            _ => Vec::new(),
        }
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
        if self.chosen.is_empty() {
            self.chosen = self.kept(desk);
        }
        if !self.chosen.is_empty() {
            return vec![self.begin_first(desk)];
        }
        self.asks = Asks::WaitsForFirst;
        if desk.says().is_none() {
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
            self.chosen = first_look(&says.assessment, &desk.library, MINUTES).checks;
        }
        if self.chosen.is_empty() {
            self.asks = Asks::All;
            let words = "Nothing has gone unseen for long: there is no first look to make.";
            let mut effects = vec![Effect::Say(words.to_owned())];
            effects.extend(self.keep_first(desk, None));
            return effects;
        }
        let mut effects = vec![self.begin_first(desk)];
        let asked = |(part, check): &(PartId, String)| Asked {
            part: part.clone(),
            check: check.clone(),
        };
        effects.extend(self.keep_first(desk, Some(self.chosen.iter().map(asked).collect())));
        effects
    }

    /// Asks the checks chosen, and says how many and how long.
    fn begin_first(&mut self, desk: &Desk) -> Effect {
        self.asks = Asks::First;
        self.at = self
            .next_open(desk, None)
            .or_else(|| self.asked(desk).next().map(|(at, _)| at))
            .unwrap_or(self.at);
        let open: Vec<&Stop> = self
            .asked(desk)
            .map(|(_, stop)| stop)
            .filter(|stop| self.is_open(desk, stop))
            .collect();
        let raised = open.iter().filter(|s| is_raised(s.stage)).count();
        let stands = if raised == 0 {
            "none with the car raised".to_owned()
        } else {
            format!("the last {raised} with the car raised")
        };
        let minutes: f64 = open.iter().filter_map(|s| desk.check_at(s)).map(|c| c.minutes).sum();
        Effect::Say(format!(
            "First look: {}, {minutes:.0} min, {stands}. w: whole round.",
            words::count(open.len(), "check")
        ))
    }
}
