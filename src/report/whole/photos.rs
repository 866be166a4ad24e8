//! The photos of what was seen, each inside the page as a small copy.

use std::collections::BTreeMap;

use super::model::{Block, Photo, Report, Section};
use crate::report::{Subject, words};
use crate::text;

/// Small copies by the names of the photos, or why there is none.
pub type Pictures = BTreeMap<String, Result<Picture, String>>;

/// A small copy of a photo, as JPEG.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Picture {
    /// Its bytes.
    pub jpeg: Vec<u8>,
    /// Points across.
    pub width: u32,
    /// Points down.
    pub height: u32,
}

/// Puts a section of photos after the history, the newest survey first; none where there are no photos.
pub fn add(report: &mut Report, subject: &Subject, pictures: &Pictures) {
    let Subject { car, library, .. } = subject;
    let mut section = Section::new("photos", "Photos");
    for survey in car.surveys.iter().rev() {
        let mut shown = Vec::new();
        for look in &survey.looks {
            let seen = words::seen(&look.seen, library.check(&look.part.component, &look.check));
            let of = text::clean(&format!(
                "{}, {}, {}: {seen}",
                words::part(library, &look.part),
                words::small(&words::check(library, &look.part.component, &look.check)),
                survey.date,
            ));
            for (n, name) in look.photos.iter().enumerate() {
                let title = if look.photos.len() > 1 {
                    format!("{of} (photo {} of {})", n + 1, look.photos.len())
                } else {
                    of.clone()
                };
                match pictures.get(name) {
                    Some(Ok(picture)) => shown.push(Block::Photo(Photo {
                        title,
                        note: text::clean(&look.note),
                        picture: picture.clone(),
                    })),
                    Some(Err(why)) => shown.push(Block::Paragraph(format!(
                        "{title}. It cannot be shown: {}",
                        text::clean(why)
                    ))),
                    None => {}
                }
            }
        }
        if !shown.is_empty() {
            section.head(format!("Survey of {}", survey.date));
            section.blocks.extend(shown);
        }
    }
    if section.blocks.is_empty() {
        return;
    }
    let after_history = report.sections.iter().position(|s| s.id == "history");
    let at = after_history.map_or(report.sections.len(), |n| n + 1);
    report.sections.insert(at, section);
}
