//! Where a job stands, and what may be done to it: the state machine of a job, in one place.
//!
//! ```text
//! Received → Inspecting → Found → Deciding → Working → Refitting → Ready → HandedOver → Closed
//!                           └──────── nothing to decide ────┘
//! ```
//! A state is never stored: it follows from what happened. A mind changed, a part fitted or an
//! entry struck may lead back.

use std::fmt;

use serde::{Deserialize, Serialize};

use super::decision::{answers, authorised};
use super::obstacle::{Obstacle, signing_obstacles};
use super::propose::propose;
use super::retorque;
use crate::job::{Event, GateItem, Item, Job, Kind, Phase, Place};
use crate::judge::{Case, ItemVerdict, Judgement};

/// Where a job stands.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum State {
    /// Opened; nothing was looked at yet.
    Received,
    /// Some of what is scheduled has no entry yet.
    Inspecting,
    /// Everything scheduled is answered as found, and no decision is open.
    Found,
    /// The customer has not answered about something that fails.
    Deciding,
    /// Something agreed is not done, or not measured again.
    Working,
    /// Torque or the before-it-moves list is open.
    Refitting,
    /// Nothing stands in the way of the final signature.
    Ready,
    /// Signed as left; the re-torque is still to come.
    HandedOver,
    /// Signed, and its re-torque done.
    Closed,
}

impl State {
    /// The state in words.
    #[must_use]
    pub const fn words(self) -> &'static str {
        match self {
            Self::Received => "received, nothing inspected yet",
            Self::Inspecting => "being inspected",
            Self::Found => "inspected as found",
            Self::Deciding => "waiting for the customer's decision",
            Self::Working => "being worked on",
            Self::Refitting => "being refitted",
            Self::Ready => "ready to be signed",
            Self::HandedOver => "signed and handed over",
            Self::Closed => "closed",
        }
    }
}

impl fmt::Display for State {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.words())
    }
}

/// What may be done to a job.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Action {
    /// Build or change the quote.
    Quote,
    /// Talk with the customer.
    Contact,
    /// Put the wheels back on; never refused for a missing decision, since a wheel must not stay
    /// hand-tight because nobody answers the telephone.
    Refit,
    /// Sign what was found.
    SignAsFound,
    /// Sign the state it leaves in.
    Sign,
    /// Log the re-torque.
    Retorque,
}

/// Where a job stands.
#[must_use]
pub fn state(case: &Case<'_>, judgement: &Judgement) -> State {
    let job = case.job;
    if signed_as_left(job) {
        return if retorque::open(case).is_some() {
            State::HandedOver
        } else {
            State::Closed
        };
    }
    if job.corners().is_empty() {
        return State::Received;
    }
    let obstacles = signing_obstacles(case, judgement);
    if obstacles.is_empty() {
        return State::Ready;
    }
    let torque_begun = job.wheels_torqued.is_some();
    if unanswered(case, judgement) && !torque_begun {
        return State::Inspecting;
    }
    let undecided = |o: &Obstacle| {
        matches!(
            o,
            Obstacle::FailWithoutOutcome { .. }
                | Obstacle::CautionNotRead { .. }
                | Obstacle::DeclinedButDone { .. }
                | Obstacle::NotAuthorised { .. }
        )
    };
    if obstacles.iter().any(undecided) {
        return State::Deciding;
    }
    if agreed_open(case, judgement) {
        return State::Working;
    }
    if torque_begun || job.gates.values().any(|(done, _)| *done) || !answers(job).is_empty() {
        return State::Refitting;
    }
    State::Found
}

/// Whether something scheduled has no entry at all.
fn unanswered(case: &Case<'_>, judgement: &Judgement) -> bool {
    judgement
        .standing(Phase::AsFound)
        .filter(|f| matches!(f.item.kind(), Kind::Look | Kind::Measure))
        .any(|f| {
            f.verdict == ItemVerdict::NotInspected
                && !case.job.touched(f.place, f.item, Phase::AsFound)
        })
}

/// Whether an agreed line still has something wrong or unmeasured behind it.
fn agreed_open(case: &Case<'_>, judgement: &Judgement) -> bool {
    propose(case, judgement)
        .iter()
        .filter(|p| authorised(case.job, &p.line.to_string()))
        .flat_map(|p| &p.because)
        .any(|b| bad_as_left(judgement, b.place, b.item))
}

fn bad_as_left(judgement: &Judgement, place: Place, item: Item) -> bool {
    judgement.standing(Phase::AsLeft).any(|f| {
        (f.place, f.item) == (place, item)
            && matches!(f.verdict, ItemVerdict::Fail | ItemVerdict::NotInspected)
    })
}

/// Whether the last signature was made over the refit: after the last torque, with the
/// before-it-moves list closed.
#[must_use]
pub fn signed_as_left(job: &Job) -> bool {
    let signed = job
        .log()
        .filter(|(_, event, struck)| !struck && matches!(event, Event::Signed { .. }))
        .map(|(meta, ..)| meta.seq)
        .max();
    let moves = GateItem::ALL
        .iter()
        .all(|gate| job.gates.get(gate).is_some_and(|(done, _)| *done));
    match (signed, &job.wheels_torqued) {
        (Some(signed), Some(torqued)) => moves && signed > torqued.seq,
        _ => false,
    }
}

/// What must be decided or done before the wheels go back on: everything the vehicle must not be driven
/// with and that nobody has decided about. Once it is said how the car leaves, it may be refitted.
#[must_use]
pub fn before_refit(case: &Case<'_>, judgement: &Judgement) -> Vec<Obstacle> {
    let stops = |place: Place, item: Item| {
        judgement
            .stops()
            .any(|finding| (finding.place, finding.item) == (place, item) && !finding.cure_pending)
    };
    signing_obstacles(case, judgement)
        .into_iter()
        .filter(|obstacle| match obstacle {
            Obstacle::FailWithoutOutcome { place, item, .. }
            | Obstacle::CautionNotRead { place, item, .. }
            | Obstacle::AgreedNotDone { place, item, .. } => {
                // The pedal is pumped in the refit itself.
                *item != Item::PedalFirm && stops(*place, *item)
            }
            _ => false,
        })
        .collect()
}

/// Whether an action is possible now; if not, what is missing.
///
/// # Errors
/// What is missing, one line each.
pub fn possible(case: &Case<'_>, judgement: &Judgement, action: Action) -> Result<(), Vec<String>> {
    let inspected = !case.job.corners().is_empty();
    let handed_over = signed_as_left(case.job);
    let missing = match action {
        Action::Contact => Vec::new(),
        Action::Quote | Action::SignAsFound if !inspected => {
            vec!["nothing was inspected yet".to_owned()]
        }
        Action::Quote | Action::SignAsFound => Vec::new(),
        Action::Refit if handed_over => {
            vec!["it is signed as left; open a new job for new work".to_owned()]
        }
        Action::Refit if !inspected => vec!["nothing was inspected yet".to_owned()],
        Action::Refit => before_refit(case, judgement)
            .iter()
            .map(|obstacle| format!("{obstacle}: {}", obstacle.closed_by(&judgement.job)))
            .collect(),
        Action::Sign => signing_obstacles(case, judgement)
            .iter()
            .map(ToString::to_string)
            .collect(),
        Action::Retorque => retorque::not_ready(case),
    };
    if missing.is_empty() {
        Ok(())
    } else {
        Err(missing)
    }
}
