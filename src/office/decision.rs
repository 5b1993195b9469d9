//! What the customer decided: the last answer to each line, and what it allows.

use std::collections::BTreeMap;

use chrono::NaiveDate;
use serde::{Deserialize, Serialize};

use super::propose::{Proposed, propose};
use crate::job::{
    Contact, Item, Job, LineAnswer, Means, Meta, Money, Outcome, Part, Place, QuoteLine,
};
use crate::job::{LineId, Work};
use crate::judge::{Case, ItemVerdict, Judgement};

/// An answer with who took it, when and how.
#[derive(Clone, Debug, PartialEq)]
pub struct Answer {
    /// The entry it stands in.
    pub meta: Meta,
    /// How the customer was reached.
    pub means: Means,
    /// The answer.
    pub answer: LineAnswer,
}

/// The last answer to every line; earlier ones stay in the journal.
#[must_use]
pub fn answers(job: &Job) -> BTreeMap<String, Answer> {
    let mut last = BTreeMap::new();
    for (meta, contact) in &job.contacts {
        for answer in &contact.answers {
            let said = Answer {
                meta: meta.clone(),
                means: contact.means,
                answer: answer.clone(),
            };
            last.insert(answer.offered.line.clone(), said);
        }
    }
    last
}

/// "Up to this much without calling", and what of it is used up.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
pub struct Ceiling {
    /// What was agreed.
    pub limit: Money,
    /// What lines have used of it since.
    pub used: Money,
    /// What is left.
    pub left: Money,
}

/// The ceiling in force: the last one agreed, less what was taken under it since.
#[must_use]
pub fn ceiling(job: &Job) -> Option<Ceiling> {
    let start = job
        .contacts
        .iter()
        .rposition(|(_, c)| c.ceiling.is_some())?;
    let since: &[(Meta, Contact)] = job.contacts.get(start..)?;
    let limit = since.first()?.1.ceiling?;
    let mut taken: BTreeMap<&str, Money> = BTreeMap::new();
    for (_, contact) in since {
        for answer in &contact.answers {
            let line = answer.offered.line.as_str();
            match (contact.means, answer.outcome) {
                (Means::PreAuthorised, Outcome::Yes) => {
                    taken.insert(line, answer.offered.price.unwrap_or(Money::ZERO));
                }
                // Asked about after all: it no longer lives on the ceiling.
                _ => {
                    taken.remove(line);
                }
            }
        }
    }
    let used = taken.into_values().sum();
    Some(Ceiling {
        limit,
        used,
        left: limit.less(used),
    })
}

/// The lines the customer came in with: written down line by line, else read from the words of the
/// opening.
#[must_use]
pub fn original_lines(job: &Job) -> Vec<QuoteLine> {
    if let Some((_, lines)) = &job.original_quote {
        return lines.clone();
    }
    let words = job.opening.as_ref().map_or("", |o| o.quote.as_str());
    words.split(';').filter_map(read_line).collect()
}

/// Reads `rear pads only 118.00`: words, and a price at the end if there is one.
#[must_use]
pub fn read_line(text: &str) -> Option<QuoteLine> {
    let text = text.trim().trim_end_matches('.');
    if text.is_empty() {
        return None;
    }
    let (words, price) = match text.rsplit_once([' ', '=']) {
        Some((words, last)) => match last.parse::<Money>() {
            Ok(price) => (words.trim().trim_end_matches('='), Some(price)),
            Err(_) => (text, None),
        },
        None => (text, None),
    };
    Some(QuoteLine {
        line: line_of_words(words),
        // An id is for commands; a customer hears and reads words.
        words: words
            .parse::<LineId>()
            .map_or_else(|_| words.to_owned(), LineId::words),
        price,
    })
}

/// The line free words speak of; words that name no known work get an id of their own.
#[must_use]
pub fn line_of_words(words: &str) -> String {
    if let Ok(line) = words.parse::<LineId>() {
        return line.to_string();
    }
    let lower = words.to_lowercase();
    let has = |part: &str| lower.contains(part);
    let axle = match (has("front"), has("rear")) {
        (true, false) => Some("front"),
        (false, true) => Some("rear"),
        _ => None,
    };
    let work = if has("inspection") {
        return Work::Inspection.id().to_owned();
    } else if has("fluid") {
        return Work::Fluid.id().to_owned();
    } else if has("disc") {
        Some(Work::DiscsPads)
    } else if has("drum") {
        Some(Work::DrumsLinings)
    } else if has("pad") && !has("sensor") {
        Some(Work::Pads)
    } else if has("lining") || has("shoe") {
        Some(Work::Linings)
    } else {
        None
    };
    match (axle, work) {
        (Some(axle), Some(work)) => format!("{axle}.{}", work.id()),
        _ => slug(&lower),
    }
}

fn slug(words: &str) -> String {
    let mut id = String::from("extra.");
    for c in words.chars().take(40) {
        if c.is_alphanumeric() {
            id.push(c);
        } else if !id.ends_with(['-', '.']) {
            id.push('-');
        }
    }
    id.trim_end_matches('-').to_owned()
}

/// Whether a line may be worked on: the customer came in for it, or said yes; a later no ends it.
#[must_use]
pub fn authorised(job: &Job, line: &str) -> bool {
    match answers(job).get(line) {
        Some(said) => said.answer.outcome == Outcome::Yes,
        None => original_lines(job).iter().any(|l| l.line == line),
    }
}

/// Whether fitting a part at a place is covered by a line the customer agreed to.
#[must_use]
pub(super) fn fitting_authorised(job: &Job, part: Part, place: Place) -> bool {
    let original = original_lines(job);
    let answers = answers(job);
    let lines = original.iter().map(|l| &l.line).chain(answers.keys());
    lines
        .filter(|line| authorised(job, line))
        .filter_map(|line| line.parse::<LineId>().ok())
        .any(|line| line.covers(part, place))
}

/// A line the customer left, or put off.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Declined {
    /// The line.
    pub line: String,
    /// The line in words.
    pub words: String,
    /// The price it was offered at.
    pub price: Option<Money>,
    /// No, or later.
    pub outcome: Outcome,
    /// When to ask again.
    pub until: Option<NaiveDate>,
    /// The customer's reason.
    pub reason: String,
    /// The day it was declined.
    pub on: NaiveDate,
    /// Who took the answer.
    pub by: String,
    /// How.
    pub means: Means,
    /// The findings it would have cured.
    pub items: Vec<(Place, Item)>,
    /// Whether a FAIL stays on the vehicle.
    pub fail: bool,
    /// Whether the caution about leaving it was read out.
    pub caution_read: bool,
    /// What leaving it means, with the distance.
    pub leaving: String,
}

/// The lines that were declined and are still open: for the sheet, the due list and the next visit.
#[must_use]
pub fn declined(case: &Case<'_>, judgement: &Judgement) -> Vec<Declined> {
    let proposed = propose(case, judgement);
    answers(case.job)
        .into_iter()
        .filter(|(_, said)| said.answer.outcome != Outcome::Yes)
        .filter_map(|(line, said)| {
            let behind = proposed.iter().find(|p| p.line.to_string() == line);
            open_still(judgement, behind).then(|| describe(line, said, behind))
        })
        .collect()
}

/// Whether something behind a line is still not good as the vehicle leaves.
fn open_still(judgement: &Judgement, behind: Option<&Proposed>) -> bool {
    // A no to something nothing was found for (discs measured good) leaves nothing open.
    let Some(behind) = behind else { return false };
    judgement
        .standing(crate::job::Phase::AsLeft)
        .any(|f| f.verdict != ItemVerdict::Pass && behind.cures(f.place, f.item))
}

fn describe(line: String, said: Answer, behind: Option<&Proposed>) -> Declined {
    Declined {
        line,
        words: said.answer.offered.words,
        price: said.answer.offered.price,
        outcome: said.answer.outcome,
        until: said.answer.until,
        reason: said.answer.reason,
        on: said.meta.at.date_naive(),
        by: said.meta.by,
        means: said.means,
        items: behind
            .map(|p| p.because.iter().map(|b| (b.place, b.item)).collect())
            .unwrap_or_default(),
        fail: behind.is_some_and(Proposed::cures_fail),
        caution_read: said.answer.caution_read,
        leaving: behind
            .and_then(|p| p.leaving)
            .map_or_else(String::new, |leaving| leaving.to_string()),
    }
}

/// A first question of the next visit: what was left last time.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Reopened {
    /// The earlier job.
    pub job: String,
    /// What was left then.
    pub declined: Declined,
    /// The question.
    pub question: String,
}

/// The first questions of a visit, from the jobs of the same vehicle before it, oldest first.
///
/// What a later one of those jobs judged good again is not asked.
#[must_use]
pub fn reopened(earlier: &[(&Case<'_>, &Judgement)]) -> Vec<Reopened> {
    let mut questions: Vec<Reopened> = Vec::new();
    for (case, judgement) in earlier {
        questions.retain(|q| {
            let items = &q.declined.items;
            let good = |(place, item): &(Place, Item)| {
                judgement
                    .standing(crate::job::Phase::AsLeft)
                    .any(|f| (f.place, f.item) == (*place, *item) && f.verdict == ItemVerdict::Pass)
            };
            items.is_empty() || !items.iter().all(good)
        });
        let job = case.job.opening.as_ref().map(|o| o.job.clone());
        for declined in declined(case, judgement) {
            questions.retain(|q| q.declined.line != declined.line);
            let question = format!(
                "{} on {}: \"{}\" was left. Is it still so?",
                job.as_deref().unwrap_or_default(),
                declined.on,
                declined.words
            );
            questions.push(Reopened {
                job: job.clone().unwrap_or_default(),
                declined,
                question,
            });
        }
    }
    questions
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_words_of_an_opening_become_lines() {
        for (words, line, price) in [
            ("annual brake inspection 58.00", "inspection", Some("58.00")),
            ("rear pads only 118.00", "rear.pads", Some("118.00")),
            ("front discs 310.00", "front.discs_pads", Some("310.00")),
            (
                "rear discs + pads axle set 286.00",
                "rear.discs_pads",
                Some("286.00"),
            ),
            ("rear.pads=96", "rear.pads", Some("96.00")),
            ("wiper blades 12", "extra.wiper-blades", Some("12.00")),
            ("listen to the noise", "extra.listen-to-the-noise", None),
        ] {
            let read = read_line(words).unwrap();
            assert_eq!(read.line, line, "{words}");
            assert_eq!(
                read.price.map(|p| p.to_string()).as_deref(),
                price,
                "{words}"
            );
        }
        assert_eq!(read_line("  "), None);
        let of_id = read_line("rear.pads=96").unwrap();
        assert_eq!(of_id.words, "rear axle: brake pads, axle set");
    }
}
