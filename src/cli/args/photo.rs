//! What `photo`, `archive` and `import` take.

use std::path::PathBuf;

use clap::Args;
use jiff::civil::Date;

use super::day;

/// Photos of looks.
#[derive(Debug, Args)]
pub struct Photo {
    /// The car
    pub car: String,
    /// The part, written component@station
    #[arg(required_unless_present = "list", requires = "check")]
    pub part: Option<String>,
    /// The check
    pub check: Option<String>,
    /// The photos to copy in: JPEG or PNG, up to 40 MB each
    #[arg(value_name = "FILE", required_unless_present_any = ["list", "remove"])]
    pub files: Vec<PathBuf>,
    /// The survey whose look they belong to [default: the newest that has a look of this check]
    #[arg(long, value_name = "DATE", value_parser = day)]
    pub survey: Option<Date>,
    /// List the photos of the car, or of one check
    #[arg(long, conflicts_with_all = ["files", "remove"])]
    pub list: bool,
    /// Take a photo off: its name, or the beginning of it; its file is deleted when no other look has it
    #[arg(long, value_name = "NAME", conflicts_with = "files")]
    pub remove: Option<String>,
}
