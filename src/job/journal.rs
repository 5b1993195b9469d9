//! The journal's lines: one event a line, each carrying its own digest and the digest of the line
//! before it. Pure: bytes in, entries out; the file itself belongs to `shop`.
//!
//! ```text
//! {"v":1,"seq":7,"at":"2026-03-02T08:41:20+00:00","by":"Ilse Varga","prev":"<64 hex>","event":{…},"sum":"<64 hex>"}
//! ```
//!
//! `prev` is the SHA-256 of the whole previous line without its line feed (64 zeros on the first);
//! `sum` is the SHA-256 of the line's bytes before `,"sum"`. So a changed byte is noticed even in
//! the last line, which has no successor to vouch for it.

use chrono::{DateTime, FixedOffset, SecondsFormat};
use serde::Deserialize;
use serde_json::value::RawValue;
use sha2::{Digest, Sha256};

use super::{Event, Job, Meta};

mod own;
mod parallel;

/// Version of the line format this program writes.
pub const VERSION: u32 = 1;

/// `prev` of the first line.
pub const GENESIS: &str = "0000000000000000000000000000000000000000000000000000000000000000";

/// SHA-256 in lower-case hexadecimal.
#[must_use]
pub fn sha256_hex(bytes: &[u8]) -> String {
    hex(&Sha256::digest(bytes))
}

fn hex(digest: &[u8]) -> String {
    let mut text = String::with_capacity(2 * digest.len());
    hex_into(digest, &mut text);
    text
}

/// Writes a digest's digits into a text that is there already, so that a long journal needs one.
fn hex_into(digest: &[u8], text: &mut String) {
    const DIGITS: &[u8; 16] = b"0123456789abcdef";
    let nibble = |n: u8| char::from(DIGITS[usize::from(n & 0xf)]);
    text.clear();
    for byte in digest {
        text.push(nibble(byte >> 4));
        text.push(nibble(*byte));
    }
}

/// An event as it stands in the journal.
#[derive(Clone, Debug, PartialEq)]
pub struct Entry {
    /// Who, when, which.
    pub meta: Meta,
    /// What; `None` for a kind this version does not know, whose text is kept in the journal.
    pub event: Option<Event>,
    /// The event's kind as written, for an event that is not known; empty for others.
    pub kind: String,
}

/// Something in the journal that is not as it was written.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[error("line {line} (byte {offset}): {what}")]
pub struct Damage {
    /// Line number, from 1.
    pub line: usize,
    /// Byte offset of the line's start.
    pub offset: usize,
    /// What is wrong with it.
    pub what: String,
}

/// An unfinished last line: bytes written without their confirmation.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Torn {
    /// Byte offset where it starts.
    pub offset: usize,
    /// How many bytes there are.
    pub bytes: usize,
}

/// What a journal's bytes hold.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Contents {
    /// The good entries before the first damage.
    pub entries: Vec<Entry>,
    /// The first damage, if any: nothing after it is trusted.
    pub damage: Option<Damage>,
    /// An unfinished last line, if any.
    pub torn: Option<Torn>,
    /// Length of the good part in bytes, line feeds included.
    pub good_len: usize,
    /// Digest of the last good line, or [`GENESIS`].
    pub head: String,
    /// The last good line has no line feed yet: only its end was lost.
    pub missing_line_feed: bool,
}

impl Contents {
    /// The job these entries fold to.
    #[must_use]
    pub fn fold(&self) -> Job {
        let mut job = Job::default();
        for entry in &self.entries {
            entry.apply_to(&mut job);
        }
        job
    }

    /// The same, giving the entries away: they go into the job without being copied.
    #[must_use]
    pub fn into_job(self) -> Job {
        Job::of_entries(self.entries)
    }
}

impl Job {
    /// The job that entries fold to.
    #[must_use]
    pub fn of_entries(entries: Vec<Entry>) -> Self {
        let mut job = Self::default();
        for entry in entries {
            entry.move_into(&mut job);
        }
        job
    }
}

impl Entry {
    /// Takes the entry into account in `job`.
    pub fn apply_to(&self, job: &mut Job) {
        match &self.event {
            Some(event) => job.apply(&self.meta, event),
            None => job.apply_unknown(self.meta.seq, &self.kind),
        }
    }

    /// Takes the entry into account in `job`, which keeps it.
    pub fn move_into(self, job: &mut Job) {
        match self.event {
            Some(event) => job.take(self.meta, event),
            None => job.apply_unknown(self.meta.seq, &self.kind),
        }
    }
}

/// Why an event cannot be written as a line.
#[derive(Debug, thiserror::Error)]
#[error("cannot write the event as JSON")]
pub struct EncodeError(#[from] serde_json::Error);

/// One line without its line feed, and its digest for the next line's `prev`.
///
/// # Errors
/// [`EncodeError`] if the event has no JSON form.
pub fn encode(meta: &Meta, prev: &str, event: &Event) -> Result<(String, String), EncodeError> {
    let body = format!(
        r#"{{"v":{VERSION},"seq":{},"at":"{}","by":{},"prev":"{prev}","event":{}"#,
        meta.seq,
        meta.at.to_rfc3339_opts(SecondsFormat::Secs, false),
        serde_json::to_string(&meta.by)?,
        serde_json::to_string(event)?,
    );
    let sum = sha256_hex(body.as_bytes());
    let line = format!(r#"{body},"sum":"{sum}"}}"#);
    let digest = sha256_hex(line.as_bytes());
    Ok((line, digest))
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Line<'a> {
    v: u32,
    seq: u64,
    at: DateTime<FixedOffset>,
    by: String,
    prev: String,
    #[serde(borrow)]
    event: &'a RawValue,
    sum: String,
}

#[derive(Deserialize)]
struct KindOnly {
    kind: String,
}

/// Reads a journal: every good entry up to the first damage, and what is wrong after it.
///
/// Never panics on any bytes. `entries` is always a prefix of what was written.
#[must_use]
pub fn read(bytes: &[u8]) -> Contents {
    read_from(bytes, 0, GENESIS)
}

/// Reads the lines that follow a known good part ending with sequence number `last_seq` and the
/// line digest `head`. Offsets and line numbers count from the start of `bytes`.
#[must_use]
pub fn read_from(bytes: &[u8], last_seq: u64, head: &str) -> Contents {
    parallel::read_from(bytes, last_seq, head)
}

/// Reads lines one after the other.
fn read_in_order(bytes: &[u8], last_seq: u64, head: &str) -> Contents {
    let mut contents = Contents {
        head: head.to_owned(),
        ..Contents::default()
    };
    let mut digest = String::with_capacity(64);
    let mut seq = last_seq;
    let mut offset = 0;
    for (index, raw) in bytes.split_inclusive(|b| *b == b'\n').enumerate() {
        let (line, complete) = match raw.strip_suffix(b"\n") {
            Some(line) => (line, true),
            None => (raw, false),
        };
        match decode(line, seq + 1, &contents.head, &mut digest) {
            Ok(entry) => {
                seq = entry.meta.seq;
                contents.entries.push(entry);
                std::mem::swap(&mut contents.head, &mut digest);
                contents.good_len = offset + raw.len();
                contents.missing_line_feed = !complete;
            }
            Err(_) if !complete => {
                contents.torn = Some(Torn {
                    offset,
                    bytes: raw.len(),
                });
                break;
            }
            Err(what) => {
                contents.damage = Some(Damage {
                    line: index + 1,
                    offset,
                    what,
                });
                break;
            }
        }
        offset += raw.len();
    }
    contents
}

/// A line's entry; `digest` becomes the line's digest for the next line's `prev`.
///
/// A line spelled as this program spells it is read by its places; every other, and every one with
/// something wrong, is read again as the JSON text it is.
fn decode(
    line: &[u8],
    expected_seq: u64,
    expected_prev: &str,
    digest: &mut String,
) -> Result<Entry, String> {
    match own::decode(line, expected_seq, expected_prev, digest) {
        Some(entry) => Ok(entry),
        None => decode_any(line, expected_seq, expected_prev, digest),
    }
}

/// The same for a line in any spelling.
fn decode_any(
    line: &[u8],
    expected_seq: u64,
    expected_prev: &str,
    digest: &mut String,
) -> Result<Entry, String> {
    let text = std::str::from_utf8(line).map_err(|_| "the text is not UTF-8".to_owned())?;
    let Line {
        v,
        seq,
        at,
        by,
        prev,
        event,
        sum,
    } = serde_json::from_str(text)
        .map_err(|error| format!("the line is not a journal entry ({error})"))?;
    let end = text
        .rfind(r#","sum":""#)
        .filter(|end| text.get(*end..) == Some(format!(r#","sum":"{sum}"}}"#).as_str()))
        .ok_or("the checksum does not end the line")?;
    // The body is hashed once: its digest is the checksum, and the line's digest goes on from it.
    let mut hasher = Sha256::new();
    hasher.update(&line[..end]);
    let found = hex(&hasher.clone().finalize());
    hasher.update(&line[end..]);
    hex_into(&hasher.finalize(), digest);
    if found != sum {
        return Err(format!(
            "the checksum is {}…, expected {}…",
            short(&sum),
            short(&found)
        ));
    }
    if prev != expected_prev {
        return Err(format!(
            "it follows a line with digest {}…, but the line before it has {}…",
            short(&prev),
            short(expected_prev)
        ));
    }
    if seq != expected_seq {
        return Err(format!("it is entry {seq}, expected entry {expected_seq}"));
    }
    let meta = Meta { seq, at, by };
    let entry = match serde_json::from_str::<Event>(event.get()) {
        Ok(event) => Entry {
            meta,
            event: Some(event),
            kind: String::new(),
        },
        // A line that is whole but says something this version cannot read comes from a newer one.
        Err(error) => {
            let kind = serde_json::from_str::<KindOnly>(event.get())
                .map_err(|error| format!("the event has no kind ({error})"))?
                .kind;
            if v < VERSION {
                return Err(format!("the event cannot be read ({error})"));
            }
            Entry {
                meta,
                event: None,
                kind,
            }
        }
    };
    Ok(entry)
}

fn short(digest: &str) -> &str {
    digest.get(..8).unwrap_or(digest)
}

#[cfg(test)]
pub(crate) mod tests {
    use super::*;
    use crate::job::{Item, Observation, Phase};

    /// Three lines of a small journal.
    pub(crate) fn sample() -> Vec<u8> {
        journal_of(3)
    }

    /// A journal of so many lines.
    pub(super) fn journal_of(lines: usize) -> Vec<u8> {
        let mut prev = GENESIS.to_owned();
        let mut bytes = Vec::new();
        let items = [Item::Hose, Item::Pipe, Item::Springs];
        for (seq, item) in (1..).zip(items.into_iter().cycle().take(lines)) {
            let meta = Meta {
                seq,
                at: "2026-03-02T08:41:20+00:00".parse().unwrap(),
                by: "Ilse Varga".into(),
            };
            let event = Event::Seen {
                place: "FL".parse().unwrap(),
                item,
                phase: Phase::AsFound,
                observation: Observation::Sound,
            };
            let (line, digest) = encode(&meta, &prev, &event).unwrap();
            bytes.extend_from_slice(line.as_bytes());
            bytes.push(b'\n');
            prev = digest;
        }
        bytes
    }

    #[test]
    fn a_journal_cut_at_any_byte_keeps_every_whole_line_and_reports_the_rest() {
        let whole = sample();
        let entries = read(&whole).entries;
        assert_eq!(entries.len(), 3);
        for cut in 0..=whole.len() {
            let contents = read(&whole[..cut]);
            assert_eq!(contents.damage, None, "cut at {cut}");
            assert_eq!(
                contents.entries,
                entries[..contents.entries.len()],
                "cut at {cut}"
            );
            let torn = contents.torn.map_or(0, |torn| torn.bytes);
            assert_eq!(contents.good_len + torn, cut, "cut at {cut}");
        }
    }

    #[test]
    fn every_flipped_bit_is_noticed() {
        let whole = sample();
        let entries = read(&whole).entries;
        for bit in 0..whole.len() * 8 {
            let mut bytes = whole.clone();
            bytes[bit / 8] ^= 1 << (bit % 8);
            let contents = read(&bytes);
            let noticed = contents.damage.is_some()
                || contents.torn.is_some()
                || contents.missing_line_feed
                || contents.good_len < bytes.len();
            assert!(noticed, "bit {bit} went unnoticed");
            assert_eq!(
                contents.entries,
                entries[..contents.entries.len()],
                "bit {bit}"
            );
        }
    }

    #[test]
    fn an_event_of_a_newer_version_is_kept_and_named() {
        let body = format!(
            r#"{{"v":9,"seq":1,"at":"2026-03-02T08:41:20+00:00","by":"Tam Okoro","prev":"{GENESIS}","event":{{"kind":"hologram"}}"#
        );
        let line = format!("{body},\"sum\":\"{}\"}}\n", sha256_hex(body.as_bytes()));
        let contents = read(line.as_bytes());
        assert_eq!(contents.entries[0].kind, "hologram");
        assert_eq!(contents.fold().unknown, [(1, "hologram".to_owned())]);
    }

    proptest::proptest! {
        #[test]
        fn no_bytes_panic(bytes in proptest::collection::vec(proptest::prelude::any::<u8>(), 0..300)) {
            let _ = read(&bytes);
        }
    }
}
