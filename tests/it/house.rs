//! How the house is built: which room may lean on which, which crate is known where, and how long a file may be.
//!
//! Read from the source text, comments left out. A new arrow fails here first; draw it below only if it points the right way.
#![allow(clippy::unwrap_used, clippy::panic)]

use std::fs;
use std::path::{Path, PathBuf};

use tinworm::rubric::{SourceText, builtin};

/// Every room and the rooms it may lean on. `cli` may lean on `tui` as well, but only in [`DOORS_TO_THE_SCREENS`].
const DRAWING: [(&str, &[&str]); 11] = [
    ("text", &[]),
    ("picture", &[]),
    ("units", &[]),
    ("rubric", &["text", "units"]),
    ("car", &["rubric", "text", "units"]),
    ("demo", &["car", "rubric", "units"]),
    // No `text`: the engine reckons and says nothing.
    ("engine", &["car", "rubric", "units"]),
    ("store", &["car", "picture", "rubric", "text", "units"]),
    ("report", &["car", "engine", "rubric", "text", "units"]),
    (
        "tui",
        &["car", "engine", "picture", "report", "rubric", "store", "text", "units"],
    ),
    (
        "cli",
        &[
            "car", "demo", "engine", "picture", "report", "rubric", "store", "text", "units",
        ],
    ),
];

/// The only files of the command line that know the screens.
const DOORS_TO_THE_SCREENS: [&str; 2] = ["cli/exit.rs", "cli/open.rs"];

/// No file may be longer.
const LONGEST: usize = 600;

struct Source {
    /// Below `src`, with `/` between folders.
    path: String,
    /// The text without comments.
    code: String,
    lines: usize,
}

impl Source {
    /// The room: the first folder, or the file's own name.
    fn room(&self) -> &str {
        let first = self.path.split('/').next().unwrap();
        first.strip_suffix(".rs").unwrap_or(first)
    }
}

fn root() -> PathBuf {
    PathBuf::from(env!("CARGO_MANIFEST_DIR"))
}

fn sources() -> Vec<Source> {
    let src = root().join("src");
    let mut found = Vec::new();
    gather(&src, &src, &mut found);
    found.sort_by(|a, b| a.path.cmp(&b.path));
    assert!(found.len() > 50, "only {} files found in src", found.len());
    found
}

fn gather(folder: &Path, src: &Path, found: &mut Vec<Source>) {
    for entry in fs::read_dir(folder).unwrap() {
        let path = entry.unwrap().path();
        if path.is_dir() {
            gather(&path, src, found);
        } else if path.extension().is_some_and(|e| e == "rs") {
            let text = fs::read_to_string(&path).unwrap();
            let below = path.strip_prefix(src).unwrap();
            let names: Vec<_> = below.iter().map(|name| name.to_string_lossy().into_owned()).collect();
            found.push(Source {
                path: names.join("/"),
                code: without_comments(&text),
                lines: text.lines().count(),
            });
        }
    }
}

/// Cuts each line at its first `//`. That of an address within a string is cut too, which hides nothing looked for here.
fn without_comments(text: &str) -> String {
    text.lines()
        .map(|line| line.split("//").next().unwrap_or(""))
        .collect::<Vec<_>>()
        .join("\n")
}

fn of_a_name(c: char) -> bool {
    c.is_alphanumeric() || c == '_'
}

/// The name a text begins with, empty if it begins with none.
fn name_at(text: &str) -> &str {
    let text = text.trim_start();
    text.split(|c| !of_a_name(c)).next().unwrap_or("")
}

/// What follows each place where `what` stands as a name of its own, not as the end of a longer one.
fn after_each<'a>(code: &'a str, what: &'a str) -> impl Iterator<Item = &'a str> {
    code.match_indices(what)
        .filter(|(at, _)| !code[..*at].ends_with(of_a_name))
        .map(move |(at, _)| &code[at + what.len()..])
}

/// The first names behind each `start` (`crate::` or `tinworm::`), a group in braces giving all of its own.
fn first_names<'a>(code: &'a str, start: &'a str) -> Vec<&'a str> {
    let mut names = Vec::new();
    for rest in after_each(code, start) {
        if let Some(group) = rest.trim_start().strip_prefix('{') {
            let mut depth = 0;
            let mut begins = true;
            for (at, c) in group.char_indices() {
                if begins && of_a_name(c) {
                    names.push(name_at(&group[at..]));
                    begins = false;
                }
                match c {
                    '{' => depth += 1,
                    '}' if depth == 0 => break,
                    '}' => depth -= 1,
                    ',' if depth == 0 => begins = true,
                    _ => {}
                }
            }
        } else {
            names.push(name_at(rest));
        }
    }
    names
}

/// How many steps up the longest chain of `super::` goes, in what stands before the file's tests.
fn steps_up(code: &str) -> usize {
    let before_tests = code.split("#[cfg(test)]").next().unwrap_or("");
    after_each(before_tests, "super::")
        .map(|mut rest| {
            let mut steps = 1;
            while let Some(further) = rest.strip_prefix("super::") {
                rest = further;
                steps += 1;
            }
            steps
        })
        .max()
        .unwrap_or(0)
}

/// Whether a crate is named: before `::`, or whole in a `use`.
fn names_crate(code: &str, name: &str) -> bool {
    after_each(code, name).any(|rest| rest.starts_with("::")) || code.contains(&format!("use {name};"))
}

#[test]
fn names_are_read_from_every_form_of_path() {
    let code = "use crate::car::{Car, Look};\nuse crate::{engine::{plan, sides}, text,\n units};\nlet a = crate::demo::car();\nmycrate::no::x";
    assert_eq!(first_names(code, "crate::"), ["car", "engine", "text", "units", "demo"]);
    assert_eq!(without_comments("a // crate::b\n/// crate::c\nd"), "a \n\nd");
    assert_eq!(
        steps_up("use super::a;\nsuper::super::b();\n#[cfg(test)] super::super::super::c"),
        2
    );
    assert!(names_crate("use ron;", "ron") && names_crate("a = ratatui::ron::de()", "ron"));
    assert!(!names_crate("iron::ore()", "ron") && !names_crate("micron(1)", "ron"));
}

#[test]
fn rooms_lean_only_on_what_is_below_them() {
    let mut wrong = Vec::new();
    for source in sources() {
        let room = source.room().to_owned();
        match room.as_str() {
            // The map of the rooms.
            "lib" => continue,
            "main" => {
                for to in first_names(&source.code, "tinworm::") {
                    if to != "cli" {
                        wrong.push(format!(
                            "{}: the program itself may use `cli` alone, not `{to}`",
                            source.path
                        ));
                    }
                }
                continue;
            }
            _ => {}
        }
        let Some((_, below)) = DRAWING.iter().find(|(name, _)| *name == room) else {
            wrong.push(format!("{}: `{room}` is not in the drawing", source.path));
            continue;
        };
        for to in first_names(&source.code, "crate::") {
            let door = to == "tui" && DOORS_TO_THE_SCREENS.contains(&source.path.as_str());
            if to != room && !below.contains(&to) && !door {
                wrong.push(format!("{}: `{room}` may not lean on `{to}`", source.path));
            }
        }
        // A file as deep as its chain of `super::` is long reaches the ground floor, past the drawing.
        if steps_up(&source.code) > source.path.matches('/').count() {
            wrong.push(format!(
                "{}: write `crate::` where `super::` leaves the room",
                source.path
            ));
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

#[test]
fn the_drawing_has_no_circle() {
    // Each room stands after all it leans on: then there is none.
    for (at, (room, below)) in DRAWING.iter().enumerate() {
        for to in *below {
            assert!(
                DRAWING[..at].iter().any(|(name, _)| name == to),
                "`{room}` leans on `{to}`, which does not stand before it"
            );
        }
    }
}

#[test]
fn each_crate_for_the_outside_is_known_in_one_place() {
    let mut wrong = Vec::new();
    for source in sources() {
        let path = source.path.as_str();
        let within = |files: &[&str], folders: &[&str]| {
            files.contains(&path) || folders.iter().any(|folder| path.starts_with(folder))
        };
        let known = [
            ("crossterm", within(&["tui/run.rs", "tui/keys.rs"], &["tui/run/"])),
            ("image", within(&["picture.rs"], &[])),
            ("tar", within(&["store/archive.rs"], &["store/archive/"])),
            ("clap", within(&["cli.rs", "cli/args.rs"], &["cli/args/"])),
            (
                "ron",
                within(&["rubric/parse.rs", "store.rs"], &["rubric/parse/", "store/"]),
            ),
        ];
        for (name, here) in known {
            if !here && names_crate(&source.code, name) {
                wrong.push(format!("{path}: `{name}` does not belong here"));
            }
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

#[test]
fn the_engine_knows_no_file_no_clock_and_no_chance() {
    let outside = [
        "std::fs",
        "std::io",
        "std::env",
        "std::net",
        "std::process",
        "SystemTime",
        "Instant",
        "Zoned::now",
        "ZonedDateTime",
        "rand::rng",
        "ThreadRng",
    ];
    let mut wrong = Vec::new();
    for source in sources().iter().filter(|source| source.room() == "engine") {
        for name in outside {
            if after_each(&source.code, name).next().is_some() {
                wrong.push(format!("{}: `{name}`", source.path));
            }
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

#[test]
fn no_file_is_too_long() {
    let long: Vec<_> = sources()
        .into_iter()
        .filter(|source| source.lines > LONGEST)
        .map(|source| format!("{}: {} lines, {LONGEST} at most", source.path, source.lines))
        .collect();
    assert!(long.is_empty(), "{}", long.join("\n"));
}

#[test]
fn the_readme_names_both_commands() {
    let readme = fs::read_to_string(root().join("README.md")).unwrap();
    for command in ["cargo run --release -- demo", "cargo test"] {
        assert!(
            readme.lines().any(|line| line.trim() == command),
            "README.md: no line that is just `{command}`"
        );
    }
    for picture in readme.split("](").skip(1).filter_map(|rest| rest.split(')').next()) {
        assert!(root().join(picture).exists(), "README.md: `{picture}` is not there");
    }
}

#[test]
fn the_component_in_the_guide_for_developers_has_no_mistake() {
    let guide = fs::read_to_string(root().join("DEVELOPERS.md")).unwrap();
    let (_, rest) = guide.split_once("```ron\n").unwrap();
    let (example, _) = rest.split_once("```").unwrap();
    let mut sources = builtin::sources();
    sources.push(SourceText {
        name: "DEVELOPERS.md".to_owned(),
        text: example.to_owned(),
    });
    let library = tinworm::rubric::load(&sources).unwrap();
    assert!(library.component("steering-damper").is_some());
    assert_eq!(library.repairs_of("steering-damper").count(), 1);
}
