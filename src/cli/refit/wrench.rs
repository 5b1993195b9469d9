//! What the wrench says: a click's value, and how far fasteners turned on the second pass.

use super::Refit;
use crate::cli::World;
use crate::cli::error::Failure;
use crate::job::{Corner, Entered, Event, Instrument, Proceeding, TorqueTask, WrenchValue};
use crate::judge;
use crate::shop::gauge;
use crate::units::Torque;
use crate::walk::Step;
use crate::walk::torque::may_do;

impl Refit<'_> {
    /// A line the wrench sent: the value of a single fastener's click.
    pub(super) fn sent(
        &mut self,
        world: &mut World<'_>,
        step: &Step,
        line: &str,
    ) -> Result<(), Failure> {
        let Some(target) = step.torque() else {
            return self.talk.say(world, super::NO_CLICK);
        };
        let day = world.clock.today();
        let case = self.file.case();
        let Some(wrench) = self.walk.wrench(&case, step, day) else {
            // The walk says that no wrench of the register covers it.
            return self.plain(world, step, "1", &[]).map(|_| ());
        };
        match sent_value(wrench, line) {
            Err(why) => self.talk.say(world, &format!("  {why}; nothing was noted")),
            Ok(read) => match step {
                Step::Final { .. } | Step::Calliper { .. } => {
                    self.value(world, step, target, read, line)
                }
                _ => self.talk.say(
                    world,
                    &format!("  {read}; confirm the whole pass at the keyboard when every fastener has clicked"),
                ),
            },
        }
    }

    /// A value the wrench showed: inside the tolerance it is the click, outside it is refused with
    /// both numbers and kept.
    pub(super) fn value(
        &mut self,
        world: &mut World<'_>,
        step: &Step,
        target: Torque,
        read: Torque,
        line: &str,
    ) -> Result<(), Failure> {
        let Some((corner, proceeding, fastener)) = step.torque_key() else {
            return Ok(());
        };
        let day = world.clock.today();
        let (low, high) = self.tolerance(step, target);
        let case = self.file.case();
        let key = match proceeding {
            Proceeding::WheelFinal => fastener.to_string(),
            _ => "1".to_owned(),
        };
        let wrench = self.walk.wrench(&case, step, day);
        // A wrench that may not do the step is refused by the walk, whatever it shows.
        let Some(wrench) = wrench.filter(|w| may_do(&case, w, step, day).is_ok()) else {
            return self.plain(world, step, &key, &[]).map(|_| ());
        };
        if !wrench.covers_torque(read) {
            let range = format!("{} {}", wrench.range, wrench.torque_unit());
            let said = format!(
                "  {read} is outside the range of {}, {range}: nothing was noted",
                wrench.id
            );
            return self.talk.say(world, &said);
        }
        let instrument = wrench.id.clone();
        let accepted = (low..=high).contains(&read);
        let value = Event::WrenchValue(WrenchValue {
            corner,
            proceeding,
            fastener,
            instrument,
            entered: Entered {
                text: line.trim().to_owned(),
                unit: "N·m".to_owned(),
                value: read.mnm(),
            },
            accepted,
        });
        if accepted {
            return self.plain(world, step, &key, &[value]).map(|_| ());
        }
        self.append(world, &[value])?;
        let side = if read < low { "below" } else { "above" };
        let advice = if read < low {
            "tighten on to the target"
        } else {
            "slacken this one, look at its thread and seat, and torque it again"
        };
        self.talk.say(
            world,
            &format!("  {read} is {side} {target} by more than allowed ({low} to {high}): not confirmed; {advice}"),
        )?;
        // A value that fits in another unit has a better explanation than a loose fastener.
        match judge::plausible::torque_question(read, target).filter(|q| q.contains("scale")) {
            Some(question) => self.talk.say(world, &format!("  {question}")),
            None => Ok(()),
        }
    }

    /// The smallest and largest value that counts: the sheet's tolerance, else the policy's.
    fn tolerance(&self, step: &Step, target: Torque) -> (Torque, Torque) {
        let case = self.file.case();
        let own = match step {
            Step::Calliper {
                corner, proceeding, ..
            } => judge::calliper_fasteners(&case, *corner)
                .into_iter()
                .find(|(p, ..)| p == proceeding)
                .and_then(|(_, spec, _)| spec.tolerance),
            _ => case.sheet.wheel.tolerance,
        };
        let percent = own.unwrap_or(case.policy.torque_tolerance.value);
        let off = target.mnm().saturating_mul(percent.thousandths()) / 100_000;
        (
            Torque::from_mnm(target.mnm() - off),
            Torque::from_mnm(target.mnm() + off),
        )
    }

    /// `3=12 5=2`: how far fasteners turned on the second pass. One that turned too far is a
    /// finding, and the wheel's final torque is asked for again from its first fastener.
    pub(super) fn turned(
        &mut self,
        world: &mut World<'_>,
        step: &Step,
        corner: Corner,
        line: &str,
    ) -> Result<(), Failure> {
        let count = self.file.case().sheet.wheel.fasteners;
        let mut pairs = Vec::new();
        for word in line.split_whitespace().filter(|w| *w != "1") {
            let read = word.split_once('=').and_then(|(n, degrees)| {
                let degrees = degrees.trim_end_matches('°').parse::<u16>().ok()?;
                Some((n.parse::<u8>().ok()?, degrees))
            });
            match read {
                Some((n, degrees)) if (1..=count).contains(&n) && degrees <= 720 => {
                    pairs.push((n, degrees));
                }
                _ => {
                    return self.talk.say(
                        world,
                        &format!("  `{word}` does not read; expected FASTENER=DEGREES with fasteners 1 to {count}, as in 3=12"),
                    );
                }
            }
        }
        let day = world.clock.today();
        let case = self.file.case();
        let wrench = self.walk.wrench(&case, step, day);
        let Some(wrench) = wrench.filter(|w| may_do(&case, w, step, day).is_ok()) else {
            return self.plain(world, step, "1", &[]).map(|_| ());
        };
        let instrument = wrench.id.clone();
        let events: Vec<Event> = pairs
            .iter()
            .map(|(fastener, degrees)| {
                Event::Torque(TorqueTask {
                    corner,
                    proceeding: Proceeding::WheelSecondPass,
                    fastener: *fastener,
                    instrument: instrument.clone(),
                    set_to: None,
                    turned_deg: Some(*degrees),
                })
            })
            .collect();
        let allowed = self.file.case().policy.retorque_turned_deg.value;
        let too_far: Vec<&(u8, u16)> = pairs
            .iter()
            .filter(|(_, degrees)| u32::from(*degrees) > allowed)
            .collect();
        if too_far.is_empty() {
            return self.plain(world, step, "1", &events).map(|_| ());
        }
        let words: Vec<String> = too_far
            .iter()
            .map(|(n, degrees)| format!("fastener {n} turned {degrees}°"))
            .collect();
        let reason = format!(
            "{} on the second pass, more than {allowed}° allowed",
            words.join(", ")
        );
        let mut all = events;
        all.push(Event::Note {
            place: crate::job::Place::Corner(corner),
            item: Some(crate::job::Item::TorqueWheel),
            text: reason.clone(),
        });
        all.extend(self.strike_finals(corner, &reason));
        self.append(world, &all)?;
        self.talk.say(
            world,
            &format!("  {reason}: look for paint, rust, dirt or a wrong seat. The final torque of {corner} is asked for again."),
        )
    }

    fn strike_finals(&self, corner: Corner, reason: &str) -> Vec<Event> {
        let finals = self.file.job.log().filter(|(_, event, struck)| {
            !struck
                && matches!(event, Event::Torque(task)
                    if task.corner == corner && task.proceeding == Proceeding::WheelFinal)
        });
        finals
            .map(|(meta, ..)| Event::Struck {
                target: meta.seq,
                reason: reason.to_owned(),
                second_person: None,
            })
            .collect()
    }
}

/// A torque typed with its unit; a bare number is a fastener's key.
pub(super) fn torque_value(line: &str) -> Option<Torque> {
    let line = line.trim();
    let unit = line.chars().any(char::is_alphabetic);
    let number = line.starts_with(|c: char| c.is_ascii_digit());
    (unit && number).then(|| Torque::parse(line).ok()).flatten()
}

/// The torque in a wrench's line: by the pattern the register has for it, else the number and the
/// unit after it. A number alone is in the wrench's own unit; a unit that is not known is never
/// taken for another.
fn sent_value(wrench: &Instrument, line: &str) -> Result<Torque, String> {
    let pattern = wrench.line_pattern().map_err(|e| e.to_string())?;
    let (value, unit) = match pattern {
        Some(pattern) => {
            let sent = pattern.read(line).map_err(|e| e.to_string())?;
            (sent.value, sent.unit.unwrap_or_default())
        }
        None => {
            let reading = gauge::reading(line).map_err(|why| format!("`{line}`: {why}"))?;
            let number = reading.split(' ').next().unwrap_or_default().to_owned();
            let after = line
                .split_once(number.as_str())
                .map_or("", |(_, rest)| rest);
            (number, after.trim().to_owned())
        }
    };
    let unit = if unit.is_empty() {
        wrench.torque_unit()
    } else {
        &unit
    };
    let value = value.trim_start_matches('+');
    let torque = Torque::parse(&format!("{value} {unit}"))
        .map_err(|e| format!("`{line}` does not read as a torque: {e}"))?;
    if torque <= Torque::ZERO {
        return Err(format!("`{line}` is no tightening: {torque}"));
    }
    Ok(torque)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_wrench_s_line_is_read_in_the_unit_it_names_or_its_own_and_never_in_another() {
        let wrench = |unit: &str, pattern: &str| {
            let text = format!(
                "[[instrument]]\nid = \"W\"\nkind = \"torque_wrench\"\nunit = \"{unit}\"\npattern = \"{pattern}\"\n"
            );
            let register = crate::job::Register::parse(&text).unwrap();
            register.get("W").unwrap().clone()
        };
        // 1 lbf·ft is 1.3558179483314004 N·m exactly (source: NIST SP 811 App. B, read).
        for (unit, pattern, line, mnm) in [
            ("N·m", "", "110.2 N·m", Some(110_200)),
            ("N·m", "", "01 +0110.2 Nm", Some(110_200)),
            ("N·m", "", "110.2", Some(110_200)),
            ("", "", "110.2", Some(110_200)),
            ("lbf·ft", "", "100.0", Some(135_582)),
            ("N·m", "", "100.0 lbf.ft", Some(135_582)),
            ("N·m", "", "1102 cNm", None),
            ("N·m", "", "110.2 OK", None),
            ("N·m", "{value} OK", "110.2 OK", Some(110_200)),
            ("N·m", "{value} OK", "110.2 LOW", None),
            ("N·m", "", "ERR", None),
            ("N·m", "", "-110.2 Nm", None),
        ] {
            let read = sent_value(&wrench(unit, pattern), line).ok();
            assert_eq!(read.map(Torque::mnm), mnm, "{unit} {pattern} {line}");
        }
    }
}
