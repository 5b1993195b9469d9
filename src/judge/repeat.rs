//! Two people's repeats of the same item: do they agree within their uncertainty?

use super::case::Case;
use crate::job::{Item, Phase, Place, Take};
use crate::units::Length;

/// What to say when two people's sets of an item differ by more than `√2·U`, with `U = 2u`.
///
/// `evaluate` gives the judged value of a set and its standard uncertainty. Source: common practice.
pub(super) fn disagreement<'a>(
    case: &Case<'a>,
    place: Place,
    item: Item,
    data: Phase,
    evaluate: impl Fn(&'a Take) -> Option<(Length, Length)>,
) -> Option<String> {
    let judged = case.job.judged_take(place, item, data)?;
    let (value, u) = evaluate(judged)?;
    let person = &judged.last()?.meta.by;
    case.job
        .takes(place, item, data)
        .filter(|take| take.number != judged.number)
        .find_map(|take| {
            let other = &take.last()?.meta.by;
            let (again, u_again) = evaluate(take)?;
            // √2·U with U = 2u, u the root mean square of both: 2·√(u₁² + u₂²).
            let allowed = 2.0 * (u.mm() * u.mm() + u_again.mm() * u_again.mm()).sqrt();
            let apart = (value - again).abs();
            (other != person && apart.mm() > allowed).then(|| {
                format!(
                    "{person} measured {value}, {other} {again}: more apart than their uncertainty allows, measure a third time"
                )
            })
        })
}
