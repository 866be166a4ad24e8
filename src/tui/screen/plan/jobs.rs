//! The repairs of the Plan one by one: moved or left out, with what that changes shown before it is kept.

use jiff::civil::Date;
use ratatui::buffer::Buffer;
use ratatui::layout::Rect;

use super::super::sieve::{self, Sieve};
use super::super::{Effect, Then};
use crate::car::{Change, Wishes};
use crate::engine::plan::calendar::sessions;
use crate::engine::plan::{NotPlacedBecause, Plan, Visit, Work};
use crate::report::{Subject, whatif, words};
use crate::rubric::PartId;
use crate::tui::desk::{Desk, Tried};
use crate::tui::keys::Command;
use crate::tui::widget::{is_low, para, put, put_right, rule, step, tint, window};

/// Sessions looked through for the next or the one before.
const SESSIONS: usize = 400;
/// How many pieces of work that move are told.
const MOST_TOLD: usize = 4;

/// The list.
#[derive(Debug, Clone, Default)]
pub struct Model {
    selected: usize,
    sieve: Sieve,
    /// Wishes that are tried and not kept.
    trying: Option<Wishes>,
}

/// A line of the list.
enum Job<'p> {
    Work(&'p Visit, &'p Work),
    LeftOut(&'p PartId),
}

fn jobs<'p>(desk: &Desk, plan: &'p Plan, sieve: &Sieve) -> Vec<Job<'p>> {
    let dropped = plan
        .not_placed
        .iter()
        .filter(|n| n.because == NotPlacedBecause::Dropped);
    let work = plan.work().map(|(visit, work)| Job::Work(visit, work));
    work.chain(dropped.map(|n| Job::LeftOut(&n.part)))
        .filter(|job| match job {
            Job::Work(_, work) => work.on.iter().any(|part| sieve.passes(desk, part)),
            Job::LeftOut(part) => sieve.passes(desk, part),
        })
        .collect()
}

impl Model {
    /// Forgets what was tried; says whether anything was.
    pub fn forget(&mut self) -> bool {
        self.trying.take().is_some()
    }

    /// Whether something is tried and not kept.
    pub fn is_trying(&self) -> bool {
        self.trying.is_some()
    }

    /// Does what is asked.
    pub fn update(&mut self, desk: &Desk, command: Command) -> Vec<Effect> {
        let (Some(says), Some(car)) = (desk.says(), &desk.car) else {
            return Vec::new();
        };
        let jobs = jobs(desk, &says.plan, &self.sieve);
        self.selected = step(self.selected, command.by(8).unwrap_or(0), jobs.len());
        if self.sieve.update(desk, command) {
            self.selected = 0;
            return Vec::new();
        }
        if command == Command::Search {
            let lines = jobs.iter().map(|job| match job {
                Job::Work(_, work) => (named(desk, work), work.done_on.to_string()),
                Job::LeftOut(part) => (words::part(&desk.library, part), "left out".to_owned()),
            });
            return sieve::search(lines.collect(), self.selected);
        }
        let mut wishes = self.trying.clone().unwrap_or_else(|| car.wishes.clone());
        match (command, jobs.get(self.selected)) {
            (Command::Keep, _) => return self.keep(desk),
            (Command::Instead, Some(Job::Work(_, work))) => {
                return vec![
                    Effect::Say("Planning each repair that would do …".to_owned()),
                    Effect::Alternatives(work.part.clone()),
                ];
            }
            (Command::Earlier | Command::Later, Some(Job::Work(visit, work))) => {
                let from = wishes.pinned.get(&work.part).copied().unwrap_or(visit.date);
                let Some(day) = next_session(desk, from, command == Command::Later) else {
                    return vec![Effect::Say("There is no session to move it to.".to_owned())];
                };
                for part in &work.on {
                    wishes.pinned.remove(part);
                }
                wishes.pinned.insert(work.part.clone(), day);
            }
            (Command::Drop, Some(Job::Work(_, work))) => {
                let out = wishes.dropped.contains(&work.part);
                for part in &work.covers {
                    wishes.ticked.retain(|p| p != part);
                    wishes.pinned.remove(part);
                    wishes.dropped.retain(|p| p != part);
                    if !out {
                        wishes.dropped.push(part.clone());
                    }
                }
            }
            (Command::Drop, Some(Job::LeftOut(part))) => {
                if wishes.dropped.contains(part) {
                    wishes.dropped.retain(|p| p != *part);
                } else {
                    wishes.dropped.push((*part).clone());
                }
            }
            (Command::Earlier | Command::Later | Command::Drop | Command::Instead, _) => {
                return vec![Effect::Say("Move to a repair first.".to_owned())];
            }
            _ => return Vec::new(),
        }
        if !desk.is_current() {
            return vec![Effect::Say("The plan is being made; try again in a moment.".to_owned())];
        }
        self.trying = Some(wishes.clone());
        vec![Effect::Try(Box::new(wishes))]
    }

    /// A line of the list was chosen.
    pub fn go_to(&mut self, line: usize) {
        self.selected = line;
    }

    /// Lets every repair pass; says whether some were held back.
    pub fn clear_sieve(&mut self) -> bool {
        self.sieve.clear()
    }

    fn keep(&mut self, desk: &Desk) -> Vec<Effect> {
        let Some(wishes) = self.trying.take() else {
            return vec![Effect::Say(
                "Nothing was tried: < and > move the repair, x leaves it out.".to_owned(),
            )];
        };
        let said = self
            .answer(desk, &wishes)
            .map(|tried| whatif::exposure(&tried.difference));
        let said = said.map_or_else(|| "Kept.".to_owned(), |said| format!("Kept. {said}"));
        vec![Effect::Record {
            changes: vec![Change::Wishes(wishes)],
            then: Then::Say(said),
        }]
    }

    /// The engine's answer to what is tried, once it has spoken.
    fn answer<'d>(&self, desk: &'d Desk, wishes: &Wishes) -> Option<&'d Tried> {
        desk.tried.as_deref().filter(|tried| tried.wishes == *wishes)
    }

    /// Draws it.
    pub fn view(&self, desk: &Desk, area: Rect, buf: &mut Buffer) {
        let theme = &desk.theme;
        let Some(says) = desk.says() else { return };
        let jobs = jobs(desk, &says.plan, &self.sieve);
        if jobs.is_empty() {
            let words = if self.sieve.words().is_some() {
                "No repair passes the filter: f, e and t change it, Esc shows all."
            } else {
                "There is no work to plan."
            };
            para(buf, area, 0, words, theme.text());
            return;
        }
        let selected = step(self.selected, 0, jobs.len());
        // On a low screen what is tried is worth more rows than why a repair stands where it does.
        let below = match (is_low(area), &self.trying) {
            (true, None) => 2,
            (true, Some(_)) => 5,
            _ => (area.height / 2).clamp(6, 12),
        };
        let narrow = area.width < 56;
        // On a narrow screen the points give way to the name of the repair.
        let (hours_at, points_at, name_at) = if narrow { (11, area.width, 18) } else { (12, 20, 29) };
        let rows = area.height.saturating_sub(below + 1);
        for (dx, name) in [
            (0, "Finished"),
            (hours_at, "Hours"),
            (points_at, "Points"),
            (name_at, "Repair"),
        ] {
            put(buf, area, dx, 0, name, theme.dim());
        }
        let only = self.sieve.words().unwrap_or_default();
        put_right(buf, area, 0, &only, theme.accent());
        for (n, slot) in window(selected, jobs.len(), rows).zip(1..) {
            let Some(job) = jobs.get(n) else { continue };
            match job {
                Job::Work(_, work) => {
                    let then = self.trying.as_ref().and_then(|w| w.pinned.get(&work.part));
                    let date = then.map_or_else(|| work.done_on.to_string(), |d| format!("{d}?"));
                    put(buf, area, 0, slot, &date, theme.text());
                    let hours = format!("{:>w$.1} h", work.hours, w = if narrow { 4 } else { 5 });
                    put(buf, area, hours_at, slot, &hours, theme.text());
                    put(
                        buf,
                        area,
                        points_at,
                        slot,
                        &format!("{:>7}", words::points(work.points)),
                        theme.text(),
                    );
                    let out = self.trying.as_ref().is_some_and(|w| w.dropped.contains(&work.part));
                    let mark = if out { "left out? " } else { "" };
                    let line = format!("{mark}{}", named(desk, work));
                    put(buf, area, name_at, slot, &line, theme.text());
                }
                Job::LeftOut(part) => {
                    let back = self.trying.as_ref().is_some_and(|w| !w.dropped.contains(part));
                    let mark = if back { "taken back?" } else { "left out" };
                    put(buf, area, 0, slot, mark, theme.dim());
                    put(buf, area, name_at, slot, &words::part(&desk.library, part), theme.dim());
                }
            }
            if n == selected {
                tint(buf, area, slot, theme.selected());
            }
        }
        rule(buf, area, rows + 1, "", theme.rule(), theme.title());
        let under = Rect::new(area.x, area.y + rows + 2, area.width, below.saturating_sub(1)).intersection(area);
        self.under(desk, &jobs, selected, under, buf);
    }

    /// What is tried and what it changes; why the selected repair stands where it does, when nothing is.
    fn under(&self, desk: &Desk, jobs: &[Job], selected: usize, area: Rect, buf: &mut Buffer) {
        let theme = &desk.theme;
        let (Some(says), Some(car)) = (desk.says(), &desk.car) else {
            return;
        };
        let mut dy = 0;
        let Some(trying) = &self.trying else {
            if let Some(Job::Work(visit, work)) = jobs.get(selected) {
                let because = words::large(&words::because(work.because));
                dy += para(buf, area, dy, &format!("{because}."), theme.text());
                for why in &visit.why {
                    dy += para(
                        buf,
                        area,
                        dy,
                        &words::large(&words::why(&desk.library, why)),
                        theme.dim(),
                    );
                }
            }
            return;
        };
        let Some(tried) = self.answer(desk, trying) else {
            para(buf, area, dy, "Planning …", theme.dim());
            return;
        };
        let subject = Subject {
            car,
            library: &desk.library,
            assessment: &says.assessment,
        };
        let difference = &tried.difference;
        dy += para(buf, area, dy, &whatif::exposure(difference), theme.title());
        let rest = whatif::rest(&car.profile, difference);
        if !rest.is_empty() {
            dy += para(buf, area, dy, &rest, theme.text());
        }
        let because = whatif::because(&subject, difference);
        if !because.is_empty() {
            dy += para(buf, area, dy, &because, theme.text());
        }
        for moved in difference.moves.iter().take(MOST_TOLD) {
            dy += para(buf, area, dy, &words::moved(&desk.library, moved), theme.dim());
        }
        para(buf, area, dy, "Enter keeps it, u forgets it.", theme.dim());
    }
}

/// A repair and its parts.
fn named(desk: &Desk, work: &Work) -> String {
    format!(
        "{} – {}",
        words::repair(&desk.library, &work.repair),
        words::small(&words::parts(&desk.library, &work.on))
    )
}

/// The session before or after a day.
fn next_session(desk: &Desk, from: Date, later: bool) -> Option<Date> {
    let profile = &desk.car.as_ref()?.profile;
    let all = sessions(&profile.sessions, desk.today, SESSIONS);
    let mut days = all.iter().map(|s| s.date);
    if later {
        days.find(|d| *d > from)
    } else {
        days.take_while(|d| *d < from).last()
    }
}
