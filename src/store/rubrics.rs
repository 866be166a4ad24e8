//! The rubrics in force: those of the program and those of its user.

use std::fs;
use std::path::{Path, PathBuf};

use super::error::StoreError;
use super::paths;
use crate::rubric::parse::{Mistake, SourceText};
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

/// The folder of the user's own rubrics: the one named, else the one in the environment's `TINWORM_RUBRICS`, else
/// `rubrics` in the usual configuration folder of the system; `None` if there is none.
#[must_use]
pub fn rubrics_folder(named: Option<&Path>) -> Option<PathBuf> {
    named
        .map(Path::to_owned)
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
pub fn library(named: Option<&Path>) -> Result<Library, LibraryError> {
    let (own, mut mistakes) = user_rubrics(named)?;
    let mut sources = builtin::sources();
    sources.extend(own);
    match check::load(&sources) {
        Ok(library) if mistakes.is_empty() => Ok(library),
        loaded => {
            mistakes.extend(loaded.err().unwrap_or_default());
            Err(LibraryError::Mistakes(
                mistakes.iter().map(ToString::to_string).collect(),
            ))
        }
    }
}

/// The user's rubric files by name, and what keeps some of them from being text.
///
/// # Errors
/// When the folder or a file cannot be read.
pub fn user_rubrics(named: Option<&Path>) -> Result<(Vec<SourceText>, Vec<Mistake>), StoreError> {
    let (mut sources, mut mistakes) = (Vec::new(), Vec::new());
    for path in user_files(named)? {
        match rubric_file(&path)? {
            Ok(source) => sources.push(source),
            Err(mistake) => mistakes.push(mistake),
        }
    }
    Ok((sources, mistakes))
}

/// One rubric file as a source, or the mistake that keeps it from being text.
///
/// # Errors
/// When it cannot be read at all, is no ordinary file, or a link leads out of its folder.
pub fn rubric_file(path: &Path) -> Result<Result<SourceText, Mistake>, StoreError> {
    let folder = match path.parent() {
        Some(parent) if !parent.as_os_str().is_empty() => parent,
        _ => Path::new("."),
    };
    let Some(bytes) = paths::bytes(path, folder)? else {
        return Err(StoreError::Missing {
            file: path.to_owned(),
            remedy: "name a rubric file that exists",
        });
    };
    Ok(parse::from_bytes(&path.display().to_string(), &bytes))
}

/// The user's rubric files, by name.
fn user_files(named: Option<&Path>) -> Result<Vec<PathBuf>, StoreError> {
    let Some(folder) = rubrics_folder(named) else {
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
