//! The screens, one file each, and what they ask of the program.
//!
//! A screen is a model with `update` (what a command does to it), `view` (how it looks) and `places` (which keys hold).
//! Screens never act: they return [`Effect`]s. Those that only move between screens are carried out by the
//! [`App`](super::app::App), all others by the run loop, which answers with a message.

pub mod car;
pub mod confirm;
pub mod decline;
pub mod files;
pub mod fixings;
pub mod form;
pub mod help;
pub mod new_car;
pub mod photo;
pub mod pick;
pub mod plan;
pub mod profile;
pub mod reading;
pub mod round;
pub mod sides;
pub mod sieve;
pub mod standing;
pub mod visit;
pub mod yard;

use crate::car::{Change, Profile, Wishes};
use crate::rubric::PartId;
use crate::store::Draft;

/// The main screens.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Name {
    /// All cars.
    Yard,
    /// The guided look.
    Round,
    /// The ranked list.
    Standing,
    /// Left against right.
    Sides,
    /// History and forecast of one check.
    Decline,
    /// The work plan.
    Plan,
    /// Threads, torques, and rusted ones.
    Fixings,
    /// Profile and parts.
    Car,
}

impl Name {
    /// The screens of a car, in the order of the loop, with their keys.
    pub const OF_CAR: [(char, Name, &'static str); 8] = [
        ('a', Name::Yard, "Yard"),
        ('r', Name::Round, "Round"),
        ('s', Name::Standing, "Standing"),
        ('l', Name::Sides, "Sides"),
        ('d', Name::Decline, "Decline"),
        ('p', Name::Plan, "Plan"),
        ('b', Name::Fixings, "Fixings"),
        ('c', Name::Car, "Car"),
    ];

    /// Whether it shows what the engine says.
    #[must_use]
    pub fn needs_reckoning(self) -> bool {
        matches!(self, Name::Standing | Name::Sides | Name::Decline | Name::Plan)
    }
}

/// What is to happen once changes are on disk.
#[derive(Debug, Clone, PartialEq)]
pub enum Then {
    /// Nothing more.
    Nothing,
    /// A sentence is shown.
    Say(String),
    /// The Round takes note of a look given at a stop, and goes on.
    Looked(usize),
    /// Changes were taken back.
    Undone,
    /// The checks of a first look are kept; that is no step of anybody's, so it is not one to take back.
    FirstChosen,
    /// The Round takes note of a second look, and goes on with it.
    LookedAgain,
    /// Changes taken back were made again.
    Redone,
    /// The form on top is closed, and a sentence shown.
    CloseForm(String),
    /// The choice of a photo on top is closed, and a sentence shown.
    Attached(String),
    /// The form on top is closed and the Round begins the survey; whether with a first look.
    Begun(jiff::civil::Date, bool),
}

/// A request of a screen.
#[derive(Debug, Clone)]
pub enum Effect {
    /// Save these changes, all or none.
    Record {
        /// The changes.
        changes: Vec<Change>,
        /// What happens then.
        then: Then,
    },
    /// Let the engine reckon the car of this version.
    Reckon(u64),
    /// Let the engine reckon a series.
    Series {
        /// The part.
        part: PartId,
        /// The check.
        check: String,
        /// How many years ahead.
        years: u8,
    },
    /// Let the engine try the plan of the car in hand under other wishes; nothing is kept.
    Try(Box<Wishes>),
    /// Let the engine reckon what each limit costs.
    Limits,
    /// Let the engine set what would do for a part against each other.
    Alternatives(PartId),
    /// Let the engine hold the newest survey against the one before it, and the forecasts against what came.
    LookBack,
    /// Open a car of the Yard.
    OpenCar(String),
    /// Put a new car in the Yard and open it.
    Create(Box<Profile>),
    /// List the Yard.
    ListCars,
    /// Let go of the car in hand.
    PutAway,
    /// List the folders and pictures of a folder.
    ListFolder(String),
    /// Copy a photo in and hang it on a look.
    Attach {
        /// The look.
        to: files::For,
        /// The photo's path, as typed.
        path: String,
    },
    /// Read photos of the car to be shown.
    ReadPhotos(Vec<String>),
    /// Open a photo of the car in the system's viewer.
    OpenPhoto(String),
    /// Read what was being typed when the program ended.
    ReadDrafts,
    /// Keep what is being typed, and nothing else.
    KeepDrafts(Vec<Draft>),
    /// Hand the terminal back to the shell.
    Suspend,
    /// Take the mouse, or give it back.
    Mouse(bool),
    /// Leave the program.
    Quit,

    /// Show a main screen.
    Go(Name),
    /// Show the decline of a part, of its leading check if none is named; closing it comes back.
    ShowDecline(PartId, Option<String>),
    /// Show a fixing of a part by its name; closing it comes back.
    ShowFixing(PartId, String),
    /// Lay a screen over the present one.
    Over(Box<Over>),
    /// Take the top one away.
    CloseOver,
    /// A line of a search list was chosen.
    Chosen(pick::For, usize),
    /// Show a sentence.
    Say(String),
}

/// A screen laid over the main one.
#[derive(Debug, Clone)]
pub enum Over {
    /// All keys.
    Help(help::Model),
    /// A question.
    Confirm(confirm::Model),
    /// A search list.
    Pick(pick::Model),
    /// A form.
    Form(form::Model),
    /// A text to read.
    Reading(reading::Model),
    /// A photo to choose.
    Files(files::Model),
    /// Photos to look at.
    Photo(photo::Model),
}
