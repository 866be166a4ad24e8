//! The rubric files that ship with the program.

use std::sync::OnceLock;

use super::check;
use super::library::Library;
use super::parse::SourceText;

/// The shipped files; a test compares this table with the folder.
const FILES: &[(&str, &str)] = &[
    ("rubrics/access.ron", include_str!("../../rubrics/access.ron")),
    ("rubrics/belts.ron", include_str!("../../rubrics/belts.ron")),
    (
        "rubrics/bleed-screws.ron",
        include_str!("../../rubrics/bleed-screws.ron"),
    ),
    (
        "rubrics/brake-balance.ron",
        include_str!("../../rubrics/brake-balance.ron"),
    ),
    (
        "rubrics/brake-calipers.ron",
        include_str!("../../rubrics/brake-calipers.ron"),
    ),
    (
        "rubrics/brake-controls.ron",
        include_str!("../../rubrics/brake-controls.ron"),
    ),
    ("rubrics/brake-discs.ron", include_str!("../../rubrics/brake-discs.ron")),
    ("rubrics/brake-drums.ron", include_str!("../../rubrics/brake-drums.ron")),
    ("rubrics/brake-lines.ron", include_str!("../../rubrics/brake-lines.ron")),
    (
        "rubrics/brake-load-valve.ron",
        include_str!("../../rubrics/brake-load-valve.ron"),
    ),
    ("rubrics/brake-pedal.ron", include_str!("../../rubrics/brake-pedal.ron")),
    ("rubrics/cautions.ron", include_str!("../../rubrics/cautions.ron")),
    ("rubrics/climate.ron", include_str!("../../rubrics/climate.ron")),
    (
        "rubrics/differential.ron",
        include_str!("../../rubrics/differential.ron"),
    ),
    ("rubrics/drag-link.ron", include_str!("../../rubrics/drag-link.ron")),
    (
        "rubrics/drive-shafts.ron",
        include_str!("../../rubrics/drive-shafts.ron"),
    ),
    (
        "rubrics/drum-backplate.ron",
        include_str!("../../rubrics/drum-backplate.ron"),
    ),
    ("rubrics/exhaust.ron", include_str!("../../rubrics/exhaust.ron")),
    (
        "rubrics/front-anti-roll-bar.ron",
        include_str!("../../rubrics/front-anti-roll-bar.ron"),
    ),
    ("rubrics/front-arms.ron", include_str!("../../rubrics/front-arms.ron")),
    (
        "rubrics/front-ball-joints.ron",
        include_str!("../../rubrics/front-ball-joints.ron"),
    ),
    (
        "rubrics/front-beam-axle.ron",
        include_str!("../../rubrics/front-beam-axle.ron"),
    ),
    (
        "rubrics/fuel-repairs.ron",
        include_str!("../../rubrics/fuel-repairs.ron"),
    ),
    ("rubrics/fuel.ron", include_str!("../../rubrics/fuel.ron")),
    ("rubrics/hubs.ron", include_str!("../../rubrics/hubs.ron")),
    ("rubrics/knuckle.ron", include_str!("../../rubrics/knuckle.ron")),
    ("rubrics/layouts.ron", include_str!("../../rubrics/layouts.ron")),
    (
        "rubrics/leaf-spring-mountings.ron",
        include_str!("../../rubrics/leaf-spring-mountings.ron"),
    ),
    (
        "rubrics/leaf-springs.ron",
        include_str!("../../rubrics/leaf-springs.ron"),
    ),
    ("rubrics/live-axle.ron", include_str!("../../rubrics/live-axle.ron")),
    ("rubrics/mounts.ron", include_str!("../../rubrics/mounts.ron")),
    (
        "rubrics/parking-brake-shoes.ron",
        include_str!("../../rubrics/parking-brake-shoes.ron"),
    ),
    (
        "rubrics/power-steering.ron",
        include_str!("../../rubrics/power-steering.ron"),
    ),
    ("rubrics/propshaft.ron", include_str!("../../rubrics/propshaft.ron")),
    ("rubrics/rear-arms.ron", include_str!("../../rubrics/rear-arms.ron")),
    (
        "rubrics/rear-axle-beam.ron",
        include_str!("../../rubrics/rear-axle-beam.ron"),
    ),
    ("rubrics/rear-links.ron", include_str!("../../rubrics/rear-links.ron")),
    ("rubrics/springs.ron", include_str!("../../rubrics/springs.ron")),
    (
        "rubrics/steering-box.ron",
        include_str!("../../rubrics/steering-box.ron"),
    ),
    (
        "rubrics/steering-column-top.ron",
        include_str!("../../rubrics/steering-column-top.ron"),
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
    (
        "rubrics/structure-crossmembers.ron",
        include_str!("../../rubrics/structure-crossmembers.ron"),
    ),
    (
        "rubrics/structure-floor.ron",
        include_str!("../../rubrics/structure-floor.ron"),
    ),
    (
        "rubrics/structure-frame.ron",
        include_str!("../../rubrics/structure-frame.ron"),
    ),
    (
        "rubrics/structure-front.ron",
        include_str!("../../rubrics/structure-front.ron"),
    ),
    (
        "rubrics/structure-rails.ron",
        include_str!("../../rubrics/structure-rails.ron"),
    ),
    (
        "rubrics/structure-rear.ron",
        include_str!("../../rubrics/structure-rear.ron"),
    ),
    (
        "rubrics/structure-sills.ron",
        include_str!("../../rubrics/structure-sills.ron"),
    ),
    (
        "rubrics/structure-work.ron",
        include_str!("../../rubrics/structure-work.ron"),
    ),
    ("rubrics/struts.ron", include_str!("../../rubrics/struts.ron")),
    ("rubrics/subframes.ron", include_str!("../../rubrics/subframes.ron")),
    ("rubrics/threads.ron", include_str!("../../rubrics/threads.ron")),
    (
        "rubrics/torsion-bars.ron",
        include_str!("../../rubrics/torsion-bars.ron"),
    ),
    (
        "rubrics/transfer-case.ron",
        include_str!("../../rubrics/transfer-case.ron"),
    ),
    (
        "rubrics/transmission-brake.ron",
        include_str!("../../rubrics/transmission-brake.ron"),
    ),
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
