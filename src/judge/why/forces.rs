//! Brake forces, with every number needed to do them again by hand.

use super::{Case, Finding, Step, UNCERTAINTY, sources};
use crate::job::{Axle, Corner, Item, Place, Slot, Take};
use crate::judge::vehicle;
use crate::units::STANDARD_GRAVITY;

/// The forces an item is judged from, a wheel each, in newtons.
fn wheels(take: &Take, finding: &Finding) -> Vec<(Corner, f64)> {
    let of = |axle: Axle| finding.place == Place::Axle(axle) || finding.place == Place::Vehicle;
    let forces = vehicle::forces(take);
    let counted = forces.into_iter().filter(|(corner, _)| of(corner.axle()));
    counted
        .map(|(corner, force)| (corner, force.newtons()))
        .collect()
}

/// The larger and the smaller wheel of an axle.
fn pair(wheels: &[(Corner, f64)]) -> Option<[(Corner, f64); 2]> {
    match wheels {
        [a, b] if a.1 >= b.1 => Some([*a, *b]),
        [a, b] => Some([*b, *a]),
        _ => None,
    }
}

fn weight(take: &Take) -> Option<(f64, f64)> {
    let grams = take.slots.get(&Slot::Mass)?.last()?.event.entered.value;
    // Grams fit an f64 exactly up to 9·10^12 kg.
    #[allow(clippy::cast_precision_loss)]
    let kg = grams as f64 / 1e3;
    Some((kg, kg * STANDARD_GRAVITY))
}

/// How the percentage comes of the forces.
pub(super) fn statistic(case: &Case<'_>, finding: &Finding) -> Option<String> {
    let (_, measured) = forces_of(case, finding)?;
    let wheels = wheels(measured.take, finding);
    if finding.item == Item::AxleImbalance {
        let [(more, high), (less, low)] = pair(&wheels)?;
        return Some(format!(
            "({more} {high:.0} N - {less} {low:.0} N) / {high:.0} N · 100 = {:.4} %",
            100.0 * (high - low) / high
        ));
    }
    let (kg, newtons) = weight(measured.take)?;
    let sum: f64 = wheels.iter().map(|(_, force)| force).sum();
    let terms: Vec<String> = wheels
        .iter()
        .map(|(corner, force)| format!("{corner} {force:.0} N"))
        .collect();
    Some(format!(
        "({}) / ({kg} kg · {STANDARD_GRAVITY} m/s²) · 100 = {sum:.0} N / {newtons:.1} N · 100 = {:.4} %",
        terms.join(" + "),
        100.0 * sum / newtons
    ))
}

/// How uncertain it is, and how near to the limit is near.
pub(super) fn uncertainty(case: &Case<'_>, finding: &Finding) -> Option<Step> {
    let (_, measured) = forces_of(case, finding)?;
    let wheels = wheels(measured.take, finding);
    let error = vehicle::force_error(case, measured.take);
    let percent = error * 100.0;
    let u = finding.u?;
    let step = Step::new("Uncertainty", UNCERTAINTY);
    let step = if finding.item == Item::AxleImbalance {
        let [(_, high), (_, low)] = pair(&wheels)?;
        step.line(format!(
            "u = 100·({low:.0}/{high:.0})·√2·e/√3 = {u:.4} points, with e = {percent} % of each wheel's force"
        ))
    } else {
        let (_, newtons) = weight(measured.take)?;
        let terms: Vec<String> = wheels
            .iter()
            .map(|(_, force)| format!("{force:.0}²"))
            .collect();
        step.line(format!(
            "u = 100/{newtons:.1}·√({})·e/√3 = {u:.4} points, with e = {percent} % of each wheel's force",
            terms.join(" + ")
        ))
    };
    let Some(limit) = finding.limit else {
        return Some(step);
    };
    let share = case.policy.rollers_margin.value;
    Some(step.line(format!(
        "near to the limit is nearer than 1.645 u = {:.3} points or than {share} of it = {:.3} points, whichever is more; beyond is compared directly",
        1.645 * u,
        limit.number() * share.share()
    )))
}

fn forces_of<'a>(
    case: &Case<'a>,
    finding: &Finding,
) -> Option<(Place, crate::judge::case::Measured<'a>)> {
    let judged = matches!(
        finding.item,
        Item::AxleImbalance | Item::ServiceEfficiency | Item::ParkingEfficiency
    );
    judged.then(|| sources(case, finding).into_iter().next())?
}
