//! Part lists of twelve cars of different decades, written by hand from how such cars are built, against what the layouts place.

use std::collections::BTreeSet;

use tinworm::rubric::builtin;

const BY_HAND: &[(&str, &str)] = &[
    (
        "1930s beam axle tourer",
        include_str!("../../layouts/1930s-beam-axle-tourer.txt"),
    ),
    (
        "1950s leaf spring saloon",
        include_str!("../../layouts/1950s-leaf-spring-saloon.txt"),
    ),
    (
        "1960s chassis roadster",
        include_str!("../../layouts/1960s-chassis-roadster.txt"),
    ),
    (
        "1960s rear-engined saloon",
        include_str!("../../layouts/1960s-rear-engined-saloon.txt"),
    ),
    (
        "1960s four by four",
        include_str!("../../layouts/1960s-four-by-four.txt"),
    ),
    (
        "1970s front drive hatchback",
        include_str!("../../layouts/1970s-front-drive-hatchback.txt"),
    ),
    (
        "1970s coil axle saloon",
        include_str!("../../layouts/1970s-coil-axle-saloon.txt"),
    ),
    (
        "1980s semi-trailing saloon",
        include_str!("../../layouts/1980s-semi-trailing-saloon.txt"),
    ),
    (
        "1980s twist beam hatchback",
        include_str!("../../layouts/1980s-twist-beam-hatchback.txt"),
    ),
    (
        "1990s multi-link estate",
        include_str!("../../layouts/1990s-multi-link-estate.txt"),
    ),
    (
        "1990s four-wheel drive saloon",
        include_str!("../../layouts/1990s-four-wheel-drive-saloon.txt"),
    ),
    (
        "2000s torsion bar pick-up",
        include_str!("../../layouts/2000s-torsion-bar-pick-up.txt"),
    ),
];

/// The layout's pieces from the line `# layout: choice=piece …`.
fn layout_of(text: &str) -> Vec<String> {
    let line = text
        .lines()
        .find_map(|l| l.strip_prefix("# layout:"))
        .expect("a line with the layout");
    line.split_whitespace()
        .map(|word| word.split_once('=').map_or(word, |(_, piece)| piece).to_owned())
        .collect()
}

fn listed(text: &str) -> BTreeSet<String> {
    let mut parts = BTreeSet::new();
    for line in text
        .lines()
        .map(str::trim)
        .filter(|l| !l.is_empty() && !l.starts_with('#'))
    {
        let (component, stations) = line.split_once(':').unwrap_or_else(|| panic!("{line}: no colon"));
        for station in stations.split_whitespace() {
            assert!(
                parts.insert(format!("{component}@{station}")),
                "{line}: {station} twice"
            );
        }
    }
    parts
}

#[test]
fn the_parts_of_twelve_cars_are_those_a_mechanic_would_list() {
    let library = builtin::library();
    let mut faults = Vec::new();
    for (name, text) in BY_HAND {
        let layout = layout_of(text);
        assert_eq!(
            layout.len(),
            library.choices().len(),
            "{name}: one piece of each choice"
        );
        for id in &layout {
            assert!(library.layout(id).is_some(), "{name}: no piece {id}");
        }
        let by_hand = listed(text);
        let placed: BTreeSet<String> = library.placed(&layout).iter().map(ToString::to_string).collect();
        for part in by_hand.difference(&placed) {
            faults.push(format!("{name}: {part} is not placed"));
        }
        for part in placed.difference(&by_hand) {
            faults.push(format!("{name}: {part} is placed and was not written down"));
        }
    }
    assert!(faults.is_empty(), "{} differences\n{}", faults.len(), faults.join("\n"));
}
