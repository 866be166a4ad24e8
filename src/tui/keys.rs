//! Every key of every screen, as one table. The bottom line, the help screen and the dispatcher all read it.
//!
//! [`from_event`] is the only place where terminal key events enter; everything behind it knows [`Key`] alone.

mod command;
mod place;
mod table;

use crossterm::event::{Event, KeyCode, KeyEventKind, KeyModifiers, MouseButton, MouseEventKind};

pub use command::Command;
pub use place::Place;
pub use table::TABLE;

/// A key as the screens see it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Key {
    /// A printable character, as typed.
    Char(char),
    /// A letter held with Ctrl.
    Ctrl(char),
    /// Enter.
    Enter,
    /// Escape.
    Esc,
    /// Tab.
    Tab,
    /// Shift and Tab.
    BackTab,
    /// Backspace.
    Backspace,
    /// Delete.
    Delete,
    /// Cursor up.
    Up,
    /// Cursor down.
    Down,
    /// Cursor left.
    Left,
    /// Cursor right.
    Right,
    /// Home.
    Home,
    /// End.
    End,
    /// Page up.
    PageUp,
    /// Page down.
    PageDown,
}

/// What a terminal sends that matters here.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Input {
    /// A key.
    Key(Key),
    /// Pasted text, not yet cleaned.
    Paste(String),
    /// The terminal has a new size.
    Resize(u16, u16),
    /// The left button was pressed at a column and row; only once the mouse was asked for.
    Click(u16, u16),
    /// The wheel was turned, downwards or up.
    Wheel(bool),
}

/// Turns a terminal event into an input; key releases and what no screen uses give `None`.
#[must_use]
pub fn from_event(event: Event) -> Option<Input> {
    let key = match event {
        Event::Paste(text) => return Some(Input::Paste(text)),
        Event::Resize(columns, rows) => return Some(Input::Resize(columns, rows)),
        Event::Mouse(mouse) => {
            return match mouse.kind {
                MouseEventKind::Down(MouseButton::Left) => Some(Input::Click(mouse.column, mouse.row)),
                MouseEventKind::ScrollDown => Some(Input::Wheel(true)),
                MouseEventKind::ScrollUp => Some(Input::Wheel(false)),
                _ => None,
            };
        }
        Event::Key(key) if key.kind != KeyEventKind::Release => key,
        _ => return None,
    };
    let held = key.modifiers;
    Some(Input::Key(match key.code {
        KeyCode::Char(c) if held.contains(KeyModifiers::CONTROL) => Key::Ctrl(c.to_ascii_lowercase()),
        KeyCode::Char(_) if held.contains(KeyModifiers::ALT) => return None,
        KeyCode::Char(c) => Key::Char(c),
        KeyCode::Enter => Key::Enter,
        KeyCode::Esc => Key::Esc,
        KeyCode::Tab => Key::Tab,
        KeyCode::BackTab => Key::BackTab,
        KeyCode::Backspace => Key::Backspace,
        KeyCode::Delete => Key::Delete,
        KeyCode::Up => Key::Up,
        KeyCode::Down => Key::Down,
        KeyCode::Left => Key::Left,
        KeyCode::Right => Key::Right,
        KeyCode::Home => Key::Home,
        KeyCode::End => Key::End,
        KeyCode::PageUp => Key::PageUp,
        KeyCode::PageDown => Key::PageDown,
        _ => return None,
    }))
}

/// One line of the table.
#[derive(Debug, Clone, Copy)]
pub struct Binding {
    /// Where it applies.
    pub place: Place,
    /// The keys; any of them will do.
    pub keys: &'static [Key],
    /// How the keys are shown.
    pub shown: &'static str,
    /// A word or two for the bottom line; empty keeps it out of there.
    pub short: &'static str,
    /// What it does, for the help screen.
    pub long: &'static str,
    /// What is asked for.
    pub command: Command,
}

/// The command of a key where these places hold, the first place winning. In a form or a search list, printable keys
/// are text and never looked up.
#[must_use]
pub fn lookup(places: &[Place], key: Key) -> Option<Command> {
    let typing = places
        .iter()
        .any(|p| matches!(p, Place::Form | Place::NoteForm | Place::Pick | Place::Files));
    if typing && matches!(key, Key::Char(_)) {
        return None;
    }
    places.iter().find_map(|place| {
        TABLE
            .iter()
            .find(|b| b.place == *place && b.keys.contains(&key))
            .map(|b| b.command)
    })
}

/// The bindings shown in the bottom line where these places hold, in order of need.
pub fn bar(places: &[Place]) -> impl Iterator<Item = &'static Binding> {
    let typing = places
        .iter()
        .any(|p| matches!(p, Place::Form | Place::NoteForm | Place::Pick | Place::Files));
    places.iter().flat_map(move |place| {
        TABLE
            .iter()
            .filter(move |b| b.place == *place && !b.short.is_empty() && !(typing && b.place == Place::Everywhere))
    })
}

#[cfg(test)]
mod tests {
    use Key::Char as C;

    use super::*;

    #[test]
    fn no_key_means_two_things_in_one_place() {
        for (i, one) in TABLE.iter().enumerate() {
            for other in TABLE.iter().skip(i + 1).filter(|b| b.place == one.place) {
                for key in one.keys {
                    assert!(!other.keys.contains(key), "{key:?} twice in {:?}", one.place);
                }
            }
        }
    }

    #[test]
    fn grades_are_taken_by_nothing_else_in_the_round() {
        for place in [Place::Round, Place::OfCar, Place::Everywhere, Place::List] {
            for digit in '0'..='5' {
                assert_eq!(lookup(&[place], Key::Char(digit)), None, "{digit} in {place:?}");
            }
        }
        assert_eq!(
            lookup(&[Place::RoundGrade, Place::Round], C('3')),
            Some(Command::Grade(3))
        );
    }

    #[test]
    fn letters_are_text_in_forms() {
        let form = [Place::Form, Place::Everywhere];
        assert_eq!(lookup(&form, C('q')), None);
        assert_eq!(lookup(&form, Key::Esc), Some(Command::Close));
        assert_eq!(lookup(&form, Key::Ctrl('c')), Some(Command::Quit));
    }
}
