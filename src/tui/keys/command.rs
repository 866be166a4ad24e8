//! What keys ask for.

use crate::tui::screen::Name;

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
    /// The car's fixing after the one shown.
    FixingAfter,
    /// The car's fixing before the one shown.
    FixingBefore,
    /// Grade a drawn tenth again.
    LookAgain,
    /// The newest survey against the one before it.
    LookBack,
    /// Save the form.
    Save,
    /// Toggle the choice under the cursor.
    Toggle,
}

impl Command {
    /// How many lines a command of movement goes on in a list of which a page is so many lines; up is below zero. To the
    /// beginning and the end is further than any list is long.
    #[must_use]
    pub fn by(self, page: isize) -> Option<isize> {
        match self {
            Command::Up => Some(-1),
            Command::Down => Some(1),
            Command::PageUp => Some(-page),
            Command::PageDown => Some(page),
            Command::First => Some(isize::MIN / 2),
            Command::Last => Some(isize::MAX / 2),
            _ => None,
        }
    }
}
