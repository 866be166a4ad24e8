//! Rubric files are read, checked, and every mistake in them is found at its line and column.

use tinworm::rubric::builtin;

#[test]
fn the_shipped_files_have_no_mistake() {
    let found = tinworm::rubric::load(&builtin::sources()).err().unwrap_or_default();
    let list: Vec<String> = found.iter().map(ToString::to_string).collect();
    assert!(list.is_empty(), "{}", list.join("\n"));
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
