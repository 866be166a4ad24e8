//! From an assessment to a plan: the posed problem is solved, its answer becomes visits that explain themselves.

use jiff::civil::Date;

use super::booking::Calendar;
use super::bound::bound;
use super::candidates::Task;
use super::model::{Because, LookFirst, NotPlaced, NotPlacedBecause, Plan, TargetSaid, Visit};
use super::pose::{MoneyBy, Posed, Trades, pose_with};
use super::problem::{Problem, Schedule};
use super::search::search;
use super::visit::{Context, visits};
use crate::car::{Car, Target, Use};
use crate::engine::clock::days_between;
use crate::engine::standing::look_first;
use crate::engine::state::Assessment;
use crate::rubric::Library;

/// Seed of the search and of the hours' spread: fixed, so that the same car gives the same plan.
pub(crate) const SEED: u64 = 0x7469_6e77_6f72_6d31;

/// Plans the repairs of a car from its assessment.
///
/// The plan minimises the sum, over the tasks, of the exposure their parts carry until the visit that completes them.
#[must_use]
pub fn plan(car: &Car, library: &Library, assessment: &Assessment) -> Plan {
    plan_with(car, library, assessment, None)
}

/// The same, with other money than the car's own budget where that is kept to.
pub(crate) fn plan_with(car: &Car, library: &Library, assessment: &Assessment, money: Option<MoneyBy>) -> Plan {
    let posed = pose_with(car, library, assessment, Trades::Wait, money);
    let schedule = solved(&posed.problem);
    let Posed {
        trouble,
        tasks,
        without,
        setups,
        calendar,
        problem,
    } = &posed;
    let today = assessment.today;
    let mut not_placed: Vec<NotPlaced> = without
        .iter()
        .map(|(part, because)| NotPlaced {
            part: part.clone(),
            repair: None,
            because: *because,
        })
        .collect();
    for (at, task) in tasks.iter().enumerate() {
        if let Some(because) = why_not_placed(problem, &schedule, at) {
            let part = task.on.first().or(task.covers.first()).cloned();
            not_placed.extend(part.map(|part| NotPlaced {
                part,
                repair: Some(task.repair.id.clone()),
                because,
            }));
        }
    }
    let context = Context {
        car,
        library,
        assessment,
        trouble,
        tasks,
        setups,
        problem,
        schedule: &schedule,
        calendar,
    };
    let visits = visits(&context);
    let last_day = visits.last().map_or(0.0, |v| days_between(today, v.date));
    let exposure_undone = tasks.iter().map(|t| exposure_at(assessment, t, last_day)).sum();
    let targets = car.profile.sessions.targets.iter();
    Plan {
        today,
        look_first: looks(library, assessment),
        back_on_the_road: back_on_the_road(car, assessment, &context),
        exposure: schedule.exposure,
        exposure_undone,
        bound: if tasks.is_empty() || calendar.dates.is_empty() {
            0.0
        } else {
            bound(problem)
        },
        proven_best: schedule.proven || tasks.is_empty(),
        targets: targets
            .filter(|t| t.date >= today)
            .map(|t| by_target(assessment, t, &visits, &not_placed))
            .collect(),
        pace: trouble.pace,
        limits: Vec::new(),
        visits,
        not_placed,
    }
}

/// A best schedule, or none where there is no session.
pub(crate) fn solved(problem: &Problem) -> Schedule {
    if problem.visit_hours.is_empty() {
        Schedule::default()
    } else {
        search(problem, SEED)
    }
}

/// What the plan says of a day that matters.
fn by_target(assessment: &Assessment, target: &Target, visits: &[Visit], not_placed: &[NotPlaced]) -> TargetSaid {
    let work = || visits.iter().flat_map(|v| &v.work);
    let in_time = |done_on: Date| done_on < target.date;
    let points = |part| assessment.part(part).map_or(0.0, |p| p.points);
    let missing = not_placed.iter().map(|n| &n.part);
    let begun = visits.iter().filter(|v| v.date < target.date);
    let may_not_close = begun.filter(|visit| {
        let ends = visit.work.iter().map(|w| w.done_on).max();
        let late = |day: Option<Date>| day.is_some_and(|day| !in_time(day));
        late(ends) || late(visit.may_run_into)
    });
    TargetSaid {
        name: target.name.clone(),
        date: target.date,
        done: work().filter(|w| in_time(w.done_on)).map(|w| w.part.clone()).collect(),
        left: work()
            .filter(|w| !in_time(w.done_on))
            .map(|w| &w.part)
            .chain(missing.clone())
            .cloned()
            .collect(),
        points_left: work()
            .filter(|w| !in_time(w.done_on))
            .map(|w| w.points)
            .chain(missing.map(points))
            .sum(),
        may_not_close: may_not_close.map(|v| v.date).next(),
    }
}

/// Why a job found no place; `None` if it did.
fn why_not_placed(problem: &Problem, schedule: &Schedule, at: usize) -> Option<NotPlacedBecause> {
    let placed = |job: usize| schedule.visit.get(job).copied().flatten().is_some();
    let job = problem.jobs.get(at).filter(|_| !placed(at))?;
    let spent = problem.jobs.iter().enumerate().filter(|(n, _)| placed(*n));
    let spent: f64 = spent.map(|(_, job)| job.cost).sum();
    Some(if problem.visit_hours.is_empty() {
        NotPlacedBecause::NoSession
    } else if problem
        .before
        .iter()
        .any(|(first, second)| *second == at && !placed(*first))
    {
        NotPlacedBecause::WaitsForUnplaced
    } else if job.cost > 0.0 && problem.money.last().is_some_and(|m| spent + job.cost > *m) {
        NotPlacedBecause::NoMoney
    } else if job.pinned.is_some() {
        NotPlacedBecause::PinnedDay
    } else if job.with.is_some() || job.earliest >= problem.visit_hours.len() {
        NotPlacedBecause::CalendarEnds
    } else {
        NotPlacedBecause::NoRoom
    })
}

/// Exposure of all parts of a task if it is done after so many days.
pub(crate) fn exposure_at(assessment: &Assessment, task: &Task, days: f64) -> f64 {
    task.covers
        .iter()
        .filter_map(|id| assessment.part(id))
        .map(|p| p.exposure.at(days))
        .sum()
}

fn looks(library: &Library, assessment: &Assessment) -> Vec<LookFirst> {
    look_first(assessment)
        .into_iter()
        .map(|part| {
            let checks = library
                .component(&part.id.component)
                .map(|c| c.checks.as_slice())
                .unwrap_or_default();
            LookFirst {
                part: part.id.clone(),
                checks: checks.iter().map(|c| c.id.clone()).collect(),
                points: part.points,
                minutes: checks.iter().map(|c| c.minutes).sum(),
            }
        })
        .collect()
}

/// The day of the visit after which nothing planned keeps the car off the road: the notice of a car in use, all work
/// that the law's classes, a grade of 4 or 5 or the notice call for on a car that is laid up. `None` when nothing keeps
/// it off, or when something that does is not in the plan.
fn back_on_the_road(car: &Car, assessment: &Assessment, context: &Context) -> Option<Date> {
    let mut day: Option<Date> = None;
    let done_on = |part| {
        let at = context.tasks.iter().position(|t| t.covers.contains(part))?;
        finished(context, at)
    };
    for reason in &assessment.notice {
        if matches!(reason.because, crate::engine::NoticeCause::NotLookedAtSinceRepair) {
            continue;
        }
        day = day.max(Some(done_on(&reason.part)?));
    }
    if car.profile.in_use == Use::LaidUp {
        for (at, task) in context.tasks.iter().enumerate() {
            if matches!(task.because, Because::Law | Because::Graded(_) | Because::StandsOpen) {
                day = day.max(Some(finished(context, at)?));
            }
        }
    }
    day
}

/// The day on which a task is done: that of its visit, or the one on which the car is back.
pub(crate) fn finished(context: &Context, task: usize) -> Option<Date> {
    let visit = context.schedule.visit.get(task).copied().flatten()?;
    day_of(context.calendar, context.tasks.get(task)?, visit)
}

/// The day on which a task is done that a visit completes.
pub(crate) fn day_of(calendar: &Calendar, task: &Task, visit: usize) -> Option<Date> {
    if task.repair.specialist.is_some() {
        Some(calendar.back_after(visit))
    } else {
        calendar.dates.get(visit).copied()
    }
}
