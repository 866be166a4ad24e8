//! What is being typed and not yet accepted: kept beside the car, so that a program ended without warning does not cost it.
//!
//! It is no part of the car. A file that is missing or cannot be read is one without drafts, and is written anew.

use std::path::PathBuf;

use serde::{Deserialize, Serialize};

use super::error::StoreError;
use super::snapshot::{self, SCHEMA};
use super::{paths, private, recover};

/// A form half filled in.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Draft {
    /// Which form it is.
    pub of: String,
    /// What stands in its lines, in their order.
    pub lines: Vec<String>,
}

/// The drafts of a car, or of the cars that are not there yet.
#[derive(Debug, Clone)]
pub struct Drafts {
    folder: PathBuf,
}

#[derive(Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
struct Filed {
    schema: u32,
    drafts: Vec<Draft>,
}

impl Drafts {
    pub(super) fn of(folder: PathBuf) -> Drafts {
        Drafts { folder }
    }

    fn file(&self) -> PathBuf {
        self.folder.join("drafts.ron")
    }

    /// The drafts kept.
    #[must_use]
    pub fn read(&self) -> Vec<Draft> {
        let bytes = paths::bytes(&self.file(), &self.folder)
            .ok()
            .flatten()
            .unwrap_or_default();
        let text = recover::text(&bytes).unwrap_or_default();
        match snapshot::parse::<Filed>(text) {
            Ok(filed) if filed.schema == SCHEMA => filed.drafts,
            _ => Vec::new(),
        }
    }

    /// Keeps these drafts and no others.
    ///
    /// # Errors
    /// When the disk refuses.
    pub fn keep(&self, drafts: &[Draft]) -> Result<(), StoreError> {
        if drafts.is_empty() {
            return snapshot::remove(&self.file());
        }
        private::folders(&self.folder).map_err(|e| StoreError::system("make", &self.folder, e))?;
        let filed = Filed {
            schema: SCHEMA,
            drafts: drafts.to_vec(),
        };
        snapshot::replace(&self.file(), &snapshot::compact(&filed)?)
    }
}
