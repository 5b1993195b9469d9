//! Sets of readings of one item beside each other: two people's repeats, as left beside as found.

use super::case::{Case, Measured};
use super::decide::Draft;
use super::{Urgency, disc, friction};
use crate::job::{InstrumentKind, Item, Phase, Place, Slot, Take};
use crate::measure::pad;
use crate::spec::LimitChain;
use crate::units::{Length, Temperature};

/// Why a set as left that is better than the one as found gives no PASS: what only wears does not
/// get better, unless a part was fitted or the readings' uncertainty explains it.
///
/// Explained is a gain of up to `2·√(u₁² + u₂²)` (common practice), for fluid up to [`FLUID_GAIN`].
pub(super) fn gained(
    case: &Case<'_>,
    place: Place,
    item: Item,
    kind: InstrumentKind,
    left: &Measured<'_>,
) -> Option<String> {
    if case.renewed(place, item) {
        return None;
    }
    let found = case.measured(place, item, Phase::AsFound, kind)?;
    let (before, now) = if item == Item::FluidBoiling {
        let (before, now) = (boiling(found.take)?, boiling(left.take)?);
        if now.millidegrees() - before.millidegrees() <= FLUID_GAIN.millidegrees() {
            return None;
        }
        (before.to_string(), now.to_string())
    } else {
        let ((before, u_before), (now, u_now)) =
            (worn(case, item, &found)?, worn(case, item, left)?);
        // Wear makes a drum larger and everything else thinner.
        let gain = if item == Item::DrumDiameter {
            before - now
        } else {
            now - before
        };
        if gain.mm() <= 2.0 * (u_before.mm() * u_before.mm() + u_now.mm() * u_now.mm()).sqrt() {
            return None;
        }
        (before.to_string(), now.to_string())
    };
    Some(format!(
        "{place} {item} was {before} as found and is {now} as left, more than the readings' uncertainty explains, and no part was logged as fitted"
    ))
}

/// How much higher fluid may boil the second time by the testers alone: `2·√2·a/√3` of a tester
/// good to 3 °C, rounded up (own).
const FLUID_GAIN: Temperature = Temperature::from_millidegrees(5_000);

pub(super) fn boiling(take: &Take) -> Option<Temperature> {
    let reading = take.slots.get(&Slot::Value(1))?.last()?;
    Some(Temperature::from_millidegrees(reading.event.entered.value))
}

const fn wears(item: Item) -> bool {
    matches!(
        item,
        Item::DiscThickness
            | Item::PadsThickness
            | Item::LiningsThickness
            | Item::DrumDiameter
            | Item::FluidBoiling
    )
}

/// The most worn place a set shows, with its standard uncertainty; of pads, also when only one of
/// them was read. `None` for items that do not only wear, and for readings nothing follows from.
fn worn(case: &Case<'_>, item: Item, measured: &Measured<'_>) -> Option<(Length, Length)> {
    match item {
        Item::DiscThickness => {
            let ring = disc::ring(case, measured).ok()?;
            Some((ring.t_min, ring.u))
        }
        Item::PadsThickness => {
            let pads = friction::pad_readings(measured);
            let thinnest = pad::lining(&[pads.inner, pads.outer].concat(), &measured.gauge).ok()?;
            Some((thinnest.min, thinnest.u))
        }
        Item::LiningsThickness => {
            let linings = friction::lining_readings(measured);
            let thinnest = pad::lining(&linings, &measured.gauge).ok()?;
            Some((thinnest.min, thinnest.u))
        }
        Item::DrumDiameter => {
            let drum = friction::drum_of(measured).ok()?;
            Some((drum.max, drum.u))
        }
        _ => None,
    }
}

/// Advises when another set shows a part worn beyond a limit that the judged set keeps; see [`beyond`].
pub(super) fn worn_beyond<'a>(
    case: &Case<'a>,
    kind: InstrumentKind,
    data: Phase,
    chain: &LimitChain<Length>,
    draft: &mut Draft,
) {
    let (_, item) = draft.about();
    let worst = |set: &Measured<'a>| Some(worn(case, item, set)?.0);
    beyond(case, kind, data, chain, draft, worst);
}

/// Advises when another set of an item breaks the limit that the judged set keeps.
///
/// As found the first set is judged, and a later one is evidence. As left the last one is, and of what
/// can be put right an earlier one is history; what only wears was no better in between, unless a
/// part was fitted.
pub(super) fn beyond<'a, T: Ord + Copy + std::fmt::Display>(
    case: &Case<'a>,
    kind: InstrumentKind,
    data: Phase,
    chain: &LimitChain<T>,
    draft: &mut Draft,
    evaluate: impl Fn(&Measured<'a>) -> Option<T>,
) {
    let (place, item) = draft.about();
    let source = super::source_item(item);
    let Some(limit) = &chain.applied else {
        return;
    };
    let Some(judged) = case.job.judged_take(place, source, data) else {
        return;
    };
    let since = match data {
        Phase::AsFound => 0,
        Phase::AsLeft if wears(item) => case.fitted_last(place, item),
        Phase::AsLeft => return,
    };
    let mut others = case
        .job
        .takes(place, source, data)
        .filter(|take| take.number != judged.number)
        .filter(|take| take.last().is_some_and(|last| last.meta.seq > since))
        .peekable();
    if others.peek().is_none() {
        return; // as nearly always: nothing to evaluate
    }
    let value = |take: &'a Take| evaluate(&case.taken(take, kind)?);
    let Some(kept) = value(judged).filter(|kept| limit.permits(*kept)) else {
        return;
    };
    let broken = others
        .filter_map(value)
        .find(|other| !limit.permits(*other));
    if let Some(other) = broken {
        let which = match data {
            Phase::AsFound => "first",
            Phase::AsLeft => "last",
        };
        draft.advise(
            format!(
                "another set of readings shows {other}, beyond the limit of {}; the {which} set, {kept}, is judged: find out which is right",
                limit.source
            ),
            Urgency::Watch,
        );
    }
}

/// What to say when two people's sets of an item differ by more than `√2·U`, with `U = 2u`.
///
/// `evaluate` gives the judged value of a set and its standard uncertainty. Source: common practice.
pub(super) fn disagreement<'a>(
    case: &Case<'a>,
    place: Place,
    item: Item,
    data: Phase,
    evaluate: impl Fn(&'a Take) -> Option<(Length, Length)>,
) -> Option<String> {
    let judged = case.job.judged_take(place, item, data)?;
    let (value, u) = evaluate(judged)?;
    let person = &judged.last()?.meta.by;
    case.job
        .takes(place, item, data)
        .filter(|take| take.number != judged.number)
        .find_map(|take| {
            let other = &take.last()?.meta.by;
            let (again, u_again) = evaluate(take)?;
            // √2·U with U = 2u, u the root mean square of both: 2·√(u₁² + u₂²).
            let allowed = 2.0 * (u.mm() * u.mm() + u_again.mm() * u_again.mm()).sqrt();
            let apart = (value - again).abs();
            (other != person && apart.mm() > allowed).then(|| {
                format!(
                    "{person} measured {value}, {other} {again}: more apart than their uncertainty allows, measure a third time"
                )
            })
        })
}
