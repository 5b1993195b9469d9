//! What was looked at or felt.

use super::Urgency;
use super::case::Case;
use super::decide::Draft;
use super::defect::{self, Grade};
use super::finding::Finding;
use crate::job::{Item, Kind, Observation, Phase, Place};
use crate::measure::conformity::Proof;

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
        match known.map_or(Grade::Fail, |defect| defect.grade) {
            Grade::Advise => draft.advise(reason, Urgency::Watch),
            Grade::Fail => draft.fail(reason, false),
            Grade::Stop => draft.fail(reason, true),
        }
    }
    Some(draft.finish())
}
