//! Patterns of disc thickness, run-out, clocking and the disc's faces.

use super::{Cause, Evidence, micrometres};
use crate::job::{Corner, Item, Phase, Place, Symptom};
use crate::judge::clocking::clocking_of;
use crate::judge::finding::FaceResults;
use crate::judge::{FitResults, ItemVerdict, Results};
use crate::measure::clocking::{Clocking, Lead};
use crate::measure::faces::{FACE_RATIO, LIP_CLOSURE_ALLOWED};

pub(super) fn at_corner(e: &Evidence<'_>, corner: Corner) -> Vec<Cause> {
    let separated = clocking_of(e.case, corner, None).and_then(Result::ok);
    [
        grown(e, corner),
        deposits(e, corner),
        early(e, corner),
        separated.as_ref().and_then(|c| lead(e, corner, c)),
        separated.as_ref().and_then(|c| closure(corner, c)),
        dirt(e, corner),
        clamping(e, corner),
        saddle(e, corner),
        new_disc(e, corner),
        hot(e, corner),
        blue(e, corner),
        inner_face(e, corner),
        face(
            e,
            corner,
            &["lip"],
            "normal wear, the disc renewed late",
            "measure inside the lip",
            "the thickness inside the lip is far from the limit",
        ),
        face(
            e,
            corner,
            &["band"],
            "pad not covering the face: light use, a hung pad, or a rear axle that does little",
            "is the pad free? brake it clean on the road, measure the forces",
            "the band is gone after a few firm stops",
        ),
        face(
            e,
            corner,
            &["scored", "scored_deep"],
            "grit between pad and disc, or a pad worn to its plate",
            "measure the groove's depth, look at the pads' faces",
            "the grooves are shallower than the policy's figure",
        ),
        face(
            e,
            corner,
            &["crack"],
            "thermal fatigue",
            "photograph and measure the crack; renew the discs of the axle",
            "the line is a scratch that ends on the face",
        ),
        face(
            e,
            corner,
            &["crazing"],
            "normal heat checking while it is shallow",
            "look again at the next service, whether a line reaches an edge",
            "a line reaches the edge or goes through: then it is a crack",
        ),
    ]
    .into_iter()
    .flatten()
    .collect()
}

fn fit<'e>(e: &'e Evidence<'_>, corner: Corner) -> Option<&'e FitResults> {
    match e.results(Place::Corner(corner), Item::DiscRunout)? {
        Results::Runout { fit: Some(fit), .. } => Some(fit),
        _ => None,
    }
}

fn dtv(e: &Evidence<'_>, corner: Corner) -> Option<f64> {
    match e.results(Place::Corner(corner), Item::DiscVariation)? {
        Results::Variation { dtv_um, .. } => Some(*dtv_um),
        _ => None,
    }
}

fn judged(e: &Evidence<'_>, corner: Corner) -> Option<f64> {
    match e.results(Place::Corner(corner), Item::DiscRunout)? {
        Results::Runout { judged_mm, .. } => Some(*judged_mm),
        _ => None,
    }
}

fn judder(e: &Evidence<'_>) -> Option<String> {
    e.complains(Symptom::Judder)
        .then(|| "judder is complained of".to_owned())
}

fn grown(e: &Evidence<'_>, corner: Corner) -> Option<Cause> {
    let place = Place::Corner(corner);
    if !(e.is_off(place, Item::DiscVariation) && e.is_off(place, Item::DiscRunout)) {
        return None;
    }
    let (dtv, runout) = (dtv(e, corner)?, judged(e, corner)?);
    Some(
        Cause::new(
            place,
            "run-out has been wearing the disc to uneven thickness",
            "separate hub and disc by turning the disc on the hub; re-clock it, or renew it",
            "the thin spot is nowhere near the high spot of the run-out",
        )
        .says(
            2,
            format!(
                "thickness varies by {dtv:.0} µm at {corner} and the run-out is {}",
                micrometres(runout)
            ),
        )
        .says_if(1, judder(e))
        .says_if(1, once_a_turn(e, corner)),
    )
}

/// Most of the variation comes once a turn, as run-out wears it.
fn once_a_turn(e: &Evidence<'_>, corner: Corner) -> Option<String> {
    match e.results(Place::Corner(corner), Item::DiscVariation)? {
        Results::Variation {
            order1_um: Some(once),
            order2_um: Some(twice),
            ..
        } if once > twice => Some(format!(
            "most of the thickness variation comes once a turn ({once:.1} µm against {twice:.1} µm twice)"
        )),
        _ => None,
    }
}

fn deposits(e: &Evidence<'_>, corner: Corner) -> Option<Cause> {
    let place = Place::Corner(corner);
    if !(e.is_off(place, Item::DiscVariation) && e.passes(place, Item::DiscRunout)) {
        return None;
    }
    let (dtv, runout) = (dtv(e, corner)?, judged(e, corner)?);
    Some(
        Cause::new(
            place,
            "pad deposits, or a patch of corrosion from standing",
            "clean the face as the disc's maker allows, bed in, measure again",
            "the variation is the same after cleaning",
        )
        .says(
            2,
            format!(
                "thickness varies by {dtv:.0} µm at {corner} though the run-out is only {}",
                micrometres(runout)
            ),
        )
        .says_if(1, judder(e))
        .says_if(
            1,
            e.seen(corner, Item::DiscSurface, &["band", "rusted", "uneven"]),
        ),
    )
}

fn early(e: &Evidence<'_>, corner: Corner) -> Option<Cause> {
    let place = Place::Corner(corner);
    let off = e.is_off(place, Item::DiscRunout) && e.passes(place, Item::DiscVariation);
    if !off || e.complains(Symptom::Judder) {
        return None;
    }
    let runout = judged(e, corner)?;
    Some(
        Cause::new(
            place,
            "early stage: the run-out has not worn the disc yet, judder is to be expected",
            "correct the run-out now: clean the hub face, turn the disc on the hub",
            "the run-out is inside its limit after cleaning",
        )
        .says(
            1,
            format!(
                "run-out of {} at {corner} with an even thickness and no complaint",
                micrometres(runout)
            ),
        ),
    )
}

fn lead(e: &Evidence<'_>, corner: Corner, clocking: &Clocking) -> Option<Cause> {
    if !e.is_off(Place::Corner(corner), Item::DiscRunout) {
        return None;
    }
    let (hub, disc) = (clocking.hub?, clocking.disc?);
    let shares = format!(
        "turning the disc at {corner} separates {} that stay with the hub and {} that follow the disc",
        micrometres(hub.tir.mm()),
        micrometres(disc.tir.mm())
    );
    let best = clocking
        .best
        .and_then(|best| clocking.clockings.get(usize::from(best)))
        .and_then(|best| Some((best.holes, best.tir?)));
    let (cause, next) = match clocking.lead? {
        Lead::Hub => (
            "the hub: dirt or rust on its face, a bent hub, or its bearing",
            "clean the hub face, measure the flange directly, feel the bearing".to_owned(),
        ),
        Lead::Disc => (
            "the disc's own tilt",
            "measure the disc on the bench; turn it on the hub, skim it or renew it".to_owned(),
        ),
        _ => (
            "hub and disc together: their tilts add up in this position",
            best.map_or_else(
                || "measure in another clocking".to_owned(),
                |(holes, tir)| {
                    format!(
                        "turn the disc on by {holes} holes: {} are predicted there",
                        micrometres(tir.mm())
                    )
                },
            ),
        ),
    };
    let mut cause = Cause::new(
        Place::Corner(corner),
        cause,
        &next,
        "the run-out does not change as predicted when the disc is turned",
    )
    .says(3, shares);
    if let Some(closure) = &clocking.closure {
        let words = format!(
            "the ring in clocking {} is {} from its prediction",
            closure.holes,
            micrometres(closure.disagreement.mm())
        );
        cause = if closure.agrees {
            cause.says(1, format!("{words}: it agrees"))
        } else {
            cause.but_if(Some(words))
        };
    }
    Some(cause)
}

fn closure(corner: Corner, clocking: &Clocking) -> Option<Cause> {
    let closure = clocking.closure.filter(|closure| !closure.agrees)?;
    Some(
        Cause::new(
            Place::Corner(corner),
            "a dirt flake, a wrong mark, or numbers that run backwards",
            "clean both faces, make sure of stud 1 and the disc's mark, measure the ring again",
            "the repeated ring still disagrees",
        )
        .says(
            3,
            format!(
                "in clocking {} the run-out is {} from its prediction, {:.1} times its uncertainty",
                closure.holes,
                micrometres(closure.disagreement.mm()),
                closure.ratio
            ),
        ),
    )
}

fn dirt(e: &Evidence<'_>, corner: Corner) -> Option<Cause> {
    cleaned(e, corner).or_else(|| rust(e, corner))
}

/// Cleaned, and in the same position, the run-out is another one.
fn cleaned(e: &Evidence<'_>, corner: Corner) -> Option<Cause> {
    let place = Place::Corner(corner);
    let rings = e.case.job.sets(place, Item::DiscRunout);
    let [(_, first), (_, second), ..] = rings[..] else {
        return None;
    };
    let read = |take| {
        use crate::judge::disc::{clocking, runout_ring};
        let ring = runout_ring(take, Some(e.case.sheet.wheel.fasteners));
        let gauge = e
            .case
            .taken(take, crate::job::InstrumentKind::DialIndicator)?
            .gauge;
        let result = crate::measure::runout::runout(&ring, &gauge).ok()?;
        Some((clocking(take), result.judged, result.u))
    };
    let ((at, before, u), (again, after, u_after)) = (read(first)?, read(second)?);
    let spread = (u.mm() * u.mm() + u_after.mm() * u_after.mm()).sqrt();
    if at != again || (before - after).mm() <= 2.0 * spread {
        return None;
    }
    Some(
        Cause::new(
            place,
            "dirt or rust between hub and disc made a part of it",
            "clean both faces bright at every refit, measure before the wheel goes on",
            "the run-out is back at its first value though the faces are clean",
        )
        .says(
            2,
            format!(
                "in the same position the run-out at {corner} fell from {} to {} when it was measured again",
                micrometres(before.mm()),
                micrometres(after.mm())
            ),
        )
        .says_if(1, e.seen(corner, Item::HubFace, &["rust", "dirt", "burr"])),
    )
}

fn rust(e: &Evidence<'_>, corner: Corner) -> Option<Cause> {
    let rust = e.seen(corner, Item::HubFace, &["rust", "dirt", "burr"])?;
    let runout = e
        .is_off(Place::Corner(corner), Item::DiscRunout)
        .then(|| judged(e, corner))
        .flatten()
        .map(|runout| format!("run-out of {} at {corner}", micrometres(runout)));
    Some(
        Cause::new(
            Place::Corner(corner),
            "the hub face was not cleaned before",
            "clean it bright and take the run-out again in the same position",
            "the run-out is the same on a clean face",
        )
        .says(2, rust)
        .says_if(1, runout),
    )
}

fn clamping(e: &Evidence<'_>, corner: Corner) -> Option<Cause> {
    let fit = fit(e, corner)?;
    // The same figure as for what comes twice a turn: there is no other.
    let policy = e.case.policy.runout_order2_advise.value.mm();
    let part = fit.order_n_mm.filter(|part| *part > policy)?;
    Some(
        Cause::new(
            Place::Corner(corner),
            "uneven clamping: fasteners unlike tight, burrs at the holes, a spacer missing",
            "slacken, tighten in stages in star order, measure again",
            "the alternation stays after even clamping",
        )
        .says(
            2,
            format!(
                "{} of the run-out at {corner} alternate between studs and the places between",
                micrometres(part)
            ),
        )
        .says_if(
            1,
            e.seen(
                corner,
                Item::WheelFasteners,
                &["differs", "thread", "loose"],
            ),
        ),
    )
}

fn saddle(e: &Evidence<'_>, corner: Corner) -> Option<Cause> {
    let fit = fit(e, corner)?;
    let policy = e.case.policy.runout_order2_advise.value.mm();
    let part = fit.order2_mm.filter(|part| *part > policy)?;
    Some(
        Cause::new(
            Place::Corner(corner),
            "disc distorted by heat to a saddle",
            "look for blue spots, then renew the discs of the axle",
            "it is gone after clamping the disc evenly on a clean face",
        )
        .says(
            2,
            format!(
                "{} of the run-out at {corner} come twice a turn",
                micrometres(part)
            ),
        )
        .says_if(
            1,
            e.seen(corner, Item::DiscSurface, &["blue", "hot_spots", "crazing"]),
        ),
    )
}

/// A new disc that still runs out of true.
fn new_disc(e: &Evidence<'_>, corner: Corner) -> Option<Cause> {
    let place = Place::Corner(corner);
    if !e.case.renewed(place, Item::DiscRunout) {
        return None;
    }
    let left = e
        .judgement
        .standing(Phase::AsLeft)
        .find(|finding| (finding.place, finding.item) == (place, Item::DiscRunout))?;
    if !matches!(left.verdict, ItemVerdict::Advise | ItemVerdict::Fail) {
        return None;
    }
    Some(
        Cause::new(
            place,
            "dirty hub face, oil film, uneven torque, or a disc not seated",
            "clean both faces, clamp in stages, measure again; then turn it on the hub",
            "a second new disc shows the same",
        )
        .says(
            2,
            format!("the disc at {corner} is new and: {}", left.sentence),
        ),
    )
}

fn hot(e: &Evidence<'_>, corner: Corner) -> Option<Cause> {
    let spots = e.seen(corner, Item::DiscSurface, &["hot_spots", "crazing"])?;
    let judder = judder(e)?;
    Some(
        Cause::new(
            Place::Corner(corner),
            "judder when hot: hot spots or heat crazing",
            "look for blue spots, measure the thickness variation with the disc warm",
            "the judder is the same with cold brakes",
        )
        .says(2, spots)
        .says(1, judder),
    )
}

fn blue(e: &Evidence<'_>, corner: Corner) -> Option<Cause> {
    let blue = e.seen(corner, Item::DiscSurface, &["blue"])?;
    Some(
        Cause::new(
            Place::Corner(corner),
            "overheated: the brake drags, or was used hard",
            "drag test: spin the wheel after releasing the brake",
            "the wheel runs free and the use explains it",
        )
        .says(2, blue)
        .says_if(1, super::pads::warmer(e, corner))
        .says_if(2, e.seen(corner, Item::SlidePins, &["seized"]))
        .says_if(2, e.seen(corner, Item::Piston, &["seized", "stiff"])),
    )
}

/// The inner face worn or rusted more, by the look or by the depths below its lips.
fn inner_face(e: &Evidence<'_>, corner: Corner) -> Option<Cause> {
    let place = Place::Corner(corner);
    let seen = e.seen(corner, Item::DiscSurface, &["inner_face"]);
    let faces = match e.results(place, Item::DiscThickness) {
        Some(Results::Thickness { faces, .. }) => faces.as_ref(),
        _ => None,
    };
    let lost = |faces: &FaceResults| {
        format!(
            "at {corner} the inner face has lost {:.2} mm and the outer {:.2} mm",
            faces.lip_inner_mm, faces.lip_outer_mm
        )
    };
    let uneven = |faces: &FaceResults| {
        let (inner, outer) = (faces.lip_inner_mm, faces.lip_outer_mm);
        inner > FACE_RATIO * outer && inner - outer > LIP_CLOSURE_ALLOWED.mm()
    };
    let (worn, even): (Vec<_>, Vec<_>) = faces.into_iter().partition(|faces| uneven(faces));
    if seen.is_none() && worn.is_empty() {
        return None;
    }
    Some(
        Cause::new(
            place,
            "inner pad hanging, or water and grit behind the disc",
            "look at pins, dust shield and the pad's movement",
            "both pads move freely and the shield is whole",
        )
        .says_if(1, seen)
        .says_if(2, worn.first().map(|faces| lost(faces)))
        .says_if(1, e.seen(corner, Item::SlidePins, &["seized", "stiff"]))
        .but_if(even.first().map(|faces| lost(faces))),
    )
}

fn face(
    e: &Evidence<'_>,
    corner: Corner,
    codes: &[&str],
    cause: &str,
    next: &str,
    ruled_out_by: &str,
) -> Option<Cause> {
    let seen = e.seen(corner, Item::DiscSurface, codes)?;
    Some(Cause::new(Place::Corner(corner), cause, next, ruled_out_by).says(1, seen))
}
