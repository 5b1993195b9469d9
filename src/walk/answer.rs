//! What an answer means: events for the journal, and words for the technician.

use chrono::NaiveDate;

use super::command::{Command, Line, read_line};
use super::prompt::{as_read, open_corners, ring_so_far, slot_words};
use super::{Part, Pending, Step, Walk, slots, steps};
use crate::job::{
    Answered, Complaint, Entered, Event, Instrument, Item, Kind, Observation, Part as Fitment,
    Phase, Place, Proceeding, Quantity, ReadingEvent, Slot, Source, TorqueTask, ZeroCheckEvent,
};
use crate::judge::{self, Case, allowed_zero_error, defect, plausible};
use crate::units::{Distance, DistanceUnit, Length, Temperature, Torque};

/// Reasons offered by number when something cannot be inspected.
pub(super) const REASONS: [&str; 6] = [
    "not accessible without dismantling",
    "tool or gauge not at hand",
    "not safe to inspect now",
    "not wanted by the customer",
    "part not fitted to this vehicle",
    "no time in this visit",
];

/// What an answer leads to.
#[derive(Clone, Debug, PartialEq)]
pub enum Answer {
    /// Facts for the journal, then words.
    Facts(Vec<Event>, Vec<String>),
    /// Only words: nothing is written.
    Words(Vec<String>),
    /// Stop here.
    Quit,
}

fn words(text: impl Into<String>) -> Answer {
    Answer::Words(vec![text.into()])
}

fn fact(event: Event, text: impl Into<String>) -> Answer {
    Answer::Facts(vec![event], vec![text.into()])
}

impl Walk {
    /// Takes one line as the answer to a step. `day` is today, for calibrations.
    pub fn answer(&mut self, case: &Case<'_>, step: &Step, line: &str, day: NaiveDate) -> Answer {
        let read = read_line(line);
        if let Line::Command(Command::Quit) = read {
            return Answer::Quit;
        }
        if let Some(pending) = self.pending.take() {
            return self.settle(case, pending, &read, line);
        }
        if let Some(step) = self.reason_for.take() {
            return self.reason(&step, &read, line);
        }
        match read {
            Line::Empty => self.nothing(case, step),
            Line::NotInspected(reason) if reason.is_empty() => {
                if step.about().is_none() {
                    return words("this step cannot be left out; `quit` stops the walk here");
                }
                self.reason_for = Some(step.clone());
                Answer::Words(Vec::new())
            }
            Line::NotInspected(reason) => not_inspected(step, &reason),
            Line::Values(values) => self.values(case, step, &values, line, day),
            Line::Command(command) => self.command(case, step, command),
            Line::Unknown(text) => words(format!(
                "`{text}` is no reading and no command; `help` lists them"
            )),
            Line::Ambiguous(word, many) => words(format!(
                "`{word}` could be {}; one more letter",
                many.join(" or ")
            )),
        }
    }

    fn nothing(&mut self, case: &Case<'_>, step: &Step) -> Answer {
        if let Step::Read {
            place,
            item,
            phase,
            slot,
        } = step
            && slots(case, *item).contains(&(*slot, true))
        {
            return Answer::Facts(vec![passed(*place, *item, *phase, *slot)], Vec::new());
        }
        // Many gauges send Enter after their value: an empty line is never an answer.
        words("nothing entered; an empty line is never an answer here")
    }

    fn values(
        &mut self,
        case: &Case<'_>,
        step: &Step,
        values: &[String],
        line: &str,
        day: NaiveDate,
    ) -> Answer {
        match step {
            Step::Look { place, item, phase } => look(*place, *item, *phase, line),
            Step::Read { .. } => self.take_values(case, step, values),
            Step::Zero { instrument } => zero(case, instrument, values),
            Step::Stage { .. }
            | Step::Final { .. }
            | Step::SecondPass { .. }
            | Step::Calliper { .. } => self.torque(case, step, values, day),
            Step::Gate(_) => words("answer with yes, or with no and why"),
            Step::RoadTest => road_test(values),
        }
    }

    fn take_values(&mut self, case: &Case<'_>, step: &Step, values: &[String]) -> Answer {
        let Step::Read {
            place,
            item,
            phase,
            slot,
        } = step.clone()
        else {
            return Answer::Words(Vec::new());
        };
        let [first, rest @ ..] = values else {
            return Answer::Words(Vec::new());
        };
        if first == "/" {
            return self.slash(case, step, rest);
        }
        // A whole ring given where one optional value is asked belongs to the ring.
        let swept_pair = slot == Slot::Swept && rest.len() == 1;
        let ring_given = matches!(slot, Slot::Swept | Slot::Temperature) && rest.len() > 1;
        if ring_given && slots(case, item).contains(&(slot, true)) {
            self.queue = values.to_vec();
            return Answer::Facts(vec![passed(place, item, phase, slot)], Vec::new());
        }
        let instrument = self.instrument(case, place, item);
        let slots: Vec<Slot> = if swept_pair {
            vec![Slot::Low, Slot::High]
        } else {
            vec![slot]
        };
        let mut events = Vec::new();
        let mut said = Vec::new();
        for (slot, text) in slots.into_iter().zip(values) {
            let (event, value) = match reading(case, (place, item, phase), slot, text, instrument) {
                Ok(read) => read,
                Err(why) => return words(why),
            };
            if !swept_pair {
                self.queue = rest.to_vec();
            }
            if let Some(question) = asks(case, (place, item, phase), slot, text, value) {
                self.pending = Some(Pending {
                    step: step.clone(),
                    question,
                    entry: text.clone(),
                    first: event,
                    rest: std::mem::take(&mut self.queue),
                });
                return Answer::Words(Vec::new());
            }
            said.push(echo(case, place, item, slot, text, value));
            events.push(event);
        }
        Answer::Facts(events, said)
    }

    /// `/` between inner and outer pad: the inner pad has no more readings.
    fn slash(&mut self, case: &Case<'_>, step: &Step, rest: &[String]) -> Answer {
        self.queue = rest.to_vec();
        match step {
            Step::Read {
                place,
                item,
                phase,
                slot,
            } if slots(case, *item).contains(&(*slot, true)) => {
                Answer::Facts(vec![passed(*place, *item, *phase, *slot)], Vec::new())
            }
            _ => Answer::Words(Vec::new()),
        }
    }

    /// The next value of a line that held several, to be answered as if typed now.
    pub fn queued(&mut self) -> Option<String> {
        if self.queue.is_empty() || self.pending.is_some() {
            return None;
        }
        Some(std::mem::take(&mut self.queue).join(" "))
    }

    fn settle(&mut self, case: &Case<'_>, pending: Pending, line: &Line, raw: &str) -> Answer {
        let Step::Read {
            place, item, slot, ..
        } = pending.step.clone()
        else {
            return Answer::Words(Vec::new());
        };
        let asked = |kept: bool| {
            Event::Asked(Answered {
                place,
                item,
                slot,
                entry: pending.entry.clone(),
                question: pending.question.clone(),
                answer: raw.trim().to_owned(),
                kept,
            })
        };
        match line {
            Line::Command(Command::Yes) => {
                let mut event = pending.first.clone();
                if let Event::Reading(reading) = &mut event {
                    reading.confirmed = true;
                }
                self.queue = pending.rest.clone();
                let said = format!("kept as asked: {}", pending.entry);
                Answer::Facts(vec![asked(true), event], vec![said])
            }
            Line::Command(Command::No(_)) => {
                let mut said = vec![format!("dropped: {}", pending.entry)];
                if !pending.rest.is_empty() {
                    said.push(format!("not taken either: {}", pending.rest.join(" ")));
                }
                Answer::Facts(vec![asked(false)], said)
            }
            Line::Values(values) => {
                let mut all = values.clone();
                all.extend(pending.rest.iter().cloned());
                match self.take_values(case, &pending.step, &all) {
                    Answer::Facts(events, said) => {
                        let mut facts = vec![asked(false)];
                        facts.extend(events);
                        Answer::Facts(facts, said)
                    }
                    // A replacement that is asked about in its turn: the first answer is a fact all
                    // the same.
                    Answer::Words(said) => Answer::Facts(vec![asked(false)], said),
                    Answer::Quit => Answer::Quit,
                }
            }
            _ => {
                self.pending = Some(pending);
                words("yes keeps it, a new value replaces it, no drops it")
            }
        }
    }

    fn reason(&mut self, step: &Step, line: &Line, raw: &str) -> Answer {
        let chosen = raw
            .trim()
            .parse::<usize>()
            .ok()
            .and_then(|n| REASONS.get(n.wrapping_sub(1)));
        match (chosen, line) {
            (Some(reason), _) => not_inspected(step, reason),
            (None, Line::Empty) => {
                self.reason_for = Some(step.clone());
                words("not inspected is never without a reason; `no` goes back to the step")
            }
            (None, Line::Command(Command::No(_))) => Answer::Words(Vec::new()),
            (None, Line::Values(_)) => {
                self.reason_for = Some(step.clone());
                words(format!("1 to {}, or the reason in words", REASONS.len()))
            }
            (None, _) => not_inspected(step, raw.trim()),
        }
    }

    fn command(&mut self, case: &Case<'_>, step: &Step, command: Command) -> Answer {
        match command {
            Command::Undo => undo(case),
            Command::Redo => redo(case, step),
            Command::Skip(reason) if reason.is_empty() => {
                if step.about().is_none() {
                    return words("this step cannot be left out; `quit` stops the walk here");
                }
                self.reason_for = Some(step.clone());
                Answer::Words(Vec::new())
            }
            Command::Skip(reason) => not_inspected(step, &reason),
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
            Command::Why => words(super::prompt::why_line(step)),
            Command::Help => Answer::Words(help()),
            Command::Use(id) => self.choose(case, &id),
            Command::Fitted(what) => fitted(&what),
            Command::Cast(value) => cast(step, &value),
            Command::Yes | Command::No(_) => self.yes_no(step, &command),
            Command::Quit => Answer::Quit,
        }
    }

    fn yes_no(&self, step: &Step, command: &Command) -> Answer {
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

    fn choose(&mut self, case: &Case<'_>, id: &str) -> Answer {
        match case.register.get(id) {
            Some(instrument) => {
                self.chosen.push(instrument.id.clone());
                words(format!("using {instrument}"))
            }
            None => {
                let all: Vec<&str> = case
                    .register
                    .instruments
                    .iter()
                    .map(|i| i.id.as_str())
                    .collect();
                words(format!(
                    "`{id}` is not in the register; there are {}",
                    all.join(", ")
                ))
            }
        }
    }

    fn show(&self, case: &Case<'_>) -> Vec<String> {
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

    fn torque(
        &mut self,
        case: &Case<'_>,
        step: &Step,
        values: &[String],
        day: NaiveDate,
    ) -> Answer {
        let Some(torque) = step.torque() else {
            return Answer::Words(Vec::new());
        };
        let Some(wrench) = self.wrench(case, torque, day) else {
            return words(format!(
                "no torque wrench in the register covers {torque}; `use` one, or add one"
            ));
        };
        let number = values.first().and_then(|text| text.parse::<u8>().ok());
        let (corner, proceeding, fastener) = match step {
            Step::Stage { corner, number, .. } => (*corner, Proceeding::WheelStage, *number),
            Step::Final {
                corner, fastener, ..
            } => (*corner, Proceeding::WheelFinal, *fastener),
            Step::SecondPass { corner, .. } => (*corner, Proceeding::WheelSecondPass, 0),
            Step::Calliper {
                corner,
                proceeding,
                fastener,
                ..
            } => (*corner, *proceeding, *fastener),
            _ => return Answer::Words(Vec::new()),
        };
        let expected = if proceeding == Proceeding::WheelFinal {
            fastener
        } else {
            1
        };
        if number != Some(expected) {
            return words(format!(
                "expected {expected}: confirm this step, nothing else"
            ));
        }
        if proceeding != Proceeding::WheelStage
            && let Some(reason) = refused(wrench, torque, day)
        {
            self.chosen.retain(|id| *id != wrench.id);
            let said = format!("refused: {reason}; again with another wrench");
            return fact(
                Event::TorqueRefused {
                    corner,
                    instrument: wrench.id.clone(),
                    reason,
                },
                said,
            );
        }
        let said = format!("{corner} {} → {torque} ({})", step_word(step), wrench.id);
        let instrument = wrench.id.clone();
        fact(
            Event::Torque(TorqueTask {
                corner,
                proceeding,
                fastener,
                instrument,
                turned_deg: None,
            }),
            said,
        )
    }

    /// What to say once a step's item is complete: its finding, or nothing yet.
    #[must_use]
    pub fn completed(&self, case: &Case<'_>, step: &Step) -> Vec<String> {
        let Some((place, item, phase)) = step.about() else {
            return Vec::new();
        };
        if item.kind() != Kind::Measure {
            return Vec::new();
        }
        let part = if phase == Phase::AsFound {
            Part::Found
        } else {
            Part::Left
        };
        let open = steps(case, part)
            .into_iter()
            .any(|stage| !stage.done && stage.step.about() == Some((place, item, phase)));
        if open {
            return Vec::new();
        }
        judge::judge(case)
            .findings()
            .filter(|finding| {
                finding.place == place
                    && finding.phase == phase
                    && (finding.item == item
                        || (item == Item::DiscThickness && finding.item == Item::DiscVariation))
            })
            .map(|finding| format!("= {} {}", finding.verdict, finding.sentence))
            .collect()
    }
}

const fn passed(place: Place, item: Item, phase: Phase, slot: Slot) -> Event {
    Event::Passed {
        place,
        item,
        phase,
        slot,
    }
}

/// Why a wrench's click does not count as final, if it does not.
fn refused(wrench: &Instrument, torque: Torque, day: NaiveDate) -> Option<String> {
    let covers = wrench
        .range_numbers()
        .is_none_or(|(low, high)| (low..=high).contains(&torque.nm()));
    if !covers {
        return Some(format!(
            "{torque} is outside the range of {}, {} N·m",
            wrench.id, wrench.range
        ));
    }
    match wrench.calibrated_until {
        Some(until) if day <= until => None,
        Some(until) => Some(format!("the calibration of {} ended on {until}", wrench.id)),
        None => Some(format!("{} has no calibration date on file", wrench.id)),
    }
}

fn step_word(step: &Step) -> String {
    match step {
        Step::Stage { number, .. } => format!("stage {number}"),
        Step::Final { fastener, .. } => format!("fastener {fastener}"),
        Step::SecondPass { .. } => "second pass".to_owned(),
        Step::Calliper { fastener, .. } => format!("calliper fastener {fastener}"),
        _ => String::new(),
    }
}

fn look(place: Place, item: Item, phase: Phase, line: &str) -> Answer {
    let (digits, note) = line
        .trim()
        .split_once(char::is_whitespace)
        .unwrap_or((line.trim(), ""));
    let list = defect::defects(item);
    let observation = match digits.parse::<usize>() {
        Ok(0) => Observation::Sound,
        Ok(n) => match list.get(n - 1) {
            Some(defect) => Observation::Defect {
                code: defect.code.to_owned(),
                note: note.trim().to_owned(),
            },
            None => return words(format!("the list ends at {}; 0 is sound", list.len())),
        },
        Err(_) => return words(format!("`{digits}` is not on the list; 0 is sound")),
    };
    let said = match &observation {
        Observation::Defect { code, .. } => {
            let words = defect::find(item, code).map_or(code.as_str(), |defect| defect.words);
            format!("{place} {item} → {words}")
        }
        _ => format!("{place} {item} → sound"),
    };
    fact(
        Event::Seen {
            place,
            item,
            phase,
            observation,
        },
        said,
    )
}

fn not_inspected(step: &Step, reason: &str) -> Answer {
    let Some((place, item, phase)) = step.about() else {
        return words("this step cannot be left out; `quit` stops the walk here");
    };
    let observation = Observation::NotInspected {
        reason: reason.to_owned(),
    };
    fact(
        Event::Seen {
            place,
            item,
            phase,
            observation,
        },
        format!("{place} {item} → not inspected: {reason}"),
    )
}

type About = (Place, Item, Phase);

/// A reading event from a text, in the unit of the instrument.
fn reading(
    case: &Case<'_>,
    (place, item, phase): About,
    slot: Slot,
    text: &str,
    instrument: Option<&Instrument>,
) -> Result<(Event, i64), String> {
    let unit = instrument.map_or("", |i| i.unit.as_str());
    let quantity = Quantity::of(item, slot);
    let unit = if slot == Slot::Temperature {
        "°C"
    } else {
        unit
    };
    let entered =
        Entered::read(text, quantity, unit).map_err(|error| format!("not taken: {error}"))?;
    let value = entered.value;
    let take = case
        .job
        .judged_take(place, item, phase)
        .map_or(1, |take| take.number.max(1));
    let event = Event::Reading(Box::new(ReadingEvent {
        place,
        item,
        phase,
        take,
        slot,
        entered,
        instrument: instrument
            .filter(|_| slot != Slot::Temperature)
            .map(|i| i.id.clone()),
        clocking: None,
        source: Source::Typed,
        confirmed: false,
    }));
    Ok((event, value))
}

/// The question a value raises, if any.
fn asks(
    case: &Case<'_>,
    (place, item, phase): About,
    slot: Slot,
    text: &str,
    value: i64,
) -> Option<String> {
    if slot == Slot::Temperature {
        let decimals = text
            .rsplit_once(['.', ','])
            .map_or(0, |(_, after)| after.trim().len());
        return (decimals >= 2).then(|| {
            format!("{text} looks like a thickness, and the disc's temperature is asked; is it {text} °C?")
        });
    }
    if item == Item::FluidBoiling {
        return plausible::boiling_question(Temperature::from_millidegrees(value));
    }
    let take = case.job.judged_take(place, item, phase);
    let ring = take.map(ring_so_far).unwrap_or_default();
    let known = plausible::Known {
        ring,
        ..plausible::known(case, place, item)
    };
    plausible::question(item, slot, Length::from_nm(value), &known)
}

fn echo(case: &Case<'_>, place: Place, item: Item, slot: Slot, text: &str, value: i64) -> String {
    let what = slot_words(case, item, slot);
    let shown = match Quantity::of(item, slot) {
        Quantity::Length => as_read(Length::from_nm(value)),
        Quantity::Temperature => Temperature::from_millidegrees(value).to_string(),
        _ => text.to_owned(),
    };
    format!("{place} {item} {what} → {shown}")
}

/// The setting standard of a micrometer: its size and its name.
pub(super) fn standard(instrument: &Instrument) -> (Length, String) {
    let low = instrument.range_numbers().map_or(0.0, |(low, _)| low);
    let unit = instrument.length_unit();
    let size = Length::parse(&format!("{low:.4}"), unit).unwrap_or_default();
    let name = if size == Length::ZERO {
        "closed".to_owned()
    } else {
        format!("on its {} {} rod", size.rounded(unit, 3), unit.symbol())
    };
    (size, name)
}

fn zero(case: &Case<'_>, id: &str, values: &[String]) -> Answer {
    let Some(instrument) = case.register.get(id) else {
        return words(format!("`{id}` is not in the register"));
    };
    let [text] = values else {
        return words("one reading on the standard");
    };
    let entered = match Entered::read(text, Quantity::Length, &instrument.unit) {
        Ok(entered) => entered,
        Err(error) => return words(format!("not taken: {error}")),
    };
    let (size, standard) = standard(instrument);
    let zero_error = Length::from_nm(entered.value) - size;
    if zero_error.abs() > Length::from_nm(500_000) {
        return words(format!(
            "not taken: {text} is {zero_error} away from the standard ({standard}); check the standard and the unit"
        ));
    }
    let allowed = allowed_zero_error(instrument, case.policy);
    let said = if zero_error.abs() > allowed {
        format!(
            "{id} zero error {zero_error}: more than {allowed} allowed. Adjust it and check again; until then no reading of it can pass."
        )
    } else {
        format!("{id} zero error {zero_error}, subtracted from every reading ({allowed} allowed)")
    };
    let instrument = id.to_owned();
    fact(
        Event::ZeroCheck(ZeroCheckEvent {
            instrument,
            standard,
            entered,
            zero_error,
        }),
        said,
    )
}

fn road_test(values: &[String]) -> Answer {
    let outcome = match values.first().map(String::as_str) {
        Some("1") => Complaint::Gone,
        Some("2") => Complaint::Better,
        Some("3") => Complaint::Same,
        Some("4") => Complaint::NotTried,
        _ => return words("1 gone, 2 better, 3 same, 4 not tried; then the km driven"),
    };
    let distance = match values.get(1) {
        Some(text) => match Distance::parse(text, DistanceUnit::Kilometre) {
            Ok(distance) => distance,
            Err(error) => return words(format!("not taken: {error}")),
        },
        None if outcome == Complaint::NotTried => Distance::ZERO,
        None => return words("and how many km were driven? `1 6` is gone after 6 km"),
    };
    fact(
        Event::ComplaintAnswered { outcome, distance },
        "road test noted",
    )
}

fn undo(case: &Case<'_>) -> Answer {
    let Some((meta, event)) = case.job.undoable().next() else {
        return words("there is nothing to undo");
    };
    let what = match event {
        Event::Reading(reading) => {
            format!(
                "{} {} {} {}",
                reading.place, reading.item, reading.slot, reading.entered.text
            )
        }
        Event::Seen { place, item, .. } => format!("{place} {item}"),
        Event::ZeroCheck(check) => format!("zero check of {}", check.instrument),
        Event::Torque(task) => format!("torque at {}", task.corner),
        Event::Gate { gate, .. } => gate.question().to_owned(),
        Event::Passed {
            place, item, slot, ..
        } => format!("passing over {place} {item} {slot}"),
        _ => "the last remark".to_owned(),
    };
    let event = Event::Struck {
        target: meta.seq,
        reason: "undone at the prompt".to_owned(),
    };
    fact(event, format!("struck (still readable): {what}"))
}

fn redo(case: &Case<'_>, step: &Step) -> Answer {
    let Some((place, item, phase)) = step.about() else {
        return words("there is no ring at this step");
    };
    let Some(take) = case.job.judged_take(place, item, phase) else {
        return words("nothing was read yet");
    };
    let events: Vec<Event> = take
        .readings()
        .map(|reading| Event::Struck {
            target: reading.meta.seq,
            reason: "ring taken again".to_owned(),
        })
        .collect();
    let said = format!(
        "{} readings struck (still readable); begin the ring again",
        events.len()
    );
    Answer::Facts(events, vec![said])
}

/// `fitted rear pads 4711`: where, what, and the batch if known.
fn fitted(text: &str) -> Answer {
    let mut parts = text.split_whitespace();
    let (Some(place), Some(part)) = (parts.next(), parts.next()) else {
        return words(
            "where and what: `fitted rear pads`, `fitted RR calliper`, `fitted vehicle fluid`; a batch number may follow",
        );
    };
    let place: Place = match place.parse() {
        Ok(place) => place,
        Err(error) => return words(format!("not taken: {error}")),
    };
    let Ok(part) = serde_json::from_value::<Fitment>(part.into()) else {
        return words(format!(
            "`{part}` is not a part; expected disc, pads, linings, drum, hose, calliper, sensor_speed, sensor_wear, cylinder, bearing or fluid"
        ));
    };
    let batch = parts.collect::<Vec<_>>().join(" ");
    let batch = (!batch.is_empty()).then_some(batch);
    fact(
        Event::Fitted { place, part, batch },
        format!("fitted at {place}: what was measured of the old part no longer counts"),
    )
}

fn cast(step: &Step, text: &str) -> Answer {
    let Some(corner) = step.corner() else {
        return words("at a corner: the limit cast on its disc or drum");
    };
    match Entered::read(text, Quantity::Length, "mm") {
        Ok(entered) => {
            let said = format!(
                "{corner}: cast on the part, {}",
                Length::from_nm(entered.value)
            );
            fact(Event::CastMark { corner, entered }, said)
        }
        Err(error) => words(format!("not taken: {error}")),
    }
}

fn help() -> Vec<String> {
    [
        "values      24.308   several on a line: 24.308 24.309   units: 0.957in",
        "0           sound    1, 2 … a defect of the list, a note may follow",
        "-           not inspected; the reason is asked for, or follows",
        "undo        strike the last entry (it stays readable)",
        "redo        strike this ring and begin it again",
        "skip WHY    not inspected, with its reason",
        "note TEXT   a remark            cast 23.0   the limit cast on the part",
        "go FR       another corner      use HW-M2   another instrument",
        "fitted rear pads 4711           a part was replaced",
        "show        where things stand  why   how and why this step",
        "quit        stop here; `walk` goes on at this step",
    ]
    .map(str::to_owned)
    .to_vec()
}
