//! Values: from a line to readings in the journal, with the questions they raise.

use super::answer::{Answer, fact, words};
use super::command::{Command, Line};
use super::figures::{divisions, possible, unwrapped};
use super::look::seen_words;
use super::prompt::{as_read, slot_words};
use super::{Pending, Step, Walk, slots};
use crate::job::{
    Answered, Entered, Event, Instrument, InstrumentKind, Item, Phase, Place, Quantity,
    ReadingEvent, Slot, Source, ZeroCheckEvent,
};
use crate::judge::states;
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
        if self.revisit.is_some() && !rest.is_empty() {
            return words("one point is read again: one value, or repeats of it joined by `;`");
        }
        // A whole ring given where one optional value is asked belongs to the ring.
        let swept_pair = slot == Slot::Swept && rest.len() == 1;
        let ring_given = matches!(slot, Slot::Swept | Slot::Temperature) && rest.len() > 1;
        if ring_given && slots(case, item).contains(&(slot, true)) {
            self.queue = values.to_vec();
            return Answer::Facts(vec![passed(place, item, phase, slot)], Vec::new());
        }
        if swept_pair {
            return self.swept_pair(case, step, (place, item, phase), values);
        }
        self.queue = rest.to_vec();
        self.one_slot(case, step, (place, item, phase), slot, first)
    }

    /// The lowest and the highest of a swept turn, in either order.
    fn swept_pair(
        &mut self,
        case: &Case<'_>,
        step: &Step,
        about: About,
        values: &[String],
    ) -> Answer {
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
        let mut raised = Vec::new();
        for ((mut event, value, text), slot) in read.into_iter().zip([Slot::Low, Slot::High]) {
            if let Event::Reading(reading) = &mut event {
                reading.slot = slot;
            }
            let value_text = (text.as_str(), value);
            raised.extend(self.questions(case, about, slot, value_text, &events, instrument));
            said.push(echo(case, place, item, slot, text, value));
            events.push(event);
        }
        if raised.is_empty() {
            return Answer::Facts(events, said);
        }
        // Both ends of a turn are kept, or neither.
        let about = (place, item, Slot::Low);
        let mut ends = events.into_iter();
        self.ask(step, about, raised, &values.join(" "), ends.next());
        if let Some(pending) = &mut self.pending {
            pending.with_it = ends.collect();
        }
        Answer::Words(Vec::new())
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
        let (place, item, _) = about;
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
            let read = match self.reading(case, about, slot, text, instrument) {
                Ok(read) => read,
                Err(why) => match plausible::run_together(text) {
                    Some((question, apart)) => {
                        self.ask(step, (place, item, slot), vec![question], text, None);
                        if let Some(pending) = &mut self.pending {
                            pending.apart = apart.to_vec();
                        }
                        break;
                    }
                    None => return Answer::Words(self.not_taken(why)),
                },
            };
            let (event, value, past) = self.past_zero(case, about, slot, read, instrument);
            let raised = match &past {
                Past::No | Past::Agreed => {
                    self.questions(case, about, slot, (text, value), &events, instrument)
                }
                Past::Asked(question, _) => vec![question.clone()],
            };
            if !raised.is_empty() {
                // What was read before this one of the same point stands.
                self.ask(step, (place, item, slot), raised, text, Some(event));
                if let (Some(pending), Past::Asked(_, meant)) = (&mut self.pending, past) {
                    pending.past = Some(*meant);
                }
                break;
            }
            let agreed = if matches!(past, Past::Agreed) {
                format!(" (the dial showed {text}, past its zero)")
            } else {
                String::new()
            };
            said.push(echo(case, place, item, slot, text, value) + &agreed);
            events.push(event);
        }
        if events.is_empty() {
            Answer::Words(said)
        } else {
            Answer::Facts(events, said)
        }
    }

    /// Puts a question; its answer is the next line.
    pub(super) fn ask(
        &mut self,
        step: &Step,
        about: (Place, Item, Slot),
        questions: Vec<String>,
        entry: &str,
        first: Option<Event>,
    ) {
        self.pending = Some(Pending {
            step: step.clone(),
            about,
            questions,
            entry: entry.to_owned(),
            first,
            apart: Vec::new(),
            past: None,
            with_it: Vec::new(),
            rest: std::mem::take(&mut self.queue),
        });
    }

    /// The limit cast on a corner's disc or drum, held against its sheet.
    pub(super) fn cast(&mut self, case: &Case<'_>, step: &Step, text: &str) -> Answer {
        let Some(corner) = step.corner() else {
            return words("at a corner: the limit cast on its disc or drum");
        };
        let entered = match Entered::read(text, Quantity::Length, "mm") {
            Ok(entered) => entered,
            Err(error) => return words(format!("not taken: {error}")),
        };
        let mark = Length::from_nm(entered.value);
        let event = Event::CastMark { corner, entered };
        let Some(question) = plausible::mark_question(case, corner, mark) else {
            return fact(event, format!("{corner}: cast on the part, {mark}"));
        };
        let is_disc = case.corner_items(corner).contains(&Item::DiscThickness);
        let item = if is_disc {
            Item::DiscThickness
        } else {
            Item::DrumDiameter
        };
        let about = (Place::Corner(corner), item, Slot::Value(1));
        self.ask(
            step,
            about,
            vec![format!("the mark: {question}")],
            text,
            Some(event),
        );
        Answer::Words(Vec::new())
    }

    /// Everything there is to ask about a value that was not asked about it before.
    fn questions(
        &self,
        case: &Case<'_>,
        (place, item, phase): About,
        slot: Slot,
        (text, value): (&str, i64),
        with_it: &[Event],
        instrument: Option<&Instrument>,
    ) -> Vec<String> {
        let take = states::set_at_hand(case, place, item, phase);
        let all = take.map(plausible::entries_of).unwrap_or_default();
        // What is read again is not held against its own old reading.
        let others: Vec<_> = all.iter().filter(|e| e.slot != slot).copied().collect();
        let mut before = if self.revisit.is_some() && !others.is_empty() {
            others
        } else {
            all
        };
        before.extend(with_it.iter().filter_map(|event| match event {
            Event::Reading(reading) => {
                Some(plausible::Entry::typed(reading.slot, &reading.entered))
            }
            _ => None,
        }));
        let entry = plausible::Entry {
            slot,
            text,
            value,
            from_gauge: self.source == Source::Gauge,
            gap_ms: self.gap_ms,
        };
        let about = plausible::About {
            place,
            item,
            phase,
            clocking: None,
            instrument,
        };
        let raised = plausible::questions(case, about, &before, &[entry]);
        let mut asked: Vec<String> = raised.into_iter().map(|raised| raised.question).collect();
        asked.retain(|question| {
            !case.job.asked.iter().any(|(_, before)| {
                before.kept
                    && (before.place, before.item) == (place, item)
                    && before.question == *question
                    && before.slot != slot
            })
        });
        asked
    }

    /// A dial that passed its zero: put right when somebody agreed to it in this ring, asked about
    /// when not.
    fn past_zero(
        &self,
        case: &Case<'_>,
        (place, item, phase): About,
        slot: Slot,
        (mut event, value): (Event, i64),
        instrument: Option<&Instrument>,
    ) -> (Event, i64, Past) {
        let Some((instrument, meant)) =
            unwrapped(case, (place, item, phase), slot, value, instrument)
        else {
            return (event, value, Past::No);
        };
        let turned = |event: &mut Event| {
            if let Event::Reading(reading) = event {
                reading.entered.value = meant.nm();
            }
        };
        let agreed = (item, place, instrument.id.clone());
        if self.unwrapping.as_ref() == Some(&agreed) {
            turned(&mut event);
            return (event, meant.nm(), Past::Agreed);
        }
        let question = format!(
            "{} is more than half a turn of {} from the reading before; `past` if it passed its zero and is {meant}",
            Length::from_nm(value),
            instrument.id
        );
        let mut right = event.clone();
        turned(&mut right);
        (event, value, Past::Asked(question, Box::new(right)))
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
        let take = states::set_at_hand(case, place, item, phase);
        take.and_then(|take| take.slots.get(&slot))
            .into_iter()
            .flatten()
            .map(|old| Event::Struck {
                target: old.meta.seq,
                reason: "read again".to_owned(),
                second_person: None,
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
        let first = states::set_at_hand(case, *place, *item, *phase)
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
        possible(item, slot, value).map_err(|error| format!("not taken: {error}"))?;
        let take = states::set_at_hand(case, place, item, phase);
        let event = Event::Reading(Box::new(ReadingEvent {
            place,
            item,
            phase,
            take: take.map_or_else(
                || 1 + case.job.last_take(place, item, phase),
                |take| take.number.max(1),
            ),
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

    /// Says where the next line comes from, and how long after the line before it.
    pub const fn line_from(&mut self, source: Source, gap_ms: Option<u64>) {
        self.source = source;
        self.gap_ms = gap_ms;
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
        // Only the first value of a line has a time before it.
        self.gap_ms = None;
        Some(std::mem::take(&mut self.queue).join(" "))
    }

    pub(super) fn settle(
        &mut self,
        case: &Case<'_>,
        pending: Pending,
        line: &Line,
        raw: &str,
    ) -> Answer {
        let asked = |kept: bool| asked(&pending, raw, kept);
        match line {
            Line::Command(Command::Yes) => match pending.first.clone() {
                Some(event) => {
                    self.queue.clone_from(&pending.rest);
                    let said = seen_words(&event)
                        .unwrap_or_else(|| format!("kept as asked: {}", pending.entry));
                    let mut facts = asked(true);
                    facts.extend(super::look::struck(case, &event));
                    facts.push(confirmed(event));
                    facts.extend(pending.with_it.iter().cloned().map(confirmed));
                    Answer::Facts(facts, vec![said])
                }
                // Two readings run together: each is taken as if it had come alone.
                None => {
                    self.queue.clone_from(&pending.apart);
                    self.queue.extend(pending.rest.iter().cloned());
                    Answer::Facts(asked(false), Vec::new())
                }
            },
            // What was done answers the question, and the look follows it.
            Line::Command(command @ (Command::Work(_) | Command::Fitted(_)))
                if matches!(pending.first, Some(Event::Seen { .. })) =>
            {
                match self.command(case, &pending.step, command.clone()) {
                    Answer::Facts(events, said) => {
                        let mut facts = asked(true);
                        facts.extend(events);
                        facts.extend(pending.first.clone());
                        Answer::Facts(facts, said)
                    }
                    other => {
                        self.pending = Some(pending);
                        other
                    }
                }
            }
            Line::Command(Command::Past) if pending.past.is_some() => {
                let mut facts = asked(false);
                let mut said = Vec::new();
                if let Some(Event::Reading(reading)) = &pending.past {
                    let (place, item, slot) = pending.about;
                    let id = reading.instrument.clone().unwrap_or_default();
                    self.unwrapping = Some((item, place, id));
                    let value = reading.entered.value;
                    said.push(echo(case, place, item, slot, &pending.entry, value));
                }
                facts.extend(pending.past.clone().map(confirmed));
                self.queue.clone_from(&pending.rest);
                Answer::Facts(facts, said)
            }
            Line::Command(Command::No(_)) => {
                let look = matches!(pending.first, Some(Event::Seen { .. }));
                let left = if look {
                    "left as it was, not taken"
                } else {
                    "dropped"
                };
                let mut said = vec![format!("{left}: {}", pending.entry)];
                if !pending.rest.is_empty() {
                    said.push(format!("not taken either: {}", pending.rest.join(" ")));
                }
                Answer::Facts(asked(false), said)
            }
            Line::Values(values) => {
                let again = match &pending.first {
                    Some(Event::CastMark { .. }) => {
                        self.cast(case, &pending.step, &values.join(" "))
                    }
                    Some(Event::Seen { .. }) => self.look(case, &pending.step, raw),
                    _ => {
                        let mut all = values.clone();
                        all.extend(pending.rest.iter().cloned());
                        self.take_values(case, &pending.step, &all)
                    }
                };
                let mut facts = asked(false);
                match again {
                    Answer::Facts(events, said) => {
                        facts.extend(events);
                        Answer::Facts(facts, said)
                    }
                    // A replacement that is asked about in its turn: the first answer is a fact all
                    // the same.
                    Answer::Words(said) => Answer::Facts(facts, said),
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

/// Whether a dial passed its zero, and what somebody said to it.
enum Past {
    No,
    Agreed,
    Asked(String, Box<Event>),
}

/// The answers to every question of an entry.
pub(super) fn asked(pending: &Pending, raw: &str, kept: bool) -> Vec<Event> {
    let (place, item, slot) = pending.about;
    let answer = |question: &String| {
        Event::Asked(Answered {
            place,
            item,
            slot,
            entry: pending.entry.clone(),
            question: question.clone(),
            answer: raw.trim().to_owned(),
            kept,
        })
    };
    pending.questions.iter().map(answer).collect()
}

fn confirmed(mut event: Event) -> Event {
    if let Event::Reading(reading) = &mut event {
        reading.confirmed = true;
    }
    event
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

/// The setting standard of an instrument: its size and its name.
pub(super) fn standard(instrument: &Instrument) -> (Length, String) {
    let low = instrument.range_numbers().map_or(0.0, |(low, _)| low);
    let unit = instrument.length_unit();
    let size = Length::parse(&format!("{low:.4}"), unit).unwrap_or_default();
    let name = if instrument.kind == InstrumentKind::DialIndicator {
        return (Length::ZERO, "set to zero, lifted, let down".to_owned());
    } else if instrument.kind == InstrumentKind::PadGauge {
        return (Length::ZERO, "on a flat plate".to_owned());
    } else if size == Length::ZERO {
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
            "{id} zero error {zero_error}: more than {allowed} allowed. Adjust it, and `back` checks it again; until then no reading of it can pass."
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

pub(super) const fn passed(place: Place, item: Item, phase: Phase, slot: Slot) -> Event {
    Event::Passed {
        place,
        item,
        phase,
        slot,
    }
}
