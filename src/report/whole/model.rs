//! What a report is made of.

use jiff::civil::Date;

use super::photos::Picture;
use crate::report::worksheet::Worksheet;
use crate::units::Grade;

/// Stands above the reasons that keep the car off the road.
pub const KEEP_OFF: &str = "Keep off the road until these are repaired and looked at again";

/// A report of a car.
#[derive(Debug, Clone)]
pub struct Report {
    /// What it is called.
    pub title: String,
    /// The day it speaks of.
    pub made: Date,
    /// What the program is for, and who decides.
    pub remark: String,
    /// Why the car should not be driven; none never means that it is safe.
    pub notice: Vec<String>,
    /// Its sections.
    pub sections: Vec<Section>,
}

/// A section with a heading.
#[derive(Debug, Clone)]
pub struct Section {
    /// What it is reached by within the page: small letters and hyphens.
    pub id: &'static str,
    /// Its heading.
    pub title: String,
    /// What stands in it.
    pub blocks: Vec<Block>,
}

/// A piece of a section.
#[derive(Debug, Clone)]
pub enum Block {
    /// A heading below that of the section.
    Heading(String),
    /// A paragraph.
    Paragraph(String),
    /// A list.
    List(Vec<String>),
    /// Names and what is said of them.
    Facts(Vec<(String, String)>),
    /// A table.
    Table(Table),
    /// A drawing.
    Drawing(Drawing),
    /// The worksheet of a visit.
    Worksheet(Box<Worksheet>),
    /// A photo.
    Photo(Photo),
}

/// A photo of what was seen.
#[derive(Debug, Clone)]
pub struct Photo {
    /// What it shows.
    pub title: String,
    /// The remark that was made with the look.
    pub note: String,
    /// The small copy.
    pub picture: Picture,
}

/// A table.
#[derive(Debug, Clone)]
pub struct Table {
    /// What it shows.
    pub caption: String,
    /// Its columns.
    pub columns: Vec<Column>,
    /// Which column names the row.
    pub named_by: usize,
    /// Its rows.
    pub rows: Vec<Row>,
}

/// A column of a table.
#[derive(Debug, Clone, Copy)]
pub struct Column {
    /// What stands above it.
    pub title: &'static str,
    /// Whether it holds numbers.
    pub number: bool,
}

/// A row of a table.
#[derive(Debug, Clone)]
pub struct Row {
    /// Its cells, as many as there are columns.
    pub cells: Vec<Cell>,
    /// A remark that belongs to what the row is named by.
    pub note: String,
}

/// A cell.
#[derive(Debug, Clone)]
pub enum Cell {
    /// Text or a number.
    Text(String),
    /// A grade, shown by its digit.
    Grade(Option<Grade>),
    /// A length with the span of 8 cases of 10 across it.
    Bar(Bar),
}

/// A length that compares rows with each other.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Bar {
    /// What it shows.
    pub value: f64,
    /// The 10 % point.
    pub low: f64,
    /// The 90 % point.
    pub high: f64,
    /// The length of the whole scale.
    pub scale: f64,
}

/// A drawing with what it says in words.
#[derive(Debug, Clone)]
pub struct Drawing {
    /// What it shows.
    pub title: String,
    /// What can be read from it, in sentences.
    pub description: String,
    /// The values it shows, as lines.
    pub lines: Vec<String>,
    /// The size of the sheet it is drawn on.
    pub size: (f64, f64),
    /// The SVG elements, user text in them already escaped.
    pub shapes: String,
}

impl From<String> for Cell {
    fn from(text: String) -> Cell {
        Cell::Text(text)
    }
}

impl From<&str> for Cell {
    fn from(text: &str) -> Cell {
        Cell::Text(text.to_owned())
    }
}

impl From<Option<Grade>> for Cell {
    fn from(grade: Option<Grade>) -> Cell {
        Cell::Grade(grade)
    }
}

/// A column of text.
pub(super) fn words_in(title: &'static str) -> Column {
    Column { title, number: false }
}

/// A column of numbers.
pub(super) fn numbers_in(title: &'static str) -> Column {
    Column { title, number: true }
}

impl Table {
    /// A table without rows, named by its first column.
    pub(super) fn new(caption: impl Into<String>, columns: &[Column]) -> Table {
        Table {
            caption: caption.into(),
            columns: columns.to_vec(),
            named_by: 0,
            rows: Vec::new(),
        }
    }

    /// Adds a row.
    pub(super) fn row(&mut self, cells: Vec<Cell>) {
        self.row_with_note(cells, String::new());
    }

    /// Adds a row with a remark.
    pub(super) fn row_with_note(&mut self, cells: Vec<Cell>, note: String) {
        self.rows.push(Row { cells, note });
    }
}

impl Section {
    /// An empty section.
    pub(super) fn new(id: &'static str, title: impl Into<String>) -> Section {
        Section {
            id,
            title: title.into(),
            blocks: Vec::new(),
        }
    }

    /// Adds a paragraph, unless it is empty.
    pub(super) fn say(&mut self, text: impl Into<String>) {
        let text = text.into();
        if !text.is_empty() {
            self.blocks.push(Block::Paragraph(text));
        }
    }

    /// Adds a heading.
    pub(super) fn head(&mut self, text: impl Into<String>) {
        self.blocks.push(Block::Heading(text.into()));
    }

    /// Adds a list, unless it is empty.
    pub(super) fn list(&mut self, lines: Vec<String>) {
        if !lines.is_empty() {
            self.blocks.push(Block::List(lines));
        }
    }

    /// Adds a table, unless it has no rows.
    pub(super) fn table(&mut self, table: Table) {
        if !table.rows.is_empty() {
            self.blocks.push(Block::Table(table));
        }
    }
}

impl Bar {
    /// The span in words.
    #[must_use]
    pub fn span(&self) -> String {
        let points = crate::report::words::points;
        format!("in 8 cases of 10 from {} to {}", points(self.low), points(self.high))
    }
}
