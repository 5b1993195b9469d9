//! The words of a judgement, and how they roll up from item to vehicle.

use std::fmt;

use chrono::NaiveDate;
use serde::{Deserialize, Serialize};

/// The judgement of one item.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Serialize, Deserialize, schemars::JsonSchema)]
pub enum ItemVerdict {
    /// Inside its limits, and shown to be.
    #[serde(rename = "PASS")]
    Pass,
    /// Near a limit, not proven, or an early sign.
    #[serde(rename = "ADVISE")]
    Advise,
    /// Beyond a limit, or a condition that must be repaired.
    #[serde(rename = "FAIL")]
    Fail,
    /// Scheduled, and not done or not valid.
    #[serde(rename = "NOT INSPECTED")]
    NotInspected,
    /// Measured, but nobody's figure is on file.
    #[serde(rename = "NO LIMIT")]
    NoLimit,
}

impl fmt::Display for ItemVerdict {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(match self {
            Self::Pass => "PASS",
            Self::Advise => "ADVISE",
            Self::Fail => "FAIL",
            Self::NotInspected => "NOT INSPECTED",
            Self::NoLimit => "NO LIMIT",
        })
    }
}

/// The judgement of a corner, an axle or the vehicle: the worst of its items wins.
#[derive(
    Clone,
    Copy,
    Debug,
    Default,
    PartialEq,
    Eq,
    PartialOrd,
    Ord,
    Hash,
    Serialize,
    Deserialize,
    schemars::JsonSchema,
)]
pub enum Verdict {
    /// Every item passed.
    #[default]
    #[serde(rename = "PASS")]
    Pass,
    /// The worst item is an advice.
    #[serde(rename = "ADVISE")]
    Advise,
    /// Something was not inspected, or has no limit.
    #[serde(rename = "INCOMPLETE")]
    Incomplete,
    /// Something failed.
    #[serde(rename = "FAIL")]
    Fail,
}

impl fmt::Display for Verdict {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(match self {
            Self::Pass => "PASS",
            Self::Advise => "ADVISE",
            Self::Incomplete => "INCOMPLETE",
            Self::Fail => "FAIL",
        })
    }
}

impl From<ItemVerdict> for Verdict {
    fn from(item: ItemVerdict) -> Self {
        match item {
            ItemVerdict::Pass => Self::Pass,
            ItemVerdict::Advise => Self::Advise,
            ItemVerdict::Fail => Self::Fail,
            ItemVerdict::NotInspected | ItemVerdict::NoLimit => Self::Incomplete,
        }
    }
}

/// The worst of many judgements; `INCOMPLETE` for none at all, since nothing inspected is no pass.
///
/// # Examples
/// ```
/// use brakecorner::judge::{ItemVerdict, Verdict, worst};
/// assert_eq!(worst([ItemVerdict::Advise, ItemVerdict::NotInspected]), Verdict::Incomplete);
/// assert_eq!(worst([ItemVerdict::Fail, ItemVerdict::NoLimit]), Verdict::Fail);
/// assert_eq!(worst::<ItemVerdict>([]), Verdict::Incomplete);
/// ```
pub fn worst<V: Into<Verdict>>(verdicts: impl IntoIterator<Item = V>) -> Verdict {
    verdicts
        .into_iter()
        .map(Into::into)
        .max()
        .unwrap_or(Verdict::Incomplete)
}

/// How soon something must be done about an ADVISE or a FAIL.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Urgency {
    /// Not to be driven.
    Stop,
    /// Before the vehicle is handed over.
    BeforeHandover,
    /// By a distance on the odometer or a date, the earlier.
    By {
        /// Odometer in whole kilometres.
        #[serde(skip_serializing_if = "Option::is_none")]
        km: Option<i64>,
        /// Date.
        #[serde(skip_serializing_if = "Option::is_none")]
        date: Option<NaiveDate>,
    },
    /// Keep an eye on it.
    Watch,
}

impl Urgency {
    /// The urgency's word.
    #[must_use]
    pub const fn word(&self) -> &'static str {
        match self {
            Self::Stop => "stop",
            Self::BeforeHandover => "before_handover",
            Self::By { .. } => "by",
            Self::Watch => "watch",
        }
    }
}

impl fmt::Display for Urgency {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Stop => f.write_str("do not drive"),
            Self::BeforeHandover => f.write_str("before handover"),
            Self::By {
                km: Some(km),
                date: None,
            } => write!(f, "by {km} km"),
            Self::By {
                km: None,
                date: Some(date),
            } => write!(f, "by {date}"),
            Self::By {
                km: Some(km),
                date: Some(date),
            } => write!(f, "by {km} km or {date}"),
            Self::By {
                km: None,
                date: None,
            }
            | Self::Watch => f.write_str("watch"),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn any_verdict() -> impl Strategy<Value = ItemVerdict> {
        prop_oneof![
            Just(ItemVerdict::Pass),
            Just(ItemVerdict::Advise),
            Just(ItemVerdict::Fail),
            Just(ItemVerdict::NotInspected),
            Just(ItemVerdict::NoLimit),
        ]
    }

    proptest! {
        #[test]
        fn the_roll_up_does_not_depend_on_order_and_never_improves_with_more_items(
            mut items in proptest::collection::vec(any_verdict(), 1..12), extra in any_verdict()
        ) {
            let forward = worst(items.clone());
            items.reverse();
            prop_assert_eq!(worst(items.clone()), forward);
            items.push(extra);
            prop_assert!(worst(items) >= forward);
        }
    }
}
