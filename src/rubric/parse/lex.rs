//! The words, texts and signs of a RON text with the bytes they take; blanks and comments are passed over.

use std::ops::Range;

/// One piece of a RON text.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Token {
    /// A name, `true`, a number, or a character in quotes.
    Word,
    /// A text in quotes, plain or raw.
    Text,
    /// `:`
    Colon,
    /// `,`
    Comma,
    /// An opening bracket, with the sign that will close it.
    Open(char),
    /// A closing bracket.
    Close(char),
    /// A sign that has no place in RON, or a text or comment that never ends.
    Other,
}

/// Walks over a text; see the module.
pub struct Lexer<'a> {
    text: &'a str,
    at: usize,
}

impl<'a> Lexer<'a> {
    /// Starts at the beginning of a text.
    #[must_use]
    pub fn new(text: &'a str) -> Lexer<'a> {
        Lexer { text, at: 0 }
    }

    fn rest(&self) -> &'a str {
        self.text.get(self.at..).unwrap_or("")
    }

    /// Goes past blanks and comments; false when a comment never ends.
    fn pass_blanks(&mut self) -> bool {
        loop {
            let rest = self.rest();
            let trimmed = rest.trim_start();
            self.at += rest.len() - trimmed.len();
            if trimmed.starts_with("//") {
                self.at += trimmed.find('\n').unwrap_or(trimmed.len());
            } else if trimmed.starts_with("/*") {
                match block_comment(trimmed) {
                    Some(length) => self.at += length,
                    None => {
                        self.at = self.text.len();
                        return false;
                    }
                }
            } else if trimmed.starts_with("#!") {
                self.at += attribute(trimmed);
            } else {
                return true;
            }
        }
    }
}

impl Iterator for Lexer<'_> {
    type Item = (Token, Range<usize>);

    fn next(&mut self) -> Option<Self::Item> {
        let from = self.at;
        if !self.pass_blanks() {
            return Some((Token::Other, from..self.at));
        }
        let rest = self.rest();
        let first = rest.chars().next()?;
        let (token, length) = match first {
            ':' => (Token::Colon, 1),
            ',' => (Token::Comma, 1),
            '(' => (Token::Open(')'), 1),
            '[' => (Token::Open(']'), 1),
            '{' => (Token::Open('}'), 1),
            ')' | ']' | '}' => (Token::Close(first), 1),
            '\'' => character(rest),
            _ => match text(rest).or_else(|| word(rest)) {
                Some(found) => found,
                None => (Token::Other, first.len_utf8()),
            },
        };
        let start = self.at;
        self.at = (start + length).min(self.text.len());
        Some((token, start..self.at))
    }
}

/// The length of a comment that may hold comments.
fn block_comment(text: &str) -> Option<usize> {
    let bytes = text.as_bytes();
    let mut depth = 0usize;
    let mut at = 0;
    while at < bytes.len() {
        match bytes.get(at..at + 2) {
            Some(b"/*") => {
                depth += 1;
                at += 2;
            }
            Some(b"*/") => {
                depth -= 1;
                at += 2;
                if depth == 0 {
                    return Some(at);
                }
            }
            _ => at += 1,
        }
    }
    None
}

/// The length of `#![…]`, texts inside it passed over.
fn attribute(rest: &str) -> usize {
    let mut at = 2;
    while let Some(c) = rest.get(at..).and_then(|r| r.chars().next()) {
        match c {
            '"' => at += rest.get(at..).and_then(text).map_or(1, |(_, length)| length),
            ']' => return at + 1,
            c => at += c.len_utf8(),
        }
    }
    rest.len()
}

/// A text in quotes: `"…"`, `r"…"`, `r#"…"#`, and the same with `b` before.
fn text(rest: &str) -> Option<(Token, usize)> {
    let body = rest.strip_prefix('b').unwrap_or(rest);
    let before = rest.len() - body.len();
    if let Some(raw) = body.strip_prefix('r') {
        let hashes = raw.len() - raw.trim_start_matches('#').len();
        let content = raw.trim_start_matches('#').strip_prefix('"')?;
        let end = format!("\"{}", "#".repeat(hashes));
        let start = before + 1 + hashes + 1;
        return Some(match content.find(&end) {
            Some(at) => (Token::Text, start + at + end.len()),
            None => (Token::Other, rest.len()),
        });
    }
    let content = body.strip_prefix('"')?;
    let mut escaped = false;
    for (at, c) in content.char_indices() {
        match c {
            _ if escaped => escaped = false,
            '\\' => escaped = true,
            '"' => return Some((Token::Text, before + 1 + at + 1)),
            _ => {}
        }
    }
    Some((Token::Other, rest.len()))
}

/// A character in quotes; a quote that closes nothing stands alone.
fn character(rest: &str) -> (Token, usize) {
    let mut signs = rest.char_indices().skip(1);
    let closing = match signs.next() {
        Some((_, '\\')) => {
            signs.next();
            signs.take(12).find(|(_, c)| *c == '\'')
        }
        Some(_) => signs.next().filter(|(_, c)| *c == '\''),
        None => None,
    };
    closing.map_or((Token::Other, 1), |(at, _)| (Token::Word, at + 1))
}

/// A name or a number.
fn word(rest: &str) -> Option<(Token, usize)> {
    let length = rest
        .find(|c: char| !(c.is_alphanumeric() || matches!(c, '_' | '+' | '-' | '.' | '#')))
        .unwrap_or(rest.len());
    (length > 0).then_some((Token::Word, length))
}
