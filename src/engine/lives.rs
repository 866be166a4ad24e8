//! The lives of a check: from one renewal or treatment to the next, with what was seen in between.
//!
//! A repair restarts the path of damage, so that each (part, check) has one or more lives. Only the last is the present
//! one; earlier ones still tell how fast this car goes, and still drive what they are coupled to.

use std::collections::HashMap;

use jiff::civil::Date;

use super::decline::Observation;
use super::harm::{band_middle, grade_of};
use crate::car::{Car, Look, Seen};
use crate::rubric::{Check, CheckKind, Component, Library, Measure, PartId, Repair, RepairKind};
use crate::units::Grade;

/// Scatter of one grading, in damage, until the grader's own is known.
pub const GRADER_SD: f64 = 0.12;

/// How a life begins.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) enum Begin {
    /// Nobody knows when.
    Unknown,
    /// Fitted new on a day.
    New(Date),
    /// Treated on a day, and left at this damage.
    Treated(Date, f64),
}

impl Begin {
    /// The day, if known.
    pub(crate) fn date(self) -> Option<Date> {
        match self {
            Begin::Unknown => None,
            Begin::New(date) | Begin::Treated(date, _) => Some(date),
        }
    }
}

/// A look that saw something, as the engine needs it.
#[derive(Debug, Clone)]
pub(crate) struct SeenLook<'a> {
    pub(crate) date: Date,
    pub(crate) look: &'a Look,
    pub(crate) observation: Observation,
    /// The damage of a reading; for a grade the middle of its band.
    pub(crate) damage: f64,
    pub(crate) grade: Grade,
    /// Worst less best of several points, in damage.
    pub(crate) uneven: Option<f64>,
}

/// One life of one check of one part.
#[derive(Debug, Clone)]
pub(crate) struct Life<'a> {
    /// Place of the part in the list of the car's parts.
    pub(crate) part: usize,
    pub(crate) component: &'a Component,
    pub(crate) check: &'a Check,
    pub(crate) begin: Begin,
    /// The day it ended; `None` for the present life.
    pub(crate) end: Option<Date>,
    pub(crate) looks: Vec<SeenLook<'a>>,
}

impl Life<'_> {
    /// Whether it was going on at a date.
    pub(crate) fn covers(&self, date: Date) -> bool {
        self.begin.date().is_none_or(|begin| begin <= date) && self.end.is_none_or(|end| date < end)
    }
}

/// The parts that a repair of one part renews or treats: the part, and those renewed along with it at the same corner.
#[must_use]
pub fn covered<'a>(parts: &'a [PartId], repair: &Repair, part: &'a PartId) -> Vec<&'a PartId> {
    let mut covered = vec![part];
    covered.extend(parts.iter().filter(|other| {
        **other != *part
            && repair.also_renews.contains(&other.component)
            && other.station.axle == part.station.axle
            && other.station.meets(&part.station)
    }));
    covered
}

/// New value and limit of a measured check on one part: the owner's figures win over the rubric's.
#[must_use]
pub fn limits(car: &Car, part: &PartId, check: &str, measure: &Measure) -> (f64, f64) {
    let own = car
        .parts
        .get(part)
        .and_then(|note| note.limits.iter().find(|l| l.check == check));
    own.map_or((measure.new, measure.limit), |own| {
        (own.new.unwrap_or(measure.new), own.limit)
    })
}

/// Damage of a reading: `(reading − new) / (limit − new)`, for growing and shrinking quantities alike.
#[must_use]
pub fn damage_of(reading: f64, new: f64, limit: f64) -> f64 {
    if limit == new {
        f64::from(u8::from(reading != new))
    } else {
        (reading - new) / (limit - new)
    }
}

/// What a look says, in damage; `None` if it saw nothing or does not fit the check.
/// Grades blur by `grader_sd`.
pub(crate) fn seen_look<'a>(
    car: &'a Car,
    check: &Check,
    date: Date,
    look: &'a Look,
    grader_sd: f64,
) -> Option<SeenLook<'a>> {
    let edges = check.grade_edges();
    let seen = |observation, damage, grade, uneven| {
        Some(SeenLook {
            date,
            look,
            observation,
            damage,
            grade,
            uneven,
        })
    };
    match (&look.seen, &check.kind) {
        (Seen::Grade(grade), CheckKind::Graded(_)) => {
            let observation = Observation::Grade {
                edges,
                grade: grade.index(),
                sd: grader_sd,
            };
            seen(observation, band_middle(&edges, *grade), *grade, None)
        }
        (Seen::Answer(yes), CheckKind::YesNo(_)) => {
            let grade = if *yes { Grade::LIMIT } else { Grade::NEW };
            seen(
                Observation::PastLimit {
                    yes: *yes,
                    sd: grader_sd,
                },
                band_middle(&edges, grade),
                grade,
                None,
            )
        }
        (Seen::Reading(values), CheckKind::Measured(measure)) => {
            let (new, limit) = limits(car, &look.part, &look.check, measure);
            let damages = values
                .iter()
                .map(|v| damage_of(*v, new, limit))
                .filter(|d| d.is_finite());
            let worst = damages.clone().max_by(f64::total_cmp)?;
            let best = damages.min_by(f64::total_cmp)?;
            let sd = (measure.sd / (limit - new).abs()).clamp(1e-4, 1.0);
            let uneven = (values.len() > 1).then_some(worst - best);
            seen(
                Observation::Reading { damage: worst, sd },
                worst,
                grade_of(&edges, worst),
                uneven,
            )
        }
        _ => None,
    }
}

/// The looks of a survey by part and check.
type Looks<'a> = HashMap<(&'a PartId, &'a str), &'a Look>;

/// All lives of all checks of the parts named, the lives of a check in order of time, up to a day; grades blur by `grader_sd`.
pub(crate) fn lives<'a>(
    car: &'a Car,
    library: &'a Library,
    parts: &[PartId],
    today: Date,
    grader_sd: f64,
) -> Vec<Life<'a>> {
    let mut lives = Vec::new();
    let restarts = restarts(car, library, parts, today);
    let surveys: Vec<(Date, Looks)> = car
        .surveys
        .iter()
        .filter(|s| s.date <= today)
        .map(|s| {
            // The first look at a check counts, as when a survey is asked for it.
            let looks = s.looks.iter().rev().map(|l| ((&l.part, l.check.as_str()), l));
            (s.date, looks.collect())
        })
        .collect();
    for (place, part) in parts.iter().enumerate() {
        let Some(component) = library.component(&part.component) else {
            continue;
        };
        for check in &component.checks {
            let mut begins = vec![Begin::Unknown];
            if let Some(fitted) = car.parts.get(part).and_then(|n| n.fitted).filter(|d| *d <= today) {
                begins = vec![Begin::New(fitted)];
            }
            for restart in restarts
                .iter()
                .filter(|r| r.part == place && r.check.is_none_or(|c| c == check.id))
            {
                let begin = match restart.to {
                    None => Begin::New(restart.date),
                    Some(grade) => Begin::Treated(restart.date, band_middle(&check.grade_edges(), grade)),
                };
                if begins.last().and_then(|b| b.date()) == Some(restart.date) {
                    begins.pop();
                }
                if begins.last().and_then(|b| b.date()).is_none_or(|d| d < restart.date) {
                    begins.push(begin);
                }
            }
            for (nth, begin) in begins.iter().enumerate() {
                let end = begins.get(nth + 1).and_then(|b| b.date());
                // A look on the day of a repair came before it; a part fitted new that day may have been looked at then.
                let first_life = nth == 0;
                let looks = surveys.iter().filter(|(date, _)| {
                    begin.date().is_none_or(|d| *date > d || (first_life && *date == d))
                        && end.is_none_or(|d| *date <= d)
                });
                let mut looks: Vec<SeenLook> = looks
                    .filter_map(|(date, looks)| {
                        let look = looks.get(&(part, check.id.as_str()))?;
                        seen_look(car, check, *date, look, grader_sd)
                    })
                    .collect();
                // A file written by hand may hold surveys in any order.
                looks.sort_by_key(|look| look.date);
                lives.push(Life {
                    part: place,
                    component,
                    check,
                    begin: *begin,
                    end,
                    looks,
                });
            }
        }
    }
    lives
}

/// One restart of a check, or of all checks, of a part.
struct Restart<'a> {
    part: usize,
    check: Option<&'a str>,
    date: Date,
    to: Option<Grade>,
}

fn restarts<'a>(car: &'a Car, library: &'a Library, parts: &[PartId], today: Date) -> Vec<Restart<'a>> {
    let mut restarts = Vec::new();
    for done in car.repairs.iter().filter(|d| d.date <= today) {
        let Some(repair) = library.repair(&done.repair) else {
            continue;
        };
        for covered in covered(parts, repair, &done.part) {
            let Some(part) = parts.iter().position(|p| p == covered) else {
                continue;
            };
            let main = *covered == done.part;
            match &repair.kind {
                RepairKind::Renew => restarts.push(Restart {
                    part,
                    check: None,
                    date: done.date,
                    to: None,
                }),
                RepairKind::RenewChecks(checks) if main => {
                    let each = checks.iter().map(|c| Restart {
                        part,
                        check: Some(c),
                        date: done.date,
                        to: None,
                    });
                    restarts.extend(each);
                }
                RepairKind::Treat(resets) if main => {
                    let each = resets.iter().map(|r| Restart {
                        part,
                        check: Some(&r.check),
                        date: done.date,
                        to: Some(r.to),
                    });
                    restarts.extend(each);
                }
                RepairKind::RenewChecks(_) | RepairKind::Treat(_) => {
                    restarts.push(Restart {
                        part,
                        check: None,
                        date: done.date,
                        to: None,
                    });
                }
            }
        }
    }
    restarts
}
