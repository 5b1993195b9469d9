//! Patterns of forces, fluid, sensors, bolts and what was seen around the wheel.

use super::{Cause, Evidence, NOTABLE_IMBALANCE, tenths};
use crate::job::{Axle, Corner, Item, Phase, Place, Symptom};
use crate::judge::{ItemVerdict, Results};

/// One look that names its cause by itself.
struct Sign {
    item: Item,
    codes: &'static [&'static str],
    cause: &'static str,
    next: &'static str,
    ruled_out_by: &'static str,
}

const SIGNS: &[Sign] = &[
    Sign {
        item: Item::SensorSpeed,
        codes: &["damp", "fault"],
        cause: "corrosion in the wheel-speed sensor's connector",
        next: "clean and dry the connector, measure resistance or signal",
        ruled_out_by: "the fault stays with a clean, dry connector",
    },
    Sign {
        item: Item::SensorSpeed,
        codes: &["chafe", "cut"],
        cause: "wheel-speed sensor's wire rubbing on a moving part",
        next: "move the steering and suspension through their travel and watch the wire",
        ruled_out_by: "the wire touches nothing in any position",
    },
    Sign {
        item: Item::WheelSeat,
        codes: &["partly", "hard"],
        cause: "corrosion between the wheel and the hub",
        next: "clean and treat both faces, never the threads; check the torque again after the first distance",
        ruled_out_by: "the faces are clean and the wheel still sticks",
    },
    Sign {
        item: Item::WheelFasteners,
        codes: &["differs"],
        cause: "mixed parts, or a wrong seat",
        next: "match thread, length and seat of every fastener, renew what differs",
        ruled_out_by: "all fasteners carry the same marking and seat",
    },
    Sign {
        item: Item::WheelFasteners,
        codes: &["loose", "missing", "thread"],
        cause: "wheel not tightened in stages, paint or rust under the seat, or stretched studs",
        next: "check every fastener of all wheels, look at studs, seats and holes for polish and red dust",
        ruled_out_by: "seats, holes and studs are clean and whole",
    },
    Sign {
        item: Item::BoltsWitness,
        codes: &["fresh"],
        cause: "recent work",
        next: "ask for the history, check the torque of what was undone",
        ruled_out_by: "the history explains the marks and the torque is right",
    },
    Sign {
        item: Item::BoltsWitness,
        codes: &["loose", "broken"],
        cause: "bolt loosened: wrong or no locking, or a single-use bolt used again",
        next: "do not drive: check threads, renew and torque as the maker says",
        ruled_out_by: "the bolt holds its torque and the mark was never renewed",
    },
    Sign {
        item: Item::CalliperLeak,
        codes: &["leak", "damp"],
        cause: "calliper seal, hose union, or hub grease",
        next: "clean, hold the pedal down, find where it gets wet",
        ruled_out_by: "everything stays dry under pressure",
    },
    Sign {
        item: Item::CylinderLeak,
        codes: &["leak", "damp"],
        cause: "wheel cylinder weeping",
        next: "peel the boot back and look; renew both cylinders of the axle",
        ruled_out_by: "it is dry under the boot",
    },
    Sign {
        item: Item::Hose,
        codes: &["bulge"],
        cause: "the hose's reinforcement is broken",
        next: "have the pedal pressed and watch the hose; renew the pair",
        ruled_out_by: "it does not grow under pressure",
    },
    Sign {
        item: Item::Hose,
        codes: &["twisted", "flattened"],
        cause: "the hose may act as a valve: it lets pressure in and not out",
        next: "brake, release, spin the wheel; open the nipple and spin again",
        ruled_out_by: "the wheel runs free at once after the release",
    },
    Sign {
        item: Item::Springs,
        codes: &["missing", "weak"],
        cause: "pads knock or hang: anti-rattle spring missing or weak, or a loose carrier bolt",
        next: "fit the spring, check the carrier bolts' torque, listen again",
        ruled_out_by: "the noise stays with new springs and tight bolts",
    },
];

pub(super) fn at_corner(e: &Evidence<'_>, corner: Corner) -> Vec<Cause> {
    let signs = SIGNS.iter().filter_map(|sign| {
        let seen = e.seen(corner, sign.item, sign.codes)?;
        let cause = Cause::new(
            Place::Corner(corner),
            sign.cause,
            sign.next,
            sign.ruled_out_by,
        );
        Some(cause.says(1, seen).says_if(1, complaint_of(e, sign.item)))
    });
    signs
        .chain(turned(e, corner))
        .chain(oval_drum(e, corner))
        .collect()
}

fn complaint_of(e: &Evidence<'_>, item: Item) -> Option<String> {
    (item == Item::SensorSpeed && e.complains(Symptom::WarningLamp))
        .then(|| "a warning lamp is complained of".to_owned())
}

/// A fastener that turned when it was checked again.
fn turned(e: &Evidence<'_>, corner: Corner) -> Option<Cause> {
    let most = e.case.policy.retorque_turned_deg.value;
    let wheel = e.case.job.wheels.get(&corner)?;
    let (fastener, degrees) = wheel
        .turned_deg
        .iter()
        .filter(|(_, degrees)| u32::from(**degrees) > most)
        .max_by_key(|(_, degrees)| **degrees)?;
    Some(
        Cause::new(
            Place::Corner(corner),
            "torque lost: paint, rust or treatment under the seat, or a stretched stud",
            "clean the seats, renew the fasteners that turn, check again after the first distance",
            "no fastener turns at the next check",
        )
        .says(
            2,
            format!("fastener {fastener} at {corner} turned {degrees}° when it was checked again"),
        ),
    )
}

fn oval_drum(e: &Evidence<'_>, corner: Corner) -> Option<Cause> {
    // From these figures on the trade looks for a reason; no single source.
    const NOTABLE_MM: f64 = 0.10;
    let Results::Drum {
        ovality_mm,
        bell_mouth_mm,
        ..
    } = e.results(Place::Corner(corner), Item::DrumDiameter)?
    else {
        return None;
    };
    let bell = bell_mouth_mm.unwrap_or(0.0);
    if *ovality_mm <= NOTABLE_MM && bell <= NOTABLE_MM {
        return None;
    }
    let judder = e
        .complains(Symptom::Judder)
        .then(|| "judder is complained of".to_owned());
    Some(
        Cause::new(
            Place::Corner(corner),
            "drum oval or bell-mouthed: overheated, or the parking brake set while hot",
            "turn it down within the maker's maximum, or renew the pair",
            "the drum is round when it is measured clean and cold",
        )
        .says(
            1,
            format!("ovality {ovality_mm:.2} mm, bell-mouth {bell:.2} mm, at {corner}"),
        )
        .says_if(1, judder),
    )
}

pub(super) fn at_axle(e: &Evidence<'_>, axle: Axle) -> Vec<Cause> {
    [weak_side(e, axle), parking(e, axle)]
        .into_iter()
        .flatten()
        .collect()
}

/// Forces differ though the pads are alike.
fn weak_side(e: &Evidence<'_>, axle: Axle) -> Option<Cause> {
    let place = Place::Axle(axle);
    let (percent, weaker) = e.imbalance(axle)?;
    if e.verdict(place, Item::AxleImbalance) != Some(ItemVerdict::Fail)
        || !e.passes(place, Item::AxlePadDifference)
    {
        return None;
    }
    Some(
        Cause::new(
            Place::Corner(weaker),
            "air, a blocked hose, a seized piston, or contaminated pads on the weak side",
            "bleed both sides and compare the flow; test hose, piston and pads of the weak side",
            "the forces are alike after bleeding",
        )
        .says(
            2,
            format!("{weaker} brakes {percent:.1} % less, and the pads of the axle are alike"),
        )
        .says_if(3, e.seen(weaker, Item::Piston, &["seized", "stiff"]))
        .says_if(
            2,
            e.seen(weaker, Item::PadsCondition, &["soaked", "glazed"]),
        )
        .says_if(
            2,
            e.seen(weaker, Item::Hose, &["twisted", "flattened", "bulge"]),
        ),
    )
}

/// The parking brake holds one side only.
fn parking(e: &Evidence<'_>, axle: Axle) -> Option<Cause> {
    let take = e
        .case
        .job
        .judged_take(Place::Vehicle, Item::ParkingEfficiency, Phase::AsFound)?;
    let forces = crate::judge::vehicle::forces(take);
    let [left, right] = axle.corners();
    let (l, r) = (forces.get(&left)?.newtons(), forces.get(&right)?.newtons());
    let weaker = if l < r { left } else { right };
    let percent = 100.0 * (l - r).abs() / l.max(r);
    if percent.is_nan() || percent <= NOTABLE_IMBALANCE {
        return None;
    }
    Some(
        Cause::new(
            Place::Corner(weaker),
            "parking brake: a cable seized, its motor weak, or shoes out of adjustment on one side",
            "compare lever force and travel of both sides, watch the cable move",
            "both sides move alike",
        )
        .says(
            2,
            format!("the parking brake holds {percent:.1} % less at {weaker}"),
        ),
    )
}

pub(super) fn at_vehicle(e: &Evidence<'_>) -> Vec<Cause> {
    [
        rear_thinner(e),
        worn_alike(e),
        soft_pedal(e),
        knock_back(e),
        pulls(e),
        judder_elsewhere(e),
    ]
    .into_iter()
    .flatten()
    .collect()
}

fn rear_thinner(e: &Evidence<'_>) -> Option<Cause> {
    let thinnest = |axle: Axle| {
        let [left, right] = axle.corners();
        Some(e.pads(left)?.min.min(e.pads(right)?.min))
    };
    let (front, rear) = (thinnest(Axle::FRONT)?, thinnest(Axle::REAR)?);
    if front - rear <= e.case.policy.pads_left_right.value {
        return None;
    }
    Some(
        Cause::new(
            Place::Axle(Axle::REAR),
            "stability control at work, or a parking brake that drags",
            "release the parking brake, spin both rear wheels, count its cycles if it is electric",
            "both rear wheels run free",
        )
        .says(
            1,
            format!(
                "the thinnest rear pad has {}, the thinnest front pad {}",
                tenths(rear),
                tenths(front)
            ),
        )
        .but_if(
            Axle::REAR
                .corners()
                .into_iter()
                .find(|corner| e.is_off(Place::Corner(*corner), Item::PadsInnerOuter))
                .map(|corner| format!("at {corner} one pad alone is thin: look there first")),
        ),
    )
}

/// Every pad thin alike: wear and nothing else.
fn worn_alike(e: &Evidence<'_>) -> Option<Cause> {
    let plan = e.case.policy.pads_plan.value;
    let pads: Vec<_> = e
        .case
        .corners()
        .filter_map(|corner| e.pads(corner))
        .collect();
    let allowed = e.case.policy.pads_inner_outer.value;
    let thinnest = pads.iter().map(|p| p.min).min()?;
    let thickest = pads.iter().map(|p| p.inner_min.max(p.outer_min)).max()?;
    let all = pads.len() == e.case.corners().count();
    if !all || pads.iter().any(|p| p.min > plan) || thickest - thinnest > allowed {
        return None;
    }
    Some(
        Cause::new(
            Place::Vehicle,
            "normal wear",
            "compare the rate with the vehicle's own history",
            "the rate rose since the last visit",
        )
        .says(
            2,
            format!(
                "every pad has between {} and {}",
                tenths(thinnest),
                tenths(thickest)
            ),
        ),
    )
}

fn soft_pedal(e: &Evidence<'_>) -> Option<Cause> {
    let boiling = e.found(Place::Vehicle, Item::FluidBoiling)?;
    if !e.complains(Symptom::SoftPedal) {
        return None;
    }
    let value = boiling.value?.number();
    let low = e
        .is_off(Place::Vehicle, Item::FluidBoiling)
        .then(|| format!("the fluid boils at {value:.0} °C"));
    let fine = e
        .passes(Place::Vehicle, Item::FluidBoiling)
        .then(|| format!("the fluid boils at {value:.0} °C, well above its limit"));
    Some(
        Cause::new(
            Place::Vehicle,
            "moisture in the fluid, or air in the system",
            "boiling test at a calliper's nipple, then change the fluid and bleed",
            "the pedal is soft with new, bled fluid",
        )
        .says(1, "a soft pedal is complained of")
        .says_if(2, low)
        .but_if(fine),
    )
}

/// Pads pushed back by a loose bearing or run-out make the pedal long.
fn knock_back(e: &Evidence<'_>) -> Option<Cause> {
    if !e.complains(Symptom::SoftPedal) {
        return None;
    }
    let at = e.case.corners().find(|corner| {
        let place = Place::Corner(*corner);
        e.is_off(place, Item::BearingFloat) || e.is_off(place, Item::DiscRunout)
    })?;
    let place = Place::Corner(at);
    let words = |item| {
        e.is_off(place, item)
            .then(|| e.found(place, item).map(|finding| finding.sentence.clone()))
            .flatten()
    };
    Some(
        Cause::new(
            place,
            "pads knocked back by a loose bearing or by run-out",
            "does a second stroke firm the pedal up? measure the bearing's end float",
            "the pedal is the same on the second stroke",
        )
        .says(1, "a soft or long pedal is complained of")
        .says_if(2, words(Item::BearingFloat))
        .says_if(1, words(Item::DiscRunout)),
    )
}

fn pulls(e: &Evidence<'_>) -> Option<Cause> {
    if !e.complains(Symptom::Pull) {
        return None;
    }
    let weak: Vec<String> = e
        .case
        .corners()
        .filter_map(|corner| e.weak(corner))
        .collect();
    let seen = e.case.corners().find_map(|corner| {
        e.seen(corner, Item::Hose, &["twisted", "flattened", "bulge"])
            .or_else(|| e.seen(corner, Item::PadsCondition, &["soaked", "glazed"]))
            .or_else(|| e.seen(corner, Item::Piston, &["seized", "stiff"]))
    });
    let balanced = e.case.axles().find_map(|axle| e.balanced(axle));
    let mut cause = Cause::new(
        Place::Vehicle,
        "uneven brake forces: hose, piston, or contaminated pads on the weak side; else a tyre",
        "roller test, then swap the front tyres and try again",
        "the forces are alike and the pull changes sides with the tyres",
    )
    .says(1, "a pull is complained of");
    for weak in weak {
        cause = cause.says(2, weak);
    }
    Some(cause.says_if(2, seen).but_if(balanced))
}

/// Judder is complained of and the brakes measure well.
fn judder_elsewhere(e: &Evidence<'_>) -> Option<Cause> {
    if !e.complains(Symptom::Judder) {
        return None;
    }
    let measured: Vec<(Place, Item)> = e
        .judgement
        .standing(Phase::AsFound)
        .filter(|f| {
            matches!(
                f.item,
                Item::DiscRunout | Item::DiscVariation | Item::DrumDiameter
            )
        })
        .map(|f| (f.place, f.item))
        .collect();
    if measured.is_empty() || !measured.iter().all(|(place, item)| e.passes(*place, *item)) {
        return None;
    }
    Some(
        Cause::new(
            Place::Vehicle,
            "not the brakes: wheel balance, a bush, steering play, or the drive line",
            "does it shake without braking? balance the wheels, look at the suspension",
            "it shakes only while braking",
        )
        .says(1, "judder is complained of")
        .says(2, "run-out and thickness variation are good at every wheel"),
    )
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_sign_names_defects_that_are_on_its_item_s_list() {
        for sign in SIGNS {
            for code in sign.codes {
                assert!(
                    crate::judge::defect::find(sign.item, code).is_some(),
                    "{} {code}",
                    sign.item
                );
            }
        }
    }
}
