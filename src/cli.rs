//! The command line: everything the screens can do, without a terminal.
//!
//! [`run`] parses, does what the verb says, prints its text through one buffered writer and gives the exit code. A reader that
//! stops reading ends it quietly with success; everything else that goes wrong is one message on the error output.

mod archive;
mod args;
mod backward;
mod cars;
mod desk;
mod done;
mod enter;
mod exit;
mod export;
mod found;
mod leave;
mod new;
mod next_winter;
mod open;
mod order;
mod part;
mod photo;
mod profile;
mod report;
mod reports;
mod restore;
mod rubrics;
mod second_look;
mod set;
mod sheet;
mod suppose;
mod torque;
mod verify;
mod wishes;
mod worksheet;

use std::ffi::OsString;
use std::io::{BufWriter, ErrorKind, Write};

use clap::Parser;

use args::{CommandLine, Files, Verb};
use desk::Desk;
use exit::Failure;

use crate::text::ascii;

/// Does what a command line says and gives the exit code.
pub fn run(words: impl IntoIterator<Item = OsString>) -> u8 {
    let words: Vec<OsString> = words.into_iter().collect();
    let for_a_program = for_a_program(&words);
    let line = match CommandLine::try_parse_from(words) {
        Ok(line) => line,
        Err(error) if error.use_stderr() && desk::ascii_unread() => {
            let said = ascii::line(&error.render().to_string());
            let _ = std::io::stderr().write_all(said.as_bytes());
            return 2;
        }
        Err(error) if error.use_stderr() => {
            let _ = error.print();
            return 2;
        }
        // Help and the version are what was asked for.
        Err(error) => {
            let said = error.render().to_string();
            return print(&if desk::ascii_unread() { ascii::line(&said) } else { said });
        }
    };
    let desk = Desk::new(line.global);
    let faced = match backward::faced(&desk, line.verb.as_ref()) {
        Ok(faced) => faced,
        Err(failure) => {
            desk.say(&format!("tinworm: {}", failure.words()));
            return failure.code();
        }
    };
    match follow(&desk, line.verb).map(|text| faced.over(&desk, text)) {
        Ok(text) if !desk.ascii => print(&text),
        Ok(text) if text.starts_with(['{', '[']) && for_a_program => print(&ascii::json(&text)),
        Ok(text) if for_a_program => print(&text),
        Ok(text) => print(&ascii::line(&text)),
        Err(failure) => {
            desk.say(&format!("tinworm: {}", failure.words()));
            failure.code()
        }
    }
}

/// Whether the output is for another program to read: it keeps its letters even where a person gets ASCII alone.
fn for_a_program(words: &[OsString]) -> bool {
    const FORMS: [&str; 7] = [
        "--json",
        "--csv",
        "--html",
        "--markdown",
        "--calendar",
        "--schema",
        "export",
    ];
    words
        .iter()
        .any(|word| word.to_str().is_some_and(|w| FORMS.contains(&w)))
}

fn follow(desk: &Desk, verb: Option<Verb>) -> Result<String, Failure> {
    match verb {
        None => open::yard(desk),
        Some(Verb::Open { car }) => open::car(desk, &car),
        Some(Verb::Demo) => open::demo(desk),
        Some(Verb::New(new)) => new::new(desk, new),
        Some(Verb::Set(set)) => set::set(desk, set),
        Some(Verb::Part(part)) => part::part(desk, part),
        Some(Verb::Cars { form }) => cars::cars(desk, form),
        Some(Verb::Sheet { car, csv, brief }) => sheet::sheet(desk, &car, csv, brief),
        Some(Verb::Enter(enter)) => enter::enter(desk, enter),
        Some(Verb::SecondLook(asked)) => second_look::second_look(desk, &asked),
        Some(Verb::Standing { car, form }) => reports::standing(desk, &car, form),
        Some(Verb::Compare(asked)) => next_winter::compare(desk, &asked),
        Some(Verb::Calibration { car, form }) => next_winter::calibration(desk, &car, form),
        Some(Verb::Sides { car, form }) => reports::sides(desk, &car, form),
        Some(Verb::Decline {
            car,
            part,
            check,
            years,
            form,
        }) => reports::decline(desk, &car, &part, check.as_deref(), f64::from(years), form),
        Some(Verb::Plan(asked)) => suppose::plan(desk, &asked),
        Some(Verb::Parts { car, form }) => order::parts(desk, &car, form),
        Some(Verb::Order(asked)) => order::order(desk, &asked),
        Some(Verb::Worksheet(wanted)) => worksheet::worksheet(desk, &wanted),
        Some(Verb::Report(wanted)) => report::report(desk, &wanted),
        Some(Verb::Files(Files::Photo(asked))) => photo::photo(desk, &asked),
        Some(Verb::Files(Files::Archive { car, file })) => archive::archive(desk, &car, &file),
        Some(Verb::Files(Files::Import { file, name })) => archive::import(desk, &file, name.as_deref()),
        Some(Verb::Export(wanted)) => export::export(desk, &wanted),
        Some(Verb::Done(done)) => done::done(desk, done),
        Some(Verb::Leave(asked)) => leave::leave(desk, &asked),
        Some(Verb::Found(asked)) => found::found(desk, &asked),
        Some(Verb::Drop(asked)) => wishes::drop(desk, &asked.car, &asked.part, asked.off),
        Some(Verb::Tick { car, part, off }) => wishes::tick(desk, &car, &part, off),
        Some(Verb::Choose { car, part, repair, .. }) => wishes::choose(desk, &car, &part, repair.as_deref()),
        Some(Verb::Pin { car, part, date, .. }) => wishes::pin(desk, &car, &part, date),
        Some(Verb::Torque(asked)) => torque::torque(desk, &asked),
        Some(Verb::Verify(asked)) => verify::verify(desk, &asked),
        Some(Verb::Restore(asked)) => restore::restore(desk, &asked),
        Some(Verb::Rubrics { what }) => rubrics::rubrics(desk, what),
    }
}

/// Prints through one buffered writer. A broken pipe is success: the reader has had enough.
fn print(text: &str) -> u8 {
    let mut out = BufWriter::new(std::io::stdout().lock());
    match out.write_all(text.as_bytes()).and_then(|()| out.flush()) {
        Ok(()) => 0,
        Err(error) if error.kind() == ErrorKind::BrokenPipe => {
            // What is left in the buffer has nowhere to go; dropping it unflushed keeps the ending quiet.
            let _ = out.into_parts();
            0
        }
        Err(error) => {
            let _ = writeln!(std::io::stderr(), "tinworm: the output cannot be written: {error}");
            1
        }
    }
}
