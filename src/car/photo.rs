//! Names of photos: the SHA-256 of the content in small hexadecimal digits, and `.jpg` or `.png`.

/// Whether a text is the name of a photo in a car's folder. Nothing else is ever joined to a path.
///
/// # Example
/// ```
/// use tinworm::car::photo::is_name;
/// assert!(is_name("ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad.jpg"));
/// assert!(!is_name("../profile.ron"));
/// ```
#[must_use]
pub fn is_name(text: &str) -> bool {
    let hash = text.strip_suffix(".jpg").or_else(|| text.strip_suffix(".png"));
    hash.is_some_and(|hash| hash.len() == 64 && hash.bytes().all(|b| matches!(b, b'0'..=b'9' | b'a'..=b'f')))
}

/// What is wrong with a name that is none.
#[must_use]
pub fn no_name(text: &str) -> String {
    let shown: String = crate::text::clean(text).chars().take(80).collect();
    format!("`{shown}` is no name of a photo: those are 64 digits of a content's hash and .jpg or .png")
}
