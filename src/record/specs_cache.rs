//! Specifications read once for many records: most records of a workshop carry the same ones.

use std::collections::HashMap;
use std::sync::{Arc, Mutex, PoisonError};

use super::freeze::{Snapshots, Specs};
use crate::spec::SpecProblems;

/// Most sets of specifications kept; beyond, all are dropped and read anew.
const MOST: usize = 64;

/// Specifications by the digests of their texts.
///
/// The digests must have been compared with the texts before: the cache believes them.
#[derive(Debug, Default)]
pub struct SpecsCache {
    known: Mutex<HashMap<String, Arc<Specs>>>,
}

impl SpecsCache {
    /// The specifications of these snapshots, read now or before.
    ///
    /// # Errors
    /// [`SpecProblems`] of a text that does not read.
    pub fn read(&self, snapshots: &Snapshots) -> Result<Arc<Specs>, SpecProblems> {
        let mut key = String::new();
        for snapshot in snapshots.all() {
            key.push_str(&snapshot.file);
            key.push('\0');
            key.push_str(&snapshot.sha256);
            key.push('\0');
        }
        // A thread that panicked while holding the lock left a whole map behind: inserts are one step.
        let known = self.known.lock().unwrap_or_else(PoisonError::into_inner);
        if let Some(specs) = known.get(&key) {
            return Ok(Arc::clone(specs));
        }
        drop(known);
        let specs = Arc::new(snapshots.read()?);
        let mut known = self.known.lock().unwrap_or_else(PoisonError::into_inner);
        if known.len() >= MOST {
            known.clear();
        }
        known.insert(key, Arc::clone(&specs));
        Ok(specs)
    }
}
