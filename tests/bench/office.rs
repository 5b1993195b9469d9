//! `due` and `history` over many generated jobs: plain scan, with the index, and beside stock tools.
//!
//! `cargo bench --bench office` runs 1,000 and 10,000 jobs; `BRAKECORNER_BENCH_JOBS=1000,100000`
//! chooses others. Every number is measured in this run; ratios are against `sqlite3` and `jq` of
//! this machine, and left out where those are missing. Jobs are copies of one real job of the
//! demonstration (quick depth, about 100 entries), five visits a vehicle, wearing from visit to
//! visit. Above 10,000 jobs only the opening of each journal is written and the index is filled with
//! summaries made from those of real jobs: what a plain scan of so many takes is not measured, and
//! with a fresh index no journal is opened.

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
use brakecorner::office::Summary;
use brakecorner::shop::index::{DueEntry, Entry, Index, Stamp};
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
                opening.odometer = Distance::from_whole_km(odometer(vehicle, visit));
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

/// Whole journals up to here; `BRAKECORNER_BENCH_WHOLE` sets another number.
fn whole_jobs() -> usize {
    let wanted = std::env::var("BRAKECORNER_BENCH_WHOLE").ok();
    wanted.map_or(10_000, |n| {
        n.parse().expect("BRAKECORNER_BENCH_WHOLE is a number")
    })
}

fn odometer(vehicle: usize, visit: usize) -> i64 {
    i64::try_from(20_000 + vehicle % 7 * 1_000 + visit * 10_000).unwrap()
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
    let folder = shop.to_string_lossy().into_owned();
    let with = |args: &[&str]| {
        let mut all = vec!["--shop", &folder];
        all.extend(args);
        command(root.path(), &all)
    };
    let limit = whole_jobs();
    println!("{count} jobs, {} vehicles", count.div_ceil(VISITS));
    let start = Instant::now();
    for n in 0..count.min(limit) {
        write_job(&shop, &template, n / VISITS, n % VISITS);
    }
    row("(writing them)", start.elapsed(), "");
    let one = vin(count / VISITS / 2);
    let soon = ["due", "--within", "30d", "--csv"];
    let history = ["history", &one, "--json"];
    let mut plain = None;
    if count <= limit {
        let due = best(|| with(&soon).1);
        row("due --within 30d, plain scan", due, "");
        let one = best(|| with(&history).1);
        row("history of one vehicle, plain scan", one, "");
        plain = Some((with(&["due", "--csv"]).0, due, one));
    }
    std::thread::sleep(Duration::from_millis(2_200));
    row("index rebuild", with(&["index", "rebuild"]).1, "");
    if count > limit {
        let start = Instant::now();
        fill(&shop, &template, limit..count);
        row("(filling the index with the others)", start.elapsed(), "");
        row("first due, making every vehicle's rows", with(&soon).1, "");
    }
    let due = best(|| with(&soon).1);
    let note = |theirs: Option<Duration>, ours| {
        theirs.map_or_else(String::new, |t| format!("scan/index {}", ratio(t, ours)))
    };
    let beside = note(plain.as_ref().map(|p| p.1), due);
    row("due --within 30d, index", due, &beside);
    let whole = best(|| with(&["due", "--csv"]).1);
    row("due without an end, index", whole, "");
    let indexed = best(|| with(&history).1);
    let beside = note(plain.as_ref().map(|p| p.2), indexed);
    row("history of one vehicle, index", indexed, &beside);
    let answer = with(&["due", "--csv"]).0;
    if let Some((plain, ..)) = plain {
        assert_eq!(answer, plain, "the index changed an answer");
    }
    update(&shop);
    sqlite(root.path(), &shop, &answer, (&one, due, indexed));
    if count <= limit {
        jq(&shop, &one, indexed);
    }
}

/// Fills the index with jobs beyond the whole ones, each with a journal of its opening alone.
fn fill(shop: &Path, template: &[(Meta, Event)], jobs: std::ops::Range<usize>) {
    let path = Index::path(shop);
    let db = rusqlite::Connection::open(&path).unwrap();
    let basis: String = db
        .query_row("SELECT basis FROM about", [], |row| row.get(0))
        .unwrap();
    drop(db);
    let mut index = Index::open(&path, &basis).unwrap();
    // Seventy vehicles hold every odometer, wear and day that repeats.
    let real: Vec<Summary> = (0..350)
        .map(|n| {
            let job = format!("G-{:06}-{}", n / VISITS, n % VISITS);
            index.read(&index.summary(&job).unwrap()).unwrap()
        })
        .collect();
    let mut entries = Vec::new();
    let end = jobs.end;
    for n in jobs {
        let (vehicle, visit) = (n / VISITS, n % VISITS);
        let mut summary = real[n % real.len()].clone();
        summary.job = format!("G-{vehicle:06}-{visit}");
        summary.vin = vin(vehicle);
        let opening = write_opening(shop, &template[0], vehicle, visit, &summary);
        entries.push(Entry {
            job: summary.job.clone(),
            vin: summary.vin.clone(),
            registration: String::new(),
            stamp: Stamp::of(&std::fs::metadata(opening).unwrap()).unwrap(),
            summary: serde_json::to_string(&summary).unwrap(),
        });
        if entries.len() == 10_000 || n + 1 == end {
            index.put(&entries).unwrap();
            entries.clear();
        }
    }
}

fn write_opening(
    shop: &Path,
    (meta, event): &(Meta, Event),
    vehicle: usize,
    visit: usize,
    summary: &Summary,
) -> std::path::PathBuf {
    let folder = shop.join("jobs").join(&summary.job);
    std::fs::create_dir(&folder).unwrap();
    let mut event = event.clone();
    if let Event::Opened(opening) = &mut event {
        opening.job.clone_from(&summary.job);
        opening.vin.clone_from(&summary.vin);
        opening.odometer = Distance::from_whole_km(odometer(vehicle, visit));
    }
    let (line, _) = journal::encode(meta, journal::GENESIS, &event).unwrap();
    let path = folder.join("journal.jsonl");
    std::fs::write(&path, format!("{line}\n")).unwrap();
    path
}

/// What one signed job costs in an index of this size: its entry, and its vehicle's due rows.
fn update(shop: &Path) {
    let path = Index::path(shop);
    let basis: String = rusqlite::Connection::open(&path)
        .unwrap()
        .query_row("SELECT basis FROM about", [], |row| row.get(0))
        .unwrap();
    let mut index = Index::open(&path, &basis).unwrap();
    let rows = std::fs::read_dir(shop.join("jobs")).unwrap().count();
    let stamp = Stamp::of(&std::fs::metadata(&path).unwrap()).unwrap();
    let mut n = 0;
    let one = best(|| {
        let start = Instant::now();
        for _ in 0..50 {
            let vehicle = n * 7 % rows.div_ceil(VISITS);
            n += 1;
            let summary = index.summary(&format!("G-{vehicle:06}-0")).unwrap();
            let entry = Entry {
                job: format!("U-{n}"),
                vin: vin(vehicle),
                registration: String::new(),
                stamp,
                summary,
            };
            index.put(&[entry]).unwrap();
            let made = DueEntry {
                date: Some("2027-01-15".into()),
                row: "{}".into(),
            };
            index.settle(&[(vin(vehicle), vec![made; 6])]).unwrap();
        }
        start.elapsed() / 50
    });
    row(&format!("index update of one job among {rows}"), one, "");
}

/// The same questions to SQLite's own shell: the finished rows out of an indexed table, and the
/// forecasts made from an indexed table of the same readings.
fn sqlite(root: &Path, shop: &Path, csv: &str, (one, due, history): (&str, Duration, Duration)) {
    let (table, file) = (root.join("rows.db"), root.join("rows.csv"));
    std::fs::write(&file, csv).unwrap();
    let table = table.to_string_lossy().into_owned();
    let readings = root.join("readings.csv");
    write_readings(shop, &readings);
    let import = format!(
        ".mode csv\n.import {} due\nCREATE INDEX due_by_date ON due(date);\n\
         CREATE TABLE reading(vin TEXT, job TEXT, day TEXT, km REAL, part TEXT, mm REAL, lim REAL, u REAL);\n\
         .import {} reading\nCREATE INDEX by_part ON reading(vin, part, km);\nANALYZE;\n",
        file.display(),
        readings.display()
    );
    if shell("sqlite3", &[&table], &import).is_none() {
        println!("  sqlite3 is not installed: not compared");
        return;
    }
    let ask = |what: &str, question: &str, name: &str, ours: Duration| {
        let theirs = best(|| shell("sqlite3", &[&table], question).unwrap().1);
        row(
            what,
            theirs,
            &format!("sqlite3/{name} {}", ratio(theirs, ours)),
        );
    };
    ask(
        "sqlite3 shell: finished due rows until a day",
        ".mode csv\nSELECT * FROM due WHERE date <= '2027-01-31' ORDER BY date, kind, shop, subject, what;\n",
        "due",
        due,
    );
    ask(
        "sqlite3 shell: wear forecasts from the readings",
        FORECASTS,
        "due",
        due,
    );
    let question =
        format!(".mode csv\nSELECT * FROM reading WHERE vin = '{one}' ORDER BY part, km;\n");
    ask(
        "sqlite3 shell: one vehicle's readings",
        &question,
        "history",
        history,
    );
}

/// Straight line, lower bound by inverse prediction, and the day at the vehicle's own pace: the part
/// of `due` about wear, without re-torques, calls and lines that were left.
const FORECASTS: &str = ".mode csv
WITH sums AS (
  SELECT vin, part, count(*) n, avg(km) mx, avg(mm) my, max(km) last, max(day) day, max(lim) lim,
    sum(km * km) - count(*) * avg(km) * avg(km) sxx, sum(km * mm) - count(*) * avg(km) * avg(mm) sxy,
    1.2816 * max(u) z, (max(km) - min(km)) / (julianday(max(day)) - julianday(min(day))) pace
  FROM reading GROUP BY vin, part HAVING count(*) >= 2),
lines AS (SELECT *, sxy / sxx b FROM sums WHERE sxx > 0 AND sxy < 0),
roots AS (
  SELECT *, b * b - z * z / sxx a, b * (my - lim) h, (my - lim) * (my - lim) - z * z / n c FROM lines),
bounds AS (SELECT vin, part, day, pace, mx + (-h - sqrt(h * h - a * c)) / a - last lower FROM roots WHERE a > 0)
SELECT vin, part, lower, date(day, '+' || cast(lower / pace AS INTEGER) || ' days') due FROM bounds
WHERE due <= '2027-01-31' ORDER BY due, vin, part;
";

/// The readings the index holds, one a line.
fn write_readings(shop: &Path, to: &Path) {
    let db = rusqlite::Connection::open(Index::path(shop)).unwrap();
    let mut statement = db
        .prepare("SELECT summary FROM summary WHERE job LIKE 'G-%'")
        .unwrap();
    let mut rows = statement.query([]).unwrap();
    let mut file = BufWriter::new(std::fs::File::create(to).unwrap());
    while let Some(row) = rows.next().unwrap() {
        let summary: Summary =
            serde_json::from_str(row.get_ref(0).unwrap().as_str().unwrap()).unwrap();
        for part in &summary.thickness {
            let mm = |length: Option<brakecorner::units::Length>| length.map_or(0.0, |l| l.mm());
            writeln!(
                file,
                "{},{},{},{},{} {},{},{},{}",
                summary.vin,
                summary.job,
                summary.opened.date_naive(),
                summary.odometer.km(),
                part.corner,
                part.item,
                mm(part.found),
                mm(part.limit),
                mm(part.u)
            )
            .unwrap();
        }
    }
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
