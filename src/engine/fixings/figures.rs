//! All figures of one fixing together, as the command line and the screens show them.

use serde::Serialize;

use super::{
    Condition, Drag, FixingError, Tightened, breaking_torque, core_diameter, friction_form, guide_torque,
    loosening_torque, pitch_diameter, proof_load, rusted_friction, self_locking_drag, slip, stress_area, ultimate_load,
};
use crate::rubric::{StrengthClass, Thread};
use crate::units::Grade;

/// What is more likely when a rusted fixing is undone.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize)]
pub enum Outlook {
    /// It breaks below the torque that would turn it.
    LikelyShears,
    /// Neither is more likely: the two torques lie within the scatter of either.
    Even,
    /// It turns, with little in hand.
    LittleInHand,
    /// It turns.
    LikelyTurns,
}

impl Outlook {
    /// What a shear margin stands for. Below 1 it is more likely to shear; up to 1.25 the margin is within the quarter by which
    /// torque and tension scatter, up to 1.5 within twice that (judgement). No number counts as the worst.
    #[must_use]
    pub fn of_margin(margin: f64) -> Outlook {
        match margin {
            m if m >= 1.5 => Outlook::LikelyTurns,
            m if m >= 1.25 => Outlook::LittleInHand,
            m if m >= 1.0 => Outlook::Even,
            _ => Outlook::LikelyShears,
        }
    }
}

/// What a rusted thread does.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Rusted {
    /// Its grade.
    pub grade: Grade,
    /// The share of the core's diameter that is gone.
    pub core_lost: f64,
    /// The friction taken for the grade.
    pub friction: f64,
    /// What it takes to undo it, N·m; an estimate.
    pub loosening: f64,
    /// What breaks it if it is stuck fast, N·m.
    pub breaking: f64,
    /// Breaking over loosening.
    pub margin: f64,
    /// What that stands for.
    pub outlook: Outlook,
}

/// All that is reckoned for one thread and class. What a rule does not reach to is `None`.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Figures {
    /// Pitch diameter d2, mm.
    pub pitch_diameter: f64,
    /// Core diameter d3, mm.
    pub core_diameter: f64,
    /// Stress area, mm².
    pub stress_area: f64,
    /// Proof load, N.
    pub proof_load: f64,
    /// Ultimate load, N.
    pub ultimate_load: Option<f64>,
    /// Guide torque dry, N·m.
    pub guide_dry: f64,
    /// Guide torque oiled, N·m.
    pub guide_oiled: f64,
    /// Guide torque with anti-seize paste, N·m.
    pub guide_pasted: f64,
    /// The finish asked for.
    pub condition: Condition,
    /// The guide torque of that finish, N·m.
    pub guide: f64,
    /// Least and most that a manual is expected to say, N·m.
    pub plausible: (f64, f64),
    /// The friction taken for the limit.
    pub friction: f64,
    /// 90 % of the yield strength, with that friction.
    pub limit: Option<Tightened>,
    /// What breaks a sound bolt that is stuck fast, N·m.
    pub breaking: Option<f64>,
    /// Drag of a self-locking nut.
    pub drag: Option<Drag>,
    /// The rusted thread, if a grade was given and the rules reach to it.
    pub rusted: Option<Rusted>,
    /// Why something is lacking.
    pub lacking: Option<String>,
}

/// Reckons all figures of a fixing. `friction` is that of the limit, the finish's if none is given; `rust` the grade of
/// its thread and the share of the core's diameter lost.
///
/// # Errors
/// When the thread is no metric thread, the proof stress not that of a bolt, or the friction out of range.
pub fn figures(
    thread: &Thread,
    class: &StrengthClass,
    condition: Condition,
    friction: Option<f64>,
    rust: Option<(Grade, f64)>,
) -> Result<Figures, FixingError> {
    let friction = friction.unwrap_or(condition.friction());
    let guide = guide_torque(thread, class, condition)?;
    let window = slip::plausible(guide);
    let mut lacking = None;
    let limit = within_reach(friction_form(thread, class, friction), &mut lacking)?;
    let rusted = match rust {
        Some((grade, core_lost)) => within_reach(undone(thread, class, grade, core_lost), &mut lacking)?,
        None => None,
    };
    Ok(Figures {
        pitch_diameter: pitch_diameter(thread)?,
        core_diameter: core_diameter(thread)?,
        stress_area: stress_area(thread)?,
        proof_load: proof_load(thread, class)?,
        ultimate_load: within_reach(ultimate_load(thread, class), &mut lacking)?,
        guide_dry: guide_torque(thread, class, Condition::Dry)?,
        guide_oiled: guide_torque(thread, class, Condition::Oiled)?,
        guide_pasted: guide_torque(thread, class, Condition::Pasted)?,
        condition,
        guide,
        plausible: (*window.start(), *window.end()),
        friction,
        limit,
        breaking: within_reach(breaking_torque(thread, class, 0.0), &mut lacking)?,
        drag: self_locking_drag(thread),
        rusted,
        lacking,
    })
}

fn undone(thread: &Thread, class: &StrengthClass, grade: Grade, core_lost: f64) -> Result<Rusted, FixingError> {
    let loosening = loosening_torque(thread, class, grade)?;
    let breaking = breaking_torque(thread, class, core_lost)?;
    let margin = breaking / loosening;
    Ok(Rusted {
        grade,
        core_lost,
        friction: rusted_friction(grade),
        loosening,
        breaking,
        margin,
        outlook: Outlook::of_margin(margin),
    })
}

/// A value, or nothing where the rule does not reach to this size or class; other errors stay errors.
fn within_reach<T>(value: Result<T, FixingError>, lacking: &mut Option<String>) -> Result<Option<T>, FixingError> {
    match value {
        Ok(value) => Ok(Some(value)),
        Err(why @ (FixingError::Class(_) | FixingError::Size(_))) => {
            lacking.get_or_insert_with(|| why.to_string());
            Ok(None)
        }
        Err(why) => Err(why),
    }
}
