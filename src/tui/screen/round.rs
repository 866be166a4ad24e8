//! The Round: the guided look, one check at a time, one key for each.
//!
//! A look is recorded first; only when it is on disk does the Round go on ([`Model::looked`]). The grade of an earlier
//! survey is not shown until the new one is given, so that nobody grades from memory.

mod again;
mod draw;
mod first;
mod photos;
mod places;
mod survey;

pub use survey::{form as survey_form, in_hand, submit_survey};

use std::collections::BTreeMap;

use jiff::civil::Date;

use super::form::{self, Purpose, Wrong};
use super::{Effect, Over, Then, pick};
use crate::car::{Change, Look, NotSeen, Seen};
use crate::report::words;
use crate::rubric::{CheckKind, Measure};
use crate::tui::desk::{Desk, Keeping, Stop};
use crate::tui::keys::{Command, Key, Place};
use crate::units::{Grade, parse_decimal};

/// Readings on their way: the points taken so far and what is being typed.
#[derive(Debug, Clone, Default, PartialEq)]
struct Typed {
    points: Vec<f64>,
    typing: String,
    /// A number far outside what such a part can show, to be confirmed by a second Enter.
    doubted: Option<String>,
}

/// The Round.
#[derive(Debug, Clone, Default)]
pub struct Model {
    /// The survey being made.
    survey: Option<Date>,
    /// The stop shown.
    at: usize,
    asking_why: bool,
    typed: BTreeMap<usize, Typed>,
    /// The newest look in words, with its difference from the survey before.
    newest: Option<String>,
    /// The second look in hand.
    again: Option<again::Again>,
    /// Which checks are asked.
    asks: first::Asks,
    /// The checks of the first look, once chosen.
    chosen: first::Chosen,
}

impl Model {
    /// Comes to the screen: continues the open survey at the first check without a look, or asks to begin one.
    pub fn entered(&mut self, desk: &Desk) -> Vec<Effect> {
        let effects = self.take_up(desk);
        if self.can_begin(desk) {
            return vec![survey_form(desk).over()];
        }
        effects
    }

    /// Takes up the survey to go on with, and its first look, unless one is in hand already.
    fn take_up(&mut self, desk: &Desk) -> Vec<Effect> {
        let Some(car) = &desk.car else { return Vec::new() };
        let there = |date: Date| car.surveys.iter().any(|s| s.date == date);
        if self.survey.is_some_and(there) {
            return Vec::new();
        }
        *self = Model {
            survey: in_hand(car, &desk.stops, desk.today),
            ..Model::default()
        };
        if self.survey.is_none() {
            return Vec::new();
        }
        self.at = self.next_open(desk, None).unwrap_or(0);
        self.take_up_first(desk)
    }

    /// Whether a survey is to be begun before anything can be looked at.
    fn can_begin(&self, desk: &Desk) -> bool {
        self.survey.is_none() && !desk.stops.is_empty() && !matches!(desk.keeping, Keeping::ReadOnly(_))
    }

    /// Whether what is asked can do anything now: without a survey there is nothing to write a look into.
    #[must_use]
    pub fn is_of_use(&self, command: Command) -> bool {
        self.survey.is_some()
            || !matches!(
                command,
                Command::NotSeen | Command::NextOpen | Command::Note | Command::AddPhoto | Command::OtherPane
            )
    }

    /// A survey was begun, or its odometer corrected.
    pub fn begun(&mut self, desk: &Desk, date: Date, first: bool) -> Vec<Effect> {
        if self.survey != Some(date) {
            *self = Model {
                survey: Some(date),
                ..Model::default()
            };
            self.at = self.next_open(desk, None).unwrap_or(0);
        }
        if first { self.ask_first(desk) } else { Vec::new() }
    }

    /// The places whose keys hold.
    #[must_use]
    pub fn places(&self, desk: &Desk) -> Vec<Place> {
        if self.looks_again() {
            return vec![Place::RoundAgain, Place::Everywhere];
        }
        if self.asking_why {
            return vec![Place::RoundWhy, Place::Everywhere];
        }
        let kind = desk.stops.get(self.at).and_then(|s| desk.check_at(s)).map(|c| &c.kind);
        if self.asks == first::Asks::WaitsForFirst {
            return vec![Place::RoundWaits, Place::OfCar, Place::Everywhere];
        }
        let mut places = match kind.filter(|_| self.survey.is_some()) {
            Some(CheckKind::Graded(_)) => vec![Place::RoundGrade],
            Some(CheckKind::Measured(_)) => vec![Place::RoundReading],
            Some(CheckKind::YesNo(_)) => vec![Place::RoundAnswer],
            None if self.can_begin(desk) => vec![Place::RoundBegin],
            None => Vec::new(),
        };
        places.extend([Place::Round, Place::OfCar, Place::Everywhere]);
        places
    }

    /// The look that the survey in hand has of a stop.
    fn look<'d>(&self, desk: &'d Desk, stop: &Stop) -> Option<&'d Look> {
        let date = self.survey?;
        let survey = desk.car.as_ref()?.surveys.iter().find(|s| s.date == date)?;
        survey.look(&stop.part, &stop.check)
    }

    /// Whether a stop is still to be looked at: it has no look, or was left for later.
    fn is_open(&self, desk: &Desk, stop: &Stop) -> bool {
        self.look(desk, stop)
            .is_none_or(|l| l.seen == Seen::Not(NotSeen::Later))
    }

    /// The next open stop after one, going round; from the first one if none is given.
    fn next_open(&self, desk: &Desk, after: Option<usize>) -> Option<usize> {
        let from = after.map_or(0, |a| a + 1);
        (from..desk.stops.len()).chain(0..from.min(desk.stops.len())).find(|n| {
            desk.stops
                .get(*n)
                .is_some_and(|s| self.asks_for(s) && self.is_open(desk, s))
        })
    }

    /// Takes a key that is no command: a character of a reading.
    pub fn type_key(&mut self, desk: &Desk, key: Key) {
        let Key::Char(c) = key else { return };
        let measured = matches!(
            desk.stops.get(self.at).and_then(|s| desk.check_at(s)).map(|c| &c.kind),
            Some(CheckKind::Measured(_))
        );
        if measured && self.survey.is_some() && !self.asking_why && (c.is_ascii_digit() || matches!(c, '.' | ',' | '-'))
        {
            let typed = self.typed.entry(self.at).or_default();
            typed.doubted = None;
            if typed.typing.len() < 12 {
                typed.typing.push(c);
            }
        }
    }

    /// Does what is asked.
    pub fn update(&mut self, desk: &Desk, command: Command) -> Vec<Effect> {
        if self.looks_again() {
            return self.update_again(desk, command);
        }
        if let Command::Because(n) = command {
            self.asking_why = false;
            let why = NotSeen::ALL.get(n).copied().unwrap_or(NotSeen::Later);
            return self.give(desk, Seen::Not(why));
        }
        if self.asking_why {
            self.asking_why = false;
            return Vec::new();
        }
        match command {
            Command::Grade(digit) => {
                return Grade::new(digit).map_or_else(Vec::new, |grade| self.give(desk, Seen::Grade(grade)));
            }
            Command::Yes => return self.give(desk, Seen::Answer(true)),
            Command::No => return self.give(desk, Seen::Answer(false)),
            Command::TakeReading => return self.take_reading(desk),
            Command::RubOut => {
                let typed = self.typed.entry(self.at).or_default();
                typed.doubted = None;
                if typed.typing.pop().is_none() {
                    typed.points.pop();
                }
            }
            Command::NotSeen => self.asking_why = self.survey.is_some() && !desk.stops.is_empty(),
            Command::Previous => {
                let before = self.asked(desk).rev().find(|(at, _)| *at < self.at);
                self.at = before.map_or(self.at, |(at, _)| at);
            }
            Command::Next => {
                let after = self.asked(desk).find(|(at, _)| *at > self.at);
                self.at = after.map_or(self.at, |(at, _)| at);
            }
            Command::First => {
                let first = self.asked(desk).next();
                self.at = first.map_or(0, |(at, _)| at);
            }
            Command::Last => {
                let last = self.asked(desk).next_back();
                self.at = last.map_or(0, |(at, _)| at);
            }
            Command::OtherPane => return self.other_round(desk),
            Command::Jump => return vec![self.jump(desk)],
            Command::NextOpen => match self.next_open(desk, Some(self.at)) {
                Some(at) => self.at = at,
                None => return vec![Effect::Say("Every check of this survey has a look.".to_owned())],
            },
            Command::Search => return vec![self.search(desk)],
            Command::ReadOn => return draw::read_on(desk, self.at),
            Command::Note => return self.ask_note(desk),
            Command::AddPhoto => return self.ask_photo(desk),
            Command::ShowPhotos => return self.show_photos(desk),
            Command::OpenPhoto => return self.open_photo(desk),
            Command::New => return vec![survey_form(desk).over()],
            Command::LookAgain => return self.look_again(desk),
            _ => {}
        }
        Vec::new()
    }

    /// Asks for a look to be recorded.
    fn give(&mut self, desk: &Desk, seen: Seen) -> Vec<Effect> {
        let (Some(survey), Some(stop)) = (self.survey, desk.stops.get(self.at)) else {
            return vec![Effect::Say("No survey is begun; B begins one.".to_owned())];
        };
        let before = self.look(desk, stop).cloned();
        let look = Look {
            part: stop.part.clone(),
            check: stop.check.clone(),
            seen,
            note: before.as_ref().map_or_else(String::new, |l| l.note.clone()),
            photos: before.as_ref().map_or_else(Vec::new, |l| l.photos.clone()),
        };
        vec![Effect::Record {
            changes: vec![Change::Look { survey, look }],
            then: Then::Looked(self.at),
        }]
    }

    /// The look is on disk: says how it differs from the survey before, and goes on.
    pub fn looked(&mut self, desk: &Desk, at: usize) {
        self.typed.remove(&at);
        self.newest = desk.stops.get(at).map(|stop| self.compared(desk, stop));
        self.at = self.next_open(desk, Some(at)).unwrap_or(at);
    }

    /// A look in words, with the difference from the last time anything was seen.
    fn compared(&self, desk: &Desk, stop: &Stop) -> String {
        let check = desk.check_at(stop);
        let name = check.map_or(stop.check.as_str(), |c| c.name.as_str());
        let Some(now) = self.look(desk, stop) else {
            return String::new();
        };
        let mut line = format!(
            "{} – {name}: {}",
            words::part(&desk.library, &stop.part),
            words::seen(&now.seen, check)
        );
        let earlier = desk.car.as_ref().and_then(|car| {
            car.surveys
                .iter()
                .rev()
                .filter(|s| self.survey.is_none_or(|date| s.date < date))
                .find_map(|s| Some((s.date, s.look(&stop.part, &stop.check).filter(|l| l.seen.is_seen())?)))
        });
        if let Some((date, then)) = earlier {
            line.push_str(&format!("; on {date} it was {}", words::seen(&then.seen, check)));
            if let (Seen::Grade(now), Seen::Grade(then)) = (&now.seen, &then.seen) {
                let (now, then) = (now.digit(), then.digit());
                line.push_str(&match now.cmp(&then) {
                    std::cmp::Ordering::Greater => {
                        format!(", {} worse", words::count(usize::from(now - then), "grade"))
                    }
                    std::cmp::Ordering::Less => format!(", {} better", words::count(usize::from(then - now), "grade")),
                    std::cmp::Ordering::Equal => ", the same".to_owned(),
                });
            }
        }
        line
    }

    fn take_reading(&mut self, desk: &Desk) -> Vec<Effect> {
        let Some(CheckKind::Measured(measure)) =
            desk.stops.get(self.at).and_then(|s| desk.check_at(s)).map(|c| &c.kind)
        else {
            return Vec::new();
        };
        let typed = self.typed.entry(self.at).or_default();
        let value = match parse_decimal(&typed.typing) {
            Ok(value) => value,
            Err(_) if typed.typing.is_empty() => {
                return vec![Effect::Say(format!(
                    "Type the reading in {}, then Enter; x if it was not seen.",
                    measure.unit
                ))];
            }
            Err(why) => return vec![Effect::Say(why)],
        };
        if let Some(doubt) = doubt(measure, value)
            && typed.doubted.as_deref() != Some(typed.typing.as_str())
        {
            typed.doubted = Some(typed.typing.clone());
            return vec![Effect::Say(doubt)];
        }
        typed.points.push(value);
        typed.typing.clear();
        typed.doubted = None;
        if typed.points.len() < measure.points.len().max(1) {
            return Vec::new();
        }
        // Kept until the look is on disk: a failed save must not cost the readings.
        let readings = typed.points.clone();
        if let Some(last) = typed.points.pop() {
            typed.typing = last.to_string();
        }
        self.give(desk, Seen::Reading(readings))
    }

    /// What takes the last look of the survey in hand back, or the survey itself if it has none, for one come back to in another
    /// sitting.
    #[must_use]
    pub fn last_look(&self, desk: &Desk) -> Option<Vec<Change>> {
        let date = self.survey?;
        let survey = desk.car.as_ref()?.surveys.iter().find(|s| s.date == date)?;
        match survey.looks.last() {
            Some(look) => Some(vec![Change::Unlook {
                survey: date,
                part: look.part.clone(),
                check: look.check.clone(),
            }]),
            None if survey.second_looks.is_empty() => Some(vec![Change::Unbegun(date)]),
            None => None,
        }
    }

    /// Changes were taken back or made again: goes to the look among them, if it is one of the survey in hand, which may itself
    /// be gone or have come back.
    pub fn laid_anew(&mut self, desk: &Desk, changes: &[Change]) -> Vec<Effect> {
        let effects = self.take_up(desk);
        self.newest = None;
        let touched = changes.iter().rev().find_map(|change| match change {
            Change::Look { survey, look } => Some((*survey, &look.part, &look.check)),
            Change::Unlook { survey, part, check } => Some((*survey, part, check)),
            _ => None,
        });
        if let Some((survey, part, check)) = touched
            && self.survey == Some(survey)
            && let Some(at) = desk.stops.iter().position(|s| s.part == *part && s.check == *check)
        {
            self.at = at;
            self.typed.remove(&at);
        }
        self.at = self.at.min(desk.stops.len().saturating_sub(1));
        effects
    }

    fn search(&self, desk: &Desk) -> Effect {
        let lines = desk
            .stops
            .iter()
            .map(|stop| {
                let line = format!(
                    "{} – {}",
                    words::part(&desk.library, &stop.part),
                    check_name(desk, stop)
                );
                let tag = self
                    .look(desk, stop)
                    .map_or_else(|| "to do".to_owned(), |l| words::seen(&l.seen, desk.check_at(stop)));
                (line, tag)
            })
            .collect();
        let parts = desk.stops.iter().map(|stop| vec![stop.part.clone()]).collect();
        let list = pick::Model::new("Go to a check", pick::For::Round, lines, self.at).of_parts(parts);
        Effect::Over(Box::new(Over::Pick(list)))
    }

    /// Stops asking why something was not seen; says whether it was.
    pub fn stop_asking(&mut self) -> bool {
        std::mem::take(&mut self.asking_why)
    }

    /// Goes to a stop.
    pub fn go_to(&mut self, at: usize) {
        self.at = at;
    }

    fn ask_note(&self, desk: &Desk) -> Vec<Effect> {
        let (Some(stop), Some(date)) = (desk.stops.get(self.at), self.survey) else {
            return Vec::new();
        };
        let note = self.look(desk, stop).map_or("", |l| l.note.as_str());
        let about = format!(
            "{} – {}",
            words::part(&desk.library, &stop.part),
            check_name(desk, stop)
        );
        let line = form::Line::note(
            "Note",
            "Kept with this look. Without a grade yet, the check stays open.",
            note,
        );
        vec![form::Model::new("Note", &about, Purpose::LookNote(date, self.at), vec![line]).over()]
    }
}

/// A stop's check by name.
fn check_name(desk: &Desk, stop: &Stop) -> String {
    words::check(&desk.library, &stop.part.component, &stop.check)
}

/// Says what is strange about a reading far outside the stretch from new to limit, or below zero where that cannot be.
fn doubt(measure: &Measure, value: f64) -> Option<String> {
    let span = measure.limit - measure.new;
    let damage = if span == 0.0 { 0.0 } else { (value - measure.new) / span };
    let below = value < 0.0 && measure.new >= 0.0 && measure.limit >= 0.0;
    (below || !(-1.0..=4.0).contains(&damage)).then(|| {
        format!(
            "{value} {}? New is {}, the limit {}. Enter again keeps it; Backspace corrects.",
            measure.unit, measure.new, measure.limit
        )
    })
}

/// Takes a note into the look of a stop; a stop without a look gets one that says `left for later`.
///
/// # Errors
/// The line that is wrong, and why.
pub fn submit_note(desk: &Desk, form: &form::Model, date: Date, stop: usize) -> Result<Vec<Effect>, Wrong> {
    let car = desk.car.as_ref().ok_or((0, "There is no car in hand.".to_owned()))?;
    let stop = desk
        .stops
        .get(stop)
        .ok_or((0, "That check is no longer on this car.".to_owned()))?;
    let survey = car
        .surveys
        .iter()
        .find(|s| s.date == date)
        .ok_or((0, "Begin a survey first.".to_owned()))?;
    let mut look = survey.look(&stop.part, &stop.check).cloned().unwrap_or(Look {
        part: stop.part.clone(),
        check: stop.check.clone(),
        seen: Seen::Not(NotSeen::Later),
        note: String::new(),
        photos: Vec::new(),
    });
    look.note = form.text(0);
    Ok(vec![Effect::Record {
        changes: vec![Change::Look {
            survey: survey.date,
            look,
        }],
        then: Then::CloseForm("The note is kept.".to_owned()),
    }])
}
