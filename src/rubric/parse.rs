//! Reading one rubric file.

use super::model::RubricFile;

/// Reads one rubric file.
///
/// # Errors
/// The first mistake in the text, with its line and column.
pub fn file(text: &str) -> Result<RubricFile, ron::error::SpannedError> {
    ron::Options::default()
        .with_default_extension(ron::extensions::Extensions::IMPLICIT_SOME)
        .with_recursion_limit(64)
        .from_str(text)
}
