//! The nearest of few colours to one of 24 bits.

use ratatui::style::Color;

/// The sixteen colours as xterm has them unless it is told otherwise (its table of default resources).
const SIXTEEN: [(Color, [u8; 3]); 16] = [
    (Color::Black, [0, 0, 0]),
    (Color::Red, [205, 0, 0]),
    (Color::Green, [0, 205, 0]),
    (Color::Yellow, [205, 205, 0]),
    (Color::Blue, [0, 0, 238]),
    (Color::Magenta, [205, 0, 205]),
    (Color::Cyan, [0, 205, 205]),
    (Color::Gray, [229, 229, 229]),
    (Color::DarkGray, [127, 127, 127]),
    (Color::LightRed, [255, 0, 0]),
    (Color::LightGreen, [0, 255, 0]),
    (Color::LightYellow, [255, 255, 0]),
    (Color::LightBlue, [92, 92, 255]),
    (Color::LightMagenta, [255, 0, 255]),
    (Color::LightCyan, [0, 255, 255]),
    (Color::White, [255, 255, 255]),
];

/// The steps of the 6×6×6 cube.
const STEPS: [u8; 6] = [0, 95, 135, 175, 215, 255];

fn distance(a: [u8; 3], b: [u8; 3]) -> u32 {
    a.iter().zip(b).map(|(a, b)| u32::from(a.abs_diff(b)).pow(2)).sum()
}

/// The nearest of the sixteen named colours.
pub fn of_sixteen(rgb: [u8; 3]) -> Color {
    let nearest = SIXTEEN.iter().min_by_key(|(_, other)| distance(rgb, *other));
    nearest.map_or(Color::Black, |(colour, _)| *colour)
}

/// The nearest of the 240 fixed colours of the indexed table: the cube from 16 on, the greys from 232 on.
pub fn of_the_cube(rgb: [u8; 3]) -> u8 {
    let step = |value: u8| {
        let nearest = (0_u8..).zip(STEPS).min_by_key(|(_, step)| step.abs_diff(value));
        nearest.unwrap_or((0, 0))
    };
    let [red, green, blue] = rgb.map(step);
    let in_cube = [red.1, green.1, blue.1];
    let mean = u16::from(rgb[0]) / 3 + u16::from(rgb[1]) / 3 + u16::from(rgb[2]) / 3;
    let nth = u8::try_from((mean.saturating_sub(3) / 10).min(23)).unwrap_or(23);
    let grey = 8 + nth * 10;
    if distance(rgb, [grey; 3]) < distance(rgb, in_cube) {
        232 + nth
    } else {
        16 + red.0 * 36 + green.0 * 6 + blue.0
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_nearest_is_the_nearest_of_all() {
        let table = |n: u8| {
            if n >= 232 {
                [8 + (n - 232) * 10; 3]
            } else {
                let n = usize::from(n - 16);
                [STEPS[n / 36], STEPS[n / 6 % 6], STEPS[n % 6]]
            }
        };
        let values = [0_u8, 3, 12, 47, 48, 90, 115, 127, 128, 155, 190, 238, 250, 255];
        for red in values {
            for green in values {
                for blue in values {
                    let rgb = [red, green, blue];
                    let best = (16..=255).map(|n| distance(rgb, table(n))).min().unwrap_or(0);
                    let got = distance(rgb, table(of_the_cube(rgb)));
                    // Greys are taken by the mean, so a neighbouring grey may be nearer by a step of rounding.
                    assert!(got <= best + 3 * 36, "{rgb:?}: {got}, best {best}");
                }
            }
        }
        assert_eq!(of_the_cube([255, 0, 0]), 196);
        assert_eq!(of_the_cube([8, 8, 8]), 232);
        assert_eq!(of_sixteen([250, 10, 10]), Color::LightRed);
        assert_eq!(of_sixteen([100, 110, 105]), Color::DarkGray);
    }
}
