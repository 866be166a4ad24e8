//! Cars on disk. The only place that touches data files.
//!
//! A car is a folder: `profile.ron`, `parts.ron`, `repairs.ron`, `wishes.ron`, one file per survey in `surveys/`,
//! `photos/`, and with them `state.ron`, `journal` and `lock`. Every change is one line of the journal, on disk before
//! [`OpenCar::record`] returns; [`OpenCar::tidy`] writes the files anew and empties the journal. However the program ends
//! in between, opening the car gives all changes that were recorded, each once.
//!
//! [`DataFolder`] finds, lists, creates and opens cars; [`OpenCar`] is one of them, open; [`library`] reads the rubrics.

mod archive;
mod draft;
mod error;
mod folder;
mod generations;
mod in_step;
mod inspect;
mod journal;
mod lock;
mod migrate;
mod paths;
mod photos;
mod private;
mod recover;
mod repair;
mod rubrics;
mod snapshot;
mod values;
mod verify;

use std::collections::{BTreeMap, BTreeSet};
use std::path::{Path, PathBuf};

pub use archive::{Archived, Limits};
pub use draft::{Draft, Drafts};
pub use error::StoreError;
pub use folder::{CarEntry, DataFolder};
pub use generations::Generation;
pub use inspect::Trouble;
pub use lock::Holder;
pub use photos::{Photos, Taken};
pub use rubrics::{LibraryError, library, rubrics_folder, source, user_files};
pub use verify::Verified;
pub use verify::fault_in;

use crate::car::{Car, Change};
use journal::{Journal, Record};
use lock::Asked;
use recover::{Found, OnDamage};
use snapshot::Piece;

/// A journal longer than this is tidied when its car is opened for writing.
const LONG_JOURNAL: u64 = 1 << 20;

/// What a car is opened for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Access {
    /// Recording. If another program has the car open for writing, it is opened for reading only and
    /// [`OpenCar::held_by`] says who has it.
    Write,
    /// Looking only: changes nothing in the folder, keeps nobody out and is kept out by nobody.
    Read,
}

/// A car that is open.
#[derive(Debug)]
pub struct OpenCar {
    car: Car,
    name: String,
    folder: PathBuf,
    writer: Result<Writer, ReadOnly>,
    files: BTreeMap<Piece, u64>,
    dirty: BTreeSet<Piece>,
    last: u64,
    notices: Vec<String>,
    /// The day on which changes are recorded, if it is known.
    today: Option<jiff::civil::Date>,
}

#[derive(Debug)]
struct Writer {
    journal: Journal,
    /// Held until the car is closed.
    _lock: lock::Held,
}

#[derive(Debug)]
struct ReadOnly {
    why: String,
    holder: Option<Holder>,
}

impl OpenCar {
    /// Opens the folder of a car.
    fn open(name: String, folder: PathBuf, access: Access) -> Result<OpenCar, StoreError> {
        if access == Access::Read {
            let why = "it was opened to be looked at".to_owned();
            return OpenCar::for_reading(name, folder, ReadOnly { why, holder: None });
        }
        match lock::ask(&folder) {
            Ok(Asked::Ours(lock)) => OpenCar::for_writing(name, folder, lock),
            Ok(Asked::Theirs(holder)) => {
                let why = holder.to_string();
                let holder = Some(holder);
                OpenCar::for_reading(name, folder, ReadOnly { why, holder })
            }
            Err(StoreError::System { source, path, .. }) if cannot_write(&source) => {
                let why = format!("{} cannot be written ({source})", path.display());
                OpenCar::for_reading(name, folder, ReadOnly { why, holder: None })
            }
            Err(error) => Err(error),
        }
    }

    fn for_reading(name: String, folder: PathBuf, read_only: ReadOnly) -> Result<OpenCar, StoreError> {
        let mut found = recover::read(&folder, OnDamage::TakeWhatStandsBefore)?;
        // While somebody writes, a line that is not yet complete is nothing to speak of.
        if found.torn.is_some() && read_only.holder.is_none() {
            found.notices.push(
                "the newest record was not completely written and is left out; opening the car for writing removes it"
                    .to_owned(),
            );
        }
        Ok(OpenCar::of(name, folder, found, Err(read_only)))
    }

    fn for_writing(name: String, folder: PathBuf, lock: lock::Held) -> Result<OpenCar, StoreError> {
        let mut found = recover::read(&folder, OnDamage::Refuse).map_err(|error| recover::set_aside(error, &folder))?;
        if let Some(whole_line) = found.torn {
            let mut notice = "the newest record was not completely written, so it was removed".to_owned();
            // A torn write rarely ends in a newline: more likely a record was damaged that was once complete.
            if whole_line {
                let path = folder.join("journal");
                let bytes = paths::bytes(&path, &folder)?.unwrap_or_default();
                match paths::copy_aside(&path, &bytes) {
                    Some(copy) => notice.push_str(&format!("; a copy of the journal is {}", copy.display())),
                    None => {
                        return Err(StoreError::JournalDamaged {
                            file: path,
                            line: bytes.iter().filter(|b| **b == b'\n').count(),
                            what: "the record does not match its checksum, and no copy could be put aside".to_owned(),
                            aside: None,
                        });
                    }
                }
            }
            found.notices.push(notice);
        }
        recover::sweep(&folder);
        if found.spent {
            snapshot::replace(&folder.join("journal"), "")?;
            found.good = 0;
        }
        let journal = Journal::open(&folder, found.good as u64)?;
        let (long, earlier) = (journal.length() > LONG_JOURNAL, found.earlier);
        let mut open = OpenCar::of(name, folder, found, Ok(Writer { journal, _lock: lock }));
        if earlier {
            open.write_anew()?;
        } else if long && let Err(error) = open.tidy() {
            open.notices
                .push(format!("the journal is long and could not be tidied: {error}"));
        }
        Ok(open)
    }

    /// Writes the files of an earlier program as this one writes them, once they are copied aside.
    fn write_anew(&mut self) -> Result<(), StoreError> {
        let aside = repair::copy_all_aside(&self.folder)?;
        self.dirty.extend(self.files.keys());
        self.tidy()?;
        self.notices.push(format!(
            "its files were those of an earlier tinworm and were written anew; the old ones are kept in {}",
            aside.display()
        ));
        Ok(())
    }

    fn of(name: String, folder: PathBuf, found: Found, writer: Result<Writer, ReadOnly>) -> OpenCar {
        OpenCar {
            car: found.car,
            name,
            folder,
            writer,
            files: found.files,
            dirty: found.dirty,
            last: found.last,
            notices: found.notices,
            today: None,
        }
    }

    /// Fills a new folder with a car that has only what `car` says, all of it in the snapshot.
    fn fill(folder: &Path, car: &Car) -> Result<(), StoreError> {
        for sub in ["surveys", "photos"] {
            let path = folder.join(sub);
            private::folder(&path).map_err(|e| StoreError::system("make", &path, e))?;
        }
        let mut files = BTreeMap::new();
        for piece in Piece::FIXED.into_iter().filter(|p| *p != Piece::Earlier) {
            snapshot::replace(&folder.join(piece.file()), &snapshot::piece_text(piece, car, 0)?)?;
            files.insert(piece, 0);
        }
        snapshot::replace(&folder.join("journal"), "")?;
        snapshot::replace(&folder.join("state.ron"), &snapshot::state_text(0, &files)?)?;
        generations::keep(folder, car, 0, &files)
    }

    /// The car as it is now.
    #[must_use]
    pub fn car(&self) -> &Car {
        &self.car
    }

    /// The name of its folder, by which [`DataFolder::open`] finds it.
    #[must_use]
    pub fn name(&self) -> &str {
        &self.name
    }

    /// Its folder.
    #[must_use]
    pub fn folder(&self) -> &Path {
        &self.folder
    }

    /// What is being typed about it; `None` when nothing can be recorded.
    #[must_use]
    pub fn drafts(&self) -> Option<Drafts> {
        self.writer.as_ref().ok().map(|_| Drafts::of(self.folder.clone()))
    }

    /// Who else has it open for writing, if that is why it is open for reading only.
    #[must_use]
    pub fn held_by(&self) -> Option<&Holder> {
        self.writer.as_ref().err()?.holder.as_ref()
    }

    /// Why nothing can be recorded, in words; `None` when it can.
    #[must_use]
    pub fn read_only(&self) -> Option<&str> {
        self.writer.as_ref().err().map(|r| r.why.as_str())
    }

    /// What was found and done on opening that its owner should know, a sentence each.
    #[must_use]
    pub fn notices(&self) -> &[String] {
        &self.notices
    }

    /// The day on which changes are recorded from now on. With it, what is said without a day of its own is put away as it stood before it
    /// changes, so that [`Car::as_known_on`] finds it.
    pub fn keep_from(&mut self, today: jiff::civil::Date) {
        self.today = Some(today);
    }

    /// Records one change. When this returns, it is on disk.
    ///
    /// # Errors
    /// When the change does not fit, the car is open for reading only, or the disk refuses; the car is then as it was.
    pub fn record(&mut self, change: Change) -> Result<(), StoreError> {
        self.record_all(vec![change])
    }

    /// Records changes that belong together: all or none of them.
    ///
    /// # Errors
    /// As [`OpenCar::record`].
    pub fn record_all(&mut self, mut changes: Vec<Change>) -> Result<(), StoreError> {
        let writer = writer(&mut self.writer, &self.folder)?;
        if changes.is_empty() {
            return Ok(());
        }
        if let Some(away) = self.today.and_then(|today| self.car.put_away(&changes, today)) {
            changes.insert(0, Change::Earlier(Box::new(away)));
        }
        let mut car = self.car.clone();
        for change in &changes {
            values::of_change(change).map_err(StoreError::BadValue)?;
            car.apply(change.clone())?;
        }
        let touched: Vec<Piece> = changes.iter().map(Piece::of).collect();
        let number = self.last + 1;
        let line = journal::line(&Record { number, changes })?;
        if writer.journal.length() + line.len() as u64 > paths::LARGEST {
            return Err(StoreError::Stopped {
                folder: self.folder.clone(),
                why: "its journal has grown as long as it may".to_owned(),
            });
        }
        writer.journal.append(&self.folder, &line)?;
        self.car = car;
        self.last = number;
        self.dirty.extend(touched);
        Ok(())
    }

    /// Writes the files that changed anew and begins an empty journal. Worth doing when a car is closed; nothing is lost
    /// if it is not done, or is interrupted anywhere.
    ///
    /// # Errors
    /// When the car is open for reading only or the disk refuses; nothing is lost then either.
    pub fn tidy(&mut self) -> Result<(), StoreError> {
        let writer = writer(&mut self.writer, &self.folder)?;
        writer.journal.usable(&self.folder)?;
        if self.dirty.is_empty() && writer.journal.length() == 0 {
            return Ok(());
        }
        let surveys = self.folder.join("surveys");
        if !surveys.exists() {
            private::folder(&surveys).map_err(|e| StoreError::system("make", &surveys, e))?;
        }
        let (there, gone): (BTreeSet<Piece>, BTreeSet<Piece>) =
            self.dirty.iter().partition(|piece| piece.is_of(&self.car));
        for piece in there {
            let text = snapshot::piece_text(piece, &self.car, self.last)?;
            snapshot::replace(&self.folder.join(piece.file()), &text)?;
            self.files.insert(piece, self.last);
            self.dirty.remove(&piece);
        }
        self.files.retain(|piece, _| !gone.contains(piece));
        let state = snapshot::state_text(self.last, &self.files)?;
        snapshot::replace(&self.folder.join("state.ron"), &state)?;
        // After the list that no longer names them, and before the journal is emptied that takes them back: so an interruption
        // anywhere between leaves them taken back.
        for piece in gone {
            snapshot::remove(&self.folder.join(piece.file()))?;
            self.dirty.remove(&piece);
        }
        let path = self.folder.join("journal");
        snapshot::replace(&path, "")?;
        writer.journal = Journal::open(&self.folder, 0)?;
        // The car itself is whole by now; that a copy of it could not be kept is still worth hearing.
        generations::keep(&self.folder, &self.car, self.last, &self.files)
    }
}

/// Writes a file that a person asked for, outside the cars' folders: whole or not at all, for its owner alone.
///
/// # Errors
/// When the disk refuses.
pub fn write_out(file: &Path, bytes: &[u8]) -> Result<(), StoreError> {
    private::replace(file, bytes).map_err(|e| StoreError::system("write", file, e))
}

/// Makes a folder that a person asked for, and those above it that are missing, for its owner alone.
///
/// # Errors
/// When the disk refuses.
pub fn make_folder(folder: &Path) -> Result<(), StoreError> {
    private::folders(folder).map_err(|e| StoreError::system("make", folder, e))
}

fn writer<'a>(writer: &'a mut Result<Writer, ReadOnly>, folder: &Path) -> Result<&'a mut Writer, StoreError> {
    writer.as_mut().map_err(|read_only| StoreError::ReadOnly {
        folder: folder.to_owned(),
        why: read_only.why.clone(),
    })
}

fn cannot_write(error: &std::io::Error) -> bool {
    use std::io::ErrorKind::{PermissionDenied, ReadOnlyFilesystem};
    matches!(error.kind(), PermissionDenied | ReadOnlyFilesystem)
}
