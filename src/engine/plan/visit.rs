//! A visit that explains itself: what is opened, bought, soaked and tightened, and why it stands where it stands.

use jiff::civil::Date;

use super::booking::{Calendar, labour, same, trade, wait};
use super::build::{SEED, exposure_at, finished};
use super::candidates::Task;
use super::model::{Booking, HoursSpread, Opened, Owed, Soak, Tightening, ToBuy, Visit, Why, Work};
use super::offers::offers;
use super::pose::needed;
use super::problem::{Problem, Schedule};
use super::setups::{Setup, SetupKind};
use super::trouble::Trouble;
use crate::car::{Buying, Car};
use crate::engine::clock::days_between;
use crate::engine::fixings::{Condition, guide_torque};
use crate::engine::state::Assessment;
use crate::rubric::{Fixing, Library, NewPart, PartId};

/// Everything a visit is made from.
pub(crate) struct Context<'a> {
    pub(crate) car: &'a Car,
    pub(crate) library: &'a Library,
    pub(crate) assessment: &'a Assessment,
    pub(crate) trouble: &'a Trouble,
    pub(crate) tasks: &'a [Task<'a>],
    pub(crate) setups: &'a [(Setup, f64)],
    pub(crate) problem: &'a Problem,
    pub(crate) schedule: &'a Schedule,
    pub(crate) calendar: &'a Calendar,
}

/// The tasks of one visit, and the sessions it takes.
struct Group {
    first: usize,
    last: usize,
    tasks: Vec<usize>,
}

/// Work stands in the visit in which it begins; a repair longer than a session runs on from there. Bookings with one
/// trade that follow each other are one: the car stays where it is.
fn groups(context: &Context) -> Vec<Group> {
    let trade_of = |tasks: &[usize]| tasks.first().and_then(|at| trade(context.tasks.get(*at)?.repair));
    let mut groups: Vec<Group> = Vec::new();
    for nth in 0..context.calendar.dates.len() {
        let tasks: Vec<usize> = (0..context.tasks.len())
            .filter(|at| begins(context.schedule, *at) == Some(nth))
            .collect();
        if tasks.is_empty() {
            continue;
        }
        let ends = tasks
            .iter()
            .filter_map(|at| context.schedule.visit.get(*at).copied().flatten());
        let last = ends.max().unwrap_or(nth);
        match groups.last_mut() {
            Some(group)
                if nth <= group.last + 1
                    && trade_of(&tasks)
                        .zip(trade_of(&group.tasks))
                        .is_some_and(|(a, b)| same(a, b)) =>
            {
                group.tasks.extend(tasks);
                group.last = last.max(group.last);
            }
            _ => groups.push(Group {
                first: nth,
                last,
                tasks,
            }),
        }
    }
    groups
}

/// The visits of a schedule, in order of date.
pub(crate) fn visits(context: &Context) -> Vec<Visit> {
    let whole: f64 = context.assessment.parts.iter().map(|p| p.points).sum();
    let mut left = whole;
    let mut open: Vec<Setup> = Vec::new();
    let mut visits = Vec::new();
    let mut groups = groups(context);
    for group in &mut groups {
        working_order(context, &mut group.tasks);
        let mut visit = make(context, group, &mut open);
        let points: f64 = visit.work.iter().map(|w| w.points).sum();
        left -= points;
        visit.share = if whole > 0.0 { points / whole } else { 0.0 };
        visit.left_after = left.max(0.0);
        visits.push(visit);
    }
    rooms(context, &groups, &mut visits);
    explain(context, &groups, &mut visits);
    offers(context, &mut visits);
    visits
}

fn begins(schedule: &Schedule, task: usize) -> Option<usize> {
    schedule
        .begins
        .get(task)
        .copied()
        .flatten()
        .or_else(|| schedule.visit.get(task).copied().flatten())
}

/// What must come first comes first, then what takes away most.
fn working_order(context: &Context, tasks: &mut Vec<usize>) {
    let points = |at: usize| context.tasks.get(at).map_or(0.0, |t| points_of(context.assessment, t));
    tasks.sort_by(|a, b| points(*b).total_cmp(&points(*a)).then(a.cmp(b)));
    let mut ordered: Vec<usize> = Vec::new();
    while !tasks.is_empty() {
        let waits =
            |at: usize, left: &[usize]| context.problem.before.iter().any(|(i, j)| *j == at && left.contains(i));
        let next = tasks.iter().position(|at| !waits(*at, tasks)).unwrap_or(0);
        ordered.push(tasks.remove(next));
    }
    *tasks = ordered;
}

fn points_of(assessment: &Assessment, task: &Task) -> f64 {
    task.covers
        .iter()
        .filter_map(|id| assessment.part(id))
        .map(|p| p.points)
        .sum()
}

fn make(context: &Context, group: &Group, open: &mut Vec<Setup>) -> Visit {
    let library = context.library;
    let dates = &context.calendar.dates;
    let date = dates.get(group.first).copied().unwrap_or(context.assessment.today);
    let mut visit = Visit {
        date,
        runs_on: (group.first + 1..=group.last)
            .filter_map(|k| dates.get(k).copied())
            .collect(),
        booking: booking(context, group),
        work: Vec::new(),
        access: Vec::new(),
        follow_ups: Vec::new(),
        hours: HoursSpread {
            mean: 0.0,
            median: 0.0,
            high: 0.0,
        },
        room: 0.0,
        may_run_into: None,
        parts: Vec::new(),
        buy: Vec::new(),
        cost: 0.0,
        order_by: None,
        tools: Vec::new(),
        tools_missing: Vec::new(),
        soak: Vec::new(),
        tightening: Vec::new(),
        cautions: Vec::new(),
        why: Vec::new(),
        share: 0.0,
        left_after: 0.0,
        while_in_there: Vec::new(),
    };
    let mut threads: Vec<(&Fixing, [f64; 6])> = Vec::new();
    let mut plain = 0.0;
    for at in &group.tasks {
        let Some(task) = context.tasks.get(*at) else { continue };
        let repair = task.repair;
        let owners = trade(repair).is_none();
        for part in &task.on {
            note_once(&mut visit.cautions, &repair.cautions);
            for fixing in repair.fixings.iter().filter(|_| owners) {
                note_fixing(context, &mut visit, &mut threads, task, fixing, part);
            }
            for (setup, hours) in needed(library, task, part) {
                if owners {
                    let hours = hours * context.trouble.pace.times;
                    place(&mut visit, open, context.problem.stays_open, setup, hours);
                } else if setup.kind == SetupKind::Owed {
                    place(&mut visit, open, false, setup, hours);
                }
            }
        }
        if owners {
            note_once(&mut visit.tools, &repair.tools);
        }
        visit.parts.extend(task.buys.iter().cloned());
        plain += task.hours - task.trouble;
        visit.hours.mean += task.hours;
        let done_on = finished(context, *at).unwrap_or(date);
        visit.work.push(Work {
            repair: repair.id.clone(),
            part: task
                .on
                .first()
                .or(task.covers.first())
                .cloned()
                .unwrap_or_else(|| PartId::new(&repair.component, Default::default())),
            on: task.on.clone(),
            covers: task.covers.clone(),
            hours: task.hours,
            points: points_of(context.assessment, task),
            trade: trade(repair).map(str::to_owned),
            instead: task.instead.clone(),
            because: task.because,
            done_on,
            carried: exposure_at(
                context.assessment,
                task,
                days_between(context.assessment.today, done_on),
            ),
        });
    }
    for opened in &visit.access {
        if let Some(step) = library.access_step(&opened.step) {
            note_once(&mut visit.cautions, &step.cautions);
            note_once(&mut visit.tools, &step.tools);
        }
        plain += opened.hours;
        visit.hours.mean += opened.hours;
    }
    for owed in &visit.follow_ups {
        if let Some(follow_up) = library.follow_up(&owed.follow_up) {
            note_once(&mut visit.cautions, &follow_up.cautions);
            if visit.booking.is_some() {
                continue;
            }
            note_once(&mut visit.tools, &follow_up.tools);
            for bought in &follow_up.buy {
                buy(&mut visit.buy, bought);
            }
        }
        plain += owed.hours;
        visit.hours.mean += owed.hours;
    }
    if visit.booking.is_some() {
        visit.hours.median = visit.hours.mean;
        visit.hours.high = visit.hours.mean;
    } else {
        // One seed for all: the same work takes the same hours on whatever day, and whichever plan it stands in.
        (visit.hours.median, visit.hours.high) = context.trouble.spread(plain, &threads, SEED);
    }
    let labour = visit.booking.as_ref().map_or(0.0, |b| b.labour);
    let owed: f64 = visit.buy.iter().map(|b| f64::from(b.count) * b.cost).sum();
    visit.cost = labour + owed + visit.parts.iter().map(ToBuy::to_pay).sum::<f64>();
    order(&mut visit, context.assessment.today);
    let owned = |tool: &String| context.car.profile.tools.iter().any(|t| t.eq_ignore_ascii_case(tool));
    visit.tools_missing = visit.tools.iter().filter(|t| !owned(t)).cloned().collect();
    visit
}

/// With whom a visit is booked, by when, and until when the car is away.
fn booking(context: &Context, group: &Group) -> Option<Booking> {
    let today = context.assessment.today;
    let tasks = || group.tasks.iter().filter_map(|at| Some((*at, context.tasks.get(*at)?)));
    let ring = tasks().filter_map(|(at, task)| {
        let wait = task.repair.specialist.as_ref()?.wait_days.min(3650);
        let begins = context.calendar.dates.get(begins(context.schedule, at)?)?;
        Some(begins.saturating_sub(jiff::Span::new().days(i64::from(wait))))
    });
    Some(Booking {
        trade: tasks().find_map(|(_, task)| trade(task.repair))?.to_owned(),
        book_by: ring.min()?.max(today),
        away_until: context.calendar.back_after(group.last),
        labour: tasks().map(|(_, task)| labour(task)).sum(),
    })
}

fn note_once(list: &mut Vec<String>, more: &[String]) {
    for item in more {
        if !list.contains(item) {
            list.push(item.clone());
        }
    }
}

fn buy(list: &mut Vec<NewPart>, bought: &NewPart) {
    match list.iter_mut().find(|b| b.name == bought.name && b.cost == bought.cost) {
        Some(there) => {
            there.count += bought.count;
            there.lead_days = there.lead_days.max(bought.lead_days);
        }
        None => list.push(bought.clone()),
    }
}

/// When each part is to be ordered, and all that is not in hand yet in one list.
fn order(visit: &mut Visit, today: Date) {
    let by = |lead: u32| {
        let by = visit
            .date
            .saturating_sub(jiff::Span::new().days(i64::from(lead.min(3650))));
        by.max(today)
    };
    let owed = std::mem::take(&mut visit.buy);
    let mut first = owed.iter().map(|b| b.lead_days).filter(|d| *d > 0).map(by).min();
    for part in &mut visit.parts {
        if part.status == Buying::InHand {
            continue;
        }
        if part.status == Buying::ToBuy && part.lead_days > 0 {
            part.order_by = Some(by(part.lead_days));
            first = first.into_iter().chain(part.order_by).min();
        }
        let new = NewPart {
            name: part.name.clone(),
            count: part.count,
            cost: part.cost,
            lead_days: part.lead_days,
        };
        buy(&mut visit.buy, &new);
    }
    for new in &owed {
        buy(&mut visit.buy, new);
    }
    visit.order_by = first;
}

/// Hours that the sessions of each visit have for it, and whether it may need more.
fn rooms(context: &Context, groups: &[Group], visits: &mut [Visit]) {
    let hours = |from: usize, to: usize| -> f64 { context.calendar.hours.iter().skip(from).take(to - from).sum() };
    let means: Vec<f64> = visits.iter().map(|v| v.hours.mean).collect();
    for (nth, (visit, group)) in visits.iter_mut().zip(groups).enumerate() {
        if visit.booking.is_some() {
            continue;
        }
        let mut room = hours(group.first, group.last + 1);
        let others = groups.iter().zip(&means).enumerate().filter(|(at, _)| *at != nth);
        for (_, (other, mean)) in others {
            if other.first < group.first && other.last == group.first {
                // It runs on into this session and leaves the rest of it.
                room -= (mean - hours(other.first, other.last)).max(0.0);
            } else if other.first == group.last && group.first < group.last {
                room -= mean;
            }
        }
        visit.room = room.max(0.0);
        visit.may_run_into = (visit.hours.high > visit.room + 1e-6).then(|| context.calendar.back_after(group.last));
    }
}

fn note_fixing<'a>(
    context: &Context,
    visit: &mut Visit,
    threads: &mut Vec<(&'a Fixing, [f64; 6])>,
    task: &Task,
    fixing: &'a Fixing,
    part: &PartId,
) {
    let (grades, seen) = context.trouble.grades(context.assessment, fixing, part);
    if task.open_since.is_none() {
        threads.push((fixing, grades));
    }
    let expected: f64 = grades.iter().enumerate().map(|(g, p)| g as f64 * p).sum();
    let soak_days = if expected < 1.5 {
        0
    } else if expected < 2.5 {
        1
    } else {
        3
    };
    if soak_days > 0 {
        let on = visit
            .date
            .saturating_sub(jiff::Span::new().days(soak_days))
            .max(context.assessment.today);
        let minutes = context.trouble.of_fixing(fixing, &grades) * 60.0 * f64::from(fixing.count);
        visit.soak.push(Soak {
            part: part.clone(),
            fixing: fixing.name.clone(),
            on,
            grade: seen,
            minutes,
        });
    }
    let place = task.repair.fixings.iter().position(|f| f == fixing).unwrap_or(0);
    let thread = fixing.thread.as_deref().and_then(|id| context.library.thread(id));
    let class = fixing
        .class
        .as_deref()
        .and_then(|id| context.library.strength_class(id));
    let guide = thread
        .zip(class)
        .and_then(|(t, c)| guide_torque(t, c, Condition::Dry).ok());
    visit.tightening.push(Tightening {
        part: part.clone(),
        repair: task.repair.id.clone(),
        fixing: place,
        guide,
    });
}

/// Puts a set-up into the visit unless it is there, or open since an earlier one.
fn place(visit: &mut Visit, open: &mut Vec<Setup>, stays_open: bool, setup: Setup, hours: f64) {
    if stays_open {
        if open.contains(&setup) {
            return;
        }
        open.push(setup.clone());
    }
    match setup.kind {
        SetupKind::Opens => {
            if !visit
                .access
                .iter()
                .any(|o| o.step == setup.id && o.station == setup.station)
            {
                visit.access.push(Opened {
                    step: setup.id,
                    station: setup.station,
                    hours,
                });
            }
        }
        SetupKind::Owed => {
            if !visit
                .follow_ups
                .iter()
                .any(|o| o.follow_up == setup.id && o.station == setup.station)
            {
                visit.follow_ups.push(Owed {
                    follow_up: setup.id,
                    station: setup.station,
                    hours,
                });
            }
        }
    }
}

/// Why each visit stands where it stands.
fn explain(context: &Context, groups: &[Group], visits: &mut [Visit]) {
    let notice: Vec<&PartId> = context.assessment.notice.iter().map(|n| &n.part).collect();
    let count = visits.len();
    for (nth, (visit, group)) in visits.iter_mut().zip(groups).enumerate() {
        let mut why = Vec::new();
        if visit.share >= 0.005 {
            why.push(Why::TakesAway(visit.share));
        }
        for part in visit.work.iter().flat_map(|w| &w.covers) {
            if notice.contains(&part) && !why.contains(&Why::EndsNotice(part.clone())) {
                why.push(Why::EndsNotice(part.clone()));
            }
        }
        let here = &group.tasks;
        if visit.booking.is_some() && here.len() > 1 {
            why.push(Why::SharesBooking(here.len()));
        }
        for (at, (setup, hours)) in context.setups.iter().enumerate() {
            let users = here
                .iter()
                .filter(|t| context.problem.jobs.get(**t).is_some_and(|j| j.setups.contains(&at)))
                .count();
            if users > 1 && *hours > 0.0 {
                why.push(match setup.kind {
                    SetupKind::Opens => Why::SharesStep(setup.id.clone(), users),
                    SetupKind::Owed => Why::SharesFollowUp(setup.id.clone(), users),
                });
            }
        }
        for (first, second) in &context.problem.before {
            if let (true, Some(a), Some(b)) = (
                here.contains(second),
                context.tasks.get(*first),
                context.tasks.get(*second),
            ) {
                let reason = Why::After(b.repair.id.clone(), a.repair.id.clone());
                if !why.contains(&reason) {
                    why.push(reason);
                }
            }
        }
        for at in here {
            let waits = waits_for(context, *at);
            why.extend(waits.filter(|w| !why.contains(w)));
        }
        why.extend(money(context, group, visit.date));
        if nth + 1 == count && visit.share < 0.02 {
            why.push(Why::Last);
        }
        visit.why = why;
    }
}

/// What kept a task from beginning before its session: its pin, its parts, or the trade's wait.
fn waits_for(context: &Context, at: usize) -> Option<Why> {
    let (job, task) = (context.problem.jobs.get(at)?, context.tasks.get(at)?);
    let session = begins(context.schedule, at)?;
    let date = *context.calendar.dates.get(session)?;
    let pinned = task.on.iter().any(|part| context.car.wishes.pinned.contains_key(part));
    if pinned && job.pinned == Some(session) {
        return Some(Why::Pinned);
    }
    if task.open_since.is_some() {
        return Some(Why::StandsOpen);
    }
    (session > 0 && job.earliest == session).then_some(())?;
    let today = context.assessment.today;
    let free = super::parts::days_after(today, wait(task.repair));
    Some(match trade(task.repair) {
        Some(trade) if free >= task.ready(today) => Why::WaitsForTrade(trade.to_owned(), date),
        _ => Why::WaitsForParts(date),
    })
}

/// Whether money alone kept the visit's work from the session before.
fn money(context: &Context, group: &Group, date: Date) -> Option<Why> {
    let before = *context.problem.money.get(group.first.checked_sub(1)?)?;
    let spent: f64 = context
        .problem
        .jobs
        .iter()
        .enumerate()
        .filter(|(job, _)| begins(context.schedule, *job).is_some_and(|begins| begins <= group.first))
        .map(|(_, j)| j.cost)
        .sum();
    let costs = group
        .tasks
        .iter()
        .filter_map(|t| context.problem.jobs.get(*t))
        .any(|j| j.cost > 0.0);
    (costs && spent > before).then_some(Why::WaitsForMoney(date))
}
