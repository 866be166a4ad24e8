//! The next winter: two surveys against each other, and forecasts held against what was seen.
//!
//! *What moved.* Checks seen in both surveys with no renewal or treatment between. A change is real if P(later > earlier) ≥ 0.9 under the learned
//! scatter, each survey's offset taken off (see `change`).
//!
//! *Forecasts.* They are made anew from the car as it was known on the earlier day ([`Car::as_known_on`]): no later survey, repair, order or odometer
//! reading is looked at. What is forecast is the grade that will be *given*: damage D at the later day, blurred by the scatter σ known
//! then and by the offset that a whole survey may have (sd 0.06):
//!
//! ```text
//! P(grade ≥ g) = E[ Φ((D − b_g) / √(σ² + 0.06²)) ]        D by its 60 even quantiles
//! ```
//!
//! A reading has its own sd and no offset. How well they did is told by the share inside the band from the 10 % to the 90 % grade, by what
//! came of each chance told, and by the Brier score (G. W. Brier, Monthly Weather Review 78, 1950), the mean of (chance − 0 or 1)², against
//! that of always saying the share that came about. Uncertainty of a share is E. B. Wilson's interval (JASA 22, 1927).

use jiff::civil::Date;
use serde::Serialize;

use super::assess::TOO_GOOD;
use super::change::chance_grown;
use super::clock::{day_after, days_between};
use super::decline::Observation;
use super::exposure::levels;
use super::lives::{Begin, Life, SeenLook, lives};
use super::memory::Memory;
use super::normal::cumulative;
use super::reckon::{Reckoning, SURVEY_OFFSET_SD};
use super::second_look::{REAL_FROM, repaired};
use super::state::{Grader, SurveyOffset};
use crate::car::{Car, Survey};
use crate::rubric::{CheckKind, Library, PartId};
use crate::units::Grade;

/// A forecast is held against a survey at least so many days later: sooner there is nothing to foresee.
pub const AT_LEAST_DAYS: i32 = 60;
/// The grade that forecasts are told about.
pub const BAD: Grade = Grade::ALL[4];
/// At how many even quantiles damage is taken.
const QUANTILES: u8 = 60;

/// Two surveys against each other.
#[derive(Debug, Clone, Serialize)]
pub struct Comparison {
    /// The earlier survey.
    pub from: Date,
    /// The later survey.
    pub to: Date,
    /// How steady the grader is.
    pub grader: Grader,
    /// How much harder the later one was graded than those before.
    pub offset: Option<SurveyOffset>,
    /// Checks seen in both, in the order of the rubrics.
    pub moved: Vec<Moved>,
    /// Repairs between them.
    pub repaired: Vec<Repaired>,
    /// Checks seen only in the earlier one.
    pub only_then: usize,
    /// Checks seen only in the later one.
    pub only_now: usize,
    /// What was forecast from the earlier day, and what was seen.
    pub forecasts: Vec<Forecast>,
}

/// A check seen in both surveys.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Moved {
    /// The part.
    pub part: PartId,
    /// The check.
    pub check: String,
    /// Its grade in the earlier survey.
    pub from: Grade,
    /// Its grade in the later one.
    pub to: Grade,
    /// Probability that the damage really grew.
    pub probability: f64,
    /// Better than can be without a repair, and none is recorded.
    pub too_good: bool,
}

impl Moved {
    /// Whether it really got worse.
    #[must_use]
    pub fn is_real(&self) -> bool {
        self.probability >= REAL_FROM
    }
}

/// A repair between two surveys.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Repaired {
    /// When.
    pub date: Date,
    /// The repair.
    pub repair: String,
    /// The part.
    pub part: PartId,
    /// The part's worst grade in the earlier survey.
    pub before: Option<Grade>,
    /// Its worst grade in the later one.
    pub after: Option<Grade>,
}

/// What was forecast of a check, and what was seen.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Forecast {
    /// The part.
    pub part: PartId,
    /// The check.
    pub check: String,
    /// The day from which it was made.
    pub made: Date,
    /// The survey it was made for.
    pub due: Date,
    /// The last grade known then.
    pub before: Option<Grade>,
    /// The probability told for each grade.
    pub grades: [f64; 6],
    /// The grade seen.
    pub seen: Grade,
}

impl Forecast {
    /// The probability told for this grade or a worse one.
    #[must_use]
    pub fn at_least(&self, grade: Grade) -> f64 {
        self.grades.iter().skip(grade.index()).sum::<f64>().clamp(0.0, 1.0)
    }

    /// The grades of the 10 % and the 90 % point.
    #[must_use]
    pub fn band(&self) -> (Grade, Grade) {
        let reaches = |p: f64| {
            let mut sum = 0.0;
            let at = Grade::ALL.iter().zip(&self.grades).find(|(_, chance)| {
                sum += **chance;
                sum >= p
            });
            at.map_or(Grade::LIMIT, |(grade, _)| *grade)
        };
        (reaches(0.1), reaches(0.9))
    }

    /// The probability told for the band: more than 0.8, since grades are whole.
    #[must_use]
    pub fn promised(&self) -> f64 {
        let (low, high) = self.band();
        let inside = Grade::ALL
            .iter()
            .zip(&self.grades)
            .filter(|(g, _)| (low..=high).contains(*g));
        inside.map(|(_, chance)| chance).sum::<f64>().min(1.0)
    }

    /// Whether what was seen lies in the band.
    #[must_use]
    pub fn inside(&self) -> bool {
        let (low, high) = self.band();
        (low..=high).contains(&self.seen)
    }
}

/// The survey that a comparison takes when none is named: the newest up to a day that saw at least a third of what the fullest one saw.
fn main_survey(car: &Car, until: Date) -> Option<&Survey> {
    let seen = |s: &Survey| s.looks.iter().filter(|l| l.seen.is_seen()).count();
    let fullest = car.surveys.iter().map(seen).max().unwrap_or(0);
    let mut known = car.surveys.iter().rev().filter(|s| s.date <= until);
    known.find(|s| seen(s) > 0 && seen(s) * 3 >= fullest)
}

/// The days of the two surveys to compare: those named, else the newest full one and the full one before it.
///
/// # Errors
/// In words, when there are no two such surveys.
pub fn two_surveys(car: &Car, from: Option<Date>, to: Option<Date>, today: Date) -> Result<(Date, Date), String> {
    let days: Vec<String> = car.surveys.iter().map(|s| s.date.to_string()).collect();
    let there = |day: Date| {
        if car.surveys.iter().any(|s| s.date == day) {
            Ok(day)
        } else if days.is_empty() {
            Err(format!("there is no survey of {day}; none is recorded yet"))
        } else {
            Err(format!(
                "there is no survey of {day}; there are those of {}",
                days.join(", ")
            ))
        }
    };
    let to = match to {
        Some(day) => there(day)?,
        None => main_survey(car, today)
            .map(|s| s.date)
            .ok_or("no survey has seen anything yet")?,
    };
    let from = match from {
        Some(day) => there(day)?,
        None => {
            let long_before = day_after(to, -f64::from(AT_LEAST_DAYS));
            let day_before = to.yesterday().map_err(|_| "there is no day before that survey")?;
            let found = main_survey(car, long_before).or_else(|| main_survey(car, day_before));
            found
                .map(|s| s.date)
                .ok_or_else(|| format!("there is no survey before that of {to} to hold it against"))?
        }
    };
    if from < to {
        Ok((from, to))
    } else {
        Err(format!("the survey of {from} is not earlier than that of {to}"))
    }
}

/// Two surveys against each other, with the scatter known today.
#[must_use]
pub fn compare(car: &Car, library: &Library, from: Date, to: Date, today: Date) -> Comparison {
    let mut until = car.clone();
    until.surveys.retain(|s| s.date <= to);
    // Second looks are judged by all repairs there are, also those after the survey.
    let parts = car.part_ids(library);
    for survey in &mut until.surveys {
        let day = survey.date;
        let untouched = |l: &crate::car::SecondLook| !repaired(car, library, &parts, day, l.on, &l.part, &l.check);
        survey.second_looks.retain(untouched);
    }
    until.repairs.retain(|r| r.date <= to);
    let memory = Memory::new();
    let reckoning = Reckoning::new(&until, library, today.max(to), &memory);
    let (mut moved, mut only_then, mut only_now) = (Vec::new(), 0, 0);
    for (life, state) in reckoning.lives.iter().zip(&reckoning.states) {
        let at = |date: Date| life.looks.iter().position(|l| l.date == date);
        let (then, now) = match (at(from), at(to)) {
            (Some(then), Some(now)) => (then, now),
            (then, now) => {
                only_then += usize::from(then.is_some());
                only_now += usize::from(now.is_some());
                continue;
            }
        };
        let offset = |nth: usize| state.offsets.get(nth).copied().unwrap_or(0.0);
        let (Some(earlier), Some(later), Some(part)) = (
            life.looks.get(then),
            life.looks.get(now),
            reckoning.parts.get(life.part),
        ) else {
            continue;
        };
        let probability = chance_grown(&earlier.observation, offset(then), &later.observation, offset(now));
        let improbable = state.as_good.is_some_and(|chance| chance < TOO_GOOD);
        moved.push(Moved {
            part: part.clone(),
            check: life.check.id.clone(),
            from: earlier.grade,
            to: later.grade,
            probability,
            too_good: later.damage < earlier.damage && (probability <= 1.0 - REAL_FROM || improbable),
        });
    }
    let worst = |part: &PartId, date: Date| {
        let of_part = reckoning
            .lives
            .iter()
            .filter(|l| reckoning.parts.get(l.part) == Some(part));
        of_part
            .flat_map(|l| &l.looks)
            .filter(|l| l.date == date)
            .map(|l| l.grade)
            .max()
    };
    // A look on the day of a repair came before it.
    let between = until.repairs.iter().filter(|done| done.date >= from && done.date < to);
    let repaired = between
        .map(|done| Repaired {
            date: done.date,
            repair: done.repair.clone(),
            part: done.part.clone(),
            before: worst(&done.part, from),
            after: worst(&done.part, to),
        })
        .collect();
    Comparison {
        from,
        to,
        grader: reckoning.grader,
        offset: reckoning.offsets.iter().find(|o| o.date == to).cloned(),
        repaired,
        moved,
        only_then,
        only_now,
        forecasts: forecasts(car, library, from, to),
    }
}

/// What was forecast on a day, from what was known then, of every check that a later survey saw; what was renewed or treated between is left out.
#[must_use]
pub fn forecasts(car: &Car, library: &Library, made: Date, due: Date) -> Vec<Forecast> {
    let known = car.as_known_on(made);
    let memory = Memory::new();
    let then = Reckoning::new(&known, library, made, &memory);
    let clocks = then.ahead();
    let parts = car.part_ids(library);
    let mut forecasts = Vec::new();
    for life in lives(car, library, &parts, due, then.grader.sd) {
        let Some(look) = life.looks.iter().find(|l| l.date == due) else {
            continue;
        };
        let Some(part) = parts.get(life.part) else { continue };
        // A life that began in between is another part, or another surface.
        let same = !matches!(life.begin, Begin::New(day) | Begin::Treated(day, _) if day > made);
        let place = then.parts.iter().position(|p| p == part).filter(|_| same);
        let Some(place) = place.and_then(|at| then.present(at, &life.check.id)) else {
            continue;
        };
        let Some(before) = then.lives.get(place) else { continue };
        if before.looks.is_empty() && before.begin == Begin::Unknown {
            continue;
        }
        let Some(ahead) = clocks.get(place).and_then(Option::as_ref) else {
            continue;
        };
        let ahead = ahead.at(days_between(made, due));
        let Some(grades) = chances(&then, place, before, look, ahead) else {
            continue;
        };
        forecasts.push(Forecast {
            part: part.clone(),
            check: life.check.id.clone(),
            made,
            due,
            before: before.looks.last().map(|l| l.grade),
            grades,
            seen: look.grade,
        });
    }
    forecasts
}

/// The probability of each grade that may be given at a later look.
fn chances(then: &Reckoning, place: usize, life: &Life, look: &SeenLook, ahead: f64) -> Option<[f64; 6]> {
    let posterior = then.posterior(place, &levels(life.component, &life.check.id))?;
    let ps: Vec<f64> = (0..QUANTILES)
        .map(|n| (f64::from(n) + 0.5) / f64::from(QUANTILES))
        .collect();
    let damages = posterior.damage_ahead(ahead, &ps);
    let sd = match look.observation {
        Observation::Reading { sd, .. } => sd,
        Observation::Grade { .. } | Observation::PastLimit { .. } => then.grader.sd.hypot(SURVEY_OFFSET_SD),
    };
    let past = |edge: f64| {
        let each = damages.iter().map(|d| cumulative((d - edge) / sd.max(1e-4)));
        each.sum::<f64>() / f64::from(QUANTILES)
    };
    let mut grades = [0.0; 6];
    let edges = life.check.grade_edges();
    let mut above = 1.0;
    // The answer to a question is as new or at the limit, nothing between.
    let only_the_limit = matches!(life.check.kind, CheckKind::YesNo(_));
    for (nth, (grade, edge)) in grades.iter_mut().zip(edges).enumerate() {
        let beyond = if only_the_limit {
            past(1.0)
        } else {
            past(edge).min(above)
        };
        *grade = if only_the_limit && nth > 0 { 0.0 } else { above - beyond };
        above = beyond;
    }
    if let Some(last) = grades.last_mut() {
        *last = above;
    }
    Some(grades)
}

/// Parts forecast to be bad, and what became of them.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize)]
pub struct BadParts {
    /// Parts of which this was more probable than not.
    pub forecast: usize,
    /// Of those, the ones that were so at the last look before.
    pub already: usize,
    /// Of those forecast, the ones that came to it.
    pub came: usize,
    /// Parts of which it was not forecast.
    pub others: usize,
    /// Of those, the ones that came to it all the same.
    pub others_came: usize,
}

/// How many parts were forecast to reach grade 4 or worse, and did.
#[must_use]
pub fn bad_parts(forecasts: &[Forecast]) -> BadParts {
    let mut parts: Vec<(&PartId, Date)> = forecasts.iter().map(|f| (&f.part, f.due)).collect();
    parts.sort();
    parts.dedup();
    let mut told = BadParts::default();
    for (part, due) in parts {
        let of_part = || forecasts.iter().filter(|f| f.part == *part && f.due == due);
        let came = of_part().any(|f| f.seen >= BAD);
        if of_part().any(|f| f.at_least(BAD) >= 0.5) {
            told.forecast += 1;
            told.came += usize::from(came);
            told.already += usize::from(came && of_part().any(|f| f.before >= Some(BAD)));
        } else {
            told.others += 1;
            told.others_came += usize::from(came);
        }
    }
    told
}

/// How well forecasts did on this car.
#[derive(Debug, Clone, Serialize)]
pub struct Calibration {
    /// The pairs of surveys: made, due, and how many checks.
    pub pairs: Vec<(Date, Date, usize)>,
    /// Parts forecast to reach grade 4 or worse.
    pub bad_parts: BadParts,
    /// How many looks fell into the band.
    pub inside: Share,
    /// What the bands promised on average.
    pub promised: f64,
    /// Grade 4 or worse.
    pub bad: Event,
    /// At least one grade worse than at the last look.
    pub worse: Event,
}

/// So many of so many.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Share {
    /// How many.
    pub count: usize,
    /// Of how many.
    pub of: usize,
    /// The lower end of what the share may be in the long run, at 95 %.
    pub low: f64,
    /// The upper end.
    pub high: f64,
}

impl Share {
    /// A share with the interval of Wilson 1927 at 95 %.
    #[must_use]
    pub fn new(count: usize, of: usize) -> Share {
        const Z: f64 = 1.959_964;
        let (mut low, mut high) = (0.0, 1.0);
        if of > 0 {
            let n = of as f64;
            let p = count as f64 / n;
            let middle = p + Z * Z / (2.0 * n);
            let half = Z * (p * (1.0 - p) / n + Z * Z / (4.0 * n * n)).sqrt();
            low = ((middle - half) / (1.0 + Z * Z / n)).max(0.0);
            high = ((middle + half) / (1.0 + Z * Z / n)).min(1.0);
        }
        Share { count, of, low, high }
    }

    /// The share; nothing of nothing is 0.
    #[must_use]
    pub fn share(&self) -> f64 {
        if self.of == 0 {
            0.0
        } else {
            self.count as f64 / self.of as f64
        }
    }
}

/// Chances told of an event, and what came of them.
#[derive(Debug, Clone, Serialize)]
pub struct Event {
    /// By the chance told: from, to, mean of those told, and what came.
    pub bins: Vec<Bin>,
    /// How often it came about.
    pub came: Share,
    /// Mean square of chance less outcome; 0 is best.
    pub brier: f64,
    /// The same for always saying the share that came about.
    pub brier_of_base: f64,
}

/// Forecasts that told about the same chance.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Bin {
    /// The lowest chance of the bin.
    pub from: f64,
    /// The highest.
    pub to: f64,
    /// Mean of the chances told.
    pub told: f64,
    /// What came about.
    pub came: Share,
}

/// Chances told are gathered between these.
const BINS: [(f64, f64); 5] = [(0.0, 0.1), (0.1, 0.3), (0.3, 0.7), (0.7, 0.9), (0.9, 1.0)];

/// Sets chances told against what came about.
#[must_use]
pub fn event(told: &[(f64, bool)]) -> Event {
    let n = told.len().max(1) as f64;
    let came = Share::new(told.iter().filter(|(_, came)| *came).count(), told.len());
    let base = came.share();
    let bins = BINS.iter().filter_map(|(from, to)| {
        let last = *to >= 1.0;
        let inside: Vec<&(f64, bool)> = told.iter().filter(|(p, _)| p >= from && (p < to || last)).collect();
        (!inside.is_empty()).then(|| Bin {
            from: *from,
            to: *to,
            told: inside.iter().map(|(p, _)| p).sum::<f64>() / inside.len() as f64,
            came: Share::new(inside.iter().filter(|(_, came)| *came).count(), inside.len()),
        })
    });
    Event {
        bins: bins.collect(),
        came,
        brier: told
            .iter()
            .map(|(p, came)| (p - f64::from(u8::from(*came))).powi(2))
            .sum::<f64>()
            / n,
        brier_of_base: base * (1.0 - base),
    }
}

/// How well forecasts did on this car: every survey against the newest one at least two months before it.
///
/// `None` if there are no two such surveys.
#[must_use]
pub fn calibration(car: &Car, library: &Library, today: Date) -> Option<Calibration> {
    let mut all = Vec::new();
    let mut pairs = Vec::new();
    for survey in car.surveys.iter().filter(|s| s.date <= today) {
        let long_before = day_after(survey.date, -f64::from(AT_LEAST_DAYS));
        let Some(made) = car.surveys.iter().rev().find(|s| s.date <= long_before) else {
            continue;
        };
        let told = forecasts(car, library, made.date, survey.date);
        if !told.is_empty() {
            pairs.push((made.date, survey.date, told.len()));
            all.extend(told);
        }
    }
    (!all.is_empty()).then(|| calibration_of(pairs, &all))
}

/// The same from forecasts.
#[must_use]
pub fn calibration_of(pairs: Vec<(Date, Date, usize)>, all: &[Forecast]) -> Calibration {
    let bad: Vec<(f64, bool)> = all.iter().map(|f| (f.at_least(BAD), f.seen >= BAD)).collect();
    let worse: Vec<(f64, bool)> = all
        .iter()
        .filter_map(|f| {
            let before = f.before?;
            let next = Grade::ALL.get(before.index() + 1)?;
            Some((f.at_least(*next), f.seen > before))
        })
        .collect();
    Calibration {
        pairs,
        bad_parts: bad_parts(all),
        inside: Share::new(all.iter().filter(|f| f.inside()).count(), all.len()),
        promised: all.iter().map(Forecast::promised).sum::<f64>() / all.len().max(1) as f64,
        bad: event(&bad),
        worse: event(&worse),
    }
}
