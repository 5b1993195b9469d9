//! A value together with where it was found and who vouches for it.

use serde::{Deserialize, Serialize};

use super::problem::Place;

/// Where a value came from and who entered it.
#[derive(Clone, Debug, Default, PartialEq, Eq, Hash, Serialize, Deserialize)]
pub struct Origin {
    /// The document the value was read in.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub source: Option<String>,
    /// The document's date or the day it was read, as `YYYY-MM-DD`.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub date: Option<String>,
    /// Who entered the value.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub entered_by: Option<String>,
    /// Who compared it with the source a second time.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub checked_by: Option<String>,
}

impl Origin {
    /// This origin with its gaps filled from `outer`.
    #[must_use]
    pub fn or(self, outer: &Self) -> Self {
        // A value with its own source does not inherit the date or the people of another one.
        if self.source.is_some() {
            return self;
        }
        Self {
            source: outer.source.clone(),
            date: self.date.or_else(|| outer.date.clone()),
            entered_by: self.entered_by.or_else(|| outer.entered_by.clone()),
            checked_by: self.checked_by.or_else(|| outer.checked_by.clone()),
        }
    }
}

/// A value with its origin.
///
/// Two are equal when value and origin are; the place in the text they were read at is not part of
/// the comparison and is not stored with a record.
///
/// # Examples
///
/// ```
/// use brakecorner::spec::Sourced;
/// use brakecorner::units::Length;
///
/// let limit = Sourced::new(Length::from_nm(23_000_000)).from_source("stamped on the disc");
/// assert_eq!(serde_json::to_string(&limit)?, r#"{"value":23000000,"source":"stamped on the disc"}"#);
/// # Ok::<(), serde_json::Error>(())
/// ```
#[derive(Clone, Debug, Default, Serialize, Deserialize)]
pub struct Sourced<T> {
    /// The value.
    pub value: T,
    /// Where it came from.
    #[serde(flatten)]
    pub origin: Origin,
    /// Where it stands in the file it was parsed from.
    #[serde(skip)]
    pub place: Place,
}

impl<T> Sourced<T> {
    /// Makes a value of unknown origin.
    #[must_use]
    pub fn new(value: T) -> Self {
        Self {
            value,
            origin: Origin::default(),
            place: Place::default(),
        }
    }

    /// The same value, found in `source`.
    #[must_use]
    pub fn from_source(mut self, source: impl Into<String>) -> Self {
        self.origin.source = Some(source.into());
        self
    }

    /// The document the value was read in, if it is known.
    #[must_use]
    pub fn source(&self) -> Option<&str> {
        self.origin.source.as_deref()
    }

    /// The value changed by `f`, of the same origin.
    #[must_use]
    pub fn map<U>(self, f: impl FnOnce(T) -> U) -> Sourced<U> {
        Sourced {
            value: f(self.value),
            origin: self.origin,
            place: self.place,
        }
    }
}

impl<T: PartialEq> PartialEq for Sourced<T> {
    fn eq(&self, other: &Self) -> bool {
        self.value == other.value && self.origin == other.origin
    }
}

impl<T: Eq> Eq for Sourced<T> {}
