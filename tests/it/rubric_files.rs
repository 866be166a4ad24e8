//! Rubric files are read, checked, and every mistake in them is found at its line and column.

mod mistakes;
mod reading;
mod together;

use tinworm::rubric::{Mistake, SourceText, builtin};

/// A set with one of everything and without a mistake.
const SMALL: &str = include_str!("../rubrics/small.ron");

fn source(name: &str, text: &str) -> SourceText {
    SourceText {
        name: name.to_owned(),
        text: text.to_owned(),
    }
}

/// The mistakes of files, named in the order given.
fn mistakes(files: &[(&str, &str)]) -> Vec<Mistake> {
    let sources: Vec<SourceText> = files.iter().map(|(name, text)| source(name, text)).collect();
    tinworm::rubric::load(&sources).err().unwrap_or_default()
}

fn listed(mistakes: &[Mistake]) -> String {
    let lines: Vec<String> = mistakes.iter().map(ToString::to_string).collect();
    lines.join("\n")
}

/// The small set with one passage replaced. A `§` in the new passage marks a place: it is taken out, and its line and
/// column are given back.
fn spoiled(text: &str, old: &str, new: &str) -> (String, usize, usize) {
    assert_eq!(text.matches(old).count(), 1, "`{old}` must stand once in the set");
    let text = text.replace(old, new);
    let (before, after) = text.split_once('§').unwrap_or((&text, ""));
    let line = before.matches('\n').count() + 1;
    let column = before.rsplit('\n').next().unwrap_or("").chars().count() + 1;
    (format!("{before}{after}"), line, column)
}

#[test]
fn the_shipped_files_have_no_mistake() {
    let found = tinworm::rubric::load(&builtin::sources()).err().unwrap_or_default();
    assert!(found.is_empty(), "{}", listed(&found));
}

#[test]
fn the_table_of_shipped_files_is_the_folder() {
    let folder = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("rubrics");
    let mut there: Vec<String> = std::fs::read_dir(folder)
        .expect("the rubrics folder")
        .map(|entry| format!("rubrics/{}", entry.expect("an entry").file_name().to_string_lossy()))
        .collect();
    there.sort();
    let table: Vec<String> = builtin::sources().into_iter().map(|source| source.name).collect();
    assert_eq!(table, there);
}

#[test]
fn the_shipped_library_is_what_loading_the_files_gives() {
    let loaded = tinworm::rubric::load(&builtin::sources()).expect("the shipped files");
    assert_eq!(builtin::library().all(), loaded.all());
}

#[test]
fn the_small_set_loads() {
    let found = mistakes(&[("small.ron", SMALL)]);
    assert!(found.is_empty(), "{}", listed(&found));
    let library = tinworm::rubric::load(&[source("small.ron", SMALL)]).expect("the small set");
    assert_eq!(library.components().len(), 2);
    assert_eq!(library.repairs_of("ball-joint").count(), 3);
}
