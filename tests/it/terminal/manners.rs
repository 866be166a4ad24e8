//! Coming and going: stops, panics, sizes, pastes, and how much is written.

use super::*;

#[test]
fn a_stop_gives_the_shell_its_terminal_and_going_on_draws_everything_again() {
    let (folder, _) = yard_with_a_car();
    let mut shell = command("bash");
    shell.args(["--norc", "--noprofile", "-i"]);
    shell.env("PS1", "shell> ");
    shell.env("TINWORM_DATA", folder.path());
    let mut session = Session::of(shell, (80, 24));
    session.sees("shell>");
    session.press(&format!("{}\r", env!("CARGO_BIN_EXE_tinworm")));
    session.shows("Blue estate");
    session.press("\u{1a}");
    session.sees("Stopped");
    // The shell's own line can be typed and seen: raw mode is off, and so is the other screen.
    session.press("echo $((40+2))\r");
    session.sees("42");
    assert!(!session.screen.screen().alternate_screen());
    let before = session.raw.len();
    session.press("fg\r");
    session.until("the yard again", |text| {
        text.contains("Blue estate") && text.contains("q close")
    });
    assert!(session.raw.len() - before > 500, "the whole frame is drawn again");
    assert!(session.screen.screen().alternate_screen());
    session.press("q");
    session.sees("shell>");
    assert!(!session.screen.screen().alternate_screen() && !session.screen.screen().hide_cursor());
    // What is typed before the program has quite gone may go with it.
    let end = Instant::now() + PATIENCE;
    while session.child.try_wait().expect("a child").is_none() {
        assert!(Instant::now() < end, "the shell does not end:\n{}", session.text());
        let _ = session.keys.write_all(b"exit\r").and_then(|()| session.keys.flush());
        std::thread::sleep(Duration::from_millis(200));
    }
}

/// Not a test by itself: the screens of the demo car with a worker that panics, run by the test below in a terminal.
#[test]
#[ignore = "panics on purpose; another test runs it in a terminal of its own"]
fn worker_that_panics() {
    let start = tinworm::tui::Start::Demo {
        car: Box::new(tinworm::demo::car()),
        library: tinworm::rubric::builtin::library().clone(),
        today: tinworm::demo::today(),
    };
    std::thread::spawn(|| {
        // Not before the screens have the terminal, however slow the machine.
        while !ratatui::crossterm::terminal::is_raw_mode_enabled().unwrap_or(false) {
            std::thread::sleep(Duration::from_millis(20));
        }
        std::thread::sleep(Duration::from_millis(900));
        panic!("on purpose");
    });
    let _ = tinworm::tui::run(start);
}

#[test]
fn a_panic_restores_the_terminal_before_its_message_and_ends_the_program() {
    let mut command = command(std::env::current_exe().expect("this test's own program"));
    command.args([
        "--ignored",
        "--exact",
        "--nocapture",
        "terminal::manners::worker_that_panics",
    ]);
    let mut session = Session::of(command, (80, 24));
    assert_eq!(session.ended(), 101);
    assert!(session.restored(), "{}", session.text());
    let text = String::from_utf8_lossy(&session.raw).into_owned();
    let (left, said) = (text.find("\u{1b}[?1049l"), text.find("on purpose"));
    assert!(left.is_some() && left < said, "{text}");
    assert!(session.text().contains("on purpose"), "{}", session.text());
}

#[test]
fn a_storm_of_sizes_leaves_a_whole_screen() {
    let (folder, _) = yard_with_a_car();
    let mut session = Session::start(&[], &[], folder.path());
    session.shows("Blue estate");
    for n in 0..60_u16 {
        session.resize(1 + n * 37 % 160, 1 + n * 23 % 60);
        session.press("j");
    }
    session.resize(90, 26);
    session.until("the last size", |text| {
        text.lines()
            .nth(25)
            .is_some_and(|bar| bar.contains("? keys") && bar.contains("q close"))
    });
    assert!(session.text().contains("Blue estate"), "{}", session.text());
    session.press("q");
    assert_eq!(session.ended(), 0);
    assert!(session.restored());
}

#[test]
fn sizes_that_nothing_fits_in_do_no_harm() {
    let (folder, _) = yard_with_a_car();
    for size in [(0, 0), (1, 1), (0, 24), (500, 2)] {
        let mut session = Session::of(program(&[], folder.path()), size);
        session.until("a first frame", |_| true);
        session.press("j");
        session.resize(80, 24);
        session.shows("Blue estate");
        session.press("q");
        assert_eq!(session.ended(), 0, "{size:?}");
        assert!(session.restored(), "{size:?}");
    }
}

#[test]
fn a_paste_of_ten_thousand_characters_goes_into_the_field_and_nowhere_else() {
    let (folder, yard) = yard_with_a_car();
    let words: String = "q3\r\n\u{7}é上 ".repeat(10_000 / 7 + 1).chars().take(10_000).collect();
    let paste = format!("\u{1b}[200~{words}\u{1b}[201~");
    let mut session = Session::start(&["open", "Blue estate"], &[], folder.path());
    session.shows("Begin a survey");
    // A form is open; its note takes the text, and no key in it is a command.
    session.press("\u{1b}");
    session.until("the form closed", |text| !text.contains("Ctrl-S"));
    session.press("c");
    session.shows("Name");
    session.press(&paste);
    session.press("\r");
    session.shows("Ctrl-S");
    session.press(&paste);
    session.until("the end of the paste", |text| text.contains('上'));
    session.press("\u{13}");
    session.until("the form gone", |text| !text.contains("Ctrl-S"));
    session.press("\u{3}");
    assert_eq!(session.ended(), 0);
    let cars = yard.cars().expect("the cars");
    let car = cars[0].car.as_ref().expect("the car");
    let name = &car.profile.name;
    assert!(name.starts_with("Blue estate") && name.contains("q3 é上"), "{name:.60}");
    assert!(!name.chars().any(char::is_control));
    assert!(car.surveys.is_empty(), "no pasted digit is a grade");
}

#[test]
fn the_release_of_a_key_is_no_key() {
    let (folder, _) = yard_with_a_car();
    let mut session = Session::start(&[], &[], folder.path());
    session.shows("Blue estate");
    session.press("\u{1b}[113;1:3u?");
    session.shows("Keys");
    session.press("\u{1b}[113;1:1u");
    session.until("one layer closed", |text| {
        text.contains("q close") && !text.contains(" Keys ")
    });
    session.press("q");
    assert_eq!(session.ended(), 0);
}

#[test]
fn nothing_is_asked_of_the_terminal_and_the_mouse_stays_its_own() {
    let (folder, _) = yard_with_a_car();
    let mut session = Session::start(&["open", "Blue estate"], &[], folder.path());
    session.shows("Begin a survey");
    session.press("\u{3}");
    session.ended();
    let text = String::from_utf8_lossy(&session.raw).into_owned();
    for asked in [
        "[?1000h", "[?1002h", "[?1003h", "[?1006h", "[6n", "[c", "[>c", "]10;?", "]11;?", "[?u", "\u{1b}P",
    ] {
        assert!(!text.contains(asked), "{asked}");
    }
}

#[test]
fn the_mouse_is_taken_at_the_start_when_asked_for_and_given_back_at_the_end() {
    let (folder, _) = yard_with_a_car();
    let mut session = Session::start(&["--mouse"], &[], folder.path());
    session.shows("Blue estate");
    // The left button on the car's line, as a terminal reports it: the selected line opens.
    session.press("\u{1b}[<0;5;3M\u{1b}[<0;5;3m");
    session.shows("Begin a survey");
    session.press("\u{3}");
    session.ended();
    let text = String::from_utf8_lossy(&session.raw).into_owned();
    let (taken, given) = (text.find("[?1000h"), text.find("[?1000l"));
    assert!(taken.is_some() && taken < given, "{text}");
    // M gives it back at once.
    let mut session = Session::start(&["--mouse", "open", "Blue estate"], &[], folder.path());
    session.shows("Begin a survey");
    session.press("\u{1b}");
    session.until("the round", |text| !text.contains("Ctrl-S"));
    session.press("M");
    session.shows("The mouse is the terminal's again");
    session.press("\u{3}");
    session.ended();
}

#[test]
fn a_key_in_a_large_window_costs_a_few_lines_not_the_screen() {
    let (folder, _) = yard_with_a_car();
    let mut session = Session::of(program(&["demo"], folder.path()), (200, 60));
    session.until("the standing", |text| {
        text.contains("Ranked") && !text.contains("reckoning")
    });
    let whole = session.raw.len();
    let mut costs = Vec::new();
    for key in ["j", "j", "j", "k", "j"] {
        let before = session.raw.len();
        session.press(key);
        session.until("a frame", |_| true);
        while session.raw.len() == before {
            let bytes = session.bytes.recv_timeout(PATIENCE).expect("a frame");
            session.screen.process(&bytes);
            session.raw.extend(bytes);
        }
        session.until("a whole frame", |_| true);
        costs.push(session.raw.len() - before);
    }
    session.press("\u{3}");
    session.ended();
    println!("first frames {whole} bytes, keys {costs:?} bytes");
    assert!(costs.iter().all(|cost| *cost > 0 && *cost < 8000), "{costs:?}");
}

#[test]
fn ascii_alone_reaches_the_terminal_when_asked_for_and_in_the_locale_c() {
    let (folder, _) = yard_with_a_car();
    for (flag, environment) in [
        (Some("--ascii"), ("LANG", "en_GB.UTF-8")),
        (None, ("LC_ALL", "C")),
        (None, ("LANG", "POSIX")),
    ] {
        let arguments: Vec<&str> = flag.into_iter().collect();
        let mut session = Session::start(&arguments, &[environment], folder.path());
        session.shows("Blue estate");
        session.press("?");
        session.shows("Keys");
        session.press("q");
        session.press("\r");
        session.shows("Begin a survey");
        session.press("\u{3}");
        session.ended();
        assert!(session.raw.is_ascii(), "{flag:?} {environment:?}");
    }
    let mut session = Session::start(&["--ascii=never"], &[("LC_ALL", "C")], folder.path());
    session.shows("Blue estate");
    session.press("\u{3}");
    session.ended();
    assert!(!session.raw.is_ascii(), "what is asked for comes before the locale");
}

#[test]
fn printed_text_is_ascii_too_and_json_says_the_same() {
    let run = |arguments: &[&str]| {
        let out = Command::new(env!("CARGO_BIN_EXE_tinworm"))
            .args(arguments)
            .output()
            .expect("the program");
        assert!(out.status.success(), "{arguments:?}");
        String::from_utf8(out.stdout).expect("UTF-8")
    };
    let text = run(&["--ascii", "demo"]);
    assert!(text.bytes().all(|b| b == b'\n' || (0x20..=0x7e).contains(&b)));
    assert!(!run(&["part", "--help"]).is_ascii(), "without it there are degrees");
    for verb in ["part", "torque", "new"] {
        assert!(run(&["--ascii", verb, "--help"]).is_ascii(), "{verb}");
    }
}

#[test]
#[ignore = "a time: run it optimised on a quiet machine"]
fn the_first_frame_comes_at_once() {
    let (folder, _) = yard_with_a_car();
    let mut best = Duration::MAX;
    for _ in 0..5 {
        let began = Instant::now();
        let mut session = Session::start(&[], &[], folder.path());
        session.until("a frame", |_| true);
        best = best.min(began.elapsed());
        session.press("q");
        session.ended();
    }
    println!("first frame after {best:?}");
    assert!(best <= Duration::from_millis(50), "{best:?}");
}
