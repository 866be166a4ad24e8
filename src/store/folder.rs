//! The folder in which cars live: listing, creating, finding them by name.

use std::fs;
use std::io;
use std::path::{Path, PathBuf};

use super::draft::Drafts;
use super::error::StoreError;
use super::recover::{self, OnDamage};
use super::{Access, OpenCar, paths, private, values};
use crate::car::{Car, Profile};

/// The folder in which cars live.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct DataFolder {
    path: PathBuf,
}

/// A car in the list of cars.
#[derive(Debug)]
pub struct CarEntry {
    /// The name of its folder.
    pub name: String,
    /// Its folder.
    pub folder: PathBuf,
    /// The car, or why it cannot be read.
    pub car: Result<Car, StoreError>,
}

impl DataFolder {
    /// The folder named, else the one in the environment's `TINWORM_DATA`, else the usual place of the system. It need
    /// not exist yet.
    ///
    /// # Errors
    /// When no home folder is known, or something other than a folder stands there.
    pub fn find(explicit: Option<&Path>) -> Result<DataFolder, StoreError> {
        let path = paths::data_folder(explicit)?;
        match fs::metadata(&path) {
            Ok(what) if !what.is_dir() => Err(StoreError::NotAFolder(path)),
            Err(error) if error.kind() != io::ErrorKind::NotFound => Err(StoreError::system("read", &path, error)),
            _ => Ok(DataFolder { path }),
        }
    }

    /// Where it is.
    #[must_use]
    pub fn path(&self) -> &Path {
        &self.path
    }

    /// All cars by folder name. A car that cannot be read is listed with the reason. Files, and folders whose names begin
    /// with a dot, are no cars.
    ///
    /// # Errors
    /// When the folder itself cannot be read; a folder that does not exist has no cars.
    pub fn cars(&self) -> Result<Vec<CarEntry>, StoreError> {
        let entries = self.folders()?.into_iter().map(|(name, folder)| CarEntry {
            car: self
                .may_open(&name, &folder)
                .and_then(|()| recover::read(&folder, OnDamage::Refuse))
                .map(|found| found.car),
            name,
            folder,
        });
        Ok(entries.collect())
    }

    /// What is being typed about cars that are not there yet.
    #[must_use]
    pub fn drafts(&self) -> Drafts {
        Drafts::of(self.path.clone())
    }

    /// The names of the folders of all cars, in their order, whether or not they can be read.
    ///
    /// # Errors
    /// As [`DataFolder::cars`].
    pub fn names(&self) -> Result<Vec<String>, StoreError> {
        Ok(self.folders()?.into_iter().map(|(name, _)| name).collect())
    }

    /// Reads the car in the folder of that name as [`DataFolder::cars`] does, and nothing else.
    ///
    /// # Errors
    /// When it cannot be read.
    pub fn read(&self, name: &str) -> Result<Car, StoreError> {
        let folder = self.path.join(name);
        self.may_open(name, &folder)?;
        recover::read(&folder, OnDamage::Refuse).map(|found| found.car)
    }

    /// Makes a new car and opens it for writing. Its folder is named after it, with `-2`, `-3` … when the name is taken.
    ///
    /// # Errors
    /// When the profile holds a value that cannot be kept, or the disk refuses; no half-made car is left.
    pub fn create(&self, profile: Profile) -> Result<OpenCar, StoreError> {
        values::of_profile(&profile).map_err(StoreError::BadValue)?;
        private::folders(&self.path).map_err(|e| StoreError::system("make", &self.path, e))?;
        let slug = paths::slug(&profile.name);
        let car = Car::new(profile);
        // Filled under a hidden name and then renamed, so that a car is there whole or not at all.
        let hidden = self.hidden(&slug)?;
        let name = OpenCar::fill(&hidden, &car).and_then(|()| self.settle(&hidden, &slug));
        match name {
            Ok(name) => {
                let folder = self.path.join(&name);
                OpenCar::open(name, folder, Access::Write)
            }
            Err(error) => {
                let _ = fs::remove_dir_all(&hidden);
                Err(error)
            }
        }
    }

    /// Opens a car by the name of its folder, its own name (in any case), or the beginning of either, as long as only one
    /// car fits.
    ///
    /// # Errors
    /// When none or several fit, which lists them, or when the car cannot be read.
    pub fn open(&self, name: &str, access: Access) -> Result<OpenCar, StoreError> {
        let (name, folder) = self.resolve(name)?;
        self.may_open(&name, &folder)?;
        OpenCar::open(name, folder, access)
    }

    /// Every folder that may be a car, by name.
    pub(super) fn folders(&self) -> Result<Vec<(String, PathBuf)>, StoreError> {
        let fail = |e| StoreError::system("read", &self.path, e);
        let entries = match fs::read_dir(&self.path) {
            Err(error) if error.kind() == io::ErrorKind::NotFound => return Ok(Vec::new()),
            other => other.map_err(fail)?,
        };
        let mut folders = Vec::new();
        for entry in entries {
            let entry = entry.map_err(fail)?;
            let name = entry.file_name().to_string_lossy().into_owned();
            let kind = entry.file_type().map_err(fail)?;
            if !name.starts_with('.') && (kind.is_dir() || kind.is_symlink()) {
                folders.push((name, entry.path()));
            }
        }
        folders.sort();
        Ok(folders)
    }

    /// Whether what stands there may be opened at all.
    pub(super) fn may_open(&self, name: &str, folder: &Path) -> Result<(), StoreError> {
        if folder.file_name().is_none_or(|n| n != name) {
            return Err(StoreError::OddName(folder.to_owned()));
        }
        paths::inside(folder, &self.path)?;
        match fs::metadata(folder) {
            Ok(what) if what.is_dir() => Ok(()),
            Ok(_) => Err(StoreError::NotAFolder(folder.to_owned())),
            Err(error) => Err(StoreError::system("read", folder, error)),
        }
    }

    /// The one car that answers to a name.
    pub(super) fn resolve(&self, asked: &str) -> Result<(String, PathBuf), StoreError> {
        let folders = self.folders()?;
        if let Some(exact) = folders.iter().find(|(name, _)| name == asked) {
            return Ok(exact.clone());
        }
        let wanted = asked.trim().to_lowercase();
        let candidates: Vec<(String, PathBuf, String)> = folders
            .into_iter()
            .map(|(name, folder)| {
                let own = self
                    .may_open(&name, &folder)
                    .and_then(|()| recover::read(&folder, OnDamage::TakeWhatStandsBefore))
                    .map_or(String::new(), |found| found.car.profile.name.trim().to_lowercase());
                (name, folder, own)
            })
            .collect();
        type Rule = fn(&str, &str) -> bool;
        let rules: [Rule; 2] = [|name, wanted| name == wanted, |name, wanted| name.starts_with(wanted)];
        for fits in rules {
            let matches: Vec<_> = candidates
                .iter()
                .filter(|(name, _, own)| {
                    !wanted.is_empty() && (fits(&name.to_lowercase(), &wanted) || fits(own, &wanted))
                })
                .collect();
            match matches.as_slice() {
                [] => {}
                [(name, folder, _)] => return Ok((name.clone(), folder.clone())),
                several => {
                    return Err(StoreError::SeveralCars {
                        asked: asked.to_owned(),
                        matches: several.iter().map(|(name, _, _)| name.clone()).collect(),
                    });
                }
            }
        }
        // Somebody who asks for a file by name should hear that it is one.
        let plain = !asked.is_empty() && !asked.starts_with('.') && !asked.contains(['/', '\\']);
        if plain && self.path.join(asked).is_file() {
            return Err(StoreError::NotAFolder(self.path.join(asked)));
        }
        Err(StoreError::NoSuchCar {
            asked: asked.to_owned(),
            folder: self.path.clone(),
            there: candidates.into_iter().map(|(name, _, _)| name).collect(),
        })
    }

    /// Makes a folder under a hidden name that nobody else uses.
    pub(super) fn hidden(&self, slug: &str) -> Result<PathBuf, StoreError> {
        let mut n = 1;
        loop {
            let path = self.path.join(format!(".new-{slug}-{}-{n}", std::process::id()));
            match private::folder(&path) {
                Ok(()) => return Ok(path),
                Err(error) if error.kind() == io::ErrorKind::AlreadyExists && n < 1000 => n += 1,
                Err(error) => return Err(StoreError::system("make", &path, error)),
            }
        }
    }

    /// Gives a filled folder its name, if nothing stands there.
    pub(super) fn settle_once(&self, hidden: &Path, name: &str) -> Result<String, StoreError> {
        let path = self.path.join(name);
        if fs::symlink_metadata(&path).is_ok() {
            return Err(StoreError::Taken(name.to_owned()));
        }
        // A folder with something in it is never replaced by a renaming, so a car that came in between stays as it is.
        fs::rename(hidden, &path).map_err(|e| StoreError::system("make", &path, e))?;
        paths::sync_folder(&self.path).map_err(|e| StoreError::system("write", &self.path, e))?;
        Ok(name.to_owned())
    }

    /// Gives a filled folder its name, the first that is free.
    fn settle(&self, hidden: &Path, slug: &str) -> Result<String, StoreError> {
        let mut n = 1;
        loop {
            let name = if n == 1 { slug.to_owned() } else { format!("{slug}-{n}") };
            let path = self.path.join(&name);
            n += 1;
            if fs::symlink_metadata(&path).is_ok() {
                continue;
            }
            match fs::rename(hidden, &path) {
                Ok(()) => {
                    paths::sync_folder(&self.path).map_err(|e| StoreError::system("write", &self.path, e))?;
                    return Ok(name);
                }
                // Taken by another program between the look and the renaming.
                Err(_) if fs::symlink_metadata(&path).is_ok() => {}
                Err(error) => return Err(StoreError::system("make", &path, error)),
            }
        }
    }
}
