//! The instrument of a step: whether it is the right one, whether it may be trusted, and a fall.

use chrono::NaiveDate;

use super::answer::{Answer, fact, words};
use super::{Step, Walk, instrument_kind, steps};
use crate::job::{Event, Instrument, InstrumentKind, Item, Place};
use crate::judge::Case;
use crate::judge::plausible::range_words;
use crate::units::Length;

impl Walk {
    /// The instrument the values of a step are read from, when it takes values.
    #[must_use]
    pub fn reads_with<'a>(&self, case: &Case<'a>, step: &Step) -> Option<&'a Instrument> {
        match step {
            Step::Zero { instrument } => case.register.get(instrument),
            Step::Read { place, item, .. } | Step::Second { place, item, .. } => {
                self.instrument(case, *place, *item)
            }
            _ => None,
        }
    }

    /// Whether a gauge's reading is an answer now: a step that takes values, and no question whose
    /// answer a number could be mistaken for.
    #[must_use]
    pub fn takes_reading(&self, step: &Step) -> bool {
        let reads = matches!(
            step,
            Step::Zero { .. } | Step::Read { .. } | Step::Second { .. }
        );
        reads && self.reason_for.is_none() && self.mangled.is_none()
    }

    /// Whether a question waits for its answer.
    #[must_use]
    pub const fn asks(&self) -> bool {
        self.pending.is_some() || self.mangled.is_some()
    }

    /// A reading is taken only with an instrument that was checked: the check comes first when a
    /// micrometer has none in this job, or any instrument fell since.
    pub(super) fn checked_first(&self, case: &Case<'_>, step: Step) -> Step {
        let Step::Read { place, item, .. } = &step else {
            return step;
        };
        match self.instrument(case, *place, *item) {
            Some(instrument) if wants_check(case, instrument) => Step::Zero {
                instrument: instrument.id.clone(),
            },
            _ => step,
        }
    }

    /// What there is to say about the instrument of a step, each thing once: its calibration, that
    /// the chosen one was left for its range, that there is none.
    pub fn instrument_words(
        &mut self,
        case: &Case<'_>,
        step: &Step,
        day: NaiveDate,
    ) -> Vec<String> {
        let mut said = Vec::new();
        if let Some(instrument) = self.reads_with(case, step) {
            said.extend(calibration_words(instrument, day));
        }
        if let Step::Read { place, item, .. } = step
            && let Some(kind) = instrument_kind(*item)
        {
            let here = self.instrument(case, *place, *item);
            said.extend(self.passed_over(case, (*place, *item), kind, here));
            if here.is_none() {
                said.extend(no_instrument_words(case, *place, *item));
            }
        }
        said.retain(|line| self.told.insert(line.clone()));
        said
    }

    /// The instrument chosen last, when its range does not hold this part.
    fn passed_over(
        &self,
        case: &Case<'_>,
        (place, item): (Place, Item),
        kind: InstrumentKind,
        here: Option<&Instrument>,
    ) -> Option<String> {
        let last = self
            .chosen
            .iter()
            .rev()
            .filter_map(|id| case.register.get(id))
            .find(|instrument| instrument.kind == kind)?;
        let instead = here.filter(|here| here.id != last.id)?;
        Some(format!(
            "{} does not hold this part ({}); reading with {instead}",
            range_words(last),
            sizes_words(&steps::sizes(case, place, item)),
        ))
    }

    /// `use M2`: taken for what it can read; the wrong one is named, and why.
    pub(super) fn choose(&mut self, case: &Case<'_>, step: &Step, id: &str) -> Answer {
        let Some(instrument) = case.register.get(id) else {
            let all: Vec<&str> = case
                .register
                .instruments
                .iter()
                .map(|i| i.id.as_str())
                .collect();
            return words(format!(
                "`{id}` is not in the register; there are {}",
                all.join(", ")
            ));
        };
        if let Some(kind) = kind_of(case, step)
            && kind != instrument.kind
        {
            return words(format!(
                "{instrument} is the wrong kind: this step is read with a {}; not chosen",
                kind.word().replace('_', " ")
            ));
        }
        if let Step::Read { place, item, .. } = step
            && !steps::covers(case, *place, *item, instrument)
        {
            let right = self.instrument(case, *place, *item);
            let right = right.map_or("none in the register does".to_owned(), |i| {
                format!("{} stays", i.id)
            });
            return words(format!(
                "{} does not hold this part ({}); {right}",
                range_words(instrument),
                sizes_words(&steps::sizes(case, *place, *item))
            ));
        }
        self.chosen.push(instrument.id.clone());
        words(format!("using {instrument}"))
    }

    /// `dropped`: an instrument fell. It is checked before its next reading.
    pub(super) fn dropped(&self, case: &Case<'_>, step: &Step, id: &str) -> Answer {
        let here = self.reads_with(case, step).map(|i| i.id.clone());
        let id = if id.is_empty() {
            let Some(here) = here else {
                return words("which one fell? `dropped` and its mark");
            };
            here
        } else {
            id.to_owned()
        };
        let Some(instrument) = case.register.get(&id) else {
            return words(format!("`{id}` is not in the register"));
        };
        let then = if instrument.kind.measures_length() {
            "checked before its next reading"
        } else {
            "have it calibrated before its next use"
        };
        let said = format!("{id} fell: {then}");
        fact(Event::Dropped { instrument: id }, said)
    }
}

/// Whether an instrument is to be checked on its standard before it is read.
fn wants_check(case: &Case<'_>, instrument: &Instrument) -> bool {
    let id = &instrument.id;
    let never = instrument.kind == InstrumentKind::Micrometer
        && case.job.zero_error(id, u64::MAX).is_none();
    never || (instrument.kind.measures_length() && case.job.fell_unchecked(id, u64::MAX))
}

fn kind_of(case: &Case<'_>, step: &Step) -> Option<InstrumentKind> {
    match step {
        Step::Read { item, .. } | Step::Second { item, .. } => instrument_kind(*item),
        Step::Zero { instrument } => case.register.get(instrument).map(|i| i.kind),
        other => other.torque().map(|_| InstrumentKind::TorqueWrench),
    }
}

fn calibration_words(instrument: &Instrument, day: NaiveDate) -> Option<String> {
    instrument
        .out_of_calibration(day)
        .map(|why| format!("{why}: its readings are kept, but none of them can give a PASS"))
}

/// What follows from readings without an instrument, and how one is named; nothing for an item that
/// is read with none.
#[must_use]
pub fn no_instrument_words(case: &Case<'_>, place: Place, item: Item) -> Option<String> {
    let kind = instrument_kind(item)?;
    let kind_word = kind.word().replace('_', " ");
    let all: Vec<String> = case.register.of_kind(kind).map(range_words).collect();
    let sizes = sizes_words(&steps::sizes(case, place, item));
    Some(if all.is_empty() {
        format!(
            "no {kind_word} is in the register: without one on file no reading can give a PASS; `instrument add` takes it in"
        )
    } else if sizes.is_empty() {
        format!(
            "no {kind_word} is named: without one no reading can give a PASS; there is {}",
            all.join(", ")
        )
    } else {
        format!(
            "no {kind_word} in the register holds this part ({sizes}): without one no reading can give a PASS; there is {}",
            all.join(", ")
        )
    })
}

fn sizes_words(sizes: &[Length]) -> String {
    let sizes: Vec<String> = sizes.iter().map(ToString::to_string).collect();
    sizes.join(", ")
}
