//! Texts that say the same, and what a check's name tells about the way its reading goes.

pub use crate::text::words_of;

/// Whether a measured quantity grows with wear (`true`) or shrinks (`false`), when its name leaves no doubt.
pub fn grows_by_name(name: &str) -> Option<bool> {
    const GROWING: [&str; 6] = ["play", "run out", "runout", "movement", "slack", "variation"];
    const SHRINKING: [&str; 3] = ["thickness", "tread", "remaining"];
    let words = format!(" {} ", words_of(name));
    let has = |list: &[&str]| list.iter().any(|word| words.contains(&format!(" {word} ")));
    // `Thickness lost` and `tread wear` grow although a thickness shrinks: such names are left alone.
    let turned = has(&["loss", "lost", "wear", "worn", "difference", "uneven"]);
    match (has(&GROWING), has(&SHRINKING)) {
        (true, false) if !turned => Some(true),
        (false, true) if !turned => Some(false),
        _ => None,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn case_and_punctuation_do_not_make_a_difference() {
        assert_eq!(words_of("Boot split;  dry."), words_of("boot split, DRY"));
        assert_ne!(words_of("play 1 mm"), words_of("play 2 mm"));
    }

    #[test]
    fn names_tell_the_way_only_when_they_leave_no_doubt() {
        assert_eq!(grows_by_name("Pad thickness"), Some(false));
        assert_eq!(grows_by_name("Tread depth"), Some(false));
        assert_eq!(grows_by_name("Disc run-out"), Some(true));
        assert_eq!(grows_by_name("Play"), Some(true));
        for doubtful in [
            "Thickness variation",
            "Pit depth",
            "Display",
            "Thickness lost",
            "Left pad",
        ] {
            assert_eq!(grows_by_name(doubtful), None, "{doubtful}");
        }
    }
}
