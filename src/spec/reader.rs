//! Reads TOML key by key, remembers which keys were asked for, and collects every problem.
//!
//! Numbers are taken from the text as written, never through binary floating point: `22.4` becomes
//! exactly 22 400 000 nm.

use std::cell::RefCell;
use std::collections::BTreeMap;
use std::ops::Range;

use chrono::NaiveDate;
use toml::Spanned;
use toml::de::{DeTable, DeValue};

use super::problem::{Place, Problem, ProblemKind, SpecProblems, nearest};
use super::sourced::Origin;

/// Keys that state an origin and may stand in every table.
const ORIGIN_KEYS: [&str; 4] = ["source", "date", "entered_by", "checked_by"];

/// Collects the problems of one file and knows where its lines start.
pub(super) struct Reader<'t> {
    file: &'t str,
    text: &'t str,
    line_starts: Vec<usize>,
    problems: RefCell<Vec<Problem>>,
    /// Where each key that was read stands, by its dotted name.
    places: RefCell<BTreeMap<String, Place>>,
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
            problems: RefCell::default(),
            places: RefCell::default(),
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

    /// The file's name, for messages.
    pub(super) const fn file(&self) -> &'t str {
        self.file
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

    pub(super) fn report(&self, at: usize, key: String, kind: ProblemKind) {
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

    /// Whether a key stands in the file and was read.
    pub(super) fn holds(&self, key: &str) -> bool {
        self.places.borrow().contains_key(key)
    }

    /// Where a key stands; if it was not read, the table around it, and in the end the file's start.
    pub(super) fn place_of(&self, key: &str) -> Place {
        let places = self.places.borrow();
        let mut key = key;
        loop {
            if let Some(place) = places.get(key) {
                return *place;
            }
            match key.rsplit_once('.') {
                Some((outer, _)) => key = outer,
                None => return Place { line: 1, column: 1 },
            }
        }
    }

    /// Every problem so far, sorted by place.
    pub(super) fn problems(&self) -> Option<SpecProblems> {
        SpecProblems::from_list(self.problems.take())
    }
}

/// One table of the file.
pub(super) struct Section<'r, 't> {
    pub(super) reader: &'r Reader<'t>,
    path: String,
    table: &'r DeTable<'t>,
    at: usize,
    /// Origin stated in this table or inherited from the one around it.
    pub(super) origin: Origin,
    asked: RefCell<Vec<String>>,
}

pub(super) type Value<'r, 't> = &'r Spanned<DeValue<'t>>;

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

    pub(super) fn new(
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

    pub(super) fn key(&self, key: &str) -> String {
        if self.path.is_empty() {
            key.to_owned()
        } else {
            format!("{}.{key}", self.path)
        }
    }

    pub(super) fn get(&self, key: &str) -> Option<(usize, Value<'r, 't>)> {
        self.asked.borrow_mut().push(key.to_owned());
        let (name, value) = self.table.iter().find(|(name, _)| name.get_ref() == key)?;
        let at = name.span().start;
        self.reader
            .places
            .borrow_mut()
            .insert(self.key(key), self.reader.place(at));
        Some((at, value))
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

    pub(super) fn wrong_type(&self, key: &str, expected: &'static str, value: Value<'r, 't>) {
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

    /// Every value below the table as dotted key and text, however the tables are nested.
    pub(super) fn leaves(self) -> BTreeMap<String, String> {
        let mut leaves = BTreeMap::new();
        self.add_leaves("", self.table, &mut leaves);
        leaves
    }

    fn add_leaves(
        &self,
        path: &str,
        table: &'r DeTable<'t>,
        leaves: &mut BTreeMap<String, String>,
    ) {
        for (name, value) in table {
            let name: &str = name.get_ref();
            let path = if path.is_empty() {
                name.to_owned()
            } else {
                format!("{path}.{name}")
            };
            let text = match value.get_ref() {
                DeValue::Table(inner) => {
                    self.add_leaves(&path, inner, leaves);
                    continue;
                }
                DeValue::String(text) => Some(text.to_string()),
                DeValue::Boolean(flag) => Some(flag.to_string()),
                DeValue::Datetime(date) => Some(date.to_string()),
                other => number_text(other),
            };
            match text {
                Some(text) => {
                    if leaves.insert(path.clone(), text).is_some() {
                        self.contradiction(&path, "given twice");
                    }
                }
                None => self.wrong_type(&path, "a text, a number, a date, true or false", value),
            }
        }
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
                    let place = self.reader.place(item.span().start);
                    self.reader.places.borrow_mut().insert(path.clone(), place);
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

/// A number exactly as written; a text of digits counts too. A comma does not: `1,234` may mean a
/// thousand.
pub(super) fn number_text(value: &DeValue<'_>) -> Option<String> {
    match value {
        DeValue::Integer(number) if number.radix() == 10 => Some(number.as_str().to_owned()),
        DeValue::Float(number) => Some(number.as_str().to_owned()),
        DeValue::String(text) => {
            let plain = |c: char| c.is_ascii_digit() || matches!(c, '.' | '-' | '+');
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
