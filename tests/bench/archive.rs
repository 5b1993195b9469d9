//! The archive against the bare engine, as ratios within one run on one PostgreSQL server.
//!
//! `cargo bench --bench archive`: push against COPY of the same bytes into a table of one column,
//! with verification and without; `due` and `history` against the same SQL in psql; an audit by two
//! workers against one. `BRAKECORNER_BENCH_RECORDS` (2,000) and `BRAKECORNER_BENCH_VISITS` (100,000)
//! set the sizes; with more than 20,000 records only the push is measured, once.

#![allow(clippy::print_stdout, clippy::unwrap_used, clippy::panic)]
#![allow(dead_code, unreachable_pub)] // the tests' server has more than is used here

use std::collections::BTreeMap;
use std::fs;
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};
use std::time::{Duration, Instant};

use brakecorner::archive::audit::{self, Trust};
use brakecorner::archive::connect::Archive;
use brakecorner::archive::push::{Candidate, Files, Options, Workshop, push};
use brakecorner::archive::schema::{self, Layout};
use brakecorner::archive::target::Target;
use brakecorner::record::canonical::sha256_hex;
use brakecorner::record::signers::Signers;
use brakecorner::record::specs_cache::SpecsCache;
use brakecorner::record::sshsig::{NAMESPACE, sign};
use postgres::binary_copy::BinaryCopyInWriter;
use postgres::types::Type;
use ssh_key::private::{Ed25519Keypair, PrivateKey};

#[path = "../archive/server.rs"]
mod server;

use server::{OWNER, PASSWORD, Server};

fn number(name: &str, otherwise: usize) -> usize {
    std::env::var(name)
        .ok()
        .and_then(|text| text.parse().ok())
        .unwrap_or(otherwise)
}

fn program(root: &Path, args: &[&str]) {
    let output = Command::new(env!("CARGO_BIN_EXE_brakecorner"))
        .args(["--by", "Ilse Varga"])
        .args(args)
        .current_dir(root)
        .env("BRAKECORNER_CONFIG", root.join("config"))
        .stdin(Stdio::null())
        .output()
        .unwrap();
    assert!(output.status.code() != Some(2), "{args:?} {output:?}");
}

/// A signed record of one vehicle's rear pads, with the lines of its journal.
fn sample(root: &Path) -> (String, Vec<String>) {
    program(root, &["init", "shop", "--name", "Bench Yard"]);
    let shop = root.join("shop");
    program(
        &shop,
        &[
            "instrument",
            "add",
            "HW-P1",
            "--kind",
            "pad_gauge",
            "--range",
            "0-30",
            "--resolution",
            "0.1",
            "--error",
            "0.1",
            "--repeatability",
            "0.05",
            "--calibrated-until",
            "2099-12-31",
        ],
    );
    program(&shop, &["key", "new", "--by", "Ilse Varga"]);
    program(
        &shop,
        &[
            "job",
            "open",
            "T-1",
            "--vin",
            "A0ZDL07V7NK001122",
            "--odometer",
            "84120",
            "--class",
            "N1",
            "--first-used",
            "2022-05-03",
            "--earlier",
            "RL:pads.thickness:61050:5.6:same",
            "--earlier",
            "RL:pads.thickness:72480:4.3:same",
        ],
    );
    program(
        &shop,
        &[
            "log",
            "T-1",
            "RL",
            "pads.thickness",
            "inner=2.9,2.9",
            "outer=3.0,3.1",
        ],
    );
    program(
        &shop,
        &["sign", "T-1", "--as-found", "--incomplete", "pads alone"],
    );
    let record = fs::read_to_string(shop.join("jobs/T-1/record-1.json")).unwrap();
    let text = record.split("\n  \"journal\": [\n").nth(1).unwrap();
    let lines = text.lines().filter_map(|line| {
        let line = line.trim().trim_end_matches(',');
        line.starts_with('{').then(|| line.to_owned())
    });
    let lines = lines.collect();
    (record, lines)
}

/// Makes records of jobs of their own, signed one by one, in files.
fn make(folder: &Path, count: usize, (record, lines): &(String, Vec<String>)) -> PrivateKey {
    let key = PrivateKey::from(Ed25519Keypair::from_seed(&[5; 32]));
    let fingerprint = key.fingerprint(ssh_key::HashAlg::Sha256).to_string();
    let member = |name: &str| {
        let start = record.find(&format!("\"{name}\": \"")).unwrap() + name.len() + 5;
        record[start..].split('"').next().unwrap().to_owned()
    };
    let start = record.find("\n  \"journal\": [\n").unwrap();
    let head = record[..start].replace(&member("fingerprint"), &fingerprint);
    let mut previous = String::new();
    for number in 1..=count {
        let (job, vin) = (format!("B-{number:07}"), format!("A0ZDL07V7NK{number:06}"));
        let head = head
            .replace("\"T-1\"", &format!("\"{job}\""))
            .replacen("\"sequence\": 1,", &format!("\"sequence\": {number},"), 1)
            .replacen(
                "\"previous\": \"\"",
                &format!("\"previous\": \"{previous}\""),
                1,
            );
        let mut prev = "0".repeat(64);
        let mut journal = Vec::new();
        for old in lines {
            let old = old
                .replacen("\"T-1\"", &format!("\"{job}\""), 1)
                .replace("A0ZDL07V7NK001122", &vin);
            let body = &old[..old.rfind(",\"sum\":\"").unwrap()];
            let at = body.find("\"prev\":\"").unwrap() + 8;
            let body = format!("{}{prev}{}", &body[..at], &body[at + 64..]);
            let new = format!("{body},\"sum\":\"{}\"}}", sha256_hex(body.as_bytes()));
            prev = sha256_hex(new.as_bytes());
            journal.push(new);
        }
        let text = format!(
            "{head}\n  \"journal\": [\n    {}\n  ]\n}}\n",
            journal.join(",\n    ")
        );
        fs::write(
            folder.join(format!("{job}.sig")),
            sign(text.as_bytes(), NAMESPACE, &key).unwrap(),
        )
        .unwrap();
        previous = sha256_hex(text.as_bytes());
        fs::write(folder.join(job), text).unwrap();
    }
    key
}

fn target(server: &Server, role: &str, database: &str) -> Target {
    let env = BTreeMap::from([("PGPASSWORD".to_owned(), PASSWORD.to_owned())]);
    Target::read(&server.url(role, database), &env).unwrap()
}

fn archive(server: &Server, database: &str) {
    server.database(database);
    let mut archive = Archive::connect(&target(server, OWNER, database)).unwrap();
    schema::migrate(&mut archive, &Layout::single(schema::PARTS)).unwrap();
    schema::enrol(&mut archive, "north", "north").unwrap();
    schema::let_read(&mut archive, "office").unwrap();
    for role in ["north", "office"] {
        let sql = format!("ALTER ROLE {role} PASSWORD '{PASSWORD}'");
        server.admin("postgres").batch_execute(&sql).unwrap();
    }
}

/// The same bytes, read from the same files, by COPY into a table of one column.
fn copy(server: &Server, folder: &Path, jobs: &[Candidate]) -> Duration {
    let mut admin = server.admin("bare");
    admin
        .batch_execute("DROP TABLE IF EXISTS bare; CREATE TABLE bare (body bytea COMPRESSION lz4)")
        .unwrap();
    let start = Instant::now();
    let writer = admin
        .copy_in("COPY bare FROM STDIN (FORMAT binary)")
        .unwrap();
    let mut writer = BinaryCopyInWriter::new(writer, &[Type::BYTEA]);
    for one in jobs {
        writer
            .write(&[&fs::read(folder.join(&one.job)).unwrap()])
            .unwrap();
    }
    writer.finish().unwrap();
    start.elapsed()
}

fn pushed(server: &Server, database: &str, workshop: &Workshop<'_>, verify: bool) -> Duration {
    let options = Options {
        verify,
        ..Options::default()
    };
    archive(server, database);
    let target = target(server, "north", database);
    let start = Instant::now();
    let pushed = push(&target, workshop, &options, |_| ()).unwrap();
    let time = start.elapsed();
    assert_eq!(
        pushed.sent,
        workshop.candidates.len(),
        "{:?} {:?}",
        pushed.refused.first(),
        pushed.conflicts.first()
    );
    time
}

fn psql(server: &Server, database: &str, sql: &[&str]) -> Duration {
    let mut command = Command::new("psql");
    command.args([
        "-X",
        "-q",
        "-A",
        "-t",
        "-h",
        "127.0.0.1",
        "-U",
        "office",
        "-d",
        database,
        "-p",
    ]);
    command
        .arg(server.port.to_string())
        .env("PGPASSWORD", PASSWORD)
        .stdout(Stdio::null());
    for one in sql {
        command.args(["-c", one]);
    }
    let start = Instant::now();
    assert!(command.status().unwrap().success());
    start.elapsed()
}

fn asked(server: &Server, database: &str, args: &[&str]) -> Duration {
    let start = Instant::now();
    let output = Command::new(env!("CARGO_BIN_EXE_brakecorner"))
        .args(args)
        .args(["--archive", &server.url("office", database)])
        .env("PGPASSWORD", PASSWORD)
        .stdout(Stdio::null())
        .stderr(Stdio::piped())
        .output()
        .unwrap();
    let time = start.elapsed();
    assert!(
        output.stderr.is_empty(),
        "{}",
        String::from_utf8_lossy(&output.stderr)
    );
    time
}

/// Best of three, the two in turn.
fn best(mut one: impl FnMut() -> Duration, mut other: impl FnMut() -> Duration) -> (f64, f64) {
    let mut times = (Duration::MAX, Duration::MAX);
    for _ in 0..3 {
        times = (times.0.min(one()), times.1.min(other()));
    }
    (times.0.as_secs_f64(), times.1.as_secs_f64())
}

fn questions(server: &Server, visits: usize) {
    // One pushed record is the pattern of all: its rows, of other vehicles and days.
    let mut admin = server.admin("many");
    admin
        .batch_execute(&format!(
            "SET session_replication_role = replica;
             INSERT INTO brakecorner.visit SELECT shop_id, sha256(('v' || g)::bytea), 'V-' || g, 1, 'Z' || (g / 3), '', opened_at + g % 1000 * interval '1 day',
                odometer_km, signed_at, signer, fingerprint, device, g + 10, previous, stage, state, as_found, as_left, derived_by,
                replace(replace(summary, 'A0ZDL07V7NK000001', 'Z' || (g / 3)), 'B-0000001', 'V-' || g)
             FROM (SELECT * FROM brakecorner.visit LIMIT 1) v, generate_series(1, {visits}) g;
             INSERT INTO brakecorner.due_state SELECT shop_id, 'Z' || (g / 3), 1 + g % 3, sha256(('v' || g)::bytea), derived_by
             FROM (SELECT * FROM brakecorner.due_state LIMIT 1) d, generate_series(1, {visits}) g;
             INSERT INTO brakecorner.due SELECT shop_id, 'Z' || (g / 3), 1 + g % 3, n, kind, 'V-' || g, 'Z' || (g / 3), what, date + g % 1000, km, from_km, from_day, km_per_day, at_time, basis
             FROM (SELECT * FROM brakecorner.due) d, generate_series(1, {visits}) g;
             ANALYZE brakecorner.visit; ANALYZE brakecorner.due; ANALYZE brakecorner.due_state"
        ))
        .unwrap();
    let row = admin
        .query_one(
            "SELECT count(*), max(date)::text, min(date)::text FROM brakecorner.due",
            &[],
        )
        .unwrap();
    println!(
        "{visits} visits, {} due rows from {:?} to {:?}",
        row.get::<_, i64>(0),
        row.get::<_, Option<String>>(2),
        row.get::<_, Option<String>>(1)
    );
    let several = "SELECT vin FROM brakecorner.due_state GROUP BY vin HAVING min(shop_id) <> max(shop_id) OR min(derived_by) <> 1 OR max(derived_by) <> 1";
    let stored = |near: &str| {
        format!(
        "SELECT d.shop_id, d.vin, d.kind, d.subject, d.vehicle, d.what, d.date, d.km, d.from_km, d.from_day, d.km_per_day, d.at_time, d.basis
         FROM brakecorner.due d WHERE {near} NOT EXISTS (SELECT FROM brakecorner.due_state l WHERE l.shop_id = d.shop_id AND l.vin = d.vin AND l.known > d.known)"
    )
    };
    for (within, near) in [("30d", "d.date <= current_date + 31 AND"), ("", "")] {
        let mut args = vec!["due", "--csv"];
        if !within.is_empty() {
            args.extend(["--within", within]);
        }
        let sql = stored(near);
        let (bare, ours) = best(
            || psql(server, "many", &[several, &sql]),
            || asked(server, "many", &args),
        );
        println!(
            "due {within:4}: psql {bare:.2} s, ours {ours:.2} s: {:.2} of the bare speed",
            bare / ours
        );
    }
    let name = format!("Z{}", visits / 6);
    let history = format!(
        "SELECT v.shop_id, v.job_id, v.summary FROM brakecorner.visit v WHERE (v.vin = '{name}' OR (v.registration = '{name}' AND v.registration <> '')) AND NOT EXISTS (SELECT FROM brakecorner.visit l WHERE l.shop_id = v.shop_id AND l.job_id = v.job_id AND l.revision > v.revision)"
    );
    let (bare, ours) = best(
        || psql(server, "many", &[&history]),
        || asked(server, "many", &["history", &name]),
    );
    println!(
        "history VEHICLE: psql {:.1} ms, ours {:.1} ms: {:.2} of the bare speed",
        bare * 1e3,
        ours * 1e3,
        bare / ours
    );
}

/// Bytes and rows a record takes in each table, indexes and all.
fn sizes(server: &Server, database: &str, count: usize) {
    let mut admin = server.admin(database);
    admin.batch_execute("ANALYZE").unwrap();
    for table in schema::DIVIDED {
        let sql = format!(
            "SELECT (SELECT sum(pg_total_relation_size(relid))::bigint FROM pg_partition_tree('brakecorner.{table}') WHERE isleaf),
                (SELECT count(*) FROM brakecorner.{table})"
        );
        let row = admin.query_one(&sql, &[]).unwrap();
        let (bytes, rows): (i64, i64) = (row.get(0), row.get(1));
        println!(
            "   {table:15} {:8} bytes and {:3} rows a record",
            bytes / count as i64,
            rows / count as i64
        );
    }
}

fn audited(server: &Server, database: &str, workers: usize, signers: &Signers) -> Duration {
    let trust = Trust {
        all: Some(signers.clone()),
        of: BTreeMap::new(),
    };
    let target = target(server, "office", database);
    let run = audit::begin(&mut Archive::open(&target).unwrap(), true).unwrap();
    let cache = SpecsCache::default();
    let start = Instant::now();
    std::thread::scope(|scope| {
        for worker in 0..workers {
            let (target, run, trust, cache) = (&target, &run, &trust, &cache);
            scope.spawn(move || {
                let mut archive = Archive::open(target).unwrap();
                audit::work(
                    &mut archive,
                    &run.id,
                    &worker.to_string(),
                    trust,
                    cache,
                    |_| true,
                )
                .unwrap();
            });
        }
    });
    let time = start.elapsed();
    let report = audit::report(&mut Archive::open(&target).unwrap(), &run.id).unwrap();
    assert!(report.valid, "{:?}", report.problems.first());
    time
}

fn main() {
    let count = number("BRAKECORNER_BENCH_RECORDS", 2_000);
    let visits = number("BRAKECORNER_BENCH_VISITS", 100_000);
    let root = tempfile::tempdir().unwrap();
    let records = root.path().join("records");
    fs::create_dir(&records).unwrap();
    let sample = sample(root.path());
    let key = make(&records, count, &sample);
    let public = key.public_key().to_openssh().unwrap();
    let signers =
        Signers::parse("signers", format!("\"Ilse Varga\" {public}\n").as_bytes()).unwrap();
    let candidates: Vec<Candidate> = (1..=count)
        .map(|number| Candidate {
            job: format!("B-{number:07}"),
            revision: 1,
        })
        .collect();
    let folder: PathBuf = records.clone();
    let read = |one: &Candidate| {
        let path = folder.join(&one.job);
        let read = |path: &Path| fs::read(path).map_err(|error| error.to_string());
        Ok(Files {
            record: read(&path)?,
            signature: Some(read(&path.with_extension("sig"))?),
            ..Files::default()
        })
    };
    let workshop = |candidates| Workshop {
        name: "Bench Yard",
        register: "",
        signers: Some(&signers),
        candidates,
        read: &read,
    };
    let server = Server::with(
        &[],
        &[
            "shared_buffers=512MB",
            "max_wal_size=8GB",
            "synchronous_commit=on",
        ],
        "",
    );
    println!(
        "{count} records of {} bytes; cores: {:?}",
        sample.0.len(),
        std::thread::available_parallelism()
    );
    server.database("bare");
    let all = workshop(&candidates[..]);
    let mut times = [Duration::MAX; 3];
    // Very many take minutes: once is enough for them, and the rest is measured with fewer.
    let many = count > 20_000;
    for round in 0..if many { 1 } else { 3 } {
        times[0] = times[0].min(copy(&server, &records, &candidates));
        times[1] = times[1].min(pushed(&server, &format!("quick{round}"), &all, false));
        times[2] = times[2].min(pushed(&server, &format!("full{round}"), &all, true));
    }
    let [bare, quick, full] = times.map(|time| time.as_secs_f64());
    println!(
        "push: COPY {bare:.2} s; without verification {quick:.2} s, {:.2} of COPY's speed; with it {full:.2} s, of which verification is {:.0} %",
        bare / quick,
        (full - quick) / full * 100.0
    );
    sizes(&server, "full0", count);
    if many {
        return;
    }
    let (one, two) = best(
        || audited(&server, "full0", 1, &signers),
        || audited(&server, "full0", 2, &signers),
    );
    println!(
        "audit: 1 worker {one:.2} s, 2 workers {two:.2} s: {:.2} times as fast",
        one / two
    );
    archive(&server, "many");
    push(
        &target(&server, "north", "many"),
        &workshop(&candidates[..1]),
        &Options::default(),
        |_| (),
    )
    .unwrap();
    questions(&server, visits);
}
