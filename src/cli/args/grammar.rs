//! The whole grammar of the command line as plain words, for whoever must know all of it, as the tests do that say everything wrong.

use clap::{ArgAction, Command, CommandFactory};

use super::CommandLine;

/// A command with what may stand behind it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Spoken {
    /// Its words, such as `rubrics` and `show`; none for the program alone, whose flags every command takes.
    pub words: Vec<String>,
    /// Flags that take a value, such as `--out`.
    pub with_value: Vec<String>,
    /// Flags that take none.
    pub alone: Vec<String>,
}

/// Every command there is, the program alone first.
#[must_use]
pub fn grammar() -> Vec<Spoken> {
    let mut all = Vec::new();
    gather(&CommandLine::command(), &[], &mut all);
    all
}

fn gather(command: &Command, words: &[String], all: &mut Vec<Spoken>) {
    let flags = |takes: bool| {
        let asked = command.get_arguments();
        let flags = asked.filter(move |arg| matches!(arg.get_action(), ArgAction::Set | ArgAction::Append) == takes);
        flags.filter_map(|arg| Some(format!("--{}", arg.get_long()?))).collect()
    };
    if words.is_empty() || !command.has_subcommands() {
        all.push(Spoken {
            words: words.to_vec(),
            with_value: flags(true),
            alone: flags(false),
        });
    }
    for below in command.get_subcommands() {
        gather(below, &[words, &[below.get_name().to_owned()]].concat(), all);
    }
}
