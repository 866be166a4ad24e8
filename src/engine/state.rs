//! What the engine says of a car on a day: plain values that reports and screens show.

use std::sync::Arc;

use jiff::civil::Date;
use serde::Serialize;

use crate::car::Seen;
use crate::rubric::{Class, PartId, Severity};
use crate::units::Grade;

/// The 10, 50 and 90 % points of something uncertain.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Spread {
    /// 10 % point.
    pub low: f64,
    /// Median.
    pub mid: f64,
    /// 90 % point.
    pub high: f64,
}

/// The 10, 50 and 90 % points of the years left until the limit; `None` is beyond 60 years.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct YearsLeft {
    /// 10 % of such parts are past their limit by then.
    pub soon: Option<f64>,
    /// Half are.
    pub mid: Option<f64>,
    /// 90 % are.
    pub late: Option<f64>,
}

/// Everything the engine says of a car on a day.
#[derive(Debug, Clone, Serialize)]
pub struct Assessment {
    /// The day.
    pub today: Date,
    /// The day until which exposure is reckoned in the standing: the next survey.
    pub until: Date,
    /// The parts, in library order.
    pub parts: Vec<PartState>,
    /// Why the car should not be driven; empty if nothing says so. Never means that the car is safe.
    pub notice: Vec<NoticeReason>,
    /// How fast this car declines against the rubrics, for wear, rust and ageing.
    pub pace: Vec<CarPace>,
    /// How much harder (positive) or milder each survey was graded than the ones before, in damage.
    pub survey_offsets: Vec<SurveyOffset>,
    /// How steady the grader is.
    pub grader: Grader,
    /// Checks worth looking at next, the most told per minute first.
    pub look_next: Vec<LookNext>,
    /// Where the odometer ran backwards: one of the two readings is wrong, or the instrument was changed.
    pub odometer_falls: Vec<OdometerFall>,
}

impl Assessment {
    /// The state of one part.
    #[must_use]
    pub fn part(&self, id: &PartId) -> Option<&PartState> {
        self.parts.iter().find(|p| p.id == *id)
    }
}

/// A check not seen, or not for long, and what a look at it would tell.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct LookNext {
    /// The part.
    pub part: PartId,
    /// The check.
    pub check: String,
    /// Expected change of the part's points that a look would bring.
    pub moves: f64,
    /// Minutes the look takes.
    pub minutes: f64,
    /// When it was last seen.
    pub last_seen: Option<Date>,
}

/// Two odometer readings of which the later is the lower.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct OdometerFall {
    /// The day of the higher reading.
    pub from_date: Date,
    /// The higher reading, in kilometres.
    pub from_km: f64,
    /// The day of the lower reading.
    pub to_date: Date,
    /// The lower reading, in kilometres.
    pub to_km: f64,
}

/// One reason to keep the car off the road until the part is repaired and looked at again.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct NoticeReason {
    /// The part.
    pub part: PartId,
    /// The check that says so.
    pub check: String,
    /// Why.
    pub because: NoticeCause,
}

/// Why a check keeps the car off the road.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub enum NoticeCause {
    /// The probability that the law's dangerous class holds today.
    Dangerous(f64),
    /// Graded 5 on a check whose rubric says that this alone is enough.
    AtItsLimit,
    /// It was so when last looked at; a repair is recorded but nobody has looked since.
    NotLookedAtSinceRepair,
    /// A repair of it was begun on that day and stands open; the check's place holds the repair's id.
    StandsOpen(Date),
}

/// The car's pace on one kind of clock.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct CarPace {
    /// `wear`, `corrosion` or `ageing`.
    pub driver: &'static str,
    /// How many times the rubrics' usual pace.
    pub times: Spread,
    /// How many checks told us.
    pub checks: usize,
}

/// How steady the grader is, as everything else counts with it.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Grader {
    /// Scatter of one grading, in damage.
    pub sd: f64,
    /// How many second looks it was learned from; with none it is the usual scatter.
    pub pairs: usize,
}

/// A survey's common offset.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct SurveyOffset {
    /// The survey.
    pub date: Date,
    /// Mean offset, in damage.
    pub offset: f64,
    /// How many checks, seen both before and then, told us.
    pub checks: usize,
}

/// What is said of one part.
#[derive(Debug, Clone, Serialize)]
pub struct PartState {
    /// The part.
    pub id: PartId,
    /// Its checks, in rubric order.
    pub checks: Vec<CheckState>,
    /// Whether anything has been seen of it since it was last renewed.
    pub seen: bool,
    /// Exposure from today, by cause, over time.
    pub exposure: ExposureCurve,
    /// Exposure until the next survey: what it is ranked by.
    pub points: f64,
    /// The part of `points` that comes from checks nobody has seen.
    pub unknown_points: f64,
    /// Exposure until the next survey, split by cause, largest first.
    pub causes: Vec<CausePoints>,
    /// Risk level of MIL-STD-882E from its worst mode.
    pub risk: RiskLevel,
    /// The worst grade seen.
    pub worst: Option<WorstGrade>,
    /// Its place in the ranked list, from 1; `None` for parts not seen.
    pub rank: Option<Rank>,
    /// Its points in equally likely draws from what is known, the same draw of the car in the same place for every part.
    #[serde(skip)]
    pub draws: Arc<[f32]>,
}

impl PartState {
    /// The check that says most about it: the one behind the largest share of its exposure, or else the worst graded.
    #[must_use]
    pub fn leading_check(&self) -> Option<&CheckState> {
        let by_cause = self.causes.first().and_then(|c| c.check.as_deref());
        by_cause
            .and_then(|id| self.checks.iter().find(|c| c.check == id))
            .or_else(|| self.checks.iter().max_by(|a, b| a.damage.mid.total_cmp(&b.damage.mid)))
    }
}

/// The worst grade seen on a part.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct WorstGrade {
    /// The check.
    pub check: String,
    /// The grade.
    pub grade: Grade,
    /// When.
    pub date: Date,
}

/// A place in the ranking.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Rank {
    /// The place, 1 first.
    pub place: usize,
    /// The best place of the 80 % range.
    pub best: usize,
    /// The worst place of the 80 % range.
    pub worst: usize,
}

/// Exposure carried if the part is repaired after so many days from today.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct ExposureCurve {
    /// Days from today, rising from 0.
    pub days: Vec<f64>,
    /// Exposure in points at those days, never falling.
    pub points: Vec<f64>,
}

impl ExposureCurve {
    /// Exposure after so many days, straight between the tabulated days, flat in slope beyond the last.
    #[must_use]
    pub fn at(&self, days: f64) -> f64 {
        let n = self.days.len().min(self.points.len());
        if n == 0 || days <= 0.0 {
            return self.points.first().copied().unwrap_or(0.0);
        }
        let after = self
            .days
            .iter()
            .take(n)
            .position(|d| *d >= days)
            .unwrap_or(n - 1)
            .max(1);
        let (Some(d0), Some(d1)) = (self.days.get(after - 1), self.days.get(after)) else {
            return self.points.first().copied().unwrap_or(0.0);
        };
        let (Some(p0), Some(p1)) = (self.points.get(after - 1), self.points.get(after)) else {
            return 0.0;
        };
        p0 + (p1 - p0) * (days - d0) / (d1 - d0)
    }
}

/// A cause of exposure and what it adds.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct CausePoints {
    /// What kind.
    pub cause: Cause,
    /// The check behind it, if one.
    pub check: Option<String>,
    /// Points until the next survey.
    pub points: f64,
    /// Whether it rests on checks nobody has seen.
    pub unknown: bool,
}

/// What exposure comes from.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub enum Cause {
    /// A failure mode may happen: its id, severity and probability until the next survey.
    MayHappen {
        /// The mode.
        mode: String,
        /// Its severity.
        severity: Severity,
        /// Its probability until the next survey.
        probability: f64,
    },
    /// A failure mode has happened.
    HasHappened {
        /// The mode.
        mode: String,
        /// Its severity.
        severity: Severity,
    },
    /// It is deficient in law: the worst class with a probability of at least a tenth.
    Law(Class),
}

/// The risk levels of MIL-STD-882E, table III.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize)]
pub enum RiskLevel {
    /// Low.
    Low,
    /// Medium.
    Medium,
    /// Serious.
    Serious,
    /// High.
    High,
}

/// What is said of one check of a part.
#[derive(Debug, Clone, Serialize)]
pub struct CheckState {
    /// The check's id.
    pub check: String,
    /// The newest look that saw something since the last renewal.
    pub last: Option<LastLook>,
    /// Damage today: 0 new, 1 at the limit.
    pub damage: Spread,
    /// Probability of each grade today.
    pub grades: [f64; 6],
    /// Present pace, in grades a year (median).
    pub grades_per_year: f64,
    /// Probability of being past the limit today.
    pub past_limit_now: f64,
    /// Probability of being past the limit at the next survey.
    pub past_limit_then: f64,
    /// Years until the limit.
    pub years_left: YearsLeft,
    /// Probability that it has quickened.
    pub quickened: f64,
    /// What the pace rests on: 0 the rubric's usual life, 1 this part's own looks.
    pub rests_on_looks: f64,
    /// What is odd about it.
    pub flags: Vec<Flag>,
    /// What changed between the two newest looks.
    pub change: Option<ChangeSeen>,
    /// Difference between the worst and the best of several points of the newest reading, in damage.
    pub uneven: Option<f64>,
}

/// The newest look that saw something.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct LastLook {
    /// When.
    pub date: Date,
    /// What was seen.
    pub seen: Seen,
    /// The grade it stands for.
    pub grade: Grade,
}

/// Something odd about a check. A flag never hides a part from the ranking.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub enum Flag {
    /// Better than could be expected, without a repair: was something done, or was the earlier look wrong?
    BetterWithoutRepair,
    /// Far faster than such parts go: look or measure again.
    ImplausiblePace,
}

/// What changed between two looks.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct ChangeSeen {
    /// The earlier look.
    pub from_date: Date,
    /// Its grade.
    pub from: Grade,
    /// The later look.
    pub to_date: Date,
    /// Its grade.
    pub to: Grade,
    /// Probability that the damage really grew by more than the grader's own scatter explains.
    pub probability: f64,
}

impl ChangeSeen {
    /// Whether the change is called real: probability at least 0.9 (method of the steadiness section).
    #[must_use]
    pub fn is_real(&self) -> bool {
        self.probability >= super::second_look::REAL_FROM
    }
}
