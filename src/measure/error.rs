//! What can be wrong with the input of a measurement model.

use crate::units::{Angle, Length};

/// Why a model gives no answer.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum MeasureError {
    /// Too few readings for the model.
    #[error("{what}: {found} given, at least {needed} needed")]
    TooFew {
        /// What there is too little of.
        what: &'static str,
        /// How many were given.
        found: usize,
        /// How many the model needs.
        needed: usize,
    },
    /// Two lists that belong together differ in length.
    #[error("{what}: {found} given, expected {expected}")]
    CountMismatch {
        /// What was counted.
        what: &'static str,
        /// How many were given.
        found: usize,
        /// How many there should be.
        expected: usize,
    },
    /// A number that is no number, or infinite, or beyond what the quantity can hold.
    #[error("{what} is {value}, expected a finite number")]
    NotFinite {
        /// The quantity.
        what: &'static str,
        /// Its value.
        value: f64,
    },
    /// A length that cannot be negative is.
    #[error("{what} is {value}, expected 0 mm or more")]
    Negative {
        /// The quantity.
        what: String,
        /// Its value.
        value: Length,
    },
    /// A length that must be above zero is not.
    #[error("{what} is {value}, expected more than 0 mm")]
    NotPositive {
        /// The quantity.
        what: String,
        /// Its value.
        value: Length,
    },
    /// A plain number outside its range.
    #[error("{what} is {value}, expected {low} to {high} {unit}")]
    OutOfRange {
        /// The quantity.
        what: &'static str,
        /// Its value.
        value: f64,
        /// The smallest accepted value.
        low: f64,
        /// The largest accepted value.
        high: f64,
        /// The unit of all three.
        unit: &'static str,
    },
    /// The limit lies on the wrong side of the new size.
    #[error("the {limit_name} {limit} is not {side} the new size {new}")]
    LimitBeyondNew {
        /// Which limit.
        limit_name: &'static str,
        /// The limit.
        limit: Length,
        /// `below` or `above`.
        side: &'static str,
        /// The new size.
        new: Length,
    },
    /// Two readings of one ring claim the same angle.
    #[error("angle {angle} is given twice, for points {first} and {second}")]
    RepeatedAngle {
        /// The angle, between 0° and 360°.
        angle: Angle,
        /// The first point, counted from 1.
        first: usize,
        /// The second point, counted from 1.
        second: usize,
    },
    /// A gap in the ring is so wide that a tilt may hide in it.
    #[error("no reading between {from} and {to}: a gap of {gap}, expected less than 160°")]
    GapTooWide {
        /// Where the gap begins.
        from: Angle,
        /// Where it ends.
        to: Angle,
        /// Its width.
        gap: Angle,
    },
    /// A reading is so far from the others of its ring that it was read in another unit, or its
    /// decimal mark slipped.
    #[error(
        "{what} {index} reads {value} where the others are near {typical}: another unit or a slipped decimal?"
    )]
    MixedUnits {
        /// What the reading is of.
        what: &'static str,
        /// Which reading, counted from 1.
        index: usize,
        /// The reading.
        value: Length,
        /// The median of the ring.
        typical: Length,
    },
    /// Fasteners or holes outside what any wheel has.
    #[error("{found} {what}, expected 3 to 10")]
    FastenerCount {
        /// `fasteners` or `holes`.
        what: &'static str,
        /// How many were given.
        found: u8,
    },
    /// Several independent problems of one input.
    #[error("{}", join(.0))]
    Problems(
        /// Each of them.
        Vec<MeasureError>,
    ),
}

fn join(problems: &[MeasureError]) -> String {
    problems
        .iter()
        .map(ToString::to_string)
        .collect::<Vec<_>>()
        .join("; ")
}

/// Gathers every independent problem of one input before answering.
#[derive(Debug, Default)]
pub(crate) struct Problems(Vec<MeasureError>);

impl Problems {
    pub(crate) fn push(&mut self, problem: MeasureError) {
        self.0.push(problem);
    }

    pub(crate) fn check(&mut self, ok: bool, problem: impl FnOnce() -> MeasureError) {
        if !ok {
            self.0.push(problem());
        }
    }

    /// Takes the value of a sub-check, or keeps its problem.
    pub(crate) fn take<T>(&mut self, result: Result<T, MeasureError>) -> Option<T> {
        match result {
            Ok(value) => Some(value),
            Err(MeasureError::Problems(many)) => {
                self.0.extend(many);
                None
            }
            Err(one) => {
                self.0.push(one);
                None
            }
        }
    }

    /// `Ok` when nothing was found, the one problem itself, or all of them.
    pub(crate) fn finish(mut self) -> Result<(), MeasureError> {
        match self.0.len() {
            0 => Ok(()),
            1 => Err(self.0.remove(0)),
            _ => Err(MeasureError::Problems(self.0)),
        }
    }
}
