//! What `worksheet` takes.

use clap::Args;

/// A worksheet.
#[derive(Debug, Args)]
pub struct Worksheet {
    /// The car
    pub car: String,
    /// The visit: its number in the plan, or its day [default: the next one]
    pub visit: Option<String>,
    /// Print one HTML page that prints on A4 and Letter
    #[arg(long, conflicts_with = "json")]
    pub html: bool,
    /// Print JSON
    #[arg(long)]
    pub json: bool,
}
