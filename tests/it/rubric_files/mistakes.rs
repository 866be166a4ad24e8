//! One mistake at a time: what is said, and where it points.

use super::{SMALL, listed, mistakes, spoiled};

/// Spoils the small set in one place and expects one mistake, at the mark, in words that contain the passages given.
#[track_caller]
fn one(old: &str, new: &str, words: &[&str]) {
    let (text, line, column) = spoiled(SMALL, old, new);
    let found = mistakes(&[("small.ron", &text)]);
    assert_eq!(found.len(), 1, "{old} → {new}:\n{}", listed(&found));
    expect(&found, line, column, words);
}

/// The same where the one slip makes more than one mistake.
#[track_caller]
fn among(old: &str, new: &str, words: &[&str]) {
    let (text, line, column) = spoiled(SMALL, old, new);
    expect(&mistakes(&[("small.ron", &text)]), line, column, words);
}

#[track_caller]
fn expect(found: &[tinworm::rubric::Mistake], line: usize, column: usize, words: &[&str]) {
    let there = found
        .iter()
        .any(|m| (m.line, m.column) == (line, column) && words.iter().all(|w| m.to_string().contains(w)));
    assert!(there, "not at {line}:{column} with {words:?}:\n{}", listed(found));
}

#[test]
fn ids_that_are_none_or_stand_twice() {
    among(
        "id: \"set-toe\"",
        "id: §\"Set toe\"",
        &["`Set toe` is no id", "track-rod-end"],
    );
    among(
        "id: \"comes-apart\"",
        "id: §\"comes--apart\"",
        &["`comes--apart` is no id"],
    );
    one("id: \"garage\"", "id: §\"\"", &["`` is no id"]);
    one(
        "(id: \"M12x1.25\"",
        "(id: \"M8\", diameter: 8.0, pitch: 1.25), (id: §\"M 10\", diameter: 10.0, pitch: 1.5), (id: \"M12x1.25\"",
        &["`M 10` is no id"],
    );
    one(
        "threads: [",
        "threads: [(id: \"M8\", diameter: 8.0, pitch: 1.25),\n (id: §\"M8\", diameter: 8.0, pitch: 1.0),",
        &["`M8` stands twice in threads, first on line"],
    );
    among(
        "id: \"loose\"",
        "id: §\"play\"",
        &["check `play` stands twice in this component"],
    );
    one(
        "opened_by: [\"wheel-off\"]",
        "opened_by: [\"wheel-off\", §\"wheel-off\"]",
        &["named twice"],
    );
}

#[test]
fn references_that_lead_nowhere() {
    one(
        "opened_by: [\"wheel-off\"]",
        "opened_by: [\"wheel-off\", §\"whel-off\"]",
        &["no access step `whel-off`", "write `wheel-off`"],
    );
    one(
        "needs: [\"front-raised\"]",
        "needs: [§\"front-rasied\"]",
        &["no access step `front-rasied`", "write `front-raised`"],
    );
    one(
        "follow_ups: [\"set-toe\"]",
        "follow_ups: [§\"set-camber\"]",
        &["no follow-up `set-camber`", "`set-toe`"],
    );
    one(
        "tools: [\"Ball joint splitter\"],\n            cautions: [\"stands\"]",
        "tools: [], cautions: [§\"stand\"]",
        &["no caution `stand`", "write `stands`"],
    );
    one(
        "thread: \"M12x1.25\"",
        "thread: §\"M12x1.5\"",
        &["no thread `M12x1.5`", "write `M12x1.25`"],
    );
    one(
        "class: \"8.8\"",
        "class: §\"10.9\"",
        &["no strength class `10.9`", "`8.8`"],
    );
    one(
        "graded_by: \"loose\"",
        "graded_by: §\"lose\"",
        &["no check of `ball-joint` called `lose`", "write `loose`"],
    );
    one(
        "driven_by: [\"play\", \"loose\"]",
        "driven_by: [\"play\", §\"lose\"]",
        &["no check of `ball-joint` called `lose`"],
    );
    one(
        "(check: \"loose\", from: 5)",
        "(check: §\"gone\", from: 5)",
        &["no check of `ball-joint` called `gone`"],
    );
    one(
        "when: \"boot\"",
        "when: §\"boots\"",
        &["no check of `ball-joint` called `boots`", "write `boot`"],
    );
    one(
        "quickens: \"play\"",
        "quickens: §\"plya\"",
        &["called `plya`", "write `play`"],
    );
    one(
        "(check: \"loose\", to: 1)",
        "(check: \"loose\", to: 1, up_to: §0)",
        &["serves only grades better than the one it leaves"],
    );
    one(
        "quickens: \"tyre/tread\"",
        "quickens: §\"tyre/thread\"",
        &["no check of `tyre` called `thread`", "write `tread`"],
    );
    one(
        "quickens: \"tyre/tread\"",
        "quickens: §\"tire/tread\"",
        &["no component `tire`", "write `tyre`"],
    );
    among(
        "component: \"tyre\",\n",
        "component: §\"tire\",\n",
        &["no component `tire`", "write `tyre`"],
    );
    one(
        "hours: 0.5,",
        "hours: 0.5, also_renews: [§\"rim\"],",
        &["no component `rim`"],
    );
    one(
        "(repair: \"renew-ball-joint\"",
        "(repair: §\"renew-ball-joints\"",
        &["no repair `renew-ball-joints`"],
    );
    one(
        "(component: \"tyre\", at",
        "(component: §\"tire\", at",
        &["no component `tire`"],
    );
    one(
        "RenewChecks([\"boot\"])",
        "RenewChecks([§\"bot\"])",
        &["called `bot`", "write `boot`"],
    );
    one(
        "(check: \"loose\", to: 1)",
        "(check: §\"nut\", to: 1)",
        &["called `nut`"],
    );
}

#[test]
fn grades_that_cannot_be_told_apart() {
    one(
        "kind: Graded([\n                        \"Supple, full of grease\",",
        "kind: §Graded([",
        &["5 descriptions, fewer than six"],
    );
    one(
        "kind: Graded([\n",
        "kind: §Graded([ \"Still in its bag\",\n",
        &["7 descriptions, more than six"],
    );
    one(
        "\"Split, grease outside\"",
        "§\"FINE CRACKS,  at the folds.\"",
        &["the descriptions of grades 2 and 4 are alike"],
    );
    one(
        "no: \"It sits tight\"",
        "no: §\"it moves!\"",
        &["yes and no are described alike"],
    );
    one("\"Dull, no cracks\"", "§\" \"", &["this text is empty"]);
}

#[test]
fn texts_that_say_nothing() {
    one(
        "name: \"Ball joint\",\n            system",
        "name: §\"\",\n            system",
        &["this text is empty"],
    );
    one(
        "how: \"Measure the main grooves.\"",
        "how: §\"\\t\"",
        &["this text is empty"],
    );
    one(
        "instrument: \"depth gauge\"",
        "instrument: §\"\"",
        &["this text is empty"],
    );
    one(
        "tools: [\"Ball joint splitter\"]",
        "tools: [\"Hammer\", §\"\"]",
        &["this text is empty"],
    );
    one("advice: \"Cut it\"", "advice: §\"\"", &["this text is empty"]);
    one("what: \"Saw it off\"", "what: §\" \"", &["this text is empty"]);
    one(
        "text: \"Never under a car that stands on a jack alone.\"",
        "text: §\"\"",
        &["this text is empty"],
    );
    one("\"sideways\"", "§r#\" \"#", &["this text is empty"]);
}

#[test]
fn limits_on_the_wrong_side_of_new() {
    one("limit: 1.5", "limit: §0.0", &["the limit 0 equals new"]);
    one("limit: 1.5", "limit: §-1.5", &["wrong side of new, 0", "grows"]);
    one(
        "new: 8.0, limit: 1.6",
        "new: 1.6, limit: §8.0",
        &["wrong side of new, 1.6", "shrinks"],
    );
    one(
        "limit: 1.6, ",
        "limit: §1.6, grows: true, ",
        &["wrong side of new, 8", "`grows: false`"],
    );
    let (text, _, _) = spoiled(SMALL, "limit: 1.5, ", "limit: -1.5, grows: false, ");
    assert_eq!(listed(&mistakes(&[("small.ron", &text)])), "");
    one("sd: 0.1", "sd: §1.6", &["scatters by 1.6"]);
    one("sd: 0.1", "sd: §0.0", &["0 is out of range", "above 0"]);
}

#[test]
fn numbers_out_of_range() {
    one("minutes: 4,", "minutes: §0,", &["above 0"]);
    one("life: 12.0", "life: §-12", &["-12 is out of range"]);
    one(
        "life: 4.0, source: \"judgement\"",
        "life: 4.0, source: \"judgement\", spread: §-0.1",
        &["0 or more"],
    );
    one("share: 0.1", "share: §1.1", &["from 0 to 1"]);
    one("times: 5.0", "times: §0.0", &["above 0"]);
    one("jumpiness: 0.3", "jumpiness: §-0.3", &["0 or more"]);
    one("life: 4.0,", "life: 4.0, quickening: §0.0,", &["above 0"]);
    one(
        "edges: (0.1, 0.3, 0.5,",
        "edges: (0.1, 0.3, §0.3,",
        &["above 0.3", "edges"],
    );
    one("edges: (0.1,", "edges: (§0.0,", &["above 0"]);
    one("median: 1.6", "median: §0.0", &["above 0"]);
    one("past: 0.75", "past: §0.0", &["above 0"]);
    one("times: 4.0", "times: §0.5", &["of 1 or more"]);
    one("hours: 1.5", "hours: §0.0", &["above 0"]);
    one(
        "within: Corner, hours: 0.2",
        "within: Corner, hours: §-0.2",
        &["0 or more"],
    );
    one("cost: 25.0", "cost: §-25.0", &["0 or more"]);
    one("hex: 19.0", "hex: §0.0", &["above 0"]);
    one(
        "(name: \"stud nut\", ",
        "(name: \"stud nut\", count: §0, ",
        &["a count of 0"],
    );
    one("seizes: 0.95", "seizes: §95.0", &["from 0 to 1"]);
    among("pitch: 1.25", "pitch: §12.5", &["a pitch of 12.5 mm"]);
    one("proof: 580.0", "proof: §0.0", &["above 0"]);
    one("loss_to: 50.0", "loss_to: §5.0", &["above loss_from, 25"]);
    one("corrosion: 0.6", "corrosion: §0.0", &["above 0"]);
    one("ageing: 0.8", "ageing: §-1.0", &["above 0"]);
    one(
        "Mixed(wear: 0.5, corrosion: 0.5,",
        "§Mixed(wear: 0.0, corrosion: 0.0,",
        &["nothing wears it"],
    );
    one("Mixed(wear: 0.5", "Mixed(wear: §-0.5", &["0 or more"]);
}

#[test]
fn chains_that_run_in_a_circle() {
    one(
        "quickens: \"play\", times: 4.0, source: \"judgement\"),\n                (when: \"play\", past: 1.0, quickens: \"tyre/tread\"",
        "quickens: §\"play\", times: 4.0, source: \"judgement\"),\n                (when: \"play\", past: 1.0, quickens: \"boot\"",
        &["ball-joint/boot → ball-joint/play → ball-joint/boot"],
    );
    one(
        "quickens: \"play\"",
        "quickens: §\"boot\"",
        &["ball-joint/boot → ball-joint/boot"],
    );
    one(
        "hours: 0.4, cautions",
        "hours: 0.4, needs: [§\"wheel-off\"], cautions",
        &[
            "access steps need each other",
            "front-raised → wheel-off → front-raised",
        ],
    );
    one(
        "hours: 1.5,",
        "hours: 1.5, after: [(repair: §\"renew-tyres\")],",
        &[
            "wait for each other",
            "renew-ball-joint → renew-tyres → renew-ball-joint",
        ],
    );
}

#[test]
fn law_classes_that_go_down_as_grades_go_up() {
    one("class: Major", "class: §Minor", &["the class minor is given twice"]);
    one(
        "class: Minor, item: \"2.1.3\", source: \"test\"),\n                        (from: 5, class: Major",
        "class: Dangerous, item: \"2.1.3\", source: \"test\"),\n                        (from: 5, class: §Major",
        &["down from dangerous to major"],
    );
    one(
        "(from: 5, class",
        "(from: §4, class",
        &["begins at grade 4, the one before it at 4"],
    );
    one("(from: 4, class", "(from: §0, class", &["grade 0"]);
}

#[test]
fn modes_and_repairs_that_hang_in_the_air() {
    one(
        "driven_by: [\"play\", \"loose\"]",
        "driven_by: §[]",
        &["no check drives the mode `comes-apart`"],
    );
    one(
        "kind: RenewChecks([\"boot\"]),\n            hours: 1.0,\n            access: [\"wheel-off\"]",
        "kind: RenewChecks([\"boot\"]),\n            hours: 1.0,\n            access: §[\"front-raised\"]",
        &[
            "no access step of `renew-boot` opens the way to `ball-joint`",
            "`wheel-off`",
        ],
    );
    one(
        "kind: RenewChecks([\"boot\"])",
        "kind: §RenewChecks([])",
        &["names no check"],
    );
    among(
        "id: \"tyre\",",
        "id: §\"tyre-and-tube\",",
        &["no repair is for `tyre-and-tube`", "also_renews"],
    );
    one(
        "    ],\n    repairs: [",
        "        (id: \"wheel\", name: \"Wheel\", system: Wheels, about: \"Round.\", checks: §[]),\n    ],\n    repairs: [ (id: \"renew-wheel\", name: \"Renew it\", component: \"wheel\", hours: 1.0),",
        &["`wheel` has no check"],
    );
}

#[test]
fn layouts_and_tables_that_do_not_add_up() {
    one(
        "at: [\"front-left\", \"front-right\"]),",
        "at: [\"front-left\", \"front-right\", §\"front-left\"]),",
        &["`ball-joint@front-left` is placed twice"],
    );
    one(
        "at: [\"front-left\", \"front-right\"]),",
        "at: §[]),",
        &["placed nowhere"],
    );
    one(
        "(id: \"arms\", choice",
        "(id: §\"strut\", choice",
        &["`strut` stands twice in layouts"],
    );
    one(
        "thread_grades: [\n        (grade: 0, seizes: 0.0, shears: 0.0, minutes: 0.0, advice: \"Undo it\", source: \"judgement\"),",
        "thread_grades: §[",
        &["thread grades without a line: 0"],
    );
    one(
        "(id: \"M12x1.25\", diameter: 12.0",
        "(id: §\"M12x1.25\", diameter: 10.0",
        &["`M12x1.25` is given as 10 mm by 1.25 mm"],
    );
    among("(grade: 1,", "(grade: §0,", &["`0` stands twice in thread_grades"]);
    one(
        "cautions: [\"stands\"], source: \"common practice, no source\")] , core_lost: 0.2",
        "cautions: [§\"stand\"], source: \"common practice, no source\")] , core_lost: 0.2",
        &["there is no caution `stand`", "write `stands`"],
    );
    one("core_lost: 0.2", "core_lost: §1.0", &["1 is out of range"]);
}

#[test]
fn usual_cars_and_pieces_that_go_with_others() {
    one(
        "with: [\"wheels\"]",
        "with: [§\"wheelz\"]",
        &["no piece of layout `wheelz`", "`wheels`"],
    );
    one(
        "with: [\"wheels\"]",
        "with: [\"wheels\", §\"wheels\"]",
        &["`wheels` is named twice"],
    );
    one(
        "at: [\"front-left/upper\", \"front-right/upper\"], with: [\"wheels\"]),",
        "at: [\"front-left/upper\"], with: [\"wheels\"]), (component: \"ball-joint\", at: [§\"front-left/upper\"]),",
        &["`ball-joint@front-left/upper` is placed twice"],
    );
    one(
        "layout: [\"strut\"])]",
        "layout: [\"strut\", §\"arms\"])]",
        &["`arms` is a second piece of the choice `front-suspension`"],
    );
    one(
        "layout: [\"strut\"])]",
        "layout: §[])]",
        &["no piece of front-suspension"],
    );
    one(
        "layout: [\"strut\"])]",
        "layout: [§\"struts\"])]",
        &["no piece of layout `struts`", "`strut`"],
    );
}

#[test]
fn specialists_without_a_trade_or_with_a_bill_below_nothing() {
    one("trade: \"tyre fitter\"", "trade: §\" \"", &["this text is empty"]);
    one(
        "wait_days: 2, cost: 15.0",
        "wait_days: 2, cost: §-15.0",
        &["-15 is out of range"],
    );
}
