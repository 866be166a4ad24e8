//! Whether the files of a car belong together, and the journal over them. The one judge: opening a car takes the first thing it
//! finds as the reason to refuse, `verify` tells all of them.

use std::collections::{BTreeMap, BTreeSet};
use std::path::Path;

use super::error::StoreError;
use super::journal::{Contents, Tail};
use super::snapshot::Piece;
use crate::car::{Car, Change, ChangeError};

/// Why a file does not belong with the others.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Fault {
    /// It is missing.
    Missing,
    /// It goes less far than the snapshot says: an older copy was put back.
    Behind {
        /// The newest record it includes.
        through: u64,
        /// The one it included when the snapshot was written.
        at_least: u64,
    },
    /// It goes further than the journal.
    Ahead {
        /// The newest record it includes.
        through: u64,
        /// The newest record there is.
        last: u64,
    },
}

impl Fault {
    /// The error that says so.
    pub(super) fn error(self, folder: &Path, piece: Piece) -> StoreError {
        let file = folder.join(piece.file());
        let what = match self {
            Fault::Missing => {
                return StoreError::Missing {
                    file,
                    remedy: "put it back from a copy of the car's folder",
                };
            }
            Fault::Behind { through, at_least } => {
                format!("goes through record {through} only, but the snapshot had it through {at_least}")
            }
            Fault::Ahead { through, last } => {
                format!("goes through record {through}, but the journal ends at record {last}")
            }
        };
        StoreError::OutOfStep { file, what }
    }
}

/// What is wrong with the files as a whole: each one that the snapshot lists is there and goes as far as it did then, none goes
/// further than the newest record `last` (where that is known), and a profile is there in any case. `unread` are files that are
/// there and could not be read: of them nothing more is said.
pub(super) fn faults(
    at_least: &BTreeMap<Piece, u64>,
    files: &BTreeMap<Piece, u64>,
    unread: &BTreeSet<Piece>,
    last: Option<u64>,
) -> Vec<(Piece, Fault)> {
    let mut found = Vec::new();
    let profile = (Piece::Profile, 0);
    let listed = at_least.iter().map(|(piece, at_least)| (*piece, *at_least));
    let and_profile = std::iter::once(profile).filter(|(piece, _)| !at_least.contains_key(piece));
    for (piece, at_least) in listed.chain(and_profile) {
        match files.get(&piece) {
            None if unread.contains(&piece) => {}
            None => found.push((piece, Fault::Missing)),
            Some(&through) if through < at_least => found.push((piece, Fault::Behind { through, at_least })),
            Some(_) => {}
        }
    }
    if let Some(last) = last {
        let ahead = files.iter().filter(|(_, through)| **through > last);
        found.extend(ahead.map(|(piece, &through)| (*piece, Fault::Ahead { through, last })));
    }
    found
}

/// Damage of the journal: its line and what was found. `through` is the newest record of the snapshot, if that is known.
pub(super) fn damage(through: Option<u64>, contents: &Contents) -> Option<(usize, String)> {
    if let (Some(first), Some(through)) = (contents.records.first(), through)
        && first.number > through + 1
    {
        let what = format!(
            "record {} should stand here, but it is record {}",
            through + 1,
            first.number
        );
        return Some((1, what));
    }
    match &contents.tail {
        Tail::Damaged(line, what) => Some((*line, what.clone())),
        Tail::Clean | Tail::Torn => None,
    }
}

/// What came of a journal applied to the files.
#[derive(Debug, Default)]
pub(super) struct Replayed {
    /// The pieces that it changed.
    pub touched: BTreeSet<Piece>,
    /// The lines whose records do not fit, each with its reason; they were left out.
    pub unfit: Vec<(usize, String)>,
}

/// Applies to each piece the records that are newer than its file.
pub(super) fn replay(car: &mut Car, files: &BTreeMap<Piece, u64>, journal: &Contents) -> Replayed {
    let mut replayed = Replayed::default();
    for newer in newer(files, journal) {
        match newer.apply(car) {
            Ok(()) => {
                replayed.touched.insert(Piece::of(newer.change));
            }
            Err(error) => {
                let what = format!("record {} does not fit the car: {error}", newer.number);
                replayed.unfit.push((newer.line, what));
            }
        }
    }
    replayed
}

/// A change of the journal that is newer than the file of the piece it touches.
struct Newer<'j> {
    /// The record's line in the journal, from 1.
    line: usize,
    number: u64,
    change: &'j Change,
}

/// The changes of a journal that are newer than the files they touch. What was done with a survey before it was taken back is
/// left out: a tidying that was interrupted may have removed its file already, and nothing of it is to come back.
fn newer<'j>(files: &BTreeMap<Piece, u64>, journal: &'j Contents) -> Vec<Newer<'j>> {
    let mut all: Vec<Newer> = Vec::new();
    for (line, record) in (1..).zip(&journal.records) {
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
    fn apply(&self, car: &mut Car) -> Result<(), ChangeError> {
        if let Change::Unbegun(date) = self.change {
            // When it was recorded the survey had no look; a file older than that may still show some.
            car.surveys.retain(|s| s.date != *date);
            return Ok(());
        }
        car.apply(self.change.clone())
    }
}
