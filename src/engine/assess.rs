//! A whole car on a day: every check's state, every part's exposure, the ranking, the notice, and where to look next.

use jiff::civil::Date;
use rayon::prelude::*;

use super::change::change_between;
use super::clock::{DAYS_A_YEAR, day_after, days_between, odometer_falls};
use super::clock_table::ClockTable;
use super::exposure::{
    Days, Happenings, Questions, Reckoned, Said, Voice, curve, draws, happenings, levels, points_up_to, reckon,
};
use super::harm::grades_a_damage;
use super::lives::{Begin, Life};
use super::memory::{Grounds, Judged, Memory, pace_words};
use super::normal::cumulative;
use super::reckon::Reckoning;
use super::standing::{DRAWS, rank};
use super::state::{
    Assessment, CheckState, Flag, LastLook, LookNext, NoticeCause, NoticeReason, PartState, Spread, WorstGrade,
    YearsLeft,
};
use crate::car::Car;
use crate::engine::decline::Observation;
use crate::rubric::{CheckKind, Class, Component, Decline, Library, PartId};
use crate::units::Grade;

/// Probability of the dangerous class from which a part keeps the car off the road.
pub const NOTICE_FROM: f64 = 0.5;
/// A check last seen longer ago than this is worth another look.
const LONG_AGO_DAYS: f64 = 548.0;
/// A newest look less probable than this, on the good side, is asked about.
pub(super) const TOO_GOOD: f64 = 0.05;
/// A median rate so many times the prior's 90 % point is asked about.
const TOO_FAST: f64 = 5.0;
/// Years until the limit are not told beyond this.
const FAR_YEARS: f64 = 60.0;
/// Days from today at which exposure is tabulated.
const DAYS: [f64; 20] = [
    0.0, 7.0, 14.0, 21.0, 30.0, 45.0, 61.0, 91.0, 122.0, 152.0, 183.0, 228.0, 274.0, 320.0, 365.0, 456.0, 548.0, 730.0,
    1096.0, 1826.0,
];

/// Assesses a car on a day. What is dated later is not looked at.
///
/// The answer depends on nothing but its arguments: the same car on the same day gives the same numbers.
#[must_use]
pub fn assess(car: &Car, library: &Library, today: Date) -> Assessment {
    assess_again(car, library, today, &mut Memory::new())
}

/// The same, faster where most of it has been reckoned with this memory before; equal to the last bit.
///
/// The memory is left with what this assessment used and nothing else.
#[must_use]
pub fn assess_again(car: &Car, library: &Library, today: Date, memory: &mut Memory) -> Assessment {
    memory.begin();
    let assessment = assess_with(car, library, today, memory);
    memory.end();
    assessment
}

fn assess_with(car: &Car, library: &Library, today: Date, memory: &Memory) -> Assessment {
    let reckoning = Reckoning::new(car, library, today, memory);
    let until = car
        .profile
        .next_survey
        .filter(|d| *d > today)
        .unwrap_or_else(|| day_after(today, DAYS_A_YEAR));
    let horizon = days_between(today, until);
    let tables = reckoning.ahead();
    let judged: Vec<(PartState, Vec<LookNext>, Vec<NoticeReason>)> = (0..reckoning.parts.len())
        .into_par_iter()
        .filter_map(|at| judge_again(&reckoning, library, at, &tables, horizon))
        .collect();
    let (mut parts, mut look_next, mut notice) = (Vec::new(), Vec::new(), Vec::new());
    for (part, looks, reasons) in judged {
        parts.push(part);
        look_next.extend(looks);
        notice.extend(reasons);
    }
    notice.extend(stands_open(car, &reckoning.parts, today));
    rank(&mut parts);
    look_next.retain(|l| l.moves > 0.0);
    look_next.sort_by(|a, b| {
        let worth = |l: &LookNext| l.moves / l.minutes.max(0.1);
        worth(b)
            .total_cmp(&worth(a))
            .then_with(|| a.part.cmp(&b.part))
            .then_with(|| a.check.cmp(&b.check))
    });
    let (pace, survey_offsets, grader) = (reckoning.pace, reckoning.offsets, reckoning.grader);
    Assessment {
        today,
        until,
        parts,
        notice,
        pace,
        survey_offsets,
        grader,
        look_next,
        odometer_falls: odometer_falls(car, today),
    }
}

/// Repairs begun and not finished keep the car off the road.
fn stands_open(car: &Car, parts: &[PartId], today: Date) -> Vec<NoticeReason> {
    let open = car.progress.open.iter();
    open.filter(|job| job.since <= today && parts.contains(&job.part))
        .map(|job| NoticeReason {
            part: job.part.clone(),
            check: job.repair.clone(),
            because: NoticeCause::StandsOpen(job.since),
        })
        .collect()
}

/// Everything said of one part, from memory where it stands on the same grounds.
fn judge_again(
    reckoning: &Reckoning,
    library: &Library,
    at: usize,
    tables: &[Option<ClockTable>],
    horizon: f64,
) -> Option<(PartState, Vec<LookNext>, Vec<NoticeReason>)> {
    let id = reckoning.parts.get(at)?;
    let component = library.component(&id.component)?;
    let Some(from) = grounds(reckoning, component, at, tables, horizon) else {
        reckoning.memory.count_part();
        return judge(reckoning, library, at, tables, horizon);
    };
    let copy = |known: &Judged| (known.part.clone(), known.looks.clone(), known.notice.clone());
    if let Some(judged) = reckoning.memory.part(id, component, &from, copy) {
        return Some(judged);
    }
    reckoning.memory.count_part();
    let judged = judge(reckoning, library, at, tables, horizon)?;
    let (part, looks, notice) = judged.clone();
    let keep = Judged {
        from,
        component: component.clone(),
        part,
        looks,
        notice,
    };
    reckoning.memory.keep_part(id, keep);
    Some(judged)
}

/// All that is said of a part rests on; `None` where an earlier life speaks too: repaired and not looked at since.
fn grounds(
    reckoning: &Reckoning,
    component: &Component,
    at: usize,
    tables: &[Option<ClockTable>],
    horizon: f64,
) -> Option<Grounds> {
    let mut words = vec![reckoning.grader.sd.to_bits()];
    let mut seen = Vec::new();
    for check in &component.checks {
        let place = reckoning.present(at, &check.id)?;
        let (life, state) = (reckoning.lives.get(place)?, reckoning.states.get(place)?);
        if life.looks.is_empty() && life.begin != Begin::Unknown {
            return None;
        }
        seen.push(life.looks.last().map(|l| (l.date, l.look.seen.clone())));
        let history = state.path.as_ref()?.words();
        let clock = tables.get(place)?.as_ref()?;
        words.push(history.len() as u64);
        words.extend(history);
        words.extend(life.looks.iter().map(|l| u64::from(l.grade.digit())));
        words.push(state.as_good.map_or(u64::MAX, f64::to_bits));
        words.extend(pace_words(reckoning.factors.get(place)?));
        words.push(clock.units.len() as u64);
        words.extend(clock.units.iter().map(|u| u.to_bits()));
        if let [.., before, _] = life.looks.as_slice() {
            // The change is told from this day.
            words.push(days_between(before.date, reckoning.today).to_bits());
        }
    }
    Some(Grounds {
        today: reckoning.today,
        horizon,
        seen,
        words,
    })
}

/// Everything said of one part.
fn judge(
    reckoning: &Reckoning,
    library: &Library,
    at: usize,
    tables: &[Option<ClockTable>],
    horizon: f64,
) -> Option<(PartState, Vec<LookNext>, Vec<NoticeReason>)> {
    let id = reckoning.parts.get(at)?;
    let component = library.component(&id.component)?;
    let mut voices = Vec::new();
    let mut lives = Vec::new();
    for check in &component.checks {
        let place = reckoning.present(at, &check.id)?;
        let life = reckoning.lives.get(place)?;
        let posterior = reckoning.posterior(place, &levels(component, &check.id))?;
        let clock = tables.get(place)?.clone()?;
        let seen = life.looks.last().map(|l| l.grade);
        voices.push(Voice {
            check: life.check,
            posterior,
            clock,
            seen,
        });
        lives.push((place, life));
    }
    let happened = happenings(component, &voices);
    let mut days: Vec<f64> = DAYS.to_vec();
    let until = days.partition_point(|d| *d < horizon);
    if days.get(until) != Some(&horizon) {
        days.insert(until, horizon);
    }
    let Reckoned {
        points: at_days,
        causes,
        unknown_points,
        risk,
    } = reckon(component, &voices, &happened, &days, until);
    let seen = voices.iter().any(|v| v.seen.is_some());
    let drawn = if seen {
        draws(component, &voices, &happened, horizon, DRAWS, seed_of(&id.to_string()))
    } else {
        Vec::new()
    };
    let checks: Vec<CheckState> = voices
        .iter()
        .zip(&lives)
        .map(|(v, (place, life))| state(reckoning, v, *place, life, horizon))
        .collect();
    let worst = lives
        .iter()
        .filter_map(|(_, life)| {
            life.looks.last().map(|l| WorstGrade {
                check: life.check.id.clone(),
                grade: l.grade,
                date: l.date,
            })
        })
        .max_by(|a, b| a.grade.cmp(&b.grade).then_with(|| b.check.cmp(&a.check)));
    let looks = look_next(reckoning, &voices, &lives, &happened, component, horizon);
    let notice = notices(reckoning, at, component, &voices, &lives);
    let exposure = curve(&days, &at_days);
    let part = PartState {
        id: id.clone(),
        checks,
        seen,
        points: exposure.points.get(until).copied().unwrap_or(0.0),
        exposure,
        unknown_points,
        causes,
        risk,
        worst,
        rank: None,
        draws: drawn.into(),
    };
    Some((part, looks, notice))
}

/// The state of one check.
fn state(reckoning: &Reckoning, voice: &Voice, place: usize, life: &Life, horizon: f64) -> CheckState {
    let posterior = &voice.posterior;
    let edges = voice.check.grade_edges();
    let damage = Spread {
        low: posterior.damage(0.1),
        mid: posterior.damage(0.5),
        high: posterior.damage(0.9),
    };
    let years = |p: f64| {
        let units = posterior.until(1.0, p)?;
        let years = voice.clock.days_until(units) / DAYS_A_YEAR;
        (years <= FAR_YEARS).then_some(years)
    };
    let mut flags = Vec::new();
    let state = reckoning.states.get(place);
    if state.and_then(|s| s.as_good).is_some_and(|p| p < TOO_GOOD) {
        flags.push(Flag::BetterWithoutRepair);
    }
    if life.looks.len() > 1 && prior_below(&voice.check.decline, posterior.rate(0.5) / TOO_FAST) > 0.9 {
        flags.push(Flag::ImplausiblePace);
    }
    let offsets = state.map_or(&[][..], |s| s.offsets.as_slice());
    let year = voice.clock.at(DAYS_A_YEAR);
    let slope = posterior.rate(0.5) * steepness(voice.check.decline.quickening, damage.mid);
    CheckState {
        check: voice.check.id.clone(),
        last: life.looks.last().map(|l| LastLook {
            date: l.date,
            seen: l.look.seen.clone(),
            grade: l.grade,
        }),
        damage,
        grades: posterior.grades(&edges, 0.0),
        grades_per_year: slope * year * grades_a_damage(&edges, damage.mid),
        past_limit_now: posterior.past(1.0, 0.0),
        past_limit_then: posterior.past(1.0, voice.clock.at(horizon)),
        years_left: YearsLeft {
            soon: years(0.1),
            mid: years(0.5),
            late: years(0.9),
        },
        quickened: posterior.quickened(),
        rests_on_looks: posterior.rests_on_looks(),
        flags,
        change: change_between(life, offsets, |question, reckon| {
            reckoning.memory.number(question, reckon)
        }),
        uneven: life.looks.last().and_then(|l| l.uneven),
    }
}

/// dφ⁻¹/dy at a damage: how much damage one unit of the steady scale is there.
fn steepness(quickening: f64, damage: f64) -> f64 {
    if (quickening - 1.0).abs() < 1e-9 {
        1.0
    } else {
        quickening.ln() * (1.0 + (quickening - 1.0) * damage.max(0.0)) / (quickening - 1.0)
    }
}

/// The chance of a rate below this, per clock unit, before anything was seen: ordinary and quickened together.
fn prior_below(decline: &Decline, rate: f64) -> f64 {
    let q = decline.quickened;
    let normal = |mean: f64, sd: f64| cumulative((rate.max(1e-300).ln() - mean) / sd.max(1e-6));
    let ordinary = normal(-decline.life.ln(), decline.spread);
    (1.0 - q.share) * ordinary + q.share * normal((q.times / decline.life).ln(), q.spread)
}

/// Checks of a part that are not seen or not for long, with what a look would move.
fn look_next(
    reckoning: &Reckoning,
    voices: &[Voice],
    lives: &[(usize, &Life)],
    happened: &Happenings,
    component: &Component,
    horizon: f64,
) -> Vec<LookNext> {
    let Some(id) = lives.first().and_then(|(_, life)| reckoning.parts.get(life.part)) else {
        return Vec::new();
    };
    let lately_seen = |life: &Life| {
        let last = life.looks.last();
        last.is_some_and(|l| days_between(l.date, reckoning.today) < LONG_AGO_DAYS)
    };
    if lives.iter().all(|(_, life)| lately_seen(life)) {
        return Vec::new();
    }
    let asked: Vec<Questions> = voices
        .iter()
        .map(|v| Questions::new(component, v.check, &v.clock, Days::UpTo(horizon)))
        .collect();
    let said: Vec<Said> = asked
        .iter()
        .zip(voices)
        .map(|(questions, v)| questions.said(v.posterior.answers(&questions.asks)))
        .collect();
    let total = |replaced: Option<(usize, &Said)>| {
        let heard: Vec<&Said> = said
            .iter()
            .enumerate()
            .map(|(nth, s)| replaced.filter(|(at, _)| *at == nth).map_or(s, |(_, r)| r))
            .collect();
        points_up_to(component, happened, &heard, horizon)
    };
    let now = total(None);
    let mut looks = Vec::new();
    for (nth, ((voice, (_, life)), questions)) in voices.iter().zip(lives).zip(&asked).enumerate() {
        if lately_seen(life) {
            continue;
        }
        let last_seen = life.looks.last().map(|l| l.date);
        let moves = answers(voice, reckoning.grader.sd)
            .iter()
            .map(|answer| {
                let (chance, answers) = voice.posterior.answers_given(answer, &questions.asks);
                if chance < 1e-6 {
                    return 0.0;
                }
                chance * (total(Some((nth, &questions.said(answers)))) - now).abs()
            })
            .sum();
        let check = voice.check.id.clone();
        looks.push(LookNext {
            part: id.clone(),
            check,
            moves,
            minutes: voice.check.minutes,
            last_seen,
        });
    }
    looks
}

/// What a look at a check may answer.
fn answers(voice: &Voice, grader_sd: f64) -> Vec<Observation> {
    let edges = voice.check.grade_edges();
    let graded = |sd: f64| {
        Grade::ALL
            .map(|g| Observation::Grade {
                edges,
                grade: g.index(),
                sd,
            })
            .to_vec()
    };
    match &voice.check.kind {
        CheckKind::Graded(_) => graded(grader_sd),
        CheckKind::Measured(m) => graded((m.sd / (m.limit - m.new).abs()).clamp(1e-3, 1.0)),
        CheckKind::YesNo(_) => [true, false]
            .map(|yes| Observation::PastLimit { yes, sd: grader_sd })
            .to_vec(),
    }
}

/// Why this part keeps the car off the road, if it does.
fn notices(
    reckoning: &Reckoning,
    at: usize,
    component: &Component,
    voices: &[Voice],
    lives: &[(usize, &Life)],
) -> Vec<NoticeReason> {
    let Some(id) = reckoning.parts.get(at) else {
        return Vec::new();
    };
    let reason = |check: &str, because| NoticeReason {
        part: id.clone(),
        check: check.to_owned(),
        because,
    };
    let mut reasons = Vec::new();
    for (voice, (_, life)) in voices.iter().zip(lives) {
        let check = voice.check;
        let dangerous =
            super::harm::class_from(check, Class::Dangerous).map_or(0.0, |from| voice.posterior.past(from, 0.0));
        if check.keeps_off_the_road && voice.seen == Some(Grade::LIMIT) {
            reasons.push(reason(&check.id, NoticeCause::AtItsLimit));
        } else if dangerous >= NOTICE_FROM {
            reasons.push(reason(&check.id, NoticeCause::Dangerous(dangerous)));
        } else if life.looks.is_empty()
            && life.begin != Begin::Unknown
            && was_bad_before(reckoning, at, component, life)
        {
            reasons.push(reason(&check.id, NoticeCause::NotLookedAtSinceRepair));
        }
    }
    reasons
}

/// Whether the newest look before the present life kept the car off the road.
fn was_bad_before(reckoning: &Reckoning, part: usize, component: &Component, present: &Life) -> bool {
    let check = present.check;
    let before = reckoning.lives.iter().enumerate().rev().find(|(_, l)| {
        l.part == part
            && l.component.id == component.id
            && l.check.id == check.id
            && l.end.is_some()
            && !l.looks.is_empty()
    });
    let Some((place, life)) = before else { return false };
    let grade = life.looks.last().map(|l| l.grade);
    if check.keeps_off_the_road && grade == Some(Grade::LIMIT) {
        return true;
    }
    let Some(from) = super::harm::class_from(check, Class::Dangerous) else {
        return false;
    };
    reckoning
        .posterior(place, &levels(component, &check.id))
        .is_some_and(|p| p.past(from, 0.0) >= NOTICE_FROM)
}

/// A seed from a name (FNV-1a), so that a part's draws do not depend on which other parts there are.
fn seed_of(name: &str) -> u64 {
    name.bytes().fold(0xcbf2_9ce4_8422_2325, |hash, byte| {
        (hash ^ u64::from(byte)).wrapping_mul(0x0100_0000_01b3)
    })
}
