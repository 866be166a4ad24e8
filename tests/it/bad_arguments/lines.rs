//! What is said: every command as it is right, and everything wrong that can be made of it.

use std::collections::BTreeSet;
use std::ffi::OsString;
use std::os::unix::ffi::OsStringExt;

use tinworm::cli::Spoken;

/// Every command as it is right, on a car `estate` that has been looked round, said in this order; the flags that take a value are
/// asked of the program itself.
pub const RIGHT: [&str; 52] = [
    "cars",
    "cars --retired",
    "open estate",
    "demo",
    "sheet estate --due --stage underneath",
    "enter estate sheet.csv --take-good",
    "second-look estate",
    "second-look estate --take again.csv",
    "second-look estate --result",
    "standing estate",
    "standing --all",
    "compare estate --from 2026-08-20 --to 2026-11-25",
    "calibration estate",
    "sides estate",
    "decline estate track-rod-end@front-left boot",
    "plan estate --quick",
    "plan --all",
    "parts estate",
    "order estate track-rod-end@front-left",
    "worksheet estate 1",
    "report estate",
    "photo estate track-rod-end@front-left boot a.png",
    "photo estate --list",
    "archive estate other.tar",
    "export estate --json",
    "export estate --csv tables",
    "export estate --calendar --alarms",
    "export --calendar --all",
    "export --schema",
    "found estate track-rod-end@front-left boot=4",
    "leave estate renew-track-rod-end track-rod-end@front-left",
    "done estate",
    "done estate renew-track-rod-end track-rod-end@front-left",
    "done estate --undo 1",
    "drop estate track-rod-end@front-left",
    "tick estate track-rod-end@front-left",
    "choose estate track-rod-end@front-left renew-track-rod-end",
    "pin estate track-rod-end@front-left 2026-12-05",
    "torque M12x1.5 10.9",
    "torque --hex 17",
    "rubrics list",
    "rubrics show track-rod-end",
    "rubrics check",
    "part estate track-rod-end@front-left",
    "verify estate",
    "verify --all",
    "restore estate --list",
    // Those by which a car may come to have a name that is wrong elsewhere, last.
    "retire estate",
    "retire estate --back",
    "set estate",
    "import estate.tar --name Copy",
    "new --name Another --built 1988 --like front-drive-hatchback --yearly 6000 --salted 11-3",
];

/// The commands of the program, as it tells them itself.
pub fn commands() -> Vec<Spoken> {
    let all = tinworm::cli::grammar();
    assert!(all[0].words.is_empty(), "{:?}", all[0]);
    all
}

/// Whether a command line is one of a certain command.
pub fn is_of(line: &str, command: &Spoken) -> bool {
    line.split(' ')
        .take(command.words.len())
        .eq(command.words.iter().map(String::as_str))
}

/// What is written where something else is wanted.
fn wrong() -> Vec<OsString> {
    let mut words: Vec<OsString> = [
        "",
        " ",
        "-",
        "--",
        "nobody",
        "../../no/such/place",
        "./",
        "-1",
        "NaN",
        "1e999",
        "99999999999999999999999",
        "2026-02-30",
        "-9999-01-01",
        "9999-12-31",
        "=",
        "boot=9",
        "a=b=c",
        "@",
        "track-rod-end@nowhere",
        "\u{202e}\u{1b}[31m\u{7}",
        "物語🚗e\u{301}",
        "'; drop table",
        "%s%n{}",
    ]
    .iter()
    .map(OsString::from)
    .collect();
    words.push("x".repeat(20_000).into());
    words.push(OsString::from_vec(vec![b'e', 0xff, 0xfe]));
    words
}

/// All command lines: each word replaced, left out and doubled; each flag left without its value, with each wrong one and twice;
/// flags that do not exist, that exclude each other, and values where none is taken.
pub fn command_lines() -> Vec<Vec<OsString>> {
    let commands = commands();
    let (program, commands) = commands.split_first().unwrap();
    let wrong = wrong();
    let mut all: Vec<Vec<OsString>> = Vec::new();
    let mut flagged = BTreeSet::new();
    for right in RIGHT {
        let words: Vec<OsString> = right.split(' ').map(OsString::from).collect();
        let mut with = |more: &[OsString]| all.push([&words[..], more].concat());
        let plain = |more: &[&str]| more.iter().map(OsString::from).collect::<Vec<_>>();
        with(&plain(&["--no-such-flag"]));
        with(&plain(&["one", "word", "too", "many"]));
        with(&plain(&["--json", "--json"]));
        with(&plain(&["--json", "--csv"]));
        with(&plain(&["--color", "mauve"]));
        with(&plain(&["--today", "2026-02-29"]));
        let command = commands.iter().find(|c| is_of(right, c)).unwrap();
        // Flags once for each command: they are the same however it is said.
        if flagged.insert(command.words.clone()) {
            for flag in &command.alone {
                with(&plain(&[flag, flag]));
                with(&plain(&[&format!("{flag}=yes")]));
            }
            with(&command.alone.iter().map(OsString::from).collect::<Vec<_>>());
            for flag in &command.with_value {
                with(&plain(&[flag]));
                with(&plain(&[flag, "1", flag, "1"]));
                for bad in &wrong {
                    with(&[flag.into(), bad.clone()]);
                }
            }
        }
        for at in 0..words.len() {
            let mut fewer = words.clone();
            fewer.remove(at);
            all.push(fewer);
            let mut twice = words.clone();
            twice.insert(at, words[at].clone());
            all.push(twice);
            for bad in &wrong {
                let mut other = words.clone();
                other[at] = bad.clone();
                all.push(other);
            }
        }
    }
    // What holds for every command, with one that reads and one that writes.
    for words in [&["standing", "estate"][..], &["tick", "estate", "tyre@front-left"]] {
        for flag in &program.with_value {
            for bad in &wrong {
                let words = words.iter().map(OsString::from);
                all.push(words.chain([flag.into(), bad.clone()]).collect());
            }
        }
    }
    all
}
