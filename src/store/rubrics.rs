//! The rubrics in force: those of the program and those of its user.

use std::fs;
use std::path::{Path, PathBuf};

use super::error::StoreError;
use super::{paths, recover};
use crate::rubric::{Library, RubricFile, parse};

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

/// The rubrics in force: the items of the user's files laid over each other by name of file.
///
/// # Errors
/// When a file cannot be read, or all mistakes in them.
pub fn library(config: Option<&Path>) -> Result<Library, LibraryError> {
    let mut all = RubricFile::default();
    let mut mistakes = Vec::new();
    for path in user_files(config)? {
        let folder = path.parent().unwrap_or(&path);
        let bytes = paths::bytes(&path, folder)?.unwrap_or_default();
        match recover::text(&bytes) {
            Err(fault) => mistakes.push(format!(
                "{}:{}:{}: {}",
                path.display(),
                fault.line,
                fault.column,
                fault.what
            )),
            Ok(text) => match parse::file(text) {
                Err(error) => mistakes.push(format!("{}:{error}", path.display())),
                Ok(file) => {
                    all.components.extend(file.components);
                    all.repairs.extend(file.repairs);
                    all.access_steps.extend(file.access_steps);
                    all.follow_ups.extend(file.follow_ups);
                    all.layouts.extend(file.layouts);
                    all.thread_grades.extend(file.thread_grades);
                    all.threads.extend(file.threads);
                    all.strength_classes.extend(file.strength_classes);
                    all.climates.extend(file.climates);
                    all.storages.extend(file.storages);
                    all.cautions.extend(file.cautions);
                }
            },
        }
    }
    if mistakes.is_empty() {
        Ok(Library::unchecked(all))
    } else {
        Err(LibraryError::Mistakes(mistakes))
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
