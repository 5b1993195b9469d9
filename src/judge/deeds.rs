//! What was done, held against the vehicle: whether it can have been done there, and what has to be
//! looked at or measured again after it.

use std::fmt;

use super::case::Case;
use crate::job::{Corner, Cure, Deed, Effect, Fault, Item, Kind, Part, Place, holds};
use crate::spec::BrakeKind;
use crate::units::Length;

/// Why something cannot have been done at a place.
#[derive(Clone, Debug, PartialEq, Eq)]
#[non_exhaustive]
pub enum Impossible {
    /// It is done at a wheel or an axle.
    NotThere {
        /// What.
        cure: Cure,
        /// Where it can be done.
        wants: Wants,
    },
    /// The brake there is of the other kind.
    OtherBrake {
        /// Where.
        place: Place,
        /// What.
        cure: Cure,
    },
    /// A wheel with so many fasteners has no such clocking.
    Clocking {
        /// The clocking.
        clocking: u8,
        /// The wheel's fasteners.
        fasteners: u8,
    },
    /// A disc that thin may not be machined.
    TooThin {
        /// Where.
        corner: Corner,
        /// Its thinnest point.
        thinnest: Length,
        /// What it may be machined to.
        machine_to: Length,
    },
}

/// Where a piece of work is done.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Wants {
    /// At a wheel.
    Corner,
    /// At a wheel or an axle.
    CornerOrAxle,
    /// At the vehicle.
    Vehicle,
}

impl fmt::Display for Impossible {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::NotThere { cure, wants } => {
                let wants = match wants {
                    Wants::Corner => "a corner (FL FR RL RR)",
                    Wants::CornerOrAxle => "a corner (FL FR RL RR) or an axle (front, rear)",
                    Wants::Vehicle => "`vehicle`",
                };
                write!(f, "`{}` belongs to {wants}", cure)
            }
            Self::OtherBrake { place, cure } => {
                write!(
                    f,
                    "`{}` cannot be done at {place}: the sheet has no such brake there",
                    cure
                )
            }
            Self::Clocking {
                clocking,
                fasteners,
            } => write!(
                f,
                "clocking {clocking}: a wheel with {fasteners} fasteners has 0 to {}",
                fasteners.saturating_sub(1)
            ),
            Self::TooThin {
                corner,
                thinnest,
                machine_to,
            } => write!(
                f,
                "{corner}: the disc measures {thinnest} and may be machined down to {machine_to}, not below it"
            ),
        }
    }
}

const fn wants(cure: Cure) -> Wants {
    match cure {
        Cure::Did(
            Deed::ToppedUpFluid | Deed::BledBrakes | Deed::ConditionedDiscs | Deed::HeldPedal,
        )
        | Cure::Fitted(Part::Fluid) => Wants::Vehicle,
        Cure::Did(Deed::Reclocked { .. }) => Wants::Corner,
        _ => Wants::CornerOrAxle,
    }
}

/// The kind of brake something is done to; `None` for what every brake has.
const fn brake(cure: Cure) -> Option<bool> {
    const DISC: Option<bool> = Some(true);
    const DRUM: Option<bool> = Some(false);
    match cure {
        Cure::Fitted(
            Part::Disc | Part::Pads | Part::Calliper | Part::SlidePins | Part::SensorWear,
        )
        | Cure::Did(
            Deed::CleanedSlidePins
            | Deed::CleanedAbutments
            | Deed::CleanedDisc
            | Deed::Reclocked { .. }
            | Deed::MachinedDisc
            | Deed::FreedPiston,
        ) => DISC,
        Cure::Fitted(Part::Drum | Part::Linings | Part::Cylinder)
        | Cure::Did(Deed::MachinedDrum) => DRUM,
        _ => None,
    }
}

/// Why something cannot have been done at a place; `None` when it can.
#[must_use]
pub fn impossible(case: &Case<'_>, place: Place, cure: Cure) -> Option<Impossible> {
    let wants = wants(cure);
    let fits = match (wants, place) {
        (Wants::Vehicle, place) => place == Place::Vehicle,
        (Wants::Corner, place) => place.corner().is_some(),
        // A cable or an adjuster may act on the whole parking brake.
        (Wants::CornerOrAxle, Place::Vehicle) => matches!(
            cure,
            Cure::Fitted(Part::Cable | Part::Adjuster) | Cure::Did(Deed::AdjustedParking)
        ),
        (Wants::CornerOrAxle, _) => true,
    };
    if !fits {
        return Some(Impossible::NotThere { cure, wants });
    }
    let corners = || {
        case.corners()
            .filter(|corner| holds(place, Place::Corner(*corner)))
    };
    let has = |corner: Corner, disc: bool| {
        case.axle(corner.axle())
            .is_some_and(|axle| matches!(axle.brake, BrakeKind::Disc { .. }) == disc)
    };
    if corners().next().is_none() && place != Place::Vehicle
        || brake(cure).is_some_and(|disc| !corners().all(|corner| has(corner, disc)))
    {
        return Some(Impossible::OtherBrake { place, cure });
    }
    match cure {
        Cure::Did(Deed::Reclocked { clocking }) if clocking >= case.sheet.wheel.fasteners => {
            Some(Impossible::Clocking {
                clocking,
                fasteners: case.sheet.wheel.fasteners,
            })
        }
        Cure::Did(Deed::MachinedDisc) => corners().find_map(|corner| too_thin(case, corner)),
        _ => None,
    }
}

/// A disc that measured less than it may be machined to before it was machined.
fn too_thin(case: &Case<'_>, corner: Corner) -> Option<Impossible> {
    let disc = case.axle(corner.axle())?.disc.as_ref()?;
    let machine_to = disc.machine_to.as_ref().or(disc.discard.as_ref())?.value;
    let place = Place::Corner(corner);
    let set = case.set_judged(place, Item::DiscThickness, crate::job::Phase::AsLeft)?;
    let (thinnest, _) = super::disc::thinnest(case, set)?;
    (thinnest <= machine_to).then_some(Impossible::TooThin {
        corner,
        thinnest,
        machine_to,
    })
}

/// What has to be looked at or measured again once something was done: first what is void, then what
/// may be better now.
#[must_use]
pub fn again(case: &Case<'_>, place: Place, cure: Cure) -> Vec<(Place, Item, Effect)> {
    let mut items: Vec<(Place, Item, Effect)> = case
        .corners()
        .map(Place::Corner)
        .chain([Place::Vehicle])
        .filter(|at| holds(place, *at) || holds(*at, place))
        .flat_map(|at| {
            let scheduled = match at {
                Place::Corner(corner) => case.corner_items(corner),
                _ => case.vehicle_items(),
            };
            scheduled
                .into_iter()
                .filter(|item| matches!(item.kind(), Kind::Look | Kind::Measure))
                .map(move |item| (at, item, cure.effect(item)))
        })
        .filter(|(.., since)| *since != Effect::Untouched)
        .collect();
    items.sort_by_key(|(.., since)| *since != Effect::Void);
    items
}

/// What may have cured a fault of an item, in the words it is entered by.
#[must_use]
pub fn cures(item: Item, fault: Fault<'_>) -> Vec<String> {
    let turned = Cure::Did(Deed::Reclocked { clocking: 0 });
    let parts = Part::ALL.into_iter().map(Cure::Fitted);
    let deeds = Deed::all().map(|(deed, _)| Cure::Did(deed));
    parts
        .chain(deeds)
        .chain([turned])
        .filter(|cure| cure.lifts(item, fault) != crate::job::Lift::Never)
        .map(|cure| match cure {
            Cure::Did(Deed::Reclocked { .. }) => "reclocked K".to_owned(),
            cure => cure.to_string(),
        })
        .collect()
}
