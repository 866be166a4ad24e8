//! Where in a text each item stands: from `components[3].checks[1].kind[2]` to line and column.
//!
//! The RON reader forgets positions once a value has been read, yet most mistakes in a rubric only show when two items
//! are set side by side. This scanner walks the text once, knows brackets, names, strings, characters and comments,
//! and notes where every field's value and every item of a list begins and ends. It judges nothing and never fails: of a
//! text that is no RON it keeps what it could make out and says that it is not [`Places::whole`].
//!
//! Paths: fields by name, items of lists and tuples by `[number]`. The single content of a named bracket counts as the
//! value itself, so the third description of `kind: Graded([…])` is `kind[2]` and the limit of
//! `kind: Measured((limit: 2.0, …))` is `kind.limit`.

use std::collections::HashMap;
use std::ops::Range;

use super::lex::{Lexer, Token};

/// Brackets deeper than this are walked over without noting what is in them.
const DEEPEST: usize = 64;

/// One item found in a text.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Place {
    /// The item's path.
    pub path: String,
    /// The bytes it takes, its type name included.
    pub span: Range<usize>,
    /// Where the comma behind it stands.
    pub comma: Option<usize>,
    /// Whether it is an item of a `[…]` list.
    pub listed: bool,
    /// Whether it is a bare word, number or text, without brackets.
    pub bare: bool,
}

/// The items of one text, by path.
#[derive(Debug, Clone, Default)]
pub struct Places {
    places: Vec<Place>,
    by_path: HashMap<String, usize>,
    line_starts: Vec<usize>,
    whole: bool,
}

struct Open {
    /// Length of the path of the bracket itself.
    base: usize,
    close: char,
    named: bool,
    index: usize,
    field: Option<Range<usize>>,
    /// A word or text that may turn out to be a field name, a type name or a value.
    word: Option<Range<usize>>,
    /// The item being read, once it is noted.
    item: Option<usize>,
}

impl Open {
    fn new(base: usize, close: char, named: bool) -> Open {
        Open {
            base,
            close,
            named,
            index: 0,
            field: None,
            word: None,
            item: None,
        }
    }
}

struct Scan<'a> {
    text: &'a str,
    found: Places,
    path: String,
    open: Vec<Open>,
}

impl Places {
    /// Walks a text.
    #[must_use]
    pub fn of(text: &str) -> Places {
        let mut scan = Scan {
            text,
            found: Places {
                line_starts: std::iter::once(0)
                    .chain(text.match_indices('\n').map(|(at, _)| at + 1))
                    .collect(),
                whole: true,
                ..Places::default()
            },
            path: String::new(),
            open: vec![Open::new(0, '\0', true)],
        };
        for (token, span) in Lexer::new(text) {
            scan.take(token, span);
        }
        scan.finish()
    }

    /// Whether every bracket was closed by its like and every sign was understood.
    #[must_use]
    pub fn whole(&self) -> bool {
        self.whole
    }

    /// All items, in the order they begin.
    #[must_use]
    pub fn all(&self) -> &[Place] {
        &self.places
    }

    /// The item of a path.
    #[must_use]
    pub fn get(&self, path: &str) -> Option<&Place> {
        self.by_path.get(path).and_then(|at| self.places.get(*at))
    }

    /// The item of a path or, when it is not written (a default), the nearest thing that holds it.
    #[must_use]
    pub fn nearest(&self, path: &str) -> Option<&Place> {
        let mut path = path;
        loop {
            if let Some(place) = self.get(path) {
                return Some(place);
            }
            if path.is_empty() {
                return None;
            }
            path = path.rfind(['.', '[']).map_or("", |at| path.split_at(at).0);
        }
    }

    /// Line and column of a byte of the text, both counted from 1, the column in characters.
    #[must_use]
    pub fn line_and_column(&self, text: &str, at: usize) -> (usize, usize) {
        let line = self.line_starts.partition_point(|start| *start <= at).max(1);
        let start = self.line_starts.get(line - 1).copied().unwrap_or(0);
        let before = text.get(start..at).map_or(0, |t| t.chars().count());
        (line, before + 1)
    }
}

impl Scan<'_> {
    fn take(&mut self, token: Token, span: Range<usize>) {
        match token {
            Token::Word | Token::Text => self.word(span),
            Token::Colon => self.colon(),
            Token::Comma => {
                self.end_item(Some(span.start));
                if let Some(open) = self.open.last_mut() {
                    open.index += 1;
                }
            }
            Token::Open(close) => self.open_bracket(close, span),
            Token::Close(close) => self.close_bracket(close, span.end),
            Token::Other => self.found.whole = false,
        }
    }

    fn word(&mut self, span: Range<usize>) {
        let Some(open) = self.open.last_mut() else { return };
        if open.word.is_some() || open.item.is_some() {
            // Two values without a comma between them: what was there ends here.
            self.found.whole = false;
            self.end_item(None);
        }
        if let Some(open) = self.open.last_mut() {
            open.word = Some(span);
        }
    }

    fn colon(&mut self) {
        match self.open.last_mut() {
            Some(open) if open.word.is_some() && open.field.is_none() => open.field = open.word.take(),
            _ => self.found.whole = false,
        }
    }

    fn open_bracket(&mut self, close: char, span: Range<usize>) {
        let Some(open) = self.open.last_mut() else { return };
        if open.item.is_some() {
            self.found.whole = false;
            self.end_item(None);
        }
        let name = self.open.last_mut().and_then(|open| open.word.take());
        let named = name.is_some() && close == ')';
        let start = name.map_or(span.start, |name| name.start);
        let base = self.note(start..span.end, false);
        self.open.push(Open::new(base, close, named));
    }

    fn close_bracket(&mut self, close: char, end: usize) {
        self.end_item(None);
        if self.open.len() < 2 || self.open.last().is_some_and(|open| open.close != close) {
            self.found.whole = false;
            if self.open.len() < 2 {
                return;
            }
        }
        self.open.pop();
        if let Some(open) = self.open.last_mut() {
            if let Some(place) = open.item.and_then(|at| self.found.places.get_mut(at)) {
                place.span.end = end;
            }
            self.path.truncate(open.base);
        }
    }

    /// Notes an item that begins here in the innermost bracket, and leaves its path in `self.path`.
    fn note(&mut self, span: Range<usize>, bare: bool) -> usize {
        let depth = self.open.len();
        let text = self.text;
        let Some(open) = self.open.last_mut() else { return 0 };
        self.path.truncate(open.base);
        if depth > DEEPEST {
            return self.path.len();
        }
        let name = open.field.clone().and_then(|field| text.get(field));
        if let Some(name) = name {
            if !self.path.is_empty() {
                self.path.push('.');
            }
            self.path.push_str(name.trim_start_matches("r#").trim_matches('"'));
        } else if !(open.named && open.index == 0) {
            self.path.push_str(&format!("[{}]", open.index));
        }
        let at = self.found.places.len();
        if !self.found.by_path.contains_key(&self.path) {
            self.found.by_path.insert(self.path.clone(), at);
        }
        self.found.places.push(Place {
            path: self.path.clone(),
            span,
            comma: None,
            listed: open.close == ']',
            bare,
        });
        open.item = Some(at);
        self.path.len()
    }

    fn end_item(&mut self, comma: Option<usize>) {
        if let Some(span) = self.open.last_mut().and_then(|open| open.word.take()) {
            self.note(span, true);
        }
        if let Some(open) = self.open.last_mut() {
            if let Some(place) = open.item.take().and_then(|at| self.found.places.get_mut(at)) {
                place.comma = comma;
            } else if open.field.is_some() || comma.is_some() {
                self.found.whole = false;
            }
            open.field = None;
            self.path.truncate(open.base);
        }
    }

    fn finish(mut self) -> Places {
        if self.open.len() != 1 {
            self.found.whole = false;
        }
        while self.open.len() > 1 {
            self.close_bracket('\0', self.text.len());
        }
        self.end_item(None);
        self.found
    }
}

#[cfg(test)]
mod tests;
