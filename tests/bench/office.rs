//! `due` and `history` over many generated jobs: plain scan, with the index, and beside stock tools.
//!
//! `cargo bench --bench office` runs 1,000 and 10,000 jobs; `BRAKECORNER_BENCH_JOBS=1000,100000`
//! chooses others. Every number is measured in this run; ratios are against `sqlite3` and `jq` of
//! this machine, and left out where those are missing. Jobs are copies of one real job of the demonstration
//! (quick depth, 98 entries, 33 kB), five visits a vehicle, wearing from visit to visit.

#![allow(
    clippy::print_stdout,
    clippy::unwrap_used,
    clippy::panic,
    clippy::expect_used
)]

use std::collections::BTreeMap;
use std::io::{BufWriter, Cursor, Write as _};
use std::path::Path;
use std::process::{Command, Stdio};
use std::time::{Duration, Instant};

use brakecorner::cli::{Clock, Exit, World, run};
use brakecorner::job::{Event, Item, Meta, journal};
use brakecorner::units::Distance;

const VISITS: usize = 5;
const TODAY: &str = "2027-01-01T08:00:00+00:00";

/// Runs a command in-process at a told time and returns its results.
fn command(folder: &Path, args: &[&str]) -> (String, Duration) {
    let mut words = vec!["brakecorner", "--by", "Tam Okoro"];
    words.extend(args);
    let (mut out, mut err) = (Vec::new(), Vec::new());
    let mut input = Cursor::new(Vec::new());
    let mut world = World {
        clock: Clock::Told {
            next: TODAY.parse().unwrap(),
            step: chrono::Duration::seconds(1),
        },
        input: &mut input,
        out: &mut out,
        err: &mut err,
        out_is_terminal: false,
        input_is_terminal: false,
        env: BTreeMap::from([(
            "BRAKECORNER_CONFIG".to_owned(),
            folder.join("keys").to_string_lossy().into_owned(),
        )]),
        folder: folder.to_owned(),
    };
    let start = Instant::now();
    let exit = run(words.into_iter().map(Into::into), &mut world);
    let took = start.elapsed();
    assert_ne!(
        exit,
        Exit::NoAnswer,
        "{args:?}: {}",
        String::from_utf8_lossy(&err)
    );
    (String::from_utf8(out).unwrap(), took)
}

/// The best of three, after one run that warms the file cache.
fn best(mut work: impl FnMut() -> Duration) -> Duration {
    work();
    (0..3).map(|_| work()).min().unwrap()
}

fn template(root: &Path) -> Vec<(Meta, Event)> {
    command(root, &["demo", "--to", "demo"]);
    let bytes = std::fs::read(root.join("demo/jobs/HWY-0429/journal.jsonl")).unwrap();
    journal::read(&bytes)
        .entries
        .into_iter()
        .map(|entry| (entry.meta, entry.event.unwrap()))
        .collect()
}

fn vin(vehicle: usize) -> String {
    format!("A0ZPN08D9PK{vehicle:06}")
}

/// Writes the journal of one visit of one vehicle.
fn write_job(folder: &Path, template: &[(Meta, Event)], vehicle: usize, visit: usize) {
    let job = format!("G-{vehicle:06}-{visit}");
    let path = folder.join("jobs").join(&job);
    std::fs::create_dir_all(&path).unwrap();
    let days = i64::try_from(vehicle % 150 + visit * 180).unwrap() - 700;
    let worn = i64::try_from(visit * (9 + vehicle % 5)).unwrap() * 100_000;
    let mut file = BufWriter::new(std::fs::File::create(path.join("journal.jsonl")).unwrap());
    let mut prev = journal::GENESIS.to_owned();
    for (meta, event) in template {
        let mut event = event.clone();
        match &mut event {
            Event::Opened(opening) => {
                opening.job = job.clone();
                opening.vin = vin(vehicle);
                let km = 20_000 + vehicle % 7 * 1_000 + visit * 10_000;
                opening.odometer = Distance::from_whole_km(i64::try_from(km).unwrap());
            }
            Event::Reading(reading)
                if matches!(reading.item, Item::PadsThickness | Item::LiningsThickness) =>
            {
                let whole = if reading.item == Item::PadsThickness {
                    4_000_000
                } else {
                    1_000_000
                };
                reading.entered.value += whole
                    - worn
                        / if reading.item == Item::PadsThickness {
                            1
                        } else {
                            4
                        };
            }
            _ => {}
        }
        let meta = Meta {
            at: meta.at + chrono::Duration::days(days),
            ..meta.clone()
        };
        let (line, digest) = journal::encode(&meta, &prev, &event).unwrap();
        writeln!(file, "{line}").unwrap();
        prev = digest;
    }
}

fn shell(program: &str, args: &[&str], input: &str) -> Option<(usize, Duration)> {
    let start = Instant::now();
    let mut child = Command::new(program)
        .args(args)
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .spawn()
        .ok()?;
    child.stdin.take()?.write_all(input.as_bytes()).ok()?;
    let out = child.wait_with_output().ok()?;
    assert!(out.status.success(), "{program} failed");
    Some((out.stdout.len(), start.elapsed()))
}

fn ms(time: Duration) -> String {
    let ms = time.as_secs_f64() * 1e3;
    if ms < 1.0 {
        format!("{:.1} µs", ms * 1e3)
    } else {
        format!("{ms:.1} ms")
    }
}

fn row(what: &str, time: Duration, note: &str) {
    println!("  {what:52} {:>12}  {note}", ms(time));
}

fn ratio(theirs: Duration, ours: Duration) -> String {
    format!("{:.2} x", theirs.as_secs_f64() / ours.as_secs_f64())
}

fn measure(count: usize) {
    let root = tempfile::tempdir().unwrap();
    let template = template(root.path());
    let shop = root.path().join("shop");
    command(root.path(), &["init", "shop", "--name", "Many"]);
    std::fs::copy(
        root.path().join("demo/instruments.toml"),
        shop.join("instruments.toml"),
    )
    .unwrap();
    let start = Instant::now();
    for n in 0..count {
        write_job(&shop, &template, n / VISITS, n % VISITS);
    }
    println!("{count} jobs, {} vehicles", count.div_ceil(VISITS));
    row("(writing them)", start.elapsed(), "");
    let folder = shop.to_string_lossy().into_owned();
    let with = |args: &[&str]| {
        let mut all = vec!["--shop", &folder];
        all.extend(args);
        command(root.path(), &all)
    };
    let one = vin(count / VISITS / 2);
    let plain = best(|| with(&["due", "--within", "30d", "--csv"]).1);
    row("due --within 30d, plain scan", plain, "");
    let plain_history = best(|| with(&["history", &one, "--json"]).1);
    row("history of one vehicle, plain scan", plain_history, "");
    let answer = with(&["due", "--csv"]).0;
    std::thread::sleep(Duration::from_millis(2_200));
    row("index rebuild", with(&["index", "rebuild"]).1, "");
    let indexed = best(|| with(&["due", "--within", "30d", "--csv"]).1);
    row(
        "due --within 30d, index",
        indexed,
        &format!("scan/index {}", ratio(plain, indexed)),
    );
    let indexed_history = best(|| with(&["history", &one, "--json"]).1);
    row(
        "history of one vehicle, index",
        indexed_history,
        &format!("scan/index {}", ratio(plain_history, indexed_history)),
    );
    let fleet = best(|| with(&["history", "--fleet", "--json"]).1);
    row("history --fleet, index", fleet, "");
    assert_eq!(
        with(&["due", "--csv"]).0,
        answer,
        "the index changed an answer"
    );
    update(&shop);
    sqlite(root.path(), &answer, indexed);
    if count <= 10_000 {
        jq(&shop, &one, indexed_history);
    }
}

/// What one job's entry costs in an index of this size.
fn update(shop: &Path) {
    use brakecorner::shop::index::{Entry, Index, Known, Stamp};
    let path = Index::path(shop);
    let copy = shop.join("copy.sqlite");
    std::fs::copy(&path, &copy).unwrap();
    let db_basis = "bench";
    // A copy of the rows under a basis of its own, so that the shop's index stays as it is.
    let mut index = Index::open(&copy, db_basis).unwrap();
    let metadata = std::fs::metadata(&path).unwrap();
    let stamp = Stamp::of(&metadata).unwrap();
    let entry = |n: usize| Entry {
        job: format!("U-{n}"),
        known: Known {
            vin: "V".into(),
            registration: String::new(),
            stamp,
        },
        summary: "x".repeat(4_000),
    };
    let rows = std::fs::read_dir(shop.join("jobs")).unwrap().count();
    index
        .put(&(0..rows).map(entry).collect::<Vec<_>>())
        .unwrap();
    let mut n = rows;
    let one = best(|| {
        let start = Instant::now();
        for _ in 0..50 {
            n += 1;
            index.put(&[entry(n)]).unwrap();
        }
        start.elapsed() / 50
    });
    row(&format!("index update of one job among {rows}"), one, "");
    drop(index);
    Index::remove(&copy).unwrap();
}

/// The same question to SQLite's own shell on an indexed table of the same rows.
fn sqlite(root: &Path, csv: &str, ours: Duration) {
    let (table, file) = (root.join("rows.db"), root.join("rows.csv"));
    std::fs::write(&file, csv).unwrap();
    let table = table.to_string_lossy().into_owned();
    let import = format!(
        ".mode csv\n.import {} due\nCREATE INDEX due_by_date ON due(date);\nANALYZE;\n",
        file.display()
    );
    if shell("sqlite3", &[&table], &import).is_none() {
        println!("  sqlite3 is not installed: not compared");
        return;
    }
    let question = ".mode csv\nSELECT * FROM due WHERE overdue = 'yes' OR date <= '2027-01-31' ORDER BY date, kind, shop, subject, what;\n";
    let theirs = best(|| shell("sqlite3", &[&table], question).unwrap().1);
    row(
        "the same rows from the sqlite3 shell",
        theirs,
        &format!("sqlite3/due {}", ratio(theirs, ours)),
    );
}

/// A smaller question than `history` answers, to jq over the files: the openings of one vehicle.
fn jq(shop: &Path, vin: &str, ours: Duration) {
    let script = format!(
        "find {}/jobs -name journal.jsonl -print0 | xargs -0 jq -c 'select(.event.vin == \"{vin}\") | [.event.job, .event.vin, .event.odometer]'",
        shop.display()
    );
    let start = Instant::now();
    match shell("sh", &["-c", &script], "") {
        Some((length, _)) if length > 0 => {
            let theirs = start.elapsed();
            row(
                "jq over the files, one vehicle's openings",
                theirs,
                &format!("jq/history {}", ratio(theirs, ours)),
            );
        }
        _ => println!("  jq is not installed: not compared"),
    }
}

fn main() {
    let wanted = std::env::var("BRAKECORNER_BENCH_JOBS").unwrap_or_else(|_| "1000,10000".into());
    for count in wanted.split(',') {
        measure(
            count
                .trim()
                .parse()
                .expect("BRAKECORNER_BENCH_JOBS is a list of numbers"),
        );
        println!();
    }
}
