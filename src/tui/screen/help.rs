//! All keys, read from the table.

use ratatui::buffer::Buffer;
use ratatui::layout::Rect;

use crate::text;
use crate::tui::keys::{Binding, Command, Key, Place, TABLE};
use crate::tui::theme::Theme;
use crate::tui::widget::{cells, panel, put, put_right, scrolled, window};

/// The help screen.
#[derive(Debug, Clone)]
pub struct Model {
    /// The places whose keys come first: those of the screen it was opened on.
    first: Vec<Place>,
    /// The first line shown.
    top: usize,
}

/// The width of the list, and where in it the words begin.
const WIDE: u16 = 76;
const WORDS_AT: u16 = 13;

/// How the key of a binding is shown by itself: in the bottom line one pair of arrows stands for two bindings.
fn alone(binding: &Binding) -> &'static str {
    match (binding.shown, binding.keys.first()) {
        ("←→", Some(Key::Right)) => "→",
        ("↑↓", Some(Key::Up)) => "↑",
        ("↑↓", Some(Key::Down)) => "↓",
        (shown, _) => shown,
    }
}

/// A line of the list.
enum Line {
    Heading(&'static str),
    /// Keys, which only the first line of their words has.
    Key(&'static str, String),
}

const ALL: [Place; 32] = [
    Place::Everywhere,
    Place::OfCar,
    Place::List,
    Place::Yard,
    Place::EmptyYard,
    Place::Round,
    Place::RoundBegin,
    Place::RoundGrade,
    Place::RoundReading,
    Place::RoundAnswer,
    Place::RoundWaits,
    Place::RoundWhy,
    Place::RoundAgain,
    Place::Sieve,
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
    Place::NoteForm,
    Place::Pick,
    Place::PickSieve,
    Place::Files,
    Place::Photo,
    Place::Confirm,
];

impl Model {
    /// Help for the places that hold.
    #[must_use]
    pub fn new(first: Vec<Place>) -> Model {
        Model { first, top: 0 }
    }

    /// Scrolls; says whether it is to be closed.
    pub fn update(&mut self, command: Command, (columns, rows): (u16, u16)) -> bool {
        let lines = self.lines(columns.min(WIDE).saturating_sub(4)).len();
        self.top = scrolled(self.top, command, lines, rows);
        matches!(command, Command::Close | Command::Help)
    }

    /// The lines at a width: headings, and keys with what they do, wrapped under it.
    fn lines(&self, width: u16) -> Vec<Line> {
        let mut places = self.first.clone();
        places.extend(ALL.iter().filter(|p| !self.first.contains(p)));
        places.dedup();
        let room = usize::from(width.saturating_sub(WORDS_AT)).max(10);
        let mut lines = Vec::new();
        for place in places {
            lines.push(Line::Heading(place.heading()));
            for binding in TABLE.iter().filter(|b| b.place == place && !b.long.is_empty()) {
                let mut keys = alone(binding);
                for words in text::wrap(binding.long, room) {
                    lines.push(Line::Key(std::mem::take(&mut keys), words));
                }
            }
            lines.push(Line::Heading(""));
        }
        lines
    }

    /// Draws it.
    pub fn view(&self, theme: &Theme, area: Rect, buf: &mut Buffer) {
        let inside = panel(buf, area, WIDE, area.height, "Keys", theme.rule(), theme.title());
        let lines = self.lines(inside.width);
        let rows = inside.height;
        let from = self.top.min(lines.len().saturating_sub(usize::from(rows)));
        for (dy, line) in (0..rows).zip(lines.iter().skip(from)) {
            match line {
                Line::Heading(words) => {
                    put(buf, inside, 0, dy, words, theme.title());
                }
                Line::Key(keys, words) => {
                    put(buf, inside, 2, dy, &text::fit(keys, 10), theme.accent());
                    put(buf, inside, WORDS_AT, dy, words, theme.text());
                }
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
