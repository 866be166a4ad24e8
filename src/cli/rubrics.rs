//! `rubrics`: the yardsticks in force, and the mistakes in files of one's own.

use super::args::Rubrics;
use super::desk::{self, Desk};
use super::exit::Failure;
use crate::report::{json, rubric, wall, words};
use crate::rubric::{builtin, check};
use crate::store::{source, user_files};

/// Lists, shows or checks rubrics.
pub fn rubrics(desk: &Desk, what: Rubrics) -> Result<String, Failure> {
    match what {
        Rubrics::List { form } => {
            let library = desk.library()?;
            if form.json {
                return Ok(json(library.all())?);
            }
            Ok(rubric::list(&library, desk.paper))
        }
        Rubrics::Show { id, form } => {
            let library = desk.library()?;
            let component = desk::component(&library, &id)?;
            if form.json {
                let repairs: Vec<_> = library.repairs_of(&component.id).collect();
                return Ok(json(&serde_json::json!({"component": component, "repairs": repairs}))?);
            }
            Ok(wall::show(&library, component, desk.paper))
        }
        Rubrics::Check { files } => {
            let mut sources = builtin::sources();
            let built_in = sources.len();
            let mut mistakes = Vec::new();
            let paths = if files.is_empty() {
                user_files(desk.rubrics())?
            } else {
                files
            };
            for path in &paths {
                match source(path) {
                    Ok(source) => sources.push(source),
                    Err(mistake) => mistakes.push(mistake),
                }
            }
            let own = sources.len() - built_in;
            mistakes.extend(check::look(&sources).1);
            mistakes.sort();
            if mistakes.is_empty() {
                return Ok(format!(
                    "No mistake found in {} and {} of your own.\n",
                    words::count(built_in, "built-in file"),
                    words::count(own, "file")
                ));
            }
            let lines: Vec<String> = mistakes.iter().map(ToString::to_string).collect();
            Err(Failure::Data(format!(
                "{} in the rubrics\n{}",
                words::count(mistakes.len(), "mistake"),
                lines.join("\n")
            )))
        }
    }
}
