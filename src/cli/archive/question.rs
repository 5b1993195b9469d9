//! What `due`, `history` and `instrument recall` ask of an archive instead of folders.

use std::sync::Arc;

use chrono::{DateTime, FixedOffset};

use super::{failure, open};
use crate::archive::query::{self, Wanted};
use crate::archive::{ArchiveError, derive};
use crate::cli::World;
use crate::cli::error::{Failure, Hint as _};
use crate::cli::instrument::recall::{Held, Source};
use crate::office::due::{DueRow, Visit, Within};
use crate::record::canonical::sha256_hex;
use crate::record::freeze::ReadRecord;
use crate::record::specs_cache::SpecsCache;

/// Every row that is due.
pub(in crate::cli) fn due(
    url: &str,
    within: Option<Within>,
    now: DateTime<FixedOffset>,
    world: &World<'_>,
) -> Result<Vec<DueRow>, Failure> {
    let mut archive = open(url, world)?;
    query::due(&mut archive, within, now).map_err(failure)
}

/// The visits of a vehicle, or of all.
pub(in crate::cli) fn visits(
    url: &str,
    vehicle: Option<&str>,
    world: &World<'_>,
) -> Result<Vec<Visit>, Failure> {
    let mut archive = open(url, world)?;
    let profiles = query::profiles(&mut archive).map_err(failure)?;
    let wanted = vehicle.map_or(Wanted::All, Wanted::Vehicle);
    query::visits(&mut archive, wanted, &profiles).map_err(failure)
}

/// The jobs an instrument was used in, as they were signed.
pub(in crate::cli) fn recall(
    url: &str,
    instrument: &str,
    of: Option<&str>,
    world: &World<'_>,
) -> Result<Source, Failure> {
    let mut archive = open(url, world)?;
    let profiles = query::profiles(&mut archive).map_err(failure)?;
    let having: Vec<&String> = profiles
        .iter()
        .filter(|(shop, profile)| {
            of.map_or(profile.register.get(instrument).is_some(), |of| of == *shop)
        })
        .map(|(shop, _)| shop)
        .collect();
    let shop = match having.as_slice() {
        [one] => (*one).clone(),
        [] => {
            let shops: Vec<&str> = profiles.keys().map(String::as_str).collect();
            return Err(Failure::from(match of {
                Some(of) => format!("the archive knows no shop `{}`", of.escape_debug()),
                None => format!("`{}` is in no shop's register", instrument.escape_debug()),
            }))
            .hint(format!("shops: {}", shops.join(", ")));
        }
        several => {
            let names: Vec<&str> = several.iter().map(|shop| shop.as_str()).collect();
            return Err(Failure::from(format!(
                "`{}` is an instrument of several shops: {}",
                instrument.escape_debug(),
                names.join(", ")
            )))
            .hint("name the one that is meant with `--of ID`");
        }
    };
    let register = profiles
        .get(&shop)
        .map(|profile| profile.register.clone())
        .unwrap_or_default();
    // As in the folder: judged by the register as it is.
    let plain = Arc::new(register.for_judging());
    let cache = SpecsCache::default();
    let (mut jobs, mut unread) = (Vec::new(), Vec::new());
    let each = |job: &str, body: &[u8]| -> Result<(), ArchiveError> {
        match held(body, &plain, &cache) {
            Ok(held) => jobs.push((job.to_owned(), held)),
            Err(why) => unread.push((job.to_owned(), why)),
        }
        Ok(())
    };
    query::records_with(&mut archive, &shop, instrument, each).map_err(failure)?;
    Ok(Source {
        register,
        jobs,
        unread,
    })
}

fn held(
    body: &[u8],
    register: &Arc<crate::job::Register>,
    cache: &SpecsCache,
) -> Result<Held, String> {
    let record: ReadRecord = serde_json::from_slice(body).map_err(|error| error.to_string())?;
    // The cache believes digests: they are compared with their texts first.
    let honest = |snapshot: &crate::record::freeze::Snapshot| {
        sha256_hex(snapshot.text.as_bytes()) == snapshot.sha256
    };
    if !record.specifications.all().all(honest) {
        return Err("a specification is not the text its digest names".to_owned());
    }
    let journal = record.journal();
    if let Some(damage) = &journal.damage {
        return Err(damage.to_string());
    }
    let mut job = journal.fold();
    derive::signed(&mut job, &record, &sha256_hex(body));
    Ok(Held {
        job,
        specs: cache
            .read(&record.specifications)
            .map_err(|error| error.to_string())?,
        register: Arc::clone(register),
    })
}
