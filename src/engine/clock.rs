//! The clocks that wear a part: how a stretch of calendar becomes wear, rust or age.
//!
//! | driver | one unit | from the calendar |
//! |---|---|---|
//! | wear | 10,000 km | odometer readings; between and beyond them the car's yearly distance |
//! | corrosion | one year of the reference climate C3 | each month counts 1, a salted month `salt_factor`, over 12, times climate, times storage |
//! | ageing | one year | calendar time times the storage factor |
//! | mixed | as its rubric weighs them | the weighted sum |
//!
//! The climate factor is the ratio of the geometric means of the ISO 9223 class limits of carbon steel to that of C3
//! (ISO 9223:2012 table 2), as it stands for bare metal and its square root for coated metal (judgement).
//! A laid-up car covers no distance; rust and ageing go on.

use jiff::civil::Date;

use super::state::OdometerFall;
use crate::car::{Car, Use};
use crate::rubric::{Driver, Library, Surface};

/// Mean length of a year in days.
pub const DAYS_A_YEAR: f64 = 365.25;

/// Kilometres in one unit of the wear clock.
pub const KM_A_WEAR_UNIT: f64 = 10_000.0;

/// Days from one date to another; negative when the second is earlier.
#[must_use]
pub fn days_between(from: Date, to: Date) -> f64 {
    f64::from((to - from).get_days())
}

/// A date so many whole days later; dates beyond the calendar's end stay there.
#[must_use]
pub fn day_after(from: Date, days: f64) -> Date {
    // Rounding to a whole day is the purpose; the clamp keeps the value inside i32.
    #[allow(clippy::cast_possible_truncation)]
    let whole = days.round().clamp(-3_000_000.0, 3_000_000.0) as i32;
    from.saturating_add(jiff::Span::new().days(whole))
}

/// The clocks of one car.
#[derive(Debug, Clone)]
pub struct Clocks {
    /// Odometer readings in kilometres by date, never falling.
    odometer: Vec<(Date, f64)>,
    yearly_km: f64,
    laid_up: bool,
    today: Date,
    month_weight: [f64; 12],
    corrosion_bare: f64,
    corrosion_coated: f64,
    ageing: f64,
}

/// The ratio of a climate class's carbon-steel rate to that of C3.
///
/// # Formula
/// `sqrt(from · to) / sqrt(from_C3 · to_C3)`, the limits in µm a year. 1 when either class is unknown.
#[must_use]
pub fn climate_ratio(library: &Library, class: &str) -> f64 {
    let rate = |id: &str| library.climate(id).map(|c| (c.loss_from * c.loss_to).sqrt());
    match (rate(class), rate("C3")) {
        (Some(here), Some(reference)) if reference > 0.0 && here > 0.0 => here / reference,
        _ => 1.0,
    }
}

/// Loss of bare steel after so many years, in first-year losses (ISO 9224:2012).
///
/// # Formula
/// `t^b` up to 20 years, beyond that the tangent there: `20^b + b · 20^(b−1) · (t − 20)`. b = 0.523 on average and 0.575 to be
/// cautious, for carbon steel in the open; sheltered steel does not slow down.
///
/// # Example
/// ```
/// let ten_years = tinworm::engine::clock::attack(10.0, 0.523);
/// assert!((ten_years - 3.334).abs() < 0.001);
/// ```
#[must_use]
pub fn attack(years: f64, exponent: f64) -> f64 {
    const STRAIGHT_FROM: f64 = 20.0;
    let years = years.max(0.0);
    if years <= STRAIGHT_FROM {
        years.powf(exponent)
    } else {
        STRAIGHT_FROM.powf(exponent) + exponent * STRAIGHT_FROM.powf(exponent - 1.0) * (years - STRAIGHT_FROM)
    }
}

/// Odometer readings up to a day, in order of time; the lower of one day first.
fn odometer_readings(car: &Car, today: Date) -> Vec<(Date, f64)> {
    let surveys = car.surveys.iter().map(|s| (s.date, s.odometer_km));
    let repairs = car.repairs.iter().map(|r| (r.date, r.odometer_km));
    let mut readings: Vec<(Date, f64)> = surveys
        .chain(repairs)
        .filter_map(|(date, km)| Some((date, km.filter(|km| km.is_finite())?)))
        .filter(|(date, _)| *date <= today)
        .collect();
    readings.sort_by(|a, b| a.0.cmp(&b.0).then(a.1.total_cmp(&b.1)));
    readings
}

/// Where the odometer ran backwards by more than a kilometre, up to a day: asked about, since one of the two is wrong or the
/// instrument was changed.
#[must_use]
pub fn odometer_falls(car: &Car, today: Date) -> Vec<OdometerFall> {
    let readings = odometer_readings(car, today);
    readings
        .iter()
        .zip(readings.iter().skip(1))
        .filter(|(a, b)| b.1 < a.1 - 1.0)
        .map(|(a, b)| OdometerFall {
            from_date: a.0,
            from_km: a.1,
            to_date: b.0,
            to_km: b.1,
        })
        .collect()
}

impl Clocks {
    /// The clocks of a car as known on a day: later odometer readings are not looked at.
    #[must_use]
    pub fn new(car: &Car, library: &Library, today: Date) -> Clocks {
        let yearly_km = car.profile.yearly_km.max(0.0);
        let laid_up = car.profile.in_use == Use::LaidUp;
        // An odometer that ran backwards was misread or replaced: that stretch counts at the yearly distance, and the count
        // goes on from the lower figure.
        let mut odometer: Vec<(Date, f64)> = Vec::new();
        let mut before: Option<(Date, f64)> = None;
        for (date, read) in odometer_readings(car, today) {
            let total = match (before, odometer.last()) {
                (Some((_, shown)), Some((_, total))) if read >= shown => total + read - shown,
                (Some((then, _)), Some((_, total))) if !laid_up => {
                    total + yearly_km * days_between(then, date) / DAYS_A_YEAR
                }
                (_, Some((_, total))) => *total,
                (_, None) => read,
            };
            odometer.push((date, total));
            before = Some((date, read));
        }
        let mut month_weight = [1.0; 12];
        for month in &car.profile.salted_months {
            if let Some(weight) = month_weight.get_mut(usize::from(month.saturating_sub(1))) {
                *weight = car.profile.salt_factor;
            }
        }
        let ratio = climate_ratio(library, &car.profile.climate);
        let (rust, age) = library
            .storage(&car.profile.storage)
            .map_or((1.0, 1.0), |s| (s.corrosion, s.ageing));
        Clocks {
            odometer,
            yearly_km,
            laid_up,
            today,
            month_weight,
            corrosion_bare: ratio * rust,
            corrosion_coated: ratio.sqrt() * rust,
            ageing: age,
        }
    }

    /// Clock units that pass between two dates, the second not earlier. The future is reckoned as in use, whether or
    /// not the car is laid up: the plan orders its way back to the road.
    #[must_use]
    pub fn elapsed(&self, driver: Driver, from: Date, to: Date) -> f64 {
        if to <= from {
            return 0.0;
        }
        match driver {
            Driver::Wear => self.wear(from, to),
            Driver::Corrosion(Surface::Bare) => self.weighted_years(from, to) * self.corrosion_bare,
            Driver::Corrosion(Surface::Coated) => self.weighted_years(from, to) * self.corrosion_coated,
            Driver::Ageing => days_between(from, to) / DAYS_A_YEAR * self.ageing,
            Driver::Mixed {
                wear,
                corrosion,
                ageing,
            } => {
                wear * self.wear(from, to)
                    + corrosion * self.weighted_years(from, to) * self.corrosion_coated
                    + ageing * days_between(from, to) / DAYS_A_YEAR * self.ageing
            }
        }
    }

    fn wear(&self, from: Date, to: Date) -> f64 {
        (self.km(to) - self.km(from)).max(0.0) / KM_A_WEAR_UNIT
    }

    /// Kilometres at a date, on a scale whose zero does not matter.
    fn km(&self, date: Date) -> f64 {
        let (Some(first), Some(last)) = (self.odometer.first(), self.odometer.last()) else {
            return self.driven(self.today, date);
        };
        if date <= first.0 {
            return first.1 - self.yearly_km * days_between(date, first.0) / DAYS_A_YEAR;
        }
        if date >= last.0 {
            return last.1 + self.driven(last.0, date);
        }
        let after = self.odometer.partition_point(|(d, _)| *d <= date);
        match (self.odometer.get(after - 1), self.odometer.get(after)) {
            (Some(a), Some(b)) => a.1 + (b.1 - a.1) * days_between(a.0, date) / days_between(a.0, b.0).max(1.0),
            _ => last.1,
        }
    }

    /// Kilometres at the yearly distance; none up to today for a laid-up car.
    fn driven(&self, from: Date, to: Date) -> f64 {
        let from = if self.laid_up && from < self.today {
            self.today
        } else {
            from
        };
        if self.laid_up && to <= from {
            return 0.0;
        }
        self.yearly_km * days_between(from, to) / DAYS_A_YEAR
    }

    /// Years in which salted months count more.
    fn weighted_years(&self, from: Date, to: Date) -> f64 {
        let mut total = 0.0;
        let mut at = from;
        while at < to {
            let next = at.last_of_month().saturating_add(jiff::Span::new().days(1)).min(to);
            if next <= at {
                break;
            }
            let month = usize::try_from(at.month() - 1).unwrap_or(0);
            let weight = self.month_weight.get(month).copied().unwrap_or(1.0);
            total += weight * days_between(at, next) / f64::from(at.days_in_month()) / 12.0;
            at = next;
        }
        total
    }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;
    use crate::car::{Profile, RepairDone, Survey};
    use crate::rubric::{Climate, RubricFile, Side, Storage};
    use jiff::civil::date;

    fn library() -> Library {
        // ISO 9223:2012 table 2, carbon steel, µm a year.
        let climate = |id: &str, loss_from, loss_to| Climate {
            id: id.into(),
            name: String::new(),
            loss_from,
            loss_to,
            source: String::new(),
        };
        let storage = Storage {
            id: "outside".into(),
            name: String::new(),
            corrosion: 1.0,
            ageing: 1.0,
            source: String::new(),
        };
        Library::unchecked(RubricFile {
            climates: vec![climate("C3", 25.0, 50.0), climate("C5", 80.0, 200.0)],
            storages: vec![storage],
            ..RubricFile::default()
        })
    }

    fn car() -> Car {
        Car::new(Profile {
            name: "Test".into(),
            built: None,
            layout: Vec::new(),
            drive_side: Side::Left,
            distance_unit: Default::default(),
            yearly_km: 6000.0,
            salted_months: vec![11, 12, 1, 2, 3],
            salt_factor: 2.0,
            climate: "C3".into(),
            storage: "outside".into(),
            in_use: Use::InUse,
            next_survey: None,
            sessions: Default::default(),
            budget: Default::default(),
            tools: Vec::new(),
            retired: None,
        })
    }

    #[test]
    fn a_year_with_five_salted_months_is_17_twelfths_of_a_reference_year() {
        let clocks = Clocks::new(&car(), &library(), date(2026, 6, 1));
        let year = clocks.elapsed(Driver::Corrosion(Surface::Bare), date(2025, 6, 1), date(2026, 6, 1));
        assert!((year - 17.0 / 12.0).abs() < 1e-12, "{year}");
        let half_january = clocks.elapsed(Driver::Corrosion(Surface::Bare), date(2026, 1, 1), date(2026, 1, 16));
        assert!((half_january - 2.0 * 15.0 / 31.0 / 12.0).abs() < 1e-12);
    }

    /// ISO 9224:2012 table 3, carbon steel, columns B1 and B2; beyond 20 years 80 µm × the tangent law at 25 years is 433.4 µm
    /// and 200 µm at 30 years with B2 1441.7 µm (computed from equation 3).
    #[test]
    fn bare_steel_slows_as_iso_9224_says() {
        for (years, b1, b2) in [
            (2.0, 1.437, 1.490),
            (5.0, 2.320, 2.523),
            (10.0, 3.334, 3.758),
            (15.0, 4.122, 4.745),
            (20.0, 4.791, 5.599),
        ] {
            assert!((attack(years, 0.523) - b1).abs() < 0.001, "{years}");
            assert!((attack(years, 0.575) - b2).abs() < 0.001, "{years}");
        }
        assert!((80.0 * attack(25.0, 0.523) - 433.4).abs() < 0.1);
        assert!((200.0 * attack(30.0, 0.575) - 1441.7).abs() < 0.1);
    }

    #[test]
    fn climate_factors_follow_the_iso_9223_limits() {
        let mut car = car();
        car.profile.climate = "C5".into();
        car.profile.salted_months.clear();
        let clocks = Clocks::new(&car, &library(), date(2026, 6, 1));
        let ratio = (80.0f64 * 200.0).sqrt() / (25.0f64 * 50.0).sqrt();
        let bare = clocks.elapsed(Driver::Corrosion(Surface::Bare), date(2025, 1, 1), date(2026, 1, 1));
        let coated = clocks.elapsed(Driver::Corrosion(Surface::Coated), date(2025, 1, 1), date(2026, 1, 1));
        assert!((bare - ratio).abs() < 1e-12 && (coated - ratio.sqrt()).abs() < 1e-12);
    }

    #[test]
    fn distance_comes_from_the_odometer_and_beyond_it_from_the_year() {
        let mut car = car();
        car.surveys.push(Survey::new(date(2025, 4, 1), Some(100_000.0)));
        car.surveys.push(Survey::new(date(2026, 4, 1), Some(110_000.0)));
        let clocks = Clocks::new(&car, &library(), date(2026, 4, 1));
        assert!((clocks.elapsed(Driver::Wear, date(2025, 4, 1), date(2026, 4, 1)) - 1.0).abs() < 1e-12);
        let ahead = clocks.elapsed(Driver::Wear, date(2026, 4, 1), date(2027, 4, 1));
        assert!((ahead - 0.6 * 365.0 / 365.25).abs() < 1e-12, "{ahead}");
        let across = clocks.elapsed(Driver::Wear, date(2025, 10, 1), date(2026, 10, 1));
        let parts = clocks.elapsed(Driver::Wear, date(2025, 10, 1), date(2026, 4, 1))
            + clocks.elapsed(Driver::Wear, date(2026, 4, 1), date(2026, 10, 1));
        assert!((across - parts).abs() < 1e-12);
    }

    #[test]
    fn a_laid_up_car_does_not_wear_but_the_future_counts_as_in_use() {
        let mut car = car();
        car.profile.in_use = Use::LaidUp;
        car.surveys.push(Survey::new(date(2025, 4, 1), Some(100_000.0)));
        let today = date(2026, 4, 1);
        let clocks = Clocks::new(&car, &library(), today);
        assert_eq!(clocks.elapsed(Driver::Wear, date(2025, 4, 1), today), 0.0);
        assert!(clocks.elapsed(Driver::Wear, today, date(2027, 4, 1)) > 0.59);
        assert!(clocks.elapsed(Driver::Ageing, date(2025, 4, 1), today) > 0.99);
    }

    #[test]
    fn an_odometer_that_runs_backwards_is_asked_about_and_counts_at_the_yearly_distance() {
        let mut car = car();
        car.surveys.push(Survey::new(date(2025, 4, 1), Some(100_000.0)));
        car.repairs.push(RepairDone {
            odometer_km: Some(90_000.0),
            ..RepairDone::new(date(2025, 8, 1), "x", "a@car".parse().unwrap())
        });
        car.surveys.push(Survey::new(date(2026, 3, 1), Some(95_000.0)));
        let today = date(2026, 4, 1);
        let clocks = Clocks::new(&car, &library(), today);
        let wear = |from, to| clocks.elapsed(Driver::Wear, from, to);
        let back = wear(date(2025, 4, 1), date(2025, 8, 1));
        assert!((back - 0.6 * 122.0 / 365.25).abs() < 1e-9, "{back}");
        assert!((wear(date(2025, 8, 1), date(2026, 3, 1)) - 0.5).abs() < 1e-9);
        let falls = odometer_falls(&car, today);
        let expected = OdometerFall {
            from_date: date(2025, 4, 1),
            from_km: 100_000.0,
            to_date: date(2025, 8, 1),
            to_km: 90_000.0,
        };
        assert_eq!(falls, [expected]);
        assert!(odometer_falls(&car, date(2025, 7, 31)).is_empty());
    }
}
