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
        if swept_pair {
            return self.swept_pair(case, (place, item, phase), values);
        }
        self.queue = rest.to_vec();
        self.one_slot(case, step, (place, item, phase), slot, first)
    }

    /// The lowest and the highest of a swept turn, in either order.
    fn swept_pair(&mut self, case: &Case<'_>, about: About, values: &[String]) -> Answer {
        let (place, item, _) = about;
        let instrument = self.instrument(case, place, item);
        let mut read = Vec::new();
        for text in values {
            match self.reading(case, about, Slot::Low, text, instrument) {
                Ok((event, value)) => read.push((event, value, text)),
                Err(why) => return words(why),
            }
        }
        read.sort_by_key(|(_, value, _)| *value);
        let mut events = Vec::new();
        let mut said = Vec::new();
        for ((mut event, value, text), slot) in read.into_iter().zip([Slot::Low, Slot::High]) {
            if let Event::Reading(reading) = &mut event {
                reading.slot = slot;
            }
            said.push(echo(case, place, item, slot, text, value));
            events.push(event);
        }
        Answer::Facts(events, said)
    }

    /// One value for one slot, or several of the same point joined by `;`.
    fn one_slot(
        &mut self,
        case: &Case<'_>,
        step: &Step,
        about: About,
        slot: Slot,
        text: &str,
    ) -> Answer {
        let (place, item, phase) = about;
        let instrument = self.instrument(case, place, item);
        let mut events = self.strike_old(case, about, slot);
        let mut said = Vec::new();
        let repeats: Vec<&str> = text
            .split(';')
            .filter(|part| !part.trim().is_empty())
            .collect();
        if repeats.len() > 1 && !matches!(slot, Slot::Point(_) | Slot::Value(_)) {
            return words(format!(
                "`{text}`: several readings belong to one point of a ring"
            ));
        }
        for text in repeats {
            let (event, value) = match self.reading(case, about, slot, text, instrument) {
                Ok(read) => read,
                Err(why) => return Answer::Words(self.not_taken(why)),
            };
            if let Some(question) = asks(case, (place, item, phase), slot, text, value) {
                self.pending = Some(Pending {
                    step: step.clone(),
                    question,
                    entry: text.to_owned(),
                    first: event,
                    rest: std::mem::take(&mut self.queue),
                });
                // What was read before this one of the same point stands.
                return if events.is_empty() {
                    Answer::Words(said)
                } else {
                    Answer::Facts(events, said)
                };
            }
            said.push(echo(case, place, item, slot, text, value));
            events.push(event);
        }
        Answer::Facts(events, said)
    }

    /// What could not be taken, with whatever stood behind it on the same line.
    fn not_taken(&mut self, why: String) -> Vec<String> {
        let mut said = vec![why];
        if !self.queue.is_empty() {
            said.push(format!(
                "not taken either: {}",
                std::mem::take(&mut self.queue).join(" ")
            ));
        }
        said
    }

    /// A step gone back to has old readings: its new answer strikes them.
    fn strike_old(&self, case: &Case<'_>, (place, item, phase): About, slot: Slot) -> Vec<Event> {
        if self.revisit.is_none() {
            return Vec::new();
        }
        let take = case.job.judged_take(place, item, phase);
        take.and_then(|take| take.slots.get(&slot))
            .into_iter()
            .flatten()
            .map(|old| Event::Struck {
                target: old.meta.seq,
                reason: "read again".to_owned(),
            })
            .collect()
    }

    /// A second person's blind reading, and how far it is from the first.
    pub(super) fn second_reading(
        &mut self,
        case: &Case<'_>,
        step: &Step,
        values: &[String],
    ) -> Answer {
        let (
            Step::Second {
                place,
                item,
                phase,
                slot,
            },
            [text],
        ) = (step, values)
        else {
            return words("one value, please");
        };
        let instrument = self.instrument(case, *place, *item);
        let (event, value) =
            match self.reading(case, (*place, *item, *phase), *slot, text, instrument) {
                Ok(read) => read,
                Err(why) => return words(why),
            };
        let Event::Reading(reading) = event else {
            return Answer::Words(Vec::new());
        };
        let first = case
            .job
            .judged_take(*place, *item, *phase)
            .and_then(|take| take.length(*slot))
            .unwrap_or_default();
        let difference = Length::from_nm(value) - first;
        let said = format!(
            "first {}, second {}: they differ by {:.1} µm",
            as_read(first),
            as_read(Length::from_nm(value)),
            difference.abs().um()
        );
        fact(
            Event::Second {
                place: *place,
                item: *item,
                phase: *phase,
                slot: *slot,
                entered: reading.entered,
                instrument: reading.instrument,
            },
            said,
        )
    }

    /// A reading event from a text, in the unit of the instrument.
    fn reading(
        &self,
        case: &Case<'_>,
        (place, item, phase): About,
        slot: Slot,
        text: &str,
        instrument: Option<&Instrument>,
    ) -> Result<(Event, i64), String> {
        let unit = match slot {
            Slot::Temperature => "°C",
            _ => instrument.map_or("", |i| i.unit.as_str()),
        };
        let entered = match divisions(text, instrument) {
            Some(entered) => entered?,
            None => Entered::read(text, Quantity::of(item, slot), unit)
                .map_err(|error| format!("not taken: {error}"))?,
        };
        let value = entered.value;
        let take = case.job.judged_take(place, item, phase);
        let event = Event::Reading(Box::new(ReadingEvent {
            place,
            item,
            phase,
            take: take.map_or(1, |take| take.number.max(1)),
            slot,
            entered,
            instrument: instrument
                .filter(|_| slot != Slot::Temperature)
                .map(|i| i.id.clone()),
            clocking: None,
            source: self.source,
            confirmed: false,
        }));
        Ok((event, value))
    }

    /// Says that the next line comes from a gauge, or from the keyboard again.
    pub fn line_from_gauge(&mut self, gauge: bool) {
        self.source = if gauge { Source::Gauge } else { Source::Typed };
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
                    other => other,
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

/// A value given in divisions of the dial (`+3.5 div`), if it is one.
fn divisions(text: &str, instrument: Option<&Instrument>) -> Option<Result<Entered, String>> {
    let number = text.trim().strip_suffix("div")?.trim();
    let division = instrument.and_then(|i| i.resolution().ok().flatten());
    let Some(division) = division else {
        return Some(Err(
            "not taken: the instrument's division is not in the register".to_owned(),
        ));
    };
    // A division count is read like millimetres: exact decimals, then scaled.
    let read = Length::parse(number, crate::units::LengthUnit::Millimetre)
        .map_err(|error| format!("not taken: {error}"))
        .map(|count| Entered {
            text: text.trim().to_owned(),
            unit: "div".to_owned(),
            value: i64::try_from(i128::from(count.nm()) * i128::from(division.nm()) / 1_000_000)
                .unwrap_or(i64::MAX),
        });
    Some(read)
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
