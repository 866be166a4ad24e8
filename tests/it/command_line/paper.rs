//! `report` and `export` on the command line: what they write, read by readers that are not ours.

use std::collections::BTreeSet;

use icalendar::{Calendar, Component, DatePerhapsTime};

use tinworm::car::{
    Buying, Change, Day, DaysOff, ExtraWork, OpenJob, Purchase, RepairDone, Session, Target, TorqueUsed,
};
use tinworm::rubric::NewPart;
use tinworm::store::{Access, DataFolder};
use tinworm::units::{Torque, TorqueUnit};

use super::bench::{Bench, said};

/// What a spreadsheet, a browser or a calendar might take for more than text.
const NASTY: &str = "=1+1 <script>alert(\"x\")</script> & a|b; c, d\\e ``` ü€上";

/// A bench whose car has work to do, notes that try to break out, and a repair behind it.
fn bench() -> Bench {
    let bench = Bench::with_car();
    bench.text(&[
        "set",
        "estate",
        "--name",
        "Estate <b>&amp;",
        "--next-survey",
        "2027-04-10",
    ]);
    let path = bench.filled("sheet.csv", |part, _, kind| match part {
        "track-rod-end@front-left" | "lower-ball-joint@front-left" if kind.starts_with("grade") => "5",
        _ if kind.starts_with("grade") => "2",
        _ => "",
    });
    let path = path.to_str().unwrap();
    bench.text(&["enter", "estate", path, "--date", "2026-10-03", "--note", NASTY]);
    bench.text(&[
        "done",
        "estate",
        "renew-track-rod-end",
        "track-rod-end@front-right",
        "--date",
        "2026-10-10",
        "--note",
        NASTY,
    ]);
    bench.text(&["enter", "estate", path, "--date", "2026-11-20", "--odometer", "184200"]);
    bench
}

/// The names of all tags in the order in which they open, and a check that what is opened is closed.
fn tags(page: &str) -> Vec<String> {
    const VOID: [&str; 3] = ["meta", "br", "!DOCTYPE"];
    let mut open: Vec<String> = Vec::new();
    let mut all = Vec::new();
    for piece in page.split('<').skip(1) {
        let (tag, _) = piece.split_once('>').unwrap();
        let name = tag.split_whitespace().next().unwrap();
        if let Some(closed) = name.strip_prefix('/') {
            assert_eq!(open.pop().as_deref(), Some(closed), "closed out of order");
        } else {
            all.push(name.to_owned());
            if !VOID.contains(&name) {
                open.push(name.to_owned());
            }
        }
    }
    assert!(open.is_empty(), "{open:?}");
    all
}

#[test]
fn the_page_is_whole_escaped_and_alone() {
    let bench = bench();
    assert_eq!(bench.text(&["report", "estate", "--html", "--out", "r.html"]), "");
    let page = std::fs::read_to_string(bench.path("r.html")).unwrap();
    assert!(page.starts_with("<!DOCTYPE html><html lang=\"en-GB\">"));
    let tags = tags(&page);
    for banned in ["script", "link", "img", "iframe", "b"] {
        let used = tags.iter().filter(|t| *t == banned).count();
        // Worksheets have bold labels of their own; the car's name brings none.
        assert!(banned == "b" || used == 0, "{banned}");
    }
    assert!(!page.contains("<b>&amp;amp;") && page.contains("Estate &lt;b&gt;&amp;amp;"));
    assert!(page.contains("&lt;script&gt;alert"));
    for outside in ["http://", "https://", "url(", "@import", " on"] {
        let style_and_tags: String = page
            .split('<')
            .filter_map(|piece| piece.split('>').next())
            .chain(page.split("<style>").nth(1).and_then(|s| s.split("</style>").next()))
            .collect::<Vec<_>>()
            .join("\n");
        let found = style_and_tags.contains(outside) && outside != " on";
        assert!(!found && !style_and_tags.contains(" onload="), "{outside}");
    }
    let mut level = 0;
    for tag in tags.iter().filter(|t| t.len() == 2 && t.starts_with('h') && *t != "hr") {
        let this: usize = tag[1..].parse().unwrap();
        assert!(this <= level + 1, "{tag} after h{level}");
        level = this;
    }
    let svgs: Vec<&str> = page.split("<svg ").skip(1).collect();
    assert!(svgs.len() > 8, "{}", svgs.len());
    for svg in svgs {
        let (tag, rest) = svg.split_once('>').unwrap();
        assert!(
            tag.contains("role=\"img\"") && tag.contains("aria-labelledby="),
            "{tag}"
        );
        assert!(rest.starts_with("<title id=") && rest.contains("<desc id="));
        for name in tag
            .split("aria-labelledby=\"")
            .nth(1)
            .unwrap()
            .split('"')
            .next()
            .unwrap()
            .split(' ')
        {
            assert_eq!(page.matches(&format!(" id=\"{name}\"")).count(), 1, "{name}");
        }
    }
    assert!(!page.contains("<th>") && page.contains("<th scope=\"row\""));
    assert!(page.contains("@page") && page.contains("never says that a car is safe"));
    assert!(page.contains("Keep off the road until"));
}

#[test]
fn text_and_markdown_say_the_same_as_the_page() {
    let bench = bench();
    let page = bench.text(&["report", "estate", "--html", "--no-worksheets"]);
    let text = bench.text(&["report", "estate", "--no-worksheets"]);
    let marked = bench.text(&["report", "estate", "--markdown", "--no-worksheets"]);
    assert!(text.lines().all(|line| tinworm::text::width(line) <= 100), "{text}");
    for heading in [
        "State of the car",
        "The car from above",
        "Standing: what comes first",
        "Decline of the first parts",
        "Left against right",
        "Work plan",
        "History",
        "Cautions",
        "Sources",
    ] {
        assert!(page.contains(&format!("<h2>{heading}</h2>")), "{heading}");
        assert!(
            text.contains(heading) && marked.contains(&format!("## {heading}")),
            "{heading}"
        );
    }
    assert!(!page.contains("Worksheets") && bench.text(&["report", "estate"]).contains("Worksheet, visit 1"));
    assert!(!marked.contains("<script>") && marked.contains("\\<script\\>"));
    for others in [page, text, marked] {
        let told = others
            .split_whitespace()
            .collect::<Vec<_>>()
            .join(" ")
            .replace("> ", "");
        let rest = told
            .to_lowercase()
            .replace("never says that a car is safe", "")
            .replace("not a statement that it is safe", "");
        assert!(!rest.contains("is safe"), "{rest}");
    }
    // Nothing has been seen: a report all the same.
    let blank = Bench::with_car();
    let page = blank.text(&["report", "estate", "--html"]);
    tags(&page);
    assert!(page.contains("Nothing has been seen of this car yet"));
    let out = blank.run(&["report", "estate", "--out", "no/such/folder/r.txt"]);
    assert_eq!(out.status.code(), Some(1), "{}", said(&out));
}

#[test]
fn the_calendar_is_read_by_another_reader() {
    let bench = bench();
    let written = bench.text(&["export", "estate", "--calendar", "--alarms"]);
    assert!(
        written
            .split("\r\n")
            .all(|line| line.len() <= 75 && !line.contains('\n'))
    );
    let read: Calendar = written.parse().unwrap();
    let events: Vec<_> = read.components.iter().filter_map(|c| c.as_event()).collect();
    let plan = bench.json(&["plan", "estate", "--json"]);
    let visits = plan["visits"].as_array().unwrap();
    let mut days = BTreeSet::new();
    let mut names = BTreeSet::new();
    for event in &events {
        assert!(names.insert(event.get_uid().unwrap().to_owned()), "twice");
        assert_eq!(event.property_value("DTSTAMP"), Some("20261125T000000Z"));
        assert!(
            event.get_summary().unwrap().starts_with("Estate <b>&amp;: "),
            "{:?}",
            event.get_summary()
        );
        let (Some(DatePerhapsTime::Date(from)), Some(DatePerhapsTime::Date(to))) = (event.get_start(), event.get_end())
        else {
            panic!("{event:?} does not take whole days");
        };
        assert!(from < to);
        if event.get_uid().unwrap().starts_with("visit") || event.get_uid().unwrap().starts_with("booking") {
            days.insert(from.to_string());
            assert!(
                event
                    .get_description()
                    .unwrap()
                    .contains("never says that a car is safe")
            );
        }
    }
    for visit in visits {
        assert!(days.contains(visit["date"].as_str().unwrap()), "{visit}");
    }
    assert!(names.iter().any(|n| n.starts_with("survey-20270410")));
    assert!(written.contains("BEGIN:VALARM"));
    assert!(!bench.text(&["export", "estate", "--calendar"]).contains("BEGIN:VALARM"));
    let again = bench.text(&["export", "estate", "--calendar", "--alarms"]);
    assert_eq!(again, written, "the same plan gives the same file");
}

/// Says everything of the car that can be said, so that no field of it is left out of the schema.
fn fill(bench: &Bench) {
    let day = |text: &str| text.parse().unwrap();
    let part = || "track-rod-end@front-left".parse().unwrap();
    let data = DataFolder::find(Some(&bench.data())).unwrap();
    let mut open = data.open("estate", Access::Write).unwrap();
    let mut profile = open.car().profile.clone();
    profile.sessions.hours_on = vec![(Day::Sunday, 3.0)];
    profile.sessions.listed = vec![Session {
        date: day("2026-12-09"),
        hours: 2.0,
    }];
    profile.sessions.days_off = vec![DaysOff {
        from: day("2026-12-24"),
        to: day("2027-01-01"),
    }];
    profile.sessions.targets = vec![Target {
        name: NASTY.to_owned(),
        date: day("2027-03-01"),
    }];
    let mut wishes = open.car().wishes.clone();
    wishes.dropped = vec!["tyre@front-left".parse().unwrap()];
    let ordered = Buying::Ordered {
        expected: day("2026-12-02"),
    };
    let bought = |name: &str| Purchase::new(part(), "renew-track-rod-end", name);
    let mut done = RepairDone::new(day("2026-11-22"), "renew-track-rod-end", part());
    done.planned_hours = Some(1.5);
    done.fitted = vec![NASTY.to_owned()];
    done.torques = vec![TorqueUsed {
        fixing: "ball stud nut".to_owned(),
        torque: Torque {
            value: 60.0,
            up_to: Some(65.0),
            unit: TorqueUnit::PoundFeet,
            angles: vec![90.0],
        },
    }];
    let job = OpenJob {
        part: "lower-ball-joint@front-left".parse().unwrap(),
        repair: "renew-lower-ball-joint".to_owned(),
        since: day("2026-11-23"),
        hours_so_far: 1.0,
        hours_left: Some(2.0),
        open_steps: Vec::new(),
        did: vec!["wheel off".to_owned()],
        extra: vec![ExtraWork {
            what: "drill out a stud".to_owned(),
            hours: 1.0,
            buy: vec![NewPart {
                name: "stud".to_owned(),
                count: 1,
                cost: 2.0,
                lead_days: 3,
            }],
        }],
        note: NASTY.to_owned(),
    };
    let today = day("2026-11-25");
    open.record_all(vec![
        Change::Profile(Box::new(profile)),
        Change::Wishes(wishes),
        Change::Buy(bought("Track rod end").now_is(ordered, today, 20.0)),
        Change::Buy(bought("Split pin").now_is(Buying::InHand, today, 1.0)),
        Change::Done(done),
        Change::Left(job),
    ])
    .unwrap();
}

#[test]
fn the_json_keeps_to_its_schema_and_the_schema_refuses_what_does_not() {
    let bench = bench();
    bench.text(&[
        "part",
        "estate",
        "track-rod-end@front-left",
        "--torque",
        "ball stud nut=45",
        "--source",
        "manual, chapter 7",
    ]);
    bench.text(&[
        "part",
        "estate",
        "brake-pads@front-left",
        "--limit",
        "lining=3",
        "--source",
        "manual",
    ]);
    bench.text(&["pin", "estate", "track-rod-end@front-left", "2026-12-05"]);
    fill(&bench);
    let schema: serde_json::Value = serde_json::from_str(&bench.text(&["export", "--schema"])).unwrap();
    assert!(jsonschema::meta::is_valid(&schema));
    let schema = jsonschema::validator_for(&schema).unwrap();
    let car = bench.json(&["export", "estate", "--json"]);
    let wrong: Vec<String> = schema
        .iter_errors(&car)
        .map(|e| format!("{}: {e}", e.instance_path()))
        .collect();
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
    assert!(!car["plan"]["visits"].as_array().unwrap().is_empty());
    let nothing_seen = Bench::with_car().json(&["export", "estate", "--json"]);
    assert!(schema.is_valid(&nothing_seen));

    let said = &car["car"];
    for filled in [
        "/progress/purchases/1",
        "/progress/open/0/extra/0/buy/0",
        "/wishes/dropped/0",
        "/profile/sessions/targets/0",
    ] {
        assert!(said.pointer(filled).is_some(), "{filled}");
    }
    let breaks: [(&str, serde_json::Value); 6] = [
        ("/version", 2.into()),
        ("/car/surveys/0/date", "2026-13-01".into()),
        ("/car/surveys/0/looks/0/seen", serde_json::json!({"Grade": 6})),
        ("/car/profile/in_use", "Driven".into()),
        ("/standing/ranked/0/points", (-1).into()),
        ("/fitted/0", "track-rod-end".into()),
    ];
    for (place, value) in breaks {
        let mut broken = car.clone();
        *broken.pointer_mut(place).unwrap() = value;
        assert!(!schema.is_valid(&broken), "{place}");
    }
    let mut more = car.clone();
    more["car"]["colour"] = "blue".into();
    assert!(!schema.is_valid(&more));
}

#[test]
fn tables_are_read_by_a_csv_reader_and_run_nothing() {
    let bench = bench();
    let said = bench.text(&["export", "estate", "--csv", "tables"]);
    assert_eq!(said.lines().count(), 4);
    for name in ["standing", "plan", "surveys", "repairs"] {
        let mut reader = csv::Reader::from_path(bench.path(&format!("tables/{name}.csv"))).unwrap();
        let rows: Vec<csv::StringRecord> = reader.records().collect::<Result<_, _>>().unwrap();
        assert!(!rows.is_empty(), "{name}");
        for cell in rows.iter().flatten() {
            let begins = cell.trim_start().starts_with(['=', '+', '-', '@']);
            assert!(!begins || cell.parse::<f64>().is_ok(), "{name}: {cell}");
        }
    }
    let repairs = std::fs::read_to_string(bench.path("tables/repairs.csv")).unwrap();
    assert!(repairs.contains("'=1+1"), "{repairs}");
}

#[test]
fn the_examples_of_their_help_work_and_a_form_must_be_named() {
    let bench = bench();
    for verb in ["report", "export"] {
        let help = bench.text(&[verb, "--help"]);
        assert!(help.contains(&format!("tinworm {verb} \"Blue estate\" --")), "{help}");
    }
    bench.text(&["report", "estate", "--html", "--out", "report.html"]);
    bench.text(&["export", "estate", "--calendar", "--out", "plan.ics"]);
    assert!(bench.path("plan.ics").exists());
    for words in [
        &["export", "estate"][..],
        &["export", "--json"],
        &["export", "estate", "--json", "--calendar"],
        &["export", "estate", "--schema"],
        &["report", "estate", "--html", "--markdown"],
    ] {
        assert_eq!(bench.run(words).status.code(), Some(2), "{words:?}");
    }
}
