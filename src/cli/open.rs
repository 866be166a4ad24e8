//! The terminal screens, and the demo car with and without them.

use std::io::IsTerminal;

use super::args::Background;
use super::desk::Desk;
use super::exit::Failure;
use super::reports::standing_and_plan;
use crate::demo;
use crate::rubric::builtin;
use crate::store::Access;
use crate::tui::theme::Ground;
use crate::tui::{self, Drawn, Start};

/// Opens the list of cars on the screens.
pub fn yard(desk: &Desk) -> Result<String, Failure> {
    needs_terminal("tinworm cars")?;
    screens(
        desk,
        Start::Yard {
            folder: desk.folder()?,
            library: desk.library()?,
            today: desk.today,
        },
    )
}

/// Opens a car on the screens; one that another program has open is only looked at, and the screens say so.
pub fn car(desk: &Desk, car: &str) -> Result<String, Failure> {
    needs_terminal(&format!("tinworm standing \"{car}\""))?;
    screens(
        desk,
        Start::Car {
            library: desk.library()?,
            car: Box::new(desk.folder()?.open(car, Access::Write)?),
            today: desk.today,
        },
    )
}

/// Shows the demo car: on the screens, or its standing and plan when there is no terminal. Nothing of it is kept, and the
/// rubrics are those of the program, so that it is the same everywhere.
pub fn demo(desk: &Desk) -> Result<String, Failure> {
    let library = builtin::library().clone();
    let (car, today) = (demo::car(), demo::today());
    if usable_terminal() {
        return screens(
            desk,
            Start::Demo {
                car: Box::new(car),
                library,
                today,
            },
        );
    }
    let desk = desk.on(today);
    Ok(standing_and_plan(&desk, &car, &library))
}

fn screens(desk: &Desk, start: Start) -> Result<String, Failure> {
    let drawn = Drawn {
        colours: desk.screens_coloured(),
        ascii: desk.ascii,
        mouse: desk.mouse(),
        ground: desk.background().map(|ground| match ground {
            Background::Dark => Ground::Dark,
            Background::Light => Ground::Light,
        }),
    };
    tui::run_with(start, drawn).map_err(Failure::Screens)?;
    Ok(String::new())
}

/// Whether the screens can be drawn; if not, one sentence that names the command that prints instead.
fn needs_terminal(instead: &str) -> Result<(), Failure> {
    if !usable_terminal() {
        return Err(Failure::Usage(format!(
            "the screens need a terminal that can draw them, and there is none; `{instead}` prints instead, and `tinworm --help` \
             lists every command"
        )));
    }
    Ok(())
}

fn usable_terminal() -> bool {
    let term = std::env::var("TERM").unwrap_or_default();
    std::io::stdout().is_terminal() && !term.is_empty() && term != "dumb"
}
