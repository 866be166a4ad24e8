//! Photos of a check in half blocks, with those of the survey before beside them.

use std::collections::BTreeMap;
use std::sync::Arc;

use ratatui::buffer::Buffer;
use ratatui::layout::Rect;

use super::Effect;
use crate::picture::Points;
use crate::tui::keys::Command;
use crate::tui::theme::Theme;
use crate::tui::widget::{cells, panel, para, put, step};

/// A photo read, or why it cannot be shown.
pub type Read = Result<Arc<Points>, String>;

/// Photos of one look.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Shots {
    /// What stands above them.
    pub caption: String,
    /// Their names.
    pub names: Vec<String>,
}

/// Photos being looked at.
#[derive(Debug, Clone)]
pub struct Model {
    heading: String,
    now: Shots,
    before: Option<Shots>,
    /// What is said in the place of the photos before.
    hidden: &'static str,
    at: usize,
    read: BTreeMap<String, Read>,
}

impl Model {
    /// The photos of a look, and those of the look before; a sentence stands where they must not be seen yet.
    #[must_use]
    pub fn new(heading: &str, now: Shots, before: Option<Shots>, hidden: &'static str) -> Model {
        Model {
            heading: heading.to_owned(),
            at: now.names.len().saturating_sub(1),
            now,
            before,
            hidden,
            read: BTreeMap::new(),
        }
    }

    /// The names of all photos it shows.
    #[must_use]
    pub fn names(&self) -> Vec<String> {
        let before = self.before.iter().flat_map(|shots| &shots.names);
        self.now.names.iter().chain(before).cloned().collect()
    }

    /// Takes photos that were read.
    pub fn take(&mut self, read: Vec<(String, Read)>) {
        self.read.extend(read);
    }

    /// The photo shown now.
    fn shown(&self) -> Option<&String> {
        let before = || self.before.as_ref()?.names.last();
        self.now.names.get(self.at).or_else(before)
    }

    /// Does what is asked.
    pub fn update(&mut self, command: Command) -> Vec<Effect> {
        let most = self
            .before
            .as_ref()
            .map_or(0, |b| b.names.len())
            .max(self.now.names.len());
        match command {
            Command::Previous => self.at = step(self.at, -1, most),
            Command::Next => self.at = step(self.at, 1, most),
            Command::Close => return vec![Effect::CloseOver],
            Command::Open => {
                return self
                    .shown()
                    .map(|name| Effect::OpenPhoto(name.clone()))
                    .into_iter()
                    .collect();
            }
            _ => {}
        }
        Vec::new()
    }

    /// Draws them.
    pub fn view(&self, theme: &Theme, area: Rect, buf: &mut Buffer) {
        let inside = panel(
            buf,
            area,
            area.width,
            area.height,
            &self.heading,
            theme.rule(),
            theme.title(),
        );
        if theme.point([0; 3]).is_none() {
            let words = "No preview without colours or in ASCII; o opens the photo in the system's viewer.";
            para(buf, inside, 0, words, theme.text());
            return;
        }
        let mut panes: Vec<&Shots> = vec![&self.now];
        panes.extend(&self.before);
        let foot = u16::from(!self.hidden.is_empty());
        let wide = inside.width / cells(panes.len()).max(1);
        for (n, shots) in (0..).zip(panes) {
            let pane = Rect::new(
                inside.x + n * wide,
                inside.y,
                wide.saturating_sub(1),
                inside.height.saturating_sub(foot),
            );
            self.pane(theme, shots, pane, buf);
        }
        put(
            buf,
            inside,
            0,
            inside.height.saturating_sub(1),
            self.hidden,
            theme.dim(),
        );
    }

    fn pane(&self, theme: &Theme, shots: &Shots, area: Rect, buf: &mut Buffer) {
        let at = self.at.min(shots.names.len().saturating_sub(1));
        let count = if shots.names.len() > 1 {
            format!(", {} of {}", at + 1, shots.names.len())
        } else {
            String::new()
        };
        put(buf, area, 0, 0, &format!("{}{count}", shots.caption), theme.title());
        let room = Rect::new(area.x, area.y + 1, area.width, area.height.saturating_sub(1)).intersection(buf.area);
        match shots.names.get(at).map(|name| self.read.get(name)) {
            None => {
                put(buf, room, 0, 0, "no photo", theme.dim());
            }
            Some(None) => {
                put(buf, room, 0, 0, "reading…", theme.dim());
            }
            Some(Some(Err(why))) => {
                para(buf, room, 0, why, theme.text());
            }
            Some(Some(Ok(points))) => draw(theme, points, room, buf),
        }
    }
}

/// Draws a picture as large as an area lets it be, two points above each other in a cell.
fn draw(theme: &Theme, points: &Points, area: Rect, buf: &mut Buffer) {
    let (most_across, most_down) = (f64::from(area.width), f64::from(area.height) * 2.0);
    let (width, height) = (f64::from(points.width.max(1)), f64::from(points.height.max(1)));
    let scale = (most_across / width).min(most_down / height);
    let across = ((width * scale).round() as u16).clamp(1, area.width.max(1));
    let down = ((height * scale / 2.0).round() as u16).clamp(1, area.height.max(1));
    let share = |n: u16, of: u16| (f64::from(n) / f64::from(of), f64::from(n + 1) / f64::from(of));
    for y in 0..down.min(area.height) {
        for x in 0..across.min(area.width) {
            let half = |part: u16| theme.point(points.mean(share(x, across), share(y * 2 + part, down * 2)));
            let (Some(top), Some(bottom)) = (half(0), half(1)) else {
                continue;
            };
            if let Some(cell) = buf.cell_mut((area.x + x, area.y + y)) {
                cell.set_symbol("▀").set_fg(top).set_bg(bottom);
            }
        }
    }
}
