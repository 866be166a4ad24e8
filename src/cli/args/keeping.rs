//! Arguments about the files themselves.

use clap::{ArgGroup, Args};

/// A look through a car's files.
#[derive(Debug, Args)]
#[command(group(ArgGroup::new("which").required(true).args(["car", "all"])))]
pub struct Verify {
    /// The car
    pub car: Option<String>,
    /// All cars
    #[arg(long, conflicts_with = "car")]
    pub all: bool,
    /// Put right what can be put right; damaged files are kept aside
    #[arg(long)]
    pub repair: bool,
}

/// An earlier copy of a car.
#[derive(Debug, Args)]
#[command(group(ArgGroup::new("doing").required(true).multiple(false).args(["list", "generation"])))]
pub struct Restore {
    /// The car
    pub car: String,
    /// List the generations that are kept
    #[arg(long)]
    pub list: bool,
    /// Go back to this generation, by its number in the list
    #[arg(long, value_name = "NUMBER")]
    pub generation: Option<u64>,
}
