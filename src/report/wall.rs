//! A component's rubric as a page to pin on the wall: what to look at and when, what each grade looks like, what may happen,
//! and the work.

use super::page::{Page, Paper};
use super::words;
use crate::engine::fixings::{Condition, guide_torque};
use crate::engine::harm::{band_start, grade_of};
use crate::rubric::{
    ALWAYS, Caution, Check, CheckKind, Component, Coupling, Fixing, LawClass, Library, Measure, Repair, RepairKind,
};
use crate::text;
use crate::units::Grade;

/// One component's rubric with its repairs.
#[must_use]
pub fn show(library: &Library, component: &Component, paper: Paper) -> String {
    let mut page = Page::new(paper);
    page.heading(&format!("{} [{}]", text::clean(&component.name), component.id));
    page.line(words::system(component.system));
    if !component.also_called.is_empty() {
        page.hanging(0, "also called ", &text::clean(&component.also_called.join(", ")));
    }
    for line in places(library, component) {
        page.hanging(0, "sits ", &line);
    }
    page.gap();
    page.paragraph(0, &text::clean(&component.about));
    page.paragraph(0, words::ORDERS_WORK_ONLY);
    show_checks(&mut page, library, component);
    show_modes(&mut page, library, component);
    show_work(&mut page, library, component);
    page.finish()
}

/// Where the component sits, in which pieces of layout.
fn places(library: &Library, component: &Component) -> Vec<String> {
    let mut lines: Vec<(String, Vec<String>)> = Vec::new();
    for piece in &library.all().layouts {
        for place in piece.places.iter().filter(|p| p.component == component.id) {
            let stations: Vec<String> = place.at.iter().map(|s| s.words()).collect();
            let with: Vec<String> = place
                .with
                .iter()
                .filter_map(|id| library.layout(id))
                .map(|p| words::small(&text::clean(&p.name)))
                .collect();
            let mut on = if piece.choice == ALWAYS {
                "on every car".to_owned()
            } else {
                words::small(&text::clean(&piece.name))
            };
            if !with.is_empty() {
                on.push_str(&format!(" (with {})", with.join(" or ")));
            }
            let stations = text::clean(&stations.join("; "));
            match lines.iter_mut().find(|(s, _)| *s == stations) {
                Some((_, pieces)) => pieces.push(on),
                None => lines.push((stations, vec![on])),
            }
        }
    }
    lines
        .into_iter()
        .map(|(stations, on)| format!("{stations}: {}", on.join(", ")))
        .collect()
}

/// Cautions in full under a heading, each once.
fn cautions(page: &mut Page, library: &Library, indent: usize, ids: &[&String]) {
    let mut said: Vec<&Caution> = Vec::new();
    for caution in ids.iter().filter_map(|id| library.caution(id)) {
        if !said.iter().any(|c| c.id == caution.id) {
            page.hanging(indent, "! ", &text::clean(&caution.text));
            said.push(caution);
        }
    }
}

/// The checks in the order of the walk round the car.
fn show_checks(page: &mut Page, library: &Library, component: &Component) {
    let mut checks: Vec<&Check> = component.checks.iter().collect();
    checks.sort_by_key(|c| c.stage);
    let all: Vec<&String> = checks.iter().flat_map(|c| &c.cautions).collect();
    if !all.is_empty() {
        page.heading("Before you look");
        cautions(page, library, 0, &all);
    }
    for check in checks {
        show_check(page, library, component, check);
    }
}

fn show_check(page: &mut Page, library: &Library, component: &Component, check: &Check) {
    page.heading(&format!(
        "{} [{}] – {}, about {} min",
        text::clean(&check.name),
        check.id,
        words::small(words::stage(check.stage)),
        check.minutes
    ));
    page.paragraph(2, &text::clean(&check.how));
    match &check.kind {
        CheckKind::Graded(descriptions) => {
            for (digit, description) in Grade::ALL.iter().zip(descriptions) {
                graded(page, *digit, &text::clean(description));
            }
        }
        CheckKind::YesNo(question) => {
            page.paragraph(2, &text::clean(&question.question));
            page.hanging(2, "yes  ", &text::clean(&question.yes));
            page.hanging(2, "no   ", &text::clean(&question.no));
        }
        CheckKind::Measured(measure) => show_measure(page, check, measure),
    }
    if !check.law.is_empty() {
        page.paragraph(2, &law(&check.law));
    }
    if check.keeps_off_the_road {
        page.paragraph(2, "Grade 5 here keeps the car off the road.");
    }
    for coupling in component.couplings.iter().filter(|c| c.when == check.id) {
        page.paragraph(2, &quickens(library, component, check, coupling));
    }
    let decline = &check.decline;
    page.paragraph(
        2,
        &format!(
            "Usually lasts {} {}, worn by {} ({}).",
            decline.life,
            words::life_unit(decline.driver),
            words::driver(decline.driver),
            text::clean(&decline.source)
        ),
    );
}

/// One grade and what it looks like. The digit may carry colour, which has no width: the text is set first.
fn graded(page: &mut Page, grade: Grade, description: &str) {
    let mark = page.paper().graded(grade, &grade.to_string());
    let cells = page.paper().width.saturating_sub(5).max(20);
    for (n, line) in text::wrap(description, cells).into_iter().enumerate() {
        if n == 0 {
            page.line(&format!("  {mark}  {line}"));
        } else {
            page.line(&format!("     {line}"));
        }
    }
}

fn show_measure(page: &mut Page, check: &Check, measure: &Measure) {
    let unit = text::clean(&measure.unit);
    page.paragraph(
        2,
        &format!(
            "Measure with: {}; one reading is good to about ± {} {unit}.",
            words::small(&text::clean(&measure.instrument)),
            measure.sd,
        ),
    );
    if !measure.points.is_empty() {
        page.paragraph(
            2,
            &format!(
                "At each of: {}; the worst governs.",
                text::clean(&measure.points.join(", "))
            ),
        );
    }
    let edges = check.grade_edges();
    let bands: Vec<String> = Grade::ALL
        .iter()
        .skip(1)
        .map(|grade| {
            let reading = measure.new + band_start(&edges, *grade) * (measure.limit - measure.new);
            format!(
                "{} from {}",
                page.paper().graded(*grade, &grade.to_string()),
                number(reading)
            )
        })
        .collect();
    page.paragraph(
        2,
        &format!(
            "New {} {unit}, limit {} {unit} ({}). Grade {}.",
            measure.new,
            measure.limit,
            text::clean(&measure.source),
            bands.join(", ")
        ),
    );
    page.paragraph(
        2,
        if measure.ask_manual {
            "The limit depends on the car's design: ask its own manual and give the program that figure."
        } else {
            "Your own manual's figure wins over this limit."
        },
    );
}

/// A reading with no more decimals than it needs.
fn number(value: f64) -> String {
    let text = format!("{value:.3}");
    text.trim_end_matches('0').trim_end_matches('.').to_owned()
}

/// The law's classes in one sentence.
fn law(classes: &[LawClass]) -> String {
    let from: Vec<String> = classes
        .iter()
        .map(|l| {
            format!(
                "{} from grade {} (item {}; {})",
                words::class(l.class),
                l.from,
                text::clean(&l.item),
                text::clean(&l.source)
            )
        })
        .collect();
    format!("Law: {}.", from.join(", "))
}

/// What a coupling says, in grades.
fn quickens(library: &Library, component: &Component, check: &Check, coupling: &Coupling) -> String {
    let at = grade_of(&check.grade_edges(), coupling.past);
    let what = match coupling.quickens.split_once('/') {
        Some((other, id)) => {
            let name = library.component(other).map_or(other, |c| c.name.as_str());
            format!(
                "{} of the {}",
                words::check(library, other, id),
                words::small(&text::clean(name))
            )
        }
        None => words::check(library, &component.id, &coupling.quickens),
    };
    format!(
        "From grade {at} on, “{}” goes {} times as fast ({}).",
        words::small(&what),
        coupling.times,
        text::clean(&coupling.source)
    )
}

fn show_modes(page: &mut Page, library: &Library, component: &Component) {
    if component.modes.is_empty() {
        return;
    }
    page.heading("What may happen");
    for mode in &component.modes {
        let driven: Vec<String> = mode
            .driven_by
            .iter()
            .map(|c| words::small(&words::check(library, &component.id, c)))
            .collect();
        page.item(
            0,
            &format!(
                "{} Severity {}, driven by {}; lets go at about {} times the limit ({}).",
                text::clean(&mode.what),
                words::severity(mode.severity),
                driven.join(", "),
                mode.lets_go.median,
                text::clean(&mode.source)
            ),
        );
        for happened in &mode.happened {
            page.paragraph(
                2,
                &format!(
                    "Has happened when {} is graded {} or worse.",
                    words::small(&words::check(library, &component.id, &happened.check)),
                    happened.from
                ),
            );
        }
    }
}

/// The repairs, with the cautions that all of them share said once before them.
fn show_work(page: &mut Page, library: &Library, component: &Component) {
    let repairs: Vec<&Repair> = library.repairs_of(&component.id).collect();
    let Some(first) = repairs.first() else {
        return;
    };
    page.heading("The work");
    let every = |id: &&String| repairs.iter().all(|r| r.cautions.contains(id));
    let shared: Vec<&String> = if repairs.len() > 1 {
        first.cautions.iter().filter(every).collect()
    } else {
        Vec::new()
    };
    cautions(page, library, 0, &shared);
    for repair in repairs {
        show_repair(page, library, repair, &shared);
    }
}

fn show_repair(page: &mut Page, library: &Library, repair: &Repair, said: &[&String]) {
    page.heading(&format!("{} [{}]", text::clean(&repair.name), repair.id));
    let who = match &repair.specialist {
        None => format!("{} of your own time", words::hours(repair.hours)),
        Some(s) => format!(
            "work for {}: book {} ahead, {} of their time, a bill of about {:.0}",
            words::a_trade(&s.trade),
            words::count(s.wait_days as usize, "day"),
            words::hours(repair.hours),
            s.cost
        ),
    };
    page.paragraph(
        2,
        &format!(
            "{}; {who} ({}).",
            what_it_does(library, repair),
            text::clean(&repair.source)
        ),
    );
    let own: Vec<&String> = repair.cautions.iter().filter(|id| !said.contains(id)).collect();
    cautions(page, library, 2, &own);
    for (label, items) in [
        ("open    ", opened(library, repair)),
        ("buy     ", bought(repair)),
        ("tools   ", repair.tools.iter().map(|t| text::clean(t)).collect()),
    ] {
        if !items.is_empty() {
            page.hanging(2, label, &items.join(", "));
        }
    }
    for fixing in &repair.fixings {
        page.hanging(2, "tighten ", &tightened(library, fixing));
    }
    let then: Vec<String> = repair
        .follow_ups
        .iter()
        .map(|id| library.follow_up(id).map_or(id.as_str(), |f| f.name.as_str()))
        .map(|name| words::small(&text::clean(name)))
        .collect();
    if !then.is_empty() {
        page.hanging(2, "then    ", &then.join(", "));
    }
    for note in &repair.notes {
        page.item(2, &text::clean(note));
    }
}

fn what_it_does(library: &Library, repair: &Repair) -> String {
    let check = |id: &str| words::small(&words::check(library, &repair.component, id));
    match &repair.kind {
        RepairKind::Renew => {
            let also: Vec<String> = repair
                .also_renews
                .iter()
                .map(|id| library.component(id).map_or(id.as_str(), |c| c.name.as_str()))
                .map(|name| words::small(&text::clean(name)))
                .collect();
            if also.is_empty() {
                "Renews all of it".to_owned()
            } else {
                format!("Renews all of it, and {}", also.join(", "))
            }
        }
        RepairKind::RenewChecks(checks) => {
            let names: Vec<String> = checks.iter().map(|c| check(c)).collect();
            format!("Renews {}", names.join(", "))
        }
        RepairKind::Treat(resets) => {
            let texts: Vec<String> = resets
                .iter()
                .map(|r| match r.up_to {
                    Some(up_to) => format!("{} to grade {} where it is {up_to} or better", check(&r.check), r.to),
                    None => format!("{} to grade {}", check(&r.check), r.to),
                })
                .collect();
            format!("Brings {}", texts.join(", "))
        }
    }
}

fn opened(library: &Library, repair: &Repair) -> Vec<String> {
    library
        .access_closure(&repair.access)
        .into_iter()
        .map(|s| words::small(&text::clean(&s.name)))
        .collect()
}

fn bought(repair: &Repair) -> Vec<String> {
    repair
        .buy
        .iter()
        .map(|p| format!("{} × {}", p.count, text::clean(&p.name)))
        .collect()
}

/// A fastener with its guide torque, marked as a guide.
fn tightened(library: &Library, fixing: &Fixing) -> String {
    let thread = fixing.thread.as_deref().and_then(|id| library.thread(id));
    let class = fixing.class.as_deref().and_then(|id| library.strength_class(id));
    let guide = thread
        .zip(class)
        .and_then(|(t, c)| guide_torque(t, c, Condition::Dry).ok());
    words::fixing(fixing, guide)
}
