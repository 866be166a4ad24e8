//! Looking through the files of a car's folder, each by itself, so that all that is wrong is found at once.

use std::collections::{BTreeMap, BTreeSet};
use std::fs;
use std::path::{Path, PathBuf};

use super::error::StoreError;
use super::journal::{self, Contents, Tail};
use super::snapshot::{Held, Piece, State};
use super::{generations, paths, recover};
use crate::car::Car;
use crate::text::clean;

/// Something wrong with a car's folder.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub struct Trouble {
    /// The file.
    pub file: PathBuf,
    /// Line, from 1; 0 when it has no single place.
    pub line: usize,
    /// Column, from 1; 0 when only the line is known.
    pub column: usize,
    /// What is wrong.
    pub what: String,
    /// What to do.
    pub advice: String,
    /// Whether it keeps the car from being opened as it was recorded; else it is only worth knowing.
    pub damage: bool,
}

impl std::fmt::Display for Trouble {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str(&clean(&self.file.to_string_lossy()))?;
        if self.line > 0 {
            write!(f, ":{}", self.line)?;
        }
        if self.line > 0 && self.column > 0 {
            write!(f, ":{}", self.column)?;
        }
        write!(f, ": {}; {}", self.what, self.advice)
    }
}

/// What to do about a file that a kept copy can replace.
const REPAIR: &str = "`tinworm verify CAR --repair` puts a kept copy in its place";

impl Trouble {
    fn damage(file: PathBuf, what: String) -> Trouble {
        Trouble {
            file,
            line: 0,
            column: 0,
            what,
            advice: REPAIR.to_owned(),
            damage: true,
        }
    }

    /// Of an error about one file.
    fn of(error: StoreError, file: PathBuf) -> Trouble {
        match error {
            StoreError::Unreadable {
                file,
                line,
                column,
                what,
                ..
            } => Trouble {
                line,
                column,
                ..Trouble::damage(file, what)
            },
            StoreError::Newer { file, found, known } => Trouble {
                advice: "use the newer program; nothing of it is touched".to_owned(),
                ..Trouble::damage(
                    file,
                    format!("a newer tinworm wrote it (schema {found}, this one knows up to {known})"),
                )
            },
            StoreError::System { doing, source, .. } => Trouble {
                advice: "make it readable, then look again".to_owned(),
                ..Trouble::damage(file, format!("cannot {doing} it: {source}"))
            },
            StoreError::Missing { file, .. } => Trouble::damage(file, "it is missing".to_owned()),
            StoreError::OutOfStep { file, what } => Trouble::damage(file, format!("it {what}")),
            other => Trouble {
                advice: "move it out of the car's folder".to_owned(),
                ..Trouble::damage(file, other.to_string())
            },
        }
    }
}

/// A car's folder, file by file.
#[derive(Debug, Default)]
pub(super) struct Inspection {
    /// What `state.ron` lists, if it can be read.
    pub state: Option<State>,
    /// The files that can be read.
    pub pieces: BTreeMap<Piece, (Held, u64)>,
    /// Files that are there and cannot be taken: unreadable, or older than the snapshot says.
    pub bad: BTreeSet<Piece>,
    /// How far each piece must go at least.
    pub at_least: BTreeMap<Piece, u64>,
    /// The journal.
    pub journal: Contents,
    /// Whether a newer program, or nobody who may be asked, wrote one of the files: then nothing may be repaired.
    pub hands_off: Option<String>,
    /// All that is wrong.
    pub troubles: Vec<Trouble>,
}

impl Inspection {
    /// Looks through a folder without changing anything.
    pub(super) fn of(folder: &Path) -> Inspection {
        let mut seen = Inspection::default();
        seen.read_state(folder);
        seen.read_pieces(folder);
        seen.read_journal(folder);
        seen.compare(folder);
        seen
    }

    fn add(&mut self, error: StoreError, file: PathBuf) {
        if matches!(error, StoreError::Newer { .. } | StoreError::System { .. }) {
            self.hands_off.get_or_insert_with(|| error.to_string());
        }
        self.troubles.push(Trouble::of(error, file));
    }

    fn read_state(&mut self, folder: &Path) {
        let path = folder.join("state.ron");
        let state = paths::bytes(&path, folder).and_then(|bytes| {
            let bytes = bytes.ok_or_else(|| StoreError::Missing {
                file: path.clone(),
                remedy: "",
            })?;
            let state = recover::state(&path, &bytes)?;
            Ok((recover::files(&path, &state)?, state))
        });
        match state {
            Ok((at_least, state)) => {
                self.at_least = at_least;
                self.state = Some(state);
            }
            Err(error) => {
                self.add(error, path);
                // The newest list that was kept says at least which files there were.
                let lists = generations::numbers(folder, None).into_iter();
                let newest = lists.filter_map(|n| generations::files(folder, n).ok()).next();
                self.at_least = newest.unwrap_or_default();
            }
        }
    }

    fn read_pieces(&mut self, folder: &Path) {
        let mut there: BTreeSet<Piece> = Piece::FIXED.into_iter().chain(self.at_least.keys().copied()).collect();
        match recover::surveys(folder) {
            Ok(surveys) => there.extend(surveys),
            Err(error) => self.add(error, folder.join("surveys")),
        }
        for piece in there {
            let path = folder.join(piece.file());
            match paths::bytes(&path, folder) {
                Ok(None) => {}
                Ok(Some(bytes)) => match recover::held(piece, &path, &bytes) {
                    Ok(held) => {
                        self.pieces.insert(piece, held);
                    }
                    Err(error) => {
                        self.bad.insert(piece);
                        self.add(error, path);
                    }
                },
                Err(error) => {
                    self.bad.insert(piece);
                    self.add(error, path);
                }
            }
        }
    }

    fn read_journal(&mut self, folder: &Path) {
        let path = folder.join("journal");
        match paths::bytes(&path, folder) {
            Ok(Some(bytes)) => self.journal = journal::read(&bytes),
            Ok(None) => self.troubles.push(Trouble::damage(path, "it is missing".to_owned())),
            Err(error) => self.add(error, path),
        }
    }

    /// Sets the files against each other.
    fn compare(&mut self, folder: &Path) {
        let journal = folder.join("journal");
        if let Tail::Torn = self.journal.tail {
            self.troubles.push(Trouble {
                line: self.journal.records.len() + 1,
                advice: "nobody was told that it is kept; opening the car for writing removes it".to_owned(),
                damage: false,
                ..Trouble::damage(
                    journal.clone(),
                    "the newest record was not completely written".to_owned(),
                )
            });
        }
        let damage = match &self.state {
            Some(state) => recover::damage(state, &self.journal),
            None => match &self.journal.tail {
                Tail::Damaged(line, what) => Some((*line, what.clone())),
                Tail::Clean | Tail::Torn => None,
            },
        };
        let whole = damage.is_none();
        if let Some((line, what)) = damage {
            self.troubles.push(Trouble {
                line,
                advice:
                    "`tinworm verify CAR --repair` keeps what was recorded before that line and puts the rest aside"
                        .to_owned(),
                ..Trouble::damage(journal.clone(), what)
            });
        }
        let newest = self.journal.records.last().map_or(0, |r| r.number);
        let last = self.state.as_ref().map(|state| newest.max(state.through));
        for (piece, at_least) in &self.at_least {
            let file = folder.join(piece.file());
            match self.pieces.get(piece) {
                None if self.bad.contains(piece) => {}
                None => self.troubles.push(Trouble::damage(file, "it is missing".to_owned())),
                Some((_, through)) if through < at_least => {
                    let what =
                        format!("it goes through record {through} only, but the snapshot had it through {at_least}");
                    self.troubles.push(Trouble::damage(file, what));
                    self.bad.insert(*piece);
                }
                Some(_) => {}
            }
        }
        if !self.pieces.contains_key(&Piece::Profile)
            && !self.bad.contains(&Piece::Profile)
            && !self.at_least.contains_key(&Piece::Profile)
        {
            let file = folder.join(Piece::Profile.file());
            self.troubles.push(Trouble::damage(file, "it is missing".to_owned()));
        }
        if let (Some(last), true) = (last, whole) {
            for (piece, (_, through)) in self.pieces.iter().filter(|(_, (_, through))| *through > last) {
                let what = format!("it goes through record {through}, but the journal ends at record {last}");
                self.troubles.push(Trouble::damage(folder.join(piece.file()), what));
            }
        }
    }

    /// The newest record that anything in the folder speaks of.
    pub(super) fn newest(&self, folder: &Path) -> u64 {
        let kept = generations::numbers(folder, None);
        let numbers = [
            self.state.as_ref().map(|s| s.through),
            self.journal.records.last().map(|r| r.number),
            self.pieces.values().map(|(_, through)| *through).max(),
            self.at_least.values().copied().max(),
            kept.first().copied(),
        ];
        numbers.into_iter().flatten().max().unwrap_or(0)
    }

    /// Whether anything keeps the car from being opened as it was recorded.
    pub(super) fn damaged(&self) -> bool {
        self.troubles.iter().any(|t| t.damage)
    }
}

/// Applies to a car the records that are newer than the file of the piece they touch. Gives the lines of those that do not
/// fit, each with its reason.
pub(super) fn replay(car: &mut Car, through: &BTreeMap<Piece, u64>, journal: &Contents) -> Vec<(usize, String)> {
    let newer = recover::newer(through, journal);
    newer.iter().filter_map(|change| change.apply(car).err()).collect()
}

/// Copies of damaged files that stand in a folder, `name.damaged-1` and the like.
pub(super) fn put_aside(folder: &Path) -> usize {
    let in_folder = |folder: PathBuf| {
        let entries = fs::read_dir(folder).into_iter().flatten().flatten();
        entries
            .filter(|e| e.file_name().to_string_lossy().contains(".damaged-"))
            .count()
    };
    in_folder(folder.to_owned()) + in_folder(folder.join("surveys"))
}
