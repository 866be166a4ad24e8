//! The journal: one line for each record, `checksum number changes`.
//!
//! The checksum is the CRC-32 of the rest of the line in eight hexadecimal digits, the number rises by one from line to
//! line, the changes are a RON list. A record is synced before the next one is begun, so at most the last line of a
//! journal can be torn; anything else that does not read is damage. Behind the number stands `@` and the schema of the changes, but
//! for the first schema.

use std::fs::{File, OpenOptions};
use std::io::Write;
use std::path::{Path, PathBuf};

use super::error::StoreError;
use super::migrate;
use super::paths::{ordinary, same_file};
use super::snapshot::{self, Refusal, SCHEMA};
use crate::car::Change;

/// One record: changes that belong together.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Record {
    /// Its number.
    pub number: u64,
    /// Its changes, in order.
    pub changes: Vec<Change>,
}

/// What a journal holds.
#[derive(Debug, Default)]
pub(super) struct Contents {
    /// The records before the first line that does not read.
    pub records: Vec<Record>,
    /// Length of that part in bytes.
    pub good: usize,
    /// What comes after it.
    pub tail: Tail,
}

/// What comes after the good part of a journal.
#[derive(Debug, Default, PartialEq, Eq)]
pub(super) enum Tail {
    /// Nothing.
    #[default]
    Clean,
    /// One record that was not completely written.
    Torn,
    /// Damage: the line it is in, from 1, and what was found.
    Damaged(usize, String),
}

/// The line of a record, with its newline, once it is certain that it can be read again.
pub(super) fn line(record: &Record) -> Result<String, StoreError> {
    let changes = snapshot::compact(&record.changes)?;
    let body = format!("{}{} {changes}", record.number, migrate::mark(SCHEMA));
    let line = format!("{:08x} {body}\n", crc32fast::hash(body.as_bytes()));
    let back = read(line.as_bytes());
    if back.tail == Tail::Clean && back.records.as_slice() == std::slice::from_ref(record) {
        Ok(line)
    } else {
        let what = "this cannot be written so that it can be read again; look for part names that are none";
        Err(StoreError::BadValue(what.to_owned()))
    }
}

/// Reads a whole journal; never fails, since what does not read is part of the answer.
pub(super) fn read(bytes: &[u8]) -> Contents {
    let mut contents = Contents::default();
    let mut rest = bytes;
    let mut line_number = 0;
    while !rest.is_empty() {
        line_number += 1;
        let end = rest.iter().position(|b| *b == b'\n');
        let (this, after) = match end {
            Some(end) => rest.split_at(end + 1),
            None => (rest, [].as_slice()),
        };
        let expected = contents.records.last().map(|r| r.number + 1);
        match verified(this) {
            None => {
                contents.tail = judge(rest, after.is_empty(), line_number);
                return contents;
            }
            Some(body) => match record(body) {
                Err(what) => {
                    contents.tail = Tail::Damaged(line_number, what);
                    return contents;
                }
                Ok(record) => {
                    if let Some(expected) = expected.filter(|n| *n != record.number) {
                        let what = format!(
                            "record {expected} should stand here, but it is record {}",
                            record.number
                        );
                        contents.tail = Tail::Damaged(line_number, what);
                        return contents;
                    }
                    contents.records.push(record);
                    contents.good += this.len();
                    rest = after;
                }
            },
        }
    }
    contents
}

/// The checked part of a line that ends in a newline and whose checksum is right.
fn verified(line: &[u8]) -> Option<&str> {
    let sum = claimed(line)?;
    let body = line.get(9..)?.strip_suffix(b"\n")?;
    if sum != crc32fast::hash(body) {
        return None;
    }
    std::str::from_utf8(body).ok()
}

/// Whether an unreadable rest is one torn record or damage. It is torn only if it is the last line and no whole record
/// hides in it (which would mean that a newline between two records was lost).
fn judge(rest: &[u8], last_line: bool, line_number: usize) -> Tail {
    if last_line && !hides_a_record(rest) {
        Tail::Torn
    } else {
        Tail::Damaged(line_number, "the record does not match its checksum".to_owned())
    }
}

/// Whether a whole record begins somewhere after the first byte of a line and ends with it.
///
/// The checksum of what follows each place is had from those of the whole line and of what stands before the place, so
/// that a line of many megabytes made of nothing but beginnings does not take for ever.
fn hides_a_record(line: &[u8]) -> bool {
    let Some(text) = line.strip_suffix(b"\n") else {
        return false;
    };
    let whole = crc32fast::hash(text);
    let mut before = crc32fast::Hasher::new();
    let mut hashed = 0;
    for at in 1..text.len() {
        let Some(sum) = text.get(at..).and_then(claimed) else {
            continue;
        };
        let body_at = at + 9;
        before.update(text.get(hashed..body_at).unwrap_or_default());
        hashed = body_at;
        // The checksum of the part before, moved past as many bytes as the body has.
        let mut moved = before.clone();
        let body_length = (text.len() - body_at) as u64;
        moved.combine(&crc32fast::Hasher::new_with_initial_len(0, body_length));
        if moved.finalize() ^ whole == sum {
            return true;
        }
    }
    false
}

/// The checksum that a line begins with, if it begins with one and a space.
fn claimed(line: &[u8]) -> Option<u32> {
    let (sum, rest) = line.split_at_checked(8)?;
    rest.strip_prefix(b" ")?;
    if !sum.iter().all(|b| b.is_ascii_digit() || (b'a'..=b'f').contains(b)) {
        return None;
    }
    u32::from_str_radix(std::str::from_utf8(sum).ok()?, 16).ok()
}

fn record(body: &str) -> Result<Record, String> {
    let (number, changes) = body
        .split_once(' ')
        .ok_or_else(|| "the record has no number".to_owned())?;
    let (number, schema) = migrate::marked(number).ok_or_else(|| format!("`{number}` is no number of a record"))?;
    let understood = migrate::changes(schema, changes).and_then(|changes| {
        let changes = snapshot::parse::<Vec<Change>>(&changes);
        changes.map_err(Refusal::Fault)
    });
    let changes = understood.map_err(|refusal| match refusal {
        Refusal::Newer(schema) => format!("record {number} was written by a newer tinworm (schema {schema})"),
        Refusal::Fault(fault) => format!(
            "record {number} cannot be understood ({}); a newer tinworm may have written it",
            fault.what
        ),
    })?;
    for change in &changes {
        super::values::of_change(change).map_err(|what| format!("record {number}: {what}"))?;
    }
    Ok(Record { number, changes })
}

/// A journal open for appending.
#[derive(Debug)]
pub(super) struct Journal {
    path: PathBuf,
    file: File,
    /// Length of the part that is known to be on disk and right.
    length: u64,
    /// Why nothing more may be appended.
    stopped: Option<String>,
}

impl Journal {
    /// Opens the journal of a folder for appending, cutting it to its good length.
    pub(super) fn open(folder: &Path, length: u64) -> Result<Journal, StoreError> {
        let path = folder.join("journal");
        ordinary(&path, folder)?;
        let file = OpenOptions::new()
            .append(true)
            .open(&path)
            .map_err(|e| StoreError::system("open", &path, e))?;
        let present = file.metadata().map_err(|e| StoreError::system("read", &path, e))?.len();
        if present > length {
            file.set_len(length)
                .map_err(|e| StoreError::system("write", &path, e))?;
            file.sync_all().map_err(|e| StoreError::system("write", &path, e))?;
        }
        Ok(Journal {
            path,
            file,
            length,
            stopped: None,
        })
    }

    /// The length in bytes.
    pub(super) fn length(&self) -> u64 {
        self.length
    }

    /// Whether something may be appended: no write went wrong before, and nobody else has touched the file.
    pub(super) fn usable(&mut self, folder: &Path) -> Result<(), StoreError> {
        if let Some(why) = &self.stopped {
            return Err(StoreError::Stopped {
                folder: folder.to_owned(),
                why: why.clone(),
            });
        }
        // A folder moved to the bin or put back from a copy while the car is open: what is appended here would be lost.
        if !same_file(&self.file, &self.path, self.length) {
            let why = "its journal was changed or removed by another program".to_owned();
            self.stopped = Some(why.clone());
            return Err(StoreError::Stopped {
                folder: folder.to_owned(),
                why,
            });
        }
        Ok(())
    }

    /// Appends one line and waits until it is on disk. When this fails, the journal is as it was before.
    pub(super) fn append(&mut self, folder: &Path, line: &str) -> Result<(), StoreError> {
        self.usable(folder)?;
        let written = self
            .file
            .write_all(line.as_bytes())
            .and_then(|()| self.file.sync_data());
        match written {
            Ok(()) => {
                self.length += line.len() as u64;
                Ok(())
            }
            Err(error) => {
                let undone = self.file.set_len(self.length).and_then(|()| self.file.sync_all());
                if undone.is_err() {
                    self.stopped = Some(format!("writing its journal failed ({error})"));
                }
                Err(StoreError::system("write", &self.path, error))
            }
        }
    }
}

#[cfg(test)]
#[allow(clippy::unwrap_used)]
mod tests {
    use super::*;

    #[test]
    fn a_record_hidden_in_a_line_is_found_and_a_line_of_beginnings_takes_no_time() {
        let record = Record {
            number: 7,
            changes: Vec::new(),
        };
        let whole = line(&record).unwrap();
        assert!(!hides_a_record(whole.as_bytes()), "it is the line, not in it");
        for before in ["x", "0badc0de 3 [", "0badc0de 0badc0de 0badc0de "] {
            assert!(hides_a_record(format!("{before}{whole}").as_bytes()), "{before}");
            let damaged = format!("{before}{}", whole.replace('7', "8"));
            assert!(!hides_a_record(damaged.as_bytes()), "{before}");
        }
        let mut long = b"0badc0de ".repeat(1 << 20);
        long.push(b'\n');
        let began = std::time::Instant::now();
        assert_eq!(read(&long).tail, Tail::Torn);
        // Reckoning each checksum from its bytes would take an hour.
        assert!(began.elapsed().as_secs() < 60);
    }
}
