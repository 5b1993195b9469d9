//! The states an item was in, and which of its sets of readings and looks speak for one of them.
//!
//! A state ends when a part that carries the item is fitted, or when work is logged that may lift
//! what was found. *As found* is the first state, *as left* the last. Within a state the order does
//! not matter: every whole set that was not struck stands, the worst of them is the verdict, and
//! one more set never makes it better, but for one case: a verdict that rests on doubt alone is
//! settled by a later whole set that is surer and has no such doubt. Measuring again repairs
//! nothing: what was not good as found is better as left only after something that may have cured
//! it. Source: this project's own rules.

use std::cmp::Ordering;

use super::case::Case;
use super::finding::{Finding, SetShown};
use super::{Figure, ItemVerdict, Urgency};
use crate::job::{
    Cure, Deed, Done, Effect, Fault, GateItem, Item, Lift, Observation, Phase, Place, RefitPoint,
    Seen, Take,
};
use crate::units::Length;

/// Where and of what the readings are that an item is judged from.
pub(super) const fn source(place: Place, item: Item) -> (Place, Item) {
    match item {
        Item::DiscVariation => (place, Item::DiscThickness),
        Item::PadsInnerOuter => (place, Item::PadsThickness),
        Item::AxleImbalance => (Place::Vehicle, Item::ServiceEfficiency),
        other => (place, other),
    }
}

/// A set of readings with the phase it was entered under.
pub(super) type Entered<'a> = (Phase, &'a Take);

/// What speaks for an item, state by state.
pub(super) struct States<'a> {
    /// What ended a state, in order.
    pub(super) ends: Vec<(&'a Done, Effect)>,
    /// The sets of readings, in order.
    pub(super) sets: Vec<Entered<'a>>,
    /// The looks, in order.
    pub(super) looks: Vec<(Phase, &'a Seen)>,
}

/// The last state, as it is judged as left.
pub(super) enum LastState<'a> {
    /// Nothing new is known of it: what was found stands.
    AsFound,
    /// What was found belongs to a part that is gone, and nothing was entered since.
    Void,
    /// The first state never ended; these were entered as left all the same, beside the others.
    Same,
    /// Looked at or measured again in a later state.
    Again {
        /// The sets of it.
        sets: Vec<Entered<'a>>,
        /// The looks of it.
        looks: Vec<&'a Seen>,
    },
}

impl<'a> States<'a> {
    pub(super) fn of(case: &Case<'a>, place: Place, item: Item) -> Self {
        let (at, from) = source(place, item);
        let ends = case
            .job
            .done_about(place)
            .map(|done| (done, done.cure.effect(item)))
            .filter(|(_, since)| *since != Effect::Untouched)
            .collect();
        let mut sets = case.job.sets(at, from);
        if is_rollers(from) {
            alone_after_conditioning(case, &mut sets);
        }
        let mut looks = case.job.looks(at, from);
        if (at, from) != (place, item) {
            // What follows from readings is not seen; that they could not be taken is its reason too.
            looks.retain(|(_, seen)| matches!(seen.observation, Observation::NotInspected { .. }));
        }
        Self { ends, sets, looks }
    }

    /// Why what was found says nothing any more.
    pub(super) fn void_words(&self) -> &'static str {
        let last = self.ends.iter().rfind(|(_, since)| *since == Effect::Void);
        match last.map(|(done, _)| done.cure) {
            Some(Cure::Did(Deed::Reclocked { .. })) => {
                "the disc was turned on its hub and not measured since"
            }
            Some(Cure::Did(_)) => "it was machined and not measured since",
            _ => "a new part was fitted and not yet measured",
        }
    }

    /// The number of the state an entry belongs to: what is entered as found is of the first.
    fn number(&self, phase: Phase, seq: u64) -> usize {
        match phase {
            Phase::AsFound => 0,
            Phase::AsLeft => self
                .ends
                .iter()
                .filter(|(done, _)| done.meta.seq < seq)
                .count(),
        }
    }

    /// The sets and looks entered as found.
    pub(super) fn found(&self) -> (Vec<Entered<'a>>, Vec<&'a Seen>) {
        let sets = self.sets.iter().copied();
        let looks = self.looks.iter().copied();
        (
            sets.filter(|(phase, _)| *phase == Phase::AsFound).collect(),
            looks
                .filter(|(phase, _)| *phase == Phase::AsFound)
                .map(|(_, seen)| seen)
                .collect(),
        )
    }

    /// Everything of the first state, whatever it was entered as.
    pub(super) fn first(&self) -> (Vec<Entered<'a>>, Vec<&'a Seen>) {
        self.numbered(0)
    }

    fn numbered(&self, number: usize) -> (Vec<Entered<'a>>, Vec<&'a Seen>) {
        let sets = self.sets.iter().copied();
        let looks = self.looks.iter().copied();
        (
            sets.filter(|(phase, take)| self.number(*phase, take.begun()) == number)
                .collect(),
            looks
                .filter(|(phase, seen)| self.number(*phase, seen.meta.seq) == number)
                .map(|(_, seen)| seen)
                .collect(),
        )
    }

    /// The last state of which something is known.
    pub(super) fn last(&self) -> LastState<'a> {
        let void = self
            .ends
            .iter()
            .rposition(|(_, since)| *since == Effect::Void)
            .map(|at| at + 1);
        let known = (1..=self.ends.len())
            .rev()
            .take_while(|number| void.is_none_or(|void| *number >= void))
            .map(|number| self.numbered(number))
            .find(|(sets, looks)| !sets.is_empty() || !looks.is_empty());
        let again = |phase: &Phase| *phase == Phase::AsLeft;
        match known {
            Some((sets, looks)) => LastState::Again { sets, looks },
            None if void.is_some() => LastState::Void,
            None if self.sets.iter().any(|(phase, _)| again(phase))
                || self.looks.iter().any(|(phase, _)| again(phase)) =>
            {
                LastState::Same
            }
            None => LastState::AsFound,
        }
    }

    /// Whether something done since may have cured every fault that was found.
    pub(super) fn cured(
        &self,
        case: &Case<'_>,
        place: Place,
        item: Item,
        faults: &[Fault<'_>],
    ) -> Cured {
        let of = |fault: &Fault<'_>| {
            self.ends
                .iter()
                .map(|(done, _)| counts(case, place, done, done.cure.lifts(item, *fault)))
                .max()
                .unwrap_or(Cured::No)
        };
        faults.iter().map(of).min().unwrap_or(Cured::Yes)
    }
}

/// Whether what was done may have cured what was found.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub(super) enum Cured {
    /// Nothing that was done lifts it.
    No,
    /// Something was done that lifts it together with a step that is still to be done.
    OnceHeldOrReady,
    /// It may be.
    Yes,
}

/// Whether a cure that lifts only together with something else has it.
fn counts(case: &Case<'_>, place: Place, done: &Done, lift: Lift) -> Cured {
    let with = match lift {
        Lift::Never => return Cured::No,
        Lift::MayLift => return Cured::Yes,
        Lift::AfterPedalHeld => {
            let held = case.job.done.iter().any(|other| {
                other.cure == Cure::Did(Deed::HeldPedal) && other.meta.seq > done.meta.seq
            });
            let said = &case.job.gates_said;
            let gate = said.iter().rfind(|(_, gate, ..)| *gate == GateItem::NoLeak);
            held || gate.is_some_and(|(meta, _, dry, _)| *dry && meta.seq > done.meta.seq)
        }
        Lift::AfterSeatsReady => {
            let ready = (place.corner(), RefitPoint::Prepared);
            let said = case.job.refit_points.get(&ready);
            said.is_some_and(|(meta, ready, _)| *ready && meta.seq > done.meta.seq)
        }
    };
    if with {
        Cured::Yes
    } else {
        Cured::OnceHeldOrReady
    }
}

const fn is_rollers(item: Item) -> bool {
    matches!(item, Item::ServiceEfficiency | Item::ParkingEfficiency)
}

/// A run repeated because the discs were wet or rusty stands alone, once braking them clean was
/// logged: what the rollers showed before says nothing about the brakes.
fn alone_after_conditioning(case: &Case<'_>, sets: &mut Vec<Entered<'_>>) {
    let conditioned = case
        .job
        .done
        .iter()
        .filter(|done| done.cure == Cure::Did(Deed::ConditionedDiscs))
        .map(|done| done.meta.seq)
        .max();
    let Some(since) = conditioned else { return };
    let again = |phase: Phase, sets: &[Entered<'_>]| {
        sets.iter()
            .any(|(of, take)| *of == phase && take.begun() > since)
    };
    let found = again(Phase::AsFound, sets);
    sets.retain(|(phase, take)| !(found && *phase == Phase::AsFound) || take.begun() > since);
}

/// How grave a finding is: what fails before what is not known, that before what is advised.
pub(super) const fn gravity(finding: &Finding) -> u8 {
    match (finding.verdict, &finding.urgency) {
        (ItemVerdict::Fail, Some(Urgency::Stop)) => 7,
        (ItemVerdict::Fail, _) => 6,
        (ItemVerdict::NotInspected, _) => 5,
        (ItemVerdict::NoLimit, _) => 4,
        (ItemVerdict::Advise, Some(Urgency::Stop | Urgency::BeforeHandover)) => 3,
        (ItemVerdict::Advise, Some(Urgency::By { .. })) => 2,
        (ItemVerdict::Advise, _) => 1,
        (ItemVerdict::Pass, _) => 0,
    }
}

/// The graver of two findings first; of equals the one that conforms less likely.
fn graver_first(one: &Finding, other: &Finding) -> Ordering {
    let probability = |finding: &Finding| finding.conformance_probability.unwrap_or(1.0);
    gravity(other)
        .cmp(&gravity(one))
        .then_with(|| probability(one).total_cmp(&probability(other)))
}

/// One set of readings, judged by itself.
pub(super) struct JudgedSet<'a> {
    pub(super) phase: Phase,
    pub(super) take: &'a Take,
    pub(super) finding: Finding,
}

impl JudgedSet<'_> {
    /// Whether the set is whole and could be evaluated.
    fn whole(&self) -> bool {
        self.finding.verdict != ItemVerdict::NotInspected && !self.finding.partial
    }

    /// Whether the verdict rests on doubt alone.
    pub(super) fn in_doubt(&self) -> bool {
        self.finding.verdict != self.finding.firm
    }

    /// Whether this set, taken later, settles the doubt of another.
    fn settles(&self, other: &Self) -> bool {
        let surer = match (self.finding.u, other.finding.u) {
            // A gauge that is in doubt says nothing by its own figures.
            _ if other.finding.no_pass => true,
            (Some(mine), Some(theirs)) => mine < theirs,
            (_, None) => true,
            (None, Some(_)) => false,
        };
        other.in_doubt()
            && other.finding.firm == ItemVerdict::Pass
            && self.whole()
            && !self.in_doubt()
            && surer
            && self.take.begun() > other.take.begun()
    }
}

/// Which of several judged sets stand: the whole ones whose doubt no later one settles; of sets that
/// are not whole only what is beyond a limit counts beside whole ones.
pub(super) fn standing(sets: &[JudgedSet<'_>]) -> Vec<bool> {
    let any_whole = sets.iter().any(JudgedSet::whole);
    sets.iter()
        .map(|set| {
            let counts = set.whole() || !any_whole || set.finding.verdict == ItemVerdict::Fail;
            counts && !sets.iter().any(|later| later.settles(set))
        })
        .collect()
}

/// The verdict of a state's sets: the worst that stands, with all of them shown.
pub(super) fn worst_of(mut sets: Vec<JudgedSet<'_>>) -> Option<Finding> {
    if sets.len() < 2 {
        return sets.pop().map(|set| set.finding);
    }
    let stands = standing(&sets);
    let shown: Vec<SetShown> = sets
        .iter()
        .zip(&stands)
        .map(|(set, stands)| SetShown::of(set, *stands))
        .collect();
    // Of sets that are all not whole the last is the one at hand.
    let all_open = sets
        .iter()
        .all(|set| set.finding.verdict == ItemVerdict::NotInspected);
    let at = if all_open {
        sets.len().checked_sub(1)
    } else {
        // Of equals the last taken is shown.
        (0..sets.len())
            .rev()
            .filter(|at| stands.get(*at) == Some(&true))
            .min_by(|one, other| match (sets.get(*one), sets.get(*other)) {
                (Some(one), Some(other)) => graver_first(&one.finding, &other.finding),
                _ => Ordering::Equal,
            })
    }?;
    let apart = sets.get(at).and_then(|judged| disagreement(judged, &sets));
    let mut finding = sets.into_iter().nth(at)?.finding;
    finding.tell_sets(shown, at);
    if let Some(words) = apart {
        finding.doubt(words);
    }
    Some(finding)
}

/// What to say when two people's sets of a worn part differ by more than `√2·U`, with `U = 2u`, and no
/// third set agrees with the judged one. Source: common practice.
fn disagreement(judged: &JudgedSet<'_>, sets: &[JudgedSet<'_>]) -> Option<String> {
    if !matches!(
        judged.finding.item,
        Item::DiscThickness | Item::PadsThickness
    ) {
        return None;
    }
    let read = |set: &JudgedSet<'_>| match (set.finding.value, set.finding.u) {
        (Some(Figure::Length(value)), Some(u)) if set.whole() => Some((value, u)),
        _ => None,
    };
    let person = |set: &JudgedSet<'_>| set.take.last().map(|last| last.meta.by.clone());
    let (value, u) = read(judged)?;
    // √2·U with U = 2u, u the root mean square of both: 2·√(u₁² + u₂²).
    let is_apart = |other: Length, u_other: f64| {
        (value - other).abs().mm() > 2.0 * (u * u + u_other * u_other).sqrt()
    };
    let others = || {
        sets.iter()
            .filter(|set| set.take.begun() != judged.take.begun())
            .filter_map(|set| Some((person(set)?, read(set)?)))
    };
    if others().any(|(_, (other, u_other))| !is_apart(other, u_other)) {
        return None;
    }
    let mine = person(judged)?;
    others()
        .find(|(by, (other, u_other))| *by != mine && is_apart(*other, *u_other))
        .map(|(by, (other, _))| {
            format!("{mine} measured {value}, {by} {other}: more apart than their uncertainty allows, measure a third time")
        })
}

/// The looks of a state that stand: a reason why not ends with a later look that was made; every
/// defect and every sound look stays.
pub(super) fn looks_standing<'a>(looks: &[&'a Seen]) -> Vec<&'a Seen> {
    let not_made = |seen: &Seen| matches!(seen.observation, Observation::NotInspected { .. });
    let last_made = looks.iter().rposition(|seen| !not_made(seen));
    looks
        .iter()
        .enumerate()
        .filter(|(at, seen)| !not_made(seen) || last_made.is_none_or(|last| *at > last))
        .map(|(_, seen)| *seen)
        .collect()
}

/// The gravest of the findings of a state's looks.
pub(super) fn gravest_look(mut findings: Vec<Finding>) -> Option<Finding> {
    if findings.len() < 2 {
        return findings.pop();
    }
    findings.sort_by(graver_first);
    let mut findings = findings.into_iter();
    let mut gravest = findings.next()?;
    for other in findings.filter(|other| other.verdict != ItemVerdict::Pass) {
        for reason in other.reasons {
            if !gravest.reasons.contains(&reason) {
                gravest.reasons.push(reason);
            }
        }
    }
    Some(gravest)
}
