//! The system's own viewer for a photo.

use std::path::Path;
use std::process::{Command, Stdio};

/// Opens a file in the system's viewer and does not wait for it.
///
/// # Errors
/// Why there is none, in a sentence.
pub fn open(file: &Path) -> Result<(), String> {
    let shown = crate::text::clean(&file.to_string_lossy());
    let program = program().ok_or_else(|| format!("There is no graphical screen here; the photo is {shown}"))?;
    let mut command = Command::new(program);
    command
        .arg(file)
        .stdin(Stdio::null())
        .stdout(Stdio::null())
        .stderr(Stdio::null());
    #[cfg(unix)]
    {
        // A group of its own: it can neither read this terminal nor get its signals.
        use std::os::unix::process::CommandExt;
        command.process_group(0);
    }
    let mut child = command
        .spawn()
        .map_err(|error| format!("{program} cannot be started ({error}); the photo is {shown}"))?;
    std::thread::spawn(move || {
        // Only so that the system forgets it when it ends.
        let _ = child.wait();
    });
    Ok(())
}

#[cfg(target_os = "macos")]
fn program() -> Option<&'static str> {
    Some("open")
}

/// `start` belongs to the command interpreter, which would read the path as a line of commands.
#[cfg(windows)]
fn program() -> Option<&'static str> {
    Some("explorer")
}

#[cfg(not(any(target_os = "macos", windows)))]
fn program() -> Option<&'static str> {
    let set = |name| std::env::var_os(name).is_some_and(|v| !v.is_empty());
    (set("DISPLAY") || set("WAYLAND_DISPLAY")).then_some("xdg-open")
}
