//! One wording of the worksheet for paper and screen.

use super::{Lacking, LookThere, Row, Shear, SoakLine, Step, Tools, Undo, Worksheet};
use crate::report::words;

/// Stands above what is used once.
pub const USED_ONCE: &str = "Used once, always new; see first whether they come with the parts above:";

/// Stands above what is likely to shear.
pub const LIKELY_TO_SHEAR: &str = "Likely to shear or round when undone; have the spare ready (chances are judgement):";

/// Stands above the tightening table.
pub const ABOUT_TORQUES: &str = "The value of your car's own manual counts: write it in before you begin. A guide is reckoned from \
     a typical thread and class, dry; it is not your car maker's and is there to catch a slip. Never tighten to it.";

/// What is written down at the end.
pub const RECORD: [&str; 5] = [
    "Hours it took",
    "Odometer",
    "Found on strip-down",
    "Not finished, left open",
    "Notes",
];

impl Worksheet {
    /// Its title: number, day, and with whom.
    #[must_use]
    pub fn title(&self) -> String {
        let with = self
            .booking
            .as_ref()
            .map_or_else(String::new, |b| format!(", with {}", words::a_trade(&b.trade)));
        format!(
            "Worksheet, visit {} of {}: {}{with}",
            self.number,
            self.of,
            words::day(self.date)
        )
    }

    /// What stands under the title, each line with its label.
    #[must_use]
    pub fn head_lines(&self) -> Vec<(&'static str, String)> {
        let mut lines = vec![("Work", self.work.join("; "))];
        if !self.why.is_empty() {
            lines.push(("Why here", words::large(&self.why.join("; ")) + "."));
        }
        match &self.booking {
            Some(booking) => {
                lines.push(("Book by", words::day(booking.book_by)));
                lines.push((
                    "Away",
                    format!(
                        "from {} until {}",
                        words::day(self.date),
                        words::day(booking.away_until)
                    ),
                ));
                if let Some(bill) = &booking.bill {
                    lines.push(("Bill", format!("about {bill} without parts")));
                }
                lines.push(("Hours", self.hours.clone()));
            }
            None => lines.push((
                "Hours",
                format!(
                    "half the time no more than {}, nine times in ten no more than {}",
                    words::hours(self.median_hours),
                    words::hours(self.high_hours)
                ),
            )),
        }
        if !self.runs_on.is_empty() {
            let days: Vec<String> = self.runs_on.iter().map(|d| words::day(*d)).collect();
            lines.push(("Runs on", days.join(", ")));
        }
        lines
    }

    /// When to order, and what all of it costs.
    #[must_use]
    pub fn buy_line(&self) -> Option<String> {
        let order = self.ready.order_by.map(|day| format!("order by {}", words::day(day)));
        let cost = self.ready.cost.as_ref().map(|cost| format!("all of it about {cost}"));
        let said: Vec<String> = [order, cost].into_iter().flatten().collect();
        (!self.ready.buy.is_empty() && !said.is_empty()).then(|| format!("Buy: {}.", said.join("; ")))
    }

    /// Heading of the steps.
    #[must_use]
    pub fn steps_heading(&self) -> String {
        match self.booking {
            Some(_) => "Before, on the day, and after".to_owned(),
            None => "The day, in this order".to_owned(),
        }
    }

    /// What is said of stopping half-way.
    #[must_use]
    pub fn stop_lines(&self) -> Vec<String> {
        let stops = &self.stops;
        let mut lines = Vec::new();
        lines.push(if stops.after.is_empty() {
            "There is no place to stop: what is begun is finished.".to_owned()
        } else {
            format!(
                "The car may be left, not driven, after {}; anywhere else go on to the next of these.",
                steps(&stops.after)
            )
        });
        for stop in &stops.not {
            lines.push(format!(
                "Not in the middle of: {} – {}",
                words::small(&stop.what),
                stop.says
            ));
        }
        for stop in &stops.waits {
            lines.push(format!("{} – {}", stop.what, stop.says));
        }
        if !stops.unknown.is_empty() {
            lines.push(format!(
                "Nothing is stated of: {}. Once begun, finish it before you leave the car.",
                stops.unknown.join("; ")
            ));
        }
        lines
    }

    /// What becomes of what was written down.
    #[must_use]
    pub fn record_line(&self) -> String {
        "Record it with `tinworm done`, and grade each part again on the next Round.".to_owned()
    }
}

/// `step 3`, `steps 1 to 4, 9 and 12`.
fn steps(numbers: &[usize]) -> String {
    let mut runs: Vec<(usize, usize)> = Vec::new();
    for n in numbers {
        match runs.last_mut() {
            Some((_, end)) if *end + 1 == *n => *end = *n,
            _ => runs.push((*n, *n)),
        }
    }
    let mut said: Vec<String> = runs
        .iter()
        .map(|(a, b)| match b - a {
            0 => a.to_string(),
            1 => format!("{a}, {b}"),
            _ => format!("{a} to {b}"),
        })
        .collect();
    let word = if numbers.len() == 1 { "step" } else { "steps" };
    match (said.pop(), said.is_empty()) {
        (Some(last), true) => format!("{word} {last}"),
        (Some(last), false) => format!("{word} {} and {last}", said.join(", ")),
        (None, _) => String::new(),
    }
}

impl Step {
    /// Which earlier steps' cautions hold here too.
    #[must_use]
    pub fn again_line(&self) -> Option<String> {
        (!self.again.is_empty()).then(|| format!("The cautions of {} hold here too.", steps(&self.again)))
    }

    /// That one may not stop here, and how far to go on.
    #[must_use]
    pub fn go_on_line(&self) -> Option<String> {
        let to = match (self.may_stop, self.next_stop) {
            (true, _) => return None,
            (false, Some(next)) => format!("go on to the end of step {next}"),
            (false, None) => "go on to the end".to_owned(),
        };
        Some(format!("No place to stop: {to}."))
    }

    /// Which rows of the table are tightened here.
    #[must_use]
    pub fn tighten_line(&self) -> Option<String> {
        let rows = steps(&self.tighten);
        let rows = rows.split_once(' ').map(|(_, rows)| rows)?;
        let word = if self.tighten.len() == 1 { "row" } else { "rows" };
        Some(format!("tighten {word} {rows} of the table"))
    }
}

impl Undo {
    /// All about it in a line.
    #[must_use]
    pub fn line(&self) -> String {
        let mut said = vec![format!("{} × {}, {}", self.count, self.name, self.size)];
        if let Some(held_by) = &self.held_by {
            said.push(format!("hold with {held_by}"));
        }
        said.push(self.trouble.clone());
        said.join("; ")
    }
}

impl Row {
    /// Which fixing.
    #[must_use]
    pub fn what(&self) -> String {
        format!(
            "{} × {}, {} ({})",
            self.count,
            self.name,
            words::small(&self.part_name),
            self.size
        )
    }

    /// The guide, marked as one; nothing beside the manual's value, which wins.
    #[must_use]
    pub fn guide_words(&self) -> String {
        match self.guide {
            _ if self.manual.is_some() => String::new(),
            Some(guide) => format!("guide {guide:.0} N·m dry"),
            None => "no guide: thread or class not known".to_owned(),
        }
    }

    /// How it is locked, and what to hold.
    #[must_use]
    pub fn lock_line(&self) -> Option<String> {
        let held = self.held_by.as_ref().map(|held| format!("hold with {held}"));
        let said: Vec<String> = [self.locking.clone(), held].into_iter().flatten().collect();
        (!said.is_empty()).then(|| said.join("; "))
    }
}

impl SoakLine {
    /// All about it in a line.
    #[must_use]
    pub fn line(&self) -> String {
        let graded = self
            .grade
            .map_or_else(|| "not graded".to_owned(), |grade| format!("graded {grade}"));
        let minutes = if self.minutes >= 1.0 {
            format!(", {:.0} min of trouble to expect", self.minutes)
        } else {
            String::new()
        };
        let advice = if self.advice.is_empty() {
            String::new()
        } else {
            format!(". {}", self.advice)
        };
        format!(
            "from {}: {} ({graded}{minutes}){advice}",
            words::day(self.on),
            words::small(&self.what)
        )
    }
}

impl Shear {
    /// All about it in a line.
    #[must_use]
    pub fn line(&self) -> String {
        let graded = self.grade.map_or_else(
            || "thread not graded, taken as this car's others".to_owned(),
            |grade| format!("thread graded {grade}"),
        );
        let then = self.then.as_ref().map_or_else(String::new, |then| format!(". {then}"));
        format!(
            "{}: {} ({graded}). Spare: {}{then}",
            self.what,
            crate::text::percent(self.probability),
            self.spare
        )
    }
}

impl Lacking {
    /// The tool and the visit that first needs it.
    #[must_use]
    pub fn line(&self, here: usize) -> String {
        if self.visit == here || self.visit == 0 {
            format!("{} – first needed here", self.name)
        } else {
            format!(
                "{} – needed since visit {}, {}",
                self.name,
                self.visit,
                words::day(self.date)
            )
        }
    }
}

impl Tools {
    /// The other tools, each line with its label.
    #[must_use]
    pub fn lines(&self) -> Vec<(&'static str, String)> {
        let mut lines = Vec::new();
        if !self.sockets.is_empty() {
            let sizes: Vec<String> = self.sockets.iter().map(ToString::to_string).collect();
            lines.push((
                "Sockets, six-point",
                format!("{} mm; typical, try them on your own car first", sizes.join(", ")),
            ));
        }
        if !self.unsized_fixings.is_empty() {
            lines.push(("Size to find out", self.unsized_fixings.join("; ")));
        }
        if !self.holding.is_empty() {
            lines.push(("To hold with", self.holding.join("; ")));
        }
        if !self.owned.is_empty() {
            lines.push(("Owned, lay out", self.owned.join(", ")));
        }
        lines
    }
}

impl LookThere {
    /// The part and its checks.
    #[must_use]
    pub fn line(&self) -> String {
        let mut said = Vec::new();
        if !self.unseen.is_empty() {
            said.push(format!("{}, never seen", self.unseen.join(", ")));
        }
        said.extend(self.old.iter().map(|(check, day)| format!("{check}, last seen {day}")));
        format!("{}: {} ({:.0} min)", self.part_name, said.join("; "), self.minutes)
    }
}
