//! How long `brakecorner check disc` takes as a process, as a multiple of an empty Rust program.
//!
//! `cargo bench --bench process` compiles the empty program beside this file, runs both in turn and
//! prints the ratios: of the medians, and of the fastest tenth, which a busy machine disturbs less.
//! The goal is at most 1.5; nothing fails on time.

#![allow(clippy::print_stdout, clippy::unwrap_used)]

use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};
use std::time::{Duration, Instant};

/// Runs of each program.
const RUNS: usize = 400;
/// Runs before the first that counts, until the files are in memory.
const WARM_UP: usize = 20;

const CHECK: [&str; 9] = [
    "check",
    "disc",
    "--readings",
    "24.308 24.309 24.308 24.308 24.308 24.306 24.305 24.305 24.307 24.306",
    "--limit",
    "23",
    "--nominal",
    "26",
    "--json",
];

fn main() {
    // `cargo test --benches` only wants to know that it runs.
    let runs = if std::env::args().any(|arg| arg == "--test") {
        1
    } else {
        RUNS
    };
    let empty = empty_program();
    let program = Path::new(env!("CARGO_BIN_EXE_brakecorner"));
    for _ in 0..WARM_UP.min(runs) {
        time(&empty, &[]);
        time(program, &CHECK);
    }
    let (mut nothing, mut check, mut version) = (vec![], vec![], vec![]);
    for _ in 0..runs {
        nothing.push(time(&empty, &[]));
        check.push(time(program, &CHECK));
        version.push(time(program, &["--version"]));
    }
    for times in [&mut nothing, &mut version, &mut check] {
        times.sort();
    }
    println!("{runs} runs each, taken in turn; wall time as a multiple of the empty program");
    println!(
        "{:24}{:>12}{:>8}{:>14}{:>8}",
        "", "median", "", "fastest tenth", ""
    );
    for (name, times) in [
        ("empty program", &nothing),
        ("brakecorner --version", &version),
        ("brakecorner check disc", &check),
    ] {
        let [(half, by_half), (tenth, by_tenth)] = [2, 10].map(|part| {
            let (time, base) = (times[runs / part], nothing[runs / part]);
            (time, time.as_secs_f64() / base.as_secs_f64())
        });
        println!("{name:24}{half:>12.2?}{by_half:>8.2}{tenth:>14.2?}{by_tenth:>8.2}");
    }
    println!("goal for check disc: 1.50 or less");
}

/// Compiles the empty program, optimised, with the compiler that cargo uses.
fn empty_program() -> PathBuf {
    let source = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/bench/empty.rs");
    let made = Path::new(env!("CARGO_TARGET_TMPDIR")).join("empty-program");
    let compiler = std::env::var_os("RUSTC").unwrap_or_else(|| "rustc".into());
    let status = Command::new(compiler)
        .args(["--edition", "2024", "-O", "-o"])
        .arg(&made)
        .arg(&source)
        .status()
        .unwrap();
    assert!(status.success(), "the empty program does not compile");
    made
}

/// Wall time of one run, from before it starts until it has ended; its output goes nowhere.
fn time(program: &Path, args: &[&str]) -> Duration {
    let start = Instant::now();
    let status = Command::new(program)
        .args(args)
        .stdin(Stdio::null())
        .stdout(Stdio::null())
        .stderr(Stdio::null())
        .status()
        .unwrap();
    let taken = start.elapsed();
    assert_eq!(status.code(), Some(0), "{} {args:?}", program.display());
    taken
}
