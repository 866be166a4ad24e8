//! Poses the scheduling problem: tasks, sessions, money and what is on order become jobs, visits and sums.

use jiff::civil::Date;

use super::booking::{Calendar, labour, same, trade, trades, wait};
use super::build::exposure_at;
use super::calendar::{MOST_WAITING, money_by, sessions, spent};
use super::candidates::{Task, tasks};
use super::model::{NotPlacedBecause, ToBuy};
use super::parts::days_after;
use super::problem::{Job, Problem};
use super::setups::{Setup, SetupKind, near, setups_of};
use super::trouble::Trouble;
use crate::car::{Car, Use};
use crate::engine::clock::days_between;
use crate::engine::state::Assessment;
use crate::rubric::{Library, PartId};

/// Sessions planned beyond what the hours need.
const SPARE_SESSIONS: usize = 8;
/// Most sessions that hours alone ask for.
const MOST_FOR_HOURS: usize = 160;

/// A car's plan as a problem, with what it was made from.
pub(crate) struct Posed<'a> {
    pub(crate) trouble: Trouble,
    pub(crate) tasks: Vec<Task<'a>>,
    /// Parts that are work but no task.
    pub(crate) without: Vec<(PartId, NotPlacedBecause)>,
    pub(crate) setups: Vec<(Setup, f64)>,
    pub(crate) calendar: Calendar,
    pub(crate) problem: Problem,
}

/// Whether specialists are waited for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Trades {
    /// As long as their rubrics say.
    Wait,
    /// They have a day at once.
    AtOnce,
}

/// Poses the problem of a car.
pub(crate) fn pose<'a>(car: &Car, library: &'a Library, assessment: &Assessment, waiting: Trades) -> Posed<'a> {
    pose_with(car, library, assessment, waiting, None)
}

/// Money that may have been spent in all by a day.
pub(crate) type MoneyBy<'m> = &'m dyn Fn(Date) -> f64;

/// The same, with other money than the car's own budget where that is kept to.
pub(crate) fn pose_with<'a>(
    car: &Car,
    library: &'a Library,
    assessment: &Assessment,
    waiting: Trades,
    money: Option<MoneyBy>,
) -> Posed<'a> {
    let trouble = Trouble::new(car, library, assessment);
    let (tasks, without) = tasks(car, library, assessment, &trouble);
    let setups = all_setups(library, &trouble, &tasks);
    let asked = Asked {
        car,
        library,
        assessment,
        waiting,
        money,
    };
    let calendar = asked.calendar(&tasks, &setups);
    let problem = asked.problem(&tasks, &setups, &calendar);
    Posed {
        trouble,
        tasks,
        without,
        setups,
        calendar,
        problem,
    }
}

/// Every set-up of every task once, with its hours at the owner's pace. What stands open opens nothing more.
fn all_setups(library: &Library, trouble: &Trouble, tasks: &[Task]) -> Vec<(Setup, f64)> {
    let mut setups: Vec<(Setup, f64)> = Vec::new();
    for task in tasks.iter().filter(|t| t.repair.specialist.is_none()) {
        for (setup, hours) in task.on.iter().flat_map(|part| needed(library, task, part)) {
            if !setups.iter().any(|s| s.0 == setup) {
                setups.push((setup, hours * trouble.pace.times));
            }
        }
    }
    setups
}

/// The set-ups that a task needs on a part, with the rubric's hours.
pub(crate) fn needed(library: &Library, task: &Task, part: &PartId) -> Vec<(Setup, f64)> {
    let mut all = setups_of(library, task.repair, part);
    if task.open_since.is_some() {
        all.retain(|(setup, _)| setup.kind == SetupKind::Owed);
    }
    all
}

struct Asked<'c> {
    car: &'c Car,
    library: &'c Library,
    assessment: &'c Assessment,
    waiting: Trades,
    money: Option<MoneyBy<'c>>,
}

impl Asked<'_> {
    /// The first day on which a task can begin: its parts are in hand and its specialist has a day.
    fn can_begin(&self, task: &Task) -> Date {
        let today = self.assessment.today;
        let waits = match self.waiting {
            Trades::Wait => wait(task.repair),
            Trades::AtOnce => 0,
        };
        task.ready(today).max(days_after(today, waits))
    }

    /// The sessions planned for: enough after the day on which everything can begin.
    fn calendar(&self, tasks: &[Task], setups: &[(Setup, f64)]) -> Calendar {
        let pins = tasks
            .iter()
            .flat_map(|t| &t.on)
            .filter_map(|id| self.car.wishes.pinned.get(id));
        let can_begin = tasks.iter().map(|task| self.can_begin(task));
        let latest = can_begin.chain(pins.copied()).max().unwrap_or(self.assessment.today);
        let all = sessions(&self.car.profile.sessions, self.assessment.today, usize::MAX);
        let waiting = all.iter().take(MOST_WAITING).take_while(|s| s.date < latest).count();
        let opening: f64 = setups.iter().map(|s| s.1).sum();
        // At worst every task opens everything it needs again; work that is booked takes a session, or runs on over some.
        let own = tasks.iter().filter(|t| t.repair.specialist.is_none());
        let mut hours: f64 = own.map(|t| t.hours.min(500.0)).sum::<f64>() + opening * 2.0;
        let after = all.iter().skip(waiting).take(MOST_FOR_HOURS);
        let for_hours = after.take_while(|session| {
            let more = hours > 0.0;
            hours -= session.hours;
            more
        });
        let count =
            (SPARE_SESSIONS + tasks.len() + for_hours.count()).min(MOST_FOR_HOURS.max(SPARE_SESSIONS + tasks.len()));
        let count = if self.car.profile.budget.limited {
            count.max(104)
        } else {
            count
        };
        Calendar::new(&all, waiting + count)
    }

    fn problem(&self, tasks: &[Task], setups: &[(Setup, f64)], calendar: &Calendar) -> Problem {
        let today = self.assessment.today;
        let dates = &calendar.dates;
        let money: Vec<f64> = if self.car.profile.budget.limited {
            let spent = spent(self.car, today);
            let by = |day: &Date| match self.money {
                Some(money) => money(*day),
                None => money_by(&self.car.profile.budget, today, *day) - spent,
            };
            dates.iter().map(by).collect()
        } else {
            Vec::new()
        };
        let trades = trades(tasks);
        let jobs = tasks
            .iter()
            .map(|task| self.job(task, setups, calendar, &money, &trades))
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
        Problem {
            visit_hours: calendar.hours.clone(),
            booking_hours: calendar.booking_hours(),
            setups: setups.iter().map(|s| s.1).collect(),
            jobs,
            before,
            money,
            stays_open: self.car.profile.in_use == Use::LaidUp,
        }
    }

    fn job(&self, task: &Task, setups: &[(Setup, f64)], calendar: &Calendar, money: &[f64], trades: &[&str]) -> Job {
        let today = self.assessment.today;
        let dates = &calendar.dates;
        let first_from = |day: Date| dates.iter().position(|d| *d >= day).unwrap_or(dates.len());
        let cost = task.buys.iter().map(ToBuy::to_pay).sum::<f64>() + labour(task);
        let own_trade = trade(task.repair);
        let needs = task
            .on
            .iter()
            .filter(|_| task.repair.specialist.is_none())
            .flat_map(|part| needed(self.library, task, part))
            .filter_map(|(setup, _)| setups.iter().position(|s| s.0 == setup));
        let mut needed: Vec<usize> = needs.collect();
        needed.sort_unstable();
        needed.dedup();
        let pinned = task
            .on
            .iter()
            .find_map(|id| self.car.wishes.pinned.get(id))
            .map(|day| first_from(*day));
        let exposure = dates
            .iter()
            .map(|d| exposure_at(self.assessment, task, days_between(today, *d)))
            .collect();
        let mut hours = task.hours;
        let opening: f64 = needed.iter().filter_map(|s| setups.get(*s)).map(|s| s.1).sum();
        let longest = calendar.hours.iter().copied().fold(0.0, f64::max);
        if opening >= longest && own_trade.is_none() {
            // Opening up alone fills a session: it becomes part of the work and runs on with it, shared with nothing.
            hours += opening;
            needed.clear();
        }
        // What is fixed to a day after the last session has no place; it is not done sooner than it was asked for.
        let too_far = pinned.is_some_and(|v| v >= dates.len());
        let earliest = if too_far {
            dates.len()
        } else {
            first_from(self.can_begin(task))
        };
        // What stands open is closed as soon as it can be.
        let affordable = cost <= 0.0 || money.get(earliest).is_none_or(|m| cost <= *m);
        let close_first = (task.open_since.is_some() && affordable).then_some(earliest);
        Job {
            hours,
            with: own_trade.and_then(|own| trades.iter().position(|known| same(known, own))),
            setups: needed,
            exposure,
            earliest,
            cost,
            pinned: pinned.or(close_first).filter(|v| *v < dates.len()),
        }
    }
}
