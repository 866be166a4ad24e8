//! What the RON reader found, in plain words, and what to do about it.

use ron::error::Error;

/// A mistake of form in words.
pub struct Words {
    /// What was found.
    pub what: String,
    /// What to do.
    pub fix: String,
    /// Whether it is about the value of the item, so that the item's beginning is the best place to point at.
    pub at_item: bool,
}

fn words(what: String, fix: impl Into<String>) -> Words {
    Words {
        what,
        fix: fix.into(),
        at_item: false,
    }
}

fn value(what: String, fix: impl Into<String>) -> Words {
    Words {
        at_item: true,
        ..words(what, fix)
    }
}

/// Puts an error of the RON reader into words; `path` names the item that was being read.
pub fn in_words(error: &Error, path: &str) -> Words {
    let of = if path.is_empty() {
        "the file".to_owned()
    } else {
        format!("`{path}`")
    };
    match error {
        Error::MissingStructField { field, .. } => words(
            format!("{of} has no `{field}`"),
            format!("add `{field}: …` before this bracket"),
        ),
        Error::DuplicateStructField { field, .. } => words(format!("{of} has `{field}` twice"), "keep one of the two"),
        Error::NoSuchStructField { expected, found, .. } => words(
            format!("`{found}` is no field here, in {of}"),
            one_of("write", found, expected),
        ),
        Error::NoSuchEnumVariant { expected, found, .. } => words(
            format!("`{found}` is no choice for {of}"),
            one_of("write", found, expected),
        ),
        Error::ExpectedString => value(format!("{of} should be a text"), "write it in double quotes"),
        Error::ExpectedFloat | Error::ExpectedInteger => value(
            format!("{of} should be a number"),
            "write it in digits, without quotes and with a decimal point",
        ),
        Error::IntegerOutOfBounds => value(
            format!("the whole number for {of} is out of bounds"),
            "write a smaller whole number, not below 0",
        ),
        Error::ExpectedBoolean => value(format!("{of} should be yes or no"), "write `true` or `false`"),
        Error::ExpectedArray => value(format!("{of} should be a list"), "write it in square brackets: [ … ]"),
        Error::ExpectedStructLike | Error::ExpectedNamedStructLike(_) | Error::ExpectedMap => value(
            format!("{of} should be a group of fields"),
            "write it in round brackets: ( name: value, … )",
        ),
        Error::ExpectedComma => words(
            format!("a comma is missing in {of}"),
            "put a comma between two fields or items",
        ),
        Error::ExpectedMapColon => words(
            format!("a field name without its value in {of}"),
            "write `name: value`, a colon between them",
        ),
        Error::ExpectedArrayEnd => words(
            format!("a list in {of} is not closed, or a comma is missing in it"),
            "look for a missing `]` or `,`",
        ),
        Error::ExpectedStructLikeEnd | Error::ExpectedOptionEnd => words(
            format!("a group in {of} is not closed, or a comma is missing in it"),
            "look for a missing `)` or `,`",
        ),
        Error::Eof => words(
            "the file ends too early".to_owned(),
            "look for a bracket or quote that is not closed",
        ),
        Error::ExpectedStringEnd => words(format!("a text in {of} is not closed"), "put a double quote at its end"),
        Error::UnclosedBlockComment => words("a comment is not closed".to_owned(), "put `*/` at its end"),
        Error::TrailingCharacters => words(
            "something follows the end of the file's outer bracket".to_owned(),
            "remove it, or move it inside; a `)` may stand too early",
        ),
        Error::ExceededRecursionLimit => words(
            "brackets are nested far deeper than any rubric needs".to_owned(),
            "look for brackets that should be closed",
        ),
        Error::ExpectedDifferentLength { expected, found } => {
            value(format!("{of} has {found} values"), format!("write {expected}"))
        }
        Error::Message(text) => value(format!("{of}: {text}"), "correct the value"),
        Error::InvalidValueForType { expected, found } => {
            value(format!("{of} should be {expected}, not {found}"), "correct the value")
        }
        other => words(
            format!("{of} cannot be read: {}", lower_first(&other.to_string())),
            "compare with the shipped files, `tinworm rubrics show` prints their items",
        ),
    }
}

fn one_of(verb: &str, found: &str, expected: &[&str]) -> String {
    match super::super::check::nearest(found, expected.iter().copied()) {
        Some(near) => format!("{verb} `{near}`"),
        None => {
            let list: Vec<String> = expected.iter().map(|e| format!("`{e}`")).collect();
            format!("{verb} one of {}", list.join(", "))
        }
    }
}

fn lower_first(text: &str) -> String {
    let mut chars = text.chars();
    match chars.next() {
        Some(first) => first.to_lowercase().chain(chars).collect(),
        None => String::new(),
    }
}
