//! How the Round looks.

use ratatui::buffer::Buffer;
use ratatui::layout::Rect;

use super::Model;
use super::first::Asks;
use crate::car::Seen;
use crate::report::words;
use crate::rubric::{Check, CheckKind, Measure, YesNo};
use crate::text;
use crate::tui::desk::{Desk, Stop};
use crate::tui::screen::{Effect, Over, reading};
use crate::tui::widget::{
    bar, cells, height, is_low, para, para_in, part_heading, put, put_right, put_right_of, row, rule, tint,
};

use crate::units::Grade;

/// The width in which all reasons why something was not seen stand in one row.
const WHY_WIDE: u16 = 74;

impl Model {
    /// Draws it.
    pub fn view(&self, desk: &Desk, area: Rect, buf: &mut Buffer) {
        let theme = &desk.theme;
        if let Some(again) = &self.again {
            self.view_again(again, desk, area, buf);
            return;
        }
        let Some(stop) = desk.stops.get(self.at) else {
            let words = "This car has no parts to look at. Its layout is chosen on the Car screen (c).";
            para(buf, area, 1, words, theme.text());
            return;
        };
        let Some(check) = desk.check_at(stop) else { return };
        if self.asks == Asks::WaitsForFirst {
            let words =
                "Reckoning which checks tell most in a quarter of an hour … w goes straight to the whole round.";
            let inside = Rect::new(area.x + 1, area.y, area.width.saturating_sub(2), area.height);
            para(buf, inside, 1, words, theme.text());
            return;
        }
        let low = is_low(area);
        self.progress(desk, stop, low, area, buf);
        let mut dy = if low { 1 } else { 2 };
        let side = Rect::new(area.x + 1, area.y, area.width.saturating_sub(2), area.height);
        let seen = self.seen_before(desk, stop);
        part_heading(buf, side, dy, (&desk.library, &stop.part, &check.name), &[&seen], theme);
        dy += 1;
        let foot: u16 = match () {
            () if !low => 3,
            () if self.asking_why && side.width < WHY_WIDE => 2,
            () => 1,
        };
        let raised = self
            .raises(desk, self.at)
            .then_some("From here on the car stands raised.");
        if !low {
            // The descriptions are never cut for the sake of the explanation, so the explanation takes what is left.
            let needed = answers_height(check, side.width);
            let room = area.height.saturating_sub(dy + 1 + needed + foot).max(2);
            let place = Rect::new(side.x, side.y + dy, side.width, room).intersection(area);
            dy += explained(desk, check, raised, place, buf);
            rule(buf, area, dy, "", theme.rule(), theme.title());
            dy += 1;
        }
        let answers =
            Rect::new(side.x, side.y + dy, side.width, area.height.saturating_sub(dy + foot)).intersection(area);
        match &check.kind {
            CheckKind::Graded(words) => {
                let now = match self.look(desk, stop).map(|l| &l.seen) {
                    Some(Seen::Grade(grade)) => Some(*grade),
                    _ => None,
                };
                descriptions(desk, now, words, answers, buf);
            }
            CheckKind::Measured(measure) => self.readings(desk, stop, check, measure, answers, buf),
            CheckKind::YesNo(question) => self.question(desk, stop, question, answers, buf),
        }
        let used = answers_used(check, answers);
        let below = Rect::new(
            answers.x,
            answers.y + used,
            answers.width,
            answers.height.saturating_sub(used),
        );
        more(desk, self.at, below.intersection(answers), buf);
        let last = Rect::new(side.x, area.bottom().saturating_sub(foot), side.width, foot).intersection(area);
        self.foot(desk, stop, last, buf);
    }

    /// Where in the walk we are.
    fn progress(&self, desk: &Desk, stop: &Stop, low: bool, area: Rect, buf: &mut Buffer) {
        let theme = &desk.theme;
        let here = self.asked(desk).filter(|(_, s)| s.stage == stop.stage).count();
        let before = |(at, _): &(usize, &Stop)| *at <= self.at;
        let number = self
            .asked(desk)
            .filter(before)
            .filter(|(_, s)| s.stage == stop.stage)
            .count();
        let looked = self.asked(desk).filter(|(_, s)| !self.is_open(desk, s)).count();
        let total = self.asked(desk).count();
        let in_all = self.asked(desk).filter(before).count();
        let stage = words::stage(stop.stage);
        let whose = if self.asks == Asks::First {
            "of the first look"
        } else {
            "in all"
        };
        let counts = [
            format!("  check {number} of {here} here, {in_all} of {total} {whose}"),
            format!("  {number} of {here}, {in_all} of {total} {whose}"),
            format!("  {number} of {here}, {in_all} of {total}"),
        ];
        let fits = |count: &&String| text::width(stage) + text::width(count) + 1 < usize::from(area.width);
        let count = counts.iter().find(fits).unwrap_or(&counts[2]);
        let taken = row(buf, area, 1, 0, &[(stage, theme.accent()), (count, theme.text())]);
        if low {
            let left = format!("{} left ", total - looked);
            put_right_of(buf, area, 0, taken + 1, &[&left], theme.dim());
            return;
        }
        let survey = self
            .survey
            .map_or("no survey begun".to_owned(), |d| format!("survey of {d} "));
        if cells(text::width(&survey)) + taken + 3 <= area.width {
            put_right(buf, area, 0, &survey, theme.dim());
        }
        let share = f64::from(cells(looked)) / f64::from(cells(total.max(1)));
        let left = format!(" {looked} looked at, {} left", total - looked);
        let room = area.width.saturating_sub(cells(text::width(&left)) + 2);
        let drawn = bar::text(share, room);
        let taken = put(buf, area, 1, 1, &drawn, theme.bar());
        put(
            buf,
            area,
            1 + taken,
            1,
            &"·".repeat(usize::from(room.saturating_sub(taken))),
            theme.dim(),
        );
        put(buf, area, 1 + room, 1, &left, theme.text());
    }

    /// When it was last seen; what was seen then is told only after the new look.
    fn seen_before(&self, desk: &Desk, stop: &Stop) -> String {
        if self.look(desk, stop).is_some() {
            return String::new();
        }
        desk.car
            .as_ref()
            .and_then(|car| car.last_seen(&stop.part, &stop.check))
            .map_or_else(
                || "never seen yet".to_owned(),
                |(survey, _)| format!("seen {}", survey.date),
            )
    }

    fn readings(&self, desk: &Desk, stop: &Stop, check: &Check, measure: &Measure, area: Rect, buf: &mut Buffer) {
        let theme = &desk.theme;
        let own = desk.car.as_ref().and_then(|car| {
            let limits = &car.parts.get(&stop.part)?.limits;
            limits.iter().find(|l| l.check == check.id)
        });
        let (new, limit, source) = own.map_or((measure.new, measure.limit, measure.source.as_str()), |o| {
            (o.new.unwrap_or(measure.new), o.limit, o.source.as_str())
        });
        let given = match self.look(desk, stop).map(|l| &l.seen) {
            Some(Seen::Reading(values)) => values.clone(),
            _ => Vec::new(),
        };
        let typed = self.typed.get(&self.at).cloned().unwrap_or_default();
        let one = vec![String::new()];
        let points = if measure.points.is_empty() {
            &one
        } else {
            &measure.points
        };
        let mut dy = 0;
        for (n, point) in points.iter().enumerate() {
            let label = if point.is_empty() { "Reading" } else { point };
            put(buf, area, 1, dy, &text::fit(label, 18), theme.text());
            let typing = n == typed.points.len();
            let value = match typed
                .points
                .get(n)
                .or(given.get(n).filter(|_| typed == super::Typed::default()))
            {
                Some(value) => value.to_string(),
                None if typing => format!("{}_", typed.typing),
                None => "·".to_owned(),
            };
            let style = if typing { theme.accent() } else { theme.title() };
            let taken = put(buf, area, 20, dy, &value, style);
            put(buf, area, 21 + taken, dy, &measure.unit, theme.dim());
            dy += 1;
        }
        dy += 1;
        let line = format!("New {new} {u}, limit {limit} {u} ({source})", u = measure.unit);
        dy += para(buf, area, dy, &line, theme.text());
        dy += para(buf, area, dy, &format!("With: {}", measure.instrument), theme.text());
        if measure.ask_manual && own.is_none() {
            let words =
                "The limit depends on the car's design: ask its own manual, and enter it on the Car screen (c, v, o).";
            para(buf, area, dy, words, theme.caution());
        }
    }

    fn question(&self, desk: &Desk, stop: &Stop, question: &YesNo, area: Rect, buf: &mut Buffer) {
        let theme = &desk.theme;
        let now = match self.look(desk, stop).map(|l| &l.seen) {
            Some(Seen::Answer(yes)) => Some(*yes),
            _ => None,
        };
        let inside = Rect::new(area.x + 5, area.y, area.width.saturating_sub(5), area.height).intersection(area);
        // Where there is little room each answer keeps at least its row.
        let mut left = area.height.saturating_sub(2);
        let asked = height(&question.question, area.width).min(left);
        let mut dy = para_in(buf, area, 0, asked, &question.question, theme.title());
        left -= asked;
        if left >= 3 {
            (dy, left) = (dy + 1, left - 1);
        }
        for (key, yes, words) in [("y", true, &question.yes), ("n", false, &question.no)] {
            put(buf, area, 2, dy, key, theme.accent());
            if now == Some(yes) {
                put(buf, area, 0, dy, "›", theme.accent());
            }
            let style = if now == Some(yes) { theme.title() } else { theme.text() };
            let rows = height(words, inside.width).min(left + 1);
            left -= rows.saturating_sub(1);
            dy += para_in(buf, inside, dy, rows, words, style);
        }
    }

    /// The question why not, or what this look says so far, and the newest look with its difference.
    fn foot(&self, desk: &Desk, stop: &Stop, area: Rect, buf: &mut Buffer) {
        let theme = &desk.theme;
        if self.asking_why && area.width < WHY_WIDE {
            let lines = [
                [
                    ("Why? ", theme.notice()),
                    ("c", theme.accent()),
                    (" covered  ", theme.text()),
                    ("l", theme.accent()),
                    (" later", theme.text()),
                ],
                [
                    ("o", theme.accent()),
                    (" out of reach  ", theme.text()),
                    ("t", theme.accent()),
                    (" no tool or helper", theme.text()),
                    ("", theme.text()),
                ],
            ];
            for (dy, pieces) in (0..).zip(&lines) {
                row(buf, area, 0, dy, pieces);
            }
        } else if self.asking_why {
            let pieces = [
                (" Why not seen? ", theme.notice()),
                ("  c", theme.accent()),
                (" covered  ", theme.text()),
                ("o", theme.accent()),
                (" out of reach  ", theme.text()),
                ("t", theme.accent()),
                (" no tool or helper  ", theme.text()),
                ("l", theme.accent()),
                (" later", theme.text()),
            ];
            row(buf, area, 0, 0, &pieces);
        } else if let Some(look) = self.look(desk, stop) {
            let mut line = format!("In this survey: {}", words::seen(&look.seen, desk.check_at(stop)));
            if !look.note.is_empty() {
                line.push_str(&format!("; note: {}", look.note));
            }
            if !look.photos.is_empty() {
                line.push_str(&format!("; {}", words::count(look.photos.len(), "photo")));
            }
            put(buf, area, 0, 0, &line, theme.title());
        } else if area.height == 1 {
            // The explanation has no room here, and there may be something to mind.
            let minds = desk.check_at(stop).is_some_and(|c| !c.cautions.is_empty());
            let (words, style) = match () {
                () if self.raises(desk, self.at) => (" raise the car first; how, what to mind", theme.caution()),
                () if minds => (" how to look, and what to mind", theme.caution()),
                () => (" how to look", theme.text()),
            };
            match &self.newest {
                Some(newest) if style == theme.text() => put(buf, area, 0, 0, newest, theme.text()),
                _ => row(buf, area, 0, 0, &[("i", theme.accent()), (words, style)]),
            };
        }
        let done = !self.asked(desk).any(|(_, s)| self.is_open(desk, s));
        if let Some(newest) = self
            .newest
            .as_ref()
            .filter(|_| !(self.asking_why && area.width < WHY_WIDE))
        {
            para(
                buf,
                Rect::new(area.x, area.y + 1, area.width, 2).intersection(area),
                0,
                newest,
                theme.text(),
            );
        }
        if done && !self.asking_why {
            let words = match self.asks {
                Asks::First if area.width >= 66 => "The first look is done. s: what comes first; w: the whole round.",
                Asks::First => "Done. s: comes first; w: whole round.",
                _ if area.width >= 66 => "Every check has a look. s shows what comes first, p the work.",
                _ => "All looked at. s: comes first, p: work.",
            };
            put(buf, area, 0, 0, &" ".repeat(usize::from(area.width)), theme.text());
            put(buf, area, 0, 0, words, theme.accent());
            tint(buf, area, 0, theme.accent());
        }
    }
}

/// The six descriptions, the one given marked.
pub fn descriptions(desk: &Desk, now: Option<Grade>, descriptions: &[String], area: Rect, buf: &mut Buffer) {
    let columns = columns_of(descriptions, area.width, area.height);
    let marks = if columns == 6 { 0 } else { 5 };
    let wide = area.width.saturating_sub((columns - 1) * 2) / columns;
    let per_column = 6 / columns;
    // Where there is room, a blank row keeps the descriptions apart; where there is too little, the longest give way first, so
    // that each grade keeps at least its row.
    let high = columns_height(descriptions, area.width, columns);
    let apart = high.saturating_add(per_column - 1) <= area.height;
    for column in 0..columns {
        let place = Rect::new(area.x + column * (wide + 2), area.y, wide, area.height).intersection(area);
        let words_at = Rect::new(
            place.x + marks,
            place.y,
            place.width.saturating_sub(marks),
            place.height,
        )
        .intersection(area);
        let mut dy = 0;
        let own = descriptions.iter().skip(usize::from(column * per_column));
        let own = own.take(usize::from(per_column));
        let mut highs: Vec<u16> = own.map(|d| height(d, words_at.width)).collect();
        let over = if columns == 6 { 2 } else { 0 };
        while highs.iter().sum::<u16>() + over > area.height
            && let Some(longest) = highs.iter_mut().max().filter(|h| **h > 1)
        {
            *longest -= 1;
        }
        for n in 0..per_column {
            let rows = highs.get(usize::from(n)).copied().unwrap_or(1);
            let at = usize::from(column * per_column + n);
            let (Some(grade), Some(description)) = (Grade::ALL.get(at), descriptions.get(at)) else {
                continue;
            };
            put(buf, place, 1, dy, &format!(" {grade} "), desk.theme.grade(*grade));
            let style = if now == Some(*grade) {
                desk.theme.title()
            } else {
                desk.theme.text()
            };
            if now == Some(*grade) {
                put(buf, place, 0, dy, "›", desk.theme.accent());
            }
            // Beside each other, a digit stands over its words.
            dy += if columns == 6 { 2 } else { 0 };
            dy += para_in(buf, words_at, dy, rows, description, style) + u16::from(apart);
        }
    }
}

/// The width from which on the six descriptions stand beside each other, as on a sheet.
const BESIDE: u16 = 140;

/// In how many columns six descriptions fit into an area: all beside each other where it is wide enough, else the fewest that
/// fit.
fn columns_of(descriptions: &[String], width: u16, rows: u16) -> u16 {
    if width >= BESIDE && columns_height(descriptions, width, 6) <= rows {
        return 6;
    }
    for columns in [1, 2, 3] {
        if columns_height(descriptions, width, columns) <= rows {
            return columns;
        }
    }
    if width >= 60 { 2 } else { 1 }
}

/// The rows that descriptions take in so many columns.
fn columns_height(descriptions: &[String], width: u16, columns: u16) -> u16 {
    let (marks, over) = if columns == 6 { (0, 2) } else { (5, 0) };
    let wide = (width.saturating_sub((columns - 1) * 2) / columns).saturating_sub(marks);
    let per_column = usize::from(6 / columns);
    descriptions
        .chunks(per_column)
        .map(|chunk| chunk.iter().map(|d| height(d, wide) + over).sum())
        .max()
        .unwrap_or(0)
}

/// The rows that a check's answers take of an area, as they are drawn.
fn answers_used(check: &Check, area: Rect) -> u16 {
    let used = match &check.kind {
        CheckKind::Graded(descriptions) => {
            let columns = columns_of(descriptions, area.width, area.height);
            let high = columns_height(descriptions, area.width, columns);
            let apart = (6 / columns) - 1;
            if high + apart <= area.height {
                high + apart
            } else {
                high
            }
        }
        _ => answers_height(check, area.width) + 2,
    };
    used.min(area.height)
}

/// What else there is to say of a check, where a large screen has room below its answers: it need not be asked for then.
fn more(desk: &Desk, at: usize, area: Rect, buf: &mut Buffer) {
    const LEAST: u16 = 8;
    if area.height < LEAST {
        return;
    }
    let theme = &desk.theme;
    rule(buf, area, 1, "", theme.rule(), theme.title());
    let room = Rect::new(area.x, area.y, area.width.min(100), area.height).intersection(area);
    let mut dy = 3;
    // How to look and what to mind stand above the answers.
    let all = told(desk, at).map(|(_, said)| said).unwrap_or_default();
    for (heading, words) in all
        .iter()
        .filter(|(heading, _)| !matches!(heading.as_str(), HOW | MIND))
    {
        if dy + 1 + height(words, room.width) > area.height {
            break;
        }
        put(buf, room, 0, dy, heading, theme.dim());
        dy += 2 + para(buf, room, dy + 1, words, theme.text());
    }
}

/// The rows a check's answers need at a width, in the form that needs fewest.
pub fn answers_height(check: &Check, width: u16) -> u16 {
    match &check.kind {
        CheckKind::Graded(descriptions) => {
            let least = [1, 2].into_iter().map(|c| columns_height(descriptions, width, c)).min();
            least.unwrap_or(6)
        }
        CheckKind::Measured(measure) => cells(measure.points.len().max(1)) + 5,
        CheckKind::YesNo(q) => height(&q.question, width) + height(&q.yes, width) + height(&q.no, width) + 1,
    }
}

/// What is to be done before the look, the cautions, and how to look; returns the rows used. What does not fit is announced, with the key that shows it.
pub fn explained(desk: &Desk, check: &Check, before: Option<&str>, area: Rect, buf: &mut Buffer) -> u16 {
    let theme = &desk.theme;
    // What comes before the look, and cautions: if room is short, the advice is cut and not the warning.
    let cautions = check.cautions.iter().filter_map(|id| desk.library.caution(id));
    let mut texts: Vec<(String, _)> = before
        .map(|words| (words.to_owned(), theme.title()))
        .into_iter()
        .collect();
    texts.extend(cautions.map(|c| (format!("! {}", c.text), theme.caution())));
    texts.push((check.how.clone(), theme.text()));
    let needed: u16 = texts.iter().map(|(words, _)| height(words, area.width)).sum();
    let cut = needed > area.height;
    let room = Rect::new(area.x, area.y, area.width, area.height.saturating_sub(u16::from(cut)));
    let mut dy = 0;
    for (words, style) in &texts {
        dy += para(buf, room, dy, words, *style);
    }
    if cut {
        let last = area.height.saturating_sub(1);
        row(
            buf,
            area,
            0,
            last,
            &[
                ("… ", theme.text()),
                ("i", theme.accent()),
                (" reads on", theme.title()),
            ],
        );
    }
    dy.min(area.height).max(if cut { area.height } else { 0 })
}

/// The headings of what stands above the answers anyway.
const HOW: &str = "How to look";
const MIND: &str = "Mind";

/// Everything there is to say of a check, to be read.
pub fn read_on(desk: &Desk, at: usize) -> Vec<Effect> {
    let Some((heading, mut said)) = told(desk, at) else {
        return Vec::new();
    };
    // A low screen shows the grades' descriptions shortened.
    if let Some(CheckKind::Graded(grades)) = desk.stops.get(at).and_then(|s| desk.check_at(s)).map(|c| &c.kind) {
        let lines: Vec<String> = (0..).zip(grades).map(|(n, words)| format!("{n}  {words}")).collect();
        let at = said
            .iter()
            .take_while(|(h, _)| matches!(h.as_str(), HOW | MIND))
            .count();
        said.insert(at, ("Grades".to_owned(), lines.join("\n")));
    }
    let text = reading::Model::new(&heading, said);
    vec![Effect::Over(Box::new(Over::Reading(text)))]
}

/// Everything there is to say of a check: its name, and headings with what stands under them.
fn told(desk: &Desk, at: usize) -> Option<(String, Vec<(String, String)>)> {
    let stop = desk.stops.get(at)?;
    let component = desk.library.component(&stop.part.component)?;
    let check = desk.check_at(stop)?;
    let mut said = vec![(HOW.to_owned(), check.how.clone())];
    let cautions: Vec<&str> = check
        .cautions
        .iter()
        .filter_map(|id| Some(desk.library.caution(id)?.text.as_str()))
        .collect();
    if !cautions.is_empty() {
        said.push((MIND.to_owned(), cautions.join("\n")));
    }
    said.push(("The part".to_owned(), component.about.clone()));
    for mode in component.modes.iter().filter(|m| m.driven_by.contains(&check.id)) {
        said.push((
            format!("May happen, severity {}", words::severity(mode.severity)),
            mode.what.clone(),
        ));
    }
    for law in &check.law {
        let line = format!(
            "{} from grade {} on, item {} ({})",
            words::large(words::class(law.class)),
            law.from,
            law.item,
            law.source
        );
        said.push(("Law".to_owned(), line));
    }
    let declines = format!(
        "By {}; usually {} {} from new to its limit ({}).",
        words::driver(check.decline.driver),
        text::figure(check.decline.life),
        words::life_unit(check.decline.driver),
        check.decline.source
    );
    said.push(("Declines".to_owned(), declines));
    Some((format!("{} – {}", component.name, check.name), said))
}
