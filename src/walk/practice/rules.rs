//! The limits of the practice corner, and the verdicts its values have: by the judge of real jobs.

use chrono::DateTime;

use crate::job::{
    Corner, Depth, Entered, Event, Instrument, InstrumentKind, Item, Job, Meta, Opening, Phase,
    Place, ReadingEvent, Register, Slot, Source, ZeroCheckEvent,
};
use crate::judge::{self, Case, Finding};
use crate::spec::{Policy, Schedule, Sheet, SpecProblems, builtin_policies, builtin_schedules};
use crate::units::{Distance, DistanceUnit, Length, VehicleBuild};

/// The invented vehicle of the practice corner.
const SHEET: &str = r#"
id = "practice-corner"
name = "Practice corner"
vin_patterns = ["A0ZPRACTICE*"]
vehicle_class = "M1"
source = "invented for practice"
date = 2026-01-01
entered_by = "practice"
checked_by = "practice"

[wheel]
fasteners = 5
thread = "M12"
kind = "stud"
torque_nm = 110
tolerance_percent = 5

[[axle]]
name = "front"
brake = "disc"
steered = true
bearing_float_max_mm = 0.050

[axle.disc]
vented = true
new_mm = 24.0
discard_mm = 22.0
runout_max_mm = 0.080
runout_definition = "tir"
dtv_max_mm = 0.020

[axle.pads]
basis = "friction"
new_mm = 12.0
min_mm = 2.0
"#;

pub(super) const MICROMETER: &str = "practice micrometer";
pub(super) const DIAL: &str = "practice dial";
pub(super) const DEPTH_GAUGE: &str = "practice depth gauge";

/// The values of a corner, read or true.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub(super) struct Values {
    pub(super) zero_error: Length,
    pub(super) float: Length,
    /// Points as found; the return follows.
    pub(super) ring: Vec<Length>,
    pub(super) closing: Option<Length>,
    pub(super) thickness: Vec<Length>,
    pub(super) pads: Vec<Length>,
}

/// What the practice corner is judged by.
#[derive(Clone, Debug)]
pub struct Rules {
    sheet: Sheet,
    policy: Policy,
    schedule: Schedule,
    pub(super) register: Register,
}

impl Rules {
    /// Reads the practice corner's limits and the built-in policy and schedule.
    ///
    /// # Errors
    /// [`SpecProblems`] if one of them does not read, which the tests rule out.
    pub fn new() -> Result<Self, SpecProblems> {
        let first = |files: &'static [(&'static str, &'static str)]| {
            files.first().copied().unwrap_or_default()
        };
        let (policy_file, policy) = first(builtin_policies());
        let (schedule_file, schedule) = first(builtin_schedules());
        Ok(Self {
            sheet: Sheet::parse(SHEET, "practice-corner.toml")?,
            policy: Policy::parse(policy, policy_file)?,
            schedule: Schedule::parse(schedule, schedule_file)?,
            register: register(),
        })
    }

    /// The findings for these values, by the same judge as a job's.
    pub(super) fn judge(&self, values: &Values) -> Vec<Finding> {
        let mut job = Job::default();
        for (seq, event) in (1..).zip(events(values)) {
            let meta = Meta {
                seq,
                at: DateTime::UNIX_EPOCH.fixed_offset(),
                by: "practice".to_owned(),
            };
            job.apply(&meta, &event);
        }
        let case = Case {
            job: &job,
            sheet: &self.sheet,
            packs: &[],
            policy: &self.policy,
            schedule: &self.schedule,
            register: &self.register,
            assumed: None,
        };
        judge::judge(&case)
            .findings()
            .filter(|finding| finding.phase == Phase::AsFound)
            .filter(|finding| Some(finding.place) == corner().map(Place::Corner))
            .cloned()
            .collect()
    }
}

fn corner() -> Option<Corner> {
    Job::corners_of(1).next()
}

fn register() -> Register {
    let gauge = |id: &str, kind, resolution: &str, error: &str, repeatability: &str| Instrument {
        id: id.to_owned(),
        kind,
        serial: String::new(),
        unit: "mm".to_owned(),
        range: String::new(),
        resolution: resolution.to_owned(),
        error: error.to_owned(),
        error_within: String::new(),
        repeatability: repeatability.to_owned(),
        repeatability_dof: None,
        reproducibility: String::new(),
        turn: String::new(),
        pattern: String::new(),
        baud: None,
        // Readings carry the first day of the calendar: calibrated on every one after it.
        calibrated_until: Some(chrono::NaiveDate::MAX),
        lapse: None,
    };
    Register {
        instruments: vec![
            gauge(
                MICROMETER,
                InstrumentKind::Micrometer,
                "0.001",
                "0.004",
                "0.001",
            ),
            gauge(
                DIAL,
                InstrumentKind::DialIndicator,
                "0.001",
                "0.004",
                "0.001",
            ),
            gauge(DEPTH_GAUGE, InstrumentKind::PadGauge, "0.1", "0.1", "0.05"),
        ],
        ..Register::default()
    }
}

fn opening() -> Opening {
    Opening {
        job: "practice".to_owned(),
        registration: String::new(),
        vin: String::new(),
        odometer: Distance::ZERO,
        odometer_unit: DistanceUnit::Kilometre,
        complaint: String::new(),
        symptoms: Vec::new(),
        from_words: Vec::new(),
        depth: Depth::Full,
        schedule: "routine".to_owned(),
        sheet: "practice-corner".to_owned(),
        rules: Vec::new(),
        policy: "default".to_owned(),
        class: String::new(),
        first_used: None,
        build: VehicleBuild::default(),
        quote: String::new(),
    }
}

fn events(values: &Values) -> Vec<Event> {
    let mut events = vec![
        Event::Opened(Box::new(opening())),
        Event::ZeroCheck(ZeroCheckEvent {
            instrument: MICROMETER.to_owned(),
            standard: "closed".to_owned(),
            entered: entered(values.zero_error),
            zero_error: values.zero_error,
        }),
    ];
    let mut read = |item, slot, value, instrument: &str| {
        events.extend(corner().map(|corner| {
            Event::Reading(Box::new(ReadingEvent {
                place: Place::Corner(corner),
                item,
                phase: Phase::AsFound,
                take: 1,
                slot,
                entered: entered(value),
                instrument: Some(instrument.to_owned()),
                clocking: None,
                source: Source::Typed,
                confirmed: false,
            }))
        }));
    };
    read(Item::BearingFloat, Slot::Value(1), values.float, DIAL);
    for (number, value) in (1..).zip(&values.ring) {
        read(Item::DiscRunout, Slot::Point(number), *value, DIAL);
    }
    if let Some(closing) = values.closing {
        read(Item::DiscRunout, Slot::Return, closing, DIAL);
    }
    for (number, value) in (1..).zip(&values.thickness) {
        read(Item::DiscThickness, Slot::Point(number), *value, MICROMETER);
    }
    let pads = [
        Slot::Inner(1),
        Slot::Inner(2),
        Slot::Outer(1),
        Slot::Outer(2),
    ];
    for (slot, value) in pads.into_iter().zip(&values.pads) {
        read(Item::PadsThickness, slot, *value, DEPTH_GAUGE);
    }
    events
}

fn entered(value: Length) -> Entered {
    Entered {
        text: value.to_string(),
        unit: "mm".to_owned(),
        value: value.nm(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::walk::practice::FASTENERS;

    #[test]
    fn the_practice_corner_reads_and_has_the_studs_its_rings_count() {
        let rules = Rules::new().unwrap();
        assert_eq!(rules.sheet.wheel.fasteners, FASTENERS);
        assert!(
            rules
                .register
                .instruments
                .iter()
                .all(|i| i.problems().is_empty())
        );
    }
}
