//! The words that work at every prompt.

use super::answer::{Answer, fact, words};
use super::command::Command;
use super::prompt::open_corners;
use super::{Part, Step, Walk, steps};
use crate::job::{Corner, Cure, Effect, Event, Item, Meta, Phase, Place, Proceeding, Slot};
use crate::judge::states;
use crate::judge::{self, Case};

impl Walk {
    pub(super) fn command(&mut self, case: &Case<'_>, step: &Step, command: Command) -> Answer {
        match command {
            Command::Undo(at) => self.undo(case, step, &at),
            Command::Redo => redo(case, step),
            Command::Skip(reason) if reason.is_empty() => {
                if step.about().is_none() {
                    return words("this step cannot be left out; `quit` stops the walk here");
                }
                self.reason_for = Some(step.clone());
                Answer::Words(Vec::new())
            }
            Command::Skip(reason) => self.not_inspected(case, step, &reason),
            Command::Note(text) if text.is_empty() => words("`note` and the remark in one line"),
            Command::Note(text) => {
                let (place, item) = step
                    .about()
                    .map_or((Place::Vehicle, None), |(p, i, _)| (p, Some(i)));
                fact(
                    Event::Note {
                        place,
                        item,
                        text: text.clone(),
                    },
                    format!("noted: {text}"),
                )
            }
            Command::Go(corner) => {
                self.wanted = Some(corner);
                words(format!("going to {corner}"))
            }
            Command::Show => Answer::Words(self.show(case)),
            Command::Why => Answer::Words(super::prompt::why_lines(step)),
            Command::Back => self.back(case, step),
            Command::Retake(point) => self.retake(case, step, &point),
            Command::Photo(path) => match step.about() {
                Some((place, item, _)) => {
                    Answer::Photo(place, item, (!path.is_empty()).then_some(path))
                }
                None => words("at a corner's or the vehicle's step: a photo shows an item"),
            },
            Command::Who(name) => Answer::Person((!name.is_empty()).then_some(name)),
            Command::Second => self.ask_second(case),
            Command::Sweep => match step {
                Step::Read {
                    item: Item::DiscRunout,
                    slot: Slot::Swept,
                    ..
                } => Answer::Sweep(step.clone()),
                _ => words("sweep belongs to the run-out's swept turn"),
            },
            Command::Help => Answer::Words(help()),
            Command::Use(id) => self.choose(case, step, &id),
            Command::Dropped(id) => self.dropped(case, step, &id),
            Command::Past => words("`past` answers a question about a dial past its zero"),
            Command::Fitted(what) => fitted(case, &what),
            Command::Work(what) => work(case, &what),
            Command::Cast(value) => self.cast(case, step, &value),
            Command::Yes | Command::No(_) => self.yes_no(step, &command),
            Command::Quit => Answer::Quit,
        }
    }

    /// Goes back to the step answered before this one; its new answer strikes the old.
    fn back(&mut self, case: &Case<'_>, step: &Step) -> Answer {
        let Some(part) = self.part(case) else {
            return words("there is no step before this one");
        };
        let all = steps(case, part);
        let here = all
            .iter()
            .position(|stage| stage.step == *step)
            .unwrap_or(all.len());
        let before = all
            .iter()
            .take(here)
            .rev()
            .find(|stage| stage.done && !stage.optional);
        match before {
            Some(stage) => {
                self.revisit = Some(stage.step.clone());
                words("back one step; its new answer strikes the old one")
            }
            None => words("there is no step before this one"),
        }
    }

    /// Takes one point of the ring at hand, or of the ring just finished, again.
    fn retake(&mut self, case: &Case<'_>, step: &Step, point: &str) -> Answer {
        let Ok(number) = point.trim().parse::<u16>() else {
            return words("which point: `retake 6`");
        };
        let slot = Slot::Point(number);
        let has = |place: Place, item: Item, phase: Phase| {
            states::set_at_hand(case, place, item, phase)
                .is_some_and(|take| take.slots.contains_key(&slot))
        };
        let here = step.about();
        // The last ring anything was read for, when the step at hand has none.
        let last =
            case.job.log().filter(|(_, _, struck)| !struck).filter_map(
                |(_, event, _)| match event {
                    Event::Reading(reading) => Some((reading.place, reading.item, reading.phase)),
                    _ => None,
                },
            );
        match here
            .into_iter()
            .chain(last.last())
            .find(|(p, i, f)| has(*p, *i, *f))
        {
            Some((place, item, phase)) => {
                self.revisit = Some(Step::Read {
                    place,
                    item,
                    phase,
                    slot,
                });
                words(format!(
                    "{place} {item} point {number} again; the old reading is struck"
                ))
            }
            None => words(format!("point {number} has not been read")),
        }
    }

    /// Asks a second person for the value read last.
    fn ask_second(&mut self, case: &Case<'_>) -> Answer {
        let last =
            case.job.log().filter(|(_, _, struck)| !struck).filter_map(
                |(_, event, _)| match event {
                    Event::Reading(reading) if reading.slot != Slot::Temperature => Some(reading),
                    _ => None,
                },
            );
        match last.last() {
            Some(reading) => {
                let (place, item, phase, slot) =
                    (reading.place, reading.item, reading.phase, reading.slot);
                self.revisit = Some(Step::Second {
                    place,
                    item,
                    phase,
                    slot,
                });
                words("hand the gauge over; the first value stays hidden until the second is in")
            }
            None => words("nothing has been read yet"),
        }
    }

    /// Strikes the newest entry of whoever answers at this corner, or at the one named. What belongs to
    /// no corner (a zero check, a part of the axle) is at hand everywhere.
    fn undo(&self, case: &Case<'_>, step: &Step, at: &str) -> Answer {
        let here = match at.parse::<Corner>() {
            Ok(corner) => Some(corner),
            Err(_) if at.is_empty() => step.corner(),
            Err(_) => {
                return words(format!(
                    "`{at}` is no corner; `undo` alone, or such as `undo FR`"
                ));
            }
        };
        let own = |meta: &Meta| self.by.is_empty() || meta.by == self.by;
        let at_hand = |event: &Event| match event.corner() {
            None => at.is_empty(),
            corner => corner == here,
        };
        let mut undoable = case.job.undoable();
        let Some((meta, event)) = undoable.find(|(meta, event)| own(meta) && at_hand(event)) else {
            return words(nothing_to_undo(case, here, own, at_hand));
        };
        let event_struck = Event::Struck {
            target: meta.seq,
            reason: "undone at the prompt".to_owned(),
            second_person: None,
        };
        let said = format!("struck (still readable): {}", entry_words(event));
        fact(event_struck, said)
    }

    pub(super) fn yes_no(&mut self, step: &Step, command: &Command) -> Answer {
        match (step, command) {
            (Step::Gate(gate), Command::Yes) => {
                let event = Event::Gate {
                    gate: *gate,
                    done: true,
                    reason: String::new(),
                };
                fact(event, format!("{}: yes", gate.question()))
            }
            (Step::Gate(_), Command::No(reason)) if reason.is_empty() => {
                words("no needs its reason: `no` and why, in one line")
            }
            (Step::Gate(gate), Command::No(reason)) => {
                self.said_no.push(*gate);
                let event = Event::Gate {
                    gate: *gate,
                    done: false,
                    reason: reason.clone(),
                };
                fact(event, format!("still open: {} ({reason})", gate.question()))
            }
            _ => words("that is no answer to this step"),
        }
    }

    pub(super) fn show(&self, case: &Case<'_>) -> Vec<String> {
        let part = self.part(case).unwrap_or(Part::Refit);
        let mut lines: Vec<String> = open_corners(case, part)
            .into_iter()
            .map(|(corner, done, all)| {
                let name = corner.map_or_else(|| "vehicle".to_owned(), |c| c.to_string());
                format!("{name}: {done} of {all} answered")
            })
            .collect();
        let judgement = judge::judge(case);
        lines.push(format!(
            "so far as found {}, as left {}",
            judgement.as_found, judgement.as_left
        ));
        lines
    }
}

/// Why nothing is undone here, and what it would take.
fn nothing_to_undo(
    case: &Case<'_>,
    here: Option<Corner>,
    own: impl Fn(&Meta) -> bool,
    at_hand: impl Fn(&Event) -> bool,
) -> String {
    let here = here.map_or_else(|| "here".to_owned(), |corner| format!("at {corner}"));
    let mut why = vec![format!("there is nothing of yours to undo {here}")];
    let mut all = case.job.undoable();
    if let Some((meta, event)) = all.find(|(meta, event)| !own(meta) && at_hand(event)) {
        why.push(format!(
            "the last entry {here} is {}'s ({}), who may undo it: `who {}` hands over",
            meta.by,
            entry_words(event),
            meta.by
        ));
    }
    if let Some((_, event)) = case.job.undoable().find(|(meta, _)| own(meta))
        && let Some(corner) = event.corner()
    {
        why.push(format!(
            "your last entry is {}: `undo {corner}` strikes it",
            entry_words(event)
        ));
    }
    why.join("; ")
}

/// An entry in the words of `undo`.
fn entry_words(event: &Event) -> String {
    match event {
        Event::Reading(reading) => {
            format!(
                "{} {} {} {}",
                reading.place, reading.item, reading.slot, reading.entered.text
            )
        }
        Event::Seen { place, item, .. } => format!("{place} {item}"),
        Event::Absent { corner, item, .. } => format!("{corner} {item}, not fitted"),
        Event::ZeroCheck(check) => format!("zero check of {}", check.instrument),
        Event::Dropped { instrument } => format!("fall of {instrument}"),
        Event::Second { place, item, .. } => format!("second reading of {place} {item}"),
        Event::CastMark { corner, entered } => {
            format!("the limit cast on the part at {corner}, {}", entered.text)
        }
        Event::Fitted { place, part, .. } => {
            format!("fitted at {place}: {}", part.word())
        }
        Event::Work { place, deed, .. } => format!("{place} {deed}"),
        Event::ComplaintAnswered { .. } => "the road test's answer".to_owned(),
        Event::DepthChosen { .. } => "the depth chosen".to_owned(),
        Event::Photo {
            place, item, name, ..
        } => format!("photo {name} of {place} {item}"),
        Event::Note { text, .. } => format!("the remark `{text}`"),
        Event::Torque(task) => match (task.proceeding, task.fastener) {
            (Proceeding::WheelStage, stage) => format!("torque stage {stage} at {}", task.corner),
            (Proceeding::WheelSecondPass, 0) => format!("second pass at {}", task.corner),
            (_, fastener) => format!("torque of fastener {fastener} at {}", task.corner),
        },
        Event::TorqueRefused {
            corner, instrument, ..
        } => format!("refusal of {instrument} at {corner}"),
        Event::Gate { gate, .. } => gate.question().to_owned(),
        Event::Passed {
            place, item, slot, ..
        } => format!("passing over {place} {item} {slot}"),
        Event::RefitPoint { .. } => "the last point of the refit".to_owned(),
        _ => "the last entry".to_owned(),
    }
}

fn redo(case: &Case<'_>, step: &Step) -> Answer {
    let Some((place, item, phase)) = step.about() else {
        return words("there is no ring at this step");
    };
    let Some(take) = states::set_at_hand(case, place, item, phase) else {
        return words("nothing was read yet");
    };
    let events: Vec<Event> = take
        .readings()
        .map(|reading| Event::Struck {
            target: reading.meta.seq,
            reason: "ring taken again".to_owned(),
            second_person: None,
        })
        .collect();
    let word = if events.len() == 1 {
        "reading"
    } else {
        "readings"
    };
    let said = format!(
        "{} {word} struck (still readable); begin the ring again",
        events.len()
    );
    Answer::Facts(events, vec![said])
}

/// `fitted rear pads 4711`: where, what, and the batch if known.
fn fitted(case: &Case<'_>, text: &str) -> Answer {
    match text.split_once(char::is_whitespace) {
        Some((place, part)) => work(case, &format!("{place} fitted {part}")),
        None => words(
            "where and what: `fitted rear pads`, `fitted RR calliper`, `fitted vehicle fluid`; a batch number may follow",
        ),
    }
}

/// `work RR cleaned seat`: where, and what was done there.
fn work(case: &Case<'_>, text: &str) -> Answer {
    let Some((place, done)) = text.split_once(char::is_whitespace) else {
        return words("where and what: `work RR cleaned seat`, `work FR reclocked 3`");
    };
    let place: Place = match place.parse() {
        Ok(place) => place,
        Err(error) => return words(format!("not taken: {error}")),
    };
    let (cure, note) = match Cure::read(done) {
        Ok(read) => read,
        Err(error) => return words(format!("not taken: {error}")),
    };
    if let Some(why) = judge::deeds::impossible(case, place, cure) {
        return words(format!("not taken: {why}"));
    }
    let void = judge::deeds::again(case, place, cure)
        .iter()
        .any(|(.., since)| *since == Effect::Void);
    let follows = if void {
        "what was found of it no longer counts as left until it is entered again"
    } else {
        "what was found stands until it is entered again as left"
    };
    fact(
        cure.event(place, note),
        format!("{place} {cure}: {follows}"),
    )
}

fn help() -> Vec<String> {
    [
        "24.308      a value; several: 24.308 24.309; of one point: 24.308;24.309",
        "0.957in     another unit; +3.5 div  dial divisions; 6.1 / 6.3  both pads",
        "0           sound; 1, 2 ... a defect of the list, a note may follow",
        "-           not inspected; the reason is asked for, or follows",
        "back        answer the step before anew   undo     strike your last entry here",
        "retake 6    one point of the ring again   redo     strike the whole ring",
        "skip WHY    not inspected, and why        note ... a remark",
        "go FR       another corner                use M2   another instrument",
        "*  or who   the other person takes over   second   read a value blind",
        "photo PATH  a picture (none: the inbox)   cast 23  the limit on the part",
        "fitted rear pads 4711                     a part was replaced",
        "work RR cleaned seat                      something was done",
        "sweep       one slow turn of a streaming dial",
        "dropped M1  it fell: it is checked before its next reading",
        "show  why   where things stand; how and why, with a picture",
        "quit        stop here; `walk` goes on at this step",
    ]
    .map(str::to_owned)
    .to_vec()
}
