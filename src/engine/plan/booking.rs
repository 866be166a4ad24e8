//! Work booked with somebody whose trade it is: how long they have the car, what it costs, and what it is weighed against.
//!
//! A booking begins on the day of one of the owner's sessions, because somebody must bring the car, and takes that whole
//! session. The car is back for the next one, unless the work needs longer than the working days in between.
//! The owner's hours are not used, and nothing of the owner's is done while the car is away.

use jiff::civil::{Date, Weekday};

use super::candidates::Task;
use crate::car::Session;
use crate::rubric::Repair;

/// Working hours of a trade on a weekday (common practice, no source).
const WORKING_DAY: f64 = 8.0;

/// Money that an hour of the owner's own work stands for when it is weighed against a specialist's bill (judgement: a
/// third to a half of what workshops charge for an hour, since it is one's own time and one's own hobby). Money of
/// the size of a euro, a dollar or a pound.
const OWNERS_HOUR: f64 = 25.0;

/// The next sessions, and the one that follows the last of them.
pub(crate) struct Calendar {
    pub(crate) dates: Vec<Date>,
    /// Hours of each.
    pub(crate) hours: Vec<f64>,
    /// The session after the last; a week later where the calendar has no more.
    pub(crate) after: Date,
}

impl Calendar {
    /// As many sessions as asked for from those there are.
    pub(crate) fn new(all: &[Session], count: usize) -> Calendar {
        let taken = all.iter().take(count);
        let (dates, hours) = taken.map(|s| (s.date, s.hours)).unzip();
        let all: Vec<Date> = all.iter().map(|s| s.date).collect();
        let week = jiff::Span::new().days(7);
        let after = all
            .get(count)
            .copied()
            .or_else(|| all.last().map(|last| last.saturating_add(week)));
        Calendar {
            dates,
            hours,
            after: after.unwrap_or(Date::MAX),
        }
    }

    /// The day on which a car that was away in a visit is back.
    pub(crate) fn back_after(&self, visit: usize) -> Date {
        self.dates.get(visit + 1).copied().unwrap_or(self.after)
    }

    /// Hours of a booking made at each session: those of the weekdays until the day before the next, one day at least.
    pub(crate) fn booking_hours(&self) -> Vec<f64> {
        let hours = |(visit, from): (usize, &Date)| {
            let back = self.back_after(visit);
            let weekday = |day: &Date| !matches!(day.weekday(), Weekday::Saturday | Weekday::Sunday);
            let days = from.series(jiff::Span::new().days(1)).take_while(|day| *day < back);
            WORKING_DAY * days.take(366).filter(weekday).count().max(1) as f64
        };
        self.dates.iter().enumerate().map(hours).collect()
    }
}

/// The trade a repair is booked with.
pub(crate) fn trade(repair: &Repair) -> Option<&str> {
    repair.specialist.as_ref().map(|s| s.trade.trim())
}

/// The trades of some tasks, each once.
pub(crate) fn trades<'a>(tasks: &[Task<'a>]) -> Vec<&'a str> {
    let mut trades: Vec<&str> = Vec::new();
    for trade in tasks.iter().filter_map(|task| trade(task.repair)) {
        if !trades.iter().any(|known| same(known, trade)) {
            trades.push(trade);
        }
    }
    trades
}

/// Whether two names are of the same trade.
pub(crate) fn same(one: &str, other: &str) -> bool {
    one.eq_ignore_ascii_case(other)
}

/// The specialist's bill for a task, without parts.
pub(crate) fn labour(task: &Task) -> f64 {
    let specialist = task.repair.specialist.as_ref();
    specialist.map_or(0.0, |s| s.cost.max(0.0)) * task.on.len() as f64
}

/// Days until the specialist of a repair has a day.
pub(crate) fn wait(repair: &Repair) -> u32 {
    repair.specialist.as_ref().map_or(0, |s| s.wait_days).min(3650)
}

/// What a repair asks of the owner, in hours: the work's own, or what the specialist's bill stands for.
///
/// A home repair and a specialist's compete by this. Waiting for the booking is not weighed in: home work waits for its
/// session too, and the owner who sees it otherwise chooses.
pub(crate) fn asks_of_owner(repair: &Repair, home_hours: f64) -> f64 {
    repair
        .specialist
        .as_ref()
        .map_or(home_hours, |s| s.cost.max(0.0) / OWNERS_HOUR)
}

#[cfg(test)]
mod tests {
    use super::*;
    use jiff::civil::date;

    #[test]
    fn a_booking_has_the_weekdays_until_the_next_session() {
        // Saturday, Wednesday, Saturday, Sunday; next Friday week.
        let all = vec![
            date(2026, 4, 4),
            date(2026, 4, 8),
            date(2026, 4, 11),
            date(2026, 4, 12),
            date(2026, 4, 24),
        ];
        let all: Vec<Session> = all.into_iter().map(|date| Session { date, hours: 6.0 }).collect();
        let calendar = Calendar::new(&all, 4);
        assert_eq!(calendar.booking_hours(), [16.0, 24.0, 8.0, 72.0]);
        assert_eq!(calendar.back_after(3), date(2026, 4, 24));
        let calendar = Calendar::new(&all, 9);
        assert_eq!(calendar.back_after(4), date(2026, 5, 1));
        assert_eq!(calendar.booking_hours().last(), Some(&40.0));
    }
}
