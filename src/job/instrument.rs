//! The register of instruments: range, resolution, permissible error, calibration, history.

mod history;
mod pattern;
mod register;

use std::fmt;

use chrono::{DateTime, FixedOffset, NaiveDate};
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use super::{Entered, Quantity};
use crate::measure::torque::stage_setting;
use crate::units::{Length, LengthUnit, Torque, UnitError};

pub use history::{Check, Occasion, StudyEntry};
pub use pattern::{NoMatch, Pattern, PatternError, Sent};
pub use register::{Register, RegisterError};

/// What kind of instrument it is.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum InstrumentKind {
    /// Outside micrometer.
    Micrometer,
    /// Dial test indicator.
    DialIndicator,
    /// Drum gauge.
    DrumGauge,
    /// Pad or depth gauge.
    PadGauge,
    /// Torque wrench.
    TorqueWrench,
    /// Brake fluid boiling-point tester.
    FluidTester,
    /// Roller brake tester.
    RollerTester,
}

impl InstrumentKind {
    /// The kind's word in the register and on the command line.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::Micrometer => "micrometer",
            Self::DialIndicator => "dial_indicator",
            Self::DrumGauge => "drum_gauge",
            Self::PadGauge => "pad_gauge",
            Self::TorqueWrench => "torque_wrench",
            Self::FluidTester => "fluid_tester",
            Self::RollerTester => "roller_tester",
        }
    }

    /// Whether its figures are lengths.
    #[must_use]
    pub const fn measures_length(self) -> bool {
        matches!(
            self,
            Self::Micrometer | Self::DialIndicator | Self::DrumGauge | Self::PadGauge
        )
    }
}

/// One instrument of the workshop. Figures are kept as they were written, with their unit.
///
/// `range`, `resolution`, `error` and `repeatability` are texts such as `25-50 mm`, `0.001 mm`,
/// `±4 %`.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Instrument {
    /// The workshop's own mark on it.
    pub id: String,
    /// What it is.
    pub kind: InstrumentKind,
    /// Serial number.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub serial: String,
    /// Unit it shows: `mm`, `in`, `N·m`, `N`, `°C`.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub unit: String,
    /// Lowest and highest value it measures, in its unit (`25-50`).
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub range: String,
    /// Smallest step it shows, in its unit.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub resolution: String,
    /// Maximum permissible error: a length with unit, or `4 %`.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub error: String,
    /// Maximum permissible error within a short span, `SPAN=ERROR` (`0.1=0.005`): for differences that
    /// stay within the span, such as run-out.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub error_within: String,
    /// Repeatability (one standard deviation) from its own study; a length with unit.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub repeatability: String,
    /// Degrees of freedom of the repeatability, when it comes from a study.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub repeatability_dof: Option<u32>,
    /// Spread between people (one standard deviation) from its own study; a length with unit.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub reproducibility: String,
    /// Travel of one full turn of a dial's needle (`1 mm`); empty: a display that does not wrap.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub turn: String,
    /// What its line looks like when it sends its readings; see [`Pattern`]. Empty: the value alone.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub pattern: String,
    /// Speed of its serial line.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub baud: Option<u32>,
    /// Last day its calibration holds.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub calibrated_until: Option<NaiveDate>,
    /// When it was last without a calibration: what was read then is not made good by a later one.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub lapse: Option<Lapse>,
}

/// A time during which an instrument had no calibration.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Lapse {
    /// Last day the calibration before it held; none if there was none.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub after: Option<NaiveDate>,
    /// When the next calibration was noted.
    pub ended: DateTime<FixedOffset>,
}

impl Lapse {
    /// Whether a time lies in it. Times have whole seconds: the one in which it ended belongs to it.
    #[must_use]
    pub fn holds(&self, at: DateTime<FixedOffset>) -> bool {
        at <= self.ended && self.after.is_none_or(|after| at.date_naive() > after)
    }
}

/// A figure of the register that does not read.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[error("instrument `{id}`: {field} `{text}` does not read: {why}")]
pub struct FigureError {
    /// The instrument.
    pub id: String,
    /// Which figure.
    pub field: &'static str,
    /// Its text.
    pub text: String,
    /// Why not.
    pub why: String,
}

impl Instrument {
    /// The unit its lengths are in.
    #[must_use]
    pub fn length_unit(&self) -> LengthUnit {
        self.unit.parse().unwrap_or_default()
    }

    /// One of its figures as a length; an empty figure is `None`.
    fn length(&self, field: &'static str, text: &str) -> Result<Option<Length>, FigureError> {
        if text.trim().is_empty() {
            return Ok(None);
        }
        let wrong = |why: UnitError| FigureError {
            id: self.id.clone(),
            field,
            text: text.to_owned(),
            why: why.to_string(),
        };
        Length::parse(text.trim_start_matches('±').trim(), self.length_unit())
            .map(Some)
            .map_err(wrong)
    }

    /// Smallest step it shows.
    ///
    /// # Errors
    /// [`FigureError`] if the figure is no length.
    pub fn resolution(&self) -> Result<Option<Length>, FigureError> {
        self.length("resolution", &self.resolution)
    }

    /// Maximum permissible error, when it is a length.
    ///
    /// # Errors
    /// [`FigureError`] if the figure is no length.
    pub fn permissible_error(&self) -> Result<Option<Length>, FigureError> {
        self.length("error", &self.error)
    }

    /// The short span over which another error holds, and that error.
    ///
    /// # Errors
    /// [`FigureError`] if the figure is not two lengths above nothing, `SPAN=ERROR`.
    pub fn error_within(&self) -> Result<Option<(Length, Length)>, FigureError> {
        let text = self.error_within.as_str();
        if text.trim().is_empty() {
            return Ok(None);
        }
        let wrong = || FigureError {
            id: self.id.clone(),
            field: "error_within",
            text: text.to_owned(),
            why: "expected SPAN=ERROR, such as 0.1=0.005".to_owned(),
        };
        let (span, error) = text.split_once('=').ok_or_else(wrong)?;
        let length = |text: &str| self.length("error_within", text).map_err(|_| wrong());
        match (length(span)?, length(error)?) {
            (Some(span), Some(error)) if span > Length::ZERO && error > Length::ZERO => {
                Ok(Some((span, error)))
            }
            _ => Err(wrong()),
        }
    }

    /// The permissible error of a difference that swings no further than this, where the register
    /// gives one for so short a span.
    #[must_use]
    pub fn error_over(&self, swing: Length) -> Option<Length> {
        let (span, error) = self.error_within().ok().flatten()?;
        (swing <= span).then_some(error)
    }

    /// Maximum permissible error as a share of the value, when it is a percentage: 0.03 for `3 %`.
    #[must_use]
    pub fn error_share(&self) -> Option<f64> {
        let number = self.error.trim().strip_suffix('%')?;
        let number = number.trim().trim_start_matches('±').trim();
        let percent: f64 = number.replace(',', ".").parse().ok()?;
        (0.0..=50.0).contains(&percent).then_some(percent / 100.0)
    }

    /// Repeatability from its own study.
    ///
    /// # Errors
    /// [`FigureError`] if the figure is no length.
    pub fn repeatability(&self) -> Result<Option<Length>, FigureError> {
        self.length("repeatability", &self.repeatability)
    }

    /// Spread between people from its own study.
    ///
    /// # Errors
    /// [`FigureError`] if the figure is no length.
    pub fn reproducibility(&self) -> Result<Option<Length>, FigureError> {
        self.length("reproducibility", &self.reproducibility)
    }

    /// Travel of one full turn of its needle.
    ///
    /// # Errors
    /// [`FigureError`] if the figure is no length.
    pub fn turn(&self) -> Result<Option<Length>, FigureError> {
        self.length("turn", &self.turn)
    }

    /// What its line looks like when it sends its readings; `None` when nothing is on file.
    ///
    /// # Errors
    /// [`FigureError`] if the text is no pattern.
    pub fn line_pattern(&self) -> Result<Option<Pattern>, FigureError> {
        if self.pattern.is_empty() {
            return Ok(None);
        }
        let wrong = |why: PatternError| FigureError {
            id: self.id.clone(),
            field: "pattern",
            text: self.pattern.clone(),
            why: why.to_string(),
        };
        self.pattern.parse().map(Some).map_err(wrong)
    }

    /// Lowest and highest number of its range, as decimal numbers in its own unit.
    #[must_use]
    pub fn range_numbers(&self) -> Option<(f64, f64)> {
        let (low, high) = self.range.split_once(['-', '–'])?;
        let number = |text: &str| text.trim().replace(',', ".").parse::<f64>().ok();
        Some((
            number(low)?,
            number(high.trim_end_matches(|c: char| !c.is_ascii_digit()))?,
        ))
        .filter(|(low, high)| low < high)
    }

    /// Whether a length lies within its range; an instrument without a range covers everything.
    #[must_use]
    pub fn covers(&self, length: Length) -> bool {
        let per_unit = Length::parse("1", self.length_unit()).map_or(1.0, Length::mm);
        self.range_numbers()
            .is_none_or(|(low, high)| (low * per_unit..=high * per_unit).contains(&length.mm()))
    }

    /// Lowest and highest value of its range, which stands in its own unit, in the base unit of a
    /// quantity (see [`Entered::value`]); `None` without a range or with a unit of another quantity.
    #[must_use]
    pub fn range_of(&self, quantity: Quantity) -> Option<(i64, i64)> {
        let (low, high) = self.range_numbers()?;
        let base = |number: f64| Entered::read(&number.to_string(), quantity, &self.unit);
        Some((base(low).ok()?.value, base(high).ok()?.value))
    }

    /// The unit a torque wrench shows; N·m where the register names none.
    #[must_use]
    pub fn torque_unit(&self) -> &str {
        if self.unit.is_empty() {
            "N·m"
        } else {
            &self.unit
        }
    }

    /// Whether a torque lies within its range, which stands in its own unit; without a range
    /// it covers everything, with a unit that is none of torque nothing.
    #[must_use]
    pub fn covers_torque(&self, torque: Torque) -> bool {
        self.set_for(torque, torque).is_some()
    }

    /// What it is set to for a stage of a tightening to `target`; `None` when it cannot do it.
    #[must_use]
    pub fn set_for(&self, stage: Torque, target: Torque) -> Option<Torque> {
        let Some((low, high)) = self.range_numbers() else {
            return Some(stage);
        };
        let end = |number: f64| Torque::parse(&format!("{number} {}", self.torque_unit())).ok();
        stage_setting(stage, target, (end(low)?, end(high)?))
    }

    /// Whether its calibration holds on a day. No date on file means it does not.
    #[must_use]
    pub fn calibrated_on(&self, day: NaiveDate) -> bool {
        self.out_of_calibration(day).is_none()
    }

    /// Why its calibration does not hold on a day, as far as its date says.
    #[must_use]
    pub fn out_of_calibration(&self, day: NaiveDate) -> Option<String> {
        let id = &self.id;
        match self.calibrated_until {
            None => Some(format!("{id} has no calibration date on file")),
            Some(until) if day > until => Some(format!("the calibration of {id} ended on {until}")),
            Some(_) => None,
        }
    }

    /// Why it was not calibrated at a time at which it was read.
    #[must_use]
    pub fn uncalibrated(&self, at: DateTime<FixedOffset>) -> Option<String> {
        self.out_of_calibration(at.date_naive()).or_else(|| {
            let lapsed = self.lapse.is_some_and(|lapse| lapse.holds(at));
            lapsed.then(|| format!("{} was without a calibration when it was read", self.id))
        })
    }

    /// Every figure that does not read.
    #[must_use]
    pub fn problems(&self) -> Vec<FigureError> {
        let mut problems = Vec::new();
        if self.kind.measures_length() {
            problems.extend(self.resolution().err());
            problems.extend(self.permissible_error().err());
            problems.extend(self.error_within().err());
            problems.extend(self.repeatability().err());
            problems.extend(self.reproducibility().err());
            match self.turn() {
                Ok(Some(turn)) if turn <= Length::ZERO => problems.push(FigureError {
                    id: self.id.clone(),
                    field: "turn",
                    text: self.turn.clone(),
                    why: "expected more than zero, such as 1 mm".to_owned(),
                }),
                Ok(_) => {}
                Err(why) => problems.push(why),
            }
        }
        problems.extend(self.line_pattern().err());
        let unit: Result<LengthUnit, _> = self.unit.parse();
        if self.kind.measures_length()
            && !self.unit.is_empty()
            && let Err(why) = unit
        {
            problems.push(FigureError {
                id: self.id.clone(),
                field: "unit",
                text: self.unit.clone(),
                why: why.to_string(),
            });
        }
        // Some serial drivers take 0 and then never send anything.
        if self
            .baud
            .is_some_and(|baud| !(50..=4_000_000).contains(&baud))
        {
            problems.push(FigureError {
                id: self.id.clone(),
                field: "baud",
                text: self.baud.unwrap_or_default().to_string(),
                why: "expected 50 to 4000000, such as 9600".to_owned(),
            });
        }
        if self.repeatability_dof == Some(0) {
            problems.push(FigureError {
                id: self.id.clone(),
                field: "repeatability_dof",
                text: "0".to_owned(),
                why: "expected 1 or more".to_owned(),
            });
        }
        if !self.range.is_empty() && self.range_numbers().is_none() {
            problems.push(FigureError {
                id: self.id.clone(),
                field: "range",
                text: self.range.clone(),
                why: "expected something like 25-50".to_owned(),
            });
        }
        problems
    }
}

impl fmt::Display for Instrument {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{} ({}", self.id, self.kind.word().replace('_', " "))?;
        if !self.range.is_empty() {
            write!(f, ", {} {}", self.range, self.unit)?;
        }
        f.write_str(")")
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const TEXT: &str = r#"
        [[instrument]]
        id = "HW-M3"
        kind = "micrometer"
        unit = "in"
        range = "0-1"
        resolution = "0.0001"
        error = "0.004 mm"
        repeatability = "0.0010 mm"
        calibrated_until = "2026-09-30"
    "#;

    #[test]
    fn an_inch_micrometer_reads_in_its_own_unit() {
        let register = Register::parse(TEXT).unwrap();
        let mic = register.get("HW-M3").unwrap();
        assert_eq!(mic.resolution().unwrap().unwrap().nm(), 2_540);
        assert_eq!(mic.permissible_error().unwrap().unwrap().nm(), 4_000);
        assert!(mic.covers(Length::from_nm(19_331_940)));
        assert!(!mic.covers(Length::from_nm(26_000_000)));
        assert!(mic.calibrated_on("2026-09-30".parse().unwrap()));
        assert!(!mic.calibrated_on("2026-10-01".parse().unwrap()));
    }

    /// 30 to 150 lbf·ft are 40.67 to 203.37 N·m (source: NIST SP 811 App. B, read; arithmetic own).
    #[test]
    fn a_torque_wrench_covers_its_range_in_its_own_unit() {
        let wrench = |unit: &str| {
            let text = format!(
                "[[instrument]]\nid = \"W\"\nkind = \"torque_wrench\"\nunit = \"{unit}\"\nrange = \"30-150\"\n"
            );
            Register::parse(&text).unwrap().get("W").unwrap().clone()
        };
        let covers = |unit: &str, nm: i64| wrench(unit).covers_torque(Torque::from_mnm(nm * 1000));
        for (unit, nm, covered) in [
            ("N·m", 150, true),
            ("N·m", 151, false),
            ("", 151, false),
            ("lbf·ft", 160, true),
            ("lbf·ft", 40, false),
            ("lbf·ft", 203, true),
            ("lbf·ft", 204, false),
            ("mm", 100, false),
        ] {
            assert_eq!(covers(unit, nm), covered, "{unit} {nm}");
        }
    }

    #[test]
    fn a_register_keeps_its_history_and_reads_back_as_it_was_written() {
        let mut register = Register::parse(TEXT).unwrap();
        register.checks.push(Check {
            instrument: "HW-M3".into(),
            at: "2026-03-02T08:40:00+00:00".parse().unwrap(),
            by: "Ilse Varga".into(),
            occasion: Occasion::AfterDrop,
            standard: "0.000 mm".into(),
            readings: vec!["0.0001".into(), "0".into()],
            zero_error: "0.00127 mm".into(),
            spread: "0.00254 mm".into(),
            good: false,
        });
        let text = toml::to_string(&register).unwrap();
        assert_eq!(Register::parse(&text).unwrap(), register);
        let bare = register.for_judging();
        assert_eq!(bare.instruments, register.instruments);
        assert!(bare.studies.is_empty());
        assert_eq!(bare.checks, register.checks, "a failed check counts");
        let good = Check {
            good: true,
            ..register.checks[0].clone()
        };
        register.checks.insert(0, good.clone());
        assert_eq!(register.for_judging().checks.len(), 1);
        register.checks.push(good);
        assert_eq!(register.for_judging().checks.len(), 2);
        let at = register.checks[0].at;
        assert!(
            register.failed_check("HW-M3", at).is_none(),
            "the last was good"
        );
    }

    #[test]
    fn a_pattern_and_a_baud_rate_that_make_no_sense_are_named() {
        let text = TEXT.replace(
            "calibrated_until",
            "pattern = \"{valu}\"\nbaud = 0\ncalibrated_until",
        );
        let error = Register::parse(&text).unwrap_err().to_string();
        assert!(
            error.contains("pattern `{valu}`") && error.contains("baud `0`"),
            "{error}"
        );
    }

    #[test]
    fn every_figure_that_does_not_read_is_named_at_once() {
        let text = TEXT.replace("0.0001", "fine").replace("0-1", "up to 1");
        let error = Register::parse(&text).unwrap_err().to_string();
        assert!(
            error.contains("resolution `fine`") && error.contains("range `up to 1`"),
            "{error}"
        );
        let twice = format!("{TEXT}{TEXT}");
        assert!(
            Register::parse(&twice)
                .unwrap_err()
                .to_string()
                .contains("twice")
        );
    }
}
