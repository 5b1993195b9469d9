//! The rows of the causes: what speaks for each, and what against it.

use super::bench::*;
use super::changes::*;

use Against::{Gone, Says};

/// What speaks against a cause does.
#[derive(Clone, Copy, Debug)]
pub(crate) enum Against {
    /// The cause is not named any more.
    Gone,
    /// It is named, with this beside it.
    Says(&'static str),
}

pub(crate) type Change = fn(&mut Bench);

/// A cause: where, a part of its words, what speaks for it, what against it, and how that shows.
pub(crate) type Row = (&'static str, &'static str, Change, Change, Against);

/// Rows whose vehicle is the mail van: everything at its front left is sound, the pads of its rear
/// are thin.
pub(crate) const VAN: &[Row] = &[
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
pub(crate) const TAXI: &[Row] = &[
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
pub(crate) const MINIBUS: &[Row] = &[
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
pub(crate) const CAR: &[Row] = &[(
    "RL",
    "a disc not seated",
    |b| set_left(b, "RL", "0.110"),
    sound,
    Gone,
)];
