//! Torque steps: which wrench, and whether its click counts.

use chrono::NaiveDate;

use super::answer::{Answer, fact, words};
use super::{Step, Walk};
use crate::job::{Event, Instrument, InstrumentKind, Proceeding, TorqueTask};
use crate::judge::Case;
use crate::units::Torque;

/// What stands for a wrench that measures nothing, as an answer to a stage.
pub(super) const HAND: &str = "hand";

impl Walk {
    /// A stage done with a hand wrench, which measures nothing.
    pub(super) fn by_hand(&self, step: &Step) -> Answer {
        let Some((corner, proceeding, fastener)) = step.torque_key() else {
            return Answer::Words(Vec::new());
        };
        let task = TorqueTask {
            corner,
            proceeding,
            fastener,
            instrument: String::new(),
            set_to: None,
            turned_deg: None,
        };
        let said = format!(
            "{corner} {} with a hand wrench, not measured",
            step_word(step)
        );
        fact(Event::Torque(task), said)
    }

    pub(super) fn torque(
        &mut self,
        case: &Case<'_>,
        step: &Step,
        values: &[String],
        day: NaiveDate,
    ) -> Answer {
        let (Some(torque), Some((corner, proceeding, fastener))) =
            (step.torque(), step.torque_key())
        else {
            return Answer::Words(Vec::new());
        };
        let stage = proceeding == Proceeding::WheelStage;
        let Some(wrench) = self.wrench(case, step, day) else {
            let hand = if stage {
                ", or answer `hand` for a hand wrench, which measures nothing"
            } else {
                ""
            };
            return words(format!(
                "no torque wrench in the register covers {torque}; `use` one, or add one{hand}"
            ));
        };
        let expected = if proceeding == Proceeding::WheelFinal {
            fastener
        } else {
            1
        };
        if values != [expected.to_string()] {
            return words(format!(
                "expected {expected}: confirm this step, nothing else"
            ));
        }
        let set = match may_do(case, wrench, step, day) {
            Ok(set) => set,
            Err(reason) => {
                self.chosen.retain(|id| *id != wrench.id);
                let hand = if stage {
                    ", or `hand` for a hand wrench"
                } else {
                    ""
                };
                let said = format!("refused: {reason}; again with another wrench{hand}");
                return fact(
                    Event::TorqueRefused {
                        corner,
                        instrument: wrench.id.clone(),
                        reason,
                    },
                    said,
                );
            }
        };
        let said = format!("{corner} {} → {set} ({})", step_word(step), wrench.id);
        let instrument = wrench.id.clone();
        fact(
            Event::Torque(TorqueTask {
                corner,
                proceeding,
                fastener,
                instrument,
                set_to: stage.then_some(set),
                turned_deg: None,
            }),
            said,
        )
    }

    /// What to say before a stage that the wrench at hand cannot do at its own torque.
    pub(super) fn raised(&self, case: &Case<'_>, step: &Step, day: NaiveDate) -> Option<String> {
        let Step::Stage { torque, .. } = step else {
            return None;
        };
        let Some(wrench) = self.wrench(case, step, day) else {
            return Some(format!(
                "  no torque wrench of the register does {torque}: `hand` = done with a hand wrench, not measured"
            ));
        };
        let set = wrench.set_for(*torque, final_torque(case, step))?;
        (set != *torque).then(|| {
            format!(
                "  {} begins at {set}: this stage is done at {set}; `hand` = with a hand wrench, not measured",
                wrench.id
            )
        })
    }

    /// The torque wrench to use: the one chosen in this sitting, else one whose range covers the
    /// torque, in calibration before others; for a stage below every range one that covers the
    /// final torque.
    pub(crate) fn wrench<'a>(
        &self,
        case: &Case<'a>,
        step: &Step,
        day: NaiveDate,
    ) -> Option<&'a Instrument> {
        let torque = step.torque()?;
        let kind = InstrumentKind::TorqueWrench;
        let chosen = self
            .chosen
            .iter()
            .rev()
            .filter_map(|id| case.register.get(id));
        let mut chosen = chosen.filter(|instrument| instrument.kind == kind);
        let best = |fits: &dyn Fn(&Instrument) -> bool| {
            let all: Vec<&Instrument> = case.register.of_kind(kind).filter(|i| fits(i)).collect();
            let good = all.iter().copied().find(|i| i.calibrated_on(day));
            good.or(all.first().copied())
        };
        let target = final_torque(case, step);
        chosen
            .next()
            .or_else(|| best(&|i| i.covers_torque(torque)))
            .or_else(|| best(&|i| i.set_for(torque, target).is_some()))
    }
}

/// What a step's tightening ends at: the step's own torque, but for an earlier stage of a wheel.
fn final_torque(case: &Case<'_>, step: &Step) -> Torque {
    let own = step.torque().unwrap_or_default();
    match step {
        Step::Stage { .. } => (case.sheet.wheel.torque.as_ref()).map_or(own, |full| full.value),
        _ => own,
    }
}

/// What a wrench is set to for a step, or why its click does not count. An earlier stage needs its
/// range alone: what counts is the final torque.
pub(crate) fn may_do(
    case: &Case<'_>,
    wrench: &Instrument,
    step: &Step,
    day: NaiveDate,
) -> Result<Torque, String> {
    let torque = step.torque().unwrap_or_default();
    let Some(set) = wrench.set_for(torque, final_torque(case, step)) else {
        return Err(format!(
            "{torque} is outside the range of {}, {} {}",
            wrench.id,
            wrench.range,
            wrench.torque_unit()
        ));
    };
    match wrench.out_of_calibration(day) {
        Some(reason) if !matches!(step, Step::Stage { .. }) => Err(reason),
        _ => Ok(set),
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
