//! Torques, threads and what becomes of rusted ones in words.

use super::plain;
use crate::car::OwnTorque;
use crate::engine::fixings::{Condition, Fit, Outlook, Slip};
use crate::rubric::Fixing;
use crate::rubric::fasteners::HexKind;
use crate::text::figure;
use crate::units::Torque;

/// Stands above every figure that is reckoned and not read.
pub const A_GUIDE_ONLY: &str =
    "General engineering for steel in steel, never your car maker's figure: your car's own manual wins.";

/// Stands above tightening values.
pub const MANUAL_WINS: &str = "the car's own manual wins over every guide";

/// A torque in N·m as precisely as a wrench can be set.
#[must_use]
pub fn newton_metres(torque: f64) -> String {
    if torque < 10.0 {
        format!("{torque:.1} N·m")
    } else {
        format!("{torque:.0} N·m")
    }
}

/// A force in kN.
#[must_use]
pub fn kilonewtons(force: f64) -> String {
    format!("{:.1} kN", force / 1000.0)
}

/// State of a thread when it is tightened.
#[must_use]
pub fn condition(condition: Condition) -> &'static str {
    match condition {
        Condition::Dry => "dry",
        Condition::Oiled => "oiled",
        Condition::Pasted => "with anti-seize paste",
    }
}

/// On what a hexagon is usual.
#[must_use]
pub fn hex_kind(kind: HexKind) -> &'static str {
    match kind {
        HexKind::Iso => "ISO 4014",
        HexKind::Din => "older, DIN 931",
        HexKind::Small => "small hexagon",
        HexKind::Flange => "flange, EN 1665",
        HexKind::SmallFlange => "small flange, ISO 4162",
        HexKind::Wheel => "wheel bolt or nut",
    }
}

/// What is more likely when a rusted fixing is undone.
#[must_use]
pub fn outlook(outlook: Outlook) -> &'static str {
    match outlook {
        Outlook::LikelyShears => "more likely to shear than to turn",
        Outlook::Even => "as likely to shear as to turn",
        Outlook::LittleInHand => "likely to turn, with little in hand",
        Outlook::LikelyTurns => "likely to turn",
    }
}

/// What looks wrong with a torque that was typed in; `guide` in N·m.
#[must_use]
pub fn slip(slip: Slip, torque: &Torque, guide: f64) -> String {
    let times = |share: f64| format!("{} times the guide of {}", figure(share), newton_metres(guide));
    let here = times(torque.newton_metres() / guide);
    match slip {
        Slip::NoTorque => format!("{torque} is no torque"),
        Slip::Low(_) | Slip::High(_) => format!("{torque} is {here}"),
        Slip::OtherUnit(unit, value) => format!(
            "{torque} is {here}; it would fit if it were {}, which is {}",
            unit.sign(),
            newton_metres(value)
        ),
        Slip::TurnedTwice(before) => format!(
            "{torque} is {here}; it is {before:.0} lbf·ft in N·m, and {} would fit, if it was turned into N·m once too often",
            newton_metres(before)
        ),
    }
}

/// Threads and classes that a torque would fit: `M12x1.25 8.8 (guide 96 N·m) or …`.
#[must_use]
pub fn fits(fits: &[Fit]) -> String {
    let named: Vec<String> = fits
        .iter()
        .map(|fit| {
            let guide = newton_metres(fit.guide);
            format!("{} {} (guide {guide})", plain(&fit.thread), plain(&fit.class))
        })
        .collect();
    match named.split_last() {
        Some((last, [])) => last.clone(),
        Some((last, first)) => format!("{} or {last}", first.join(", ")),
        None => String::new(),
    }
}

/// The manual's value, shown as such: `45 N·m, your manual's (chapter 7)`.
#[must_use]
pub fn own_torque(own: &OwnTorque) -> String {
    let source = if own.source.is_empty() {
        String::new()
    } else {
        format!(" ({})", plain(&own.source))
    };
    format!("{}, your manual's{source}", own.torque)
}

/// How tight: the manual's value, or a blank to fill with the guide in N·m beside it, marked as one.
#[must_use]
pub fn how_tight(own: Option<&OwnTorque>, guide: Option<f64>) -> String {
    match (own, guide) {
        (Some(own), _) => own_torque(own),
        (None, Some(guide)) => format!(
            "______ N·m from your manual (guide {} dry, not the maker's)",
            newton_metres(guide)
        ),
        (None, None) => "______ N·m from your manual".to_owned(),
    }
}

/// A fastener to tighten: its size, how it is locked and held, when it is tightened, and how tight.
#[must_use]
pub fn to_tighten(fixing: &Fixing, own: Option<&OwnTorque>, guide: Option<f64>) -> String {
    format!("{}; {}", super::work::fastener(fixing), how_tight(own, guide))
}
