//! What a gauge's line looks like, so that its value can be picked out.
//!
//! A pattern is the line as the gauge sends it, with the changing parts in braces:
//!
//! | in the pattern | stands for |
//! |---|---|
//! | `{value}` | a decimal number: sign, digits, one point or comma |
//! | `{unit}` | a unit: letters, `µ`, `°`, `"` |
//! | `{skip}` | one or more characters that are no blanks |
//! | `{value:8}` `{unit:2}` `{skip:4}` | exactly so many characters; blanks around a value are dropped |
//! | a blank | any number of blanks, none included |
//! | `{{` | one opening brace |
//! | anything else | itself |
//!
//! `{value} {unit}` reads `22.013 mm`; `01A{value}` reads `01A+022.013`; the column form
//! `{skip:3}{value:9}{unit:2}` reads `N01  +22.013mm`.

use std::fmt;

use serde::{Deserialize, Serialize};

/// Why a text is not a pattern.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[non_exhaustive]
pub enum PatternError {
    /// A brace is not closed.
    #[error("`{{` at character {0} is not closed; write `{{{{` for a brace of the gauge's own")]
    Open(usize),
    /// A name in braces that is not known.
    #[error("`{{{0}}}` is not known; expected value, unit or skip, with a width like `value:8`")]
    Field(String),
    /// A width that is no number from 1 to 80.
    #[error("the width in `{{{0}}}` is no number from 1 to 80")]
    Width(String),
    /// The value does not stand in it exactly once.
    #[error("`{{value}}` stands in it {0} times; once is needed")]
    Values(usize),
    /// The unit stands in it more than once.
    #[error("`{{unit}}` stands in it {0} times; once at most")]
    Units(usize),
}

/// Why a gauge's line gives no value.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[error("`{line}` does not fit the pattern `{pattern}`: {why}")]
pub struct NoMatch {
    /// The line.
    pub line: String,
    /// The pattern.
    pub pattern: String,
    /// What was expected where.
    pub why: String,
}

/// The value a gauge sent, and the unit if it sent one.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Sent {
    /// The number as sent, without blanks.
    pub value: String,
    /// The unit as sent.
    pub unit: Option<String>,
}

impl fmt::Display for Sent {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.value)?;
        match &self.unit {
            Some(unit) => write!(f, " {unit}"),
            None => Ok(()),
        }
    }
}

#[derive(Clone, Debug, PartialEq, Eq)]
enum Piece {
    Literal(char),
    Blanks,
    Value(Option<usize>),
    Unit(Option<usize>),
    Skip(Option<usize>),
}

/// What a gauge's line looks like.
///
/// # Examples
/// ```
/// use brakecorner::job::Pattern;
/// let pattern: Pattern = "01A{value}".parse()?;
/// assert_eq!(pattern.read("01A+022.013\r\n")?.value, "+022.013");
/// let columns: Pattern = "{skip:3}{value:9}{unit:2}".parse()?;
/// assert_eq!(columns.read("N01  +22.013mm")?.to_string(), "+22.013 mm");
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(try_from = "String", into = "String")]
pub struct Pattern {
    text: String,
    pieces: Vec<Piece>,
}

impl fmt::Display for Pattern {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.text)
    }
}

impl From<Pattern> for String {
    fn from(pattern: Pattern) -> Self {
        pattern.text
    }
}

impl TryFrom<String> for Pattern {
    type Error = PatternError;

    fn try_from(text: String) -> Result<Self, PatternError> {
        text.parse()
    }
}

impl std::str::FromStr for Pattern {
    type Err = PatternError;

    fn from_str(text: &str) -> Result<Self, PatternError> {
        let mut pieces = Vec::new();
        let mut chars = text.chars().enumerate().peekable();
        while let Some((at, c)) = chars.next() {
            match c {
                '{' if chars.next_if(|(_, next)| *next == '{').is_some() => {
                    pieces.push(Piece::Literal('{'));
                }
                '{' => {
                    let mut name = String::new();
                    loop {
                        match chars.next() {
                            Some((_, '}')) => break,
                            Some((_, c)) => name.push(c),
                            None => return Err(PatternError::Open(at + 1)),
                        }
                    }
                    pieces.push(field(&name)?);
                }
                c if c.is_whitespace() => {
                    if pieces.last() != Some(&Piece::Blanks) {
                        pieces.push(Piece::Blanks);
                    }
                }
                c => pieces.push(Piece::Literal(c)),
            }
        }
        let count = |is: fn(&Piece) -> bool| pieces.iter().filter(|piece| is(piece)).count();
        match count(|piece| matches!(piece, Piece::Value(_))) {
            1 => {}
            many => return Err(PatternError::Values(many)),
        }
        match count(|piece| matches!(piece, Piece::Unit(_))) {
            0 | 1 => {}
            many => return Err(PatternError::Units(many)),
        }
        Ok(Self {
            text: text.to_owned(),
            pieces,
        })
    }
}

fn field(name: &str) -> Result<Piece, PatternError> {
    let (word, width) = match name.split_once(':') {
        Some((word, width)) => match width.trim().parse::<usize>() {
            Ok(width @ 1..=80) => (word, Some(width)),
            _ => return Err(PatternError::Width(name.to_owned())),
        },
        None => (name, None),
    };
    match word.trim() {
        "value" => Ok(Piece::Value(width)),
        "unit" => Ok(Piece::Unit(width)),
        "skip" => Ok(Piece::Skip(width)),
        _ => Err(PatternError::Field(name.to_owned())),
    }
}

const fn number(c: char) -> bool {
    c.is_ascii_digit() || matches!(c, '+' | '-' | '\u{2212}' | '.' | ',')
}

fn unit(c: char) -> bool {
    c.is_alphabetic() || matches!(c, '°' | '"' | '\u{b5}')
}

/// Takes characters off the front: `width` of them, or as many as fit.
fn take(rest: &str, width: Option<usize>, fits: fn(char) -> bool) -> (&str, &str) {
    let end = match width {
        Some(width) => rest.char_indices().nth(width).map(|(at, _)| at),
        None => rest.find(|c| !fits(c)),
    };
    rest.split_at(end.unwrap_or(rest.len()))
}

impl Pattern {
    /// Picks the value out of a line.
    ///
    /// # Errors
    /// [`NoMatch`] saying what was expected where.
    pub fn read(&self, line: &str) -> Result<Sent, NoMatch> {
        let whole = line.trim_end_matches(['\r', '\n']);
        let fail = |why: String| NoMatch {
            line: whole.to_owned(),
            pattern: self.text.clone(),
            why,
        };
        let mut rest = whole;
        let mut sent = Sent {
            value: String::new(),
            unit: None,
        };
        let at = |rest: &str| whole.chars().count() - rest.chars().count() + 1;
        for piece in &self.pieces {
            let before = rest;
            match piece {
                Piece::Blanks => rest = rest.trim_start(),
                Piece::Literal(c) => match rest.strip_prefix(*c) {
                    Some(after) => rest = after,
                    None => return Err(fail(format!("`{c}` expected at character {}", at(rest)))),
                },
                Piece::Skip(width) => {
                    let (taken, after) = take(rest, *width, |c| !c.is_whitespace());
                    if taken.chars().count() < width.unwrap_or(1) {
                        return Err(fail(format!("too short at character {}", at(before))));
                    }
                    rest = after;
                }
                Piece::Unit(width) => {
                    let (taken, after) = take(rest, *width, unit);
                    let name = taken.trim();
                    if !name.is_empty() && name.chars().all(unit) {
                        sent.unit = Some(name.to_owned());
                    } else if !name.is_empty() || width.is_none() {
                        return Err(fail(format!("a unit expected at character {}", at(before))));
                    }
                    rest = after;
                }
                Piece::Value(width) => {
                    let (taken, after) = take(rest, *width, number);
                    // Some gauges pad between sign and digits.
                    sent.value = taken.chars().filter(|c| !c.is_whitespace()).collect();
                    let digits = sent.value.chars().any(|c| c.is_ascii_digit());
                    if !digits || !sent.value.chars().all(number) {
                        return Err(fail(format!(
                            "a number expected at character {}",
                            at(before)
                        )));
                    }
                    rest = after;
                }
            }
        }
        if rest.trim().is_empty() {
            Ok(sent)
        } else {
            Err(fail(format!(
                "nothing expected from character {}",
                at(rest)
            )))
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn read(pattern: &str, line: &str) -> Result<String, NoMatch> {
        pattern
            .parse::<Pattern>()
            .unwrap()
            .read(line)
            .map(|sent| sent.to_string())
    }

    #[test]
    fn a_line_with_words_columns_and_blanks_gives_its_value() {
        for (pattern, line, expected) in [
            ("{value}", "22.013", "22.013"),
            ("{value} {unit}", "  22,013   mm\r\n", ""),
            (" {value} {unit}", "  22,013   mm\r\n", "22,013 mm"),
            ("{value} {unit}", "0.8665in", "0.8665 in"),
            ("01A{value}", "01A-00.004", "-00.004"),
            ("{skip} {value}", "X: 5.1", "5.1"),
            ("{skip:3}{value:9}{unit:2}", "N01  + 2.013mm", "+2.013 mm"),
            ("{{{value}}", "{7}", "7"),
            ("{value:8}{unit:2}", "  22.013", "22.013"),
        ] {
            let got = read(pattern, line);
            if expected.is_empty() {
                assert!(got.is_err(), "{pattern} on {line:?}");
            } else {
                assert_eq!(got.as_deref(), Ok(expected), "{pattern} on {line:?}");
            }
        }
    }

    #[test]
    fn a_line_that_does_not_fit_says_where() {
        let error = read("{value} mm", "22.013 in").unwrap_err().to_string();
        assert!(error.contains("`m` expected at character 8"), "{error}");
        let error = read("{value}", "overload").unwrap_err().to_string();
        assert!(
            error.contains("a number expected at character 1"),
            "{error}"
        );
        let error = read("{value}", "22.0 22.1").unwrap_err().to_string();
        assert!(
            error.contains("nothing expected from character 5"),
            "{error}"
        );
    }

    #[test]
    fn a_pattern_that_makes_no_sense_is_refused_with_the_reason() {
        for (text, expected) in [
            ("", "0 times"),
            ("{value}{value}", "2 times"),
            ("{value}{unit}{unit}", "2 times"),
            ("{valeu}", "valeu"),
            ("{value:0}", "width"),
            ("{value", "not closed"),
        ] {
            let error = text.parse::<Pattern>().unwrap_err().to_string();
            assert!(error.contains(expected), "{text}: {error}");
        }
    }

    proptest! {
        #[test]
        fn no_pattern_and_no_line_panics(pattern in ".{0,30}", line in ".{0,60}") {
            if let Ok(pattern) = pattern.parse::<Pattern>() {
                let _ = pattern.read(&line);
            }
        }

        #[test]
        fn what_a_pattern_wrote_it_reads_back(value in "[-+]?[0-9]{1,3}[.,][0-9]{1,4}", pad in 0usize..5) {
            let line = format!("G7 {:pad$}{value} mm", "");
            prop_assert_eq!(read("G7 {value} {unit}", &line), Ok(format!("{value} mm")));
        }
    }
}
