//! Several mistakes and several files at once.

use super::{SMALL, listed, mistakes, source, spoiled};

/// Ten slips of ten kinds, from the top of the small set to its end; the marks are where they are to be found.
const TEN: [(&str, &str, &str); 10] = [
    (
        "opened_by: [\"wheel-off\"]",
        "opened_by: [\"wheel-off\", §\"jack\"]",
        "no access step `jack`",
    ),
    ("\"Dull, no cracks\"", "§\"supple - full of grease\"", "alike"),
    ("class: Major", "class: §Minor", "given twice"),
    ("limit: 1.5", "limit: §0.0", "equals new"),
    ("edges: (0.1, 0.3", "edges: (0.1, §0.05", "the edges of the grades rise"),
    ("driven_by: [\"play\", \"loose\"]", "driven_by: §[]", "no check drives"),
    ("quickens: \"play\"", "quickens: §\"boot\"", "circle"),
    ("how: \"Measure the main grooves.\"", "how: §\"\"", "empty"),
    ("class: \"8.8\"", "class: §\"12.9\"", "no strength class"),
    ("loss_to: 50.0", "loss_to: §5.0", "above loss_from"),
];

#[test]
fn a_file_with_ten_mistakes_lists_all_ten_in_order() {
    let mut text = SMALL.to_owned();
    let mut places = Vec::new();
    for (old, new, words) in TEN {
        let (spoilt, line, column) = spoiled(&text, old, new);
        text = spoilt;
        places.push((line, column, words));
    }
    let found = mistakes(&[("small.ron", &text)]);
    assert_eq!(found.len(), 10, "{}", listed(&found));
    for (mistake, (line, column, words)) in found.iter().zip(places) {
        assert_eq!((mistake.line, mistake.column), (line, column), "{mistake}");
        assert!(mistake.to_string().contains(words), "{words} not in {mistake}");
    }
}

#[test]
fn values_that_cannot_be_read_do_not_hide_one_another_or_the_rest() {
    let mut text = SMALL.to_owned();
    let mut places = Vec::new();
    for (old, new) in [
        ("(from: 4, class: Minor", "(from: §9, class: Minor"),
        ("minutes: 4,", "minutes: §\"4\","),
        ("times: 1.5", "times: §\"1.5\""),
        ("hex: 19.0", "hex: §[19.0]"),
        (
            "(id: \"wheel-off\", name: \"Wheel off\", within: Corner",
            "(id: \"wheel-off\", name: §Wheel, within: Corner",
        ),
        ("loss_to: 50.0", "loss_to: §5.0"),
    ] {
        let (spoilt, line, column) = spoiled(&text, old, new);
        text = spoilt;
        places.push((line, column));
    }
    let found = mistakes(&[("small.ron", &text)]);
    let seen: Vec<(usize, usize)> = found.iter().map(|m| (m.line, m.column)).collect();
    assert_eq!(seen, places, "{}", listed(&found));
}

#[test]
fn two_broken_files_list_both() {
    let broken = "(\n    schema: 1,\n    cautions: [(id: \"acid\", text: \"Acid\" source: \"test\")],\n)";
    let unclosed = "(\n    schema: 1,\n    climates: [\n";
    let (small, ..) = spoiled(SMALL, "limit: 1.5", "limit: 0.0");
    let found = mistakes(&[("c.ron", &small), ("b.ron", unclosed), ("a.ron", broken)]);
    let files: Vec<&str> = found.iter().map(|m| m.file.as_str()).collect();
    assert_eq!(files, ["a.ron", "b.ron", "c.ron"], "{}", listed(&found));
    assert_eq!(
        found.iter().map(|m| m.line).collect::<Vec<_>>()[..2],
        [3, 4],
        "{}",
        listed(&found)
    );
}

#[test]
fn what_a_broken_file_would_define_is_not_called_unknown_elsewhere() {
    let cautions = "    cautions: [(id: \"stands\", text: \"Never under a car that stands on a jack alone.\", source: \"common practice, no source\")],\n";
    let (rest, ..) = spoiled(SMALL, cautions, "");
    let broken = format!("(\n    schema: 1,\n{}", cautions.replace(", text:", " text:"));
    let found = mistakes(&[("cautions.ron", &broken), ("rest.ron", &rest)]);
    assert_eq!(found.len(), 1, "{}", listed(&found));
    assert_eq!(found[0].file, "cautions.ron");
}

#[test]
fn what_cannot_be_read_is_not_called_missing_as_well() {
    for (old, new) in [
        ("(grade: 3, seizes: 0.5", "(grade: 3, seizes: §\"0.5\""),
        ("hours: 0.5,", "hours: §Half,"),
        ("loss_to: 50.0", "loss_to: §[]"),
        ("(component: \"tyre\", at", "(component: §7, at"),
        ("needs: [\"front-raised\"]", "needs: [§1.5]"),
        ("(check: \"loose\", to: 1)", "(check: \"loose\", §until: 1)"),
        ("\"Dull, no cracks\"", "§Dull"),
        ("at: [\"front-left\", \"front-right\"]),", "at: [§\"everywhere\"]),"),
        ("driven_by: [\"play\", \"loose\"]", "driven_by: [§1]"),
        (
            "hours: 1.5,\n            access: [\"wheel-off\"]",
            "hours: 1.5,\n            access: [§wheel_off]",
        ),
    ] {
        let (text, line, column) = spoiled(SMALL, old, new);
        let found = mistakes(&[("small.ron", &text)]);
        let places: Vec<(usize, usize)> = found.iter().map(|m| (m.line, m.column)).collect();
        assert_eq!(places, [(line, column)], "{}", listed(&found));
    }
}

#[test]
fn a_later_file_replaces_items_of_an_earlier_one_in_their_place() {
    let own = "(schema: 1, repairs: [(id: \"renew-boot\", name: \"Fit my boot\", component: \"ball-joint\",
        kind: RenewChecks([\"boot\"]), hours: 9.0, access: [\"wheel-off\"])],
        storages: [(id: \"barn\", name: \"Barn\", corrosion: 0.7, ageing: 0.8, source: \"judgement\")])";
    let library = tinworm::rubric::load(&[source("small.ron", SMALL), source("own.ron", own)]).expect("no mistake");
    assert_eq!(library.repair("renew-boot").map(|r| r.hours), Some(9.0));
    let order: Vec<&str> = library.all().repairs.iter().map(|r| r.id.as_str()).collect();
    assert_eq!(order, ["renew-ball-joint", "renew-boot", "tighten-stud", "renew-tyres"]);
    let kept: Vec<&str> = library.all().storages.iter().map(|s| s.id.as_str()).collect();
    assert_eq!(kept, ["garage", "barn"]);
}

#[test]
fn replacing_a_component_shows_what_still_refers_to_its_old_checks() {
    let own = "(schema: 1, components: [(id: \"tyre\", name: \"Tyre\", system: Wheels, about: \"Mine.\", checks: [
        (id: \"age\", name: \"Age\", stage: OnItsWheels, how: \"Read the date.\",
         kind: YesNo((question: \"Over ten years?\", yes: \"Older\", no: \"Younger\")),
         decline: (driver: Ageing, life: 10.0, source: \"judgement\"))])])";
    let found = mistakes(&[("small.ron", SMALL), ("own.ron", own)]);
    assert_eq!(found.len(), 1, "{}", listed(&found));
    assert!(
        found[0].what.contains("no check of `tyre` called `tread`"),
        "{}",
        found[0]
    );
}
