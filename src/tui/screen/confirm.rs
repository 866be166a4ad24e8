//! A question whose yes carries the very effects that were asked about.

use ratatui::buffer::Buffer;
use ratatui::layout::Rect;

use super::Effect;
use crate::tui::keys::Command;
use crate::tui::theme::Theme;
use crate::tui::widget::{height, panel, para, row};

/// A question.
#[derive(Debug, Clone)]
pub struct Model {
    /// What is asked.
    question: String,
    /// What happens on yes.
    effects: Vec<Effect>,
}

impl Model {
    /// Asks before doing something.
    #[must_use]
    pub fn new(question: String, effects: Vec<Effect>) -> Model {
        Model { question, effects }
    }

    /// Answers it; `None` while it stays open.
    #[must_use]
    pub fn update(&self, command: Command) -> Option<Vec<Effect>> {
        match command {
            Command::Yes => Some(self.effects.clone()),
            Command::No | Command::Close => Some(Vec::new()),
            _ => None,
        }
    }

    /// Draws it.
    pub fn view(&self, theme: &Theme, area: Rect, buf: &mut Buffer) {
        let wide = area.width.min(60);
        let rows = height(&self.question, wide.saturating_sub(4));
        let inside = panel(buf, area, wide, rows.saturating_add(4), "", theme.rule(), theme.title());
        let taken = para(buf, inside, 0, &self.question, theme.text());
        let pieces = [
            ("y", theme.accent()),
            (" yes    ", theme.text()),
            ("n", theme.accent()),
            (" no", theme.text()),
        ];
        row(buf, inside, 0, taken.saturating_add(1), &pieces);
    }
}
