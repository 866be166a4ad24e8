//! A round by keys, ended without warning after any of them: what the screen had shown as accepted is on disk, and the car opens.

use super::*;

/// A key, and what follows from it for the looks accepted.
struct Step(&'static str, Looks);

#[derive(Clone, Copy, PartialEq)]
enum Looks {
    /// The number of looks stays.
    Same,
    /// One look may come to them.
    More,
    /// One look may go.
    Fewer,
}
use Looks::{Fewer, More, Same};

/// Grades, a reason why not seen, a note, a search, a reading, a jump, undo and redo, and a second look.
const ROUND: [Step; 42] = [
    Step("3", More),
    Step("2", More),
    Step("x", Same),
    Step("c", More),
    Step("4", More),
    Step("x", Same),
    Step("o", More),
    Step("N", Same),
    Step("w", Same),
    Step("e", Same),
    Step("t", Same),
    Step("\u{13}", More),
    Step("/", Same),
    Step("l", Same),
    Step("i", Same),
    Step("n", Same),
    Step("i", Same),
    Step("n", Same),
    Step("g", Same),
    Step("\r", Same),
    Step("6", Same),
    Step("\r", More),
    Step("5", Same),
    Step("\r", More),
    Step("g", Same),
    Step("1", More),
    Step("j", Same),
    Step("r", Same),
    Step("e", Same),
    Step("a", Same),
    Step("r", Same),
    Step("\r", Same),
    Step("5", More),
    Step("0", More),
    Step("u", Fewer),
    Step("u", Fewer),
    Step("U", More),
    Step("i", Same),
    Step("q", Same),
    Step("A", Same),
    Step("3", Same),
    Step("3", Same),
];

/// A number before some words.
fn number(text: &str, before: &str) -> Option<usize> {
    let at = text.find(before)?;
    text[..at].split_whitespace().last()?.parse().ok()
}

impl Session {
    /// Presses a key and waits for the frame that follows it.
    fn press_and_see(&mut self, key: &str) {
        let drawn = self.raw.len();
        self.press(key);
        let end = Instant::now() + PATIENCE;
        while self.raw.len() == drawn || !self.raw.ends_with(b"\x1b[?2026l") {
            let left = end.saturating_duration_since(Instant::now());
            match self.bytes.recv_timeout(left) {
                Ok(bytes) => {
                    self.screen.process(&bytes);
                    self.raw.extend(bytes);
                }
                Err(_) => panic!("nothing is drawn after {key:?}:\n{}", self.text()),
            }
        }
    }
}

#[test]
fn a_note_being_typed_survives_every_way_of_ending() {
    for (how, whole) in [("KILL", false), ("TERM", true), ("HUP", true)] {
        let (folder, _) = yard_with_a_car();
        let mut session = Session::start(&["open", "Blue estate"], &[], folder.path());
        session.shows("Begin a survey");
        session.press("\t\t\tw\u{13}");
        session.shows("0 looked at");
        session.press("N");
        session.shows("Kept with this look");
        for key in "wet round the lower seal of".chars() {
            session.press_and_see(&key.to_string());
        }
        session.signal(how);
        session.ended();
        let mut session = Session::start(&["open", "Blue estate"], &[], folder.path());
        session.shows("0 looked at");
        session.press("N");
        session.shows("is back");
        let text = session.text();
        assert!(text.contains("wet round the lower seal"), "{how}: {text}");
        assert_eq!(
            text.contains("lower seal of"),
            whole,
            "{how}: to the last letter where there was a warning: {text}"
        );
        session.press("\u{3}");
        session.ended();
    }
}

#[test]
fn ended_without_warning_after_any_key_every_look_accepted_is_on_disk_and_the_car_opens() {
    let mut accepted_in_all = 0;
    // Every place where something is half-way: a reason, a note, a search, a reading, a jump, an undo, a second look.
    for keys in [
        1,
        3,
        4,
        7,
        10,
        12,
        16,
        21,
        22,
        24,
        29,
        33,
        35,
        36,
        37,
        38,
        40,
        41,
        ROUND.len(),
    ] {
        let (folder, yard) = yard_with_a_car();
        let mut session = Session::start(&["open", "Blue estate"], &[], folder.path());
        session.shows("Begin a survey");
        session.press("\t\t\tw\u{13}");
        session.shows("0 looked at");
        let (mut accepted, mut again) = (0, 0);
        let mut last = Same;
        for Step(key, looks) in ROUND.iter().take(keys) {
            session.press_and_see(key);
            let text = session.text();
            // A note or a list may lie over the number.
            accepted = number(&text, " looked at").unwrap_or(accepted);
            if let Some((_, drawn)) = text.split_once("Second look, blind  check ") {
                again = drawn
                    .split(' ')
                    .next()
                    .and_then(|n| n.parse::<usize>().ok())
                    .map_or(again, |n| n - 1);
            }
            last = *looks;
        }
        session.kill();
        accepted = number(&session.last_frame(), " looked at").unwrap_or(accepted);
        let car = yard.open("Blue estate", Access::Write).expect("the car opens");
        let survey = &car.car().surveys[0];
        // `Left for later` is a look that stays open.
        let on_disk = survey
            .looks
            .iter()
            .filter(|l| l.seen != tinworm::car::Seen::Not(tinworm::car::NotSeen::Later))
            .count();
        // What was done with the very last key may be on disk before it was drawn.
        let fits = match last {
            Same => on_disk == accepted,
            More => on_disk == accepted || on_disk == accepted + 1,
            Fewer => on_disk == accepted || on_disk + 1 == accepted,
        };
        assert!(
            fits,
            "after {keys} keys: {on_disk} on disk, {accepted} shown:\n{}",
            session.last_frame()
        );
        assert!(
            survey.second_looks.len() >= again,
            "after {keys} keys: {again} second looks shown"
        );
        accepted_in_all += accepted;
        drop(car);
        let mut session = Session::start(&["open", "Blue estate"], &[], folder.path());
        session.until("the car", |text| text.contains("Ranked") || text.contains("looked at"));
        session.press("\u{3}");
        assert_eq!(session.ended(), 0);
    }
    assert!(accepted_in_all > 60, "{accepted_in_all}");
}
