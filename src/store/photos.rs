//! Photos in a car's folder: copied in under a name made of their content, read back only if they still are what the name says.

use std::path::{Path, PathBuf};
use std::{fs, io};

use super::error::StoreError;
use super::{OpenCar, paths, private, writer};
use crate::picture::{self, Head, PictureError};

/// The folder within a car's folder.
pub(super) const FOLDER: &str = "photos";

/// A photo that was taken in.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Taken {
    /// Its name in the car's folder.
    pub name: String,
    /// What its head says.
    pub head: Head,
}

/// The photos of a car, to be read while the car itself is at work elsewhere.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Photos {
    car: PathBuf,
}

impl Photos {
    /// A photo's bytes.
    ///
    /// # Errors
    /// As [`OpenCar::photo`].
    pub fn photo(&self, name: &str) -> Result<Vec<u8>, StoreError> {
        read(&self.car, name)
    }
}

impl OpenCar {
    /// Its photos.
    #[must_use]
    pub fn photos(&self) -> Photos {
        Photos {
            car: self.folder.clone(),
        }
    }

    /// Copies a photo into the car's folder. It belongs to no look until a change says so.
    ///
    /// # Errors
    /// When it is no photo that is taken, or it cannot be read or written.
    pub fn take_photo(&mut self, file: &Path) -> Result<Taken, StoreError> {
        writer(&mut self.writer, &self.folder)?;
        let bytes = of_anybody(file)?;
        let wrong = |why: PictureError| StoreError::BadPhoto {
            file: file.to_owned(),
            why,
        };
        let head = picture::head(&bytes).map_err(wrong)?;
        // Read to its end, so that what is taken in can be shown.
        picture::points(&bytes, 16).map_err(wrong)?;
        let name = picture::name(&bytes, head.kind);
        keep(&self.folder, &name, &bytes)?;
        Ok(Taken { name, head })
    }

    /// A photo's bytes.
    ///
    /// # Errors
    /// When the name is none of a photo, or the photo is missing, leads out of the folder or is not what its name says.
    pub fn photo(&self, name: &str) -> Result<Vec<u8>, StoreError> {
        read(&self.folder, name)
    }

    /// Where a photo stands, once it is certain that it is what its name says.
    ///
    /// # Errors
    /// As [`OpenCar::photo`].
    pub fn photo_file(&self, name: &str) -> Result<PathBuf, StoreError> {
        self.photo(name)?;
        let path = self.folder.join(FOLDER).join(name);
        fs::canonicalize(&path).map_err(|e| StoreError::system("follow", &path, e))
    }

    /// Deletes a photo that no look names any more; says whether it did.
    ///
    /// # Errors
    /// When the car is open for reading only, or the disk refuses.
    pub fn forget_photo(&mut self, name: &str) -> Result<bool, StoreError> {
        writer(&mut self.writer, &self.folder)?;
        let mut looks = self.car.surveys.iter().flat_map(|s| &s.looks);
        if !crate::car::photo::is_name(name) || looks.any(|l| l.photos.iter().any(|p| p == name)) {
            return Ok(false);
        }
        let folder = self.folder.join(FOLDER);
        if !folder.exists() {
            return Ok(false);
        }
        paths::inside(&folder, &self.folder)?;
        let path = folder.join(name);
        match fs::remove_file(&path) {
            Ok(()) => Ok(true),
            Err(error) if error.kind() == std::io::ErrorKind::NotFound => Ok(false),
            Err(error) => Err(StoreError::system("delete", &path, error)),
        }
    }
}

/// The bytes of a file that somebody names as a photo. Only an ordinary file is opened: a pipe could keep us waiting for ever.
fn of_anybody(file: &Path) -> Result<Vec<u8>, StoreError> {
    let fail = |e| StoreError::system("read", file, e);
    if !fs::metadata(file).map_err(fail)?.is_file() {
        return Err(StoreError::NotAFile(file.to_owned()));
    }
    bytes(file)?.ok_or_else(|| fail(io::ErrorKind::NotFound.into()))
}

/// The bytes of a photo; `None` when it is not there.
fn bytes(file: &Path) -> Result<Option<Vec<u8>>, StoreError> {
    paths::read_up_to(file, picture::LARGEST).map_err(|error| match error.kind() {
        io::ErrorKind::FileTooLarge => StoreError::BadPhoto {
            file: file.to_owned(),
            why: PictureError::TooLarge,
        },
        _ => StoreError::system("read", file, error),
    })
}

/// Writes a photo into a car's folder, unless it stands there already.
pub(super) fn keep(car: &Path, name: &str, bytes: &[u8]) -> Result<(), StoreError> {
    let folder = car.join(FOLDER);
    if fs::symlink_metadata(&folder).is_err() {
        private::folder(&folder).map_err(|e| StoreError::system("make", &folder, e))?;
    }
    paths::inside(&folder, car)?;
    if read(car, name).is_ok_and(|there| there == bytes) {
        return Ok(());
    }
    let path = folder.join(name);
    private::replace(&path, bytes).map_err(|e| StoreError::system("write", &path, e))
}

/// Reads a photo of a car's folder.
pub(super) fn read(car: &Path, name: &str) -> Result<Vec<u8>, StoreError> {
    if !crate::car::photo::is_name(name) {
        return Err(StoreError::BadValue(crate::car::photo::no_name(name)));
    }
    let folder = car.join(FOLDER);
    let path = folder.join(name);
    let missing = || StoreError::Missing {
        file: path.clone(),
        remedy: "put it back from a copy, or take it off the look with `tinworm photo CAR PART CHECK --remove NAME`",
    };
    if fs::symlink_metadata(&folder).is_err() {
        return Err(missing());
    }
    paths::inside(&folder, car)?;
    paths::ordinary(&path, car)?;
    let bytes = bytes(&path)?.ok_or_else(missing)?;
    let head = picture::head(&bytes).map_err(|why| StoreError::BadPhoto {
        file: path.clone(),
        why,
    })?;
    if picture::name(&bytes, head.kind) != name {
        return Err(StoreError::OutOfStep {
            file: path,
            what: "is not the photo that was copied in: its content does not match its name".to_owned(),
        });
    }
    Ok(bytes)
}
