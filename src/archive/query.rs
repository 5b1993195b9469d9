//! What the desk asks of the archive. Rows are fetched here; the same functions that answer for a
//! folder then answer for them.

use std::collections::{BTreeMap, HashSet};

use chrono::{DateTime, FixedOffset, NaiveDate, Utc};
use postgres::fallible_iterator::FallibleIterator as _;
use serde::Serialize;

use super::ArchiveError;
use super::connect::Archive;
use super::derive::{DERIVED_BY, bare};
use crate::job::Register;
use crate::office::Summary;
use crate::office::due::{self, DueRow, Standing, Visit, Within};
use crate::record::canonical::hex;

/// A shop of the archive.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct ShopRow {
    /// Its id.
    pub shop: String,
    /// The workshop's name.
    pub name: String,
    /// Records held.
    pub records: i64,
    /// When the last was received.
    pub last_received: Option<DateTime<Utc>>,
}

/// Every shop this role may see.
///
/// # Errors
/// [`ArchiveError`] of the server.
pub fn shops(archive: &mut Archive) -> Result<Vec<ShopRow>, ArchiveError> {
    let names = names(archive)?;
    let rows = archive.ask(
        "SELECT shop_id, count(*), max(received_at) FROM brakecorner.record GROUP BY shop_id ORDER BY shop_id",
        &[],
    )?;
    Ok(rows
        .iter()
        .map(|row| {
            let shop: String = row.get(0);
            ShopRow {
                name: names
                    .get(&shop)
                    .map(|one| one.name.clone())
                    .unwrap_or_default(),
                shop,
                records: row.get(1),
                last_received: row.get(2),
            }
        })
        .collect())
}

/// The records of one shop with their digests.
///
/// # Errors
/// [`ArchiveError`] of the server.
pub fn records_of(
    archive: &mut Archive,
    shop: &str,
) -> Result<BTreeMap<(String, u32), String>, ArchiveError> {
    let rows = archive.ask(
        "SELECT job_id, revision, digest FROM brakecorner.record WHERE shop_id = $1",
        &[&shop],
    )?;
    Ok(rows
        .iter()
        .filter_map(|row| {
            let revision = u32::try_from(row.get::<_, i32>(1)).ok()?;
            Some(((row.get(0), revision), hex(row.get::<_, &[u8]>(2))))
        })
        .collect())
}

/// A workshop as it last named itself.
#[derive(Clone, Debug)]
pub struct Profile {
    /// Its name; with the shop's id where two have the same.
    pub name: String,
    /// Its register of instruments.
    pub register: Register,
}

/// The workshops by their shop's id.
///
/// # Errors
/// [`ArchiveError`] of the server, or [`ArchiveError::Stored`] for a register that does not read.
pub fn profiles(archive: &mut Archive) -> Result<BTreeMap<String, Profile>, ArchiveError> {
    let mut all = BTreeMap::new();
    for (shop, one) in names(archive)? {
        let register = Register::parse(&one.register).map_err(|error| ArchiveError::Stored {
            place: format!("the instruments of shop {shop}"),
            why: error.to_string(),
        })?;
        all.insert(
            shop,
            Profile {
                name: one.name,
                register,
            },
        );
    }
    Ok(all)
}

struct Name {
    name: String,
    register: String,
}

fn names(archive: &mut Archive) -> Result<BTreeMap<String, Name>, ArchiveError> {
    let rows = archive.ask(
        "SELECT DISTINCT ON (shop_id) shop_id, name, register FROM brakecorner.workshop
         ORDER BY shop_id, received_at DESC",
        &[],
    )?;
    let mut known: HashSet<String> = HashSet::new();
    let mut all = BTreeMap::new();
    for row in rows {
        let shop: String = row.get(0);
        let mut name: String = row.get(1);
        if !known.insert(name.clone()) {
            name = format!("{name} ({shop})");
        }
        all.insert(
            shop,
            Name {
                name,
                register: row.get(2),
            },
        );
    }
    Ok(all)
}

/// Only the last revision of a job speaks.
const LAST: &str = "NOT EXISTS (SELECT FROM brakecorner.visit l
    WHERE l.shop_id = v.shop_id AND l.job_id = v.job_id AND l.revision > v.revision)";

/// Which visits are wanted.
#[derive(Clone, Copy, Debug)]
pub enum Wanted<'a> {
    /// All of them.
    All,
    /// Those of the vehicle with this VIN or registration.
    Vehicle(&'a str),
    /// Those of the vehicles with these VINs, without blanks and hyphens and in capitals.
    Vins(&'a [String]),
}

/// Reads visits: of each job its last revision, in order of shop and job.
///
/// # Errors
/// [`ArchiveError`] of the server, or [`ArchiveError::Stored`] for a summary that does not read.
pub fn visits(
    archive: &mut Archive,
    wanted: Wanted<'_>,
    profiles: &BTreeMap<String, Profile>,
) -> Result<Vec<Visit>, ArchiveError> {
    let order = "ORDER BY v.shop_id COLLATE \"C\", v.job_id COLLATE \"C\"";
    let select = "SELECT v.shop_id, v.job_id, v.summary FROM brakecorner.visit v WHERE";
    let name;
    let (sql, params): (String, Vec<&(dyn postgres::types::ToSql + Sync)>) = match &wanted {
        Wanted::All => (format!("{select} {LAST} {order}"), Vec::new()),
        Wanted::Vehicle(text) => {
            name = bare(text);
            let sql = format!(
                "{select} (v.vin = $1 OR (v.registration = $1 AND v.registration <> '')) AND {LAST} {order}"
            );
            (sql, vec![&name])
        }
        Wanted::Vins(vins) => (
            format!("{select} v.vin = ANY ($1) AND {LAST} {order}"),
            vec![vins],
        ),
    };
    let mut visits = Vec::new();
    archive.each(&sql, &params, |row| {
        let shop: String = row.get(0);
        let summary: Summary =
            serde_json::from_str(row.get(2)).map_err(|error| ArchiveError::Stored {
                place: format!("shop {shop}, job {}", row.get::<_, &str>(1)),
                why: error.to_string(),
            })?;
        let name = profiles.get(&shop).map_or(shop, |one| one.name.clone());
        visits.push(Visit {
            shop: name,
            summary,
        });
        Ok(())
    })?;
    Ok(visits)
}

/// What is due, as `due` answers for folders: from the rows stored with the records, but for the
/// vehicles seen at several shops, whose visits are read together.
///
/// # Errors
/// [`ArchiveError`] of the server.
pub fn due(
    archive: &mut Archive,
    within: Option<Within>,
    now: DateTime<FixedOffset>,
) -> Result<Vec<DueRow>, ArchiveError> {
    let profiles = profiles(archive)?;
    let today = now.date_naive();
    let together = seen_at_several(archive)?;
    let mut rows = stored(archive, within, now, &profiles, &together)?;
    if !together.is_empty() {
        let vins: Vec<String> = together.into_iter().collect();
        let visits = visits(archive, Wanted::Vins(&vins), &profiles)?;
        rows.extend(due::due(&visits, &[], now));
    }
    let registers: Vec<(String, Register)> = profiles
        .into_values()
        .map(|profile| (profile.name, profile.register))
        .collect();
    rows.extend(due::due(&[], &registers, now));
    if let Some(within) = within {
        rows.retain(|row| due::inside(row, within, today));
    }
    due::rank(&mut rows);
    Ok(rows)
}

/// Vehicles whose due rows must be made from all their visits: seen at several shops, or derived by
/// another version.
fn seen_at_several(archive: &mut Archive) -> Result<HashSet<String>, ArchiveError> {
    let rows = archive.ask(
        "SELECT vin FROM brakecorner.due_state GROUP BY vin
         HAVING min(shop_id) <> max(shop_id) OR min(derived_by) <> $1 OR max(derived_by) <> $1",
        &[&DERIVED_BY],
    )?;
    Ok(rows.iter().map(|row| row.get(0)).collect())
}

fn stored(
    archive: &mut Archive,
    within: Option<Within>,
    now: DateTime<FixedOffset>,
    profiles: &BTreeMap<String, Profile>,
    without: &HashSet<String>,
) -> Result<Vec<DueRow>, ArchiveError> {
    let today = now.date_naive();
    // A call's day depends on where the clock stands; a day more does no harm, `inside` is exact.
    let until: Option<NaiveDate> = match within {
        Some(Within::Days(days)) => today.checked_add_days(chrono::Days::new(u64::from(days) + 1)),
        _ => None,
    };
    let near = if until.is_some() {
        "d.date <= $1 AND"
    } else {
        ""
    };
    let sql = format!(
        "SELECT d.shop_id, d.vin, d.kind, d.subject, d.vehicle, d.what, d.date, d.km, d.from_km, d.from_day,
                d.km_per_day, d.at_time, d.basis
         FROM brakecorner.due d
         WHERE {near} NOT EXISTS (SELECT FROM brakecorner.due_state l
             WHERE l.shop_id = d.shop_id AND l.vin = d.vin AND l.known > d.known)"
    );
    let params: Vec<&(dyn postgres::types::ToSql + Sync)> = match &until {
        Some(until) => vec![until],
        None => Vec::new(),
    };
    let mut rows = Vec::new();
    archive.each(&sql, &params, |row| {
        if !without.contains(row.get::<_, &str>(1)) {
            rows.push(due_row(row, now, profiles)?);
        }
        Ok(())
    })?;
    Ok(rows)
}

fn due_row(
    row: &postgres::Row,
    now: DateTime<FixedOffset>,
    profiles: &BTreeMap<String, Profile>,
) -> Result<DueRow, ArchiveError> {
    let shop: String = row.get(0);
    let subject: String = row.get(3);
    let stored = |why: &str| ArchiveError::Stored {
        place: format!("shop {shop}, job {subject}"),
        why: why.to_owned(),
    };
    let kind =
        serde_json::from_value(row.get::<_, &str>(2).into()).map_err(|_| stored("no such kind"))?;
    let time = match row.get::<_, Option<&str>>(11) {
        None => None,
        Some(text) => Some(DateTime::parse_from_rfc3339(text).map_err(|_| stored("no time"))?),
    };
    let from = row
        .get::<_, Option<i64>>(8)
        .zip(row.get::<_, Option<NaiveDate>>(9));
    let standing = Standing {
        kind,
        vehicle: row.get(4),
        what: row.get(5),
        date: row.get(6),
        km: row.get(7),
        from: from
            .zip(row.get::<_, Option<f64>>(10))
            .map(|((km, day), km_per_day)| (km, day, km_per_day)),
        time,
        basis: row.get(12),
        subject,
    };
    let name = profiles
        .get(&shop)
        .map_or(shop.as_str(), |one| one.name.as_str());
    Ok(standing.on(name, now))
}

/// The last records of the jobs an instrument was used in, as they were signed, in order of job.
///
/// # Errors
/// [`ArchiveError`] of the server.
pub fn records_with(
    archive: &mut Archive,
    shop: &str,
    instrument: &str,
    mut each: impl FnMut(&str, &[u8]) -> Result<(), ArchiveError>,
) -> Result<(), ArchiveError> {
    let sql = format!(
        "SELECT v.job_id, r.body FROM brakecorner.visit v
         JOIN brakecorner.record r ON r.shop_id = v.shop_id AND r.digest = v.digest
         JOIN brakecorner.instrument_use u ON u.shop_id = v.shop_id AND u.digest = v.digest
         WHERE v.shop_id = $1 AND u.shop_id = $1 AND r.shop_id = $1 AND u.instrument = $2 AND {LAST}
         ORDER BY v.job_id COLLATE \"C\""
    );
    archive.each(&sql, &[&shop, &instrument], |row| {
        each(row.get(0), row.get(1))
    })
}

impl Archive {
    /// Asks for rows.
    ///
    /// # Errors
    /// [`ArchiveError`] of the server.
    pub(super) fn ask(
        &mut self,
        sql: &str,
        params: &[&(dyn postgres::types::ToSql + Sync)],
    ) -> Result<Vec<postgres::Row>, ArchiveError> {
        match self.client.query(sql, params) {
            Ok(rows) => Ok(rows),
            Err(error) => Err(self.with_missing(&error)),
        }
    }

    /// Asks for rows one by one, so that any number of them takes the same memory.
    ///
    /// # Errors
    /// [`ArchiveError`] of the server, or what `each` says.
    pub(super) fn each(
        &mut self,
        sql: &str,
        params: &[&(dyn postgres::types::ToSql + Sync)],
        mut each: impl FnMut(&postgres::Row) -> Result<(), ArchiveError>,
    ) -> Result<(), ArchiveError> {
        let asked = self.client.query_raw(sql, params.iter().copied());
        let mut wrong = None;
        let result = asked.and_then(|mut rows| {
            while let Some(row) = rows.next()? {
                if let Err(error) = each(&row) {
                    wrong = Some(error);
                    break;
                }
            }
            Ok(())
        });
        match (wrong, result) {
            (Some(error), _) => Err(error),
            (None, Ok(())) => Ok(()),
            (None, Err(error)) => Err(self.with_missing(&error)),
        }
    }

    /// An error in words; when a server behind head office's is down, with what is missing.
    fn with_missing(&mut self, error: &postgres::Error) -> ArchiveError {
        let ArchiveError::PartMissing { why, .. } = self.words(error) else {
            return self.words(error);
        };
        let named = why.split('"').nth(1).unwrap_or_default().to_owned();
        let missing = self
            .shops_on(&named)
            .unwrap_or_else(|_| "its shops".to_owned());
        ArchiveError::PartMissing { why, missing }
    }

    /// The shops of a server, as far as they were noted here.
    fn shops_on(&mut self, server: &str) -> Result<String, postgres::Error> {
        let rows = self.client.query(
            "SELECT s.shop_id FROM brakecorner.shop s, brakecorner.layout l WHERE l.server = $1
             AND satisfies_hash_partition('brakecorner.record'::regclass, l.modulus, l.remainder, s.shop_id)
             ORDER BY 1",
            &[&server],
        )?;
        let names: Vec<String> = rows.iter().map(|row| row.get(0)).collect();
        if !names.is_empty() {
            return Ok(format!("shops {} on server `{server}`", names.join(", ")));
        }
        let rows = self.client.query(
            "SELECT remainder::text FROM brakecorner.layout WHERE server = $1 ORDER BY remainder",
            &[&server],
        )?;
        let parts: Vec<String> = rows.iter().map(|row| row.get(0)).collect();
        Ok(format!(
            "the shops of parts {} on server `{server}`",
            parts.join(", ")
        ))
    }
}
