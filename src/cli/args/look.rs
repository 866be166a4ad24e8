//! How output looks: characters, ground and mouse.

use clap::{Args, ValueEnum};

use super::When;

/// How output looks.
#[derive(Debug, Clone, Copy, Args)]
pub struct Look {
    /// Write nothing but ASCII: bars, boxes, arrows and letters with marks by plain characters. Without a word always;
    /// auto does so in the locales C and POSIX and on a terminal that has no more
    #[arg(
        long,
        value_name = "WHEN",
        num_args = 0..=1,
        require_equals = true,
        default_value = "auto",
        default_missing_value = "always",
        hide_possible_values = true,
        global = true
    )]
    pub ascii: When,
    /// What the terminal's background is, dark or light, which turns the grades' colours round [default: what
    /// TINWORM_BACKGROUND or COLORFGBG says, else dark]
    #[arg(long, value_name = "GROUND", hide_possible_values = true, global = true)]
    pub background: Option<Background>,
    /// On the screens, take the mouse from the start: a click selects, another opens, the wheel moves; M gives it back
    #[arg(long, global = true)]
    pub mouse: bool,
}

/// A terminal's background.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum Background {
    /// Dark.
    Dark,
    /// Light.
    Light,
}
