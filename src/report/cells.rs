//! CSV text: quoting, and cells that a spreadsheet would run.
//!
//! A text cell that starts with `=`, `+`, `-` or `@`, also in their wide forms, is written with an apostrophe before it, and read back without. Numbers
//! are written as they are, with a decimal point.

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
    let text = text::clean(text);
    if text.trim_start().starts_with(STARTS_FORMULA) || starts_guarded(&text) {
        format!("'{text}")
    } else {
        text
    }
}

/// A text cell as it was before it was guarded.
#[must_use]
pub fn unguarded(text: &str) -> String {
    match text.strip_prefix('\'') {
        Some(rest) if rest.trim_start().starts_with(STARTS_FORMULA) || starts_guarded(rest) => rest.to_owned(),
        _ => text.to_owned(),
    }
}

/// Whether a text looks as if it were guarded already, so that guarding it once more keeps it apart.
fn starts_guarded(text: &str) -> bool {
    let rest = text.trim_start_matches('\'');
    rest.len() < text.len() && rest.trim_start().starts_with(STARTS_FORMULA)
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
    let mut writer = csv::Writer::from_writer(Vec::new());
    // Writing into memory cannot fail; a row of another length would, and is left out.
    let _ = writer.write_record(header);
    for row in rows {
        let _ = writer.write_record(row.iter().map(|cell| last_gate(cell)));
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
            "", "=A1", " +3", "-", "@x", "'=A1", "''=A1", "'quoted'", "3.2", "plain", "'", "a=b",
        ] {
            assert_eq!(unguarded(&guarded(text)), text, "{text}");
            assert!(!guarded(text).trim_start().starts_with(STARTS_FORMULA), "{text}");
        }
    }
}
