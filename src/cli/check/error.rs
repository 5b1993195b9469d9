//! What can be wrong with the input of a check, every independent problem at once.

use crate::cli::Failure;
use crate::measure::MeasureError;
use crate::measure::fluid::UnknownGrade;
use crate::units::{Length, LengthUnit, UnitError};

/// Why a check gives no answer.
#[derive(Debug, thiserror::Error)]
#[non_exhaustive]
pub(super) enum CheckError {
    /// One of several readings cannot be read.
    #[error("{option}, value {index}: {why}")]
    Reading {
        option: &'static str,
        index: usize,
        why: UnitError,
    },
    /// A single value cannot be read.
    #[error("{option}: {why}")]
    Value {
        option: &'static str,
        why: UnitError,
    },
    /// Inches and millimetres in one list.
    #[error("{option}, value {index}: `{text}` is in {}, the values before it in {}", name(*unit), name(*others))]
    MixedUnits {
        option: &'static str,
        index: usize,
        text: String,
        unit: LengthUnit,
        others: LengthUnit,
    },
    /// The readings only make sense in the other unit.
    #[error("{option}: {value} is no {what}; taken as {} it would be {meant}", name(*unit))]
    OtherUnit {
        option: &'static str,
        what: &'static str,
        value: Length,
        unit: LengthUnit,
        meant: Length,
    },
    /// The readings only make sense with the decimal mark elsewhere.
    #[error("{option}: {value} is no {what} of this size; a slipped decimal mark for {meant}?")]
    SlippedDecimal {
        option: &'static str,
        what: &'static str,
        value: Length,
        meant: Length,
    },
    /// A value that is possible and unlikely.
    #[error("{option}: {question}")]
    Unlikely {
        option: &'static str,
        question: String,
    },
    /// A value that is usual in another unit, and names none.
    #[error("{option}: {question}")]
    UnitNeeded {
        option: &'static str,
        question: String,
    },
    /// Torque stages out of order.
    #[error(
        "--stages: {0}; each torque stage is more than the one before, up to 100 % of the target"
    )]
    Stages(String),
    /// A pedal that rises when it is pressed.
    #[error("{option}: {height} is higher than the free pedal, {free}")]
    HigherThanFree {
        option: &'static str,
        height: Length,
        free: Length,
    },
    /// Fewer sweeps than points show.
    #[error("--swept {swept} is less than the {points} between the points: one was mistyped")]
    SweptBelowPoints { swept: Length, points: Length },
    /// A word that does not have the form its option needs.
    #[error("{option}: `{text}` does not read as {form}")]
    Form {
        option: &'static str,
        text: String,
        form: &'static str,
    },
    /// The same key twice.
    #[error("{option}: `{key}` is given twice")]
    Twice { option: &'static str, key: String },
    /// A name nobody knows.
    #[error("there is no {what} `{name}`")]
    Unknown {
        what: &'static str,
        name: String,
        known: String,
    },
    /// Two options want the standard input.
    #[error("{option}: the standard input was already read for another option")]
    InputTwice { option: &'static str },
    /// The standard input cannot be read.
    #[error("{option}: cannot read the standard input: {why}")]
    Input {
        option: &'static str,
        why: std::io::Error,
    },
    /// More input than any gauge gives.
    #[error("{option}: more than {limit} bytes on the standard input")]
    InputTooLong { option: &'static str, limit: u64 },
    /// The model's own objections.
    #[error(transparent)]
    Model(#[from] MeasureError),
    /// A fluid nobody grades.
    #[error(transparent)]
    Grade(#[from] UnknownGrade),
    /// Several independent problems.
    #[error("{} problems:{}", .0.len(), lines(.0))]
    Several(Vec<CheckError>),
}

fn lines(problems: &[CheckError]) -> String {
    problems
        .iter()
        .map(|problem| format!("\n  - {problem}"))
        .collect()
}

impl CheckError {
    /// What to do about it.
    fn hint(&self) -> Option<String> {
        Some(match self {
            Self::Reading { .. } => {
                "values are separated by blanks, each like 22.013 or 22,013; a unit may follow: 0.8665in"
                    .to_owned()
            }
            Self::Value { why, .. } => return value_hint(why).map(str::to_owned),
            Self::MixedUnits { .. } => {
                "give all values of a list in one unit, or read them again".to_owned()
            }
            Self::OtherUnit { unit, .. } => {
                format!("add `--unit {}`, or `--confirm` if the values are right as they are", unit.symbol())
            }
            Self::HigherThanFree { .. } => "are --free and the other swapped? Both are heights above the floor".to_owned(),
            Self::SlippedDecimal { .. } | Self::SweptBelowPoints { .. } | Self::Unlikely { .. } => {
                "correct the value, or add `--confirm` if it is right as it is".to_owned()
            }
            Self::UnitNeeded { .. } => "write the unit: 310C or 310F".to_owned(),
            Self::Unknown { known, .. } => format!("there are: {known}"),
            Self::InputTwice { .. } => "only one option can be `-`".to_owned(),
            Self::Model(error) => return model_hint(error).map(str::to_owned),
            _ => return None,
        })
    }
}

/// What a single value looks like, by the example its quantity names.
const fn value_hint(why: &UnitError) -> Option<&'static str> {
    match why {
        UnitError::Empty => Some("leave the option out, or give its value"),
        _ => None,
    }
}

fn model_hint(error: &MeasureError) -> Option<&'static str> {
    Some(match error {
        MeasureError::TooFew { what, .. } if what.contains("point") => {
            "measure at more points: stud, half way, next stud, …"
        }
        MeasureError::TooFew { what, .. } if what.contains("repeat study") => {
            "a study needs several parts, a --part each, and every person reads each several times"
        }
        MeasureError::TooFew { .. } => "take more readings",
        MeasureError::LimitBeyondNew { .. } => "are --limit and --nominal swapped?",
        MeasureError::RepeatedAngle { .. } => {
            "leave the return reading's angle out, or add --closing"
        }
        MeasureError::GapTooWide { .. } => "measure in the gap too",
        MeasureError::MixedUnits { .. } => "read that one again",
        MeasureError::FastenerCount { .. } => "no wheel has another number",
        MeasureError::CountMismatch { .. } => "count the readings; is one missing or one too many?",
        _ => return None,
    })
}

impl CheckError {
    /// The error as the program reports it, with what to do about each problem, once.
    pub(super) fn into_failure(self) -> Failure {
        let mut hints: Vec<String> = match &self {
            Self::Several(all) => all.iter().filter_map(Self::hint).collect(),
            one => one.hint().into_iter().collect(),
        };
        let all = hints.clone();
        let mut index = 0;
        hints.retain(|hint| {
            index += 1;
            !all.iter().take(index - 1).any(|earlier| earlier == hint)
        });
        hints.into_iter().fold(Failure::from(self), Failure::hint)
    }
}

/// Gathers problems before answering.
#[derive(Debug, Default)]
pub(super) struct Problems(Vec<CheckError>);

impl Problems {
    /// Keeps a problem.
    pub(super) fn push(&mut self, problem: impl Into<CheckError>) {
        match problem.into() {
            CheckError::Model(MeasureError::Problems(many)) => {
                self.0.extend(many.into_iter().map(CheckError::Model));
            }
            CheckError::Several(many) => self.0.extend(many),
            one => self.0.push(one),
        }
    }

    /// Takes the value, or keeps its problem.
    pub(super) fn take<T, E: Into<CheckError>>(&mut self, result: Result<T, E>) -> Option<T> {
        match result {
            Ok(value) => Some(value),
            Err(error) => {
                self.push(error);
                None
            }
        }
    }

    /// Keeps the problem unless all is well.
    pub(super) fn check(&mut self, ok: bool, problem: impl FnOnce() -> CheckError) {
        if !ok {
            self.push(problem());
        }
    }

    /// Whether nothing was found.
    pub(super) const fn is_empty(&self) -> bool {
        self.0.is_empty()
    }

    /// The value, if there is one and nothing was found; else everything that was.
    pub(super) fn finish<T>(mut self, value: Option<T>) -> Result<T, CheckError> {
        match (value, self.0.len()) {
            (Some(value), 0) => Ok(value),
            (_, 1) => Err(self.0.remove(0)),
            _ => Err(CheckError::Several(self.0)),
        }
    }
}

/// The unit that is not `unit`.
pub(super) const fn other_unit(unit: LengthUnit) -> LengthUnit {
    match unit {
        LengthUnit::Millimetre => LengthUnit::Inch,
        LengthUnit::Inch => LengthUnit::Millimetre,
    }
}

const fn name(unit: LengthUnit) -> &'static str {
    match unit {
        LengthUnit::Millimetre => "millimetres",
        LengthUnit::Inch => "inches",
    }
}
