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
        // Keys that move and open have nothing to work on in an empty yard.
        let mut places = match desk.cars.as_deref() {
            None | Some([]) => vec![Place::EmptyYard],
            Some(_) => vec![Place::Yard, Place::List],
        };
        if desk.car.is_some() {
            places.push(Place::OfCar);
        }
        places.push(Place::Everywhere);
        places
    }

    /// Does what is asked.
    pub fn update(&mut self, desk: &Desk, command: Command) -> Vec<Effect> {
        let cars = desk.cars.as_deref().unwrap_or_default();
        if let Some(by) = command.by(10) {
            self.selected = step(self.selected, by, cars.len());
            return Vec::new();
        }
        match command {
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
        // On a narrow screen the second row of a car tells what comes first, and the last survey gives way.
        let narrow = area.width < 60;
        let name_at = 2;
        let survey_at: u16 = if wide { 34 } else { 22 };
        let first_at = survey_at + 12;
        let visit_at = area.width.saturating_sub(12);
        let headings: &[(u16, &str)] = if narrow {
            &[(name_at, "Car"), (visit_at, "Next visit")]
        } else {
            &[
                (name_at, "Car"),
                (survey_at, "Last survey"),
                (first_at, "Comes first"),
                (visit_at, "Next visit"),
            ]
        };
        for (dx, words) in headings {
            put(buf, area, *dx, 0, words, theme.title());
        }
        let list = Rect::new(area.x, area.y + 1, area.width, area.height.saturating_sub(1)).intersection(area);
        let name_wide = if narrow { visit_at } else { survey_at }.saturating_sub(name_at + 1);
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
                &text::fit(&text::clean(&row.name), usize::from(name_wide)),
                theme.title(),
            );
            if narrow {
                draw_says(desk, row, list, None, visit_at, dy, buf);
            } else {
                let survey = row.last_survey.map_or("none yet".to_owned(), text::day);
                put(buf, list, survey_at, dy, &survey, theme.text());
                draw_says(desk, row, list, Some(first_at), visit_at, dy, buf);
            }
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

/// What the engine says of a car: at `first` in its row, or where there is no room, in the row below it.
fn draw_says(desk: &Desk, row: &CarRow, list: Rect, first: Option<u16>, visit_at: u16, dy: u16, buf: &mut Buffer) {
    let theme = &desk.theme;
    if let Some(trouble) = &row.trouble {
        put(buf, list, 4, dy + 1, trouble, theme.caution());
        return;
    }
    let mut below = 4;
    let (mut x, row_of_first, end) = match first {
        Some(at) => (at, dy, visit_at.saturating_sub(1)),
        None => (below, dy + 1, list.width),
    };
    let Some(says) = &row.says else {
        let words = match row.last_survey {
            Some(_) => "reckoning…",
            None if first.is_none() => "no survey yet",
            None => "",
        };
        put(buf, list, x, row_of_first, words, theme.dim());
        return;
    };
    if says.notice {
        below += put(buf, list, below, dy + 1, " keep off the road ", theme.notice()) + 1;
        x = if first.is_none() { below } else { x };
    }
    match &says.first {
        Some((part, grade)) => {
            if let Some(grade) = grade {
                x += put(buf, list, x, row_of_first, &format!(" {grade} "), theme.grade(*grade)) + 1;
            }
            let room = usize::from(end.saturating_sub(x));
            put(buf, list, x, row_of_first, &text::shorten(part, room), theme.text());
        }
        None => {
            put(buf, list, x, row_of_first, "nothing seen yet", theme.dim());
        }
    }
    let visit = says.next_visit.map_or("–".to_owned(), text::day);
    put(buf, list, visit_at, dy, &visit, theme.text());
}
