//! The words to say on the telephone, and what an answer means.

use chrono::NaiveDate;

use super::quote::{LineState, Quote, QuotedLine};
use crate::job::{LineAnswer, Outcome};

/// The caution to read out when something that fails is to be left.
pub const CAUTION: &str = "We must tell you plainly: this is outside its limit. If it is left, the vehicle may not stop as it should, and we advise against driving it. We write down that we said so, and that you chose to leave it.";

/// What to say first.
#[must_use]
pub fn opening_words(quote: &Quote, currency: &str) -> Vec<String> {
    let mut words = vec![format!("About your vehicle, job {}.", quote.job)];
    let sum = |amount: Option<String>| amount.unwrap_or_else(|| "without a sum".to_owned());
    let unit = |amount: crate::job::Money| format!("{amount} {currency}").trim().to_owned();
    words.push(format!(
        "The first quote was {}; {}.",
        sum(quote.original_total.map(unit)),
        quote.standing.words()
    ));
    for line in &quote.lines {
        match &line.state {
            LineState::NotNeeded => words.push(format!(
                "Good news first: \"{}\" was quoted and is not needed; we measured the parts and they are good.",
                line.words
            )),
            LineState::Replaced { by } => {
                let instead = quote.line(by).map_or(by.as_str(), |l| l.words.as_str());
                words.push(format!(
                    "Instead of \"{}\" we propose: {instead}.",
                    line.words
                ));
            }
            _ => {}
        }
    }
    words
}

/// What to say about one line.
#[must_use]
pub fn line_words(line: &QuotedLine, currency: &str) -> Vec<String> {
    let mut words: Vec<String> = line
        .because
        .iter()
        .take(2)
        .map(|b| b.sentence.clone())
        .collect();
    if line.because.len() > 2 {
        words.push(format!(
            "{} more findings point the same way.",
            line.because.len() - 2
        ));
    }
    let price = line.price.map_or_else(
        || "we cannot name a price yet".to_owned(),
        |p| format!("{p} {currency}").trim().to_owned(),
    );
    words.push(format!("We propose: {}: {price}.", line.words));
    words.extend(line.notes.iter().map(|note| format!("({note})")));
    if let Some(leaving) = line.leaving {
        words.push(format!("If you leave it: {leaving}."));
    }
    words
}

/// An answer that does not read.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[error(
    "`{0}` is no answer; expected yes, no or later, with a date (2026-04-30) or a reason after it"
)]
pub struct NoAnswer(pub String);

/// Reads `yes`, `no too dear`, `later 2026-04-30`.
///
/// # Errors
/// [`NoAnswer`] for anything else; silence is not consent.
///
/// ```
/// use brakecorner::job::Outcome;
/// use brakecorner::office::talk::read_answer;
/// let (outcome, until, _) = read_answer("later 2026-04-30 with the next wage")?;
/// assert_eq!((outcome, until.map(|d| d.to_string())), (Outcome::Later, Some("2026-04-30".into())));
/// assert!(read_answer("").is_err() && read_answer("maybe").is_err());
/// assert!(read_answer("later 2026-02-30").is_err());
/// # Ok::<(), brakecorner::office::talk::NoAnswer>(())
/// ```
pub fn read_answer(text: &str) -> Result<(Outcome, Option<NaiveDate>, String), NoAnswer> {
    let text = text.trim();
    let (word, rest) = text.split_once(char::is_whitespace).unwrap_or((text, ""));
    let outcome = match word.to_lowercase().as_str() {
        "yes" | "y" => Outcome::Yes,
        "no" | "n" => Outcome::No,
        "later" | "l" => Outcome::Later,
        _ => return Err(NoAnswer(text.to_owned())),
    };
    let (first, after) = rest
        .trim()
        .split_once(char::is_whitespace)
        .unwrap_or((rest.trim(), ""));
    Ok(match first.parse::<NaiveDate>() {
        Ok(until) if outcome == Outcome::Later => (outcome, Some(until), after.trim().to_owned()),
        // Meant as a day and none: 2026-02-30 is not to be taken for a reason.
        Err(_) if outcome == Outcome::Later && first.starts_with(|c: char| c.is_ascii_digit()) => {
            return Err(NoAnswer(text.to_owned()));
        }
        _ => (outcome, None, rest.trim().to_owned()),
    })
}

/// An answer to a line as it is written down.
#[must_use]
pub fn answered(
    line: &QuotedLine,
    (outcome, until, reason): (Outcome, Option<NaiveDate>, String),
    caution_read: bool,
) -> LineAnswer {
    LineAnswer {
        offered: line.as_offered(),
        outcome,
        until,
        reason,
        caution_read,
    }
}
