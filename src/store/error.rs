//! What may go wrong with files, each as one sentence that says what, where and what to do.

use std::io;
use std::path::{Path, PathBuf};

use crate::car::ChangeError;
use crate::text::clean;

/// What went wrong with files.
#[derive(Debug, thiserror::Error)]
#[non_exhaustive]
pub enum StoreError {
    /// There is no place for data: no home folder is known.
    #[error("no home folder is known, so there is no place for cars; name a folder with --data DIR")]
    NoHome,
    /// The system refused something.
    #[error("cannot {doing} {}: {source}", shown(path))]
    System {
        /// What was tried: `read`, `write`.
        doing: &'static str,
        /// The file or folder.
        path: PathBuf,
        /// The system's own word.
        source: io::Error,
    },
    /// No car answers to a name.
    #[error("there is no car `{}` in {}; {}", clean(asked), shown(folder), known(there))]
    NoSuchCar {
        /// What was asked for.
        asked: String,
        /// The data folder.
        folder: PathBuf,
        /// The cars there are, by folder name.
        there: Vec<String>,
    },
    /// A car has no such generation.
    #[error("there is no generation {asked}; {}", generations(there))]
    NoGeneration {
        /// What was asked for.
        asked: u64,
        /// Those there are, newest first.
        there: Vec<u64>,
    },
    /// Several cars answer to a name.
    #[error("`{}` could be any of {}; write the whole name", clean(asked), list(matches))]
    SeveralCars {
        /// What was asked for.
        asked: String,
        /// The folder names of the cars that fit.
        matches: Vec<String>,
    },
    /// A folder was expected.
    #[error("{} is not a folder; move it away or name another folder", shown(.0))]
    NotAFolder(PathBuf),
    /// An ordinary file was expected.
    #[error("{} is not an ordinary file; move it away", shown(.0))]
    NotAFile(PathBuf),
    /// A folder's name cannot be written as text.
    #[error("the name of the folder {} is not valid UTF-8; rename it", shown(.0))]
    OddName(PathBuf),
    /// A link leads out of the folder it stands in.
    #[error(
        "{} is a link to {}, outside its folder; put the real one in its place",
        shown(link),
        shown(target)
    )]
    LeadsOutside {
        /// The link.
        link: PathBuf,
        /// Where it leads.
        target: PathBuf,
    },
    /// An archive is not taken in.
    #[error("{} is not taken in: {what}; nothing was changed", shown(file))]
    BadArchive {
        /// The archive.
        file: PathBuf,
        /// What is wrong with it.
        what: String,
    },
    /// A car of that name is here already.
    #[error("there is a car `{}` already; give this one another name with --name", clean(.0))]
    Taken(String),
    /// A file is no photo that is taken.
    #[error("the photo {} is not taken: {why}", shown(file))]
    BadPhoto {
        /// The file.
        file: PathBuf,
        /// Why.
        why: crate::picture::PictureError,
    },
    /// A file that must be there is missing.
    #[error("{} is missing; {remedy}", shown(file))]
    Missing {
        /// The file.
        file: PathBuf,
        /// What to do.
        remedy: &'static str,
    },
    /// A file cannot be understood.
    #[error("{}{}: {what}; {}", shown(file), position(*line, *column), set_aside(aside))]
    Unreadable {
        /// The file.
        file: PathBuf,
        /// Line, from 1; 0 when the mistake has no single place.
        line: usize,
        /// Column, from 1; 0 when only the line is known.
        column: usize,
        /// What was found.
        what: String,
        /// Where a copy of the file was put.
        aside: Option<PathBuf>,
    },
    /// A file was written by a newer program.
    #[error(
        "{} was written by a newer tinworm (schema {found}, this one knows up to {known}); use the newer program",
        shown(file)
    )]
    Newer {
        /// The file.
        file: PathBuf,
        /// Its schema.
        found: u32,
        /// The newest this program knows.
        known: u32,
    },
    /// The journal is damaged before its end.
    #[error(
        "{}:{line}: {what}; {}{}",
        shown(file),
        copied(aside),
        "`tinworm verify CAR --repair` keeps what was recorded before that line, which reading the car shows, and puts the rest aside"
    )]
    JournalDamaged {
        /// The journal.
        file: PathBuf,
        /// The damaged line, from 1.
        line: usize,
        /// What was found.
        what: String,
        /// Where a copy of the journal was put.
        aside: Option<PathBuf>,
    },
    /// Files of a car do not belong together.
    #[error("{} {what}; put the car's folder back from one and the same copy", shown(file))]
    OutOfStep {
        /// The file.
        file: PathBuf,
        /// How it differs.
        what: String,
    },
    /// A change does not fit the car.
    #[error(transparent)]
    Change(#[from] ChangeError),
    /// A change holds a value that no file may hold.
    #[error("{0}")]
    BadValue(String),
    /// A car cannot be repaired or restored as its files stand.
    #[error("{} is left as it is: {why}", shown(folder))]
    LeftAlone {
        /// The car's folder.
        folder: PathBuf,
        /// Why.
        why: String,
    },
    /// The car is open for reading only.
    #[error("{} is open for reading only: {why}", shown(folder))]
    ReadOnly {
        /// The car's folder.
        folder: PathBuf,
        /// Why.
        why: String,
    },
    /// An earlier write went wrong in a way that could not be taken back.
    #[error(
        "nothing more can be recorded in {}: {why}; close the car and open it again",
        shown(folder)
    )]
    Stopped {
        /// The car's folder.
        folder: PathBuf,
        /// Why.
        why: String,
    },
}

impl StoreError {
    /// An error of the system about a path.
    pub(super) fn system(doing: &'static str, path: &Path, source: io::Error) -> StoreError {
        StoreError::System {
            doing,
            path: path.to_owned(),
            source,
        }
    }
}

fn shown(path: &Path) -> String {
    clean(&path.to_string_lossy())
}

fn list(names: &[String]) -> String {
    names.iter().map(|n| clean(n)).collect::<Vec<_>>().join(", ")
}

fn known(there: &[String]) -> String {
    if there.is_empty() {
        "there are no cars yet".to_owned()
    } else {
        format!("the cars there are: {}", list(there))
    }
}

fn generations(there: &[u64]) -> String {
    if there.is_empty() {
        "none is kept yet: one is each time the car is closed".to_owned()
    } else {
        let numbers: Vec<String> = there.iter().map(ToString::to_string).collect();
        format!("those kept are {}", numbers.join(", "))
    }
}

fn position(line: usize, column: usize) -> String {
    match (line, column) {
        (0, _) => String::new(),
        (line, 0) => format!(":{line}"),
        (line, column) => format!(":{line}:{column}"),
    }
}

fn copied(aside: &Option<PathBuf>) -> String {
    aside
        .as_deref()
        .map_or(String::new(), |path| format!("a copy was put at {}; ", shown(path)))
}

fn set_aside(aside: &Option<PathBuf>) -> String {
    format!(
        "{}`tinworm verify CAR --repair` puts a kept copy in its place, or mend the file yourself; nothing was overwritten",
        copied(aside)
    )
}
