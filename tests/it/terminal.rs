//! The real binary in a pseudo-terminal: what only a terminal shows.

#![allow(clippy::unwrap_used, clippy::panic)]

mod any_key;
mod job;
mod manners;

use std::io::{Read, Write};
use std::path::Path;
use std::process::Command;
use std::sync::mpsc::{Receiver, channel};
use std::time::{Duration, Instant};

use portable_pty::{Child, CommandBuilder, MasterPty, PtySize, native_pty_system};
use tinworm::store::{Access, DataFolder};

use crate::screens::fixture_profile;

/// The program in a pseudo-terminal.
pub(crate) struct Session {
    child: Box<dyn Child + Send + Sync>,
    keys: Box<dyn Write + Send>,
    bytes: Receiver<Vec<u8>>,
    pub(crate) screen: vt100::Parser,
    raw: Vec<u8>,
    pty: Box<dyn MasterPty + Send>,
}

/// The longest any of this may take.
const PATIENCE: Duration = Duration::from_secs(60);

impl Session {
    pub(crate) fn start(arguments: &[&str], environment: &[(&str, &str)], data: &Path) -> Session {
        Session::start_under(&[], arguments, environment, data)
    }

    /// Starts the program under another one, such as a tracer with its arguments.
    pub(crate) fn start_under(
        above: &[&str],
        arguments: &[&str],
        environment: &[(&str, &str)],
        data: &Path,
    ) -> Session {
        let mut command = match above {
            [first, rest @ ..] => {
                let mut command = command(first);
                command.args(rest);
                command.arg(env!("CARGO_BIN_EXE_tinworm"));
                command.args(arguments);
                command.env("TINWORM_DATA", data);
                command
            }
            [] => program(arguments, data),
        };
        for (name, value) in environment {
            command.env(name, value);
        }
        Session::of(command, (80, 24))
    }

    /// Runs a command in a terminal of so many columns and rows.
    fn of(command: CommandBuilder, (cols, rows): (u16, u16)) -> Session {
        let pair = native_pty_system().openpty(pty_size(cols, rows)).expect("a pty");
        let child = pair.slave.spawn_command(command).expect("the program");
        let mut reader = pair.master.try_clone_reader().expect("a reader");
        let (send, bytes) = channel();
        std::thread::spawn(move || {
            let mut buffer = [0; 8192];
            while let Ok(n) = reader.read(&mut buffer) {
                if n == 0 || send.send(buffer[..n].to_vec()).is_err() {
                    return;
                }
            }
        });
        Session {
            child,
            keys: pair.master.take_writer().expect("a writer"),
            bytes,
            screen: vt100::Parser::new(cells(rows.max(1)), cells(cols.max(1)), 0),
            raw: Vec::new(),
            pty: pair.master,
        }
    }

    /// Gives the terminal another size.
    fn resize(&mut self, cols: u16, rows: u16) {
        self.screen
            .screen_mut()
            .set_size(cells(rows.max(1)), cells(cols.max(1)));
        self.pty.resize(pty_size(cols, rows)).expect("a resize");
    }

    /// The whole frame now on the screen.
    fn text(&self) -> String {
        self.screen.screen().contents()
    }

    /// Waits until the terminal, whoever writes to it, shows some words.
    fn sees(&mut self, words: &str) {
        let end = Instant::now() + PATIENCE;
        while !self.text().contains(words) {
            let left = end.saturating_duration_since(Instant::now());
            match self.bytes.recv_timeout(left) {
                Ok(bytes) => {
                    self.screen.process(&bytes);
                    self.raw.extend(bytes);
                }
                Err(_) => panic!("never saw {words}:\n{}", self.text()),
            }
        }
    }

    /// Waits until the screen fulfils a wish.
    pub(crate) fn until(&mut self, what: &str, wish: impl Fn(&str) -> bool) {
        let end = Instant::now() + PATIENCE;
        loop {
            let text = self.screen.screen().contents();
            // Only whole frames are looked at: each ends with the end of a synchronized update.
            if self.raw.ends_with(b"\x1b[?2026l") && wish(&text) {
                return;
            }
            let left = end.saturating_duration_since(Instant::now());
            match self.bytes.recv_timeout(left) {
                Ok(bytes) => {
                    self.screen.process(&bytes);
                    self.raw.extend(bytes);
                }
                Err(_) => panic!("never saw {what}:\n{text}"),
            }
        }
    }

    pub(crate) fn shows(&mut self, words: &str) {
        self.until(words, |text| text.contains(words));
    }

    pub(crate) fn press(&mut self, keys: &str) {
        self.keys.write_all(keys.as_bytes()).expect("keys");
        self.keys.flush().expect("keys");
    }

    /// Waits for the end and returns the exit code.
    pub(crate) fn ended(&mut self) -> u32 {
        let end = Instant::now() + PATIENCE;
        let code = loop {
            if let Some(status) = self.child.try_wait().expect("a child") {
                break status.exit_code();
            }
            if Instant::now() > end {
                let _ = self.child.kill();
                panic!("the program does not end:\n{}", self.screen.screen().contents());
            }
            if let Ok(bytes) = self.bytes.recv_timeout(Duration::from_millis(20)) {
                self.screen.process(&bytes);
                self.raw.extend(bytes);
            }
        };
        while let Ok(bytes) = self.bytes.recv_timeout(Duration::from_millis(300)) {
            self.screen.process(&bytes);
            self.raw.extend(bytes);
        }
        code
    }

    /// Ends the program without warning, and takes in what it had written.
    pub(crate) fn kill(&mut self) {
        self.signal("KILL");
        self.ended();
    }

    pub(crate) fn signal(&self, name: &str) {
        let id = self.child.process_id().expect("an id").to_string();
        let sent = Command::new("kill").args(["-s", name, &id]).status().expect("kill");
        assert!(sent.success());
    }

    /// What stood on the screen when the last whole frame was drawn: a frame cut off by a killing says nothing.
    pub(crate) fn last_frame(&self) -> String {
        const END: &[u8] = b"\x1b[?2026l";
        let end = self.raw.windows(END.len()).rposition(|part| part == END);
        let mut screen = vt100::Parser::new(cells(24), cells(80), 0);
        screen.process(&self.raw[..end.map_or(0, |at| at + END.len())]);
        screen.screen().contents()
    }

    /// Whether the alternate screen was left and the cursor shown again, once.
    fn restored(&self) -> bool {
        let text = String::from_utf8_lossy(&self.raw);
        text.matches("\u{1b}[?1049l").count() == 1 && text.contains("\u{1b}[?25h") && text.contains("\u{1b}[?2004l")
    }
}

pub(crate) fn yard_with_a_car() -> (tempfile::TempDir, DataFolder) {
    let folder = tempfile::tempdir().expect("a folder");
    let yard = DataFolder::find(Some(folder.path())).expect("a data folder");
    yard.create(fixture_profile()).expect("a car");
    (folder, yard)
}

#[test]
fn it_starts_resizes_and_quits_leaving_the_terminal_as_it_was() {
    let (folder, _) = yard_with_a_car();
    let mut session = Session::start(&[], &[], folder.path());
    session.shows("Blue estate");
    session.resize(39, 11);
    session.shows("Needs 40 columns");
    session.resize(100, 30);
    session.shows("Next visit");
    session.press("q");
    assert_eq!(session.ended(), 0);
    assert!(session.restored());
}

#[test]
fn grades_are_on_disk_when_the_screen_shows_them_even_if_the_program_is_killed() {
    let (folder, yard) = yard_with_a_car();
    let mut session = Session::start(&["open", "Blue estate"], &[], folder.path());
    session.shows("Begin a survey");
    session.press("\t\t\tw\u{13}");
    session.shows("0 looked at");
    let mut given = 0;
    while given < 4 {
        let text = session.screen.screen().contents();
        session.press(if text.contains("0–5 grade") { "3" } else { "xo" });
        given += 1;
        session.shows(&format!("{given} looked at"));
    }
    session.signal("KILL");
    session.ended();
    let again = yard.open("Blue estate", Access::Read).expect("the car");
    assert_eq!(again.car().surveys[0].looks.len(), 4);
    let mut session = Session::start(&["open", "Blue estate"], &[], folder.path());
    session.press("r");
    session.shows("4 looked at");
    session.press("\u{3}");
    assert_eq!(session.ended(), 0);
}

#[test]
fn a_signal_to_end_restores_the_terminal_and_exits_with_its_code() {
    let (folder, _) = yard_with_a_car();
    for (name, code) in [("TERM", 143), ("HUP", 129)] {
        let mut session = Session::start(&[], &[], folder.path());
        session.shows("Blue estate");
        session.signal(name);
        assert_eq!(session.ended(), code, "{name}");
        assert!(session.restored(), "{name}");
    }
}

#[test]
fn no_colour_is_written_where_none_is_wanted() {
    let (folder, _) = yard_with_a_car();
    let coloured = |raw: &[u8]| {
        let text = String::from_utf8_lossy(raw).into_owned();
        text.contains("\u{1b}[38;") || text.contains("\u{1b}[48;")
    };
    let mut session = Session::start(&[], &[], folder.path());
    session.shows("Blue estate");
    session.press("q");
    session.ended();
    assert!(coloured(&session.raw), "with colours the key names have one");
    let mut session = Session::start(&[], &[("NO_COLOR", "1")], folder.path());
    session.shows("Blue estate");
    session.press("q");
    session.ended();
    assert!(!coloured(&session.raw));
    let mut session = Session::start(&["--color", "never"], &[], folder.path());
    session.shows("Blue estate");
    session.press("q");
    session.ended();
    assert!(!coloured(&session.raw));
}

#[test]
fn an_idle_screen_writes_nothing() {
    let (folder, _) = yard_with_a_car();
    let mut session = Session::start(&[], &[], folder.path());
    session.shows("nothing seen yet");
    while session.bytes.recv_timeout(Duration::from_millis(1500)).is_ok() {}
    assert!(session.bytes.recv_timeout(Duration::from_millis(1000)).is_err());
    session.press("q");
    session.ended();
}

#[test]
fn without_a_capable_terminal_one_sentence_and_exit_2() {
    let (folder, _) = yard_with_a_car();
    let piped = Command::new(env!("CARGO_BIN_EXE_tinworm"))
        .env("TINWORM_DATA", folder.path())
        .output()
        .expect("the program");
    assert_eq!(piped.status.code(), Some(2));
    assert!(piped.stdout.is_empty());
    assert!(String::from_utf8_lossy(&piped.stderr).contains("terminal"));
    let mut session = Session::start(&[], &[("TERM", "dumb")], folder.path());
    assert_eq!(session.ended(), 2);
    assert!(!session.raw.contains(&0x1b), "no escape code");
}

fn cells(n: u16) -> std::num::NonZero<u16> {
    std::num::NonZero::new(n).expect("a size")
}

fn pty_size(cols: u16, rows: u16) -> PtySize {
    PtySize {
        rows,
        cols,
        pixel_width: 0,
        pixel_height: 0,
    }
}

/// A command in an environment that says nothing but the kind of terminal and a locale of many letters.
fn command(name: impl AsRef<std::ffi::OsStr>) -> CommandBuilder {
    let mut command = CommandBuilder::new(name);
    for name in [
        "NO_COLOR",
        "COLORTERM",
        "COLORFGBG",
        "LC_ALL",
        "LC_CTYPE",
        "TINWORM_BACKGROUND",
    ] {
        command.env_remove(name);
    }
    command.env("TERM", "xterm-256color");
    command.env("LANG", "C.UTF-8");
    command
}

/// The program with a yard.
fn program(arguments: &[&str], data: &Path) -> CommandBuilder {
    let mut command = command(env!("CARGO_BIN_EXE_tinworm"));
    command.args(arguments);
    command.env("TINWORM_DATA", data);
    command
}
