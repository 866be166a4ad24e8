//! The frame of every HTML page: one file, no script, nothing from the network. Text of people and files is escaped where it
//! is set; none of it may go into the style.

use maud::{DOCTYPE, Markup, PreEscaped, html};

/// A whole page.
#[must_use]
pub fn page(title: &str, style: &str, body: &Markup) -> String {
    let page = html! {
        (DOCTYPE)
        html lang="en-GB" {
            head {
                meta charset="utf-8";
                meta name="viewport" content="width=device-width, initial-scale=1";
                title { (title) }
                style { (PreEscaped(style)) }
            }
            body { (body) }
        }
    };
    // Escaping keeps text from being taken for tags; this keeps it from turning or hiding what stands beside it.
    crate::text::clean_lines(&page.into_string()) + "\n"
}
