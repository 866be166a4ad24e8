//! A rubric as a page to pin on the wall, and the list of all.

use super::page::{Page, Paper, Table, left, right, wide};
use super::words;
use crate::rubric::{Check, CheckKind, Component, Library, Repair, RepairKind};
use crate::text;

/// The list of components.
#[must_use]
pub fn list(library: &Library, paper: Paper) -> String {
    let mut page = Page::new(paper);
    let mut table = Table::new(&[
        left("component"),
        wide("name"),
        left("system"),
        right("checks"),
        right("repairs"),
    ]);
    for component in library.components() {
        table.row(vec![
            component.id.clone().into(),
            text::clean(&component.name).into(),
            words::system(component.system).into(),
            component.checks.len().to_string().into(),
            library.repairs_of(&component.id).count().to_string().into(),
        ]);
    }
    if table.is_empty() {
        page.paragraph(0, "There are no components in the rubrics.");
    } else {
        page.table(&table);
    }
    let choices = library.choices();
    if !choices.is_empty() {
        page.heading("Layouts: one piece of each choice");
        for choice in choices {
            let pieces: Vec<String> = library
                .pieces_of(choice)
                .map(|p| format!("{} ({})", p.id, words::small(&text::clean(&p.name))))
                .collect();
            page.hanging(0, &format!("{choice}: "), &pieces.join(", "));
        }
    }
    let ids = |list: Vec<String>| list.join(", ");
    let climates = library
        .all()
        .climates
        .iter()
        .map(|c| format!("{} ({})", c.id, text::clean(&c.name)));
    let storages = library
        .all()
        .storages
        .iter()
        .map(|s| format!("{} ({})", s.id, text::clean(&s.name)));
    page.heading("Where a car lives");
    page.hanging(0, "climate: ", &ids(climates.collect()));
    page.hanging(0, "storage: ", &ids(storages.collect()));
    page.finish()
}

/// One component's rubric with its repairs.
#[must_use]
pub fn show(library: &Library, component: &Component, paper: Paper) -> String {
    let mut page = Page::new(paper);
    page.heading(&format!("{} [{}]", text::clean(&component.name), component.id));
    page.line(words::system(component.system));
    page.gap();
    page.paragraph(0, &text::clean(&component.about));
    page.paragraph(0, words::ORDERS_WORK_ONLY);
    for check in &component.checks {
        show_check(&mut page, library, component, check);
    }
    if !component.modes.is_empty() {
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
    if !component.couplings.is_empty() {
        page.heading("What quickens what");
        for coupling in &component.couplings {
            page.item(
                0,
                &format!(
                    "{} past damage {}: {} goes {} times as fast ({})",
                    words::check(library, &component.id, &coupling.when),
                    coupling.past,
                    text::clean(&coupling.quickens.replace(['/', '-'], " ")),
                    coupling.times,
                    text::clean(&coupling.source)
                ),
            );
        }
    }
    let repairs: Vec<&Repair> = library.repairs_of(&component.id).collect();
    if !repairs.is_empty() {
        page.heading("Repairs");
        for repair in repairs {
            show_repair(&mut page, library, repair);
        }
    }
    page.finish()
}

fn show_check(page: &mut Page, library: &Library, component: &Component, check: &Check) {
    page.heading(&format!("{} [{}]", text::clean(&check.name), check.id));
    page.paragraph(
        2,
        &format!(
            "{}, about {} min. {}",
            words::stage(check.stage),
            check.minutes,
            text::clean(&check.how)
        ),
    );
    for caution in check.cautions.iter().filter_map(|id| library.caution(id)) {
        page.hanging(2, "! ", &text::clean(&caution.text));
    }
    match &check.kind {
        CheckKind::Graded(descriptions) => {
            for (digit, description) in descriptions.iter().enumerate() {
                let mark = crate::units::Grade::new(u8::try_from(digit).unwrap_or(5))
                    .map_or_else(|| digit.to_string(), |g| page.paper().graded(g, &digit.to_string()));
                // The mark may carry colour, which has no width: the text is set first and the mark put before it.
                let cells = page.paper().width.saturating_sub(5).max(20);
                for (n, line) in text::wrap(&text::clean(description), cells).into_iter().enumerate() {
                    if n == 0 {
                        page.line(&format!("  {mark}  {line}"));
                    } else {
                        page.line(&format!("     {line}"));
                    }
                }
            }
        }
        CheckKind::YesNo(question) => {
            page.paragraph(2, &text::clean(&question.question));
            page.hanging(2, "yes  ", &text::clean(&question.yes));
            page.hanging(2, "no   ", &text::clean(&question.no));
        }
        CheckKind::Measured(measure) => {
            let points = if measure.points.is_empty() {
                String::new()
            } else {
                format!(
                    " Points: {}; the worst governs.",
                    text::clean(&measure.points.join(", "))
                )
            };
            let ask = if measure.ask_manual {
                " Ask the car's own manual."
            } else {
                ""
            };
            page.paragraph(
                2,
                &format!(
                    "With {}, ± {} {}. New {}, limit {} {} ({}).{points}{ask}",
                    words::small(&text::clean(&measure.instrument)),
                    measure.sd,
                    text::clean(&measure.unit),
                    measure.new,
                    measure.limit,
                    text::clean(&measure.unit),
                    text::clean(&measure.source)
                ),
            );
        }
    }
    let decline = &check.decline;
    page.paragraph(
        2,
        &format!(
            "Usual life {} {} by {} ({}).",
            decline.life,
            words::life_unit(decline.driver),
            words::driver(decline.driver),
            text::clean(&decline.source)
        ),
    );
    for law in &check.law {
        page.paragraph(
            2,
            &format!(
                "Law: {} deficiency from grade {}, item {} ({}).",
                words::class(law.class),
                law.from,
                text::clean(&law.item),
                text::clean(&law.source)
            ),
        );
    }
    if check.keeps_off_the_road {
        page.paragraph(2, "Grade 5 here keeps the car off the road.");
    }
    let _ = component;
}

fn show_repair(page: &mut Page, library: &Library, repair: &Repair) {
    let what = match &repair.kind {
        RepairKind::Renew => "renews all of it".to_owned(),
        RepairKind::RenewChecks(checks) => format!("renews {}", text::clean(&checks.join(", "))),
        RepairKind::Treat(resets) => {
            let texts: Vec<String> = resets
                .iter()
                .map(|r| format!("{} to grade {}", r.check, r.to))
                .collect();
            format!("brings {}", text::clean(&texts.join(", ")))
        }
    };
    let who = repair.specialist.as_ref().map_or_else(String::new, |s| {
        format!(
            "work for {}, to be booked {} ahead; their bill about {:.0}; ",
            words::a_trade(&s.trade),
            words::count(s.wait_days as usize, "day"),
            s.cost
        )
    });
    page.hanging(
        0,
        "- ",
        &format!(
            "{} [{}]: {who}{}, {what} ({})",
            text::clean(&repair.name),
            repair.id,
            words::hours(repair.hours),
            text::clean(&repair.source)
        ),
    );
    let steps: Vec<String> = library
        .access_closure(&repair.access)
        .into_iter()
        .map(|s| words::small(&text::clean(&s.name)))
        .collect();
    let follow_ups: Vec<String> = repair
        .follow_ups
        .iter()
        .map(|id| {
            words::small(&text::clean(
                library.follow_up(id).map_or(id.as_str(), |f| f.name.as_str()),
            ))
        })
        .collect();
    let buy: Vec<String> = repair
        .buy
        .iter()
        .map(|p| format!("{} × {}", p.count, text::clean(&p.name)))
        .collect();
    for (label, items) in [
        ("open: ", steps),
        ("then: ", follow_ups),
        ("buy: ", buy),
        ("tools: ", repair.tools.iter().map(|t| text::clean(t)).collect()),
    ] {
        if !items.is_empty() {
            page.hanging(2, label, &items.join(", "));
        }
    }
    for caution in repair.cautions.iter().filter_map(|id| library.caution(id)) {
        page.hanging(2, "! ", &text::clean(&caution.text));
    }
    for note in &repair.notes {
        page.item(2, &text::clean(note));
    }
}
