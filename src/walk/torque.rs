//! Torque steps: which wrench, and whether its click counts.

use chrono::NaiveDate;

use super::answer::{Answer, fact, words};
use super::{Step, Walk};
use crate::job::{Event, Instrument, Proceeding, TorqueTask};
use crate::judge::Case;
use crate::units::Torque;

impl Walk {
    pub(super) fn torque(
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
        if values != [expected.to_string()] {
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
}

/// Why a wrench's click does not count as final, if it does not.
fn refused(wrench: &Instrument, torque: Torque, day: NaiveDate) -> Option<String> {
    if !wrench.covers_torque(torque) {
        return Some(format!(
            "{torque} is outside the range of {}, {} {}",
            wrench.id,
            wrench.range,
            wrench.torque_unit()
        ));
    }
    wrench.out_of_calibration(day)
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
