//! Disc thickness, its variation, run-out at the wheel and the bearing's end float.

use super::case::{Case, Measured};
use super::decide::Draft;
use super::finding::{FaceResults, Finding, FitResults, Results};
use super::{Ask, Figure, ItemVerdict, Urgency, wear};
use crate::job::{Corner, InstrumentKind, Item, Phase, Place, Slot, Symptom, Take};
use crate::measure::MeasureError;
use crate::measure::bearing::{EndFloat, float};
use crate::measure::conformity::Bound;
use crate::measure::disc::{self, Thickness, ThicknessConditions};
use crate::measure::faces::{self, FACE_RATIO, FaceWear, LIP_CLOSURE_ALLOWED};
use crate::measure::runout::{self, RunoutRing};
use crate::measure::uncertainty::Gauge;
use crate::spec::{LimitChain, Policy};
use crate::units::{Length, Temperature};

/// Judges the thinnest point of the disc.
pub(super) fn thickness(
    case: &Case<'_>,
    corner: Corner,
    set: &Take,
    phase: Phase,
) -> Option<Finding> {
    let place = Place::Corner(corner);
    let measured = case.taken(set, InstrumentKind::Micrometer)?;
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
    stuck(&measured, &mut draft);
    enough(case, &ring, &mut draft);
    draft.cautions(&measured.cautions);
    Some(draft.finish())
}

/// The thinnest point of a set of a disc, with what speaks against a PASS by it.
pub(super) fn thinnest(case: &Case<'_>, set: &Take) -> Option<(Length, Vec<String>)> {
    let measured = case.taken(set, InstrumentKind::Micrometer)?;
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
    let known = known
        || fitted.contains_key(&(corner, Item::DiscThickness))
        || wear::start_unknown(case, (corner, Item::DiscThickness), phase);
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
        draft.unreliable(format!(
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
        draft.unreliable(format!(
            "all {} typed readings are the same: take the ring again",
            readings.len()
        ));
    }
}

/// Judges the variation of the same ring's thickness.
pub(super) fn variation(
    case: &Case<'_>,
    corner: Corner,
    set: &Take,
    phase: Phase,
) -> Option<Finding> {
    let place = Place::Corner(corner);
    let measured = case.taken(set, InstrumentKind::Micrometer)?;
    let mut draft = Draft::new(case.policy, place, Item::DiscVariation, phase);
    let ring = match ring(case, &measured) {
        Ok(ring) => ring,
        Err(error) => return Some(unusable(place, Item::DiscVariation, phase, &error)),
    };
    let dtv = ring.dtv;
    let u = u_variation(case, &measured, &ring);
    draft.value(Figure::Length(dtv), Some(u.mm()));
    draft.results(Results::Variation {
        dtv_um: dtv.um(),
        dtv_floor_um: ring.dtv_floor.um(),
        u_um: u.um(),
        readings_per_point: ring.readings_per_point,
        order1_um: ring.order1.as_ref().map(|h| h.peak_to_peak.um()),
        order2_um: ring.order2.as_ref().map(|h| h.peak_to_peak.um()),
    });
    let facts = case.facts(Some(corner.axle()));
    let chain = case.sources(&facts).disc_variation();
    let judder = case.complains(Symptom::Judder, phase);
    variation_rules(
        &mut draft,
        &Variation {
            dtv,
            u,
            floor: ring.dtv_floor,
            readings: ring.readings_per_point,
        },
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

/// Standard uncertainty of a ring's thickness variation, with the micrometer's error over so short a
/// span where the register gives one.
pub(super) fn u_variation(case: &Case<'_>, measured: &Measured<'_>, ring: &Thickness) -> Length {
    let Some(error) = short_error(case, measured, ring.dtv) else {
        return ring.u_dtv;
    };
    Length::from_mm(libm::hypot(ring.u_dtv.mm(), error.mm() / 3f64.sqrt())).unwrap_or(ring.u_dtv)
}

/// The error of a set's instrument over a swing, where the register gives one for so short a span.
pub(super) fn short_error(
    case: &Case<'_>,
    measured: &Measured<'_>,
    swing: Length,
) -> Option<Length> {
    let readings = measured.take.readings();
    let mut named = readings.filter_map(|reading| reading.event.instrument.as_deref());
    case.register.get(named.next()?)?.error_over(swing)
}

/// The gauge of a set for a difference that swings this far.
pub(super) fn gauge_over(case: &Case<'_>, measured: &Measured<'_>, swing: Length) -> Gauge {
    let gauge = measured.gauge.clone();
    match short_error(case, measured, swing) {
        Some(mpe) => Gauge { mpe, ..gauge },
        None => gauge,
    }
}

/// How far the needle moved in a ring.
pub(super) fn swing(ring: &RunoutRing) -> Length {
    let points = ring.points.iter().copied().chain(ring.closing);
    let low = points.clone().min().unwrap_or_default();
    let high = points.max().unwrap_or_default();
    (high - low).max(ring.swept.unwrap_or_default())
}

/// The rules for the thinnest point of a ring.
pub(super) fn thickness_rules(
    draft: &mut Draft,
    ring: &Thickness,
    chain: &LimitChain<Length>,
    policy: &Policy,
) {
    if draft.one_way_proved(
        (ring.t_min, ring.proved()),
        ring.u,
        chain,
        "minimum thickness",
    ) && let Some(limit) = &chain.applied
    {
        temperature_decides(draft, ring, limit.value);
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

/// Asks for the temperature of a disc where it would decide: what was read lies inside the limit and
/// is not proven, but it would be on a disc as cold as the gauge, or it would lie beyond on a warm one.
fn temperature_decides(draft: &mut Draft, ring: &Thickness, limit: Length) {
    let Some(unlogged) = ring.unlogged else {
        return;
    };
    if ring.t_min < limit || draft.is_proven() {
        return;
    }
    let cold = draft.would_prove(ring.t_min, unlogged.u_logged, Bound::AtLeast(limit));
    if cold || unlogged.t_least < limit {
        draft.ask(Ask::DiscTemperature);
    }
}

/// A thickness variation as it is judged.
pub(super) struct Variation {
    /// Thickest minus thinnest point.
    pub(super) dtv: Length,
    /// Its standard uncertainty.
    pub(super) u: Length,
    /// What a perfect disc may show.
    pub(super) floor: Length,
    /// Readings a point.
    pub(super) readings: usize,
}

/// The rules for a thickness variation with its uncertainty and its noise floor.
pub(super) fn variation_rules(
    draft: &mut Draft,
    variation: &Variation,
    chain: &LimitChain<Length>,
    judder: bool,
    policy: &Policy,
) {
    let &Variation {
        dtv,
        u,
        floor,
        readings,
    } = variation;
    if chain
        .applied
        .as_ref()
        .is_some_and(|limit| floor >= limit.value)
    {
        draft.within_noise(dtv, u, chain, (floor, readings));
        return;
    }
    if dtv <= floor {
        draft.below_floor(dtv, u, chain, floor);
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
pub(super) fn runout(case: &Case<'_>, corner: Corner, set: &Take, phase: Phase) -> Option<Finding> {
    let place = Place::Corner(corner);
    let measured = case.taken(set, InstrumentKind::DialIndicator)?;
    let felt = case.defect_codes(place, Item::BearingFloat, phase);
    if felt
        .iter()
        .any(|code| matches!(*code, "rough" | "clear_play"))
    {
        let reason = "invalid: the bearing is rough or has clear play".to_owned();
        return Some(Finding::not_inspected(
            place,
            Item::DiscRunout,
            phase,
            reason,
        ));
    }
    if loose(case, corner, phase) {
        let reason = "invalid: the bearing's end float is over its limit".to_owned();
        return Some(Finding::not_inspected(
            place,
            Item::DiscRunout,
            phase,
            reason,
        ));
    }
    let ring = runout_ring(measured.take, Some(case.sheet.wheel.fasteners));
    let result = match runout::runout(&ring, &gauge_over(case, &measured, swing(&ring))) {
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
    runout_rules(&mut draft, judged, &chain, judder, case.policy);
    if result.swept_below_points {
        draft.unreliable("the swept value is smaller than what the points show: one was mistyped");
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
        draft.unreliable(format!(
            "depth insufficient: swept, and {found} of {planned} points of the ring"
        ));
    } else if found >= planned.min(FULL_POINTS) {
        draft.unreliable(format!(
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
    set: &Take,
    phase: Phase,
) -> Option<Finding> {
    let place = Place::Corner(corner);
    let measured = case.taken(set, InstrumentKind::DialIndicator)?;
    let float = match end_float(case, &measured) {
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
    draft.correctable(float.float, float.u, &chain, false, "end-float limit");
    draft.cautions(&measured.cautions);
    Some(draft.finish())
}

/// The end float of a set of push-and-pull cycles.
pub(super) fn end_float(
    case: &Case<'_>,
    measured: &Measured<'_>,
) -> Result<EndFloat, MeasureError> {
    let readings = measured.take.lengths(Slot::Value).concat();
    let largest = readings.iter().max().copied().unwrap_or_default();
    float(&readings, &gauge_over(case, measured, largest))
}

/// Whether the bearing's end float is over its limit in a state, by any set that stands.
fn loose(case: &Case<'_>, corner: Corner, phase: Phase) -> bool {
    case.sets_standing(Place::Corner(corner), Item::BearingFloat, phase)
        .into_iter()
        .filter_map(|set| bearing(case, corner, set, phase))
        .any(|float| float.conformance_probability.is_some() && over_limit(&float))
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
