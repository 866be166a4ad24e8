//! A drawn screen as SVG: letters by font, everything drawn as geometry on a grid of whole units.

use std::fmt::Write;

use ratatui::buffer::Buffer;
use ratatui::style::{Color, Modifier};

/// Colours of a terminal: text, ground, and the sixteen named ones.
pub struct Palette {
    pub text: &'static str,
    pub ground: &'static str,
    pub sixteen: [&'static str; 16],
}

pub const DARK: Palette = Palette {
    text: "#d0d0d0",
    ground: "#16181d",
    sixteen: [
        "#26282e", "#c96a6a", "#7aa874", "#c2a063", "#6a93c9", "#a57bb8", "#66a7ad", "#c8c8c8", "#5c6069", "#e08a8a",
        "#98c693", "#dcc088", "#8fb4e6", "#c39ad6", "#8ac8ce", "#f0f0f0",
    ],
};

pub const LIGHT: Palette = Palette {
    text: "#24262b",
    ground: "#fbfaf7",
    sixteen: [
        "#24262b", "#a63a3a", "#3f7a3a", "#8a6a1e", "#2b5c9e", "#74428a", "#1f7078", "#b9b9b9", "#6d7078", "#c25555",
        "#5a9a54", "#a88632", "#4478bd", "#9160a8", "#3b8e96", "#ffffff",
    ],
};

const WIDE: u32 = 10;
const HIGH: u32 = 20;

fn colour(colour: Color, palette: &Palette, otherwise: &str) -> String {
    let named = |n: usize| palette.sixteen[n].to_owned();
    match colour {
        Color::Black => named(0),
        Color::Blue => named(4),
        Color::Cyan => named(6),
        Color::Rgb(red, green, blue) => format!("#{red:02x}{green:02x}{blue:02x}"),
        Color::Gray => named(7),
        Color::DarkGray => named(8),
        Color::Indexed(n) if n < 16 => named(usize::from(n)),
        Color::Indexed(n) if n < 232 => {
            let level = [0, 95, 135, 175, 215, 255];
            let n = usize::from(n - 16);
            format!("#{:02x}{:02x}{:02x}", level[n / 36], level[n / 6 % 6], level[n % 6])
        }
        Color::Indexed(n) => {
            let grey = 8 + 10 * u32::from(n - 232);
            format!("#{grey:02x}{grey:02x}{grey:02x}")
        }
        _ => otherwise.to_owned(),
    }
}

#[derive(PartialEq, Clone)]
struct Look {
    ink: String,
    ground: String,
    bold: bool,
    dim: bool,
}

fn look(buffer: &Buffer, x: u16, y: u16, palette: &Palette) -> (String, Look) {
    let cell = buffer.cell((x, y)).expect("a cell");
    let (mut ink, mut ground) = (
        colour(cell.fg, palette, palette.text),
        colour(cell.bg, palette, palette.ground),
    );
    if cell.modifier.contains(Modifier::REVERSED) {
        std::mem::swap(&mut ink, &mut ground);
    }
    let look = Look {
        ink,
        ground,
        bold: cell.modifier.contains(Modifier::BOLD),
        dim: cell.modifier.contains(Modifier::DIM),
    };
    (cell.symbol().to_owned(), look)
}

/// The whole buffer as an SVG picture.
pub fn picture(buffer: &Buffer, palette: &Palette, title: &str) -> String {
    let (columns, rows) = (buffer.area.width, buffer.area.height);
    let (w, h) = (u32::from(columns) * WIDE, u32::from(rows) * HIGH);
    let mut out = format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 {w} {h}\" width=\"{w}\" height=\"{h}\" role=\"img\">\n\
         <title>{}</title>\n<rect width=\"{w}\" height=\"{h}\" fill=\"{}\"/>\n\
         <g font-family=\"DejaVu Sans Mono, monospace\" font-size=\"16.6\" shape-rendering=\"crispEdges\">\n",
        escaped(title),
        palette.ground
    );
    for y in 0..rows {
        let cells: Vec<(String, Look)> = (0..columns).map(|x| look(buffer, x, y, palette)).collect();
        let top = u32::from(y) * HIGH;
        let mut x = 0;
        while x < cells.len() {
            let ground = cells[x].1.ground.clone();
            let n = cells[x..].iter().take_while(|c| c.1.ground == ground).count();
            if ground != palette.ground {
                let _ = writeln!(
                    out,
                    "<rect x=\"{}\" y=\"{top}\" width=\"{}\" height=\"{HIGH}\" fill=\"{ground}\"/>",
                    at(x),
                    at(n)
                );
            }
            x += n;
        }
        let mut x = 0;
        while x < cells.len() {
            let (symbol, style) = &cells[x];
            if let Some(shape) = shape(symbol, at(x), top) {
                let dim = if style.dim { " opacity=\"0.6\"" } else { "" };
                let _ = writeln!(
                    out,
                    "<g fill=\"{0}\" stroke=\"{0}\" stroke-width=\"0\"{dim}>{shape}</g>",
                    style.ink
                );
                x += 1;
                continue;
            }
            let n = cells[x..]
                .iter()
                .take_while(|c| c.1 == *style && shape(&c.0, 0, 0).is_none())
                .count();
            let text: String = cells[x..x + n].iter().map(|c| c.0.as_str()).collect();
            words(&mut out, &text, x, top, style);
            x += n;
        }
    }
    out.push_str("</g>\n</svg>\n");
    out
}

/// A run of letters; blanks at its ends are left out, and its length is fixed so that any font keeps the grid.
fn words(out: &mut String, text: &str, x: usize, top: u32, style: &Look) {
    let lead = text.chars().take_while(|c| *c == ' ').count();
    let trimmed = text.trim();
    if trimmed.is_empty() {
        return;
    }
    let weight = if style.bold { " font-weight=\"bold\"" } else { "" };
    let dim = if style.dim { " opacity=\"0.6\"" } else { "" };
    let _ = writeln!(
        out,
        "<text x=\"{}\" y=\"{}\" textLength=\"{}\" lengthAdjust=\"spacingAndGlyphs\" xml:space=\"preserve\" fill=\"{}\"{weight}{dim}>{}</text>",
        at(x + lead),
        top + 15,
        at(trimmed.chars().count()),
        style.ink,
        escaped(trimmed)
    );
}

fn at(cells: usize) -> u32 {
    u32::try_from(cells).expect("a small number") * WIDE
}

fn escaped(text: &str) -> String {
    text.replace('&', "&amp;").replace('<', "&lt;").replace('>', "&gt;")
}

/// Lines, blocks, shades and braille as geometry; `None` for letters.
fn shape(symbol: &str, x: u32, y: u32) -> Option<String> {
    let c = symbol.chars().next()?;
    let rect = |dx: u32, dy: u32, w: u32, h: u32| {
        format!("<rect x=\"{}\" y=\"{}\" width=\"{w}\" height=\"{h}\"/>", x + dx, y + dy)
    };
    let arms = |left: bool, right: bool, up: bool, down: bool| {
        let mut out = String::new();
        for (there, piece) in [
            (left, rect(0, 9, 6, 2)),
            (right, rect(4, 9, 6, 2)),
            (up, rect(4, 0, 2, 11)),
            (down, rect(4, 9, 2, 11)),
        ] {
            if there {
                out.push_str(&piece);
            }
        }
        out
    };
    let corner = |dx: u32, dy: u32, cx: u32, cy: u32| {
        format!(
            "<path d=\"M{} {} Q{} {} {} {}\" fill=\"none\" stroke-width=\"2\" shape-rendering=\"auto\"/>",
            x + dx,
            y + 10,
            x + cx,
            y + cy,
            x + 5,
            y + dy
        )
    };
    Some(match c {
        '─' => arms(true, true, false, false),
        '│' => arms(false, false, true, true),
        '├' => arms(false, true, true, true),
        '┤' => arms(true, false, true, true),
        '╭' => corner(10, 20, 5, 10),
        '╮' => corner(0, 20, 5, 10),
        '╰' => corner(10, 0, 5, 10),
        '╯' => corner(0, 0, 5, 10),
        '█' => rect(0, 0, 10, 20),
        '▉'..='▏' => {
            let eighths = 8 - (u32::from(c) - u32::from('▉') + 1);
            format!(
                "<rect x=\"{x}\" y=\"{y}\" width=\"{}\" height=\"20\"/>",
                f64::from(eighths) * 1.25
            )
        }
        '▐' => rect(5, 0, 5, 20),
        '▁'..='▇' => {
            let eighths = u32::from(c) - u32::from('▁') + 1;
            format!(
                "<rect x=\"{x}\" y=\"{}\" width=\"10\" height=\"{}\"/>",
                f64::from(y + 20) - f64::from(eighths) * 2.5,
                f64::from(eighths) * 2.5
            )
        }
        '░' => format!("<g opacity=\"0.3\">{}</g>", rect(0, 0, 10, 20)),
        '\u{2800}'..='\u{28ff}' => {
            let bits = u32::from(c) - 0x2800;
            let places = [(0, 0), (0, 1), (0, 2), (1, 0), (1, 1), (1, 2), (0, 3), (1, 3)];
            places
                .iter()
                .enumerate()
                .filter(|(n, _)| bits >> n & 1 == 1)
                .map(|(_, (column, row))| {
                    let cx = f64::from(x) + 2.5 + 5.0 * f64::from(*column);
                    let cy = f64::from(y) + 2.5 + 5.0 * f64::from(*row);
                    format!("<circle cx=\"{cx}\" cy=\"{cy}\" r=\"1.7\" shape-rendering=\"auto\"/>")
                })
                .collect()
        }
        _ => return None,
    })
}
