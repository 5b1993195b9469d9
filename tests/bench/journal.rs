//! The journal against the bare disk, as ratios within one run.
//!
//! `cargo bench --bench journal`

#![allow(clippy::unwrap_used, clippy::print_stdout)] // a benchmark reports and may stop

use std::io::Write as _;
use std::time::{Duration, Instant};

use brakecorner::job::journal::{self, sha256_hex};
use brakecorner::job::{Entered, Event, Item, Phase, ReadingEvent, Slot, Source};
use brakecorner::shop::journal::Journal;

fn reading(n: u16) -> Event {
    Event::Reading(Box::new(ReadingEvent {
        place: "FL".parse().unwrap(),
        item: Item::DiscThickness,
        phase: Phase::AsFound,
        take: 1,
        slot: Slot::Point(n % 10 + 1),
        entered: Entered {
            text: "24.308".into(),
            unit: "mm".into(),
            value: 24_308_000,
        },
        instrument: Some("HW-M1".into()),
        clocking: None,
        source: Source::Typed,
        confirmed: false,
    }))
}

/// Confirmed readings against the same bytes appended and flushed with nothing in between.
fn appends(rounds: u16) -> (Duration, Duration) {
    let folder = tempfile::tempdir_in("target").unwrap();
    let path = folder.path().join("journal.jsonl");
    let at = "2026-03-02T08:41:20+00:00".parse().unwrap();
    let mut ours = Journal::create(&path).unwrap();
    let begin = Instant::now();
    for n in 0..rounds {
        ours.append(at, "Ilse Varga", &[reading(n)]).unwrap();
    }
    let journal = begin.elapsed();
    let lines: Vec<Vec<u8>> = std::fs::read(&path)
        .unwrap()
        .split_inclusive(|b| *b == b'\n')
        .map(<[u8]>::to_vec)
        .collect();
    let mut bare = std::fs::OpenOptions::new()
        .create(true)
        .append(true)
        .open(folder.path().join("bare"))
        .unwrap();
    let begin = Instant::now();
    for line in &lines {
        bare.write_all(line).unwrap();
        bare.sync_data().unwrap();
    }
    (journal, begin.elapsed())
}

/// Reading and folding a long journal against reading and hashing the file once.
fn resume(entries: u64) -> (Duration, Duration) {
    let folder = tempfile::tempdir_in("target").unwrap();
    let path = folder.path().join("journal.jsonl");
    let at = "2026-03-02T08:41:20+00:00".parse().unwrap();
    let mut journal = Journal::create(&path).unwrap();
    for chunk in 0..entries / 1000 {
        let events: Vec<Event> = (0..1000)
            .map(|n| reading(u16::try_from((chunk * 1000 + n) % 60_000).unwrap()))
            .collect();
        journal.append(at, "Ilse Varga", &events).unwrap();
    }
    let begin = Instant::now();
    let job = journal::read(&std::fs::read(&path).unwrap()).into_job();
    let ours = begin.elapsed();
    assert_eq!(job.last_seq, entries);
    let begin = Instant::now();
    let digest = sha256_hex(&std::fs::read(&path).unwrap());
    assert_eq!(digest.len(), 64);
    (ours, begin.elapsed())
}

fn main() {
    // Warm the disk's caches and the allocator once.
    appends(50);
    let mut ratios: Vec<f64> = (0..5)
        .map(|_| {
            let (ours, bare) = appends(400);
            bare.as_secs_f64() / ours.as_secs_f64()
        })
        .collect();
    ratios.sort_by(f64::total_cmp);
    println!(
        "confirmed readings: {:.2} of a bare append + fdatasync (median of 5)",
        ratios[2]
    );
    let mut ratios: Vec<f64> = (0..3)
        .map(|_| {
            let (ours, once) = resume(100_000);
            ours.as_secs_f64() / once.as_secs_f64()
        })
        .collect();
    ratios.sort_by(f64::total_cmp);
    println!(
        "resume of 100,000 events: {:.1} × reading and hashing the file once (median of 3)",
        ratios[1]
    );
}
