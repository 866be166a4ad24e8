//! What Unix wants of the program: to end, to stop, to go on; and whether the terminal is still there.

use std::io::stdout;
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};
use std::thread;

use signal_hook::consts::{SIGCONT, SIGHUP, SIGINT, SIGTERM, SIGTSTP};

use super::{STILL_THERE, modes};

/// What the system asks for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Asked {
    /// To go on after a stop.
    GoOn,
    /// To end, with the signal's number.
    End(i32),
}

/// Passes on what the system asks for; a wish to end is granted even if the loop is stuck.
pub fn listen(ended: Arc<AtomicBool>, tell: impl Fn(Asked) + Send + 'static) -> std::io::Result<()> {
    let mut signals = signal_hook::iterator::Signals::new([SIGHUP, SIGTERM, SIGINT, SIGCONT])?;
    thread::spawn(move || {
        let mut asked = false;
        for signal in signals.forever() {
            if signal == SIGCONT {
                tell(Asked::GoOn);
                continue;
            }
            tell(Asked::End(signal));
            if asked {
                modes::leave();
                std::process::exit(128 + signal);
            }
            asked = true;
            let ended = Arc::clone(&ended);
            thread::spawn(move || {
                thread::sleep(STILL_THERE);
                if !ended.load(Ordering::SeqCst) {
                    modes::leave();
                    std::process::exit(128 + signal);
                }
            });
        }
    });
    Ok(())
}

/// Whether a stopped program could be brought back: one that leads its session has no shell behind it.
pub fn can_stop() -> bool {
    !rustix::process::getsid(None).is_ok_and(|session| session == rustix::process::getpid())
}

/// Stops the program until the shell says to go on.
pub fn stop() -> std::io::Result<()> {
    signal_hook::low_level::emulate_default_handler(SIGTSTP)
}

/// Whether the terminal is gone: closed, or its other end hung up.
pub fn hung_up() -> bool {
    let out = stdout();
    let mut asked = [rustix::event::PollFd::new(&out, rustix::event::PollFlags::empty())];
    let now = rustix::event::Timespec { tv_sec: 0, tv_nsec: 0 };
    match rustix::event::poll(&mut asked, Some(&now)) {
        Ok(_) => asked.iter().any(|fd| {
            fd.revents()
                .intersects(rustix::event::PollFlags::HUP | rustix::event::PollFlags::ERR)
        }),
        Err(rustix::io::Errno::INTR) => false,
        Err(_) => true,
    }
}
