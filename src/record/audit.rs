//! What many records say together: no number of a key's row missing, none given twice.
//!
//! Each signature is numbered per key and computer, and names the digest of the one before. Fed
//! with the links in order, [`Rows`] keeps only the last of them, so that any number of records can
//! be audited in the same memory; putting them in order is the caller's.

use std::fmt;

use serde::Serialize;

use super::freeze::ReadRecord;

/// What is wrong.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "snake_case")]
#[non_exhaustive]
pub enum ProblemKind {
    /// A record cannot be read, or is none.
    Form,
    /// The signature is missing or does not fit.
    Signature,
    /// Nobody vouches for the key, or not for this time.
    Signer,
    /// The key is revoked.
    Revoked,
    /// The journal in the record, or beside it, is damaged.
    Journal,
    /// A result comes out differently.
    Results,
    /// The revision before is missing or another.
    Revisions,
    /// A countersignature is missing where required, or does not fit.
    Countersignature,
    /// The time-stamp does not fit.
    TimeStamp,
    /// The journal says a record was signed, and it is gone.
    Removed,
    /// The journal says another record was signed.
    Replaced,
    /// A record lies there of which the journal knows nothing.
    NotInJournal,
    /// The journal no longer begins with what was signed.
    JournalChanged,
    /// A record lies in another job's folder.
    Misplaced,
    /// A photo is missing.
    PhotoMissing,
    /// A photo is another than the one taken.
    PhotoChanged,
    /// A link or something else that is no plain file.
    NotPlain,
    /// Numbers of a key's row are missing.
    Gap,
    /// A number of a key's row was given twice.
    Doubled,
    /// A record names another record before it than the one with the number before.
    Row,
}

impl fmt::Display for ProblemKind {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::Form => "form",
            Self::Signature => "signature",
            Self::Signer => "signer",
            Self::Revoked => "revoked key",
            Self::Journal => "journal",
            Self::Results => "results",
            Self::Revisions => "revisions",
            Self::Countersignature => "countersignature",
            Self::TimeStamp => "time-stamp",
            Self::Removed => "removed",
            Self::Replaced => "replaced",
            Self::NotInJournal => "not in the journal",
            Self::JournalChanged => "journal changed",
            Self::Misplaced => "misplaced",
            Self::PhotoMissing => "photo missing",
            Self::PhotoChanged => "photo changed",
            Self::NotPlain => "not a plain file",
            Self::Gap => "gap",
            Self::Doubled => "doubled number",
            Self::Row => "row",
        })
    }
}

/// Something an audit found.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize)]
pub struct Problem {
    /// Where: the record's or the job's path as it was reached.
    pub place: String,
    /// What kind of thing is wrong.
    pub kind: ProblemKind,
    /// What was found, in words.
    pub detail: String,
}

/// A record's place in the row of its key on its computer. Ordered by key, computer, number.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct Link {
    /// Fingerprint of the key that signed.
    pub fingerprint: String,
    /// The computer.
    pub device: String,
    /// The number.
    pub sequence: u64,
    /// SHA-256 of the record.
    pub sha256: String,
    /// SHA-256 of the record with the number before, as recorded.
    pub previous: String,
    /// Where the record lies.
    pub place: String,
}

impl Link {
    /// The link a record makes.
    #[must_use]
    pub fn of(record: &ReadRecord, sha256: &str, place: &str) -> Self {
        Self {
            fingerprint: record.signer.fingerprint.clone(),
            device: record.signer.device.clone(),
            sequence: record.signer.sequence,
            sha256: sha256.to_owned(),
            previous: record.signer.previous.clone(),
            place: place.to_owned(),
        }
    }

    /// One line of text, whose order as text is the links' order.
    #[must_use]
    pub fn to_line(&self) -> String {
        // Whatever a hostile record holds, a field stays one field.
        let plain = |text: &str| text.escape_debug().to_string();
        format!(
            "{}\t{}\t{:020}\t{}\t{}\t{}",
            plain(&self.fingerprint),
            plain(&self.device),
            self.sequence,
            plain(&self.sha256),
            plain(&self.previous),
            plain(&self.place)
        )
    }

    /// Reads [`Link::to_line`].
    #[must_use]
    pub fn from_line(line: &str) -> Option<Self> {
        let mut fields = line.split('\t').map(str::to_owned);
        Some(Self {
            fingerprint: fields.next()?,
            device: fields.next()?,
            sequence: fields.next()?.parse().ok()?,
            sha256: fields.next()?,
            previous: fields.next()?,
            place: fields.next()?,
        })
    }
}

/// Follows the rows of all keys; to be fed in order.
///
/// # Examples
/// ```
/// use brakecorner::record::audit::{Link, ProblemKind, Rows};
///
/// let link = |sequence: u64, sha256: &str, previous: &str| Link {
///     fingerprint: "SHA256:a".to_owned(), device: "dev-1".to_owned(), sequence,
///     sha256: sha256.to_owned(), previous: previous.to_owned(), place: format!("r{sequence}"),
/// };
/// let mut rows = Rows::default();
/// assert!(rows.take(link(1, "aa", "")).is_none());
/// let gap = rows.take(link(3, "cc", "bb")).unwrap();
/// assert_eq!(gap.kind, ProblemKind::Gap);
/// ```
#[derive(Debug, Default)]
pub struct Rows {
    last: Option<Link>,
}

impl Rows {
    /// Takes the next link; says what is wrong between it and the one before.
    ///
    /// The same record met twice (a folder named twice, a copy) is no doubled number.
    pub fn take(&mut self, link: Link) -> Option<Problem> {
        let last = self
            .last
            .take()
            .filter(|last| last.fingerprint == link.fingerprint && last.device == link.device);
        let problem = Self::between(last.as_ref(), &link);
        self.last = Some(link);
        problem
    }

    fn between(last: Option<&Link>, link: &Link) -> Option<Problem> {
        let row = format!("key {} on {}", link.fingerprint, link.device);
        let problem = |kind, detail| {
            Some(Problem {
                place: link.place.clone(),
                kind,
                detail,
            })
        };
        let expected = last.map_or(1, |last| last.sequence.saturating_add(1));
        if let Some(last) = last
            && last.sequence == link.sequence
        {
            if last.sha256 == link.sha256 {
                return None;
            }
            let detail = format!(
                "{row}: number {} was given to {} too",
                link.sequence, last.place
            );
            return problem(ProblemKind::Doubled, detail);
        }
        if link.sequence == 0 {
            return problem(ProblemKind::Row, format!("{row}: numbers count from 1"));
        }
        if link.sequence > expected {
            let missing = match link.sequence - expected {
                1 => format!("number {expected} is missing"),
                _ => format!("numbers {expected} to {} are missing", link.sequence - 1),
            };
            let detail = format!(
                "{row}: {missing}; the record was removed, or lies in a workshop that was not audited"
            );
            return problem(ProblemKind::Gap, detail);
        }
        let before = last.map_or("", |last| last.sha256.as_str());
        if before != link.previous {
            let short = |text: &str| text.chars().take(12).collect::<String>();
            let detail = format!(
                "{row}: names {}… as number {}, which is {}…",
                short(&link.previous),
                link.sequence - 1,
                short(before)
            );
            return problem(ProblemKind::Row, detail);
        }
        None
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn link(device: &str, sequence: u64, sha256: &str, previous: &str) -> Link {
        Link {
            fingerprint: "SHA256:k".into(),
            device: device.into(),
            sequence,
            sha256: sha256.into(),
            previous: previous.into(),
            place: format!("{device}/{sequence}"),
        }
    }

    fn kinds(links: &[Link]) -> Vec<ProblemKind> {
        let mut sorted: Vec<String> = links.iter().map(Link::to_line).collect();
        sorted.sort();
        let mut rows = Rows::default();
        let links = sorted.iter().map(|line| Link::from_line(line).unwrap());
        links
            .filter_map(|link| rows.take(link))
            .map(|problem| problem.kind)
            .collect()
    }

    #[test]
    fn two_computers_do_not_fork_a_key() {
        let links = [
            link("dev-a", 1, "a1", ""),
            link("dev-b", 1, "b1", ""),
            link("dev-a", 2, "a2", "a1"),
            link("dev-b", 2, "b2", "b1"),
        ];
        assert_eq!(kinds(&links), []);
    }

    #[test]
    fn a_removed_record_leaves_a_gap_in_the_middle_and_at_the_start() {
        assert_eq!(
            kinds(&[link("d", 1, "1", ""), link("d", 3, "3", "2")]),
            [ProblemKind::Gap]
        );
        assert_eq!(kinds(&[link("d", 2, "2", "1")]), [ProblemKind::Gap]);
    }

    #[test]
    fn a_number_given_twice_and_a_wrong_predecessor_are_told_apart() {
        assert_eq!(
            kinds(&[link("d", 1, "1", ""), link("d", 1, "x", "")]),
            [ProblemKind::Doubled]
        );
        assert_eq!(
            kinds(&[link("d", 1, "1", ""), link("d", 2, "2", "x")]),
            [ProblemKind::Row]
        );
    }

    #[test]
    fn the_same_record_met_twice_is_nothing_wrong() {
        assert_eq!(kinds(&[link("d", 1, "1", ""), link("d", 1, "1", "")]), []);
    }

    #[test]
    fn numbers_sort_as_numbers_and_hostile_fields_stay_fields() {
        let links: Vec<Link> = (1..=11)
            .map(|n| {
                let previous = if n == 1 {
                    String::new()
                } else {
                    format!("{}", n - 1)
                };
                link("d", n, &n.to_string(), &previous)
            })
            .collect();
        assert_eq!(kinds(&links), []);
        let hostile = link("d\t1\n", 1, "1", "");
        let back = Link::from_line(&hostile.to_line()).unwrap();
        assert_eq!(back.sequence, 1);
        assert_eq!(back.device, "d\\t1\\n");
    }
}
