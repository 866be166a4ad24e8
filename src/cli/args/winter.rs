//! What is looked back on: second looks, and a survey against an earlier one.

use std::path::PathBuf;

use clap::Args;
use jiff::civil::Date;

use super::{Form, day};

/// Stands under the help of `second-look`.
pub const SECOND_LOOK: &str = "\
Without more than the car it prints a blank sheet of the checks drawn, in the order of the round, and once they are all graded again
what they say. Do not look up the first grades: the second look is worth something only blind. It never replaces a grade.

Examples:
  tinworm second-look \"Blue estate\" --csv > again.csv
  tinworm second-look \"Blue estate\" --take again.csv
  tinworm second-look \"Blue estate\" track-rod-end@front-left boot 3
  tinworm second-look \"Blue estate\" --result";

/// A second look.
#[derive(Debug, Args)]
pub struct SecondLook {
    /// The car
    pub car: String,
    /// The part that is graded again, written component@station
    #[arg(requires = "check")]
    pub part: Option<String>,
    /// The check
    #[arg(requires = "grade")]
    pub check: Option<String>,
    /// The grade, 0 to 5
    #[arg(conflicts_with_all = ["take", "result", "csv"])]
    pub grade: Option<String>,
    /// Take a filled CSV sheet, or - to read it from the input
    #[arg(long, value_name = "FILE", conflicts_with_all = ["result", "csv"])]
    pub take: Option<PathBuf>,
    /// Print the blank sheet as CSV
    #[arg(long, conflicts_with_all = ["result", "brief", "json"])]
    pub csv: bool,
    /// Leave out how to look and what the grades look like
    #[arg(long)]
    pub brief: bool,
    /// Say what all second looks so far say
    #[arg(long)]
    pub result: bool,
    /// Print what they say as JSON
    #[arg(long, requires = "result")]
    pub json: bool,
    /// The day of the second look [default: today]
    #[arg(long, value_parser = day)]
    pub date: Option<Date>,
}

/// A survey against an earlier one.
#[derive(Debug, Args)]
pub struct Compare {
    /// The car
    pub car: String,
    /// The day of the earlier survey [default: the full one at least two months before]
    #[arg(long, value_name = "DATE", value_parser = day)]
    pub from: Option<Date>,
    /// The day of the later survey [default: the newest full one]
    #[arg(long, value_name = "DATE", value_parser = day)]
    pub to: Option<Date>,
    /// Form.
    #[command(flatten)]
    pub form: Form,
}
