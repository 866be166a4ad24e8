//! The car from above, front upwards, with the worst grade seen in each zone.

use ratatui::buffer::Buffer;
use ratatui::layout::Rect;

use super::put;
use crate::rubric::{Axle, Side, Station};
use crate::tui::theme::Theme;
use crate::units::Grade;

/// A zone of the car: axle or middle, side or centre.
pub type Zone = (Option<Axle>, Option<Side>);

/// The zone of a station.
#[must_use]
pub fn zone(station: &Station) -> Zone {
    (station.axle, station.side)
}

/// What one zone shows.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct InZone {
    /// The worst grade seen there.
    pub worst: Option<Grade>,
    /// Whether anything there has not been seen.
    pub unseen: bool,
}

/// Cells the drawing takes, across and down.
pub const SIZE: (u16, u16) = (29, 9);

const BODY: [&str; 9] = [
    "      ╭─────────────╮      ",
    "   ╭──┤    front    ├──╮   ",
    "   │  │             │  │   ",
    "   ╰──┤             ├──╯   ",
    "      │             │      ",
    "   ╭──┤             ├──╮   ",
    "   │  │             │  │   ",
    "   ╰──┤    rear     ├──╯   ",
    "      ╰─────────────╯      ",
];

/// Draws the car; `of` says what each zone shows, `chosen` is marked with pointed brackets.
pub fn draw(buf: &mut Buffer, area: Rect, theme: &Theme, of: impl Fn(Zone) -> InZone, chosen: Option<Zone>) {
    for (dy, line) in (0..).zip(BODY) {
        put(buf, area, 1, dy, line, theme.rule());
    }
    let places: [(Zone, u16, u16); 9] = [
        ((Some(Axle::Front), Some(Side::Left)), 4, 2),
        ((Some(Axle::Front), None), 13, 2),
        ((Some(Axle::Front), Some(Side::Right)), 22, 2),
        ((None, Some(Side::Left)), 8, 4),
        ((None, None), 13, 4),
        ((None, Some(Side::Right)), 18, 4),
        ((Some(Axle::Rear), Some(Side::Left)), 4, 6),
        ((Some(Axle::Rear), None), 13, 6),
        ((Some(Axle::Rear), Some(Side::Right)), 22, 6),
    ];
    for (zone, x, y) in places {
        let shown = of(zone);
        let wheel = zone.0.is_some() && zone.1.is_some();
        match shown.worst {
            Some(grade) => {
                put(buf, area, x, y, &format!(" {grade} "), theme.grade(grade));
            }
            None if shown.unseen => {
                put(buf, area, x, y, " ? ", theme.dim());
            }
            None if wheel => {
                put(buf, area, x, y, " · ", theme.dim());
            }
            None => {}
        }
        if chosen == Some(zone) {
            put(buf, area, x.saturating_sub(1), y, "›", theme.accent());
            put(buf, area, x + 3, y, "‹", theme.accent());
        }
    }
}
