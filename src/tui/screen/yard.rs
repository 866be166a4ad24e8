//! The Yard: all cars.

use ratatui::buffer::Buffer;
use ratatui::layout::Rect;

use super::{Effect, new_car};
use crate::text;
use crate::tui::desk::{CarRow, Desk};
use crate::tui::keys::{Command, Place};
use crate::tui::widget::{cells, para, put, step, tint, window};

/// The Yard.
#[derive(Debug, Clone, Default)]
pub struct Model {
    selected: usize,
}

impl Model {
    /// The places whose keys hold.
    #[must_use]
    pub fn places(&self, desk: &Desk) -> Vec<Place> {
        let mut places = vec![Place::Yard, Place::List];
        if desk.car.is_some() {
            places.push(Place::OfCar);
        }
        places.push(Place::Everywhere);
        places
    }

    /// Does what is asked.
    pub fn update(&mut self, desk: &Desk, command: Command) -> Vec<Effect> {
        let cars = desk.cars.as_deref().unwrap_or_default();
        match command {
            Command::Up => self.selected = step(self.selected, -1, cars.len()),
            Command::Down => self.selected = step(self.selected, 1, cars.len()),
            Command::PageUp => self.selected = step(self.selected, -10, cars.len()),
            Command::PageDown => self.selected = step(self.selected, 10, cars.len()),
            Command::First => self.selected = 0,
            Command::Last => self.selected = cars.len().saturating_sub(1),
            Command::New => return vec![new_car::begin(desk)],
            Command::Open => {
                return match cars.get(self.selected) {
                    Some(car) => vec![Effect::OpenCar(car.id.clone())],
                    None => vec![Effect::Say("The yard is empty; n adds a car.".to_owned())],
                };
            }
            _ => {}
        }
        Vec::new()
    }

    /// Draws it.
    pub fn view(&self, desk: &Desk, area: Rect, buf: &mut Buffer) {
        let theme = &desk.theme;
        let cars = desk.cars.as_deref().unwrap_or_default();
        if cars.is_empty() {
            let inside = Rect::new(
                area.x + 2,
                area.y + 1,
                area.width.saturating_sub(4),
                area.height.saturating_sub(1),
            );
            let mut dy = para(buf, inside, 0, "No car stands in the yard yet.", theme.title());
            for words in [
                "",
                "Press n: a short form asks for its name, how it is laid out and how it is used. Then the Round takes you \
                 round it, one check at a time, and the Standing and the Plan follow from what you saw.",
                "",
                "To look at a finished example first, leave with q and start `tinworm demo`.",
            ] {
                dy = dy.saturating_add(para(buf, inside, dy, words, theme.text()));
            }
            return;
        }
        let wide = area.width >= 100;
        let name_at = 2;
        let survey_at: u16 = if wide { 34 } else { 22 };
        let first_at = survey_at + 12;
        let visit_at = area.width.saturating_sub(12);
        for (dx, words) in [
            (name_at, "Car"),
            (survey_at, "Last survey"),
            (first_at, "Comes first"),
            (visit_at, "Next visit"),
        ] {
            put(buf, area, dx, 0, words, theme.title());
        }
        let list = Rect::new(area.x, area.y + 1, area.width, area.height.saturating_sub(1)).intersection(area);
        // Two rows for each car: its line, and the notice or what keeps it shut.
        let fits = list.height / 2;
        for (slot, n) in (0..fits).zip(window(self.selected, cars.len(), fits)) {
            let (dy, Some(row)) = (slot * 2, cars.get(n)) else {
                continue;
            };
            put(
                buf,
                list,
                name_at,
                dy,
                &text::fit(&text::clean(&row.name), usize::from(survey_at - name_at - 1)),
                theme.title(),
            );
            let survey = row.last_survey.map_or("none yet".to_owned(), text::day);
            put(buf, list, survey_at, dy, &survey, theme.text());
            draw_says(desk, row, list, (first_at, visit_at), dy, buf);
            if n == self.selected {
                tint(buf, list, dy, theme.selected());
            }
        }
        let left = cells(cars.len()).saturating_sub(fits);
        if left > 0 {
            put(
                buf,
                area,
                2,
                area.height.saturating_sub(1),
                &format!("{left} more"),
                theme.dim(),
            );
        }
    }
}

fn draw_says(desk: &Desk, row: &CarRow, list: Rect, at: (u16, u16), dy: u16, buf: &mut Buffer) {
    let theme = &desk.theme;
    if let Some(trouble) = &row.trouble {
        put(buf, list, 4, dy + 1, trouble, theme.caution());
    }
    let Some(says) = &row.says else {
        if row.trouble.is_none() && row.last_survey.is_some() {
            put(buf, list, at.0, dy, "reckoning…", theme.dim());
        }
        return;
    };
    let room = usize::from(at.1.saturating_sub(at.0 + 1));
    match &says.first {
        Some((part, grade)) => {
            let mut x = at.0;
            if let Some(grade) = grade {
                x += put(buf, list, x, dy, &format!(" {grade} "), theme.grade(*grade)) + 1;
            }
            put(
                buf,
                list,
                x,
                dy,
                &text::shorten(part, room.saturating_sub(4)),
                theme.text(),
            );
        }
        None => {
            put(buf, list, at.0, dy, "nothing seen yet", theme.dim());
        }
    }
    let visit = says.next_visit.map_or("–".to_owned(), text::day);
    put(buf, list, at.1, dy, &visit, theme.text());
    if says.notice && row.trouble.is_none() {
        put(buf, list, 4, dy + 1, " keep off the road ", theme.notice());
    }
}
