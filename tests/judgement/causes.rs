//! Likely causes.

use super::bench::*;
use brakecorner::job::{Proceeding, TorqueTask};
use brakecorner::judge::Cause;

use Against::{Gone, Says};

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

/// What speaks against a cause does.
#[derive(Clone, Copy, Debug)]
enum Against {
    /// The cause is not named any more.
    Gone,
    /// It is named, with this beside it.
    Says(&'static str),
}

type Change = fn(&mut Bench);

/// A cause: where, a part of its words, what speaks for it, what against it, and how that shows.
type Row = (&'static str, &'static str, Change, Change, Against);

fn pads(b: &mut Bench, place: &str, inner: i64, outer: i64) {
    b.set(place, Item::PadsThickness, |slot| {
        Some(um(if matches!(slot, Slot::Inner(_)) {
            inner
        } else {
            outer
        }))
    });
}

fn taper(b: &mut Bench) {
    pads(b, "FL", 5_000, 6_000);
    let gauge = Some(("HW-P1", "mm"));
    let (item, slot) = (Item::PadsThickness, Slot::Inner(2));
    b.book
        .read(at("FL"), item, Phase::AsFound, 1, slot, "6.5", gauge, None);
}

fn lips(b: &mut Bench, outer: &str, inner: &str) {
    for (slot, text) in [(Slot::LipOuter(1), outer), (Slot::LipInner(1), inner)] {
        b.book.read(
            at("FL"),
            Item::DiscThickness,
            Phase::AsFound,
            1,
            slot,
            text,
            None,
            None,
        );
    }
}

fn before(b: &mut Bench, visits: [(i64, i64); 2]) {
    for (km, thickness) in visits {
        b.book.push(Event::Earlier {
            corner: "FL".parse().unwrap(),
            item: Item::PadsThickness,
            odometer: brakecorner::units::Distance::from_whole_km(km),
            thickness: um(thickness),
            source: "example".into(),
            date: None,
        });
    }
}

fn wave(b: &mut Bench, order: f64, micrometres: f64) {
    b.retain(|e| !matches!(e, Event::Reading(r) if r.slot == Slot::Swept));
    b.set("FL", Item::DiscRunout, |slot| {
        let n = match slot {
            Slot::Point(n) => f64::from(n - 1),
            _ => 0.0,
        };
        let wave = (order * n * 36.0f64.to_radians()).cos();
        Length::from_mm(micrometres / 2.0 * wave * 1e-3)
    });
}

fn soft_pedal(b: &mut Bench, celsius: &str) {
    b.complains(Symptom::SoftPedal);
    b.retain(|e| !matches!(e, Event::Reading(r) if r.item == Item::FluidBoiling));
    b.book.fluid(celsius);
}

fn forces(b: &mut Bench, front_left: i64) {
    let wheels = [
        ("FL", front_left),
        ("FR", 3_500),
        ("RL", 2_000),
        ("RR", 2_000),
    ];
    b.forces(&wheels, &[], 2_000);
}

fn parking(b: &mut Bench, left: i64) {
    for (name, force) in [("RL", left), ("RR", 1_500)] {
        let slot = Slot::At(name.parse().unwrap());
        let (item, tester) = (Item::ParkingEfficiency, Some(("HW-R1", "N")));
        let text = force.to_string();
        b.book.read(
            Place::Vehicle,
            item,
            Phase::AsFound,
            1,
            slot,
            &text,
            tester,
            None,
        );
    }
}

fn turned(b: &mut Bench, degrees: u16) {
    b.book.push(Event::Torque(TorqueTask {
        corner: "FL".parse().unwrap(),
        proceeding: Proceeding::WheelSecondPass,
        fastener: 3,
        instrument: "HW-T1".into(),
        turned_deg: Some(degrees),
    }));
}

fn sound(_: &mut Bench) {}

/// Rows whose vehicle is the mail van: everything at its front left is sound, the pads of its rear
/// are thin.
const VAN: &[Row] = &[
    (
        "FL",
        "slide pins seized",
        |b| {
            pads(b, "FL", 4_500, 7_000);
            b.defect("FL", Item::SlidePins, "seized");
        },
        |b| pads(b, "FL", 4_500, 7_000),
        Says("slide pins found free"),
    ),
    (
        "FL",
        "piston not retracting",
        |b| {
            pads(b, "FL", 4_500, 7_000);
            b.defect("FL", Item::Piston, "stiff");
        },
        |b| pads(b, "FL", 4_500, 7_000),
        Says("piston found free"),
    ),
    (
        "FL",
        "outer pad hung",
        |b| {
            pads(b, "FL", 7_000, 4_500);
            b.defect("FL", Item::Springs, "jacked");
        },
        |b| pads(b, "FL", 7_000, 4_500),
        Says("clips and springs found sound"),
    ),
    (
        "FL",
        "worn carrier",
        |b| {
            taper(b);
            b.defect("FL", Item::SlidePins, "seized");
        },
        taper,
        Says("slide pins found free"),
    ),
    (
        "FL",
        "brake dragging",
        |b| {
            pads(b, "FL", 3_500, 3_500);
            b.defect("FL", Item::Piston, "stiff");
        },
        |b| pads(b, "FL", 3_500, 3_500),
        Says("piston found free"),
    ),
    (
        "FL",
        "this wheel does too little",
        |b| {
            pads(b, "FL", 7_000, 7_000);
            forces(b, 1_500);
            b.defect("FL", Item::Piston, "seized");
        },
        |b| {
            pads(b, "FL", 7_000, 7_000);
            forces(b, 1_500);
        },
        Says("piston found free"),
    ),
    (
        "FL",
        "sensor's wire chafed",
        |b| b.defect("FL", Item::SensorWear, "lamp"),
        |b| {
            b.defect("FL", Item::SensorWear, "lamp");
            pads(b, "FL", 2_500, 2_500);
        },
        Gone,
    ),
    (
        "FL",
        "sensor broken or bridged",
        |b| pads(b, "FL", 1_200, 1_200),
        |b| {
            pads(b, "FL", 1_200, 1_200);
            b.defect("FL", Item::SensorWear, "lamp");
        },
        Gone,
    ),
    (
        "FL",
        "glazed pads",
        |b| {
            b.complains(Symptom::Squeal);
            b.defect("FL", Item::PadsCondition, "glazed");
        },
        |b| b.complains(Symptom::Squeal),
        Gone,
    ),
    (
        "FL",
        "leaking onto the pads",
        |b| {
            b.defect("FL", Item::PadsCondition, "soaked");
            b.defect("FL", Item::CalliperLeak, "damp");
        },
        |b| b.defect("FL", Item::PadsCondition, "soaked"),
        Says("calliper found dry"),
    ),
    (
        "FL",
        "rust behind the friction material",
        |b| b.defect("FL", Item::PadsCondition, "lifting"),
        sound,
        Gone,
    ),
    (
        "FL",
        "pad worn to its plate",
        |b| {
            b.complains(Symptom::Grinding);
            pads(b, "FL", 1_200, 1_200);
        },
        |b| b.complains(Symptom::Grinding),
        Gone,
    ),
    (
        "FL",
        "something began to drag",
        |b| before(b, [(40_000, 8_000), (60_000, 7_600)]),
        |b| before(b, [(40_000, 9_000), (60_000, 7_600)]),
        Gone,
    ),
    (
        "FL",
        "run-out has been wearing",
        |b| {
            b.ring("FL", um(24_300), um(18));
            b.swept("FL", um(90));
        },
        |b| {
            b.ring("FL", um(24_300), um(18));
            b.swept("FL", um(20));
        },
        Gone,
    ),
    (
        "FL",
        "pad deposits",
        |b| b.ring("FL", um(24_300), um(18)),
        |b| {
            b.ring("FL", um(24_300), um(18));
            b.swept("FL", um(90));
        },
        Gone,
    ),
    (
        "FL",
        "early stage",
        |b| b.swept("FL", um(90)),
        |b| {
            b.swept("FL", um(90));
            b.complains(Symptom::Judder);
        },
        Gone,
    ),
    (
        "FL",
        "hub face was not cleaned",
        |b| b.defect("FL", Item::HubFace, "rust"),
        sound,
        Gone,
    ),
    (
        "FL",
        "uneven clamping",
        |b| wave(b, 5.0, 30.0),
        |b| wave(b, 5.0, 10.0),
        Gone,
    ),
    (
        "FL",
        "distorted by heat",
        |b| wave(b, 2.0, 30.0),
        |b| wave(b, 2.0, 10.0),
        Gone,
    ),
    (
        "FL",
        "judder when hot",
        |b| {
            b.complains(Symptom::Judder);
            b.defect("FL", Item::DiscSurface, "hot_spots");
        },
        |b| b.defect("FL", Item::DiscSurface, "hot_spots"),
        Gone,
    ),
    (
        "FL",
        "overheated",
        |b| b.defect("FL", Item::DiscSurface, "blue"),
        sound,
        Gone,
    ),
    (
        "FL",
        "inner pad hanging",
        |b| lips(b, "0.60", "1.10"),
        |b| {
            b.defect("FL", Item::DiscSurface, "inner_face");
            lips(b, "0.85", "0.85");
        },
        Says("the inner face has lost 0.85 mm"),
    ),
    (
        "FL",
        "the disc renewed late",
        |b| b.defect("FL", Item::DiscSurface, "lip"),
        sound,
        Gone,
    ),
    (
        "FL",
        "pad not covering the face",
        |b| b.defect("FL", Item::DiscSurface, "band"),
        sound,
        Gone,
    ),
    (
        "FL",
        "grit between pad and disc",
        |b| b.defect("FL", Item::DiscSurface, "scored"),
        sound,
        Gone,
    ),
    (
        "FL",
        "thermal fatigue",
        |b| b.defect("FL", Item::DiscSurface, "crack"),
        sound,
        Gone,
    ),
    (
        "FL",
        "normal heat checking",
        |b| b.defect("FL", Item::DiscSurface, "crazing"),
        sound,
        Gone,
    ),
    (
        "FL",
        "corrosion in the wheel-speed",
        |b| {
            b.complains(Symptom::WarningLamp);
            b.defect("FL", Item::SensorSpeed, "fault");
        },
        |b| b.complains(Symptom::WarningLamp),
        Gone,
    ),
    (
        "FL",
        "wire rubbing on a moving part",
        |b| b.defect("FL", Item::SensorSpeed, "chafe"),
        sound,
        Gone,
    ),
    (
        "FL",
        "between the wheel and the hub",
        |b| b.defect("FL", Item::WheelSeat, "hard"),
        sound,
        Gone,
    ),
    (
        "FL",
        "mixed parts",
        |b| b.defect("FL", Item::WheelFasteners, "differs"),
        sound,
        Gone,
    ),
    (
        "FL",
        "not tightened in stages",
        |b| b.defect("FL", Item::WheelFasteners, "loose"),
        sound,
        Gone,
    ),
    (
        "FL",
        "recent work",
        |b| b.defect("FL", Item::BoltsWitness, "fresh"),
        sound,
        Gone,
    ),
    (
        "FL",
        "bolt loosened",
        |b| b.defect("FL", Item::BoltsWitness, "loose"),
        sound,
        Gone,
    ),
    (
        "FL",
        "calliper seal, hose union, or hub grease",
        |b| b.defect("FL", Item::CalliperLeak, "damp"),
        sound,
        Gone,
    ),
    (
        "FL",
        "reinforcement is broken",
        |b| b.defect("FL", Item::Hose, "bulge"),
        sound,
        Gone,
    ),
    (
        "FL",
        "act as a valve",
        |b| b.defect("FL", Item::Hose, "twisted"),
        sound,
        Gone,
    ),
    (
        "FL",
        "anti-rattle spring",
        |b| b.defect("FL", Item::Springs, "missing"),
        sound,
        Gone,
    ),
    (
        "FL",
        "torque lost",
        |b| turned(b, 15),
        |b| turned(b, 10),
        Gone,
    ),
    (
        "FL",
        "air, a blocked hose",
        |b| forces(b, 1_500),
        |b| {
            forces(b, 1_500);
            pads(b, "FL", 3_000, 3_000);
        },
        Gone,
    ),
    (
        "RL",
        "parking brake: a cable seized",
        |b| parking(b, 1_000),
        |b| parking(b, 1_400),
        Gone,
    ),
    (
        "rear",
        "stability control at work",
        sound,
        |b| pads(b, "RL", 2_900, 5_500),
        Says("one pad alone is thin"),
    ),
    (
        "vehicle",
        "normal wear",
        |b| {
            for place in ["FL", "FR", "RL", "RR"] {
                pads(b, place, 2_900, 2_900)
            }
        },
        sound,
        Gone,
    ),
    (
        "vehicle",
        "moisture in the fluid",
        |b| soft_pedal(b, "160"),
        |b| soft_pedal(b, "212"),
        Says("well above its limit"),
    ),
    (
        "FL",
        "knocked back",
        |b| {
            b.complains(Symptom::SoftPedal);
            b.set("FL", Item::BearingFloat, |_| Some(um(60)));
        },
        |b| b.complains(Symptom::SoftPedal),
        Gone,
    ),
    (
        "vehicle",
        "uneven brake forces",
        |b| {
            b.complains(Symptom::Pull);
            forces(b, 1_500);
        },
        |b| {
            b.complains(Symptom::Pull);
            forces(b, 3_500);
        },
        Says("forces differ by"),
    ),
    (
        "vehicle",
        "not the brakes",
        |b| b.complains(Symptom::Judder),
        |b| {
            b.complains(Symptom::Judder);
            b.swept("FL", um(90));
        },
        Gone,
    ),
];

/// Rows of a vehicle with drums in the rear.
const TAXI: &[Row] = &[
    (
        "RL",
        "normal for a leading shoe",
        |b| linings(b, 2_500),
        |b| linings(b, 4_000),
        Gone,
    ),
    (
        "RL",
        "oval or bell-mouthed",
        |b| oval(b, 150),
        |b| oval(b, 50),
        Gone,
    ),
    (
        "RL",
        "wheel cylinder weeping",
        |b| b.defect("RL", Item::CylinderLeak, "damp"),
        sound,
        Gone,
    ),
];

/// Rows of the minibus, whose front right disc was cleaned and turned on its hub.
const MINIBUS: &[Row] = &[
    (
        "FR",
        "hub and disc together",
        sound,
        |b| b.retain(|e| !matches!(e, Event::Reading(r) if r.clocking.is_some())),
        Gone,
    ),
    (
        "FR",
        "the hub: dirt or rust",
        |b| tilt(b, 45.0, 0.0),
        |b| tilt(b, 0.0, 45.0),
        Gone,
    ),
    (
        "FR",
        "the disc's own tilt",
        |b| tilt(b, 0.0, 45.0),
        |b| tilt(b, 45.0, 0.0),
        Gone,
    ),
    ("FR", "made a part of it", sound, as_before_cleaning, Gone),
    (
        "FR",
        "dirt flake",
        |b| set_left(b, "FR", "0.030"),
        sound,
        Gone,
    ),
];

/// Rows of the car that got new discs in the rear.
const CAR: &[Row] = &[(
    "RL",
    "a disc not seated",
    |b| set_left(b, "RL", "0.110"),
    sound,
    Gone,
)];

fn linings(b: &mut Bench, leading: i64) {
    b.set("RL", Item::LiningsThickness, |slot| {
        Some(um(if slot == Slot::Lining(1) {
            leading
        } else {
            4_000
        }))
    });
}

fn oval(b: &mut Bench, by: i64) {
    b.set("RL", Item::DrumDiameter, |slot| {
        Some(um(203_300 + if slot == Slot::Open(1) { by } else { 0 }))
    });
}

/// Gives every ring at the front right that was taken in a known clocking the tilts of hub and disc,
/// in micrometres.
fn tilt(b: &mut Bench, hub: f64, disc: f64) {
    let high = 40f64.to_radians();
    b.each(|event| {
        let Event::Reading(r) = event else { return };
        let (Some(k), Slot::Point(n)) = (r.clocking, r.slot) else {
            if r.item == Item::DiscRunout && r.clocking.is_some() {
                r.entered = Entered::read("0.000", Quantity::Length, "mm").unwrap();
            }
            return;
        };
        let angle = f64::from(n - 1) * 36f64.to_radians();
        let turn = f64::from(k) * 72f64.to_radians();
        let wave = |angle: f64| hub * (angle - high).cos() + disc * (angle - high - turn).cos();
        let text = format!("{:.3}", (wave(angle) - wave(0.0)) * 1e-3);
        r.entered = Entered::read(&text, Quantity::Length, "mm").unwrap();
    });
}

/// The ring after cleaning shows what the one before it showed.
fn as_before_cleaning(b: &mut Bench) {
    let first: Vec<(Slot, Entered)> = b
        .book
        .entries
        .iter()
        .filter_map(|(_, event)| match event {
            Event::Reading(r)
                if (r.place, r.item, r.phase, r.take)
                    == (at("FR"), Item::DiscRunout, Phase::AsFound, 1) =>
            {
                Some((r.slot, r.entered.clone()))
            }
            _ => None,
        })
        .collect();
    b.each(|event| {
        if let Event::Reading(r) = event
            && (r.place, r.item, r.phase, r.take) == (at("FR"), Item::DiscRunout, Phase::AsFound, 2)
            && let Some((_, entered)) = first.iter().find(|(slot, _)| *slot == r.slot)
        {
            r.entered = entered.clone();
        }
    });
}

/// The first points of the ring as left show this.
fn set_left(b: &mut Bench, place: &str, text: &str) {
    b.each(|event| {
        if let Event::Reading(r) = event
            && (r.place, r.item, r.phase) == (at(place), Item::DiscRunout, Phase::AsLeft)
            && matches!(r.slot, Slot::Point(2..=4))
        {
            r.entered = Entered::read(text, Quantity::Length, "mm").unwrap();
        }
    });
}

fn named(bench: &Bench, place: &str, words: &str) -> Option<Cause> {
    let place: Place = place.parse().unwrap();
    let job = bench.book.fold();
    let case = bench.specs.case(&job, &bench.register);
    let (with, without) = (judge(&case), verdicts(&case));
    // Whatever is said about a cause, every verdict is the one without it.
    let bare = Judgement {
        causes: Vec::new(),
        ..with.clone()
    };
    assert_eq!(bare, without, "{words}");
    let mut causes = with.causes.into_iter();
    causes.find(|c| c.place == place && c.cause.contains(words))
}

#[test]
fn each_cause_is_named_by_what_speaks_for_it_and_not_against_the_evidence() {
    for (number, rows) in [
        ("HWY-0411", VAN),
        ("HWY-0429", TAXI),
        ("HWY-0417", MINIBUS),
        ("HWY-0423", CAR),
    ] {
        for (place, words, speaks_for, speaks_against, how) in rows {
            let mut bench = Bench::of(number);
            speaks_for(&mut bench);
            let cause = named(&bench, place, words).unwrap_or_else(|| {
                panic!("{place} {words}: not named: {:#?}", bench.judge().causes)
            });
            assert!(!cause.evidence.is_empty() && !cause.ruled_out_by.is_empty());
            let mut bench = Bench::of(number);
            speaks_against(&mut bench);
            match (how, named(&bench, place, words)) {
                (Gone, None) => {}
                (Says(against), Some(cause)) => {
                    assert!(
                        cause.against.iter().any(|a| a.contains(against)),
                        "{place} {words}: {cause:#?}"
                    );
                }
                (how, cause) => panic!("{place} {words}: {how:?}, {cause:#?}"),
            }
        }
    }
}

/// Every cause the program can name has a row above.
#[test]
fn every_cause_of_the_program_has_its_row() {
    let sources = [
        include_str!("../../src/judge/causes/disc.rs"),
        include_str!("../../src/judge/causes/pads.rs"),
        include_str!("../../src/judge/causes/others.rs"),
    ];
    let made: usize = sources
        .iter()
        .map(|s| s.matches("Cause::new(").count())
        .sum();
    let signs = sources[2].matches("    Sign {\n").count();
    let faces = sources[0].matches("        face(\n").count();
    let leads = 2; // one `Cause::new` says hub, disc, or both
    // The signs and the faces each share one `Cause::new`.
    let all = made - 2 + signs + faces + leads;
    assert_eq!(VAN.len() + TAXI.len() + MINIBUS.len() + CAR.len(), all);
}
