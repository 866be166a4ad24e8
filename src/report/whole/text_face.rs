//! The report as plain text.

use super::model::{Block, Cell, Drawing, KEEP_OFF, Report, Section, Table};
use crate::report::page::{Cell as PageCell, Page, Paper, Table as PageTable, bar, left, right, wide};
use crate::report::worksheet;

/// The report as plain text.
#[must_use]
pub fn text(report: &Report, paper: Paper) -> String {
    let mut page = Page::new(paper);
    page.heading(&format!("{}, {}", report.title, report.made));
    page.paragraph(0, &report.remark);
    if !report.notice.is_empty() {
        page.heading(&format!("{}:", KEEP_OFF.to_uppercase()));
        for line in &report.notice {
            page.item(0, line);
        }
    }
    for part in &report.sections {
        section(&mut page, part);
    }
    page.gap();
    page.paragraph(0, &report.remark);
    page.finish()
}

/// A section with its heading.
pub fn section(page: &mut Page, section: &Section) {
    page.heading(&section.title);
    page.line(&"=".repeat(crate::text::width(&section.title).min(page.paper().width)));
    for block in &section.blocks {
        one(page, block);
    }
}

fn one(page: &mut Page, block: &Block) {
    match block {
        Block::Heading(text) => page.heading(text),
        Block::Paragraph(text) => page.paragraph(0, text),
        Block::List(lines) => lines.iter().for_each(|line| page.item(0, line)),
        Block::Facts(facts) => {
            let width = facts
                .iter()
                .map(|(name, _)| crate::text::width(name))
                .max()
                .unwrap_or(0);
            for (name, said) in facts {
                page.hanging(0, &format!("{}  ", crate::text::fit(name, width)), said);
            }
        }
        Block::Table(table) => set(page, table),
        Block::Drawing(Drawing {
            title,
            description,
            lines,
            ..
        }) => {
            page.heading(title);
            // Where the lines say all of it, as from above, the description would say it twice.
            if !lines.iter().all(|line| description.contains(line.as_str())) {
                page.paragraph(0, description);
            }
            lines.iter().for_each(|line| page.item(0, line));
        }
        Block::Photo(photo) if photo.note.is_empty() => page.item(0, &format!("Photo: {}", photo.title)),
        Block::Photo(photo) => page.item(0, &format!("Photo: {} – {}", photo.title, photo.note)),
        Block::Worksheet(sheet) => {
            page.gap();
            for line in worksheet::text(sheet, page.paper()).lines() {
                page.line(line);
            }
        }
    }
}

fn set(page: &mut Page, table: &Table) {
    page.heading(&table.caption);
    let columns: Vec<_> = table
        .columns
        .iter()
        .enumerate()
        .map(|(n, column)| match (column.number, n) {
            (true, _) => right(column.title),
            (false, 0) if table.named_by != 0 => left(column.title),
            (false, _) => wide(column.title),
        })
        .collect();
    let mut set = PageTable::new(&columns);
    for row in &table.rows {
        let cells = row.cells.iter().map(|cell| match cell {
            Cell::Text(text) => PageCell::from(text.as_str()),
            Cell::Grade(grade) => PageCell::from(*grade),
            Cell::Bar(length) => PageCell::from(bar(length.value, length.scale, 10)),
        });
        set.row_with_note(cells.collect(), row.note.clone());
    }
    page.table(&set);
}
