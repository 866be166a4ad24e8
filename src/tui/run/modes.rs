//! The terminal's modes: entered once, left once, whatever ends the program.

use std::io::stdout;
use std::sync::atomic::{AtomicBool, Ordering};

use crossterm::cursor::{Hide, Show};
use crossterm::event::{DisableBracketedPaste, DisableMouseCapture, EnableBracketedPaste, EnableMouseCapture};
use crossterm::execute;
use crossterm::terminal::{EnterAlternateScreen, LeaveAlternateScreen, disable_raw_mode, enable_raw_mode};

/// Whether the screens are up.
static UP: AtomicBool = AtomicBool::new(false);

/// Whether the mouse was asked for.
static MOUSE: AtomicBool = AtomicBool::new(false);

/// Takes the mouse, or gives it back to the terminal.
pub fn mouse(wanted: bool) -> std::io::Result<()> {
    MOUSE.store(wanted, Ordering::SeqCst);
    if wanted {
        execute!(stdout(), EnableMouseCapture)
    } else {
        execute!(stdout(), DisableMouseCapture)
    }
}

/// Takes the terminal.
pub fn enter() -> std::io::Result<()> {
    enable_raw_mode()?;
    UP.store(true, Ordering::SeqCst);
    execute!(stdout(), EnterAlternateScreen, EnableBracketedPaste, Hide)?;
    if MOUSE.load(Ordering::SeqCst) {
        execute!(stdout(), EnableMouseCapture)?;
    }
    Ok(())
}

/// Gives the terminal back as it was; a second call does nothing.
pub fn leave() {
    if UP.swap(false, Ordering::SeqCst) {
        if MOUSE.load(Ordering::SeqCst) {
            let _ = execute!(stdout(), DisableMouseCapture);
        }
        let _ = execute!(stdout(), Show, DisableBracketedPaste, LeaveAlternateScreen);
        let _ = disable_raw_mode();
    }
}

/// Gives the terminal back when dropped.
pub struct Raised;

impl Raised {
    /// Takes the terminal.
    pub fn new() -> std::io::Result<Raised> {
        let raised = Raised;
        enter()?;
        Ok(raised)
    }
}

impl Drop for Raised {
    fn drop(&mut self) {
        leave();
    }
}

/// Gives the terminal back before a panic's message is printed. One in a worker ends the program there and then: what
/// was accepted is saved, and the answer it was to bring would never come.
pub fn restore_on_panic() {
    let before = std::panic::take_hook();
    let owner = std::thread::current().id();
    std::panic::set_hook(Box::new(move |panic| {
        // Whoever is drawing waits from here on: the rest of a frame would go over the message.
        let _still = stdout().lock();
        leave();
        before(panic);
        if std::thread::current().id() != owner {
            std::process::exit(101);
        }
    }));
}
