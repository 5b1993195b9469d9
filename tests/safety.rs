//! No unsafe vehicle looks safe, and no sound one is held up: situations with the answer that a
//! competent examiner would give, a search for sequences that improve an answer, and simulated fleets.
//!
//! `SITUATION=words cargo test --test safety situation -- --nocapture` runs those whose title holds the
//! words.

// A test may stop at the first thing it cannot read.
#![allow(
    clippy::unwrap_used,
    clippy::panic,
    clippy::print_stderr,
    unreachable_pub
)]

#[path = "safety/answer.rs"]
mod answer;
mod common;
#[path = "safety/fleet.rs"]
mod fleet;
#[path = "scenario/jobs.rs"]
mod jobs;
#[path = "safety/run.rs"]
mod run;
#[path = "safety/script.rs"]
mod script;
#[path = "safety/search.rs"]
mod search;
#[path = "safety/tables.rs"]
mod tables;

use fleet::Defect;
use run::{Runner, on_threads};
use script::Book;

/// Every file of situations.
fn book() -> Book {
    let folder = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/safety/situations");
    let mut files: Vec<_> = std::fs::read_dir(folder)
        .unwrap()
        .map(|entry| entry.unwrap().path())
        .filter(|path| path.extension().is_some_and(|e| e == "txt"))
        .collect();
    files.sort();
    let read = |path: &std::path::PathBuf| {
        let name = path.file_name().unwrap().to_string_lossy().into_owned();
        (name, std::fs::read_to_string(path).unwrap())
    };
    Book::read(&files.iter().map(read).collect::<Vec<_>>())
}

#[test]
fn every_situation_ends_as_an_examiner_would_end_it() {
    let book = book();
    let only = std::env::var("SITUATION").unwrap_or_default();
    let chosen: Vec<_> = book
        .situations
        .iter()
        .filter(|situation| situation.title.contains(&only))
        .collect();
    assert!(!only.is_empty() || chosen.len() >= 70, "{}", chosen.len());
    let runner = Runner::new(&book);
    let wrong = on_threads(&chosen, |situation| runner.situation(situation));
    let mut failed = 0;
    for (situation, wrong) in chosen.iter().zip(&wrong) {
        if wrong.is_empty() {
            continue;
        }
        failed += 1;
        eprintln!(
            "\n{}:{}: {}\n  why: {}\n    {}",
            situation.file,
            situation.line,
            situation.title,
            situation.why,
            wrong.join("\n    ")
        );
    }
    assert!(failed == 0, "{failed} of {} situations", chosen.len());
}

/// Lists all that is wrong, then fails.
fn nothing_wrong(wrong: &[String], of: usize) {
    for line in wrong {
        eprintln!("{line}");
    }
    assert!(wrong.is_empty(), "{} answers wrong, {of} rows", wrong.len());
}

#[test]
fn no_defect_is_gone_as_left_without_work_that_lifts_it() {
    let book = book();
    let runner = Runner::new(&book);
    let rows = tables::transitions();
    let mut wrong = tables::codes_not_listed(&runner, &rows);
    wrong.extend(on_threads(&rows, |row| tables::tried(&runner, row)).concat());
    nothing_wrong(&wrong, rows.len());
}

#[test]
fn two_sets_give_the_worse_of_them_in_either_order() {
    let book = book();
    let runner = Runner::new(&book);
    let pairs = tables::pairs();
    let wrong = on_threads(&pairs, |sets| tables::both_orders(&runner, sets)).concat();
    nothing_wrong(&wrong, pairs.len());
}

/// At least 95 of 100 sound vehicles go out, with PASS or advice that is true.
#[test]
fn sound_vehicles_are_not_held_up() {
    let parts: Vec<u64> = (0..4).collect();
    let fleets = on_threads(&parts, |part| fleet::sound(part * 50..part * 50 + 50));
    let of = |count: fn(&fleet::Sound) -> usize| fleets.iter().map(count).sum::<usize>();
    let (all, out) = (of(|f| f.vehicles), of(|f| f.passed + f.advised));
    for (seed, items) in fleets.iter().flat_map(|fleet| &fleet.held_up) {
        eprintln!("vehicle {seed}: {items:?}");
    }
    assert!(
        out * 100 >= all * 95,
        "{out} of {all} sound vehicles went out"
    );
}

/// No vehicle with one true defect gets a better driving answer than the defect deserves.
#[test]
fn vehicles_with_one_defect_never_look_better_than_it() {
    let results = on_threads(&Defect::ALL, |defect| fleet::defective(*defect, 0..24));
    let mut wrong = Vec::new();
    for (defect, (drawn, better)) in Defect::ALL.iter().zip(results) {
        assert!(drawn > 0, "no vehicle with {defect:?}");
        if !better.is_empty() {
            let deserves = defect.deserves();
            wrong.push(format!(
                "{defect:?}: {} of {drawn} better than {deserves:?}: {better:?}",
                better.len()
            ));
        }
    }
    nothing_wrong(&wrong, Defect::ALL.len());
}
