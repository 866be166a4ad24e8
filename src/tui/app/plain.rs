//! A finished drawing in ASCII alone.

use ratatui::buffer::Buffer;
use ratatui::layout::Rect;

use crate::text::{self, ascii};

/// Replaces whatever is not ASCII, cell by cell. A wide letter becomes two question marks, so that nothing moves.
pub fn only_ascii(area: Rect, buf: &mut Buffer) {
    for y in area.top()..area.bottom() {
        spell_degrees(area, y, buf);
        let mut behind = 0;
        for x in area.left()..area.right() {
            let Some(cell) = buf.cell_mut((x, y)) else { continue };
            if behind > 0 {
                behind -= 1;
                cell.set_char('?');
                continue;
            }
            let plain = ascii::of_cell(cell.symbol());
            if plain == '?' {
                behind = text::width(cell.symbol()).saturating_sub(1);
            }
            cell.set_char(plain);
        }
    }
}

/// Spells `90°` as `90 deg` where blanks behind it leave the room; elsewhere it becomes `90d`.
fn spell_degrees(area: Rect, y: u16, buf: &mut Buffer) {
    const BEHIND: [char; 3] = ['d', 'e', 'g'];
    // Three cells are taken, one stays blank.
    const BLANKS: u16 = 4;
    let mut x = area.left();
    while x < area.right() {
        let here = x;
        x += 1;
        if symbol(buf, here, y) != "°" {
            continue;
        }
        let blank_from = |at: u16| (at..at + BLANKS).all(|at| at < area.right() && symbol(buf, at, y) == " ");
        let Some(end) = (x..area.right().saturating_sub(BLANKS)).find(|at| blank_from(*at)) else {
            continue;
        };
        for at in (x..end).rev() {
            let Some(moved) = buf.cell((at, y)).cloned() else {
                continue;
            };
            if let Some(cell) = buf.cell_mut((at + 3, y)) {
                *cell = moved;
            }
        }
        let style = buf.cell((here, y)).map(|cell| cell.style()).unwrap_or_default();
        for (cell, c) in (here..).zip([' '].into_iter().chain(BEHIND)) {
            if let Some(cell) = buf.cell_mut((cell, y)) {
                cell.set_char(c).set_style(style);
            }
        }
        x += 3;
    }
}

fn symbol(buf: &Buffer, x: u16, y: u16) -> &str {
    buf.cell((x, y)).map_or("", |cell| cell.symbol())
}

#[cfg(test)]
mod tests {
    use super::*;
    use ratatui::style::Style;

    fn drawn(words: &str, wide: u16) -> String {
        let mut buf = Buffer::empty(Rect::new(0, 0, wide, 1));
        buf.set_string(0, 0, words, Style::new());
        let area = buf.area;
        only_ascii(area, &mut buf);
        buf.content().iter().map(|cell| cell.symbol()).collect()
    }

    #[test]
    fn degrees_are_spelt_where_there_is_room() {
        assert_eq!(drawn("60 + 90° once", 20), "60 + 90 deg once    ");
        assert_eq!(drawn("90° + 45°", 20), "90 deg + 45 deg     ");
        assert_eq!(drawn("90°│", 4), "90d|");
    }

    #[test]
    fn wide_letters_keep_their_room() {
        assert_eq!(drawn("上e\u{301}│", 5), "??e| ");
    }
}
