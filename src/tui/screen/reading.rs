//! A longer text to read, scrolled.

use ratatui::buffer::Buffer;
use ratatui::layout::Rect;

use crate::text;
use crate::tui::keys::Command;
use crate::tui::theme::Theme;
use crate::tui::widget::{cells, panel, put, put_right, scrolled};

/// A text being read.
#[derive(Debug, Clone)]
pub struct Model {
    heading: String,
    /// Paragraphs: a small heading, which may be empty, and the text.
    paragraphs: Vec<(String, String)>,
    top: usize,
}

impl Model {
    /// A text under a heading.
    #[must_use]
    pub fn new(heading: &str, paragraphs: Vec<(String, String)>) -> Model {
        Model {
            heading: heading.to_owned(),
            paragraphs,
            top: 0,
        }
    }

    /// Scrolls; says whether it is to be closed.
    pub fn update(&mut self, command: Command, (columns, rows): (u16, u16)) -> bool {
        let lines = self.lines(columns.min(76).saturating_sub(4)).len();
        self.top = scrolled(self.top, command, lines, rows);
        command == Command::Close
    }

    fn lines(&self, width: u16) -> Vec<(bool, String)> {
        let mut lines = Vec::new();
        for (heading, words) in &self.paragraphs {
            if !lines.is_empty() {
                lines.push((false, String::new()));
            }
            if !heading.is_empty() {
                lines.push((true, heading.clone()));
            }
            for paragraph in words.split('\n') {
                let wrapped = text::wrap(&text::clean(paragraph), usize::from(width));
                lines.extend(wrapped.into_iter().map(|l| (false, l)));
            }
        }
        lines
    }

    /// Draws it.
    pub fn view(&self, theme: &Theme, area: Rect, buf: &mut Buffer) {
        let wide = area.width.min(76);
        let lines = self.lines(wide.saturating_sub(4));
        let high = cells(lines.len()).saturating_add(2).min(area.height);
        let inside = panel(buf, area, wide, high, &self.heading, theme.rule(), theme.title());
        let rows = usize::from(inside.height);
        let from = self.top.min(lines.len().saturating_sub(rows));
        for (dy, (bold, line)) in (0..inside.height).zip(lines.iter().skip(from)) {
            put(
                buf,
                inside,
                0,
                dy,
                line,
                if *bold { theme.title() } else { theme.text() },
            );
        }
        if from + rows < lines.len() {
            let below = Rect::new(inside.x, inside.bottom(), inside.width, 1).intersection(area);
            put_right(
                buf,
                below,
                0,
                &format!(" {} more ↓ ", lines.len() - from - rows),
                theme.dim(),
            );
        }
    }
}
