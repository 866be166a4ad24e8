//! Exposure of one part: from the posteriors of its checks to points over time, by cause, and in draws.
//!
//! Several checks that drive one mode combine as `1 − Π(1 − p)`; several checks that may put a part into a law class
//! combine the same way, class by class, so that a part collects for its worst class once. Integrals over time are
//! trapezoids over the tabulated days; where only the whole until the next survey is wanted, in draws and for looks that might be
//! taken, two-point Gauss-Legendre quadrature (Abramowitz and Stegun, table 25.4), which is exact for cubics.

use std::rc::Rc;

use super::clock::DAYS_A_YEAR;
use super::clock_table::ClockTable;
use super::decline::{Ask, Posterior, dealt};
use super::harm::{TIMES_A_YEAR_ONCE_HAPPENED, class_from, points_a_year, risk_level, weight};
use super::state::{Cause, CausePoints, ExposureCurve, RiskLevel};
use crate::rubric::{Check, Class, Component, FailureMode, LetsGo};
use crate::units::Grade;

/// The law's classes, mildest first.
const CLASSES: [Class; 3] = [Class::Minor, Class::Major, Class::Dangerous];

/// One check of a part, ready to be asked.
pub(crate) struct Voice<'a> {
    pub(crate) check: &'a Check,
    pub(crate) posterior: Posterior,
    pub(crate) clock: ClockTable,
    /// The grade of the newest look of its present life.
    pub(crate) seen: Option<Grade>,
}

/// The levels at which the modes that a check drives let go: those it has survived so far.
pub(crate) fn levels(component: &Component, check: &str) -> Vec<LetsGo> {
    let mut levels: Vec<LetsGo> = Vec::new();
    for mode in component
        .modes
        .iter()
        .filter(|m| m.driven_by.iter().any(|c| c == check))
    {
        if !levels.contains(&mode.lets_go) {
            levels.push(mode.lets_go);
        }
    }
    levels
}

/// Whether the newest looks say that a mode has already happened, and which check says so.
pub(crate) fn has_happened<'a>(mode: &FailureMode, voices: &'a [Voice]) -> Option<&'a str> {
    let voice = voices.iter().find(|v| {
        mode.happened
            .iter()
            .any(|h| h.check == v.check.id && v.seen.is_some_and(|grade| grade >= h.from))
    })?;
    Some(voice.check.id.as_str())
}

/// What each check says at a list of days: per mode the probability to have let go, per class to be in it or worse.
pub(crate) struct Said {
    /// `fails[mode][day]`; empty for a mode it does not drive.
    fails: Vec<Vec<f64>>,
    /// `classes[class][day]`; empty for a class it never reaches.
    classes: [Vec<f64>; 3],
}

/// The days that a check is asked about.
#[derive(Debug, Clone, Copy)]
pub(crate) enum Days<'a> {
    /// Modes and classes on every one of these.
    Each(&'a [f64]),
    /// What comes up to this day: modes on the day itself, classes on [`between`] now and then.
    UpTo(f64),
}

impl Days<'_> {
    fn of_modes(self) -> Vec<f64> {
        match self {
            Days::Each(days) => days.to_vec(),
            Days::UpTo(day) => vec![day],
        }
    }

    fn of_classes(self) -> Vec<f64> {
        match self {
            Days::Each(days) => days.to_vec(),
            Days::UpTo(day) => between(day).to_vec(),
        }
    }
}

/// The days between now and a later one whose mean stands for the mean of all: the nodes of two-point Gauss-Legendre quadrature.
fn between(day: f64) -> [f64; 2] {
    const NODE: f64 = 0.577_350_269_189_625_8;
    [0.5 * (1.0 - NODE) * day, 0.5 * (1.0 + NODE) * day]
}

/// What a check is asked: every mode it drives and every class it may reach, on a list of days.
pub(crate) struct Questions {
    pub(crate) asks: Vec<Ask>,
    /// How many days modes are asked about, and classes.
    days: (usize, usize),
    drives: Vec<bool>,
    /// How many damages are asked about, and which of them is where each class begins. Where the law knows a check in one
    /// class alone, it is in all milder ones from the same damage on, which is asked about once.
    damages: usize,
    reaches: [Option<usize>; 3],
}

/// Answers by mode and day, and by class and day.
type Sorted<T> = (Vec<Vec<T>>, [Vec<T>; 3]);

impl Questions {
    pub(crate) fn new(component: &Component, check: &Check, clock: &ClockTable, days: Days) -> Questions {
        let ahead = |days: Vec<f64>| -> Vec<f64> { days.iter().map(|day| clock.at(*day)).collect() };
        let (of_modes, of_classes) = (ahead(days.of_modes()), ahead(days.of_classes()));
        let drives: Vec<bool> = component
            .modes
            .iter()
            .map(|m| m.driven_by.contains(&check.id))
            .collect();
        let mut asks = Vec::new();
        for (mode, drives) in component.modes.iter().zip(&drives) {
            if *drives {
                let level = mode.lets_go;
                asks.extend(of_modes.iter().map(|ahead| Ask::Fails { level, ahead: *ahead }));
            }
        }
        let mut damages: Vec<f64> = Vec::new();
        let reaches = CLASSES.map(|class| {
            let from = class_from(check, class)?;
            Some(damages.iter().position(|known| *known == from).unwrap_or_else(|| {
                damages.push(from);
                damages.len() - 1
            }))
        });
        for damage in &damages {
            let damage = *damage;
            asks.extend(of_classes.iter().map(|ahead| Ask::Past { damage, ahead: *ahead }));
        }
        Questions {
            asks,
            days: (of_modes.len(), of_classes.len()),
            drives,
            damages: damages.len(),
            reaches,
        }
    }

    /// Sorts answers, in the order of the questions, by what was asked.
    fn sort<T: Clone>(&self, answers: impl IntoIterator<Item = T>) -> Sorted<T> {
        let mut answers = answers.into_iter();
        let mut take = |count: usize| -> Vec<T> { answers.by_ref().take(count).collect() };
        let (of_modes, of_classes) = self.days;
        let fails = self
            .drives
            .iter()
            .map(|drives| take(if *drives { of_modes } else { 0 }))
            .collect();
        let by_damage: Vec<Vec<T>> = (0..self.damages).map(|_| take(of_classes)).collect();
        let classes = self
            .reaches
            .map(|from| from.and_then(|from| by_damage.get(from)).cloned().unwrap_or_default());
        (fails, classes)
    }

    /// What the answers say.
    pub(crate) fn said(&self, answers: Vec<f64>) -> Said {
        let (fails, classes) = self.sort(answers);
        Said { fails, classes }
    }
}

/// Exposure of a part at each of the days.
pub(crate) struct Reckoned {
    pub(crate) points: Vec<f64>,
    pub(crate) causes: Vec<CausePoints>,
    pub(crate) unknown_points: f64,
    pub(crate) risk: RiskLevel,
}

/// What may be known of a part besides numbers: which modes have happened.
pub(crate) type Happenings = Vec<Option<String>>;

/// Which modes of a part have happened, by the check that says so.
pub(crate) fn happenings(component: &Component, voices: &[Voice]) -> Happenings {
    component
        .modes
        .iter()
        .map(|mode| has_happened(mode, voices).map(str::to_owned))
        .collect()
}

/// `1 − Π(1 − p)`.
fn any(ps: impl Iterator<Item = f64>) -> f64 {
    1.0 - ps.map(|p| 1.0 - p.clamp(0.0, 1.0)).product::<f64>()
}

/// Points at each day, from what every check says on each.
fn points(component: &Component, happened: &Happenings, said: &[&Said], days: &[f64]) -> Vec<f64> {
    let mut points: Vec<f64> = (0..)
        .zip(days)
        .map(|(nth, day)| mode_points(component, happened, said, nth, *day))
        .collect();
    let rates: Vec<f64> = (0..days.len()).map(|nth| law_rate(said, nth)).collect();
    let mut sum = 0.0;
    for nth in 1..days.len() {
        if let (Some(d0), Some(d1), Some(r0), Some(r1)) =
            (days.get(nth - 1), days.get(nth), rates.get(nth - 1), rates.get(nth))
        {
            sum += f64::midpoint(*r0, *r1) * (d1 - d0) / DAYS_A_YEAR;
        }
        if let Some(point) = points.get_mut(nth) {
            *point += sum;
        }
    }
    points
}

/// Points up to a day, from what every check says up to then.
pub(crate) fn points_up_to(component: &Component, happened: &Happenings, said: &[&Said], day: f64) -> f64 {
    let rates = between(day).len();
    let rate: f64 = (0..rates).map(|nth| law_rate(said, nth)).sum::<f64>() / rates as f64;
    mode_points(component, happened, said, 0, day) + rate * day / DAYS_A_YEAR
}

/// Points for the modes on one of the days they are asked about.
fn mode_points(component: &Component, happened: &Happenings, said: &[&Said], nth: usize, day: f64) -> f64 {
    let of = |(at, mode): (usize, &FailureMode)| {
        let w = weight(mode.severity);
        if happened.get(at).is_some_and(Option::is_some) {
            TIMES_A_YEAR_ONCE_HAPPENED * w * day / DAYS_A_YEAR
        } else {
            w * any(said.iter().filter_map(|s| s.fails.get(at)?.get(nth).copied()))
        }
    };
    component.modes.iter().enumerate().map(of).sum()
}

/// Points a year for the law at one of the days.
fn law_rate(said: &[&Said], nth: usize) -> f64 {
    let [minor, major, dangerous] = class_chances(said, nth);
    let [p1, p2, p3] = CLASSES.map(points_a_year);
    (minor - major).max(0.0) * p1 + (major - dangerous).max(0.0) * p2 + dangerous * p3
}

/// Probability of being in each class or a worse one.
fn class_chances(said: &[&Said], nth: usize) -> [f64; 3] {
    let [a, b, c] = [0, 1, 2].map(|class| any(said.iter().filter_map(|s| s.classes.get(class)?.get(nth).copied())));
    [a.max(b).max(c), b.max(c), c]
}

/// The whole reckoning of a part, causes taken at the last of `days` that is `until`.
pub(crate) fn reckon(
    component: &Component,
    voices: &[Voice],
    happened: &Happenings,
    days: &[f64],
    until: usize,
) -> Reckoned {
    let said: Vec<Said> = voices
        .iter()
        .map(|v| {
            let questions = Questions::new(component, v.check, &v.clock, Days::Each(days));
            questions.said(v.posterior.answers(&questions.asks))
        })
        .collect();
    let said: Vec<&Said> = said.iter().collect();
    let points = points(component, happened, &said, days);
    let day = days.get(until).copied().unwrap_or(0.0);
    let mut causes = Vec::new();
    let mut unknown_points = 0.0;
    let mut risk = RiskLevel::Low;
    for (at, mode) in component.modes.iter().enumerate() {
        let w = weight(mode.severity);
        if let Some(Some(check)) = happened.get(at) {
            let points = TIMES_A_YEAR_ONCE_HAPPENED * w * day / DAYS_A_YEAR;
            let cause = Cause::HasHappened {
                mode: mode.id.clone(),
                severity: mode.severity,
            };
            causes.push(CausePoints {
                cause,
                check: Some(check.clone()),
                points,
                unknown: false,
            });
            risk = risk.max(risk_level(mode.severity, 1.0));
            continue;
        }
        let chance = |s: &Said| s.fails.get(at).and_then(|f| f.get(until)).copied().unwrap_or(0.0);
        let p = any(said.iter().map(|s| chance(s)));
        let (lead, unseen) = lead(voices, said.iter().map(|s| chance(s)));
        unknown_points += w * p * unseen;
        risk = risk.max(risk_level(mode.severity, p));
        let cause = Cause::MayHappen {
            mode: mode.id.clone(),
            severity: mode.severity,
            probability: p,
        };
        causes.push(CausePoints {
            cause,
            check: lead,
            points: w * p,
            unknown: unseen > 0.5,
        });
    }
    let law: f64 = law_points(&said, days, until);
    if law > 0.0 {
        let chances = class_chances(&said, until);
        let class = CLASSES
            .into_iter()
            .zip(chances)
            .filter(|(_, p)| *p >= 0.1)
            .map(|(c, _)| c)
            .max()
            .unwrap_or(Class::Minor);
        let place = CLASSES.iter().position(|c| *c == class).unwrap_or(0);
        let chance = |s: &&Said| s.classes.get(place).and_then(|c| c.get(until)).copied().unwrap_or(0.0);
        let (lead, unseen) = lead(voices, said.iter().map(chance));
        unknown_points += law * unseen;
        causes.push(CausePoints {
            cause: Cause::Law(class),
            check: lead,
            points: law,
            unknown: unseen > 0.5,
        });
    }
    causes.sort_by(|a, b| b.points.total_cmp(&a.points));
    Reckoned {
        points,
        causes,
        unknown_points,
        risk,
    }
}

fn law_points(said: &[&Said], days: &[f64], until: usize) -> f64 {
    (1..=until)
        .filter_map(|nth| {
            let (d0, d1) = (days.get(nth - 1)?, days.get(nth)?);
            Some(f64::midpoint(law_rate(said, nth - 1), law_rate(said, nth)) * (d1 - d0) / DAYS_A_YEAR)
        })
        .sum()
}

/// The check that says most, and the share said by checks nobody has seen.
fn lead(voices: &[Voice], chances: impl Iterator<Item = f64>) -> (Option<String>, f64) {
    let mut best: Option<(&str, f64)> = None;
    let (mut sum, mut unseen) = (0.0, 0.0);
    for (voice, chance) in voices.iter().zip(chances) {
        sum += chance;
        if voice.seen.is_none() {
            unseen += chance;
        }
        if chance > best.map_or(0.0, |b| b.1) {
            best = Some((&voice.check.id, chance));
        }
    }
    (best.map(|b| b.0.to_owned()), if sum > 0.0 { unseen / sum } else { 0.0 })
}

/// Turns points at days into a curve that never falls.
pub(crate) fn curve(days: &[f64], points: &[f64]) -> ExposureCurve {
    let mut highest = 0.0f64;
    let points = points
        .iter()
        .map(|p| {
            highest = highest.max(*p);
            highest
        })
        .collect();
    ExposureCurve {
        days: days.to_vec(),
        points,
    }
}

/// One answer for each draw, or for each step of a check's distribution.
type Column = Vec<f64>;

/// Each step of a check's distribution stands in 2 to this power draws: 250 even steps in 2,000 draws, which are at least as near to
/// the distribution as so many taken at random would be. What is random is which steps of different checks and parts meet. What
/// happens to fewer than one part in 500 may not be among the steps; places in the ranking, from the 10 % point to the 90 % point, do not ask for it.
const DRAWS_A_STEP: u32 = 3;

/// Points up to a day in equally likely draws.
pub(crate) fn draws(
    component: &Component,
    voices: &[Voice],
    happened: &Happenings,
    day: f64,
    count: u32,
    seed: u64,
) -> Vec<f32> {
    let steps = count.div_ceil(1 << DRAWS_A_STEP);
    let asked: Vec<(&Voice, Questions)> = voices
        .iter()
        .map(|voice| {
            (
                voice,
                Questions::new(component, voice.check, &voice.clock, Days::UpTo(day)),
            )
        })
        .filter(|(_, questions)| !questions.asks.is_empty())
        .collect();
    // One check alone stays at its steps and is dealt out in the end; several are dealt out first and meet in as many ways as there are draws.
    let alone = asked.len() < 2;
    let wanted = count as usize;
    let heard: Vec<Sorted<Rc<Column>>> = (0u64..)
        .zip(&asked)
        .map(|(nth, (voice, questions))| {
            let mut answers = voice.posterior.drawn(steps as usize, &questions.asks);
            if !alone {
                let seed = seed.wrapping_add(nth + 1).wrapping_mul(0x9e37_79b9_7f4a_7c15);
                let order = dealt(count, seed);
                answers
                    .iter_mut()
                    .for_each(|column| *column = laid(column, &order, DRAWS_A_STEP));
            }
            questions.sort(answers.into_iter().map(Rc::new))
        })
        .collect();
    let count = if alone { steps } else { count } as usize;
    // 1 − Π(1 − p) over the columns of several checks.
    let any = |columns: &[&Rc<Column>]| -> Column {
        let mut none = vec![1.0; count];
        for column in columns {
            none.iter_mut().zip(column.iter()).for_each(|(n, p)| *n *= 1.0 - p);
        }
        none.iter_mut().for_each(|n| *n = 1.0 - *n);
        none
    };
    let mut points = vec![0.0; count];
    for (at, mode) in component.modes.iter().enumerate() {
        let w = weight(mode.severity);
        if happened.get(at).is_some_and(Option::is_some) {
            let sure = TIMES_A_YEAR_ONCE_HAPPENED * w * day / DAYS_A_YEAR;
            points.iter_mut().for_each(|point| *point += sure);
            continue;
        }
        let columns: Vec<&Rc<Column>> = heard.iter().filter_map(|(fails, _)| fails.get(at)?.last()).collect();
        if !columns.is_empty() {
            points
                .iter_mut()
                .zip(any(&columns))
                .for_each(|(point, p)| *point += w * p);
        }
    }
    let [p1, p2, p3] = CLASSES.map(points_a_year);
    let rates = between(day).len();
    let years = day / DAYS_A_YEAR / rates as f64;
    for nth in 0..rates {
        let of = |class: usize| {
            let columns: Vec<&Rc<Column>> = heard
                .iter()
                .filter_map(|(_, classes)| classes.get(class)?.get(nth))
                .collect();
            (!columns.is_empty()).then(|| any(&columns))
        };
        let none = || vec![0.0; count];
        let Some(minor) = of(0) else { continue };
        let (major, dangerous) = (of(1).unwrap_or_else(none), of(2).unwrap_or_else(none));
        for (((point, a), b), c) in points.iter_mut().zip(minor).zip(major).zip(dangerous) {
            let b = b.max(c);
            *point += years * ((a.max(b) - b) * p1 + (b - c) * p2 + c * p3);
        }
    }
    if alone {
        points = laid(&points, &dealt(steps << DRAWS_A_STEP, seed), DRAWS_A_STEP);
        points.truncate(wanted);
    }
    // Points are shown to three figures; single precision keeps seven.
    #[allow(clippy::cast_possible_truncation)]
    points.into_iter().map(|p| p as f32).collect()
}

/// A column in another order, each entry 2 to this power times.
fn laid(column: &[f64], order: &[u32], each: u32) -> Vec<f64> {
    let of = |place: &u32| column.get((place >> each) as usize);
    order.iter().map(|place| of(place).copied().unwrap_or(0.0)).collect()
}
