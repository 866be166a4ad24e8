//! Cleaning, width and wrapping of text, and the wording of numbers and dates.
//!
//! Everything that people or files give us goes through [`clean`] before it reaches a terminal.

pub mod ascii;

use jiff::civil::Date;
use unicode_segmentation::UnicodeSegmentation;
use unicode_width::UnicodeWidthStr;

/// Whether a character may never be shown as it is: it drives a terminal, turns the direction of what stands beside it, breaks a
/// line, or is not seen at all and makes two texts look the same.
///
/// Control characters (C0, DEL, C1), the bidirectional controls of UAX #9, line and paragraph separators, letters and format
/// characters that leave no mark, the byte order mark, interlinear annotations and tags. Joiners and variation selectors stay:
/// scripts and emoji need them.
#[must_use]
pub fn is_hostile(c: char) -> bool {
    c.is_control()
        || matches!(c,
            '\u{ad}' | '\u{34f}' | '\u{61c}' | '\u{115f}' | '\u{1160}' | '\u{17b4}' | '\u{17b5}' | '\u{180e}'
            | '\u{200b}' | '\u{200e}' | '\u{200f}' | '\u{2028}'..='\u{202e}' | '\u{2060}'..='\u{206f}' | '\u{3164}'
            | '\u{feff}' | '\u{ffa0}' | '\u{fff0}'..='\u{fffb}' | '\u{1bca0}'..='\u{1bca3}' | '\u{1d173}'..='\u{1d17a}'
            | '\u{e0000}'..='\u{e00ff}' | '\u{e01f0}'..='\u{e0fff}')
}

/// A text of several lines with every line cleaned and the line ends kept, as the last gate before an output.
///
/// # Example
/// ```
/// assert_eq!(tinworm::text::clean_lines("a\u{9b}2J\nb\u{202e}"), "a␦2J\nb␦");
/// ```
#[must_use]
pub fn clean_lines(text: &str) -> String {
    text.chars()
        .map(|c| if c != '\n' && is_hostile(c) { '␦' } else { c })
        .collect()
}

/// Replaces what could drive a terminal: control characters and direction overrides become `␦`, tabs and line breaks become
/// spaces.
///
/// # Example
/// ```
/// assert_eq!(tinworm::text::clean("a\tb\u{1b}[31m"), "a b␦[31m");
/// ```
#[must_use]
pub fn clean(text: &str) -> String {
    text.chars()
        .map(|c| match c {
            '\t' | '\n' => ' ',
            c if is_hostile(c) => '␦',
            c => c,
        })
        .collect()
}

/// The number of terminal cells a text takes.
#[must_use]
pub fn width(text: &str) -> usize {
    UnicodeWidthStr::width(text)
}

/// Shortens a text to so many cells, ending in `…` when something was cut.
#[must_use]
pub fn shorten(text: &str, cells: usize) -> String {
    if width(text) <= cells {
        return text.to_owned();
    }
    let mut out = String::new();
    let mut used = 0;
    for cluster in text.graphemes(true) {
        let w = width(cluster);
        if used + w + 1 > cells {
            break;
        }
        out.push_str(cluster);
        used += w;
    }
    if cells > 0 {
        out.push('…');
    }
    out
}

/// Shortens or pads on the right to exactly so many cells.
#[must_use]
pub fn fit(text: &str, cells: usize) -> String {
    let mut out = shorten(text, cells);
    let missing = cells.saturating_sub(width(&out));
    out.extend(std::iter::repeat_n(' ', missing));
    out
}

/// Breaks a text into lines of at most so many cells, at spaces; a longer word stands on a line of its own and is cut there.
#[must_use]
pub fn wrap(text: &str, cells: usize) -> Vec<String> {
    let cells = cells.max(1);
    let mut lines = Vec::new();
    for paragraph in text.split('\n') {
        let mut line = String::new();
        for word in paragraph.split_whitespace() {
            let mut word = word.to_owned();
            while width(&word) > cells {
                if !line.is_empty() {
                    lines.push(std::mem::take(&mut line));
                }
                let mut head = String::new();
                for cluster in word.graphemes(true) {
                    if width(&head) + width(cluster) > cells {
                        break;
                    }
                    head.push_str(cluster);
                }
                if head.is_empty() {
                    head = word.graphemes(true).take(1).collect();
                }
                word = word.split_at(head.len()).1.to_owned();
                lines.push(head);
            }
            if !line.is_empty() && width(&line) + 1 + width(&word) > cells {
                lines.push(std::mem::take(&mut line));
            }
            if !line.is_empty() && !word.is_empty() {
                line.push(' ');
            }
            line.push_str(&word);
        }
        lines.push(line);
    }
    lines
}

/// A number with as many decimals as help: 3 significant figures below 100, none above.
#[must_use]
pub fn figure(value: f64) -> String {
    if !value.is_finite() {
        return "–".to_owned();
    }
    let size = value.abs();
    let text = if size >= 100.0 || size == 0.0 {
        format!("{value:.0}")
    } else if size >= 10.0 {
        format!("{value:.1}")
    } else {
        format!("{value:.2}")
    };
    if text.trim_start_matches('-').chars().all(|c| c == '0' || c == '.') && size > 0.0 {
        "<0.01".to_owned()
    } else {
        text
    }
}

/// A probability in per cent: `<1 %`, `12 %`, `>99 %`.
#[must_use]
pub fn percent(p: f64) -> String {
    let p = p * 100.0;
    if p > 0.0 && p < 1.0 {
        "<1 %".to_owned()
    } else if p > 99.0 && p < 100.0 {
        ">99 %".to_owned()
    } else {
        format!("{p:.0} %")
    }
}

/// Years in words a person plans by: `past it`, `3 weeks`, `5 months`, `2.5 years`, `over 60 years`.
#[must_use]
pub fn years(left: Option<f64>) -> String {
    match left {
        None => "over 60 years".to_owned(),
        Some(y) if y <= 0.0 => "past it".to_owned(),
        Some(y) if y < 2.0 / 12.0 => format!("{:.0} weeks", (y * 52.18).max(1.0)),
        Some(y) if y < 2.0 => format!("{:.0} months", y * 12.0),
        Some(y) if y < 10.0 => format!("{y:.1} years"),
        Some(y) => format!("{y:.0} years"),
    }
}

/// A date as the files write it: `2026-03-14`.
#[must_use]
pub fn day(date: Date) -> String {
    date.to_string()
}

/// A text by its words alone: small letters, no punctuation, single spaces.
#[must_use]
pub fn words_of(text: &str) -> String {
    text.to_lowercase()
        .split(|c: char| !c.is_alphanumeric())
        .filter(|word| !word.is_empty())
        .collect::<Vec<_>>()
        .join(" ")
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Every class of characters that may not be shown, by its first and last.
    const HOSTILE: [(&str, char, char); 28] = [
        ("C0 controls", '\0', '\u{1f}'),
        ("DEL and C1 controls", '\u{7f}', '\u{9f}'),
        ("soft hyphen", '\u{ad}', '\u{ad}'),
        ("combining grapheme joiner", '\u{34f}', '\u{34f}'),
        ("Arabic letter mark", '\u{61c}', '\u{61c}'),
        ("Hangul fillers", '\u{115f}', '\u{1160}'),
        ("Khmer vowels that are not written", '\u{17b4}', '\u{17b5}'),
        ("Mongolian vowel separator", '\u{180e}', '\u{180e}'),
        ("zero width space", '\u{200b}', '\u{200b}'),
        ("marks from left to right and back", '\u{200e}', '\u{200f}'),
        ("separators of lines and paragraphs", '\u{2028}', '\u{2029}'),
        ("direction: embedding and override", '\u{202a}', '\u{202e}'),
        ("word joiner", '\u{2060}', '\u{2060}'),
        ("operators of mathematics that are not seen", '\u{2061}', '\u{2064}'),
        ("not assigned, not seen", '\u{2065}', '\u{2065}'),
        ("direction: isolates", '\u{2066}', '\u{2069}'),
        ("format characters given up long ago", '\u{206a}', '\u{206f}'),
        ("Hangul filler", '\u{3164}', '\u{3164}'),
        ("byte order mark", '\u{feff}', '\u{feff}'),
        ("Hangul filler of half width", '\u{ffa0}', '\u{ffa0}'),
        ("not assigned, not seen", '\u{fff0}', '\u{fff8}'),
        ("interlinear annotation", '\u{fff9}', '\u{fffb}'),
        ("format characters of shorthand", '\u{1bca0}', '\u{1bca3}'),
        ("format characters of music", '\u{1d173}', '\u{1d17a}'),
        ("language tag", '\u{e0000}', '\u{e0001}'),
        ("tags", '\u{e0002}', '\u{e007f}'),
        ("not assigned, not seen", '\u{e0080}', '\u{e00ff}'),
        ("not assigned, not seen", '\u{e01f0}', '\u{e0fff}'),
    ];

    #[test]
    fn every_class_of_hostile_characters_is_replaced_and_nothing_else() {
        let class = |c: char| HOSTILE.iter().find(|(_, first, last)| (*first..=*last).contains(&c));
        for c in '\0'..=char::MAX {
            assert_eq!(is_hostile(c), class(c).is_some(), "{:?}: {:?}", c, class(c));
            let shown = clean(&format!("a{c}b"));
            match (c, class(c)) {
                ('\t' | '\n', _) => assert_eq!(shown, "a b"),
                (_, Some((name, ..))) => assert_eq!(shown, "a␦b", "{name}"),
                (_, None) => assert_eq!(shown, format!("a{c}b")),
            }
        }
        // What scripts and emoji are joined and chosen by.
        for needed in [
            "\u{200c}",
            "\u{200d}",
            "\u{fe0f}",
            "\u{301}",
            "\u{180b}",
            "\u{e0100}",
            "🧑‍🔧",
            "物語",
        ] {
            assert_eq!(clean(needed), needed);
        }
    }

    #[test]
    fn wrapping_keeps_every_word_and_never_exceeds_the_width() {
        let text = "Jack under the arm near the joint, lever the wheel 上下 with a bar_that_is_longer_than_the_line";
        for cells in 1..40 {
            let lines = wrap(text, cells);
            assert!(lines.iter().all(|l| width(l) <= cells.max(2)), "{cells}: {lines:?}");
            let joined: String = lines.concat().split_whitespace().collect();
            let plain: String = text.split_whitespace().collect();
            assert_eq!(joined.replace(' ', ""), plain.replace(' ', ""));
        }
    }

    #[test]
    fn fitting_gives_exactly_the_width() {
        for text in ["", "abc", "上下上下", "e\u{301}e\u{301}e\u{301}e\u{301}"] {
            for cells in 0..9 {
                assert_eq!(width(&fit(text, cells)), cells, "{text} in {cells}");
            }
        }
    }

    #[test]
    fn words_for_numbers() {
        assert_eq!(figure(0.001), "<0.01");
        assert_eq!(figure(1234.5), "1234");
        assert_eq!(percent(0.004), "<1 %");
        assert_eq!(years(Some(0.05)), "3 weeks");
        assert_eq!(years(None), "over 60 years");
    }
}
