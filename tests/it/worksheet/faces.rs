//! The worksheet as text, as HTML and on the command line.

use std::path::PathBuf;

use tinworm::report::worksheet::{Worksheet, html, json, text};
use tinworm::report::{Ink, Paper};
use tinworm::text::width;

use super::{corner, demo_car};

/// The text without colour.
pub fn plain(sheet: &Worksheet) -> String {
    text(
        sheet,
        Paper {
            width: 100,
            ink: Ink::Plain,
        },
    )
}

/// A text on one line.
pub fn flat(text: &str) -> String {
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

fn folder(name: &str) -> PathBuf {
    PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("screenshots").join(name)
}

/// What is kept of one corner of the demo car: the page to print and the text.
pub fn kept() -> [(PathBuf, String); 2] {
    let sheet = corner();
    [
        (folder("worksheet.html"), html::page(&sheet)),
        (folder("worksheet.txt"), plain(&sheet)),
    ]
}

#[test]
fn the_kept_worksheet_is_the_present_one() {
    for (path, made) in kept() {
        let there = std::fs::read_to_string(&path).unwrap_or_default();
        assert!(
            there == made,
            "{} is stale: run `cargo test --test it -- --ignored write_worksheet` and look at it",
            path.display()
        );
    }
}

/// Writes what is kept; draws the page's picture where a Chromium is installed.
#[test]
#[ignore = "writes the worksheet of one corner"]
fn write_worksheet() {
    for (path, made) in kept() {
        std::fs::write(path, made).unwrap();
    }
    let page = folder("worksheet.html");
    for browser in ["chromium", "chromium-browser", "google-chrome"] {
        let mut command = std::process::Command::new(browser);
        command
            .args([
                "--headless",
                "--no-sandbox",
                "--disable-gpu",
                "--hide-scrollbars",
                "--window-size=794,4320",
            ])
            .arg("--force-device-scale-factor=1")
            .arg(format!("--screenshot={}", folder("worksheet.png").display()))
            .arg(format!("file://{}", page.display()));
        if command.status().is_ok_and(|status| status.success()) {
            return;
        }
    }
    println!("no Chromium here: screenshots/worksheet.png was left as it was");
}

#[test]
fn the_text_keeps_to_eighty_columns_and_says_everything() {
    for sheet in demo_car().sheets() {
        let text = plain(&sheet);
        for line in text.lines() {
            assert!(width(line) <= 80, "{line}");
        }
        let flat = flat(&text);
        for step in &sheet.steps {
            for said in step.cautions.iter().chain(&step.notes).chain(&step.support) {
                assert!(flat.contains(said.as_str()), "{said}\n{text}");
            }
        }
        assert!(flat.contains("never says that a car is safe"));
        let boxes = sheet.steps.len() + sheet.tightening.len();
        assert!(
            text.matches("[ ]").count() >= boxes,
            "a box for each step and each tightening"
        );
    }
}

/// Names of the elements in their order, after seeing that each is closed in its place.
fn elements(page: &str) -> Vec<String> {
    let mut open: Vec<&str> = Vec::new();
    let mut all = Vec::new();
    let mut rest = page.strip_prefix("<!DOCTYPE html>").unwrap();
    while let Some(at) = rest.find('<') {
        assert!(!rest[..at].contains('>') || open.contains(&"style"), "{}", &rest[..at]);
        let end = rest[at..].find('>').unwrap() + at;
        let tag = &rest[at + 1..end];
        match tag.strip_prefix('/') {
            Some(name) => assert_eq!(open.pop(), Some(name)),
            None => {
                let name = tag.split(' ').next().unwrap();
                assert!(name.chars().all(|c| c.is_ascii_alphanumeric()), "<{tag}>");
                all.push(name.to_owned());
                if !["meta", "br"].contains(&name) {
                    open.push(name);
                }
            }
        }
        rest = &rest[end + 1..];
    }
    assert_eq!(open, Vec::<&str>::new());
    all
}

#[test]
fn the_page_is_whole_and_takes_nothing_from_the_network() {
    for sheet in demo_car().sheets() {
        let page = html::page(&sheet);
        let names = elements(&page);
        for forbidden in ["script", "link", "img", "iframe", "object"] {
            assert!(!names.iter().any(|n| n == forbidden), "{forbidden}");
        }
        for lure in ["http:", "https:", "url(", "@import", "javascript"] {
            assert!(!page.contains(lure), "{lure}");
        }
        assert_eq!(names.iter().filter(|n| *n == "h1").count(), 1);
        let tables = names.iter().filter(|n| *n == "table").count();
        assert_eq!(names.iter().filter(|n| *n == "thead").count(), tables);
        for table in page.split("<table>").skip(1) {
            let (head, body) = table.split_once("</thead>").unwrap();
            let columns = head.matches("<th scope=\"col\">").count();
            for row in body.split("</tbody>").next().unwrap().split("<tr>").skip(1) {
                assert_eq!(row.matches("<td").count(), columns, "{row}");
            }
        }
        assert!(page.matches("class=\"box\"").count() >= sheet.steps.len() + sheet.tightening.len());
    }
}

#[test]
fn text_of_people_is_escaped() {
    let told = demo_car();
    let mut all = told.library.all().clone();
    for caution in &mut all.cautions {
        caution.text = "<script>alert(1)</script> & \"more\"".to_owned();
    }
    let mut car = told.car.clone();
    car.profile.name = "<b>&\"".to_owned();
    let odd = told.with(car, tinworm::rubric::Library::unchecked(all));
    let page = html::page(&odd.sheet(0));
    assert!(page.contains("&lt;b&gt;&amp;&quot;"), "the name stands there, escaped");
    assert!(page.contains("&lt;script&gt;alert(1)&lt;/script&gt; &amp; &quot;more&quot;"));
    assert!(!page.contains("<script") && !page.contains("<b>&amp;"));
    elements(&page);
    assert!(plain(&odd.sheet(0)).contains("<b>&\""), "plain text needs no escaping");
}

#[test]
fn json_says_the_same() {
    let sheet = corner();
    let value: serde_json::Value = serde_json::from_str(&json(&sheet).unwrap()).unwrap();
    assert_eq!(value["number"], sheet.number);
    assert_eq!(value["steps"].as_array().unwrap().len(), sheet.steps.len());
    assert_eq!(value["tightening"][0]["manual"], serde_json::Value::Null);
}
