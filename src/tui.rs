//! The terminal screens: Yard, Round, Standing, Sides, Decline, Plan, Fixings and Car.
//!
//! [`run`] opens them. Behind it: [`keys`] is the table of keys, [`theme`] the only place with colours, [`desk`] what all
//! screens see, [`screen`] the screens, [`app`] what moves between them, [`world`] what they ask of disk and engine, and
//! `run` the only place that touches the terminal.

pub mod app;
pub mod desk;
pub mod keys;
mod run;
pub mod screen;
pub mod theme;
pub mod widget;
pub mod world;

use jiff::civil::Date;

use crate::car::Car;
use crate::rubric::Library;
use crate::store::{DataFolder, OpenCar};

pub use run::run_with;

/// What the screens open with.
#[derive(Debug)]
pub enum Start {
    /// All cars of a folder.
    Yard {
        /// The folder.
        folder: DataFolder,
        /// The rubrics in force.
        library: Library,
        /// The day.
        today: Date,
    },
    /// One car.
    Car {
        /// The car.
        car: Box<OpenCar>,
        /// The rubrics in force.
        library: Library,
        /// The day.
        today: Date,
    },
    /// A car that is kept in memory only; the title says so.
    Demo {
        /// The car.
        car: Box<Car>,
        /// The rubrics in force.
        library: Library,
        /// The day.
        today: Date,
    },
}

/// How the screens are drawn.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Drawn {
    /// Colours as far as the environment allows; otherwise none.
    pub colours: bool,
    /// Only characters of ASCII.
    pub ascii: bool,
    /// Whether the mouse is taken from the start.
    pub mouse: bool,
    /// What the terminal's ground is, if somebody says so.
    pub ground: Option<theme::Ground>,
}

impl Default for Drawn {
    fn default() -> Self {
        Drawn {
            colours: true,
            ascii: false,
            mouse: false,
            ground: None,
        }
    }
}

/// Why the screens could not be shown, or were left.
#[derive(Debug, thiserror::Error)]
pub enum TuiError {
    /// The output is no terminal, or one that cannot move its cursor.
    #[error(
        "the screens need a terminal; here, `tinworm standing CAR` and `tinworm plan CAR` print the same as text (see `tinworm --help`)"
    )]
    NotATerminal,
    /// The terminal refused.
    #[error("the terminal cannot be used: {0}")]
    Terminal(#[from] std::io::Error),
    /// A signal asked the program to end; everything accepted is saved and the terminal is as it was.
    #[error("ended by signal {0}; everything accepted is saved")]
    Signal(i32),
}

impl TuiError {
    /// The exit code it stands for: 2 where the screens cannot be used, 128 and the signal's number after a signal.
    #[must_use]
    pub fn exit_code(&self) -> u8 {
        match self {
            TuiError::NotATerminal => 2,
            TuiError::Terminal(_) => 1,
            TuiError::Signal(number) => u8::try_from(128 + number).unwrap_or(255),
        }
    }
}

/// Opens the screens and returns when they are left.
///
/// # Errors
/// When there is no terminal that can show them, the terminal refuses, or a signal ended the program.
pub fn run(start: Start) -> Result<(), TuiError> {
    run_with(start, Drawn::default())
}
