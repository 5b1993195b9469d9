//! What the desk writes: quote lines, talks with the customer, and what follows the refit.

use chrono::{DateTime, FixedOffset, NaiveDate};
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use super::{Corner, Entered, Money, Proceeding};
use crate::units::Distance;

/// A line of a quote as it was written down or offered.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
pub struct QuoteLine {
    /// What and where, as in `rear.discs_pads`; free words get an id of their own.
    pub line: String,
    /// The line in words.
    pub words: String,
    /// Its price, tax as the price list says; none while nobody has named one.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub price: Option<Money>,
}

/// A change of the proposed quote by hand.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(tag = "change", rename_all = "snake_case")]
pub enum QuoteEdit {
    /// A line was added.
    Add(QuoteLine),
    /// A line was taken off.
    Drop {
        /// The line.
        line: String,
    },
    /// A line got another price.
    Set {
        /// The line.
        line: String,
        /// The price.
        price: Money,
    },
}

/// How the customer was reached.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum Means {
    /// By telephone.
    Telephone,
    /// Face to face.
    InPerson,
    /// By a written message.
    Message,
    /// By e-mail.
    Email,
    /// Not asked: inside a limit that was agreed before.
    PreAuthorised,
}

impl Means {
    /// Every means, in the order they are offered.
    pub const ALL: [Self; 5] = [
        Self::Telephone,
        Self::InPerson,
        Self::Message,
        Self::Email,
        Self::PreAuthorised,
    ];

    /// The means in words.
    #[must_use]
    pub const fn words(self) -> &'static str {
        match self {
            Self::Telephone => "by telephone",
            Self::InPerson => "in person",
            Self::Message => "by message",
            Self::Email => "by e-mail",
            Self::PreAuthorised => "inside the limit agreed before",
        }
    }
}

/// What the customer said to one line.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum Outcome {
    /// Do it.
    Yes,
    /// Leave it.
    No,
    /// Ask again later.
    Later,
}

impl Outcome {
    /// The outcome in a word.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::Yes => "yes",
            Self::No => "no",
            Self::Later => "later",
        }
    }
}

/// The answer to one line that was offered.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
pub struct LineAnswer {
    /// The line as it was offered, with its price.
    #[serde(flatten)]
    pub offered: QuoteLine,
    /// The answer.
    pub outcome: Outcome,
    /// When to ask again, for `later`.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub until: Option<NaiveDate>,
    /// Why, in the customer's words, if given.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub reason: String,
    /// The caution about leaving it was read out.
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    pub caution_read: bool,
}

/// One talk with the customer, or the attempt at one. When it was is the entry's own time.
///
/// Names, numbers and addresses do not belong here: the journal is signed and kept.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
pub struct Contact {
    /// Who was spoken to, by part and not by name: `the customer`, `the fleet's manager`.
    pub with: String,
    /// By what means.
    pub means: Means,
    /// Whether anybody was reached.
    pub reached: bool,
    /// What was said, in plain words.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub words: String,
    /// The answers, line by line.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub answers: Vec<LineAnswer>,
    /// When to call again.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub call_back: Option<DateTime<FixedOffset>>,
    /// "Up to this much more without calling": a limit that lines may use up.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub ceiling: Option<Money>,
}

/// How far a fastener turned when its torque was checked.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
pub struct Turned {
    /// The wheel.
    pub corner: Corner,
    /// The fastener, from 1.
    pub fastener: u8,
    /// How far it turned before the wrench clicked, in degrees.
    pub degrees: u16,
}

/// The wheels' torque was checked again after some distance.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
pub struct RetorqueCheck {
    /// Odometer at the check.
    pub odometer: Distance,
    /// The wrench.
    pub instrument: String,
    /// Every fastener that was checked.
    pub turned: Vec<Turned>,
    /// What made a fastener turn, when something was found: paint, rust, a wrong seat.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub cause: String,
}

/// A point of the refit that is done or not done with a reason.
#[derive(
    Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize, JsonSchema,
)]
#[serde(rename_all = "snake_case")]
pub enum RefitPoint {
    /// Hub face, wheel face, seats and threads clean and prepared; fasteners started by hand.
    Prepared,
    /// A second person checked the final torque.
    SecondPerson,
    /// The vehicle was driven on the road.
    RoadTest,
    /// New friction parts were bedded in.
    BeddingIn,
}

impl RefitPoint {
    /// The point as a question.
    #[must_use]
    pub const fn question(self) -> &'static str {
        match self {
            Self::Prepared => {
                "hub face, wheel face and seats clean, threads sound, every fastener started by hand"
            }
            Self::SecondPerson => "a second person has checked the final torque",
            Self::RoadTest => "road test driven",
            Self::BeddingIn => "new pads or discs bedded in as their maker says",
        }
    }
}

/// A value a torque wrench sent or showed for a final click.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct WrenchValue {
    /// Where.
    pub corner: Corner,
    /// Which step.
    pub proceeding: Proceeding,
    /// The fastener.
    pub fastener: u8,
    /// The wrench.
    pub instrument: String,
    /// The value, in mN·m.
    #[serde(flatten)]
    pub entered: Entered,
    /// Whether it lies inside the tolerance.
    pub accepted: bool,
}
