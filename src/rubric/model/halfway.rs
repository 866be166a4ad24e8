//! Whether work may be left half done.

use serde::{Deserialize, Serialize};

/// Whether the car may be left in the state that a step, a repair or something owed puts it in: for the night, or until the
/// next session. It is never driven like that. Where nothing is stated, the worksheet takes it that it may not.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Halfway {
    /// Whether it may wait like this.
    pub may_wait: bool,
    /// On what condition it may, or why it may not and what comes first; one or two plain sentences.
    pub what: String,
    /// Where it comes from.
    #[serde(default = "common_practice")]
    pub source: String,
}

fn common_practice() -> String {
    "common practice, no source".to_owned()
}

/// When something owed is done.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Default, Serialize, Deserialize)]
pub enum OwedWhen {
    /// While what was opened is still open.
    BeforeClosing,
    /// With everything closed and the car on its wheels.
    #[default]
    OnItsWheels,
    /// After it has been driven.
    Driven,
}
