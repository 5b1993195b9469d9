//! The stage `results`: judges the recorded readings anew by the recorded limits.

use std::io;
use std::sync::Arc;

use serde_json::Value;

use super::super::canonical;
use super::super::freeze::{ReadRecord, Specs};
use super::super::specs_cache::SpecsCache;
use crate::job::Job;
use crate::judge::{self, Judgement};

/// What came of judging again.
pub(super) enum Recomputed {
    /// The record was judged by rules this program does not have yet.
    Newer(String),
    /// Compared.
    Done(Result<String, String>),
}

/// The recorded specifications, if they are the texts their digests name.
pub(super) fn specs(record: &ReadRecord, cache: Option<&SpecsCache>) -> Result<Arc<Specs>, String> {
    let snapshots = &record.specifications;
    if let Some(other) = snapshots
        .all()
        .find(|snapshot| canonical::sha256_hex(snapshot.text.as_bytes()) != snapshot.sha256)
    {
        return Err(format!(
            "`{}` is not the text its digest names",
            other.file.escape_debug()
        ));
    }
    let read = match cache {
        Some(cache) => cache.read(snapshots),
        None => snapshots.read().map(Arc::new),
    };
    read.map_err(|problems| format!("a recorded specification does not read: {problems}"))
}

pub(super) fn recompute(record: &ReadRecord, job: &Job, specs: &Specs) -> Recomputed {
    if record.rules_version > judge::RULES_VERSION {
        return Recomputed::Newer(format!(
            "judged by rules version {}, newer than version {} of this program",
            record.rules_version,
            judge::RULES_VERSION
        ));
    }
    if record.rules_version == 0 {
        return Recomputed::Done(Err("rules version 0 never existed".to_owned()));
    }
    if !job.unknown.is_empty() {
        return Recomputed::Newer("the journal holds events of a newer version".to_owned());
    }
    let again = judge::judge(&specs.case(job, &record.instruments));
    Recomputed::Done(compare(&record.judgement, &again))
}

/// Compares the recorded judgement with the recomputed one, naming the first difference.
fn compare(recorded: &str, again: &Judgement) -> Result<String, String> {
    let alike = Ok("every result and verdict recomputed alike".to_owned());
    if same_text(recorded, again) {
        return alike;
    }
    // Spaced differently, or really different: compared value by value.
    let recorded: Value = serde_json::from_str(recorded).map_err(|error| error.to_string())?;
    let again = serde_json::to_value(again).map_err(|error| error.to_string())?;
    match difference(&recorded, &again, "judgement") {
        None => alike,
        Some(where_) => Err(format!("recomputed differently at {where_}")),
    }
}

/// Whether a judgement, written as records are written, is this text one level deep in a record.
fn same_text(recorded: &str, again: &Judgement) -> bool {
    let mut same = Same(recorded.as_bytes());
    serde_json::to_writer_pretty(&mut same, again).is_ok() && same.0.is_empty()
}

/// Takes what is written as long as it is what was expected.
struct Same<'a>(&'a [u8]);

impl Same<'_> {
    fn expect(&mut self, bytes: &[u8]) -> io::Result<()> {
        match self.0.strip_prefix(bytes) {
            Some(rest) => {
                self.0 = rest;
                Ok(())
            }
            None => Err(io::ErrorKind::InvalidData.into()),
        }
    }
}

impl io::Write for Same<'_> {
    fn write(&mut self, bytes: &[u8]) -> io::Result<usize> {
        for line in bytes.split_inclusive(|byte| *byte == b'\n') {
            self.expect(line)?;
            if line.ends_with(b"\n") {
                self.expect(b"  ")?;
            }
        }
        Ok(bytes.len())
    }

    fn flush(&mut self) -> io::Result<()> {
        Ok(())
    }
}

fn difference(a: &Value, b: &Value, path: &str) -> Option<String> {
    match (a, b) {
        (Value::Object(x), Value::Object(y)) => {
            if let Some(key) = x
                .keys()
                .chain(y.keys())
                .find(|k| x.contains_key(*k) != y.contains_key(*k))
            {
                return Some(format!("{path}.{}", key.escape_debug()));
            }
            x.iter()
                .find_map(|(key, value)| difference(value, y.get(key)?, &format!("{path}.{key}")))
        }
        (Value::Array(x), Value::Array(y)) => {
            if x.len() != y.len() {
                return Some(format!(
                    "{path}: {} entries, {} recomputed",
                    x.len(),
                    y.len()
                ));
            }
            x.iter()
                .zip(y)
                .enumerate()
                .find_map(|(i, (x, y))| difference(x, y, &format!("{path}[{i}]")))
        }
        _ if a == b => None,
        _ => Some(format!("{path}: {a}, recomputed {b}")),
    }
}
