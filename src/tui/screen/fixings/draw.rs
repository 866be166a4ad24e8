//! How Fixings looks: what is chosen on top, what follows from it below, in two columns where there is room.

use ratatui::buffer::Buffer;
use ratatui::layout::Rect;
use ratatui::style::Style;

use super::{Model, Row};
use crate::report::fixing::{self, Subject};
use crate::report::words;
use crate::text;
use crate::tui::desk::Desk;
use crate::tui::widget::{cells, is_low, put, put_right, rule, tint};

/// From this width on, what to try stands beside the figures.
const TWO_COLUMNS: u16 = 100;

/// The rows above the rule.
const TOP: u16 = 7;

/// A line of text with its style.
type Line = (String, Style);

/// Draws it.
pub fn view(model: &Model, desk: &Desk, area: Rect, buf: &mut Buffer) {
    let theme = &desk.theme;
    let title = model.of.as_ref().map_or_else(
        || "Any thread".to_owned(),
        |(part, name)| format!("{}: {name}", words::part(&desk.library, part)),
    );
    let whole = "guides, never the car maker's figures ";
    let fits = |note: &str| text::width(&title) + text::width(note) + 3 <= usize::from(area.width);
    let (note, style) = match model.sieve.words() {
        Some(only) => {
            let count = format!(
                "{only}: {} of {} fixings ",
                model.passing(desk).len(),
                super::all(desk).len()
            );
            (if fits(&count) { count } else { format!("{only} ") }, theme.accent())
        }
        None if fits(whole) => (whole.to_owned(), theme.dim()),
        None => ("guides only ".to_owned(), theme.dim()),
    };
    let room = usize::from(area.width).saturating_sub(text::width(&note) + 3);
    put(buf, area, 1, 0, &text::shorten(&title, room), theme.title());
    put_right(buf, area, 0, &note, style);
    let top = if is_low(area) {
        // The line that is changed, and all values in one: so that what follows from them is seen too.
        draw_row(model, desk, model.row, area, 1, buf);
        put(buf, area, 3, 2, &in_one_line(model, desk), theme.dim());
        3
    } else {
        for (row, dy) in Row::ALL.into_iter().zip(1..) {
            draw_row(model, desk, row, area, dy, buf);
        }
        put(buf, area, 3, TOP - 1, "Manual says", theme.dim());
        let (words, style) = manual(model, desk);
        put(buf, area, 18, TOP - 1, &words, style);
        TOP
    };
    rule(buf, area, top, "", theme.rule(), theme.title());
    let below = Rect::new(
        area.x + 1,
        area.y + top + 1,
        area.width.saturating_sub(2),
        area.height.saturating_sub(top + 2),
    )
    .intersection(area);
    let deepest = if area.width >= TWO_COLUMNS {
        let half = below.width / 2 - 1;
        let left = Rect::new(below.x, below.y, half, below.height);
        let right = Rect::new(below.x + half + 2, below.y, below.width - half - 2, below.height).intersection(below);
        let figures = draw_lines(&figures(model, desk, left.width), model.top, left, buf);
        figures.max(draw_lines(&tries(model, desk, right.width), model.top, right, buf))
    } else {
        draw_lines(&all(model, desk, below.width), model.top, below, buf)
    };
    let top = model.top.min(deepest);
    if deepest > 0 {
        let above = if top > 0 { "↑ " } else { "  " };
        let more = match deepest - top {
            0 => " ".to_owned(),
            left => format!("{} more ↓", cells(left)),
        };
        put_right(
            buf,
            area,
            area.height.saturating_sub(1),
            &format!("{above}{more} "),
            theme.dim(),
        );
    }
}

/// All values, one behind the other.
fn in_one_line(model: &Model, desk: &Desk) -> String {
    let values = Row::ALL.map(|row| match (row, told(model, desk, row).1) {
        (Row::Grade, value) if model.grade.is_some() => format!("grade {value}"),
        (Row::Core, value) => format!("{value} of core lost"),
        (_, value) => value,
    });
    values.join(", ")
}

/// How far the text can be scrolled at most, whatever the size: to the last lines that the smallest terminal shows.
pub fn deepest(model: &Model, desk: &Desk) -> usize {
    all(model, desk, 58).len().saturating_sub(6)
}

/// Draws lines from the scrolled one on; returns how far they can be scrolled.
fn draw_lines(lines: &[Line], top: usize, area: Rect, buf: &mut Buffer) -> usize {
    let deepest = lines.len().saturating_sub(usize::from(area.height));
    for (dy, (words, style)) in (0..area.height).zip(lines.iter().skip(top.min(deepest))) {
        put(buf, area, 0, dy, words, *style);
    }
    deepest
}

fn draw_row(model: &Model, desk: &Desk, row: Row, area: Rect, dy: u16, buf: &mut Buffer) {
    let theme = &desk.theme;
    let (label, value, remark) = told(model, desk, row);
    let here = row == model.row;
    put(buf, area, 1, dy, if here { "›" } else { " " }, theme.accent());
    put(buf, area, 3, dy, label, theme.dim());
    let shown = if here {
        format!("‹ {value} ›")
    } else {
        format!("  {value}")
    };
    let taken = put(buf, area, 16, dy, &shown, theme.text());
    put(buf, area, 18 + taken, dy, &remark, theme.dim());
    if here {
        let chosen = Rect::new(area.x + 16, area.y, taken, area.height).intersection(area);
        tint(buf, chosen, dy, theme.selected());
    }
}

/// A row: what it is, its value, and a remark.
fn told(model: &Model, desk: &Desk, row: Row) -> (&'static str, String, String) {
    let typed = || {
        let (row, shown) = match row {
            Row::Thread => (Row::Thread, model.thread.trim_start_matches('M')),
            _ => (Row::Class, model.class.as_str()),
        };
        let here = row == model.row && !model.typed.is_empty();
        match here {
            true if shown.starts_with(&model.typed) => format!("typed {}", model.typed),
            true => format!("nothing begins with {}", model.typed),
            false => String::new(),
        }
    };
    match row {
        Row::Thread if model.thread(desk).is_none() => {
            ("Thread", model.thread.clone(), "not in the thread table".to_owned())
        }
        Row::Thread => ("Thread", model.thread.clone(), typed()),
        Row::Class => ("Class", model.class.clone(), typed()),
        Row::Finish => ("Finish", words::condition(model.condition).to_owned(), String::new()),
        Row::Grade => {
            let row = model.grade.and_then(|grade| desk.library.thread_grade(grade));
            let remark = row.map_or_else(String::new, |row| {
                format!(
                    "shears or rounds {}, seizes {} and then costs {:.0} min (judgement)",
                    text::percent(row.shears),
                    text::percent(row.seizes),
                    row.minutes
                )
            });
            let value = model.grade.map_or_else(|| "not graded".to_owned(), |g| g.to_string());
            ("Thread grade", value, remark)
        }
        Row::Core => {
            let remark = match (model.core, model.grade) {
                (Some(_), _) => "typed",
                (None, Some(_)) => "usual at that grade (judgement)",
                (None, None) => "",
            };
            let value = text::percent(model.core_lost(desk));
            ("Core lost", value, remark.to_owned())
        }
    }
}

fn manual(model: &Model, desk: &Desk) -> (String, Style) {
    let theme = &desk.theme;
    match (model.own(desk), &model.of) {
        (Some(own), _) => (words::own_torque(own), theme.title()),
        (None, Some(_)) => ("______ (Enter types it in)".to_owned(), theme.text()),
        (None, None) => ("Enter chooses one of the car's fixings first".to_owned(), theme.dim()),
    }
}

fn all(model: &Model, desk: &Desk, width: u16) -> Vec<Line> {
    let mut lines = figures(model, desk, width);
    let tries = tries(model, desk, width);
    if !tries.is_empty() {
        lines.push((String::new(), desk.theme.text()));
        lines.extend(tries);
    }
    lines
}

/// The figures, wrapped.
fn figures(model: &Model, desk: &Desk, width: u16) -> Vec<Line> {
    let theme = &desk.theme;
    let mut lines = Vec::new();
    let (thread, class) = (model.thread(desk), model.class(desk));
    let reckoned = match model.figures(desk) {
        Some(Ok(reckoned)) => reckoned,
        Some(Err(why)) => {
            hang(&mut lines, width, "", &why.to_string(), theme.text());
            return lines;
        }
        None => {
            let words = "The rubrics know no such thread or class, so nothing can be reckoned.";
            hang(&mut lines, width, "", words, theme.text());
            return lines;
        }
    };
    let Some((thread, class)) = thread.zip(class) else {
        return lines;
    };
    let subject = Subject {
        library: &desk.library,
        thread,
        class,
        class_named: true,
        figures: &reckoned,
    };
    if let Some(own) = model.own(desk) {
        let verdict = fixing::verdict(&subject, &own.torque);
        let style = if verdict.slip.is_some() {
            theme.caution()
        } else {
            theme.text()
        };
        hang(&mut lines, width, "Your value", &verdict.words, style);
    }
    let figures = fixing::lines(&subject);
    // How tight, then how to undo it; geometry is for whoever wants to check.
    let first = |name: &str| matches!(name, "Guide" | "Plausible");
    for (name, words) in figures.iter().filter(|(name, _)| first(name)) {
        hang(&mut lines, width, name, words, theme.text());
    }
    for (name, words) in fixing::rusted_lines(&subject) {
        let style = if name == "Margin" { theme.title() } else { theme.text() };
        hang(&mut lines, width, name, &words, style);
    }
    for (name, words) in figures.iter().filter(|(name, _)| !first(name)) {
        hang(&mut lines, width, name, words, theme.text());
    }
    lines
}

/// What to try in order, wrapped; nothing for a thread without a grade.
fn tries(model: &Model, desk: &Desk, width: u16) -> Vec<Line> {
    let theme = &desk.theme;
    let Some(grade) = model.grade else {
        return Vec::new();
    };
    let mut lines = vec![("Try in this order, until it turns".to_owned(), theme.title())];
    for (n, step) in fixing::ladder(&desk.library, grade).iter().enumerate() {
        wrap(
            &mut lines,
            width,
            &format!("{:>2}. ", n + 1),
            4,
            &step.what,
            theme.text(),
        );
        for caution in &step.cautions {
            wrap(&mut lines, width, "    ! ", 6, caution, theme.caution());
        }
    }
    lines
}

/// A labelled text, its further lines under its first.
fn hang(lines: &mut Vec<Line>, width: u16, label: &str, words: &str, style: Style) {
    let mark = if label.is_empty() {
        String::new()
    } else {
        format!("{label:<12}")
    };
    let indent = mark.len();
    wrap(lines, width, &mark, indent, words, style);
}

fn wrap(lines: &mut Vec<Line>, width: u16, mark: &str, indent: usize, words: &str, style: Style) {
    let room = usize::from(width).saturating_sub(indent).max(10);
    for (n, line) in text::wrap(&text::clean(words), room).into_iter().enumerate() {
        let lead = if n == 0 { mark.to_owned() } else { " ".repeat(indent) };
        lines.push((format!("{lead}{line}"), style));
    }
}
