//! The car from above, and how a number is written in a drawing.

use maud::html;

use super::model::Drawing;
use crate::report::page::page_colours;
use crate::report::{Subject, words};
use crate::rubric::{Axle, Side};
use crate::units::Grade;

/// A length in a drawing: one decimal tells more than a printer shows.
pub(super) fn at(value: f64) -> String {
    let text = format!("{value:.1}");
    text.strip_suffix(".0").map(str::to_owned).unwrap_or(text)
}

/// The zones in reading order, and where each stands: from the left, from the top, across, down.
const ZONES: [(Option<Axle>, Option<Side>, [f64; 4]); 9] = [
    (Some(Axle::Front), Some(Side::Left), [10.0, 30.0, 80.0, 96.0]),
    (Some(Axle::Front), None, [96.0, 22.0, 108.0, 104.0]),
    (Some(Axle::Front), Some(Side::Right), [210.0, 30.0, 80.0, 96.0]),
    (None, Some(Side::Left), [26.0, 134.0, 64.0, 112.0]),
    (None, None, [96.0, 134.0, 108.0, 112.0]),
    (None, Some(Side::Right), [210.0, 134.0, 64.0, 112.0]),
    (Some(Axle::Rear), Some(Side::Left), [10.0, 254.0, 80.0, 96.0]),
    (Some(Axle::Rear), None, [96.0, 254.0, 108.0, 104.0]),
    (Some(Axle::Rear), Some(Side::Right), [210.0, 254.0, 80.0, 96.0]),
];

fn zone_name(axle: Option<Axle>, side: Option<Side>) -> String {
    match (axle, side) {
        (None, None) => "middle and whole car".to_owned(),
        (axle, side) => {
            let words: Vec<&str> = axle.map(Axle::word).into_iter().chain(side.map(Side::word)).collect();
            words.join(" ")
        }
    }
}

/// The car from above, front upwards, with the worst grade seen in each zone.
pub(super) fn plan_view(subject: &Subject) -> Drawing {
    let Subject {
        library, assessment, ..
    } = subject;
    let mut lines = Vec::new();
    let mut zones: Vec<([f64; 4], Option<Grade>, String, String)> = Vec::new();
    for (axle, side, place) in ZONES {
        let here: Vec<_> = assessment
            .parts
            .iter()
            .filter(|p| p.id.station.axle == axle && p.id.station.side == side)
            .collect();
        let worst = here.iter().filter_map(|p| p.worst.as_ref()).map(|w| w.grade).max();
        let unseen = here.iter().filter(|p| !p.seen).count();
        let name = zone_name(axle, side);
        let mut says = match worst {
            Some(grade) => {
                let named: Vec<String> = here
                    .iter()
                    .filter(|p| p.worst.as_ref().is_some_and(|w| w.grade == grade))
                    .map(|p| words::small(&words::part(library, &p.id)))
                    .collect();
                let shown = named.iter().take(3).cloned().collect::<Vec<_>>().join("; ");
                let more = match named.len().saturating_sub(3) {
                    0 => String::new(),
                    more => format!("; and {more} more"),
                };
                format!("worst grade {grade} ({shown}{more})")
            }
            None if here.is_empty() => "no parts of its own".to_owned(),
            None => "nothing seen".to_owned(),
        };
        if unseen > 0 && worst.is_some() {
            says.push_str(&format!(", {} not seen", words::count(unseen, "part")));
        }
        let below = if unseen > 0 {
            format!("{unseen} of {} unseen", here.len())
        } else {
            words::count(here.len(), "part")
        };
        lines.push(format!("{}: {says}", words::large(&name)));
        zones.push((place, worst, name, below));
    }
    let shapes = html! {
        path d="M 90 20 Q 90 6 150 6 Q 210 6 210 20 L 214 360 Q 214 372 150 372 Q 86 372 86 360 Z" fill="none" stroke="#000" stroke-width="1.5" {}
        @for (place, worst, name, below) in &zones { (zone(*place, *worst, name, below)) }
    };
    Drawing {
        title: "The car from above with the worst grade of each zone".to_owned(),
        description: format!("Front at the top. {}.", lines.join(". ")),
        lines,
        size: (300.0, 380.0),
        shapes: shapes.into_string(),
    }
}

fn zone([x, y, across, down]: [f64; 4], worst: Option<Grade>, name: &str, below: &str) -> maud::Markup {
    let (fill, fore) = worst.map_or_else(|| ("#ffffff".to_owned(), "#000000"), page_colours);
    let dashes = if worst.is_some() { "none" } else { "4 3" };
    let middle = at(x + across / 2.0);
    html! {
        rect x=(at(x)) y=(at(y)) width=(at(across)) height=(at(down)) rx="8" fill=(fill) stroke="#000" stroke-dasharray=(dashes) {}
        text x=(middle) y=(at(y + 16.0)) text-anchor="middle" font-size="9" fill=(fore) { (name) }
        text x=(middle) y=(at(y + down / 2.0 + 14.0)) text-anchor="middle" font-size="32" font-weight="bold" fill=(fore) {
            @match worst { Some(grade) => (grade), None => "–" }
        }
        text x=(middle) y=(at(y + down - 8.0)) text-anchor="middle" font-size="9" fill=(fore) { (below) }
    }
}
