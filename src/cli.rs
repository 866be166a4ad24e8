//! The command line: everything the screens can do, without a terminal.
//!
//! [`run`] parses, does what the verb says, prints its text through one buffered writer and gives the exit code. A reader that
//! stops reading ends it quietly with success; everything else that goes wrong is one message on the error output.

mod args;
mod cars;
mod desk;
mod done;
mod enter;
mod exit;
mod export;
mod found;
mod leave;
mod new;
mod open;
mod order;
mod part;
mod profile;
mod report;
mod reports;
mod rubrics;
mod set;
mod sheet;
mod suppose;
mod torque;
mod wishes;
mod worksheet;
mod yard;

use std::ffi::OsString;
use std::io::{BufWriter, ErrorKind, Write};

use clap::Parser;

use args::{CommandLine, Verb};
use desk::Desk;
use exit::Failure;

/// Does what a command line says and gives the exit code.
pub fn run(words: impl IntoIterator<Item = OsString>) -> u8 {
    let line = match CommandLine::try_parse_from(words) {
        Ok(line) => line,
        Err(error) if error.use_stderr() => {
            let _ = error.print();
            return 2;
        }
        // Help and the version are what was asked for.
        Err(error) => return print(&error.render().to_string()),
    };
    let desk = Desk::new(line.global);
    match follow(&desk, line.verb) {
        Ok(text) => print(&text),
        Err(failure) => {
            if let Failure::Partly { text, .. } = &failure {
                let printed = print(text);
                if printed != 0 {
                    return printed;
                }
            }
            desk.say(&format!("tinworm: {}", failure.words()));
            failure.code()
        }
    }
}

fn follow(desk: &Desk, verb: Option<Verb>) -> Result<String, Failure> {
    match verb {
        None => open::yard(desk),
        Some(Verb::Open { car }) => open::car(desk, &car),
        Some(Verb::Demo) => open::demo(desk),
        Some(Verb::New(new)) => new::new(desk, new),
        Some(Verb::Set(set)) => set::set(desk, set),
        Some(Verb::Part(part)) => part::part(desk, part),
        Some(Verb::Cars { retired, form }) => cars::cars(desk, retired, form),
        Some(Verb::Retire { car, back }) => yard::retire(desk, &car, back),
        Some(Verb::Sheet(asked)) => sheet::sheet(desk, &asked),
        Some(Verb::Enter(enter)) => enter::enter(desk, enter),
        Some(Verb::Standing {
            car: Some(car), form, ..
        }) => reports::standing(desk, &car, form),
        Some(Verb::Standing { car: None, form, .. }) => yard::standing_all(desk, form),
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
        Some(Verb::Export(wanted)) => export::export(desk, &wanted),
        Some(Verb::Done(done)) => done::done(desk, done),
        Some(Verb::Leave(asked)) => leave::leave(desk, &asked),
        Some(Verb::Found(asked)) => found::found(desk, &asked),
        Some(Verb::Drop(asked)) => wishes::drop(desk, &asked.car, &asked.part, asked.off),
        Some(Verb::Tick { car, part, off }) => wishes::tick(desk, &car, &part, off),
        Some(Verb::Choose { car, part, repair, .. }) => wishes::choose(desk, &car, &part, repair.as_deref()),
        Some(Verb::Pin { car, part, date, .. }) => wishes::pin(desk, &car, &part, date),
        Some(Verb::Torque(asked)) => torque::torque(desk, &asked),
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
