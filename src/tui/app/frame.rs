//! What surrounds every screen: title, tabs, the sentence at the foot, the keys valid now, and the floor below which
//! nothing is drawn.

use ratatui::buffer::Buffer;
use ratatui::layout::{Position, Rect};
use ratatui::style::Style;

use super::{App, plain};
use crate::report::words;
use crate::text;
use crate::tui::desk::Keeping;
use crate::tui::keys::{Binding, Command, Place, bar};
use crate::tui::screen::{Name, Over};
use crate::tui::widget::{cells, para, para_in, put, put_right, tint};

/// The least columns and rows in which the screens can be used.
pub const FLOOR: (u16, u16) = (40, 12);

/// Whether a terminal is below the floor.
pub fn too_small(size: (u16, u16)) -> bool {
    size.0 < FLOOR.0 || size.1 < FLOOR.1
}

/// A screen named in the title.
struct Tab {
    from: u16,
    to: u16,
    key: char,
    name: Name,
    words: String,
}

impl App {
    /// Draws the present state and says where the cursor stands, if anywhere.
    pub fn view(&self, area: Rect, buf: &mut Buffer) -> Option<Position> {
        let area = area.intersection(buf.area);
        if too_small((area.width, area.height)) {
            let words = format!(
                "Needs {} columns by {} rows; this terminal has {} by {}. Enlarge it, or leave with q.",
                FLOOR.0, FLOOR.1, area.width, area.height
            );
            para(buf, area, 0, &words, self.desk.theme.text());
            return None;
        }
        self.draw_title(Rect::new(area.x, area.y, area.width, 1), buf);
        let notice = self.notice();
        let top = if notice.is_some() { 2 } else { 1 };
        if let Some(words) = &notice {
            put(
                buf,
                area,
                0,
                1,
                &text::fit(words, usize::from(area.width)),
                self.desk.theme.notice(),
            );
        }
        let inside = Rect::new(area.x, area.y + top, area.width, area.height - top - 2);
        self.draw_screen(inside, buf);
        let mut cursor = None;
        for over in &self.over {
            let theme = &self.desk.theme;
            cursor = match over {
                Over::Help(help) => {
                    help.view(theme, inside, buf);
                    None
                }
                Over::Reading(reading) => {
                    reading.view(theme, inside, buf);
                    None
                }
                Over::Confirm(ask) => {
                    ask.view(theme, inside, buf);
                    None
                }
                Over::Photo(photo) => {
                    photo.view(theme, inside, buf);
                    None
                }
                Over::Files(files) => files.view(theme, inside, buf),
                Over::Pick(pick) => pick.view(&self.desk, inside, buf),
                Over::Form(form) => form.view(theme, inside, buf),
            };
        }
        self.draw_sentence(Rect::new(area.x, area.bottom() - 2, area.width, 1), buf);
        self.draw_bar(Rect::new(area.x, area.bottom() - 1, area.width, 1), buf);
        if self.desk.theme.ascii {
            plain::only_ascii(area, buf);
        }
        cursor
    }

    fn draw_screen(&self, area: Rect, buf: &mut Buffer) {
        let desk = &self.desk;
        if self.now.needs_reckoning() && desk.says().is_none() {
            put(buf, area, 1, 1, "reckoning…", desk.theme.dim());
            return;
        }
        match self.now {
            Name::Yard => self.yard.view(desk, area, buf),
            Name::Round => self.round.view(desk, area, buf),
            Name::Standing => self.standing.view(desk, area, buf),
            Name::Sides => self.sides.view(desk, area, buf),
            Name::Decline => self.decline.view(desk, area, buf),
            Name::Plan => self.plan.view(desk, area, buf),
            Name::Fixings => self.fixings.view(desk, area, buf),
            Name::Car => self.car.view(desk, area, buf),
        }
    }

    fn draw_title(&self, area: Rect, buf: &mut Buffer) {
        let theme = &self.desk.theme;
        let Some(car) = &self.desk.car else {
            put(buf, area, 1, 0, "tinworm", theme.title());
            put_right(buf, area, 0, &format!("all cars, {} ", self.desk.today), theme.dim());
            return;
        };
        let tabs = self.tabs_laid(area.width);
        let start = tabs.first().map_or(area.width, |tab| tab.from);
        // The car's name comes first; how it is kept stands behind it as far as there is room, and shorter where there is little.
        let kept: &[&str] = match &self.desk.keeping {
            Keeping::Memory if self.demo => &["demo, not saved", "demo"],
            Keeping::Memory => &["not saved"],
            Keeping::ReadOnly(_) => &["read only", "read"],
            Keeping::Disk => &[],
        };
        let room = usize::from(start.saturating_sub(2));
        let name = text::clean(&car.profile.name);
        let said = kept
            .iter()
            .map(|word| format!(" ({word})"))
            .find(|word| text::width(&name) + text::width(word) <= room)
            .or_else(|| Some(format!(" ({})", kept.last()?)))
            .unwrap_or_default();
        let name = text::shorten(&name, room.saturating_sub(text::width(&said)));
        let taken = put(buf, area, 1, 0, &name, theme.title());
        put(buf, area, 1 + taken, 0, &said, theme.dim());
        for tab in tabs {
            let taken = put(buf, area, tab.from, 0, &tab.key.to_string(), theme.accent());
            put(buf, area, tab.from + taken, 0, &tab.words, theme.text());
            if tab.name == self.now {
                let tab = Rect::new(area.x + tab.from, area.y, tab.to - tab.from, 1).intersection(area);
                tint(buf, tab, 0, theme.selected());
            }
        }
    }

    /// The screens at the right of the title, with the columns they take.
    fn tabs_laid(&self, width: u16) -> Vec<Tab> {
        let all = Name::OF_CAR
            .iter()
            .filter(|(_, name, _)| *name != Name::Yard || self.desk.cars.is_some());
        let gap = if width >= 100 { 2 } else { 1 };
        let whole: usize = all.clone().map(|(_, _, word)| word.len() + 2 + usize::from(gap)).sum();
        // Where they would leave no room for the car's name, all but the screen shown keep their keys alone.
        let short = whole + 12 > usize::from(width);
        let mut tabs: Vec<Tab> = Vec::new();
        let mut x = 0;
        for (key, name, word) in all {
            let words = if !short || *name == self.now {
                format!(" {word}")
            } else {
                String::new()
            };
            let to = x + 1 + cells(text::width(&words));
            tabs.push(Tab {
                from: x,
                to,
                key: *key,
                name: *name,
                words,
            });
            x = to + gap;
        }
        let start = width.saturating_sub(x);
        for tab in &mut tabs {
            tab.from += start;
            tab.to += start;
        }
        tabs
    }

    /// The key of the screen named at a column of the title.
    pub(super) fn tab_at(&self, x: u16) -> Option<char> {
        let tabs = self.tabs_laid(self.size.0);
        tabs.iter().find(|tab| tab.from <= x && x < tab.to).map(|tab| tab.key)
    }

    /// The notice, shown on every screen that orders work.
    fn notice(&self) -> Option<String> {
        let says = self.desk.says().filter(|_| self.now.needs_reckoning())?;
        let first = says.assessment.notice.first()?;
        let all = says.assessment.notice.len();
        let count = if all > 1 {
            format!(" ({})", words::count(all, "reason"))
        } else {
            String::new()
        };
        Some(format!(
            " Keep off the road{count}: {}",
            words::notice(&self.desk.library, first)
        ))
    }

    fn draw_sentence(&self, area: Rect, buf: &mut Buffer) {
        let theme = &self.desk.theme;
        if let Some(sentence) = &self.sentence {
            let style = if sentence.wrong { theme.notice() } else { theme.accent() };
            // A sentence is never cut where there are rows above it to write it into.
            const MOST: usize = 3;
            let wide = area.width.saturating_sub(2);
            let lines = cells(
                text::wrap(&text::clean(&sentence.words), usize::from(wide))
                    .len()
                    .clamp(1, MOST),
            );
            let up = (lines - 1).min(area.y.saturating_sub(buf.area.y));
            let rows = Rect::new(area.x, area.y - up, area.width, up + 1);
            for dy in 0..rows.height {
                put(buf, rows, 0, dy, &" ".repeat(usize::from(rows.width)), theme.text());
                tint(buf, rows, dy, Style::reset());
            }
            let inside = Rect::new(rows.x + 1, rows.y, wide, rows.height);
            para_in(buf, inside, 0, rows.height, &sentence.words, style);
        } else if self.desk.reckoning && self.now.needs_reckoning() {
            put(buf, area, 1, 0, "reckoning…", theme.dim());
        } else if let Keeping::ReadOnly(who) = &self.desk.keeping {
            put(buf, area, 1, 0, who, theme.dim());
        } else if self.now.needs_reckoning() && self.over.is_empty() {
            // Whole on every width: it may be said more shortly, but not be cut.
            let said = [
                words::ORDERS_WORK_ONLY,
                "This orders work; it never says that a car is safe.",
                "Orders work; never says a car is safe.",
            ];
            let fits = said.iter().find(|words| text::width(words) < usize::from(area.width));
            put(buf, area, 1, 0, fits.unwrap_or(&said[2]), theme.dim());
        }
    }

    /// The keys valid now: those of the screen from the left, in order of need, as far as they fit; those of the whole program at
    /// the right, so that help and the way out are always in sight.
    fn draw_bar(&self, area: Rect, buf: &mut Buffer) {
        let theme = &self.desk.theme;
        for (x, binding) in self.bar_laid(area.width) {
            let taken = put(buf, area, x, 0, binding.shown, theme.accent()) + 1;
            put(buf, area, x + taken, 0, binding.short, theme.text());
        }
    }

    /// The keys of the bar with the columns they begin at.
    pub(super) fn bar_laid(&self, width: u16) -> Vec<(u16, &'static Binding)> {
        const APART: u16 = 2;
        let places = self.places();
        let wide = |b: &Binding| cells(text::width(b.shown) + 1 + text::width(b.short));
        let (back, again) = self.can_go_back();
        let of_use = |b: &&Binding| match b.command {
            Command::Undo => back || (b.place == Place::PlanJobs && self.plan.is_trying()),
            Command::Keep => self.plan.is_trying(),
            Command::Redo => again,
            command if self.now == Name::Round && self.over.is_empty() => self.round.is_of_use(command),
            _ => true,
        };
        let (mut own, everywhere): (Vec<&'static Binding>, Vec<&'static Binding>) =
            bar(&places).filter(of_use).partition(|b| b.place != Place::Everywhere);
        // Where something can be taken back, that stands among the first, so that it is seen at 80 columns.
        let goes_back = |b: &&'static Binding| matches!(b.command, Command::Undo | Command::Redo);
        let back: Vec<&'static Binding> = own.iter().copied().filter(goes_back).collect();
        own.retain(|b| !goes_back(b));
        let at = own.len().min(2);
        own.splice(at..at, back);
        let tail: u16 = everywhere.iter().map(|b| wide(b) + APART).sum();
        // One cell is kept free behind the tail.
        let end = width.saturating_sub(tail.saturating_sub(1));
        let mut laid: Vec<(u16, &'static Binding)> = Vec::new();
        let mut x = 1;
        for binding in own {
            // A key of the screen itself hides the same key of every screen; what does not fit is left to the list of all keys,
            // and so is what comes after it.
            if laid.iter().any(|(_, b)| b.shown == binding.shown) {
                continue;
            }
            if x + wide(binding) + APART > end {
                break;
            }
            laid.push((x, binding));
            x += wide(binding) + APART;
        }
        let mut x = end;
        for binding in everywhere {
            laid.push((x, binding));
            x += wide(binding) + APART;
        }
        laid
    }
}
