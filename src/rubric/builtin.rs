//! The rubric files that ship with the program.

use std::sync::OnceLock;

use super::check;
use super::library::Library;
use super::parse::SourceText;

/// The shipped files; a test compares this table with the folder.
const FILES: &[(&str, &str)] = &[("rubrics/climate.ron", include_str!("../../rubrics/climate.ron"))];

/// The shipped files as sources, in the order of their names.
#[must_use]
pub fn sources() -> Vec<SourceText> {
    FILES
        .iter()
        .map(|(name, text)| SourceText {
            name: (*name).to_owned(),
            text: (*text).to_owned(),
        })
        .collect()
}

/// The shipped rubrics, read once. Tests see to it that they hold no mistake; what a mistake would leave readable is used.
pub fn library() -> &'static Library {
    static LIBRARY: OnceLock<Library> = OnceLock::new();
    LIBRARY.get_or_init(|| Library::unchecked(check::look(&sources()).0))
}
