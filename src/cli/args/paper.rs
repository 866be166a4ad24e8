//! What `report` and `export` take.

use std::path::PathBuf;

use clap::Args;

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
    /// Leave the worksheets of the visits out
    #[arg(long)]
    pub no_worksheets: bool,
}
