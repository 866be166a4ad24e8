//! Reading one file as far as it can be read, and laying aside what cannot.

use std::collections::BTreeSet;

use serde_path_to_error::{Path, Segment};

use super::locate::{Place, Places};
use super::wording::in_words;
use super::{Mistake, SourceText};
use crate::rubric::model::{RUBRIC_SCHEMA, RubricFile};

/// More mistakes of form than this in one file are not sought.
const ENOUGH: usize = 200;

/// One file, read as far as possible.
#[derive(Debug, Clone, Default)]
pub struct Reading {
    /// The name of the file.
    pub name: String,
    /// The text that was read, blanks in the place of what was laid aside.
    pub text: String,
    /// Where the items of that text stand.
    pub places: Places,
    /// What was read; without the items laid aside.
    pub file: RubricFile,
    /// Mistakes of form, in the order of the text.
    pub mistakes: Vec<Mistake>,
    /// Paths of items of the top lists that were read without something that had to be laid aside, as `components[2]`.
    pub hurt: BTreeSet<String>,
    /// Whether whole items could not be read.
    pub unread: bool,
    /// Ids of items that could not be read: they exist, but nothing more is known of them.
    pub unread_ids: BTreeSet<String>,
}

impl Reading {
    /// Reads a source.
    #[must_use]
    pub fn of(source: &SourceText) -> Reading {
        let mut reading = Reading {
            name: crate::text::clean(&source.name),
            text: super::without_mark(&source.text).to_owned(),
            ..Reading::default()
        };
        reading.places = Places::of(&reading.text);
        if reading.refuse_schema() {
            reading.nothing_read();
            return reading;
        }
        reading.refuse_endless_numbers();
        let mut hurt = Vec::new();
        while !reading.try_once(&mut hurt) {
            if reading.mistakes.len() >= ENOUGH {
                reading.nothing_read();
                break;
            }
        }
        reading.mark_hurt(&hurt);
        reading.mistakes.sort();
        reading.mistakes.dedup();
        reading
    }

    /// Adds a mistake at an item, or at the nearest thing written that would hold it.
    #[must_use]
    pub fn mistake_at(&self, path: &str, what: &str, fix: &str) -> Mistake {
        let start = self.places.nearest(path).map_or(0, |place| place.span.start);
        let (line, column) = self.places.line_and_column(&self.text, start);
        self.mistake(line, column, what, fix)
    }

    fn mistake(&self, line: usize, column: usize, what: &str, fix: &str) -> Mistake {
        Mistake {
            file: self.name.clone(),
            line,
            column,
            what: crate::text::clean(what),
            fix: crate::text::clean(fix),
        }
    }

    /// Looks at the schema number first: a newer file may hold anything.
    fn refuse_schema(&mut self) -> bool {
        let number = self.written("schema").and_then(|text| text.parse::<u32>().ok());
        let (what, fix) = match number {
            Some(number) if number > RUBRIC_SCHEMA => (
                format!("this file is of schema {number}, and this program reads schemas up to {RUBRIC_SCHEMA}"),
                "use a newer tinworm, or write the file for the older schema".to_owned(),
            ),
            Some(0) => (
                "there is no schema 0".to_owned(),
                format!("write `schema: {RUBRIC_SCHEMA}`"),
            ),
            _ => return false,
        };
        let mistake = self.mistake_at("schema", &what, &fix);
        self.mistakes.push(mistake);
        true
    }

    fn written(&self, path: &str) -> Option<&str> {
        let place = self.places.get(path)?;
        self.text.get(place.span.clone())
    }

    /// RON reads `inf`, `NaN` and 1e999 as numbers; no quantity here is one.
    fn refuse_endless_numbers(&mut self) {
        let found: Vec<Mistake> = self
            .places
            .all()
            .iter()
            .filter(|place| place.bare)
            .filter_map(|place| {
                let text = self
                    .text
                    .get(place.span.clone())
                    .filter(|text| !text.ends_with(['"', '#']))?;
                let plain = text.trim_end_matches("f32").trim_end_matches("f64").replace('_', "");
                let endless = plain.parse::<f64>().is_ok_and(|number| !number.is_finite());
                endless.then(|| {
                    self.mistake_at(
                        &place.path,
                        &format!("`{text}` is no number that can be measured"),
                        "write a number in plain digits",
                    )
                })
            })
            .collect();
        self.mistakes.extend(found);
    }

    /// Reads the text once. True when done; false when something was laid aside and it is worth reading again.
    fn try_once(&mut self, hurt: &mut Vec<(usize, usize)>) -> bool {
        let (steps, error) = match deserialise(&self.text) {
            Ok(file) => {
                self.file = file;
                return true;
            }
            Err(found) => *found,
        };
        let path = steps.last().map_or("", String::as_str);
        // Where nothing follows any more, the missing end is the mistake, whatever was expected there.
        let ends = self.places.line_and_column(&self.text, self.text.trim_end().len());
        let at = (error.span.end.line, error.span.end.col);
        let code = if !self.places.whole() && at >= ends {
            &ron::error::Error::Eof
        } else {
            &error.code
        };
        let words = in_words(code, path);
        let (line, column) = match self.places.get(path) {
            _ if *code == ron::error::Error::Eof => at,
            Some(place) if words.at_item && place.bare => self.places.line_and_column(&self.text, place.span.start),
            _ => self.past_blanks(error.span.start.line, error.span.start.col),
        };
        let mistake = self.mistake(line, column, &words.what, &words.fix);
        self.mistakes.push(mistake);
        if !self.places.whole() || !self.lay_aside(&steps, hurt) {
            self.nothing_read();
            return true;
        }
        false
    }

    /// The place of the next sign that is no blank, on the same line.
    fn past_blanks(&self, line: usize, column: usize) -> (usize, usize) {
        let text = self.text.split('\n').nth(line.saturating_sub(1)).unwrap_or_default();
        let rest = text.chars().skip(column.saturating_sub(1));
        let blanks = rest.clone().take_while(|c| c.is_whitespace()).count();
        if rest.count() > blanks {
            (line, column + blanks)
        } else {
            (line, column)
        }
    }

    /// Blanks out the innermost list item on the way to a value.
    fn lay_aside(&mut self, steps: &[String], hurt: &mut Vec<(usize, usize)>) -> bool {
        let listed: Vec<&Place> = steps
            .iter()
            .filter_map(|path| self.places.get(path))
            .filter(|place| place.listed && !place.span.is_empty())
            .collect();
        let Some(place) = listed.last().map(|place| (*place).clone()) else {
            return false;
        };
        if listed.len() == 1 {
            self.remember_ids(&place.path);
        } else {
            hurt.push(self.places.line_and_column(&self.text, place.span.start));
        }
        // Sign for sign, so that what follows keeps its line and column.
        let end = place.comma.map_or(place.span.end, |comma| comma + 1);
        let part = |span: std::ops::Range<usize>| self.text.get(span).unwrap_or_default();
        let gap: String = part(place.span.start..end)
            .chars()
            .map(|c| if c == '\n' { c } else { ' ' })
            .collect();
        self.text = [part(0..place.span.start), &gap, part(end..self.text.len())].concat();
        self.places = Places::of(&self.text);
        true
    }

    /// The items of the top lists in which something was laid aside.
    fn mark_hurt(&mut self, hurt: &[(usize, usize)]) {
        if hurt.is_empty() {
            return;
        }
        let spot = |at: usize| self.places.line_and_column(&self.text, at);
        let marked = self
            .places
            .all()
            .iter()
            .filter(|place| place.listed && place.path.matches(['[', '.']).count() == 1)
            .filter(|place| {
                let (from, to) = (spot(place.span.start), spot(place.span.end));
                hurt.iter().any(|at| from <= *at && *at <= to)
            })
            .map(|place| place.path.clone())
            .collect();
        self.hurt = marked;
    }

    /// Keeps the id of an item or, where nothing could be read (the empty path), every id written anywhere.
    fn remember_ids(&mut self, path: &str) {
        self.unread = true;
        let own = format!("{path}.id");
        let ids: Vec<String> = self
            .places
            .all()
            .iter()
            .filter(|place| place.bare && place.path.ends_with(".id") && (path.is_empty() || place.path == own))
            .filter_map(|place| self.text.get(place.span.clone()))
            .map(|text| text.trim_matches('"').to_owned())
            .collect();
        self.unread_ids.extend(ids);
    }

    fn nothing_read(&mut self) {
        self.file = RubricFile::default();
        self.remember_ids("");
    }
}

/// Reads a text; on a mistake also the paths on the way to it, outermost first.
fn deserialise(text: &str) -> Result<RubricFile, Box<(Vec<String>, ron::error::SpannedError)>> {
    let options = ron::Options::default()
        .with_default_extension(ron::extensions::Extensions::IMPLICIT_SOME)
        .with_recursion_limit(64);
    let mut reader =
        ron::Deserializer::from_str_with_options(text, &options).map_err(|error| Box::new((Vec::new(), error)))?;
    let file: RubricFile = serde_path_to_error::deserialize(&mut reader).map_err(|error| {
        let steps = steps(error.path());
        Box::new((steps, reader.span_error(error.into_inner())))
    })?;
    reader
        .end()
        .map_err(|code| Box::new((Vec::new(), reader.span_error(code))))?;
    Ok(file)
}

fn steps(path: &Path) -> Vec<String> {
    let mut so_far = String::new();
    let mut steps = Vec::new();
    for segment in path.iter() {
        match segment {
            Segment::Seq { index } => so_far.push_str(&format!("[{index}]")),
            Segment::Map { key } => {
                if !so_far.is_empty() {
                    so_far.push('.');
                }
                so_far.push_str(key);
            }
            // The name of a variant is no step of its own in a place's path.
            Segment::Enum { .. } | Segment::Unknown => continue,
        }
        steps.push(so_far.clone());
    }
    steps
}
