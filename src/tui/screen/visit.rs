//! Inside a visit: its worksheet. Why it stands here, the work and what else could be done while it is open, what must be
//! ready, the steps of the day with their cautions, the tightening table, and when one may stop.

mod draw;
mod leave;

pub use leave::submit as submit_leave;

use ratatui::buffer::Buffer;
use ratatui::layout::Rect;

use super::form::{self, Purpose, Wrong};
use super::{Effect, Over, Then, confirm, standing};
use crate::car::{Change, RepairDone, TorqueUsed};
use crate::engine::plan::measure::planned_hours;
use crate::engine::plan::{Offer, Visit, Work};
use crate::report::words;
use crate::rubric::PartId;
use crate::tui::desk::{Desk, Keeping};
use crate::tui::keys::Command;
use crate::tui::widget::step;
use crate::units::Torque;

/// An open visit.
#[derive(Debug, Clone, Default)]
pub struct Model {
    /// The line in the middle of attention.
    at: usize,
}

/// A line that can be acted on.
enum Target<'v> {
    Work(&'v Work),
    Offer(&'v Offer),
    Fixing(PartId, String),
}

impl Model {
    /// A visit just opened, with its first repair in the middle of attention.
    #[must_use]
    pub fn opened(desk: &Desk, visit: &Visit) -> Model {
        let first = draw::lines(desk, visit).iter().position(|line| line.of.is_some());
        Model { at: first.unwrap_or(0) }
    }

    /// Does what is asked.
    pub fn update(&mut self, desk: &Desk, visit: &Visit, command: Command) -> Vec<Effect> {
        let lines = draw::lines(desk, visit);
        let total = lines.len();
        if let Some(by) = command.by(12) {
            self.at = step(self.at, by, total);
            return Vec::new();
        }
        match command {
            Command::OtherPane => {
                let next = lines
                    .iter()
                    .enumerate()
                    .skip(self.at + 1)
                    .find(|(_, line)| line.heading);
                self.at = next.map_or(self.at, |(at, _)| at);
            }
            Command::Previous => {
                let before = lines
                    .iter()
                    .enumerate()
                    .take(self.at)
                    .rev()
                    .find(|(_, line)| line.heading);
                self.at = before.map_or(0, |(at, _)| at);
            }
            Command::Fixing => {
                return match self.target(desk, visit) {
                    Some(Target::Fixing(part, name)) => vec![Effect::ShowFixing(part, name)],
                    _ => vec![Effect::Say(
                        "Move to a thread to soak or a fixing to tighten first.".to_owned(),
                    )],
                };
            }
            Command::Tick => {
                return match self.target(desk, visit) {
                    Some(Target::Fixing(part, name)) => vec![Effect::ShowFixing(part, name)],
                    Some(Target::Offer(offer)) => standing::tick(desk, &offer.part),
                    Some(Target::Work(work)) if ticked(desk, &work.part) => standing::tick(desk, &work.part),
                    _ => vec![Effect::Say(
                        "Move to a line of “While you are in there” first; Space adds it.".to_owned(),
                    )],
                };
            }
            Command::Done => {
                return match self.work(desk, visit) {
                    Some(work) => vec![done_form(desk, work).over()],
                    None => vec![say_choose()],
                };
            }
            Command::Leave => {
                return match self.work(desk, visit) {
                    Some(work) => vec![leave::form(desk, work).over()],
                    None => vec![say_choose()],
                };
            }
            Command::Pin => {
                return match self.work(desk, visit) {
                    Some(work) => vec![pin_form(desk, visit, work).over()],
                    None => vec![say_choose()],
                };
            }
            Command::Instead => {
                return match self.work(desk, visit) {
                    Some(work) => instead(desk, work),
                    None => vec![say_choose()],
                };
            }
            _ => {}
        }
        Vec::new()
    }

    fn target<'v>(&self, desk: &Desk, visit: &'v Visit) -> Option<Target<'v>> {
        let line = draw::lines(desk, visit).into_iter().nth(self.at)?;
        match line.of? {
            draw::Of::Work(n) => visit.work.get(n).map(Target::Work),
            draw::Of::Offer(n) => visit.while_in_there.get(n).map(Target::Offer),
            draw::Of::Soak(n) => visit
                .soak
                .get(n)
                .map(|s| Target::Fixing(s.part.clone(), s.fixing.clone())),
            draw::Of::Tighten(n) => {
                let tightening = visit.tightening.get(n)?;
                let repair = desk.library.repair(&tightening.repair)?;
                let fixing = repair.fixings.get(tightening.fixing)?;
                Some(Target::Fixing(tightening.part.clone(), fixing.name.clone()))
            }
        }
    }

    /// The repair the attention is on; the only one of a visit needs no choosing.
    fn work<'v>(&self, desk: &Desk, visit: &'v Visit) -> Option<&'v Work> {
        match self.target(desk, visit) {
            Some(Target::Work(work)) => Some(work),
            Some(Target::Offer(_) | Target::Fixing(..)) => None,
            None => visit.work.first().filter(|_| visit.work.len() == 1),
        }
    }

    /// Draws it.
    pub fn view(&self, desk: &Desk, visit: &Visit, number: (usize, usize), area: Rect, buf: &mut Buffer) {
        draw::view(desk, visit, number, self.at, area, buf);
    }
}

fn say_choose() -> Effect {
    Effect::Say("Move to one of the repairs of this visit first.".to_owned())
}

fn ticked(desk: &Desk, part: &PartId) -> bool {
    desk.car.as_ref().is_some_and(|c| c.wishes.ticked.contains(part))
}

fn done_form(desk: &Desk, work: &Work) -> form::Model {
    let profile = desk.car.as_ref().map(|c| &c.profile);
    let sign = profile.map_or("km", |p| p.distance_unit.sign());
    let money = profile.map_or("", |p| p.budget.currency.as_str());
    form::Model::new(
        "Repair done",
        &format!(
            "{} – {}",
            words::repair(&desk.library, &work.repair),
            words::parts(&desk.library, &work.on)
        ),
        Purpose::Done(work.repair.clone(), work.on.clone()),
        vec![
            form::Line::text("Finished on", "The day it was finished.", &desk.today.to_string()),
            form::Line::text(&format!("Odometer, {sign}"), "Empty if not read.", ""),
            form::Line::text("Hours", "How long it took; empty if not counted.", ""),
            form::Line::text(
                &format!("Cost, {money}"),
                "What parts and others cost; empty if not counted.",
                "",
            ),
            form::Line::text("Found", "What was found; grades belong on the Round.", ""),
            form::Line::text("Fitted", "Parts that were fitted, commas between them.", ""),
            form::Line::text("Tightened", "Values used: ball stud nut=40, pinch bolt=45 lbf·ft.", ""),
        ],
    )
}

/// Takes the form of a repair done, and asks before it is recorded: its parts start again as new.
///
/// # Errors
/// The line that is wrong, and why.
pub fn submit_done(desk: &Desk, form: &form::Model, repair: &str, parts: &[PartId]) -> Result<Vec<Effect>, Wrong> {
    let car = desk.car.as_ref().ok_or((0, "There is no car in hand.".to_owned()))?;
    let date = form.date(0)?.ok_or((0, "The repair needs a day.".to_owned()))?;
    if date > desk.today {
        return Err((0, format!("{date} is after today, {}.", desk.today)));
    }
    let odometer_km = form.number(1, 0.0)?.map(|d| car.profile.distance_unit.to_km(d));
    let (mut hours, mut cost) = (form.number(2, 0.0)?, form.number(3, 0.0)?);
    let mut changes = Vec::new();
    let mut finished = (**car).clone();
    for part in parts {
        // Hours and cost were asked once for both sides of a pair and are kept with the first.
        let (hours, cost) = (hours.take(), cost.take());
        let before = car.progress.open_on(part).filter(|job| job.repair == repair);
        let hours = hours.map(|hours| hours + before.map_or(0.0, |job| job.hours_so_far));
        let measured = hours.and_then(|_| {
            let assessment = &desk.says()?.assessment;
            planned_hours(car, &desk.library, assessment, desk.library.repair(repair)?, parts)
        });
        let more = finished.finishing(RepairDone {
            odometer_km,
            hours,
            cost,
            note: form.text(4),
            fitted: listed(&form.text(5)),
            torques: torques(&form.text(6))?,
            planned_hours: measured,
            ..RepairDone::new(date, repair, part.clone())
        });
        for change in &more {
            finished.apply(change.clone()).map_err(|e| (0, e.to_string()))?;
        }
        changes.extend(more);
    }
    let said = "Recorded. Look at the part again on the next Round.".to_owned();
    let question = format!(
        "Record “{}” on {} as done on {date}? What it renews starts again as new.",
        words::repair(&desk.library, repair),
        words::parts(&desk.library, parts)
    );
    let record = Effect::Record {
        changes,
        then: Then::CloseForm(said),
    };
    let ask = confirm::Model::new(question, vec![record]);
    Ok(vec![Effect::Over(Box::new(Over::Confirm(ask)))])
}

fn listed(text: &str) -> Vec<String> {
    let names = text.split(',').map(|t| t.trim().to_owned());
    names.filter(|t| !t.is_empty()).collect()
}

/// Reads `ball stud nut=40, pinch bolt=60`.
fn torques(text: &str) -> Result<Vec<TorqueUsed>, Wrong> {
    let one = |word: String| {
        let wrong = || (6, format!("`{word}` needs a fixing, =, and its value."));
        let (fixing, value) = word.split_once('=').ok_or_else(wrong)?;
        Ok(TorqueUsed {
            fixing: fixing.trim().to_owned(),
            torque: Torque::parse(value).map_err(|why| (6, why))?,
        })
    };
    listed(text).into_iter().map(one).collect()
}

fn pin_form(desk: &Desk, visit: &Visit, work: &Work) -> form::Model {
    let pinned = desk.car.as_ref().and_then(|c| c.wishes.pinned.get(&work.part)).copied();
    form::Model::new(
        "Fix to a date",
        &format!(
            "{} – {}. The plan puts it into the first session on or after that day, and shows what waiting adds to the exposure.",
            words::repair(&desk.library, &work.repair),
            words::part(&desk.library, &work.part)
        ),
        Purpose::Pin(work.part.clone()),
        vec![form::Line::text(
            "Date",
            "Empty lets the plan choose again.",
            &pinned.unwrap_or(visit.date).to_string(),
        )],
    )
}

/// Takes the form of a date.
///
/// # Errors
/// The line that is wrong, and why.
pub fn submit_pin(desk: &Desk, form: &form::Model, part: &PartId) -> Result<Vec<Effect>, Wrong> {
    let car = desk.car.as_ref().ok_or((0, "There is no car in hand.".to_owned()))?;
    let mut wishes = car.wishes.clone();
    let said = match form.date(0)? {
        Some(date) => {
            if let Some(why) = words::no_day_to_fix(&car.profile.sessions, desk.today, date) {
                return Err((0, format!("{why}.")));
            }
            wishes.pinned.insert(part.clone(), date);
            format!("Fixed to {date}.")
        }
        None => {
            wishes.pinned.remove(part);
            "The plan chooses the date again.".to_owned()
        }
    };
    let exposure = desk.says().map(|s| s.plan.exposure);
    let said = match exposure {
        Some(points) => format!("{said} The plan's exposure was {}.", words::points(points)),
        None => said,
    };
    Ok(vec![Effect::Record {
        changes: vec![Change::Wishes(wishes)],
        then: Then::CloseForm(said),
    }])
}

/// Chooses the next repair that would do instead.
fn instead(desk: &Desk, work: &Work) -> Vec<Effect> {
    let (Some(car), Some(other)) = (&desk.car, work.instead.first()) else {
        return vec![Effect::Say("No other repair would do for this part.".to_owned())];
    };
    if let Keeping::ReadOnly(who) = &desk.keeping {
        return vec![Effect::Say(format!("Not kept: {who}"))];
    }
    // Going round: the repairs that would do, in library order, starting after the present one.
    let mut all: Vec<&String> = work.instead.iter().chain([&work.repair]).collect();
    let order = |id: &String| desk.library.all().repairs.iter().position(|r| r.id == *id);
    all.sort_by_key(|id| order(id));
    let at = all.iter().position(|id| **id == work.repair).unwrap_or(0);
    let next = all.get((at + 1) % all.len().max(1)).copied().unwrap_or(other);
    let mut wishes = car.wishes.clone();
    wishes.chosen.insert(work.part.clone(), next.clone());
    vec![Effect::Record {
        changes: vec![Change::Wishes(wishes)],
        then: Then::Say(format!("Chosen: {}.", words::repair(&desk.library, next))),
    }]
}
