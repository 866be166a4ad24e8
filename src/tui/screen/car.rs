//! The Car: its profile line by line, and its parts with what their owner has said of them.

use ratatui::buffer::Buffer;
use ratatui::layout::Rect;

use super::form::{self, Purpose, Wrong};
use super::profile::Line;
use super::sieve::Sieve;
use super::{Effect, Over, Then, pick};
use crate::car::{Car, Change, OwnLimit, PartNote};
use crate::report::words;
use crate::rubric::{CheckKind, PartId};
use crate::text;
use crate::tui::desk::{Desk, Keeping};
use crate::tui::keys::{Command, Place};
use crate::tui::widget::{part_in, put, put_right_of, step, tint, window};

/// The Car.
#[derive(Debug, Clone, Default)]
pub struct Model {
    parts: bool,
    line: usize,
    part: usize,
    sieve: Sieve,
}

impl Model {
    /// The places whose keys hold.
    #[must_use]
    pub fn places(&self) -> Vec<Place> {
        let own: &[Place] = if self.parts {
            &[Place::Parts, Place::Sieve]
        } else {
            &[Place::Profile]
        };
        [own, &[Place::List, Place::OfCar, Place::Everywhere]].concat()
    }

    /// Does what is asked.
    pub fn update(&mut self, desk: &Desk, command: Command) -> Vec<Effect> {
        let Some(car) = desk.car.clone() else { return Vec::new() };
        let parts = self.listed(desk, &car);
        let total = if self.parts {
            parts.len()
        } else {
            Line::all(&desk.library).len()
        };
        let at = if self.parts { &mut self.part } else { &mut self.line };
        if let Some(by) = command.by(10) {
            *at = step(*at, by, total);
            return Vec::new();
        }
        match command {
            Command::OtherPane => self.parts = !self.parts,
            Command::Search => {
                let lines = parts
                    .iter()
                    .map(|p| (words::part(&desk.library, p), said(&car, p)))
                    .collect();
                let of = parts.iter().map(|p| vec![p.clone()]).collect();
                let list = pick::Model::new("Go to a part", pick::For::Parts, lines, self.part).of_parts(of);
                return vec![Effect::Over(Box::new(Over::Pick(list)))];
            }
            _ if self.parts && self.sieve.update(desk, command) => self.part = 0,
            _ if matches!(desk.keeping, Keeping::ReadOnly(_)) => {
                if let Keeping::ReadOnly(who) = &desk.keeping {
                    return vec![Effect::Say(format!("Not kept: {who}"))];
                }
            }
            Command::Open => {
                if let Some(line) = Line::all(&desk.library).get(self.line) {
                    let asked = line.ask(&car.profile, &desk.library);
                    let form = form::Model::new("Profile", "", Purpose::Profile(*line), vec![asked]);
                    return vec![form.over()];
                }
            }
            Command::Tick | Command::Fitted | Command::OwnLimit | Command::Note => {
                if let Some(part) = parts.get(self.part) {
                    return of_part(desk, &car, part, command);
                }
            }
            _ => {}
        }
        Vec::new()
    }

    /// The parts that pass the filter.
    fn listed(&self, desk: &Desk, car: &Car) -> Vec<PartId> {
        let mut parts = all_parts(desk, car);
        parts.retain(|id| self.sieve.passes(desk, id));
        parts
    }

    /// Lets every part pass; says whether some were held back.
    pub fn clear_sieve(&mut self) -> bool {
        self.parts && self.sieve.clear()
    }

    /// A part was chosen from the search list.
    pub fn chosen(&mut self, line: usize) {
        self.parts = true;
        self.part = line;
    }

    /// Draws it.
    pub fn view(&self, desk: &Desk, area: Rect, buf: &mut Buffer) {
        let theme = &desk.theme;
        let Some(car) = &desk.car else { return };
        let mut x = 1;
        for (parts, name) in [(false, " Profile "), (true, " Parts ")] {
            let style = if parts == self.parts {
                theme.selected()
            } else {
                theme.dim()
            };
            x += put(buf, area, x, 0, name, style) + 1;
        }
        let surveys = format!("{} ", words::count(car.surveys.len(), "survey"));
        let facts = format!("{}, {} ", surveys.trim_end(), words::count(car.repairs.len(), "repair"));
        match self.sieve.words().filter(|_| self.parts) {
            Some(only) => put_right_of(buf, area, 0, x, &[&format!("{only} "), &only], theme.accent()),
            None => put_right_of(buf, area, 0, x, &[&format!("{facts}done "), &surveys], theme.dim()),
        }
        let list = Rect::new(
            area.x + 1,
            area.y + 1,
            area.width.saturating_sub(2),
            area.height.saturating_sub(1),
        )
        .intersection(area);
        if self.parts {
            self.draw_parts(desk, car, list, buf);
            return;
        }
        let lines = Line::all(&desk.library);
        for (dy, n) in (0..list.height).zip(window(self.line, lines.len(), list.height)) {
            let Some(line) = lines.get(n) else { continue };
            let (label, value) = line.shown(&car.profile, &desk.library);
            // On a narrow screen the values need the room.
            let label_wide = if list.width < 60 { 16 } else { 22 };
            put(
                buf,
                list,
                0,
                dy,
                &text::fit(&label, usize::from(label_wide)),
                theme.dim(),
            );
            let value_at = if list.width < 60 {
                label_wide + 1
            } else {
                label_wide + 2
            };
            put(buf, list, value_at, dy, &value, theme.text());
            if n == self.line {
                tint(buf, list, dy, theme.selected());
            }
        }
    }

    fn draw_parts(&self, desk: &Desk, car: &Car, area: Rect, buf: &mut Buffer) {
        let theme = &desk.theme;
        let parts = self.listed(desk, car);
        let name_wide = if area.width < 60 {
            area.width * 2 / 3
        } else {
            (area.width / 2).min(50)
        };
        for (dy, n) in (0..area.height).zip(window(self.part, parts.len(), area.height)) {
            let Some(id) = parts.get(n) else { continue };
            let absent = car.parts.get(id).is_some_and(|p| p.not_fitted);
            let style = if absent { theme.dim() } else { theme.text() };
            put(buf, area, 0, dy, &part_in(&desk.library, id, name_wide), style);
            put(buf, area, name_wide + 1, dy, &said(car, id), style);
            if n == self.part {
                tint(buf, area, dy, theme.selected());
            }
        }
    }
}

/// All parts that are, or could be, on the car: those not fitted too.
fn all_parts(desk: &Desk, car: &Car) -> Vec<PartId> {
    let mut parts = desk.library.placed(&car.profile.layout);
    parts.extend(
        car.parts
            .keys()
            .filter(|id| !parts.contains(id))
            .cloned()
            .collect::<Vec<_>>(),
    );
    parts.retain(|id| desk.library.component(&id.component).is_some());
    parts
}

/// What the owner has said of a part, in a line.
fn said(car: &Car, id: &PartId) -> String {
    let Some(note) = car.parts.get(id) else {
        return String::new();
    };
    let mut said: Vec<String> = Vec::new();
    if note.not_fitted {
        said.push("not fitted".to_owned());
    }
    if note.added {
        said.push("added".to_owned());
    }
    said.extend(note.fitted.map(|d| format!("fitted new {d}")));
    said.extend(
        note.limits
            .iter()
            .map(|l| format!("{} limit {} ({})", l.check, l.limit, l.source)),
    );
    said.extend(note.torques.iter().map(|own| format!("{} {}", own.fixing, own.torque)));
    if !note.note.is_empty() {
        said.push(note.note.clone());
    }
    said.join("; ")
}

fn of_part(desk: &Desk, car: &Car, part: &PartId, command: Command) -> Vec<Effect> {
    let note = car.parts.get(part).cloned().unwrap_or_default();
    let name = words::part(&desk.library, part);
    match command {
        Command::Tick => {
            let said = if note.not_fitted {
                format!("{name} is on this car.")
            } else {
                format!("{name} is not on this car.")
            };
            let not_fitted = !note.not_fitted;
            vec![Effect::Record {
                changes: vec![Change::Part(part.clone(), PartNote { not_fitted, ..note })],
                then: Then::Say(said),
            }]
        }
        Command::Fitted => {
            let held = note.fitted.map_or_else(String::new, text::day);
            let line = form::Line::text(
                "Fitted new on",
                "2019-06-01, 2019-06 or 2019; empty if not known.",
                &held,
            );
            vec![form::Model::new("Fitted", &name, Purpose::Fitted(part.clone()), vec![line]).over()]
        }
        Command::Note => {
            let line = form::Line::note("Note", "Anything worth keeping about this part.", &note.note);
            vec![form::Model::new("Note", &name, Purpose::PartNote(part.clone()), vec![line]).over()]
        }
        _ => limit_form(desk, part, &note),
    }
}

fn limit_form(desk: &Desk, part: &PartId, note: &PartNote) -> Vec<Effect> {
    let checks = desk
        .library
        .component(&part.component)
        .map(|c| c.checks.as_slice())
        .unwrap_or_default();
    let measured: Vec<_> = checks
        .iter()
        .filter(|c| matches!(c.kind, CheckKind::Measured(_)))
        .collect();
    let Some(first) = measured.first() else {
        return vec![Effect::Say(
            "Nothing is measured on this part, so it has no limit of its own.".to_owned(),
        )];
    };
    let held = note.limits.iter().find(|l| l.check == first.id);
    let names = measured
        .iter()
        .map(|c| match &c.kind {
            CheckKind::Measured(m) => format!("{}, {} (usual {} to {})", c.name, m.unit, m.new, m.limit),
            _ => c.name.clone(),
        })
        .collect();
    let text_of = |n: Option<f64>| n.map_or_else(String::new, |n| n.to_string());
    let lines = vec![
        form::Line::one("For", "← and → choose.", names, 0),
        form::Line::text(
            "New",
            "The value of a new part; empty keeps the rubric's.",
            &text_of(held.and_then(|l| l.new)),
        ),
        form::Line::text(
            "Limit",
            "The value at which it is no longer serviceable; empty takes the own limit away.",
            &text_of(held.map(|l| l.limit)),
        ),
        form::Line::text(
            "Where it stands",
            "`workshop manual, chapter 4`, `stamped on the disc`.",
            held.map_or("", |l| &l.source),
        ),
    ];
    let ids = measured.iter().map(|c| c.id.clone()).collect();
    let name = words::part(&desk.library, part);
    vec![form::Model::new("Own limit", &name, Purpose::OwnLimit(part.clone(), ids), lines).over()]
}

/// Takes a line of the profile.
///
/// # Errors
/// The line that is wrong, and why.
pub fn submit_profile(desk: &Desk, form: &form::Model, line: Line) -> Result<Vec<Effect>, Wrong> {
    let mut profile = in_hand(desk)?.profile.clone();
    line.take(form, 0, &mut profile, &desk.library, desk.today)?;
    Ok(close_with(Change::Profile(Box::new(profile))))
}

/// Takes the date a part was fitted.
///
/// # Errors
/// The line that is wrong, and why.
pub fn submit_fitted(desk: &Desk, form: &form::Model, part: &PartId) -> Result<Vec<Effect>, Wrong> {
    let mut note = in_hand(desk)?.parts.get(part).cloned().unwrap_or_default();
    note.fitted = form.date(0)?;
    if note.fitted.is_some_and(|d| d > desk.today) {
        return Err((0, format!("That is after today, {}.", desk.today)));
    }
    Ok(close_with(Change::Part(part.clone(), note)))
}

/// Takes a note on a part.
///
/// # Errors
/// The line that is wrong, and why.
pub fn submit_note(desk: &Desk, form: &form::Model, part: &PartId) -> Result<Vec<Effect>, Wrong> {
    let mut note = in_hand(desk)?.parts.get(part).cloned().unwrap_or_default();
    note.note = form.text(0);
    Ok(close_with(Change::Part(part.clone(), note)))
}

/// Takes a limit of the car's own.
///
/// # Errors
/// The line that is wrong, and why.
pub fn submit_limit(desk: &Desk, form: &form::Model, part: &PartId, checks: &[String]) -> Result<Vec<Effect>, Wrong> {
    let mut note = in_hand(desk)?.parts.get(part).cloned().unwrap_or_default();
    let check = checks
        .get(form.one(0))
        .ok_or((0, "Choose what it is for.".to_owned()))?;
    note.limits.retain(|l| l.check != *check);
    if let Some(limit) = form.number(2, f64::MIN)? {
        let new = form.number(1, f64::MIN)?;
        let usual = match desk.library.check(&part.component, check).map(|c| &c.kind) {
            Some(CheckKind::Measured(m)) => Some(m),
            _ => None,
        };
        if let Some(usual) = usual {
            let new = new.unwrap_or(usual.new);
            if new == limit || (limit > new) != (usual.limit > usual.new) {
                return Err((
                    2,
                    format!(
                        "The limit must lie on the same side of new ({new}) as the rubric's {}.",
                        usual.limit
                    ),
                ));
            }
        }
        let source = form.text(3);
        if source.is_empty() {
            return Err((
                3,
                "Say where the limit stands, so that it can be found again.".to_owned(),
            ));
        }
        note.limits.push(OwnLimit {
            check: check.clone(),
            new,
            limit,
            source,
        });
    }
    Ok(close_with(Change::Part(part.clone(), note)))
}

fn in_hand(desk: &Desk) -> Result<&Car, Wrong> {
    desk.car.as_deref().ok_or((0, "There is no car in hand.".to_owned()))
}

fn close_with(change: Change) -> Vec<Effect> {
    vec![Effect::Record {
        changes: vec![change],
        then: Then::CloseForm("Saved.".to_owned()),
    }]
}
