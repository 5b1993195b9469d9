//! The stage `revisions`: does the record name the revision that lies before it.

use super::super::freeze::ReadRecord;
use super::{Before, Verification};

pub(super) fn check_revisions(found: &mut Verification, record: &ReadRecord, before: Before<'_>) {
    let named = record.previous_revision.as_str();
    let short = |digest: &str| {
        digest
            .get(..12)
            .unwrap_or(digest)
            .escape_debug()
            .to_string()
    };
    let number = record.revision.saturating_sub(1);
    let result = match (record.revision, before) {
        (1, _) if named.is_empty() => Ok("the first revision".to_owned()),
        (1, _) => Err(format!(
            "the first revision names {}… before it",
            short(named)
        )),
        (_, Before::Is(digest)) if digest == named => {
            Ok(format!("follows revision {number}, {}…", short(named)))
        }
        (_, Before::Is(digest)) => Err(format!(
            "names {}… as revision {number}, which is {}…",
            short(named),
            short(digest)
        )),
        (_, Before::Missing) => Err(format!("revision {number}, {}…, is missing", short(named))),
        (_, Before::NotAtHand) => {
            let why = format!(
                "names {}… as revision {number}, which is not here",
                short(named)
            );
            found.skip("revisions", why);
            return;
        }
    };
    found.note("revisions", result);
}
