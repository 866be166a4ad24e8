//! A line chart on a grid of braille dots, two across and four down in each cell; or, in ASCII, of one sign a cell that
//! tells the kinds of line apart.

use ratatui::buffer::Buffer;
use ratatui::layout::Rect;
use ratatui::style::Style;

/// A chart being drawn: `x` and `y` from 0 to 1 cover the area, `y` upwards.
pub struct Chart<'a> {
    buf: &'a mut Buffer,
    area: Rect,
    dots: Vec<u8>,
    ascii: bool,
}

/// What a dot belongs to.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Line {
    Solid,
    Broken,
    Level,
    Upright,
}

impl Line {
    /// The sign for it where there is nothing but ASCII, and which wins where two meet.
    fn sign(self) -> (char, u8) {
        match self {
            Line::Solid => ('*', 3),
            Line::Broken => ('.', 2),
            Line::Level => ('-', 1),
            Line::Upright => ('|', 0),
        }
    }
}

/// The bit of each dot in a braille character, by column and row.
const BITS: [[u8; 4]; 2] = [[0x01, 0x02, 0x04, 0x40], [0x08, 0x10, 0x20, 0x80]];

impl<'a> Chart<'a> {
    /// An empty chart on an area.
    pub fn new(buf: &'a mut Buffer, area: Rect, ascii: bool) -> Chart<'a> {
        let area = area.intersection(buf.area);
        Chart {
            buf,
            area,
            dots: vec![0; usize::from(area.width) * usize::from(area.height)],
            ascii,
        }
    }

    /// Columns of dots.
    #[must_use]
    pub fn wide(&self) -> u16 {
        self.area.width.saturating_mul(2)
    }

    /// Rows of dots.
    #[must_use]
    pub fn high(&self) -> u16 {
        self.area.height.saturating_mul(4)
    }

    /// The dot column nearest to an `x`.
    #[must_use]
    pub fn column(&self, x: f64) -> Option<u16> {
        nearest(x, self.wide())
    }

    /// The dot row nearest to a `y`, from the top.
    #[must_use]
    pub fn line(&self, y: f64) -> Option<u16> {
        nearest(1.0 - y, self.high())
    }

    /// Sets one dot of a line of some kind.
    fn dot(&mut self, column: u16, line: u16, kind: Line, style: Style) {
        let (cx, cy) = (column / 2, line / 4);
        if cx >= self.area.width || cy >= self.area.height {
            return;
        }
        let at = usize::from(cy) * usize::from(self.area.width) + usize::from(cx);
        let bit = BITS
            .get(usize::from(column % 2))
            .and_then(|b| b.get(usize::from(line % 4)))
            .copied()
            .unwrap_or(0);
        let Some(dots) = self.dots.get_mut(at) else { return };
        if self.ascii {
            // The cell remembers which kind of line stands in it, one above its rank.
            let (sign, rank) = kind.sign();
            if *dots > rank {
                return;
            }
            *dots = rank + 1;
            if let Some(cell) = self.buf.cell_mut((self.area.x + cx, self.area.y + cy)) {
                cell.set_char(sign).set_style(style);
            }
            return;
        }
        *dots |= bit;
        let symbol = char::from_u32(0x2800 + u32::from(*dots)).unwrap_or(' ');
        if let Some(cell) = self.buf.cell_mut((self.area.x + cx, self.area.y + cy)) {
            cell.set_char(symbol);
            cell.set_style(style);
        }
    }

    /// A curve through points of rising `x`; between them it is straight. Every `every`th dot column is drawn.
    pub fn curve(&mut self, points: &[(f64, f64)], every: u16, style: Style) {
        let kind = if every <= 1 { Line::Solid } else { Line::Broken };
        for pair in points.windows(2) {
            let [(x0, y0), (x1, y1)] = pair else { continue };
            let (Some(from), Some(to)) = (self.column(*x0), self.column(*x1)) else {
                continue;
            };
            let mut last: Option<u16> = None;
            for column in from..=to {
                let part = if to == from {
                    1.0
                } else {
                    f64::from(column - from) / f64::from(to - from)
                };
                let Some(line) = self.line((y0 + (y1 - y0) * part).clamp(0.0, 1.0)) else {
                    continue;
                };
                if column % every.max(1) == 0 {
                    // Steep stretches are joined so that a solid curve has no holes.
                    let (a, b) = match last {
                        Some(l) if every <= 1 => (l.min(line), l.max(line)),
                        _ => (line, line),
                    };
                    for l in a..=b {
                        self.dot(column, l, kind, style);
                    }
                }
                last = Some(line);
            }
        }
    }

    /// A level line across the whole width, every third dot.
    pub fn level(&mut self, y: f64, style: Style) {
        if let Some(line) = self.line(y) {
            for column in (0..self.wide()).step_by(3) {
                self.dot(column, line, Line::Level, style);
            }
        }
    }

    /// An upright line over the whole height, every other dot.
    pub fn upright(&mut self, x: f64, style: Style) {
        if let Some(column) = self.column(x) {
            for line in (0..self.high()).step_by(2) {
                self.dot(column, line, Line::Upright, style);
            }
        }
    }

    /// Puts a character in the cell of a point, over the dots.
    pub fn mark(&mut self, x: f64, y: f64, symbol: &str, style: Style) {
        let (Some(column), Some(line)) = (self.column(x), self.line(y)) else {
            return;
        };
        if let Some(cell) = self.buf.cell_mut((self.area.x + column / 2, self.area.y + line / 4)) {
            cell.set_symbol(symbol);
            cell.set_style(style);
        }
    }
}

/// The whole number from 0 below `n` nearest to a share of it; `None` outside 0 to 1.
fn nearest(share: f64, n: u16) -> Option<u16> {
    if n == 0 || !(-1e-9..=1.0 + 1e-9).contains(&share) {
        return None;
    }
    let wanted = share.clamp(0.0, 1.0) * f64::from(n - 1);
    let (mut low, mut high) = (0, n - 1);
    // Bisection instead of a cast from float.
    while low < high {
        let middle = low + (high - low) / 2;
        if f64::from(middle) + 0.5 >= wanted {
            high = middle;
        } else {
            low = middle + 1;
        }
    }
    Some(low)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_rising_line_goes_from_corner_to_corner() {
        let mut buf = Buffer::empty(Rect::new(0, 0, 4, 2));
        let area = buf.area;
        Chart::new(&mut buf, area, false).curve(&[(0.0, 0.0), (1.0, 1.0)], 1, Style::new());
        assert_ne!(buf.cell((0, 1)).map(|c| c.symbol()), Some(" "));
        assert_ne!(buf.cell((3, 0)).map(|c| c.symbol()), Some(" "));
        assert_eq!(buf.cell((0, 0)).map(|c| c.symbol()), Some(" "));
    }

    #[test]
    fn in_ascii_each_kind_of_line_has_its_sign() {
        let mut buf = Buffer::empty(Rect::new(0, 0, 9, 3));
        let area = buf.area;
        let mut chart = Chart::new(&mut buf, area, true);
        chart.level(1.0, Style::new());
        chart.upright(0.5, Style::new());
        chart.curve(&[(0.0, 0.5), (1.0, 0.5)], 1, Style::new());
        chart.curve(&[(0.0, 0.0), (1.0, 0.0)], 2, Style::new());
        let lines: Vec<String> = (0..3)
            .map(|y| (0..9).filter_map(|x| buf.cell((x, y)).map(|c| c.symbol())).collect())
            .collect();
        assert_eq!(lines, ["-- -- -- ", "*********", "........."]);
    }

    #[test]
    fn points_outside_are_left_out_and_no_size_panics() {
        for (w, h) in [(0, 0), (1, 1), (3, 2)] {
            let mut buf = Buffer::empty(Rect::new(0, 0, w, h));
            let area = buf.area;
            let mut chart = Chart::new(&mut buf, area, w == 3);
            chart.curve(&[(-1.0, 0.0), (0.5, 2.0), (2.0, f64::NAN)], 1, Style::new());
            chart.mark(1.5, 0.5, "o", Style::new());
            chart.level(0.5, Style::new());
            chart.upright(0.5, Style::new());
        }
        assert_eq!(nearest(0.5, 3), Some(1));
        assert_eq!(nearest(1.0, 8), Some(7));
    }
}
