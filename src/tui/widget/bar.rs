//! Horizontal bars in eighths of a cell, and a row of small columns.

use ratatui::buffer::Buffer;
use ratatui::layout::Rect;
use ratatui::style::Style;

use super::put;

const EIGHTHS: [&str; 8] = ["", "▏", "▎", "▍", "▌", "▋", "▊", "▉"];
const COLUMNS: [&str; 9] = [" ", "▁", "▂", "▃", "▄", "▅", "▆", "▇", "█"];

/// A share from 0 to 1 as whole steps of `steps`; anything above zero shows at least one.
fn steps_of(share: f64, steps: usize) -> usize {
    if !share.is_finite() || share <= 0.0 {
        return 0;
    }
    let share = share.min(1.0);
    // Counting up keeps clear of float casts; `steps` is at most a few thousand.
    (1..=steps)
        .take_while(|n| share * to_f64(steps) + 1e-9 >= to_f64(*n))
        .count()
        .max(1)
}

fn to_f64(n: usize) -> f64 {
    u32::try_from(n).map_or(f64::MAX, f64::from)
}

/// A bar of a share of `width` cells, as text.
#[must_use]
pub fn text(share: f64, width: u16) -> String {
    let eighths = steps_of(share, usize::from(width) * 8);
    let mut out = "█".repeat(eighths / 8);
    out.push_str(EIGHTHS.get(eighths % 8).copied().unwrap_or(""));
    out
}

/// Draws a bar whose last stretch, `unknown` of the whole share, is drawn apart with `░`.
#[allow(clippy::too_many_arguments)]
pub fn draw(
    buf: &mut Buffer,
    area: Rect,
    dx: u16,
    dy: u16,
    width: u16,
    share: f64,
    unknown: f64,
    styles: (Style, Style),
) {
    let known = (share - unknown).max(0.0);
    let solid = text(known, width);
    let taken = put(buf, area, dx, dy, &solid, styles.0);
    if unknown > 0.0 && share > 0.0 {
        let all = steps_of(share, usize::from(width));
        let rest = all.saturating_sub(usize::from(taken));
        put(buf, area, dx.saturating_add(taken), dy, &"░".repeat(rest), styles.1);
    }
}

/// Values as a row of small columns, the largest filling its cell.
#[must_use]
pub fn columns(values: &[f64]) -> String {
    let most = values.iter().copied().fold(0.0, f64::max);
    values
        .iter()
        .map(|v| {
            let n = if most > 0.0 { steps_of(v / most, 8) } else { 0 };
            COLUMNS.get(n).copied().unwrap_or(" ")
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn bars_grow_with_the_share_and_show_whatever_is_not_nothing() {
        assert_eq!(text(0.0, 10), "");
        assert_eq!(text(1e-6, 10), "▏");
        assert_eq!(text(0.5, 10), "█████");
        assert_eq!(text(7.0, 3), "███");
        assert_eq!(text(f64::NAN, 3), "");
        assert_eq!(columns(&[8.0, 4.0, 0.0]), "█▄ ");
    }
}
