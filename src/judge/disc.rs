//! Disc thickness, its variation, run-out at the wheel and the bearing's end float.

use super::case::{Case, Measured};
use super::decide::Draft;
use super::finding::{FaceResults, Finding, FitResults, Results};
use super::look::look;
use super::{Figure, ItemVerdict, Urgency, repeat, voided, wear};
use crate::job::{Corner, InstrumentKind, Item, Phase, Place, Slot, Symptom, Take};
use crate::measure::MeasureError;
use crate::measure::bearing::{EndFloat, float};
use crate::measure::disc::{self, Thickness, ThicknessConditions};
use crate::measure::faces::{self, FACE_RATIO, FaceWear, LIP_CLOSURE_ALLOWED};
use crate::measure::runout::{self, RunoutRing};
use crate::spec::{LimitChain, Policy};
use crate::units::{Length, Temperature};

/// Judges the thinnest point of the disc.
pub(super) fn thickness(
    case: &Case<'_>,
    corner: Corner,
    data: Phase,
    phase: Phase,
) -> Option<Finding> {
    let place = Place::Corner(corner);
    let measured = case.measured(place, Item::DiscThickness, data, InstrumentKind::Micrometer)?;
    let mut draft = Draft::new(case.policy, place, Item::DiscThickness, phase);
    let ring = match ring(case, &measured) {
        Ok(ring) => ring,
        Err(error) => return Some(unusable(place, Item::DiscThickness, phase, &error)),
    };
    let spec = case.axle(corner.axle()).and_then(|axle| axle.disc.as_ref());
    let new = spec.and_then(|disc| disc.new.as_ref()).map(|new| new.value);
    let cast = case.job.cast_mark(corner);
    let facts = case.facts(Some(corner.axle()));
    let chain = case.sources(&facts).disc_thickness(cast);
    let limit = chain.applied.as_ref().map(|limit| limit.value);
    let wear = new
        .zip(limit)
        .and_then(|(new, limit)| disc::wear_used(new, limit, ring.t_min).ok());
    draft.value(Figure::Length(ring.t_min), Some(ring.u.mm()));
    let outlook = outlook(case, corner, phase, &ring, limit);
    let faces = faces(&measured, new, ring.t_mean);
    draft.results(Results::Thickness {
        faces: faces.as_ref().map(FaceResults::from),
        forecast: outlook.as_ref().map(wear::shown),
        t_min_mm: ring.t_min.mm(),
        t_min_point: ring.t_min_point + 1,
        t_mean_mm: ring.t_mean.mm(),
        points_mm: ring.points.iter().map(|t| t.mm()).collect(),
        left_mm: limit.map(|limit| (ring.t_min - limit).mm()),
        wear_mm: wear.as_ref().map(|wear| wear.wear.mm()),
        wear_fraction: wear.as_ref().map(|wear| wear.wear_fraction),
        u_um: ring.u.um(),
    });
    let micrometer = InstrumentKind::Micrometer;
    repeat::worn_beyond(case, micrometer, data, &chain, &mut draft);
    thickness_rules(&mut draft, &ring, &chain, case.policy);
    if let Some(outlook) = &outlook {
        wear::plan_ahead(case, (corner, Item::DiscThickness), &mut draft, outlook);
    }
    machining(spec, &ring, &mut draft);
    face_rules(faces.as_ref(), &mut draft);
    if let Some(differs) = chain.mark_differs {
        draft.advise(
            format!(
                "the minimum marked on the disc ({}) differs from the sheet's ({}); the stricter is used",
                differs.mark, differs.sheet
            ),
            Urgency::Watch,
        );
    }
    if let Some(words) = repeat::disagreement(case, place, Item::DiscThickness, data, |take| {
        let other = case.taken(take, InstrumentKind::Micrometer)?;
        let ring = self::ring(case, &other).ok()?;
        Some((ring.t_min, ring.u))
    }) {
        draft.advise(words, Urgency::Watch);
    }
    stuck(&measured, &mut draft);
    enough(case, &ring, &mut draft);
    draft.cautions(&measured.cautions);
    Some(draft.finish())
}

/// The thinnest point of a corner's disc, with what speaks against a PASS by it.
pub(super) fn thinnest(
    case: &Case<'_>,
    corner: Corner,
    data: Phase,
) -> Option<(Length, Vec<String>)> {
    let place = Place::Corner(corner);
    let measured = case.measured(place, Item::DiscThickness, data, InstrumentKind::Micrometer)?;
    let ring = ring(case, &measured).ok()?;
    Some((ring.t_min, measured.cautions))
}

/// What the disc's earlier thicknesses say about the distance left; `None` when there are none.
fn outlook(
    case: &Case<'_>,
    corner: Corner,
    phase: Phase,
    ring: &Thickness,
    limit: Option<Length>,
) -> Option<wear::Outlook> {
    let place = Place::Corner(corner);
    let renewed = phase == Phase::AsLeft && case.renewed(place, Item::DiscThickness);
    let known = case
        .job
        .earlier
        .iter()
        .any(|(at, item, ..)| (*at, *item) == (corner, Item::DiscThickness));
    let fitted = &case.job.fitted_before;
    let known = known || fitted.contains_key(&(corner, Item::DiscThickness));
    (known && !renewed).then(|| {
        wear::outlook(
            case,
            corner,
            Item::DiscThickness,
            phase,
            ring.t_min,
            ring.u,
            limit,
        )
    })
}

/// What each face has lost, from the depths of the swept band below its lips.
fn faces(measured: &Measured<'_>, new: Option<Length>, t_mean: Length) -> Option<FaceWear> {
    let depths = |make: fn(u16) -> Slot| -> Vec<Length> {
        let readings = measured.take.lengths(make);
        readings.iter().filter_map(|r| r.last().copied()).collect()
    };
    let (outer, inner) = (depths(Slot::LipOuter), depths(Slot::LipInner));
    faces::lips(&outer, &inner, new?, t_mean).ok()
}

/// The rules for the two faces: one that has lost much more than the other, and lips that do not
/// close with the micrometer. Differences inside the closing allowance say nothing.
fn face_rules(faces: Option<&FaceWear>, draft: &mut Draft) {
    let Some(faces) = faces else {
        return;
    };
    let (more, less, word) = if faces.inner > faces.outer {
        (faces.inner, faces.outer, "inner")
    } else {
        (faces.outer, faces.inner, "outer")
    };
    let uneven = faces.ratio.is_none_or(|ratio| ratio > FACE_RATIO);
    if uneven && more - less > LIP_CLOSURE_ALLOWED {
        draft.advise(
            format!("the {word} face has lost {more} and the other {less}: more than {FACE_RATIO} times as much"),
            Urgency::Watch,
        );
    }
    if !faces.closes {
        draft.advise(
            format!(
                "the lips and the micrometer differ by {}, more than {LIP_CLOSURE_ALLOWED}: a machined disc, a wrong new size or a wrong lip reading",
                faces.closure.abs()
            ),
            Urgency::Watch,
        );
    }
}

/// A worn disc may still be turned down to the maker's machining figure, not below it.
fn machining(spec: Option<&crate::spec::DiscSpec>, ring: &Thickness, draft: &mut Draft) {
    let Some(machine_to) = spec.and_then(|disc| disc.machine_to.as_ref()) else {
        return;
    };
    let source = machine_to.source().unwrap_or("source not stated");
    draft.aside(
        machine_to.value,
        format!("maker: {source}"),
        "machining only: a disc may be turned down to it, not below it",
    );
    if ring.t_min <= machine_to.value {
        draft.note(format!(
            "at or below the machine-to thickness of {}: it may not be machined any more",
            machine_to.value
        ));
    }
}

/// Fewer points than the depth asks for: never a PASS, and with too few of them no inspection.
fn enough(case: &Case<'_>, ring: &Thickness, draft: &mut Draft) {
    let (found, planned) = (ring.points.len(), usize::from(case.ring_points()));
    if found < QUICK_POINTS.min(planned) {
        draft.incomplete(format!(
            "the ring is not finished: {found} of {planned} points"
        ));
    } else if found < planned {
        draft.no_pass(format!(
            "depth insufficient: {found} of {planned} points of the ring"
        ));
    }
}

/// Points of a quick ring.
const QUICK_POINTS: usize = 4;
/// Points from which a ring that is not whole still tells something (common practice: 8 or more).
const FULL_POINTS: usize = 8;

/// Typed readings that are all the same and that nobody confirmed: the gauge may have been in hold.
fn stuck(measured: &Measured<'_>, draft: &mut Draft) {
    let readings: Vec<_> = measured
        .take
        .slots
        .iter()
        .filter(|(slot, _)| matches!(slot, Slot::Point(_)))
        .filter_map(|(_, readings)| readings.last())
        .collect();
    let first = readings.first().map(|reading| reading.event.entered.value);
    let same = readings.len() >= FULL_POINTS
        && readings.iter().all(|reading| {
            Some(reading.event.entered.value) == first
                && reading.event.source == crate::job::Source::Typed
        });
    if same && !readings.iter().any(|reading| reading.event.confirmed) {
        draft.no_pass(format!(
            "all {} typed readings are the same: take the ring again",
            readings.len()
        ));
    }
}

/// Judges the variation of the same ring's thickness.
pub(super) fn variation(
    case: &Case<'_>,
    corner: Corner,
    data: Phase,
    phase: Phase,
) -> Option<Finding> {
    let place = Place::Corner(corner);
    let measured = case.measured(place, Item::DiscThickness, data, InstrumentKind::Micrometer)?;
    let mut draft = Draft::new(case.policy, place, Item::DiscVariation, phase);
    let ring = match ring(case, &measured) {
        Ok(ring) => ring,
        Err(error) => return Some(unusable(place, Item::DiscVariation, phase, &error)),
    };
    let dtv = ring.dtv;
    draft.value(Figure::Length(dtv), Some(ring.u_dtv.mm()));
    draft.results(Results::Variation {
        dtv_um: dtv.um(),
        dtv_floor_um: ring.dtv_floor.um(),
        u_um: ring.u_dtv.um(),
        readings_per_point: ring.readings_per_point,
        order1_um: ring.order1.as_ref().map(|h| h.peak_to_peak.um()),
        order2_um: ring.order2.as_ref().map(|h| h.peak_to_peak.um()),
    });
    let facts = case.facts(Some(corner.axle()));
    let chain = case.sources(&facts).disc_variation();
    let judder = case.complains(Symptom::Judder, phase);
    let micrometer = InstrumentKind::Micrometer;
    repeat::beyond(case, micrometer, data, &chain, &mut draft, |other| {
        let ring = self::ring(case, other).ok()?;
        (ring.dtv > ring.dtv_floor || other.take.number == measured.take.number).then_some(ring.dtv)
    });
    variation_rules(
        &mut draft,
        (dtv, ring.u_dtv, ring.dtv_floor),
        &chain,
        judder,
        case.policy,
    );
    stuck(&measured, &mut draft);
    enough(case, &ring, &mut draft);
    after_fitting(case, place, phase, &mut draft);
    draft.cautions(&measured.cautions);
    Some(draft.finish())
}

/// The rules for the thinnest point of a ring.
pub(super) fn thickness_rules(
    draft: &mut Draft,
    ring: &Thickness,
    chain: &LimitChain<Length>,
    policy: &Policy,
) {
    if draft.one_way(ring.t_min, ring.u, chain, "minimum thickness")
        && let Some(limit) = &chain.applied
    {
        let left = ring.t_min - limit.value;
        let watch = policy.disc_left_advise.value;
        if left >= Length::ZERO && left < watch {
            draft.advise(
                format!("less than {watch} left above the limit"),
                Urgency::Watch,
            );
        }
    }
}

/// The rules for a thickness variation with its uncertainty and its noise floor.
pub(super) fn variation_rules(
    draft: &mut Draft,
    (dtv, u, floor): (Length, Length, Length),
    chain: &LimitChain<Length>,
    judder: bool,
    policy: &Policy,
) {
    if dtv <= floor {
        draft.below_floor(dtv, u, chain, judder, floor);
        return;
    }
    draft.correctable(dtv, u, chain, judder, "thickness-variation limit");
    let watch = policy.dtv_advise.value;
    let with_judder = policy.dtv_advise_judder.value;
    if dtv > watch {
        draft.advise(
            format!("thickness varies by more than {} µm", watch.um()),
            Urgency::Watch,
        );
    } else if judder && dtv > with_judder {
        draft.advise(
            format!(
                "thickness varies by more than {} µm and judder is complained of",
                with_judder.um()
            ),
            Urgency::Watch,
        );
    }
}

/// The rules for a run-out with its uncertainty and its twice-a-turn part.
pub(super) fn runout_rules(
    draft: &mut Draft,
    (judged, u, order2): (Length, Length, Option<Length>),
    chain: &LimitChain<Length>,
    judder: bool,
    policy: &Policy,
) {
    draft.correctable(judged, u, chain, judder, "run-out limit");
    let watch = policy.runout_advise_judder.value;
    if judder && judged > watch {
        draft.advise(
            format!("more than {watch} and judder is complained of"),
            Urgency::Watch,
        );
    }
    let saddle = policy.runout_order2_advise.value;
    if order2.is_some_and(|part| part > saddle) {
        draft.advise(
            format!("more than {saddle} of it comes twice a turn"),
            Urgency::Watch,
        );
    }
}

/// Why a ring whose dial did not return is no measurement.
///
/// `allowed` is the closing error that may be, when not the program's own.
pub(super) fn set_up_moved(result: &runout::Runout, allowed: Option<Length>) -> Option<String> {
    let error = result.closing_error.unwrap_or_default();
    let returned = allowed.map_or(result.closing_ok, |allowed| error.abs() <= allowed);
    (!returned).then(|| {
        format!("invalid: the dial did not return to its start (by {error}): the set-up moved, take the ring again")
    })
}

/// A new disc that is not right is measured again and explained before anybody signs for it.
fn after_fitting(case: &Case<'_>, place: Place, phase: Phase, draft: &mut Draft) {
    if phase == Phase::AsLeft && case.renewed(place, Item::DiscRunout) && draft.is_worse_than_pass()
    {
        draft.note(
            "a new disc: clean the hub face, clamp and measure again before it is signed for",
        );
    }
}

pub(super) fn ring(case: &Case<'_>, measured: &Measured<'_>) -> Result<Thickness, MeasureError> {
    let policy = case.policy;
    let conditions = ThicknessConditions {
        zero_error: measured.zero_error,
        disc_temperature: temperature(measured.take),
        gauge_temperature: celsius(measured.take, Slot::GaugeTemperature),
        expansion_per_k: f64::from(policy.expansion_ppb.value) * 1e-9,
        expansion_half_width_per_k: f64::from(policy.expansion_half_width_ppb.value) * 1e-9,
        given_half_width_k: policy.temperature_given.value.celsius(),
        unknown_half_width_k: policy.temperature_unknown.value.celsius(),
    };
    disc::thickness(
        &measured.take.lengths(Slot::Point),
        &conditions,
        &measured.gauge,
    )
}

pub(super) fn temperature(take: &Take) -> Option<Temperature> {
    celsius(take, Slot::Temperature)
}

/// A temperature of a set, by its slot.
pub(super) fn celsius(take: &Take, slot: Slot) -> Option<Temperature> {
    let reading = take.slots.get(&slot)?.last()?;
    Some(Temperature::from_millidegrees(reading.event.entered.value))
}

/// Judges run-out at the wheel; void when the bearing's end float is over its limit.
pub(super) fn runout(
    case: &Case<'_>,
    corner: Corner,
    data: Phase,
    phase: Phase,
) -> Option<Finding> {
    let place = Place::Corner(corner);
    let measured = case.measured(place, Item::DiscRunout, data, InstrumentKind::DialIndicator)?;
    let state = (!voided(case, place, Item::BearingFloat, data))
        .then(|| case.standing(place, Item::BearingFloat, data));
    let felt = state.and_then(|state| look(case, place, Item::BearingFloat, state, phase));
    if felt.is_some_and(|felt| felt.verdict == ItemVerdict::Fail) {
        let reason = "invalid: the bearing is rough or has clear play".to_owned();
        return Some(Finding::not_inspected(
            place,
            Item::DiscRunout,
            phase,
            reason,
        ));
    }
    let float = state.and_then(|state| bearing(case, corner, state, phase));
    if float.is_some_and(|float| float.conformance_probability.is_some() && over_limit(&float)) {
        let reason = "invalid: the bearing's end float is over its limit".to_owned();
        return Some(Finding::not_inspected(
            place,
            Item::DiscRunout,
            phase,
            reason,
        ));
    }
    let ring = runout_ring(measured.take, Some(case.sheet.wheel.fasteners));
    let result = match runout::runout(&ring, &measured.gauge) {
        Ok(result) => result,
        Err(error) => return Some(unusable(place, Item::DiscRunout, phase, &error)),
    };
    let allowed = case.policy.runout_closing.value;
    let allowed = allowed.max(measured.gauge.resolution);
    if let Some(reason) = set_up_moved(&result, Some(allowed)) {
        return Some(Finding::not_inspected(
            place,
            Item::DiscRunout,
            phase,
            reason,
        ));
    }
    let mut draft = Draft::new(case.policy, place, Item::DiscRunout, phase);
    draft.value(Figure::Length(result.judged), Some(result.u.mm()));
    draft.results(Results::Runout {
        tir_mm: result.tir.map(Length::mm),
        swept_mm: result.swept.map(Length::mm),
        judged_mm: result.judged.mm(),
        closing_error_mm: result.closing_error.map(Length::mm),
        fit: result.fit.as_ref().map(|fit| FitResults {
            peak_to_peak_mm: fit.peak_to_peak.mm(),
            high_spot_deg: fit.high_spot.degrees(),
            order2_mm: fit.order2.map(Length::mm),
            order_n_mm: fit.order_n.map(Length::mm),
            residual_mm: fit.residual.mm(),
            u_peak_to_peak_mm: fit.u_peak_to_peak.mm(),
            u_high_spot_deg: fit.u_high_spot.degrees(),
        }),
        points_mm: ring.points.iter().map(|p| p.mm()).collect(),
        clocking: clocking(measured.take),
        u_um: result.u.um(),
    });
    let facts = case.facts(Some(corner.axle()));
    let chain = case.sources(&facts).disc_runout();
    let judder = case.complains(Symptom::Judder, phase);
    let order2 = result.fit.as_ref().and_then(|fit| fit.order2);
    let judged = (result.judged, result.u, order2);
    let dial = InstrumentKind::DialIndicator;
    repeat::beyond(case, dial, data, &chain, &mut draft, |other| {
        let ring = runout_ring(other.take, Some(case.sheet.wheel.fasteners));
        let result = runout::runout(&ring, &other.gauge).ok()?;
        let is_same = clocking(other.take) == clocking(measured.take);
        let counts = is_same && set_up_moved(&result, Some(allowed)).is_none();
        counts.then_some(result.judged)
    });
    runout_rules(&mut draft, judged, &chain, judder, case.policy);
    if result.swept_below_points {
        draft.no_pass("the swept value is smaller than what the points show: one was mistyped");
    }
    stuck(&measured, &mut draft);
    enough_runout(case, &ring, &mut draft);
    after_fitting(case, place, phase, &mut draft);
    draft.cautions(&measured.cautions);
    Some(draft.finish())
}

/// A full inspection takes a ring by stud; a swept total alone does not show where and why.
fn enough_runout(case: &Case<'_>, ring: &RunoutRing, draft: &mut Draft) {
    if case.depth() != crate::job::Depth::Full {
        return;
    }
    let planned = usize::from(case.ring_points());
    let found = ring.points.len();
    if found >= planned {
        return;
    }
    if ring.swept.is_some() {
        draft.no_pass(format!(
            "depth insufficient: swept, and {found} of {planned} points of the ring"
        ));
    } else if found >= planned.min(FULL_POINTS) {
        draft.no_pass(format!(
            "depth insufficient: {found} of {planned} points of the ring"
        ));
    } else {
        draft.incomplete(format!(
            "the ring is not finished: {found} of {planned} points"
        ));
    }
}

pub(super) fn clocking(take: &Take) -> u8 {
    take.last()
        .and_then(|reading| reading.event.clocking)
        .unwrap_or(0)
}

/// A run-out ring from its readings.
pub(crate) fn runout_ring(take: &Take, fasteners: Option<u8>) -> RunoutRing {
    let points: Vec<Length> = take
        .lengths(Slot::Point)
        .iter()
        .filter_map(|r| r.last().copied())
        .collect();
    let extremes = take.length(Slot::High).zip(take.length(Slot::Low));
    RunoutRing {
        points,
        angles: None,
        closing: take.length(Slot::Return),
        swept: take
            .length(Slot::Swept)
            .or(extremes.map(|(high, low)| high - low)),
        stylus_angle: None,
        fasteners,
    }
}

/// Judges the bearing: roughness by hand, end float against the maker's limit.
pub(super) fn bearing(
    case: &Case<'_>,
    corner: Corner,
    data: Phase,
    phase: Phase,
) -> Option<Finding> {
    let place = Place::Corner(corner);
    let measured = case.measured(
        place,
        Item::BearingFloat,
        data,
        InstrumentKind::DialIndicator,
    )?;
    let float = match end_float(&measured) {
        Ok(float) => float,
        Err(error) => return Some(unusable(place, Item::BearingFloat, phase, &error)),
    };
    let mut draft = Draft::new(case.policy, place, Item::BearingFloat, phase);
    draft.value(Figure::Length(float.float), Some(float.u.mm()));
    draft.results(Results::Float {
        float_mm: float.float.mm(),
        u_um: float.u.um(),
    });
    let facts = case.facts(Some(corner.axle()));
    let chain = case.sources(&facts).bearing_float();
    let dial = InstrumentKind::DialIndicator;
    repeat::beyond(case, dial, data, &chain, &mut draft, |other| {
        Some(end_float(other).ok()?.float)
    });
    draft.correctable(float.float, float.u, &chain, false, "end-float limit");
    draft.cautions(&measured.cautions);
    Some(draft.finish())
}

fn end_float(measured: &Measured<'_>) -> Result<EndFloat, MeasureError> {
    let readings = measured.take.lengths(Slot::Value).concat();
    float(&readings, &measured.gauge)
}

fn over_limit(float: &Finding) -> bool {
    match (float.value, float.limit) {
        (Some(value), Some(limit)) => value.number() > limit.number(),
        _ => false,
    }
}

/// Readings that cannot be evaluated are no inspection.
pub(super) fn unusable(place: Place, item: Item, phase: Phase, error: &MeasureError) -> Finding {
    let mut finding = Finding::not_inspected(
        place,
        item,
        phase,
        format!("the readings cannot be evaluated: {error}"),
    );
    finding.verdict = ItemVerdict::NotInspected;
    finding
}
