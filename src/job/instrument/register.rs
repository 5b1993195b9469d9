//! The register itself: the workshop's instruments with what became of them.

use chrono::{DateTime, FixedOffset};
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use super::{Check, FigureError, Instrument, InstrumentKind, StudyEntry};

/// The workshop's instruments.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Register {
    /// All of them, in the order of the file.
    #[serde(default, rename = "instrument")]
    pub instruments: Vec<Instrument>,
    /// Checks on a standard outside a job, in order.
    #[serde(default, rename = "check", skip_serializing_if = "Vec::is_empty")]
    pub checks: Vec<Check>,
    /// Repeat studies, in order.
    #[serde(default, rename = "study", skip_serializing_if = "Vec::is_empty")]
    pub studies: Vec<StudyEntry>,
}

/// Why a register does not read.
#[derive(Debug, thiserror::Error)]
#[non_exhaustive]
pub enum RegisterError {
    /// The text is not a register.
    #[error("the instrument register does not read")]
    Syntax(#[from] toml::de::Error),
    /// Figures that do not read, all of them.
    #[error("{}", .0.iter().map(ToString::to_string).collect::<Vec<_>>().join("\n"))]
    Figures(Vec<FigureError>),
    /// Two instruments carry the same mark.
    #[error("instrument `{0}` is in the register twice")]
    Twice(String),
}

impl Register {
    /// Reads a register.
    ///
    /// # Errors
    /// [`RegisterError`]: syntax with its place, every figure that does not read, or a mark used
    /// twice.
    pub fn parse(text: &str) -> Result<Self, RegisterError> {
        let register: Self = toml::from_str(text)?;
        let problems: Vec<_> = register
            .instruments
            .iter()
            .flat_map(Instrument::problems)
            .collect();
        if !problems.is_empty() {
            return Err(RegisterError::Figures(problems));
        }
        for (index, one) in register.instruments.iter().enumerate() {
            if register.instruments[..index]
                .iter()
                .any(|other| other.id == one.id)
            {
                return Err(RegisterError::Twice(one.id.clone()));
            }
        }
        Ok(register)
    }

    /// The instrument with this mark.
    #[must_use]
    pub fn get(&self, id: &str) -> Option<&Instrument> {
        self.instruments
            .iter()
            .find(|instrument| instrument.id == id)
    }

    /// The instrument with this mark, to be changed.
    pub fn get_mut(&mut self, id: &str) -> Option<&mut Instrument> {
        self.instruments
            .iter_mut()
            .find(|instrument| instrument.id == id)
    }

    /// An instrument's checks outside a job, in order.
    pub fn checks_of(&self, id: &str) -> impl DoubleEndedIterator<Item = &Check> {
        self.checks
            .iter()
            .filter(move |check| check.instrument == id)
    }

    /// An instrument's repeat studies, in order.
    pub fn studies_of(&self, id: &str) -> impl DoubleEndedIterator<Item = &StudyEntry> {
        self.studies
            .iter()
            .filter(move |study| study.instrument == id)
    }

    /// An instrument's last check outside a job before a time, if it was not good.
    #[must_use]
    pub fn failed_check(&self, id: &str, at: DateTime<FixedOffset>) -> Option<&Check> {
        let mut before = self.checks_of(id).filter(|check| check.at <= at);
        before.next_back().filter(|check| !check.good)
    }

    /// All a verdict depends on, and all a record needs: the instruments, and their checks from the
    /// first on that was not good.
    #[must_use]
    pub fn for_judging(&self) -> Self {
        let mut failed: Vec<&str> = Vec::new();
        let mut checks = Vec::new();
        for check in &self.checks {
            let known = failed.contains(&check.instrument.as_str());
            if known || !check.good {
                checks.push(check.clone());
            }
            if !known && !check.good {
                failed.push(&check.instrument);
            }
        }
        Self {
            instruments: self.instruments.clone(),
            checks,
            ..Self::default()
        }
    }

    /// Instruments of a kind.
    pub fn of_kind(&self, kind: InstrumentKind) -> impl Iterator<Item = &Instrument> {
        self.instruments
            .iter()
            .filter(move |instrument| instrument.kind == kind)
    }
}
