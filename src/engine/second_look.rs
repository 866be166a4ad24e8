//! The second look: which checks are graded again, what the pairs of grades are, and what the scatter learned from them means.
//!
//! A tenth of the newest survey's graded checks is drawn, at least [`AT_LEAST`]. The draw is by a fixed seed, so that every machine asks for the same
//! checks and nobody can draw again until it suits. A pair counts only if nothing but the grader lies between its two grades: the second no later
//! than [`WITHIN_DAYS`] after the first, and no repair of the check since.

use jiff::civil::Date;

use super::change::chance_grown;
use super::clock::days_between;
use super::decline::Observation;
use super::lives::{GRADER_SD, covered};
use super::memory::Memory;
use super::state::Grader;
use super::steadiness::{Pair, learned_sd};
use crate::car::round::round;
use crate::car::{Car, Look, Seen, Survey};
use crate::rubric::{CheckKind, Library, PartId, RepairKind, USUAL_EDGES};
use crate::units::Grade;

/// At least so many checks are drawn, if so many were graded.
pub const AT_LEAST: usize = 5;
/// A second look later than this, in days, is none: of a part that lasts ten years a sixtieth has gone by then, a seventh of the usual scatter
/// (judgement).
pub const WITHIN_DAYS: i32 = 60;
/// The probability from which a change is called real.
pub const REAL_FROM: f64 = 0.9;
/// What sets one drawing apart from another that the program might make.
const SEED: u64 = 0x7365_636f_6e64;

/// The checks drawn for a second look.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Drawn {
    /// The survey they are of.
    pub survey: Date,
    /// Part and check, in the order of the round.
    pub checks: Vec<(PartId, String)>,
}

impl Drawn {
    /// Those that have no second look yet, in the order of the round.
    #[must_use]
    pub fn left(&self, car: &Car) -> Vec<(PartId, String)> {
        let survey = car.surveys.iter().find(|s| s.date == self.survey);
        let given = |part: &PartId, check: &str| survey.is_some_and(|s| s.second_look(part, check).is_some());
        let left = self.checks.iter().filter(|(part, check)| !given(part, check));
        left.cloned().collect()
    }
}

/// Draws from the newest survey up to a day that has enough graded checks, or else from the newest that has any; `None` without one.
#[must_use]
pub fn drawn(car: &Car, library: &Library, today: Date) -> Option<Drawn> {
    let stops = round(car, library);
    let graded = |survey: &Survey| -> Vec<(PartId, String)> {
        let checks = stops.iter().filter(|(part, check, _)| {
            let look = survey.look(part, &check.id);
            matches!(check.kind, CheckKind::Graded(_)) && look.is_some_and(|l| grade(l).is_some())
        });
        checks
            .map(|(part, check, _)| (part.clone(), check.id.clone()))
            .collect()
    };
    let newest_first = || car.surveys.iter().rev().filter(|s| s.date <= today);
    let with_any = |least: usize| newest_first().map(|s| (s, graded(s))).find(|(_, g)| g.len() >= least);
    let (survey, mut checks) = with_any(AT_LEAST).or_else(|| with_any(1))?;
    let wanted = checks.len().div_ceil(10).max(AT_LEAST).min(checks.len());
    let mut lots: Vec<u64> = checks
        .iter()
        .map(|(part, check)| lot(survey.date, part, check))
        .collect();
    lots.sort_unstable();
    let highest = wanted.checked_sub(1).and_then(|at| lots.get(at)).copied()?;
    checks.retain(|(part, check)| lot(survey.date, part, check) <= highest);
    checks.truncate(wanted);
    // What was repaired since can no longer be graded as it was.
    let parts = car.part_ids(library);
    checks.retain(|(part, check)| {
        survey.second_look(part, check).is_some() || !repaired(car, library, &parts, survey.date, today, part, check)
    });
    Some(Drawn {
        survey: survey.date,
        checks,
    })
}

/// The grade that a look gave.
#[must_use]
pub fn grade(look: &Look) -> Option<Grade> {
    match look.seen {
        Seen::Grade(grade) => Some(grade),
        _ => None,
    }
}

/// A number that looks as if drawn, always the same for the same check of the same survey (FNV-1a, then the finisher of splitmix64).
fn lot(survey: Date, part: &PartId, check: &str) -> u64 {
    let name = format!("{survey} {part} {check}");
    let hash = name.bytes().fold(0xcbf2_9ce4_8422_2325 ^ SEED, |hash: u64, byte| {
        (hash ^ u64::from(byte)).wrapping_mul(0x0100_0000_01b3)
    });
    let mixed = (hash ^ (hash >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
    let mixed = (mixed ^ (mixed >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
    mixed ^ (mixed >> 31)
}

/// All pairs of grades of a car up to a day between which nothing lies but the grader.
#[must_use]
pub fn pairs(car: &Car, library: &Library, today: Date) -> Vec<Pair> {
    let mut pairs = Vec::new();
    if car.surveys.iter().all(|s| s.second_looks.is_empty()) {
        return pairs;
    }
    let parts = car.part_ids(library);
    for survey in car.surveys.iter().filter(|s| s.date <= today) {
        for second in survey.second_looks.iter().filter(|s| s.on <= today) {
            let Some(check) = library.check(&second.part.component, &second.check) else {
                continue;
            };
            let days = days_between(survey.date, second.on);
            let near = (0.0..=f64::from(WITHIN_DAYS)).contains(&days);
            let graded = matches!(check.kind, CheckKind::Graded(_));
            if near
                && graded
                && !repaired(
                    car,
                    library,
                    &parts,
                    survey.date,
                    second.on,
                    &second.part,
                    &second.check,
                )
            {
                pairs.push(Pair {
                    edges: check.grade_edges(),
                    first: second.first,
                    second: second.grade,
                });
            }
        }
    }
    pairs
}

/// Whether a repair between two days, the first included, touched a check.
#[must_use]
pub fn repaired(
    car: &Car,
    library: &Library,
    parts: &[PartId],
    from: Date,
    to: Date,
    part: &PartId,
    check: &str,
) -> bool {
    let between = car.repairs.iter().filter(|done| done.date >= from && done.date <= to);
    between.into_iter().any(|done| {
        let Some(repair) = library.repair(&done.repair) else {
            return false;
        };
        if done.part != *part {
            return covered(parts, repair, &done.part).contains(&part);
        }
        match &repair.kind {
            RepairKind::Renew => true,
            RepairKind::RenewChecks(checks) => checks.iter().any(|c| c == check),
            RepairKind::Treat(resets) => resets.iter().any(|r| r.check == check),
        }
    })
}

/// How steady the grader is, as known on a day: the usual scatter without any pair.
pub(crate) fn grader(car: &Car, library: &Library, today: Date, memory: &Memory) -> Grader {
    grader_of(&pairs(car, library, today), memory)
}

/// The same from the pairs at hand.
pub(crate) fn grader_of(pairs: &[Pair], memory: &Memory) -> Grader {
    if pairs.is_empty() {
        return Grader {
            sd: GRADER_SD,
            pairs: 0,
        };
    }
    let mut words = vec![SEED];
    for pair in pairs {
        words.extend(pair.edges.iter().map(|e| e.to_bits()));
        words.push(u64::from(pair.first.digit()) * 8 + u64::from(pair.second.digit()));
    }
    Grader {
        sd: memory.number(words, &|| learned_sd(pairs)),
        pairs: pairs.len(),
    }
}

/// From each grade, how many grades worse a later look must be for the change to be called real under a scatter; `None` where even the
/// limit is not far enough. For bands with the usual edges and surveys graded alike.
#[must_use]
pub fn grades_to_be_real(sd: f64) -> [Option<u8>; 5] {
    let seen = |grade: usize| Observation::Grade {
        edges: USUAL_EDGES,
        grade,
        sd,
    };
    let from = |first: usize| {
        let real = |second: &usize| chance_grown(&seen(first), 0.0, &seen(*second), 0.0) >= REAL_FROM;
        let second = (first + 1..=5).find(real)?;
        u8::try_from(second - first).ok()
    };
    [from(0), from(1), from(2), from(3), from(4)]
}
