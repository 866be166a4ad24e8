//! A clock tabulated over dates, and the dates of a table.

use jiff::civil::Date;

/// A clock tabulated over a stretch of dates.
#[derive(Debug, Clone, Default)]
pub(crate) struct ClockTable {
    /// Days from the first date.
    pub(crate) days: Vec<f64>,
    /// Clock units since the first date.
    pub(crate) units: Vec<f64>,
    /// The whole stretch on the even clock, which differs only for bare steel that slows as it rusts.
    pub(crate) even: f64,
}

impl ClockTable {
    /// Clock units after so many days, straight between entries and beyond the last at the pace of the last year.
    pub(crate) fn at(&self, days: f64) -> f64 {
        let (Some(last_day), Some(last)) = (self.days.last(), self.units.last()) else {
            return 0.0;
        };
        if days >= *last_day {
            return last + (days - last_day) * self.last_pace();
        }
        interpolate(&self.days, &self.units, days)
    }

    /// Days until so many clock units have passed; infinite when the clock stands still.
    pub(crate) fn days_until(&self, units: f64) -> f64 {
        let (Some(last_day), Some(last)) = (self.days.last(), self.units.last()) else {
            return f64::INFINITY;
        };
        if units <= 0.0 {
            return 0.0;
        }
        if units >= *last {
            let pace = self.last_pace();
            return if pace > 0.0 {
                last_day + (units - last) / pace
            } else {
                f64::INFINITY
            };
        }
        interpolate(&self.units, &self.days, units)
    }

    fn last_pace(&self) -> f64 {
        let (Some(last_day), Some(last)) = (self.days.last(), self.units.last()) else {
            return 0.0;
        };
        let from = (last_day - 365.0).max(0.0);
        let span = last_day - from;
        if span > 0.0 {
            (last - interpolate(&self.days, &self.units, from)) / span
        } else {
            0.0
        }
    }
}

/// Straight-line interpolation in a table whose first column never falls.
pub(crate) fn interpolate(xs: &[f64], ys: &[f64], x: f64) -> f64 {
    let after = xs.partition_point(|v| *v < x).max(1);
    match (xs.get(after - 1), xs.get(after), ys.get(after - 1), ys.get(after)) {
        (Some(x0), Some(x1), Some(y0), Some(y1)) if x1 > x0 => y0 + (y1 - y0) * (x - x0) / (x1 - x0),
        _ => ys.get(after - 1).copied().unwrap_or(0.0),
    }
}

/// Dates from one to another in steps of at most a month, both ends included.
pub(crate) fn months(from: Date, to: Date) -> Vec<Date> {
    let mut dates = vec![from];
    let mut at = from;
    while at < to {
        let next = at.last_of_month().saturating_add(jiff::Span::new().days(1)).min(to);
        if next <= at {
            break;
        }
        dates.push(next);
        at = next;
    }
    dates
}
