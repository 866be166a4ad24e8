//! One writer at a time: a lock of the system on the file `lock`, which ends with the program however it ends.

use std::fs::{File, TryLockError};
use std::io::{Read, Seek, Write};
use std::path::Path;

use super::error::StoreError;
use super::paths::ordinary;
use super::private;

/// Who holds a car.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Holder {
    /// The number of its process, if it left one.
    pub process: Option<u32>,
    /// Since when, as it wrote it.
    pub since: Option<String>,
}

impl std::fmt::Display for Holder {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str("another tinworm")?;
        if let Some(process) = self.process {
            write!(f, " (process {process})")?;
        }
        if let Some(since) = &self.since {
            write!(f, " has had it open since {}", crate::text::clean(since))?;
        } else {
            f.write_str(" has it open")?;
        }
        Ok(())
    }
}

/// A lock that is held. It is given back in so many words: closing the file is not enough where a program that is just being
/// started still shares it.
#[derive(Debug)]
pub(super) struct Held(File);

impl Drop for Held {
    fn drop(&mut self) {
        // The system takes it back anyway when the last of those who share it is gone.
        let _ = self.0.unlock();
    }
}

/// What came of asking for the lock.
pub(super) enum Asked {
    /// Ours until it is dropped.
    Ours(Held),
    /// Another program's.
    Theirs(Holder),
}

/// Asks for the lock of a car's folder, without waiting.
pub(super) fn ask(folder: &Path) -> Result<Asked, StoreError> {
    let path = folder.join("lock");
    ordinary(&path, folder)?;
    let mut file = private::options()
        .read(true)
        .write(true)
        .create(true)
        .truncate(false)
        .open(&path)
        .map_err(|e| StoreError::system("open", &path, e))?;
    match file.try_lock() {
        Ok(()) => {
            // Only a courtesy to the next one who asks: a full disk must not keep the car shut.
            let _ = sign(&mut file);
            Ok(Asked::Ours(Held(file)))
        }
        Err(TryLockError::WouldBlock) => Ok(Asked::Theirs(read_holder(&mut file))),
        Err(TryLockError::Error(e)) => Err(StoreError::system("lock", &path, e)),
    }
}

fn sign(file: &mut File) -> std::io::Result<()> {
    let since = jiff::ZonedDateTime::now().strftime("%Y-%m-%d %H:%M:%S").to_string();
    file.set_len(0)?;
    file.rewind()?;
    write!(file, "process {}\nsince {since}\n", std::process::id())
}

fn read_holder(file: &mut File) -> Holder {
    let mut bytes = Vec::new();
    let text = match file.take(4096).read_to_end(&mut bytes) {
        Ok(_) => String::from_utf8_lossy(&bytes).into_owned(),
        Err(_) => String::new(),
    };
    let field = |name: &str| text.lines().find_map(|line| line.strip_prefix(name)).map(str::trim);
    Holder {
        process: field("process ").and_then(|p| p.parse().ok()),
        since: field("since ").filter(|s| !s.is_empty()).map(str::to_owned),
    }
}
