//! The fold of a job's events into its present state.

mod kept;

use std::collections::{BTreeMap, BTreeSet};

use chrono::NaiveDate;

use super::desk::{Contact, Outcome, QuoteEdit, QuoteLine, RefitPoint, RetorqueCheck, WrenchValue};
use super::event::{ReadingEvent, TorqueTask};
use super::{
    Axle, Complaint, Corner, Cure, Deed, Event, GateItem, Item, LineId, Observation, Opening, Part,
    Phase, Place, Proceeding, Since, Slot, holds,
};
use crate::units::{Distance, Length};

pub use kept::{
    Done, Fitted, Meta, OverrideAsked, Reading, RunoutTake, Seen, StruckSet, Take, WheelClicks,
    ZeroCheck,
};

type Key = (Place, Item, Phase);

/// The present state of a job: everything that happened and was not struck out.
///
/// # Examples
/// ```
/// use brakecorner::job::{Event, Item, Job, Meta, Observation, Phase};
/// let meta = Meta { seq: 1, at: "2026-03-02T08:40:00+00:00".parse()?, by: "Ilse Varga".into() };
/// let hose = "RL".parse()?;
/// let mut job = Job::default();
/// job.apply(&meta, &Event::Seen {
///     place: hose, item: Item::Hose, phase: Phase::AsFound, observation: Observation::Sound,
/// });
/// assert!(job.seen(hose, Item::Hose, Phase::AsFound).is_some());
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
#[derive(Clone, Debug, Default)]
pub struct Job {
    /// How the job was opened.
    pub opening: Option<Opening>,
    /// Who opened it and when.
    pub opened: Option<Meta>,
    /// Thicknesses from before this job: corner, item, odometer, thickness.
    pub earlier: Vec<(Corner, Item, Distance, Length)>,
    /// The days of those of them whose day is known.
    pub earlier_days: BTreeMap<(Corner, Item, Distance), NaiveDate>,
    /// When parts were fitted before this job: odometer, and what they measured if anybody knows.
    pub fitted_before: BTreeMap<(Corner, Item), (Distance, Option<Length>)>,
    /// Parts with an earlier reading of which nobody knows whether it was still the same part.
    pub perhaps_renewed: BTreeSet<(Corner, Item)>,
    /// Clockings an axle's discs can be fitted in; an axle that is not here knows no bounds.
    pub clockings: BTreeMap<Axle, Vec<u8>>,
    /// Items the vehicle is built without, with who said so and when.
    pub absent: BTreeMap<(Corner, Item), (String, NaiveDate)>,
    /// Zero checks, in order.
    pub zero_checks: Vec<ZeroCheck>,
    /// Instruments that fell or were knocked, in order.
    pub dropped: Vec<(Meta, String)>,
    /// Limits cast on discs and drums.
    pub cast_marks: BTreeMap<Corner, Length>,
    /// Parts fitted.
    pub fitted: Vec<Fitted>,
    /// Everything that was done, parts fitted among it, in order.
    pub done: Vec<Done>,
    /// Verdicts set aside, in order; the judgement says which of them stand.
    pub overrides: Vec<OverrideAsked>,
    /// The road test's answer to the complaint.
    pub complaint: Option<(Meta, Complaint, Distance)>,
    /// The wheels' torque steps.
    pub wheels: BTreeMap<Corner, WheelClicks>,
    /// Calliper fasteners torqued: corner, which, wrench.
    pub callipers: Vec<(Corner, Proceeding, u8, String)>,
    /// Wrenches refused: corner, wrench, reason.
    pub refused: Vec<(Meta, Corner, String, String)>,
    /// Points of the before-it-moves list.
    pub gates: BTreeMap<GateItem, (bool, String)>,
    /// Every answer to a point of that list, in order.
    pub gates_said: Vec<(Meta, GateItem, bool, String)>,
    /// Remarks.
    pub notes: Vec<(Meta, Place, Option<Item>, String)>,
    /// Photos: place, item, digest, name.
    pub photos: Vec<(Meta, Place, Item, String, String)>,
    /// Questions asked and answered.
    pub asked: Vec<(Meta, super::Answered)>,
    /// Second persons' blind readings: place, item, phase, slot, value in nanometres.
    pub seconds: Vec<(Meta, Place, Item, Phase, Slot, i64)>,
    /// Events struck out, with the reason.
    pub struck: Vec<(Meta, u64, String)>,
    /// Strikes that do not hold: what they name was signed for, and no second person agreed.
    pub not_struck: Vec<(Meta, u64, String)>,
    /// State the vehicle was left in, last known.
    pub left: Option<(Meta, String)>,
    /// Salted digests of the customer's data and the vehicle's identity.
    pub personal: BTreeMap<super::PersonalField, String>,
    /// Revisions signed: number and digest.
    pub signed: Vec<(u32, String)>,
    /// The quote the customer came in with, once it was written down line by line.
    pub original_quote: Option<(Meta, Vec<QuoteLine>)>,
    /// Changes of the proposed quote by hand, in order.
    pub quote_edits: Vec<(Meta, QuoteEdit)>,
    /// Talks with the customer, in order; a mind changed is a later one.
    pub contacts: Vec<(Meta, Contact)>,
    /// Points of the refit, last said.
    pub refit_points: BTreeMap<(Option<Corner>, RefitPoint), (Meta, bool, String)>,
    /// Values torque wrenches gave.
    pub wrench_values: Vec<(Meta, WrenchValue)>,
    /// Checks of the wheels' torque after some distance.
    pub retorque_checks: Vec<(Meta, RetorqueCheck)>,
    /// When the last torque of a wheel was confirmed.
    pub wheels_torqued: Option<Meta>,
    /// Kinds of events this version does not know.
    pub unknown: Vec<(u64, String)>,
    /// Sequence number of the last event.
    pub last_seq: u64,
    passed: BTreeSet<(Key, Slot)>,
    readings: BTreeMap<Key, BTreeMap<u32, Take>>,
    seen: BTreeMap<Key, Vec<Seen>>,
    /// Every event, in the order of the sequence numbers.
    log: Vec<(Meta, Event)>,
    struck_seqs: BTreeSet<u64>,
}

impl Job {
    /// Takes the next event into account.
    pub fn apply(&mut self, meta: &Meta, event: &Event) {
        self.take(meta.clone(), event.clone());
    }

    /// Takes the next event into account, and keeps it.
    pub fn take(&mut self, meta: Meta, event: Event) {
        self.last_seq = meta.seq;
        if let Event::Struck {
            target,
            reason,
            second_person,
        } = &event
        {
            if self.may_strike(&meta, *target, second_person.as_deref()) {
                self.strike(&meta, *target, reason);
            } else {
                self.not_struck.push((meta, *target, reason.clone()));
            }
            return;
        }
        self.take_in(&meta, &event);
        match self.log.last() {
            Some((last, _)) if last.seq >= meta.seq => {
                match self.log.binary_search_by_key(&meta.seq, |(m, _)| m.seq) {
                    Ok(at) => {
                        if let Some(place) = self.log.get_mut(at) {
                            *place = (meta, event);
                        }
                    }
                    Err(at) => self.log.insert(at, (meta, event)),
                }
            }
            _ => self.log.push((meta, event)),
        }
    }

    /// Notes an event of a kind this version does not know.
    pub fn apply_unknown(&mut self, seq: u64, kind: &str) {
        self.last_seq = seq;
        self.unknown.push((seq, kind.to_owned()));
    }

    /// Whether a strike holds: of something written before it, and of what was signed for already only
    /// with somebody else's agreement.
    fn may_strike(&self, meta: &Meta, target: u64, second: Option<&str>) -> bool {
        if target >= meta.seq {
            return false;
        }
        let signed = self.log.iter().any(|(signature, event)| {
            signature.seq > target && matches!(event, Event::Signed { .. })
        });
        let plain = |name: &str| {
            name.split_whitespace()
                .collect::<Vec<_>>()
                .join(" ")
                .to_lowercase()
        };
        !signed
            || second.is_some_and(|name| !plain(name).is_empty() && plain(name) != plain(&meta.by))
    }

    /// Strikes one event and folds the rest again; rare, so simplicity wins over speed.
    fn strike(&mut self, meta: &Meta, target: u64, reason: &str) {
        let mut again = Self {
            struck_seqs: std::mem::take(&mut self.struck_seqs),
            ..Self::default()
        };
        again.struck_seqs.insert(target);
        again.struck = std::mem::take(&mut self.struck);
        again.struck.push((meta.clone(), target, reason.to_owned()));
        again.not_struck = std::mem::take(&mut self.not_struck);
        again.unknown = std::mem::take(&mut self.unknown);
        for (m, e) in &self.log {
            if !again.struck_seqs.contains(&m.seq) {
                again.take_in(m, e);
            }
        }
        again.log = std::mem::take(&mut self.log);
        again.last_seq = meta.seq;
        *self = again;
    }

    fn take_in(&mut self, meta: &Meta, event: &Event) {
        match event {
            Event::Opened(opening) => {
                self.opening = Some((**opening).clone());
                self.opened = Some(meta.clone());
            }
            Event::Earlier {
                corner,
                item,
                odometer,
                thickness,
                date,
                since,
                ..
            } => match since {
                Since::Same => {
                    self.earlier.push((*corner, *item, *odometer, *thickness));
                    let day = date.map(|date| ((*corner, *item, *odometer), date));
                    self.earlier_days.extend(day);
                }
                Since::RenewedAt(fitted) => {
                    let known = self.fitted_before.entry((*corner, *item));
                    let latest = known.or_insert((*fitted, None));
                    if latest.0 < *fitted {
                        *latest = (*fitted, None);
                    }
                }
                Since::Unknown => {
                    self.perhaps_renewed.insert((*corner, *item));
                }
            },
            Event::FittedBefore {
                corner,
                item,
                odometer,
                thickness,
            } => {
                let fitted = (*odometer, *thickness);
                self.fitted_before.insert((*corner, *item), fitted);
            }
            Event::Clockings { axle, possible } => {
                self.clockings.insert(*axle, possible.clone());
            }
            // What showed a defect is there; nothing said later takes the defect away.
            Event::Absent {
                corner,
                item,
                by,
                on,
            } if !self.shows_defect(Place::Corner(*corner), *item) => {
                self.absent.insert((*corner, *item), (by.clone(), *on));
            }
            Event::Absent { .. } => {}
            Event::ZeroCheck(check) => {
                self.zero_checks.push(ZeroCheck {
                    meta: meta.clone(),
                    event: check.clone(),
                });
            }
            Event::Dropped { instrument } => self.dropped.push((meta.clone(), instrument.clone())),
            Event::Facts {
                class,
                first_used,
                build,
            } => {
                if let Some(opening) = &mut self.opening {
                    if !class.is_empty() {
                        opening.class.clone_from(class);
                    }
                    opening.first_used = first_used.or(opening.first_used);
                    opening.build = build.or(&opening.build);
                }
            }
            Event::DepthChosen { depth } => {
                if let Some(opening) = &mut self.opening {
                    opening.depth = *depth;
                }
            }
            Event::Reading(reading) => self.read(meta, reading),
            Event::Seen {
                place,
                item,
                phase,
                observation,
            } => {
                // What was looked at is there after all.
                if !matches!(observation, Observation::NotInspected { .. })
                    && let Some(corner) = place.corner()
                {
                    self.absent.remove(&(corner, *item));
                }
                let seen = Seen {
                    meta: meta.clone(),
                    observation: observation.clone(),
                };
                self.seen
                    .entry((*place, *item, *phase))
                    .or_default()
                    .push(seen);
            }
            Event::Asked(answered) => self.asked.push((meta.clone(), answered.clone())),
            Event::Note { place, item, text } => {
                self.notes.push((meta.clone(), *place, *item, text.clone()));
            }
            Event::Photo {
                place,
                item,
                sha256,
                name,
            } => {
                self.photos
                    .push((meta.clone(), *place, *item, sha256.clone(), name.clone()));
            }
            Event::Second {
                place,
                item,
                phase,
                slot,
                entered,
                ..
            } => self
                .seconds
                .push((meta.clone(), *place, *item, *phase, *slot, entered.value)),
            Event::Passed {
                place,
                item,
                phase,
                slot,
            } => {
                self.passed.insert(((*place, *item, *phase), *slot));
            }
            Event::CastMark { corner, entered } => {
                self.cast_marks
                    .insert(*corner, Length::from_nm(entered.value));
            }
            Event::Fitted { place, part, batch } => {
                let item = match part {
                    Part::SensorSpeed => Some(Item::SensorSpeed),
                    Part::SensorWear => Some(Item::SensorWear),
                    _ => None,
                };
                self.absent.retain(|(corner, absent), _| {
                    Some(*absent) != item || !holds(*place, Place::Corner(*corner))
                });
                self.fitted.push(Fitted {
                    meta: meta.clone(),
                    place: *place,
                    part: *part,
                    batch: batch.clone(),
                });
                self.undone_by(*place, Cure::Fitted(*part));
                self.done.push(Done {
                    meta: meta.clone(),
                    place: *place,
                    cure: Cure::Fitted(*part),
                    note: batch.clone().unwrap_or_default(),
                });
            }
            Event::Work { place, deed, note } => {
                self.undone_by(*place, Cure::Did(*deed));
                self.done.push(Done {
                    meta: meta.clone(),
                    place: *place,
                    cure: Cure::Did(*deed),
                    note: note.clone(),
                });
            }
            Event::Overridden {
                place,
                item,
                phase,
                verdict,
                reason,
                second_person,
            } => self.overrides.push(OverrideAsked {
                meta: meta.clone(),
                place: *place,
                item: *item,
                phase: *phase,
                verdict: *verdict,
                reason: reason.clone(),
                second_person: second_person.clone(),
            }),
            Event::ComplaintAnswered { outcome, distance } => {
                self.complaint = Some((meta.clone(), *outcome, *distance));
            }
            Event::Torque(task) => self.torque(meta, task),
            Event::TorqueRefused {
                corner,
                instrument,
                reason,
            } => {
                self.refused
                    .push((meta.clone(), *corner, instrument.clone(), reason.clone()));
            }
            Event::Gate { gate, done, reason } => {
                self.gates.insert(*gate, (*done, reason.clone()));
                self.gates_said
                    .push((meta.clone(), *gate, *done, reason.clone()));
            }
            Event::Left { vehicle } => self.left = Some((meta.clone(), vehicle.clone())),
            Event::Personal { field, sha256 } => {
                self.personal.insert(*field, sha256.clone());
            }
            Event::Signed { revision, sha256 } => self.signed.push((*revision, sha256.clone())),
            Event::OriginalQuote { lines } => {
                self.original_quote = Some((meta.clone(), lines.clone()));
            }
            Event::QuoteEdited(edit) => self.quote_edits.push((meta.clone(), edit.clone())),
            Event::Contact(contact) => self.contacts.push((meta.clone(), (**contact).clone())),
            Event::RefitPoint {
                corner,
                point,
                done,
                reason,
            } => {
                let said = (meta.clone(), *done, reason.clone());
                self.refit_points.insert((*corner, *point), said);
            }
            Event::WrenchValue(value) => self.wrench_values.push((meta.clone(), value.clone())),
            Event::RetorqueChecked(check) => {
                self.retorque_checks.push((meta.clone(), (**check).clone()));
            }
            // Handled in `apply`, before anything is taken in.
            Event::Struck { .. } => {}
        }
    }

    /// Work at a wheel undoes its torque, and work on the brakes what the pedal said.
    fn undone_by(&mut self, place: Place, cure: Cure) {
        if cure.takes_wheel_off() {
            self.wheels
                .retain(|corner, _| !holds(place, Place::Corner(*corner)));
            self.refit_points.retain(|(corner, point), _| {
                *point != RefitPoint::Prepared
                    || corner.is_none_or(|corner| !holds(place, Place::Corner(corner)))
            });
        }
        if cure.moves_the_pedal() {
            for gate in [GateItem::PedalFirm, GateItem::NoLeak] {
                self.gates.remove(&gate);
            }
        }
    }

    fn read(&mut self, meta: &Meta, reading: &ReadingEvent) {
        let key = (reading.place, reading.item, reading.phase);
        let take = self
            .readings
            .entry(key)
            .or_default()
            .entry(reading.take)
            .or_default();
        take.number = reading.take;
        let kept = Reading {
            meta: meta.clone(),
            event: reading.clone(),
        };
        take.slots.entry(reading.slot).or_default().push(kept);
    }

    fn torque(&mut self, meta: &Meta, task: &TorqueTask) {
        if matches!(
            task.proceeding,
            Proceeding::WheelFinal | Proceeding::WheelSecondPass
        ) {
            self.wheels_torqued = Some(meta.clone());
        }
        let wheel = self.wheels.entry(task.corner).or_default();
        match task.proceeding {
            Proceeding::WheelStage => {
                wheel.stages.insert(task.fastener);
            }
            Proceeding::WheelFinal => {
                wheel.finals.insert(task.fastener, task.instrument.clone());
            }
            Proceeding::WheelSecondPass => {
                // A note of how far one fastener turned names it; the pass itself is fastener 0.
                match task.turned_deg {
                    Some(turned) if task.fastener > 0 => {
                        wheel.turned_deg.insert(task.fastener, turned);
                    }
                    _ => wheel.second_pass = Some(task.instrument.clone()),
                }
            }
            Proceeding::CalliperCarrier | Proceeding::SlidePin | Proceeding::HoseUnion => {
                let entry = (
                    task.corner,
                    task.proceeding,
                    task.fastener,
                    task.instrument.clone(),
                );
                self.callipers.push(entry);
            }
        }
    }

    /// Every set of readings of an item, in order.
    pub fn takes(&self, place: Place, item: Item, phase: Phase) -> impl Iterator<Item = &Take> {
        self.readings
            .get(&(place, item, phase))
            .into_iter()
            .flat_map(BTreeMap::values)
    }

    /// Every set of readings of an item in either phase, in the order they were begun.
    #[must_use]
    pub fn sets(&self, place: Place, item: Item) -> Vec<(Phase, &Take)> {
        let mut sets: Vec<(Phase, &Take)> = [Phase::AsFound, Phase::AsLeft]
            .into_iter()
            .flat_map(|phase| {
                self.takes(place, item, phase)
                    .map(move |take| (phase, take))
            })
            .collect();
        if sets.len() > 1 {
            sets.sort_by_key(|(_, take)| take.begun());
        }
        sets
    }

    /// Every look at an item in either phase, in order.
    #[must_use]
    pub fn looks(&self, place: Place, item: Item) -> Vec<(Phase, &Seen)> {
        let mut looks: Vec<(Phase, &Seen)> = [Phase::AsFound, Phase::AsLeft]
            .into_iter()
            .flat_map(|phase| {
                let looks = self.seen.get(&(place, item, phase));
                looks.into_iter().flatten().map(move |seen| (phase, seen))
            })
            .collect();
        if looks.len() > 1 {
            looks.sort_by_key(|(_, seen)| seen.meta.seq);
        }
        looks
    }

    /// What was done that has to do with a place: at it, at what holds it, and for an axle or the
    /// whole vehicle at what it holds.
    pub fn done_about(&self, place: Place) -> impl Iterator<Item = &Done> {
        self.done
            .iter()
            .filter(move |done| holds(done.place, place) || holds(place, done.place))
    }

    /// Whole sets of readings of an item that were struck, as they were; a ring taken again is one.
    #[must_use]
    pub fn struck_sets(&self, place: Place, item: Item) -> Vec<StruckSet> {
        let mut sets: Vec<StruckSet> = Vec::new();
        for (strike, target, reason) in &self.struck {
            let Ok(at) = self.log.binary_search_by_key(target, |(meta, _)| meta.seq) else {
                continue;
            };
            let Some((meta, Event::Reading(event))) = self.log.get(at) else {
                continue;
            };
            if (event.place, event.item) != (place, item) {
                continue;
            }
            let kept = Reading {
                meta: meta.clone(),
                event: (**event).clone(),
            };
            let known = sets.iter_mut().find(|set| {
                (set.phase, set.take.number) == (event.phase, event.take)
                    && !set.take.slots.contains_key(&event.slot)
            });
            if let Some(set) = known {
                set.take.slots.insert(event.slot, vec![kept]);
                continue;
            }
            sets.push(StruckSet {
                phase: event.phase,
                take: Take {
                    number: event.take,
                    slots: BTreeMap::from([(event.slot, vec![kept])]),
                },
                struck: strike.clone(),
                reason: reason.clone(),
            });
        }
        sets
    }

    /// Looks at an item that were struck later than in the next breath: what was seen, who struck it
    /// and why.
    #[must_use]
    pub fn struck_looks(&self, place: Place, item: Item, phase: Phase) -> Vec<(Seen, &Meta, &str)> {
        let look = |(strike, target, _): &(Meta, u64, String)| -> Option<Seen> {
            let at = self
                .log
                .binary_search_by_key(target, |(meta, _)| meta.seq)
                .ok()?;
            match self.log.get(at)? {
                (meta, Event::Seen { place: at, item: of, phase: when, observation })
                    // One's own last key put right at once is a slip of the finger.
                    if (*at, *of, *when) == (place, item, phase)
                        && !(strike.seq == meta.seq + 1 && strike.by == meta.by) =>
                {
                    Some(Seen { meta: meta.clone(), observation: observation.clone() })
                }
                _ => None,
            }
        };
        self.struck
            .iter()
            .filter_map(|strike| Some((look(strike)?, &strike.0, strike.2.as_str())))
            .collect()
    }

    /// The highest number a set of an item has in a phase, struck ones among them; 0 for none.
    #[must_use]
    pub fn last_take(&self, place: Place, item: Item, phase: Phase) -> u32 {
        let of = |event: &Event| match event {
            Event::Reading(r) if (r.place, r.item, r.phase) == (place, item, phase) => Some(r.take),
            _ => None,
        };
        self.log
            .iter()
            .filter_map(|(_, event)| of(event))
            .max()
            .unwrap_or(0)
    }

    /// The set at hand: the first as found, the last as left.
    #[must_use]
    pub fn judged_take(&self, place: Place, item: Item, phase: Phase) -> Option<&Take> {
        match phase {
            Phase::AsFound => self.takes(place, item, phase).next(),
            Phase::AsLeft => self.takes(place, item, phase).last(),
        }
    }

    /// What the last look found.
    #[must_use]
    pub fn seen(&self, place: Place, item: Item, phase: Phase) -> Option<&Seen> {
        self.seen.get(&(place, item, phase))?.last()
    }

    /// Whether a look showed a defect there, as found or as left.
    #[must_use]
    pub fn shows_defect(&self, place: Place, item: Item) -> bool {
        [Phase::AsFound, Phase::AsLeft].into_iter().any(|phase| {
            let seen = self.seen(place, item, phase);
            seen.is_some_and(|seen| matches!(seen.observation, Observation::Defect { .. }))
        })
    }

    /// Whether an optional value was passed over.
    #[must_use]
    pub fn passed(&self, place: Place, item: Item, phase: Phase, slot: Slot) -> bool {
        self.passed.contains(&((place, item, phase), slot))
    }

    /// Whether anything was entered at a place in a phase.
    #[must_use]
    pub fn touched_at(&self, place: Place, phase: Phase) -> bool {
        let here = |(at, _, when): &Key| (*at, *when) == (place, phase);
        self.seen.keys().any(here) || self.readings.keys().any(here)
    }

    /// Whether anything was entered for an item in a phase.
    #[must_use]
    pub fn touched(&self, place: Place, item: Item, phase: Phase) -> bool {
        self.seen.contains_key(&(place, item, phase))
            || self.takes(place, item, phase).next().is_some()
    }

    /// The zero error in force for an instrument at a point of the journal: the last check before
    /// it, unless the instrument fell after that.
    #[must_use]
    pub fn zero_error(&self, instrument: &str, before_seq: u64) -> Option<&ZeroCheck> {
        let check =
            self.zero_checks.iter().rev().find(|check| {
                check.event.instrument == instrument && check.meta.seq < before_seq
            })?;
        let fell = self.fell(instrument, before_seq);
        (fell.is_none_or(|meta| meta.seq < check.meta.seq)).then_some(check)
    }

    /// When an instrument fell last before a point of the journal.
    fn fell(&self, instrument: &str, before_seq: u64) -> Option<&Meta> {
        let mut drops = self.dropped.iter().rev();
        drops
            .find(|(meta, id)| id == instrument && meta.seq < before_seq)
            .map(|(meta, _)| meta)
    }

    /// Whether an instrument fell before a point of the journal and was not checked since.
    #[must_use]
    pub fn fell_unchecked(&self, instrument: &str, before_seq: u64) -> bool {
        self.fell(instrument, before_seq).is_some()
            && self.zero_error(instrument, before_seq).is_none()
    }

    /// The limit cast on the disc or drum of a corner, when it was read.
    #[must_use]
    pub fn cast_mark(&self, corner: Corner) -> Option<Length> {
        self.cast_marks.get(&corner).copied()
    }

    /// Whether the disc of a corner was taken off the hub and turned: that was logged, or a ring was
    /// taken at another clocking than the first.
    #[must_use]
    pub fn reclocked(&self, corner: Corner) -> bool {
        let place = Place::Corner(corner);
        let turned = |done: &Done| {
            holds(done.place, place) && matches!(done.cure, Cure::Did(Deed::Reclocked { .. }))
        };
        if self.done.iter().any(turned) {
            return true;
        }
        let clockings: BTreeSet<u8> = [Phase::AsFound, Phase::AsLeft]
            .into_iter()
            .flat_map(|phase| self.takes(place, Item::DiscRunout, phase))
            .filter_map(Take::last)
            .map(|reading| reading.event.clocking.unwrap_or(0))
            .collect();
        clockings.len() > 1
    }

    /// Parts fitted at a place, counting those fitted to the whole axle or vehicle around it.
    pub fn fitted_at(&self, place: Place) -> impl Iterator<Item = &Fitted> {
        self.fitted.iter().filter(move |fitted| {
            fitted.place == place
                || matches!((fitted.place, place), (Place::Axle(axle), Place::Corner(corner))
                    if corner.axle() == axle)
                || fitted.place == Place::Vehicle
        })
    }

    /// The lines of work that were answered, and whether the last answer is yes; what the customer came
    /// in for is agreed to until it is declined.
    fn answered_lines(&self) -> impl Iterator<Item = (LineId, bool)> {
        let quoted = self.original_quote.iter().flat_map(|(_, lines)| lines);
        let mut answered: BTreeMap<&str, bool> =
            quoted.map(|line| (line.line.as_str(), true)).collect();
        for answer in self.contacts.iter().flat_map(|(_, talk)| &talk.answers) {
            let yes = answer.outcome == Outcome::Yes;
            answered.insert(&answer.offered.line, yes);
        }
        answered
            .into_iter()
            .filter_map(|(line, yes)| Some((line.parse().ok()?, yes)))
    }

    /// Whether a line that puts an item at a place right is agreed to.
    #[must_use]
    pub fn agreed_to_mend(&self, item: Item, place: Place) -> bool {
        self.answered_lines()
            .any(|(line, yes)| yes && line.mends(item, place))
    }

    /// Whether the line for an item at a place was declined, and no other that puts it right is agreed to.
    #[must_use]
    pub fn declined_to_mend(&self, item: Item, place: Place) -> bool {
        let is_its_own = |line: LineId| line.work.items().contains(&item);
        self.answered_lines()
            .any(|(line, yes)| !yes && is_its_own(line) && holds(line.place, place))
            && !self.agreed_to_mend(item, place)
    }

    /// The events that stand and can be struck by `undo`, newest first: all that is done at the
    /// wheel. What the desk does is changed at the desk.
    pub fn undoable(&self) -> impl Iterator<Item = (&Meta, &Event)> {
        self.log
            .iter()
            .rev()
            .filter(|(meta, _)| !self.struck_seqs.contains(&meta.seq))
            .filter_map(|(meta, event)| {
                matches!(
                    event,
                    Event::Reading(_)
                        | Event::Seen { .. }
                        | Event::Absent { .. }
                        | Event::ZeroCheck(_)
                        | Event::Dropped { .. }
                        | Event::DepthChosen { .. }
                        | Event::Passed { .. }
                        | Event::Second { .. }
                        | Event::CastMark { .. }
                        | Event::Fitted { .. }
                        | Event::Work { .. }
                        | Event::ComplaintAnswered { .. }
                        | Event::Torque(_)
                        | Event::TorqueRefused { .. }
                        | Event::Gate { .. }
                        | Event::Note { .. }
                        | Event::Photo { .. }
                        | Event::RefitPoint { .. }
                )
                .then_some((meta, event))
            })
    }

    /// Every event ever written, struck ones too, in order.
    pub fn log(&self) -> impl Iterator<Item = (&Meta, &Event, bool)> {
        self.log
            .iter()
            .map(|(meta, event)| (meta, event, self.struck_seqs.contains(&meta.seq)))
    }

    /// Every corner that has a reading or a look.
    #[must_use]
    pub fn corners(&self) -> BTreeSet<Corner> {
        let read = self
            .readings
            .keys()
            .filter_map(|(place, _, _)| place.corner());
        read.chain(self.seen.keys().filter_map(|(place, _, _)| place.corner()))
            .collect()
    }

    /// Both corners of every axle up to `axles`.
    pub fn corners_of(axles: u8) -> impl Iterator<Item = Corner> {
        (1..=axles)
            .filter_map(Axle::numbered)
            .flat_map(Axle::corners)
    }
}
