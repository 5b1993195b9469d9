//! The rows themselves: what the archive knows, and what is inserted, a batch in a transaction.

use std::collections::{HashMap, HashSet};

use postgres::{Client, Statement, Transaction};

use super::{Conflict, Digest, Known, New, RECORD, Seal, Trouble, Workshop, vehicles};
use crate::archive::derive::{DERIVED_BY, due_of, plain, word};
use crate::office::Summary;
use crate::record::canonical::hex;

/// Adds the workshop's name and register, if they changed.
pub(super) fn profile(
    client: &mut Client,
    shop: &str,
    workshop: &Workshop<'_>,
) -> Result<(), postgres::Error> {
    let (name, register) = (plain(workshop.name), plain(workshop.register));
    let last = client.query_opt(
        "SELECT name, register FROM brakecorner.workshop WHERE shop_id = $1 ORDER BY received_at DESC LIMIT 1",
        &[&shop],
    )?;
    let same =
        last.is_some_and(|row| row.get::<_, &str>(0) == name && row.get::<_, &str>(1) == register);
    if !same {
        client.execute(
            "INSERT INTO brakecorner.workshop (shop_id, name, register) VALUES ($1, $2, $3)",
            &[&shop, &name, &register],
        )?;
    }
    Ok(())
}

/// What is there of the shop.
pub(super) fn known(client: &mut Client, shop: &str) -> Result<Known, postgres::Error> {
    let records = client.query(
        "SELECT job_id, revision, digest FROM brakecorner.record WHERE shop_id = $1",
        &[&shop],
    )?;
    let seals = client.query(
        "SELECT digest, kind, sha256(body) FROM brakecorner.seal WHERE shop_id = $1",
        &[&shop],
    )?;
    Ok(Known {
        records: records
            .iter()
            .map(|row| ((row.get(0), row.get(1)), row.get(2)))
            .collect(),
        seals: seals
            .iter()
            .map(|row| ((row.get(0), row.get(1)), row.get(2)))
            .collect(),
    })
}

/// What a batch came to.
pub(super) struct Sent {
    pub(super) records: usize,
    pub(super) seals: usize,
    pub(super) conflicts: Vec<Conflict>,
}

/// The statements of one connection.
pub(super) struct Sender {
    shop: String,
    record: Statement,
    visit: Statement,
    verdicts: Statement,
    results: Statement,
    instruments: Statement,
    seals: Statement,
    visits_of: Statement,
    due_state: Statement,
    due: Statement,
}

/// `ON CONFLICT DO NOTHING` names no key: with one named, rows racing on another fail falsely.
const RECORDS: &str =
    "INSERT INTO brakecorner.record (shop_id, job_id, revision, digest, body, sig)
    SELECT $1, * FROM unnest($2::text[], $3::int[], $4::bytea[], $5::bytea[], $6::bytea[])
    ON CONFLICT DO NOTHING RETURNING digest";
const VISITS: &str = "INSERT INTO brakecorner.visit (shop_id, derived_by, digest, job_id, revision, vin, registration,
        opened_at, odometer_km, signed_at, signer, fingerprint, device, sequence, previous, stage, state, as_found,
        as_left, summary)
    SELECT $1, $2, * FROM unnest($3::bytea[], $4::text[], $5::int[], $6::text[], $7::text[], $8::timestamptz[],
        $9::bigint[], $10::timestamptz[], $11::text[], $12::text[], $13::text[], $14::bigint[], $15::text[],
        $16::text[], $17::text[], $18::text[], $19::text[], $20::text[])";
const VERDICTS: &str = "INSERT INTO brakecorner.item_verdict (shop_id, digest, n, place, item, phase, verdict, proof, urgency)
    SELECT $1, * FROM unnest($2::bytea[], $3::smallint[], $4::text[], $5::text[], $6::text[], $7::text[], $8::text[], $9::text[])";
const RESULTS: &str = "INSERT INTO brakecorner.result (shop_id, digest, n, place, item, phase, value, unit, limit_value, u, conformance_probability)
    SELECT $1, * FROM unnest($2::bytea[], $3::smallint[], $4::text[], $5::text[], $6::text[], $7::float8[], $8::text[], $9::float8[], $10::float8[], $11::float8[])";
const INSTRUMENTS: &str =
    "INSERT INTO brakecorner.instrument_use (shop_id, digest, instrument, uses)
    SELECT $1, * FROM unnest($2::bytea[], $3::text[], $4::int[])";
const SEALS: &str = "INSERT INTO brakecorner.seal (shop_id, digest, kind, body)
    SELECT $1, * FROM unnest($2::bytea[], $3::text[], $4::bytea[]) ON CONFLICT DO NOTHING";
/// Every record of some vehicles, and of each job's last one its summary.
const VISITS_OF: &str =
    "SELECT v.vin, v.digest, CASE WHEN NOT EXISTS (SELECT FROM brakecorner.visit l
        WHERE l.shop_id = $1 AND l.job_id = v.job_id AND l.revision > v.revision) THEN v.summary END
    FROM brakecorner.visit v WHERE v.shop_id = $1 AND v.vin = ANY ($2)
    ORDER BY v.job_id COLLATE \"C\", v.revision";
const DUE_STATES: &str =
    "INSERT INTO brakecorner.due_state (shop_id, derived_by, vin, known, digest)
    SELECT $1, $2, * FROM unnest($3::text[], $4::int[], $5::bytea[]) ON CONFLICT DO NOTHING";
const DUE: &str = "INSERT INTO brakecorner.due (shop_id, vin, known, n, kind, subject, vehicle, what, date, km, from_km, from_day, km_per_day, at_time, basis)
    SELECT $1, * FROM unnest($2::text[], $3::int[], $4::smallint[], $5::text[], $6::text[], $7::text[], $8::text[],
        $9::date[], $10::bigint[], $11::bigint[], $12::date[], $13::float8[], $14::text[], $15::text[])";

impl Sender {
    pub(super) fn new(client: &mut Client, shop: &str) -> Result<Self, postgres::Error> {
        Ok(Self {
            shop: shop.to_owned(),
            record: client.prepare(RECORDS)?,
            visit: client.prepare(VISITS)?,
            verdicts: client.prepare(VERDICTS)?,
            results: client.prepare(RESULTS)?,
            instruments: client.prepare(INSTRUMENTS)?,
            seals: client.prepare(SEALS)?,
            visits_of: client.prepare(VISITS_OF)?,
            due_state: client.prepare(DUE_STATES)?,
            due: client.prepare(DUE)?,
        })
    }

    /// Sends a batch, all or nothing.
    pub(super) fn send(
        &self,
        client: &mut Client,
        new: &[New],
        seals: &[Seal],
    ) -> Result<Sent, Trouble> {
        let mut work = client.transaction()?;
        let inserted = self.records(&mut work, new)?;
        let (taken, passed): (Vec<&New>, Vec<&New>) =
            new.iter().partition(|one| inserted.contains(&one.digest));
        let conflicts = self.conflicts(&mut work, &passed)?;
        if !taken.is_empty() {
            self.visits(&mut work, &taken)?;
            self.findings(&mut work, &taken)?;
            self.due(&mut work, &taken)?;
        }
        // What lies beside a record in conflict belongs to no record of the archive.
        let lost: HashSet<&str> = conflicts
            .iter()
            .map(|c: &Conflict| c.here.as_str())
            .collect();
        let seals: Vec<&Seal> = seals
            .iter()
            .filter(|seal| !lost.contains(hex(&seal.digest).as_str()))
            .collect();
        let sealed = self.seals(&mut work, &seals)?;
        work.commit()?;
        Ok(Sent {
            records: taken.len(),
            seals: usize::try_from(sealed).unwrap_or(0),
            conflicts,
        })
    }

    fn records(
        &self,
        work: &mut Transaction<'_>,
        new: &[New],
    ) -> Result<HashSet<Digest>, postgres::Error> {
        if new.is_empty() {
            return Ok(HashSet::new());
        }
        let jobs: Vec<&str> = new
            .iter()
            .map(|one| one.derived.visit.job_id.as_str())
            .collect();
        let revisions: Vec<i32> = new.iter().map(|one| one.derived.visit.revision).collect();
        let digests: Vec<&[u8]> = new.iter().map(|one| one.digest.as_slice()).collect();
        let bodies: Vec<&[u8]> = new.iter().map(|one| one.files.record.as_slice()).collect();
        let sigs: Vec<&[u8]> = new
            .iter()
            .map(|one| one.files.signature.as_deref().unwrap_or_default())
            .collect();
        let rows = work.query(
            &self.record,
            &[&self.shop, &jobs, &revisions, &digests, &bodies, &sigs],
        )?;
        Ok(rows.iter().map(|row| row.get(0)).collect())
    }

    /// Of those that were there when their turn came: which are others under the same name.
    fn conflicts(
        &self,
        work: &mut Transaction<'_>,
        passed: &[&New],
    ) -> Result<Vec<Conflict>, postgres::Error> {
        if passed.is_empty() {
            return Ok(Vec::new());
        }
        let jobs: Vec<&str> = passed
            .iter()
            .map(|one| one.derived.visit.job_id.as_str())
            .collect();
        let rows = work.query(
            "SELECT job_id, revision, digest FROM brakecorner.record WHERE shop_id = $1 AND job_id = ANY ($2)",
            &[&self.shop, &jobs],
        )?;
        let stored: HashMap<(String, i32), Digest> = rows
            .iter()
            .map(|row| ((row.get(0), row.get(1)), row.get(2)))
            .collect();
        let conflict = |one: &&&New| {
            let visit = &one.derived.visit;
            let there = stored.get(&(visit.job_id.clone(), visit.revision))?;
            (*there != one.digest).then(|| Conflict {
                job: one.candidate.job.clone(),
                revision: one.candidate.revision,
                what: RECORD,
                here: hex(&one.digest),
                there: hex(there),
            })
        };
        Ok(passed.iter().filter_map(|one| conflict(&one)).collect())
    }

    fn visits(&self, work: &mut Transaction<'_>, new: &[&New]) -> Result<(), postgres::Error> {
        macro_rules! column {
            ($($field:tt)+) => { new.iter().map(|one| &one.$($field)+).collect::<Vec<_>>() };
        }
        let stages: Vec<&str> = new.iter().map(|one| one.derived.visit.stage).collect();
        work.execute(
            &self.visit,
            &[
                &self.shop,
                &DERIVED_BY,
                &column!(digest),
                &column!(derived.visit.job_id),
                &column!(derived.visit.revision),
                &column!(derived.visit.vin),
                &column!(derived.visit.registration),
                &column!(derived.visit.opened_at),
                &column!(derived.visit.odometer_km),
                &column!(derived.visit.signed_at),
                &column!(derived.visit.signer),
                &column!(derived.visit.fingerprint),
                &column!(derived.visit.device),
                &column!(derived.visit.sequence),
                &column!(derived.visit.previous),
                &stages,
                &column!(derived.visit.state),
                &column!(derived.visit.as_found),
                &column!(derived.visit.as_left),
                &column!(derived.visit.summary),
            ],
        )?;
        Ok(())
    }

    fn findings(&self, work: &mut Transaction<'_>, new: &[&New]) -> Result<(), postgres::Error> {
        let verdicts: Vec<_> = new
            .iter()
            .flat_map(|one| {
                one.derived
                    .verdicts
                    .iter()
                    .map(move |row| (&one.digest, row))
            })
            .collect();
        macro_rules! column {
            ($rows:ident, $field:ident) => {
                $rows.iter().map(|(_, row)| &row.$field).collect::<Vec<_>>()
            };
        }
        let digests: Vec<&Digest> = verdicts.iter().map(|(digest, _)| *digest).collect();
        work.execute(
            &self.verdicts,
            &[
                &self.shop,
                &digests,
                &column!(verdicts, n),
                &column!(verdicts, place),
                &column!(verdicts, item),
                &column!(verdicts, phase),
                &column!(verdicts, verdict),
                &column!(verdicts, proof),
                &column!(verdicts, urgency),
            ],
        )?;
        let results: Vec<_> = new
            .iter()
            .flat_map(|one| {
                one.derived
                    .results
                    .iter()
                    .map(move |row| (&one.digest, row))
            })
            .collect();
        let digests: Vec<&Digest> = results.iter().map(|(digest, _)| *digest).collect();
        work.execute(
            &self.results,
            &[
                &self.shop,
                &digests,
                &column!(results, n),
                &column!(results, place),
                &column!(results, item),
                &column!(results, phase),
                &column!(results, value),
                &column!(results, unit),
                &column!(results, limit),
                &column!(results, u),
                &column!(results, probability),
            ],
        )?;
        let uses: Vec<_> = new
            .iter()
            .flat_map(|one| {
                one.derived
                    .instruments
                    .iter()
                    .map(move |row| (&one.digest, row))
            })
            .collect();
        let digests: Vec<&Digest> = uses.iter().map(|(digest, _)| *digest).collect();
        let ids: Vec<&String> = uses.iter().map(|(_, (id, _))| id).collect();
        let counts: Vec<i32> = uses.iter().map(|(_, (_, count))| *count).collect();
        work.execute(&self.instruments, &[&self.shop, &digests, &ids, &counts])?;
        Ok(())
    }

    fn seals(&self, work: &mut Transaction<'_>, seals: &[&Seal]) -> Result<u64, postgres::Error> {
        if seals.is_empty() {
            return Ok(0);
        }
        let digests: Vec<&Digest> = seals.iter().map(|seal| &seal.digest).collect();
        let kinds: Vec<&str> = seals.iter().map(|seal| seal.kind).collect();
        let bodies: Vec<&[u8]> = seals.iter().map(|seal| seal.body.as_slice()).collect();
        work.execute(&self.seals, &[&self.shop, &digests, &kinds, &bodies])
    }

    /// What is due of the vehicles these records are of, with everything known of them now. The
    /// count of a vehicle's records is the key: two computers that add to the same vehicle at the
    /// same moment cannot both be right, and the later begins again.
    fn due(&self, work: &mut Transaction<'_>, new: &[&New]) -> Result<(), Trouble> {
        let vins = vehicles(new.iter().copied());
        let mut counts: HashMap<String, i32> = HashMap::new();
        let mut last: HashMap<String, Digest> = HashMap::new();
        let mut by_vehicle: HashMap<String, Vec<Summary>> = HashMap::new();
        for row in work.query(&self.visits_of, &[&self.shop, &vins])? {
            let vin: String = row.get(0);
            *counts.entry(vin.clone()).or_default() += 1;
            last.insert(vin.clone(), row.get(1));
            let summary: Option<&str> = row.get(2);
            if let Some(summary) = summary.and_then(|text| serde_json::from_str(text).ok()) {
                by_vehicle.entry(vin).or_default().push(summary);
            }
        }
        let (mut known, mut digests) = (Vec::new(), Vec::new());
        let (mut keys, mut rows) = (Vec::new(), Vec::new());
        for vin in &vins {
            let count = counts.get(*vin).copied().unwrap_or_default();
            known.push(count);
            digests.push(last.get(*vin).cloned().unwrap_or_default());
            let due = due_of(&by_vehicle.remove(*vin).unwrap_or_default());
            for (n, row) in (0..=i16::MAX).zip(due) {
                keys.push((*vin, count, n));
                rows.push(row);
            }
        }
        let states = work.execute(
            &self.due_state,
            &[&self.shop, &DERIVED_BY, &vins, &known, &digests],
        )?;
        if states != vins.len() as u64 {
            return Err(Trouble::Raced);
        }
        if rows.is_empty() {
            return Ok(());
        }
        macro_rules! column {
            ($field:ident) => {
                rows.iter().map(|row| &row.$field).collect::<Vec<_>>()
            };
        }
        let kinds: Vec<String> = rows.iter().map(|row| word(&row.kind)).collect();
        let from_km: Vec<_> = rows.iter().map(|row| row.from.map(|from| from.0)).collect();
        let from_day: Vec<_> = rows.iter().map(|row| row.from.map(|from| from.1)).collect();
        let paces: Vec<_> = rows.iter().map(|row| row.from.map(|from| from.2)).collect();
        let times: Vec<Option<String>> = rows
            .iter()
            .map(|row| row.time.map(|time| time.to_rfc3339()))
            .collect();
        work.execute(
            &self.due,
            &[
                &self.shop,
                &keys.iter().map(|key| key.0).collect::<Vec<_>>(),
                &keys.iter().map(|key| key.1).collect::<Vec<_>>(),
                &keys.iter().map(|key| key.2).collect::<Vec<_>>(),
                &kinds,
                &column!(subject),
                &column!(vehicle),
                &column!(what),
                &column!(date),
                &column!(km),
                &from_km,
                &from_day,
                &paces,
                &times,
                &column!(basis),
            ],
        )?;
        Ok(())
    }
}
