//! How a visit looks: one list of lines, of which the repairs and the offers can be acted on.

mod paper;

use ratatui::buffer::Buffer;
use ratatui::layout::Rect;
use ratatui::style::Style;

use crate::engine::plan::{Visit, Work};
use crate::report::words;
use crate::text;
use crate::tui::desk::Desk;
use crate::tui::widget::{cells, put, put_right, put_right_of, tint, window};

/// What a line stands for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Of {
    /// A repair, by its place in the visit.
    Work(usize),
    /// An offer, by its place in the visit.
    Offer(usize),
    /// A fixing to soak, by its place in the visit.
    Soak(usize),
    /// A fixing to tighten, by its place in the visit.
    Tighten(usize),
}

/// A line of the visit.
#[derive(Debug, Clone)]
pub struct Line {
    words: String,
    style: Style,
    /// What it stands for, if it can be acted on.
    pub of: Option<Of>,
    /// Whether a section begins here.
    pub heading: bool,
}

/// Collects lines, wrapped to a width.
struct Sheet<'d> {
    desk: &'d Desk,
    width: usize,
    lines: Vec<Line>,
}

impl Sheet<'_> {
    fn heading(&mut self, words: &str) {
        if !self.lines.is_empty() {
            self.put("", self.desk.theme.text(), None);
        }
        self.put(words, self.desk.theme.title(), None);
        if let Some(line) = self.lines.last_mut() {
            line.heading = true;
        }
    }

    fn put(&mut self, words: &str, style: Style, of: Option<Of>) {
        let lead = words.len() - words.trim_start().len();
        let spare = if self.width < 60 { lead.max(2) } else { 4 };
        let wrapped = text::wrap(&text::clean(words), self.width.saturating_sub(spare));
        for (n, line) in wrapped.into_iter().enumerate() {
            let indent = " ".repeat(if n > 0 { lead.max(2) } else { lead });
            self.lines.push(Line {
                words: format!("{indent}{line}"),
                style,
                of,
                heading: false,
            });
        }
    }

    /// A line set to its width already.
    fn exact(&mut self, words: &str, style: Style, of: Option<Of>) {
        self.lines.push(Line {
            words: text::clean(words),
            style,
            of,
            heading: false,
        });
    }

    fn item(&mut self, words: &str) {
        self.put(&format!("· {words}"), self.desk.theme.text(), None);
    }

    fn item_of(&mut self, words: &str, of: Of) {
        self.put(&format!("· {words}"), self.desk.theme.text(), Some(of));
    }

    fn caution(&mut self, words: &str) {
        self.put(&format!("! {words}"), self.desk.theme.caution(), None);
    }
}

/// The cells of a line: as many as read well and as the terminal has. A wider terminal shows the sheet in columns.
fn width_of(desk: &Desk) -> u16 {
    desk.columns.min(76)
}

/// Cells from the beginning of one column of the sheet to that of the next.
const COLUMN: u16 = 80;

/// The lines of a visit.
#[must_use]
pub fn lines(desk: &Desk, visit: &Visit) -> Vec<Line> {
    let mut sheet = Sheet {
        desk,
        width: usize::from(width_of(desk).saturating_sub(4)),
        lines: Vec::new(),
    };
    let library = &desk.library;
    if let Some(booking) = &visit.booking {
        sheet.put(&(words::large(&words::booking(booking)) + "."), desk.theme.text(), None);
        if !visit.runs_on.is_empty() {
            let days: Vec<String> = visit.runs_on.iter().map(|d| text::day(*d)).collect();
            let line = format!("It takes the car from your sessions of {} too.", days.join(", "));
            sheet.put(&line, desk.theme.text(), None);
        }
    }
    for why in &visit.why {
        sheet.put(&words::large(&words::why(library, why)), desk.theme.text(), None);
    }
    sheet.heading("Work, in this order");
    for (n, work) in visit.work.iter().enumerate() {
        sheet.put(&work_line(desk, n, work), desk.theme.text(), Some(Of::Work(n)));
        sheet.put(&format!("   {}", why_work(desk, work)), desk.theme.dim(), None);
    }
    if !visit.while_in_there.is_empty() {
        sheet.heading("While you are in there");
        for (n, offer) in visit.while_in_there.iter().enumerate() {
            let side = if offer.other_side { ", the other side" } else { "" };
            let line = format!(
                "+ {} – {}{side}: {} more, saves {}",
                words::repair(library, &offer.repair),
                words::part(library, &offer.part),
                words::hours(offer.hours),
                words::hours(offer.saves)
            );
            sheet.put(&line, desk.theme.text(), Some(Of::Offer(n)));
        }
    }
    paper::put(&mut sheet, visit);
    sheet.lines
}

fn work_line(desk: &Desk, n: usize, work: &Work) -> String {
    let pinned = desk
        .car
        .as_ref()
        .is_some_and(|c| c.wishes.pinned.contains_key(&work.part));
    format!(
        "{}. {} – {}: {}{}{}",
        n + 1,
        words::repair(&desk.library, &work.repair),
        words::part(&desk.library, &work.part),
        words::hours(work.hours),
        work.trade
            .as_ref()
            .map_or_else(String::new, |t| format!(" of the {t}'s")),
        if pinned { ", fixed to its date" } else { "" }
    )
}

fn why_work(desk: &Desk, work: &Work) -> String {
    let mut line = format!(
        "{}; takes away {} points",
        words::because(work.because),
        words::points(work.points)
    );
    if work.covers.len() > 1 {
        let covers: Vec<String> = work
            .covers
            .iter()
            .skip(1)
            .map(|p| words::part(&desk.library, p))
            .collect();
        line.push_str(&format!("; renews or treats too: {}", covers.join("; ")));
    }
    if !work.instead.is_empty() {
        let others: Vec<String> = work
            .instead
            .iter()
            .map(|r| words::small(&words::repair(&desk.library, r)))
            .collect();
        line.push_str(&format!("; would do instead: {}", others.join(" or ")));
    }
    line
}

/// Draws a visit.
pub fn view(desk: &Desk, visit: &Visit, number: (usize, usize), at: usize, area: Rect, buf: &mut Buffer) {
    let theme = &desk.theme;
    let hours = match &visit.booking {
        Some(booking) => {
            let hours = words::hours(visit.hours.mean);
            [format!("{hours} of the {}'s ", booking.trade), format!("{hours} ")]
        }
        None => [
            format!(
                "{:.1} h, nine times in ten up to {:.1} h ",
                visit.hours.median, visit.hours.high
            ),
            format!("{:.1} h ", visit.hours.median),
        ],
    };
    let titles = [
        format!("Visit {} of {}: {}", number.0, number.1, words::day(visit.date)),
        format!("Visit {} of {}: {}", number.0, number.1, visit.date),
    ];
    // Room for the hours on the narrowest screen too.
    let fits = text::width(&titles[0]) + 8 < usize::from(area.width);
    let taken = put(
        buf,
        area,
        1,
        0,
        if fits { &titles[0] } else { &titles[1] },
        theme.title(),
    );
    if !visit.runs_on.is_empty() && visit.booking.is_none() {
        let days: Vec<String> = visit.runs_on.iter().map(|d| text::day(*d)).collect();
        put(
            buf,
            area,
            taken + 2,
            0,
            &format!("runs on: {}", days.join(", ")),
            theme.text(),
        );
    } else {
        put_right_of(
            buf,
            area,
            0,
            taken + 1,
            &hours.each_ref().map(String::as_str),
            theme.text(),
        );
    }
    let all = lines(desk, visit);
    let rows = area.height.saturating_sub(2);
    let columns = (area.width / COLUMN).max(1);
    let shown = window(at, all.len(), rows * columns);
    let (first, last) = (shown.start, shown.end);
    let left = if area.width < 60 { 0 } else { 1 };
    let wide = if columns > 1 {
        COLUMN - 2
    } else {
        area.width.saturating_sub(left + 1)
    };
    let places = (0..columns).flat_map(|column| (0..rows).map(move |dy| (column * COLUMN, dy)));
    for ((dx, dy), n) in places.zip(shown) {
        let Some(line) = all.get(n) else { continue };
        let body = Rect::new(area.x + left + dx, area.y + 1, wide, rows).intersection(area);
        put(buf, body, 2, dy, &line.words, line.style);
        if n == at {
            put(buf, body, 0, dy, "›", theme.accent());
            if line.of.is_some() {
                tint(buf, body, dy, theme.selected());
            }
        }
    }
    let section = all.iter().take(at + 1).rev().find(|line| line.heading);
    let section_wide = usize::from(area.width.saturating_sub(24)).min(40);
    let section = section.map_or_else(String::new, |line| {
        format!("{}  ", text::shorten(&line.words, section_wide))
    });
    let above = if first > 0 { "↑ " } else { "  " };
    let below = if last < all.len() { "↓" } else { " " };
    put_right(
        buf,
        area,
        area.height.saturating_sub(1),
        &format!("{section}{above}line {} of {} {below} ", at + 1, cells(all.len())),
        theme.dim(),
    );
}
