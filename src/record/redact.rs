//! A copy of a record for third parties: VIN and plate replaced by their salted digests.
//!
//! The copy is a pure function of the record's bytes, so that everybody who has the record makes
//! the same copy, byte for byte. Whoever signs a record signs its copy in the same breath (in a
//! namespace of its own), so that the copy can be checked without the record:
//!
//! - the signature and the signer, with stock tools;
//! - the journal's chain from its second line on; of the first line, which holds VIN and plate, the
//!   digest is kept, and the second line names it;
//! - every result, recomputed: no verdict depends on VIN or plate;
//! - with a value and its salt from `private.toml`, that the record speaks of this vehicle;
//! - with the record at hand, that the copy names its digest.
//!
//! What was typed as free text (complaint, notes, quote) stays as it is; [`leaks`] looks for VIN
//! and plate in it.

use serde::de::{MapAccess, Visitor};
use serde::{Deserialize, Deserializer, Serialize};
use serde_json::Value;
use serde_json::value::RawValue;

use super::canonical::{self, JsonError, Limits};
use super::freeze::{FORMAT, REDACTED_FORMAT};
use crate::job::PersonalField;
use crate::job::journal::sha256_hex;

/// What stands in the place of a value that has no digest in the journal.
pub const WITHHELD: &str = "withheld";

/// What a redacted copy says about itself.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, schemars::JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Redaction {
    /// SHA-256 of the record the copy was made of.
    pub record_sha256: String,
    /// SHA-256 of the journal's first line as it stands in the record.
    pub opening_line_sha256: String,
    /// Fields of the opening that hold a digest instead of their value.
    pub withheld: Vec<String>,
}

/// Why no copy can be made.
#[derive(Debug, thiserror::Error)]
#[non_exhaustive]
pub enum RedactError {
    /// The bytes are not strict JSON.
    #[error(transparent)]
    Json(#[from] JsonError),
    /// Not a record of this form.
    #[error("this is no {FORMAT}: {what}")]
    NotARecord {
        /// What is missing or wrong.
        what: String,
    },
    /// The first line of the journal is not the job's opening, or another line is one too.
    #[error("line {line} of the journal {what}, so it is not sure where VIN and plate stand")]
    Opening {
        /// Line, from 1.
        line: usize,
        /// What is wrong with it.
        what: &'static str,
    },
}

/// An object's members in their order, each as its text.
struct Members<'a>(Vec<(String, &'a RawValue)>);

impl<'de: 'a, 'a> Deserialize<'de> for Members<'a> {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        struct Reader;
        impl<'de> Visitor<'de> for Reader {
            type Value = Members<'de>;

            fn expecting(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
                f.write_str("an object")
            }

            fn visit_map<A: MapAccess<'de>>(self, mut map: A) -> Result<Members<'de>, A::Error> {
                let mut members = Vec::new();
                while let Some(member) = map.next_entry()? {
                    members.push(member);
                }
                Ok(Members(members))
            }
        }
        deserializer.deserialize_map(Reader)
    }
}

fn not_a_record(error: impl ToString) -> RedactError {
    RedactError::NotARecord {
        what: error.to_string(),
    }
}

/// Makes the copy without VIN and plate.
///
/// # Errors
/// A [`RedactError`].
pub fn redact(record: &[u8]) -> Result<Vec<u8>, RedactError> {
    canonical::check_json(record, &Limits::default())?;
    let Members(members) = serde_json::from_slice(record).map_err(not_a_record)?;
    let member = |name: &str| {
        members
            .iter()
            .find(|(key, _)| key == name)
            .map(|(_, raw)| raw.get())
    };
    if member("format") != Some(&format!("\"{FORMAT}\"")) {
        return Err(not_a_record("another format"));
    }
    let journal = member("journal").ok_or_else(|| not_a_record("no journal"))?;
    let lines: Vec<&RawValue> = serde_json::from_str(journal).map_err(not_a_record)?;
    let (opening, redaction) = opening(record, &lines)?;
    let mut text = String::from("{\n");
    for (index, (key, raw)) in members.iter().enumerate() {
        let name = serde_json::to_string(key).map_err(not_a_record)?;
        match key.as_str() {
            "format" => text.push_str(&format!("  \"format\": \"{REDACTED_FORMAT}\"")),
            "journal" => {
                text.push_str("  \"journal\": [\n    ");
                text.push_str(&opening);
                for line in lines.iter().skip(1) {
                    text.push_str(",\n    ");
                    text.push_str(line.get());
                }
                text.push_str("\n  ]");
            }
            _ => text.push_str(&format!("  {name}: {}", raw.get())),
        }
        if key == "version" {
            let pretty = serde_json::to_string_pretty(&redaction).map_err(not_a_record)?;
            text.push_str(",\n  \"redaction\": ");
            text.push_str(&pretty.replace('\n', "\n  "));
        }
        text.push_str(if index + 1 < members.len() {
            ",\n"
        } else {
            "\n"
        });
    }
    text.push_str("}\n");
    Ok(text.into_bytes())
}

/// The journal's first line with digests for VIN and plate, and what is said about it.
fn opening(record: &[u8], lines: &[&RawValue]) -> Result<(String, Redaction), RedactError> {
    let wrong = |line, what| RedactError::Opening { line, what };
    let first = lines.first().ok_or(wrong(1, "is missing"))?;
    let mut line: Value = serde_json::from_str(first.get()).map_err(not_a_record)?;
    let mut digests: Vec<(String, String)> = Vec::new();
    for (index, raw) in lines.iter().enumerate() {
        let later: Value = serde_json::from_str(raw.get()).map_err(not_a_record)?;
        let Some(event) = later.get("event") else {
            continue;
        };
        let text = |name: &str| event.get(name).and_then(Value::as_str);
        match text("kind") {
            Some("opened") if index > 0 => return Err(wrong(index + 1, "opens the job again")),
            Some("personal") => {
                digests.extend(
                    text("field")
                        .zip(text("sha256"))
                        .map(|(f, d)| (f.into(), d.into())),
                );
            }
            _ => {}
        }
    }
    let event = line.get_mut("event").and_then(Value::as_object_mut);
    let event = event.filter(|event| event.get("kind").and_then(Value::as_str) == Some("opened"));
    let event = event.ok_or(wrong(1, "does not open the job"))?;
    let mut withheld = Vec::new();
    for field in [PersonalField::Vin, PersonalField::Registration] {
        let name = field.word();
        if let Some(value) = event.get_mut(name) {
            let digest = digests.iter().rev().find(|(known, _)| known == name);
            *value = digest.map_or(WITHHELD.into(), |(_, digest)| in_place(digest).into());
            withheld.push(name.to_owned());
        }
    }
    let redaction = Redaction {
        record_sha256: sha256_hex(record),
        opening_line_sha256: sha256_hex(first.get().as_bytes()),
        withheld,
    };
    Ok((summed(line)?, redaction))
}

/// The text that stands in a value's place: its digest, marked as one.
#[must_use]
pub fn in_place(digest: &str) -> String {
    format!("sha256:{digest}")
}

/// A journal line with its own checksum made anew.
fn summed(mut line: Value) -> Result<String, RedactError> {
    if let Some(line) = line.as_object_mut() {
        line.shift_remove("sum");
    }
    let whole = serde_json::to_string(&line).map_err(not_a_record)?;
    let body = whole.strip_suffix('}').unwrap_or(&whole);
    Ok(format!(
        "{body},\"sum\":\"{}\"}}",
        sha256_hex(body.as_bytes())
    ))
}

/// Whether a text still stands somewhere in a copy, whatever its case; texts shorter than five
/// characters would be found by chance and are not looked for.
#[must_use]
pub fn leaks(copy: &[u8], value: &str) -> bool {
    let value = value.trim().to_lowercase();
    value.chars().count() >= 5
        && String::from_utf8_lossy(copy)
            .to_lowercase()
            .contains(&value)
}
