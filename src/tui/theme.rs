//! The only place with colours: roles, not shades.
//!
//! Grades are one hue, ordered by lightness alone, as a digit on a ground of that lightness; the digit is always there.
//! Text and ground are the terminal's own. With sixteen colours, or none, grades are told apart by dim, underline, bold
//! and reverse. Whether the ground is dark or light only turns the ramp round and picks the shade of the bars; the
//! terminal is never asked.

mod palette;

use ratatui::style::{Color, Modifier, Style};

use super::Drawn;
use crate::report::ramp::{self, Worst};
use crate::units::Grade;

/// How many colours there are.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Colours {
    /// None; bold, dim, underline and reverse only.
    None,
    /// The sixteen named ones.
    Sixteen,
    /// The 256 of the indexed table.
    Indexed,
    /// Any, by its parts.
    Exact,
}

/// Whether the terminal's ground is dark or light, as far as anybody says.
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
}

/// Colours of the 256-colour table for bars and for what is uncertain, on a dark ground.
const DARK_SHADES: (u8, u8) = (75, 67);
/// The same on a light one.
const LIGHT_SHADES: (u8, u8) = (25, 67);

impl Theme {
    /// From what the command line and the environment say; `get` looks a variable up.
    #[must_use]
    pub fn from_environment(drawn: Drawn, get: impl Fn(&str) -> Option<String>) -> Theme {
        let set = |name: &str| get(name).filter(|value| !value.is_empty());
        let term = set("TERM").unwrap_or_default();
        let colours = if !drawn.colours || set("NO_COLOR").is_some() {
            Colours::None
        } else if matches!(set("COLORTERM").as_deref(), Some("truecolor" | "24bit")) || term.contains("direct") {
            Colours::Exact
        } else if set("COLORTERM").is_some() || term.contains("256") {
            Colours::Indexed
        } else {
            Colours::Sixteen
        };
        let said = drawn.ground.or_else(|| match set("TINWORM_BACKGROUND").as_deref() {
            Some("dark") => Some(Ground::Dark),
            Some("light") => Some(Ground::Light),
            _ => None,
        });
        // `15;0` or `0;default;15`: the last number is the ground; 7 and 9 to 15 are light ones.
        let ground = said.unwrap_or_else(|| {
            let number = set("COLORFGBG").and_then(|v| v.rsplit(';').next().and_then(|n| n.parse::<u8>().ok()));
            match number {
                Some(7 | 9..=15) => Ground::Light,
                _ => Ground::Dark,
            }
        });
        Theme {
            colours,
            ground,
            ascii: drawn.ascii,
        }
    }

    /// A fixed theme, for tests and pictures.
    #[must_use]
    pub fn fixed(colours: Colours, ground: Ground) -> Theme {
        Theme {
            colours,
            ground,
            ascii: false,
        }
    }

    /// A grade's digit.
    #[must_use]
    pub fn grade(&self, grade: Grade) -> Style {
        // Over a selected line the digit keeps its own look.
        let plain = Style::new().remove_modifier(Modifier::REVERSED | Modifier::DIM);
        let step = ramp::step(
            grade,
            match self.ground {
                Ground::Dark => Worst::Palest,
                Ground::Light => Worst::Darkest,
            },
        );
        let white = ramp::white_on(step);
        let coloured = match self.colours {
            Colours::Exact => {
                let (red, green, blue) = ramp::exact(step);
                let ink = if white { 255 } else { 0 };
                plain.fg(Color::Rgb(ink, ink, ink)).bg(Color::Rgb(red, green, blue))
            }
            Colours::Indexed => plain
                .fg(Color::Indexed(if white { 231 } else { 16 }))
                .bg(Color::Indexed(ramp::indexed(step))),
            Colours::Sixteen | Colours::None => {
                return plain.add_modifier(match grade.digit() {
                    0 => Modifier::DIM,
                    1 => Modifier::empty(),
                    2 => Modifier::UNDERLINED,
                    3 => Modifier::BOLD | Modifier::UNDERLINED,
                    4 => Modifier::REVERSED,
                    _ => Modifier::REVERSED | Modifier::BOLD,
                });
            }
        };
        coloured.add_modifier(if grade.digit() >= 4 {
            Modifier::BOLD
        } else {
            Modifier::empty()
        })
    }

    /// The nearest colour for a point of a photo; none where there are no colours, or no characters to show them with.
    #[must_use]
    pub fn point(&self, rgb: [u8; 3]) -> Option<Color> {
        match self.colours {
            _ if self.ascii => None,
            Colours::None => None,
            Colours::Sixteen => Some(palette::of_sixteen(rgb)),
            Colours::Exact => Some(Color::Rgb(rgb[0], rgb[1], rgb[2])),
            Colours::Indexed => Some(Color::Indexed(palette::of_the_cube(rgb))),
        }
    }

    /// The shade of bars, lines and the names of keys: it stands out from the ground it is on.
    fn shade(&self) -> Option<Color> {
        match (self.colours, self.ground) {
            (Colours::None, _) => None,
            (Colours::Sixteen, Ground::Dark) => Some(Color::Cyan),
            (Colours::Sixteen, Ground::Light) => Some(Color::Blue),
            (_, Ground::Dark) => Some(Color::Indexed(DARK_SHADES.0)),
            (_, Ground::Light) => Some(Color::Indexed(LIGHT_SHADES.0)),
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
        let bold = Style::new().add_modifier(Modifier::BOLD);
        self.shade().map_or(bold, |shade| bold.fg(shade))
    }

    /// Bars and lines of charts, also over a selected line.
    #[must_use]
    pub fn bar(&self) -> Style {
        let plain = Style::new().remove_modifier(Modifier::REVERSED);
        self.shade().map_or(plain, |shade| plain.fg(shade))
    }

    /// The part of a bar that rests on checks nobody has seen, and the band of a chart.
    #[must_use]
    pub fn uncertain(&self) -> Style {
        let plain = Style::new().remove_modifier(Modifier::REVERSED);
        match (self.colours, self.ground) {
            (Colours::Indexed | Colours::Exact, Ground::Dark) => plain.fg(Color::Indexed(DARK_SHADES.1)),
            (Colours::Indexed | Colours::Exact, Ground::Light) => plain.fg(Color::Indexed(LIGHT_SHADES.1)),
            _ => plain.add_modifier(Modifier::DIM),
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

    fn on(colours: Colours, ground: Ground) -> Theme {
        Theme::fixed(colours, ground)
    }

    #[test]
    fn six_grades_have_six_looks_in_every_kind_of_terminal() {
        for colours in [Colours::None, Colours::Sixteen, Colours::Indexed, Colours::Exact] {
            for ground in [Ground::Dark, Ground::Light] {
                let looks = Grade::ALL.map(|g| on(colours, ground).grade(g));
                for (n, look) in looks.iter().enumerate() {
                    assert!(!looks[..n].contains(look), "{colours:?} {ground:?}: grade {n}");
                }
            }
        }
    }

    #[test]
    fn bars_stand_out_from_their_ground() {
        // WCAG 2.1, success criteria 1.4.3 and 1.4.11: 4.5 to 1 for letters, 3 to 1 for graphics.
        let luminance = |index: u8| {
            let n = usize::from(index - 16);
            let light = |v: usize| {
                let c = [0.0, 95.0, 135.0, 175.0, 215.0, 255.0][v % 6] / 255.0;
                if c <= 0.04045 {
                    c / 12.92
                } else {
                    ((c + 0.055) / 1.055_f64).powf(2.4)
                }
            };
            0.2126 * light(n / 36) + 0.7152 * light(n / 6) + 0.0722 * light(n)
        };
        for (shades, ground) in [(DARK_SHADES, 0.0_f64), (LIGHT_SHADES, 1.0)] {
            for (shade, least) in [(shades.0, 4.5), (shades.1, 3.0)] {
                let own = luminance(shade);
                let contrast = (own.max(ground) + 0.05) / (own.min(ground) + 0.05);
                assert!(contrast >= least, "{shade} on {ground}: {contrast:.2}");
            }
        }
    }

    #[test]
    fn without_colours_no_style_has_one() {
        let theme = on(Colours::None, Ground::Dark);
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

    #[test]
    fn the_environment_picks_colours_and_ground_and_the_command_line_comes_first() {
        let of = |drawn: Drawn, set: &'static [(&'static str, &'static str)]| {
            let get = move |name: &str| set.iter().find(|(n, _)| *n == name).map(|(_, v)| (*v).to_owned());
            let theme = Theme::from_environment(drawn, get);
            (theme.colours, theme.ground)
        };
        let usual = Drawn::default();
        assert_eq!(of(usual, &[("TERM", "xterm")]), (Colours::Sixteen, Ground::Dark));
        assert_eq!(of(usual, &[("TERM", "xterm-256color")]).0, Colours::Indexed);
        assert_eq!(of(usual, &[("COLORTERM", "truecolor")]).0, Colours::Exact);
        assert_eq!(of(usual, &[("COLORTERM", "24bit"), ("NO_COLOR", "1")]).0, Colours::None);
        assert_eq!(of(usual, &[("COLORTERM", "24bit"), ("NO_COLOR", "")]).0, Colours::Exact);
        assert_eq!(of(usual, &[("COLORFGBG", "0;default;15")]).1, Ground::Light);
        assert_eq!(of(usual, &[("COLORFGBG", "15;8")]).1, Ground::Dark);
        let said = &[("COLORFGBG", "0;15"), ("TINWORM_BACKGROUND", "dark")];
        assert_eq!(of(usual, said).1, Ground::Dark);
        let light = Drawn {
            ground: Some(Ground::Light),
            ..usual
        };
        assert_eq!(of(light, said).1, Ground::Light);
    }
}
