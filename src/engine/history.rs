//! One check's history and forecast as a series of dates, for the decline chart.

use jiff::civil::Date;
use serde::Serialize;

use super::clock::{DAYS_A_YEAR, day_after, days_between};
use super::decline::Posterior;
use super::exposure::levels;
use super::harm::band_start;
use super::memory::Memory;
use super::reckon::Reckoning;
use super::state::Spread;
use crate::car::{Car, Seen};
use crate::rubric::{Library, PartId};
use crate::units::Grade;

/// History and forecast of one check.
#[derive(Debug, Clone, Serialize)]
pub struct DeclineSeries {
    /// Damage over time; the days up to today are history, the rest forecast.
    pub points: Vec<DeclinePoint>,
    /// What was seen, oldest first.
    pub looks: Vec<DeclineLook>,
    /// Repairs that restarted it: date and repair id.
    pub repairs: Vec<(Date, String)>,
    /// Where history ends.
    pub today: Date,
}

/// Damage at a date.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct DeclinePoint {
    /// The day.
    pub date: Date,
    /// Damage.
    pub damage: Spread,
    /// Probability of being past the limit.
    pub past_limit: f64,
}

/// A look, as damage.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct DeclineLook {
    /// The day.
    pub date: Date,
    /// What was seen.
    pub seen: Seen,
    /// The grade it stands for.
    pub grade: Grade,
    /// Lowest damage it stands for.
    pub from: f64,
    /// Highest damage it stands for (equal to `from` for a reading).
    pub to: f64,
}

/// How many dates the forecast has beside today.
const AHEAD_STEPS: u32 = 24;

/// History and forecast of one check of one part; `None` if the car has no such check.
///
/// History is what was known after each look: the damage as the filter stood on that day, with the car's pace as known now. The forecast runs over `years`
/// from today, weighted by the part still holding.
#[must_use]
pub fn series(
    car: &Car,
    library: &Library,
    today: Date,
    part: &PartId,
    check: &str,
    years: f64,
    memory: &Memory,
) -> Option<DeclineSeries> {
    let reckoning = Reckoning::watching(car, library, today, memory, Some((part, check)));
    let at = reckoning.parts.iter().position(|p| p == part)?;
    let place = reckoning.present(at, check)?;
    let mut points = Vec::new();
    let mut looks = Vec::new();
    for lived in reckoning.lives.iter().filter(|l| l.part == at && l.check.id == check) {
        let edges = lived.check.grade_edges();
        for look in &lived.looks {
            let (from, to) = match look.look.seen {
                Seen::Reading(_) => (look.damage, look.damage),
                _ => {
                    let from = band_start(&edges, look.grade);
                    (
                        from,
                        edges.get(look.grade.index()).copied().unwrap_or(from.max(1.0) + 0.25),
                    )
                }
            };
            looks.push(DeclineLook {
                date: look.date,
                seen: look.look.seen.clone(),
                grade: look.grade,
                from,
                to,
            });
        }
    }
    for (life, date, filter) in reckoning.snapshots.iter().filter(|s| s.1 < today) {
        let Some(factor) = reckoning.factors.get(*life) else {
            continue;
        };
        points.push(point(&filter.posterior(factor, &[]), *date, 0.0));
    }
    let component = library.component(&part.component)?;
    let posterior = reckoning.posterior(place, &levels(component, check))?;
    let tables = reckoning.ahead();
    let clock = tables.get(place)?.as_ref()?;
    let span = (years.max(0.1) * DAYS_A_YEAR).min(60.0 * DAYS_A_YEAR);
    for step in 0..=AHEAD_STEPS {
        let days = span * f64::from(step) / f64::from(AHEAD_STEPS);
        let date = day_after(today, days);
        points.push(point(&posterior, date, clock.at(days_between(today, date))));
    }
    let repairs = car
        .repairs
        .iter()
        .filter(|done| {
            done.date <= today
                && reckoning
                    .lives
                    .iter()
                    .any(|l| l.part == at && l.check.id == check && l.begin.date() == Some(done.date))
        })
        .filter(|done| {
            library
                .repair(&done.repair)
                .is_some_and(|repair| super::lives::covered(&reckoning.parts, repair, &done.part).contains(&part))
        })
        .map(|done| (done.date, done.repair.clone()))
        .collect();
    Some(DeclineSeries {
        points,
        looks,
        repairs,
        today,
    })
}

fn point(posterior: &Posterior, date: Date, ahead: f64) -> DeclinePoint {
    let at = posterior.damage_ahead(ahead, &[0.1, 0.5, 0.9]);
    let of = |nth: usize| at.get(nth).copied().unwrap_or(0.0);
    let damage = Spread {
        low: of(0),
        mid: of(1),
        high: of(2),
    };
    DeclinePoint {
        date,
        damage,
        past_limit: posterior.past(1.0, ahead),
    }
}
