//! What `sheet`, `enter` and `retire` take.

use std::path::PathBuf;

use clap::{Args, ValueEnum};
use jiff::civil::Date;

use super::day;
use crate::report::sheet::Zone;
use crate::rubric::{Stage, Station};

/// A grading sheet.
#[derive(Debug, Args)]
pub struct SheetOf {
    /// The car
    pub car: String,
    /// Print CSV to be filled in and given to `enter`
    #[arg(long)]
    pub csv: bool,
    /// One HTML page that prints on A4 and Letter, with boxes to tick
    #[arg(long, conflicts_with = "csv")]
    pub html: bool,
    /// Leave out how to look and what the grades look like
    #[arg(long, conflicts_with = "csv")]
    pub brief: bool,
    /// Fill in what the newest survey saw, as far as no repair has renewed it since
    #[arg(long)]
    pub filled: bool,
    /// Only there: front-left, rear, left, car, or cabin, bonnet, underneath; may be given several times
    #[arg(long, value_name = "ZONE", num_args = 1.., value_parser = zone)]
    pub zone: Vec<Zone>,
    /// Only in this stage of the round; may be given several times
    #[arg(long, value_name = "STAGE", num_args = 1..)]
    pub stage: Vec<StageWord>,
    /// Only what is due for a look: never seen, grade 3 or worse, a tenth or more likely to pass its limit by the next survey,
    /// or last seen a year ago or longer
    #[arg(long)]
    pub due: bool,
    /// Only the first look: the checks that tell most in a quarter of an hour, what can kill first
    #[arg(long, conflicts_with_all = ["due", "filled"])]
    pub first_look: bool,
    /// Write it to this file instead of printing it; a file of that name is replaced
    #[arg(long, value_name = "FILE")]
    pub out: Option<PathBuf>,
}

/// A stage of the round.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum StageWord {
    /// Standing on its wheels, from outside.
    OnItsWheels,
    /// From the driver's seat.
    Cabin,
    /// Bonnet open.
    Bonnet,
    /// Front on stands.
    FrontRaised,
    /// Rear on stands.
    RearRaised,
    /// From underneath.
    Underneath,
    /// Driving, or just after.
    Drive,
}

impl StageWord {
    /// The stage.
    #[must_use]
    pub fn stage(self) -> Stage {
        match self {
            StageWord::OnItsWheels => Stage::OnItsWheels,
            StageWord::Cabin => Stage::Cabin,
            StageWord::Bonnet => Stage::Bonnet,
            StageWord::FrontRaised => Stage::FrontRaised,
            StageWord::RearRaised => Stage::RearRaised,
            StageWord::Underneath => Stage::Underneath,
            StageWord::Drive => Stage::Drive,
        }
    }
}

/// Reads a zone: a station, or a stage that is also a place.
fn zone(text: &str) -> Result<Zone, String> {
    let text = text.trim().to_lowercase().replace([' ', '_'], "-");
    match text.as_str() {
        "cabin" => Ok(Zone::In(Stage::Cabin)),
        "bonnet" => Ok(Zone::In(Stage::Bonnet)),
        "underneath" => Ok(Zone::In(Stage::Underneath)),
        _ => text.parse::<Station>().map(Zone::At).map_err(|_| {
            "write front-left, front-right, rear-left, rear-right, front, rear, left, right or car; or cabin, bonnet, underneath"
                .to_owned()
        }),
    }
}

/// A filled sheet.
#[derive(Debug, Args)]
pub struct Enter {
    /// The car
    pub car: String,
    /// The filled CSV sheet, or - to read it from the input
    pub file: PathBuf,
    /// The day of the survey [default: today]
    #[arg(long, value_parser = day)]
    pub date: Option<Date>,
    /// What the odometer showed
    #[arg(long, value_name = "DISTANCE")]
    pub odometer: Option<String>,
    /// A remark on the whole survey
    #[arg(long)]
    pub note: Option<String>,
    /// Take the good rows of a file that has bad ones
    #[arg(long)]
    pub take_good: bool,
    /// Show what would be new, changed and the same, and write nothing
    #[arg(long)]
    pub preview: bool,
}
