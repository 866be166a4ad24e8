//! How the program ends: what went wrong, and the exit code that says so.

use crate::store::{LibraryError, StoreError};
use crate::text;
use crate::tui::TuiError;

/// Why a verb could not do what was asked.
#[derive(Debug)]
pub enum Failure {
    /// Something in the input or the files is wrong.
    Data(String),
    /// Some cars cannot be read: what could be made of the others, and which were left out.
    Partly {
        /// The output.
        text: String,
        /// What to say beside it.
        said: String,
    },
    /// The command line is wrong, or a terminal is needed.
    Usage(String),
    /// There is no such car, part, check, repair or rubric.
    NotFound(String),
    /// Another program has the car open.
    Held(String),
    /// The screens ended otherwise than by leaving them.
    Screens(TuiError),
}

impl Failure {
    /// The exit code.
    #[must_use]
    pub fn code(&self) -> u8 {
        match self {
            Failure::Data(_) | Failure::Partly { .. } => 1,
            Failure::Usage(_) => 2,
            Failure::NotFound(_) => 3,
            Failure::Held(_) => 4,
            Failure::Screens(error) => error.exit_code(),
        }
    }

    /// What to say, made fit for a terminal line by line.
    #[must_use]
    pub fn words(&self) -> String {
        let said = match self {
            Failure::Data(said) | Failure::Usage(said) | Failure::NotFound(said) | Failure::Held(said) => said.clone(),
            Failure::Partly { said, .. } => said.clone(),
            Failure::Screens(error) => error.to_string(),
        };
        said.lines().map(text::clean).collect::<Vec<_>>().join("\n")
    }
}

impl From<StoreError> for Failure {
    fn from(error: StoreError) -> Failure {
        let said = error.to_string();
        match error {
            StoreError::NoSuchCar { .. } | StoreError::NoGeneration { .. } => Failure::NotFound(said),
            StoreError::SeveralCars { .. } | StoreError::NoHome => Failure::Usage(said),
            StoreError::ReadOnly { .. } => Failure::Held(said),
            _ => Failure::Data(said),
        }
    }
}

impl From<LibraryError> for Failure {
    fn from(error: LibraryError) -> Failure {
        Failure::Data(match error {
            LibraryError::Mistakes(_) => {
                format!(
                    "the rubrics have mistakes, so nothing can be reckoned; mend them and look again with `tinworm rubrics check`\n{error}"
                )
            }
            LibraryError::Folder(_) => error.to_string(),
        })
    }
}

impl From<serde_json::Error> for Failure {
    fn from(error: serde_json::Error) -> Failure {
        Failure::Data(format!("the values cannot be written as JSON: {error}"))
    }
}
