//! The Plan: visits on the calendar and the exposure that falls with them; a visit opened is [`visit`](mod@super::visit).
//! Beside the visits: the repairs one by one, to move and leave out and see what that changes before it is kept; the parts to
//! buy; and what each limit costs.

mod buys;
mod jobs;
mod limits;

use ratatui::buffer::Buffer;
use ratatui::layout::Rect;

use super::sieve::{self, Sieve};
use super::{Effect, visit};
use crate::engine::plan::{Plan, Visit};
use crate::report::words;
use crate::text;
use crate::tui::desk::Desk;
use crate::tui::keys::{Command, Place};
use crate::tui::widget::{bar, is_low, para, put, put_right, row, rule, step, tint, window};

/// The lists of the Plan.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
enum Pane {
    /// The visits.
    #[default]
    Visits,
    /// The repairs one by one.
    Jobs,
    /// The parts to buy.
    Buys,
    /// What the limits cost.
    Limits,
}

/// The Plan.
#[derive(Debug, Clone, Default)]
pub struct Model {
    /// The line of the list of visits.
    selected: usize,
    sieve: Sieve,
    open: Option<visit::Model>,
    pane: Pane,
    jobs: jobs::Model,
    buys: buys::Model,
    limits: limits::Model,
}

impl Model {
    /// The places whose keys hold.
    #[must_use]
    pub fn places(&self) -> Vec<Place> {
        let own = match self.pane {
            _ if self.open.is_some() => Place::Visit,
            Pane::Visits => Place::Plan,
            Pane::Jobs => Place::PlanJobs,
            Pane::Buys => Place::PlanBuys,
            Pane::Limits => Place::PlanLimits,
        };
        let mut places = vec![own];
        if matches!(own, Place::Plan | Place::PlanJobs | Place::PlanBuys) {
            places.push(Place::Sieve);
        }
        places.extend([Place::List, Place::OfCar, Place::Everywhere]);
        places
    }

    /// Forgets what was tried and not kept; says whether there was anything.
    pub fn forget_tried(&mut self) -> bool {
        self.pane == Pane::Jobs && self.open.is_none() && self.jobs.forget()
    }

    /// Whether something is tried in the list shown and not kept.
    #[must_use]
    pub fn is_trying(&self) -> bool {
        self.pane == Pane::Jobs && self.open.is_none() && self.jobs.is_trying()
    }

    /// Drops what is on trial, wherever it was begun.
    pub fn drop_trial(&mut self) {
        self.jobs.forget();
    }

    /// A line of the list shown was chosen.
    pub fn go_to(&mut self, line: usize) {
        match self.pane {
            Pane::Jobs => self.jobs.go_to(line),
            Pane::Buys => self.buys.go_to(line),
            Pane::Visits => self.selected = line,
            Pane::Limits => {}
        }
    }

    /// The visits that the filters let pass, with their places in the plan: a visit passes with one of its parts.
    fn passing<'d>(&self, desk: &'d Desk) -> Vec<(usize, &'d Visit)> {
        let visits = desk.says().map(|s| s.plan.visits.as_slice()).unwrap_or_default();
        let passes = |visit: &Visit| {
            let mut parts = visit.work.iter().flat_map(|w| &w.on);
            self.sieve == Sieve::default() || parts.any(|part| self.sieve.passes(desk, part))
        };
        visits.iter().enumerate().filter(|(_, v)| passes(v)).collect()
    }

    /// Lets everything pass in the list shown; says whether something was held back.
    pub fn clear_sieve(&mut self) -> bool {
        match self.pane {
            _ if self.open.is_some() => false,
            Pane::Visits => self.sieve.clear(),
            Pane::Jobs => self.jobs.clear_sieve(),
            Pane::Buys => self.buys.clear_sieve(),
            Pane::Limits => false,
        }
    }

    /// Closes the visit that is open; says whether one was.
    pub fn close_visit(&mut self) -> bool {
        self.open.take().is_some()
    }

    /// Does what is asked.
    pub fn update(&mut self, desk: &Desk, command: Command) -> Vec<Effect> {
        let visits = self.passing(desk);
        self.selected = step(self.selected, 0, visits.len());
        if let Some(open) = &mut self.open {
            return match (command, visits.get(self.selected)) {
                (Command::Next, Some(_)) => {
                    self.selected = if self.selected + 1 < visits.len() {
                        self.selected + 1
                    } else {
                        0
                    };
                    if let Some((_, visit)) = visits.get(self.selected) {
                        *open = visit::Model::opened(desk, visit);
                    }
                    Vec::new()
                }
                (command, Some((_, visit))) => open.update(desk, visit, command),
                (_, None) => Vec::new(),
            };
        }
        if command == Command::OtherPane {
            return self.next_pane(desk);
        }
        match self.pane {
            Pane::Visits => {}
            Pane::Jobs => return self.jobs.update(desk, command),
            Pane::Buys => return self.buys.update(desk, command),
            Pane::Limits => return self.limits.update(desk, command),
        }
        if let Some(by) = command.by(8) {
            self.selected = step(self.selected, by, visits.len());
            return Vec::new();
        }
        match command {
            Command::Open => {
                let chosen = visits.get(self.selected);
                self.open = chosen.map(|(_, visit)| visit::Model::opened(desk, visit));
            }
            Command::Search => {
                let line = |(n, visit): &(usize, &Visit)| {
                    let words = format!("{} {}: {}", n + 1, words::day(visit.date), work_of(desk, visit));
                    (words, hours_of(visit).trim().to_owned())
                };
                return sieve::search(visits.iter().map(line).collect(), self.selected);
            }
            _ if self.sieve.update(desk, command) => self.selected = 0,
            _ => {}
        }
        Vec::new()
    }

    /// Goes on to the next list; what was tried and not kept is forgotten.
    fn next_pane(&mut self, desk: &Desk) -> Vec<Effect> {
        self.jobs.forget();
        self.pane = match self.pane {
            Pane::Visits => Pane::Jobs,
            Pane::Jobs => Pane::Buys,
            Pane::Buys => Pane::Limits,
            Pane::Limits => Pane::Visits,
        };
        if self.pane == Pane::Limits && desk.limits.is_none() && desk.is_current() {
            vec![Effect::Limits]
        } else {
            Vec::new()
        }
    }

    /// Goes back to the visits from another list; says whether it did.
    pub fn back_to_visits(&mut self) -> bool {
        self.jobs.forget();
        std::mem::take(&mut self.pane) != Pane::Visits
    }

    /// Draws it.
    pub fn view(&self, desk: &Desk, area: Rect, buf: &mut Buffer) {
        let theme = &desk.theme;
        let Some(says) = desk.says() else { return };
        let plan = &says.plan;
        let visits = self.passing(desk);
        let selected = step(self.selected, 0, visits.len());
        if let (Some(open), Some((n, visit))) = (&self.open, visits.get(selected)) {
            open.view(desk, visit, (n + 1, plan.visits.len()), area, buf);
            return;
        }
        let inside = Rect::new(area.x + 1, area.y, area.width.saturating_sub(2), area.height).intersection(area);
        match self.pane {
            Pane::Visits => {}
            Pane::Jobs => return self.jobs.view(desk, inside, buf),
            Pane::Buys => return self.buys.view(desk, inside, buf),
            Pane::Limits => return self.limits.view(desk, inside, buf),
        }
        let mut dy = self.summary(desk, plan, inside, buf);
        if plan.visits.is_empty() {
            let words = if plan.look_first.is_empty() {
                "There is no work to plan: no part carries a point, is deficient in law, is graded 4 or 5, or is ticked."
            } else {
                "There is no work to plan yet: first look at the parts of which nothing has been seen (r)."
            };
            dy += para(buf, inside, dy, words, theme.text());
            draw_not_placed(desk, plan, inside, dy + 1, buf);
            return;
        }
        if let Some(only) = self.sieve.words() {
            let count = format!(
                "{only}: {} of {}",
                visits.len(),
                words::count(plan.visits.len(), "visit")
            );
            put_right(buf, inside, dy, &count, theme.accent());
            dy += 1;
            if visits.is_empty() {
                let words = "No visit passes the filter: f, e and t change it, Esc shows all.";
                para(buf, inside, dy, words, theme.text());
                return;
            }
        }
        let below = if is_low(area) {
            0
        } else {
            (area.height / 3).clamp(5, 12)
        };
        let list_rows = area.height.saturating_sub(dy + 1 + below);
        let most = plan.visits.iter().map(|v| v.share).fold(0.0, f64::max);
        let columns = Columns::of(inside.width);
        for (dx, name) in [
            (0, "Visit"),
            (columns.hours, "Hours"),
            (columns.bar, "Takes away"),
            (columns.left, "Left after"),
            (columns.work, "Work"),
        ] {
            put(buf, inside, dx, dy, name, theme.dim());
        }
        for (n, slot) in window(selected, visits.len(), list_rows).zip(dy + 1..) {
            let Some((place, visit)) = visits.get(n) else { continue };
            draw_line(desk, visit, *place, inside, &columns, slot, buf);
            if n == selected {
                tint(buf, inside, slot, theme.selected());
            }
            // Over the selection, so that the bar keeps its own shade.
            let share = if most > 0.0 { visit.share / most } else { 0.0 };
            let styles = (theme.bar(), theme.uncertain());
            bar::draw(buf, inside, columns.bar, slot, columns.bar_width, share, 0.0, styles);
        }
        if below == 0 {
            return;
        }
        let top = dy + 1 + list_rows;
        rule(buf, area, top, "", theme.rule(), theme.title());
        let under = Rect::new(inside.x, area.y + top + 1, inside.width, below.saturating_sub(1)).intersection(inside);
        if let Some((_, visit)) = visits.get(selected) {
            let mut dy = 0;
            if let Some(booking) = &visit.booking {
                dy += para(
                    buf,
                    under,
                    dy,
                    &(words::large(&words::booking(booking)) + "."),
                    theme.text(),
                );
            }
            if let Some(over) = words::may_run_over(visit) {
                dy += para(buf, under, dy, &format!("! {over}."), theme.caution());
            }
            for why in &visit.why {
                dy += para(
                    buf,
                    under,
                    dy,
                    &words::large(&words::why(&desk.library, why)),
                    theme.text(),
                );
            }
            draw_not_placed(desk, plan, under, dy, buf);
        }
    }

    /// The whole plan in a few lines, with the falling exposure; returns the rows used.
    fn summary(&self, desk: &Desk, plan: &Plan, area: Rect, buf: &mut Buffer) -> u16 {
        let theme = &desk.theme;
        let mut dy = 0;
        let left: Vec<f64> = plan.visits.iter().map(|v| v.left_after).collect();
        let start = plan
            .visits
            .first()
            .map_or(0.0, |v| v.left_after / (1.0 - v.share.min(0.99)));
        let mut curve = vec![start];
        curve.extend(left.iter().copied());
        let shown: String = bar::columns(&curve).chars().take(usize::from(area.width / 3)).collect();
        let best = if plan.proven_best {
            "proven best".to_owned()
        } else {
            format!("at most {} above the best possible", text::percent(plan.gap()))
        };
        let facts = format!(
            "{}, exposure {} instead of {} undone ({best})",
            words::count(plan.visits.len(), "visit"),
            words::points(plan.exposure),
            words::points(plan.exposure_undone)
        );
        if !plan.visits.is_empty() {
            if is_low(area) {
                let short = format!(
                    "{}, exposure {} ({} undone)",
                    words::count(plan.visits.len(), "visit"),
                    words::points(plan.exposure),
                    words::points(plan.exposure_undone)
                );
                let fits = text::width(&facts) <= usize::from(area.width);
                put(buf, area, 0, dy, if fits { &facts } else { &short }, theme.text());
                dy += 1;
            } else {
                dy += para(buf, area, dy, &facts, theme.text());
            }
            row(
                buf,
                area,
                0,
                dy,
                &[("Exposure left after each visit ", theme.dim()), (&shown, theme.bar())],
            );
            dy += 1;
            if is_low(area) {
                return dy;
            }
            let noticed = desk.says().is_some_and(|s| !s.assessment.notice.is_empty());
            if let Some(back) = plan.back_on_the_road.filter(|_| noticed) {
                let line =
                    format!("The notice may end after the visit of {back}, once what it is about is looked at again.");
                dy += para(buf, area, dy, &line, theme.text());
            }
        }
        for target in plan.targets.iter().filter(|t| t.may_not_close.is_some()) {
            let line = words::target(&desk.library, target);
            dy += para(buf, area, dy, &line, theme.caution());
        }
        if !plan.look_first.is_empty() {
            let minutes: f64 = plan.look_first.iter().map(|l| l.minutes).sum();
            let line = format!(
                "Before any work: look at {} nothing has been seen of (about {}; Standing, v lists them).",
                words::count(plan.look_first.len(), "part"),
                words::hours(minutes / 60.0)
            );
            dy += para(buf, area, dy, &line, theme.caution());
        }
        let rings = plan.visits.iter().zip(1..).filter_map(|(visit, number)| {
            let booking = visit.booking.as_ref()?;
            let by = words::day(booking.book_by);
            Some(format!("the {} by {by} (visit {number})", booking.trade))
        });
        let rings: Vec<String> = rings.collect();
        if !rings.is_empty() {
            dy += para(buf, area, dy, &format!("Ring {}.", rings.join(", ")), theme.text());
        }
        dy
    }
}

/// Where the columns of the list stand.
struct Columns {
    hours: u16,
    bar: u16,
    bar_width: u16,
    left: u16,
    work: u16,
}

impl Columns {
    fn of(width: u16) -> Columns {
        let bar_width = (width / 12).clamp(5, 14);
        if width < 56 {
            // Day, hours and work; how much it takes away stands in the visit.
            return Columns {
                hours: 17,
                bar: width,
                bar_width,
                left: width,
                work: 24,
            };
        }
        Columns {
            hours: 17,
            bar: 26,
            bar_width,
            left: 26 + bar_width + 6,
            work: 26 + bar_width + 18,
        }
    }
}

fn draw_line(desk: &Desk, visit: &Visit, n: usize, area: Rect, columns: &Columns, dy: u16, buf: &mut Buffer) {
    let theme = &desk.theme;
    let day: String = crate::car::Day::of(visit.date).word().chars().take(2).collect();
    put(
        buf,
        area,
        0,
        dy,
        &format!("{:>2} {day} {}", n + 1, visit.date),
        theme.text(),
    );
    put(buf, area, columns.hours, dy, &hours_of(visit), theme.text());
    put(
        buf,
        area,
        columns.bar + columns.bar_width + 1,
        dy,
        &text::percent(visit.share),
        theme.text(),
    );
    put(
        buf,
        area,
        columns.left,
        dy,
        &format!("{:>8}", words::points(visit.left_after)),
        theme.text(),
    );
    put(buf, area, columns.work, dy, &work_of(desk, visit), theme.text());
}

/// The hours of a visit, or that the car is away.
fn hours_of(visit: &Visit) -> String {
    match &visit.booking {
        Some(_) => "  away".to_owned(),
        None => format!("{:>4.1} h", visit.hours.median),
    }
}

/// What is worked on at a visit; a mark before it says that a tool is missing.
fn work_of(desk: &Desk, visit: &Visit) -> String {
    let work: Vec<String> = visit.work.iter().map(|w| words::parts(&desk.library, &w.on)).collect();
    let missing = if visit.tools_missing.is_empty() { "" } else { "! " };
    match &visit.booking {
        Some(booking) => format!("with {}: {}", words::a_trade(&booking.trade), work.join("; ")),
        None => format!("{missing}{}", work.join("; ")),
    }
}

fn draw_not_placed(desk: &Desk, plan: &Plan, area: Rect, dy: u16, buf: &mut Buffer) {
    let theme = &desk.theme;
    let mut dy = dy;
    for left_out in &plan.not_placed {
        let line = format!(
            "Not placed: {} – {}",
            words::part(&desk.library, &left_out.part),
            words::not_placed(left_out.because)
        );
        dy += para(buf, area, dy, &line, theme.caution());
    }
}
