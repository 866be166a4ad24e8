//! The report as Markdown (CommonMark with the usual tables).

use super::model::{Block, Cell, KEEP_OFF, Report, Table};
use crate::report::page::Paper;
use crate::report::worksheet;

/// A text in which nothing is a mark of Markdown or HTML.
fn plain(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for c in text.chars() {
        if "\\`*_{}[]<>#|~&!".contains(c) {
            out.push('\\');
        }
        out.push(match c {
            '\n' | '\r' | '\t' => ' ',
            c if crate::text::is_hostile(c) => '␦',
            c => c,
        });
    }
    // What would begin a list, a rule or an underlined heading.
    let number = out.trim_start_matches(|c: char| c.is_ascii_digit());
    if out.starts_with(['-', '+', '=']) {
        out.insert(0, '\\');
    } else if number.len() < out.len() && number.starts_with(['.', ')']) {
        out.insert(out.len() - number.len(), '\\');
    }
    out
}

/// The report as Markdown.
#[must_use]
pub fn markdown(report: &Report) -> String {
    let mut out = format!("# {}, {}\n\n", plain(&report.title), report.made);
    out.push_str(&format!("> {}\n\n", plain(&report.remark)));
    if !report.notice.is_empty() {
        out.push_str(&format!("**{KEEP_OFF}:**\n\n"));
        list(&mut out, &report.notice);
    }
    for section in &report.sections {
        out.push_str(&format!("## {}\n\n", plain(&section.title)));
        for block in &section.blocks {
            one(&mut out, block);
        }
    }
    out.push_str(&format!("> {}\n", plain(&report.remark)));
    out
}

fn list(out: &mut String, lines: &[String]) {
    for line in lines {
        out.push_str(&format!("- {}\n", plain(line)));
    }
    out.push('\n');
}

fn one(out: &mut String, block: &Block) {
    match block {
        Block::Heading(text) => out.push_str(&format!("### {}\n\n", plain(text))),
        Block::Paragraph(text) => out.push_str(&format!("{}\n\n", plain(text))),
        Block::List(lines) => list(out, lines),
        Block::Facts(facts) => {
            for (name, said) in facts {
                out.push_str(&format!("- **{}**: {}\n", plain(name), plain(said)));
            }
            out.push('\n');
        }
        Block::Table(table) => set(out, table),
        Block::Drawing(drawing) => {
            out.push_str(&format!("### {}\n\n", plain(&drawing.title)));
            if !drawing.lines.iter().all(|l| drawing.description.contains(l.as_str())) {
                out.push_str(&format!("{}\n\n", plain(&drawing.description)));
            }
            list(out, &drawing.lines);
        }
        Block::Photo(photo) => {
            out.push_str(&format!("- Photo: {}", plain(&photo.title)));
            if !photo.note.is_empty() {
                out.push_str(&format!(" – *{}*", plain(&photo.note)));
            }
            out.push_str("\n\n");
        }
        Block::Worksheet(sheet) => {
            let text = worksheet::text(sheet, Paper::default());
            // Longer than any run of the same mark within.
            let fence = "`".repeat(longest_run(&text, '`').max(2) + 1);
            out.push_str(&format!(
                "### {}\n\n{fence}text\n{}\n{fence}\n\n",
                plain(&sheet.title()),
                text.trim_end()
            ));
        }
    }
}

fn longest_run(text: &str, mark: char) -> usize {
    text.split(|c| c != mark).map(str::len).max().unwrap_or(0)
}

fn set(out: &mut String, table: &Table) {
    out.push_str(&format!("**{}**\n\n", plain(&table.caption)));
    // A bar is the number beside it once more, so its column carries the span alone.
    let titles: Vec<String> = table.columns.iter().map(|c| plain(c.title)).collect();
    let rule: Vec<&str> = table
        .columns
        .iter()
        .map(|c| if c.number { "--:" } else { ":--" })
        .collect();
    out.push_str(&format!("| {} |\n| {} |\n", titles.join(" | "), rule.join(" | ")));
    for row in &table.rows {
        let cells: Vec<String> = row
            .cells
            .iter()
            .enumerate()
            .map(|(n, cell)| {
                let text = match cell {
                    Cell::Text(text) => plain(text),
                    Cell::Grade(grade) => grade.map_or_else(|| "–".to_owned(), |g| g.to_string()),
                    Cell::Bar(bar) => plain(&bar.span()),
                };
                if n == table.named_by && !row.note.is_empty() {
                    format!("{text} – *{}*", plain(&row.note))
                } else {
                    text
                }
            })
            .collect();
        out.push_str(&format!("| {} |\n", cells.join(" | ")));
    }
    out.push('\n');
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn no_text_of_a_person_is_a_mark() {
        assert_eq!(plain("a|b <i> *c* [d](e)"), "a\\|b \\<i\\> \\*c\\* \\[d\\](e)");
        assert_eq!(plain("12. nut"), "12\\. nut");
        assert_eq!(plain("- x"), "\\- x");
        assert_eq!(plain("4 of 5"), "4 of 5");
        assert_eq!(longest_run("a ``` b `` c", '`'), 3);
    }
}
