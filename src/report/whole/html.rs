//! The report as one HTML page: no script, nothing from the network, prints on A4 and Letter.
//!
//! A grade is its digit; on the screen it stands on the ramp's colour, on paper beside a rule that is the thicker the worse the
//! grade, so that it reads where colours are not printed.

use base64::Engine as _;
use maud::{Markup, PreEscaped, html};

use super::drawing::at;
use super::model::{Bar, Block, Cell, Drawing, KEEP_OFF, Photo, Report, Section, Table};
use crate::report::html as frame;
use crate::report::page::page_colours;
use crate::report::worksheet;
use crate::units::Grade;

/// Stands after the style of the worksheets. No text of anybody's comes in here.
const STYLE: &str = "\
html { font-size: 10pt; }
nav ul { columns: 2; list-style: none; }
nav a { color: #000; }
h4 { font-size: 10.5pt; margin: 3mm 0 1mm; break-after: avoid; }
h5 { font-size: 10pt; margin: 2mm 0 1mm; break-after: avoid; }
section > ul, section > section > ul, .notice ul { list-style: disc; padding-left: 5mm; }
.notice { border: 1mm solid #000; padding: 1mm 3mm; margin: 3mm 0; break-inside: avoid; }
.notice h2 { border: 0; margin: 1mm 0; }
.facts { grid-template-columns: 34mm 1fr; }
caption { text-align: left; font-weight: bold; padding: 1mm 0; caption-side: top; }
th[scope=row] { font-weight: normal; font-size: 10pt; }
td.note { font-size: 8.5pt; padding-left: 5mm; }
tbody { break-inside: avoid; }
figure { margin: 3mm 0; break-inside: avoid; }
figure svg { max-width: 100%; height: auto; display: block; }
figure svg text, td svg text { font-family: 'Liberation Sans', Arial, Helvetica, sans-serif; }
figure img { max-width: 100%; max-height: 220mm; width: auto; height: auto; display: block; }
figcaption { font-weight: bold; }
figure details, figure ul { font-size: 8.5pt; }
figure ul { list-style: disc; padding-left: 5mm; }
.bar { width: 26mm; }
td:first-child { white-space: nowrap; }
td.note { white-space: normal; }
.grade { display: inline-block; min-width: 5mm; text-align: center; font-weight: bold; border: 0.25mm solid #000; padding: 0.3mm 1mm; }
article { break-before: page; }
@media print {
  nav { display: none; }
  .grade { background: #fff !important; color: #000 !important; border: 0; border-left: 0.3mm solid #000; }
  .g1 { border-left-width: 0.7mm; } .g2 { border-left-width: 1.1mm; } .g3 { border-left-width: 1.6mm; }
  .g4 { border-left-width: 2.2mm; } .g5 { border-left-width: 3mm; }
}
";

/// What gives each drawing of a page a name of its own.
#[derive(Debug, Default)]
struct Names(usize);

impl Names {
    fn next(&mut self) -> (String, String) {
        self.0 += 1;
        (format!("d{}t", self.0), format!("d{}d", self.0))
    }
}

/// The whole page.
#[must_use]
pub fn page(report: &Report) -> String {
    let mut names = Names::default();
    let body = html! {
        header {
            h1 { (report.title) }
            p { time datetime=(report.made) { (report.made) } }
            p.remark { (report.remark) }
        }
        main {
            @if !report.notice.is_empty() {
                section.notice aria-labelledby="notice" {
                    h2 #notice { (KEEP_OFF) }
                    ul { @for line in &report.notice { li { (line) } } }
                }
            }
            nav aria-label="Sections" {
                ul { @for section in &report.sections { li { a href={ "#" (section.id) } { (section.title) } } } }
            }
            @for section in &report.sections { (one_section(section, &mut names)) }
        }
        footer { p.remark { (report.remark) } }
    };
    let colours: String = Grade::ALL
        .iter()
        .map(|grade| {
            let (back, fore) = page_colours(*grade);
            format!(".g{grade} {{ background: {back}; color: {fore}; }}\n")
        })
        .collect();
    let style = format!("{}{colours}{STYLE}", worksheet::html::STYLE);
    frame::page(&format!("{}, {}", report.title, report.made), &style, &body)
}

fn one_section(section: &Section, names: &mut Names) -> Markup {
    html! {
        section id=(section.id) {
            h2 { (section.title) }
            @for block in &section.blocks { (one_block(block, names)) }
        }
    }
}

fn one_block(block: &Block, names: &mut Names) -> Markup {
    match block {
        Block::Heading(text) => html! { h3 { (text) } },
        Block::Paragraph(text) => html! { p { (text) } },
        Block::List(lines) => html! { ul { @for line in lines { li { (line) } } } },
        Block::Facts(facts) => html! { dl.facts { @for (name, said) in facts { dt { (name) } dd { (said) } } } },
        Block::Table(table) => one_table(table, names),
        Block::Drawing(drawing) => figure(drawing, names),
        Block::Photo(shown) => photo(shown),
        Block::Worksheet(sheet) => html! {
            article {
                h3 { (sheet.title()) }
                (lowered(&worksheet::html::head(sheet)))
                (lowered(&worksheet::html::sections(sheet)))
            }
        },
    }
}

/// The headings of a worksheet two levels further down. Texts are escaped, so a tag's name in one is never taken for a tag.
fn lowered(sheet: &Markup) -> Markup {
    let mut page = sheet.0.clone();
    for (from, to) in [("h3", "h5"), ("h2", "h4")] {
        page = page
            .replace(&format!("<{from}>"), &format!("<{to}>"))
            .replace(&format!("</{from}>"), &format!("</{to}>"));
    }
    PreEscaped(page)
}

fn figure(drawing: &Drawing, names: &mut Names) -> Markup {
    let (title, description) = names.next();
    let (across, down) = drawing.size;
    html! {
        figure {
            figcaption { (drawing.title) }
            svg role="img" aria-labelledby={ (title) " " (description) } viewBox={ "0 0 " (at(across)) " " (at(down)) }
                width=(at(across)) height=(at(down)) {
                title id=(title) { (drawing.title) }
                desc id=(description) { (drawing.description) }
                (PreEscaped(&drawing.shapes))
            }
            ul { @for line in &drawing.lines { li { (line) } } }
        }
    }
}

fn photo(photo: &Photo) -> Markup {
    let data = base64::engine::general_purpose::STANDARD.encode(&photo.picture.jpeg);
    html! {
        figure {
            figcaption { (photo.title) }
            img src={ "data:image/jpeg;base64," (data) } alt={ "Photo: " (photo.title) }
                width=(photo.picture.width) height=(photo.picture.height);
            @if !photo.note.is_empty() { p { (photo.note) } }
        }
    }
}

fn one_table(table: &Table, names: &mut Names) -> Markup {
    html! {
        table {
            caption { (table.caption) }
            thead { tr { @for column in &table.columns { th scope="col" class=[column.number.then_some("number")] { (column.title) } } } }
            @for row in &table.rows {
                tbody {
                    tr {
                        @for (n, cell) in row.cells.iter().enumerate() {
                            @let number = table.columns.get(n).is_some_and(|c| c.number).then_some("number");
                            @if n == table.named_by {
                                th scope="row" class=[number] {
                                    (one_cell(cell, names))
                                }
                            } @else {
                                td class=[number] { (one_cell(cell, names)) }
                            }
                        }
                    }
                    @if !row.note.is_empty() { tr { td.note colspan=(row.cells.len()) { (row.note) } } }
                }
            }
        }
    }
}

fn one_cell(cell: &Cell, names: &mut Names) -> Markup {
    match cell {
        Cell::Text(text) => html! { (text) },
        Cell::Grade(None) => html! { "–" },
        Cell::Grade(Some(grade)) => html! { span class={ "grade g" (grade) } { (grade) } },
        Cell::Bar(bar) => one_bar(bar, names),
    }
}

fn one_bar(bar: &Bar, names: &mut Names) -> Markup {
    let (title, description) = names.next();
    let x = |value: f64| 1.0 + 118.0 * (value / bar.scale.max(f64::MIN_POSITIVE)).clamp(0.0, 1.0);
    let ends = [x(bar.low), x(bar.high)];
    html! {
        svg.bar role="img" aria-labelledby={ (title) " " (description) } viewBox="0 0 120 14" {
            title id=(title) { "Exposure" }
            desc id=(description) { (bar.span()) }
            rect x="1" y="3" width=(at((x(bar.value) - 1.0).max(0.6))) height="8" fill="#5f5fff" stroke="#000" stroke-width="0.5" {}
            line x1=(at(x(bar.low))) x2=(at(x(bar.high))) y1="7" y2="7" stroke="#000" {}
            @for end in ends { line x1=(at(end)) x2=(at(end)) y1="4.5" y2="9.5" stroke="#000" {} }
        }
    }
}
