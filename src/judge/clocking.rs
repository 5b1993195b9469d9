//! Hub or disc: the run-out rings of a corner that were taken in named clockings.

use super::case::Case;
use super::disc::{clocking as clocking_at, runout_ring};
use crate::job::{Corner, InstrumentKind, Item, Phase, Place, Take};
use crate::measure::MeasureError;
use crate::measure::clocking::{ClockedRing, Clocking, clocking};
use crate::spec::Policy;

/// Separates hub and disc at a corner, from every ring whose clocking was logged, in order.
///
/// Rings without a logged clocking do not take part: the disc may have been dirty, or not yet
/// marked. `None` when no ring was. `possible` lists the clockings the disc can be fitted in; `None` =
/// those the job knows from the vehicle's own file, and all of them when it knows none.
///
/// # Errors
/// [`MeasureError`] inside the option: rings too short for a fit, or a clocking the wheel does not
/// have.
#[must_use]
pub fn clocking_of(
    case: &Case<'_>,
    corner: Corner,
    possible: Option<&[u8]>,
) -> Option<Result<Clocking, MeasureError>> {
    let place = Place::Corner(corner);
    let mut takes: Vec<&Take> = [Phase::AsFound, Phase::AsLeft]
        .into_iter()
        .flat_map(|phase| case.job.takes(place, Item::DiscRunout, phase))
        .filter(|take| take.last().is_some_and(|r| r.event.clocking.is_some()))
        .collect();
    takes.sort_by_key(|take| take.last().map(|reading| reading.meta.seq));
    let last = takes.last()?;
    let gauge = case.taken(last, InstrumentKind::DialIndicator).map_or_else(
        || super::case::gauge(None, InstrumentKind::DialIndicator, &Policy::builtin()),
        |measured| measured.gauge,
    );
    let fasteners = case.sheet.wheel.fasteners;
    let rings: Vec<ClockedRing> = takes
        .iter()
        .map(|take| ClockedRing {
            clocking: clocking_at(take),
            ring: runout_ring(take, Some(fasteners)),
        })
        .collect();
    let known = case.job.clockings.get(&corner.axle()).map(Vec::as_slice);
    Some(clocking(fasteners, &rings, possible.or(known), &gauge))
}
