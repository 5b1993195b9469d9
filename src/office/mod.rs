//! What the desk asks of findings: quote, authorisation, what stands in the way of a signature,
//! re-torque, what is due, and a vehicle's history.
//!
//! Pure: everything here is a function of judged jobs, a price list and a day. Must not read files,
//! a clock or the environment; must not change a verdict.

pub mod calendar;
mod decision;
mod drive;
pub mod due;
pub mod history;
mod obstacle;
mod outlast;
mod price;
mod propose;
mod quote;
pub mod retorque;
mod state;
mod summary;
pub mod talk;
mod verdicts;

pub use crate::job::{LineId, Work, holds};
pub use decision::{
    Answer, Ceiling, Declined, Reopened, answers, authorised, ceiling, declined, line_of_words,
    original_lines, read_line, reopened,
};
pub use drive::{Drive, DriveAnswer, Reason, drive};
pub use obstacle::{Obstacle, signing_obstacles};
pub use outlast::whole_km;
pub use price::{Price, PriceError, PriceList, Total};
pub use propose::{Because, Leaving, Proposed, propose};
pub use quote::{LineState, Quote, QuoteStanding, QuotedLine, quote};
pub use state::{Action, State, before_refit, possible, signed_as_left, state};
pub use summary::{Ring, Summary, Thickness, summary};
pub use verdicts::Verdicts;

use crate::judge::Case;
use crate::units::Distance;

/// Distance and months to the next service: the sheet's, else the policy's.
#[must_use]
pub fn service(case: &Case<'_>) -> (Distance, u32) {
    let sheet = &case.sheet.service;
    (
        sheet
            .distance
            .as_ref()
            .map_or(case.policy.service_distance.value, |d| d.value),
        sheet.months.unwrap_or(case.policy.service_months.value),
    )
}
