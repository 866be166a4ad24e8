//! What `photo`, `archive` and `import` take.

use std::path::PathBuf;

use clap::{Args, Subcommand};
use jiff::civil::Date;

use super::day;

/// Verbs about photos and whole cars as one file.
#[derive(Debug, Subcommand)]
pub enum Files {
    /// Write a whole car, photos and all, as one file that `import` opens on another machine
    #[command(
        after_help = "A plain tar archive of text files and photos; a file of that name is replaced. Equal cars give equal archives.\n\n\
        Example:\n  tinworm archive \"Blue estate\" blue-estate.tar"
    )]
    Archive {
        /// The car
        car: String,
        /// The archive
        file: PathBuf,
    },
    /// Take in a car from a file that `archive` wrote; never over a car that is here
    #[command(
        after_help = "Everything in it is checked first: it comes in whole or not at all. The JSON of `export` is for other programs and is not \
        taken back: it does not hold the photos.\n\nExample:\n  tinworm import blue-estate.tar --name \"Blue estate\""
    )]
    Import {
        /// The archive
        file: PathBuf,
        /// Another name for the car
        #[arg(long, value_name = "NAME")]
        name: Option<String>,
    },
    /// Photos of what was seen: copy some in with a look, list them, take one off
    #[command(
        after_help = "Photos are copied into the car's folder unchanged, with whatever the camera wrote in them; where that is the \
        place, you are told. The pictures in `report --photos` are made anew without it.\n\n\
        Examples:\n  tinworm photo \"Blue estate\" track-rod-end@front-left boot IMG_1204.jpg\n  \
        tinworm photo \"Blue estate\" --list"
    )]
    Photo(Photo),
}

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
