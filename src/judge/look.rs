//! What was looked at or felt: the grade of the defect's list, or a rule pack's when that is graver.

use super::Urgency;
use super::case::Case;
use super::decide::Draft;
use super::defect::{self, Grade};
use super::finding::Finding;
use crate::job::{Item, Kind, Observation, Phase, Place};
use crate::measure::conformity::Proof;
use crate::spec::{DefectRule, RuleClass, RulePack};
use crate::units::{Length, LengthUnit};

/// Judges a look: sound, a defect of the item's list, or not inspected with its reason.
pub(super) fn look(
    case: &Case<'_>,
    place: Place,
    item: Item,
    data: Phase,
    phase: Phase,
) -> Option<Finding> {
    let seen = case.job.seen(place, item, data)?;
    let (code, note) = match &seen.observation {
        Observation::NotInspected { reason } => {
            return Some(Finding::not_inspected(place, item, phase, reason.clone()));
        }
        // "Sound" answers a look; for an item that wants a number it says nothing about the number.
        Observation::Sound if item.kind() == Kind::Measure => return None,
        Observation::Sound => (None, ""),
        Observation::Defect { code, note } => (Some(code), note.as_str()),
    };
    let mut draft = Draft::new(place, item, phase);
    draft.proof(Proof::Looked);
    if let Some(code) = code {
        judge_defect(case, &mut draft, (place, item), code, note);
    }
    Some(draft.finish())
}

fn judge_defect(
    case: &Case<'_>,
    draft: &mut Draft,
    (place, item): (Place, Item),
    code: &str,
    note: &str,
) {
    let known = defect::find(item, code);
    let words = known.map_or_else(
        || format!("defect `{code}`, not in this version's list"),
        |defect| defect.words.to_owned(),
    );
    let reason = if note.is_empty() {
        words
    } else {
        format!("{words}: {note}")
    };
    // A defect this version does not know is never taken lightly.
    let own = known.map_or(Grade::Fail, |defect| defect.grade);
    let own = own.max(scoring(case, item, code, note));
    let rule = rule(case, place, item, code);
    let grade = rule.map_or(own, |(_, rule)| own.max(grade_of(rule.class)));
    match grade {
        Grade::Advise => draft.advise(reason, Urgency::Watch),
        Grade::Fail => draft.fail(reason, false),
        Grade::Stop => draft.fail(reason, true),
    }
    if let Some((pack, rule)) = rule {
        let mark = if rule.unconfirmed() {
            " (unconfirmed)"
        } else {
            ""
        };
        let source = format!("{}, {}{mark}", pack.name, rule.clause);
        if rule.class >= RuleClass::Major {
            draft.fix(format!("{source} makes it a failure"));
        }
        draft.note(format!("{source}: {}", rule.sentence));
        draft.rule(source);
    }
}

/// The gravest rule about a defect, with its pack.
fn rule<'a>(
    case: &Case<'a>,
    place: Place,
    item: Item,
    code: &str,
) -> Option<(&'a RulePack, &'a DefectRule)> {
    let facts = case.facts(place.corner().map(|corner| corner.axle()));
    case.packs
        .iter()
        .filter_map(|pack| Some((pack, pack.defect(item.id(), code, &facts)?)))
        // The first of equals, in the workshop's order of packs.
        .rev()
        .max_by_key(|(_, rule)| rule.class)
}

const fn grade_of(class: RuleClass) -> Grade {
    match class {
        RuleClass::Advisory => Grade::Advise,
        RuleClass::Major => Grade::Fail,
        RuleClass::Dangerous => Grade::Stop,
    }
}

/// Scoring whose depth the note begins with (`0.7 mm, inner face`): deeper than the severe figure it
/// is the severe defect, whatever it was called.
fn scoring(case: &Case<'_>, item: Item, code: &str, note: &str) -> Grade {
    let scored = item == Item::DiscSurface && matches!(code, "scored" | "scored_deep");
    let depth = scored.then(|| depth(note)).flatten();
    match depth {
        Some(depth) if depth > case.policy.scoring_severe.value => Grade::Fail,
        _ => Grade::Advise,
    }
}

fn depth(note: &str) -> Option<Length> {
    let end = note
        .find(|c: char| !(c.is_ascii_digit() || matches!(c, '.' | ',')))
        .unwrap_or(note.len());
    let (number, rest) = note.split_at_checked(end)?;
    let number = number.trim_end_matches(['.', ',']);
    let rest = rest.trim_start();
    let unit = if rest.starts_with("in") && !rest.starts_with("inn") {
        LengthUnit::Inch
    } else {
        LengthUnit::Millimetre
    };
    let depth = Length::parse(number, unit).ok()?;
    let micrometres = rest.starts_with("um") || rest.starts_with("µm");
    Some(if micrometres {
        Length::from_nm(depth.nm() / 1_000)
    } else {
        depth
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_depth_at_the_head_of_a_note_is_read() {
        for (note, um) in [
            ("1.6", Some(1_600)),
            ("0,7 mm inner face", Some(700)),
            ("700 µm", Some(700)),
            ("0.07in", Some(1_778)),
            ("inner face", None),
            ("", None),
            ("...", None),
        ] {
            assert_eq!(depth(note).map(|d| d.nm() / 1000), um, "{note}");
        }
    }
}
