//! Everything a judgement is a function of.

use super::state::{self, Cured, JudgedSet, LastState, States};
use crate::job::{
    Axle, Complaint, Corner, Cure, Deed, Depth, Effect, Fault, Instrument, InstrumentKind, Item,
    Job, Observation, Phase, Place, Quantity, Reading, Register, Scope, Seen, Slot, Symptom, Take,
    ZeroCheck,
};
use crate::measure::uncertainty::Gauge;
use crate::spec::{
    self, AxleSpec, BrakeKind, Fact, LimitSources, Policy, RulePack, Schedule, Sheet, VehicleFacts,
};
use crate::units::{Distance, Length};

/// A job together with what it is judged by: all that a verdict depends on.
#[derive(Clone, Copy, Debug)]
pub struct Case<'a> {
    /// What happened.
    pub job: &'a Job,
    /// The vehicle's spec sheet.
    pub sheet: &'a Sheet,
    /// Rule packs in force.
    pub packs: &'a [RulePack],
    /// The workshop's policy.
    pub policy: &'a Policy,
    /// The work schedule.
    pub schedule: &'a Schedule,
    /// The instruments.
    pub register: &'a Register,
    /// What is taken for known of the vehicle while it is tried whether that would decide a verdict;
    /// nothing otherwise.
    pub assumed: Option<&'a VehicleFacts>,
}

/// A set of readings with the gauge behind it.
pub(super) struct Measured<'a> {
    /// The readings.
    pub(super) take: &'a Take,
    /// What the gauge is good for.
    pub(super) gauge: Gauge,
    /// Zero error to subtract.
    pub(super) zero_error: Length,
    /// Why no PASS may come from these readings; empty when one may.
    pub(super) cautions: Vec<String>,
}

impl<'a> Case<'a> {
    /// The axle's part of the spec sheet.
    pub(crate) fn axle(&self, axle: Axle) -> Option<&'a AxleSpec> {
        self.sheet.axles.get(usize::from(axle.number()) - 1)
    }

    /// Number of axles on the sheet.
    pub(crate) fn axles(&self) -> impl Iterator<Item = Axle> + use<> {
        (1..=u8::try_from(self.sheet.axles.len()).unwrap_or(9)).filter_map(Axle::numbered)
    }

    /// What rule packs need to know about the vehicle and one of its axles: what was entered for the
    /// job, else what its sheet says.
    pub(crate) fn facts(&self, axle: Option<Axle>) -> VehicleFacts {
        let mut facts = VehicleFacts::of_sheet(self.sheet);
        if let Some(opening) = &self.job.opening {
            if !opening.class.is_empty() {
                facts.class = Some(opening.class.clone());
            }
            facts.first_used = opening.first_used;
            facts = facts.built(&opening.build);
        }
        if let Some(axle) = axle.and_then(|axle| self.axle(axle)) {
            facts = facts.on_axle(axle);
        }
        match self.assumed {
            Some(assumed) => facts.or(assumed),
            None => facts,
        }
    }

    /// The facts nobody entered on which it hangs whether a rule of the packs applies somewhere.
    #[must_use]
    pub fn unknown_facts(&self) -> Vec<Fact> {
        let mut facts: Vec<Fact> = Item::ALL
            .iter()
            .flat_map(|item| {
                let axles: Vec<Option<Axle>> = if item.scope() == Scope::Vehicle {
                    vec![None]
                } else {
                    self.axles()
                        .filter(|axle| self.inspects(*axle, *item))
                        .map(Some)
                        .collect()
                };
                axles
                    .into_iter()
                    .flat_map(|axle| spec::unknown_facts(self.packs, item.id(), &self.facts(axle)))
            })
            .collect();
        facts.sort_unstable();
        facts.dedup();
        facts
    }

    /// Whether an item can be inspected at an axle with its kind of brake.
    fn inspects(&self, axle: Axle, item: Item) -> bool {
        let scheduled = |item: &spec::ScheduledItem| item.item.parse::<Item>().ok();
        let depth = spec::Depth::Full;
        let brake = self.brake(axle);
        let corner = self.schedule.corner_items(depth, brake);
        let own = self.schedule.axle_items(depth, brake);
        item.scope() == Scope::Axle && item == Item::AxleImbalance
            || corner.chain(own).filter_map(scheduled).any(|of| of == item)
    }

    /// Where the limits of these facts come from.
    pub(super) const fn sources<'f>(&self, facts: &'f VehicleFacts) -> LimitSources<'f>
    where
        'a: 'f,
    {
        LimitSources {
            sheet: Some(self.sheet),
            packs: self.packs,
            policy: self.policy,
            facts,
        }
    }

    /// The depth of the inspection: what was chosen, but full when judder or pull is complained of.
    #[must_use]
    pub fn depth(&self) -> Depth {
        match &self.job.opening {
            Some(opening)
                if opening.depth == Depth::Quick
                    && !opening.symptoms.contains(&Symptom::Judder)
                    && !opening.symptoms.contains(&Symptom::Pull) =>
            {
                Depth::Quick
            }
            _ => Depth::Full,
        }
    }

    /// Whether a complaint stands in a phase: as found it does; as left until the road test says
    /// it is gone.
    pub(super) fn complains(&self, symptom: Symptom, phase: Phase) -> bool {
        let stated = self
            .job
            .opening
            .as_ref()
            .is_some_and(|o| o.symptoms.contains(&symptom));
        stated && !(phase == Phase::AsLeft && self.put_right(symptom))
    }

    /// Whether the road test says that a symptom is gone, after something was done that may have
    /// cured it; gone by itself it may come again.
    fn put_right(&self, symptom: Symptom) -> bool {
        let Some((meta, Complaint::Gone, _)) = &self.job.complaint else {
            return false;
        };
        let about = |cure: Cure| {
            let mut items = symptom.shows_at().iter();
            items.any(|item| cure.effect(*item) != Effect::Untouched)
        };
        let mut done = self.job.done.iter();
        done.any(|done| done.meta.seq < meta.seq && about(done.cure))
    }

    /// Whether a symptom that was complained of is put right.
    pub(super) fn complaint_gone(&self) -> bool {
        let opening = self.job.opening.as_ref();
        opening.is_some_and(|o| o.symptoms.iter().any(|symptom| self.put_right(*symptom)))
    }

    pub(super) const fn spec_depth(&self, depth: Depth) -> spec::Depth {
        match depth {
            Depth::Quick => spec::Depth::Quick,
            Depth::Full => spec::Depth::Full,
        }
    }

    fn brake(&self, axle: Axle) -> BrakeKind {
        self.axle(axle)
            .map_or(BrakeKind::Disc { vented: false }, |axle| axle.brake)
    }

    /// Items scheduled at a corner, in the order of the work.
    #[must_use]
    pub fn corner_items(&self, corner: Corner) -> Vec<Item> {
        let depth = self.spec_depth(self.depth());
        items(self.schedule.corner_items(depth, self.brake(corner.axle())))
            .filter(|item| !self.job.absent.contains_key(&(corner, *item)))
            .collect()
    }

    /// Items scheduled for an axle.
    #[must_use]
    pub fn axle_items(&self, axle: Axle) -> Vec<Item> {
        let depth = self.spec_depth(self.depth());
        items(self.schedule.axle_items(depth, self.brake(axle))).collect()
    }

    /// Items scheduled for the whole vehicle.
    #[must_use]
    pub fn vehicle_items(&self) -> Vec<Item> {
        items(self.schedule.vehicle_items(self.spec_depth(self.depth()))).collect()
    }

    /// Whether the schedule lets an item be left out.
    #[must_use]
    pub fn optional(&self, item: Item) -> bool {
        items(&self.schedule.optional).any(|optional| optional == item)
    }

    /// Whether the bearing of a corner is judged by hand: nobody's figure for its end float is on file,
    /// and the schedule does not insist on measuring it all the same.
    #[must_use]
    pub fn bearing_is_felt(&self, corner: Corner) -> bool {
        let facts = self.facts(Some(corner.axle()));
        self.optional(Item::BearingFloat) && self.sources(&facts).bearing_float().applied.is_none()
    }

    /// Whether an item that may be left out was: nothing was entered for it but why not.
    pub(super) fn left_out(&self, place: Place, item: Item) -> bool {
        // The look at a bearing is never left out.
        let may_be = item != Item::BearingFloat && self.optional(item);
        may_be
            && [Phase::AsFound, Phase::AsLeft].into_iter().all(|phase| {
                let seen = self.job.seen(place, item, phase);
                let told = seen.is_none_or(|seen| {
                    matches!(seen.observation, Observation::NotInspected { .. })
                });
                told && self.job.takes(place, item, phase).next().is_none()
            })
    }

    /// Whether an item is due once the work is done.
    pub(super) fn due_at_refit(&self, item: Item) -> bool {
        items(&self.schedule.refit).any(|due| due == item)
    }

    /// Points of a thickness or run-out ring.
    #[must_use]
    pub fn ring_points(&self) -> u16 {
        let plan = self.schedule.plan(self.spec_depth(self.depth()));
        u16::try_from(plan.points(self.sheet.wheel.fasteners)).unwrap_or(u16::MAX)
    }

    /// The set that an item's verdict rests on in a state, with the gauge behind it.
    pub(super) fn measured(
        &self,
        place: Place,
        item: Item,
        phase: Phase,
        kind: InstrumentKind,
    ) -> Option<Measured<'a>> {
        self.taken(self.set_judged(place, item, phase)?, kind)
    }

    /// A set of readings with the gauge behind it.
    pub(super) fn taken(&self, take: &'a Take, kind: InstrumentKind) -> Option<Measured<'a>> {
        // A temperature or a remark of the set has no gauge of its own; the gauge is the readings'.
        let last = take
            .readings()
            .filter(|reading| reading.event.instrument.is_some())
            .max_by_key(|reading| reading.meta.seq)
            .or_else(|| take.last())?;
        Some(self.behind(take, last, kind))
    }

    /// The sets of an item that stand in a state: of several the whole ones whose doubt no later one
    /// settles. None once the part they belong to is gone.
    pub(super) fn sets_standing(&self, place: Place, item: Item, phase: Phase) -> Vec<&'a Take> {
        let judged = self.sets_in(place, item, phase);
        let stands = state::standing(&judged);
        judged
            .into_iter()
            .zip(stands)
            .filter(|(_, stands)| *stands)
            .map(|(set, _)| set.take)
            .collect()
    }

    /// The set an item's verdict rests on in a state.
    pub(crate) fn set_judged(&self, place: Place, item: Item, phase: Phase) -> Option<&'a Take> {
        let judged = self.sets_in(place, item, phase);
        if let [only] = &judged[..] {
            return Some(only.take);
        }
        let worst = state::worst_of(judged)?.set?;
        self.job
            .takes(place, item, worst.phase)
            .find(|take| take.number == worst.take)
    }

    fn sets_in(&self, place: Place, item: Item, phase: Phase) -> Vec<JudgedSet<'a>> {
        let states = States::of(self, place, item);
        let found = || states.found().0;
        let sets = match phase {
            Phase::AsFound => found(),
            Phase::AsLeft => match states.last() {
                LastState::Void => Vec::new(),
                LastState::AsFound => found(),
                LastState::Same => states.first().0,
                LastState::Again { sets, .. } if sets.is_empty() => found(),
                LastState::Again { sets, .. } => sets,
            },
        };
        super::judge_sets(self, (place, item), &sets, phase)
    }

    /// The first defect an item shows in a state, by its code, if it shows one.
    pub(super) fn defect_code(&self, place: Place, item: Item, phase: Phase) -> Option<&'a str> {
        self.defect_codes(place, item, phase).into_iter().next()
    }

    /// Every defect an item shows in a state, by its code.
    pub(super) fn defect_codes(&self, place: Place, item: Item, phase: Phase) -> Vec<&'a str> {
        let states = States::of(self, place, item);
        let (_, found) = states.found();
        if phase == Phase::AsFound {
            return defects_seen(&found);
        }
        match states.last() {
            LastState::Void => Vec::new(),
            LastState::AsFound => defects_seen(&found),
            LastState::Same => defects_seen(&states.first().1),
            LastState::Again { looks, .. } => {
                let mut codes = defects_seen(&looks);
                codes.extend(defects_seen(&found).into_iter().filter(|code| {
                    states.cured(self, place, item, &[Fault::Defect(code)]) != Cured::Yes
                }));
                codes
            }
        }
    }

    /// The clocking a corner's disc has: as it was turned last, else as its first ring was taken.
    #[must_use]
    pub fn clocking_now(&self, corner: Corner) -> Option<u8> {
        let place = Place::Corner(corner);
        let turned = self
            .job
            .done_about(place)
            .filter_map(|done| match done.cure {
                Cure::Did(Deed::Reclocked { clocking }) => Some(clocking),
                _ => None,
            });
        let first = || {
            let sets = self.job.sets(place, Item::DiscRunout);
            let (_, take) = sets.first()?;
            Some(super::disc::clocking(take))
        };
        turned.last().or_else(first)
    }

    /// Whether something was done at a corner.
    pub(super) fn did(&self, corner: Corner, deed: Deed) -> bool {
        self.job
            .done_about(Place::Corner(corner))
            .any(|done| done.cure == Cure::Did(deed))
    }

    /// Whether a place is judged as left exactly as it was found: nothing was looked at or measured
    /// again, nothing was fitted, and no complaint went away.
    pub(super) fn unchanged(&self, place: Place) -> bool {
        !self.complaint_gone()
            && self.job.done_about(place).next().is_none()
            && !self.job.touched_at(place, Phase::AsLeft)
    }

    /// The corners of the vehicle.
    pub(super) fn corners(&self) -> impl Iterator<Item = Corner> + use<> {
        self.axles().flat_map(Axle::corners)
    }

    /// Whether a part fitted at a place is what an item is judged from.
    pub(super) fn renewed(&self, place: Place, item: Item) -> bool {
        self.job
            .fitted_at(place)
            .any(|fitted| fitted.part.voids(item))
    }

    /// Distance to the next service: the sheet's, else the policy's.
    pub(super) fn service_distance(&self) -> Distance {
        let sheet = self.sheet.service.distance.as_ref();
        sheet.map_or(self.policy.service_distance.value, |distance| {
            distance.value
        })
    }

    /// The odometer of the visit.
    pub(super) fn odometer(&self) -> Distance {
        let opening = self.job.opening.as_ref();
        opening.map_or(Distance::ZERO, |opening| opening.odometer)
    }

    fn behind(&self, take: &'a Take, last: &Reading, kind: InstrumentKind) -> Measured<'a> {
        let mut cautions = Vec::new();
        let mut names: Vec<&str> = take
            .readings()
            .filter_map(|r| r.event.instrument.as_deref())
            .collect();
        names.sort_unstable();
        names.dedup();
        let id = last.event.instrument.as_deref();
        let instrument = id.and_then(|id| self.register.get(id));
        match (id, instrument) {
            (None, _) => cautions.push("no instrument was logged for these readings".to_owned()),
            (Some(id), None) => cautions.push(format!("instrument {id} is not in the register")),
            (Some(id), Some(instrument)) => {
                let mut readings = gauged(take).chain([last]);
                cautions.extend(readings.find_map(|r| instrument.uncalibrated(r.meta.at)));
                cautions.extend(of_another_kind(instrument, id, kind));
                cautions.extend(out_of_range(instrument, id, kind, take));
                if gauged(take).any(|reading| reading.event.instrument.is_none()) {
                    cautions.push("no instrument was logged for some of these readings".to_owned());
                }
            }
        }
        if names.len() > 1 {
            cautions.push(format!(
                "readings of {} are mixed in one set",
                names.join(" and ")
            ));
        }
        let zero = id.and_then(|id| self.job.zero_error(id, last.meta.seq));
        let zero_error = zero.map_or(Length::ZERO, |check| check.event.zero_error);
        let fell = id.filter(|id| self.job.fell_unchecked(id, last.meta.seq));
        cautions.extend(match (fell, id) {
            (Some(id), _) => Some(format!(
                "{id} fell and was not checked before these readings"
            )),
            (None, _) if kind == InstrumentKind::Micrometer => {
                self.zero_caution("the micrometer", instrument, zero)
            }
            // Only a micrometer must be checked for every job; what was checked must be good.
            (None, id) => zero.and_then(|_| self.zero_caution(id?, instrument, zero)),
        });
        let failed = id.and_then(|id| self.register.failed_check(id, last.meta.at));
        // A good one in the job itself came later and says more.
        let failed = failed.filter(|check| zero.is_none_or(|zero| zero.meta.at < check.at));
        cautions.extend(failed.map(|check| {
            format!(
                "{} failed its check on {} (zero error {}, spread {}): adjust it, check it and measure again",
                check.instrument,
                check.at.date_naive(),
                check.zero_error,
                check.spread
            )
        }));
        let gauge = gauge(instrument, kind, self.policy);
        Measured {
            take,
            gauge,
            zero_error,
            cautions,
        }
    }

    fn zero_caution(
        &self,
        name: &str,
        instrument: Option<&Instrument>,
        zero: Option<&ZeroCheck>,
    ) -> Option<String> {
        let Some(zero) = zero else {
            return Some(format!("{name} was not zero-checked for this job"));
        };
        let zero = zero.event.zero_error;
        let allowed = allowed_zero_error(instrument?, self.policy);
        (zero.abs() > allowed).then(|| zero_error_words(name, zero, allowed))
    }
}

/// The defects among looks.
fn defects_seen<'a>(looks: &[&'a Seen]) -> Vec<&'a str> {
    let code = |seen: &&'a Seen| match &seen.observation {
        Observation::Defect { code, .. } => Some(code.as_str()),
        _ => None,
    };
    looks.iter().filter_map(code).collect()
}

/// Why readings with too large a zero error give no PASS.
pub(super) fn zero_error_words(name: &str, zero: Length, allowed: Length) -> String {
    format!(
        "{name}'s zero error is {zero}, more than the {allowed} allowed: adjust it and measure again"
    )
}

/// The readings of a set that an instrument gave: a temperature, a mass or a lip's depth has none, or
/// one of its own.
fn gauged(take: &Take) -> impl Iterator<Item = &Reading> {
    take.readings().filter(|reading| {
        !matches!(
            reading.event.slot,
            Slot::Temperature
                | Slot::GaugeTemperature
                | Slot::Mass
                | Slot::Locked(_)
                | Slot::LipOuter(_)
                | Slot::LipInner(_)
        )
    })
}

fn of_another_kind(instrument: &Instrument, id: &str, kind: InstrumentKind) -> Option<String> {
    let word = |kind: InstrumentKind| kind.word().replace('_', " ");
    (instrument.kind != kind).then(|| {
        format!(
            "{id} is a {}, and these readings take a {}",
            word(instrument.kind),
            word(kind)
        )
    })
}

/// Why an instrument cannot have shown some of a set's readings: they lie outside its range. A dial
/// indicator is set to zero anywhere, so its travel must hold what the needle moved.
fn out_of_range(
    instrument: &Instrument,
    id: &str,
    kind: InstrumentKind,
    take: &Take,
) -> Option<String> {
    let readings = || gauged(take).filter(|r| r.event.instrument.as_deref() == Some(id));
    let quantity = |r: &Reading| Quantity::of(r.event.item, r.event.slot);
    let outside = if kind == InstrumentKind::DialIndicator {
        let (low, high) = instrument.range_of(Quantity::Length)?;
        let values = || readings().map(|r| r.event.entered.value);
        let needle = values()
            .max()?
            .max(0)
            .saturating_sub(values().min()?.min(0));
        (needle > high.saturating_sub(low)).then(|| Length::from_nm(needle).to_string())
    } else {
        // A set is of one quantity, or of two: the range's text is read once for each in a row.
        let mut range = None;
        let odd = readings().find(|r| {
            let (_, range) = match range {
                Some((of, range)) if of == quantity(r) => (of, range),
                _ => *range.insert((quantity(r), instrument.range_of(quantity(r)))),
            };
            range.is_some_and(|(low, high)| !(low..=high).contains(&r.event.entered.value))
        });
        odd.map(|r| format!("{} {}", r.event.entered.text, r.event.entered.unit))
    };
    outside.map(|value| {
        format!(
            "{value} is outside the range of {id} ({} {})",
            instrument.range, instrument.unit
        )
    })
}

/// Largest zero error with which an instrument may still be used, by its resolution.
#[must_use]
pub fn allowed_zero_error(instrument: &Instrument, policy: &Policy) -> Length {
    let resolution = instrument.resolution().ok().flatten().unwrap_or_default();
    allowed_zero(resolution, policy)
}

/// The same by the resolution itself.
pub(super) const fn allowed_zero(resolution: Length, policy: &Policy) -> Length {
    if resolution.nm() < 10_000 {
        policy.zero_error_fine.value
    } else {
        policy.zero_error_coarse.value
    }
}

/// What a gauge is good for, from the register; gaps are filled from the policy.
pub(super) fn gauge(
    instrument: Option<&Instrument>,
    kind: InstrumentKind,
    policy: &Policy,
) -> Gauge {
    let figure = |read: fn(&Instrument) -> Option<Length>| instrument.and_then(read);
    let own = figure(|i| i.repeatability().ok().flatten());
    let people = figure(|i| i.reproducibility().ok().flatten()).unwrap_or_default();
    let mut repeatability = own.unwrap_or(policy.gauge_repeatability.value);
    let mut zero_check = policy.zero_check_uncertainty.value;
    // What one person reads too large it is too large by at every point of a ring: it shifts a
    // thickness like a zero error does, and cancels in a thickness variation. A single reading has
    // no such other reading to cancel against.
    if kind == InstrumentKind::Micrometer {
        zero_check = in_quadrature(zero_check, people);
    } else {
        repeatability = in_quadrature(repeatability, people);
    }
    let fallback = match kind {
        InstrumentKind::PadGauge => Length::from_nm(100_000),
        InstrumentKind::DrumGauge => Length::from_nm(20_000),
        // Limits of error for micrometers up to 50 mm: DIN 863-1.
        _ => Length::from_nm(4_000),
    };
    Gauge {
        mpe: figure(|i| i.permissible_error().ok().flatten()).unwrap_or(fallback),
        resolution: figure(|i| i.resolution().ok().flatten()).unwrap_or(match kind {
            InstrumentKind::PadGauge => Length::from_nm(100_000),
            _ => Length::from_nm(10_000),
        }),
        repeatability,
        zero_check,
        // The degrees of freedom belong to the instrument's own study, not to the policy's figure.
        repeatability_dof: own
            .and(instrument)
            .and_then(|i| i.repeatability_dof)
            .filter(|dof| *dof > 0),
    }
}

/// The root of the sum of two squares; the first where nothing is added to it.
fn in_quadrature(one: Length, other: Length) -> Length {
    if other == Length::ZERO {
        return one;
    }
    let (one_mm, other_mm) = (one.mm(), other.mm());
    Length::from_mm((one_mm * one_mm + other_mm * other_mm).sqrt()).unwrap_or(one)
}

fn items<'a>(
    scheduled: impl IntoIterator<Item = &'a spec::ScheduledItem>,
) -> impl Iterator<Item = Item> {
    scheduled
        .into_iter()
        .filter_map(|scheduled| scheduled.item.parse().ok())
}
