//! The states of an item, for those who enter and show it.

use super::case::Case;
use super::state::{Cured, LastState, States};
use crate::job::{Done, Effect, Fault, Item, Observation, Phase, Place, Seen, Take};

/// What ended a state of an item, in order; empty while it is as it was found.
#[must_use]
pub fn ended_by<'a>(case: &Case<'a>, place: Place, item: Item) -> Vec<&'a Done> {
    let states = States::of(case, place, item);
    states.ends.into_iter().map(|(done, _)| done).collect()
}

/// Why what was found of an item says nothing of it as left: what made it void, and nothing was
/// entered since.
#[must_use]
pub fn void_since<'a>(case: &Case<'a>, place: Place, item: Item) -> Option<&'a Done> {
    let states = States::of(case, place, item);
    if !matches!(states.last(), LastState::Void) {
        return None;
    }
    let void = |(_, since): &&(&Done, Effect)| *since == Effect::Void;
    states.ends.iter().rfind(void).map(|(done, _)| *done)
}

/// Whether work that may lift what was found wrong with an item was done, and nothing was entered
/// since.
#[must_use]
pub fn worked_since(case: &Case<'_>, place: Place, item: Item) -> bool {
    let states = States::of(case, place, item);
    if states.ends.is_empty() || !matches!(states.last(), LastState::AsFound) {
        return false;
    }
    super::judged_as_found(case, place, item).is_some_and(|finding| {
        matches!(
            finding.verdict,
            super::ItemVerdict::Fail | super::ItemVerdict::Advise
        )
    })
}

/// The set of readings at hand: the first as found; as left the last one since a state ended.
#[must_use]
pub fn set_at_hand<'a>(
    case: &Case<'a>,
    place: Place,
    item: Item,
    phase: Phase,
) -> Option<&'a Take> {
    let take = case.job.judged_take(place, item, phase)?;
    let since = last_end(case, place, item, phase);
    (take.begun() > since).then_some(take)
}

/// The looks of a phase, in order; as left those since a state ended.
#[must_use]
pub fn looks_at_hand<'a>(case: &Case<'a>, place: Place, item: Item, phase: Phase) -> Vec<&'a Seen> {
    let since = last_end(case, place, item, phase);
    let looks = case.job.looks(place, item).into_iter();
    looks
        .filter(|(of, seen)| *of == phase && seen.meta.seq > since)
        .map(|(_, seen)| seen)
        .collect()
}

/// The last look of a phase; as left one since a state ended.
#[must_use]
pub fn look_at_hand<'a>(
    case: &Case<'a>,
    place: Place,
    item: Item,
    phase: Phase,
) -> Option<&'a Seen> {
    looks_at_hand(case, place, item, phase).pop()
}

/// A defect found at an item that nothing done since may have cured.
#[must_use]
pub fn uncured<'a>(case: &Case<'a>, place: Place, item: Item) -> Option<&'a str> {
    let states = States::of(case, place, item);
    let (_, found) = states.found();
    found.into_iter().find_map(|seen| match &seen.observation {
        Observation::Defect { code, .. } => {
            let cured = states.cured(case, place, item, &[Fault::Defect(code)]);
            (cured == Cured::No).then_some(code.as_str())
        }
        _ => None,
    })
}

fn last_end(case: &Case<'_>, place: Place, item: Item, phase: Phase) -> u64 {
    if phase == Phase::AsFound || case.job.done.is_empty() {
        return 0;
    }
    let ended = ended_by(case, place, item);
    ended.last().map_or(0, |done| done.meta.seq)
}
