//! The owner's sessions and money, day by day.

use jiff::civil::Date;

use crate::car::{Budget, Day, Sessions};
use crate::engine::clock::{DAYS_A_YEAR, days_between};

/// How far ahead sessions are looked for.
const DAYS_AHEAD: i32 = 3 * 366;

/// The next sessions from a day on, that day included, as many as asked for or as there are within three years.
#[must_use]
pub fn sessions(plan: &Sessions, today: Date, count: usize) -> Vec<Date> {
    if plan.hours <= 0.0 || plan.weekdays.is_empty() {
        return Vec::new();
    }
    let from = plan.from.map_or(today, |d| d.max(today));
    (0..DAYS_AHEAD)
        .filter_map(|ahead| from.checked_add(jiff::Span::new().days(ahead)).ok())
        .filter(|day| plan.weekdays.contains(&Day::of(*day)) && !plan.except.contains(day))
        .take(count)
        .collect()
}

/// Money that may have been spent in all by a day.
#[must_use]
pub fn money_by(budget: &Budget, today: Date, day: Date) -> f64 {
    let since = budget.since.unwrap_or(today);
    budget.in_hand + budget.per_month * (days_between(since, day).max(0.0) / (DAYS_A_YEAR / 12.0)).floor()
}

#[cfg(test)]
mod tests {
    use super::*;
    use jiff::civil::date;

    #[test]
    fn sessions_fall_on_the_days_asked_for_and_skip_those_that_are_not_free() {
        let plan = Sessions {
            weekdays: vec![Day::Saturday, Day::Wednesday],
            hours: 6.0,
            from: Some(date(2026, 4, 3)),
            except: vec![date(2026, 4, 8)],
        };
        // 3 April 2026 is a Friday.
        let days = sessions(&plan, date(2026, 3, 1), 3);
        assert_eq!(days, [date(2026, 4, 4), date(2026, 4, 11), date(2026, 4, 15)]);
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
