//! The only place with colours: roles, not shades.
//!
//! Grades are one hue, ordered by lightness alone, as a digit on a ground of that lightness; the digit is always there.
//! Text and ground are the terminal's own, so nothing depends on whether it is light or dark. With sixteen colours, or
//! none, grades are told apart by dim, bold and reverse.

mod palette;

use ratatui::style::{Color, Modifier, Style};

use crate::units::Grade;

/// How many colours there are.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Colours {
    /// None; bold, dim and reverse only.
    None,
    /// The sixteen named ones.
    Sixteen,
    /// The 256 of the indexed table.
    Indexed,
}

/// Whether the terminal's ground is dark or light, as far as it says.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Ground {
    /// Dark, or unknown.
    Dark,
    /// Light.
    Light,
}

/// Roles and their styles.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Theme {
    /// How many colours.
    pub colours: Colours,
    /// Which way the ramp of grades runs, so that bad stands out.
    pub ground: Ground,
    /// Only characters of ASCII.
    pub ascii: bool,
    /// Photos may use colours of 24 bits.
    pub true_colour: bool,
}

/// Blues of the indexed table from dark to pale, with their relative luminance rising at each step.
pub const BLUES: [u8; 6] = [17, 25, 32, 75, 117, 195];

impl Theme {
    /// From what the environment says; `allowed` is false when colours were refused on the command line.
    #[must_use]
    pub fn from_environment(allowed: bool, ascii: bool) -> Theme {
        let set = |name: &str| std::env::var_os(name).is_some_and(|v| !v.is_empty());
        let term = std::env::var("TERM").unwrap_or_default();
        let colours = if !allowed || set("NO_COLOR") {
            Colours::None
        } else if set("COLORTERM") || term.contains("256") || term.contains("direct") {
            Colours::Indexed
        } else {
            Colours::Sixteen
        };
        // `15;0` or `0;default;15`: the last number is the ground; 7 and 9 to 15 are light ones.
        let ground = std::env::var("COLORFGBG")
            .ok()
            .and_then(|v| v.rsplit(';').next().and_then(|n| n.parse::<u8>().ok()))
            .map_or(Ground::Dark, |n| {
                if n == 7 || (9..=15).contains(&n) {
                    Ground::Light
                } else {
                    Ground::Dark
                }
            });
        let true_colour = colours == Colours::Indexed
            && std::env::var("COLORTERM")
                .is_ok_and(|v| v.eq_ignore_ascii_case("truecolor") || v.eq_ignore_ascii_case("24bit"));
        Theme {
            colours,
            ground,
            ascii,
            true_colour,
        }
    }

    /// A fixed theme, for tests and pictures.
    #[must_use]
    pub fn fixed(colours: Colours, ground: Ground) -> Theme {
        Theme {
            colours,
            ground,
            ascii: false,
            true_colour: false,
        }
    }

    /// A grade's digit.
    #[must_use]
    pub fn grade(&self, grade: Grade) -> Style {
        if self.colours == Colours::Indexed {
            let step = match self.ground {
                Ground::Dark => grade.index(),
                Ground::Light => 5 - grade.index(),
            };
            let shade = BLUES.get(step).copied().unwrap_or(32);
            let ink = if step < 2 { 231 } else { 16 };
            return Style::new()
                .remove_modifier(Modifier::REVERSED | Modifier::DIM)
                .fg(Color::Indexed(ink))
                .bg(Color::Indexed(shade))
                .add_modifier(if grade.digit() >= 4 {
                    Modifier::BOLD
                } else {
                    Modifier::empty()
                });
        }
        // Over a selected line the digit keeps its own look.
        let plain = Style::new().remove_modifier(Modifier::REVERSED | Modifier::DIM);
        plain.add_modifier(match grade.digit() {
            0 => Modifier::DIM,
            1 | 2 => Modifier::empty(),
            3 => Modifier::BOLD,
            4 => Modifier::REVERSED,
            _ => Modifier::REVERSED | Modifier::BOLD,
        })
    }

    /// The nearest colour for a point of a photo; none where there are no colours, or no characters to show them with.
    #[must_use]
    pub fn point(&self, rgb: [u8; 3]) -> Option<Color> {
        match self.colours {
            _ if self.ascii => None,
            Colours::None => None,
            Colours::Sixteen => Some(palette::of_sixteen(rgb)),
            Colours::Indexed if self.true_colour => Some(Color::Rgb(rgb[0], rgb[1], rgb[2])),
            Colours::Indexed => Some(Color::Indexed(palette::of_the_cube(rgb))),
        }
    }

    /// Ordinary text.
    #[must_use]
    pub fn text(&self) -> Style {
        Style::new()
    }

    /// Text that may be passed over.
    #[must_use]
    pub fn dim(&self) -> Style {
        Style::new().add_modifier(Modifier::DIM)
    }

    /// Headings.
    #[must_use]
    pub fn title(&self) -> Style {
        Style::new().add_modifier(Modifier::BOLD)
    }

    /// Names of keys, and what the eye should find.
    #[must_use]
    pub fn accent(&self) -> Style {
        match self.colours {
            Colours::None => Style::new().add_modifier(Modifier::BOLD),
            Colours::Sixteen => Style::new().fg(Color::Cyan).add_modifier(Modifier::BOLD),
            Colours::Indexed => Style::new().fg(Color::Indexed(32)).add_modifier(Modifier::BOLD),
        }
    }

    /// Bars and lines of charts, also over a selected line.
    #[must_use]
    pub fn bar(&self) -> Style {
        let plain = Style::new().remove_modifier(Modifier::REVERSED);
        match self.colours {
            Colours::None => plain,
            Colours::Sixteen => plain.fg(Color::Cyan),
            Colours::Indexed => plain.fg(Color::Indexed(32)),
        }
    }

    /// The part of a bar that rests on checks nobody has seen, and the band of a chart.
    #[must_use]
    pub fn uncertain(&self) -> Style {
        match self.colours {
            Colours::Indexed => Style::new().remove_modifier(Modifier::REVERSED).fg(Color::Indexed(67)),
            _ => Style::new()
                .remove_modifier(Modifier::REVERSED)
                .add_modifier(Modifier::DIM),
        }
    }

    /// The selected line.
    #[must_use]
    pub fn selected(&self) -> Style {
        Style::new().add_modifier(Modifier::REVERSED)
    }

    /// The notice, and errors.
    #[must_use]
    pub fn notice(&self) -> Style {
        Style::new().add_modifier(Modifier::REVERSED | Modifier::BOLD)
    }

    /// Cautions of the work.
    #[must_use]
    pub fn caution(&self) -> Style {
        Style::new().add_modifier(Modifier::BOLD)
    }

    /// Borders and rules.
    #[must_use]
    pub fn rule(&self) -> Style {
        self.dim()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Relative luminance of a colour of the 6×6×6 cube (WCAG 2.1, definition of relative luminance).
    fn luminance(index: u8) -> f64 {
        let n = usize::from(index - 16);
        let level = |v: usize| [0.0, 95.0, 135.0, 175.0, 215.0, 255.0][v] / 255.0;
        let linear = |c: f64| {
            if c <= 0.03928 {
                c / 12.92
            } else {
                ((c + 0.055) / 1.055_f64).powf(2.4)
            }
        };
        0.2126 * linear(level(n / 36)) + 0.7152 * linear(level(n / 6 % 6)) + 0.0722 * linear(level(n % 6))
    }

    fn index(colour: Option<Color>) -> u8 {
        match colour {
            Some(Color::Indexed(n)) => n,
            other => unreachable!("{other:?}"),
        }
    }

    #[test]
    fn lightness_alone_orders_the_grades_and_every_digit_can_be_read() {
        for (ground, rising) in [(Ground::Dark, true), (Ground::Light, false)] {
            let theme = Theme::fixed(Colours::Indexed, ground);
            let shades: Vec<f64> = Grade::ALL.map(|g| luminance(index(theme.grade(g).bg))).to_vec();
            assert!(shades.windows(2).all(|w| (w[0] < w[1]) == rising), "{shades:?}");
            for grade in Grade::ALL {
                let (a, b) = (
                    luminance(index(theme.grade(grade).fg)),
                    luminance(index(theme.grade(grade).bg)),
                );
                let contrast = (a.max(b) + 0.05) / (a.min(b) + 0.05);
                assert!(contrast >= 4.5, "grade {grade}: {contrast:.1}");
            }
        }
    }

    #[test]
    fn without_colours_no_style_has_one() {
        let theme = Theme::fixed(Colours::None, Ground::Dark);
        let mut styles = vec![
            theme.accent(),
            theme.bar(),
            theme.uncertain(),
            theme.selected(),
            theme.notice(),
        ];
        styles.extend(Grade::ALL.map(|g| theme.grade(g)));
        assert!(styles.iter().all(|s| s.fg.is_none() && s.bg.is_none()));
    }
}
