//! What was changed in this sitting and can be taken back, whichever screen did it. An undo is a change like any other: it is
//! recorded first, and what takes *it* back is what redo makes.

use std::collections::VecDeque;

use super::App;
use crate::car::{Car, Change, Look};
use crate::report::words;
use crate::rubric::{Library, PartId};
use crate::tui::desk::Desk;
use crate::tui::screen::{Effect, Then};

/// How many changes of a sitting can be taken back.
const DEEP: usize = 1000;

/// Changes that can be taken back, and those taken back.
#[derive(Debug, Clone, Default)]
pub struct History {
    /// What takes each change back, the newest last.
    back: Vec<Vec<Change>>,
    /// What makes each change taken back again, the newest last.
    again: Vec<Vec<Change>>,
    /// Sent to be recorded, the oldest first.
    sent: VecDeque<Vec<Change>>,
}

impl History {
    /// Changes were sent to be recorded.
    pub fn asked(&mut self, changes: Vec<Change>) {
        self.sent.push_back(changes);
    }

    /// The oldest changes sent are on disk; the car was so before them.
    pub fn recorded(&mut self, before: &Car, then: &Then) {
        let Some(changes) = self.sent.pop_front() else { return };
        let opposite = before.back_of_all(&changes).unwrap_or_default();
        match then {
            Then::Undone => {
                self.back.pop();
                self.again.push(opposite);
            }
            Then::Redone => {
                self.again.pop();
                self.back.push(opposite);
            }
            Then::FirstChosen => {}
            _ => self.made(opposite),
        }
    }

    /// A photo was hung on a look, which the world does by itself.
    pub fn attached(&mut self, before: &Car, after: &Car) {
        let looks = after
            .surveys
            .iter()
            .flat_map(|s| s.looks.iter().map(move |look| (s.date, look)));
        let changed = looks.filter(|(date, look)| {
            let there = before.surveys.iter().find(|s| s.date == *date);
            there.and_then(|s| s.look(&look.part, &look.check)) != Some(look)
        });
        let changes: Vec<Change> = changed
            .map(|(survey, look)| Change::Look {
                survey,
                look: look.clone(),
            })
            .collect();
        if !changes.is_empty() {
            self.made(before.back_of_all(&changes).unwrap_or_default());
        }
    }

    /// Something new was done; an empty opposite is one that cannot be taken back.
    fn made(&mut self, opposite: Vec<Change>) {
        self.again.clear();
        self.back.push(opposite);
        if self.back.len() > DEEP {
            self.back.remove(0);
        }
    }

    /// The oldest changes sent were refused.
    pub fn refused(&mut self) {
        self.sent.pop_front();
    }

    /// What redo would make after an undo, or what undo would after a redo: it names what has just happened.
    pub fn newest(&self, undone: bool) -> &[Change] {
        let of = if undone { &self.again } else { &self.back };
        of.last().map_or(&[], Vec::as_slice)
    }

    /// Whether there is anything to take back, and anything to make again.
    pub fn holds(&self) -> (bool, bool) {
        (self.back.last().is_some_and(|b| !b.is_empty()), !self.again.is_empty())
    }
}

impl App {
    /// Takes the newest change back: of this sitting, or else, on the Round, the last look of the survey in hand, or the survey
    /// itself if it has none.
    pub(super) fn undo(&mut self) -> Vec<Effect> {
        if self.history.back.last().is_some_and(Vec::is_empty) {
            // What came before it must not be taken for it.
            self.history.back.pop();
            return vec![Effect::Say(
                "That cannot be taken back; u again takes back what was before it.".to_owned(),
            )];
        }
        let earlier = || {
            self.round
                .last_look(&self.desk)
                .filter(|_| self.now == crate::tui::screen::Name::Round)
        };
        match self.history.back.last().cloned().or_else(earlier) {
            Some(changes) => vec![Effect::Record {
                changes,
                then: Then::Undone,
            }],
            None => vec![Effect::Say("There is nothing to take back.".to_owned())],
        }
    }

    /// Makes the newest change taken back again.
    pub(super) fn redo(&mut self) -> Vec<Effect> {
        match self.history.again.last().cloned() {
            Some(changes) => vec![Effect::Record {
                changes,
                then: Then::Redone,
            }],
            None => vec![Effect::Say("Nothing was taken back.".to_owned())],
        }
    }

    /// Whether undo and redo would do something here.
    pub(super) fn can_go_back(&self) -> (bool, bool) {
        let (back, again) = self.history.holds();
        let earlier = self.now == crate::tui::screen::Name::Round && self.round.last_look(&self.desk).is_some();
        (back || earlier, again)
    }
}

/// What was taken back, or made again, in a sentence.
pub fn said(desk: &Desk, changes: &[Change], back: bool) -> String {
    // A survey is begun with a day that the car does not have yet.
    let begins = changes.iter().find_map(|change| match change {
        Change::Survey { date, .. } if !desk.car.iter().any(|c| c.surveys.iter().any(|s| s.date == *date)) => {
            Some(format!("the survey of {date}, begun"))
        }
        _ => None,
    });
    let what = begins
        .or_else(|| changes.last().map(|change| named(&desk.library, change)))
        .unwrap_or_default();
    if back {
        format!("Taken back: {what}. U makes it again.")
    } else {
        format!("Made again: {what}. u takes it back.")
    }
}

/// What a change is about.
fn named(library: &Library, change: &Change) -> String {
    let look = |part: &PartId, check: &str| {
        format!(
            "{} – {}",
            words::part(library, part),
            words::check(library, &part.component, check)
        )
    };
    match change {
        Change::Profile(_) => "the profile".to_owned(),
        Change::Part(part, _) => words::part(library, part),
        Change::Torque(part, own) => format!("{}, {}", words::part(library, part), own.fixing),
        Change::NoTorque(part, fixing) => format!("{}, {fixing}", words::part(library, part)),
        Change::Survey { date, .. } => format!("odometer and note of {date}"),
        Change::Unbegun(date) | Change::FirstLook { survey: date, .. } => format!("the survey of {date}, begun"),
        Change::Look {
            look: Look { part, check, .. },
            ..
        }
        | Change::Unlook { part, check, .. } => look(part, check),
        Change::SecondLook { second, .. } => look(&second.part, &second.check),
        Change::Earlier(_) => "what was put away".to_owned(),
        Change::Done(done) => words::repair(library, &done.repair),
        Change::Undone(_) => "a repair done".to_owned(),
        Change::Wishes(_) => "a wish for the plan".to_owned(),
        Change::Buy(purchase) => purchase.name.clone(),
        Change::Left(job) => format!("work left open on {}", words::part(library, &job.part)),
        Change::Closed(part) => format!("work left open on {}", words::part(library, part)),
    }
}
