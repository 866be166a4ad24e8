//! One wording for everything that is shown: text, HTML, CSV and JSON made from the engine's values.
//!
//! [`words`] says single things the same way on paper and on screen; [`page`] sets text to a width; the other modules each
//! make one report. Everything here returns text and writes nowhere.

pub mod cars;
pub mod cells;
pub mod decline;
pub mod export;
pub mod filled;
pub mod fixing;
pub mod html;
pub mod next_winter;
pub mod page;
pub mod parts;
pub mod plan;
pub mod profile;
pub mod ramp;
pub mod rubric;
pub mod second_look;
pub mod sheet;
pub mod sides;
pub mod standing;
pub mod tightening;
pub mod together;
pub mod visit;
pub mod wall;
pub mod whatif;
pub mod whole;
pub mod words;
pub mod worksheet;
pub mod yard;

pub use page::{Ink, Paper};

use crate::car::Car;
use crate::engine::Assessment;
use crate::rubric::Library;

/// What every report of a car is made from.
#[derive(Debug, Clone, Copy)]
pub struct Subject<'a> {
    /// The car.
    pub car: &'a Car,
    /// The rubrics in force.
    pub library: &'a Library,
    /// What the engine says of it.
    pub assessment: &'a Assessment,
}

/// A value as indented JSON with a line end. What a terminal or an editor would act on is written as an escape, and reads back
/// as what it was.
///
/// # Errors
/// What kept the value from being written; a bug, since every value here can be.
pub fn json<T: serde::Serialize>(value: &T) -> Result<String, serde_json::Error> {
    let text = serde_json::to_string_pretty(value)?;
    let mut out = String::with_capacity(text.len() + 1);
    for c in text.chars() {
        // Outside of strings JSON has only ASCII and line ends, so whatever else is hostile stands within one.
        if c != '\n' && crate::text::is_hostile(c) {
            for unit in c.encode_utf16(&mut [0; 2]) {
                out.push_str(&format!("\\u{unit:04x}"));
            }
        } else {
            out.push(c);
        }
    }
    out.push('\n');
    Ok(out)
}
