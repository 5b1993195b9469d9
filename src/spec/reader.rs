//! Reads TOML key by key, remembers which keys were asked for, and collects every problem.
//!
//! Numbers are taken from the text as written, never through binary floating point: `22.4` becomes
//! exactly 22 400 000 nm.

use std::cell::RefCell;
use std::ops::Range;

use chrono::NaiveDate;
use toml::Spanned;
use toml::de::{DeTable, DeValue};

use super::percent::Percent;
use super::problem::{Place, Problem, ProblemKind, SpecProblems, nearest};
use super::sourced::{Origin, Sourced};
use crate::units::{
    Distance, DistanceUnit, Force, ForceUnit, Length, LengthUnit, Temperature, Torque, UnitError,
};

/// Keys that state an origin and may stand in every table.
const ORIGIN_KEYS: [&str; 4] = ["source", "date", "entered_by", "checked_by"];

/// Collects the problems of one file and knows where its lines start.
pub(super) struct Reader<'t> {
    file: &'t str,
    text: &'t str,
    line_starts: Vec<usize>,
    problems: RefCell<Vec<Problem>>,
}

impl<'t> Reader<'t> {
    pub(super) fn new(text: &'t str, file: &'t str) -> Self {
        let line_starts = std::iter::once(0)
            .chain(text.match_indices('\n').map(|(at, _)| at + 1))
            .collect();
        Self {
            file,
            text,
            line_starts,
            problems: RefCell::new(Vec::new()),
        }
    }

    /// Parses the text; syntax errors are collected, all of them, and end the reading.
    pub(super) fn parse(&self) -> Option<Spanned<DeTable<'t>>> {
        let (table, errors) = DeTable::parse_recoverable(self.text);
        for error in &errors {
            let at = error.span().map_or(0, |span| span.start);
            let message = error.message().to_owned();
            self.report(at, String::new(), ProblemKind::Syntax { message });
        }
        errors.is_empty().then_some(table)
    }

    pub(super) fn place(&self, at: usize) -> Place {
        let line = self
            .line_starts
            .partition_point(|start| *start <= at)
            .max(1);
        let start = self.line_starts.get(line - 1).copied().unwrap_or(0);
        let column = self
            .text
            .get(start..at)
            .map_or(0, |before| before.chars().count())
            + 1;
        let narrow = |n: usize| u32::try_from(n).unwrap_or(u32::MAX);
        Place {
            line: narrow(line),
            column: narrow(column),
        }
    }

    fn report(&self, at: usize, key: String, kind: ProblemKind) {
        self.report_at(self.place(at), key, kind);
    }

    pub(super) fn report_at(&self, place: Place, key: String, kind: ProblemKind) {
        let file = self.file.to_owned();
        self.problems.borrow_mut().push(Problem {
            file,
            place,
            key,
            kind,
        });
    }

    /// What was read, unless there are problems.
    pub(super) fn conclude<T>(self, read: Option<T>) -> Result<T, SpecProblems> {
        if read.is_none() && self.problems.borrow().is_empty() {
            // A document that cannot be read has a syntax error; should one ever go unreported, the
            // file is still refused.
            let message = "no document was found".to_owned();
            self.report(0, String::new(), ProblemKind::Syntax { message });
        }
        match (self.problems(), read) {
            (None, Some(read)) => Ok(read),
            (problems, _) => Err(problems.unwrap_or(SpecProblems {
                problems: Vec::new(),
            })),
        }
    }

    /// Every problem so far, sorted by place.
    pub(super) fn problems(self) -> Option<SpecProblems> {
        SpecProblems::from_list(self.problems.into_inner())
    }
}

/// One table of the file.
pub(super) struct Section<'r, 't> {
    reader: &'r Reader<'t>,
    path: String,
    table: &'r DeTable<'t>,
    at: usize,
    /// Origin stated in this table or inherited from the one around it.
    pub(super) origin: Origin,
    asked: RefCell<Vec<String>>,
}

type Value<'r, 't> = &'r Spanned<DeValue<'t>>;

impl<'r, 't> Section<'r, 't> {
    pub(super) fn root(reader: &'r Reader<'t>, table: &'r Spanned<DeTable<'t>>) -> Self {
        Self::new(
            reader,
            String::new(),
            table.get_ref(),
            0,
            &Origin::default(),
        )
    }

    fn new(
        reader: &'r Reader<'t>,
        path: String,
        table: &'r DeTable<'t>,
        at: usize,
        outer: &Origin,
    ) -> Self {
        let mut section = Self {
            reader,
            path,
            table,
            at,
            origin: Origin::default(),
            asked: RefCell::default(),
        };
        let own = Origin {
            source: section.text("source"),
            date: section.date("date").map(|date| date.to_string()),
            entered_by: section.text("entered_by"),
            checked_by: section.text("checked_by"),
        };
        section.origin = own.or(outer);
        section
    }

    /// The table's place.
    pub(super) fn place(&self) -> Place {
        self.reader.place(self.at)
    }

    fn key(&self, key: &str) -> String {
        if self.path.is_empty() {
            key.to_owned()
        } else {
            format!("{}.{key}", self.path)
        }
    }

    fn get(&self, key: &str) -> Option<(usize, Value<'r, 't>)> {
        self.asked.borrow_mut().push(key.to_owned());
        self.table
            .iter()
            .find(|(name, _)| name.get_ref() == key)
            .map(|(name, value)| (name.span().start, value))
    }

    /// Whether the table holds `key`, without reading it.
    pub(super) fn has(&self, key: &str) -> bool {
        self.table.iter().any(|(name, _)| name.get_ref() == key)
    }

    /// Reports a problem with `key`, at its place or, when it is absent, at the table's.
    pub(super) fn problem(&self, key: &str, kind: ProblemKind) {
        let at = self
            .table
            .iter()
            .find(|(name, _)| name.get_ref() == key)
            .map_or(self.at, |(name, _)| name.span().start);
        self.reader.report(at, self.key(key), kind);
    }

    /// Reports that a key that must be there is not.
    pub(super) fn missing(&self, key: &str, why: &'static str) {
        self.problem(key, ProblemKind::Missing { why });
    }

    /// Reports two values that cannot both be right.
    pub(super) fn contradiction(&self, key: &str, message: impl Into<String>) {
        self.problem(
            key,
            ProblemKind::Contradiction {
                message: message.into(),
            },
        );
    }

    fn wrong_type(&self, key: &str, expected: &'static str, value: Value<'r, 't>) {
        let found = describe(value.get_ref());
        self.reader.report(
            value.span().start,
            self.key(key),
            ProblemKind::WrongType { expected, found },
        );
    }

    /// Reads a text.
    pub(super) fn text(&self, key: &str) -> Option<String> {
        let (_, value) = self.get(key)?;
        match value.get_ref() {
            DeValue::String(text) => Some(text.to_string()),
            _ => {
                self.wrong_type(key, "a text", value);
                None
            }
        }
    }

    /// Reads a text that must be there and not be blank.
    pub(super) fn required_text(&self, key: &str, why: &'static str) -> String {
        if !self.has(key) {
            let _ = self.get(key);
            self.missing(key, why);
            return String::new();
        }
        let text = self.text(key).unwrap_or_default();
        if text.trim().is_empty() {
            self.missing(key, why);
        }
        text
    }

    /// Reads a list of texts; a single text counts as a list of one.
    pub(super) fn texts(&self, key: &str) -> Vec<String> {
        let Some((_, value)) = self.get(key) else {
            return Vec::new();
        };
        match value.get_ref() {
            DeValue::String(text) => vec![text.to_string()],
            DeValue::Array(items) => items
                .iter()
                .filter_map(|item| match item.get_ref() {
                    DeValue::String(text) => Some(text.to_string()),
                    _ => {
                        self.wrong_type(key, "a list of texts", item);
                        None
                    }
                })
                .collect(),
            _ => {
                self.wrong_type(key, "a list of texts", value);
                Vec::new()
            }
        }
    }

    /// Reads a list of whole numbers from `range`.
    pub(super) fn whole_list(&self, key: &str, range: Range<u32>) -> Option<Vec<u32>> {
        let (_, value) = self.get(key)?;
        let DeValue::Array(items) = value.get_ref() else {
            self.wrong_type(key, "a list of whole numbers", value);
            return None;
        };
        Some(
            items
                .iter()
                .filter_map(|item| self.whole_value(key, item, &range))
                .collect(),
        )
    }

    /// Reads yes or no.
    pub(super) fn flag(&self, key: &str) -> Option<bool> {
        let (_, value) = self.get(key)?;
        match value.get_ref() {
            DeValue::Boolean(flag) => Some(*flag),
            _ => {
                self.wrong_type(key, "true or false", value);
                None
            }
        }
    }

    /// Reads a whole number from `range`.
    pub(super) fn whole(&self, key: &str, range: Range<u32>) -> Option<u32> {
        let (_, value) = self.get(key)?;
        self.whole_value(key, value, &range)
    }

    fn whole_value(&self, key: &str, value: Value<'r, 't>, range: &Range<u32>) -> Option<u32> {
        let Some(text) = number_text(value.get_ref()) else {
            self.wrong_type(key, "a whole number", value);
            return None;
        };
        let found = text.parse().ok().filter(|number| range.contains(number));
        if found.is_none() {
            let expected = format!(
                "a whole number from {} to {}",
                range.start,
                range.end.saturating_sub(1)
            );
            self.reader.report(
                value.span().start,
                self.key(key),
                ProblemKind::OutOfRange {
                    found: text,
                    expected,
                },
            );
        }
        found
    }

    /// Reads a date, written as a TOML date or as a text `YYYY-MM-DD`.
    pub(super) fn date(&self, key: &str) -> Option<NaiveDate> {
        let (_, value) = self.get(key)?;
        let text = match value.get_ref() {
            DeValue::String(text) => text.to_string(),
            DeValue::Datetime(date) => date.to_string(),
            _ => String::new(),
        };
        let date = NaiveDate::parse_from_str(&text, "%Y-%m-%d").ok();
        if date.is_none() {
            self.wrong_type(key, "a date as YYYY-MM-DD", value);
        }
        date
    }

    /// Reads one of a closed list of words.
    pub(super) fn word<E: Copy>(&self, key: &str, words: &[(&str, E)]) -> Option<E> {
        let (_, value) = self.get(key)?;
        let DeValue::String(text) = value.get_ref() else {
            self.wrong_type(key, "a word", value);
            return None;
        };
        let found = words
            .iter()
            .find(|(word, _)| *word == text.as_ref())
            .map(|(_, e)| *e);
        if found.is_none() {
            self.unknown_word(key, text, words.iter().map(|(word, _)| *word));
        }
        found
    }

    /// Reads a list of words of a closed list; a single word counts as a list of one.
    pub(super) fn words<E: Copy>(&self, key: &str, words: &[(&str, E)]) -> Vec<E> {
        let mut found = Vec::new();
        for text in self.texts(key) {
            match words.iter().find(|(word, _)| *word == text) {
                Some((_, e)) => found.push(*e),
                None => self.unknown_word(key, &text, words.iter().map(|(word, _)| *word)),
            }
        }
        found
    }

    /// Reports a word that is none of `words`.
    pub(super) fn unknown_word<'w>(
        &self,
        key: &str,
        found: &str,
        words: impl Iterator<Item = &'w str> + Clone,
    ) {
        let suggestion = nearest(found, words.clone());
        let expected = words
            .map(|word| format!("`{word}`"))
            .collect::<Vec<_>>()
            .join(", ");
        self.problem(
            key,
            ProblemKind::UnknownWord {
                found: found.to_owned(),
                expected,
                suggestion,
            },
        );
    }

    /// Reads a table under `key`.
    pub(super) fn table(&self, key: &str) -> Option<Section<'r, 't>> {
        let (at, value) = self.get(key)?;
        match value.get_ref() {
            DeValue::Table(table) => Some(Section::new(
                self.reader,
                self.key(key),
                table,
                at,
                &self.origin,
            )),
            _ => {
                self.wrong_type(key, "a table", value);
                None
            }
        }
    }

    /// Reads a list of tables under `key`, in the file's order.
    pub(super) fn tables(&self, key: &str) -> Vec<Section<'r, 't>> {
        let Some((_, value)) = self.get(key) else {
            return Vec::new();
        };
        let DeValue::Array(items) = value.get_ref() else {
            self.wrong_type(key, "a list of tables", value);
            return Vec::new();
        };
        items
            .iter()
            .enumerate()
            .filter_map(|(index, item)| match item.get_ref() {
                DeValue::Table(table) => {
                    let path = format!("{}[{}]", self.key(key), index + 1);
                    Some(Section::new(
                        self.reader,
                        path,
                        table,
                        item.span().start,
                        &self.origin,
                    ))
                }
                _ => {
                    self.wrong_type(key, "a list of tables", item);
                    None
                }
            })
            .collect()
    }

    /// Reads a quantity whose unit is part of the key: `stem` plus one of the suffixes.
    fn quantity<T>(&self, stem: &str, units: &[Unit<T>]) -> Option<Sourced<T>> {
        let mut found: Option<(String, Sourced<T>)> = None;
        for unit in units {
            let key = format!("{stem}{}", unit.suffix);
            let Some((_, value)) = self.get(&key) else {
                continue;
            };
            if let Some((other, _)) = &found {
                self.problem(
                    &key,
                    ProblemKind::GivenTwice {
                        other: self.key(other),
                    },
                );
                continue;
            }
            if let Some(quantity) = self.sourced(&key, value, unit) {
                found = Some((key, quantity));
            }
        }
        found.map(|(_, quantity)| quantity)
    }

    /// Reads `22.4` or `{ value = 22.4, source = "…" }`.
    fn sourced<T>(&self, key: &str, value: Value<'r, 't>, unit: &Unit<T>) -> Option<Sourced<T>> {
        let DeValue::Table(table) = value.get_ref() else {
            let origin = self.origin.clone();
            let place = self.reader.place(value.span().start);
            let value = self.number(key, value, unit)?;
            return Some(Sourced {
                value,
                origin,
                place,
            });
        };
        let at = value.span().start;
        let inner = Section::new(self.reader, self.key(key), table, at, &self.origin);
        let number = inner.get("value");
        if number.is_none() {
            inner.missing("value", "the number itself");
        }
        let quantity = number.and_then(|(_, number)| {
            let place = self.reader.place(number.span().start);
            let value = inner.number("value", number, unit)?;
            Some(Sourced {
                value,
                origin: inner.origin.clone(),
                place,
            })
        });
        inner.finish();
        quantity
    }

    fn number<T>(&self, key: &str, value: Value<'r, 't>, unit: &Unit<T>) -> Option<T> {
        let Some(text) = number_text(value.get_ref()) else {
            self.wrong_type(key, "a number", value);
            return None;
        };
        let at = value.span().start;
        if text.starts_with('-') {
            let expected = "zero or more".to_owned();
            self.reader.report(
                at,
                self.key(key),
                ProblemKind::OutOfRange {
                    found: text,
                    expected,
                },
            );
            return None;
        }
        match (unit.parse)(&text) {
            Ok(quantity) => Some(quantity),
            Err(error) => {
                self.reader
                    .report(at, self.key(key), ProblemKind::Quantity(error));
                None
            }
        }
    }

    /// Reads a length from `STEM_mm`, `STEM_um` or `STEM_in`.
    pub(super) fn length(&self, stem: &str) -> Option<Sourced<Length>> {
        self.quantity(stem, &LENGTH_UNITS)
    }

    /// Reads a torque from `STEM_nm` or `STEM_lbf_ft`.
    pub(super) fn torque(&self, stem: &str) -> Option<Sourced<Torque>> {
        self.quantity(stem, &TORQUE_UNITS)
    }

    /// Reads a distance from `STEM_km` or `STEM_mi`.
    pub(super) fn distance(&self, stem: &str) -> Option<Sourced<Distance>> {
        self.quantity(stem, &DISTANCE_UNITS)
    }

    /// Reads a force from `STEM_n`, `STEM_kgf` or `STEM_lbf`.
    pub(super) fn force(&self, stem: &str) -> Option<Sourced<Force>> {
        self.quantity(stem, &FORCE_UNITS)
    }

    /// Reads a temperature from `STEM_c` or `STEM_f`.
    pub(super) fn temperature(&self, stem: &str) -> Option<Sourced<Temperature>> {
        self.quantity(stem, &TEMPERATURE_UNITS)
    }

    /// Reads a percentage from `STEM_percent`.
    pub(super) fn percent(&self, stem: &str) -> Option<Sourced<Percent>> {
        self.quantity(stem, &PERCENT_UNITS)
    }

    /// Reads a difference of temperatures from `STEM_k`.
    pub(super) fn temperature_difference(&self, stem: &str) -> Option<Sourced<Temperature>> {
        self.quantity(stem, &KELVIN_UNITS)
    }

    /// Reads a whole number that may carry an origin.
    pub(super) fn sourced_whole(&self, key: &str) -> Option<Sourced<u32>> {
        self.quantity(key, &WHOLE_UNITS)
    }

    /// Reads yes or no, which may carry an origin.
    pub(super) fn sourced_flag(&self, key: &str) -> Option<Sourced<bool>> {
        self.sourced_with(key, |section, key| section.flag(key))
    }

    /// Reads a list of whole numbers, which may carry an origin.
    pub(super) fn sourced_wholes(&self, key: &str) -> Option<Sourced<Vec<u32>>> {
        self.sourced_with(key, |section, key| section.whole_list(key, 1..1_000_001))
    }

    /// Reads `key` or, when it is a table, its `value`.
    fn sourced_with<T>(
        &self,
        key: &str,
        read: impl Fn(&Self, &str) -> Option<T>,
    ) -> Option<Sourced<T>> {
        let (at, value) = self.get(key)?;
        if !matches!(value.get_ref(), DeValue::Table(_)) {
            let place = self.reader.place(at);
            return read(self, key).map(|value| Sourced {
                value,
                origin: self.origin.clone(),
                place,
            });
        }
        let inner = self.table(key)?;
        if !inner.has("value") {
            inner.missing("value", "the value itself");
        }
        let (place, origin) = (inner.place(), inner.origin.clone());
        let found = read(&inner, "value").map(|value| Sourced {
            value,
            origin,
            place,
        });
        inner.finish();
        found
    }

    /// Reads a mass in whole grams from `STEM_kg` or `STEM_lb`, given in whole units.
    pub(super) fn mass(&self, stem: &str) -> Option<u64> {
        self.quantity(stem, &MASS_UNITS).map(|mass| mass.value)
    }

    /// Reports every key nobody asked for, with the nearest one that is read.
    pub(super) fn finish(self) {
        let asked = self.asked.borrow();
        for (name, _) in self.table.iter() {
            let name_text: &str = name.get_ref();
            if asked.iter().any(|key| key == name_text) {
                continue;
            }
            let known = asked.iter().map(String::as_str);
            let suggestion = nearest(name_text, known.filter(|key| !ORIGIN_KEYS.contains(key)))
                .or_else(|| nearest(name_text, ORIGIN_KEYS));
            let kind = ProblemKind::UnknownKey { suggestion };
            self.reader
                .report(name.span().start, self.key(name_text), kind);
        }
    }
}

/// A unit as part of a key, and how a number in it is read.
struct Unit<T> {
    suffix: &'static str,
    parse: fn(&str) -> Result<T, UnitError>,
}

const LENGTH_UNITS: [Unit<Length>; 3] = [
    Unit {
        suffix: "_mm",
        parse: |text| Length::parse(text, LengthUnit::Millimetre),
    },
    Unit {
        suffix: "_in",
        parse: |text| Length::parse(text, LengthUnit::Inch),
    },
    Unit {
        suffix: "_um",
        parse: |text| Length::parse(&format!("{text}um"), LengthUnit::Millimetre),
    },
];

const TORQUE_UNITS: [Unit<Torque>; 2] = [
    Unit {
        suffix: "_nm",
        parse: Torque::parse,
    },
    Unit {
        suffix: "_lbf_ft",
        parse: |text| Torque::parse(&format!("{text} lbf ft")),
    },
];

const DISTANCE_UNITS: [Unit<Distance>; 2] = [
    Unit {
        suffix: "_km",
        parse: |text| Distance::parse(text, DistanceUnit::Kilometre),
    },
    Unit {
        suffix: "_mi",
        parse: |text| Distance::parse(text, DistanceUnit::Mile),
    },
];

const FORCE_UNITS: [Unit<Force>; 3] = [
    Unit {
        suffix: "_n",
        parse: |text| Force::parse(text, ForceUnit::Newton),
    },
    Unit {
        suffix: "_kgf",
        parse: |text| Force::parse(text, ForceUnit::KilogramForce),
    },
    Unit {
        suffix: "_lbf",
        parse: |text| Force::parse(text, ForceUnit::PoundForce),
    },
];

const TEMPERATURE_UNITS: [Unit<Temperature>; 2] = [
    Unit {
        suffix: "_c",
        parse: Temperature::parse,
    },
    Unit {
        suffix: "_f",
        parse: |text| Temperature::parse(&format!("{text} F")),
    },
];

const KELVIN_UNITS: [Unit<Temperature>; 1] = [Unit {
    suffix: "_k",
    parse: Temperature::parse,
}];

const WHOLE_UNITS: [Unit<u32>; 1] = [Unit {
    suffix: "",
    parse: |text| {
        text.parse().map_err(|_| UnitError::NotANumber {
            text: text.to_owned(),
            example: "12",
        })
    },
}];

const PERCENT_UNITS: [Unit<Percent>; 1] = [Unit {
    suffix: "_percent",
    parse: |text| {
        Percent::parse(text).ok_or_else(|| UnitError::NotANumber {
            text: text.to_owned(),
            example: "58 or 65.2",
        })
    },
}];

/// 1 lb = 453.59237 g exactly (NIST SP 811, B.8); masses only sort vehicles into classes, so whole
/// grams do.
const MASS_UNITS: [Unit<u64>; 2] = [
    Unit {
        suffix: "_kg",
        parse: |text| whole_mass(text, 100_000_000),
    },
    Unit {
        suffix: "_lb",
        parse: |text| whole_mass(text, 45_359_237),
    },
];

fn whole_mass(text: &str, hundred_thousandths_of_a_gram: u64) -> Result<u64, UnitError> {
    let number: u64 = text
        .parse::<u32>()
        .map_err(|_| UnitError::NotANumber {
            text: text.to_owned(),
            example: "3500",
        })?
        .into();
    Ok((number * hundred_thousandths_of_a_gram + 50_000) / 100_000)
}

/// A number exactly as written; a text made of digits counts, so that a comma can be used.
fn number_text(value: &DeValue<'_>) -> Option<String> {
    match value {
        DeValue::Integer(number) if number.radix() == 10 => Some(number.as_str().to_owned()),
        DeValue::Float(number) => Some(number.as_str().to_owned()),
        DeValue::String(text) => {
            let plain = |c: char| c.is_ascii_digit() || matches!(c, '.' | ',' | '-' | '+');
            (!text.is_empty() && text.chars().all(plain)).then(|| text.to_string())
        }
        _ => None,
    }
}

fn describe(value: &DeValue<'_>) -> String {
    match value {
        DeValue::String(text) => format!("the text \"{}\"", text.escape_debug()),
        DeValue::Integer(number) => format!("the number {number}"),
        DeValue::Float(number) => format!("the number {number}"),
        DeValue::Boolean(flag) => format!("`{flag}`"),
        DeValue::Datetime(date) => format!("the date {date}"),
        DeValue::Array(_) => "a list".to_owned(),
        DeValue::Table(_) => "a table".to_owned(),
    }
}
