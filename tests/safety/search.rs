//! A search for sequences that make an answer better without a cause.
//!
//! A vehicle is drawn with up to two defects, then up to three things happen that are no cause, or are
//! not done that were. No finding may become better by it, and no driving answer.

use std::collections::BTreeMap;

use brakecorner::job::{Entered, Event, Item, Kind, Observation, Part, Phase, Place, Quantity};
use brakecorner::judge::{ItemVerdict, Judgement};
use brakecorner::measure::conformity::Proof;
use proptest::prelude::*;
use proptest::test_runner::{RngAlgorithm, TestRng, TestRunner};

use super::answer::{Drive, drive, drive_by_stopping, gravity};
use super::fleet::{Defect, Rng, Vehicle, draw};

/// What happens to the job.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Change {
    /// One set of readings is taken once more, as found, of this vehicle as it was drawn otherwise.
    SetAdded,
    /// A good set of readings as left, with no cause.
    MeasuredAgain,
    /// "Sound", as left, with no cause.
    SoundAsLeft,
    /// "Sound" once more as found.
    SoundAgain,
    /// One reading is worse than it was.
    WorseReading,
    /// One entry was never made.
    Omitted,
    /// Nobody knows the class.
    ClassUnknown,
    /// Nobody knows the date of first use.
    AgeUnknown,
    /// A set's instrument was not named.
    NoInstrument,
    /// The disc's temperature was not logged.
    NoTemperature,
    /// A part was fitted that the item does not ride on.
    OtherPart,
}

const CHANGES: [Change; 11] = [
    Change::SetAdded,
    Change::MeasuredAgain,
    Change::SoundAsLeft,
    Change::SoundAgain,
    Change::WorseReading,
    Change::Omitted,
    Change::ClassUnknown,
    Change::AgeUnknown,
    Change::NoInstrument,
    Change::NoTemperature,
    Change::OtherPart,
];

/// Changes that enter something.
const ADDING: [Change; 4] = [
    Change::SetAdded,
    Change::MeasuredAgain,
    Change::SoundAsLeft,
    Change::SoundAgain,
];

/// Items that a part carries, so that its fitting may change them; the examiner's own list.
fn carried(part: Part, item: Item) -> bool {
    use Item::*;
    let forces = matches!(item, AxleImbalance | ServiceEfficiency | ParkingEfficiency);
    match part {
        Part::Hose => forces || matches!(item, Hose),
        Part::SensorSpeed => item == SensorSpeed,
        Part::SensorWear => item == SensorWear,
        _ => true,
    }
}

/// What an item's verdict is read from.
fn source(place: Place, item: Item) -> (Place, Item) {
    match item {
        Item::DiscVariation => (place, Item::DiscThickness),
        Item::PadsInnerOuter => (place, Item::PadsThickness),
        Item::AxleImbalance => (Place::Vehicle, Item::ServiceEfficiency),
        _ => (place, item),
    }
}

/// Applies a change; false when this vehicle has nothing for it. What is not good is tried first: an
/// answer can only improve there.
fn apply(
    change: Change,
    vehicle: &mut Vehicle,
    rng: &mut Rng,
    other: &Vehicle,
    before: &Judgement,
) -> bool {
    let bad: Vec<(Place, Item)> = before
        .standing(Phase::AsLeft)
        .filter(|finding| gravity(finding) > 0)
        .map(|finding| source(finding.place, finding.item))
        .collect();
    let about_bad = |event: &Event| match event {
        Event::Reading(r) => bad.contains(&(r.place, r.item)),
        Event::Seen { place, item, .. } => bad.contains(&(*place, *item)),
        _ => false,
    };
    let pick = |rng: &mut Rng, vehicle: &Vehicle, wanted: &dyn Fn(&Event) -> bool| {
        let all = |also: &dyn Fn(&Event) -> bool| -> Vec<usize> {
            let entries = vehicle.book.entries.iter().enumerate();
            let chosen = entries.filter(|(_, (_, event))| wanted(event) && also(event));
            chosen.map(|(n, _)| n).collect()
        };
        let mut list = all(&about_bad);
        if list.is_empty() || rng.chance(0.2) {
            list = all(&|_| true);
        }
        (!list.is_empty()).then(|| list[rng.below(list.len())])
    };
    let reading = |event: &Event| matches!(event, Event::Reading(_));
    let look = |event: &Event| matches!(event, Event::Seen { .. });
    match change {
        Change::SetAdded | Change::MeasuredAgain => {
            let Some(n) = pick(rng, other, &reading) else {
                return false;
            };
            let Event::Reading(one) = &other.book.entries[n].1 else {
                return false;
            };
            let (place, item) = (one.place, one.item);
            let set: Vec<Event> = other
                .book
                .entries
                .iter()
                .filter_map(|(_, event)| match event {
                    Event::Reading(r) if (r.place, r.item, r.take) == (place, item, 1) => {
                        let mut reading = r.clone();
                        if change == Change::MeasuredAgain {
                            reading.phase = Phase::AsLeft;
                        } else {
                            reading.take = 9;
                        }
                        Some(Event::Reading(reading))
                    }
                    _ => None,
                })
                .collect();
            for event in set {
                vehicle.book.push(event);
            }
        }
        Change::SoundAsLeft | Change::SoundAgain => {
            let Some(n) = pick(rng, vehicle, &look) else {
                return false;
            };
            let Event::Seen { place, item, .. } = vehicle.book.entries[n].1 else {
                return false;
            };
            let phase = if change == Change::SoundAsLeft {
                Phase::AsLeft
            } else {
                Phase::AsFound
            };
            vehicle.book.look(place, item, phase, Observation::Sound);
        }
        Change::WorseReading => {
            let Some(n) = pick(
                rng,
                vehicle,
                &|event| matches!(event, Event::Reading(r) if worse(r.item).is_some() && slot_counts(r.slot)),
            ) else {
                return false;
            };
            let Event::Reading(r) = &mut vehicle.book.entries[n].1 else {
                return false;
            };
            let step = worse(r.item).unwrap_or(0);
            let value = r.entered.value + (step as f64 * rng.unit()) as i64;
            let (quantity, unit) = (Quantity::of(r.item, r.slot), r.entered.unit.clone());
            let text = match quantity {
                Quantity::Length => format!("{:.6}", value.max(100_000) as f64 / 1e6),
                _ => format!("{:.3}", value.max(0) as f64 / 1e3),
            };
            let Ok(entered) = Entered::read(&text, quantity, &unit) else {
                return false;
            };
            // A value that would be better after all, for its rounding, is no trial.
            if (step < 0) != (entered.value < r.entered.value) {
                return false;
            }
            r.entered = entered;
        }
        Change::Omitted => {
            let Some(n) = pick(rng, vehicle, &|event| match event {
                // The boiling point is optional: left out, it is no part of the inspection. Of pads,
                // linings and drums one reading a part is a set as well.
                Event::Reading(r) => !matches!(
                    r.item,
                    Item::FluidBoiling
                        | Item::PadsThickness
                        | Item::LiningsThickness
                        | Item::DrumDiameter
                ),
                Event::Seen { .. } | Event::Torque(_) | Event::Gate { .. } => true,
                _ => false,
            }) else {
                return false;
            };
            vehicle.book.entries.remove(n);
        }
        Change::ClassUnknown | Change::AgeUnknown => {
            for (_, event) in &mut vehicle.book.entries {
                if let Event::Opened(opening) = event {
                    if change == Change::ClassUnknown {
                        opening.class.clear();
                    } else {
                        opening.first_used = None;
                    }
                }
            }
        }
        Change::NoInstrument => {
            let Some(n) = pick(rng, vehicle, &reading) else {
                return false;
            };
            let Event::Reading(one) = vehicle.book.entries[n].1.clone() else {
                return false;
            };
            for (_, event) in &mut vehicle.book.entries {
                if let Event::Reading(r) = event
                    && (r.place, r.item, r.take) == (one.place, one.item, one.take)
                {
                    r.instrument = None;
                }
            }
        }
        Change::NoTemperature => {
            let before = vehicle.book.entries.len();
            vehicle.book.entries.retain(|(_, event)| {
                !matches!(event, Event::Reading(r) if Quantity::of(r.item, r.slot) == Quantity::Temperature
                    && r.item == Item::DiscThickness)
            });
            return vehicle.book.entries.len() < before;
        }
        Change::OtherPart => {
            let part = [Part::Hose, Part::SensorSpeed, Part::SensorWear][rng.below(3)];
            let corner = ["FL", "FR", "RL", "RR"][rng.below(4)];
            let place = Place::Corner(corner.parse().unwrap());
            vehicle.book.fitted(place, part);
        }
    }
    true
}

/// Which way, and how far, a reading of an item is made worse, in the base unit.
fn worse(item: Item) -> Option<i64> {
    match item {
        Item::PadsThickness | Item::LiningsThickness => Some(-2_000_000),
        Item::DiscThickness => Some(-400_000),
        Item::DrumDiameter => Some(500_000),
        Item::BearingFloat => Some(60_000),
        Item::FluidBoiling => Some(-60_000),
        _ => None,
    }
}

/// Readings that are a size, not a circumstance of it.
fn slot_counts(slot: brakecorner::job::Slot) -> bool {
    use brakecorner::job::Slot;
    matches!(
        slot,
        Slot::Point(_)
            | Slot::Inner(_)
            | Slot::Outer(_)
            | Slot::Open(_)
            | Slot::Closed(_)
            | Slot::Lining(_)
            | Slot::Value(_)
    )
}

type Standing = BTreeMap<(Place, Item), (u8, Option<Proof>, ItemVerdict, String)>;

fn standing(judgement: &Judgement) -> Standing {
    judgement
        .standing(Phase::AsLeft)
        .map(|f| {
            let shown = (gravity(f), f.proof, f.verdict, f.sentence.clone());
            ((f.place, f.item), shown)
        })
        .collect()
}

/// What became better though nothing was done that makes it so.
fn improved(
    changes: &[Change],
    before: &Judgement,
    after: &Judgement,
    parts: &[Part],
) -> Vec<String> {
    let done = |change: Change| changes.contains(&change);
    let hole = [Change::Omitted, Change::ClassUnknown, Change::AgeUnknown]
        .into_iter()
        .any(done);
    let (was, is) = (standing(before), standing(after));
    let mut better = Vec::new();
    for (&(place, item), (now, _, _, sentence)) in &is {
        // What was not there before became no better.
        let Some((gravity, proof, verdict, earlier)) = was.get(&(place, item)) else {
            continue;
        };
        let step = |added: Change| done(added) && *gravity == 2;
        let least = match item {
            // A ring that end float made void is one again when nobody measured the float: the float
            // itself is then what is missing.
            Item::DiscRunout if done(Change::Omitted) => 0,
            // End float over its limit voids the ring: NOT INSPECTED, never PASS.
            Item::DiscRunout if done(Change::WorseReading) => (*gravity).min(2),
            // An unknown temperature is never used to say beyond; it passes nothing that was advised.
            Item::DiscThickness if done(Change::NoTemperature) => (*gravity).min(1),
            // A scheduled step that was open and is done.
            _ if ADDING.into_iter().any(step) => 0,
            // An entry that was never made, or a fact nobody knows, leaves a hole where a FAIL was.
            _ if hole => (*gravity).min(2),
            _ => *gravity,
        };
        // Doubt alone may be settled by a later set.
        let settles = (done(Change::SetAdded) || done(Change::MeasuredAgain))
            && *verdict == ItemVerdict::Advise
            && *proof == Some(Proof::NotProven);
        let carried = parts.iter().any(|&part| carried(part, item));
        if *now < least && !settles && !carried {
            better.push(format!(
                "{place} {item}: \"{earlier}\" became \"{sentence}\""
            ));
        }
    }
    let goes_out = |drive: Drive| matches!(drive, Drive::Until | Drive::Yes);
    let (was, is) = (drive(before), drive(after));
    // What is not inspected holds a vehicle back where its worst defect would stop it; a step that was
    // open and is done lets it go.
    let opened = matches!(was, Drive::NotKnown | Drive::Until);
    let out = if hole {
        !goes_out(drive_by_stopping(before)) && goes_out(drive_by_stopping(after)) && !opened
    } else {
        is > was && !(goes_out(is) && goes_out(was)) && !opened
    };
    let out = out && !(done(Change::NoTemperature) && was == Drive::NotYet);
    // A part may lift what it carries; whether it alone did is for the items to say.
    let out = out && parts.is_empty();
    if out {
        better.push(format!("the driving answer {was:?} became {is:?}"));
    }
    better
}

/// Makes the worst of what two defects do to one vehicle.
fn with_two(seed: u64, first: Option<Defect>, second: Option<Defect>) -> Vehicle {
    let mut vehicle = draw(seed, first);
    // The looks of the second defect are added; readings are those of the first.
    if let Some(Defect::Seen(item, code, _)) = second
        && item.kind() == Kind::Look
    {
        let has = |event: &Event| matches!(event, Event::Seen { item: i, .. } if *i == item);
        for (_, event) in &mut vehicle.book.entries {
            if has(event)
                && let Event::Seen { observation, .. } = event
            {
                *observation = Observation::Defect {
                    code: code.to_owned(),
                    note: String::new(),
                };
                break;
            }
        }
    }
    vehicle
}

fn defects() -> impl Strategy<Value = Option<Defect>> {
    proptest::option::weighted(0.8, proptest::sample::select(Defect::ALL.to_vec()))
}

/// One case of the search: what became better without a cause.
fn tried(changes: &[Change], vehicle: &mut Vehicle, other: &Vehicle, dice: u64) -> Vec<String> {
    let before = vehicle.judge();
    let mut rng = Rng(dice);
    for &change in changes {
        apply(change, vehicle, &mut rng, other, &before);
    }
    let parts: Vec<Part> = vehicle
        .book
        .entries
        .iter()
        .filter_map(|(_, event)| match event {
            Event::Fitted { part, .. } => Some(*part),
            _ => None,
        })
        .collect();
    improved(changes, &before, &vehicle.judge(), &parts)
}

/// The same search in every run; with `PROPTEST_CASES` a longer one, different each time.
#[test]
fn nothing_but_a_cause_improves_an_answer() {
    let cases = std::env::var("PROPTEST_CASES")
        .ok()
        .and_then(|n| n.parse().ok());
    let found = crate::on_threads(&CHANGES, |change| {
        let config = ProptestConfig {
            cases: cases.unwrap_or(64),
            failure_persistence: None,
            ..ProptestConfig::default()
        };
        let rng = TestRng::deterministic_rng(RngAlgorithm::ChaCha);
        let mut runner = match cases {
            Some(_) => TestRunner::new(config),
            None => TestRunner::new_with_rng(config, rng),
        };
        let later = proptest::collection::vec(proptest::sample::select(CHANGES.to_vec()), 0..3);
        let drawn = (0u64..1_000_000, defects(), defects(), later, any::<u64>());
        let result = runner.run(&drawn, |(seed, first, second, later, dice)| {
            let mut vehicle = with_two(seed, first, second);
            // Another drawing of the same build and depth: its sets are plausible and differ.
            let other = draw(seed, None);
            let mut changes = [vec![*change], later].concat();
            // A bad reading that was never made and a good one that was: no worse than a sound vehicle.
            if changes.contains(&Change::Omitted) {
                changes.retain(|change| !ADDING.contains(change));
            }
            let better = tried(&changes, &mut vehicle, &other, dice);
            prop_assert!(better.is_empty(), "{better:#?}");
            Ok(())
        });
        result.err().map(|error| format!("{change:?}: {error}"))
    });
    let found: Vec<String> = found.into_iter().flatten().collect();
    crate::nothing_wrong(&found, CHANGES.len());
}
