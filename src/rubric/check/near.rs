//! The known word nearest to a mistyped one.

/// The known word that takes the fewest keystrokes to reach, if it is near enough to be meant.
///
/// Near enough is one change for every three letters, and at least one.
///
/// # Example
/// ```
/// use tinworm::rubric::check::nearest;
/// assert_eq!(nearest("whel-off", ["wheel-off", "front-raised"]), Some("wheel-off"));
/// assert_eq!(nearest("subframe", ["wheel-off", "front-raised"]), None);
/// ```
pub fn nearest<'a>(word: &str, known: impl IntoIterator<Item = &'a str>) -> Option<&'a str> {
    let word: Vec<char> = word.to_lowercase().chars().take(80).collect();
    let allowed = (word.len() / 3).max(1);
    known
        .into_iter()
        .map(|candidate| {
            let letters: Vec<char> = candidate.to_lowercase().chars().take(80).collect();
            (changes(&word, &letters), candidate)
        })
        .filter(|(changes, _)| *changes <= allowed)
        .min()
        .map(|(_, candidate)| candidate)
}

/// Insertions, deletions, replacements and swaps of neighbours that lead from one word to the other
/// (optimal string alignment).
fn changes(from: &[char], to: &[char]) -> usize {
    let mut before: Vec<usize> = Vec::new();
    let mut above: Vec<usize> = (0..=to.len()).collect();
    for (i, a) in from.iter().enumerate() {
        let mut row = vec![i + 1];
        for (j, b) in to.iter().enumerate() {
            let get = |row: &[usize], at: usize| row.get(at).copied().unwrap_or(usize::MAX / 2);
            let mut best = (get(&above, j) + usize::from(a != b))
                .min(get(&above, j + 1) + 1)
                .min(get(&row, j) + 1);
            let swapped = i > 0 && j > 0 && from.get(i - 1) == Some(b) && to.get(j - 1) == Some(a);
            if swapped {
                best = best.min(get(&before, j - 1) + 1);
            }
            row.push(best);
        }
        before = std::mem::replace(&mut above, row);
    }
    above.last().copied().unwrap_or(from.len())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn changes_are_counted_as_a_typist_would() {
        let count = |a: &str, b: &str| changes(&a.chars().collect::<Vec<_>>(), &b.chars().collect::<Vec<_>>());
        assert_eq!(count("kitten", "sitting"), 3);
        assert_eq!(count("boot", "boto"), 1);
        assert_eq!(count("", "abc"), 3);
        assert_eq!(count("abc", ""), 3);
        assert_eq!(count("play", "play"), 0);
    }
}
