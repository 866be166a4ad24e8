//! Descriptions that one person under a car can use: short, each naming something seen, felt or measured, none vague.

use std::collections::BTreeMap;

use tinworm::rubric::{CheckKind, builtin};
use tinworm::text::words_of;

/// Words that say how somebody feels about a part, not what is there.
const VAGUE: &[&str] = &[
    "acceptable",
    "adequate",
    "average",
    "awful",
    "bad",
    "badly",
    "better",
    "decent",
    "fair",
    "fairly",
    "good",
    "great",
    "horrible",
    "moderate",
    "moderately",
    "nice",
    "ok",
    "okay",
    "poor",
    "poorly",
    "quite",
    "rather",
    "reasonable",
    "satisfactory",
    "serious",
    "seriously",
    "severe",
    "severely",
    "significant",
    "significantly",
    "slight",
    "slightly",
    "somewhat",
    "terrible",
    "unacceptable",
    "very",
    "worse",
];

/// What eyes, hands, ears and nose find on a car: beginnings of words.
const SENSED: &[&str] = &[
    // Seen: metal, rust, paint.
    "bare",
    "bent",
    "bloom",
    "blister",
    "bow",
    "bright",
    "bristle",
    "brown",
    "bubbl",
    "bulg",
    "burst",
    "chafe",
    "chip",
    "clean",
    "coat",
    "corner",
    "corro",
    "crack",
    "craz",
    "crease",
    "crumbl",
    "crush",
    "cut",
    "dent",
    "dark",
    "discolour",
    "drip",
    "drop",
    "dry",
    "dull",
    "dust",
    "edge",
    "flake",
    "flaking",
    "flat",
    "fold",
    "fray",
    "full",
    "gap",
    "gleam",
    "gone",
    "grease",
    "grey",
    "groove",
    "hair",
    "hole",
    "holed",
    "kink",
    "layer",
    "lean",
    "leak",
    "level",
    "line",
    "lip",
    "lifted",
    "lifting",
    "missing",
    "mist",
    "mark",
    "mud",
    "neck",
    "notch",
    "oil",
    "oval",
    "packed",
    "paint",
    "patch",
    "peel",
    "perish",
    "pin",
    "pinhole",
    "pit",
    "plated",
    "plating",
    "polish",
    "powder",
    "red",
    "ripple",
    "rough",
    "round",
    "rub",
    "rust",
    "sag",
    "scale",
    "scal",
    "score",
    "scoring",
    "scrape",
    "scratch",
    "seam",
    "seal",
    "sealer",
    "shade",
    "sharp",
    "shiny",
    "shine",
    "sleeve",
    "slot",
    "smear",
    "soot",
    "speck",
    "split",
    "spot",
    "square",
    "stain",
    "stretch",
    "straight",
    "streak",
    "swollen",
    "swell",
    "thin",
    "thick",
    "tidemark",
    "torn",
    "tear",
    "thread",
    "trace",
    "track",
    "trickl",
    "twist",
    "undersize",
    "waist",
    "wast",
    "wear",
    "weep",
    "wet",
    "white",
    "whole",
    "wrinkl",
    "colour",
    "cord",
    "clear",
    "cloud",
    "blue",
    "black",
    "parted",
    "open",
    "empty",
    "centred",
    "centre",
    "covered",
    "damp",
    "grit",
    "water",
    "fluid",
    "foam",
    "bubble",
    "sludge",
    "crust",
    "verdigris",
    "film",
    "ring",
    "ridge",
    "step",
    "worn",
    "wavy",
    "feather",
    "cupped",
    "bald",
    "broken",
    "snapped",
    "fracture",
    "missing",
    "loose",
    "stands",
    "hangs",
    "sits",
    "touch",
    // Felt, smelt and heard.
    "heard",
    "sound",
    "tock",
    "groan",
    "smelt",
    "fingertip",
    "pliable",
    "freckl",
    "tan",
    "hollow",
    "caked",
    "tarnish",
    "small",
    "clip",
    "runs",
    "bind",
    "bounce",
    "catch",
    "clatter",
    "click",
    "clonk",
    "clunk",
    "cold",
    "creak",
    "creep",
    "drag",
    "feel",
    "felt",
    "fingernail",
    "firm",
    "free",
    "give",
    "gives",
    "grate",
    "grating",
    "grind",
    "grip",
    "grit",
    "gritty",
    "growl",
    "hard",
    "heavy",
    "hot",
    "hum",
    "jerk",
    "judder",
    "knock",
    "lever",
    "lift",
    "limp",
    "lock",
    "lumpy",
    "move",
    "movement",
    "nail",
    "noise",
    "notchy",
    "play",
    "press",
    "pull",
    "push",
    "quiet",
    "rattle",
    "resist",
    "rock",
    "rumble",
    "scrape",
    "screech",
    "seize",
    "seized",
    "settle",
    "shake",
    "shift",
    "shudder",
    "sideways",
    "silent",
    "sink",
    "slack",
    "slip",
    "slide",
    "smell",
    "smooth",
    "soft",
    "solid",
    "spong",
    "spin",
    "spring",
    "squeak",
    "squeal",
    "steady",
    "stick",
    "sticky",
    "stiff",
    "still",
    "stop",
    "stuck",
    "supple",
    "sway",
    "tap",
    "taut",
    "thumb",
    "thud",
    "tight",
    "tilt",
    "twang",
    "comes",
    "tug",
    "turn",
    "twitch",
    "vibrat",
    "wander",
    "warm",
    "wobble",
    "yield",
    "hiss",
    "blow",
    "roar",
    "rings",
    "dead",
    "vague",
    "tingl",
    "floor",
    "swing",
    "sticks",
    // Measured.
    "mm",
    "cm",
    "percent",
    "third",
    "half",
    "quarter",
    "tenth",
    "twice",
    "millimetre",
    "degree",
    "litre",
    "second",
    "click",
    "turns",
    "minute",
    "handspan",
    "finger",
    "coin",
    "match",
    "width",
    "thickness",
    "height",
];

/// What is wrong with a description, if anything.
fn fault(description: &str) -> Option<String> {
    let words = words_of(description);
    let words: Vec<&str> = words.split(' ').filter(|w| !w.is_empty()).collect();
    if words.is_empty() {
        return Some("it is empty".to_owned());
    }
    if description.split_whitespace().count() > 25 {
        return Some(format!("{} words", description.split_whitespace().count()));
    }
    if let Some(vague) = words.iter().find(|w| VAGUE.contains(w)) {
        return Some(format!("`{vague}` says nothing that can be seen"));
    }
    let sensed = words
        .iter()
        .any(|w| SENSED.iter().any(|s| w.starts_with(s)) || w.parse::<f64>().is_ok());
    if !sensed {
        return Some("nothing in it is seen, felt or measured".to_owned());
    }
    None
}

#[test]
fn the_lint_itself_finds_what_it_is_for() {
    for vague in [
        "Very bad.",
        "Poor condition.",
        "Looks OK to me.",
        "Slightly worn boot.",
        "In need of attention soon.",
        "",
    ] {
        assert!(fault(vague).is_some(), "{vague}");
    }
    let long = "A boot that is split along its whole outer fold so that grease has come out of it and has been thrown all over the wheel and the arch as well";
    assert!(fault(long).is_some());
    assert_eq!(fault("Split that opens with a fingernail, grease behind it."), None);
}

#[test]
fn every_grade_names_something_seen_felt_or_measured_in_few_words() {
    let mut faults = Vec::new();
    for component in builtin::library().components() {
        for check in &component.checks {
            let texts: Vec<&String> = match &check.kind {
                CheckKind::Graded(descriptions) => {
                    assert_eq!(descriptions.len(), 6, "{}/{}", component.id, check.id);
                    descriptions.iter().collect()
                }
                CheckKind::YesNo(question) => vec![&question.yes, &question.no],
                CheckKind::Measured(_) => Vec::new(),
            };
            for text in texts {
                if let Some(fault) = fault(text) {
                    faults.push(format!("{}/{}: “{text}”: {fault}", component.id, check.id));
                }
            }
        }
    }
    assert!(faults.is_empty(), "{} faults\n{}", faults.len(), faults.join("\n"));
}

/// A sentence stands for one grade, wherever it is used: the same nut is graded alike on every part.
#[test]
fn no_sentence_stands_for_two_grades() {
    let mut seen: BTreeMap<String, (usize, String)> = BTreeMap::new();
    let mut faults = Vec::new();
    for component in builtin::library().components() {
        for check in &component.checks {
            if let CheckKind::Graded(descriptions) = &check.kind {
                for (grade, text) in descriptions.iter().enumerate() {
                    let here = format!("{}/{}", component.id, check.id);
                    let (before, there) = seen
                        .entry(words_of(text))
                        .or_insert_with(|| (grade, here.clone()))
                        .clone();
                    if before != grade {
                        faults.push(format!("{there} {before} and {here} {grade}: “{text}”"));
                    }
                }
            }
        }
    }
    assert!(faults.is_empty(), "{}\n{}", faults.len(), faults.join("\n"));
}

#[test]
fn every_text_is_a_sentence_and_teaches_something() {
    let mut faults = Vec::new();
    for component in builtin::library().components() {
        if !component.about.ends_with('.') || component.about.split_whitespace().count() < 8 {
            faults.push(format!("{}: about “{}”", component.id, component.about));
        }
        for check in &component.checks {
            if !check.how.ends_with('.') || check.how.split_whitespace().count() < 5 {
                faults.push(format!("{}/{}: how “{}”", component.id, check.id, check.how));
            }
        }
        for mode in &component.modes {
            if !mode.what.ends_with('.') {
                faults.push(format!("{}/{}: “{}”", component.id, mode.id, mode.what));
            }
        }
    }
    for caution in &builtin::library().all().cautions {
        if !caution.text.ends_with('.') || caution.text.split_whitespace().count() > 60 {
            faults.push(format!("caution {}: “{}”", caution.id, caution.text));
        }
    }
    assert!(faults.is_empty(), "{}", faults.join("\n"));
}
