//! Reading a grading sheet that was filled in: every look of it, and every bad row with its line, column and remedy.
//!
//! Spreadsheets change more than the cells that were filled: the separator becomes a semicolon or a tab, the decimal point a
//! comma, a byte-order mark stands in front, quotes come and go, the text is no longer UTF-8. All of that is read. What is not
//! certain is refused, so that nothing is taken for something else.

pub mod cell;
pub mod preview;

use std::collections::BTreeMap;

use super::cells::unguarded;
use super::sheet::{COLUMNS, not_seen_from};
use crate::car::{Car, Look, Seen};
use crate::rubric::check::nearest;
use crate::rubric::{Library, PartId};

/// After so many bad rows the rest is not read.
const MOST_BAD: usize = 500;

/// A look read from a sheet.
#[derive(Debug, Clone, PartialEq)]
pub struct ReadLook {
    /// The line it begins on, from 1.
    pub line: u64,
    /// The look.
    pub look: Look,
    /// Whether the cell was written with a decimal comma, so that the value as understood should be shown.
    pub comma: bool,
}

/// A row that cannot be taken.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct BadRow {
    /// The line it begins on, from 1.
    pub line: u64,
    /// The column by its name, or empty when it is the whole row.
    pub column: String,
    /// What is wrong.
    pub what: String,
    /// What to do.
    pub fix: String,
}

impl std::fmt::Display for BadRow {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(f, "{}: ", self.line)?;
        if !self.column.is_empty() {
            write!(f, "column {}: ", self.column)?;
        }
        write!(f, "{}; {}", self.what, self.fix)
    }
}

/// What a filled sheet says.
#[derive(Debug, Clone, Default)]
pub struct Filled {
    /// The good looks, in the sheet's order.
    pub looks: Vec<ReadLook>,
    /// The bad rows.
    pub bad: Vec<BadRow>,
    /// Rows that were left empty: not looked at.
    pub empty: usize,
    /// Whether the text was no UTF-8 and was read as the code page of older spreadsheets.
    pub old_code_page: bool,
}

/// The places of the columns that are read.
struct Columns {
    part: usize,
    check: usize,
    value: usize,
    not_seen: Option<usize>,
    note: Option<usize>,
    count: usize,
}

/// Reads a filled sheet for a car.
#[must_use]
pub fn read(bytes: &[u8], car: &Car, library: &Library) -> Filled {
    let mut filled = Filled::default();
    let text = match std::str::from_utf8(bytes) {
        Ok(text) => text.to_owned(),
        Err(_) if bytes.contains(&0) => {
            filled.bad.push(bad(
                1,
                "",
                "this is no CSV text",
                "save the sheet as CSV with UTF-8 text",
            ));
            return filled;
        }
        Err(_) => {
            filled.old_code_page = true;
            windows_1252(bytes)
        }
    };
    let text = text.trim_start_matches('\u{feff}');
    // A line that only tells a spreadsheet the separator is passed over.
    let (skipped, text) = match text.split_once('\n') {
        Some((first, rest)) if first.trim().to_lowercase().starts_with("sep=") => (1, rest),
        _ => (0, text),
    };
    let mut reader = csv::ReaderBuilder::new()
        .delimiter(separator(text))
        .has_headers(false)
        .flexible(true)
        .trim(csv::Trim::All)
        .from_reader(text.as_bytes());
    let mut columns: Option<Columns> = None;
    let mut seen_at: BTreeMap<(PartId, String), u64> = BTreeMap::new();
    let mut last_line = 1;
    let mut unlisted = None;
    let mut lines = Lines::of(text);
    for record in reader.records() {
        let record = match record {
            Ok(record) => record,
            Err(error) => {
                filled.bad.push(bad(
                    last_line,
                    "",
                    &format!("the row cannot be read: {error}"),
                    "save the sheet as CSV again",
                ));
                break;
            }
        };
        let line = record.position().map_or(last_line, |p| lines.of_record(p.byte())) + skipped;
        last_line = line;
        if record.iter().all(|c| c.trim().is_empty()) {
            continue;
        }
        let Some(columns) = &columns else {
            match header(&record, line) {
                Ok(found) => columns = Some(found),
                Err(mistake) => {
                    filled.bad.push(mistake);
                    return filled;
                }
            }
            continue;
        };
        match row(&record, line, columns, car, library, &mut seen_at) {
            Ok(Some(look)) => filled.looks.push(look),
            Ok(None) => filled.empty += 1,
            // The rows after them are still read: whoever takes the good ones takes all of them.
            Err(_) if filled.bad.len() >= MOST_BAD => unlisted = unlisted.or(Some(line)),
            Err(mistakes) => filled.bad.extend(mistakes),
        }
    }
    if let Some(line) = unlisted {
        let fix = "mend those above first; is it the right file?";
        filled
            .bad
            .push(bad(line, "", "there are more bad rows than are worth listing", fix));
    }
    if columns.is_none() && filled.bad.is_empty() {
        filled.bad.push(bad(
            1,
            "",
            "the sheet is empty",
            "begin with the sheet of `tinworm sheet CAR --csv`",
        ));
    }
    if text.matches('"').count() % 2 == 1 {
        filled.bad.push(bad(
            last_line,
            "",
            "a quote is opened in this row and never closed, so all that follows is swallowed",
            "close it or take it out",
        ));
    }
    filled
}

fn bad(line: u64, column: &str, what: &str, fix: &str) -> BadRow {
    BadRow {
        line,
        column: column.to_owned(),
        what: what.to_owned(),
        fix: fix.to_owned(),
    }
}

/// Counts lines on the way through a text. The reader's own count cannot be used: it starts a record before the second half
/// of a line end of two characters, and before empty lines.
struct Lines<'t> {
    text: &'t [u8],
    at: usize,
    feeds: u64,
    returns: u64,
}

impl<'t> Lines<'t> {
    fn of(text: &'t str) -> Lines<'t> {
        Lines {
            text: text.as_bytes(),
            at: 0,
            feeds: 0,
            returns: 0,
        }
    }

    /// The line, from 1, on which the record begins that is read from a byte on; bytes are asked for in rising order.
    fn of_record(&mut self, byte: u64) -> u64 {
        let byte = usize::try_from(byte).unwrap_or(usize::MAX);
        while let Some(this) = self.text.get(self.at) {
            if self.at >= byte && !matches!(this, b'\r' | b'\n') {
                break;
            }
            self.feeds += u64::from(*this == b'\n');
            self.returns += u64::from(*this == b'\r');
            self.at += 1;
        }
        // Where lines end in a carriage return alone there is no line feed to count.
        let ends = if self.feeds == 0 { self.returns } else { self.feeds };
        ends.saturating_add(1)
    }
}

/// The separator: whichever of comma, semicolon and tab stands most often in the first line.
fn separator(text: &str) -> u8 {
    let first = text.lines().find(|l| !l.trim().is_empty()).unwrap_or_default();
    let mut best = (b',', 0);
    for mark in [b',', b';', b'\t'] {
        let count = first.bytes().filter(|b| *b == mark).count();
        if count > best.1 {
            best = (mark, count);
        }
    }
    best.0
}

/// Text in the code page that spreadsheets wrote before UTF-8.
fn windows_1252(bytes: &[u8]) -> String {
    const HIGH: [char; 32] = [
        '€', '\u{81}', '‚', 'ƒ', '„', '…', '†', '‡', 'ˆ', '‰', 'Š', '‹', 'Œ', '\u{8d}', 'Ž', '\u{8f}', '\u{90}', '‘',
        '’', '“', '”', '•', '–', '—', '˜', '™', 'š', '›', 'œ', '\u{9d}', 'ž', 'Ÿ',
    ];
    bytes
        .iter()
        .map(|b| match b {
            0x80..=0x9f => HIGH.get(usize::from(b - 0x80)).copied().unwrap_or('?'),
            b => char::from(*b),
        })
        .collect()
}

fn header(record: &csv::StringRecord, line: u64) -> Result<Columns, BadRow> {
    let names: Vec<String> = record
        .iter()
        .map(|c| unguarded(c).trim().to_lowercase().replace([' ', '-'], "_"))
        .collect();
    let find = |wanted: &[&str]| names.iter().position(|n| wanted.contains(&n.as_str()));
    for name in COLUMNS {
        if names.iter().filter(|n| *n == name).count() > 1 {
            return Err(bad(line, name, "the column is there twice", "take one of them out"));
        }
    }
    let need = |wanted: &[&str]| {
        find(wanted).ok_or_else(|| {
            let name = wanted.first().copied().unwrap_or_default();
            bad(
                line,
                name,
                &format!("the first row has no column `{name}`, it has {}", names.join(", ")),
                "begin with the sheet of `tinworm sheet CAR --csv` and keep its first row",
            )
        })
    };
    Ok(Columns {
        part: need(&["part"])?,
        check: need(&["check"])?,
        value: need(&["grade_or_reading", "grade", "reading"])?,
        not_seen: find(&["not_seen"]),
        note: find(&["note"]),
        count: names.len(),
    })
}

fn row(
    record: &csv::StringRecord,
    line: u64,
    columns: &Columns,
    car: &Car,
    library: &Library,
    seen_at: &mut BTreeMap<(PartId, String), u64>,
) -> Result<Option<ReadLook>, Vec<BadRow>> {
    let one = |column: &str, what: String, fix: &str| vec![bad(line, column, &what, fix)];
    let cell = |at: usize| unguarded(record.get(at).unwrap_or_default().trim());
    if let Some(extra) = record.iter().skip(columns.count).find(|c| !c.trim().is_empty()) {
        return Err(one(
            "",
            format!("the row has more cells than the first row; `{extra}` is beyond its end"),
            "put quotes round a cell that holds the separator, such as \"3,2\"",
        ));
    }
    let value = cell(columns.value);
    let reason = columns.not_seen.map(cell).unwrap_or_default();
    let note = columns.note.map(cell).unwrap_or_default();
    let (part, check) = (cell(columns.part), cell(columns.check));
    if value.is_empty() && reason.is_empty() {
        if note.is_empty() {
            return Ok(None);
        }
        return Err(one(
            "note",
            "there is a note but no grade".to_owned(),
            "write a grade or reading, or why it was not seen",
        ));
    }
    let id: PartId = part.parse().map_err(|_| {
        one(
            "part",
            format!("`{part}` is no part"),
            "write component@station as the sheet does, for example track-rod-end@front-left",
        )
    })?;
    let there = car.part_ids(library);
    if !there.contains(&id) {
        let texts: Vec<String> = there.iter().map(ToString::to_string).collect();
        let fix = match nearest(&part, texts.iter().map(String::as_str)) {
            Some(near) => format!("did you mean {near}?"),
            None => "add it with `tinworm part CAR PART --add`, or take the row out".to_owned(),
        };
        return Err(one("part", format!("this car has no part {id}"), &fix));
    }
    let Some(found) = library.check(&id.component, &check) else {
        let known: Vec<&str> = library
            .component(&id.component)
            .map(|c| c.checks.iter().map(|k| k.id.as_str()).collect())
            .unwrap_or_default();
        return Err(one(
            "check",
            format!("{} has no check `{check}`", id.component),
            &format!("it has {}", known.join(", ")),
        ));
    };
    if let Some(first) = seen_at.insert((id.clone(), check.clone()), line) {
        return Err(one(
            "",
            format!("{id} {check} stands on line {first} already"),
            "keep one of the two rows",
        ));
    }
    let (seen, comma) = if reason.is_empty() {
        cell::seen(&value, car, &id, found).map_err(|(what, fix)| one("grade_or_reading", what, &fix))?
    } else if !value.is_empty() {
        return Err(one(
            "not_seen",
            format!("there is both `{value}` and a reason for not having seen it"),
            "keep one of the two",
        ));
    } else {
        let why = not_seen_from(&reason).ok_or_else(|| {
            one(
                "not_seen",
                format!("`{reason}` is no reason known"),
                "write covered, out of reach, no tool or later",
            )
        })?;
        (Seen::Not(why), false)
    };
    Ok(Some(ReadLook {
        line,
        comma,
        look: Look {
            part: id,
            check,
            seen,
            note,
            photos: Vec::new(),
        },
    }))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_separator_is_found() {
        assert_eq!(separator("part;check;grade_or_reading\n"), b';');
        assert_eq!(separator("\npart\tcheck\n"), b'\t');
        assert_eq!(separator("part\n"), b',');
    }

    #[test]
    fn lines_are_counted_whatever_ends_them() {
        for text in ["a,b\n\nc,d\ne,f\n", "a,b\r\n\r\nc,d\r\ne,f\r\n", "a,b\r\rc,d\re,f\r"] {
            let mut reader = csv::ReaderBuilder::new()
                .has_headers(false)
                .from_reader(text.as_bytes());
            let mut counted = Lines::of(text);
            let lines: Vec<u64> = reader
                .records()
                .filter_map(|r| r.ok()?.position().map(|p| counted.of_record(p.byte())))
                .collect();
            assert_eq!(lines, [1, 3, 4], "{text:?}");
        }
    }

    #[test]
    fn the_old_code_page_keeps_dashes_and_umlauts() {
        assert_eq!(windows_1252(b"L\xe4nge \x96 \x80"), "Länge – €");
    }
}
