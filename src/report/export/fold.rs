//! Lines of a calendar file: escaping and folding after RFC 5545, sections 3.1 and 3.3.11.

/// The longest line in octets, its end not counted.
const LONGEST: usize = 75;

/// A text as the value of a property.
pub(super) fn escaped(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for c in text.chars() {
        match c {
            '\\' | ';' | ',' => {
                out.push('\\');
                out.push(c);
            }
            '\n' => out.push_str("\\n"),
            c if crate::text::is_hostile(c) => out.push(' '),
            c => out.push(c),
        }
    }
    out
}

/// A content line with its end, folded so that no letter is cut.
pub(super) fn folded(line: &str) -> String {
    let mut out = String::with_capacity(line.len() + line.len() / LONGEST * 3 + 2);
    let mut used = 0;
    for c in line.chars() {
        if used + c.len_utf8() > LONGEST {
            out.push_str("\r\n ");
            used = 1;
        }
        out.push(c);
        used += c.len_utf8();
    }
    out.push_str("\r\n");
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn folding_keeps_to_75_octets_and_can_be_undone() {
        for text in [
            "short",
            &"ü€上𝄞".repeat(60),
            &"x".repeat(75),
            &"x".repeat(76),
            &"y".repeat(151),
        ] {
            let set = folded(text);
            assert!(set.ends_with("\r\n"));
            assert!(set.split("\r\n").all(|line| line.len() <= 75), "{set}");
            assert_eq!(set.replace("\r\n ", "").trim_end_matches("\r\n"), text);
        }
        assert_eq!(folded(&"x".repeat(75)).matches("\r\n").count(), 1);
    }

    #[test]
    fn what_divides_values_is_escaped() {
        assert_eq!(escaped("a,b;c\\d\ne\u{7}f:g"), "a\\,b\\;c\\\\d\\ne f:g");
    }
}
