//! Quantities with bounds, and how they are read and written.
//!
//! A [`Grade`] is 0 (as new) to 5 (at or past the limit). Distances are kept in kilometres whatever the
//! odometer shows; [`DistanceUnit`] converts at the edge. Numbers typed by people go through
//! [`parse_decimal`], which takes a decimal point or comma and refuses what could be both. A [`Torque`] is kept in the unit
//! it was read in.

mod torque;

use std::fmt;

use serde::{Deserialize, Serialize};

pub use torque::{OF_A_FIXING, Torque, TorqueUnit};

/// A grade from 0 (as new) to 5 (at or past the limit).
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(try_from = "u8", into = "u8")]
pub struct Grade(u8);

impl Grade {
    /// The best grade.
    pub const NEW: Grade = Grade(0);
    /// The worst grade: at or past the limit.
    pub const LIMIT: Grade = Grade(5);

    /// All grades, best first.
    pub const ALL: [Grade; 6] = [Grade(0), Grade(1), Grade(2), Grade(3), Grade(4), Grade(5)];

    /// A grade from its digit; `None` above 5.
    #[must_use]
    pub fn new(digit: u8) -> Option<Grade> {
        (digit <= 5).then_some(Grade(digit))
    }

    /// The digit, 0 to 5.
    #[must_use]
    pub fn digit(self) -> u8 {
        self.0
    }

    /// The digit as an index into tables of six.
    #[must_use]
    pub fn index(self) -> usize {
        usize::from(self.0)
    }
}

impl fmt::Display for Grade {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}", self.0)
    }
}

impl TryFrom<u8> for Grade {
    type Error = String;
    fn try_from(digit: u8) -> Result<Self, String> {
        Grade::new(digit).ok_or_else(|| format!("a grade is 0 to 5, not {digit}"))
    }
}

impl From<Grade> for u8 {
    fn from(grade: Grade) -> u8 {
        grade.0
    }
}

/// How far one mile is, in kilometres (exact by definition).
pub const KM_PER_MILE: f64 = 1.609_344;

/// What the odometer counts.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
pub enum DistanceUnit {
    /// Kilometres.
    #[default]
    Kilometres,
    /// Statute miles.
    Miles,
}

impl DistanceUnit {
    /// A distance in this unit, as kilometres.
    #[must_use]
    pub fn to_km(self, distance: f64) -> f64 {
        match self {
            DistanceUnit::Kilometres => distance,
            DistanceUnit::Miles => distance * KM_PER_MILE,
        }
    }

    /// Kilometres as a distance in this unit.
    #[must_use]
    pub fn of_km(self, km: f64) -> f64 {
        match self {
            DistanceUnit::Kilometres => km,
            DistanceUnit::Miles => km / KM_PER_MILE,
        }
    }

    /// The short sign: `km` or `mi`.
    #[must_use]
    pub fn sign(self) -> &'static str {
        match self {
            DistanceUnit::Kilometres => "km",
            DistanceUnit::Miles => "mi",
        }
    }
}

/// Reads a decimal number typed by a person: `1.5` or `1,5`, no thousands marks.
///
/// # Errors
/// Says what was found when the text is no finite number, or when it could be read two ways: a single
/// separator followed by exactly three digits (`1,500`) may be a thousand and a half or one and a half.
///
/// # Example
/// ```
/// use tinworm::units::parse_decimal;
/// assert_eq!(parse_decimal("1,5"), Ok(1.5));
/// assert!(parse_decimal("1,500").is_err());
/// ```
pub fn parse_decimal(text: &str) -> Result<f64, String> {
    let text = text.trim();
    let separators = text.matches([',', '.']).count();
    if separators > 1 {
        return Err(format!("`{text}` has more than one decimal mark; write 12345.6"));
    }
    if let Some(at) = text.find(',') {
        let after = &text[at + 1..];
        let before = text[..at].trim_start_matches(['-', '+']);
        if after.len() == 3 && !before.is_empty() && before != "0" {
            return Err(format!(
                "`{text}` could be a thousands mark or a decimal comma; write it with a point or without the mark"
            ));
        }
    }
    let plain = text.replace(',', ".");
    let allowed = plain
        .chars()
        .all(|c| c.is_ascii_digit() || matches!(c, '.' | '-' | '+'));
    match plain.parse::<f64>() {
        Ok(value) if allowed && value.is_finite() => Ok(value),
        _ => Err(format!("`{text}` is not a number")),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_decimal_comma_is_read_and_a_doubtful_one_refused() {
        assert_eq!(parse_decimal(" 0,125 "), Ok(0.125));
        assert_eq!(parse_decimal("-1.25"), Ok(-1.25));
        for bad in ["", "1,500", "1.5.2", "nan", "inf", "1e3", "12 mm"] {
            assert!(parse_decimal(bad).is_err(), "{bad}");
        }
    }

    #[test]
    fn a_mile_is_1_609344_km() {
        assert_eq!(DistanceUnit::Miles.to_km(1.0), 1.609_344);
        assert!((DistanceUnit::Miles.of_km(DistanceUnit::Miles.to_km(77.0)) - 77.0).abs() < 1e-12);
    }
}
