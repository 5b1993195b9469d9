//! How far this computer knows the rows of its own keys to go.
//!
//! Records alone cannot show that the last of a row was removed together with its job: nothing names
//! it any more. But the computer that signed it remembers, beside its keys.

use std::path::{Path, PathBuf};

use super::super::World;
use super::job::Depth;
use crate::record::audit::{Link, Problem, ProblemKind};
use crate::record::key::SignerKey;
use crate::shop::chain;
use crate::shop::keys::KeyFolder;

/// The rows of this computer's keys.
#[derive(Default)]
pub(super) struct Own {
    rows: Vec<Row>,
}

struct Row {
    fingerprint: String,
    device: String,
    last: chain::Last,
    /// The highest number met, and whether the last record was met.
    highest: u64,
    met: bool,
}

impl Own {
    /// Reads what the user's configuration folder holds; what does not read is said and left out,
    /// since it is not the workshop's.
    pub(super) fn read(world: &mut World<'_>, depth: Depth) -> Self {
        if depth != Depth::Full {
            return Self::default();
        }
        let config = world.config_folder();
        let keys = KeyFolder::new(&config);
        let Ok(Some(device)) = keys.known_device() else {
            return Self::default();
        };
        let mut rows = Vec::new();
        for name in chain::names(&config) {
            let row = || -> Result<Option<Row>, Box<dyn std::error::Error>> {
                let Some(last) = chain::last(&config, &name)? else {
                    return Ok(None);
                };
                let key = SignerKey::try_from(&keys.public(&name)?)?;
                Ok(Some(Row {
                    fingerprint: key.fingerprint(),
                    device: device.as_str().to_owned(),
                    last,
                    highest: 0,
                    met: false,
                }))
            };
            match row() {
                Ok(row) => rows.extend(row),
                // A note that cannot be shown must not stop the audit.
                Err(error) => drop(writeln!(
                    world.err,
                    "note: how far the row of key `{}` goes on this computer is not known: {error}",
                    name.escape_debug()
                )),
            }
        }
        Self { rows }
    }

    /// Takes note of a record that is there.
    pub(super) fn meet(&mut self, link: &Link) {
        let mine =
            |row: &&mut Row| row.fingerprint == link.fingerprint && row.device == link.device;
        for row in self.rows.iter_mut().filter(mine) {
            row.highest = row.highest.max(link.sequence);
            row.met |= link.sequence == row.last.sequence && link.sha256 == row.last.sha256;
        }
    }

    /// The rows whose last record was written into one of these workshops and is gone.
    pub(super) fn missing(self, workshops: &[&Path]) -> Vec<Problem> {
        let canonical = |path: &Path| path.canonicalize().ok();
        let workshops: Vec<PathBuf> = workshops.iter().filter_map(|p| canonical(p)).collect();
        let inside = |record: &Path| {
            let mut folders = record.ancestors().filter_map(canonical);
            folders.any(|folder| workshops.contains(&folder))
        };
        let problem = |row: Row| {
            let record = row.last.record.filter(|_| !row.met)?;
            // One that is there and does not verify has its problem already.
            if record.symlink_metadata().is_ok() || !inside(&record) {
                return None;
            }
            Some(Problem {
                kind: ProblemKind::Gap,
                detail: format!(
                    "key {} on {}: this computer signed number {} last, and it is gone; the records of the row end at number {}",
                    row.fingerprint, row.device, row.last.sequence, row.highest
                ),
                place: record.display().to_string(),
            })
        };
        self.rows.into_iter().filter_map(problem).collect()
    }
}
