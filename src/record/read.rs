//! A record as it is read back.

use chrono::{DateTime, FixedOffset};
use schemars::JsonSchema;
use serde::de::DeserializeOwned;
use serde::{Deserialize, Deserializer};
use serde_json::value::RawValue;

use super::canonical::Limits;
use super::freeze::{SignerStatement, Snapshots, Stage};
use super::outline::outline;
use super::redact::Redaction;
use crate::job::Register;
use crate::job::journal::{self, Contents, Damage};

/// A record as it is read back.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct ReadRecord {
    /// The word every record begins with.
    pub format: String,
    /// Version of the record's form.
    pub version: u32,
    /// What is withheld, in a copy without VIN and plate.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub redaction: Option<Redaction>,
    /// Version of the rules.
    pub rules_version: u32,
    /// The program that wrote it.
    pub program: String,
    /// Job number.
    pub job: String,
    /// Revision.
    pub revision: u32,
    /// SHA-256 of the revision before.
    pub previous_revision: String,
    /// Which state it freezes.
    pub stage: Stage,
    /// Why something is missing.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub incomplete: String,
    /// When it was signed.
    pub signed_at: DateTime<FixedOffset>,
    /// The workshop.
    pub workshop: String,
    /// Who signed.
    pub signer: SignerStatement,
    /// The judgement as recorded.
    #[serde(deserialize_with = "as_written")]
    #[schemars(with = "super::schema::JudgementForm")]
    pub judgement: String,
    /// The instruments.
    pub instruments: Register,
    /// The specifications.
    pub specifications: Snapshots,
    /// The journal's lines.
    #[schemars(with = "Vec<super::schema::JournalLine>")]
    pub journal: Lines,
}

/// A value's text, byte for byte.
fn as_written<'de, D: Deserializer<'de>>(deserializer: D) -> Result<String, D::Error> {
    Ok(Box::<RawValue>::deserialize(deserializer)?.get().to_owned())
}

/// The journal's lines, byte for byte, in one text with a line feed after each.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Lines {
    text: String,
    /// Where each line begins.
    starts: Vec<usize>,
}

impl Lines {
    /// The lines one after the other, a line feed after each: what the journal's file begins with.
    #[must_use]
    pub fn text(&self) -> &str {
        &self.text
    }

    /// Each line without its line feed.
    pub fn iter(&self) -> impl Iterator<Item = &str> {
        let ends = self.starts.iter().skip(1).copied();
        let ends = ends.chain([self.text.len()]);
        let line = |(start, end): (&usize, usize)| self.text.get(*start..end.saturating_sub(1));
        self.starts.iter().zip(ends).filter_map(line)
    }

    /// The first line and the others, a line feed after each.
    fn split_first(&self) -> Option<(&str, &str)> {
        self.starts.first()?;
        let second = self.starts.get(1).copied().unwrap_or(self.text.len());
        self.text.split_at_checked(second)
    }
}

impl<'a> FromIterator<&'a str> for Lines {
    fn from_iter<I: IntoIterator<Item = &'a str>>(lines: I) -> Self {
        let mut all = Self::default();
        for line in lines {
            all.starts.push(all.text.len());
            all.text.push_str(line);
            all.text.push('\n');
        }
        all
    }
}

impl<'de> Deserialize<'de> for Lines {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        let lines = Vec::<Box<RawValue>>::deserialize(deserializer)?;
        Ok(lines.iter().map(|line| line.get()).collect())
    }
}

impl ReadRecord {
    /// Reads a record's bytes in one pass, where nothing is wrong or unusual with them; otherwise
    /// `None`, and the careful readers decide.
    pub(super) fn at_once(bytes: &[u8], limits: &Limits) -> Option<Self> {
        let outline = outline(bytes, limits)?;
        let journal = outline.journal?;
        let mut fields = Fields::default();
        for (name, text) in outline.members {
            fields.put(name, text)?;
        }
        fields.record(journal.into_iter().collect())
    }

    /// The journal these lines make.
    ///
    /// In a copy without VIN and plate the first line is another than the one that was signed; the
    /// second must name the digest that was kept of it.
    #[must_use]
    pub fn journal(&self) -> Contents {
        let parts = self.redaction.as_ref().zip(self.journal.split_first());
        let Some((redaction, (first, rest))) = parts else {
            return journal::read(self.journal.text().as_bytes());
        };
        let mut contents = journal::read(first.as_bytes());
        if contents.damage.is_some() || contents.entries.len() != 1 {
            return contents;
        }
        let opening_len = contents.good_len;
        let later = journal::read_from(rest.as_bytes(), 1, &redaction.opening_line_sha256);
        contents.entries.extend(later.entries);
        contents.good_len = opening_len + later.good_len;
        contents.head = later.head;
        contents.torn = later.torn;
        contents.missing_line_feed = later.missing_line_feed;
        contents.damage = later.damage.map(|damage| Damage {
            line: damage.line + 1,
            offset: damage.offset + opening_len,
            what: damage.what,
        });
        contents
    }
}

/// The fields of a record, as far as they were read.
#[derive(Default)]
struct Fields {
    format: Option<String>,
    version: Option<u32>,
    redaction: Option<Redaction>,
    rules_version: Option<u32>,
    program: Option<String>,
    job: Option<String>,
    revision: Option<u32>,
    previous_revision: Option<String>,
    stage: Option<Stage>,
    incomplete: Option<String>,
    signed_at: Option<DateTime<FixedOffset>>,
    workshop: Option<String>,
    signer: Option<SignerStatement>,
    judgement: Option<String>,
    instruments: Option<Register>,
    specifications: Option<Snapshots>,
}

impl Fields {
    fn put(&mut self, name: &str, text: &str) -> Option<()> {
        match name {
            "format" => set(&mut self.format, text),
            "version" => set(&mut self.version, text),
            "redaction" => set(&mut self.redaction, text),
            "rules_version" => set(&mut self.rules_version, text),
            "program" => set(&mut self.program, text),
            "job" => set(&mut self.job, text),
            "revision" => set(&mut self.revision, text),
            "previous_revision" => set(&mut self.previous_revision, text),
            "stage" => set(&mut self.stage, text),
            "incomplete" => set(&mut self.incomplete, text),
            "signed_at" => set(&mut self.signed_at, text),
            "workshop" => set(&mut self.workshop, text),
            "signer" => set(&mut self.signer, text),
            "judgement" => {
                self.judgement = Some(text.to_owned());
                Some(())
            }
            "instruments" => set(&mut self.instruments, text),
            "specifications" => set(&mut self.specifications, text),
            _ => None,
        }
    }

    fn record(self, journal: Lines) -> Option<ReadRecord> {
        Some(ReadRecord {
            format: self.format?,
            version: self.version?,
            redaction: self.redaction,
            rules_version: self.rules_version?,
            program: self.program?,
            job: self.job?,
            revision: self.revision?,
            previous_revision: self.previous_revision?,
            stage: self.stage?,
            incomplete: self.incomplete.unwrap_or_default(),
            signed_at: self.signed_at?,
            workshop: self.workshop?,
            signer: self.signer?,
            judgement: self.judgement?,
            instruments: self.instruments?,
            specifications: self.specifications?,
            journal,
        })
    }
}

fn set<T: DeserializeOwned>(place: &mut Option<T>, text: &str) -> Option<()> {
    *place = Some(serde_json::from_str(text).ok()?);
    Some(())
}

#[cfg(test)]
mod tests {
    use super::*;

    fn stored(name: &str) -> Vec<u8> {
        let folder = concat!(env!("CARGO_MANIFEST_DIR"), "/tests/data/records/v1/");
        std::fs::read(format!("{folder}{name}")).unwrap()
    }

    #[test]
    fn a_record_read_at_once_is_the_record_read_carefully() {
        for name in ["record-1.json", "record-2.json"] {
            let bytes = stored(name);
            let quick = ReadRecord::at_once(&bytes, &Limits::DEFAULT).unwrap();
            let careful: ReadRecord = serde_json::from_slice(&bytes).unwrap();
            assert_eq!(format!("{quick:?}"), format!("{careful:?}"));
            assert_eq!(quick.journal(), careful.journal());
            assert!(quick.journal.iter().count() > 2);
        }
    }

    #[test]
    fn lines_are_kept_byte_for_byte_and_can_be_taken_apart() {
        let lines: Lines = ["{}", "{ \"a\":\n1}", ""].into_iter().collect();
        assert_eq!(lines.text(), "{}\n{ \"a\":\n1}\n\n");
        assert_eq!(lines.iter().collect::<Vec<_>>(), ["{}", "{ \"a\":\n1}", ""]);
        assert_eq!(lines.split_first(), Some(("{}\n", "{ \"a\":\n1}\n\n")));
        assert_eq!(Lines::default().split_first(), None);
        assert_eq!(Lines::default().iter().count(), 0);
    }
}
