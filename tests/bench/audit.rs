//! How long an audit takes, as ratios within one run.
//!
//! `cargo bench --bench audit` makes workshops of records signed one by one, and compares
//! `brakecorner audit` on them with the bare cost of the same bytes on the same cores: read, SHA-512
//! and Ed25519 with the same library. Also: growth from 1,000 to 20,000 records, memory, and a loop
//! of `ssh-keygen -Y verify` over 500. With `BRAKECORNER_BENCH_LARGE=1`, growth from 1,000 over
//! 10,000 to 100,000 small records instead, which take 2 GB of disk and not 27.
//!
//! Beside the time on the clock stands the processors' time, which others on the machine disturb
//! less.

#![allow(clippy::print_stdout, clippy::unwrap_used)]

#[path = "../record/small.rs"]
mod small;

use std::fs;
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};
use std::sync::atomic::{AtomicUsize, Ordering};
use std::time::{Duration, Instant};

use brakecorner::judge;
use brakecorner::record::canonical::{Limits, check_json, sha256_hex};
use brakecorner::record::freeze::ReadRecord;
use brakecorner::record::specs_cache::SpecsCache;
use brakecorner::record::sshsig::{NAMESPACE, sign, verify};
use brakecorner::record::verify::{Beside, examine};
use ssh_key::private::{Ed25519Keypair, PrivateKey};

/// A record to make many of.
struct Sample {
    record: String,
    journal: String,
    /// The job whose number is exchanged.
    job: &'static str,
}

impl Sample {
    /// The first record of the demonstration, 160 KB.
    fn of_the_demonstration(root: &Path) -> Self {
        let demo = root.join("demo");
        let made = Command::new(env!("CARGO_BIN_EXE_brakecorner"))
            .args(["demo", "--to"])
            .arg(&demo)
            .stdout(Stdio::null())
            .stderr(Stdio::null())
            .status();
        assert!(made.unwrap().success());
        let job = demo.join("jobs/HWY-0411");
        Self {
            record: fs::read_to_string(job.join("record-1.json")).unwrap(),
            journal: fs::read_to_string(job.join("journal.jsonl")).unwrap(),
            job: "HWY-0411",
        }
    }

    /// A record of two items, 4 KB.
    fn small() -> Self {
        Self {
            record: String::from_utf8(small::record()).unwrap(),
            journal: small::lines(),
            job: "T-1",
        }
    }
}

/// The text of a string member.
fn member<'a>(record: &'a str, name: &str) -> &'a str {
    let start = record.find(&format!("\"{name}\": \"")).unwrap() + name.len() + 5;
    record[start..].split('"').next().unwrap()
}

/// A workshop of `count` jobs with one record each, all in one row of one key.
fn workshop(root: &Path, count: usize, sample: &Sample) -> PathBuf {
    let shop = root.join(format!("shop-{count}"));
    fs::create_dir_all(shop.join("jobs")).unwrap();
    fs::copy(root.join("demo/workshop.toml"), shop.join("workshop.toml")).unwrap();
    let key = PrivateKey::from(Ed25519Keypair::from_seed(&[5; 32]));
    let public = key.public_key().to_openssh().unwrap();
    fs::write(shop.join("signers"), format!("\"Ilse Varga\" {public}\n")).unwrap();
    let fingerprint = key.fingerprint(ssh_key::HashAlg::Sha256).to_string();
    let Sample {
        record,
        journal,
        job,
    } = sample;
    let lines = record
        .split("\n  \"journal\": [\n")
        .nth(1)
        .unwrap()
        .lines()
        .count()
        - 2;
    let part: String = journal
        .lines()
        .take(lines)
        .map(|line| format!("{line}\n"))
        .collect();
    let record = record.replace(member(record, "fingerprint"), &fingerprint);
    let mut previous = String::new();
    for number in 1..=count {
        // The job's number stands in the signed journal, so each folder keeps it below a folder of
        // its own number: the audit says "misplaced" if they differ, and must find nothing here.
        let text = record
            .replacen("\"sequence\": 1,", &format!("\"sequence\": {number},"), 1)
            .replacen(
                "\"previous\": \"\"",
                &format!("\"previous\": \"{previous}\""),
                1,
            );
        let (text, part) = renumber(&text, &part, job, number);
        let job = shop.join(format!("jobs/B-{number:07}"));
        fs::create_dir_all(&job).unwrap();
        fs::write(
            job.join("record-1.json.sig"),
            sign(text.as_bytes(), NAMESPACE, &key).unwrap(),
        )
        .unwrap();
        previous = sha256_hex(text.as_bytes());
        let event = format!("{{\"kind\":\"signed\",\"revision\":1,\"sha256\":\"{previous}\"}}");
        let (line, _) = line(&event, lines as u64 + 1, &head(&part));
        fs::write(job.join("journal.jsonl"), format!("{part}{line}\n")).unwrap();
        fs::write(job.join("record-1.json"), text).unwrap();
    }
    shop
}

fn head(journal: &str) -> String {
    sha256_hex(journal.lines().last().unwrap().as_bytes())
}

fn line(event: &str, seq: u64, prev: &str) -> (String, String) {
    let body = format!(
        "{{\"v\":1,\"seq\":{seq},\"at\":\"2026-03-02T09:00:00+00:00\",\"by\":\"Ilse Varga\",\"prev\":\"{prev}\",\"event\":{event}"
    );
    let line = format!("{body},\"sum\":\"{}\"}}", sha256_hex(body.as_bytes()));
    let digest = sha256_hex(line.as_bytes());
    (line, digest)
}

/// Gives record and journal another job number, with every line's checksum made anew.
fn renumber(record: &str, journal: &str, was: &str, number: usize) -> (String, String) {
    let job = format!("B-{number:07}");
    let mut prev = "0".repeat(64);
    let mut lines = Vec::new();
    for old in journal.lines() {
        let was = format!("\"job\":\"{was}\"");
        let old = old.replacen(&was, &format!("\"job\":\"{job}\""), 1);
        let body = &old[..old.rfind(",\"sum\":\"").unwrap()];
        let at = body.find("\"prev\":\"").unwrap() + 8;
        let body = format!("{}{prev}{}", &body[..at], &body[at + 64..]);
        let new = format!("{body},\"sum\":\"{}\"}}", sha256_hex(body.as_bytes()));
        prev = sha256_hex(new.as_bytes());
        lines.push(new);
    }
    let start = record.find("\n  \"journal\": [\n").unwrap();
    let text = format!(
        "{}\n  \"journal\": [\n    {}\n  ]\n}}\n",
        record[..start].replace(was, &job),
        lines.join(",\n    ")
    );
    (text, lines.join("\n") + "\n")
}

/// Time on the clock and of the processors.
#[derive(Clone, Copy)]
struct Cost {
    clock: Duration,
    processors: Duration,
}

impl Cost {
    const MAX: Self = Self {
        clock: Duration::MAX,
        processors: Duration::MAX,
    };

    /// Takes what is less of either.
    fn best(&mut self, other: Self) {
        self.clock = self.clock.min(other.clock);
        self.processors = self.processors.min(other.processors);
    }

    /// Measures work of this program and of those it waits for.
    fn of<T>(work: impl FnOnce() -> T) -> (Self, T) {
        let (before, start) = (ticks(), Instant::now());
        let done = work();
        let cost = Self {
            clock: start.elapsed(),
            // A tick is a hundredth of a second.
            processors: Duration::from_millis((ticks() - before) * 10),
        };
        (cost, done)
    }
}

/// Processor time of this program and its ended children in ticks, where /proc tells.
fn ticks() -> u64 {
    let text = fs::read_to_string("/proc/self/stat").unwrap_or_default();
    let after_name = text.rsplit(')').next().unwrap_or_default();
    let fields = after_name.split_whitespace().skip(11).take(4);
    fields.filter_map(|field| field.parse::<u64>().ok()).sum()
}

fn audit(shop: &Path, more: &[&str]) -> (Cost, u64) {
    let (cost, (output, peak)) = Cost::of(|| {
        let mut child = Command::new(env!("CARGO_BIN_EXE_brakecorner"))
            .arg("audit")
            .arg(shop)
            .args(more)
            .stdout(Stdio::piped())
            .stderr(Stdio::piped())
            .spawn()
            .unwrap();
        let peak = peak_memory(&mut child);
        (child.wait_with_output().unwrap(), peak)
    });
    let said = String::from_utf8_lossy(&output.stdout).into_owned();
    assert!(output.status.success(), "{said}");
    (cost, peak)
}

/// Highest memory of a running program in KiB, where /proc tells.
fn peak_memory(child: &mut std::process::Child) -> u64 {
    let status = format!("/proc/{}/status", child.id());
    let mut peak = 0;
    while child.try_wait().unwrap().is_none() {
        let text = fs::read_to_string(&status).unwrap_or_default();
        let line = text.lines().find_map(|line| line.strip_prefix("VmHWM:"));
        let number = line.and_then(|line| line.split_whitespace().next()?.parse().ok());
        peak = peak.max(number.unwrap_or(0));
        std::thread::sleep(Duration::from_millis(20));
    }
    peak
}

/// Read, SHA-512, Ed25519 on all cores: what no audit can do without.
fn bare(shop: &Path) -> Cost {
    let folders: Vec<PathBuf> = fs::read_dir(shop.join("jobs"))
        .unwrap()
        .map(|entry| entry.unwrap().path())
        .collect();
    let next = AtomicUsize::new(0);
    let threads = std::thread::available_parallelism().map_or(1, Into::into);
    let (cost, ()) = Cost::of(|| {
        std::thread::scope(|scope| {
            for _ in 0..threads {
                scope.spawn(|| {
                    while let Some(folder) = folders.get(next.fetch_add(1, Ordering::Relaxed)) {
                        let record = fs::read(folder.join("record-1.json")).unwrap();
                        let signature = fs::read(folder.join("record-1.json.sig")).unwrap();
                        verify(&record, NAMESPACE, &signature).unwrap();
                    }
                });
            }
        });
    });
    cost
}

fn stock(shop: &Path, count: usize) -> Option<Duration> {
    let start = Instant::now();
    for number in 1..=count {
        let record = shop.join(format!("jobs/B-{number:07}/record-1.json"));
        let status = Command::new("ssh-keygen")
            .args(["-Y", "verify", "-I", "Ilse Varga", "-n", NAMESPACE, "-f"])
            .arg(shop.join("signers"))
            .arg("-s")
            .arg(record.with_file_name("record-1.json.sig"))
            .stdin(fs::File::open(&record).unwrap())
            .stdout(Stdio::null())
            .stderr(Stdio::null())
            .status()
            .ok()?;
        assert!(status.success());
    }
    Some(start.elapsed())
}

/// Where the time of one record goes, on one core.
fn stages(record: &str) {
    let bytes = record.as_bytes();
    let time = |name: &str, work: &mut dyn FnMut()| {
        work();
        let start = Instant::now();
        for _ in 0..100 {
            work();
        }
        println!(
            "   {name:30} {:6.0} µs",
            start.elapsed().as_secs_f64() * 1e4
        );
    };
    let key = PrivateKey::from(Ed25519Keypair::from_seed(&[5; 32]));
    let armour = sign(bytes, NAMESPACE, &key).unwrap();
    let read: ReadRecord = serde_json::from_slice(bytes).unwrap();
    let journal = read.journal();
    let job = journal.fold();
    let cache = SpecsCache::default();
    let specs = cache.read(&read.specifications).unwrap();
    let judgement = judge::judge(&specs.case(&job, &read.instruments));
    time("signature", &mut || {
        drop(verify(bytes, NAMESPACE, armour.as_bytes()))
    });
    time("SHA-256 of the record", &mut || drop(sha256_hex(bytes)));
    time("careful: strict JSON", &mut || {
        drop(check_json(bytes, &Limits::DEFAULT))
    });
    time("careful: into types", &mut || {
        drop(serde_json::from_slice::<ReadRecord>(bytes))
    });
    time("all stages together", &mut || {
        let beside = Beside {
            signature: Some(armour.as_bytes()),
            cache: Some(&cache),
            ..Beside::default()
        };
        drop(examine(bytes, &beside))
    });
    time("journal's chain and events", &mut || drop(read.journal()));
    time("fold", &mut || drop(journal.fold()));
    time("judge", &mut || {
        drop(judge::judge(&specs.case(&job, &read.instruments)))
    });
    time("judgement as text", &mut || {
        drop(serde_json::to_string_pretty(&judgement))
    });
}

fn main() {
    let folder = tempfile::tempdir().unwrap();
    let root = folder.path();
    let demonstration = Sample::of_the_demonstration(root);
    println!("stages of one record, each alone:");
    stages(&demonstration.record);
    if std::env::var_os("BRAKECORNER_BENCH_STAGES").is_some() {
        return;
    }
    let small = Sample::small();
    let large = std::env::var_os("BRAKECORNER_BENCH_LARGE").is_some();
    let (sample, counts) = match large {
        false => (&demonstration, &[1_000, 20_000][..]),
        true => (&small, &[1_000, 10_000, 100_000][..]),
    };
    println!(
        "one record: {} bytes; cores: {:?}",
        sample.record.len(),
        std::thread::available_parallelism()
    );
    for count in counts {
        compare(root, *count, sample);
    }
}

/// The bare cost, signatures alone, and everything, over `count` records.
fn compare(root: &Path, count: usize, sample: &Sample) {
    let shop = workshop(root, count, sample);
    // Once unmeasured, so that every pass reads from the same warm cache; then alternating.
    bare(&shop);
    let mut best = [Cost::MAX; 3];
    let mut peaks = [0; 2];
    for _ in 0..3 {
        best[0].best(bare(&shop));
        for (index, more) in [&["--signatures"][..], &[]].into_iter().enumerate() {
            let (cost, peak) = audit(&shop, more);
            best[index + 1].best(cost);
            peaks[index] = peaks[index].max(peak);
        }
    }
    println!("{count} records, µs each:");
    for (of, name) in [
        (
            (|cost: &Cost| cost.clock) as fn(&Cost) -> Duration,
            "on the clock",
        ),
        (|cost: &Cost| cost.processors, "of the processors"),
    ] {
        let [bare, signatures, all] = best.map(|cost| of(&cost).as_secs_f64() * 1e6 / count as f64);
        println!(
            "   {name:18} bare {bare:.0}; signatures {signatures:.0}, {:.2} of the bare speed; everything {all:.0}, {:.2} times the bare cost",
            bare / signatures,
            all / bare
        );
    }
    println!(
        "   memory: signatures {} KiB, everything {} KiB",
        peaks[0], peaks[1]
    );
    if count == 1_000
        && let Some(time) = stock(&shop, 500)
    {
        println!(
            "   500 records: ssh-keygen -Y verify in a loop {:.0} µs each",
            time.as_secs_f64() * 1e6 / 500.0
        );
    }
    fs::remove_dir_all(&shop).unwrap();
}
