//! Small pieces that several screens draw with. Each writes only inside the area it is given, whatever its size.

pub mod bar;
pub mod chart;
pub mod field;
pub mod lines;
pub mod top_view;

pub use field::Field;
pub use lines::Lines;

use std::ops::Range;

use ratatui::buffer::Buffer;
use ratatui::layout::Rect;
use ratatui::style::Style;

use crate::report::words;
use crate::rubric::{Library, PartId, Station};
use crate::text;
use crate::tui::keys::Command;

/// A number of cells or rows from a length; what no terminal can show counts as the most it can.
#[must_use]
pub fn cells(n: usize) -> u16 {
    u16::try_from(n).unwrap_or(u16::MAX)
}

/// Writes a text at a place of an area, shortened to what fits there; returns the cells it took.
pub fn put(buf: &mut Buffer, area: Rect, dx: u16, dy: u16, words: &str, style: Style) -> u16 {
    let area = area.intersection(buf.area);
    if dx >= area.width || dy >= area.height {
        return 0;
    }
    let room = usize::from(area.width - dx);
    let shown = text::shorten(&text::clean(words), room);
    let (x, y) = (area.x + dx, area.y + dy);
    let (end, _) = buf.set_stringn(x, y, &shown, room, style);
    end.saturating_sub(x)
}

/// Writes a text so that it ends at the right edge of the area.
pub fn put_right(buf: &mut Buffer, area: Rect, dy: u16, words: &str, style: Style) {
    let wide = cells(text::width(&text::clean(words)));
    put(buf, area, area.width.saturating_sub(wide), dy, words, style);
}

/// Writes pieces one after another in a row; returns the cells they took.
pub fn row(buf: &mut Buffer, area: Rect, dx: u16, dy: u16, pieces: &[(&str, Style)]) -> u16 {
    let mut x = dx;
    for (words, style) in pieces {
        x = x.saturating_add(put(buf, area, x, dy, words, *style));
    }
    x.saturating_sub(dx)
}

/// Writes a text over as many rows as it needs and the area has; returns the rows it took.
pub fn para(buf: &mut Buffer, area: Rect, dy: u16, words: &str, style: Style) -> u16 {
    let lines = text::wrap(&text::clean(words), usize::from(area.width));
    for (n, line) in lines.iter().enumerate() {
        put(buf, area, 0, dy.saturating_add(cells(n)), line, style);
    }
    cells(lines.len())
}

/// The rows a text needs at a width.
#[must_use]
pub fn height(words: &str, width: u16) -> u16 {
    cells(text::wrap(&text::clean(words), usize::from(width)).len())
}

/// A part's name shortened in its component, so that where it sits is never cut while there is room for that.
#[must_use]
pub fn part_in(library: &Library, id: &PartId, room: u16) -> String {
    let room = usize::from(room);
    let whole = words::part(library, id);
    if text::width(&whole) <= room || *id == PartId::new(&id.component, Station::default()) {
        return text::shorten(&whole, room);
    }
    let place = format!(", {}", words::station(id));
    let component = whole.strip_suffix(&place).unwrap_or(&whole);
    let left = room.saturating_sub(text::width(&place));
    if left < 6 {
        return text::shorten(&whole, room);
    }
    format!("{}{place}", text::shorten(component, left))
}

/// Writes the first of some texts, the longest first, that leaves so many cells free at the left; nothing if none does.
pub fn put_right_of(buf: &mut Buffer, area: Rect, dy: u16, taken: u16, words: &[&str], style: Style) {
    let room = usize::from(area.width.saturating_sub(taken));
    if let Some(fits) = words.iter().find(|w| text::width(w) < room) {
        put_right(buf, area, dy, fits, style);
    }
}

/// Writes a text over at most so many rows; what does not fit is told by an ellipsis. Returns the rows it took.
pub fn para_in(buf: &mut Buffer, area: Rect, dy: u16, rows: u16, words: &str, style: Style) -> u16 {
    let lines = text::wrap(&text::clean(words), usize::from(area.width));
    let rows = usize::from(rows);
    for (n, line) in lines.iter().take(rows).enumerate() {
        let rest = lines.get(n..).filter(|_| n + 1 == rows).map(|rest| rest.join(" "));
        put(
            buf,
            area,
            0,
            dy.saturating_add(cells(n)),
            rest.as_ref().unwrap_or(line),
            style,
        );
    }
    cells(lines.len().min(rows))
}

/// A part and its check as the heading of a screen, with the longest of some remarks there is room for at the right. The part is
/// shortened rather than where it sits or its check, and a remark goes before either is.
pub fn part_heading(
    buf: &mut Buffer,
    area: Rect,
    dy: u16,
    (library, part, check): (&Library, &PartId, &str),
    rights: &[&str],
    theme: &crate::tui::theme::Theme,
) {
    // Where it sits must be read before anything is graded: a long check gives way to that.
    let width = usize::from(area.width);
    let least = (width * 3 / 5).min(24);
    let name = part_in(
        library,
        part,
        cells(width.saturating_sub(text::width(check) + 3).max(least)),
    );
    let taken = row(
        buf,
        area,
        0,
        dy,
        &[(&name, theme.title()), (" – ", theme.text()), (check, theme.title())],
    );
    put_right_of(buf, area, dy, taken, rights, theme.dim());
}

/// Lays a style over one row of an area.
pub fn tint(buf: &mut Buffer, area: Rect, dy: u16, style: Style) {
    let area = area.intersection(buf.area);
    if dy < area.height {
        buf.set_style(Rect::new(area.x, area.y + dy, area.width, 1), style);
    }
}

/// Whether an area has too few rows for a list and what is said below it: the list alone is shown then.
#[must_use]
pub fn is_low(area: Rect) -> bool {
    area.height < 14
}

/// A thin line across an area, with a heading in it if one is given.
pub fn rule(buf: &mut Buffer, area: Rect, dy: u16, heading: &str, line: Style, title: Style) {
    put(buf, area, 0, dy, &"─".repeat(usize::from(area.width)), line);
    if !heading.is_empty() {
        put(buf, area, 2, dy, &format!(" {heading} "), title);
    }
}

/// Empties a box in the middle of an area, draws its border and returns its inside.
pub fn panel(buf: &mut Buffer, area: Rect, width: u16, height: u16, heading: &str, line: Style, title: Style) -> Rect {
    let area = area.intersection(buf.area);
    let (width, height) = (width.min(area.width), height.min(area.height));
    let outer = Rect::new(
        area.x + (area.width - width) / 2,
        area.y + (area.height - height) / 2,
        width,
        height,
    );
    for y in outer.top()..outer.bottom() {
        for x in outer.left()..outer.right() {
            if let Some(cell) = buf.cell_mut((x, y)) {
                cell.reset();
            }
        }
    }
    if width < 4 || height < 3 {
        return outer;
    }
    let across = "─".repeat(usize::from(width - 2));
    put(buf, outer, 0, 0, &format!("╭{across}╮"), line);
    put(buf, outer, 0, height - 1, &format!("╰{across}╯"), line);
    for dy in 1..height - 1 {
        put(buf, outer, 0, dy, "│", line);
        put(buf, outer, width - 1, dy, "│", line);
    }
    let top = Rect::new(outer.x + 2, outer.y, width - 4, 1);
    if !heading.is_empty() {
        put(buf, top, 0, 0, &format!(" {heading} "), title);
    }
    Rect::new(outer.x + 2, outer.y + 1, width - 4, height - 2)
}

/// Which lines of a list to show so that the selected one is among them, kept near the middle.
#[must_use]
pub fn window(selected: usize, total: usize, rows: u16) -> Range<usize> {
    let rows = usize::from(rows);
    let start = selected.saturating_sub(rows / 2).min(total.saturating_sub(rows));
    start..(start + rows).min(total)
}

/// Where a long text begins to be shown after a command, in a terminal of so many rows: never beyond its end, so that the next
/// key up is seen to do something.
#[must_use]
pub fn scrolled(top: usize, command: Command, lines: usize, rows: u16) -> usize {
    // Title, foot and border take five rows, a notice one more.
    let shown = rows.saturating_sub(6).max(1);
    let page = isize::try_from(shown.saturating_sub(1).max(1)).unwrap_or(1);
    let deepest = lines.saturating_sub(usize::from(shown));
    step(top, command.by(page).unwrap_or(0), deepest + 1)
}

/// Moves a selection within a list of so many lines.
#[must_use]
pub fn step(selected: usize, by: isize, total: usize) -> usize {
    selected.saturating_add_signed(by).min(total.saturating_sub(1))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_selected_line_is_always_in_the_window() {
        for total in 0..30 {
            for rows in 0..12 {
                for selected in 0..total {
                    let shown = window(selected, total, rows);
                    assert!(rows == 0 || shown.contains(&selected));
                    assert!(shown.len() <= usize::from(rows) && shown.end <= total);
                }
            }
        }
    }

    #[test]
    fn nothing_is_written_outside_the_area() {
        let mut buf = Buffer::empty(Rect::new(0, 0, 10, 3));
        let area = Rect::new(2, 1, 5, 1);
        put(&mut buf, area, 0, 0, "上下上下上下", Style::new());
        put(&mut buf, area, 0, 4, "below", Style::new());
        put(&mut buf, Rect::new(8, 2, 50, 50), 0, 0, "a long text", Style::new());
        assert_eq!(buf.cell((7, 1)).map(|c| c.symbol()), Some(" "));
        assert_eq!(buf.cell((8, 2)).map(|c| c.symbol()), Some("a"));
    }
}
