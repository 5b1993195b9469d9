//! Scope fails closed: what is not known of the vehicle is tried, never taken as met.

use super::ItemVerdict;
use super::case::Case;
use super::finding::Finding;
use super::state;
use crate::job::{Item, Place};
use crate::spec::{RulePack, VehicleFacts, possible, unknown_facts};

/// Judges an item of a job, for every vehicle this one may be.
pub(super) fn tried(
    case: &Case<'_>,
    (place, item): (Place, Item),
    judge: impl Fn(&Case<'_>) -> Option<Finding>,
) -> Option<Finding> {
    if case.assumed.is_some() {
        return judge(case);
    }
    let axle = match place {
        Place::Corner(corner) => Some(corner.axle()),
        Place::Axle(axle) => Some(axle),
        Place::Vehicle => None,
    };
    for_each_possible(case.packs, item, &case.facts(axle), |world| {
        judge(&Case {
            assumed: Some(world),
            ..*case
        })
    })
}

/// Judges an item, and where it is not known whether a rule about it applies, judges it for every
/// vehicle that one with these facts may be. Where the verdict is the same for all of them nothing is
/// missing, and the gravest speaks; where it is not, the item has no limit until the fact is entered.
pub(super) fn for_each_possible(
    packs: &[RulePack],
    item: Item,
    facts: &VehicleFacts,
    judge: impl Fn(&VehicleFacts) -> Option<Finding>,
) -> Option<Finding> {
    let plain = judge(facts)?;
    let unknown = unknown_facts(packs, item.id(), facts);
    if unknown.is_empty() {
        return Some(plain);
    }
    let judged: Vec<Finding> = possible(packs, item.id(), facts)
        .iter()
        .filter_map(judge)
        .collect();
    let mut verdicts: Vec<ItemVerdict> = Vec::new();
    for finding in &judged {
        if !verdicts.contains(&finding.verdict) {
            verdicts.push(finding.verdict);
        }
    }
    let gravest = judged
        .into_iter()
        .rev()
        .max_by(|a, b| state::gravity(a).cmp(&state::gravity(b)));
    match (verdicts.as_slice(), gravest) {
        // Nobody's figure would be on file whatever the vehicle were.
        ([ItemVerdict::NoLimit], _) | (_, None) => Some(plain),
        ([_], Some(gravest)) => Some(gravest),
        _ => Some(plain.undecided(&unknown, &verdicts)),
    }
}
