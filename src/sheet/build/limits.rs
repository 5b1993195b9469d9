//! Whose limit an item was judged by, from the same sources the judgement uses.

use crate::job::{Item, Place};
use crate::judge::Case;
use crate::sheet::forms::Forms;
use crate::spec::{Authority, Limit, LimitBound, LimitChain, LimitSources, VehicleFacts};
use crate::units::Length;

/// A limit without its kind of value: whose it is and which side of it is allowed.
#[derive(Clone, Debug)]
pub(super) struct Whose {
    pub(super) authority: Authority,
    pub(super) bound: LimitBound,
    pub(super) unconfirmed: bool,
    pub(super) source: String,
}

impl Whose {
    fn of<T>(limit: &Limit<T>) -> Self {
        Self {
            authority: limit.authority.clone(),
            bound: limit.bound,
            unconfirmed: limit.unconfirmed(),
            source: limit.source.clone(),
        }
    }

    pub(super) const fn kind(&self) -> &'static str {
        match self.authority {
            Authority::Maker => "maker",
            Authority::CastMark => "mark",
            Authority::RulePack { .. } => "rule",
            Authority::Policy => "policy",
        }
    }

    /// Whose limit it is, in a few words.
    pub(super) fn words(&self, forms: &Forms) -> String {
        let source = [("source", self.source.as_str().into())];
        match (&self.authority, self.unconfirmed) {
            (Authority::RulePack { .. }, true) => {
                forms.words.say("whose-rule-unconfirmed", &source)
            }
            (Authority::RulePack { .. }, false) => forms.words.say("whose-rule", &source),
            _ => forms.words.plain(&format!("whose-{}", self.kind())),
        }
    }
}

/// What is known about the vehicle and an axle, for the limits.
pub(super) fn facts_of(case: &Case<'_>, place: Place) -> VehicleFacts {
    case.facts(match place {
        Place::Corner(corner) => Some(corner.axle()),
        Place::Axle(axle) => Some(axle),
        Place::Vehicle => None,
    })
}

/// The chain of an item whose limit is a length.
pub(super) fn length_chain(
    case: &Case<'_>,
    place: Place,
    item: Item,
) -> Option<LimitChain<Length>> {
    let facts = facts_of(case, place);
    let sources = LimitSources {
        sheet: Some(case.sheet),
        packs: case.packs,
        policy: case.policy,
        facts: &facts,
    };
    let mark = place.corner().and_then(|corner| case.job.cast_mark(corner));
    Some(match item {
        Item::DiscThickness => sources.disc_thickness(mark),
        Item::DiscVariation => sources.disc_variation(),
        Item::DiscRunout => sources.disc_runout(),
        Item::PadsThickness => sources.pads(),
        Item::LiningsThickness => sources.linings(),
        Item::DrumDiameter => sources.drum_diameter(mark),
        Item::BearingFloat => sources.bearing_float(),
        _ => return None,
    })
}

/// Whose limit an item was judged by.
pub(super) fn whose(case: &Case<'_>, place: Place, item: Item) -> Option<Whose> {
    if let Some(chain) = length_chain(case, place, item) {
        return chain.applied.as_ref().map(Whose::of);
    }
    let facts = facts_of(case, place);
    let sources = LimitSources {
        sheet: Some(case.sheet),
        packs: case.packs,
        policy: case.policy,
        facts: &facts,
    };
    match item {
        Item::AxleImbalance => sources.imbalance().applied.as_ref().map(Whose::of),
        Item::ServiceEfficiency => sources.service_efficiency().applied.as_ref().map(Whose::of),
        Item::ParkingEfficiency => sources.parking_efficiency().applied.as_ref().map(Whose::of),
        Item::FluidBoiling => sources.fluid_boiling().applied.as_ref().map(Whose::of),
        _ => None,
    }
}
