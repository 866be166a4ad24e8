//! All keys, read from the table.

use ratatui::buffer::Buffer;
use ratatui::layout::Rect;

use crate::text;
use crate::tui::keys::{Command, Place, TABLE};
use crate::tui::theme::Theme;
use crate::tui::widget::{cells, panel, put, put_right, window};

/// The help screen.
#[derive(Debug, Clone)]
pub struct Model {
    /// The places whose keys come first: those of the screen it was opened on.
    first: Vec<Place>,
    /// The first line shown.
    top: usize,
}

const ALL: [Place; 24] = [
    Place::Everywhere,
    Place::OfCar,
    Place::List,
    Place::Yard,
    Place::Round,
    Place::RoundGrade,
    Place::RoundReading,
    Place::RoundAnswer,
    Place::RoundWhy,
    Place::RoundAgain,
    Place::Standing,
    Place::Sides,
    Place::Decline,
    Place::Plan,
    Place::PlanJobs,
    Place::PlanBuys,
    Place::PlanLimits,
    Place::Visit,
    Place::Fixings,
    Place::Profile,
    Place::Parts,
    Place::Form,
    Place::Pick,
    Place::Confirm,
];

impl Model {
    /// Help for the places that hold.
    #[must_use]
    pub fn new(first: Vec<Place>) -> Model {
        Model { first, top: 0 }
    }

    /// Scrolls; says whether it is to be closed.
    pub fn update(&mut self, command: Command) -> bool {
        let last = self.lines().len().saturating_sub(1);
        match command {
            Command::Up => self.top = self.top.saturating_sub(1),
            Command::Down => self.top = (self.top + 1).min(last),
            Command::PageUp => self.top = self.top.saturating_sub(10),
            Command::PageDown => self.top = (self.top + 10).min(last),
            Command::First => self.top = 0,
            Command::Last => self.top = last,
            Command::Close | Command::Help => return true,
            _ => {}
        }
        false
    }

    /// Headings (no keys) and keys with what they do.
    fn lines(&self) -> Vec<(String, String)> {
        let mut places = self.first.clone();
        places.extend(ALL.iter().filter(|p| !self.first.contains(p)));
        places.dedup();
        let mut lines = Vec::new();
        for place in places {
            lines.push((String::new(), place.heading().to_owned()));
            for binding in TABLE.iter().filter(|b| b.place == place && !b.long.is_empty()) {
                let shown = binding.shown;
                lines.push((shown.to_owned(), binding.long.to_owned()));
            }
            lines.push((String::new(), String::new()));
        }
        lines
    }

    /// Draws it.
    pub fn view(&self, theme: &Theme, area: Rect, buf: &mut Buffer) {
        let inside = panel(buf, area, 76, area.height, "Keys", theme.rule(), theme.title());
        let lines = self.lines();
        let rows = inside.height;
        let from = self.top.min(lines.len().saturating_sub(usize::from(rows)));
        for (dy, (keys, words)) in (0..rows).zip(lines.iter().skip(from)) {
            if keys.is_empty() {
                put(buf, inside, 0, dy, words, theme.title());
            } else {
                put(buf, inside, 2, dy, &text::fit(keys, 10), theme.accent());
                put(buf, inside, 13, dy, words, theme.text());
            }
        }
        let shown = window(from + usize::from(rows / 2), lines.len(), rows);
        if shown.end < lines.len() {
            let left = lines.len() - shown.end;
            let below = Rect::new(inside.x, inside.bottom(), inside.width, 1).intersection(area);
            put_right(buf, below, 0, &format!(" {} more ↓ ", cells(left)), theme.dim());
        }
    }
}
