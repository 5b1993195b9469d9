//! Likely causes.

use super::bench::*;

#[test]
fn causes_change_no_verdict_and_are_ordered_by_strength() {
    for number in JOBS {
        let bench = Bench::of(number);
        let job = bench.book.fold();
        let case = bench.specs.case(&job, &bench.register);
        let (with, without) = (judge(&case), verdicts(&case));
        assert!(without.causes.is_empty());
        let bare = Judgement {
            causes: Vec::new(),
            ..with.clone()
        };
        assert_eq!(bare, without, "{number}");
        for cause in &with.causes {
            assert!(
                !cause.evidence.is_empty() && !cause.next_test.is_empty(),
                "{cause:?}"
            );
        }
    }
}

/// Patterns of the trade, each with the words its cause must contain.
#[test]
fn each_pattern_names_its_cause() {
    type Change = fn(&mut Bench);
    let rows: [(&str, Change); 24] = [
        ("outer pad hung", |b| {
            b.set("FL", Item::PadsThickness, |s| {
                Some(um(if matches!(s, Slot::Inner(_)) {
                    7_000
                } else {
                    4_500
                }))
            })
        }),
        ("piston not retracting", |b| {
            b.defect("FL", Item::Piston, "seized")
        }),
        ("brake dragging", |b| {
            b.set("FL", Item::PadsThickness, |_| Some(um(3_500)))
        }),
        ("this wheel does too little", |b| {
            b.set("FL", Item::PadsThickness, |_| Some(um(7_000)));
            b.forces(
                &[("FL", 1_500), ("FR", 3_500), ("RL", 2_000), ("RR", 2_000)],
                &[],
                2_000,
            );
        }),
        ("run-out has been wearing", |b| {
            b.ring("FL", um(24_300), um(18));
            b.swept("FL", um(90));
        }),
        ("pad deposits", |b| b.ring("FL", um(24_300), um(18))),
        ("early stage", |b| b.swept("FL", um(90))),
        ("hub face was not cleaned", |b| {
            b.defect("FL", Item::HubFace, "rust")
        }),
        ("judder when hot", |b| {
            b.complains(Symptom::Judder);
            b.defect("FL", Item::DiscSurface, "hot_spots");
        }),
        ("overheated", |b| b.defect("FL", Item::DiscSurface, "blue")),
        ("inner pad hanging", |b| {
            b.defect("FL", Item::DiscSurface, "inner_face")
        }),
        ("the disc renewed late", |b| {
            b.defect("FL", Item::DiscSurface, "lip")
        }),
        ("pad not covering the face", |b| {
            b.defect("FL", Item::DiscSurface, "band")
        }),
        ("moisture in the fluid", |b| {
            b.complains(Symptom::SoftPedal);
            b.retain(|e| !matches!(e, Event::Reading(r) if r.item == Item::FluidBoiling));
            b.book.fluid("160");
        }),
        ("uneven brake forces", |b| b.complains(Symptom::Pull)),
        ("corrosion in the wheel-speed", |b| {
            b.defect("FL", Item::SensorSpeed, "fault")
        }),
        ("sensor's wire chafed", |b| {
            b.defect("FL", Item::SensorWear, "lamp")
        }),
        ("sensor broken or bridged", |b| {
            b.set("FL", Item::PadsThickness, |_| Some(um(1_200)))
        }),
        ("between the wheel and the hub", |b| {
            b.defect("FL", Item::WheelSeat, "hard")
        }),
        ("recent work", |b| {
            b.defect("FL", Item::BoltsWitness, "fresh")
        }),
        ("calliper seal, hose union", |b| {
            b.defect("FL", Item::CalliperLeak, "damp")
        }),
        ("anti-rattle spring", |b| {
            b.defect("FL", Item::Springs, "missing")
        }),
        ("glazed pads", |b| {
            b.complains(Symptom::Squeal);
            b.defect("FL", Item::PadsCondition, "glazed");
        }),
        ("mixed parts", |b| {
            b.defect("FL", Item::WheelFasteners, "differs")
        }),
    ];
    for (words, change) in rows {
        let mut bench = Bench::van();
        // The van's own damp connector would name its cause in every row.
        bench.retain(|e| {
            !matches!(
                e,
                Event::Seen {
                    item: Item::SensorSpeed,
                    ..
                }
            )
        });

        assert!(
            !bench.judge().causes.iter().any(|c| c.cause.contains(words)),
            "{words}: named without its pattern"
        );
        change(&mut bench);
        let causes = bench.judge().causes;
        assert!(
            causes.iter().any(|c| c.cause.contains(words)),
            "{words}: {causes:#?}"
        );
    }
}

#[test]
fn a_ring_that_disagrees_with_its_prediction_is_said_to() {
    let mut bench = Bench::of("HWY-0417");
    let place = at("FR");
    bench.each(|event| {
        if let Event::Reading(r) = event
            && (r.place, r.item, r.phase) == (place, Item::DiscRunout, Phase::AsLeft)
            && matches!(r.slot, Slot::Point(n) if n < 5)
        {
            r.entered = Entered::read("0.030", Quantity::Length, "mm").unwrap();
        }
    });
    let causes = bench.judge().causes;
    assert!(
        causes.iter().any(|c| c.cause.contains("dirt flake")),
        "{causes:#?}"
    );
}
