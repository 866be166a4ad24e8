//! What `report` and `export` take.

use std::path::PathBuf;

use clap::{ArgGroup, Args};

/// A report.
#[derive(Debug, Args)]
pub struct Report {
    /// The car
    pub car: String,
    /// One HTML page that prints on A4 and Letter, with drawings
    #[arg(long, conflicts_with = "markdown")]
    pub html: bool,
    /// Markdown
    #[arg(long)]
    pub markdown: bool,
    /// Write it to this file instead of printing it; a file of that name is replaced
    #[arg(long, value_name = "FILE")]
    pub out: Option<PathBuf>,
    /// Of how many parts of the standing the decline is shown
    #[arg(long, value_name = "COUNT", default_value_t = 6)]
    pub charts: usize,
    /// Put small copies of the photos into the page, made anew without what the camera wrote beside the picture
    #[arg(long, requires = "html")]
    pub photos: bool,
    /// Leave the worksheets of the visits out
    #[arg(long)]
    pub no_worksheets: bool,
}

/// An export; exactly one form.
#[derive(Debug, Args)]
#[command(group(ArgGroup::new("form").required(true).multiple(false).args(["json", "calendar", "csv", "schema"])))]
pub struct Export {
    /// The car
    #[arg(required_unless_present_any = ["schema", "all"], conflicts_with_all = ["schema", "all"])]
    pub car: Option<String>,
    /// The visits of all cars, on one calendar and from one budget
    #[arg(long, requires = "calendar")]
    pub all: bool,
    /// The whole car as JSON
    #[arg(long)]
    pub json: bool,
    /// The visits as a calendar file (iCalendar)
    #[arg(long)]
    pub calendar: bool,
    /// Tables into this folder: standing, plan, surveys, repairs; files of those names are replaced
    #[arg(long, value_name = "DIR")]
    pub csv: Option<PathBuf>,
    /// The JSON Schema of what --json writes
    #[arg(long)]
    pub schema: bool,
    /// Remind in the calendar of days to order, ring and soak by
    #[arg(long, requires = "calendar")]
    pub alarms: bool,
    /// Write it to this file instead of printing it; a file of that name is replaced
    #[arg(long, value_name = "FILE", conflicts_with = "csv")]
    pub out: Option<PathBuf>,
}
