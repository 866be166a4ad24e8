//! How the Standing looks.

use ratatui::buffer::Buffer;
use ratatui::layout::Rect;

use super::{Model, Pane};
use crate::engine::{LookNext, PartState};
use crate::report::words;
use crate::rubric::PartId;
use crate::text;
use crate::tui::desk::{Desk, Reckoned};
use crate::tui::screen::{Effect, Over, reading};
use crate::tui::widget::top_view::{self, InZone};
use crate::tui::widget::{bar, cells, is_low, para, part_in, put, put_right, rule, step, tint, window};

impl Model {
    /// Draws it.
    pub fn view(&self, desk: &Desk, area: Rect, buf: &mut Buffer) {
        let theme = &desk.theme;
        let Some(says) = desk.says() else { return };
        self.heading(desk, says, area, buf);
        let wide = area.width >= 118;
        let side_by = if wide { top_view::SIZE.0 + 15 } else { 0 };
        let below: u16 = if wide || is_low(area) {
            0
        } else {
            (area.height / 2).clamp(8, 12)
        };
        let list = Rect::new(
            area.x,
            area.y + 1,
            area.width.saturating_sub(side_by),
            area.height.saturating_sub(below + 1),
        )
        .intersection(area);
        let selected = step(self.selected, 0, self.listed(desk).len());
        match self.pane {
            Pane::Ranked => self.draw_ranked(desk, says, selected, list, buf),
            Pane::LookFirst => self.draw_first(desk, says, selected, list, buf),
            Pane::LookNext => self.draw_next(desk, says, selected, list, buf),
        }
        let chosen = self.listed(desk).get(selected).map(|(id, _)| id.clone());
        let zone = chosen.as_ref().map(|id| top_view::zone(&id.station));
        let of = |zone| in_zone(says, zone);
        if wide {
            let right = Rect::new(list.right() + 1, area.y + 1, side_by - 1, area.height - 1).intersection(area);
            top_view::draw(
                buf,
                Rect::new(right.x + 7, right.y, right.width, right.height).intersection(area),
                theme,
                of,
                zone,
            );
            let under = top_view::SIZE.1 + 1;
            let detail = Rect::new(
                right.x,
                right.y + under,
                right.width,
                right.height.saturating_sub(under),
            )
            .intersection(area);
            draw_detail(desk, chosen.as_ref(), detail, buf);
        } else if below > 0 {
            let top = list.bottom();
            rule(buf, area, top - area.y, "", theme.rule(), theme.title());
            let under =
                Rect::new(area.x, top + 1, area.width, area.bottom().saturating_sub(top + 1)).intersection(area);
            let car = Rect::new(
                under.right().saturating_sub(top_view::SIZE.0),
                under.y,
                top_view::SIZE.0.min(under.width),
                under.height,
            )
            .intersection(under);
            // Where both do not fit beside each other, the words are worth more.
            let beside = if under.width < 56 { 0 } else { top_view::SIZE.0 };
            if beside > 0 {
                top_view::draw(buf, car, theme, of, zone);
            }
            let detail = Rect::new(
                under.x + 1,
                under.y,
                under.width.saturating_sub(beside + 2),
                under.height,
            );
            draw_detail(desk, chosen.as_ref(), detail.intersection(under), buf);
        }
    }

    /// Which list, which filters, until when.
    fn heading(&self, desk: &Desk, says: &Reckoned, area: Rect, buf: &mut Buffer) {
        let theme = &desk.theme;
        let narrow = area.width < 50;
        let lists = [
            (Pane::Ranked, "Ranked", self.ranked(desk, says).len()),
            (
                Pane::LookFirst,
                if narrow { "First" } else { "Look first" },
                says.plan
                    .look_first
                    .iter()
                    .filter(|l| self.sieve.passes(desk, &l.part))
                    .count(),
            ),
            (
                Pane::LookNext,
                if narrow { "Next" } else { "Where to look next" },
                says.assessment
                    .look_next
                    .iter()
                    .filter(|l| self.sieve.passes(desk, &l.part))
                    .count(),
            ),
        ];
        let mut x = 1;
        for (pane, name, n) in lists {
            let style = if pane == self.pane {
                theme.selected()
            } else {
                theme.dim()
            };
            x += put(buf, area, x, 0, &format!(" {name} {n} "), style) + u16::from(!narrow);
        }
        let only = self.sieve.words();
        let until = match &only {
            None => format!("exposure until {} ", says.assessment.until),
            Some(only) => format!("{only} "),
        };
        if only.is_none() && usize::from(x) + text::width(&until) > usize::from(area.width) {
            return;
        }
        put_right(
            buf,
            area,
            0,
            &until,
            if only.is_none() { theme.dim() } else { theme.accent() },
        );
    }

    fn draw_ranked(&self, desk: &Desk, says: &Reckoned, selected: usize, area: Rect, buf: &mut Buffer) {
        let theme = &desk.theme;
        let parts = self.ranked(desk, says);
        if parts.is_empty() {
            let words = if self.sieve.words().is_some() {
                "No ranked part passes the filters; f, e and t change them."
            } else {
                "Nothing has been seen of this car yet. r begins the Round; v shows what to look at first."
            };
            para(
                buf,
                Rect::new(area.x + 1, area.y, area.width.saturating_sub(2), area.height),
                1,
                words,
                theme.text(),
            );
            return;
        }
        let most = parts.iter().map(|p| p.points).fold(0.0, f64::max);
        let columns = Columns::of(area.width);
        let ticked = desk
            .car
            .as_ref()
            .map(|c| c.wishes.ticked.as_slice())
            .unwrap_or_default();
        for (dx, name) in [
            (columns.name, "Part"),
            (columns.bar, "Exposure"),
            (columns.pace, "Gr/yr"),
            (columns.left, "Time left"),
        ] {
            put(buf, area, dx, 0, name, theme.dim());
        }
        let rows = area.height.saturating_sub(1);
        for (dy, n) in (1..=rows).zip(window(selected, parts.len(), rows)) {
            let Some(part) = parts.get(n) else { continue };
            let place = part.rank.map_or(0, |r| r.place);
            let tick = if ticked.contains(&part.id) { "✓" } else { " " };
            put(buf, area, 0, dy, &format!("{place:>3}{tick}"), theme.dim());
            let name = part_in(&desk.library, &part.id, columns.bar - columns.name - 5);
            put(buf, area, columns.name, dy, &name, theme.text());
            put(
                buf,
                area,
                columns.bar + columns.bar_width + 1,
                dy,
                &format!("{:>5}", words::points(part.points)),
                theme.text(),
            );
            if let Some(check) = part.leading_check() {
                put(
                    buf,
                    area,
                    columns.pace,
                    dy,
                    &format!("{:>5}", text::figure(check.grades_per_year)),
                    theme.text(),
                );
                put(buf, area, columns.left, dy, &left(check.years_left.mid), theme.text());
            }
            if n == selected {
                tint(buf, area, dy, theme.selected());
            }
            // Over the selection, so that bar and digit keep their own shades.
            let share = if most > 0.0 { part.points / most } else { 0.0 };
            let unknown = if most > 0.0 { part.unknown_points / most } else { 0.0 };
            bar::draw(
                buf,
                area,
                columns.bar,
                dy,
                columns.bar_width,
                share,
                unknown,
                (theme.bar(), theme.uncertain()),
            );
            if let Some(worst) = &part.worst {
                put(
                    buf,
                    area,
                    columns.bar - 4,
                    dy,
                    &format!(" {} ", worst.grade),
                    theme.grade(worst.grade),
                );
            }
        }
    }

    fn draw_first(&self, desk: &Desk, says: &Reckoned, selected: usize, area: Rect, buf: &mut Buffer) {
        let theme = &desk.theme;
        let parts: Vec<_> = says
            .plan
            .look_first
            .iter()
            .filter(|l| self.sieve.passes(desk, &l.part))
            .collect();
        if parts.is_empty() {
            put(
                buf,
                area,
                1,
                1,
                "Something has been seen of every part shown here.",
                theme.text(),
            );
            return;
        }
        let whole = "Nothing has been seen of these; the rubric alone speaks. Look before any work.";
        let shorter = "Never seen: look before any work.";
        let said = if text::width(whole) < usize::from(area.width) {
            whole
        } else {
            shorter
        };
        put(buf, area, 1, 0, said, theme.dim());
        let most = parts.iter().map(|l| l.points).fold(0.0, f64::max);
        let rows = area.height.saturating_sub(1);
        let (bar_at, bar_wide) = bar_of_minutes(area.width);
        for (dy, n) in (1..=rows).zip(window(selected, parts.len(), rows)) {
            let Some(look) = parts.get(n) else { continue };
            let name = part_in(&desk.library, &look.part, bar_at.saturating_sub(2));
            put(buf, area, 1, dy, &name, theme.text());
            let share = if most > 0.0 { look.points / most } else { 0.0 };
            bar::draw(
                buf,
                area,
                bar_at,
                dy,
                bar_wide,
                share,
                share,
                (theme.bar(), theme.uncertain()),
            );
            let line = format!("{:>5}  {:>3.0} min", words::points(look.points), look.minutes);
            put(buf, area, bar_at + bar_wide + 1, dy, &line, theme.text());
            if n == selected {
                tint(buf, area, dy, theme.selected());
            }
        }
    }

    fn draw_next(&self, desk: &Desk, says: &Reckoned, selected: usize, area: Rect, buf: &mut Buffer) {
        let theme = &desk.theme;
        let looks: Vec<_> = says
            .assessment
            .look_next
            .iter()
            .filter(|l| self.sieve.passes(desk, &l.part))
            .collect();
        if looks.is_empty() {
            put(
                buf,
                area,
                1,
                1,
                "No look would change the standing much just now.",
                theme.text(),
            );
            return;
        }
        put(
            buf,
            area,
            1,
            0,
            if area.width < 56 {
                "Worth most, for each minute."
            } else {
                "What a look would change, for each minute of looking."
            },
            theme.dim(),
        );
        let most = looks.iter().map(|l| worth(l)).fold(0.0, f64::max);
        let rows = area.height.saturating_sub(1);
        let (bar_at, bar_wide) = bar_of_minutes(area.width);
        for (dy, n) in (1..=rows).zip(window(selected, looks.len(), rows)) {
            let Some(look) = looks.get(n) else { continue };
            let check = words::check(&desk.library, &look.part.component, &look.check);
            let room = bar_at.saturating_sub(2);
            let left = room.saturating_sub(cells(text::width(&check)) + 3);
            // Where there is no room for the check as well, the part and its place come first.
            let name = if left >= 20 {
                format!("{} – {check}", part_in(&desk.library, &look.part, left))
            } else {
                part_in(&desk.library, &look.part, room)
            };
            put(buf, area, 1, dy, &name, theme.text());
            let share = if most > 0.0 { worth(look) / most } else { 0.0 };
            bar::draw(
                buf,
                area,
                bar_at,
                dy,
                bar_wide,
                share,
                0.0,
                (theme.bar(), theme.uncertain()),
            );
            let line = format!("{:>5}  {:>3.0} min", text::figure(worth(look)), look.minutes);
            put(buf, area, bar_at + bar_wide + 1, dy, &line, theme.text());
            if n == selected {
                tint(buf, area, dy, theme.selected());
            }
        }
    }
}

/// Where the columns of the ranked list stand.
struct Columns {
    name: u16,
    bar: u16,
    bar_width: u16,
    pace: u16,
    left: u16,
}

impl Columns {
    fn of(width: u16) -> Columns {
        if width < 56 {
            // Only what orders the list: which part, how bad, how much. The rest stands beyond the edge.
            return Columns {
                name: 5,
                bar: width.saturating_sub(11).max(10),
                bar_width: 4,
                pace: width,
                left: width,
            };
        }
        let left = width.saturating_sub(11);
        let pace = left.saturating_sub(7);
        let bar_width = (width / 8).clamp(6, 20);
        let bar = pace.saturating_sub(bar_width + 8).max(10);
        Columns {
            name: 5,
            bar,
            bar_width,
            pace,
            left,
        }
    }
}

/// Where the bar of a list of looks begins and how wide it is; figures and minutes stand behind it.
fn bar_of_minutes(width: u16) -> (u16, u16) {
    if width < 56 {
        (width.saturating_sub(19), 3)
    } else {
        (width.saturating_sub(32), 12)
    }
}

/// What a look would change, for each minute of looking.
fn worth(look: &LookNext) -> f64 {
    look.moves / look.minutes.max(0.1)
}

/// Years left, short enough for a column.
fn left(years: Option<f64>) -> String {
    text::years(years).replace("over 60 years", ">60 years")
}

/// What a zone of the top view shows.
fn in_zone(says: &Reckoned, zone: top_view::Zone) -> InZone {
    let here = says
        .assessment
        .parts
        .iter()
        .filter(|p| top_view::zone(&p.id.station) == zone);
    here.fold(InZone::default(), |so_far, part| InZone {
        worst: so_far.worst.max(part.worst.as_ref().map(|w| w.grade)),
        unseen: so_far.unseen || !part.seen,
    })
}

/// What is said of the selected part.
fn draw_detail(desk: &Desk, part: Option<&PartId>, area: Rect, buf: &mut Buffer) {
    let theme = &desk.theme;
    let Some(id) = part else { return };
    let mut dy = para(buf, area, 0, &words::part(&desk.library, id), theme.title());
    let Some(state) = desk.part(id) else { return };
    if state.seen {
        dy += para(
            buf,
            area,
            dy,
            &words::reason(&desk.library, state, desk.today),
            theme.text(),
        );
    } else if let Some(component) = desk.library.component(&id.component) {
        dy += para(buf, area, dy, &component.about, theme.text());
    }
    dy += facts(desk, state, area, dy, buf);
    for cause in state.causes.iter().take(4) {
        let line = format!(
            "{} points: {}",
            words::points(cause.points),
            words::cause(&desk.library, &id.component, cause)
        );
        dy += para(
            buf,
            area,
            dy,
            &line,
            if cause.unknown { theme.dim() } else { theme.text() },
        );
    }
}

/// Rank range, time left with its spread, what it rests on.
fn facts(desk: &Desk, state: &PartState, area: Rect, dy: u16, buf: &mut Buffer) -> u16 {
    let theme = &desk.theme;
    let mut taken = 0;
    if let Some(check) = state.leading_check() {
        let line = format!("Time left {}", words::years_left(&check.years_left));
        taken += para(buf, area, dy + taken, &line, theme.text());
        let rests = format!("rests on {}", words::rests_on(check.rests_on_looks));
        let range = state
            .rank
            .map_or(String::new(), |r| format!("Place {}; ", words::rank_range(&r)));
        let risk = format!("risk level {}; ", words::risk(state.risk));
        taken += para(buf, area, dy + taken, &format!("{range}{risk}{rests}"), theme.dim());
    }
    taken
}

/// Everything that is said of a part.
pub fn read_on(desk: &Desk, id: &PartId) -> Vec<Effect> {
    let (Some(state), Some(component)) = (desk.part(id), desk.library.component(&id.component)) else {
        return Vec::new();
    };
    let mut said = vec![("The part".to_owned(), component.about.clone())];
    if state.seen {
        said.push((
            "Why it stands here".to_owned(),
            words::reason(&desk.library, state, desk.today),
        ));
    }
    let causes: Vec<String> = state
        .causes
        .iter()
        .map(|c| {
            let unseen = if c.unknown {
                " (rests on checks nobody has seen)"
            } else {
                ""
            };
            format!(
                "{} points: {}{unseen}",
                words::points(c.points),
                words::cause(&desk.library, &id.component, c)
            )
        })
        .collect();
    if !causes.is_empty() {
        said.push((
            format!("Exposure, {} points", words::points(state.points)),
            causes.join("\n"),
        ));
    }
    for check in &state.checks {
        let rubric = desk.library.check(&id.component, &check.check);
        let mut lines = match &check.last {
            Some(last) => format!("Seen {}: {}.", last.date, words::seen(&last.seen, rubric)),
            None => "Not seen.".to_owned(),
        };
        lines.push_str(&format!(
            " Pace {}; time left {}; rests on {}.",
            words::pace(check.grades_per_year),
            words::years_left(&check.years_left),
            words::rests_on(check.rests_on_looks)
        ));
        if let Some(change) = &check.change {
            lines.push_str(&format!("\n{}", words::change(change)));
        }
        for flag in &check.flags {
            lines.push_str(&format!("\n{}", words::large(words::flag(*flag))));
        }
        said.push((words::check(&desk.library, &id.component, &check.check), lines));
    }
    let heading = words::part(&desk.library, id);
    vec![Effect::Over(Box::new(Over::Reading(reading::Model::new(
        &heading, said,
    ))))]
}
