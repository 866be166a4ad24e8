//! The files of a car and their text.
//!
//! A car is kept in pieces, a file each. Every file says `through`: the number of the newest journal record that it
//! includes. Replaying the journal applies to each piece only the records that are newer than its file, so a crash
//! between two files of a snapshot can neither lose a change nor apply one twice. `state.ron` is written last; it lists
//! the files and how far each went at least, so that a file put back from an older copy is noticed.

use std::collections::BTreeMap;
use std::path::Path;

use jiff::civil::Date;
use ron::extensions::Extensions;
use ron::ser::PrettyConfig;
use serde::de::DeserializeOwned;
use serde::{Deserialize, Serialize};

use super::error::StoreError;
use super::{migrate, paths, private, values};
use crate::car::{Car, Change, Earlier, PartNote, Profile, Progress, RepairDone, Survey, Wishes};
use crate::rubric::PartId;

/// The schema of all files of a car that this program writes, and the newest it reads.
pub(super) const SCHEMA: u32 = 1;

/// A piece of a car that has a file of its own. Every change touches exactly one piece.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(super) enum Piece {
    /// The profile.
    Profile,
    /// The owner's words on parts.
    Parts,
    /// The survey of a day.
    Survey(Date),
    /// Repairs done.
    Repairs,
    /// Wishes for the plan.
    Wishes,
    /// Parts on order and work that stands open.
    Progress,
    /// What was said until some day; there is no file of it until something changes.
    Earlier,
}

impl Piece {
    /// The pieces of which a car has one; the last two are not there in folders of earlier programs.
    pub(super) const FIXED: [Piece; 6] = [
        Piece::Profile,
        Piece::Parts,
        Piece::Repairs,
        Piece::Wishes,
        Piece::Progress,
        Piece::Earlier,
    ];

    /// The piece that a change touches.
    pub(super) fn of(change: &Change) -> Piece {
        match change {
            Change::Profile(_) => Piece::Profile,
            Change::Part(..) | Change::Torque(..) | Change::NoTorque(..) => Piece::Parts,
            Change::Survey { date, .. } | Change::Unbegun(date) => Piece::Survey(*date),
            Change::FirstLook { survey, .. }
            | Change::Look { survey, .. }
            | Change::Unlook { survey, .. }
            | Change::SecondLook { survey, .. } => Piece::Survey(*survey),
            Change::Done(_) | Change::Undone(_) => Piece::Repairs,
            Change::Wishes(_) => Piece::Wishes,
            Change::Buy(_) | Change::Left(_) | Change::Closed(_) => Piece::Progress,
            Change::Earlier(_) => Piece::Earlier,
        }
    }

    /// Whether a car has it: a survey can be taken back.
    pub(super) fn is_of(self, car: &Car) -> bool {
        match self {
            Piece::Survey(date) => car.surveys.iter().any(|s| s.date == date),
            _ => true,
        }
    }

    /// The path of its file inside the car's folder.
    pub(super) fn file(self) -> String {
        match self {
            Piece::Profile => "profile.ron".to_owned(),
            Piece::Parts => "parts.ron".to_owned(),
            Piece::Survey(date) => format!("surveys/{date}.ron"),
            Piece::Repairs => "repairs.ron".to_owned(),
            Piece::Wishes => "wishes.ron".to_owned(),
            Piece::Progress => "progress.ron".to_owned(),
            Piece::Earlier => "earlier.ron".to_owned(),
        }
    }

    /// The piece whose file has that path.
    pub(super) fn from_file(path: &str) -> Option<Piece> {
        let survey = || {
            let date = path.strip_prefix("surveys/")?.strip_suffix(".ron")?.parse().ok()?;
            Some(Piece::Survey(date))
        };
        let piece = Piece::FIXED.into_iter().find(|p| p.file() == path).or_else(survey)?;
        (piece.file() == path).then_some(piece)
    }
}

/// `state.ron`: written last in a snapshot.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct State {
    /// Schema of the whole folder.
    pub schema: u32,
    /// The newest record that the snapshot includes.
    pub through: u64,
    /// The files of the snapshot, each with the newest record that it included then.
    pub files: Vec<(String, u64)>,
    /// Whether an earlier program wrote it, in a schema before this one. It is written last, so all files are new where it is.
    #[serde(skip)]
    pub earlier: bool,
}

#[derive(Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
struct Filed<T> {
    schema: u32,
    through: u64,
    holds: T,
}

#[derive(Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
struct PartEntry {
    part: PartId,
    word: PartNote,
}

#[derive(Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
struct WishLists {
    ticked: Vec<PartId>,
    chosen: Vec<(PartId, String)>,
    pinned: Vec<(PartId, Date)>,
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    dropped: Vec<PartId>,
}

#[derive(Deserialize)]
struct Version {
    schema: u32,
}

/// A mistake in a text: where and what.
#[derive(Debug)]
pub(super) struct Fault {
    pub line: usize,
    pub column: usize,
    pub what: String,
}

impl Fault {
    /// A mistake that has no single place in the text.
    pub(super) fn of_value(what: String) -> Fault {
        Fault {
            line: 0,
            column: 0,
            what,
        }
    }
}

/// Why a file's text is not taken.
#[derive(Debug)]
pub(super) enum Refusal {
    /// A mistake.
    Fault(Fault),
    /// Written by a newer program, with this schema.
    Newer(u32),
}

fn options() -> ron::Options {
    ron::Options::default()
        .with_default_extension(Extensions::IMPLICIT_SOME)
        .with_recursion_limit(64)
}

/// Reads one value; the mistake names the field as well as the place.
pub(super) fn parse<T: DeserializeOwned>(text: &str) -> Result<T, Fault> {
    let text = text.strip_prefix('\u{feff}').unwrap_or(text);
    let fault = |error: ron::error::SpannedError, path: String| Fault {
        line: error.span.start.line,
        column: error.span.start.col,
        what: if path.is_empty() || path == "." {
            error.code.to_string()
        } else {
            format!("{path}: {}", error.code)
        },
    };
    let mut reader = ron::Deserializer::from_str_with_options(text, &options()).map_err(|e| fault(e, String::new()))?;
    let value = serde_path_to_error::deserialize(&mut reader).map_err(|error| {
        let path = error.path().to_string();
        fault(reader.span_error(error.into_inner()), path)
    })?;
    reader.end().map_err(|e| fault(reader.span_error(e), String::new()))?;
    Ok(value)
}

/// The shortest text of a value, on one line.
pub(super) fn compact<T: Serialize>(value: &T) -> Result<String, StoreError> {
    options()
        .to_string(value)
        .map_err(|e| StoreError::BadValue(e.to_string()))
}

/// The text of a value for people: one item a line.
fn pretty<T: Serialize>(value: &T, depth: usize) -> Result<String, StoreError> {
    let config = PrettyConfig::new()
        .depth_limit(depth)
        .indentor("  ")
        .new_line("\n")
        .compact_maps(false);
    let mut text = options()
        .to_string_pretty(value, config)
        .map_err(|e| StoreError::BadValue(e.to_string()))?;
    text.push('\n');
    Ok(text)
}

/// The text of `state.ron`.
pub(super) fn state_text(through: u64, files: &BTreeMap<Piece, u64>) -> Result<String, StoreError> {
    let state = State {
        schema: SCHEMA,
        through,
        files: files.iter().map(|(piece, through)| (piece.file(), *through)).collect(),
        earlier: false,
    };
    pretty(&state, 2)
}

/// Reads `state.ron`.
pub(super) fn read_state(text: &str) -> Result<State, Refusal> {
    let (mut state, earlier) = of_any_schema("state.ron", text, |state: &State| state.schema)?;
    state.earlier = earlier;
    let numbers = state.files.iter().map(|(_, through)| *through);
    numbers.chain([state.through]).try_for_each(can_be_a_number)?;
    Ok(state)
}

/// Reads a file of any schema there ever was; says whether it was one before this. Only what does not read as it stands is looked
/// at for its schema.
fn of_any_schema<T: DeserializeOwned>(name: &str, text: &str, schema: fn(&T) -> u32) -> Result<(T, bool), Refusal> {
    let fault = match parse::<T>(text) {
        Ok(read) if schema(&read) == SCHEMA => return Ok((read, false)),
        Ok(_) => None,
        Err(fault) => Some(fault),
    };
    // A file of another program may hold fields that this one does not know: then its age is the thing to say, not the field.
    match (schema_of(text), fault) {
        (Err(_), Some(fault)) | (Ok(SCHEMA), Some(fault)) => Err(Refusal::Fault(fault)),
        _ => {
            let text = migrate::file(name, text)?;
            let read = parse::<T>(&text).map_err(Refusal::Fault)?;
            Ok((read, true))
        }
    }
}

/// The schema that a text says it has.
pub(super) fn schema_of(text: &str) -> Result<u32, Fault> {
    parse::<Version>(text).map(|version| version.schema)
}

/// A number after which another can come.
fn can_be_a_number(through: u64) -> Result<(), Refusal> {
    if through < u64::MAX {
        return Ok(());
    }
    let what = format!("{through} is no number of a record");
    Err(Refusal::Fault(Fault::of_value(what)))
}

/// The text of a piece's file, once it is certain that it can be read again.
pub(super) fn piece_text(piece: Piece, car: &Car, through: u64) -> Result<String, StoreError> {
    let text = write_piece(piece, car, through)?;
    match read_piece(piece, &text) {
        Ok((held, number)) if number == through && held.is(car) && text.len() as u64 <= paths::LARGEST => Ok(text),
        _ => {
            let what = format!("{} cannot be written so that it can be read again", piece.file());
            Err(StoreError::BadValue(what))
        }
    }
}

fn write_piece(piece: Piece, car: &Car, through: u64) -> Result<String, StoreError> {
    fn filed<T: Serialize>(through: u64, holds: T, depth: usize) -> Result<String, StoreError> {
        let schema = SCHEMA;
        pretty(&Filed { schema, through, holds }, depth)
    }
    match piece {
        Piece::Profile => filed(through, &car.profile, 3),
        Piece::Parts => {
            let entries: Vec<PartEntry> = car
                .parts
                .iter()
                .map(|(part, word)| PartEntry {
                    part: part.clone(),
                    word: word.clone(),
                })
                .collect();
            filed(through, entries, 2)
        }
        Piece::Survey(date) => match car.surveys.iter().find(|s| s.date == date) {
            Some(survey) => filed(through, survey, 3),
            None => Err(StoreError::BadValue(format!("there is no survey of {date} to write"))),
        },
        Piece::Repairs => filed(through, &car.repairs, 2),
        Piece::Wishes => {
            let lists = WishLists {
                ticked: car.wishes.ticked.clone(),
                chosen: car.wishes.chosen.clone().into_iter().collect(),
                pinned: car.wishes.pinned.clone().into_iter().collect(),
                dropped: car.wishes.dropped.clone(),
            };
            filed(through, lists, 3)
        }
        Piece::Progress => filed(through, &car.progress, 4),
        Piece::Earlier => filed(through, &car.earlier, 4),
    }
}

/// What the file of a piece holds.
#[derive(Debug, Clone)]
pub(super) enum Held {
    Profile(Box<Profile>),
    Parts(BTreeMap<PartId, PartNote>),
    Survey(Survey),
    Repairs(Vec<RepairDone>),
    Wishes(Wishes),
    Progress(Progress),
    Earlier(Vec<Earlier>),
}

impl Held {
    /// Whether a car has just this.
    fn is(&self, car: &Car) -> bool {
        match self {
            Held::Profile(profile) => **profile == car.profile,
            Held::Parts(parts) => *parts == car.parts,
            Held::Survey(survey) => car.surveys.contains(survey),
            Held::Repairs(repairs) => *repairs == car.repairs,
            Held::Wishes(wishes) => *wishes == car.wishes,
            Held::Progress(progress) => *progress == car.progress,
            Held::Earlier(earlier) => *earlier == car.earlier,
        }
    }
}

/// Reads the text of a piece's file: what it holds and through which record.
pub(super) fn read_piece(piece: Piece, text: &str) -> Result<(Held, u64), Refusal> {
    let name = piece.file();
    fn filed<T: DeserializeOwned>(name: &str, text: &str) -> Result<(T, u64), Refusal> {
        let (file, _) = of_any_schema(name, text, |file: &Filed<T>| file.schema)?;
        can_be_a_number(file.through)?;
        Ok((file.holds, file.through))
    }
    let checked = |result: Result<(), String>| result.map_err(|what| Refusal::Fault(Fault::of_value(what)));
    Ok(match piece {
        Piece::Profile => {
            let (profile, through) = filed::<Profile>(&name, text)?;
            checked(values::of_profile(&profile))?;
            (Held::Profile(Box::new(profile)), through)
        }
        Piece::Parts => {
            let (entries, through) = filed::<Vec<PartEntry>>(&name, text)?;
            let mut parts = BTreeMap::new();
            for PartEntry { part, word } in entries {
                checked(values::of_note(&word).map_err(|what| format!("{part}: {what}")))?;
                let twice = format!("{part} stands here twice");
                checked(if parts.insert(part, word).is_some() {
                    Err(twice)
                } else {
                    Ok(())
                })?;
            }
            (Held::Parts(parts), through)
        }
        Piece::Survey(date) => {
            let (survey, through) = filed::<Survey>(&name, text)?;
            checked(values::of_survey(&survey))?;
            if survey.date != date {
                let what = format!("it holds the survey of {}, which its name does not say", survey.date);
                return Err(Refusal::Fault(Fault::of_value(what)));
            }
            (Held::Survey(survey), through)
        }
        Piece::Repairs => {
            let (repairs, through) = filed::<Vec<RepairDone>>(&name, text)?;
            checked(values::of_repairs(&repairs))?;
            (Held::Repairs(repairs), through)
        }
        Piece::Wishes => {
            let (lists, through) = filed::<WishLists>(&name, text)?;
            let (chosen, pinned) = (lists.chosen.len(), lists.pinned.len());
            let wishes = Wishes {
                ticked: lists.ticked,
                chosen: lists.chosen.into_iter().collect(),
                pinned: lists.pinned.into_iter().collect(),
                dropped: lists.dropped,
            };
            let once = wishes.chosen.len() == chosen && wishes.pinned.len() == pinned;
            checked(if once {
                Ok(())
            } else {
                Err("a part stands here twice".to_owned())
            })?;
            (Held::Wishes(wishes), through)
        }
        Piece::Progress => {
            let (progress, through) = filed::<Progress>(&name, text)?;
            checked(values::of_progress(&progress))?;
            (Held::Progress(progress), through)
        }
        Piece::Earlier => {
            let (earlier, through) = filed::<Vec<Earlier>>(&name, text)?;
            checked(earlier.iter().try_for_each(values::of_earlier))?;
            let rising = earlier.is_sorted_by(|a, b| a.until < b.until);
            checked(if rising {
                Ok(())
            } else {
                Err("the days do not rise".to_owned())
            })?;
            (Held::Earlier(earlier), through)
        }
    })
}

/// Replaces a file durably: a new file in the same folder is written, synced and renamed over it, and the folder synced.
pub(super) fn replace(path: &Path, text: &str) -> Result<(), StoreError> {
    private::replace(path, text.as_bytes()).map_err(|e| StoreError::system("write", path, e))
}

/// Removes a file durably; one that is not there is removed already.
pub(super) fn remove(path: &Path) -> Result<(), StoreError> {
    match std::fs::remove_file(path) {
        Err(error) if error.kind() != std::io::ErrorKind::NotFound => Err(StoreError::system("remove", path, error)),
        _ => {
            let folder = path.parent().unwrap_or(path);
            paths::sync_folder(folder).map_err(|e| StoreError::system("write", folder, e))
        }
    }
}
