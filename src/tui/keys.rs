//! Every key of every screen, as one table. The bottom line, the help screen and the dispatcher all read it.
//!
//! [`from_event`] is the only place where terminal key events enter; everything behind it knows [`Key`] alone.

use crossterm::event::{Event, KeyCode, KeyEventKind, KeyModifiers, MouseButton, MouseEventKind};

use super::screen::Name;

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

/// What a key asks for. Screens understand the ones their places list.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Command {
    /// Leave the program.
    Quit,
    /// Hand the terminal back to the shell.
    Suspend,
    /// Take the mouse, or give it back to the terminal.
    Mouse,
    /// Close the top layer.
    Close,
    /// Show all keys.
    Help,
    /// Show a screen.
    Go(Name),
    /// One up.
    Up,
    /// One down.
    Down,
    /// A page up.
    PageUp,
    /// A page down.
    PageDown,
    /// To the beginning.
    First,
    /// To the end.
    Last,
    /// Open what is selected.
    Open,
    /// Something new.
    New,
    /// A grade, 0 to 5.
    Grade(u8),
    /// Yes.
    Yes,
    /// No.
    No,
    /// Take in the reading typed.
    TakeReading,
    /// Rub out the last character of the reading.
    RubOut,
    /// Not seen: ask why.
    NotSeen,
    /// Why not seen: place in [`crate::car::NotSeen::ALL`].
    Because(usize),
    /// Take the last change back.
    Undo,
    /// Make the change taken back again.
    Redo,
    /// The one before.
    Previous,
    /// The next one.
    Next,
    /// Search and jump.
    Search,
    /// Jump to a place from a list of them.
    Jump,
    /// The next check not yet looked at.
    NextOpen,
    /// Write a note.
    Note,
    /// Add a photo.
    AddPhoto,
    /// Look at the photos.
    ShowPhotos,
    /// Open a photo in the system's viewer.
    OpenPhoto,
    /// Read everything there is to say.
    ReadOn,
    /// The next list or pane.
    OtherPane,
    /// The next side in the filter.
    FilterSide,
    /// The next end in the filter.
    FilterEnd,
    /// The next system in the filter.
    FilterSystem,
    /// Tick, or take the tick away.
    Tick,
    /// The repair is done.
    Done,
    /// Fix to a date.
    Pin,
    /// Another repair instead.
    Instead,
    /// To an earlier session.
    Earlier,
    /// To a later session.
    Later,
    /// Leave out of the plan, or take back into it.
    Drop,
    /// Keep what was tried.
    Keep,
    /// The next state of what is selected.
    Cycle,
    /// Begun and not finished.
    Leave,
    /// When it was fitted.
    Fitted,
    /// Its own limit, or the manual's tightening value.
    OwnLimit,
    /// The fixing of a line.
    Fixing,
    /// Grade a drawn tenth again.
    LookAgain,
    /// The newest survey against the one before it.
    LookBack,
    /// Save the form.
    Save,
    /// Toggle the choice under the cursor.
    Toggle,
}

/// Where a key applies.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Place {
    /// On every screen.
    Everywhere,
    /// On every screen of a car.
    OfCar,
    /// In lists.
    List,
    /// In the Yard.
    Yard,
    /// In the Round, whatever the check.
    Round,
    /// In the Round, on a graded check.
    RoundGrade,
    /// In the Round, on a measured check.
    RoundReading,
    /// In the Round, on a yes/no check.
    RoundAnswer,
    /// In the Round, while the engine chooses the checks of a first look.
    RoundWaits,
    /// In the Round, while it asks why something was not seen.
    RoundWhy,
    /// In the Round, at a second look.
    RoundAgain,
    /// In the Standing.
    Standing,
    /// In Sides.
    Sides,
    /// In Decline.
    Decline,
    /// In the Plan's list of visits.
    Plan,
    /// In the Plan's list of repairs.
    PlanJobs,
    /// In the Plan's list of parts to buy.
    PlanBuys,
    /// In the Plan's list of limits.
    PlanLimits,
    /// Inside a visit.
    Visit,
    /// In Fixings.
    Fixings,
    /// On the car's profile.
    Profile,
    /// On the car's parts.
    Parts,
    /// In a form.
    Form,
    /// In a note of several lines.
    NoteForm,
    /// In a search list.
    Pick,
    /// In lists of parts: search and filters.
    Sieve,
    /// Where a photo is chosen.
    Files,
    /// Where photos are looked at.
    Photo,
    /// Where something is asked.
    Confirm,
}

impl Place {
    /// Its heading on the help screen.
    #[must_use]
    pub fn heading(self) -> &'static str {
        match self {
            Place::Everywhere => "Everywhere",
            Place::OfCar => "On every screen of a car",
            Place::List => "In lists",
            Place::Yard => "Yard",
            Place::Round => "Round",
            Place::RoundGrade => "Round, grading",
            Place::RoundReading => "Round, measuring",
            Place::RoundAnswer => "Round, yes or no",
            Place::RoundWaits => "Round, while the first look is chosen",
            Place::RoundWhy => "Round, why not seen",
            Place::RoundAgain => "Round, second look",
            Place::Standing => "Standing",
            Place::Sides => "Sides",
            Place::Decline => "Decline",
            Place::Plan => "Plan",
            Place::PlanJobs => "Plan, repair by repair",
            Place::PlanBuys => "Plan, parts to buy",
            Place::PlanLimits => "Plan, limits",
            Place::Visit => "Plan, inside a visit",
            Place::Fixings => "Fixings",
            Place::Profile => "Car, profile",
            Place::Parts => "Car, parts",
            Place::Form => "Forms",
            Place::NoteForm => "Notes",
            Place::Pick => "Search",
            Place::Sieve => "Search and filters",
            Place::Files => "Choosing a photo",
            Place::Photo => "Photos",
            Place::Confirm => "Questions",
        }
    }
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

const fn bind(
    place: Place,
    keys: &'static [Key],
    shown: &'static str,
    short: &'static str,
    long: &'static str,
    command: Command,
) -> Binding {
    Binding {
        place,
        keys,
        shown,
        short,
        long,
        command,
    }
}

use Key::Char as C;

/// The table.
#[rustfmt::skip]
pub const TABLE: &[Binding] = &[
    bind(Place::Yard, &[Key::Enter, Key::Right], "Enter", "open", "open the car", Command::Open),
    bind(Place::Yard, &[C('n')], "n", "new car", "add a car by a short form", Command::New),

    bind(Place::RoundGrade, &[C('0')], "0–5", "grade", "give this grade and go on to the next check", Command::Grade(0)),
    bind(Place::RoundGrade, &[C('1')], "1", "", "", Command::Grade(1)),
    bind(Place::RoundGrade, &[C('2')], "2", "", "", Command::Grade(2)),
    bind(Place::RoundGrade, &[C('3')], "3", "", "", Command::Grade(3)),
    bind(Place::RoundGrade, &[C('4')], "4", "", "", Command::Grade(4)),
    bind(Place::RoundGrade, &[C('5')], "5", "", "", Command::Grade(5)),
    bind(Place::RoundReading, &[Key::Enter], "Enter", "take", "take the number typed; decimal comma or point", Command::TakeReading),
    bind(Place::RoundReading, &[Key::Backspace], "Backspace", "", "rub out; on an empty number, the point before", Command::RubOut),
    bind(Place::RoundAnswer, &[C('y')], "y", "yes", "yes, it has happened or is past its limit", Command::Yes),
    bind(Place::RoundAnswer, &[C('n')], "n", "no", "no", Command::No),
    bind(Place::RoundWhy, &[C('c')], "c", "covered", "under grease, sealer, trim or an undertray", Command::Because(0)),
    bind(Place::RoundWhy, &[C('o')], "o", "out of reach", "could not be reached", Command::Because(1)),
    bind(Place::RoundWhy, &[C('t')], "t", "no tool or helper", "the tool or the helper was missing", Command::Because(2)),
    bind(Place::RoundWhy, &[C('l')], "l", "later", "left for another time", Command::Because(3)),
    bind(Place::RoundWaits, &[C('w'), Key::Tab], "w", "whole round", "do not wait: the whole round", Command::OtherPane),
    bind(Place::Round, &[C('x')], "x", "not seen", "not seen; the next key says why", Command::NotSeen),
    bind(Place::Round, &[Key::Left, Key::PageUp], "←", "", "the check before", Command::Previous),
    bind(Place::Round, &[Key::Right, Key::PageDown], "←→", "move", "the next check, without a grade", Command::Next),
    bind(Place::Round, &[C('g')], "g", "next open", "the next check not yet looked at", Command::NextOpen),
    bind(Place::Round, &[C('/')], "/", "find", "search and jump to a check", Command::Search),
    bind(Place::Round, &[C('j')], "j", "places", "the stages and corners of the round, how much of each is done, and a jump to one", Command::Jump),
    bind(Place::Round, &[C('w'), Key::Tab], "w", "first/whole", "the first look of a quarter of an hour, or the whole round", Command::OtherPane),
    bind(Place::Round, &[Key::Home], "Home", "", "the first check of the round", Command::First),
    bind(Place::Round, &[Key::End], "End", "", "the last check of the round", Command::Last),
    bind(Place::Round, &[C('N')], "N", "note", "write a note on this check", Command::Note),
    bind(Place::Round, &[C('f')], "f", "photo", "add a photo to this check: type or paste its path, or choose it", Command::AddPhoto),
    bind(Place::Round, &[C('v')], "v", "", "look at its photos; last time's stand beside them once it is graded", Command::ShowPhotos),
    bind(Place::Round, &[C('o')], "o", "", "open its newest photo in the system's viewer", Command::OpenPhoto),
    bind(Place::Round, &[C('i')], "i", "", "read everything about this check: how, cautions, what it may do, law", Command::ReadOn),
    bind(Place::Round, &[C('B')], "B", "", "begin a new survey, or correct the odometer of today's", Command::New),
    bind(Place::Round, &[C('A')], "A", "", "second look: grade a drawn tenth of the newest survey again, blind; how steady you grade", Command::LookAgain),

    bind(Place::RoundAgain, &[C('0')], "0–5", "grade", "grade it again and go on to the next one drawn", Command::Grade(0)),
    bind(Place::RoundAgain, &[C('1')], "1", "", "", Command::Grade(1)),
    bind(Place::RoundAgain, &[C('2')], "2", "", "", Command::Grade(2)),
    bind(Place::RoundAgain, &[C('3')], "3", "", "", Command::Grade(3)),
    bind(Place::RoundAgain, &[C('4')], "4", "", "", Command::Grade(4)),
    bind(Place::RoundAgain, &[C('5')], "5", "", "", Command::Grade(5)),
    bind(Place::RoundAgain, &[C('x'), Key::Right], "x", "later", "leave this one for later", Command::Next),
    bind(Place::RoundAgain, &[C('i')], "i", "read on", "read everything about this check", Command::ReadOn),

    bind(Place::Standing, &[Key::Enter, Key::Right], "Enter", "decline", "history and forecast of the part", Command::Open),
    bind(Place::Standing, &[C('v'), Key::Tab], "v", "other list", "ranked, look first, where to look next", Command::OtherPane),
    bind(Place::Standing, &[C(' ')], "Space", "tick", "want it in the plan whatever its place, or no longer", Command::Tick),
    bind(Place::Standing, &[C('i')], "i", "why", "read everything about this part: reason, causes, checks", Command::ReadOn),
    bind(Place::Standing, &[C('w')], "w", "", "the newest survey against the one before: what really moved, which forecasts came true", Command::LookBack),
    bind(Place::Sieve, &[C('/')], "/", "find", "search this list and jump to a line", Command::Search),
    bind(Place::Sieve, &[C('f')], "f", "side", "both sides, left, right", Command::FilterSide),
    bind(Place::Sieve, &[C('e')], "e", "end", "both ends, front, rear", Command::FilterEnd),
    bind(Place::Sieve, &[C('t')], "t", "system", "all systems, or one of them", Command::FilterSystem),

    bind(Place::Sides, &[Key::Enter], "Enter", "decline", "history and forecast of the side that comes first", Command::Open),
    bind(Place::Sides, &[C('v'), Key::Tab], "v", "all/unlike", "all pairs, or only those that differ", Command::OtherPane),

    bind(Place::Decline, &[Key::Left], "←", "", "the check before", Command::Previous),
    bind(Place::Decline, &[Key::Right, Key::Tab], "←→", "check", "the next check of this part", Command::Next),
    bind(Place::Decline, &[Key::Up, C('k')], "↑", "", "the part before", Command::Up),
    bind(Place::Decline, &[Key::Down, C('j')], "↑↓", "part", "the next part", Command::Down),
    bind(Place::Decline, &[C('/')], "/", "find", "search and jump to a part", Command::Search),
    bind(Place::Decline, &[C('v')], "v", "further", "forecast of 2, 5 or 10 years", Command::OtherPane),

    bind(Place::Plan, &[Key::Enter, Key::Right], "Enter", "visit", "open the visit", Command::Open),
    bind(Place::Plan, &[C('v'), Key::Tab], "v", "repairs", "the list of repairs, to move, leave out or compare", Command::OtherPane),
    bind(Place::PlanJobs, &[C('<'), C(',')], "< >", "move", "try it in an earlier session", Command::Earlier),
    bind(Place::PlanJobs, &[C('>'), C('.')], ">", "", "try it in a later session", Command::Later),
    bind(Place::PlanJobs, &[C('x')], "x", "leave out", "try without it, or take it back", Command::Drop),
    bind(Place::PlanJobs, &[Key::Enter], "Enter", "keep", "keep what was tried", Command::Keep),
    bind(Place::PlanJobs, &[C('u')], "u", "undo", "forget what was tried", Command::Undo),
    bind(Place::PlanJobs, &[C('i')], "i", "instead", "what else would do for it, in hours, money and exposure", Command::Instead),
    bind(Place::PlanJobs, &[C('v'), Key::Tab], "v", "to buy", "the parts to buy", Command::OtherPane),
    bind(Place::PlanBuys, &[C(' ')], "Space", "status", "to buy, ordered today, in hand", Command::Cycle),
    bind(Place::PlanBuys, &[C('v'), Key::Tab], "v", "limits", "what the limits cost, and the days that matter", Command::OtherPane),
    bind(Place::PlanLimits, &[C('v'), Key::Tab], "v", "visits", "the visits", Command::OtherPane),
    bind(Place::Visit, &[C('f')], "f", "done", "the repair is finished: date, hours, cost", Command::Done),
    bind(Place::Visit, &[C(' '), C('+'), Key::Enter], "Space", "add", "add the work offered, or take an added one out", Command::Tick),
    bind(Place::Visit, &[C('o')], "o", "left open", "begun and not finished: what stands open, what sheared", Command::Leave),
    bind(Place::Visit, &[C('m')], "m", "move", "fix the repair to a date, or let it go again", Command::Pin),
    bind(Place::Visit, &[C('i')], "i", "instead", "the next repair that would do instead", Command::Instead),
    bind(Place::Visit, &[Key::Tab], "Tab", "section", "the next section of the worksheet", Command::OtherPane),
    bind(Place::Visit, &[Key::BackTab], "Shift-Tab", "", "the section before", Command::Previous),
    bind(Place::Visit, &[C('t')], "t", "torque", "the fixing of a line: guide, what to try, and the manual's value (Enter does too)", Command::Fixing),
    bind(Place::Visit, &[Key::Left], "←", "", "back to the visits", Command::Close),
    bind(Place::Visit, &[Key::Right, C('v')], "v", "next visit", "the next visit", Command::Next),

    bind(Place::Fixings, &[Key::Left], "←", "", "the value before; thread, class, grade and core may be typed", Command::Previous),
    bind(Place::Fixings, &[Key::Right], "←→", "change", "the next value", Command::Next),
    bind(Place::Fixings, &[Key::Enter, C('o')], "Enter", "manual's value", "type in the tightening value of the car's own manual", Command::OwnLimit),
    bind(Place::Fixings, &[C('/')], "/", "find", "search the car's fixings and jump to one", Command::Search),
    bind(Place::Fixings, &[Key::Backspace], "Backspace", "", "rub out what was typed; on the grade, not graded", Command::RubOut),
    bind(Place::Fixings, &[Key::PageDown, C(' ')], "Space", "more", "read on below", Command::PageDown),

    bind(Place::Profile, &[Key::Enter], "Enter", "change", "change this line", Command::Open),
    bind(Place::Profile, &[Key::Tab, C('v')], "v", "parts", "the list of parts", Command::OtherPane),
    bind(Place::Parts, &[C(' ')], "Space", "fitted?", "not on this car, or on it after all", Command::Tick),
    bind(Place::Parts, &[C('w')], "w", "since", "when it was fitted new", Command::Fitted),
    bind(Place::Parts, &[C('o')], "o", "own limit", "a limit from the car's own manual", Command::OwnLimit),
    bind(Place::Parts, &[C('N')], "N", "note", "write a note on the part", Command::Note),
    bind(Place::Parts, &[Key::Tab, C('v')], "v", "profile", "the profile", Command::OtherPane),

    bind(Place::Form, &[Key::Tab, Key::Down], "Tab", "next", "the next line", Command::Next),
    bind(Place::Form, &[Key::BackTab, Key::Up], "↑", "back", "the line before", Command::Previous),
    bind(Place::Form, &[Key::Enter], "Enter", "next, save", "the next line; on the last one, save", Command::Open),
    bind(Place::Form, &[Key::Ctrl('s')], "Ctrl-S", "save", "save now", Command::Save),
    bind(Place::Form, &[Key::Esc], "Esc", "leave", "leave without saving; asks if something was typed", Command::Close),

    bind(Place::Files, &[Key::Enter], "Enter", "take", "take the picture, or go into the folder", Command::Open),
    bind(Place::Files, &[Key::Tab], "Tab", "complete", "add what all lines shown have in common", Command::Next),
    bind(Place::Files, &[Key::Up], "↑↓", "move", "up", Command::Up),
    bind(Place::Files, &[Key::Down], "↓", "", "down", Command::Down),
    bind(Place::Files, &[Key::PageUp], "PgUp", "", "a page up", Command::PageUp),
    bind(Place::Files, &[Key::PageDown], "PgDn", "", "a page down", Command::PageDown),
    bind(Place::Files, &[Key::Esc], "Esc", "close", "leave without a photo", Command::Close),
    bind(Place::Photo, &[C('o'), Key::Enter], "o", "open", "open the photo in the system's viewer", Command::Open),
    bind(Place::Photo, &[Key::Left, Key::Up], "←", "", "the photo before", Command::Previous),
    bind(Place::Photo, &[Key::Right, Key::Down], "←→", "other photo", "the next photo", Command::Next),
    bind(Place::Photo, &[Key::Esc, C('v'), C('q')], "Esc", "close", "close the photos", Command::Close),
    bind(Place::NoteForm, &[Key::Ctrl('s'), Key::Tab], "Ctrl-S", "save", "save (Tab does too)", Command::Save),
    bind(Place::NoteForm, &[Key::Enter], "Enter", "new line, twice saves", "a new line; a second Enter at the end saves", Command::Open),
    bind(Place::NoteForm, &[Key::Up], "↑", "", "the line above", Command::Up),
    bind(Place::NoteForm, &[Key::Down], "↓", "", "the line below", Command::Down),
    bind(Place::NoteForm, &[Key::Esc], "Esc", "leave", "leave without saving; asks if something was typed", Command::Close),

    bind(Place::Pick, &[Key::Enter], "Enter", "go", "jump to the line", Command::Open),
    bind(Place::Pick, &[Key::Up], "↑↓", "move", "up", Command::Up),
    bind(Place::Pick, &[Key::Down], "↓", "", "down", Command::Down),
    bind(Place::Pick, &[Key::PageUp], "PgUp", "", "a page up", Command::PageUp),
    bind(Place::Pick, &[Key::PageDown], "PgDn", "", "a page down", Command::PageDown),
    bind(Place::Pick, &[Key::Esc], "Esc", "close", "close the list", Command::Close),

    bind(Place::Confirm, &[C('y')], "y", "yes", "do it", Command::Yes),
    bind(Place::Confirm, &[C('n')], "n", "no", "leave it", Command::No),

    bind(Place::List, &[Key::Up, C('k')], "↑↓", "move", "up", Command::Up),
    bind(Place::List, &[Key::Down, C('j')], "↓ j", "", "down", Command::Down),
    bind(Place::List, &[Key::PageUp], "PgUp", "", "a page up", Command::PageUp),
    bind(Place::List, &[Key::PageDown], "PgDn", "", "a page down", Command::PageDown),
    bind(Place::List, &[Key::Home], "Home", "", "to the beginning", Command::First),
    bind(Place::List, &[Key::End], "End", "", "to the end", Command::Last),

    bind(Place::OfCar, &[C('u')], "u", "undo", "take the last change back, whichever screen made it", Command::Undo),
    bind(Place::OfCar, &[C('U'), Key::Ctrl('r')], "U", "redo", "make the change taken back again (Ctrl-R does too)", Command::Redo),
    bind(Place::OfCar, &[C('a')], "a", "", "Yard: all cars", Command::Go(Name::Yard)),
    bind(Place::OfCar, &[C('r')], "r", "", "Round: look round the car", Command::Go(Name::Round)),
    bind(Place::OfCar, &[C('s')], "s", "", "Standing: what comes first, and why", Command::Go(Name::Standing)),
    bind(Place::OfCar, &[C('l')], "l", "", "Sides: left against right", Command::Go(Name::Sides)),
    bind(Place::OfCar, &[C('d')], "d", "", "Decline: history and forecast", Command::Go(Name::Decline)),
    bind(Place::OfCar, &[C('p')], "p", "", "Plan: the work, visit by visit", Command::Go(Name::Plan)),
    bind(Place::OfCar, &[C('b')], "b", "", "Fixings: bolts and nuts, how tight, and what to try on a rusted one", Command::Go(Name::Fixings)),
    bind(Place::OfCar, &[C('c')], "c", "", "Car: profile and parts", Command::Go(Name::Car)),

    bind(Place::Everywhere, &[C('?')], "?", "keys", "all keys", Command::Help),
    bind(Place::Everywhere, &[C('q'), Key::Esc], "q", "close", "close the top layer; from the last one, leave", Command::Close),
    bind(Place::Everywhere, &[C('M')], "M", "", "take the mouse (a click selects, a second one opens, the wheel moves), or give it back to the terminal for copying", Command::Mouse),
    bind(Place::Everywhere, &[Key::Ctrl('c')], "Ctrl-C", "", "leave at once; everything accepted is saved already", Command::Quit),
    bind(Place::Everywhere, &[Key::Ctrl('z')], "Ctrl-Z", "", "back to the shell; fg returns", Command::Suspend),
];

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
