//! May it be driven? The one answer, made here and printed everywhere.

use std::fmt;

use chrono::NaiveDate;
use serde::{Deserialize, Serialize};

use crate::job::{Item, Phase, Place};
use crate::judge::{Case, Finding, ItemVerdict, Judgement, Urgency, may_stop};

/// Whether the vehicle may be driven, the gravest first.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum DriveAnswer {
    /// Something stands that it must not be driven with.
    No,
    /// Something is to be put right or done before it is handed over.
    NotYet,
    /// Something whose defect would be a stop was not seen, or has no limit.
    NotKnown,
    /// Until a distance or a date, the earlier.
    Until,
    /// Yes.
    Yes,
}

/// Why.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
#[serde(tag = "code", rename_all = "snake_case")]
pub enum Reason {
    /// A finding it must not be driven with.
    Stop {
        /// Where.
        place: Place,
        /// What.
        item: Item,
    },
    /// A finding to put right before it is handed over.
    BeforeHandover {
        /// Where.
        place: Place,
        /// What.
        item: Item,
    },
    /// A step of the refit that is not confirmed: a wheel's or a calliper's torque, the pedal.
    RefitOpen {
        /// Where.
        place: Place,
        /// What.
        item: Item,
    },
    /// Not seen, or without a limit.
    NotSeen {
        /// Where.
        place: Place,
        /// What.
        item: Item,
    },
    /// A part that may reach its limit.
    Planned {
        /// Where.
        place: Place,
        /// What.
        item: Item,
        /// Odometer in whole km, the lower bound.
        #[serde(skip_serializing_if = "Option::is_none")]
        km: Option<i64>,
        /// The day.
        #[serde(skip_serializing_if = "Option::is_none")]
        date: Option<NaiveDate>,
    },
    /// The wheels are still to go back on.
    RefitToCome,
}

/// The answer with its reasons.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Drive {
    /// The answer.
    pub answer: DriveAnswer,
    /// Until this odometer in whole km, for [`DriveAnswer::Until`].
    pub until_km: Option<i64>,
    /// Until this day, for [`DriveAnswer::Until`].
    pub until_date: Option<NaiveDate>,
    /// Why.
    pub because: Vec<Reason>,
}

/// Whether the vehicle may be driven in a state.
///
/// As left the refit counts: without every wheel torqued and the pedal firm it is *not yet*. As found
/// the findings alone answer, and the refit is named as a step that is still to come.
///
/// # Examples
/// ```
/// # fn demo(case: &brakecorner::judge::Case<'_>) {
/// use brakecorner::job::Phase;
/// use brakecorner::office::{DriveAnswer, drive};
/// let judgement = brakecorner::judge::judge(case);
/// let drive = drive(case, &judgement, Phase::AsLeft);
/// if drive.answer <= DriveAnswer::NotYet {
///     println!("{drive}");
/// }
/// # }
/// ```
#[must_use]
pub fn drive(case: &Case<'_>, judgement: &Judgement, phase: Phase) -> Drive {
    let standing: Vec<&Finding> = judgement.standing(phase).collect();
    let of = |wanted: &dyn Fn(&Finding) -> bool, reason: fn(Place, Item) -> Reason| {
        let found = standing.iter().filter(|finding| wanted(finding));
        found
            .map(|finding| reason(finding.place, finding.item))
            .collect::<Vec<_>>()
    };
    let is_refit = |finding: &Finding| {
        matches!(
            finding.item,
            Item::TorqueWheel | Item::TorqueCalliper | Item::PedalFirm
        )
    };
    let open = |finding: &Finding| {
        matches!(
            finding.verdict,
            ItemVerdict::NotInspected | ItemVerdict::NoLimit
        )
    };
    let stops = of(&|f| f.urgency == Some(Urgency::Stop), |place, item| {
        Reason::Stop { place, item }
    });
    let mut before = of(
        &|f| {
            f.urgency == Some(Urgency::BeforeHandover)
                || f.verdict == ItemVerdict::Fail && f.urgency != Some(Urgency::Stop)
        },
        |place, item| Reason::BeforeHandover { place, item },
    );
    before.extend(of(&|f| is_refit(f) && open(f), |place, item| {
        Reason::RefitOpen { place, item }
    }));
    let unseen = of(
        &|f| !is_refit(f) && open(f) && may_stop(case, f.place, f.item),
        |place, item| Reason::NotSeen { place, item },
    );
    let planned: Vec<Reason> = standing
        .iter()
        .filter_map(|finding| match finding.urgency {
            Some(Urgency::By { km, date }) if km.is_some() || date.is_some() => {
                Some(Reason::Planned {
                    place: finding.place,
                    item: finding.item,
                    km,
                    date,
                })
            }
            _ => None,
        })
        .collect();
    let (mut until_km, mut until_date) = (None, None);
    let (answer, mut because) = if !stops.is_empty() {
        (DriveAnswer::No, stops)
    } else if !before.is_empty() {
        (DriveAnswer::NotYet, before)
    } else if !unseen.is_empty() {
        (DriveAnswer::NotKnown, unseen)
    } else if !planned.is_empty() {
        let kms = planned.iter().filter_map(|reason| match reason {
            Reason::Planned { km, .. } => *km,
            _ => None,
        });
        until_km = kms.min();
        let dates = planned.iter().filter_map(|reason| match reason {
            Reason::Planned { date, .. } => *date,
            _ => None,
        });
        until_date = dates.min();
        (DriveAnswer::Until, planned)
    } else {
        (DriveAnswer::Yes, Vec::new())
    };
    if phase == Phase::AsFound {
        because.push(Reason::RefitToCome);
    }
    Drive {
        answer,
        until_km,
        until_date,
        because,
    }
}

impl fmt::Display for Drive {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("may it be driven? ")?;
        match self.answer {
            DriveAnswer::No => f.write_str("no")?,
            DriveAnswer::NotYet => f.write_str("not yet")?,
            DriveAnswer::NotKnown => f.write_str("not known")?,
            DriveAnswer::Until => {
                f.write_str("until ")?;
                match (self.until_km, self.until_date) {
                    (Some(km), Some(date)) => write!(f, "{km} km or {date}")?,
                    (Some(km), None) => write!(f, "{km} km")?,
                    (None, Some(date)) => write!(f, "{date}")?,
                    (None, None) => f.write_str("a change is planned")?,
                }
            }
            DriveAnswer::Yes => f.write_str("yes")?,
        }
        for (at, reason) in self.because.iter().enumerate() {
            f.write_str(if at == 0 { ": " } else { "; " })?;
            match reason {
                Reason::Stop { place, item } => write!(f, "{place} {item} stops it")?,
                Reason::BeforeHandover { place, item } => {
                    write!(f, "{place} {item} is to be put right")?;
                }
                Reason::RefitOpen { place, item } => write!(f, "{place} {item} is not confirmed")?,
                Reason::NotSeen { place, item } => write!(f, "{place} {item} was not seen")?,
                Reason::Planned { place, item, .. } => {
                    write!(f, "{place} {item} may reach its limit")?;
                }
                Reason::RefitToCome => f.write_str("the wheels are still to go back on")?,
            }
        }
        Ok(())
    }
}
