//! Patterns of pad and lining wear.

use super::{Cause, Evidence, tenths};
use crate::job::{Axle, Corner, Item, Phase, Place, Symptom};
use crate::judge::{ItemVerdict, Results};
use crate::units::Length;

/// Taper along a pad from which it is asked about (common practice).
const TAPER: Length = Length::from_nm(1_000_000);
/// How much thicker than the sensor's usual depth a pad with its lamp on is a contradiction.
const THICK_FOR_LAMP: f64 = 1.0;

pub(super) fn at_corner(e: &Evidence<'_>, corner: Corner) -> Vec<Cause> {
    [
        inner_thin(e, corner),
        inner_thin_piston(e, corner),
        outer_thin(e, corner),
        taper(e, corner),
        lamp_on(e, corner),
        lamp_off(e, corner),
        glazed(e, corner),
        soaked(e, corner),
        lifting(e, corner),
        grinding(e, corner),
        accelerating(e, corner),
        linings(e, corner),
    ]
    .into_iter()
    .flatten()
    .collect()
}

pub(super) fn at_axle(e: &Evidence<'_>, axle: Axle) -> Vec<Cause> {
    let [left, right] = axle.corners();
    [
        both_thinner(e, left),
        both_thinner(e, right),
        both_thicker(e, left),
        both_thicker(e, right),
    ]
    .into_iter()
    .flatten()
    .collect()
}

/// Inner and outer pad when they differ by more than the policy's figure: positive, inner thinner.
fn inner_less(e: &Evidence<'_>, corner: Corner) -> Option<(Length, Length, Length)> {
    let pads = e.pads(corner)?;
    Some((
        Length::ZERO - pads.inner_outer,
        pads.inner_min,
        pads.outer_min,
    ))
}

fn uneven(e: &Evidence<'_>, corner: Corner) -> Option<String> {
    let allowed = e.case.policy.pads_inner_outer.value;
    let (less, inner, outer) = inner_less(e, corner)?;
    (less > allowed).then(|| {
        format!(
            "the inner pad at {corner} is much thinner than the outer: {} against {}",
            tenths(inner),
            tenths(outer)
        )
    })
}

fn thinner_disc(e: &Evidence<'_>, corner: Corner) -> Option<String> {
    let axle = Place::Axle(corner.axle());
    if !e.is_off(axle, Item::AxleDiscDifference) {
        return None;
    }
    let Results::Difference { difference_mm } = e.results(axle, Item::AxleDiscDifference)? else {
        return None;
    };
    // Left minus right: negative when the left disc is the thinner one.
    let thinner = if *difference_mm < 0.0 {
        crate::job::Side::Left
    } else {
        crate::job::Side::Right
    };
    (corner.side() == thinner).then(|| {
        format!(
            "the disc at {corner} is {:.2} mm thinner than its mate",
            difference_mm.abs()
        )
    })
}

fn inner_thin(e: &Evidence<'_>, corner: Corner) -> Option<Cause> {
    let pattern = uneven(e, corner);
    let seized = e.seen(corner, Item::SlidePins, &["seized", "stiff"]);
    if pattern.is_none() && !e.has(corner, Item::SlidePins, &["seized"]) {
        return None;
    }
    Some(
        Cause::new(
            Place::Corner(corner),
            "slide pins seized",
            "push the calliper by hand both ways, pull both pins: free play, grease, wear",
            "both pins move freely and are greased",
        )
        .says_if(2, pattern)
        .says_if(3, seized)
        .says_if(1, e.weak(corner))
        .says_if(1, thinner_disc(e, corner))
        .but_if(e.sound(corner, Item::SlidePins, "slide pins found free"))
        .but_if(e.balanced(corner.axle())),
    )
}

fn inner_thin_piston(e: &Evidence<'_>, corner: Corner) -> Option<Cause> {
    let pattern = uneven(e, corner);
    let stiff = e.seen(corner, Item::Piston, &["seized", "stiff"]);
    if pattern.is_none() && stiff.is_none() {
        return None;
    }
    let pins = e
        .seen(corner, Item::SlidePins, &["seized"])
        .map(|pins| format!("{pins}: that alone explains it"));
    Some(
        Cause::new(
            Place::Corner(corner),
            "piston not retracting",
            "press the piston back with the bleed nipple closed, then open: easy only when open means the hose, not the piston",
            "the piston goes back smoothly with the nipple closed",
        )
        .says_if(1, pattern)
        .says_if(3, stiff)
        .says_if(1, e.weak(corner))
        .but_if(e.sound(corner, Item::Piston, "piston found free"))
        .but_if(pins),
    )
}

fn outer_thin(e: &Evidence<'_>, corner: Corner) -> Option<Cause> {
    let allowed = e.case.policy.pads_inner_outer.value;
    let (less, inner, outer) = inner_less(e, corner)?;
    if less >= Length::ZERO - allowed {
        return None;
    }
    let pattern = format!(
        "the outer pad at {corner} is much thinner than the inner: {} against {}",
        tenths(outer),
        tenths(inner)
    );
    Some(
        Cause::new(
            Place::Corner(corner),
            "outer pad hung in the carrier, or a slide pin partly seized",
            "take the outer pad out by hand; clean the abutments, check the clips",
            "the outer pad slides freely in the carrier",
        )
        .says(2, pattern)
        .says_if(2, e.seen(corner, Item::PadsCondition, &["stuck"]))
        .says_if(1, e.seen(corner, Item::Springs, &["jacked", "weak"]))
        .says_if(
            1,
            e.seen(corner, Item::SlidePins, &["stiff", "seized", "dry"]),
        )
        .but_if(e.sound(corner, Item::Springs, "clips and springs found sound")),
    )
}

fn taper(e: &Evidence<'_>, corner: Corner) -> Option<Cause> {
    let taper = e.pads(corner)?.taper?;
    if taper.abs() <= TAPER {
        return None;
    }
    let end = if taper < Length::ZERO {
        "leading"
    } else {
        "trailing"
    };
    Some(
        Cause::new(
            Place::Corner(corner),
            "worn carrier, one slide pin seized, or a wrong pad",
            "compare both pins' wear, look at the clip's seat and the pad's back plate",
            "both pins are alike and the pad sits square",
        )
        .says(
            2,
            format!(
                "a pad at {corner} is {} thinner at its {end} end",
                tenths(taper.abs())
            ),
        )
        .says_if(2, e.seen(corner, Item::SlidePins, &["seized", "stiff"]))
        .says_if(1, e.seen(corner, Item::Springs, &["jacked", "missing"]))
        .says_if(
            2,
            e.seen(corner, Item::PadsCondition, &["wrong", "wrongly_mounted"]),
        )
        .but_if(e.sound(corner, Item::SlidePins, "slide pins found free")),
    )
}

/// Both pads of one wheel thinner than the other side's.
fn both_thinner(e: &Evidence<'_>, corner: Corner) -> Option<Cause> {
    let (here, there) = (e.pads(corner)?, e.pads(corner.mate())?);
    let allowed = e.case.policy.pads_left_right.value;
    let less = (there.inner_min - here.inner_min).min(there.outer_min - here.outer_min);
    if less <= allowed {
        return None;
    }
    let parking = e
        .has(corner, Item::Piston, &["stiff", "seized"])
        .then(|| format!("the piston at {corner} is not free"));
    Some(
        Cause::new(
            Place::Corner(corner),
            "brake dragging: piston sticking, hose collapsed inside, or parking brake not releasing",
            "spin the wheel after releasing the brake, open the bleed nipple and spin again; compare the discs' temperatures",
            "the wheel runs free at once after the brake is released",
        )
        .says(
            2,
            format!(
                "both pads at {corner} are at least {} thinner than at {}",
                tenths(less),
                corner.mate()
            ),
        )
        .says_if(2, parking)
        .says_if(1, warmer(e, corner))
        .says_if(1, e.seen(corner, Item::DiscSurface, &["blue"]))
        .but_if(e.sound(corner, Item::Piston, "piston found free"))
        .but_if(
            e.weak(corner.mate())
                .map(|weak| format!("{weak}: that side may do too little instead")),
        ),
    )
}

/// The disc's temperature well above its mate's (common practice: 15 K).
pub(super) fn warmer(e: &Evidence<'_>, corner: Corner) -> Option<String> {
    let celsius = |corner: Corner| {
        let take =
            e.case
                .job
                .judged_take(Place::Corner(corner), Item::DiscThickness, Phase::AsFound)?;
        super::super::disc::temperature(take).map(|t| t.celsius())
    };
    let (here, there) = (celsius(corner)?, celsius(corner.mate())?);
    (here - there > 15.0).then(|| {
        format!(
            "the disc at {corner} was {here:.0} °C, at {} {there:.0} °C",
            corner.mate()
        )
    })
}

/// Both pads of one wheel thicker, and the wheel weaker.
fn both_thicker(e: &Evidence<'_>, corner: Corner) -> Option<Cause> {
    let (here, there) = (e.pads(corner)?, e.pads(corner.mate())?);
    let more = (here.inner_min - there.inner_min).min(here.outer_min - there.outer_min);
    let weak = e.weak(corner)?;
    if more <= Length::ZERO {
        return None;
    }
    Some(
        Cause::new(
            Place::Corner(corner),
            "this wheel does too little: piston seized, air, a blocked hose, or contaminated pads",
            "bleed this calliper and compare the flow of both sides, then measure the forces again",
            "the forces are alike after bleeding",
        )
        .says(2, weak)
        .says(
            1,
            format!(
                "both pads at {corner} are at least {} thicker than at {}",
                tenths(more),
                corner.mate()
            ),
        )
        .says_if(3, e.seen(corner, Item::Piston, &["seized", "stiff"]))
        .says_if(
            2,
            e.seen(corner, Item::PadsCondition, &["soaked", "glazed"]),
        )
        .but_if(e.sound(corner, Item::Piston, "piston found free")),
    )
}

/// Thickness above the limit in mm, and the smallest thickness.
fn left(e: &Evidence<'_>, corner: Corner) -> Option<(f64, f64)> {
    match e.results(Place::Corner(corner), Item::PadsThickness)? {
        Results::Friction {
            left_mm: Some(left),
            min_mm,
            ..
        } => Some((*left, *min_mm)),
        _ => None,
    }
}

fn lamp_on(e: &Evidence<'_>, corner: Corner) -> Option<Cause> {
    let lamp = e.seen(corner, Item::SensorWear, &["lamp"])?;
    let (left, min) = left(e, corner)?;
    if left <= THICK_FOR_LAMP {
        return None;
    }
    Some(
        Cause::new(
            Place::Corner(corner),
            "pad-wear sensor's wire chafed, or its connector wet",
            "measure the loop's continuity, unplug and look into the connector",
            "the loop is whole and the connector dry",
        )
        .says(1, lamp)
        .says(2, format!("the pads at {corner} still have {min:.1} mm")),
    )
}

fn lamp_off(e: &Evidence<'_>, corner: Corner) -> Option<Cause> {
    let place = Place::Corner(corner);
    let quiet = e.sound(
        corner,
        Item::SensorWear,
        "pad-wear sensor found sound, no lamp",
    )?;
    if e.verdict(place, Item::PadsThickness) != Some(ItemVerdict::Fail) {
        return None;
    }
    let (_, min) = left(e, corner)?;
    Some(
        Cause::new(
            place,
            "pad-wear sensor broken or bridged, or it watches another pad",
            "trace which pad carries the sensor, then measure its continuity",
            "the sensor sits on a pad that is still thick",
        )
        .says(1, format!("the pads at {corner} are down to {min:.1} mm"))
        .says(1, quiet),
    )
}

fn glazed(e: &Evidence<'_>, corner: Corner) -> Option<Cause> {
    let glazed = e.seen(corner, Item::PadsCondition, &["glazed"])?;
    let squeals = e
        .complains(Symptom::Squeal)
        .then(|| "squeal is complained of".to_owned());
    Some(
        Cause::new(
            Place::Corner(corner),
            "glazed pads, dry abutments: light use, or heat from a drag",
            "clean and grease the abutments, bed the pads in, listen again",
            "the noise stays after cleaning and bedding in",
        )
        .says(2, glazed)
        .says_if(1, squeals)
        .says_if(
            1,
            e.seen(corner, Item::Springs, &["jacked", "weak", "missing"]),
        ),
    )
}

fn soaked(e: &Evidence<'_>, corner: Corner) -> Option<Cause> {
    let soaked = e.seen(corner, Item::PadsCondition, &["soaked"])?;
    Some(
        Cause::new(
            Place::Corner(corner),
            "calliper seal, hose union or hub grease leaking onto the pads",
            "clean, press the pedal, find where it is wet under pressure; renew the axle's pads after the repair",
            "nothing gets wet under pressure",
        )
        .says(2, soaked)
        .says_if(2, e.seen(corner, Item::CalliperLeak, &["leak", "damp"]))
        .says_if(1, e.seen(corner, Item::Hose, &["leak"]))
        .but_if(e.sound(corner, Item::CalliperLeak, "calliper found dry")),
    )
}

fn lifting(e: &Evidence<'_>, corner: Corner) -> Option<Cause> {
    let lifting = e.seen(
        corner,
        Item::PadsCondition,
        &["lifting", "cracked", "chips"],
    )?;
    Some(
        Cause::new(
            Place::Corner(corner),
            "rust behind the friction material, or its bond failing",
            "photograph the pad's edge, look at the other three",
            "the plate is clean and the edge whole",
        )
        .says(2, lifting),
    )
}

fn grinding(e: &Evidence<'_>, corner: Corner) -> Option<Cause> {
    if !e.complains(Symptom::Grinding) {
        return None;
    }
    let place = Place::Corner(corner);
    let thin = (e.verdict(place, Item::PadsThickness) == Some(ItemVerdict::Fail))
        .then(|| left(e, corner))
        .flatten()
        .map(|(_, min)| format!("the pads at {corner} are down to {min:.1} mm"));
    let metal = e.seen(corner, Item::PadsCondition, &["metal"]);
    if thin.is_none() && metal.is_none() {
        return None;
    }
    Some(
        Cause::new(
            place,
            "pad worn to its plate",
            "take the pads out and look at both plates and the disc's face",
            "friction material stands over the whole plate",
        )
        .says(1, "grinding is complained of")
        .says_if(2, thin)
        .says_if(3, metal)
        .says_if(
            1,
            e.seen(corner, Item::DiscSurface, &["scored", "scored_deep"]),
        ),
    )
}

fn accelerating(e: &Evidence<'_>, corner: Corner) -> Option<Cause> {
    let place = Place::Corner(corner);
    let Results::Friction { forecast, .. } = e.results(place, Item::PadsThickness)? else {
        return None;
    };
    if !forecast.accelerates() {
        return None;
    }
    Some(
        Cause::new(
            place,
            "something began to drag since the last visit, or the vehicle's use changed",
            "drag test: spin the wheel after releasing the brake; ask about the driver and towing",
            "the wheel runs free and the use did change",
        )
        .says(
            2,
            format!("the pads at {corner} wear more than 1.5 times as fast as before"),
        )
        .says_if(1, warmer(e, corner)),
    )
}

fn linings(e: &Evidence<'_>, corner: Corner) -> Option<Cause> {
    let place = Place::Corner(corner);
    let take = e
        .case
        .job
        .judged_take(place, Item::LiningsThickness, Phase::AsFound)?;
    let read = |n| take.length(crate::job::Slot::Lining(n));
    let (leading, trailing) = (read(1)?, read(2)?);
    if trailing - leading <= TAPER {
        return None;
    }
    Some(
        Cause::new(
            place,
            "normal for a leading shoe; if the other hardly wears, the wheel cylinder may be seized on its side",
            "watch both ends of the cylinder move while the pedal is pressed lightly",
            "both pistons of the cylinder move",
        )
        .says(
            1,
            format!(
                "leading lining {} against trailing {}, at {corner}",
                tenths(leading),
                tenths(trailing)
            ),
        )
        .says_if(2, e.seen(corner, Item::CylinderLeak, &["damp", "leak"])),
    )
}
