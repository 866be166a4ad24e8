//! The one ramp that grades are shown in: blues that differ in lightness alone, in three strengths of terminal and on
//! paper.
//!
//! Neighbouring steps are at least twelve apart in CIE lightness, also for eyes that lack one kind of cone. The digit
//! stands on every one of them, so nothing rests on the colour.

use crate::units::Grade;

/// Colours of the 256-colour table, from dark to pale.
pub const INDEXED: [u8; 6] = [17, 20, 63, 74, 117, 195];

/// Colours by their parts of red, green and blue, from dark to pale.
pub const EXACT: [(u8, u8, u8); 6] = [
    (0, 24, 72),
    (0, 60, 120),
    (24, 96, 164),
    (72, 138, 204),
    (136, 186, 236),
    (208, 232, 252),
];

/// Which end of the ramp the worst grade stands at, so that it stands out from what is behind it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Worst {
    /// Pale, on a dark ground.
    Palest,
    /// Dark, on a light ground and on paper.
    Darkest,
}

/// The step of a grade on the ramp.
#[must_use]
pub fn step(grade: Grade, worst: Worst) -> usize {
    match worst {
        Worst::Palest => grade.index(),
        Worst::Darkest => 5usize.saturating_sub(grade.index()),
    }
}

/// Whether text on a step is white; otherwise it is black.
#[must_use]
pub fn white_on(step: usize) -> bool {
    step < 3
}

/// The colour of the 256-colour table for a step.
#[must_use]
pub fn indexed(step: usize) -> u8 {
    INDEXED.get(step).copied().unwrap_or(17)
}

/// The colour by its parts for a step.
#[must_use]
pub fn exact(step: usize) -> (u8, u8, u8) {
    EXACT.get(step).copied().unwrap_or((0, 24, 72))
}

#[cfg(test)]
mod tests {
    use super::*;

    type Colour = [f64; 3];

    /// How sRGB values stand for light (IEC 61966-2-1).
    fn light(c: (u8, u8, u8)) -> Colour {
        [c.0, c.1, c.2].map(|v| {
            let v = f64::from(v) / 255.0;
            if v <= 0.04045 {
                v / 12.92
            } else {
                ((v + 0.055) / 1.055).powf(2.4)
            }
        })
    }

    /// Relative luminance (ITU-R BT.709 primaries, as IEC 61966-2-1 has them).
    fn luminance(light: Colour) -> f64 {
        0.2126 * light[0] + 0.7152 * light[1] + 0.0722 * light[2]
    }

    /// CIE 1976 lightness (CIE 15:2004, 8.2.1).
    fn lightness(light: Colour) -> f64 {
        let y = luminance(light);
        if y > (6.0_f64 / 29.0).powi(3) {
            116.0 * y.cbrt() - 16.0
        } else {
            (29.0_f64 / 3.0).powi(3) * y
        }
    }

    /// What eyes see that lack one kind of cone: Machado, Oliveira and Fernandes, "A physiologically-based model for
    /// simulation of color vision deficiency", IEEE Transactions on Visualization and Computer Graphics 15 (2009)
    /// 1291-1298, supplementary matrices for severity 1.0, on linear light.
    const EYES: [(&str, [[f64; 3]; 3]); 4] = [
        ("usual", [[1.0, 0.0, 0.0], [0.0, 1.0, 0.0], [0.0, 0.0, 1.0]]),
        (
            "protan",
            [
                [0.152286, 1.052583, -0.204868],
                [0.114503, 0.786281, 0.099216],
                [-0.003882, -0.048116, 1.051998],
            ],
        ),
        (
            "deutan",
            [
                [0.367322, 0.860646, -0.227968],
                [0.280085, 0.672501, 0.047413],
                [-0.011820, 0.042940, 0.968881],
            ],
        ),
        (
            "tritan",
            [
                [1.255528, -0.076749, -0.178779],
                [-0.078411, 0.930809, 0.147602],
                [0.004733, 0.691367, 0.303900],
            ],
        ),
    ];

    fn seen(eyes: [[f64; 3]; 3], light: Colour) -> Colour {
        eyes.map(|row| (row[0] * light[0] + row[1] * light[1] + row[2] * light[2]).clamp(0.0, 1.0))
    }

    /// A colour of the 6×6×6 cube of the 256-colour table, as xterm has it.
    fn of_cube(index: u8) -> (u8, u8, u8) {
        let n = usize::from(index - 16);
        let level = |v: usize| [0, 95, 135, 175, 215, 255][v % 6];
        (level(n / 36), level(n / 6), level(n))
    }

    #[test]
    fn lightness_is_as_published_and_grey_stays_grey_in_every_eye() {
        // Lightness of the sRGB primaries under D65, from published conversion tables: red 53.24, green 87.73,
        // blue 32.30; white 100.
        for (colour, published) in [
            ((255, 0, 0), 53.24),
            ((0, 255, 0), 87.73),
            ((0, 0, 255), 32.30),
            ((255, 255, 255), 100.0),
            ((0, 0, 0), 0.0),
        ] {
            let found = lightness(light(colour));
            assert!((found - published).abs() < 0.01, "{colour:?}: {found}");
        }
        for (name, eyes) in EYES {
            for row in eyes {
                assert!((row.iter().sum::<f64>() - 1.0).abs() < 2e-6, "{name}");
            }
        }
    }

    #[test]
    fn neighbouring_grades_are_twelve_apart_in_lightness_for_every_eye_on_every_ground() {
        for worst in [Worst::Palest, Worst::Darkest] {
            for exactly in [true, false] {
                for (name, eyes) in EYES {
                    let steps: Vec<f64> = Grade::ALL
                        .iter()
                        .map(|grade| {
                            let step = step(*grade, worst);
                            let colour = if exactly { exact(step) } else { of_cube(indexed(step)) };
                            lightness(seen(eyes, light(colour)))
                        })
                        .collect();
                    for pair in steps.windows(2) {
                        let rise = if worst == Worst::Palest {
                            pair[1] - pair[0]
                        } else {
                            pair[0] - pair[1]
                        };
                        assert!(rise >= 12.0, "{name}, exact {exactly}, {worst:?}: {steps:.1?}");
                    }
                }
            }
        }
    }

    #[test]
    fn the_digit_can_be_read_on_every_step() {
        for n in 0..6 {
            for colour in [exact(n), of_cube(indexed(n))] {
                let ground = luminance(light(colour));
                let ink = if white_on(n) { 1.0 } else { 0.0 };
                // Contrast of WCAG 2.1, success criterion 1.4.3.
                let contrast = (ground.max(ink) + 0.05) / (ground.min(ink) + 0.05);
                assert!(contrast >= 4.5, "step {n}: {contrast:.2}");
            }
        }
    }
}
