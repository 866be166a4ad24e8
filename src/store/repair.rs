//! Putting a damaged car right, and going back to an earlier generation. Whatever is replaced is kept beside it first.

use std::collections::{BTreeMap, BTreeSet};
use std::fs;
use std::path::{Path, PathBuf};

use super::error::StoreError;
use super::folder::DataFolder;
use super::generations::{self, Generation};
use super::inspect::Inspection;
use super::journal::Tail;
use super::lock::{self, Asked};
use super::snapshot::{self, Held, Piece};
use super::{in_step, paths, private, recover};
use crate::car::Car;

impl DataFolder {
    /// Repairs what can be repaired of a damaged car, and says in a sentence each what was done: a file that cannot be
    /// taken is replaced by its newest whole copy, or set aside where none is kept; a journal is kept up to the damage. The
    /// damaged files stay beside the new ones. A car without damage is left alone: then nothing is said.
    ///
    /// # Errors
    /// When the car is not found, another program has it open, a newer program wrote it, no profile can be had, or the disk
    /// refuses; nothing is overwritten then.
    pub fn repair(&self, name: &str) -> Result<Vec<String>, StoreError> {
        let (name, folder) = self.resolve(name)?;
        self.may_open(&name, &folder)?;
        let _lock = locked(&folder)?;
        let seen = Inspection::of(&folder);
        if let Some(why) = seen.hands_off {
            return Err(StoreError::LeftAlone { folder, why });
        }
        if !seen.damaged() && fits(&seen) {
            return Ok(Vec::new());
        }
        mend(&folder, seen)
    }

    /// The generations of a car that are kept, newest first.
    ///
    /// # Errors
    /// When the car is not found.
    pub fn generations(&self, name: &str) -> Result<Vec<Generation>, StoreError> {
        let (name, folder) = self.resolve(name)?;
        self.may_open(&name, &folder)?;
        Ok(generations::list(&folder))
    }

    /// Makes a car what it was in an earlier generation. All its present files are copied into a folder of their own first,
    /// whose path is given back.
    ///
    /// # Errors
    /// When car or generation is not found or cannot be read, another program has it open, a newer program wrote it, or the
    /// disk refuses.
    pub fn restore(&self, name: &str, generation: u64) -> Result<PathBuf, StoreError> {
        let (name, folder) = self.resolve(name)?;
        self.may_open(&name, &folder)?;
        let _lock = locked(&folder)?;
        let there = generations::numbers(&folder, None);
        if !there.contains(&generation) {
            return Err(StoreError::NoGeneration {
                asked: generation,
                there,
            });
        }
        let car = generations::car(&folder, generation)?;
        let seen = Inspection::of(&folder);
        if let Some(why) = &seen.hands_off {
            return Err(StoreError::LeftAlone {
                folder,
                why: why.clone(),
            });
        }
        let aside = copy_all_aside(&folder)?;
        let number = seen.newest(&folder) + 1;
        let old: BTreeSet<Piece> = seen.pieces.into_keys().chain(seen.bad).collect();
        settle(&folder, &car, number, &old)?;
        Ok(aside)
    }
}

fn locked(folder: &Path) -> Result<lock::Held, StoreError> {
    match lock::ask(folder)? {
        Asked::Ours(lock) => Ok(lock),
        Asked::Theirs(holder) => Err(StoreError::ReadOnly {
            folder: folder.to_owned(),
            why: holder.to_string(),
        }),
    }
}

/// Whether all records of the journal fit the files.
fn fits(seen: &Inspection) -> bool {
    let held = seen.pieces.values().map(|(held, _)| held.clone());
    recover::assemble(held).is_some_and(|mut car| {
        let replayed = in_step::replay(&mut car, &seen.files(), &seen.journal);
        replayed.unfit.is_empty()
    })
}

/// Puts a car together as well as it can be, sets the damaged files aside and writes all files anew.
fn mend(folder: &Path, mut seen: Inspection) -> Result<Vec<String>, StoreError> {
    let mut said = Vec::new();
    let number = seen.newest(folder) + 1;
    let expected: BTreeSet<Piece> = seen
        .at_least
        .keys()
        .chain(seen.pieces.keys())
        .chain(&seen.bad)
        .copied()
        .chain([Piece::Profile])
        .collect();
    let mut held = Vec::new();
    let mut through = BTreeMap::new();
    for piece in &expected {
        let present = seen.pieces.remove(piece);
        let found = if seen.bad.contains(piece) || present.is_none() {
            let found = best(folder, *piece, present, seen.at_least.get(piece).copied(), &mut said);
            if found.is_none() && *piece == Piece::Profile {
                return Err(StoreError::Missing {
                    file: folder.join(piece.file()),
                    remedy: "no copy of it is kept, so the car cannot be repaired; put it back from a copy of your own",
                });
            }
            found
        } else {
            present
        };
        if let Some((what, number)) = found {
            held.push(what);
            through.insert(*piece, number);
        }
    }
    let mut car = recover::assemble(held).ok_or_else(|| StoreError::Missing {
        file: folder.join(Piece::Profile.file()),
        remedy: "put it back from a copy of the car's folder",
    })?;
    let unfit = in_step::replay(&mut car, &through, &seen.journal).unfit;
    set_damaged_aside(folder, &seen, !unfit.is_empty(), &mut said)?;
    for (line, why) in unfit {
        said.push(format!("journal:{line}: {why}; it was left out"));
    }
    settle(folder, &car, number, &expected)?;
    Ok(said)
}

/// The best there is of a piece that cannot be taken as it stands: the newest whole copy, or an older file that was put
/// back, whichever goes further.
fn best(
    folder: &Path,
    piece: Piece,
    present: Option<(Held, u64)>,
    at_least: Option<u64>,
    said: &mut Vec<String>,
) -> Option<(Held, u64)> {
    let file = piece.file();
    let copy = generations::numbers(folder, Some(piece))
        .into_iter()
        .find_map(|n| Some((generations::piece(folder, piece, n).ok()?, n)));
    let found = match (copy, present) {
        (Some(copy), Some(present)) if present.1 > copy.1 => Some(present),
        (Some(copy), _) => Some(copy),
        (None, present) => present,
    };
    said.push(match (&found, at_least) {
        (Some((_, n)), Some(at_least)) if *n >= at_least => {
            format!("{file}: put back from its kept copy; nothing of it is lost")
        }
        (Some((_, n)), Some(at_least)) => {
            format!("{file}: put back as it was after record {n}; what records up to {at_least} changed of it is lost")
        }
        (Some((_, n)), None) => format!("{file}: put back as it was after record {n}"),
        (None, _) => format!("{file}: no copy is kept, so the car goes on without it"),
    });
    found
}

/// Copies every damaged file beside itself before anything is written.
fn set_damaged_aside(folder: &Path, seen: &Inspection, unfit: bool, said: &mut Vec<String>) -> Result<(), StoreError> {
    let mut damaged: Vec<String> = seen.bad.iter().map(|p| p.file()).collect();
    if seen.state.is_none() {
        said.push("state.ron: written anew from the files there are".to_owned());
        damaged.push("state.ron".to_owned());
    }
    let journal = folder.join("journal");
    let cut = match &seen.journal.tail {
        Tail::Damaged(line, _) => Some(*line),
        Tail::Torn => Some(seen.journal.records.len() + 1),
        Tail::Clean => None,
    };
    if let Some(line) = cut {
        said.push(format!("journal: kept up to line {line}, not including it"));
    }
    let gap = seen.troubles.iter().any(|t| t.damage && t.file == journal);
    if cut.is_some() || gap || unfit {
        damaged.push("journal".to_owned());
    }
    for name in damaged {
        let path = folder.join(&name);
        let Some(bytes) = paths::bytes(&path, folder)? else {
            continue;
        };
        match paths::copy_aside(&path, &bytes) {
            Some(copy) => said.push(format!("{name}: the damaged file is kept as {}", copy.display())),
            None => {
                let error = std::io::Error::other("no copy of the damaged file could be put beside it");
                return Err(StoreError::system("repair", &path, error));
            }
        }
    }
    Ok(())
}

/// Writes all files of a car anew, as of a record after all there ever were, and removes the files of surveys that it does
/// not have. Interrupted anywhere, it leaves files that say of each other that they do not belong together, and can be
/// done again.
fn settle(folder: &Path, car: &Car, number: u64, old: &BTreeSet<Piece>) -> Result<(), StoreError> {
    let surveys = folder.join("surveys");
    if !surveys.exists() {
        private::folder(&surveys).map_err(|e| StoreError::system("make", &surveys, e))?;
    }
    let surveys_now = car.surveys.iter().map(|s| Piece::Survey(s.date));
    let pieces: BTreeSet<Piece> = Piece::FIXED.into_iter().chain(surveys_now).collect();
    // All texts first: what cannot be written must not leave half a car.
    let mut texts = Vec::new();
    for piece in &pieces {
        texts.push((folder.join(piece.file()), snapshot::piece_text(*piece, car, number)?));
    }
    for (path, text) in texts {
        snapshot::replace(&path, &text)?;
    }
    for piece in old.difference(&pieces) {
        let path = folder.join(piece.file());
        match fs::remove_file(&path) {
            Err(error) if error.kind() != std::io::ErrorKind::NotFound => {
                return Err(StoreError::system("remove", &path, error));
            }
            _ => {}
        }
    }
    let files: BTreeMap<Piece, u64> = pieces.into_iter().map(|piece| (piece, number)).collect();
    snapshot::replace(&folder.join("state.ron"), &snapshot::state_text(number, &files)?)?;
    snapshot::replace(&folder.join("journal"), "")?;
    generations::keep(folder, car, number, &files)
}

/// Copies the present files of a car, whatever is in them, into the first free `set-aside-N`.
pub(super) fn copy_all_aside(folder: &Path) -> Result<PathBuf, StoreError> {
    let mut n = 1;
    let aside = loop {
        let path = folder.join(format!("set-aside-{n}"));
        match private::folder(&path) {
            Ok(()) => break path,
            Err(error) if error.kind() == std::io::ErrorKind::AlreadyExists && n < 10_000 => n += 1,
            Err(error) => return Err(StoreError::system("make", &path, error)),
        }
    };
    for sub in [None, Some("surveys")] {
        let from = sub.map_or_else(|| folder.to_owned(), |sub| folder.join(sub));
        let to = sub.map_or_else(|| aside.clone(), |sub| aside.join(sub));
        if !from.is_dir() {
            continue;
        }
        if sub.is_some() {
            private::folder(&to).map_err(|e| StoreError::system("make", &to, e))?;
        }
        let fail = |e| StoreError::system("read", &from, e);
        for entry in fs::read_dir(&from).map_err(fail)? {
            let entry = entry.map_err(fail)?;
            if entry.file_name() == "lock" || !entry.file_type().map_err(fail)?.is_file() {
                continue;
            }
            let target = to.join(entry.file_name());
            let copied = fs::File::open(entry.path()).and_then(|mut from| {
                let mut to = private::options().write(true).create_new(true).open(&target)?;
                std::io::copy(&mut from, &mut to)?;
                to.sync_all()
            });
            copied.map_err(|e| StoreError::system("write", &target, e))?;
        }
        paths::sync_folder(&to).map_err(|e| StoreError::system("write", &to, e))?;
    }
    Ok(aside)
}
