//! Sentences that lower layers make in English, found again by their pattern so that another
//! language can say them.
//!
//! A cause of the judgement is advice for the technician and made where the readings are known. The
//! English message file holds each such sentence as `phrase-…`, with its blanks named; the other
//! files say the same under the same name. A sentence without a pattern stays as it is, which a
//! test over the judgement's source prevents.

use super::{Arg, Language, Words};

/// Names given to the blanks of a pattern, in order.
const BLANKS: [&str; 6] = ["a", "b", "c", "d", "e", "f"];

/// Message names of the sentences.
pub(super) const PREFIX: &str = "phrase-";

/// A sentence's pattern: the fixed pieces between its blanks.
#[derive(Debug)]
pub(super) struct Phrase {
    pub(super) id: String,
    pub(super) pieces: Vec<String>,
}

impl Phrase {
    /// Reads a pattern with its blanks written `{ $a }`, or `{}` as the program writes them.
    pub(super) fn new(id: &str, pattern: &str) -> Self {
        let mut pieces = vec![String::new()];
        let mut rest = pattern;
        while let Some((before, after)) = rest.split_once('{') {
            if let Some(last) = pieces.last_mut() {
                last.push_str(before);
            }
            pieces.push(String::new());
            rest = after.split_once('}').map_or("", |(_, after)| after);
        }
        if let Some(last) = pieces.last_mut() {
            last.push_str(rest);
        }
        Self {
            id: id.to_owned(),
            pieces,
        }
    }

    /// How much of the pattern is fixed: of two that fit, the one that says more is meant.
    fn weight(&self) -> usize {
        self.pieces.iter().map(String::len).sum()
    }
}

/// What stands in the blanks of a pattern when a text fits it.
///
/// # Examples
/// ```
/// use brakecorner::sheet::words::blanks;
/// assert_eq!(blanks(&["both pads at ", " have ", " mm"], "both pads at FL have 4.0 mm"), Some(vec!["FL", "4.0"]));
/// assert_eq!(blanks(&["both pads at ", " have ", " mm"], "the pad at FL"), None);
/// ```
#[must_use]
pub fn blanks<'t>(pieces: &[impl AsRef<str>], text: &'t str) -> Option<Vec<&'t str>> {
    let (first, rest) = pieces.split_first()?;
    let mut left = text.strip_prefix(first.as_ref())?;
    let Some((last, between)) = rest.split_last() else {
        return left.is_empty().then(Vec::new);
    };
    let mut found = Vec::new();
    for piece in between {
        let (blank, after) = left.split_once(piece.as_ref())?;
        found.push(blank);
        left = after;
    }
    found.push(left.strip_suffix(last.as_ref())?);
    Some(found)
}

/// The phrases of the English file, the longest first.
pub(super) fn phrases() -> Vec<Phrase> {
    let mut all: Vec<Phrase> = Language::En
        .messages()
        .lines()
        .filter(|line| line.starts_with(PREFIX))
        .filter_map(|line| line.split_once(" = "))
        .map(|(id, pattern)| Phrase::new(id, pattern))
        .collect();
    all.sort_by_key(|phrase| std::cmp::Reverse(phrase.weight()));
    all
}

/// How deep a sentence within a sentence is looked into.
const DEPTH: u8 = 3;

impl Words {
    /// A sentence of the judgement in this language; `blank` says what stands in a blank that is no
    /// sentence itself, such as a place or a number.
    #[must_use]
    pub fn phrase(&self, english: &str, blank: &dyn Fn(&str) -> String) -> String {
        if self.language() == Language::En {
            return english.to_owned();
        }
        self.known(&phrases(), english, blank, DEPTH)
            .unwrap_or_else(|| english.to_owned())
    }

    fn known(
        &self,
        phrases: &[Phrase],
        english: &str,
        blank: &dyn Fn(&str) -> String,
        depth: u8,
    ) -> Option<String> {
        let depth = depth.checked_sub(1)?;
        let (phrase, found) = phrases
            .iter()
            .find_map(|phrase| Some((phrase, blanks(&phrase.pieces, english)?)))?;
        let args: Vec<(&str, Arg)> = BLANKS
            .into_iter()
            .zip(found)
            .map(|(name, text)| {
                let said = self
                    .known(phrases, text, blank, depth)
                    .unwrap_or_else(|| blank(text));
                (name, said.into())
            })
            .collect();
        Some(self.say(&phrase.id, &args))
    }
}
