//! The rubric files that ship with the program.

use std::sync::OnceLock;

use super::check;
use super::library::Library;
use super::parse::SourceText;

/// The shipped files; a test compares this table with the folder.
const FILES: &[(&str, &str)] = &[
    ("rubrics/access.ron", include_str!("../../rubrics/access.ron")),
    (
        "rubrics/brake-controls.ron",
        include_str!("../../rubrics/brake-controls.ron"),
    ),
    ("rubrics/brake-discs.ron", include_str!("../../rubrics/brake-discs.ron")),
    ("rubrics/brake-drums.ron", include_str!("../../rubrics/brake-drums.ron")),
    ("rubrics/brake-lines.ron", include_str!("../../rubrics/brake-lines.ron")),
    ("rubrics/cautions.ron", include_str!("../../rubrics/cautions.ron")),
    ("rubrics/climate.ron", include_str!("../../rubrics/climate.ron")),
    (
        "rubrics/front-anti-roll-bar.ron",
        include_str!("../../rubrics/front-anti-roll-bar.ron"),
    ),
    ("rubrics/front-arms.ron", include_str!("../../rubrics/front-arms.ron")),
    (
        "rubrics/front-ball-joints.ron",
        include_str!("../../rubrics/front-ball-joints.ron"),
    ),
    ("rubrics/hubs.ron", include_str!("../../rubrics/hubs.ron")),
    ("rubrics/layouts.ron", include_str!("../../rubrics/layouts.ron")),
    ("rubrics/springs.ron", include_str!("../../rubrics/springs.ron")),
    (
        "rubrics/steering-box.ron",
        include_str!("../../rubrics/steering-box.ron"),
    ),
    (
        "rubrics/steering-column.ron",
        include_str!("../../rubrics/steering-column.ron"),
    ),
    (
        "rubrics/steering-rack.ron",
        include_str!("../../rubrics/steering-rack.ron"),
    ),
    (
        "rubrics/steering-rods.ron",
        include_str!("../../rubrics/steering-rods.ron"),
    ),
    ("rubrics/structure.ron", include_str!("../../rubrics/structure.ron")),
    ("rubrics/struts.ron", include_str!("../../rubrics/struts.ron")),
    ("rubrics/threads.ron", include_str!("../../rubrics/threads.ron")),
    ("rubrics/wheels.ron", include_str!("../../rubrics/wheels.ron")),
];

/// The shipped files as sources, in the order of their names.
#[must_use]
pub fn sources() -> Vec<SourceText> {
    FILES
        .iter()
        .map(|(name, text)| SourceText {
            name: (*name).to_owned(),
            text: (*text).to_owned(),
        })
        .collect()
}

/// The shipped rubrics, read once. Tests see to it that they hold no mistake; what a mistake would leave readable is used.
pub fn library() -> &'static Library {
    static LIBRARY: OnceLock<Library> = OnceLock::new();
    LIBRARY.get_or_init(|| Library::unchecked(check::look(&sources()).0))
}
