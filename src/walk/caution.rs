//! Cautions shown at the moment they matter, and why a step is done.

use super::Step;
use crate::job::{Item, Slot};

/// Shown when a walk begins.
pub(super) const BEGIN: &[&str] = &[
    "Vehicle on stands on firm level ground before you work under or beside it; never on a jack alone.",
    "Don't blow brake dust: treat it as harmful, old linings may hold asbestos.",
    "The maker's instructions and local law come first. This tool records and computes; a competent, where required licensed, person decides.",
];

/// Shown when the refit begins.
pub(super) const REFIT: &[&str] = &[
    "Final torque by a calibrated torque wrench, never by a power tool. Seats and threads clean; nothing on threads unless the maker says so.",
    "The pedal must be firm before the vehicle moves.",
];

/// The caution a step has, if any.
pub(super) const fn caution(step: &Step) -> Option<&'static str> {
    match step {
        Step::Look {
            item: Item::WheelSeat,
            ..
        } => Some(
            "A seized wheel can free suddenly: keep fasteners partly in, a second person, gloves, eye protection.",
        ),
        Step::Look {
            item: Item::Piston, ..
        } => Some("Springs and pistons can eject: keep fingers out, press steadily."),
        Step::Read {
            item: Item::FluidBoiling,
            ..
        } => Some("Brake fluid harms eyes, skin and paint: goggles and gloves."),
        Step::Read {
            item: Item::DiscThickness,
            slot: Slot::Temperature,
            ..
        } => Some("Discs may be hot."),
        _ => None,
    }
}

/// How a step is done and why.
pub(super) fn why(step: &Step) -> &'static str {
    match step {
        Step::Zero { .. } => {
            "Wipe the anvils, close with the ratchet (or on its setting rod), read. The reading minus the standard is subtracted from every reading."
        }
        Step::Read { item, slot, .. } => reading(*item, *slot),
        Step::Second { .. } => {
            "Two people, one point, neither sees the other's value first: the difference says how far to trust both."
        }
        Step::Look { item, .. } => look(*item),
        Step::Stage { .. } => {
            "Stages let the wheel centre before it is clamped; star order keeps it square."
        }
        Step::Final { .. } => {
            "Pull smoothly to one click. Answer with the fastener's own number, so that none is confirmed twice."
        }
        Step::SecondPass { .. } => {
            "A second pass at full torque: each fastener clicks without turning, or the seat was not home."
        }
        Step::Calliper { .. } => {
            "Calliper fasteners carry the braking force: maker's torque, renewed where single-use."
        }
        Step::Gate(_) => {
            "Each point is answered by itself: the first movement with an unpumped pedal is a classic crash."
        }
        Step::RoadTest => "The complaint stays open until a road test answers it.",
    }
}

const fn reading(item: Item, slot: Slot) -> &'static str {
    match (item, slot) {
        (Item::DiscRunout, Slot::Swept) => {
            "One full slow turn, one way only, watching the needle: lowest and highest. It sees what points between studs miss. Enter if not taken."
        }
        (Item::DiscRunout, _) => {
            "Clamped with spacers; stylus square to the face, 10 to 15 mm from the edge. Zero at stud 1, turn one way only, log at every stud and mid-stud, then back at stud 1."
        }
        (Item::DiscThickness, Slot::Temperature) => {
            "A warm disc reads thick: 28 mm at 80 °C reads 0.019 mm too thick. Enter if not measured."
        }
        (Item::DiscThickness, _) => {
            "Clean disc, both anvils flat, 10 to 15 mm in from the outer edge, clear of the lip. The thinnest point decides, not the mean."
        }
        (Item::PadsThickness, _) => {
            "Friction material only, backing plate excluded. Leading end first; `6.1 / 6.3` is inner and outer in one line."
        }
        (Item::LiningsThickness, _) => {
            "Friction material only, thinnest place, leading shoe first."
        }
        (Item::BearingFloat, _) => {
            "Push and pull the hub along its axle. A loose bearing makes run-out void, so it comes first."
        }
        (Item::DrumDiameter, _) => {
            "Clear of the lip; two directions at each end. The largest decides."
        }
        _ => "As the maker describes it.",
    }
}

const fn look(item: Item) -> &'static str {
    match item {
        Item::WheelSeat => "A wheel seized on the hub becomes a refit task: clean faces, treat.",
        Item::WheelFasteners => "Count, condition, all matching; is the locking-nut key there?",
        Item::Hose => "Flex it: cracks, chafe, bulge, kink, leak, clip and bracket.",
        Item::Pipe => "Corrosion, chafe, support, unions dry.",
        Item::SensorSpeed | Item::SensorWear => {
            "Moisture and corrosion in the connector explain many sensor faults."
        }
        Item::SlidePins => "Move both by hand; a stiff pin wears one pad.",
        Item::DiscSurface => {
            "Both faces: the inner face often wears more than the outer and is seldom seen."
        }
        Item::BoltsWitness => "Fresh marks tell of recent work; a broken paint line, of movement.",
        Item::HubFace => {
            "Disc off, after its dot is marked beside stud 1: rust or a flake here is run-out."
        }
        _ => "Look, feel, compare with the other side.",
    }
}
