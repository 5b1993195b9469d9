//! The stage `results`: judges the recorded readings anew by the recorded limits.

use std::io;
use std::sync::Arc;

use serde::Serialize as _;
use serde_json::Value;
use serde_json::ser::Formatter;

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
    let mut left = Left(recorded.as_bytes());
    let form = Indented {
        depth: 1,
        empty: true,
    };
    let mut writer = serde_json::Serializer::with_formatter(&mut left, form);
    again.serialize(&mut writer).is_ok() && left.0.is_empty()
}

/// What is left of a text when everything written to it stood at its front; the first byte that
/// does not ends the writing.
struct Left<'a>(&'a [u8]);

impl io::Write for Left<'_> {
    fn write(&mut self, bytes: &[u8]) -> io::Result<usize> {
        self.write_all(bytes).map(|()| bytes.len())
    }

    fn write_all(&mut self, bytes: &[u8]) -> io::Result<()> {
        let rest = self.0.strip_prefix(bytes);
        self.0 = rest.ok_or(io::ErrorKind::InvalidData)?;
        Ok(())
    }

    fn flush(&mut self) -> io::Result<()> {
        Ok(())
    }
}

/// Writes as [`serde_json::ser::PrettyFormatter`] does, some levels deep in another value, and each
/// line's start in one piece.
struct Indented {
    depth: usize,
    /// Nothing stands yet in the array or object that was opened last.
    empty: bool,
}

impl Indented {
    const LINE: &'static [u8; 65] =
        b"\n                                                                ";

    /// Starts a line.
    fn line(&self, writer: &mut (impl ?Sized + io::Write)) -> io::Result<()> {
        let start = Self::LINE.get(..=self.depth * 2);
        // Deeper than any judgement is.
        writer.write_all(start.ok_or(io::ErrorKind::InvalidData)?)
    }

    fn open(&mut self, writer: &mut (impl ?Sized + io::Write), with: &[u8]) -> io::Result<()> {
        self.depth += 1;
        self.empty = true;
        writer.write_all(with)
    }

    fn close(&mut self, writer: &mut (impl ?Sized + io::Write), with: &[u8]) -> io::Result<()> {
        self.depth = self.depth.saturating_sub(1);
        if !self.empty {
            self.line(writer)?;
        }
        self.empty = false;
        writer.write_all(with)
    }

    fn next(&self, writer: &mut (impl ?Sized + io::Write), first: bool) -> io::Result<()> {
        if !first {
            writer.write_all(b",")?;
        }
        self.line(writer)
    }
}

impl Formatter for Indented {
    fn begin_array<W: ?Sized + io::Write>(&mut self, writer: &mut W) -> io::Result<()> {
        self.open(writer, b"[")
    }

    fn end_array<W: ?Sized + io::Write>(&mut self, writer: &mut W) -> io::Result<()> {
        self.close(writer, b"]")
    }

    fn begin_array_value<W: ?Sized + io::Write>(
        &mut self,
        writer: &mut W,
        first: bool,
    ) -> io::Result<()> {
        self.next(writer, first)
    }

    fn end_array_value<W: ?Sized + io::Write>(&mut self, _: &mut W) -> io::Result<()> {
        self.empty = false;
        Ok(())
    }

    fn begin_object<W: ?Sized + io::Write>(&mut self, writer: &mut W) -> io::Result<()> {
        self.open(writer, b"{")
    }

    fn end_object<W: ?Sized + io::Write>(&mut self, writer: &mut W) -> io::Result<()> {
        self.close(writer, b"}")
    }

    fn begin_object_key<W: ?Sized + io::Write>(
        &mut self,
        writer: &mut W,
        first: bool,
    ) -> io::Result<()> {
        self.next(writer, first)
    }

    fn begin_object_value<W: ?Sized + io::Write>(&mut self, writer: &mut W) -> io::Result<()> {
        writer.write_all(b": ")
    }

    fn end_object_value<W: ?Sized + io::Write>(&mut self, _: &mut W) -> io::Result<()> {
        self.empty = false;
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

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_value_is_written_as_it_stands_in_a_record() {
        for text in [
            r#"{"a":1,"b":[],"c":{},"d":[1,[2,{"e":"x\ny"}],{}],"f":{"g":[[]],"h":null}}"#,
            "[]",
            "1.5",
        ] {
            let value: Value = serde_json::from_str(text).unwrap();
            let whole = serde_json::to_string_pretty(&serde_json::json!({"m": value})).unwrap();
            let mut written = b"{\n  \"m\": ".to_vec();
            let form = Indented {
                depth: 1,
                empty: true,
            };
            let mut writer = serde_json::Serializer::with_formatter(&mut written, form);
            value.serialize(&mut writer).unwrap();
            written.extend_from_slice(b"\n}");
            assert_eq!(String::from_utf8(written).unwrap(), whole);
        }
    }
}
