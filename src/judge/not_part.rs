//! What is no part of an inspection: items the vehicle is built without, and those left out that may be.

use serde::Serialize;

use super::case::Case;
use crate::job::{Corner, Item, Phase, Place};
use crate::spec::Sheet;

/// An item that is no part of this inspection, and why.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, schemars::JsonSchema)]
pub struct NotPart {
    /// Where.
    pub place: Place,
    /// What.
    pub item: Item,
    /// Why.
    pub why: String,
}

/// Everything that is no part of the inspection.
pub(super) fn not_part(case: &Case<'_>) -> Vec<NotPart> {
    let one = |place, item, why: String| NotPart { place, item, why };
    let absent = case.job.absent.iter();
    let mut all: Vec<NotPart> = absent
        .map(|((corner, item), (by, on))| {
            let why = format!("not fitted to this vehicle, said by {by} on {on}");
            one(Place::Corner(*corner), *item, why)
        })
        .collect();
    for corner in case.corners() {
        let place = Place::Corner(corner);
        for item in case.corner_items(corner) {
            let measured = case.job.takes(place, item, Phase::AsFound).next().is_some();
            if item == Item::BearingFloat && !measured && case.bearing_is_felt(corner) {
                let why = "its end float was not measured: no maker's figure is on file; the bearing is judged by hand";
                all.push(one(place, item, why.to_owned()));
            } else if case.left_out(place, item) {
                all.push(one(place, item, left_out_words(case, place, item)));
            }
        }
    }
    for item in case.vehicle_items() {
        if case.left_out(Place::Vehicle, item) {
            let why = left_out_words(case, Place::Vehicle, item);
            all.push(one(Place::Vehicle, item, why));
        }
    }
    all
}

fn left_out_words(case: &Case<'_>, place: Place, item: Item) -> String {
    let reason =
        case.job
            .seen(place, item, Phase::AsFound)
            .and_then(|seen| match &seen.observation {
                crate::job::Observation::NotInspected { reason } => Some(format!(": {reason}")),
                _ => None,
            });
    format!(
        "the schedule lets it be left out, and it was not done{}",
        reason.unwrap_or_default()
    )
}

/// Refuses to call an item not fitted that every vehicle has, or that this vehicle's sheet knows.
///
/// # Errors
/// Why not, in a sentence.
pub fn may_lack(sheet: &Sheet, corner: Corner, item: Item) -> Result<(), String> {
    if !item.may_be_absent() {
        let may: Vec<&str> = Item::ALL
            .iter()
            .filter(|item| item.may_be_absent())
            .map(|item| item.id())
            .collect();
        return Err(format!(
            "`{item}` is on every vehicle; not fitted may be: {}",
            may.join(", ")
        ));
    }
    let axle = sheet.axles.get(usize::from(corner.axle().number()) - 1);
    let Some(axle) = axle else {
        return Err(format!("the vehicle has no corner {corner}"));
    };
    let has_pins = axle
        .calliper
        .as_ref()
        .is_some_and(|c| c.slide_pin.is_some());
    if item == Item::SlidePins && has_pins {
        return Err(format!(
            "sheet `{}` gives a torque for the slide pins at {corner}: its callipers are no fixed ones",
            sheet.id
        ));
    }
    Ok(())
}
