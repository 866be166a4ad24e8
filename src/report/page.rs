//! Setting text to a width: paragraphs, items, tables, bars, and the one ramp of blues that grades are shown in.

use super::ramp;
use crate::text;
use crate::units::Grade;

/// How much colour may be used.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Ink {
    /// None.
    #[default]
    Plain,
    /// The sixteen colours every terminal has.
    Sixteen,
    /// The 256 colours.
    Many,
}

/// What a text is set for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Paper {
    /// Cells in a line.
    pub width: usize,
    /// Colour.
    pub ink: Ink,
}

impl Default for Paper {
    fn default() -> Self {
        Paper {
            width: 100,
            ink: Ink::Plain,
        }
    }
}

/// The colour of a grade on a page, and that of text on it, as a browser writes them: the same ramp as in a terminal.
#[must_use]
pub fn page_colours(grade: Grade) -> (String, &'static str) {
    let step = ramp::step(grade, ramp::Worst::Darkest);
    let (red, green, blue) = ramp::exact(step);
    let ink = if ramp::white_on(step) { "#ffffff" } else { "#000000" };
    (format!("#{red:02x}{green:02x}{blue:02x}"), ink)
}

impl Paper {
    /// A text on the colour of a grade; the text should hold the grade's digit, so that nothing rests on the colour.
    #[must_use]
    pub fn graded(&self, grade: Grade, text: &str) -> String {
        match self.ink {
            Ink::Plain => text.to_owned(),
            Ink::Many => {
                let step = ramp::step(grade, ramp::Worst::Darkest);
                let (back, fore) = (ramp::indexed(step), if ramp::white_on(step) { 231 } else { 16 });
                format!("\u{1b}[38;5;{fore};48;5;{back}m{text}\u{1b}[0m")
            }
            Ink::Sixteen => match grade.digit() {
                0 | 1 => text.to_owned(),
                2 | 3 => format!("\u{1b}[94m{text}\u{1b}[0m"),
                _ => format!("\u{1b}[97;44m{text}\u{1b}[0m"),
            },
        }
    }

    /// A text in bold.
    #[must_use]
    pub fn bold(&self, text: &str) -> String {
        match self.ink {
            Ink::Plain => text.to_owned(),
            _ => format!("\u{1b}[1m{text}\u{1b}[0m"),
        }
    }
}

/// A bar of so many cells at most, in eighths of a cell; anything above nothing shows at least one eighth.
#[must_use]
pub fn bar(value: f64, largest: f64, cells: usize) -> String {
    if !(value > 0.0 && largest > 0.0) {
        return String::new();
    }
    let share = (value / largest).min(1.0);
    let mut eighths = 0usize;
    let whole = cells * 8;
    // Counting up avoids a cast from a float.
    while eighths < whole && (f64::from(u32::try_from(eighths).unwrap_or(0)) + 0.5) / whole.max(1) as f64 <= share {
        eighths += 1;
    }
    let eighths = eighths.max(1);
    let mut out = "█".repeat(eighths / 8);
    out.push_str(
        ["", "▏", "▎", "▍", "▌", "▋", "▊", "▉"]
            .get(eighths % 8)
            .copied()
            .unwrap_or(""),
    );
    out
}

/// A text being set.
#[derive(Debug, Clone)]
pub struct Page {
    paper: Paper,
    out: String,
}

impl Page {
    /// An empty page.
    #[must_use]
    pub fn new(paper: Paper) -> Page {
        let width = paper.width.max(40);
        Page {
            paper: Paper { width, ..paper },
            out: String::new(),
        }
    }

    /// The paper.
    #[must_use]
    pub fn paper(&self) -> Paper {
        self.paper
    }

    /// A line as it is.
    pub fn line(&mut self, line: &str) {
        self.out.push_str(line.trim_end());
        self.out.push('\n');
    }

    /// An empty line, never two in a row and none at the top.
    pub fn gap(&mut self) {
        if !self.out.is_empty() && !self.out.ends_with("\n\n") {
            self.out.push('\n');
        }
    }

    /// A heading with a gap before it.
    pub fn heading(&mut self, text: &str) {
        self.gap();
        for line in text::wrap(text, self.paper.width) {
            let line = self.paper.bold(&line);
            self.line(&line);
        }
    }

    /// A wrapped paragraph, indented.
    pub fn paragraph(&mut self, indent: usize, text: &str) {
        self.hanging(indent, "", text);
    }

    /// A wrapped paragraph whose first line begins with a mark; the other lines stand under its text.
    pub fn hanging(&mut self, indent: usize, mark: &str, text: &str) {
        let lead = indent + text::width(mark);
        let cells = self.paper.width.saturating_sub(lead).max(20);
        for (n, line) in text::wrap(text, cells).into_iter().enumerate() {
            let margin = if n == 0 {
                format!("{}{mark}", " ".repeat(indent))
            } else {
                " ".repeat(lead)
            };
            self.line(&format!("{margin}{line}"));
        }
    }

    /// A dashed item.
    pub fn item(&mut self, indent: usize, text: &str) {
        self.hanging(indent, "- ", text);
    }

    /// A table.
    pub fn table(&mut self, table: &Table) {
        let text = table.set(self.paper);
        self.out.push_str(&text);
    }

    /// The text.
    #[must_use]
    pub fn finish(self) -> String {
        self.out
    }
}

/// A column of a table.
#[derive(Debug, Clone, Copy)]
pub struct Column {
    /// What stands above it.
    pub title: &'static str,
    /// Whether it is set to the right.
    pub right: bool,
    /// Whether it gives way and wraps when the paper is narrow.
    pub wraps: bool,
}

/// A column of short text.
#[must_use]
pub fn left(title: &'static str) -> Column {
    Column {
        title,
        right: false,
        wraps: false,
    }
}

/// A column of numbers.
#[must_use]
pub fn right(title: &'static str) -> Column {
    Column {
        title,
        right: true,
        wraps: false,
    }
}

/// A column of text that wraps.
#[must_use]
pub fn wide(title: &'static str) -> Column {
    Column {
        title,
        right: false,
        wraps: true,
    }
}

/// One cell of a table.
#[derive(Debug, Clone, Default)]
pub struct Cell {
    /// Its text.
    pub text: String,
    /// The grade whose colour it takes.
    pub grade: Option<Grade>,
}

impl From<String> for Cell {
    fn from(text: String) -> Cell {
        Cell { text, grade: None }
    }
}

impl From<&str> for Cell {
    fn from(text: &str) -> Cell {
        Cell::from(text.to_owned())
    }
}

impl From<Option<Grade>> for Cell {
    fn from(grade: Option<Grade>) -> Cell {
        Cell {
            text: grade.map_or_else(|| "–".to_owned(), |g| g.to_string()),
            grade,
        }
    }
}

/// A table: columns, and rows of as many cells.
#[derive(Debug, Clone)]
pub struct Table {
    columns: Vec<Column>,
    rows: Vec<(Vec<Cell>, String)>,
}

/// The narrowest a wrapping column becomes.
const NARROWEST: usize = 14;

impl Table {
    /// A table without rows.
    #[must_use]
    pub fn new(columns: &[Column]) -> Table {
        Table {
            columns: columns.to_vec(),
            rows: Vec::new(),
        }
    }

    /// Adds a row.
    pub fn row(&mut self, cells: Vec<Cell>) {
        self.rows.push((cells, String::new()));
    }

    /// Adds a row with a remark that stands under it, wrapped to the paper.
    pub fn row_with_note(&mut self, cells: Vec<Cell>, note: String) {
        self.rows.push((cells, note));
    }

    /// Whether it has no rows.
    #[must_use]
    pub fn is_empty(&self) -> bool {
        self.rows.is_empty()
    }

    fn widths(&self, paper: Paper) -> Vec<usize> {
        let mut widths: Vec<usize> = self
            .columns
            .iter()
            .enumerate()
            .map(|(n, column)| {
                let cells = self.rows.iter().filter_map(|(row, _)| row.get(n));
                let cells = cells.map(|c| text::width(&c.text));
                cells.max().unwrap_or(0).max(text::width(column.title))
            })
            .collect();
        let gaps = 2 * widths.len().saturating_sub(1);
        // The widest wrapping column gives way first, a cell at a time.
        while widths.iter().sum::<usize>() + gaps > paper.width {
            let widest = self
                .columns
                .iter()
                .zip(widths.iter_mut())
                .filter(|(column, width)| column.wraps && **width > NARROWEST)
                .max_by_key(|(_, width)| **width);
            match widest {
                Some((_, width)) => *width -= 1,
                None => break,
            }
        }
        widths
    }

    fn set(&self, paper: Paper) -> String {
        let widths = self.widths(paper);
        let mut out = String::new();
        let titles: Vec<Cell> = self.columns.iter().map(|c| Cell::from(c.title)).collect();
        if titles.iter().any(|t| !t.text.is_empty()) {
            self.set_row(&titles, &widths, paper, &mut out);
        }
        let first = widths.first().map_or(0, |w| w + 2).min(12);
        for (row, note) in &self.rows {
            self.set_row(row, &widths, paper, &mut out);
            if !note.is_empty() {
                for line in text::wrap(note, paper.width.saturating_sub(first).max(20)) {
                    out.push_str(&" ".repeat(first));
                    out.push_str(&line);
                    out.push('\n');
                }
            }
        }
        out
    }

    fn set_row(&self, row: &[Cell], widths: &[usize], paper: Paper, out: &mut String) {
        let cells: Vec<Vec<String>> = row
            .iter()
            .zip(widths)
            .map(|(cell, width)| text::wrap(&cell.text, (*width).max(1)))
            .collect();
        let height = cells.iter().map(Vec::len).max().unwrap_or(1);
        for n in 0..height {
            let mut line = String::new();
            for (at, lines) in cells.iter().enumerate() {
                let width = widths.get(at).copied().unwrap_or(0);
                let piece = lines.get(n).map_or("", String::as_str);
                let pad = " ".repeat(width.saturating_sub(text::width(piece)));
                if at > 0 {
                    line.push_str("  ");
                }
                let is_right = self.columns.get(at).is_some_and(|c| c.right);
                let styled = match row.get(at).and_then(|c| c.grade) {
                    Some(grade) if !piece.is_empty() => paper.graded(grade, piece),
                    _ => piece.to_owned(),
                };
                if is_right {
                    line.push_str(&pad);
                    line.push_str(&styled);
                } else {
                    line.push_str(&styled);
                    line.push_str(&pad);
                }
            }
            out.push_str(line.trim_end());
            out.push('\n');
        }
    }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;

    #[test]
    fn a_table_keeps_to_the_paper_and_loses_no_word() {
        let mut table = Table::new(&[right("no"), wide("what"), wide("why")]);
        table.row(vec![
            "1".into(),
            "a fairly long text about a joint".into(),
            "and one more about its boot".into(),
        ]);
        for width in [44, 50, 60, 100] {
            let mut page = Page::new(Paper { width, ink: Ink::Plain });
            page.table(&table);
            let text = page.finish();
            assert!(text.lines().all(|l| text::width(l) <= width), "{width}:\n{text}");
            for word in ["fairly", "joint", "more", "boot"] {
                assert!(text.contains(word), "{width}: {word}");
            }
        }
    }

    #[test]
    fn a_bar_grows_with_its_value() {
        assert_eq!(bar(0.0, 10.0, 10), "");
        assert_eq!(bar(0.000_1, 10.0, 10), "▏");
        assert_eq!(bar(10.0, 10.0, 4), "████");
        assert_eq!(bar(5.0, 10.0, 4), "██");
    }
}
