//! CSV text: quoting, and cells that a spreadsheet would run.
//!
//! A text cell that starts with `=`, `+`, `-` or `@`, also in their wide forms, a blank, a tab or a line end is written with an apostrophe
//! before it, and read back without. Numbers are written as they are, with a decimal point.

use crate::text;

/// What a spreadsheet takes for the start of a formula.
const STARTS_FORMULA: [char; 8] = ['=', '+', '-', '@', '＝', '＋', '－', '＠'];

/// A text cell that no spreadsheet runs.
///
/// # Example
/// ```
/// use tinworm::report::cells::{guarded, unguarded};
/// assert_eq!(guarded("=1+1"), "'=1+1");
/// assert_eq!(unguarded(&guarded("=1+1")), "=1+1");
/// assert_eq!(guarded("boot split"), "boot split");
/// ```
#[must_use]
pub fn guarded(text: &str) -> String {
    guard(text::clean(text))
}

/// The same, for a text that will be read back: tabs and line ends stay as they are.
#[must_use]
pub fn kept(text: &str) -> String {
    let ends = ['\t', '\r', '\n'];
    let pieces = text.split_inclusive(ends).map(|piece| match piece.chars().next_back() {
        Some(end) if ends.contains(&end) => text::clean(piece.trim_end_matches(end)) + &end.to_string(),
        _ => text::clean(piece),
    });
    guard(pieces.collect())
}

fn guard(text: String) -> String {
    if wants_guard(&text) { format!("'{text}") } else { text }
}

/// A text cell as it was before it was guarded.
#[must_use]
pub fn unguarded(text: &str) -> String {
    match text.strip_prefix('\'') {
        Some(rest) if wants_guard(rest) => rest.to_owned(),
        _ => text.to_owned(),
    }
}

/// Whether a spreadsheet might run it, or take blanks, tabs or line ends off its front; or whether it looks as if it were
/// guarded already, so that guarding it once more keeps it apart.
fn wants_guard(text: &str) -> bool {
    let rest = text.trim_start_matches('\'');
    rest.starts_with(char::is_whitespace) || rest.starts_with(STARTS_FORMULA)
}

/// A cell as it may stand in a file: what is no number is guarded, whoever made it. Guarding twice does nothing more.
fn last_gate(cell: &str) -> String {
    let number = cell.parse::<f64>().is_ok_and(f64::is_finite);
    let guarded_already = cell.starts_with('\'') && !cell.chars().any(text::is_hostile);
    if number || guarded_already {
        cell.to_owned()
    } else {
        guarded(cell)
    }
}

/// Rows as CSV text with line ends as spreadsheets and Unix tools both read them.
#[must_use]
pub fn csv(header: &[&str], rows: &[Vec<String>]) -> String {
    let gated: Vec<Vec<String>> = rows
        .iter()
        .map(|row| row.iter().map(|cell| last_gate(cell)).collect())
        .collect();
    written(csv::Writer::from_writer(Vec::new()), header, &gated)
}

/// Rows as CSV text to be filled in and given back, with the line ends of RFC 4180. The cells are taken as they are: text among them must have gone
/// through [`guarded`] or [`kept`].
#[must_use]
pub fn csv_to_fill(header: &[&str], rows: &[Vec<String>]) -> String {
    let mut builder = csv::WriterBuilder::new();
    builder.terminator(csv::Terminator::CRLF);
    written(builder.from_writer(Vec::new()), header, rows)
}

fn written(mut writer: csv::Writer<Vec<u8>>, header: &[&str], rows: &[Vec<String>]) -> String {
    // Writing into memory cannot fail; a row of another length would, and is left out.
    let _ = writer.write_record(header);
    for row in rows {
        let _ = writer.write_record(row);
    }
    writer
        .into_inner()
        .map(|bytes| String::from_utf8_lossy(&bytes).into_owned())
        .unwrap_or_default()
}

/// A number as a cell: shortest text that reads back the same, empty when there is none.
#[must_use]
pub fn number(value: Option<f64>) -> String {
    value
        .filter(|v| v.is_finite())
        .map(|v| v.to_string())
        .unwrap_or_default()
}

/// A number rounded to so many decimals, as a cell.
#[must_use]
pub fn rounded(value: f64, decimals: usize) -> String {
    if value.is_finite() {
        format!("{value:.decimals$}")
    } else {
        String::new()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn guarding_can_always_be_undone() {
        for text in [
            "", "=A1", " +3", "-", "@x", "'=A1", "''=A1", "'quoted'", "3.2", "plain", "'", "a=b", "\t=1", "\tx",
            "\r=1", "\n", " x", "'\tx", "x\ty",
        ] {
            assert_eq!(unguarded(&kept(text)), text, "{text:?}");
            for cell in [guarded(text), kept(text)] {
                assert!(!cell.trim_start().starts_with(STARTS_FORMULA), "{text:?}");
                assert!(!cell.starts_with(char::is_whitespace), "{text:?}");
            }
            assert_eq!(unguarded(&guarded(text)), text::clean(text), "{text:?}");
        }
    }
}
