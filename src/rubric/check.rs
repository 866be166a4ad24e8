//! Finding every mistake in a set of rubric files, and making a [`Library`] of a set without any.
//!
//! Three passes: each file is read as far as it can be ([`super::parse`]); the items of all files are laid over each other,
//! a later file's item replacing an earlier one of the same id; then every item is looked at by itself, and every
//! reference and chain among the items in force. What could not be read is taken to exist, so that one mistake does not
//! call forth ten others.

mod alike;
mod circle;
mod component;
mod findings;
mod gather;
mod near;
mod repair;
mod tables;

use super::library::Library;
use super::model::RubricFile;
use super::parse::{Mistake, Reading, SourceText};
use findings::Findings;
use gather::Set;

pub use near::nearest;

/// Reads and checks a set of files; items of later files replace those of earlier ones with the same id.
///
/// # Errors
/// Every mistake of every file, sorted by file, line and column.
pub fn load(sources: &[SourceText]) -> Result<Library, Vec<Mistake>> {
    let (file, mistakes) = look(sources);
    if mistakes.is_empty() {
        Ok(Library::unchecked(file))
    } else {
        Err(mistakes)
    }
}

/// What could be read of a set of files, laid together, and every mistake in them.
#[must_use]
pub fn look(sources: &[SourceText]) -> (RubricFile, Vec<Mistake>) {
    let readings: Vec<Reading> = sources.iter().map(Reading::of).collect();
    let mut findings = Findings::new(&readings);
    let set = Set::of(&readings, &mut findings);
    component::check_all(&set, &mut findings);
    repair::check_all(&set, &mut findings);
    tables::check_all(&set, &mut findings);
    circle::check_all(&set, &mut findings);
    (set.merged(), findings.sorted())
}
