//! The owner's sessions and money, day by day.

use jiff::civil::Date;

use crate::car::{Budget, Car, Session, Sessions};
use crate::engine::clock::{DAYS_A_YEAR, days_between};

/// How far ahead sessions are looked for.
const DAYS_AHEAD: i32 = 3 * 366;

/// The next sessions from a day on, that day included, as many as asked for or as there are within three years.
#[must_use]
pub fn sessions(plan: &Sessions, today: Date, count: usize) -> Vec<Session> {
    let from = plan.from.map_or(today, |d| d.max(today));
    (0..DAYS_AHEAD)
        .filter_map(|ahead| from.checked_add(jiff::Span::new().days(ahead)).ok())
        .filter_map(|date| {
            Some(Session {
                date,
                hours: plan.on(date)?,
            })
        })
        .take(count)
        .collect()
}

/// Sessions that may pass before the last repair can begin: a year of daily ones.
pub(crate) const MOST_WAITING: usize = 366;

/// The last day to which a repair can be fixed: that of the last session the plan is sure to reach, which is enough for what does not
/// run on. Where no session is named yet it is the last day on which one is looked for.
#[must_use]
pub fn last_day(plan: &Sessions, today: Date) -> Date {
    let last = sessions(plan, today, MOST_WAITING + 1).last().map(|s| s.date);
    last.unwrap_or_else(|| today.saturating_add(jiff::Span::new().days(DAYS_AHEAD - 1)))
}

/// Money that may have been spent in all by a day, counted from the day on which the owner counted it.
#[must_use]
pub fn money_by(budget: &Budget, today: Date, day: Date) -> f64 {
    let since = budget.since.unwrap_or(today);
    budget.in_hand + budget.per_month * (days_between(since, day).max(0.0) / (DAYS_A_YEAR / 12.0)).floor()
}

/// Money spent since it was counted: repairs done and parts paid. What was spent on that very day counts as spent after.
#[must_use]
pub fn spent(car: &Car, today: Date) -> f64 {
    let since = car.profile.budget.since.unwrap_or(today);
    let counts = |day: Date| since <= day && day <= today;
    let done = car.repairs.iter().filter(|r| counts(r.date)).filter_map(|r| r.cost);
    let paid = car.progress.purchases.iter().filter(|p| p.paid_on.is_some_and(counts));
    done.chain(paid.filter_map(|p| p.price)).sum()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::car::{Day, DaysOff};
    use jiff::civil::date;

    fn days(sessions: &[Session]) -> Vec<Date> {
        sessions.iter().map(|s| s.date).collect()
    }

    #[test]
    fn sessions_fall_on_the_days_asked_for_and_skip_those_that_are_not_free() {
        let plan = Sessions {
            weekdays: vec![Day::Saturday, Day::Wednesday],
            hours: 6.0,
            from: Some(date(2026, 4, 3)),
            except: vec![date(2026, 4, 8)],
            ..Sessions::default()
        };
        // 3 April 2026 is a Friday.
        let days = sessions(&plan, date(2026, 3, 1), 3);
        assert_eq!(
            super::tests::days(&days),
            [date(2026, 4, 4), date(2026, 4, 11), date(2026, 4, 15)]
        );
        assert!(
            sessions(
                &Sessions {
                    weekdays: Vec::new(),
                    ..plan
                },
                date(2026, 3, 1),
                3
            )
            .is_empty()
        );
    }

    #[test]
    fn days_have_their_own_hours_and_holidays_are_left_out() {
        let plan = Sessions {
            weekdays: vec![Day::Saturday, Day::Wednesday],
            hours_on: vec![(Day::Wednesday, 2.5)],
            listed: vec![
                Session {
                    date: date(2026, 4, 6),
                    hours: 9.0,
                },
                Session {
                    date: date(2026, 4, 18),
                    hours: 3.0,
                },
                Session {
                    date: date(2026, 4, 13),
                    hours: 0.0,
                },
            ],
            days_off: vec![DaysOff {
                from: date(2026, 4, 8),
                to: date(2026, 4, 12),
            }],
            ..Sessions::default()
        };
        // Easter Monday listed; Wednesday 8 and Saturday 11 are holidays; Saturday 18 is short; a listed day of no hours is none.
        let found: Vec<(Date, f64)> = sessions(&plan, date(2026, 4, 5), 4)
            .iter()
            .map(|s| (s.date, s.hours))
            .collect();
        assert_eq!(
            found,
            [
                (date(2026, 4, 6), 9.0),
                (date(2026, 4, 15), 2.5),
                (date(2026, 4, 18), 3.0),
                (date(2026, 4, 22), 2.5)
            ]
        );
        let only = Sessions {
            weekdays: Vec::new(),
            ..plan
        };
        assert_eq!(
            days(&sessions(&only, date(2026, 4, 1), 9)),
            [date(2026, 4, 6), date(2026, 4, 18)]
        );
    }

    #[test]
    fn a_repair_can_be_fixed_to_a_day_as_far_as_sessions_are_planned() {
        let today = date(2026, 1, 1);
        let on = |weekdays: Vec<Day>, listed: Vec<Session>| Sessions {
            weekdays,
            listed,
            hours: 6.0,
            ..Sessions::default()
        };
        // 1098 days ahead end on 2 January 2029; 30 December 2028 is the last Saturday before it.
        assert_eq!(
            last_day(&on(vec![Day::Saturday], Vec::new()), today),
            date(2028, 12, 30)
        );
        assert_eq!(last_day(&on(Vec::new(), Vec::new()), today), date(2029, 1, 2));
        assert_eq!(last_day(&on(Day::ALL.to_vec(), Vec::new()), today), date(2027, 1, 2));
        let once = Session {
            date: date(2026, 4, 6),
            hours: 9.0,
        };
        assert_eq!(last_day(&on(Vec::new(), vec![once]), today), date(2026, 4, 6));
    }

    #[test]
    fn money_comes_in_month_by_month() {
        let budget = Budget {
            in_hand: 100.0,
            per_month: 50.0,
            since: None,
            currency: String::new(),
            limited: true,
        };
        let today = date(2026, 1, 1);
        assert_eq!(money_by(&budget, today, date(2026, 1, 30)), 100.0);
        assert_eq!(money_by(&budget, today, date(2026, 3, 5)), 200.0);
    }
}
