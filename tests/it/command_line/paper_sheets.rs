//! Grading sheets by zone, stage and what is due, filled in beforehand, as HTML; and the preview of `enter`.

use std::collections::BTreeSet;

use scraper::{Html, Selector};
use tinworm::car::{Change, Look, Seen};
use tinworm::store::{Access, DataFolder};
use tinworm::units::Grade;

use super::bench::{Bench, KEPT, TODAY, said};

/// What an independent reader of CSV finds: the header, and the rows by part and check.
fn rows(sheet: &str) -> (Vec<String>, Vec<Vec<String>>) {
    let mut reader = csv::ReaderBuilder::new().flexible(false).from_reader(sheet.as_bytes());
    let header = reader.headers().unwrap().iter().map(str::to_owned).collect();
    let rows = reader
        .records()
        .map(|r| r.unwrap().iter().map(str::to_owned).collect())
        .collect();
    (header, rows)
}

fn parts(sheet: &str) -> BTreeSet<String> {
    rows(sheet).1.into_iter().map(|row| row[1].clone()).collect()
}

/// A page read by the HTML parser of a browser; it may not have found a single mistake.
pub(crate) fn page(text: &str) -> Html {
    let page = Html::parse_document(text);
    assert!(page.errors.is_empty(), "{:?}", page.errors);
    page
}

fn texts(page: &Html, what: &str) -> Vec<String> {
    let selector = Selector::parse(what).unwrap();
    page.select(&selector).map(|e| e.text().collect::<String>()).collect()
}

#[test]
fn a_zone_takes_its_corner_an_end_takes_both_and_stages_cut_further() {
    let bench = Bench::with_car();
    let of = |args: &[&str]| {
        let mut all = vec!["sheet", "estate", "--csv"];
        all.extend(args);
        parts(&bench.text(&all))
    };
    let wanted = |keep: fn(&str) -> bool| -> BTreeSet<String> {
        KEPT.iter().filter(|p| keep(p)).map(|p| (*p).to_owned()).collect()
    };
    assert_eq!(of(&[]), wanted(|_| true));
    assert_eq!(
        of(&["--zone", "front"]),
        wanted(|_| true),
        "every part kept is in front"
    );
    assert_eq!(of(&["--zone", "front-right"]), wanted(|p| p.ends_with("front-right")));
    assert_eq!(of(&["--zone", "Front left"]), wanted(|p| p.ends_with("front-left")));
    assert_eq!(of(&["--zone", "right", "rear"]), wanted(|p| p.ends_with("front-right")));
    assert_eq!(of(&["--zone", "car"]), BTreeSet::new());
    let whole = rows(&bench.text(&["sheet", "estate", "--csv"])).1;
    let raised = rows(&bench.text(&["sheet", "estate", "--csv", "--stage", "front-raised"])).1;
    assert!(!raised.is_empty() && raised.len() < whole.len());
    assert!(raised.iter().all(|row| row[0] == "Front on stands"));
    let kept: Vec<&Vec<String>> = whole.iter().filter(|row| row[0] == "Front on stands").collect();
    assert_eq!(raised.iter().collect::<Vec<_>>(), kept, "in the order of the round");
    let out = bench.run(&["sheet", "estate", "--zone", "boot"]);
    assert_eq!(out.status.code(), Some(2));
    assert!(said(&out).contains("rear-left"), "{}", said(&out));
}

#[test]
fn only_what_is_due_stands_on_the_sheet_and_says_why() {
    let bench = Bench::with_car();
    let all = rows(&bench.text(&["sheet", "estate", "--csv"])).1.len();
    let (header, unseen) = rows(&bench.text(&["sheet", "estate", "--csv", "--due"]));
    assert_eq!(unseen.len(), all, "nothing has been seen");
    assert_eq!(header.last().map(String::as_str), Some("due"));
    assert!(unseen.iter().all(|row| row.last().unwrap() == "nobody has seen it"));

    let path = bench.filled("sheet.csv", |part, check, kind| match (part, check) {
        ("track-rod-end@front-left", "boot") => "3",
        ("track-rod-end@front-right", "boot") => "",
        ("tyre@front-left", "tread") => "7/7/7",
        ("brake-pads@front-left", "lining") => "2.5/2.5",
        (_, "age") => "1",
        (_, "play") => "0",
        _ if kind.starts_with("grade") => "0",
        _ => "no",
    });
    let file = path.to_str().unwrap();
    bench.text_on("2026-10-03", &["enter", "estate", file]);
    let due = |day: &str| -> Vec<(String, String, String)> {
        let sheet = bench.text_on(day, &["sheet", "estate", "--csv", "--due"]);
        let row = |row: Vec<String>| (row[1].clone(), row[2].clone(), row.last().unwrap().clone());
        rows(&sheet).1.into_iter().map(row).collect()
    };
    let why = |list: &[(String, String, String)], part: &str, check: &str| {
        let found = list.iter().find(|(p, c, _)| p == part && c == check);
        found.map(|(_, _, why)| why.clone())
    };
    let soon = due("2026-10-10");
    assert!(soon.len() < all);
    assert_eq!(
        why(&soon, "track-rod-end@front-left", "boot").as_deref(),
        Some("by what was seen of it before"),
        "a blank sheet does not tell the grade"
    );
    let filled = bench.text_on("2026-10-10", &["sheet", "estate", "--csv", "--due", "--filled"]);
    assert!(filled.contains("grade 3 when last seen"), "{filled}");
    assert_eq!(
        why(&soon, "track-rod-end@front-right", "boot").as_deref(),
        Some("nobody has seen it")
    );
    let pads = why(&soon, "brake-pads@front-left", "lining").unwrap();
    assert!(pads == "by what was seen of it before", "{pads}");
    assert_eq!(why(&soon, "tyre@front-left", "age"), None);
    let later = due("2027-10-03");
    assert_eq!(later.len(), all, "a year on everything is due again");
    let tyre = why(&later, "tyre@front-left", "age").unwrap();
    assert!(tyre.contains("a year ago"), "{tyre}");
    let text = bench.text_on("2026-10-10", &["sheet", "estate", "--due", "--brief"]);
    assert!(text.contains("Due: nobody has seen it."), "{text}");
    let flowing = text.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(flowing.contains("What is left out is not thereby good."), "{text}");
}

#[test]
fn the_sheet_of_a_first_look_asks_a_quarter_of_an_hour_on_the_spot_and_raises_the_car_last() {
    use tinworm::engine::first_look::{MINUTES, first_look, is_on_the_spot};
    use tinworm::rubric::builtin;

    let bench = Bench::with_car();
    let whole = rows(&bench.text(&["sheet", "estate", "--csv"])).1;
    let first = rows(&bench.text(&["sheet", "estate", "--csv", "--first-look"])).1;
    assert!(first.len() > 3 && first.len() < whole.len());
    let car = DataFolder::find(Some(&bench.data()))
        .and_then(|yard| yard.open("estate", Access::Read))
        .unwrap();
    let library = builtin::library();
    let assessment = tinworm::engine::assess::assess(car.car(), library, TODAY.parse().unwrap());
    let chosen = first_look(&assessment, library, MINUTES);
    let pairs: BTreeSet<(String, String)> = first.iter().map(|row| (row[1].clone(), row[2].clone())).collect();
    let wanted: BTreeSet<(String, String)> = chosen.checks.iter().map(|(p, c)| (p.to_string(), c.clone())).collect();
    assert_eq!(pairs, wanted, "the same as on the screens");
    for (part, check) in &chosen.checks {
        assert!(is_on_the_spot(library.check(&part.component, check).unwrap()));
    }
    let stages: Vec<&str> = first.iter().map(|row| row[0].as_str()).collect();
    let raised =
        |stage: &&str| stage.contains("on stands") || stage.contains("underneath") || stage.contains("Underneath");
    let on_stands = stages.iter().position(raised).unwrap();
    assert!(stages[on_stands..].iter().all(raised), "{stages:?}");
    let printed = bench.text(&["sheet", "estate", "--first-look"]);
    assert!(
        printed.contains("the first look") && printed.contains("not thereby good"),
        "{printed}"
    );
    assert!(
        bench
            .text(&["sheet", "estate", "--first-look", "--html"])
            .contains("the first look")
    );
    let out = bench.run(&["sheet", "estate", "--first-look", "--due"]);
    assert_eq!(out.status.code(), Some(2));
}

#[test]
fn a_sheet_filled_in_beforehand_comes_back_unchanged() {
    let bench = Bench::with_car();
    let path = bench.filled("sheet.csv", |_, check, kind| match (kind, check) {
        ("grade 0 to 5", _) => "2",
        ("yes or no", _) => "no",
        (_, "tread") => "4.1/5.0/5.25",
        (_, "lining") => "3.2/4.1",
        _ => "0.3",
    });
    bench.text_on("2026-10-03", &["enter", "estate", path.to_str().unwrap()]);
    // Notes that a spreadsheet might run, or whose ends it might take off.
    let notes = [
        "=1+1",
        "+3",
        "-x",
        "@sum",
        "\t=1",
        "\tx",
        "\n=1",
        "'=1",
        "a,b;\"c\"\nd",
        " x",
    ];
    {
        let data = DataFolder::find(Some(&bench.data())).unwrap();
        let mut open = data.open("estate", Access::Write).unwrap();
        let survey = open.car().surveys[0].clone();
        assert!(survey.looks.len() > notes.len());
        let changes = notes.iter().zip(&survey.looks).map(|(note, look)| Change::Look {
            survey: survey.date,
            look: Look {
                note: (*note).to_owned(),
                ..look.clone()
            },
        });
        open.record_all(changes.collect()).unwrap();
    }
    let sheet = bench.text_on("2026-10-10", &["sheet", "estate", "--csv", "--filled"]);
    let (header, filled) = rows(&sheet);
    assert!(sheet.ends_with("\r\n"), "RFC 4180 ends its lines so");
    assert_eq!(header.len(), 12);
    for cell in filled.iter().flatten() {
        let starts = cell.chars().next().is_some_and(|c| "=+-@\t\r".contains(c));
        assert!(!starts || cell.parse::<f64>().is_ok(), "a spreadsheet runs {cell:?}");
    }
    let mut backwards = filled.clone();
    backwards.reverse();
    let mut writer = csv::Writer::from_path(bench.path("back.csv")).unwrap();
    writer.write_record(&header).unwrap();
    for row in &backwards {
        writer.write_record(row).unwrap();
    }
    writer.flush().unwrap();
    let looks = filled.len();
    let same = bench.text_on(
        "2026-10-10",
        &["enter", "estate", "back.csv", "--date", "2026-10-03", "--preview"],
    );
    assert!(same.contains(&format!("0 new, 0 changed, {looks} the same")), "{same}");
    let before = bench.json_on("2026-10-10", &["export", "estate", "--json"])["car"].clone();
    bench.text_on("2026-10-10", &["enter", "estate", "back.csv", "--date", "2026-10-03"]);
    let after = bench.json_on("2026-10-10", &["export", "estate", "--json"])["car"].clone();
    assert_eq!(before, after);

    // Given back under another day unchanged, it is asked about.
    let out = bench
        .command_on("2026-10-10")
        .args(["enter", "estate", "back.csv"])
        .output()
        .unwrap();
    assert!(
        said(&out).contains("not looked at again should be empty"),
        "{}",
        said(&out)
    );

    // What a repair has renewed since is not filled in.
    bench.text_on(
        "2026-10-10",
        &[
            "done",
            "estate",
            "renew-track-rod-end",
            "track-rod-end@front-left",
            "--date",
            "2026-10-10",
        ],
    );
    let sheet = bench.text_on("2026-10-11", &["sheet", "estate", "--csv", "--filled"]);
    for row in rows(&sheet).1 {
        let empty = row[9].is_empty() && row[10].is_empty();
        assert_eq!(empty, row[1] == "track-rod-end@front-left", "{row:?}");
    }
}

#[test]
fn a_preview_tells_new_from_changed_from_same_and_writes_nothing() {
    let bench = Bench::with_car();
    let write = |name: &str, text: &str| std::fs::write(bench.path(name), text).unwrap();
    write(
        "first.csv",
        "part,check,grade_or_reading,not_seen,note\ntrack-rod-end@front-left,boot,2,,\ntrack-rod-end@front-right,boot,1,,dry\n",
    );
    let looks = || -> Vec<Look> {
        let data = DataFolder::find(Some(&bench.data())).unwrap();
        let car = data.open("estate", Access::Read).unwrap().car().clone();
        car.surveys.last().map(|s| s.looks.clone()).unwrap_or_default()
    };
    let first = bench.text(&["enter", "estate", "first.csv", "--date", "2026-10-03", "--preview"]);
    assert!(first.contains("2 new, 0 changed, 0 the same"), "{first}");
    assert!(looks().is_empty(), "a preview writes nothing");
    bench.text(&["enter", "estate", "first.csv", "--date", "2026-10-03"]);
    write(
        "second.csv",
        "note,grade_or_reading,check,part,not_seen\ndry,1,boot,track-rod-end@front-right,\n,3,boot,track-rod-end@front-left,\n\
         ,,play,track-rod-end@front-left,out of reach\n,,play,track-rod-end@front-right,\n",
    );
    let second = bench.text(&["enter", "estate", "second.csv", "--date", "2026-10-03", "--preview"]);
    assert!(
        second.contains("1 new, 1 changed, 1 the same; 1 row left empty"),
        "{second}"
    );
    let changed = second.lines().find(|l| l.contains("changed ")).unwrap();
    assert!(changed.contains("grade 2") && changed.contains("grade 3"), "{second}");
    assert_eq!(looks()[0].seen, Seen::Grade(Grade::new(2).unwrap()));
    bench.text(&["enter", "estate", "second.csv", "--date", "2026-10-03"]);
    assert_eq!(looks()[0].seen, Seen::Grade(Grade::new(3).unwrap()));
    assert_eq!(looks().len(), 3);

    // On a later day, beside what was seen before; and nonsense is refused by line before anything is shown.
    let third = bench.text(&["enter", "estate", "second.csv", "--preview"]);
    assert!(third.contains("grade 3 on 2026-10-03"), "{third}");
    write(
        "bad.csv",
        "part,check,grade_or_reading\ntrack-rod-end@front-left,boot,7\n",
    );
    let out = bench.run(&["enter", "estate", "bad.csv", "--preview"]);
    assert_eq!(out.status.code(), Some(1));
    assert!(
        said(&out).contains("bad.csv:2: column grade_or_reading"),
        "{}",
        said(&out)
    );
}

#[test]
fn the_printed_sheet_is_valid_whole_and_readable_without_eyes() {
    let bench = Bench::with_car();
    bench.text(&["set", "estate", "--name", "Estate <b>&amp; \"x\""]);
    let all = rows(&bench.text(&["sheet", "estate", "--csv"])).1;
    bench.text(&["sheet", "estate", "--html", "--out", "sheet.html"]);
    let text = std::fs::read_to_string(bench.path("sheet.html")).unwrap();
    let sheet = page(&text);
    for banned in ["script", "link", "img", "iframe", "object"] {
        assert!(texts(&sheet, banned).is_empty(), "{banned}");
    }
    assert!(
        !text.contains("http") && !text.contains("url("),
        "nothing from the network"
    );
    assert!(texts(&sheet, "h1")[0].contains("Estate <b>&amp; \"x\""));
    // A row for each check, a row of its own for the note, in tables with captions and headers of columns and rows.
    assert_eq!(texts(&sheet, "tbody th[scope=row]").len(), all.len());
    assert_eq!(texts(&sheet, "td.note").len(), all.len());
    assert_eq!(texts(&sheet, "table").len(), texts(&sheet, "table > caption").len());
    assert_eq!(
        texts(&sheet, "table").len() * 8,
        texts(&sheet, "thead th[scope=col]").len()
    );
    let stages: Vec<String> = texts(&sheet, "section > h2");
    let mut wanted: Vec<String> = all.iter().map(|row| row[0].clone()).collect();
    wanted.dedup();
    assert_eq!(stages, wanted, "in the order of the round");
    // Six boxes for a grade, two for an answer, a line for each point of a reading, four reasons each; all have names.
    let kinds = |kind: &str| all.iter().filter(|row| row[4] == kind).count();
    let boxes = texts(&sheet, "span.box[role=img][aria-label]").len();
    assert_eq!(
        boxes,
        6 * kinds("grade 0 to 5") + 2 * kinds("yes or no") + 4 * all.len()
    );
    assert_eq!(boxes, texts(&sheet, "span.box").len());
    let points: usize = all
        .iter()
        .filter(|row| row[4] == "reading")
        .map(|row| row[6].split("; ").count())
        .sum();
    assert_eq!(texts(&sheet, "span.line").len(), points);

    let path = bench.filled(
        "filled.csv",
        |_, _, kind| if kind.starts_with("grade") { "4" } else { "" },
    );
    bench.text(&["enter", "estate", path.to_str().unwrap()]);
    let filled = bench.text(&["sheet", "estate", "--html", "--filled", "--brief"]);
    let filled = page(&filled);
    let ticked = texts(&filled, "span.box[aria-label='ticked box: grade 4']");
    assert_eq!(ticked.len(), kinds("grade 0 to 5"));
    assert!(ticked.iter().all(|t| t == "×"));
    assert!(texts(&filled, "span.box").iter().filter(|t| !t.is_empty()).count() == ticked.len());
    let none = bench.text(&["sheet", "estate", "--html", "--zone", "rear"]);
    assert!(texts(&page(&none), "main")[0].contains("nothing to look at there"));
}
