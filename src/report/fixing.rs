//! One thread and class: its guide torque, what breaks it, what a rusted one takes to undo, and what to try in order.

use serde::Serialize;

use super::page::{Page, Paper, Table, left, right, wide};
use super::words;
use crate::engine::fixings::{
    Condition, Figures, Fit, Slip, TIGHTENING_FACTOR, guide_torque, plausible, slip, tension_for, threads_that_fit,
};
use crate::rubric::fasteners::{HexKind, diameters_with_hex, hexes_of, socket_key};
use crate::rubric::{Library, StrengthClass, Thread};
use crate::text::{self, figure, percent};
use crate::units::{Grade, Torque};

/// A thread and class with what is reckoned of them.
#[derive(Debug, Clone, Copy)]
pub struct Subject<'a> {
    /// The rubrics in force.
    pub library: &'a Library,
    /// The thread.
    pub thread: &'a Thread,
    /// The class.
    pub class: &'a StrengthClass,
    /// Whether the class was named; otherwise it is the weakest of the table.
    pub class_named: bool,
    /// What is reckoned.
    pub figures: &'a Figures,
}

/// A torque read in a manual, set against the guide.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Verdict {
    /// In N·m.
    pub newton_metres: f64,
    /// The share of the guide.
    pub share: f64,
    /// What looks wrong, if anything.
    pub slip: Option<Slip>,
    /// What it would fit instead.
    pub fits: Vec<Fit>,
    /// All that in words.
    pub words: String,
}

/// Sets a torque read in a manual against the guide.
#[must_use]
pub fn verdict(subject: &Subject, torque: &Torque) -> Verdict {
    let Subject {
        library,
        thread,
        class,
        figures,
        ..
    } = subject;
    let (entered, guide) = (torque.newton_metres(), figures.guide);
    let found = slip(torque, guide);
    let (threads, classes) = (&library.all().threads, &library.all().strength_classes);
    let fits = match found {
        Some(_) => threads_that_fit(entered, figures.condition, (thread, class), threads, classes),
        None => Vec::new(),
    };
    let name = format!("{} {}", text::clean(&thread.id), text::clean(&class.id));
    let mut said = match found {
        Some(slip) => format!("{}: not expected of {name}", words::slip(slip, torque, guide)),
        None if torque.angles.is_empty() => format!(
            "{torque} is {} of the guide of {} {}: plausible for {name}",
            figure(entered / guide),
            words::newton_metres(guide),
            words::condition(figures.condition)
        ),
        None => format!("{torque} is a start with an angle to follow: plausible for {name}"),
    };
    if !fits.is_empty() {
        said.push_str(&format!(". It would fit {}", words::fits(&fits)));
    }
    if let (None, true, Some(pulls)) = (found, torque.angles.is_empty(), pulls(subject, entered)) {
        said.push_str(&format!(". {pulls}"));
    }
    said.push('.');
    Verdict {
        newton_metres: entered,
        share: entered / guide,
        slip: found,
        fits,
        words: said,
    }
}

/// What tension a torque gives, dry and oiled, against the proof load.
fn pulls(subject: &Subject, entered: f64) -> Option<String> {
    let of = |condition| {
        let tension = tension_for(subject.thread, entered, condition).ok()?;
        Some((tension, percent(tension / subject.figures.proof_load)))
    };
    let ((dry, share), (oiled, more)) = (of(Condition::Dry)?, of(Condition::Oiled)?);
    Some(format!(
        "Dry it pulls about {}, {share} of the proof load; oiled {}, {more}",
        words::kilonewtons(dry),
        words::kilonewtons(oiled)
    ))
}

/// The figures, each with its label.
#[must_use]
pub fn lines(subject: &Subject) -> Vec<(&'static str, String)> {
    let (thread, f) = (subject.thread, subject.figures);
    let mut lines = vec![
        (
            "Thread",
            format!(
                "pitch diameter {:.2} mm, core {:.2} mm, stress area {} mm² (ISO 724, ISO 898-1)",
                f.pitch_diameter,
                f.core_diameter,
                figure(f.stress_area)
            ),
        ),
        ("Usual hex", hexes(thread)),
        ("Proof load", {
            let ultimate = f
                .ultimate_load
                .map(|load| format!("; pulled apart at {}", words::kilonewtons(load)));
            format!(
                "{}{} (ISO 898-1)",
                words::kilonewtons(f.proof_load),
                ultimate.unwrap_or_default()
            )
        }),
        ("Guide", {
            let of = |condition, torque| format!("{} {}", words::newton_metres(torque), words::condition(condition));
            let all = [
                (Condition::Dry, f.guide_dry),
                (Condition::Oiled, f.guide_oiled),
                (Condition::Pasted, f.guide_pasted),
            ];
            let others: Vec<String> = all
                .iter()
                .filter(|(condition, _)| *condition != f.condition)
                .map(|(condition, torque)| of(*condition, *torque))
                .collect();
            format!(
                "{}; {} (three quarters of the proof load, a quarter more or less)",
                of(f.condition, f.guide),
                others.join(", ")
            )
        }),
        (
            "Plausible",
            format!(
                "{:.0} to {} from a manual",
                f.plausible.0,
                words::newton_metres(f.plausible.1)
            ),
        ),
    ];
    if let Some(limit) = f.limit {
        lines.push((
            "Upper limit",
            format!(
                "{} and {} at friction {} (VDI 2230, 90 % of yield; nothing to tighten to); a torque wrench may leave {} of it",
                words::newton_metres(limit.torque),
                words::kilonewtons(limit.preload),
                f.friction,
                words::kilonewtons(limit.preload / TIGHTENING_FACTOR)
            ),
        ));
    }
    if let Some(breaking) = f.breaking {
        let beyond = if thread.diameter > 10.0 {
            ", beyond its 10 mm an estimate"
        } else {
            ""
        };
        lines.push((
            "Breaks at",
            format!(
                "{} if stuck fast and whole (ISO 898-7{beyond})",
                words::newton_metres(breaking)
            ),
        ));
    }
    if let Some(drag) = f.drag {
        lines.push((
            "Lock nut",
            format!(
                "a self-locking one drags up to {} by itself when new (ISO 2320)",
                format_args!("{} N·m", drag.first_on)
            ),
        ));
    }
    if let Some(why) = &f.lacking {
        lines.push(("Not known", why.clone()));
    }
    lines
}

/// Hexagons usual on a thread.
fn hexes(thread: &Thread) -> String {
    let mut sizes: Vec<(f64, Vec<&str>)> = Vec::new();
    for (across, kind) in hexes_of(thread.diameter) {
        match sizes.iter_mut().find(|(size, _)| *size == across) {
            Some((_, kinds)) => kinds.push(words::hex_kind(kind)),
            None => sizes.push((across, vec![words::hex_kind(kind)])),
        }
    }
    let mut named: Vec<String> = sizes
        .iter()
        .map(|(across, kinds)| format!("{across} mm ({})", kinds.join("; ")))
        .collect();
    named.extend(socket_key(thread.diameter).map(|key| format!("key {key} mm")));
    if named.is_empty() {
        "not known here".to_owned()
    } else {
        named.join(", ")
    }
}

/// What a rusted one takes, each with its label; empty where no grade was given or no rule reaches.
#[must_use]
pub fn rusted_lines(subject: &Subject) -> Vec<(&'static str, String)> {
    let Some(rusted) = subject.figures.rusted else {
        return Vec::new();
    };
    let lost = if rusted.core_lost > 0.0 {
        format!(" with {} of its core gone", percent(rusted.core_lost))
    } else {
        String::new()
    };
    vec![
        (
            "Undoing",
            format!(
                "about {}, if it was tightened to its limit and friction has risen to {:.2} (estimate)",
                words::newton_metres(rusted.loosening),
                rusted.friction
            ),
        ),
        ("Breaks at", format!("{}{lost}", words::newton_metres(rusted.breaking))),
        (
            "Margin",
            format!(
                "{}: {}. If it is stuck fast, it breaks.",
                figure(rusted.margin),
                words::outlook(rusted.outlook)
            ),
        ),
    ]
}

/// A step of the ladder in words.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Step {
    /// What to do.
    pub what: String,
    /// Cautions that stand beside it and beside no step before it.
    pub cautions: Vec<String>,
    /// Where it comes from.
    pub source: String,
}

/// What to try in order on a thread of a grade; the advice in one line where the rubric has no ladder.
#[must_use]
pub fn ladder(library: &Library, grade: Grade) -> Vec<Step> {
    let Some(row) = library.thread_grade(grade) else {
        return Vec::new();
    };
    if row.ladder.is_empty() {
        return vec![Step {
            what: text::clean(&row.advice),
            cautions: Vec::new(),
            source: text::clean(&row.source),
        }];
    }
    let mut told: Vec<&str> = Vec::new();
    row.ladder
        .iter()
        .map(|step| {
            let new: Vec<&str> = step
                .cautions
                .iter()
                .map(String::as_str)
                .filter(|id| !told.contains(id))
                .collect();
            told.extend(&new);
            Step {
                what: text::clean(&step.what),
                cautions: new
                    .iter()
                    .map(|id| text::clean(library.caution(id).map_or(id, |c| c.text.as_str())))
                    .collect(),
                source: text::clean(&step.source),
            }
        })
        .collect()
}

/// Everything as text. `across` is a hexagon measured on it, `value` a torque read in a manual.
#[must_use]
pub fn text(subject: &Subject, across: Option<f64>, value: Option<&Torque>, paper: Paper) -> String {
    let mut page = Page::new(paper);
    page.heading(&title(subject));
    page.paragraph(0, words::A_GUIDE_ONLY);
    if !subject.class_named {
        page.paragraph(0, &class_assumed(subject.class));
    }
    page.gap();
    if let Some(torque) = value {
        page.hanging(0, &label("Your figure"), &verdict(subject, torque).words);
    }
    if let Some(words) = across.and_then(|across| odd_hex(subject.thread, across)) {
        page.hanging(0, &label("Your hex"), &words);
    }
    for (name, words) in lines(subject) {
        page.hanging(0, &label(name), &words);
    }
    if let Some(rusted) = subject.figures.rusted {
        page.heading(&format!("Undoing it with its thread graded {}", rusted.grade));
        for (name, words) in rusted_lines(subject) {
            page.hanging(0, &label(name), &words);
        }
    }
    page.finish()
}

/// The ladder as text, to stand below [`text`].
#[must_use]
pub fn ladder_text(library: &Library, grade: Grade, paper: Paper) -> String {
    let mut page = Page::new(paper);
    page.gap();
    page.line("Try in this order, and stop at the first that works:");
    for (n, step) in ladder(library, grade).iter().enumerate() {
        page.hanging(0, &format!("{:>2}. ", n + 1), &step.what);
        for caution in &step.cautions {
            page.hanging(4, "! ", caution);
        }
    }
    page.finish()
}

/// What it is, in a line.
#[must_use]
pub fn title(subject: &Subject) -> String {
    format!(
        "{}, class {}, {}",
        text::clean(&subject.thread.id),
        text::clean(&subject.class.id),
        words::condition(subject.figures.condition)
    )
}

/// What is assumed of a head that was not read.
#[must_use]
pub fn class_assumed(class: &StrengthClass) -> String {
    format!(
        "No class was named: {} is assumed, the weakest of the table. Read the mark on the head.",
        text::clean(&class.id)
    )
}

fn label(name: &str) -> String {
    format!("{name:<13}")
}

/// What is odd about a hexagon on a thread, if anything.
#[must_use]
pub fn odd_hex(thread: &Thread, across: f64) -> Option<String> {
    if hexes_of(thread.diameter).iter().any(|(size, _)| *size == across) {
        return None;
    }
    let usual = diameters_with_hex(across);
    if usual.is_empty() {
        return Some(format!(
            "{across} mm across flats is usual on no thread known here: measure again"
        ));
    }
    let on: Vec<String> = usual
        .iter()
        .map(|(diameter, kind)| format!("M{diameter} ({})", words::hex_kind(*kind)))
        .collect();
    Some(format!(
        "{across} mm across flats is usual on {}, not on {}: measure the thread",
        on.join(", "),
        text::clean(&thread.id)
    ))
}

/// A thread and class that a hexagon may stand for.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Candidate {
    /// The thread's id.
    pub thread: String,
    /// On what such a hexagon is usual there.
    pub on: Vec<HexKind>,
    /// The class's id.
    pub class: String,
    /// The guide torque, N·m.
    pub guide: f64,
    /// Least and most that a manual is expected to say, N·m.
    pub plausible: (f64, f64),
    /// Whether the torque that was asked about is expected of it.
    pub fits: Option<bool>,
}

/// The threads and classes that a hexagon of so many mm across flats may stand for.
#[must_use]
pub fn candidates(library: &Library, across: f64, condition: Condition, value: Option<&Torque>) -> Vec<Candidate> {
    let usual = diameters_with_hex(across);
    let mut candidates = Vec::new();
    for thread in &library.all().threads {
        let on: Vec<HexKind> = usual
            .iter()
            .filter(|(diameter, _)| *diameter == thread.diameter)
            // Wheels are held by fine threads.
            .filter(|(_, kind)| *kind != HexKind::Wheel || thread.pitch <= 1.5)
            .map(|(_, kind)| *kind)
            .collect();
        if on.is_empty() {
            continue;
        }
        for class in &library.all().strength_classes {
            let Ok(guide) = guide_torque(thread, class, condition) else {
                continue;
            };
            let window = plausible(guide);
            candidates.push(Candidate {
                thread: thread.id.clone(),
                on: on.clone(),
                class: class.id.clone(),
                guide,
                plausible: (*window.start(), *window.end()),
                fits: value.map(|torque| slip(torque, guide).is_none()),
            });
        }
    }
    candidates
}

/// What a hexagon may stand for, as text.
#[must_use]
pub fn hex_text(
    across: f64,
    candidates: &[Candidate],
    condition: Condition,
    value: Option<&Torque>,
    paper: Paper,
) -> String {
    let mut page = Page::new(paper);
    page.heading(&format!("{across} mm across flats, {}", words::condition(condition)));
    page.paragraph(0, words::A_GUIDE_ONLY);
    page.gap();
    if let Some(torque) = value {
        let fitting = candidates.iter().filter(|c| c.fits == Some(true)).count();
        let said = match fitting {
            0 => format!("{torque} is expected of none of these: read it again."),
            n if n == candidates.len() => format!("{torque} is plausible for every one of these."),
            n => format!("{torque} is plausible for {n} of these {}.", candidates.len()),
        };
        page.paragraph(0, &said);
        page.gap();
    }
    let mut table = Table::new(&[
        left("thread"),
        left("class"),
        right("guide"),
        right("plausible"),
        left(if value.is_some() { "fits" } else { "" }),
        wide("such a hexagon on it"),
    ]);
    for c in candidates {
        let on: Vec<&str> = c.on.iter().map(|kind| words::hex_kind(*kind)).collect();
        table.row(vec![
            text::clean(&c.thread).into(),
            text::clean(&c.class).into(),
            words::newton_metres(c.guide).into(),
            format!("{:.0} to {}", c.plausible.0, words::newton_metres(c.plausible.1)).into(),
            c.fits.map_or("", |fits| if fits { "yes" } else { "no" }).into(),
            on.join("; ").into(),
        ]);
    }
    page.table(&table);
    page.finish()
}

/// Everything as JSON.
///
/// # Errors
/// As [`super::json`].
pub fn json(subject: &Subject, across: Option<f64>, value: Option<&Torque>) -> Result<String, serde_json::Error> {
    let grade = subject.figures.rusted.map(|r| r.grade);
    let hexes: Vec<serde_json::Value> = hexes_of(subject.thread.diameter)
        .into_iter()
        .map(|(across, kind)| serde_json::json!({"across_flats": across, "on": words::hex_kind(kind)}))
        .collect();
    super::json(&serde_json::json!({
        "thread": subject.thread,
        "class": subject.class.id,
        "class_named": subject.class_named,
        "remark": words::A_GUIDE_ONLY,
        "figures": subject.figures,
        "outlook": subject.figures.rusted.map(|r| words::outlook(r.outlook)),
        "hexes": hexes,
        "socket_key": socket_key(subject.thread.diameter),
        "odd_hex": across.and_then(|a| odd_hex(subject.thread, a)),
        "ladder": grade.map(|g| ladder(subject.library, g)),
        "value": value.map(|torque| verdict(subject, torque)),
    }))
}
