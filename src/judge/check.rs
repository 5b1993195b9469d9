//! Judging at the bench: the rules of a job's items, for readings without a job.
//!
//! A bench check knows one limit: the figure it is given, which counts as a maker's. Where none is
//! given, policy stands in for the same items as in a job (thickness variation and run-out), and
//! everything else is NO LIMIT.
//!
//! # Examples
//!
//! ```
//! use brakecorner::judge::{ItemVerdict, check::{Bench, pads}};
//! use brakecorner::measure::pad::{self, PadReadings};
//! use brakecorner::spec::Policy;
//! use brakecorner::units::Length;
//!
//! let um = |v: i64| Length::from_nm(v * 1000);
//! let policy = Policy::builtin();
//! let bench = Bench { limit: Some(um(2_000)), judder: false, cautions: &[], policy: &policy };
//! let readings = PadReadings { inner: vec![um(5_200)], outer: vec![um(5_400)] };
//! let gauge = brakecorner::judge::check::pad_gauge(&policy);
//! let finding = pads(&pad::pads(&readings, &gauge)?, &bench);
//! assert_eq!(finding.verdict, ItemVerdict::Pass);
//! # Ok::<(), brakecorner::measure::MeasureError>(())
//! ```

use std::collections::BTreeMap;

use super::decide::Draft;
use super::finding::Finding;
use super::vehicle::Statute;
use super::{Figure, case, disc, friction, scope, vehicle, wear as outlook};
use crate::job::{Axle, InstrumentKind, Item, Phase, Place};
use crate::measure::MeasureError;
use crate::measure::bearing::EndFloat;
use crate::measure::disc::Thickness;
use crate::measure::drum::Drum;
use crate::measure::pad::{Friction, Pads};
use crate::measure::rollers::{self, AxleForces, Counted, Percent};
use crate::measure::runout::Runout;
use crate::measure::uncertainty::Gauge;
use crate::measure::wear::{Forecast, ForecastMethod};
use crate::spec::{
    Authority, Exceptions, FluidLimits, Limit, LimitBound, LimitChain, LimitSources, Policy,
    RulePack, VehicleFacts,
};
use crate::units::{Distance, Length, Temperature};

/// What a bench check is judged by.
#[derive(Clone, Copy, Debug)]
pub struct Bench<'a> {
    /// The limit, taken as a maker's figure.
    pub limit: Option<Length>,
    /// Judder is complained of.
    pub judder: bool,
    /// Why no PASS may come from the readings; empty when one may.
    pub cautions: &'a [String],
    /// The policy.
    pub policy: &'a Policy,
}

/// Why a micrometer with this zero error gives no PASS; `None` while the policy allows it.
#[must_use]
pub fn zero_caution(zero_error: Length, resolution: Length, policy: &Policy) -> Option<String> {
    let allowed = case::allowed_zero(resolution, policy);
    (zero_error.abs() > allowed)
        .then(|| case::zero_error_words("the micrometer", zero_error, allowed))
}

impl Bench<'_> {
    fn chain(&self, bound: LimitBound) -> LimitChain<Length> {
        LimitChain {
            applied: self.limit.map(|value| Limit {
                value,
                bound,
                at_limit_passes: true,
                authority: Authority::Maker,
                source: "the maker's figure given".to_owned(),
                class: None,
                exceptions: Exceptions::default(),
            }),
            others: Vec::new(),
            mark_differs: None,
        }
    }

    /// The given limit, else what policy says where policy may stand in.
    fn or_policy(
        &self,
        lookup: impl Fn(&LimitSources<'_>) -> LimitChain<Length>,
    ) -> LimitChain<Length> {
        if self.limit.is_some() {
            return self.chain(LimitBound::AtMost);
        }
        let facts = VehicleFacts::default();
        lookup(&LimitSources {
            sheet: None,
            packs: &[],
            policy: self.policy,
            facts: &facts,
        })
    }
}

fn draft(policy: &Policy, item: Item) -> Draft {
    Draft::new(policy, Place::Vehicle, item, Phase::AsFound)
}

fn measured(bench: &Bench<'_>, item: Item, value: Length, u: Length) -> Draft {
    let mut draft = draft(bench.policy, item);
    draft.value(Figure::Length(value), Some(u.mm()));
    draft
}

/// A micrometer or dial indicator of which nothing is known: a job's own fallbacks.
#[must_use]
pub fn fine_gauge(policy: &Policy) -> Gauge {
    case::gauge(None, InstrumentKind::Micrometer, policy)
}

/// A pad gauge of which nothing is known: a job's own fallbacks.
#[must_use]
pub fn pad_gauge(policy: &Policy) -> Gauge {
    case::gauge(None, InstrumentKind::PadGauge, policy)
}

/// A drum gauge of which nothing is known: a job's own fallbacks.
#[must_use]
pub fn drum_gauge(policy: &Policy) -> Gauge {
    case::gauge(None, InstrumentKind::DrumGauge, policy)
}

/// Judges the thinnest point of a disc.
#[must_use]
pub fn disc_thickness(ring: &Thickness, bench: &Bench<'_>) -> Finding {
    let mut draft = measured(bench, Item::DiscThickness, ring.t_min, ring.u);
    let chain = bench.chain(LimitBound::AtLeast);
    disc::thickness_rules(&mut draft, ring, &chain, bench.policy);
    draft.cautions(bench.cautions);
    draft.finish()
}

/// Judges a thickness variation with its uncertainty against the given limit or policy's; `floor` is
/// what a perfect disc may show with that many readings a point.
#[must_use]
pub fn disc_variation(
    (dtv, u): (Length, Length),
    (floor, readings): (Length, usize),
    bench: &Bench<'_>,
) -> Finding {
    let mut draft = measured(bench, Item::DiscVariation, dtv, u);
    let chain = bench.or_policy(|sources| sources.disc_variation());
    let variation = disc::Variation {
        dtv,
        u,
        floor,
        readings,
    };
    disc::variation_rules(&mut draft, &variation, &chain, bench.judder, bench.policy);
    draft.cautions(bench.cautions);
    draft.finish()
}

/// Judges a run-out against the given limit or policy's; `judged` is the value to judge with its
/// standard uncertainty, which may have been scaled to another radius. NOT INSPECTED when the dial
/// did not return to its start.
#[must_use]
pub fn disc_runout(result: &Runout, judged: (Length, Length), bench: &Bench<'_>) -> Finding {
    if let Some(reason) = disc::set_up_moved(result, None) {
        return Finding::not_inspected(Place::Vehicle, Item::DiscRunout, Phase::AsFound, reason);
    }
    let order2 = result.fit.as_ref().and_then(|fit| fit.order2);
    tilt(judged, order2, bench)
}

/// Judges a run-out that is not one ring's own: predicted for a clocking, or left by a plate.
#[must_use]
pub fn predicted_runout(tir: Length, u: Length, bench: &Bench<'_>) -> Finding {
    tilt((tir, u), None, bench)
}

fn tilt((value, u): (Length, Length), order2: Option<Length>, bench: &Bench<'_>) -> Finding {
    let mut draft = measured(bench, Item::DiscRunout, value, u);
    let chain = bench.or_policy(|sources| sources.disc_runout());
    disc::runout_rules(
        &mut draft,
        (value, u, order2),
        &chain,
        bench.judder,
        bench.policy,
    );
    draft.finish()
}

/// Judges the run-out of a hub face, which can be put right and measured again.
#[must_use]
pub fn hub_face(result: &Runout, bench: &Bench<'_>) -> Finding {
    if let Some(reason) = disc::set_up_moved(result, None) {
        return Finding::not_inspected(Place::Vehicle, Item::HubFace, Phase::AsFound, reason);
    }
    let mut draft = measured(bench, Item::HubFace, result.judged, result.u);
    let chain = bench.chain(LimitBound::AtMost);
    draft.correctable(
        result.judged,
        result.u,
        &chain,
        bench.judder,
        "limit of the hub face's run-out",
    );
    draft.finish()
}

/// Judges the end float of a wheel bearing.
#[must_use]
pub fn bearing_float(float: &EndFloat, bench: &Bench<'_>) -> Finding {
    let mut draft = measured(bench, Item::BearingFloat, float.float, float.u);
    let chain = bench.chain(LimitBound::AtMost);
    draft.correctable(float.float, float.u, &chain, false, "end-float limit");
    draft.finish()
}

/// Judges the thinnest place of both pads.
#[must_use]
pub fn pads(pads: &Pads, bench: &Bench<'_>) -> Finding {
    let mut draft = measured(bench, Item::PadsThickness, pads.min, pads.u);
    let chain = bench.chain(LimitBound::AtLeast);
    let thinnest = (pads.min, pads.u);
    friction::pad_rules(&mut draft, thinnest, &chain, bench.limit, bench.policy);
    draft.cautions(bench.cautions);
    draft.finish()
}

/// Judges the difference between inner and outer pad.
#[must_use]
pub fn pads_inner_outer(pads: &Pads, bench: &Bench<'_>) -> Finding {
    let mut draft = draft(bench.policy, Item::PadsInnerOuter);
    draft.value(Figure::Length(pads.inner_outer.abs()), None);
    friction::inner_outer_rules(&mut draft, pads.inner_outer, bench.policy);
    draft.finish()
}

/// Judges the thinnest place of a lining.
#[must_use]
pub fn lining(lining: &Friction, bench: &Bench<'_>) -> Finding {
    let mut draft = measured(bench, Item::LiningsThickness, lining.min, lining.u);
    let chain = bench.chain(LimitBound::AtLeast);
    let thinnest = (lining.min, lining.u);
    friction::lining_rules(&mut draft, thinnest, &chain, bench.limit, bench.policy);
    draft.cautions(bench.cautions);
    draft.finish()
}

/// Judges the largest diameter of a drum.
#[must_use]
pub fn drum(drum: &Drum, bench: &Bench<'_>) -> Finding {
    let mut draft = measured(bench, Item::DrumDiameter, drum.max, drum.u);
    let chain = bench.chain(LimitBound::AtMost);
    draft.one_way(drum.max, drum.u, &chain, "maximum drum diameter");
    draft.cautions(bench.cautions);
    draft.finish()
}

/// Judges how far a part that wears may still go: what it measures now, and whether the lower bound
/// of the distance left reaches the next service.
#[must_use]
pub fn wear(
    (thickness, u): (Length, Length),
    forecast: Option<&Forecast>,
    odometer: Distance,
    service: Distance,
    bench: &Bench<'_>,
) -> Finding {
    let mut draft = measured(bench, Item::PadsThickness, thickness, u);
    let chain = bench.chain(LimitBound::AtLeast);
    draft.one_way(thickness, u, &chain, "minimum thickness");
    if let Some(forecast) = forecast {
        outlook::plan_rules(&mut draft, forecast, odometer, service, None);
    }
    draft.finish()
}

/// The evidence a forecast rests on, in words.
#[must_use]
pub const fn method_words(method: ForecastMethod) -> &'static str {
    outlook::method_words(method)
}

/// What brake forces are judged by.
#[derive(Clone, Copy, Debug)]
pub struct Rollers<'a> {
    /// The rule packs chosen.
    pub packs: &'a [RulePack],
    /// The policy.
    pub policy: &'a Policy,
    /// What is known of the vehicle.
    pub facts: &'a VehicleFacts,
}

impl<'a> Rollers<'a> {
    const fn sources<'f>(&self, facts: &'f VehicleFacts) -> LimitSources<'f>
    where
        'a: 'f,
    {
        LimitSources {
            sheet: None,
            packs: self.packs,
            policy: self.policy,
            facts,
        }
    }
}

/// Judges the forces of an axle; the second value says whether they count under the rule applied.
///
/// # Errors
/// [`MeasureError`] for a force that is none.
pub fn imbalance(
    axle: Axle,
    forces: &AxleForces,
    by: &Rollers<'_>,
) -> Result<(Finding, Counted), MeasureError> {
    let place = Place::Axle(axle);
    let item = Item::AxleImbalance;
    let by_default = rollers::DEFAULT_FORCE_ERROR;
    let judge = |facts: &VehicleFacts| {
        let mut draft = Draft::new(by.policy, place, item, Phase::AsFound);
        let statute = Statute {
            chain: &by.sources(facts).imbalance(),
            packs: by.packs,
            facts,
        };
        let counted = vehicle::imbalance_rules(&mut draft, axle, (forces, by_default), &statute)?;
        Ok((draft.finish(), counted))
    };
    let (plain, counted) = judge(by.facts)?;
    let tried = scope::for_each_possible(by.packs, item, by.facts, |facts| {
        judge(facts).ok().map(|(finding, _)| finding)
    });
    Ok((tried.unwrap_or(plain), counted))
}

/// Judges the efficiency of the service or the parking brake (`item`) by the forces of its axles.
#[must_use]
pub fn efficiency(
    item: Item,
    percent: Percent,
    axles: &BTreeMap<Axle, AxleForces>,
    by: &Rollers<'_>,
) -> Finding {
    let judge = |facts: &VehicleFacts| {
        let chain = match item {
            Item::ParkingEfficiency => by.sources(facts).parking_efficiency(),
            _ => by.sources(facts).service_efficiency(),
        };
        let mut draft = draft(by.policy, item);
        let statute = Statute {
            chain: &chain,
            packs: by.packs,
            facts,
        };
        vehicle::efficiency_rules(&mut draft, percent, axles, &statute);
        draft.finish()
    };
    scope::for_each_possible(by.packs, item, by.facts, |facts| Some(judge(facts)))
        .unwrap_or_else(|| judge(by.facts))
}

/// Judges a boiling point against the limits of its grade.
#[must_use]
pub fn fluid(
    boiling: Temperature,
    limits: &FluidLimits,
    packs: &[RulePack],
    policy: &Policy,
) -> Finding {
    let facts = VehicleFacts {
        fluid_grade: Some(limits.grade.clone()),
        ..VehicleFacts::default()
    };
    let sources = LimitSources {
        sheet: None,
        packs,
        policy,
        facts: &facts,
    };
    let mut draft = draft(policy, Item::FluidBoiling);
    draft.value(Figure::Temperature(boiling), None);
    let watch = vehicle::fluid_watch(limits, policy);
    draft.temperature(boiling, &sources.fluid_boiling(), Some(watch));
    draft.finish()
}
