//! Reading rubric files: from text to plain types, with every mistake of form at its line and column.
//!
//! A file is read as RON in which `Some(…)` may be left out. A value that cannot be read does not end the reading: the
//! item of the list it stands in is laid aside, and the rest of the file is read again, until nothing more is found.
//! Mistakes that only show when items are set side by side are found by [`super::check`].

mod lex;
pub mod locate;
mod read;
mod wording;

use std::fmt;

use super::model::RubricFile;
pub use read::Reading;

/// A rubric file as text.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct SourceText {
    /// Its name as shown to the user: `rubrics/steering.ron`, or the path in the user's folder.
    pub name: String,
    /// What it holds.
    pub text: String,
}

/// One mistake in a rubric file.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub struct Mistake {
    /// The file's name.
    pub file: String,
    /// The line, counted from 1.
    pub line: usize,
    /// The column, counted from 1, in characters.
    pub column: usize,
    /// What was found.
    pub what: String,
    /// What to do about it.
    pub fix: String,
}

impl fmt::Display for Mistake {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(
            f,
            "{}:{}:{}: {}; {}",
            self.file, self.line, self.column, self.what, self.fix
        )
    }
}

impl std::error::Error for Mistake {}

/// Makes a source of the bytes of a file; a byte-order mark at the beginning is dropped.
///
/// # Errors
/// When the bytes are no UTF-8: the place of the first that is not.
///
/// # Example
/// ```
/// use tinworm::rubric::parse::from_bytes;
/// assert_eq!(from_bytes("a.ron", b"\xEF\xBB\xBF(schema: 1)").map(|s| s.text).as_deref(), Ok("(schema: 1)"));
/// let mistake = from_bytes("a.ron", b"(\n  \xFF").map(|_| ()).unwrap_err();
/// assert_eq!((mistake.line, mistake.column), (2, 3));
/// ```
pub fn from_bytes(name: &str, bytes: &[u8]) -> Result<SourceText, Mistake> {
    match std::str::from_utf8(bytes) {
        Ok(text) => Ok(SourceText {
            name: name.to_owned(),
            text: without_mark(text).to_owned(),
        }),
        Err(error) => {
            let good = bytes.get(..error.valid_up_to()).unwrap_or_default();
            let before = without_mark(std::str::from_utf8(good).unwrap_or_default());
            let last_line = before.rsplit('\n').next().unwrap_or_default();
            Err(Mistake {
                file: crate::text::clean(name),
                line: before.matches('\n').count() + 1,
                column: last_line.chars().count() + 1,
                what: format!("byte {} of the file is no UTF-8 text", error.valid_up_to() + 1),
                fix: "save the file as UTF-8 in your editor".to_owned(),
            })
        }
    }
}

/// A text without the byte-order mark some editors put before it.
fn without_mark(text: &str) -> &str {
    text.strip_prefix('\u{feff}').unwrap_or(text)
}

/// Reads one rubric file by itself; what it refers to is not looked for.
///
/// # Errors
/// All mistakes of form, in the order of the text.
pub fn file(name: &str, text: &str) -> Result<RubricFile, Vec<Mistake>> {
    let reading = Reading::of(&SourceText {
        name: name.to_owned(),
        text: text.to_owned(),
    });
    if reading.mistakes.is_empty() {
        Ok(reading.file)
    } else {
        Err(reading.mistakes)
    }
}
