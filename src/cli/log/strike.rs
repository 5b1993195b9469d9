//! Strikes a whole set of readings, or a look, with its reason.

use super::Args;
use crate::cli::error::Failure;
use crate::cli::open::JobFile;
use crate::job::{Event, Item, Phase, Place};

/// The strikes of an item's set or look in a phase.
///
/// The last set is meant unless one is named; an item without readings has its last look struck.
/// What was signed for needs somebody else's agreement.
pub(super) fn strikes(
    args: &Args,
    file: &JobFile,
    (place, item, phase): (Place, Item, Phase),
    by: &str,
) -> Result<Vec<Event>, Failure> {
    let reason = args.values.get(1..).unwrap_or_default().join(" ");
    let reason = reason.trim();
    if reason.is_empty() {
        return Err(
            Failure::from("a strike is never without a reason").hint(format!(
                "log {} {place} {item} struck \"wrong corner\"; nothing was logged",
                args.job
            )),
        );
    }
    let targets = targets(args, file, (place, item, phase))?;
    let signed = file
        .job
        .log()
        .filter(|(_, event, struck)| !struck && matches!(event, Event::Signed { .. }))
        .map(|(meta, ..)| meta.seq)
        .max()
        .unwrap_or(0);
    let second = args.second_person.as_deref().map(str::trim);
    let other =
        second.is_some_and(|name| !name.is_empty() && !name.eq_ignore_ascii_case(by.trim()));
    if targets.iter().any(|target| *target < signed) && !other {
        return Err(Failure::from(
            "it stands in a signed revision: striking it needs a second person",
        )
        .hint(format!(
            "add --second-person NAME, somebody other than {by}; nothing was logged"
        )));
    }
    let strike = |target: u64| Event::Struck {
        target,
        reason: reason.to_owned(),
        second_person: second.map(str::to_owned),
    };
    Ok(targets.into_iter().map(strike).collect())
}

fn targets(
    args: &Args,
    file: &JobFile,
    (place, item, phase): (Place, Item, Phase),
) -> Result<Vec<u64>, Failure> {
    let sets: Vec<_> = file.job.takes(place, item, phase).collect();
    let set = match args.set {
        Some(number) => sets.iter().find(|take| take.number == number),
        None => sets.last(),
    };
    if let Some(set) = set {
        return Ok(set.readings().map(|reading| reading.meta.seq).collect());
    }
    if let Some(number) = args.set {
        let known: Vec<String> = sets.iter().map(|take| take.number.to_string()).collect();
        return Err(
            Failure::from(format!("{place} {item} has no set {number} in this state"))
                .hint(format!("its sets: {}", known.join(", "))),
        );
    }
    match file.job.seen(place, item, phase) {
        Some(seen) => Ok(vec![seen.meta.seq]),
        None => Err(Failure::from(format!(
            "nothing was entered for {place} {item} in this state"
        ))
        .hint("add --as-left to strike what was entered as left")),
    }
}
