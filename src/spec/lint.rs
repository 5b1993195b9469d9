//! Checks a spec sheet for what a person gets wrong when copying figures.

use std::fmt;

use super::problem::{Problem, SpecProblems};
use super::reader::Reader;
use super::sheet::Sheet;
use super::sheet_read;

/// How bad a finding of the lint is.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Severity {
    /// The sheet can be used, but somebody should look.
    Warning,
    /// The sheet is refused.
    Error,
}

impl fmt::Display for Severity {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::Warning => "warning",
            Self::Error => "error",
        })
    }
}

/// One finding about a sheet.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Lint {
    /// Whether the sheet is refused for it.
    pub severity: Severity,
    /// File, place, key and what is wrong.
    pub problem: Problem,
}

impl fmt::Display for Lint {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}: {}", self.severity, self.problem)
    }
}

/// Everything wrong or doubtful with a sheet, all at once, in the order of the file.
#[must_use]
pub fn lint(text: &str, file: &str) -> Vec<Lint> {
    read_and_lint(text, file).1
}

/// Reads a sheet as far as it goes, and everything wrong or doubtful with it.
pub(super) fn read_and_lint(text: &str, file: &str) -> (Option<Sheet>, Vec<Lint>) {
    let reader = Reader::new(text, file);
    let sheet = sheet_read::read(&reader);
    let problems = reader
        .problems()
        .map(|SpecProblems { problems }| problems)
        .unwrap_or_default();
    let mut lints: Vec<Lint> = problems
        .into_iter()
        .map(|problem| Lint {
            severity: Severity::Error,
            problem,
        })
        .collect();
    if let Some(sheet) = &sheet {
        lints.extend(super::lint_rules::findings(sheet, file));
    }
    lints.sort_by(|a, b| (a.problem.place, &a.problem.key).cmp(&(b.problem.place, &b.problem.key)));
    (sheet, lints)
}
