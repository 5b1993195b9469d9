//! What became of an instrument over time: checks on its standard, and repeat studies.
//!
//! Kept in the register's file beside the instruments; a verdict depends on the instrument's own
//! figures and on checks that were not good, so a signed record carries those and not the rest.

use chrono::{DateTime, FixedOffset};
use serde::{Deserialize, Serialize};

/// Why an instrument was checked.
#[derive(
    Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize, schemars::JsonSchema,
)]
#[serde(rename_all = "snake_case")]
pub enum Occasion {
    /// From time to time.
    #[default]
    Routine,
    /// It fell, or was knocked.
    AfterDrop,
}

impl Occasion {
    /// The occasion in words.
    #[must_use]
    pub const fn words(self) -> &'static str {
        match self {
            Self::Routine => "routine",
            Self::AfterDrop => "after a drop",
        }
    }
}

/// A check on a standard outside a job.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, schemars::JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Check {
    /// The instrument.
    pub instrument: String,
    /// When.
    pub at: DateTime<FixedOffset>,
    /// Who.
    pub by: String,
    /// Why.
    #[serde(default)]
    pub occasion: Occasion,
    /// The standard's length, with unit.
    pub standard: String,
    /// The readings, exactly as given.
    pub readings: Vec<String>,
    /// Mean reading minus standard, with unit.
    pub zero_error: String,
    /// Largest minus smallest reading, with unit.
    pub spread: String,
    /// Both were within what is allowed.
    pub good: bool,
}

/// A repeat study.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, schemars::JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct StudyEntry {
    /// The instrument.
    pub instrument: String,
    /// When it was evaluated.
    pub at: DateTime<FixedOffset>,
    /// Who evaluated it.
    pub by: String,
    /// How many parts were measured.
    pub parts: usize,
    /// Who measured.
    pub people: Vec<String>,
    /// How often each measured each part.
    pub repeats: usize,
    /// Spread of the same person on the same part, one standard deviation.
    pub repeatability: String,
    /// Lower end of its 95 % interval.
    pub repeatability_low: String,
    /// Upper end of its 95 % interval.
    pub repeatability_high: String,
    /// Its degrees of freedom.
    pub degrees_of_freedom: u32,
    /// Spread between people, one standard deviation; empty with one person.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub reproducibility: String,
    /// Each person's own repeatability, in the order of `people`.
    pub per_person: Vec<String>,
    /// The readings' file, below the workshop.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub readings: String,
}
