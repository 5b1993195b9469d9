//! Which items may stop a vehicle, were they not good.

use super::case::Case;
use super::defect::{Grade, defects};
use crate::job::{Item, Place};
use crate::spec::{Applies, RuleClass};

/// Whether the worst that may be wrong with an item is that the vehicle must not be driven.
///
/// By the item's own defects, by friction or forces that may be too small to brake with, and by the
/// rule packs in force; a row whose scope is not known counts.
#[must_use]
pub fn may_stop(case: &Case<'_>, place: Place, item: Item) -> bool {
    let own = defects(item)
        .iter()
        .any(|defect| defect.grade == Grade::Stop)
        || matches!(
            item,
            Item::PadsThickness
                | Item::LiningsThickness
                | Item::AxleImbalance
                | Item::ServiceEfficiency
                | Item::ParkingEfficiency
                | Item::PedalFirm
        );
    if own {
        return true;
    }
    let facts = case.facts(place.corner().map(|corner| corner.axle()));
    case.packs.iter().any(|pack| {
        let numbers = pack.applicable(item.id(), &facts);
        numbers.iter().any(|(rule, applies)| {
            rule.class == RuleClass::Dangerous && !matches!(applies, Applies::NotBecause(_))
        }) || pack
            .defects
            .iter()
            .filter(|rule| rule.item == item.id() && rule.class == RuleClass::Dangerous)
            .any(|rule| !matches!(pack.applies(&rule.when, &facts), Applies::NotBecause(_)))
    })
}
