//! Scope fails closed: what is not known of the vehicle is tried, never taken as met.

use super::ItemVerdict;
use super::case::Case;
use super::finding::Finding;
use super::state;
use crate::job::{Item, Place};
use crate::spec::{possible, unknown_facts};

/// Judges an item, and where it is not known whether a rule about it applies, judges it for every
/// vehicle this one may be. Where the verdict is the same for all of them nothing is missing, and the
/// gravest speaks; where it is not, the item has no limit until the fact is entered.
pub(super) fn tried(
    case: &Case<'_>,
    (place, item): (Place, Item),
    judge: impl Fn(&Case<'_>) -> Option<Finding>,
) -> Option<Finding> {
    let plain = judge(case)?;
    if case.assumed.is_some() {
        return Some(plain);
    }
    let axle = match place {
        Place::Corner(corner) => Some(corner.axle()),
        Place::Axle(axle) => Some(axle),
        Place::Vehicle => None,
    };
    let facts = case.facts(axle);
    let unknown = unknown_facts(case.packs, item.id(), &facts);
    if unknown.is_empty() {
        return Some(plain);
    }
    let judged: Vec<Finding> = possible(case.packs, item.id(), &facts)
        .iter()
        .filter_map(|world| {
            judge(&Case {
                assumed: Some(world),
                ..*case
            })
        })
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
