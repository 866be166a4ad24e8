//! Fixings: a thread, class, finish and grade, and what follows: how tight, what it takes to undo, what to try in order.
//!
//! Opened on a fixing of the car, it shows the manual's value for it and takes one.

mod draw;

use ratatui::buffer::Buffer;
use ratatui::layout::Rect;

use super::form::{self, Purpose, Wrong};
use super::sieve::Sieve;
use super::{Effect, Over, Then, pick};
use crate::car::{Car, Change, OwnTorque, Seen};
use crate::engine::fixings::{Condition, Figures, FixingError, figures};
use crate::report::{tightening, words};
use crate::rubric::{Fixing, PartId, StrengthClass, Thread};
use crate::tui::desk::Desk;
use crate::tui::keys::{Command, Key, Place};
use crate::tui::widget::step;
use crate::units::{Grade, Torque};

/// A line that can be changed.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
enum Row {
    #[default]
    Thread,
    Class,
    Finish,
    Grade,
    Core,
}

impl Row {
    const ALL: [Row; 5] = [Row::Thread, Row::Class, Row::Finish, Row::Grade, Row::Core];
}

/// Fixings.
#[derive(Debug, Clone)]
pub struct Model {
    row: Row,
    thread: String,
    class: String,
    condition: Condition,
    grade: Option<Grade>,
    /// Per cent of the core's diameter gone, if it was typed; else what is usual at the grade.
    core: Option<u8>,
    /// What was typed on this line.
    typed: String,
    /// The fixing of the car that is shown.
    of: Option<(PartId, String)>,
    /// How far the text below is scrolled.
    top: usize,
    /// Which of the car's fixings are searched and gone through.
    sieve: Sieve,
}

impl Default for Model {
    fn default() -> Self {
        Model {
            row: Row::Thread,
            thread: "M10x1.5".to_owned(),
            class: "8.8".to_owned(),
            condition: Condition::Dry,
            grade: None,
            core: None,
            typed: String::new(),
            of: None,
            top: 0,
            sieve: Sieve::default(),
        }
    }
}

impl Model {
    /// The places whose keys hold.
    #[must_use]
    pub fn places(&self) -> Vec<Place> {
        vec![
            Place::Fixings,
            Place::Sieve,
            Place::List,
            Place::OfCar,
            Place::Everywhere,
        ]
    }

    /// Shows a fixing of a part: its usual thread and class, and the grade its thread was last seen at.
    pub fn show(&mut self, desk: &Desk, part: PartId, name: String) {
        let fixing = fixing(desk, &part, &name);
        let known = Model::default();
        *self = Model {
            thread: fixing.and_then(|f| f.thread.clone()).unwrap_or(known.thread),
            class: fixing.and_then(|f| f.class.clone()).unwrap_or(known.class),
            condition: self.condition,
            grade: fixing
                .and_then(|f| f.graded_by.as_deref())
                .and_then(|check| seen_grade(desk.car.as_deref()?, &part, check)),
            of: Some((part, name)),
            sieve: self.sieve.clone(),
            ..known
        };
    }

    /// A fixing was chosen from the search list.
    pub fn chosen(&mut self, desk: &Desk, line: usize) {
        if let Some((part, fixing)) = self.passing(desk).into_iter().nth(line) {
            let name = fixing.name.clone();
            self.show(desk, part, name);
        }
    }

    /// Lets every fixing pass; says whether some were held back.
    pub fn clear_sieve(&mut self) -> bool {
        self.sieve.clear()
    }

    /// The car's fixings that pass the filters.
    fn passing<'d>(&self, desk: &'d Desk) -> Vec<(PartId, &'d Fixing)> {
        let mut fixings = all(desk);
        fixings.retain(|(part, _)| self.sieve.passes(desk, part));
        fixings
    }

    /// Goes to the fixing of the car after the one shown, or before it, of those that pass; round and round.
    fn go_on(&mut self, desk: &Desk, forwards: bool) -> Vec<Effect> {
        let passing = self.passing(desk);
        let here = self.of.as_ref().and_then(|(part, name)| {
            let mut places = passing.iter();
            places.position(|(p, fixing)| p == part && fixing.name == *name)
        });
        let last = passing.len().saturating_sub(1);
        let to = match (here, forwards) {
            (Some(at), true) if at < last => at + 1,
            (Some(at), false) if at > 0 => at - 1,
            (_, true) => 0,
            (_, false) => last,
        };
        match passing
            .get(to)
            .map(|(part, fixing)| (part.clone(), fixing.name.clone()))
        {
            Some((part, name)) => {
                let row = self.row;
                self.show(desk, part, name);
                self.row = row;
                Vec::new()
            }
            None => vec![Effect::Say(self.nothing().to_owned())],
        }
    }

    /// Why there is no fixing to go to.
    fn nothing(&self) -> &'static str {
        if self.sieve.words().is_some() {
            "No fixing passes the filter: f, e and t change it, Esc shows all."
        } else {
            "No repair of this car's parts names a fixing; choose a thread and class above."
        }
    }

    /// The search list over the fixings that pass.
    fn search(&self, desk: &Desk) -> Vec<Effect> {
        let passing = self.passing(desk);
        if passing.is_empty() {
            return vec![Effect::Say(self.nothing().to_owned())];
        }
        let here = |(part, fixing): &(PartId, &Fixing)| {
            let of = self.of.as_ref();
            of.is_some_and(|(p, name)| p == part && *name == fixing.name)
        };
        let selected = passing.iter().position(here).unwrap_or(0);
        let line = |(part, fixing): &(PartId, &Fixing)| {
            let own = desk.car.as_ref().and_then(|car| car.torque(part, &fixing.name));
            (
                format!("{}: {}", words::part(&desk.library, part), fixing.name),
                own.map_or_else(String::new, |own| own.torque.to_string()),
            )
        };
        let lines = passing.iter().map(line).collect();
        let parts = passing.iter().map(|(part, _)| vec![part.clone()]).collect();
        let list = pick::Model::new("Go to a fixing", pick::For::Fixing, lines, selected).of_parts(parts);
        vec![Effect::Over(Box::new(Over::Pick(list)))]
    }

    /// Takes a key that is no command: digits on the line under the cursor.
    pub fn type_key(&mut self, desk: &Desk, key: Key) {
        let Key::Char(c) = key else { return };
        let c = match c {
            ',' => '.',
            '×' | '*' => 'x',
            c => c,
        };
        if !(c.is_ascii_digit() || matches!(c, '.' | 'x')) || self.typed.len() > 8 {
            return;
        }
        match self.row {
            Row::Grade => {
                let digit = c.to_digit(10).and_then(|d| u8::try_from(d).ok());
                self.grade = digit.and_then(Grade::new).or(self.grade);
            }
            Row::Finish => {}
            Row::Core => {
                self.typed.push(c);
                match self.typed.parse::<u8>() {
                    Ok(percent) if percent < 100 => self.core = Some(percent),
                    _ => self.typed.clear(),
                }
            }
            Row::Thread | Row::Class => {
                self.typed.push(c);
                self.find_typed(desk);
            }
        }
    }

    /// Goes to the first thread or class that begins as typed.
    fn find_typed(&mut self, desk: &Desk) {
        let all = desk.library.all();
        let begins = |id: &&String| id.trim_start_matches('M').starts_with(&self.typed);
        let (found, into) = match self.row {
            Row::Thread => (all.threads.iter().map(|t| &t.id).find(begins), &mut self.thread),
            _ => (all.strength_classes.iter().map(|c| &c.id).find(begins), &mut self.class),
        };
        if let Some(id) = found {
            into.clone_from(id);
        }
    }

    /// Does what is asked.
    pub fn update(&mut self, desk: &Desk, command: Command) -> Vec<Effect> {
        let at = Row::ALL.iter().position(|row| *row == self.row).unwrap_or(0);
        let to_row = |n: usize| Row::ALL.get(n).copied().unwrap_or_default();
        match command {
            Command::Up | Command::Down => {
                self.row = to_row(step(at, command.by(1).unwrap_or(0), Row::ALL.len()));
                self.typed.clear();
            }
            Command::First | Command::Last | Command::PageUp | Command::PageDown => {
                self.top = step(self.top, command.by(8).unwrap_or(0), draw::deepest(self, desk) + 1);
            }
            Command::Previous => self.turn(desk, false),
            Command::Next => self.turn(desk, true),
            Command::RubOut => {
                self.typed.pop();
                match self.row {
                    Row::Grade => self.grade = None,
                    Row::Core => self.core = self.typed.parse().ok(),
                    _ if !self.typed.is_empty() => self.find_typed(desk),
                    _ => {}
                }
            }
            Command::Search => return self.search(desk),
            Command::FixingAfter | Command::FixingBefore => return self.go_on(desk, command == Command::FixingAfter),
            _ if self.sieve.update(desk, command) => {}
            Command::OwnLimit => return self.ask(desk),
            _ => {}
        }
        self.top = self.top.min(draw::deepest(self, desk));
        Vec::new()
    }

    /// Turns the value under the cursor.
    fn turn(&mut self, desk: &Desk, forwards: bool) {
        let all = desk.library.all();
        let by = if forwards { 1 } else { -1 };
        let turned = |ids: Vec<&String>, present: &String| {
            let at = ids.iter().position(|id| *id == present);
            let to = at.map_or(0, |at| step(at, by, ids.len()));
            ids.get(to).map_or_else(|| present.clone(), |id| (*id).clone())
        };
        self.typed.clear();
        match self.row {
            Row::Thread => self.thread = turned(all.threads.iter().map(|t| &t.id).collect(), &self.thread),
            Row::Class => self.class = turned(all.strength_classes.iter().map(|c| &c.id).collect(), &self.class),
            Row::Finish => {
                let at = Condition::ALL.iter().position(|c| *c == self.condition).unwrap_or(0);
                let to = step(at, by, Condition::ALL.len());
                self.condition = Condition::ALL.get(to).copied().unwrap_or(self.condition);
            }
            Row::Grade => {
                self.grade = match (self.grade, forwards) {
                    (None, true) => Some(Grade::NEW),
                    (None, false) => None,
                    (Some(grade), true) => Grade::new(grade.digit() + 1).or(self.grade),
                    (Some(grade), false) => grade.digit().checked_sub(1).and_then(Grade::new),
                };
            }
            Row::Core => {
                let present = self.core.unwrap_or_else(|| self.usual_core(desk));
                self.core = Some(if forwards {
                    present.saturating_add(5).min(95)
                } else {
                    present.saturating_sub(5)
                });
            }
        }
    }

    /// Per cent of the core that is usually gone at the grade.
    fn usual_core(&self, desk: &Desk) -> u8 {
        let row = self.grade.and_then(|grade| desk.library.thread_grade(grade));
        let percent = row.map_or(0.0, |row| (row.core_lost * 100.0).round());
        (0..100).find(|n| f64::from(*n) >= percent).unwrap_or(0)
    }

    /// The share of the core that is reckoned with.
    fn core_lost(&self, desk: &Desk) -> f64 {
        match (self.core, self.grade.and_then(|grade| desk.library.thread_grade(grade))) {
            (Some(percent), _) => f64::from(percent) / 100.0,
            (None, Some(row)) => row.core_lost,
            (None, None) => 0.0,
        }
    }

    fn thread<'d>(&self, desk: &'d Desk) -> Option<&'d Thread> {
        desk.library.thread(&self.thread)
    }

    fn class<'d>(&self, desk: &'d Desk) -> Option<&'d StrengthClass> {
        desk.library.strength_class(&self.class)
    }

    /// The figures of what is chosen; `None` where the rubrics do not know it.
    fn figures(&self, desk: &Desk) -> Option<Result<Figures, FixingError>> {
        let (thread, class) = self.thread(desk).zip(self.class(desk))?;
        let rust = self.grade.map(|grade| (grade, self.core_lost(desk)));
        Some(figures(thread, class, self.condition, None, rust))
    }

    /// The manual's value for the fixing shown.
    fn own<'d>(&self, desk: &'d Desk) -> Option<&'d OwnTorque> {
        let (part, name) = self.of.as_ref()?;
        desk.car.as_ref()?.torque(part, name)
    }

    /// Asks for the manual's value.
    fn ask(&self, desk: &Desk) -> Vec<Effect> {
        let Some((part, name)) = &self.of else {
            return self.search(desk);
        };
        let own = self.own(desk);
        let mut lines = vec![
            form::Line::text(
                "Tightening value",
                "45, 33 lbf·ft, 45-55 N·m or 60 N·m + 90°; empty takes it away again.",
                &own.map_or_else(String::new, |own| own.torque.as_typed()),
            ),
            form::Line::text(
                "Where it stands",
                "`workshop manual, chapter 7`; may be left empty.",
                own.map_or("", |own| own.source.as_str()),
            ),
        ];
        if other_side(desk, part) {
            let sides = vec!["both sides".to_owned(), "this side alone".to_owned()];
            lines.push(form::Line::one("For", "← and → choose.", sides, 0));
        }
        let about = format!(
            "{}: {name}. The value of the car's own manual; it wins over every guide.",
            words::part(&desk.library, part)
        );
        vec![
            form::Model::new(
                "Manual's value",
                &about,
                Purpose::OwnTorque(part.clone(), name.clone()),
                lines,
            )
            .over(),
        ]
    }

    /// Draws it.
    pub fn view(&self, desk: &Desk, area: Rect, buf: &mut Buffer) {
        draw::view(self, desk, area, buf);
    }
}

/// A fixing of a part by its name.
fn fixing<'d>(desk: &'d Desk, part: &PartId, name: &str) -> Option<&'d Fixing> {
    tightening::fixings_of(&desk.library, &part.component)
        .into_iter()
        .find(|f| f.name == name)
}

fn seen_grade(car: &Car, part: &PartId, check: &str) -> Option<Grade> {
    match car.last_seen(part, check)?.1.seen {
        Seen::Grade(grade) => Some(grade),
        _ => None,
    }
}

fn other_side(desk: &Desk, part: &PartId) -> bool {
    desk.car
        .as_ref()
        .is_some_and(|car| tightening::sides(&car.part_ids(&desk.library), part, false).len() > 1)
}

/// Every fixing of the car's parts.
fn all(desk: &Desk) -> Vec<(PartId, &Fixing)> {
    let Some(car) = &desk.car else { return Vec::new() };
    car.part_ids(&desk.library)
        .into_iter()
        .flat_map(|part| {
            let fixings = tightening::fixings_of(&desk.library, &part.component);
            fixings.into_iter().map(move |fixing| (part.clone(), fixing))
        })
        .collect()
}

/// Takes the manual's value for a fixing.
///
/// # Errors
/// The line that is wrong, and why.
pub fn submit(desk: &Desk, form: &form::Model, part: &PartId, name: &str) -> Result<Vec<Effect>, Wrong> {
    let car = desk.car.as_deref().ok_or((0, "There is no car in hand.".to_owned()))?;
    let one_side = other_side(desk, part) && form.one(2) == 1;
    let parts = tightening::sides(&car.part_ids(&desk.library), part, one_side);
    let typed = form.text(0);
    let (changes, said) = if typed.is_empty() {
        let kept = parts.into_iter().filter(|part| car.torque(part, name).is_some());
        let changes: Vec<Change> = kept.map(|part| Change::NoTorque(part, name.to_owned())).collect();
        (changes, "No value of your own is kept for it.".to_owned())
    } else {
        let torque = Torque::parse(&typed).map_err(|why| (0, why))?;
        let odd = fixing(desk, part, name).and_then(|fixing| tightening::odd(&desk.library, fixing, &torque));
        let said = match odd {
            Some(_) => "Saved, but it is not what such a thread usually has: read the manual once more.".to_owned(),
            None => "Saved.".to_owned(),
        };
        let own = OwnTorque {
            fixing: name.to_owned(),
            torque,
            source: form.text(1),
        };
        let changes = parts
            .into_iter()
            .map(|part| Change::Torque(part, own.clone()))
            .collect();
        (changes, said)
    };
    if changes.is_empty() {
        return Ok(vec![Effect::CloseOver, Effect::Say(said)]);
    }
    Ok(vec![Effect::Record {
        changes,
        then: Then::CloseForm(said),
    }])
}
