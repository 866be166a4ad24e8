//! Threads and strength classes as people write them, and the hexagons they usually have.

use super::check::nearest;
use super::{Library, StrengthClass, Thread};
use crate::units::parse_decimal;

/// Coarse pitches by diameter, mm (ISO 261; M7, M9 and M11 left out, above M18 from memory).
const COARSE: [(f64, f64); 11] = [
    (5.0, 0.8),
    (6.0, 1.0),
    (8.0, 1.25),
    (10.0, 1.5),
    (12.0, 1.75),
    (14.0, 2.0),
    (16.0, 2.0),
    (18.0, 2.5),
    (20.0, 2.5),
    (22.0, 2.5),
    (24.0, 3.0),
];

/// A thread as it was written, and what stood behind it.
#[derive(Debug, Clone, PartialEq)]
pub struct Written {
    /// Nominal diameter, mm.
    pub diameter: f64,
    /// Pitch, mm, if it was written.
    pub pitch: Option<f64>,
    /// What stood behind the thread.
    pub rest: String,
}

/// Why a name is not known.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum UnknownFastener {
    /// No thread can be read.
    #[error("`{0}` is no thread; write `M12x1.5`, or `M12` for the coarse pitch")]
    NoThread(String),
    /// The thread table has no such thread.
    #[error("the thread table has no `{written}`; {near}")]
    Thread {
        /// What was written.
        written: String,
        /// Near ones, as a sentence.
        near: String,
    },
    /// The table has no such strength class.
    #[error("there is no strength class `{written}` in the table; it has {has}")]
    Class {
        /// What was written.
        written: String,
        /// Those it has.
        has: String,
    },
}

/// Reads a thread at the beginning of a text: `M12x1.5`, `m12 x 1,5`, `M12×1.5 10.9`, `M 12 * 1.5`, `M12-1.5`, `M12`.
///
/// # Errors
/// When no thread stands there.
///
/// # Example
/// ```
/// use tinworm::rubric::fasteners::read_thread;
/// let written = read_thread("m12 × 1,5 10.9")?;
/// assert_eq!((written.diameter, written.pitch, written.rest.as_str()), (12.0, Some(1.5), "10.9"));
/// # Ok::<(), tinworm::rubric::fasteners::UnknownFastener>(())
/// ```
pub fn read_thread(text: &str) -> Result<Written, UnknownFastener> {
    let no_thread = || UnknownFastener::NoThread(text.trim().to_owned());
    let plain = text.trim().to_lowercase().replace(['×', '*', '✕', 'х', '–'], "x");
    let bare = plain.strip_prefix('m').unwrap_or(&plain);
    let (diameter, rest) = number(bare).ok_or_else(no_thread)?;
    let after = rest.trim_start();
    let marked = after.strip_prefix('x').or_else(|| after.strip_prefix('-'));
    let (pitch, rest) = match marked {
        Some(behind) => {
            let (pitch, rest) = number(behind).ok_or_else(no_thread)?;
            (Some(pitch), rest)
        }
        // `M12 1.5 10.9`: no strength class is as low as a pitch.
        None => match number(after).filter(|(pitch, _)| *pitch < 4.0) {
            Some((pitch, rest)) => (Some(pitch), rest),
            None => (None, after),
        },
    };
    if rest.starts_with(|c: char| c.is_alphanumeric()) && marked.is_some() || diameter <= 0.0 {
        return Err(no_thread());
    }
    Ok(Written {
        diameter,
        pitch,
        rest: rest.trim().to_owned(),
    })
}

/// The number at the beginning of a text, and what follows.
fn number(text: &str) -> Option<(f64, &str)> {
    let text = text.trim_start();
    let end = text
        .find(|c: char| !c.is_ascii_digit() && !matches!(c, '.' | ','))
        .unwrap_or(text.len());
    let (digits, rest) = text.split_at(end);
    // A pitch may be written with two decimals or three; `1,500` is no thousand here.
    let value = parse_decimal(&digits.replace(',', ".")).ok()?;
    Some((value, rest))
}

impl Library {
    /// The thread written in any usual spelling, the coarse one where no pitch is written; and what stands behind it.
    ///
    /// # Errors
    /// When no thread can be read, or the table has none such; names near ones.
    pub fn thread_written(&self, text: &str) -> Result<(&Thread, String), UnknownFastener> {
        let written = read_thread(text)?;
        let coarse = COARSE.iter().find(|(d, _)| *d == written.diameter).map(|(_, p)| *p);
        let pitch = written.pitch.or(coarse);
        let threads = &self.all().threads;
        let found = threads
            .iter()
            .find(|t| t.diameter == written.diameter && Some(t.pitch) == pitch);
        if let Some(thread) = found {
            return Ok((thread, written.rest));
        }
        let mut near: Vec<&Thread> = threads.iter().collect();
        let away = |t: &Thread| {
            let pitch = pitch.unwrap_or(t.pitch);
            (t.diameter - written.diameter).abs() + (t.pitch - pitch).abs() / 10.0
        };
        near.sort_by(|a, b| away(a).total_cmp(&away(b)));
        let near: Vec<&str> = near.iter().take(3).map(|t| t.id.as_str()).collect();
        let name = match written.pitch {
            Some(pitch) => format!("M{}x{pitch}", written.diameter),
            None => format!("M{}", written.diameter),
        };
        Err(UnknownFastener::Thread {
            written: name,
            near: if near.is_empty() {
                "it is empty".to_owned()
            } else {
                format!("the nearest are {}", near.join(", "))
            },
        })
    }

    /// The strength class written in any usual spelling: `10.9`, `10,9`, `class 10.9`.
    ///
    /// # Errors
    /// When the table has none such; lists those it has.
    pub fn class_written(&self, text: &str) -> Result<&StrengthClass, UnknownFastener> {
        let plain = text.trim().to_lowercase().replace(',', ".");
        let bare = plain.strip_prefix("class").unwrap_or(&plain).trim();
        self.strength_class(bare).ok_or_else(|| {
            let all: Vec<&str> = self.all().strength_classes.iter().map(|c| c.id.as_str()).collect();
            let meant = nearest(bare, all.iter().copied());
            let meant = meant.map_or(String::new(), |near| format!("; did you mean `{near}`?"));
            UnknownFastener::Class {
                written: bare.to_owned(),
                has: all.join(", ") + &meant,
            }
        })
    }

    /// The class with the least proof stress: what is assumed of a bolt whose head was not read.
    #[must_use]
    pub fn weakest_class(&self) -> Option<&StrengthClass> {
        self.all()
            .strength_classes
            .iter()
            .min_by(|a, b| a.proof.total_cmp(&b.proof))
    }
}

/// What kind of head or nut a hexagon is usual on.
#[derive(Debug, Clone, Copy, PartialEq, Eq, serde::Serialize)]
pub enum HexKind {
    /// ISO 4014, 4017, 4032.
    Iso,
    /// DIN 931, 933, 934, before the sizes of M10, M12, M14 and M22 were changed.
    Din,
    /// Small hexagon, usual on cars from Japan.
    Small,
    /// Flange bolt, EN 1665.
    Flange,
    /// Flange bolt of the small series, ISO 4162.
    SmallFlange,
    /// Wheel bolt or nut.
    Wheel,
}

impl HexKind {
    /// All of them.
    pub const ALL: [HexKind; 6] = [
        HexKind::Iso,
        HexKind::Din,
        HexKind::Small,
        HexKind::Flange,
        HexKind::SmallFlange,
        HexKind::Wheel,
    ];

    /// Across flats by nominal diameter, mm.
    fn sizes(self) -> &'static [(f64, f64)] {
        match self {
            // Charts of ISO 4014, 4017 and 4762; M20 and above from memory.
            HexKind::Iso => &[
                (5.0, 8.0),
                (6.0, 10.0),
                (8.0, 13.0),
                (10.0, 16.0),
                (12.0, 18.0),
                (14.0, 21.0),
                (16.0, 24.0),
                (18.0, 27.0),
                (20.0, 30.0),
                (22.0, 34.0),
                (24.0, 36.0),
            ],
            // Note on DIN 931 sizes in a table of ISO 4014 (17, 19, 22); the rest from memory.
            HexKind::Din => &[
                (5.0, 8.0),
                (6.0, 10.0),
                (8.0, 13.0),
                (10.0, 17.0),
                (12.0, 19.0),
                (14.0, 22.0),
                (16.0, 24.0),
                (18.0, 27.0),
                (20.0, 30.0),
                (22.0, 32.0),
                (24.0, 36.0),
            ],
            // General torque page of a workshop manual.
            HexKind::Small => &[(5.0, 8.0), (6.0, 10.0), (8.0, 12.0), (10.0, 14.0), (12.0, 17.0)],
            // EN 1665, table 1.
            HexKind::Flange => &[
                (5.0, 8.0),
                (6.0, 10.0),
                (8.0, 13.0),
                (10.0, 15.0),
                (12.0, 18.0),
                (14.0, 21.0),
                (16.0, 24.0),
            ],
            // ISO 4162, from memory.
            HexKind::SmallFlange => &[
                (5.0, 7.0),
                (6.0, 8.0),
                (8.0, 10.0),
                (10.0, 13.0),
                (12.0, 15.0),
                (14.0, 18.0),
                (16.0, 21.0),
            ],
            // Common practice, no source.
            HexKind::Wheel => &[
                (12.0, 17.0),
                (12.0, 19.0),
                (12.0, 21.0),
                (14.0, 17.0),
                (14.0, 19.0),
                (14.0, 22.0),
            ],
        }
    }
}

/// Hexagons usual on a nominal diameter: mm across flats, and on what.
#[must_use]
pub fn hexes_of(diameter: f64) -> Vec<(f64, HexKind)> {
    HexKind::ALL
        .iter()
        .flat_map(|kind| kind.sizes().iter().map(move |(d, across)| (*d, *across, *kind)))
        .filter(|(d, _, _)| *d == diameter)
        .map(|(_, across, kind)| (across, kind))
        .collect()
}

/// Nominal diameters on which a hexagon of so many mm across flats is usual, and on what.
#[must_use]
pub fn diameters_with_hex(across: f64) -> Vec<(f64, HexKind)> {
    HexKind::ALL
        .iter()
        .flat_map(|kind| kind.sizes().iter().map(move |(d, a)| (*d, *a, *kind)))
        .filter(|(_, a, _)| *a == across)
        .map(|(diameter, _, kind)| (diameter, kind))
        .collect()
}

/// Key of a socket head screw (ISO 4762) by nominal diameter, mm; above M18 not known here.
#[must_use]
pub fn socket_key(diameter: f64) -> Option<f64> {
    const KEYS: [(f64, f64); 8] = [
        (5.0, 4.0),
        (6.0, 5.0),
        (8.0, 6.0),
        (10.0, 8.0),
        (12.0, 10.0),
        (14.0, 12.0),
        (16.0, 14.0),
        (18.0, 14.0),
    ];
    KEYS.iter().find(|(d, _)| *d == diameter).map(|(_, key)| *key)
}
