//! The rubrics in force: those of the program, and over them those of its user.

use std::fs;
use std::io;
use std::path::{Path, PathBuf};

use super::error::StoreError;
use super::paths;
use crate::rubric::parse::{self, Mistake, SourceText};
use crate::rubric::{Library, builtin, check};
use crate::text::clean;

/// No file of rubrics is larger, in bytes.
const LARGEST: u64 = 256 << 10;

/// Why the rubrics cannot be used.
#[derive(Debug, thiserror::Error)]
pub enum LibraryError {
    /// The folder of the user's rubrics cannot be read.
    #[error(transparent)]
    Folder(#[from] StoreError),
    /// Mistakes in the files, each with its place; one a line.
    #[error("{}", .0.iter().map(ToString::to_string).collect::<Vec<_>>().join("\n"))]
    Mistakes(Vec<Mistake>),
}

/// The folder of the user's own rubrics: the one named, else the one in the environment's `TINWORM_RUBRICS`, else
/// `rubrics` in the usual configuration folder of the system; `None` if there is none.
#[must_use]
pub fn rubrics_folder(folder: Option<&Path>) -> Option<PathBuf> {
    let named = || std::env::var_os("TINWORM_RUBRICS").filter(|v| !v.is_empty());
    folder
        .map(Path::to_owned)
        .or_else(|| named().map(PathBuf::from))
        .or_else(|| Some(paths::own_folders()?.config_dir().join("rubrics")))
}

/// The rubrics in force: the program's, and the user's files by name, where an item replaces an earlier one with its id.
///
/// # Errors
/// When the folder cannot be read; else every mistake of every file, a file that cannot be read being one.
pub fn library(folder: Option<&Path>) -> Result<Library, LibraryError> {
    let files = user_files(folder)?;
    if files.is_empty() {
        return Ok(builtin::library().clone());
    }
    let mut sources = builtin::sources();
    let mut mistakes = Vec::new();
    for path in files {
        match source(&path) {
            Ok(source) => sources.push(source),
            Err(mistake) => mistakes.push(mistake),
        }
    }
    match check::load(&sources) {
        Ok(library) if mistakes.is_empty() => Ok(library),
        loaded => {
            mistakes.extend(loaded.err().unwrap_or_default());
            mistakes.sort();
            Err(LibraryError::Mistakes(mistakes))
        }
    }
}

/// The user's rubric files, by name: those that end in `.ron` and do not begin with a dot.
///
/// # Errors
/// When the folder cannot be read; that there is none is no error.
pub fn user_files(folder: Option<&Path>) -> Result<Vec<PathBuf>, StoreError> {
    let Some(folder) = rubrics_folder(folder) else {
        return Ok(Vec::new());
    };
    let fail = |e| StoreError::system("read", &folder, e);
    let entries = match fs::read_dir(&folder) {
        Err(error) if error.kind() == io::ErrorKind::NotFound => return Ok(Vec::new()),
        Err(error) if error.kind() == io::ErrorKind::NotADirectory => return Err(StoreError::NotAFolder(folder)),
        other => other.map_err(fail)?,
    };
    let mut files = Vec::new();
    for entry in entries {
        let path = entry.map_err(fail)?.path();
        let hidden = path.file_name().is_some_and(|n| n.to_string_lossy().starts_with('.'));
        if !hidden && path.extension().is_some_and(|e| e == "ron") {
            files.push(path);
        }
    }
    files.sort();
    Ok(files)
}

/// Reads one rubric file as text. These files are the user's: links are followed, and nothing is ever written to them.
///
/// # Errors
/// That it cannot be read, or where it is not UTF-8.
pub fn source(path: &Path) -> Result<SourceText, Mistake> {
    let name = clean(&path.to_string_lossy());
    let unreadable = |error: io::Error| Mistake {
        file: name.clone(),
        line: 1,
        column: 1,
        what: format!("the file cannot be read: {error}"),
        fix: "make it readable or move it out of the folder".to_owned(),
    };
    // Opening a pipe would wait for ever.
    if !fs::metadata(path).map_err(unreadable)?.is_file() {
        return Err(unreadable(io::Error::other("it is no ordinary file")));
    }
    let bytes = paths::read_up_to(path, LARGEST).and_then(|bytes| bytes.ok_or_else(|| io::ErrorKind::NotFound.into()));
    let bytes = bytes.map_err(unreadable)?;
    parse::from_bytes(&name, &bytes)
}
