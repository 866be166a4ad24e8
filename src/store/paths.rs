//! Where cars live, what their folders are called, and what may stand there.

use std::fs::{self, File};
use std::io::{self, Read};
use std::path::{Path, PathBuf};

use super::error::StoreError;
use crate::text::ascii::unmarked;

/// More than any file of a car, or of rubrics, can honestly have. Looked at before reading, so that no file whatever can
/// fill the memory.
pub(super) const LARGEST: u64 = 8 << 20;

/// The folder of this program's data, configuration or neither.
pub(super) fn own_folders() -> Option<directories::ProjectDirs> {
    directories::ProjectDirs::from("", "", "tinworm")
}

/// The data folder: the one named, else the one in `TINWORM_DATA`, else the usual one of the system.
pub(super) fn data_folder(explicit: Option<&Path>) -> Result<PathBuf, StoreError> {
    let named = explicit.map(Path::to_owned).or_else(|| {
        std::env::var_os("TINWORM_DATA")
            .filter(|v| !v.is_empty())
            .map(PathBuf::from)
    });
    match named {
        Some(path) if path.as_os_str().is_empty() => Ok(PathBuf::from(".")),
        Some(path) => Ok(path),
        None => Ok(own_folders().ok_or(StoreError::NoHome)?.data_dir().join("cars")),
    }
}

/// The folder name for a car: small letters, digits and hyphens of its name; never empty, never a name that a system
/// keeps for itself.
pub(super) fn slug(name: &str) -> String {
    let mut out = String::new();
    for c in name.chars().flat_map(char::to_lowercase) {
        let plain = unmarked(c);
        if !plain.is_empty() {
            out.push_str(plain);
        } else if c.is_ascii_alphanumeric() {
            out.push(c);
        } else if !out.is_empty() && !out.ends_with('-') && c.is_ascii() {
            out.push('-');
        }
        if out.len() >= 40 {
            break;
        }
    }
    let out = out.trim_matches('-').to_owned();
    let kept = matches!(out.as_str(), "con" | "prn" | "aux" | "nul")
        || (out.len() == 4 && (out.starts_with("com") || out.starts_with("lpt")));
    match out.as_str() {
        "" => "car".to_owned(),
        name if kept => format!("{name}-car"),
        _ => out,
    }
}

/// Refuses what is no ordinary file, and links that lead out of the folder. What is not there is fine.
pub(super) fn ordinary(path: &Path, folder: &Path) -> Result<(), StoreError> {
    match fs::symlink_metadata(path) {
        Err(error) if error.kind() == io::ErrorKind::NotFound => return Ok(()),
        Err(error) => return Err(StoreError::system("read", path, error)),
        Ok(what) if what.is_file() => return Ok(()),
        Ok(what) if !what.is_symlink() => return Err(StoreError::NotAFile(path.to_owned())),
        Ok(_) => {}
    }
    inside(path, folder)?;
    match fs::metadata(path) {
        Ok(what) if what.is_file() => Ok(()),
        Ok(_) => Err(StoreError::NotAFile(path.to_owned())),
        Err(error) => Err(StoreError::system("read", path, error)),
    }
}

/// Refuses a path that leads out of a folder.
pub(super) fn inside(path: &Path, folder: &Path) -> Result<(), StoreError> {
    let real = |p: &Path| fs::canonicalize(p).map_err(|e| StoreError::system("follow", p, e));
    let target = real(path)?;
    if target.starts_with(real(folder)?) {
        Ok(())
    } else {
        Err(StoreError::LeadsOutside {
            link: path.to_owned(),
            target,
        })
    }
}

/// The bytes of an ordinary file; `None` when it is not there.
pub(super) fn bytes(path: &Path, folder: &Path) -> Result<Option<Vec<u8>>, StoreError> {
    ordinary(path, folder)?;
    read_up_to(path, LARGEST).map_err(|e| StoreError::system("read", path, e))
}

/// What is in a file that may hold so many bytes and no more; `None` when it is not there. A larger one is not read, and one
/// that grows meanwhile is read no further. That it is an ordinary file has to be known: a pipe could keep us waiting for ever.
pub(super) fn read_up_to(path: &Path, most: u64) -> io::Result<Option<Vec<u8>>> {
    let file = match File::open(path) {
        Err(error) if error.kind() == io::ErrorKind::NotFound => return Ok(None),
        other => other?,
    };
    let mut bytes = Vec::new();
    if file.metadata()?.len() <= most {
        (&file).take(most + 1).read_to_end(&mut bytes)?;
        if bytes.len() as u64 <= most {
            return Ok(Some(bytes));
        }
    }
    Err(too_large(most))
}

/// What is said of a file that is larger than any can be.
fn too_large(most: u64) -> io::Error {
    io::Error::new(
        io::ErrorKind::FileTooLarge,
        format!(
            "it is far too large, more than {} kB; is it the right file?",
            most >> 10
        ),
    )
}

/// Whether a path still leads to an open file, and the file has still a certain length.
pub(super) fn same_file(file: &File, path: &Path, length: u64) -> bool {
    let (Ok(open), Ok(there)) = (file.metadata(), fs::metadata(path)) else {
        return false;
    };
    #[cfg(unix)]
    {
        use std::os::unix::fs::MetadataExt;
        if open.ino() != there.ino() || open.dev() != there.dev() {
            return false;
        }
    }
    open.len() == length && there.len() == length
}

/// Makes the entries of a folder durable.
pub(super) fn sync_folder(folder: &Path) -> io::Result<()> {
    #[cfg(unix)]
    File::open(folder)?.sync_all()?;
    #[cfg(not(unix))]
    let _ = folder;
    Ok(())
}

/// Copies a file beside itself as `name.damaged-1` (`-2`, `-3` …) unless such a copy with the same bytes is there.
pub(super) fn copy_aside(path: &Path, bytes: &[u8]) -> Option<PathBuf> {
    let name = path.file_name()?.to_string_lossy().into_owned();
    for n in 1..1000 {
        let aside = path.with_file_name(format!("{name}.damaged-{n}"));
        match super::private::options().write(true).create_new(true).open(&aside) {
            Ok(mut file) => {
                let written = io::Write::write_all(&mut file, bytes).and_then(|()| file.sync_all());
                if written.is_err() {
                    let _ = fs::remove_file(&aside);
                    return None;
                }
                return Some(aside);
            }
            Err(error) if error.kind() == io::ErrorKind::AlreadyExists => {
                if fs::read(&aside).is_ok_and(|there| there == bytes) {
                    return Some(aside);
                }
            }
            Err(_) => return None,
        }
    }
    None
}
