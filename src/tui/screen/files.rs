//! Choosing a photo: a path typed or pasted, and the pictures and folders that begin so.

use jiff::civil::Date;
use ratatui::buffer::Buffer;
use ratatui::layout::{Position, Rect};

use super::Effect;
use crate::rubric::PartId;
use crate::text;
use crate::tui::keys::{Command, Key};
use crate::tui::theme::Theme;
use crate::tui::widget::{Field, panel, put, put_right, row, step, tint, window};

/// What a photo is chosen for.
#[derive(Debug, Clone, PartialEq)]
pub struct For {
    /// The survey.
    pub survey: Date,
    /// The part.
    pub part: PartId,
    /// The check.
    pub check: String,
}

/// A line of a folder.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub struct Entry {
    /// Whether it is no folder; folders stand first.
    pub file: bool,
    /// Its name.
    pub name: String,
}

/// A photo being chosen.
#[derive(Debug, Clone)]
pub struct Model {
    about: String,
    purpose: For,
    typed: Field,
    /// The folder whose lines these are, as it was typed.
    listed: String,
    lines: Result<Vec<Entry>, String>,
    selected: usize,
}

/// A path as typed, up to its last separator and from there on.
fn parted(path: &str) -> (&str, &str) {
    let at = path.rfind(std::path::is_separator).map_or(0, |at| at + 1);
    path.split_at(at)
}

/// A pasted path without the quotes and the marks before blanks that terminals put in when a file is dropped on them.
fn pasted(words: &str) -> String {
    let words = words.trim();
    for quote in ['\'', '"'] {
        if let Some(inner) = words.strip_prefix(quote).and_then(|w| w.strip_suffix(quote)) {
            return inner.to_owned();
        }
    }
    if cfg!(unix) {
        words.replace("\\ ", " ")
    } else {
        words.to_owned()
    }
}

impl Model {
    /// Begins in a folder.
    #[must_use]
    pub fn new(about: &str, purpose: For, folder: &str) -> Model {
        Model {
            about: about.to_owned(),
            purpose,
            typed: Field::holding(folder),
            listed: folder.to_owned(),
            lines: Ok(Vec::new()),
            selected: 0,
        }
    }

    /// Takes the lines of a folder, if it is still the one asked for.
    pub fn listed(&mut self, folder: &str, lines: Result<Vec<Entry>, String>) {
        if folder == self.listed {
            self.lines = lines;
            self.selected = 0;
        }
    }

    /// The lines that begin as typed.
    fn fitting(&self) -> Vec<&Entry> {
        let typed = self.typed.value();
        let begun = parted(&typed).1.to_lowercase();
        let lines = self.lines.as_deref().unwrap_or_default();
        lines
            .iter()
            .filter(|l| l.name.to_lowercase().starts_with(&begun))
            .collect()
    }

    /// Asks for the lines of the folder typed, if it is another one now.
    fn look_again(&mut self) -> Vec<Effect> {
        self.selected = 0;
        let typed = self.typed.value();
        let folder = parted(&typed).0.to_owned();
        if folder == self.listed {
            return Vec::new();
        }
        self.listed.clone_from(&folder);
        self.lines = Ok(Vec::new());
        vec![Effect::ListFolder(folder)]
    }

    fn go_into(&mut self, folder: &str) -> Vec<Effect> {
        self.typed = Field::holding(&format!("{}{folder}/", self.listed));
        self.look_again()
    }

    /// Takes a key that is text.
    pub fn type_key(&mut self, key: Key) -> Vec<Effect> {
        if self.typed.take(key) {
            self.look_again()
        } else {
            Vec::new()
        }
    }

    /// Takes pasted text; a whole path takes the place of what was typed.
    pub fn paste(&mut self, words: &str) -> Vec<Effect> {
        let path = pasted(words);
        if path.starts_with('~') || std::path::Path::new(&path).has_root() {
            self.typed.clear();
        }
        self.typed.insert(&path);
        self.look_again()
    }

    /// Does what is asked.
    pub fn update(&mut self, command: Command) -> Vec<Effect> {
        let count = self.fitting().len();
        if let Some(by) = command.by(10) {
            self.selected = step(self.selected, by, count);
            return Vec::new();
        }
        match command {
            Command::Close => return vec![Effect::CloseOver],
            Command::Next => return self.complete(),
            Command::Open => {
                let chosen = self.fitting().get(self.selected).map(|l| (*l).clone());
                let path = match chosen {
                    Some(line) if !line.file => return self.go_into(&line.name),
                    Some(line) => format!("{}{}", self.listed, line.name),
                    None => self.typed.value(),
                };
                return vec![Effect::Attach {
                    to: self.purpose.clone(),
                    path,
                }];
            }
            _ => {}
        }
        Vec::new()
    }

    /// Adds what all fitting lines have in common.
    fn complete(&mut self) -> Vec<Effect> {
        let fitting: Vec<Entry> = self.fitting().into_iter().cloned().collect();
        match fitting.as_slice() {
            [] => Vec::new(),
            [only] if !only.file => self.go_into(&only.name),
            [first, rest @ ..] => {
                let common = rest.iter().fold(first.name.as_str(), |common, line| {
                    let same = common.chars().zip(line.name.chars()).take_while(|(a, b)| a == b);
                    let length = same.map(|(a, _)| a.len_utf8()).sum();
                    common.get(..length).unwrap_or_default()
                });
                let typed = self.typed.value();
                if common.len() >= parted(&typed).1.len() {
                    self.typed = Field::holding(&format!("{}{common}", self.listed));
                }
                Vec::new()
            }
        }
    }

    /// Draws it and says where the cursor stands.
    pub fn view(&self, theme: &Theme, area: Rect, buf: &mut Buffer) -> Option<Position> {
        let inside = panel(buf, area, 76, area.height, "Add a photo", theme.rule(), theme.title());
        put(buf, inside, 0, 0, &self.about, theme.text());
        let asked = row(buf, inside, 0, 1, &[("File", theme.accent()), (" ", theme.text())]);
        let cursor = self.typed.draw(buf, inside, asked, 1, theme.text());
        let list = Rect::new(
            inside.x,
            inside.y.saturating_add(2),
            inside.width,
            inside.height.saturating_sub(2),
        );
        let fitting = self.fitting();
        if let Err(why) = &self.lines {
            put(buf, list, 0, 0, why, theme.dim());
        } else if fitting.is_empty() {
            put(
                buf,
                list,
                0,
                0,
                "No folder or picture (JPEG, PNG) here begins so.",
                theme.dim(),
            );
        }
        let shown = window(self.selected, fitting.len(), list.height);
        for (dy, n) in (0..list.height).zip(shown) {
            let Some(line) = fitting.get(n) else { continue };
            let room = usize::from(list.width).saturating_sub(8);
            put(
                buf,
                list,
                0,
                dy,
                &text::shorten(&text::clean(&line.name), room),
                theme.text(),
            );
            if !line.file {
                put_right(buf, list, dy, "folder", theme.dim());
            }
            if n == self.selected {
                tint(buf, list, dy, theme.selected());
            }
        }
        cursor
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_dropped_file_is_a_path() {
        assert_eq!(pasted(" '/home/a b/c.jpg'\n"), "/home/a b/c.jpg");
        assert_eq!(pasted("\"/home/c.jpg\""), "/home/c.jpg");
        #[cfg(unix)]
        assert_eq!(pasted("/home/a\\ b/c.jpg "), "/home/a b/c.jpg");
        assert_eq!(parted("/home/a/c"), ("/home/a/", "c"));
        assert_eq!(parted("c"), ("", "c"));
    }
}
