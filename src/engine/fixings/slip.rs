//! Torques read in a manual set against the guide: units confused, the wrong thread or class named.

use std::ops::RangeInclusive;

use serde::Serialize;

use super::{Condition, guide_torque};
use crate::rubric::{StrengthClass, Thread};
use crate::units::{Torque, TorqueUnit};

/// Lowest and highest share of the guide torque that a maker's value is expected to have (judgement).
pub const EXPECTED: RangeInclusive<f64> = 0.3..=1.3;

/// What looks wrong with a torque typed in.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub enum Slip {
    /// Not a number above 0.
    NoTorque,
    /// Far below the guide; the share of it.
    Low(f64),
    /// Far above the guide; the share of it.
    High(f64),
    /// Out of the window, but right if the number were in another unit; that unit, and the value in N·m then.
    OtherUnit(TorqueUnit, f64),
    /// Far above, but right if it was turned from lbf·ft into N·m once too often; the value before.
    TurnedTwice(f64),
}

/// Torques in N·m that are expected of a fixing with that guide.
#[must_use]
pub fn plausible(guide: f64) -> RangeInclusive<f64> {
    EXPECTED.start() * guide..=EXPECTED.end() * guide
}

/// Sets a torque, typed in a unit, against a guide torque in N·m; `None` when nothing looks wrong, or when the guide is no
/// number above 0 and there is nothing to set it against. What is found is a question to ask: makers do have unusual values.
/// A torque before an angle is only a start, so a low one is no slip.
#[must_use]
pub fn slip(torque: &Torque, guide: f64) -> Option<Slip> {
    let entered = torque.newton_metres();
    if !(entered.is_finite() && entered > 0.0) {
        return Some(Slip::NoTorque);
    }
    if !(guide.is_finite() && guide > 0.0) {
        return None;
    }
    let (share, fits) = (entered / guide, |value: f64| EXPECTED.contains(&(value / guide)));
    let low = share < *EXPECTED.start();
    if EXPECTED.contains(&share) || (low && !torque.angles.is_empty()) {
        return None;
    }
    let typed = entered / torque.unit.in_newton_metres();
    let other = [
        TorqueUnit::PoundFeet,
        TorqueUnit::NewtonMetres,
        TorqueUnit::KilogramMetres,
        TorqueUnit::PoundInches,
    ]
    .into_iter()
    .filter(|unit| *unit != torque.unit)
    .map(|unit| (unit, typed * unit.in_newton_metres()))
    .find(|(_, value)| fits(*value));
    let before = entered / TorqueUnit::PoundFeet.in_newton_metres();
    Some(match other {
        // From N·m to lbf·in is the smaller slip only when nothing nearer explains it.
        _ if !low && torque.unit == TorqueUnit::NewtonMetres && fits(before) => Slip::TurnedTwice(before),
        Some((unit, value)) => Slip::OtherUnit(unit, value),
        None if low => Slip::Low(share),
        None => Slip::High(share),
    })
}

/// A thread and class that a torque would fit.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Fit {
    /// The thread's id.
    pub thread: String,
    /// The class's id.
    pub class: String,
    /// Its guide torque, N·m.
    pub guide: f64,
}

/// The three threads and classes whose guide a torque in N·m comes nearest to, for one that does not fit what was named: first
/// those of the named class and pitch, where they are as near. None that is further than half or twice its guide.
#[must_use]
pub fn threads_that_fit(
    entered: f64,
    condition: Condition,
    named: (&Thread, &StrengthClass),
    threads: &[Thread],
    classes: &[StrengthClass],
) -> Vec<Fit> {
    let mut fits: Vec<(f64, Fit)> = threads
        .iter()
        .flat_map(|thread| classes.iter().map(move |class| (thread, class)))
        .filter(|(thread, class)| thread.id != named.0.id || class.id != named.1.id)
        .filter_map(|(thread, class)| {
            let guide = guide_torque(thread, class, condition).ok()?;
            let away = (entered / guide).ln().abs();
            // What a change of class or pitch weighs against being near the guide is judgement.
            let other_class = if class.id == named.1.id { 0.0 } else { 0.1 };
            let other_pitch = if thread.pitch == named.0.pitch { 0.0 } else { 0.1 };
            let fit = Fit {
                thread: thread.id.clone(),
                class: class.id.clone(),
                guide,
            };
            (away < std::f64::consts::LN_2).then_some((away + other_class + other_pitch, fit))
        })
        .collect();
    fits.sort_by(|a, b| a.0.total_cmp(&b.0));
    fits.into_iter().take(3).map(|(_, fit)| fit).collect()
}
