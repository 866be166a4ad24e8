//! Where there are no signals: Ctrl-C comes as a key, nothing stops the program, and a terminal that goes away ends the
//! reading of it, which ends the program.

use std::sync::Arc;
use std::sync::atomic::AtomicBool;

/// What the system asks for; here never anything.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[allow(dead_code, reason = "the loop answers what other systems ask for")]
pub enum Asked {
    /// To go on after a stop.
    GoOn,
    /// To end, with the signal's number.
    End(i32),
}

/// Has nothing to listen to.
#[allow(clippy::unnecessary_wraps, reason = "as where there are signals")]
pub fn listen(_: Arc<AtomicBool>, _: impl Fn(Asked) + Send + 'static) -> std::io::Result<()> {
    Ok(())
}

/// There is no shell that could bring a stopped program back.
pub fn can_stop() -> bool {
    false
}

/// Never asked for.
#[allow(clippy::unnecessary_wraps, reason = "as where there are signals")]
pub fn stop() -> std::io::Result<()> {
    Ok(())
}

/// Reading tells.
pub fn hung_up() -> bool {
    false
}
