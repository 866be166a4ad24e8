//! The rubrics in force: those of the program and those of its user.

use std::fs;
use std::path::{Path, PathBuf};

use super::error::StoreError;
use super::paths;
use crate::rubric::{Library, builtin, check, parse};

/// Why the rubrics cannot be used.
#[derive(Debug, thiserror::Error)]
pub enum LibraryError {
    /// The folder of the user's rubrics, or a file in it, cannot be read.
    #[error(transparent)]
    Files(#[from] StoreError),
    /// Mistakes in the files, each with its place.
    #[error("{}", .0.join("\n"))]
    Mistakes(Vec<String>),
}

/// The folder of the user's own rubrics: `rubrics` in the configuration folder named, else the folder in the environment's
/// `TINWORM_RUBRICS`, else `rubrics` in the usual configuration folder of the system; `None` if there is none.
#[must_use]
pub fn rubrics_folder(config: Option<&Path>) -> Option<PathBuf> {
    config
        .map(|config| config.join("rubrics"))
        .or_else(|| {
            std::env::var_os("TINWORM_RUBRICS")
                .filter(|v| !v.is_empty())
                .map(PathBuf::from)
        })
        .or_else(|| Some(paths::own_folders()?.config_dir().join("rubrics")))
}

/// The rubrics in force: those that ship with the program, with the user's files laid over them; an item of a user's file
/// replaces the shipped one of the same id.
///
/// # Errors
/// When a file cannot be read, or all mistakes in all of them, each with its file, line and column.
pub fn library(config: Option<&Path>) -> Result<Library, LibraryError> {
    let mut sources = builtin::sources();
    let mut unreadable = Vec::new();
    for path in user_files(config)? {
        let folder = path.parent().unwrap_or(&path);
        let bytes = paths::bytes(&path, folder)?.unwrap_or_default();
        match parse::from_bytes(&path.display().to_string(), &bytes) {
            Ok(source) => sources.push(source),
            Err(mistake) => unreadable.push(mistake),
        }
    }
    match check::load(&sources) {
        Ok(library) if unreadable.is_empty() => Ok(library),
        loaded => {
            unreadable.extend(loaded.err().unwrap_or_default());
            Err(LibraryError::Mistakes(
                unreadable.iter().map(ToString::to_string).collect(),
            ))
        }
    }
}

/// The user's rubric files, by name.
fn user_files(config: Option<&Path>) -> Result<Vec<PathBuf>, StoreError> {
    let Some(folder) = rubrics_folder(config) else {
        return Ok(Vec::new());
    };
    let entries = match fs::read_dir(&folder) {
        Err(error) if error.kind() == std::io::ErrorKind::NotFound => return Ok(Vec::new()),
        Err(error) if error.kind() == std::io::ErrorKind::NotADirectory => return Err(StoreError::NotAFolder(folder)),
        other => other.map_err(|e| StoreError::system("read", &folder, e))?,
    };
    let mut files = Vec::new();
    for entry in entries {
        let path = entry.map_err(|e| StoreError::system("read", &folder, e))?.path();
        let hidden = path.file_name().is_some_and(|n| n.to_string_lossy().starts_with('.'));
        if !hidden && path.extension().is_some_and(|e| e == "ron") {
            files.push(path);
        }
    }
    files.sort();
    Ok(files)
}
