//! Values: from a line to readings in the journal, with the questions they raise.

use super::answer::{Answer, fact, words};
use super::command::{Command, Line};
use super::prompt::{as_read, ring_so_far, slot_words};
use super::{Pending, Step, Walk, slots};
use crate::job::{
    Answered, Entered, Event, Instrument, Item, Phase, Place, Quantity, ReadingEvent, Slot, Source,
    ZeroCheckEvent,
};
use crate::judge::{Case, allowed_zero_error, plausible};
use crate::units::{Length, Temperature};

/// What a reading is of.
pub(super) type About = (Place, Item, Phase);

impl Walk {
    pub(super) fn take_values(
        &mut self,
        case: &Case<'_>,
        step: &Step,
        values: &[String],
    ) -> Answer {
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
    pub(super) fn slash(&mut self, case: &Case<'_>, step: &Step, rest: &[String]) -> Answer {
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

    pub(super) fn settle(
        &mut self,
        case: &Case<'_>,
        pending: Pending,
        line: &Line,
        raw: &str,
    ) -> Answer {
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
}

pub(super) const fn passed(place: Place, item: Item, phase: Phase, slot: Slot) -> Event {
    Event::Passed {
        place,
        item,
        phase,
        slot,
    }
}

/// A reading event from a text, in the unit of the instrument.
pub(super) fn reading(
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
pub(super) fn asks(
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

pub(super) fn echo(
    case: &Case<'_>,
    place: Place,
    item: Item,
    slot: Slot,
    text: &str,
    value: i64,
) -> String {
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

pub(super) fn zero(case: &Case<'_>, id: &str, values: &[String]) -> Answer {
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
