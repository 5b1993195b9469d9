//! The archive's tables: made, and brought forward version by version; never back.

use postgres::Transaction;

use super::connect::Archive;
use super::{ArchiveError, target::Target};

/// The version of the tables this program uses.
pub const VERSION: i32 = 3;

/// Parts the shops are divided into, unless asked otherwise: twelve divide evenly among two, three,
/// four or six servers later.
pub const PARTS: i32 = 12;

/// The tables that are divided by shop, each named once.
pub const DIVIDED: [&str; 9] = [
    "record",
    "seal",
    "workshop",
    "visit",
    "item_verdict",
    "result",
    "instrument_use",
    "due_state",
    "due",
];

/// Which parts of the shops a server holds.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Layout {
    /// Into how many parts shops are divided.
    pub parts: i32,
    /// The parts that lie here.
    pub here: Vec<i32>,
    /// Head office's server: the parts of each of these servers are read from there.
    pub leaves: Vec<Leaf>,
}

/// A server that head office reads from.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Leaf {
    /// Its name in the archive.
    pub name: String,
    /// How it is reached; no password.
    pub address: LeafAddress,
    /// The parts that lie there.
    pub parts: Vec<i32>,
}

/// Where a leaf is.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct LeafAddress {
    /// Host.
    pub host: String,
    /// Port.
    pub port: u16,
    /// Database.
    pub database: String,
    /// Whether it is another computer, so that its certificate is checked.
    pub verify: bool,
}

impl From<&Target> for LeafAddress {
    fn from(target: &Target) -> Self {
        Self {
            host: target.host.clone(),
            port: target.port,
            database: target.database.clone(),
            verify: target.protection == super::target::Protection::VerifyFull,
        }
    }
}

impl Layout {
    /// One server that holds every shop.
    #[must_use]
    pub fn single(parts: i32) -> Self {
        Self {
            parts,
            here: (0..parts).collect(),
            leaves: Vec::new(),
        }
    }

    fn check(&self) -> Result<(), ArchiveError> {
        let wrong = |what: String| Err(ArchiveError::Address(what));
        if !(1..=1024).contains(&self.parts) {
            return wrong(format!(
                "is given {} parts; from 1 to 1024 are possible",
                self.parts
            ));
        }
        let all = self
            .here
            .iter()
            .chain(self.leaves.iter().flat_map(|leaf| &leaf.parts));
        let mut seen = std::collections::BTreeSet::new();
        for part in all {
            if !(0..self.parts).contains(part) {
                return wrong(format!(
                    "is given part {part}; they count from 0 to {}",
                    self.parts - 1
                ));
            }
            if !seen.insert(part) {
                return wrong(format!("is given part {part} twice"));
            }
        }
        Ok(())
    }
}

/// The version of the tables; `None` if there is no archive.
///
/// # Errors
/// [`ArchiveError`] of the server.
pub fn version(archive: &mut Archive) -> Result<Option<i32>, ArchiveError> {
    let there = archive
        .client
        .query_one(
            "SELECT to_regclass('brakecorner.schema_version') IS NOT NULL",
            &[],
        )
        .map_err(|error| archive.words(&error))?;
    if !there.get::<_, bool>(0) {
        return Ok(None);
    }
    let row = archive
        .client
        .query_one("SELECT max(version) FROM brakecorner.schema_version", &[])
        .map_err(|error| archive.words(&error))?;
    Ok(row.get(0))
}

/// What bringing an archive forward did.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Migrated {
    /// The version before; `None` if there was no archive.
    pub before: Option<i32>,
    /// The version now.
    pub now: i32,
}

/// Makes the archive, or brings it forward to this program's version, in one transaction.
///
/// # Errors
/// [`ArchiveError::Version`] if it is newer than this program; [`ArchiveError::Permission`] if the
/// role may not make tables.
pub fn migrate(archive: &mut Archive, layout: &Layout) -> Result<Migrated, ArchiveError> {
    migrate_to(archive, layout, VERSION)
}

/// As [`migrate`], to an earlier version: for tests of the way from each.
///
/// # Errors
/// As [`migrate`].
pub fn migrate_to(
    archive: &mut Archive,
    layout: &Layout,
    wanted: i32,
) -> Result<Migrated, ArchiveError> {
    layout.check()?;
    let before = version(archive)?;
    if let Some(found) = before.filter(|found| *found > wanted) {
        return Err(ArchiveError::Version { found, wanted });
    }
    if before != Some(wanted) {
        let steps = (before.unwrap_or(0) + 1)..=wanted;
        let done = forward(&mut archive.client, layout, steps);
        done.map_err(|error| archive.words(&error))?;
    }
    Ok(Migrated {
        before,
        now: wanted,
    })
}

fn forward(
    client: &mut postgres::Client,
    layout: &Layout,
    steps: std::ops::RangeInclusive<i32>,
) -> Result<(), postgres::Error> {
    let mut work = client.transaction()?;
    // Two owners at once: one waits, then finds the work done and fails without harm.
    work.execute(
        "SELECT pg_advisory_xact_lock(hashtext('brakecorner.schema'))",
        &[],
    )?;
    for step in steps {
        match step {
            1 => first(&mut work, layout)?,
            2 => work.batch_execute(include_str!("schema/2.sql"))?,
            3 => work.batch_execute(include_str!("schema/3.sql"))?,
            _ => {}
        }
        work.execute(
            "INSERT INTO brakecorner.schema_version (version, program) VALUES ($1, $2)",
            &[&step, &concat!("brakecorner ", env!("CARGO_PKG_VERSION"))],
        )?;
    }
    work.commit()
}

fn first(work: &mut Transaction<'_>, layout: &Layout) -> Result<(), postgres::Error> {
    for role in ["brakecorner_shop", "brakecorner_office"] {
        make_role(work, role, "NOLOGIN")?;
    }
    work.batch_execute(include_str!("schema/1-tables.sql"))?;
    if layout.leaves.is_empty() {
        work.batch_execute(include_str!("schema/1-keys.sql"))?;
    } else {
        work.batch_execute("CREATE EXTENSION IF NOT EXISTS postgres_fdw")?;
    }
    for part in &layout.here {
        partition(work, layout.parts, *part, None)?;
    }
    for leaf in &layout.leaves {
        server(work, leaf)?;
        for part in &leaf.parts {
            partition(work, layout.parts, *part, Some(&leaf.name))?;
        }
    }
    work.batch_execute(include_str!("schema/1-after.sql"))
}

fn make_role(work: &mut Transaction<'_>, role: &str, kind: &str) -> Result<bool, postgres::Error> {
    let there = work.query_one(
        "SELECT EXISTS (SELECT FROM pg_roles WHERE rolname = $1)",
        &[&role],
    )?;
    if there.get(0) {
        return Ok(false);
    }
    // Roles belong to all databases of a server: another may be made an archive at this moment.
    work.batch_execute(&format!(
        "DO $made$ BEGIN CREATE ROLE {} {kind}; EXCEPTION WHEN duplicate_object OR unique_violation THEN NULL; END $made$",
        name(&role.replace("$made$", ""))
    ))?;
    Ok(true)
}

fn server(work: &mut Transaction<'_>, leaf: &Leaf) -> Result<(), postgres::Error> {
    let address = &leaf.address;
    let verify = if address.verify {
        ", sslmode 'verify-full'"
    } else {
        ""
    };
    work.batch_execute(&format!(
        "CREATE SERVER {} FOREIGN DATA WRAPPER postgres_fdw OPTIONS (host {}, port '{}', dbname {}, async_capable 'true', fetch_size '10000', updatable 'false'{verify})",
        name(&leaf.name),
        literal(&address.host),
        address.port,
        literal(&address.database),
    ))
}

fn partition(
    work: &mut Transaction<'_>,
    parts: i32,
    part: i32,
    server: Option<&str>,
) -> Result<(), postgres::Error> {
    for table in DIVIDED {
        let (kind, source) = match server {
            None => ("", String::new()),
            Some(server) => (
                "FOREIGN ",
                format!(
                    " SERVER {} OPTIONS (schema_name 'brakecorner', table_name '{table}_{part}', updatable 'false')",
                    name(server)
                ),
            ),
        };
        work.batch_execute(&format!(
            "CREATE {kind}TABLE brakecorner.{table}_{part} PARTITION OF brakecorner.{table} FOR VALUES WITH (MODULUS {parts}, REMAINDER {part}){source}"
        ))?;
    }
    work.execute(
        "INSERT INTO brakecorner.layout (modulus, remainder, server) VALUES ($1, $2, $3)",
        &[&parts, &part, &server.unwrap_or_default()],
    )?;
    Ok(())
}

/// A name in SQL.
fn name(text: &str) -> String {
    format!("\"{}\"", text.replace('\0', "").replace('"', "\"\""))
}

/// A text in SQL.
fn literal(text: &str) -> String {
    format!(
        "E'{}'",
        text.replace('\0', "")
            .replace('\\', "\\\\")
            .replace('\'', "''")
    )
}

/// Enrols a role for a shop; makes the role, without a password, if it does not exist. Returns
/// whether it was made.
///
/// # Errors
/// [`ArchiveError::Address`] for an id that is none, or a role that is another shop's;
/// [`ArchiveError::Permission`] if this role may not make or grant roles.
pub fn enrol(archive: &mut Archive, shop: &str, role: &str) -> Result<bool, ArchiveError> {
    let fine = shop.len() <= 32
        && shop.starts_with(|c: char| c.is_ascii_lowercase() || c.is_ascii_digit())
        && shop
            .chars()
            .all(|c| c.is_ascii_lowercase() || c.is_ascii_digit() || c == '-');
    if !fine {
        return Err(ArchiveError::Address(format!(
            "is given the shop `{}`; an id is made of a-z, 0-9 and -, at most 32 of them",
            shop.escape_debug()
        )));
    }
    let done = enrol_in(&mut archive.client, shop, role);
    let (made, held) = done.map_err(|error| archive.words(&error))?;
    match held {
        Some(other) if other != shop => Err(ArchiveError::Address(format!(
            "is given the role `{}` for shop `{shop}`; it is shop `{other}`'s",
            role.escape_debug()
        ))),
        _ => Ok(made),
    }
}

fn enrol_in(
    client: &mut postgres::Client,
    shop: &str,
    role: &str,
) -> Result<(bool, Option<String>), postgres::Error> {
    let mut work = client.transaction()?;
    let held = work
        .query_opt(
            "SELECT shop_id FROM brakecorner.member WHERE rolname = $1::text::name",
            &[&role],
        )?
        .map(|row| row.get::<_, String>(0));
    if held.as_deref().is_some_and(|held| held != shop) {
        return Ok((false, held));
    }
    let made = make_role(&mut work, role, "LOGIN")?;
    work.batch_execute(&format!("GRANT brakecorner_shop TO {}", name(role)))?;
    work.execute(
        "INSERT INTO brakecorner.shop (shop_id) VALUES ($1) ON CONFLICT DO NOTHING",
        &[&shop],
    )?;
    work.execute(
        "INSERT INTO brakecorner.member (rolname, shop_id) VALUES ($1::text::name, $2) ON CONFLICT DO NOTHING",
        &[&role, &shop],
    )?;
    work.commit()?;
    Ok((made, Some(shop.to_owned())))
}

/// Notes a shop without a role: on head office's server, so that it can say whose answers are
/// missing.
///
/// # Errors
/// [`ArchiveError`] of the server.
pub fn note_shop(archive: &mut Archive, shop: &str) -> Result<(), ArchiveError> {
    archive
        .client
        .execute(
            "INSERT INTO brakecorner.shop (shop_id) VALUES ($1) ON CONFLICT DO NOTHING",
            &[&shop],
        )
        .map_err(|error| archive.words(&error))?;
    Ok(())
}

/// Lets a role read every shop; makes the role, without a password, if it does not exist. Returns
/// whether it was made.
///
/// # Errors
/// [`ArchiveError::Permission`] if this role may not make or grant roles.
pub fn let_read(archive: &mut Archive, role: &str) -> Result<bool, ArchiveError> {
    let mut work = || -> Result<bool, postgres::Error> {
        let mut work = archive.client.transaction()?;
        let made = make_role(&mut work, role, "LOGIN")?;
        work.batch_execute(&format!("GRANT brakecorner_office TO {}", name(role)))?;
        work.commit()?;
        Ok(made)
    };
    work().map_err(|error| archive.words(&error))
}
