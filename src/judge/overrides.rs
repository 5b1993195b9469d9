//! Verdicts that a person set aside: more severe with a reason; less severe with a reason and a
//! second person, and never below a maker's or a rule pack's limit.
//!
//! Every override is listed, whether it stands or not: the readings' own verdict is never lost.

use serde::Serialize;

use super::case::Case;
use super::{Finding, ItemVerdict, Urgency, state};
use crate::job::{Item, Override, OverrideAsked, Phase, Place};

/// An override and what became of it.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, schemars::JsonSchema)]
pub struct OverrideShown {
    /// The verdict before it.
    pub from: ItemVerdict,
    /// The verdict it asks for.
    pub to: ItemVerdict,
    /// Who asked.
    pub by: String,
    /// Who agreed.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub second_person: Option<String>,
    /// Why.
    pub reason: String,
    /// Whether it stands.
    pub stands: bool,
    /// Why it does not.
    #[serde(skip_serializing_if = "String::is_empty")]
    pub why_not: String,
    /// The journal's entry.
    #[serde(rename = "entry")]
    pub seq: u64,
}

/// An override with what it is about, for the list of all of them.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, schemars::JsonSchema)]
pub struct OverrideListed {
    /// Where.
    pub place: Place,
    /// What.
    pub item: Item,
    /// As found or as left.
    pub phase: Phase,
    /// The override; `None` when nothing was judged there.
    #[serde(flatten)]
    pub shown: Option<OverrideShown>,
}

impl From<Override> for ItemVerdict {
    fn from(to: Override) -> Self {
        match to {
            Override::Pass => Self::Pass,
            Override::Advise => Self::Advise,
            Override::Fail => Self::Fail,
        }
    }
}

/// Applies the overrides of a finding that were given for one of these phases, in order.
pub(super) fn apply(case: &Case<'_>, mut finding: Finding, phases: &[Phase]) -> Finding {
    let about = (finding.place, finding.item);
    let asked = case
        .job
        .overrides
        .iter()
        .filter(|asked| (asked.place, asked.item) == about && phases.contains(&asked.phase));
    for asked in asked {
        let why_not = refusal(&finding, asked)
            .or_else(|| outdated(case, asked))
            .unwrap_or_default();
        let shown = OverrideShown {
            from: finding.verdict,
            to: asked.verdict.into(),
            by: asked.meta.by.clone(),
            second_person: asked.second_person.clone(),
            reason: asked.reason.clone(),
            stands: why_not.is_empty(),
            why_not,
            seq: asked.meta.seq,
        };
        if shown.stands {
            set(&mut finding, &shown);
        }
        finding.overrides.push(shown);
    }
    finding
}

/// Why an override says nothing of what was entered after it.
fn outdated(case: &Case<'_>, asked: &OverrideAsked) -> Option<String> {
    let (place, item) = state::source(asked.place, asked.item);
    let sets = case.job.sets(place, item);
    let looks = case.job.looks(asked.place, asked.item);
    let later = sets
        .iter()
        .map(|(phase, take)| (*phase, take.begun()))
        .chain(looks.iter().map(|(phase, seen)| (*phase, seen.meta.seq)))
        .any(|(phase, seq)| phase == asked.phase && seq > asked.meta.seq);
    later.then(|| "it was looked at or measured again since".to_owned())
}

fn set(finding: &mut Finding, shown: &OverrideShown) {
    let second = shown
        .second_person
        .as_ref()
        .filter(|_| severity(shown.to) < severity(shown.from))
        .map(|person| format!(", {person} agreed"))
        .unwrap_or_default();
    let words = format!(
        "{} instead of {}, set by {}{second}: {}",
        shown.to, shown.from, shown.by, shown.reason
    );
    finding.verdict = shown.to;
    finding.firm = shown.to;
    finding.urgency = match shown.to {
        ItemVerdict::Fail => Some(Urgency::BeforeHandover),
        ItemVerdict::Advise => Some(Urgency::Watch),
        _ => None,
    };
    finding.sentence = format!("{} {}.", finding.sentence, capital(&words));
    finding.reasons.insert(0, words);
}

fn capital(words: &str) -> String {
    let mut letters = words.chars();
    letters.next().map_or_else(String::new, |first| {
        first.to_uppercase().collect::<String>() + letters.as_str()
    })
}

/// How severe a verdict is; what was not inspected or has no limit cannot be ranked.
const fn severity(verdict: ItemVerdict) -> Option<u8> {
    match verdict {
        ItemVerdict::Pass => Some(0),
        ItemVerdict::Advise => Some(1),
        ItemVerdict::Fail => Some(2),
        ItemVerdict::NotInspected | ItemVerdict::NoLimit => None,
    }
}

/// Why an override does not stand.
fn refusal(finding: &Finding, asked: &OverrideAsked) -> Option<String> {
    let to = ItemVerdict::from(asked.verdict);
    if asked.reason.trim().is_empty() {
        return Some("no reason is given".to_owned());
    }
    let Some(from) = severity(finding.verdict) else {
        return (to != ItemVerdict::Fail).then(|| {
            format!(
                "{} stays what it is until it is inspected and has a limit; only FAIL can be set",
                finding.verdict
            )
        });
    };
    let wanted = severity(to).unwrap_or(from);
    if wanted == from {
        return Some(format!("it is {to} already"));
    }
    if wanted > from {
        return None;
    }
    if !finding.fixed.is_empty() {
        return Some(format!("it cannot be made less severe: {}", finding.fixed));
    }
    if finding.no_pass && to == ItemVerdict::Pass {
        return Some("these readings can never give a PASS".to_owned());
    }
    // One name in other letters or with other spaces is the same person.
    let plain = |name: &str| {
        let words: Vec<String> = name.split_whitespace().map(str::to_lowercase).collect();
        words.join(" ")
    };
    let second = asked.second_person.as_deref().map(plain);
    let other = second.is_some_and(|name| !name.is_empty() && name != plain(&asked.meta.by));
    (!other).then(|| {
        format!(
            "a less severe verdict needs a second person, other than {}",
            asked.meta.by
        )
    })
}

/// Every override of a job with what became of it, in the journal's order.
pub(super) fn list<'f>(
    case: &Case<'_>,
    findings: impl Iterator<Item = &'f Finding> + Clone,
) -> Vec<OverrideListed> {
    let listed = |asked: &OverrideAsked| OverrideListed {
        place: asked.place,
        item: asked.item,
        phase: asked.phase,
        shown: findings
            .clone()
            .flat_map(|finding| &finding.overrides)
            .find(|shown| shown.seq == asked.meta.seq)
            .cloned(),
    };
    case.job.overrides.iter().map(listed).collect()
}
