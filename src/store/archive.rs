//! A whole car as one file, and back again on another machine.
//!
//! The file is a plain tar archive (POSIX ustar): `state.ron`, the files of the snapshot as they would stand in a folder that was
//! just tidied, and the photos that looks name; always in the same order and without dates or owners, so that equal cars give
//! equal archives. What is taken in is judged by what it may be, not by what it may not: an entry is an ordinary file whose
//! name is one of those a car can have, or the archive is refused. Everything is read, checked and written under a hidden
//! name beside the other cars; only then does the car get its own.

use std::collections::{BTreeMap, BTreeSet};
use std::fs::{self, File};
use std::io::{self, BufReader, Read};
use std::path::{Path, PathBuf};

use tar::{Archive, Builder, EntryType, Header};

use super::error::StoreError;
use super::folder::DataFolder;
use super::recover::{self, OnDamage};
use super::snapshot::{self, Piece};
use super::{OpenCar, generations, paths, photos, private, values};
use crate::car::photo::is_name;
use crate::picture;
use crate::text::clean;

/// The most that is taken in.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Limits {
    /// Files in an archive.
    pub files: usize,
    /// Bytes of a file that is no photo.
    pub file: u64,
    /// Bytes of all files together.
    pub total: u64,
}

impl Default for Limits {
    fn default() -> Limits {
        Limits {
            files: 20_000,
            file: 16 << 20,
            total: 8 << 30,
        }
    }
}

/// What an archive holds.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Archived {
    /// Files in all.
    pub files: usize,
    /// Photos among them.
    pub photos: usize,
    /// Photos in which the place is written where they were taken.
    pub places: usize,
}

impl OpenCar {
    /// Writes the whole car as one file, whole or not at all.
    ///
    /// # Errors
    /// When a file of the car is damaged, a photo that a look names is missing or damaged, what stands at `to` is no ordinary
    /// file, or the disk refuses.
    pub fn archive(&self, to: &Path) -> Result<Archived, StoreError> {
        // What stands before damage is good enough to look at, but not to be carried away as the whole.
        recover::read(&self.folder, OnDamage::Refuse)?;
        if std::fs::metadata(to).is_ok_and(|what| !what.is_file()) {
            return Err(StoreError::NotAFile(to.to_owned()));
        }
        let mut texts = BTreeMap::new();
        let surveys = self.car.surveys.iter().map(|s| Piece::Survey(s.date));
        for piece in Piece::FIXED.into_iter().chain(surveys) {
            texts.insert(piece, snapshot::piece_text(piece, &self.car, 0)?);
        }
        let through = texts.keys().map(|piece| (*piece, 0)).collect();
        let state = snapshot::state_text(0, &through)?;
        let looks = self.car.surveys.iter().flat_map(|s| &s.looks);
        let photos: BTreeSet<&String> = looks.flat_map(|l| &l.photos).collect();
        let mut said = Archived {
            files: 1 + texts.len() + photos.len(),
            photos: photos.len(),
            places: 0,
        };
        // A photo that cannot be read has more to say than an error of the system can carry.
        let mut trouble = None;
        let written = private::replace_by(to, |out| {
            let mut tar = Builder::new(out);
            add(&mut tar, "state.ron", state.as_bytes())?;
            for (piece, text) in &texts {
                add(&mut tar, &piece.file(), text.as_bytes())?;
            }
            for name in photos {
                let bytes = match photos::read(&self.folder, name) {
                    Ok(bytes) => bytes,
                    Err(error) => {
                        trouble = Some(error);
                        return Err(io::Error::other("a photo cannot be read"));
                    }
                };
                said.places += usize::from(picture::head(&bytes).is_ok_and(|head| head.place));
                add(&mut tar, &format!("{}/{name}", photos::FOLDER), &bytes)?;
            }
            tar.into_inner().map(drop)
        });
        match (trouble, written) {
            (Some(error), _) => Err(error),
            (None, Err(error)) => Err(StoreError::system("write", to, error)),
            (None, Ok(())) => Ok(said),
        }
    }
}

fn add<W: io::Write>(tar: &mut Builder<W>, name: &str, bytes: &[u8]) -> io::Result<()> {
    let mut head = Header::new_ustar();
    head.set_path(name)?;
    head.set_size(bytes.len() as u64);
    head.set_mode(0o600);
    head.set_uid(0);
    head.set_gid(0);
    head.set_mtime(0);
    head.set_entry_type(EntryType::Regular);
    head.set_cksum();
    tar.append(&head, bytes)
}

/// A file that a car can have.
enum Entry {
    State,
    Piece(Piece),
    Photo(String),
}

impl Entry {
    fn of(name: &str) -> Option<Entry> {
        if name == "state.ron" {
            return Some(Entry::State);
        }
        if let Some(photo) = name.strip_prefix("photos/") {
            return is_name(photo).then(|| Entry::Photo(photo.to_owned()));
        }
        Piece::from_file(name).map(Entry::Piece)
    }

    fn largest(&self, limits: &Limits) -> u64 {
        match self {
            Entry::Photo(_) => picture::LARGEST,
            _ => limits.file,
        }
    }
}

impl DataFolder {
    /// Takes in a car from an archive, under its own name or another, and gives the name of its folder.
    ///
    /// # Errors
    /// What is wrong with the archive, or that a car of that name is here already; nothing is left of it then.
    pub fn import(&self, archive: &Path, name: Option<&str>, limits: Limits) -> Result<String, StoreError> {
        let fail = |e| StoreError::system("read", archive, e);
        if !fs::metadata(archive).map_err(fail)?.is_file() {
            return Err(StoreError::NotAFile(archive.to_owned()));
        }
        let file = File::open(archive).map_err(fail)?;
        private::folders(self.path()).map_err(|e| StoreError::system("make", self.path(), e))?;
        let hidden = self.hidden("import")?;
        let taken = self.take_in(archive, file, &hidden, name, limits);
        if taken.is_err() {
            let _ = fs::remove_dir_all(&hidden);
        }
        taken
    }

    fn take_in(
        &self,
        archive: &Path,
        file: File,
        hidden: &Path,
        name: Option<&str>,
        limits: Limits,
    ) -> Result<String, StoreError> {
        let bad = |what: String| StoreError::BadArchive {
            file: archive.to_owned(),
            what,
        };
        for sub in ["surveys", photos::FOLDER] {
            let path = hidden.join(sub);
            private::folder(&path).map_err(|e| StoreError::system("make", &path, e))?;
        }
        let names = unpack(archive, file, hidden, limits)?;
        let journal = hidden.join("journal");
        private::replace(&journal, b"").map_err(|e| StoreError::system("write", &journal, e))?;
        let found = recover::read(hidden, OnDamage::Refuse).map_err(|error| bad(within(&error, hidden)))?;
        let mut car = found.car;
        let looks = car.surveys.iter().flat_map(|s| &s.looks);
        if let Some(missing) = looks
            .flat_map(|l| &l.photos)
            .find(|p| !names.contains(&format!("{}/{p}", photos::FOLDER)))
        {
            return Err(bad(format!("the photo {missing} is not in it, although a look has it")));
        }
        if let Some(name) = name {
            car.profile.name = name.trim().to_owned();
            values::of_profile(&car.profile).map_err(StoreError::BadValue)?;
            let through = found.files.get(&Piece::Profile).copied().unwrap_or(0);
            let text = snapshot::piece_text(Piece::Profile, &car, through)?;
            snapshot::replace(&hidden.join(Piece::Profile.file()), &text)?;
        }
        generations::keep(hidden, &car, found.last, &found.files)?;
        for folder in [hidden.join("surveys"), hidden.join(photos::FOLDER), hidden.to_owned()] {
            paths::sync_folder(&folder).map_err(|e| StoreError::system("write", &folder, e))?;
        }
        let slug = paths::slug(&car.profile.name);
        self.settle_once(hidden, &slug)
    }
}

/// The message of an error about a file in the hidden folder, with the name that the file has in the archive.
fn within(error: &StoreError, hidden: &Path) -> String {
    let hidden = clean(&format!("{}/", hidden.display()));
    error.to_string().replace(&hidden, "")
}

/// Writes the entries of an archive into a folder; gives their names.
fn unpack(archive: &Path, file: File, hidden: &Path, limits: Limits) -> Result<BTreeSet<String>, StoreError> {
    let bad = |what: String| StoreError::BadArchive {
        file: archive.to_owned(),
        what,
    };
    let broken = |error: io::Error| bad(format!("it is no archive, or damaged: {error}"));
    let mut names = BTreeSet::new();
    let mut total = 0_u64;
    let mut tar = Archive::new(BufReader::new(file));
    // Raw: nothing but what is written in an entry's own head; longer names and other extensions are entries of another kind.
    for entry in tar.entries().map_err(broken)?.raw(true) {
        let mut entry = entry.map_err(broken)?;
        let raw = entry.path_bytes().into_owned();
        let shown = clean(&String::from_utf8_lossy(&raw));
        let what = |what: &str| bad(format!("`{shown}` {what}"));
        if names.len() >= limits.files {
            return Err(bad(format!("it holds more than {} files", limits.files)));
        }
        match entry.header().entry_type() {
            EntryType::Regular => {}
            EntryType::Symlink | EntryType::Link => return Err(what("is a link; only ordinary files are taken")),
            EntryType::Char | EntryType::Block | EntryType::Fifo => {
                return Err(what("is a device; only ordinary files are taken"));
            }
            EntryType::Directory => return Err(what("is a folder; only ordinary files are taken")),
            _ => {
                return Err(what(
                    "is of a kind that no archive of a car has; only ordinary files are taken",
                ));
            }
        }
        let name = String::from_utf8(raw).map_err(|_| what("has a name that is not UTF-8"))?;
        if name.starts_with(['/', '\\']) || name.get(1..2) == Some(":") {
            return Err(what("has an absolute name"));
        }
        if name.split(['/', '\\']).any(|step| step == "..") {
            return Err(what("leads out of the car's folder"));
        }
        let kind = Entry::of(&name).ok_or_else(|| what("is no file of a car"))?;
        let size = entry.size();
        if size > kind.largest(&limits) {
            return Err(what(&format!("is too large: {size} bytes")));
        }
        total = total.saturating_add(size);
        if total > limits.total {
            return Err(bad(format!(
                "its files are too large together: more than {} bytes",
                limits.total
            )));
        }
        if !names.insert(name.clone()) {
            return Err(what("stands in it twice"));
        }
        let mut bytes = Vec::new();
        entry.read_to_end(&mut bytes).map_err(broken)?;
        if bytes.len() as u64 != size {
            return Err(what("is cut off"));
        }
        judge(&kind, &bytes).map_err(|why| bad(format!("{shown}: {why}")))?;
        let path: PathBuf = hidden.join(&name);
        private::replace(&path, &bytes).map_err(|e| StoreError::system("write", &path, e))?;
    }
    if names.is_empty() {
        return Err(bad("it is empty, or no archive".to_owned()));
    }
    Ok(names)
}

/// Whether a file's content is what its name says; files that hang together are judged once all are there.
fn judge(kind: &Entry, bytes: &[u8]) -> Result<(), String> {
    let place = |refusal: snapshot::Refusal| match refusal {
        snapshot::Refusal::Newer(schema) => format!("it was written by a newer tinworm (schema {schema})"),
        snapshot::Refusal::Fault(fault) if fault.line == 0 => fault.what,
        snapshot::Refusal::Fault(fault) => format!("line {}, column {}: {}", fault.line, fault.column, fault.what),
    };
    let text = |bytes| recover::text(bytes).map_err(|fault| place(snapshot::Refusal::Fault(fault)));
    match kind {
        Entry::State => snapshot::read_state(text(bytes)?).map(drop).map_err(place),
        Entry::Piece(piece) => snapshot::read_piece(*piece, text(bytes)?).map(drop).map_err(place),
        Entry::Photo(name) => {
            let head = picture::head(bytes).map_err(|why| why.to_string())?;
            if picture::name(bytes, head.kind) == *name {
                Ok(())
            } else {
                Err("its content does not match its name".to_owned())
            }
        }
    }
}
