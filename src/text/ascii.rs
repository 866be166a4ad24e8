//! Text for terminals that have nothing but ASCII: drawing characters, signs and letters by their nearest plain ones.

use super::width;

/// A drawing character or sign of ours as one of ASCII that takes the same single cell.
#[must_use]
pub fn sign(c: char) -> Option<char> {
    Some(match c {
        '─' | '–' | '—' | '−' | '‐' | '‑' => '-',
        '│' => '|',
        '╭' | '╮' | '╰' | '╯' | '├' | '┤' | '┼' | '┬' | '┴' | '┌' | '┐' | '└' | '┘' => '+',
        '█' | '▉' | '▊' | '▋' | '▌' | '▐' | '▆' | '▇' => '#',
        '▍' | '▎' | '▏' => ':',
        '░' | '▒' | '▓' | '·' | '…' | '•' => '.',
        '▁' | '▂' | '▃' => '_',
        '▄' | '▅' | '▀' => '=',
        '›' | '→' | '»' => '>',
        '‹' | '←' | '«' => '<',
        '↑' => '^',
        '↓' => 'v',
        '×' => 'x',
        '²' => '2',
        '³' => '3',
        // Never a letter that reads as another digit: 90° must not become 90o.
        '°' => 'd',
        'µ' | 'μ' => 'u',
        '€' => 'E',
        '£' => 'L',
        '✓' => '*',
        '‘' | '’' | '‚' => '\'',
        '“' | '”' | '„' => '"',
        '\u{a0}' | '\u{202f}' | '\u{2009}' => ' ',
        '\u{2801}'..='\u{28ff}' => '*',
        '\u{2800}' => ' ',
        _ => return None,
    })
}

/// Latin letters with marks, without them; nothing for anything else.
#[must_use]
pub fn unmarked(c: char) -> &'static str {
    match c {
        'ä' | 'æ' => "ae",
        'ö' | 'œ' => "oe",
        'ü' => "ue",
        'ß' => "ss",
        'þ' => "th",
        'à' | 'á' | 'â' | 'ã' | 'å' | 'ā' | 'ă' | 'ą' => "a",
        'ç' | 'ć' | 'ĉ' | 'ċ' | 'č' => "c",
        'ď' | 'đ' | 'ð' => "d",
        'è' | 'é' | 'ê' | 'ë' | 'ē' | 'ĕ' | 'ė' | 'ę' | 'ě' => "e",
        'ĝ' | 'ğ' | 'ġ' | 'ģ' => "g",
        'ĥ' | 'ħ' => "h",
        'ì' | 'í' | 'î' | 'ï' | 'ĩ' | 'ī' | 'ĭ' | 'į' | 'ı' => "i",
        'ĵ' => "j",
        'ķ' => "k",
        'ĺ' | 'ļ' | 'ľ' | 'ł' => "l",
        'ñ' | 'ń' | 'ņ' | 'ň' => "n",
        'ò' | 'ó' | 'ô' | 'õ' | 'ø' | 'ō' | 'ŏ' | 'ő' => "o",
        'ŕ' | 'ŗ' | 'ř' => "r",
        'ś' | 'ŝ' | 'ş' | 'š' | 'ș' => "s",
        'ţ' | 'ť' | 'ŧ' | 'ț' => "t",
        'ù' | 'ú' | 'û' | 'ũ' | 'ū' | 'ŭ' | 'ů' | 'ű' | 'ų' => "u",
        'ŵ' => "w",
        'ý' | 'ÿ' | 'ŷ' => "y",
        'ź' | 'ż' | 'ž' => "z",
        _ => "",
    }
}

/// What stands in one cell, in ASCII: the sign, the letter without its marks, or `?`.
#[must_use]
pub fn of_cell(cluster: &str) -> char {
    let Some(first) = cluster.chars().next() else {
        return ' ';
    };
    if (' '..='~').contains(&first) {
        return first;
    }
    if let Some(plain) = sign(first) {
        return plain;
    }
    let small = first.to_lowercase().next().unwrap_or(first);
    match unmarked(small).chars().next() {
        Some(letter) if small == first => letter,
        Some(letter) => letter.to_ascii_uppercase(),
        None => '?',
    }
}

/// A text in ASCII that takes as many cells, but for degrees, which are spelt out. Line ends and the escape that begins
/// a style stay.
///
/// # Example
/// ```
/// assert_eq!(tinworm::text::ascii::line("Škoda – 60 N·m + 90°"), "Skoda - 60 N.m + 90 deg");
/// ```
#[must_use]
pub fn line(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    let mut buffer = [0; 4];
    for c in text.chars() {
        if c.is_ascii() {
            out.push(c);
        } else if c == '°' {
            out.push_str(" deg");
        } else {
            let cluster: &str = c.encode_utf8(&mut buffer);
            // A mark that joins the letter before it takes no cell; a wide letter takes two.
            let plain = of_cell(cluster);
            out.extend(std::iter::repeat_n(plain, width(cluster)));
        }
    }
    out
}

/// JSON in ASCII, saying the same: other characters as `\u` escapes.
#[must_use]
pub fn json(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    let mut units = [0; 2];
    for c in text.chars() {
        if c.is_ascii() && c != '\u{7f}' {
            out.push(c);
        } else {
            for unit in c.encode_utf16(&mut units) {
                out.push_str(&format!("\\u{unit:04x}"));
            }
        }
    }
    out
}

/// Whether the environment asks for nothing but ASCII: a locale of that kind named, or a terminal that has no more.
///
/// The first of `LC_ALL`, `LC_CTYPE` and `LANG` that says something counts (POSIX.1-2017, 8.2). Where none does, nothing
/// is known against other characters.
#[must_use]
pub fn asked_for(get: impl Fn(&str) -> Option<String>) -> bool {
    let locale = ["LC_ALL", "LC_CTYPE", "LANG"]
        .into_iter()
        .filter_map(&get)
        .find(|value| !value.is_empty());
    matches!(locale.as_deref(), Some("C" | "POSIX")) || get("TERM").as_deref() == Some("dumb")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_text_becomes_ascii_of_the_same_width() {
        for text in [
            "Größe ░█▏",
            "上下",
            "e\u{301}te\u{301}",
            "Жигули",
            "Ångström Œuvre",
            "␦",
            "⣿ ╭──╮",
        ] {
            let plain = line(text);
            assert!(plain.bytes().all(|b| (0x20..=0x7e).contains(&b)), "{plain}");
            assert_eq!(plain.len(), width(text), "{text} as {plain}");
        }
        assert_eq!(line("Größe"), "Grose");
        assert_eq!(line("上下 Ørsted"), "???? Orsted");
    }

    #[test]
    fn degrees_are_never_taken_for_a_nought() {
        assert_eq!(line("90°"), "90 deg");
        assert_ne!(of_cell("°"), 'o');
    }

    #[test]
    fn json_says_the_same() {
        let value = serde_json::json!({ "name": "Größe 上 🚗", "plain": "a\"b" });
        let plain = json(&value.to_string());
        assert!(plain.is_ascii());
        assert_eq!(serde_json::from_str::<serde_json::Value>(&plain).ok(), Some(value));
    }

    #[test]
    fn the_locale_that_counts_is_the_first_that_says_something() {
        let of = |set: &'static [(&'static str, &'static str)]| {
            asked_for(move |name| set.iter().find(|(n, _)| *n == name).map(|(_, v)| (*v).to_owned()))
        };
        assert!(of(&[("LANG", "C")]));
        assert!(of(&[("LC_ALL", "POSIX"), ("LANG", "en_GB.UTF-8")]));
        assert!(of(&[("LANG", "en_GB.UTF-8"), ("TERM", "dumb")]));
        assert!(!of(&[("LC_ALL", ""), ("LC_CTYPE", "C.UTF-8"), ("LANG", "C")]));
        assert!(!of(&[]));
    }
}
