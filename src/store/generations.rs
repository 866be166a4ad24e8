//! Generations: copies of the last few snapshots, each file as it was written then.
//!
//! Below `generations/` stands for each piece a folder of files named after the newest record they include:
//! `profile/12.ron`, `surveys/2026-03-14/12.ron`. `state/12.ron` lists the files of the snapshot that went through record
//! 12, so that a whole car can be put together from it. The newest generation is the present snapshot: a file that is
//! damaged afterwards is still there as it was.

use std::collections::{BTreeMap, BTreeSet};
use std::fs;
use std::io;
use std::path::{Path, PathBuf};
use std::time::SystemTime;

use super::error::StoreError;
use super::snapshot::{self, Held, Piece};
use super::{paths, private, recover};
use crate::car::Car;

/// How many generations are kept.
pub(super) const KEPT: usize = 5;

/// The folder of all generations, inside the car's folder.
pub(super) const FOLDER: &str = "generations";

/// An earlier snapshot of a car.
#[derive(Debug)]
pub struct Generation {
    /// Its number: the newest record it includes. A later generation has a higher one.
    pub number: u64,
    /// When it was written, as far as the system knows.
    pub written: Option<SystemTime>,
    /// The car as it was, or why it cannot be put together.
    pub car: Result<Car, StoreError>,
}

fn folder_of(piece: Option<Piece>) -> PathBuf {
    let name = piece.map_or("state.ron".to_owned(), Piece::file);
    Path::new(FOLDER).join(name.strip_suffix(".ron").unwrap_or(&name))
}

/// The path of a piece's file in a generation, inside the car's folder; without a piece that of the list of files.
pub(super) fn place(piece: Option<Piece>, number: u64) -> PathBuf {
    folder_of(piece).join(format!("{number}.ron"))
}

/// Keeps the snapshot that has just been written, and drops what no kept generation needs any more.
pub(super) fn keep(folder: &Path, car: &Car, number: u64, files: &BTreeMap<Piece, u64>) -> Result<(), StoreError> {
    for (piece, through) in files {
        let path = folder.join(place(Some(*piece), *through));
        if fs::symlink_metadata(&path).is_err() {
            make_folder(folder, &folder_of(Some(*piece)))?;
            snapshot::replace(&path, &snapshot::piece_text(*piece, car, *through)?)?;
        }
    }
    make_folder(folder, &folder_of(None))?;
    snapshot::replace(&folder.join(place(None, number)), &snapshot::state_text(number, files)?)?;
    prune(folder);
    Ok(())
}

/// Makes a folder inside the car's folder, level by level; a link in its place is refused, wherever it leads.
fn make_folder(folder: &Path, below: &Path) -> Result<(), StoreError> {
    let mut path = folder.to_owned();
    for step in below {
        path.push(step);
        match fs::symlink_metadata(&path) {
            Ok(what) if what.is_dir() => {}
            Ok(_) => return Err(StoreError::NotAFolder(path)),
            Err(error) if error.kind() == io::ErrorKind::NotFound => {
                private::folder(&path).map_err(|e| StoreError::system("make", &path, e))?;
            }
            Err(error) => return Err(StoreError::system("read", &path, error)),
        }
    }
    Ok(())
}

/// The numbers of the files kept for a piece, or of the generations, newest first.
pub(super) fn numbers(folder: &Path, piece: Option<Piece>) -> Vec<u64> {
    let entries = fs::read_dir(folder.join(folder_of(piece))).into_iter().flatten();
    let mut numbers: Vec<u64> = entries
        .filter_map(|entry| {
            let name = entry.ok()?.file_name();
            let digits = name.to_str()?.strip_suffix(".ron")?;
            let number: u64 = digits.parse().ok()?;
            // Not `007.ron`: each number has one spelling; and another must be able to come after it.
            (number.to_string() == digits && number < u64::MAX).then_some(number)
        })
        .collect();
    numbers.sort_unstable_by(|a, b| b.cmp(a));
    numbers
}

/// What a generation kept of one piece.
pub(super) fn piece(folder: &Path, piece: Piece, number: u64) -> Result<Held, StoreError> {
    let path = folder.join(place(Some(piece), number));
    let bytes = present(&path, folder)?;
    let (held, through) = recover::held(piece, &path, &bytes)?;
    if through == number {
        Ok(held)
    } else {
        Err(StoreError::OutOfStep {
            file: path,
            what: format!("goes through record {through}, which its name does not say"),
        })
    }
}

/// The files of a generation, each with the newest record that it includes.
pub(super) fn files(folder: &Path, number: u64) -> Result<BTreeMap<Piece, u64>, StoreError> {
    let path = folder.join(place(None, number));
    let state = recover::state(&path, &present(&path, folder)?)?;
    recover::files(&path, &state)
}

/// The car of a generation.
pub(super) fn car(folder: &Path, number: u64) -> Result<Car, StoreError> {
    let mut pieces = Vec::new();
    for (kind, through) in files(folder, number)? {
        pieces.push(piece(folder, kind, through)?);
    }
    recover::assemble(pieces).ok_or_else(|| StoreError::Missing {
        file: folder.join(folder_of(Some(Piece::Profile))),
        remedy: "choose another generation",
    })
}

/// All generations, newest first.
pub(super) fn list(folder: &Path) -> Vec<Generation> {
    let of = |number: &u64| Generation {
        number: *number,
        written: fs::metadata(folder.join(place(None, *number)))
            .and_then(|what| what.modified())
            .ok(),
        car: car(folder, *number),
    };
    numbers(folder, None).iter().map(of).collect()
}

fn present(path: &Path, folder: &Path) -> Result<Vec<u8>, StoreError> {
    paths::bytes(path, folder)?.ok_or_else(|| StoreError::Missing {
        file: path.to_owned(),
        remedy: "choose another generation",
    })
}

/// The pieces of which anything is kept.
fn pieces(folder: &Path) -> Vec<Piece> {
    let entries = fs::read_dir(folder.join(FOLDER).join("surveys")).into_iter().flatten();
    let surveys = entries.filter_map(|entry| {
        let name = entry.ok()?.file_name();
        Piece::from_file(&format!("surveys/{}.ron", name.to_str()?))
    });
    Piece::FIXED.into_iter().chain(surveys).collect()
}

/// Removes what is older than the generations kept. One that cannot be read is let go as well, but counts for nothing.
fn prune(folder: &Path) {
    let mut needed: BTreeSet<(Piece, u64)> = BTreeSet::new();
    let mut kept = 0;
    for number in numbers(folder, None) {
        match files(folder, number) {
            Ok(files) if kept < KEPT => {
                kept += 1;
                needed.extend(files);
            }
            _ => {
                let _ = fs::remove_file(folder.join(place(None, number)));
            }
        }
    }
    for piece in pieces(folder) {
        for number in numbers(folder, Some(piece)) {
            if !needed.contains(&(piece, number)) {
                let _ = fs::remove_file(folder.join(place(Some(piece), number)));
            }
        }
        // Goes only when it is empty.
        let _ = fs::remove_dir(folder.join(folder_of(Some(piece))));
    }
}
