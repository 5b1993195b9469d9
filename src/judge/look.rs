//! What was looked at or felt: the grade of the defect's list, or a rule pack's when that is graver.

use super::case::Case;
use super::decide::Draft;
use super::defect::{self, Grade};
use super::finding::Finding;
use super::{Figure, Urgency};
use crate::job::{Item, Kind, Observation, Phase, Place, Seen};
use crate::measure::conformity::Proof;
use crate::spec::{DefectRule, RuleClass, RulePack, VehicleFacts};
use crate::units::{Length, LengthUnit};

/// Judges one look: sound, a defect of the item's list, or not inspected with its reason; `depth` is
/// what a scored face measured. `None` for "sound" of an item that wants a number: it says nothing
/// about the number.
pub(super) fn look(
    case: &Case<'_>,
    place: Place,
    item: Item,
    seen: &Seen,
    depth: Option<Length>,
    phase: Phase,
) -> Option<Finding> {
    let (code, note) = match &seen.observation {
        Observation::NotInspected { reason } => {
            return Some(Finding::not_inspected(place, item, phase, reason.clone()));
        }
        // "Sound" answers a look; for an item that wants a number it says nothing about the number.
        Observation::Sound if item.kind() == Kind::Measure && !felt(case, place, item) => {
            return None;
        }
        Observation::Sound => (None, ""),
        Observation::Defect { code, note } => (Some(code), note.as_str()),
    };
    let mut draft = Draft::new(case.policy, place, item, phase);
    draft.proof(Proof::Looked);
    if let Some(code) = code {
        judge_defect(case, &mut draft, (place, item), code, note, depth);
    }
    Some(draft.finish())
}

/// Whether a look says all there is to say about an item that is measured elsewhere: a bearing without
/// a figure for its end float.
fn felt(case: &Case<'_>, place: Place, item: Item) -> bool {
    item == Item::BearingFloat
        && place
            .corner()
            .is_some_and(|corner| case.bearing_is_felt(corner))
}

fn judge_defect(
    case: &Case<'_>,
    draft: &mut Draft,
    (place, item): (Place, Item),
    code: &str,
    note: &str,
    depth: Option<Length>,
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
    let mut own = Some(known.map_or(Grade::Fail, |defect| defect.grade));
    if item == Item::DiscSurface && matches!(code, "scored" | "scored_deep") {
        own = scoring(case, draft, depth, code, note);
    }
    let rule = rule(case, place, item, code);
    let grade = own.max(rule.map(|(_, rule)| grade_of(rule.class)));
    let Some(grade) = grade else {
        draft.note(reason);
        return;
    };
    match grade {
        Grade::Advise => draft.advise(reason, Urgency::Watch),
        Grade::Fail => draft.fail(reason, false),
        Grade::Stop => draft.fail(reason, true),
    }
    if let Some((pack, rule)) = rule {
        let source = rule_source(pack, rule);
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
    gravest(case.packs, item, code, &facts)
}

/// The gravest rule about a defect of a vehicle with these facts, with its pack.
pub(super) fn gravest<'a>(
    packs: &'a [RulePack],
    item: Item,
    code: &str,
    facts: &VehicleFacts,
) -> Option<(&'a RulePack, &'a DefectRule)> {
    packs
        .iter()
        .filter_map(|pack| Some((pack, pack.defect(item.id(), code, facts)?)))
        // The first of equals, in the workshop's order of packs.
        .rev()
        .max_by_key(|(_, rule)| rule.class)
}

/// Whose rule it is, marked when nobody has compared it with the text it comes from.
pub(super) fn rule_source(pack: &RulePack, rule: &DefectRule) -> String {
    let mark = if rule.unconfirmed() {
        " (unconfirmed)"
    } else {
        ""
    };
    format!("{}, {}{mark}", pack.name, rule.clause)
}

const fn grade_of(class: RuleClass) -> Grade {
    match class {
        RuleClass::Advisory => Grade::Advise,
        RuleClass::Major => Grade::Fail,
        RuleClass::Dangerous => Grade::Stop,
    }
}

/// The grade of a scored face. A depth that was measured decides by itself: less than the policy's
/// advice is nothing, more than the severe figure a failure. A depth at the head of the note
/// (`0.7 mm, inner face`) can only make it worse.
fn scoring(
    case: &Case<'_>,
    draft: &mut Draft,
    measured: Option<Length>,
    code: &str,
    note: &str,
) -> Option<Grade> {
    let severe = SEVERE.max(case.policy.scoring_severe.value);
    let named = if code == "scored_deep" {
        Grade::Fail
    } else {
        Grade::Advise
    };
    let Some(depth) = measured else {
        let noted = depth(note).filter(|depth| *depth > severe);
        return Some(named.max(noted.map_or(Grade::Advise, |_| Grade::Fail)));
    };
    draft.value(Figure::Length(depth), None);
    if depth > severe {
        Some(Grade::Fail)
    } else if named == Grade::Fail || depth >= case.policy.scoring_advise.value {
        Some(named)
    } else {
        None
    }
}

/// Scoring deeper than this fails (own). Policy may ask for more before it does, never for less: a
/// policy makes nothing fail.
const SEVERE: Length = Length::from_nm(1_500_000);

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
