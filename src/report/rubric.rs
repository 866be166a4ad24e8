//! The list of all rubrics.

use super::page::{Page, Paper, Table, left, right, wide};
use super::words;
use crate::rubric::Library;
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
    if !library.all().usual_cars.is_empty() {
        page.heading("Usual cars to start from (`tinworm new --like`)");
        for usual in &library.all().usual_cars {
            page.hanging(0, &format!("{}: ", usual.id), &words::small(&text::clean(&usual.name)));
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
