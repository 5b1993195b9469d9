//! Whether the first quote still stands, line by line with the findings behind it.

use serde::Serialize;

use super::decision::{Answer, Ceiling, answers, ceiling, original_lines};
use super::price::{PriceList, Total};
use super::propose::{Because, Leaving, Proposed, propose};
use crate::job::{Kind, Money, Outcome, Phase, QuoteEdit, QuoteLine};
use crate::job::{LineId, Work, holds};
use crate::judge::{Case, ItemVerdict, Judgement};

/// What became of the quote as a whole.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum QuoteStanding {
    /// The findings confirm it.
    Stands,
    /// Something is needed that was not quoted, or costs more.
    Grows,
    /// Something quoted was measured good.
    Shrinks,
    /// Another cure is enough.
    ChangesKind,
    /// Something it depends on has not been inspected.
    CannotSay,
}

impl QuoteStanding {
    /// The standing in a sentence.
    #[must_use]
    pub const fn words(self) -> &'static str {
        match self {
            Self::Stands => "the quote stands",
            Self::Grows => "the quote grows",
            Self::Shrinks => "the quote shrinks: something quoted is not needed",
            Self::ChangesKind => "the quote changes kind: another cure is enough",
            Self::CannotSay => "it cannot be said yet whether the quote stands",
        }
    }
}

/// What became of one line.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
#[serde(tag = "state", rename_all = "snake_case")]
pub enum LineState {
    /// Quoted, and the findings behind it say so too.
    Confirmed,
    /// Quoted, and about no finding: it stands as it is.
    AsQuoted,
    /// Not quoted; the findings ask for it.
    Added,
    /// Added by hand.
    AddedByHand,
    /// Quoted, and the price by hand is another.
    Repriced,
    /// Quoted; the parts were measured good.
    NotNeeded,
    /// Quoted; another line does it instead.
    Replaced {
        /// The other line.
        by: String,
    },
    /// Quoted; what it depends on has not been inspected.
    Unsaid {
        /// What is missing.
        missing: Vec<String>,
    },
    /// Taken off by hand.
    Dropped,
}

impl LineState {
    /// The state in a word or two.
    #[must_use]
    pub fn words(&self) -> String {
        match self {
            Self::Confirmed => "confirmed".to_owned(),
            Self::AsQuoted => "as quoted".to_owned(),
            Self::Added => "added".to_owned(),
            Self::AddedByHand => "added by hand".to_owned(),
            Self::Repriced => "other price".to_owned(),
            Self::NotNeeded => "NOT NEEDED, measured good".to_owned(),
            Self::Replaced { by } => format!("replaced by {by}"),
            Self::Unsaid { .. } => "cannot be said yet".to_owned(),
            Self::Dropped => "dropped by hand".to_owned(),
        }
    }
}

/// One line of the revised quote.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct QuotedLine {
    /// The line's id, as commands take it.
    pub line: String,
    /// The line in words.
    pub words: String,
    /// Its price; none while neither the quote, the price list nor anybody names one.
    pub price: Option<Money>,
    /// The price it was first quoted at.
    pub original: Option<Money>,
    /// What became of it.
    #[serde(flatten)]
    pub state: LineState,
    /// The findings behind it, gravest first.
    pub because: Vec<Because>,
    /// What belongs to it or speaks for it.
    pub notes: Vec<String>,
    /// What leaving it means.
    #[serde(serialize_with = "super::propose::said")]
    pub leaving: Option<Leaving>,
    /// The customer's last answer.
    pub answer: Option<Outcome>,
}

impl QuotedLine {
    /// Whether the line is part of what would be done.
    #[must_use]
    pub const fn offered(&self) -> bool {
        matches!(
            self.state,
            LineState::Confirmed
                | LineState::AsQuoted
                | LineState::Added
                | LineState::AddedByHand
                | LineState::Repriced
                | LineState::Unsaid { .. }
        )
    }

    /// Whether a FAIL is behind it.
    #[must_use]
    pub fn cures_fail(&self) -> bool {
        self.because.iter().any(|b| b.verdict == ItemVerdict::Fail)
    }

    /// The line as it is written down when it is offered.
    #[must_use]
    pub fn as_offered(&self) -> QuoteLine {
        QuoteLine {
            line: self.line.clone(),
            words: self.words.clone(),
            price: self.price,
        }
    }
}

/// The quote as it stands after the findings.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Quote {
    /// Job number.
    pub job: String,
    /// What became of the first quote.
    pub standing: QuoteStanding,
    /// The lines: what would be done first, then what is no longer needed.
    pub lines: Vec<QuotedLine>,
    /// The first quote's sum, where every line had a price.
    pub original_total: Option<Money>,
    /// What the offered lines come to, where every line has a price.
    pub total: Option<Total>,
    /// What the lines the customer agreed to come to: answered with yes, or quoted at first and
    /// still part of it.
    pub agreed: Option<Total>,
    /// Offered lines nobody has named a price for.
    pub without_price: Vec<String>,
    /// What was not inspected, so that more may come.
    pub not_inspected: Vec<String>,
    /// Whether anything at all was inspected; until then nothing can be said of any work.
    pub begun: bool,
    /// Why the customer must be called before work goes on; empty when policy lets it go on.
    pub call: Vec<String>,
    /// The limit agreed before, and what is left of it.
    pub ceiling: Option<Ceiling>,
}

impl Quote {
    /// A line by its id.
    #[must_use]
    pub fn line(&self, id: &str) -> Option<&QuotedLine> {
        self.lines.iter().find(|l| l.line == id)
    }

    /// The lines that are offered.
    pub fn offered(&self) -> impl Iterator<Item = &QuotedLine> {
        self.lines.iter().filter(|l| l.offered())
    }
}

/// Compares the findings with the first quote and builds the revised one.
#[must_use]
pub fn quote(case: &Case<'_>, judgement: &Judgement, prices: &PriceList) -> Quote {
    let original = original_lines(case.job);
    let proposed = propose(case, judgement);
    let answers = answers(case.job);
    let answer = |line: &str| answers.get(line).map(|said| said.answer.outcome);
    let mut lines: Vec<QuotedLine> = proposed
        .iter()
        .map(|p| proposed_line(case, p, &original, prices, &answer))
        .collect();
    for quoted in &original {
        if lines.iter().all(|l| l.line != quoted.line) {
            lines.push(original_line(judgement, quoted, &proposed, &answer));
        }
    }
    for (_, edit) in &case.job.quote_edits {
        apply(case, &mut lines, edit, prices, &answer);
    }
    lines.sort_by_key(|l| !l.offered());
    let not_inspected: Vec<String> = judgement
        .standing(Phase::AsFound)
        .filter(|f| f.item.kind() != Kind::Refit)
        .filter(|f| matches!(f.verdict, ItemVerdict::NotInspected | ItemVerdict::NoLimit))
        .map(|f| format!("{} {}", f.place, f.item))
        .collect();
    let without_price: Vec<String> = lines
        .iter()
        .filter(|l| l.offered() && l.price.is_none())
        .map(|l| l.line.clone())
        .collect();
    let amounts = || lines.iter().filter(|l| l.offered()).filter_map(|l| l.price);
    let total = without_price.is_empty().then(|| prices.total(amounts()));
    let agreed: Option<Vec<Money>> = lines
        .iter()
        .filter(|l| l.offered() && super::authorised(case.job, &l.line))
        .map(|l| l.price)
        .collect();
    let agreed = agreed.map(|amounts| prices.total(amounts));
    let original_total = original
        .iter()
        .map(|l| l.price)
        .sum::<Option<Money>>()
        .filter(|_| !original.is_empty());
    let ceiling = ceiling(case.job);
    let mut quote = Quote {
        job: judgement.job.clone(),
        standing: standing(&lines, &not_inspected),
        lines,
        original_total,
        total,
        agreed,
        without_price,
        not_inspected,
        begun: judgement
            .standing(Phase::AsFound)
            .any(|f| f.item.kind() != Kind::Refit && f.verdict != ItemVerdict::NotInspected),
        call: Vec::new(),
        ceiling,
    };
    quote.call = call(case, &quote, &answers);
    quote
}

fn proposed_line(
    case: &Case<'_>,
    proposed: &Proposed,
    original: &[QuoteLine],
    prices: &PriceList,
    answer: &impl Fn(&str) -> Option<Outcome>,
) -> QuotedLine {
    let line = proposed.line.to_string();
    let quoted = original.iter().find(|l| l.line == line);
    let listed = prices.find(proposed.line, &case.sheet.id);
    let words = match (quoted, listed) {
        (Some(quoted), _) => quoted.words.clone(),
        (None, Some(listed)) if !listed.words.is_empty() => listed.words.clone(),
        _ => proposed.line.words(),
    };
    QuotedLine {
        words,
        // A price that was quoted is kept; only a person changes it.
        price: quoted
            .and_then(|l| l.price)
            .or_else(|| listed.map(|p| p.amount)),
        original: quoted.and_then(|l| l.price),
        state: if quoted.is_some() {
            LineState::Confirmed
        } else {
            LineState::Added
        },
        because: proposed.because.clone(),
        notes: proposed.notes.clone(),
        leaving: proposed.leaving,
        answer: answer(&line),
        line,
    }
}

/// A line of the first quote that no finding asks for.
fn original_line(
    judgement: &Judgement,
    quoted: &QuoteLine,
    proposed: &[Proposed],
    answer: &impl Fn(&str) -> Option<Outcome>,
) -> QuotedLine {
    let state = match quoted.line.parse::<LineId>() {
        Ok(id) if !id.work.items().is_empty() => state_of(judgement, id, proposed),
        _ => LineState::AsQuoted,
    };
    QuotedLine {
        line: quoted.line.clone(),
        words: quoted.words.clone(),
        price: quoted.price,
        original: quoted.price,
        state,
        because: Vec::new(),
        notes: Vec::new(),
        leaving: None,
        answer: answer(&quoted.line),
    }
}

fn state_of(judgement: &Judgement, id: LineId, proposed: &[Proposed]) -> LineState {
    if let Some(other) = proposed.iter().find(|p| instead(p.line, id)) {
        return LineState::Replaced {
            by: other.line.to_string(),
        };
    }
    let missing: Vec<String> = judgement
        .standing(Phase::AsFound)
        .filter(|f| id.work.items().contains(&f.item))
        .filter(|f| holds(id.place, f.place))
        .filter(|f| matches!(f.verdict, ItemVerdict::NotInspected | ItemVerdict::NoLimit))
        .map(|f| format!("{} {}", f.place, f.item))
        .collect();
    if missing.is_empty() {
        LineState::NotNeeded
    } else {
        LineState::Unsaid { missing }
    }
}

/// Whether one line does the job of another in its own way.
fn instead(new: LineId, old: LineId) -> bool {
    let near = holds(old.place, new.place) || holds(new.place, old.place);
    let related = matches!(
        (new.work, old.work),
        (Work::DiscsPads, Work::Pads | Work::Reclock)
            | (Work::Pads | Work::Reclock, Work::DiscsPads)
            | (Work::DrumsLinings, Work::Linings)
            | (Work::Linings, Work::DrumsLinings)
            | (Work::Calliper, Work::SlidePins)
            | (Work::SlidePins, Work::Calliper)
    );
    near && related
}

fn apply(
    case: &Case<'_>,
    lines: &mut Vec<QuotedLine>,
    edit: &QuoteEdit,
    prices: &PriceList,
    answer: &impl Fn(&str) -> Option<Outcome>,
) {
    match edit {
        QuoteEdit::Add(added) => {
            let listed = added.line.parse::<LineId>().ok();
            let listed = listed.and_then(|id| prices.find(id, &case.sheet.id));
            let price = added.price.or_else(|| listed.map(|p| p.amount));
            let known = lines.iter_mut().find(|l| l.line == added.line);
            match known {
                Some(line) => {
                    line.price = price.or(line.price);
                    if !line.offered() {
                        line.state = LineState::AddedByHand;
                    }
                }
                None => lines.push(QuotedLine {
                    line: added.line.clone(),
                    words: added.words.clone(),
                    price,
                    original: None,
                    state: LineState::AddedByHand,
                    because: Vec::new(),
                    notes: Vec::new(),
                    leaving: None,
                    answer: answer(&added.line),
                }),
            }
        }
        QuoteEdit::Drop { line } => {
            if let Some(known) = lines.iter_mut().find(|l| l.line == *line) {
                known.state = LineState::Dropped;
            }
        }
        QuoteEdit::Set { line, price } => {
            if let Some(known) = lines.iter_mut().find(|l| l.line == *line) {
                let other = known.original.is_some_and(|first| first != *price);
                known.price = Some(*price);
                if other && matches!(known.state, LineState::Confirmed | LineState::AsQuoted) {
                    known.state = LineState::Repriced;
                }
            }
        }
    }
}

fn standing(lines: &[QuotedLine], not_inspected: &[String]) -> QuoteStanding {
    let any = |wanted: fn(&QuotedLine) -> bool| lines.iter().any(wanted);
    let unsaid = any(|l| matches!(l.state, LineState::Unsaid { .. }));
    // Turning a disc on its hub instead of changing it is another kind of cure; a larger set that
    // holds the quoted one is the same kind, grown.
    let other_kind = any(|l| match &l.state {
        LineState::Replaced { by } => by.ends_with(Work::Reclock.id()),
        _ => false,
    });
    let smaller = any(|l| match &l.state {
        LineState::NotNeeded | LineState::Dropped => true,
        LineState::Replaced { by } => by.ends_with(".pads") || by.ends_with(".linings"),
        _ => false,
    });
    let dearer = |l: &QuotedLine| l.original.is_some_and(|first| l.price > Some(first));
    let grows = lines.iter().any(|l| {
        matches!(l.state, LineState::Added | LineState::AddedByHand)
            || (l.state == LineState::Repriced && dearer(l))
    });
    match (
        unsaid || !not_inspected.is_empty(),
        other_kind,
        grows,
        smaller,
    ) {
        (true, ..) => QuoteStanding::CannotSay,
        (_, true, ..) => QuoteStanding::ChangesKind,
        // Replacing pads by a set is growth even though the pads' own line goes.
        (_, _, true, _) if !only_smaller(lines) => QuoteStanding::Grows,
        (_, _, _, true) => QuoteStanding::Shrinks,
        (_, _, true, _) => QuoteStanding::Grows,
        _ if any(|l| l.state == LineState::Repriced) => QuoteStanding::Shrinks,
        _ => QuoteStanding::Stands,
    }
}

/// Whether every added line is the smaller half of a quoted one.
fn only_smaller(lines: &[QuotedLine]) -> bool {
    let added = lines
        .iter()
        .filter(|l| matches!(l.state, LineState::Added | LineState::AddedByHand));
    let replaced: Vec<&str> = lines
        .iter()
        .filter_map(|l| match &l.state {
            LineState::Replaced { by } => Some(by.as_str()),
            _ => None,
        })
        .collect();
    added.fold(true, |all, line| {
        let half = line.line.ends_with(".pads") || line.line.ends_with(".linings");
        all && half && replaced.contains(&line.line.as_str())
    })
}

/// Why policy wants the customer called before work goes on.
fn call(
    case: &Case<'_>,
    quote: &Quote,
    answers: &std::collections::BTreeMap<String, Answer>,
) -> Vec<String> {
    let told = case.job.contacts.iter().any(|(_, c)| c.reached);
    let mut reasons = Vec::new();
    let mut room = quote.ceiling.map_or(Money::ZERO, |c| c.left);
    for line in quote.offered() {
        let said = answers.get(&line.line).map(|a| &a.answer);
        let dearer_since = |a: &crate::job::LineAnswer| line.price > a.offered.price;
        let open = match (&line.state, said) {
            (_, Some(said)) if said.outcome == Outcome::Yes && dearer_since(said) => true,
            (_, Some(_)) => false,
            (LineState::Added | LineState::AddedByHand, None) => {
                case.policy.call_on_added_line.value || line.cures_fail()
            }
            (LineState::Repriced, None) => line.price > line.original,
            _ => false,
        };
        if !open {
            continue;
        }
        match line.price {
            Some(price) if price <= room => room = room.less(price),
            _ => reasons.push(why_open(line, said)),
        }
    }
    let unneeded = quote
        .lines
        .iter()
        .filter(|l| matches!(l.state, LineState::NotNeeded | LineState::Replaced { .. }));
    if !told {
        reasons.extend(unneeded.map(|l| match &l.state {
            LineState::Replaced { by } => format!("{}: {by} is proposed instead", l.line),
            _ => format!("{}: quoted, and measured good", l.line),
        }));
    }
    rise(case, quote, answers, &mut reasons);
    reasons
}

fn why_open(line: &QuotedLine, said: Option<&crate::job::LineAnswer>) -> String {
    let price = line
        .price
        .map_or_else(|| "no price yet".to_owned(), |p| p.to_string());
    match (said, line.original) {
        (Some(said), _) => format!(
            "{}: agreed at {}, now {price}",
            line.line,
            said.offered.price.unwrap_or(Money::ZERO)
        ),
        (None, Some(first)) => format!("{}: quoted at {first}, now {price}", line.line),
        (None, None) if line.cures_fail() => {
            format!("{}: fails and was not quoted ({price})", line.line)
        }
        _ => format!("{}: not in the first quote ({price})", line.line),
    }
}

/// The rise of the whole sum beyond the policy's share, for lines nobody has answered yet: against
/// the first quote, or what was agreed since where that is more. What was declined is no rise.
fn rise(
    case: &Case<'_>,
    quote: &Quote,
    answers: &std::collections::BTreeMap<String, Answer>,
    reasons: &mut Vec<String>,
) {
    let (Some(first), Some(_)) = (quote.original_total, quote.total) else {
        return;
    };
    let unanswered = quote.offered().any(|l| {
        !answers.contains_key(&l.line)
            && !matches!(l.state, LineState::Confirmed | LineState::AsQuoted)
    });
    let sum_of = |wanted: &dyn Fn(&QuotedLine) -> bool| -> Money {
        let lines = quote.offered().filter(|l| wanted(l));
        lines.filter_map(|l| l.price).sum()
    };
    let agreed = sum_of(&|l| super::authorised(case.job, &l.line));
    let before = first.max(agreed);
    let sum = sum_of(&|l| matches!(l.answer, None | Some(Outcome::Yes)));
    let share = case.policy.call_rise.value;
    let hundred = rust_decimal::Decimal::ONE_HUNDRED;
    let allowed =
        before.decimal() * (hundred + rust_decimal::Decimal::new(share.thousandths(), 3)) / hundred;
    let inside = quote.ceiling.is_some_and(|c| sum.less(before) <= c.left);
    if unanswered && !inside && sum.decimal() > allowed {
        reasons.push(format!(
            "the sum rises from {before} to {sum}; policy allows {share} without a call"
        ));
    }
}
