//! The questions of states: is it as found or as left, and what was done that made it better.

use super::{Args, ask};
use crate::cli::World;
use crate::cli::error::{Failure, Hint as _};
use crate::cli::open::JobFile;
use crate::job::{Cure, Event, Fault, Item, Observation, Phase, Place};
use crate::judge::{self, deeds, states};

/// Asks whether an entry belongs to the state it is entered for; what was done, if somebody says so
/// now, is to be logged before it.
pub(super) fn belongs(
    args: &Args,
    file: &JobFile,
    world: &mut World<'_>,
    about @ (place, item, phase): (Place, Item, Phase),
) -> Result<Vec<Event>, Failure> {
    let since = states::ended_by(&file.case(), place, item);
    match (phase, since.last()) {
        // A defect seen only now is one more thing that is wrong, whenever it came.
        (Phase::AsLeft, None) if !args.confirm && !names_defect(args) => {
            let question = format!(
                "nothing was logged as done at {place} {item} since it was found: what was done?"
            );
            what_was_done(args, file, world, about, &question)
        }
        (Phase::AsFound, Some(done)) if !args.confirm => {
            let question = format!(
                "{} was logged at {} since; is this {place} {item} as it was found, before that?",
                done.cure, done.place
            );
            if ask(world, &question)? {
                return Ok(Vec::new());
            }
            Err(Failure::from(question).hint(
                "nothing was logged; add --as-left if it is after that, or --confirm if it is before",
            ))
        }
        _ => Ok(Vec::new()),
    }
}

fn names_defect(args: &Args) -> bool {
    args.values.first().is_some_and(|word| word == "defect")
}

/// Asks what was done when an entry as left is better than what was found and nothing explains it.
pub(super) fn explained(
    args: &Args,
    file: &JobFile,
    world: &mut World<'_>,
    about @ (place, item, phase): (Place, Item, Phase),
    events: &[Event],
) -> Result<Vec<Event>, Failure> {
    if args.confirm || phase == Phase::AsFound {
        return Ok(Vec::new());
    }
    let job = file.as_if_written("", events);
    let case = file.specs.case(&job, &file.register);
    let judgement = judge::verdicts(&case);
    let unexplained = judgement.findings().any(|finding| {
        (finding.place, finding.item, finding.phase) == (place, item, Phase::AsLeft)
            && finding.is_unexplained()
    });
    if !unexplained {
        return Ok(Vec::new());
    }
    let question = format!(
        "{place} {item} was not good as found and is better now, and nothing was logged that may have put it right: what was done?"
    );
    what_was_done(args, file, world, about, &question)
}

/// Asks on a terminal what was done; elsewhere the question is the answer.
fn what_was_done(
    args: &Args,
    file: &JobFile,
    world: &mut World<'_>,
    (place, item, _): (Place, Item, Phase),
    question: &str,
) -> Result<Vec<Event>, Failure> {
    let cures = cures(file, place, item);
    if world.input_is_terminal {
        let example = cures.first().map_or("cleaned hub", String::as_str);
        write!(
            world.err,
            "? {question} ({example} …; nothing; Enter to stop) "
        )?;
        world.err.flush()?;
        let mut line = String::new();
        world.input.read_line(&mut line)?;
        match line.trim() {
            "" => {}
            "nothing" => return Ok(Vec::new()),
            words => {
                let (cure, note) = Cure::read(words).hint("nothing was logged")?;
                if let Some(why) = deeds::impossible(&file.case(), place, cure) {
                    return Err(Failure::from(why.to_string()).hint("nothing was logged"));
                }
                return Ok(vec![cure.event(place, note)]);
            }
        }
    }
    let mut failure = Failure::from(question.to_owned());
    if !cures.is_empty() {
        failure = failure.hint(format!(
            "log it first: `brakecorner work {} {place} WORK`; {place} {item} may be put right by: {}",
            args.job,
            cures.join(", ")
        ));
    }
    Err(failure.hint(
        "nothing was logged; with --confirm it is kept beside what was found, which then stands",
    ))
}

/// What may have put right what was found of an item.
fn cures(file: &JobFile, place: Place, item: Item) -> Vec<String> {
    let looks = file.job.looks(place, item);
    let codes = looks
        .iter()
        .filter_map(|(_, seen)| match &seen.observation {
            Observation::Defect { code, .. } => Some(Fault::Defect(code)),
            _ => None,
        });
    let mut faults: Vec<Fault<'_>> = codes.collect();
    if faults.is_empty() {
        faults.push(Fault::Value);
    }
    let mut all: Vec<String> = Vec::new();
    for fault in faults {
        all.extend(deeds::cures(item, fault));
    }
    all.sort();
    all.dedup();
    all
}
