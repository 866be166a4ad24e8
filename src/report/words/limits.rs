//! What limits the plan and what would change it, in words.

use jiff::civil::Date;

use super::{count, day, hours, part, plain, points, repair, small};
use crate::car::{Buying, Sessions};
use crate::engine::plan::calendar::last_day;
use crate::engine::plan::limits::{A_FORTNIGHT, Limit, LimitCost, MORE_HOURS};
use crate::engine::plan::whatif::Moved;
use crate::engine::plan::{TargetSaid, ToBuy, Visit};
use crate::engine::workpace::WorkPace;
use crate::rubric::Library;
use crate::text;

/// What a limit costs: `With sessions 2 h longer, the plan would carry 7 % less exposure.`
#[must_use]
pub fn limit_cost(library: &Library, cost: &LimitCost) -> String {
    let share = text::percent(cost.share());
    let would = format!("the plan would carry {share} less exposure");
    match &cost.limit {
        Limit::OrderToday(id, on) => {
            let wait = if A_FORTNIGHT == 14 {
                "a fortnight".to_owned()
            } else {
                count(A_FORTNIGHT as usize, "day")
            };
            format!(
                "Ordering what “{}” needs for the {} today and not in {wait} takes {share} off the exposure.",
                small(&repair(library, id)),
                small(&part(library, on))
            )
        }
        Limit::PartsToCome => format!("With every part in hand today, {would}."),
        Limit::Hours => format!("With sessions {} longer, {would}.", hours(MORE_HOURS)),
        Limit::Money => format!("Without the budget, {would}."),
        Limit::DaysOff => format!("Without holidays and days that are not free, {would}."),
        Limit::Beginning(from) => format!("Beginning today and not on {}, {would}.", day(*from)),
        Limit::Pins => format!(
            "Without the days you fixed, {would}: your order carries {} points more.",
            points(cost.with - cost.without)
        ),
        Limit::Trades => format!("If every specialist had a day at once, {would}."),
    }
}

/// What is done by a day that matters.
#[must_use]
pub fn target(library: &Library, said: &TargetSaid) -> String {
    let names = |parts: &[crate::rubric::PartId]| {
        let names: Vec<String> = parts.iter().map(|p| small(&part(library, p))).collect();
        names.join("; ")
    };
    let mut line = format!("{} ({}): ", text::clean(&said.name), day(said.date));
    line.push_str(&match (said.done.len(), said.left.len()) {
        (_, 0) => "all planned work is finished before it".to_owned(),
        (0, n) => format!("none of {} is finished before it", count(n, "repair")),
        (done, left) => format!(
            "{done} of {} are finished before it; not {}, with {} points until the next survey",
            count(done + left, "repair"),
            names(&said.left),
            points(said.points_left)
        ),
    });
    line.push('.');
    if let Some(visit) = said.may_not_close {
        line.push_str(&format!(
            " The visit of {} may not close before it, by its 90 % hours or because it runs on: begin it earlier, or have help.",
            day(visit)
        ));
    }
    line
}

/// That a visit may need more than its session: `one time in ten it takes more than 7.5 h and runs into …`.
#[must_use]
pub fn may_run_over(visit: &Visit) -> Option<String> {
    let next = visit.may_run_into?;
    Some(format!(
        "One time in ten it takes more than {}; its sessions have {}: it may stand open until {}",
        hours(visit.hours.high),
        hours(visit.room),
        day(next)
    ))
}

/// Why a repair cannot be fixed to a day, and to which days it can; `None` where it can.
#[must_use]
pub fn no_day_to_fix(sessions: &Sessions, today: Date, wanted: Date) -> Option<String> {
    let last = last_day(sessions, today);
    let why = match wanted {
        _ if wanted < today => "is past",
        _ if wanted > last => "is later than anything can be planned",
        _ => return None,
    };
    Some(format!(
        "{wanted} {why}; name a day from {today} to {last}, the last one that is planned for"
    ))
}

/// How long the owner's jobs take.
#[must_use]
pub fn pace_of_work(pace: &WorkPace) -> String {
    if pace.jobs == 0 {
        return "Hours are the rubrics' own: none of yours is known yet. Give them with `tinworm done --hours`."
            .to_owned();
    }
    let jobs = count(pace.jobs, "job");
    let times = format!("{:.1}", pace.times);
    if times == "1.0" {
        format!("Your jobs take about the rubrics' hours, from {jobs}.")
    } else {
        format!("Your jobs take {times} times the rubrics' hours, from {jobs}; the hours here follow that.")
    }
}

/// How far the buying of a part has come.
#[must_use]
pub fn buying(status: Buying) -> String {
    match status {
        Buying::ToBuy => "to buy".to_owned(),
        Buying::Ordered { expected } => format!("ordered, expected on {expected}"),
        Buying::InHand => "in hand".to_owned(),
    }
}

/// How far the buying of a part has come, and what is to be done about it.
#[must_use]
pub fn to_get(bought: &ToBuy) -> String {
    let status = buying(bought.status);
    match (bought.overdue, bought.order_by) {
        (true, _) => format!("{status}, which has passed: reckoned with {} now", bought.ready),
        (false, Some(by)) => format!("{status}, order by {by}"),
        (false, None) => status,
    }
}

/// Why another order of work carries more or less, for one piece of work: `12.3 points more: track rod end, front left, done on
/// 2026-05-09 and not on 2026-04-18`.
#[must_use]
pub fn moved(library: &Library, moved: &Moved) -> String {
    let name = small(&part(library, &moved.part));
    let on = |date: Option<Date>| date.map_or_else(String::new, |d| format!(" on {d}"));
    let what = match (&moved.repair_before, &moved.repair_after) {
        (Some(was), Some(is)) if was != is => format!(
            "{name}: “{}”{} and not “{}”{}",
            small(&repair(library, is)),
            on(moved.after),
            small(&repair(library, was)),
            on(moved.before)
        ),
        (Some(_), Some(_)) if moved.after == moved.before => {
            format!("{name}: done{} as before, with other work", on(moved.after))
        }
        (Some(_), Some(_)) => format!("{name}: done{} and not{}", on(moved.after), on(moved.before)),
        (Some(_), None) => format!("{name}: not done, and not{}", on(moved.before)),
        (None, Some(is)) => format!("{name}: “{}” as well{}", small(&repair(library, is)), on(moved.after)),
        (None, None) => name,
    };
    format!("{} {what}", points_more(moved.points))
}

/// `12.3 points more,`, `4.5 points less,` or `the same,`.
#[must_use]
pub fn points_more(more: f64) -> String {
    if more.abs() < 0.005 {
        "as many points,".to_owned()
    } else if more > 0.0 {
        format!("{} points more,", points(more))
    } else {
        format!("{} points less,", points(-more))
    }
}

/// What a repair that stands open means, in words of the owner's.
#[must_use]
pub fn stands_open(library: &Library, job: &crate::car::OpenJob) -> String {
    let steps: Vec<String> = job
        .open_steps
        .iter()
        .map(|id| small(&plain(library.access_step(id).map_or(id.as_str(), |s| s.name.as_str()))))
        .collect();
    let mut line = format!(
        "{} ({}), open since {}",
        repair(library, &job.repair),
        small(&part(library, &job.part)),
        job.since
    );
    if !steps.is_empty() {
        line.push_str(&format!("; opened: {}", steps.join(", ")));
    }
    if !job.did.is_empty() {
        line.push_str(&format!("; done of it: {}", text::clean(&job.did.join(", "))));
    }
    for extra in &job.extra {
        line.push_str(&format!(
            "; on top: {} ({})",
            text::clean(&extra.what),
            hours(extra.hours)
        ));
    }
    if let Some(left) = job.hours_left {
        line.push_str(&format!("; {} to go without that", hours(left)));
    }
    if !job.note.is_empty() {
        line.push_str(&format!("; {}", text::clean(&job.note)));
    }
    line
}
