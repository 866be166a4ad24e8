//! Photos on disk, as far as the screens need them.

use std::path::{Path, PathBuf};
use std::sync::Arc;

use super::{Kept, World};
use crate::car::{Car, Change, Look, NotSeen, Seen};
use crate::picture;
use crate::store::{Photos, StoreError};
use crate::tui::screen::files::{Entry, For};
use crate::tui::screen::photo::Read;

/// The longest side of a photo read for the screens, in points: more than any terminal shows.
const LONGEST_SIDE: u32 = 480;

/// The most lines of a folder.
const MOST_LINES: usize = 5000;

/// A path as it was typed, `~` being the home folder.
fn path_of(typed: &str) -> PathBuf {
    let home = || directories::BaseDirs::new().map(|dirs| dirs.home_dir().to_owned());
    match typed
        .strip_prefix('~')
        .filter(|rest| rest.is_empty() || rest.starts_with(std::path::is_separator))
    {
        Some(rest) => home().map_or_else(
            || PathBuf::from(typed),
            |home| home.join(rest.trim_start_matches(std::path::is_separator)),
        ),
        None => PathBuf::from(typed),
    }
}

/// The folders and pictures of a folder, folders first.
///
/// # Errors
/// Why it cannot be read.
pub fn folder(typed: &str) -> Result<Vec<Entry>, String> {
    let path = path_of(if typed.is_empty() { "." } else { typed });
    let entries = std::fs::read_dir(&path).map_err(|e| format!("{typed}: {e}"))?;
    let mut lines = Vec::new();
    for entry in entries.flatten().take(MOST_LINES) {
        let Ok(name) = entry.file_name().into_string() else {
            continue;
        };
        let ending = Path::new(&name).extension().map(|e| e.to_ascii_lowercase());
        let picture = ending.is_some_and(|e| e == "jpg" || e == "jpeg" || e == "png");
        let is_folder = std::fs::metadata(entry.path()).is_ok_and(|what| what.is_dir());
        if !name.starts_with('.') && (is_folder || picture) {
            lines.push(Entry { file: !is_folder, name });
        }
    }
    lines.sort();
    Ok(lines)
}

/// Reads a photo for the screens.
///
/// # Errors
/// Why it cannot be shown.
pub fn read(photos: &Result<Photos, String>, name: &str) -> Read {
    let bytes = photos
        .as_ref()
        .map_err(String::clone)?
        .photo(name)
        .map_err(|why| why.to_string())?;
    let points = picture::points(&bytes, LONGEST_SIDE).map_err(|why| why.to_string())?;
    Ok(Arc::new(points))
}

impl World {
    /// Copies a photo in and hangs it on a look, which is begun if there is none: the car, and what to say.
    ///
    /// # Errors
    /// Why not, in a sentence; nothing is changed then.
    pub fn attach(&mut self, to: &For, typed: &str) -> Result<(Arc<Car>, String), String> {
        let Kept::Disk(open) = &mut self.kept else {
            return Err("this car is kept in memory only".to_owned());
        };
        let taken = open.take_photo(&path_of(typed)).map_err(|error| match error {
            // The path stands on the screen already; the reason must not be pushed off the line by it.
            StoreError::BadPhoto { why, .. } => why.to_string(),
            other => other.to_string(),
        })?;
        let survey = open.car().surveys.iter().find(|s| s.date == to.survey);
        let mut look = survey
            .and_then(|s| s.look(&to.part, &to.check))
            .cloned()
            .unwrap_or_else(|| Look {
                part: to.part.clone(),
                check: to.check.clone(),
                seen: Seen::Not(NotSeen::Later),
                note: String::new(),
                photos: Vec::new(),
            });
        if look.photos.contains(&taken.name) {
            return Ok((
                Arc::new(open.car().clone()),
                "This check has that photo already.".to_owned(),
            ));
        }
        look.photos.push(taken.name.clone());
        let count = look.photos.len();
        let change = Change::Look {
            survey: to.survey,
            look,
        };
        if let Err(error) = open.record(change) {
            // What was copied in for nothing goes again; that it stays does no harm.
            let _ = open.forget_photo(&taken.name);
            return Err(error.to_string());
        }
        let place = if taken.head.place {
            " The place is written in it; reports are without."
        } else {
            ""
        };
        let said = format!(
            "Photo {count} of this check kept, {} by {} points.{place}",
            taken.head.width, taken.head.height
        );
        Ok((Arc::new(open.car().clone()), said))
    }

    /// The photos of the car in hand.
    ///
    /// # Errors
    /// Why there are none.
    pub fn photos(&self) -> Result<Photos, String> {
        match &self.kept {
            Kept::Disk(open) => Ok(open.photos()),
            _ => Err("this car is kept in memory only, without photos".to_owned()),
        }
    }

    /// Where a photo stands.
    ///
    /// # Errors
    /// Why it cannot be opened.
    pub fn photo_file(&self, name: &str) -> Result<PathBuf, String> {
        match &self.kept {
            Kept::Disk(open) => open.photo_file(name).map_err(|e| e.to_string()),
            _ => Err("this car is kept in memory only, without photos".to_owned()),
        }
    }
}
