//! From an assessment to a plan: tasks, sessions and set-ups become a scheduling problem, its answer becomes visits.

use jiff::civil::Date;

use super::booking::{Calendar, days_to_begin, labour, same, trade, trades};
use super::bound::bound;
use super::calendar::{money_by, sessions};
use super::candidates::{Task, tasks};
use super::model::{Because, LookFirst, NotPlaced, NotPlacedBecause, Plan};
use super::problem::{Job, Problem, Schedule};
use super::search::search;
use super::setups::{Setup, near, setups_of};
use super::trouble::Trouble;
use super::visit::{Context, visits};
use crate::car::{Car, Use};
use crate::engine::clock::days_between;
use crate::engine::standing::look_first;
use crate::engine::state::Assessment;
use crate::rubric::Library;

/// Seed of the search and of the hours' spread: fixed, so that the same car gives the same plan.
pub(crate) const SEED: u64 = 0x7469_6e77_6f72_6d31;
/// Sessions planned beyond what the hours need.
const SPARE_SESSIONS: usize = 8;
/// Sessions that may pass before the last repair can begin: a year of daily ones.
const MOST_WAITING: usize = 366;

/// Plans the repairs of a car from its assessment.
///
/// The plan minimises the sum, over the tasks, of the exposure their parts carry until the visit that completes them.
#[must_use]
pub fn plan(car: &Car, library: &Library, assessment: &Assessment) -> Plan {
    let today = assessment.today;
    let trouble = Trouble::new(library, assessment);
    let (tasks, without) = tasks(car, library, assessment, &trouble);
    let setups = all_setups(library, &tasks);
    let calendar = calendar(car, today, &tasks, &setups);
    let dates = &calendar.dates;
    let problem = problem(car, library, assessment, &tasks, &setups, &calendar);
    let schedule = if dates.is_empty() {
        Schedule::default()
    } else {
        search(&problem, SEED)
    };
    let mut not_placed: Vec<NotPlaced> = without
        .into_iter()
        .map(|part| NotPlaced {
            part,
            repair: None,
            because: NotPlacedBecause::NoRepair,
        })
        .collect();
    for (at, task) in tasks.iter().enumerate() {
        if let Some(because) = why_not_placed(&problem, &schedule, at) {
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
        trouble: &trouble,
        tasks: &tasks,
        setups: &setups,
        problem: &problem,
        schedule: &schedule,
        calendar: &calendar,
    };
    let visits = visits(&context);
    let last_day = visits.last().map_or(0.0, |v| days_between(today, v.date));
    let exposure_undone = tasks.iter().map(|t| exposure_at(assessment, t, last_day)).sum();
    Plan {
        today,
        look_first: looks(library, assessment),
        back_on_the_road: back_on_the_road(car, assessment, &context),
        exposure: schedule.exposure,
        exposure_undone,
        bound: if tasks.is_empty() || dates.is_empty() {
            0.0
        } else {
            bound(&problem)
        },
        proven_best: schedule.proven || tasks.is_empty(),
        visits,
        not_placed,
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

/// Every set-up of every task once, with its hours.
fn all_setups(library: &Library, tasks: &[Task]) -> Vec<(Setup, f64)> {
    let mut setups: Vec<(Setup, f64)> = Vec::new();
    for task in tasks.iter().filter(|t| t.repair.specialist.is_none()) {
        for part in &task.on {
            for setup in setups_of(library, task.repair, part) {
                if !setups.iter().any(|s| s.0 == setup.0) {
                    setups.push(setup);
                }
            }
        }
    }
    setups
}

/// The sessions planned for: enough after the day on which everything can begin.
fn calendar(car: &Car, today: Date, tasks: &[Task], setups: &[(Setup, f64)]) -> Calendar {
    let pins = tasks
        .iter()
        .flat_map(|t| &t.on)
        .filter_map(|id| car.wishes.pinned.get(id));
    let can_begin = tasks.iter().map(|task| {
        let (parts, wait) = days_to_begin(task);
        today.saturating_add(jiff::Span::new().days(i64::from(parts.max(wait))))
    });
    let latest = can_begin.chain(pins.copied()).max().unwrap_or(today);
    let all = sessions(&car.profile.sessions, today, usize::MAX);
    let waiting = all.iter().take(MOST_WAITING).take_while(|day| **day < latest).count();
    Calendar::new(all, waiting + session_count(car, tasks, setups))
}

fn session_count(car: &Car, tasks: &[Task], setups: &[(Setup, f64)]) -> usize {
    let session = car.profile.sessions.hours.max(0.1);
    let opening: f64 = setups.iter().map(|s| s.1).sum();
    // At worst every task opens everything it needs again; work that is booked takes a session, or runs on over some.
    let own = tasks.iter().filter(|t| t.repair.specialist.is_none());
    let hours: f64 = own.map(|t| t.hours.min(500.0)).sum::<f64>() + opening * 2.0;
    let mut count = SPARE_SESSIONS + tasks.len();
    let mut left = hours;
    while left > 0.0 && count < 160 {
        left -= session;
        count += 1;
    }
    if car.profile.budget.limited {
        count.max(104)
    } else {
        count
    }
}

fn problem(
    car: &Car,
    library: &Library,
    assessment: &Assessment,
    tasks: &[Task],
    setups: &[(Setup, f64)],
    calendar: &Calendar,
) -> Problem {
    let today = assessment.today;
    let session = car.profile.sessions.hours;
    let dates = &calendar.dates;
    let trades = trades(tasks);
    let first_from = |day: Date| dates.iter().position(|d| *d >= day).unwrap_or(dates.len());
    let jobs = tasks
        .iter()
        .map(|task| {
            let (parts, wait) = days_to_begin(task);
            let can_begin = today.saturating_add(jiff::Span::new().days(i64::from(parts.max(wait))));
            let bought: f64 = task.repair.buy.iter().map(|b| f64::from(b.count) * b.cost).sum();
            let cost = bought * task.on.len() as f64 + labour(task);
            let own_trade = trade(task.repair);
            let needs = task
                .on
                .iter()
                .filter(|_| task.repair.specialist.is_none())
                .flat_map(|part| setups_of(library, task.repair, part))
                .filter_map(|(setup, _)| setups.iter().position(|s| s.0 == setup));
            let mut needed: Vec<usize> = needs.collect();
            needed.sort_unstable();
            needed.dedup();
            let pinned = task
                .on
                .iter()
                .find_map(|id| car.wishes.pinned.get(id))
                .map(|day| first_from(*day));
            let exposure = dates
                .iter()
                .map(|d| exposure_at(assessment, task, days_between(today, *d)))
                .collect();
            let mut hours = task.hours;
            let opening: f64 = needed.iter().filter_map(|s| setups.get(*s)).map(|s| s.1).sum();
            if opening >= session && own_trade.is_none() {
                // Opening up alone fills a session: it becomes part of the work and runs on with it, shared with nothing.
                hours += opening;
                needed.clear();
            }
            Job {
                hours,
                with: own_trade.and_then(|own| trades.iter().position(|known| same(known, own))),
                setups: needed,
                exposure,
                earliest: first_from(can_begin),
                cost,
                pinned: pinned.filter(|v| *v < dates.len()),
            }
        })
        .collect();
    let mut before = Vec::new();
    for (second, task) in tasks.iter().enumerate() {
        for (first, other) in tasks.iter().enumerate() {
            let rule = task.repair.after.iter().find(|a| a.repair == other.repair.id);
            let applies = rule.is_some_and(|rule| {
                task.on
                    .iter()
                    .any(|a| other.on.iter().any(|b| near(rule.within, &a.station, &b.station)))
            });
            if first != second && applies {
                before.push((first, second));
            }
        }
    }
    let money = if car.profile.budget.limited {
        dates.iter().map(|d| money_by(&car.profile.budget, today, *d)).collect()
    } else {
        Vec::new()
    };
    Problem {
        visit_hours: vec![session; dates.len()],
        booking_hours: calendar.booking_hours(),
        setups: setups.iter().map(|s| s.1).collect(),
        jobs,
        before,
        money,
        stays_open: car.profile.in_use == Use::LaidUp,
    }
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
            if matches!(task.because, Because::Law | Because::Graded(_)) {
                day = day.max(Some(finished(context, at)?));
            }
        }
    }
    day
}

/// The day on which a task is done: that of its visit, or the one on which the car is back.
fn finished(context: &Context, task: usize) -> Option<Date> {
    let visit = context.schedule.visit.get(task).copied().flatten()?;
    if context.tasks.get(task)?.repair.specialist.is_some() {
        Some(context.calendar.back_after(visit))
    } else {
        context.calendar.dates.get(visit).copied()
    }
}
