//! Reads what a check is given: lists of readings, limits, what the gauge is good for.

use std::io::{BufRead, Read as _};

use super::error::{CheckError, Problems, other_unit};
use crate::judge::check::Bench;
use crate::judge::plausible;
use crate::measure::MeasureError;
use crate::measure::slips::{self, Expectation, Slip};
use crate::measure::uncertainty::Gauge;
use crate::spec::Policy;
use crate::units::{Angle, Length, LengthUnit, Temperature, UnitError};

/// Longest standard input taken, in bytes; a sweep of 4000 points is under 40 kB.
const LONGEST_INPUT: u64 = 1 << 20;

/// What the driver complains of.
#[derive(Clone, Copy, Debug, PartialEq, Eq, clap::ValueEnum)]
pub(super) enum Complaint {
    /// The steering wheel or the pedal shakes when braking.
    Judder,
    /// The vehicle pulls to one side.
    Pull,
}

/// Options the measuring checks share.
#[derive(Debug, clap::Args)]
#[command(next_help_heading = "Shared by the checks")]
pub(super) struct Shared {
    /// Unit of every length that names none: mm or in
    #[arg(long, value_name = "UNIT", default_value = "mm")]
    unit: String,
    /// Limit, taken as the maker's figure
    #[arg(long, value_name = "LENGTH", allow_hyphen_values = true)]
    limit: Option<String>,
    /// Size when new
    #[arg(long, value_name = "LENGTH", allow_hyphen_values = true)]
    nominal: Option<String>,
    /// What the gauge reads above its setting standard; subtracted from every reading
    #[arg(long, value_name = "LENGTH", allow_hyphen_values = true)]
    zero_error: Option<String>,
    /// Temperature of the part, °C unless it says F
    #[arg(long, value_name = "TEMPERATURE", allow_hyphen_values = true)]
    temperature: Option<String>,
    /// Maximum permissible error of the gauge, ± this
    #[arg(long, value_name = "LENGTH", allow_hyphen_values = true)]
    mpe: Option<String>,
    /// Smallest step of the gauge; otherwise the finest one written
    #[arg(long, value_name = "LENGTH", allow_hyphen_values = true)]
    resolution: Option<String>,
    /// Standard deviation of repeated readings
    #[arg(long, value_name = "LENGTH", allow_hyphen_values = true)]
    repeatability: Option<String>,
    /// What the driver complains of (can be repeated)
    #[arg(long, value_enum, value_name = "COMPLAINT")]
    complaint: Vec<Complaint>,
    /// Keep values that look like a slip of the unit or the decimal mark
    #[arg(long)]
    confirm: bool,
}

/// The shared options, read.
#[derive(Clone, Copy, Debug, Default)]
pub(super) struct Given {
    pub(super) limit: Option<Length>,
    pub(super) nominal: Option<Length>,
    pub(super) zero_error: Length,
    pub(super) temperature: Option<Temperature>,
    pub(super) judder: bool,
}

impl Given {
    /// What a finding is judged by.
    pub(super) const fn bench<'p>(&self, policy: &'p Policy) -> Bench<'p> {
        Bench {
            limit: self.limit,
            judder: self.judder,
            cautions: &[],
            policy,
        }
    }
}

impl Shared {
    /// A remark for each shared option that was given and has no part in this check.
    pub(super) fn idle(&self, used: &[&str]) -> Vec<String> {
        let pull = self.complaint.contains(&Complaint::Pull);
        let judder = self.complaint.contains(&Complaint::Judder);
        [
            ("limit", self.limit.is_some()),
            ("nominal", self.nominal.is_some()),
            ("zero-error", self.zero_error.is_some()),
            ("temperature", self.temperature.is_some()),
            ("complaint judder", judder),
            ("complaint pull", pull),
        ]
        .into_iter()
        .filter(|(name, given)| *given && !used.contains(name))
        .map(|(name, _)| format!("--{name} has no part in this check"))
        .collect()
    }
}

/// Why a gauge with this zero error gives no PASS; `None` while the policy allows it. A gauge of
/// coarser steps than the policy speaks of may be off by half a step (own).
pub(super) fn zero_caution(given: &Given, gauge: &Gauge, policy: &Policy) -> Option<String> {
    let fine = gauge.resolution < Length::from_nm(10_000);
    let by_policy = if fine {
        policy.zero_error_fine.value
    } else {
        policy.zero_error_coarse.value
    };
    let allowed = by_policy.max(Length::from_nm(gauge.resolution.nm() / 2));
    let zero = given.zero_error;
    (zero.abs() > allowed).then(|| {
        format!(
            "the gauge's zero error is {zero}, more than the {allowed} allowed: adjust it and measure again"
        )
    })
}

/// Reads the options of one check and gathers what is wrong with them.
pub(super) struct Reader<'i> {
    /// What is wrong so far.
    pub(super) problems: Problems,
    unit: LengthUnit,
    confirmed: bool,
    finest: Option<Length>,
    input: &'i mut dyn BufRead,
    input_used: bool,
}

impl<'i> Reader<'i> {
    /// Begins to read, in the unit the options name.
    pub(super) fn new(shared: &Shared, input: &'i mut dyn BufRead) -> Self {
        let mut reader = Self::bare(input);
        reader.confirmed = shared.confirm;
        let unit = shared.unit.parse().map_err(|why| CheckError::Value {
            option: "--unit",
            why,
        });
        reader.unit = reader.problems.take(unit).unwrap_or_default();
        reader
    }

    /// Begins to read without shared options.
    pub(super) fn bare(input: &'i mut dyn BufRead) -> Self {
        Self {
            problems: Problems::default(),
            unit: LengthUnit::default(),
            confirmed: false,
            finest: None,
            input,
            input_used: false,
        }
    }

    /// Takes it that odd values were confirmed, for a check without the shared options.
    pub(super) const fn confirm(&mut self, confirmed: bool) {
        self.confirmed = confirmed;
    }

    /// Reads the shared options.
    pub(super) fn given(&mut self, shared: &Shared) -> Given {
        let given = self.given_unasked(shared);
        let question = given.temperature.and_then(plausible::heat_question);
        self.ask("--temperature", question);
        given
    }

    fn given_unasked(&mut self, shared: &Shared) -> Given {
        Given {
            limit: self.positive("--limit", shared.limit.as_deref()),
            nominal: self.positive("--nominal", shared.nominal.as_deref()),
            zero_error: self
                .length("--zero-error", shared.zero_error.as_deref())
                .unwrap_or_default(),
            temperature: self.temperature("--temperature", shared.temperature.as_deref()),
            judder: shared.complaint.contains(&Complaint::Judder),
        }
    }

    /// What the gauge is good for: the options, else the fallbacks; the smallest step is the finest
    /// one written unless an option says otherwise. Call it after the readings are read.
    pub(super) fn gauge(&mut self, shared: &Shared, fallback: Gauge) -> Gauge {
        let step = self.finest.unwrap_or(fallback.resolution);
        let gauge = Gauge {
            mpe: self
                .length("--mpe", shared.mpe.as_deref())
                .unwrap_or(fallback.mpe),
            resolution: self
                .length("--resolution", shared.resolution.as_deref())
                .unwrap_or(step),
            repeatability: self
                .length("--repeatability", shared.repeatability.as_deref())
                .unwrap_or(fallback.repeatability),
            ..fallback
        };
        if [gauge.mpe, gauge.resolution, gauge.repeatability] == [Length::ZERO; 3] {
            let why =
                "0 mm, and so are --resolution and --repeatability: no gauge is without error";
            self.ask("--mpe", Some(why.to_owned()));
        }
        gauge
    }

    /// Asks about a value unless it was confirmed.
    pub(super) fn ask(&mut self, option: &'static str, question: Option<String>) {
        if let Some(question) = question.filter(|_| !self.confirmed) {
            self.problems
                .push(CheckError::Unlikely { option, question });
        }
    }

    /// Asks about a radius no disc and no hub has: from the smallest flange to the largest disc (own).
    pub(super) fn ask_radius(&mut self, option: &'static str, radius: Option<Length>) {
        let (low, high) = (Length::from_nm(20_000_000), Length::from_nm(400_000_000));
        let odd = radius.filter(|r| *r > Length::ZERO && !(low..=high).contains(r));
        let question = odd.map(|radius| {
            format!("{radius} is no radius of a disc or a hub, expected {low} to {high}")
        });
        self.ask(option, question);
    }

    /// The text of an option; `-` is the standard input, which can be read once.
    pub(super) fn text(&mut self, option: &'static str, text: &str) -> Option<String> {
        if text.trim() != "-" {
            return Some(text.to_owned());
        }
        if std::mem::replace(&mut self.input_used, true) {
            self.problems.push(CheckError::InputTwice { option });
            return None;
        }
        let mut all = String::new();
        let mut limited = (&mut *self.input).take(LONGEST_INPUT + 1);
        let read = limited
            .read_to_string(&mut all)
            .map_err(|why| CheckError::Input { option, why });
        let read = self.problems.take(read)?;
        if read as u64 > LONGEST_INPUT {
            let limit = LONGEST_INPUT;
            self.problems
                .push(CheckError::InputTooLong { option, limit });
            return None;
        }
        Some(all)
    }

    /// A length.
    pub(super) fn length(&mut self, option: &'static str, text: Option<&str>) -> Option<Length> {
        let read = Length::parse(text?, self.unit).map_err(|why| CheckError::Value { option, why });
        self.problems.take(read)
    }

    /// A length that must be above zero.
    pub(super) fn positive(&mut self, option: &'static str, text: Option<&str>) -> Option<Length> {
        let value = self.length(option, text)?;
        self.problems.check(value > Length::ZERO, || {
            let what = option.to_owned();
            MeasureError::NotPositive { what, value }.into()
        });
        (value > Length::ZERO).then_some(value)
    }

    /// A temperature.
    pub(super) fn temperature(
        &mut self,
        option: &'static str,
        text: Option<&str>,
    ) -> Option<Temperature> {
        let read = Temperature::parse(text?).map_err(|why| CheckError::Value { option, why });
        self.problems.take(read)
    }

    /// An angle.
    pub(super) fn angle(&mut self, option: &'static str, text: Option<&str>) -> Option<Angle> {
        let read = Angle::parse(text?).map_err(|why| CheckError::Value { option, why });
        self.problems.take(read)
    }

    /// A list of angles; `None` when there is none or something is wrong with one.
    pub(super) fn angles(
        &mut self,
        option: &'static str,
        text: Option<&str>,
    ) -> Option<Vec<Angle>> {
        let text = self.text(option, text?)?;
        self.list(option, &text, Angle::parse)
    }

    /// A list of lengths as read from a gauge; `None` when something is wrong with one of them.
    pub(super) fn lengths(&mut self, option: &'static str, text: &str) -> Option<Vec<Length>> {
        let text = self.text(option, text)?;
        let unit = self.unit;
        self.check_units(option, &text);
        for step in words(&text).iter().filter_map(|word| step(word, unit)) {
            self.finest = Some(self.finest.map_or(step, |finest| finest.min(step)));
        }
        self.list(option, &text, |word| Length::parse(word, unit))
    }

    /// A list of lengths, if the option was given at all.
    pub(super) fn maybe_lengths(
        &mut self,
        option: &'static str,
        text: Option<&str>,
    ) -> Option<Vec<Length>> {
        self.lengths(option, text?)
    }

    fn list<T>(
        &mut self,
        option: &'static str,
        text: &str,
        read: impl Fn(&str) -> Result<T, UnitError>,
    ) -> Option<Vec<T>> {
        let words = words(text);
        let values: Vec<T> = words
            .iter()
            .enumerate()
            .filter_map(|(i, word)| {
                let index = i + 1;
                let value = read(word).map_err(|why| CheckError::Reading { option, index, why });
                self.problems.take(value)
            })
            .collect();
        (values.len() == words.len()).then_some(values)
    }

    fn check_units(&mut self, option: &'static str, text: &str) {
        let mut first = None;
        for (i, word) in words(text).iter().enumerate() {
            let unit = named_unit(word).unwrap_or(self.unit);
            let others = *first.get_or_insert(unit);
            self.problems
                .check(unit == others, || CheckError::MixedUnits {
                    option,
                    index: i + 1,
                    text: word.clone(),
                    unit,
                    others,
                });
        }
    }

    /// A word to split further, in this check's unit.
    pub(super) fn one_reading(&mut self, option: &'static str, word: &str) -> Option<Length> {
        if let Some(step) = step(word, self.unit) {
            self.finest = Some(self.finest.map_or(step, |finest| finest.min(step)));
        }
        self.length(option, Some(word))
    }

    /// Refuses a limit that is not on the worn side of the new size.
    pub(super) fn limit_against_new(&mut self, given: &Given, below: bool) {
        let (Some(limit), Some(new)) = (given.limit, given.nominal) else {
            return;
        };
        let ok = if below { limit < new } else { limit > new };
        let tiny = below && limit.nm().saturating_mul(10) < new.nm();
        self.ask(
            "--limit",
            tiny.then(|| {
                format!("{limit} is less than a tenth of the new {new}; a slipped decimal?")
            }),
        );
        self.problems.check(ok, || {
            MeasureError::LimitBeyondNew {
                limit_name: "limit",
                limit,
                side: if below { "below" } else { "above" },
                new,
            }
            .into()
        });
    }

    /// Refuses readings that only make sense in the other unit or with another decimal mark, unless
    /// they are confirmed. `usual` is the range such a part has when neither limit nor new size is
    /// known (own).
    pub(super) fn plausible(&mut self, option: &'static str, readings: &[Length], like: &Like) {
        let Some(value) = median(readings).filter(|_| !self.confirmed) else {
            return;
        };
        let what = like.what;
        let unit = other_unit(self.unit);
        let expected = like.expectation();
        for slip in slips::slips(value, &expected) {
            let problem = match slip {
                Slip::InchForMillimetre { meant } | Slip::MillimetreForInch { meant } => {
                    CheckError::OtherUnit {
                        option,
                        what,
                        value,
                        unit,
                        meant,
                    }
                }
                Slip::Decimal { meant } => CheckError::SlippedDecimal {
                    option,
                    what,
                    value,
                    meant,
                },
                _ => continue,
            };
            self.problems.push(problem);
        }
    }

    /// Whether slips were confirmed.
    pub(super) const fn confirmed(&self) -> bool {
        self.confirmed
    }
}

/// What a reading of a part is like.
pub(super) struct Like {
    /// The part.
    pub(super) what: &'static str,
    /// Smallest and largest size that is believed, as in [`Expectation`]: half of the first counts
    /// as the lower end, 0.5 mm is added to the second.
    pub(super) worn: Option<Length>,
    /// See `worn`.
    pub(super) largest: Option<Length>,
    /// The same when neither is known, in whole millimetres (own).
    pub(super) usual: (i64, i64),
}

impl Like {
    fn expectation(&self) -> Expectation {
        let mm = |v: i64| Length::from_nm(v * 1_000_000);
        let (worn, largest) = match (self.worn, self.largest) {
            (None, None) => (Some(mm(2 * self.usual.0)), Some(mm(self.usual.1))),
            // The limit itself would make every reading on it a marking, which is not asked here.
            known => known,
        };
        Expectation {
            new: largest,
            limit: worn,
            ring: Vec::new(),
        }
    }
}

/// The middle one of some lengths.
fn median(values: &[Length]) -> Option<Length> {
    let mut sorted = values.to_vec();
    sorted.sort();
    sorted.get(sorted.len() / 2).copied()
}

/// The question a set of equal readings raises: a gauge in hold, or a stylus that does not touch.
pub(super) fn all_the_same(readings: &[Length], fewest: usize) -> Option<String> {
    let first = readings.first()?;
    let same = readings.len() >= fewest && readings.iter().all(|reading| reading == first);
    same.then(|| {
        format!(
            "all {} readings are the same: is the gauge in hold?",
            readings.len()
        )
    })
}

/// Remarks about a ring of thickness readings that deserve a second look.
pub(super) fn oddities(readings: &[Length]) -> Vec<String> {
    let mut odd = Vec::new();
    let typical = median(readings).unwrap_or_default();
    for (i, reading) in readings.iter().enumerate() {
        if (*reading - typical).abs() > slips::NEIGHBOUR_ALLOWED {
            odd.push(format!(
                "reading {} is {reading}, the others are near {typical}: read it again",
                i + 1
            ));
        }
    }
    odd.extend(all_the_same(readings, slips::IDENTICAL));
    odd
}

/// The words of a list: separated by blanks, line ends or semicolons; a unit may stand apart.
pub(super) fn words(text: &str) -> Vec<String> {
    let mut words: Vec<String> = Vec::new();
    for word in text.split(|c: char| c.is_whitespace() || c == ';') {
        let word = word.trim_end_matches(',');
        let unit_alone = matches!(word, "mm" | "MM" | "in" | "IN" | "\"" | "um" | "µm" | "°");
        match words.last_mut() {
            Some(before) if unit_alone => before.push_str(word),
            _ if word.is_empty() => {}
            _ => words.push(word.to_owned()),
        }
    }
    words
}

fn named_unit(word: &str) -> Option<LengthUnit> {
    let lower = word.to_lowercase();
    if lower.ends_with("in") || lower.ends_with('"') {
        Some(LengthUnit::Inch)
    } else if lower.ends_with('m') {
        Some(LengthUnit::Millimetre)
    } else {
        None
    }
}

/// The smallest step a reading is written with: `22.01` has steps of 0.01.
fn step(word: &str, unit: LengthUnit) -> Option<Length> {
    let last = word.rfind(|c: char| c.is_ascii_digit())?;
    let smallest: String = word
        .char_indices()
        .filter_map(|(i, c)| match c {
            '+' | '-' | '\u{2212}' => None,
            c if c.is_ascii_digit() => Some(if i == last { '1' } else { '0' }),
            c => Some(c),
        })
        .collect();
    Length::parse(&smallest, unit).ok()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn lists_are_split_at_blanks_and_units_may_stand_apart() {
        assert_eq!(words("22.01, 22,02\n 22.03;"), ["22.01", "22,02", "22.03"]);
        assert_eq!(words("0.8665 in 0.8666in"), ["0.8665in", "0.8666in"]);
        assert_eq!(words("  "), Vec::<String>::new());
        assert_eq!(words("mm"), ["mm"]);
    }

    #[test]
    fn the_step_of_a_reading_is_its_last_digit() {
        for (word, unit, nm) in [
            ("22.01", LengthUnit::Millimetre, 10_000),
            ("-0.019", LengthUnit::Millimetre, 1_000),
            ("0.7611", LengthUnit::Inch, 2_540),
            ("0.7611in", LengthUnit::Millimetre, 2_540),
            ("5", LengthUnit::Millimetre, 1_000_000),
        ] {
            assert_eq!(step(word, unit), Some(Length::from_nm(nm)), "{word}");
        }
        assert_eq!(step("nan", LengthUnit::Millimetre), None);
    }
}
