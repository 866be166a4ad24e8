//! The terminal screens, and the demo car with and without them.

use std::io::IsTerminal;

use super::desk::Desk;
use super::exit::Failure;
use super::reports::standing_and_plan;

/// Opens the list of cars on the screens.
pub fn yard(desk: &Desk) -> Result<String, Failure> {
    needs_terminal("tinworm cars")?;
    desk.folder()?;
    screens(desk)
}

/// Opens a car on the screens.
pub fn car(desk: &Desk, car: &str) -> Result<String, Failure> {
    needs_terminal(&format!("tinworm standing \"{car}\""))?;
    desk.look_at(car)?;
    screens(desk)
}

/// Shows the demo car: on the screens, or its standing and plan when there is no terminal. Nothing of it is kept.
pub fn demo(desk: &Desk) -> Result<String, Failure> {
    let _ = (desk, standing_and_plan);
    Err(Failure::Data("the demo car is not there yet".to_owned()))
}

fn screens(_desk: &Desk) -> Result<String, Failure> {
    Err(Failure::Usage("the screens are not there yet".to_owned()))
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
