//! Files and folders that only their owner may read: 0600 and 0700 where the system knows such modes.

use std::fs::{DirBuilder, OpenOptions};
use std::io::{self, Write};
use std::path::Path;

/// Makes one folder, durably: the folder above it is synced, so that what is later synced inside it cannot vanish with it.
pub(super) fn folder(path: &Path) -> io::Result<()> {
    builder().create(path)?;
    path.parent().map_or(Ok(()), |above| {
        // A path of one name stands in the folder we are in.
        let here = Path::new(".");
        super::paths::sync_folder(if above.as_os_str().is_empty() { here } else { above })
    })
}

/// Makes a folder and those above it that are missing, each durably.
pub(super) fn folders(path: &Path) -> io::Result<()> {
    if path.as_os_str().is_empty() || path.is_dir() {
        return Ok(());
    }
    if let Some(above) = path.parent() {
        folders(above)?;
    }
    match folder(path) {
        // Another program was quicker.
        Err(error) if error.kind() == io::ErrorKind::AlreadyExists && path.is_dir() => Ok(()),
        made => made,
    }
}

fn builder() -> DirBuilder {
    let builder = DirBuilder::new();
    #[cfg(unix)]
    let builder = {
        use std::os::unix::fs::DirBuilderExt;
        let mut builder = builder;
        builder.mode(0o700);
        builder
    };
    builder
}

/// How a file is opened that may have to be made.
pub(super) fn options() -> OpenOptions {
    let options = OpenOptions::new();
    #[cfg(unix)]
    let options = {
        use std::os::unix::fs::OpenOptionsExt;
        let mut options = options;
        options.mode(0o600);
        options
    };
    options
}

/// Replaces a file durably: a new file in the same folder is written, synced and renamed over it, and the folder synced.
/// The new one is its owner's alone, whatever the old one was.
pub(super) fn replace(path: &Path, bytes: &[u8]) -> io::Result<()> {
    replace_by(path, |file| file.write_all(bytes))
}

/// As [`replace`], written bit by bit.
pub(super) fn replace_by(path: &Path, fill: impl FnOnce(&mut dyn Write) -> io::Result<()>) -> io::Result<()> {
    let options = atomic_write_file::OpenOptions::new();
    #[cfg(unix)]
    let options = {
        use atomic_write_file::unix::OpenOptionsExt as _;
        use std::os::unix::fs::OpenOptionsExt as _;
        let mut options = options;
        options.mode(0o600).preserve_mode(false);
        options
    };
    let mut file = options.open(path)?;
    fill(&mut file)?;
    file.commit()
}
