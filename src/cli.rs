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
mod yard;

use std::ffi::OsString;
use std::io::{BufWriter, ErrorKind, Write};

use clap::Parser;

use crate::report::Ink;
use args::{CommandLine, Files, Verb};
pub use args::{Spoken, grammar};
use desk::Desk;
use exit::Failure;

use crate::text::ascii;

/// Does what a command line says and gives the exit code.
pub fn run(words: impl IntoIterator<Item = OsString>) -> u8 {
    crate::engine::memory::keep_freed_memory();
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
            // It repeats what was typed, or what a script took from a file's name.
            desk::say(&error.render().to_string());
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
    let show = |text: String| {
        let text = gate(&faced.over(&desk, text), desk.paper.ink);
        match (desk.ascii, for_a_program) {
            (true, true) if text.starts_with(['{', '[']) => print(&ascii::json(&text)),
            (true, false) => print(&ascii::line(&text)),
            _ => print(&text),
        }
    };
    match follow(&desk, line.verb) {
        Ok(text) => show(text),
        Err(failure) => {
            if let Failure::Partly { text, .. } = &failure {
                let printed = show(text.clone());
                if printed != 0 {
                    return printed;
                }
            }
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
    // Before any verb, those too that ask no rubric: a mistyped folder must never pass for one that is empty.
    desk.rubrics_are_there()?;
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
        Some(Verb::SecondLook(asked)) => second_look::second_look(desk, &asked),
        Some(Verb::Standing {
            car: Some(car), form, ..
        }) => reports::standing(desk, &car, form),
        Some(Verb::Standing { car: None, form, .. }) => yard::standing_all(desk, form),
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

/// The last gate before a terminal: nothing of a control character passes but line ends and the program's own colours.
fn gate(text: &str, ink: Ink) -> String {
    let mut out = String::with_capacity(text.len());
    let mut rest = text;
    while let Some(at) = rest.find(|c| !matches!(c, '\n' | '\t') && crate::text::is_hostile(c)) {
        let (before, from) = rest.split_at(at);
        out.push_str(before);
        let kept = match from.strip_prefix('\r') {
            Some(after) if after.starts_with('\n') => 1,
            _ if ink != Ink::Plain => colour(from),
            _ => 0,
        };
        let (keep, after) = from.split_at(kept);
        out.push_str(keep);
        let mut after = after.chars();
        if kept == 0 {
            after.next();
            out.push('␦');
        }
        rest = after.as_str();
    }
    out.push_str(rest);
    out
}

/// The length of the sequence that sets a colour at the beginning of a text (ECMA-48, 8.3.117), 0 if there is none.
fn colour(text: &str) -> usize {
    let Some(after) = text.strip_prefix("\u{1b}[") else {
        return 0;
    };
    let end = after.find(|c: char| !c.is_ascii_digit() && c != ';');
    end.filter(|end| after.get(*end..).is_some_and(|rest| rest.starts_with('m')))
        .map_or(0, |end| 2 + end + 1)
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

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn nothing_passes_the_gate_but_line_ends_and_colours() {
        assert_eq!(gate("a\r\nb\rc\u{1b}[1md", Ink::Plain), "a\r\nb␦c␦[1md");
        let coloured = "\u{1b}[38;5;16;48;5;63m4\u{1b}[0m";
        assert_eq!(gate(coloured, Ink::Many), coloured);
        for bad in [
            "\u{1b}[2J",
            "\u{1b}]0;x\u{7}",
            "\u{1b}[1",
            "\u{1b}[?25l",
            "\u{9b}1m",
            "\u{1b}P1m",
        ] {
            let out = gate(bad, Ink::Many);
            assert!(!out.chars().any(crate::text::is_hostile), "{bad:?}: {out:?}");
        }
    }
}
