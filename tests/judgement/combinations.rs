//! Findings that together force more than each alone: what blocks a signature, what goes on the
//! quote, what is never a pass. Common practice; each row is data and a small change of a job.

use super::bench::*;
use brakecorner::job::GateItem;
use brakecorner::office::{Obstacle, propose, signing_obstacles};

fn obstacles(bench: &Bench) -> Vec<Obstacle> {
    let job = bench.book.fold();
    let case = bench.specs.case(&job, &bench.register);
    signing_obstacles(&case, &judge(&case))
}

/// Each thing left undone is in the way of the signature, and is not once it is done.
#[test]
fn what_is_left_open_blocks_the_signature() {
    type Change = fn(&mut Bench);
    type Named = fn(&Obstacle) -> bool;
    let rows: [(&str, Change, Named); 6] = [
        (
            "the parking brake's service mode was not left",
            |b| {
                b.retain(|e| {
                    !matches!(
                        e,
                        Event::Gate {
                            gate: GateItem::ParkingBrake,
                            ..
                        }
                    )
                })
            },
            |o| {
                *o == Obstacle::GateOpen {
                    gate: GateItem::ParkingBrake,
                }
            },
        ),
        (
            "the parking brake is said to be still in it",
            |b| {
                b.book.push(Event::Gate {
                    gate: GateItem::ParkingBrake,
                    done: false,
                    reason: "motor does not answer".into(),
                });
            },
            |o| {
                *o == Obstacle::GateOpen {
                    gate: GateItem::ParkingBrake,
                }
            },
        ),
        (
            "the pedal was not pumped",
            |b| {
                b.retain(|e| {
                    !matches!(
                        e,
                        Event::Gate {
                            gate: GateItem::PedalFirm,
                            ..
                        }
                    )
                })
            },
            |o| {
                *o == Obstacle::GateOpen {
                    gate: GateItem::PedalFirm,
                }
            },
        ),
        (
            "one fastener has no final click",
            |b| {
                b.retain(|e| !matches!(e, Event::Torque(t) if t.fastener == 5 && t.corner.to_string() == "FL"));
            },
            |o| matches!(o, Obstacle::WheelNotConfirmed { fasteners, .. } if *fasteners == [5]),
        ),
        (
            "a failure nobody decided about",
            |b| b.set("FL", Item::PadsThickness, |_| Some(um(1_900))),
            |o| {
                matches!(
                    o,
                    Obstacle::FailWithoutOutcome {
                        item: Item::PadsThickness,
                        ..
                    }
                )
            },
        ),
        (
            "a part fitted that nobody agreed to",
            |b| b.book.fitted(at("FL"), Part::Hose),
            |o| {
                matches!(
                    o,
                    Obstacle::NotAuthorised {
                        part: Part::Hose,
                        ..
                    }
                )
            },
        ),
    ];
    let whole = Bench::van();
    for (what, change, blocks) in rows {
        assert!(!obstacles(&whole).iter().any(blocks), "{what}: before");
        let mut bench = whole.clone();
        change(&mut bench);
        let all = obstacles(&bench);
        assert!(all.iter().any(blocks), "{what}: {all:?}");
    }
}

#[test]
fn pads_that_fail_on_one_side_are_renewed_as_a_set_and_the_line_covers_both() {
    let mut bench = Bench::van();
    bench.set("RL", Item::PadsThickness, |_| Some(um(1_900)));
    bench.set("RR", Item::PadsThickness, |_| Some(um(2_900)));
    let job = bench.book.fold();
    let case = bench.specs.case(&job, &bench.register);
    let lines = propose(&case, &judge(&case));
    let pads: Vec<_> = lines
        .iter()
        .filter(|l| l.cures(at("RL"), Item::PadsThickness))
        .collect();
    assert_eq!(pads.len(), 1);
    assert_eq!(pads[0].line.place.to_string(), "rear");
    assert!(pads[0].cures(at("RR"), Item::PadsThickness));
}

#[test]
fn a_disc_that_new_pads_would_outlive_is_said_on_the_quote() {
    let notes = |t: i64| {
        let mut bench = Bench::van();
        bench.set("RL", Item::PadsThickness, |_| Some(um(1_900)));
        bench.ring("RL", um(t), um(3));
        let job = bench.book.fold();
        let case = bench.specs.case(&job, &bench.register);
        let lines = propose(&case, &judge(&case));
        let all: Vec<String> = lines.into_iter().flat_map(|line| line.notes).collect();
        all.join("; ")
    };
    let limit = Bench::van()
        .found("RL", Item::DiscThickness)
        .limit
        .unwrap()
        .number();
    let limit = (limit * 1e3).round() as i64;
    assert!(
        notes(limit + 200).contains("new pads would outlive it"),
        "{}",
        notes(limit + 200)
    );
    assert!(
        !notes(limit + 600).contains("outlive"),
        "{}",
        notes(limit + 600)
    );
}

#[test]
fn what_must_not_be_driven_stops_the_vehicle_whatever_else_is_good() {
    let mut bench = Bench::van();
    assert_eq!(bench.judge().stops().count(), 0);
    bench.defect("FL", Item::Hose, "leak");
    assert_eq!(bench.judge().stops().count(), 1);
    assert_eq!(bench.judge().as_left, Verdict::Fail);
}

#[test]
fn an_imbalance_that_nothing_seen_explains_is_no_pass() {
    let mut bench = Bench::van();
    bench.forces(
        &[("FL", 3_500), ("FR", 2_300), ("RL", 2_000), ("RR", 2_000)],
        &[],
        1_600,
    );
    assert_eq!(bench.found("front", Item::AxleImbalance).verdict, Fail);
}

#[test]
fn wrong_or_dirty_fluid_fails() {
    for code in ["wrong", "contaminated"] {
        let mut bench = Bench::van();
        bench
            .book
            .defect(Place::Vehicle, Item::FluidBoiling, Phase::AsFound, code);
        let found = bench.found("vehicle", Item::FluidBoiling);
        assert_eq!(
            (found.verdict, found.urgency),
            (Fail, Some(Urgency::BeforeHandover)),
            "{code}"
        );
    }
}

#[test]
fn a_drum_taken_off_on_one_side_only_leaves_the_other_incomplete() {
    let mut bench = Bench::of("HWY-0429");
    bench.retain(
        |e| !matches!(e, Event::Reading(r) if r.place == at("RR") && r.item == Item::DrumDiameter),
    );
    assert_eq!(bench.found("RR", Item::DrumDiameter).verdict, NotInspected);
    let judgement = bench.judge();
    assert_eq!(
        judgement.corners[&"RR".parse().unwrap()].verdict,
        Verdict::Incomplete
    );
}
