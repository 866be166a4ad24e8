//! Reading a car's folder back: the snapshot, then the journal over it.

use std::collections::{BTreeMap, BTreeSet};
use std::fs;
use std::path::{Path, PathBuf};

use super::error::StoreError;
use super::journal::{self, Contents, Tail};
use super::paths::{self, bytes};
use super::snapshot::{self, Fault, Held, Piece, Refusal, SCHEMA, State};
use crate::car::{Car, Change, Progress, Wishes};

/// A car as its folder gives it.
#[derive(Debug)]
pub(super) struct Found {
    /// The car.
    pub car: Car,
    /// The files there are, and through which record each goes.
    pub files: BTreeMap<Piece, u64>,
    /// The pieces that the journal changed since their files were written.
    pub dirty: BTreeSet<Piece>,
    /// The number of the newest record.
    pub last: u64,
    /// Length of the good part of the journal.
    pub good: usize,
    /// Whether the journal ends in a torn record, and whether that looked like a whole line.
    pub torn: Option<bool>,
    /// Whether the journal ends before the snapshot does, so that nothing may be appended to it.
    pub spent: bool,
    /// What a person should know.
    pub notices: Vec<String>,
}

/// What to do about a journal that is damaged before its end.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum OnDamage {
    /// Refuse.
    Refuse,
    /// Take what stands before the damage.
    TakeWhatStandsBefore,
}

/// The bytes of all files of one moment.
struct Raw {
    state: Vec<u8>,
    pieces: Vec<(Piece, Vec<u8>)>,
    journal: Vec<u8>,
}

/// Reads a car's folder without changing anything in it.
pub(super) fn read(folder: &Path, on_damage: OnDamage) -> Result<Found, StoreError> {
    let raw = raw(folder)?;
    let state = state(&folder.join("state.ron"), &raw.state)?;
    let contents = journal::read(&raw.journal);
    let mut notices = Vec::new();
    if let Some((line, what)) = damage(&state, &contents) {
        let file = folder.join("journal");
        let error = StoreError::JournalDamaged {
            file,
            line,
            what,
            aside: None,
        };
        if on_damage == OnDamage::Refuse {
            return Err(error);
        }
        notices.push(error.to_string());
    }
    let (mut car, files) = read_pieces(folder, &raw.pieces)?;
    let newest = contents.records.last().map_or(0, |r| r.number);
    let last = newest.max(state.through);
    in_step(folder, &state, &files, notices.is_empty().then_some(last))?;
    let dirty = match replay(&mut car, &files, &contents) {
        Ok(dirty) => dirty,
        Err((line, what)) => {
            return Err(StoreError::JournalDamaged {
                file: folder.join("journal"),
                line,
                what,
                aside: None,
            });
        }
    };
    let torn = (contents.tail == Tail::Torn).then(|| raw.journal.ends_with(b"\n"));
    Ok(Found {
        car,
        files,
        dirty,
        last,
        good: contents.good,
        torn,
        spent: !contents.records.is_empty() && newest < state.through,
        notices,
    })
}

/// Reads all files so that they belong together although another program may be writing: everything but the journal first,
/// then the journal, and again from the start if a snapshot was completed in between.
fn raw(folder: &Path) -> Result<Raw, StoreError> {
    let state_path = folder.join("state.ron");
    let must = |path: &Path, remedy: &'static str| {
        bytes(path, folder)?.ok_or_else(|| StoreError::Missing {
            file: path.to_owned(),
            remedy,
        })
    };
    let no_car = "this is no car's folder, or not all of it was copied";
    let mut state = must(&state_path, no_car)?;
    loop {
        let pieces = raw_pieces(folder)?;
        let journal = must(
            &folder.join("journal"),
            "put it back, or make an empty file of that name if nothing was recorded since the other files were written",
        )?;
        let again = must(&state_path, no_car)?;
        if again == state {
            return Ok(Raw { state, pieces, journal });
        }
        state = again;
    }
}

fn raw_pieces(folder: &Path) -> Result<Vec<(Piece, Vec<u8>)>, StoreError> {
    let mut pieces = Vec::new();
    for piece in Piece::FIXED.into_iter().chain(surveys(folder)?) {
        if let Some(bytes) = bytes(&folder.join(piece.file()), folder)? {
            pieces.push((piece, bytes));
        }
    }
    Ok(pieces)
}

/// The surveys that have a file.
pub(super) fn surveys(folder: &Path) -> Result<Vec<Piece>, StoreError> {
    let path = folder.join("surveys");
    match fs::symlink_metadata(&path) {
        // An empty folder is easily lost in copying.
        Err(error) if error.kind() == std::io::ErrorKind::NotFound => return Ok(Vec::new()),
        Err(error) => return Err(StoreError::system("read", &path, error)),
        Ok(what) if what.is_symlink() => paths::inside(&path, folder)?,
        Ok(what) if what.is_dir() => {}
        Ok(_) => return Err(StoreError::NotAFolder(path)),
    }
    let mut pieces = Vec::new();
    let entries = fs::read_dir(&path).map_err(|e| StoreError::system("read", &path, e))?;
    for entry in entries {
        let entry = entry.map_err(|e| StoreError::system("read", &path, e))?;
        let name = entry.file_name().to_string_lossy().into_owned();
        // Half-written files of an interrupted snapshot begin with a dot.
        if name.starts_with('.') || !name.ends_with(".ron") {
            continue;
        }
        match Piece::from_file(&format!("surveys/{name}")) {
            Some(piece) => pieces.push(piece),
            None => {
                return Err(StoreError::Unreadable {
                    file: entry.path(),
                    line: 0,
                    column: 0,
                    what: "its name is no date, such as 2026-03-14.ron".to_owned(),
                    aside: None,
                });
            }
        }
    }
    pieces.sort();
    Ok(pieces)
}

/// Removes what an interrupted snapshot left half-written: `.name.ron.` and six letters or digits. Only a tidying of the
/// folder: that it fails does no harm.
pub(super) fn sweep(folder: &Path) {
    for folder in [folder.to_owned(), folder.join("surveys"), folder.join("photos")] {
        let Ok(entries) = fs::read_dir(&folder) else { continue };
        for entry in entries.flatten() {
            let name = entry.file_name();
            let half_written = name
                .to_str()
                .and_then(|n| n.strip_prefix('.')?.rsplit_once('.'))
                .is_some_and(|(file, suffix)| {
                    (file.ends_with(".ron") || file == "journal" || crate::car::photo::is_name(file))
                        && suffix.len() == 6
                        && suffix.bytes().all(|b| b.is_ascii_alphanumeric())
                });
            if half_written && entry.file_type().is_ok_and(|t| t.is_file()) {
                let _ = fs::remove_file(entry.path());
            }
        }
    }
}

/// The text of a file, or where it stops being text.
pub(super) fn text(bytes: &[u8]) -> Result<&str, Fault> {
    std::str::from_utf8(bytes).map_err(|error| {
        let good = bytes.get(..error.valid_up_to()).unwrap_or_default();
        let last_line = good.rsplit(|b| *b == b'\n').next().unwrap_or_default();
        Fault {
            line: good.iter().filter(|b| **b == b'\n').count() + 1,
            column: String::from_utf8_lossy(last_line).chars().count() + 1,
            what: "this is not valid UTF-8".to_owned(),
        }
    })
}

fn refused(file: PathBuf, refusal: Refusal) -> StoreError {
    match refusal {
        Refusal::Newer(found) => StoreError::Newer {
            file,
            found,
            known: SCHEMA,
        },
        Refusal::Fault(fault) => StoreError::Unreadable {
            file,
            line: fault.line,
            column: fault.column,
            what: fault.what,
            aside: None,
        },
    }
}

/// Reads the text of a `state.ron`.
pub(super) fn state(path: &Path, bytes: &[u8]) -> Result<State, StoreError> {
    text(bytes)
        .map_err(Refusal::Fault)
        .and_then(snapshot::read_state)
        .map_err(|refusal| refused(path.to_owned(), refusal))
}

/// Reads the text of a piece's file: what it holds and through which record.
pub(super) fn held(piece: Piece, path: &Path, bytes: &[u8]) -> Result<(Held, u64), StoreError> {
    text(bytes)
        .map_err(Refusal::Fault)
        .and_then(|text| snapshot::read_piece(piece, text))
        .map_err(|refusal| refused(path.to_owned(), refusal))
}

/// The files that a `state.ron` lists.
pub(super) fn files(path: &Path, state: &State) -> Result<BTreeMap<Piece, u64>, StoreError> {
    let file = |(name, through): &(String, u64)| {
        let piece = Piece::from_file(name).ok_or_else(|| StoreError::Unreadable {
            file: path.to_owned(),
            line: 0,
            column: 0,
            what: format!("`{}` is no file of a car", crate::text::clean(name)),
            aside: None,
        })?;
        Ok((piece, *through))
    };
    state.files.iter().map(file).collect()
}

/// A car of what its files hold; `None` without a profile.
pub(super) fn assemble(held: impl IntoIterator<Item = Held>) -> Option<Car> {
    let mut profile = None;
    let mut parts = BTreeMap::new();
    let mut surveys = Vec::new();
    let mut repairs = Vec::new();
    let mut wishes = Wishes::default();
    let mut progress = Progress::default();
    let mut earlier = Vec::new();
    for held in held {
        match held {
            Held::Profile(held) => profile = Some(held),
            Held::Parts(held) => parts = held,
            Held::Survey(held) => surveys.push(held),
            Held::Repairs(held) => repairs = held,
            Held::Wishes(held) => wishes = held,
            Held::Progress(held) => progress = held,
            Held::Earlier(held) => earlier = held,
        }
    }
    surveys.sort_by_key(|s| s.date);
    let mut car = Car::new(*profile?);
    car.parts = parts;
    car.surveys = surveys;
    car.repairs = repairs;
    car.wishes = wishes;
    car.progress = progress;
    car.earlier = earlier;
    Some(car)
}

fn read_pieces(folder: &Path, pieces: &[(Piece, Vec<u8>)]) -> Result<(Car, BTreeMap<Piece, u64>), StoreError> {
    let mut files = BTreeMap::new();
    let mut all = Vec::new();
    for (piece, bytes) in pieces {
        let (held, through) = held(*piece, &folder.join(piece.file()), bytes)?;
        files.insert(*piece, through);
        all.push(held);
    }
    let car = assemble(all).ok_or_else(|| missing(folder, Piece::Profile))?;
    Ok((car, files))
}

fn missing(folder: &Path, piece: Piece) -> StoreError {
    StoreError::Missing {
        file: folder.join(piece.file()),
        remedy: "put it back from a copy of the car's folder",
    }
}

/// Damage of the journal: its line and what was found.
pub(super) fn damage(state: &State, contents: &Contents) -> Option<(usize, String)> {
    if let Some(first) = contents.records.first().filter(|r| r.number > state.through + 1) {
        let due = state.through + 1;
        return Some((
            1,
            format!("record {due} should stand here, but it is record {}", first.number),
        ));
    }
    match &contents.tail {
        Tail::Damaged(line, what) => Some((*line, what.clone())),
        Tail::Clean | Tail::Torn => None,
    }
}

/// Whether the files belong together: none is missing, none older than the snapshot says, none newer than the journal.
fn in_step(folder: &Path, state: &State, files: &BTreeMap<Piece, u64>, last: Option<u64>) -> Result<(), StoreError> {
    for (piece, at_least) in self::files(&folder.join("state.ron"), state)? {
        match files.get(&piece) {
            None => return Err(missing(folder, piece)),
            Some(through) if *through < at_least => {
                return Err(StoreError::OutOfStep {
                    file: folder.join(piece.file()),
                    what: format!("goes through record {through} only, but the snapshot had it through {at_least}"),
                });
            }
            Some(_) => {}
        }
    }
    let Some(last) = last else { return Ok(()) };
    match files.iter().find(|(_, through)| **through > last) {
        None => Ok(()),
        Some((piece, through)) => Err(StoreError::OutOfStep {
            file: folder.join(piece.file()),
            what: format!("goes through record {through}, but the journal ends at record {last}"),
        }),
    }
}

/// Applies to each piece the records that are newer than its file. Gives the pieces that changed, or the line of the
/// record that does not fit.
fn replay(
    car: &mut Car,
    files: &BTreeMap<Piece, u64>,
    contents: &Contents,
) -> Result<BTreeSet<Piece>, (usize, String)> {
    let mut dirty = BTreeSet::new();
    for newer in newer(files, contents) {
        newer.apply(car)?;
        dirty.insert(Piece::of(newer.change));
    }
    Ok(dirty)
}

/// A change of the journal that is newer than the file of the piece it touches.
pub(super) struct Newer<'j> {
    /// The record's line in the journal, from 1.
    line: usize,
    number: u64,
    change: &'j Change,
}

/// The changes of a journal that are newer than the files they touch. What was done with a survey before it was taken back is
/// left out: a tidying that was interrupted may have removed its file already, and nothing of it is to come back.
pub(super) fn newer<'j>(files: &BTreeMap<Piece, u64>, contents: &'j Contents) -> Vec<Newer<'j>> {
    let mut all: Vec<Newer> = Vec::new();
    for (line, record) in (1..).zip(&contents.records) {
        for change in &record.changes {
            let piece = Piece::of(change);
            if files.get(&piece).is_some_and(|through| record.number <= *through) {
                continue;
            }
            if matches!(change, Change::Unbegun(_)) {
                all.retain(|before| Piece::of(before.change) != piece);
            }
            all.push(Newer {
                line,
                number: record.number,
                change,
            });
        }
    }
    all
}

impl Newer<'_> {
    /// Applies it to a car, or gives its line and why it does not fit.
    pub(super) fn apply(&self, car: &mut Car) -> Result<(), (usize, String)> {
        if let Change::Unbegun(date) = self.change {
            // When it was recorded the survey had no look; a file older than that may still show some.
            car.surveys.retain(|s| s.date != *date);
            return Ok(());
        }
        car.apply(self.change.clone()).map_err(|error| {
            (
                self.line,
                format!("record {} does not fit the car: {error}", self.number),
            )
        })
    }
}

/// Puts a copy of the file that an error is about beside it, and says so in the error.
pub(super) fn set_aside(error: StoreError, folder: &Path) -> StoreError {
    let copy = |file: &Path| {
        let bytes = bytes(file, folder).ok().flatten()?;
        paths::copy_aside(file, &bytes)
    };
    match error {
        StoreError::Unreadable {
            file,
            line,
            column,
            what,
            aside: None,
        } => StoreError::Unreadable {
            aside: copy(&file),
            file,
            line,
            column,
            what,
        },
        StoreError::JournalDamaged {
            file,
            line,
            what,
            aside: None,
        } => StoreError::JournalDamaged {
            aside: copy(&file),
            file,
            line,
            what,
        },
        other => other,
    }
}
