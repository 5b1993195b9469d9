//! The customer's sentences of a finding, from its typed data: value, limit, verdict, proof, what
//! the journal says. The English sentences of the judgement are not used.

use super::corner::verdict_id;
use super::limits::{length_chain, whose};
use crate::job::{Cure, InstrumentKind, Item, Kind, Observation, Phase, Place, Slot, Symptom};
use crate::judge::{
    Case, Figure, Finding, ItemVerdict, OverrideShown, Results, Struck, allowed_zero_error,
};
use crate::judge::{defect, states};
use crate::measure::conformity::Proof;
use crate::sheet::forms::{Forms, Toward, key, places};
use crate::spec::{AxleSpec, FrictionSpec, LimitBound, fluid_limits};
use crate::units::Length;

/// Which way a value of an item is rounded: what may not fall below its limit is rounded down.
pub(super) const fn toward(item: Item) -> Toward {
    match item {
        Item::DiscThickness
        | Item::PadsThickness
        | Item::LiningsThickness
        | Item::FluidBoiling
        | Item::ServiceEfficiency
        | Item::ParkingEfficiency => Toward::Down,
        _ => Toward::Up,
    }
}

/// The judged value as printed, with the points it comes from where some of the ring are missing.
pub(super) fn reading(case: &Case<'_>, forms: &Forms, finding: &Finding) -> Option<String> {
    let value = forms.figure(finding.value?, places(finding.item), toward(finding.item));
    Some(match points(case, finding) {
        Some((found, all)) => {
            let args = [
                ("value", value.into()),
                ("found", found.to_string().into()),
                ("all", all.to_string().into()),
            ];
            forms.words.say("value-points", &args)
        }
        None => value,
    })
}

/// How many points of how many an unfinished ring has; a swept value alone has none.
fn points(case: &Case<'_>, finding: &Finding) -> Option<(usize, usize)> {
    let source = match finding.item {
        Item::DiscThickness | Item::DiscVariation => Item::DiscThickness,
        Item::DiscRunout => Item::DiscRunout,
        _ => return None,
    };
    let take = case.set_judged(finding.place, source, finding.phase)?;
    let found = take.lengths(Slot::Point).len();
    let all = usize::from(case.ring_points());
    (found > 0 && found < all).then_some((found, all))
}

/// The applied limit as printed.
pub(super) fn limit(forms: &Forms, finding: &Finding) -> Option<String> {
    Some(forms.figure(finding.limit?, places(finding.item), Toward::Nearest))
}

/// What to say about a finding, a short sentence each.
pub(super) fn sentences(case: &Case<'_>, forms: &Forms, finding: &Finding) -> Vec<String> {
    let mut said = Vec::new();
    if finding.verdict == ItemVerdict::NotInspected {
        said.extend(not_seen(case, forms, finding));
        said.extend(struck(forms, finding));
        return said;
    }
    defect_words(case, forms, finding, &mut said);
    if let Some(value) = reading(case, forms, finding) {
        let id = match finding.item {
            Item::PadsInnerOuter | Item::AxleDiscDifference | Item::AxlePadDifference => {
                "measured-difference"
            }
            Item::AxleImbalance => "measured-forces",
            Item::ServiceEfficiency | Item::ParkingEfficiency => "measured-efficiency",
            Item::FluidBoiling => "measured-boiling",
            _ => "measured",
        };
        said.push(forms.words.say(id, &[("value", value.into())]));
    }
    if finding.verdict == ItemVerdict::NoLimit {
        let unknown = finding.missing_facts().next().is_some();
        said.push(forms.words.plain(if unknown {
            "unseen-facts"
        } else {
            "unseen-no-limit"
        }));
        return said;
    }
    if let (Some(limit), Some(whose)) = (
        limit(forms, finding),
        whose(case, finding.place, finding.item),
    ) {
        let id = match whose.bound {
            LimitBound::AtLeast => "limit-least",
            LimitBound::AtMost => "limit-most",
        };
        said.push(forms.words.say(
            id,
            &[("whose", whose.kind().into()), ("limit", limit.into())],
        ));
    }
    if matches!(finding.verdict, ItemVerdict::Advise | ItemVerdict::Fail)
        && finding.value.is_some()
        && let Some(new) = new_size(case, finding.place, finding.item)
    {
        let new = forms.length(new, places(finding.item), Toward::Nearest);
        said.push(forms.words.say("new-is", &[("value", new.into())]));
    }
    if matches!(finding.verdict, ItemVerdict::Advise | ItemVerdict::Fail) {
        why(case, forms, finding, &mut said);
    }
    if finding.is_unexplained() {
        said.push(forms.words.plain("why-unexplained"));
    }
    said.extend(struck(forms, finding));
    for set in finding.overrides.iter().filter(|set| set.stands) {
        said.push(set_by_hand(forms, set));
    }
    // Readings in doubt are no risk of the vehicle's.
    if matches!(finding.verdict, ItemVerdict::Advise | ItemVerdict::Fail)
        && !finding.is_doubt_only()
    {
        said.extend(
            forms
                .words
                .find(&format!("risk-{}", key(finding.item)), &[]),
        );
    }
    said
}

/// What failed here and was struck: the value or defect, who had entered it, who struck it and why.
fn struck(forms: &Forms, finding: &Finding) -> Vec<String> {
    let say = |struck: &Struck| {
        let what = match (struck.value, &struck.defect) {
            (Some(value), _) => forms.figure(value, places(finding.item), Toward::Nearest),
            (None, Some(code)) => defect_sentence(forms, finding.item, code),
            (None, None) => String::new(),
        };
        let args = [
            ("what", what.into()),
            ("by", struck.by.as_str().into()),
            ("struck", struck.struck_by.as_str().into()),
            ("reason", struck.reason.as_str().into()),
        ];
        forms.words.say("why-struck", &args)
    };
    finding.struck.iter().map(say).collect()
}

/// Whether a person's verdict that stands is less severe than the readings' own.
pub(super) fn eased(finding: &Finding) -> bool {
    finding.overrides.iter().any(|set| set.stands && eases(set))
}

const fn eases(set: &OverrideShown) -> bool {
    matches!(
        (set.from, set.to),
        (ItemVerdict::Fail, ItemVerdict::Advise | ItemVerdict::Pass)
            | (ItemVerdict::Advise, ItemVerdict::Pass)
    )
}

/// A verdict set by hand: for a less severe one who did it, and who agreed.
fn set_by_hand(forms: &Forms, set: &OverrideShown) -> String {
    let reason = ("reason", set.reason.as_str().into());
    match &set.second_person {
        Some(second) if eases(set) => {
            let verdict = |verdict| forms.words.plain(verdict_id(verdict)).into();
            let args = [
                ("by", set.by.as_str().into()),
                ("second", second.as_str().into()),
                ("from", verdict(set.from)),
                ("to", verdict(set.to)),
                reason,
            ];
            forms.words.say("override-eased", &args)
        }
        _ => forms.words.say("why-override", &[reason]),
    }
}

/// Why something was not seen.
fn not_seen(case: &Case<'_>, forms: &Forms, finding: &Finding) -> Vec<String> {
    let (place, item) = (finding.place, finding.item);
    let words = &forms.words;
    let source = match item {
        Item::DiscVariation => Item::DiscThickness,
        Item::PadsInnerOuter => Item::PadsThickness,
        other => other,
    };
    match item {
        Item::TorqueWheel => return vec![wheel_clicks(case, forms, place)],
        Item::TorqueCalliper => {
            let place = place.corner();
            let wanted = place
                .map(|corner| crate::judge::calliper_fasteners(case, corner))
                .unwrap_or_default();
            let all: u32 = wanted.iter().map(|(_, _, count)| u32::from(*count)).sum();
            let done = case
                .job
                .callipers
                .iter()
                .filter(|(corner, ..)| Some(*corner) == place)
                .count();
            return vec![clicks(
                forms,
                u32::try_from(done).unwrap_or(u32::MAX).min(all),
                all,
            )];
        }
        Item::PedalFirm => return vec![words.plain("unseen-pedal")],
        _ => {}
    }
    // What the technician gave as a reason is quoted; as left it may still be the found one.
    for phase in [finding.phase, Phase::AsFound] {
        for about in [item, source] {
            if let Some(Observation::NotInspected { reason }) =
                case.job.seen(place, about, phase).map(|s| &s.observation)
            {
                return vec![words.say("unseen-told", &[("reason", reason.as_str().into())])];
            }
        }
    }
    let touched = |phase| case.job.touched(place, source, phase);
    let void = (finding.phase == Phase::AsLeft)
        .then(|| states::void_since(case, place, item))
        .flatten();
    if let Some(done) = void {
        vec![words.plain(match done.cure {
            Cure::Fitted(_) => "unseen-new-part",
            Cure::Did(_) => "unseen-since-work",
        })]
    } else if !touched(Phase::AsFound) && !touched(Phase::AsLeft) {
        vec![words.plain("unseen-nothing")]
    } else if item == Item::DiscRunout && float_over(case, place) {
        vec![words.plain("unseen-float")]
    } else if let Some((found, all)) = points(case, finding) {
        let args = [
            ("found", found.to_string().into()),
            ("all", all.to_string().into()),
        ];
        vec![words.say("unseen-points", &args)]
    } else {
        vec![words.plain("unseen-unusable")]
    }
}

/// Whether a bearing's play at a corner is over its limit.
fn float_over(case: &Case<'_>, place: Place) -> bool {
    let limit = length_chain(case, place, Item::BearingFloat).and_then(|chain| chain.applied);
    let Some(limit) = limit else { return false };
    [Phase::AsFound, Phase::AsLeft].into_iter().any(|phase| {
        case.job
            .judged_take(place, Item::BearingFloat, phase)
            .is_some_and(|take| {
                take.readings()
                    .any(|r| Length::from_nm(r.event.entered.value) > limit.value)
            })
    })
}

fn wheel_clicks(case: &Case<'_>, forms: &Forms, place: Place) -> String {
    let all = u32::from(case.sheet.wheel.fasteners);
    let wheel = place
        .corner()
        .and_then(|corner| case.job.wheels.get(&corner));
    let done = wheel.map_or(0, |wheel| {
        u32::try_from(wheel.finals.len()).unwrap_or(u32::MAX)
    });
    if done >= all {
        forms.words.plain("unseen-second-pass")
    } else {
        clicks(forms, done, all)
    }
}

fn clicks(forms: &Forms, done: u32, all: u32) -> String {
    forms.words.say(
        "unseen-clicks",
        &[("done", done.into()), ("all", all.to_string().into())],
    )
}

/// The defect a look found, and the technician's note on it.
fn defect_words(case: &Case<'_>, forms: &Forms, finding: &Finding, said: &mut Vec<String>) {
    if finding.item == Item::PedalFirm {
        if let Some((false, note)) = case.job.gates.get(&crate::job::GateItem::PedalFirm) {
            said.push(forms.words.plain("pedal-soft"));
            noted(forms, note, said);
        }
        return;
    }
    let phases: &[Phase] = match finding.phase {
        Phase::AsFound => &[Phase::AsFound],
        // Better without a cause: what was found still speaks.
        Phase::AsLeft if finding.is_unexplained() => &[Phase::AsFound],
        // Not looked at again: the found look still speaks.
        Phase::AsLeft => &[Phase::AsLeft, Phase::AsFound],
    };
    let seen = phases.iter().find_map(|phase| {
        case.job
            .touched(finding.place, finding.item, *phase)
            .then(|| case.job.seen(finding.place, finding.item, *phase))
    });
    if let Some(Some(seen)) = seen
        && let Observation::Defect { code, note } = &seen.observation
    {
        said.push(defect_sentence(forms, finding.item, code));
        noted(forms, note, said);
    }
}

/// A defect in the customer's words.
pub(super) fn defect_sentence(forms: &Forms, item: Item, code: &str) -> String {
    let known = defect::find(item, code);
    let found = known.and_then(|d| {
        forms
            .words
            .find(&format!("defect-{}-{}", key(item), d.code), &[])
    });
    found.unwrap_or_else(|| forms.words.say("defect-unknown", &[("code", code.into())]))
}

fn noted(forms: &Forms, note: &str, said: &mut Vec<String>) {
    if !note.trim().is_empty() {
        said.push(forms.words.say("note-given", &[("note", note.into())]));
    }
}

/// Why a measured item was not simply good.
fn why(case: &Case<'_>, forms: &Forms, finding: &Finding, said: &mut Vec<String>) {
    let words = &forms.words;
    let beyond = is_beyond(case, finding);
    if beyond {
        said.push(words.plain("why-beyond"));
    }
    match finding.item {
        Item::DiscThickness | Item::DrumDiameter | Item::PadsThickness | Item::LiningsThickness => {
            wear(case, forms, finding, beyond, said);
        }
        Item::DiscVariation | Item::DiscRunout | Item::BearingFloat => {
            correctable(case, forms, finding, beyond, said);
        }
        Item::PadsInnerOuter | Item::AxleDiscDifference | Item::AxlePadDifference => {
            difference(case, forms, finding, said);
        }
        Item::AxleImbalance | Item::ServiceEfficiency | Item::ParkingEfficiency if !beyond => {
            let uncounted = matches!(
                finding.results,
                Some(Results::Percent { counted: false, .. })
            );
            said.push(words.plain(if uncounted {
                "why-not-counted"
            } else {
                "why-near"
            }));
        }
        Item::FluidBoiling if !beyond => {
            let grade = case.sheet.fluid_grade.as_ref().map(|g| g.value.as_str());
            let dry = grade
                .and_then(|grade| fluid_limits(case.packs, grade))
                .map(|limits| limits.dry.value);
            if let (Some(dry), Some(_)) = (dry, finding.value) {
                let dry = forms.temperature(dry, Toward::Nearest);
                said.push(words.say("why-fluid-old", &[("dry", dry.into())]));
            }
        }
        _ => {}
    }
    if finding.value.is_some()
        && finding.verdict == ItemVerdict::Advise
        && gauge_in_doubt(case, finding)
    {
        said.push(words.plain("why-gauge"));
    }
}

fn is_beyond(case: &Case<'_>, finding: &Finding) -> bool {
    let (Some(value), Some(limit)) = (finding.value, finding.limit) else {
        return false;
    };
    let bound = whose(case, finding.place, finding.item).map(|w| w.bound);
    match bound {
        Some(LimitBound::AtLeast) => value.number() < limit.number(),
        Some(LimitBound::AtMost) => value.number() > limit.number(),
        None => false,
    }
}

fn length_of(finding: &Finding) -> Option<Length> {
    match finding.value {
        Some(Figure::Length(length)) => Some(length),
        _ => None,
    }
}

fn limit_length(finding: &Finding) -> Option<Length> {
    match finding.limit {
        Some(Figure::Length(length)) => Some(length),
        _ => None,
    }
}

/// The axle's part of the spec sheet.
fn axle_spec<'a>(case: &Case<'a>, place: Place) -> Option<&'a AxleSpec> {
    let corner = place.corner()?;
    case.sheet
        .axles
        .get(usize::from(corner.axle().number()) - 1)
}

/// The maker's figures of a friction part.
fn friction<'a>(case: &Case<'a>, place: Place, item: Item) -> Option<&'a FrictionSpec> {
    let axle = axle_spec(case, place)?;
    match item {
        Item::PadsThickness => axle.pads.as_ref(),
        Item::LiningsThickness => axle.linings.as_ref(),
        _ => None,
    }
}

/// The size of a wearing part when new.
pub(super) fn new_size(case: &Case<'_>, place: Place, item: Item) -> Option<Length> {
    let axle = axle_spec(case, place)?;
    match item {
        Item::DiscThickness => axle.disc.as_ref()?.new.as_ref().map(|n| n.value),
        Item::DrumDiameter => axle.drum.as_ref()?.new.as_ref().map(|n| n.value),
        _ => friction(case, place, item).and_then(FrictionSpec::new_friction),
    }
}

fn wear(case: &Case<'_>, forms: &Forms, finding: &Finding, beyond: bool, said: &mut Vec<String>) {
    let words = &forms.words;
    let Some(value) = length_of(finding) else {
        return;
    };
    let limit = limit_length(finding);
    if limit == Some(value) {
        said.push(words.plain("why-at-limit"));
    } else if !beyond && limit.is_some() && finding.proof != Some(Proof::ProvenIn) {
        said.push(words.plain("why-unproven"));
    }
    let share = i128::from(case.policy.friction_stop.value.thousandths());
    let half = friction(case, finding.place, finding.item)
        .and_then(FrictionSpec::min_friction)
        .is_some_and(|min| i128::from(value.nm()) * 100_000 < i128::from(min.nm()) * share);
    if half && case.policy.friction_stop.value.thousandths() == 50_000 {
        said.push(words.plain("why-half"));
    }
    let room = match finding.item {
        Item::DiscThickness => Some(case.policy.disc_left_advise.value),
        Item::LiningsThickness => Some(case.policy.linings_margin.value),
        _ => None,
    };
    if let (Some(limit), Some(room)) = (limit, room) {
        let left = value - limit;
        // What is not proven is not counted on.
        if left > Length::ZERO && left <= room && finding.proof == Some(Proof::ProvenIn) {
            let left = forms.length(left, places(finding.item), Toward::Down);
            said.push(words.say("why-little-left", &[("left", left.into())]));
        }
    }
    let plan = case.policy.pads_plan.value;
    if finding.item == Item::PadsThickness && !beyond && value <= plan {
        let plan = forms.length(plan, 1, Toward::Nearest);
        said.push(words.say("why-plan", &[("plan", plan.into())]));
    }
    let service = case
        .sheet
        .service
        .distance
        .as_ref()
        .map(|d| d.value.mm().div_euclid(1_000_000));
    if let Some(left) = super::lower_km(finding)
        && !beyond
        && service.is_some_and(|service| left < service)
    {
        let km = forms.km(left, Toward::Down);
        said.push(words.say("why-forecast", &[("km", km.into())]));
    }
    if length_chain(case, finding.place, finding.item)
        .is_some_and(|chain| chain.mark_differs.is_some())
    {
        said.push(words.plain("why-mark"));
    }
}

fn complains_of_judder(case: &Case<'_>, phase: Phase) -> bool {
    let stated = case
        .job
        .opening
        .as_ref()
        .is_some_and(|o| o.symptoms.contains(&Symptom::Judder));
    let gone = matches!(
        case.job.complaint,
        Some((_, crate::job::Complaint::Gone, _))
    );
    stated && !(phase == Phase::AsLeft && gone)
}

fn correctable(
    case: &Case<'_>,
    forms: &Forms,
    finding: &Finding,
    beyond: bool,
    said: &mut Vec<String>,
) {
    let words = &forms.words;
    let proven = finding.proof == Some(Proof::ProvenIn);
    let judder = finding.item != Item::BearingFloat && complains_of_judder(case, finding.phase);
    let floor = matches!(&finding.results, Some(Results::Variation { dtv_um, dtv_floor_um, .. }) if dtv_um <= dtv_floor_um);
    if floor {
        said.push(words.plain("why-floor"));
    } else if finding.verdict == ItemVerdict::Advise
        && finding.limit.is_some()
        && (beyond || !proven)
    {
        if !beyond {
            said.push(words.plain("why-unproven"));
        }
        said.push(words.plain("why-again"));
    } else if finding.verdict == ItemVerdict::Advise && finding.value.is_some() {
        let policy = case.policy;
        let watch = match (finding.item, judder) {
            (Item::DiscVariation, _) if length_of(finding) > Some(policy.dtv_advise.value) => {
                Some(policy.dtv_advise.value)
            }
            (Item::DiscVariation, true) => Some(policy.dtv_advise_judder.value),
            (Item::DiscRunout, true) => Some(policy.runout_advise_judder.value),
            _ => None,
        };
        if let Some(watch) = watch.filter(|watch| length_of(finding) > Some(*watch)) {
            let limit = forms.length(watch, 3, Toward::Nearest);
            said.push(words.say("why-more-than", &[("limit", limit.into())]));
        }
    }
    if judder {
        said.push(words.plain("why-shakes"));
    }
}

fn difference(case: &Case<'_>, forms: &Forms, finding: &Finding, said: &mut Vec<String>) {
    let Some(Results::Difference { difference_mm }) = &finding.results else {
        return;
    };
    // In doubt are the readings then, and not the vehicle.
    if finding.is_doubt_only() {
        return;
    }
    let first = *difference_mm < 0.0;
    let (id, allowed) = match finding.item {
        Item::PadsInnerOuter if first => ("why-inner", case.policy.pads_inner_outer.value),
        Item::PadsInnerOuter => ("why-outer", case.policy.pads_inner_outer.value),
        Item::AxleDiscDifference if first => ("why-side-left", case.policy.disc_left_right.value),
        Item::AxleDiscDifference => ("why-side-right", case.policy.disc_left_right.value),
        _ if first => ("why-side-left", case.policy.pads_left_right.value),
        _ => ("why-side-right", case.policy.pads_left_right.value),
    };
    said.push(forms.words.plain(id));
    let allowed = forms.length(allowed, places(finding.item), Toward::Nearest);
    said.push(
        forms
            .words
            .say("why-more-than", &[("limit", allowed.into())]),
    );
}

/// Whether the gauge behind a value could not prove a pass: none logged, unknown, out of
/// calibration, mixed, or a micrometer without a good zero check.
fn gauge_in_doubt(case: &Case<'_>, finding: &Finding) -> bool {
    if finding.item.kind() == Kind::Look {
        return false;
    }
    let (place, item) = match finding.item {
        Item::DiscVariation => (finding.place, Item::DiscThickness),
        Item::AxleImbalance => (Place::Vehicle, Item::ServiceEfficiency),
        Item::PadsInnerOuter | Item::AxleDiscDifference | Item::AxlePadDifference => return false,
        other => (finding.place, other),
    };
    let Some(take) = case.set_judged(place, item, finding.phase) else {
        return false;
    };
    let Some(last) = take.last() else {
        return false;
    };
    let mut names: Vec<&str> = take
        .readings()
        .filter_map(|r| r.event.instrument.as_deref())
        .collect();
    names.sort_unstable();
    names.dedup();
    let Some(id) = last.event.instrument.as_deref() else {
        return true;
    };
    let Some(instrument) = case.register.get(id) else {
        return true;
    };
    let at = last.meta.at;
    let unfit =
        instrument.uncalibrated(at).is_some() || case.register.failed_check(id, at).is_some();
    if names.len() > 1 || unfit {
        return true;
    }
    if item == Item::DiscThickness && instrument.kind == InstrumentKind::Micrometer {
        return match case.job.zero_error(id, last.meta.seq) {
            None => true,
            Some(check) => {
                check.event.zero_error.abs() > allowed_zero_error(instrument, case.policy)
            }
        };
    }
    false
}
