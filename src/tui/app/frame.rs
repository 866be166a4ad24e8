//! What surrounds every screen: title, tabs, the sentence at the foot, the keys valid now, and the floor below which
//! nothing is drawn.

use ratatui::buffer::Buffer;
use ratatui::layout::{Position, Rect};

use super::{App, plain};
use crate::report::words;
use crate::text;
use crate::tui::desk::Keeping;
use crate::tui::keys::{Binding, Place, bar};
use crate::tui::screen::{Name, Over};
use crate::tui::widget::{cells, para, put, put_right, tint};

/// The least columns and rows in which the screens can be used.
pub const FLOOR: (u16, u16) = (40, 12);

/// Whether a terminal is below the floor.
pub fn too_small(size: (u16, u16)) -> bool {
    size.0 < FLOOR.0 || size.1 < FLOOR.1
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
                Over::Pick(pick) => pick.view(theme, inside, buf),
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
        let tabs: Vec<_> = Name::OF_CAR
            .iter()
            .filter(|(_, name, _)| *name != Name::Yard || self.desk.cars.is_some())
            .collect();
        let gap = if area.width >= 100 { 2 } else { 1 };
        let whole: usize = tabs.iter().map(|(_, _, word)| word.len() + 2 + gap).sum();
        // Where they would leave no room for the car's name, all but the screen shown keep their keys alone.
        let short = whole + 12 > usize::from(area.width);
        let named = |name: &Name| !short || *name == self.now;
        let wide: usize = tabs
            .iter()
            .map(|(_, name, word)| if named(name) { word.len() + 2 + gap } else { 1 + gap })
            .sum();
        let start = area.width.saturating_sub(cells(wide));
        let kept = match &self.desk.keeping {
            Keeping::Memory if self.demo => "demo, not saved: ",
            Keeping::Memory => "not saved: ",
            Keeping::ReadOnly(_) => "read only: ",
            Keeping::Disk => "",
        };
        let name = format!("{kept}{}", car.profile.name);
        put(
            buf,
            area,
            1,
            0,
            &text::shorten(&text::clean(&name), usize::from(start.saturating_sub(2))),
            theme.title(),
        );
        let mut x = start;
        for (key, name, word) in tabs {
            let from = x;
            x += put(buf, area, x, 0, &key.to_string(), theme.accent());
            if named(name) {
                x += put(buf, area, x, 0, &format!(" {word}"), theme.text());
            }
            if *name == self.now {
                let tab = Rect::new(area.x + from, area.y, x - from, 1).intersection(area);
                tint(buf, tab, 0, theme.selected());
            }
            x += cells(gap);
        }
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
            put(buf, area, 1, 0, &sentence.words, style);
        } else if self.desk.reckoning && self.now.needs_reckoning() {
            put(buf, area, 1, 0, "reckoning…", theme.dim());
        } else if let Keeping::ReadOnly(who) = &self.desk.keeping {
            put(buf, area, 1, 0, who, theme.dim());
        } else if self.now.needs_reckoning() && self.over.is_empty() {
            let whole = words::ORDERS_WORK_ONLY;
            let fits = text::width(whole) + 2 <= usize::from(area.width);
            let shown = if fits {
                whole
            } else {
                "This orders work; it never says that a car is safe."
            };
            put(buf, area, 1, 0, shown, theme.dim());
        }
    }

    fn draw_bar(&self, area: Rect, buf: &mut Buffer) {
        let theme = &self.desk.theme;
        let places = self.places();
        let mut x = 1;
        // The keys of the whole program stand at the right, so that help and the way out are always in sight.
        let (own, everywhere): (Vec<&Binding>, Vec<&Binding>) =
            bar(&places).partition(|b| b.place != Place::Everywhere);
        let tail: usize = everywhere
            .iter()
            .map(|b| text::width(b.shown) + text::width(b.short) + 3)
            .sum();
        let end = area.width.saturating_sub(cells(tail));
        for binding in own {
            let wide = cells(text::width(binding.shown) + text::width(binding.short) + 1);
            if x + wide >= end {
                continue;
            }
            x += put(buf, area, x, 0, binding.shown, theme.accent()) + 1;
            x += put(buf, area, x, 0, binding.short, theme.text()) + 2;
        }
        let mut x = end;
        for binding in everywhere {
            x += put(buf, area, x, 0, binding.shown, theme.accent()) + 1;
            x += put(buf, area, x, 0, binding.short, theme.text()) + 2;
        }
    }
}
