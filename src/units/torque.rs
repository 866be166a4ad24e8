//! Torques as manuals print them: a number or a span of numbers in one of four units, with angles to turn afterwards.

use std::fmt;
use std::ops::RangeInclusive;

use serde::{Deserialize, Serialize};

use super::parse_decimal;

/// What a torque is counted in.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
pub enum TorqueUnit {
    /// Newton metres.
    #[default]
    NewtonMetres,
    /// Pound-force feet.
    PoundFeet,
    /// Pound-force inches.
    PoundInches,
    /// Kilogram-force metres, as in manuals before about 1990.
    KilogramMetres,
}

/// Least and most that a fixing of a car is tightened to, in N·m: beyond what is expected of every thread and class of the table, M5 to
/// M24, so that only a slip of the fingers is outside.
pub const OF_A_FIXING: RangeInclusive<f64> = 0.1..=2000.0;

impl TorqueUnit {
    /// All of them.
    pub const ALL: [TorqueUnit; 4] = [
        TorqueUnit::NewtonMetres,
        TorqueUnit::PoundFeet,
        TorqueUnit::PoundInches,
        TorqueUnit::KilogramMetres,
    ];

    /// One of it in N·m. From the definitions: a pound is 0.45359237 kg, standard gravity 9.80665 m/s², a foot 0.3048 m.
    #[must_use]
    pub fn in_newton_metres(self) -> f64 {
        const POUND_FORCE: f64 = 0.453_592_37 * 9.806_65;
        match self {
            TorqueUnit::NewtonMetres => 1.0,
            TorqueUnit::PoundFeet => POUND_FORCE * 0.3048,
            TorqueUnit::PoundInches => POUND_FORCE * 0.0254,
            TorqueUnit::KilogramMetres => 9.806_65,
        }
    }

    /// The sign: `N·m`, `lbf·ft`.
    #[must_use]
    pub fn sign(self) -> &'static str {
        match self {
            TorqueUnit::NewtonMetres => "N·m",
            TorqueUnit::PoundFeet => "lbf·ft",
            TorqueUnit::PoundInches => "lbf·in",
            TorqueUnit::KilogramMetres => "kgf·m",
        }
    }

    /// The unit of a sign in any of the usual spellings: `Nm`, `lb-ft`, `ft. lbs.`, `kg/m` and the like.
    fn spelt(sign: &str) -> Option<TorqueUnit> {
        let letters: String = sign.chars().filter(|c| c.is_alphabetic()).collect();
        Some(match letters.to_lowercase().as_str() {
            "" | "nm" | "newtonmetre" | "newtonmetres" | "newtonmeter" | "newtonmeters" => TorqueUnit::NewtonMetres,
            "lbfft" | "lbft" | "lbsft" | "ftlb" | "ftlbs" | "ftlbf" | "footpound" | "footpounds" | "poundfeet"
            | "poundfoot" => TorqueUnit::PoundFeet,
            "lbfin" | "lbin" | "lbsin" | "inlb" | "inlbs" | "inlbf" | "inchpound" | "inchpounds" | "poundinches" => {
                TorqueUnit::PoundInches
            }
            "kgfm" | "kgm" | "mkg" | "mkgf" | "mkp" | "kpm" => TorqueUnit::KilogramMetres,
            _ => return None,
        })
    }
}

/// A torque as it stands in a manual.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Torque {
    /// The number, or the lower end of a span.
    pub value: f64,
    /// The upper end of a span.
    #[serde(default)]
    pub up_to: Option<f64>,
    /// What they are counted in.
    #[serde(default)]
    pub unit: TorqueUnit,
    /// Degrees to turn on after that, one after another.
    #[serde(default)]
    pub angles: Vec<f64>,
}

impl Torque {
    /// The number, or the middle of the span, in N·m.
    #[must_use]
    pub fn newton_metres(&self) -> f64 {
        let middle = self.up_to.map_or(self.value, |to| (self.value + to) / 2.0);
        middle * self.unit.in_newton_metres()
    }

    /// As it would be typed: `33 lbf·ft`, without the value in N·m beside it.
    #[must_use]
    pub fn as_typed(&self) -> String {
        let to = self.up_to.map_or_else(String::new, |to| format!("–{to}"));
        let angles: String = self.angles.iter().map(|degrees| format!(" + {degrees}°")).collect();
        format!("{}{to} {}{angles}", self.value, self.unit.sign())
    }

    /// Reads a torque typed by a person: `45`, `45 N·m`, `45-55 Nm`, `33 lbf·ft`, `60 N·m + 90° + 90°`. Without a unit it is N·m.
    ///
    /// # Errors
    /// Says what was found and how to write it.
    ///
    /// # Example
    /// ```
    /// use tinworm::units::Torque;
    /// let torque = Torque::parse("60 Nm + 90°")?;
    /// assert_eq!(torque.to_string(), "60 N·m + 90°");
    /// assert_eq!(Torque::parse("63 lb-ft")?.newton_metres().round(), 85.0);
    /// assert!(Torque::parse("tight").is_err());
    /// # Ok::<(), String>(())
    /// ```
    pub fn parse(text: &str) -> Result<Torque, String> {
        let plain = text
            .trim()
            .to_lowercase()
            .replace(" then ", " + ")
            .replace(" to ", "-")
            .replace(['–', '—', '−'], "-");
        let mut pieces = plain.split('+').map(str::trim);
        let first = pieces.next().unwrap_or_default();
        let of_number = |c: char| c.is_ascii_digit() || matches!(c, '.' | ',' | '-' | ' ');
        let (numbers, sign) = first.split_at(first.find(|c| !of_number(c)).unwrap_or(first.len()));
        let how = "write `45`, `45 N·m`, `45-55 N·m`, `33 lbf·ft` or `60 N·m + 90°`";
        if numbers.trim().trim_start_matches('-').is_empty() || numbers.trim().starts_with('-') {
            return Err(format!("`{}` is no torque; {how}", text.trim()));
        }
        let unit = TorqueUnit::spelt(sign).ok_or_else(|| {
            format!(
                "`{}` is no unit of torque; write N·m, lbf·ft, lbf·in or kgf·m",
                sign.trim()
            )
        })?;
        let (low, high) = match numbers.trim().trim_end_matches('-').split_once('-') {
            Some((low, high)) => (low, Some(high)),
            None => (numbers.trim().trim_end_matches('-'), None),
        };
        let number = |typed: &str| match parse_decimal(typed) {
            Ok(value) if OF_A_FIXING.contains(&(value * unit.in_newton_metres())) => Ok(value),
            Ok(value) if value > 0.0 => Err(format!(
                "`{}` is no torque of a car's fixing; those are from {} to {} N·m",
                first.trim(),
                OF_A_FIXING.start(),
                OF_A_FIXING.end()
            )),
            Ok(_) => Err(format!("a torque of {} is none; {how}", typed.trim())),
            Err(why) => Err(format!("{why}; {how}")),
        };
        let value = number(low)?;
        let up_to = high.map(number).transpose()?;
        if up_to.is_some_and(|to| to <= value) {
            return Err(format!(
                "`{}`: the second number must be above the first",
                numbers.trim()
            ));
        }
        let angles = pieces.map(angle).collect::<Result<_, _>>()?;
        Ok(Torque {
            value,
            up_to,
            unit,
            angles,
        })
    }
}

/// Reads an angle: `90°`, `90 deg`.
fn angle(piece: &str) -> Result<f64, String> {
    let bare = ["°", "degrees", "degree", "deg"]
        .iter()
        .find_map(|sign| piece.strip_suffix(sign))
        .ok_or_else(|| format!("`{piece}` after a + is no angle; write it as `90°` or `90 deg`"))?;
    match parse_decimal(bare) {
        Ok(degrees) if degrees > 0.0 && degrees <= 720.0 => Ok(degrees),
        Ok(degrees) => Err(format!(
            "an angle of {degrees}° is out of range; it is above 0 and up to 720"
        )),
        Err(why) => Err(why),
    }
}

impl fmt::Display for Torque {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}", self.value)?;
        if let Some(to) = self.up_to {
            write!(f, "–{to}")?;
        }
        write!(f, " {}", self.unit.sign())?;
        if self.unit != TorqueUnit::NewtonMetres {
            let one = self.unit.in_newton_metres();
            write!(f, " ({}", about(self.value * one))?;
            if let Some(to) = self.up_to {
                write!(f, "–{}", about(to * one))?;
            }
            write!(f, " N·m)")?;
        }
        self.angles.iter().try_for_each(|degrees| write!(f, " + {degrees}°"))
    }
}

/// A torque as precisely as a wrench can be set.
fn about(newton_metres: f64) -> String {
    if newton_metres < 20.0 {
        format!("{newton_metres:.1}")
    } else {
        format!("{newton_metres:.0}")
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_usual_spelling_of_a_unit_is_read() {
        for (typed, unit) in [
            ("63", TorqueUnit::NewtonMetres),
            ("63Nm", TorqueUnit::NewtonMetres),
            ("63 N.m", TorqueUnit::NewtonMetres),
            ("63 lbf·ft", TorqueUnit::PoundFeet),
            ("63 lbf-ft", TorqueUnit::PoundFeet),
            ("63 ft. lbs.", TorqueUnit::PoundFeet),
            ("63 FT-LB", TorqueUnit::PoundFeet),
            ("63 in-lb", TorqueUnit::PoundInches),
            ("63 kgf·m", TorqueUnit::KilogramMetres),
            ("63 mkg", TorqueUnit::KilogramMetres),
        ] {
            let read = Torque::parse(typed);
            assert_eq!(read.as_ref().map(|t| (t.value, t.unit)), Ok((63.0, unit)), "{typed}");
        }
    }

    #[test]
    fn spans_and_angles_are_read_and_written_back_alike() {
        for (typed, shown) in [
            ("45,5-55 Nm", "45.5–55 N·m"),
            ("45 to 55", "45–55 N·m"),
            ("60 N·m + 90°", "60 N·m + 90°"),
            ("20 nm + 90 deg + 45°", "20 N·m + 90° + 45°"),
            ("33 lbf·ft", "33 lbf·ft (45 N·m)"),
            ("5–6 lbf·ft", "5–6 lbf·ft (6.8–8.1 N·m)"),
        ] {
            assert_eq!(
                Torque::parse(typed).map(|t| t.to_string()),
                Ok(shown.to_owned()),
                "{typed}"
            );
        }
    }

    #[test]
    fn what_is_no_torque_is_refused() {
        for bad in [
            "",
            "tight",
            "0",
            "-5",
            "45 bar",
            "55-45",
            "45 Nm + 90",
            "45 + -90°",
            "45 + 9000°",
            "1,500",
            "99999999999999999999999",
            "45-2001",
            "18000 lbf·in",
            "0.05",
            "4 5",
            "45 + ",
        ] {
            assert!(Torque::parse(bad).is_err(), "{bad}");
        }
    }

    /// NIST Special Publication 811, Appendix B: 1 lbf·ft = 1.355 818 N·m, 1 lbf·in = 0.112 984 8 N·m, 1 kgf·m = 9.806 65 N·m.
    #[test]
    fn units_are_those_of_the_tables() {
        for (unit, one) in [
            (TorqueUnit::PoundFeet, 1.355_818),
            (TorqueUnit::PoundInches, 0.112_984_8),
            (TorqueUnit::KilogramMetres, 9.806_65),
        ] {
            assert!((unit.in_newton_metres() / one - 1.0).abs() < 5e-7, "{unit:?}");
        }
    }
}
