//! What happened at the vehicle: events, and their fold into a job.
//!
//! Knows places, items, readings and who said them. Must not know limits or verdicts: those are
//! functions of a [`Job`] and live in `judge`. Reads no clock and no file.

mod deed;
mod desk;
mod entered;
mod event;
mod fold;
mod instrument;
mod item;
pub mod journal;
mod money;
mod place;
mod slot;
mod symptoms;
mod work;

pub use deed::{Cure, Deed, Effect, Fault, Lift};
pub use desk::{
    Contact, LineAnswer, Means, Outcome, QuoteEdit, QuoteLine, RefitPoint, RetorqueCheck, Turned,
    WrenchValue,
};
pub use entered::Quantity;
pub use event::{
    Answered, Complaint, Depth, Entered, Event, GateItem, Observation, Opening, Override, Part,
    PersonalField, Phase, Proceeding, ReadingEvent, Since, Source, Symptom, TorqueTask,
    ZeroCheckEvent,
};
pub use fold::{
    Done, Fitted, Job, Meta, OverrideAsked, Reading, RunoutTake, Seen, StruckSet, Take,
    WheelClicks, ZeroCheck,
};
pub use instrument::{
    Check, FigureError, Instrument, InstrumentKind, Lapse, NoMatch, Occasion, Pattern,
    PatternError, Register, RegisterError, Sent, StudyEntry,
};
pub use item::{Item, Kind, Scope};
pub use money::{Money, MoneyError};
pub use place::{Axle, Corner, Place, Side, SideNames};
pub use slot::Slot;
pub use symptoms::{Named, SymptomWords};
pub use work::{LineId, Work, holds};

/// Why a text is not a name this program knows.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[non_exhaustive]
pub enum NameError {
    /// No such corner.
    #[error("`{0}` is not a corner; expected FL, FR, RL, RR (a third axle: 3L, 3R)")]
    Corner(String),
    /// No such item.
    #[error("`{text}` is not an item{}", suggestion.as_ref().map(|s| format!("; did you mean `{s}`?")).unwrap_or_default())]
    Item {
        /// What was given.
        text: String,
        /// The nearest item id, when one is near.
        suggestion: Option<&'static str>,
    },
    /// No such axle.
    #[error("`{0}` is not an axle; expected front, rear, 3, 4 …")]
    Axle(String),
    /// No such name of some other kind.
    #[error("`{text}` is not {what}; expected {expected}")]
    Other {
        /// What was given.
        text: String,
        /// What it should have been.
        what: &'static str,
        /// The accepted words.
        expected: &'static str,
    },
}
