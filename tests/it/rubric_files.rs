//! The shipped rubric files can be read.

#[test]
fn every_shipped_file_can_be_read() {
    let folder = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("rubrics");
    for entry in std::fs::read_dir(folder).expect("the rubrics folder") {
        let path = entry.expect("an entry").path();
        let text = std::fs::read_to_string(&path).expect("a text file");
        if let Err(error) = tinworm::rubric::parse::file(&text) {
            panic!("{}: {error}", path.display());
        }
    }
}
