//! Threads: guide torque, what breaks a bolt, what it takes to undo a rusted one, and slips in torques typed in.
//!
//! Everything here is general engineering for steel screws in steel. None of it is a car maker's figure, and none replaces
//! one: the car's own manual always wins. The guide torque serves to catch a mistyped value, the margin to say where a bolt is
//! likely to shear. Lengths are in mm, stresses in MPa, forces in N, torques in N·m, times in minutes.
//!
//! Thread geometry: ISO 68-1 and ISO 724. Strength: ISO 898-1, ISO 898-7. Torque with friction: VDI 2230 (Motosh's three terms).

mod figures;
mod slip;

use std::f64::consts::PI;

use serde::Serialize;
use thiserror::Error;

pub use figures::{Figures, Outlook, Rusted, figures};
pub use slip::{Fit, Slip, plausible, slip, threads_that_fit};

use crate::rubric::{StrengthClass, Thread, ThreadGrade};
use crate::units::Grade;

/// Share of the proof load a joint that will be undone again is tightened to (Shigley; 0.9 for joints that stay).
pub const SHARE_OF_PROOF: f64 = 0.75;

/// Friction of a clean, lightly oiled thread: the usual 0.12 of VDI 2230 tables.
pub const CLEAN_FRICTION: f64 = 0.12;

/// Highest over lowest tension that one torque gives, with a torque wrench (VDI 2230, worked example of a fastener maker).
pub const TIGHTENING_FACTOR: f64 = 1.8;

/// Why a number for a fixing cannot be given.
#[derive(Debug, Clone, PartialEq, Error)]
pub enum FixingError {
    /// The thread's diameter or pitch is not that of a metric thread.
    #[error(
        "thread `{0}`: {1} mm by {2} mm is no metric thread; the diameter is 1 to 64 mm, the pitch above 0 and up to a quarter of it"
    )]
    Thread(String, f64, f64),
    /// The proof stress is no number of a bolt.
    #[error("strength class `{0}`: a proof stress of {1} MPa is not that of a steel bolt; it is 100 to 1500 MPa")]
    Proof(String, f64),
    /// The rule does not reach to this strength class.
    #[error("strength class `{0}`: this is known only for 8.8, 9.8, 10.9 and 12.9")]
    Class(String),
    /// The rule does not reach to this size.
    #[error("thread `{0}`: head and hole sizes are known only from 5 to 18 mm")]
    Size(String),
    /// A friction out of range.
    #[error("a friction of {0} is out of range; steel on steel has 0.04 to 1")]
    Friction(f64),
}

/// State of a thread when it is tightened.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
pub enum Condition {
    /// Cleaned, dry.
    Dry,
    /// Any oil or grease on it.
    Oiled,
    /// Anti-seize paste.
    Pasted,
}

impl Condition {
    /// All of them.
    pub const ALL: [Condition; 3] = [Condition::Dry, Condition::Oiled, Condition::Pasted];

    /// The factor K of T = K·d·F: 0.20 for a cleaned and dried thread, 0.15 with any oil (machine design handbooks), 0.14
    /// with anti-seize paste (middle of 0.12 to 0.16, tables after Shigley and Machinery's Handbook).
    #[must_use]
    pub fn factor(self) -> f64 {
        match self {
            Condition::Dry => 0.20,
            Condition::Oiled => 0.15,
            Condition::Pasted => 0.14,
        }
    }

    /// The friction of thread and seat at which the three terms give the torque of [`Condition::factor`] on an M10 (derived).
    #[must_use]
    pub fn friction(self) -> f64 {
        match self {
            Condition::Dry => 0.15,
            Condition::Oiled => 0.11,
            Condition::Pasted => 0.10,
        }
    }
}

fn checked(thread: &Thread) -> Result<(), FixingError> {
    let sound = (1.0..=64.0).contains(&thread.diameter) && thread.pitch > 0.0 && thread.pitch <= thread.diameter / 4.0;
    sound
        .then_some(())
        .ok_or_else(|| FixingError::Thread(thread.id.clone(), thread.diameter, thread.pitch))
}

/// Pitch diameter d2 = d − 0.649519 P, mm (ISO 724).
///
/// # Errors
/// When diameter and pitch are no metric thread.
pub fn pitch_diameter(thread: &Thread) -> Result<f64, FixingError> {
    checked(thread)?;
    Ok(thread.diameter - 0.649_519 * thread.pitch)
}

/// Core diameter d3 = d − 1.226869 P, mm (ISO 724, rounded root).
///
/// # Errors
/// When diameter and pitch are no metric thread.
pub fn core_diameter(thread: &Thread) -> Result<f64, FixingError> {
    checked(thread)?;
    Ok(thread.diameter - 1.226_869 * thread.pitch)
}

/// Stress area A_s = π/4·((d2 + d3)/2)², mm² (ISO 898-1).
///
/// # Errors
/// When diameter and pitch are no metric thread.
pub fn stress_area(thread: &Thread) -> Result<f64, FixingError> {
    let mean = (pitch_diameter(thread)? + core_diameter(thread)?) / 2.0;
    Ok(PI / 4.0 * mean * mean)
}

/// Proof load = proof stress · A_s, N (ISO 898-1; the class has one stress up to and including 16 mm, another above).
///
/// # Errors
/// When the thread is no metric thread or the stress is not that of a bolt.
pub fn proof_load(thread: &Thread, class: &StrengthClass) -> Result<f64, FixingError> {
    let proof = if thread.diameter <= 16.0 {
        class.proof
    } else {
        class.proof_large
    };
    if !(100.0..=1500.0).contains(&proof) {
        return Err(FixingError::Proof(class.id.clone(), proof));
    }
    Ok(proof * stress_area(thread)?)
}

/// Tightening torque T = K·d·F in N·m for a tension of `force` N (short form; the tension scatters by about a quarter either way).
///
/// # Errors
/// When the thread is no metric thread.
pub fn torque_for(thread: &Thread, force: f64, condition: Condition) -> Result<f64, FixingError> {
    checked(thread)?;
    Ok(condition.factor() * thread.diameter * force / 1000.0)
}

/// Tension in N that a torque of `torque` N·m gives: the short form turned round. It scatters by about a quarter either way.
///
/// # Errors
/// When the thread is no metric thread.
pub fn tension_for(thread: &Thread, torque: f64, condition: Condition) -> Result<f64, FixingError> {
    checked(thread)?;
    Ok(torque * 1000.0 / (condition.factor() * thread.diameter))
}

/// Guide torque in N·m: [`torque_for`] three quarters of the proof load. Not a car maker's value; the car's manual wins.
///
/// # Errors
/// When the thread is no metric thread or the proof stress is not that of a bolt.
///
/// # Example
/// ```
/// use tinworm::engine::fixings::{Condition, guide_torque};
/// use tinworm::rubric::{StrengthClass, Thread};
/// let m10 = Thread { id: "M10x1.5".into(), diameter: 10.0, pitch: 1.5 };
/// let class = StrengthClass { id: "8.8".into(), proof: 580.0, proof_large: 600.0, source: "ISO 898-1".into() };
/// assert_eq!(guide_torque(&m10, &class, Condition::Dry)?.round(), 50.0);
/// # Ok::<(), tinworm::engine::fixings::FixingError>(())
/// ```
pub fn guide_torque(thread: &Thread, class: &StrengthClass, condition: Condition) -> Result<f64, FixingError> {
    torque_for(thread, SHARE_OF_PROOF * proof_load(thread, class)?, condition)
}

/// Strength Rm, yield Rp0.2 (MPa) and ratio of shear to tensile strength of a class (ISO 898-1, ISO 898-7).
fn strength(thread: &Thread, class: &StrengthClass) -> Result<(f64, f64, f64), FixingError> {
    match (class.id.as_str(), thread.diameter > 16.0) {
        ("8.8", false) => Ok((800.0, 640.0, 0.84)),
        ("8.8", true) => Ok((830.0, 660.0, 0.84)),
        ("9.8", _) => Ok((900.0, 720.0, 0.815)),
        ("10.9", _) => Ok((1040.0, 940.0, 0.79)),
        ("12.9", _) => Ok((1220.0, 1100.0, 0.75)),
        _ => Err(FixingError::Class(class.id.clone())),
    }
}

/// Ultimate load Rm·A_s, N (ISO 898-1).
///
/// # Errors
/// When the thread is no metric thread or the class is not one of 8.8, 9.8, 10.9 and 12.9.
pub fn ultimate_load(thread: &Thread, class: &StrengthClass) -> Result<f64, FixingError> {
    Ok(strength(thread, class)?.0 * stress_area(thread)?)
}

/// Nominal diameter, bearing diameter of the head (ISO 4014), medium hole (ISO 273), mm.
const SEATS: [(f64, f64, f64); 8] = [
    (5.0, 6.88, 5.5),
    (6.0, 8.88, 6.6),
    (8.0, 11.63, 9.0),
    (10.0, 14.63, 11.0),
    (12.0, 16.63, 13.5),
    (14.0, 19.64, 15.5),
    (16.0, 22.49, 17.5),
    (18.0, 24.9, 20.0),
];

/// Mean diameter of the ring under a hexagon head, mm; sizes in between by proportion.
fn seat_diameter(thread: &Thread) -> Result<f64, FixingError> {
    SEATS
        .windows(2)
        .find_map(|pair| {
            let [(from, head, hole), (to, next_head, next_hole)] = *pair else {
                return None;
            };
            let share = (thread.diameter - from) / (to - from);
            let (low, high) = ((head + hole) / 2.0, (next_head + next_hole) / 2.0);
            (0.0..=1.0).contains(&share).then_some(low + share * (high - low))
        })
        .ok_or_else(|| FixingError::Size(thread.id.clone()))
}

/// Torque that turns a screw under a tension against friction, in Motosh's three terms:
/// T = F·(±P/2π + μ·d2/(2·cos 30°) + μ·D/2), up the thread's ramp with `ramp` 1 and down it with −1. In any units that
/// agree with each other; `seat` is the mean diameter of the ring under the head.
#[must_use]
pub fn three_terms(force: f64, pitch: f64, pitch_diameter: f64, seat: f64, friction: f64, ramp: f64) -> f64 {
    let flank = friction * pitch_diameter / (2.0 * (PI / 6.0).cos());
    force * (ramp * pitch / (2.0 * PI) + flank + friction * seat / 2.0)
}

/// Torque in N·m that turns a screw under a tension against friction: up the thread's ramp (`ramp` 1) or down (−1).
fn turning(thread: &Thread, force: f64, friction: f64, ramp: f64) -> Result<f64, FixingError> {
    if !(0.04..=1.0).contains(&friction) {
        return Err(FixingError::Friction(friction));
    }
    let (pitch_d, seat) = (pitch_diameter(thread)?, seat_diameter(thread)?);
    Ok(three_terms(force, thread.pitch, pitch_d, seat, friction, ramp) / 1000.0)
}

/// Tension and torque of a tightened screw.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Tightened {
    /// Tension, N.
    pub preload: f64,
    /// Torque, N·m.
    pub torque: f64,
}

/// Tightening with friction taken into account, as VDI 2230: the tension at which pull and twist together use 90 % of the
/// yield strength, F = 0.9·Rp0.2·A0 / √(1 + 3·(1.5·(d2/d0)·(P/(π·d2) + 1.155·μ))²) with d0 = (d2 + d3)/2, and the torque
/// T = F·(P/2π + μ·d2/(2·cos 30°) + μ·D/2) under a hexagon head. `friction` is the same in thread and seat. An upper
/// limit for a sound screw, not a value to tighten to.
///
/// # Errors
/// When the thread is no metric thread from 5 to 18 mm, the class is not 8.8, 9.8, 10.9 or 12.9, or the friction is not 0.04 to 1.
pub fn friction_form(thread: &Thread, class: &StrengthClass, friction: f64) -> Result<Tightened, FixingError> {
    let (_, yields, _) = strength(thread, class)?;
    let (pitch_d, core) = (pitch_diameter(thread)?, core_diameter(thread)?);
    let mean = (pitch_d + core) / 2.0;
    let twist = 1.5 * pitch_d / mean * (thread.pitch / (PI * pitch_d) + 1.155 * friction);
    let preload = 0.9 * yields * PI / 4.0 * mean * mean / (1.0 + 3.0 * twist * twist).sqrt();
    Ok(Tightened {
        preload,
        torque: turning(thread, preload, friction, 1.0)?,
    })
}

/// Torque in N·m that breaks a bolt whose thread is stuck fast: M = X·Rm·π/16·d3³ with the smallest core of tolerance 6g
/// (ISO 898-7, whose scope ends at 10 mm; beyond, an estimate by the same rule). `core_loss` is the share of the core's
/// diameter that rust has taken, 0 to 1; torque falls with the cube of what is left.
///
/// # Errors
/// When the thread is no metric thread or the class is not one of 8.8, 9.8, 10.9 and 12.9.
pub fn breaking_torque(thread: &Thread, class: &StrengthClass, core_loss: f64) -> Result<f64, FixingError> {
    let (tensile, _, shear) = strength(thread, class)?;
    // Unknown loss must not make a bolt look sound: what is no number counts as all gone.
    let left = if core_loss.is_nan() {
        0.0
    } else {
        1.0 - core_loss.clamp(0.0, 1.0)
    };
    let core = smallest_core(thread)? * left;
    Ok(shear * tensile * PI / 16.0 * core.powi(3) / 1000.0)
}

/// Smallest core diameter of a 6g thread, mm: d2 less deviation and tolerance (ISO 965-1), less 0.616 P at the root.
fn smallest_core(thread: &Thread) -> Result<f64, FixingError> {
    let deviation = (15.0 + 11.0 * thread.pitch) / 1000.0;
    // The tolerance is made for ranges of diameter; each stands for its geometric mean.
    let range = match thread.diameter {
        d if d <= 5.6 => 3.96,
        d if d <= 11.2 => 7.92,
        d if d <= 22.4 => 15.84,
        _ => 31.7,
    };
    let tolerance = 0.090 * thread.pitch.powf(0.4) * f64::powf(range, 0.1);
    Ok(pitch_diameter(thread)? - deviation - tolerance - 0.616 * thread.pitch)
}

/// Friction of a thread of each grade when it is first turned: clean 0.12; 0.30 to 0.45 is what breakout torques two to three
/// times the tightening torque of badly rusted threads come to; grades placed between by judgement.
#[must_use]
pub fn rusted_friction(grade: Grade) -> f64 {
    match grade.digit() {
        0 => CLEAN_FRICTION,
        1 => 0.15,
        2 => 0.20,
        3 => 0.30,
        4 => 0.40,
        _ => 0.50,
    }
}

/// Torque in N·m to start undoing a screw that holds `force` N: T = F·(−P/2π + μ·d2/(2·cos 30°) + μ·D/2).
///
/// # Errors
/// When the thread is no metric thread from 5 to 18 mm or the friction is not 0.04 to 1.
pub fn undoing_torque(thread: &Thread, force: f64, friction: f64) -> Result<f64, FixingError> {
    turning(thread, force, friction, -1.0)
}

/// Estimate in N·m of what it takes to undo a screw whose thread has a grade: tightened clean as by [`friction_form`], the
/// tension kept, the friction risen to [`rusted_friction`].
///
/// # Errors
/// As [`friction_form`].
pub fn loosening_torque(thread: &Thread, class: &StrengthClass, grade: Grade) -> Result<f64, FixingError> {
    let held = friction_form(thread, class, CLEAN_FRICTION)?.preload;
    undoing_torque(thread, held, rusted_friction(grade))
}

/// How many times the loosening torque it takes to break the bolt. At 1 and below it is likely to shear before it turns; hand
/// tools reach the breaking torque of small bolts at once. A large margin is no promise: a thread may be stuck fast.
///
/// # Errors
/// As [`friction_form`].
pub fn shear_margin(thread: &Thread, class: &StrengthClass, grade: Grade, core_loss: f64) -> Result<f64, FixingError> {
    Ok(breaking_torque(thread, class, core_loss)? / loosening_torque(thread, class, grade)?)
}

/// Drag of a self-locking nut on its thread, N·m.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Drag {
    /// Most when it goes on for the first time.
    pub first_on: f64,
    /// Least when it comes off for the first time.
    pub first_off: f64,
    /// Least when it comes off for the fifth time; one that turns more easily has lost its lock.
    pub fifth_off: f64,
}

/// What a self-locking nut of class 5, 6 or 8 drags, by nominal diameter; fine threads alike (ISO 2320, seen for class 04, the
/// same numbers for 5, 6 and 8 from memory). `None` for other diameters.
#[must_use]
pub fn self_locking_drag(thread: &Thread) -> Option<Drag> {
    const TABLE: [(f64, f64, f64, f64); 8] = [
        (5.0, 1.6, 0.29, 0.20),
        (6.0, 3.0, 0.45, 0.30),
        (8.0, 6.0, 0.85, 0.60),
        (10.0, 10.5, 1.5, 1.0),
        (12.0, 15.5, 2.3, 1.6),
        (14.0, 24.0, 3.3, 2.3),
        (16.0, 32.0, 4.5, 3.0),
        (18.0, 42.0, 6.0, 4.2),
    ];
    TABLE.iter().find(|row| row.0 == thread.diameter).map(|row| Drag {
        first_on: row.1,
        first_off: row.2,
        fifth_off: row.3,
    })
}

/// What a thread is expected to do when it is undone.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ExpectedTrouble {
    /// Mean extra minutes.
    pub mean_minutes: f64,
    /// Standard deviation of the extra minutes.
    pub sd_minutes: f64,
    /// Probability that it seizes and costs its grade's minutes.
    pub seizes: f64,
    /// Probability that it shears or rounds.
    pub shears: f64,
}

/// Expected trouble with one thread whose grade is known only by probabilities: a grade's thread seizes with that grade's
/// probability and then costs its minutes (the numbers in the table are judgement).
///
/// The probabilities are taken in proportion; if they are not numbers, negative, or all 0, the worst grade is assumed. A
/// grade missing in the table is taken as the next worse one there, or the worst. `None` for an empty table.
#[must_use]
pub fn expected_trouble(grade_probabilities: &[f64; 6], thread_grades: &[ThreadGrade]) -> Option<ExpectedTrouble> {
    let worst = thread_grades.iter().max_by_key(|row| row.grade)?;
    let total: f64 = grade_probabilities.iter().sum();
    let sound = total.is_finite() && total > 0.0 && grade_probabilities.iter().all(|&share| share >= 0.0);
    let (mut mean, mut square, mut seizes, mut shears) = (0.0, 0.0, 0.0, 0.0);
    for (grade, &share) in Grade::ALL.iter().zip(grade_probabilities) {
        let share = match sound {
            true => share / total,
            false => f64::from(u8::from(*grade == Grade::LIMIT)),
        };
        let row = thread_grades
            .iter()
            .filter(|row| row.grade >= *grade)
            .min_by_key(|row| row.grade)
            .unwrap_or(worst);
        mean += share * row.seizes * row.minutes;
        square += share * row.seizes * row.minutes * row.minutes;
        seizes += share * row.seizes;
        shears += share * row.shears;
    }
    Some(ExpectedTrouble {
        mean_minutes: mean,
        sd_minutes: (square - mean * mean).max(0.0).sqrt(),
        seizes,
        shears,
    })
}
