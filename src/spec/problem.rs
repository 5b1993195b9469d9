//! What can be wrong with a specification file, and where.

use std::fmt;

use serde::{Deserialize, Serialize};

use crate::units::UnitError;

/// A place in a text: line and column, both counted from 1, columns in characters.
#[derive(
    Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize,
)]
pub struct Place {
    /// Line, from 1; 0 when the value did not come from a text.
    pub line: u32,
    /// Column in characters, from 1; 0 when the value did not come from a text.
    pub column: u32,
}

impl fmt::Display for Place {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}:{}", self.line, self.column)
    }
}

/// One thing wrong with one key of a file.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[error("{file}:{place}: {}{kind}", key_prefix(key))]
pub struct Problem {
    /// The file's name, as the caller gave it.
    pub file: String,
    /// Where in the file.
    pub place: Place,
    /// The dotted key, empty when the problem concerns the file's syntax.
    pub key: String,
    /// What is wrong.
    pub kind: ProblemKind,
}

fn key_prefix(key: &str) -> String {
    if key.is_empty() {
        String::new()
    } else {
        format!("`{key}`: ")
    }
}

/// Kinds of problem a specification file can have.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[non_exhaustive]
pub enum ProblemKind {
    /// The text is not TOML.
    #[error("not readable as TOML: {message}")]
    Syntax {
        /// The parser's own words.
        message: String,
    },
    /// Nobody reads this key.
    #[error("unknown key{}", did_you_mean(suggestion.as_deref()))]
    UnknownKey {
        /// The nearest key that is read, if one is near.
        suggestion: Option<String>,
    },
    /// A key that must be there is not.
    #[error("missing; {why}")]
    Missing {
        /// What it is needed for.
        why: &'static str,
    },
    /// The value is of another type.
    #[error("expected {expected}, found {found}")]
    WrongType {
        /// What the key takes.
        expected: &'static str,
        /// What it holds.
        found: String,
    },
    /// The value is no quantity.
    #[error(transparent)]
    Quantity(#[from] UnitError),
    /// A number lies outside what the key can mean.
    #[error("{found} is out of range; expected {expected}")]
    OutOfRange {
        /// The number found, with its unit.
        found: String,
        /// The range, with its unit.
        expected: String,
    },
    /// A word is not one of those the key takes.
    #[error("`{found}` is not one of {expected}{}", did_you_mean(suggestion.as_deref()))]
    UnknownWord {
        /// The word found.
        found: String,
        /// The accepted words.
        expected: String,
        /// The nearest accepted word, if one is near.
        suggestion: Option<String>,
    },
    /// The same quantity is given in two units.
    #[error("given twice, also as `{other}`; keep one")]
    GivenTwice {
        /// The other key.
        other: String,
    },
    /// Two values of the file cannot both be right.
    #[error("{message}")]
    Contradiction {
        /// What contradicts what, with both values.
        message: String,
    },
    /// A figure lies outside its usual range.
    #[error("{found} is unusual; {usual} is usual{}", did_you_mean_figure(meant.as_deref()))]
    Unusual {
        /// The figure, with its unit.
        found: String,
        /// The usual range, with its unit.
        usual: String,
        /// The figure without a likely slip, and which slip.
        meant: Option<String>,
    },
    /// Nothing says where a figure was found.
    #[error("no source; say where the figure was found")]
    NoSource,
    /// Something a person should look at.
    #[error("{message}")]
    Doubt {
        /// What is doubtful, with the values.
        message: String,
    },
}

fn did_you_mean_figure(meant: Option<&str>) -> String {
    meant.map_or_else(String::new, |figure| format!("; did you mean {figure}?"))
}

fn did_you_mean(suggestion: Option<&str>) -> String {
    suggestion.map_or_else(String::new, |name| format!("; did you mean `{name}`?"))
}

/// Every problem found in a file, in the order of their places.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[error("{}", lines(problems))]
pub struct SpecProblems {
    /// The problems; never empty.
    pub problems: Vec<Problem>,
}

fn lines(problems: &[Problem]) -> String {
    problems
        .iter()
        .map(Problem::to_string)
        .collect::<Vec<_>>()
        .join("\n")
}

impl SpecProblems {
    /// The problems in the order of their places, or nothing when there are none.
    pub(super) fn from_list(mut problems: Vec<Problem>) -> Option<Self> {
        problems.sort_by(|a, b| (a.place, &a.key).cmp(&(b.place, &b.key)));
        problems.dedup();
        (!problems.is_empty()).then_some(Self { problems })
    }
}

/// The candidate nearest to `word`, when it is near enough to be a slip of the keyboard.
pub(super) fn nearest<'a>(
    word: &str,
    candidates: impl IntoIterator<Item = &'a str>,
) -> Option<String> {
    // A long text is no slip of the keyboard, and comparing it costs its length squared.
    if word.chars().count() > 60 {
        return None;
    }
    candidates
        .into_iter()
        .map(|candidate| (strsim::damerau_levenshtein(word, candidate), candidate))
        .filter(|(distance, candidate)| *distance <= 1 + candidate.chars().count() / 4)
        .min()
        .map(|(_, candidate)| candidate.to_owned())
}
