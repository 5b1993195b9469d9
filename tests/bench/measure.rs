//! How long the models take, as ratios within one run.
//!
//! `cargo bench --bench measure` first prints each model's time as a multiple of a plain pass over
//! 4,000 numbers measured in the same run, so that two machines can be compared; then the table of
//! absolute times.

#![allow(clippy::print_stdout, clippy::unwrap_used)]

#[path = "../scenario/jobs.rs"]
mod jobs;

use std::hint::black_box;
use std::time::{Duration, Instant};

use brakecorner::job::{Job, Register, journal};
use brakecorner::judge::{Judgement, judge};
use brakecorner::measure::clocking::{ClockedRing, Clocking, clocking};
use brakecorner::measure::disc::{Thickness, ThicknessConditions, thickness};
use brakecorner::measure::runout::{Runout, RunoutRing, runout};
use brakecorner::measure::uncertainty::Gauge;
use brakecorner::measure::wear::{Forecast, Visit, forecast};
use brakecorner::record::freeze::Specs;
use brakecorner::units::{Distance, Length};

const SWEEP: usize = 4_000;

fn um(v: i64) -> Length {
    Length::from_nm(v * 1000)
}

fn gauge() -> Gauge {
    Gauge {
        mpe: um(4),
        resolution: um(1),
        repeatability: um(1),
        zero_check: um(1),
        repeatability_dof: None,
    }
}

/// A tilt of 0.06 mm with some texture, `n` points.
fn ring(n: usize) -> RunoutRing {
    let points = (0..n)
        .map(|i| {
            let t = std::f64::consts::TAU * i as f64 / n as f64;
            Length::from_mm(0.03 * t.cos() + 0.002 * (7.0 * t).sin()).unwrap()
        })
        .collect();
    RunoutRing {
        points,
        ..RunoutRing::default()
    }
}

/// What any program must do at least: look at each number once.
fn plain_pass(points: &[Length]) -> (i64, i64, i64) {
    points
        .iter()
        .fold((i64::MAX, i64::MIN, 0), |(low, high, sum), p| {
            (low.min(p.nm()), high.max(p.nm()), sum + p.nm())
        })
}

fn sweep(ring: &RunoutRing) -> Runout {
    runout(ring, &gauge()).unwrap()
}

fn three_rings() -> [ClockedRing; 3] {
    [0, 2, 3].map(|clocking| ClockedRing {
        clocking,
        ring: ring(10 + usize::from(clocking)),
    })
}

fn clock(rings: &[ClockedRing]) -> Clocking {
    clocking(5, rings, None, &gauge()).unwrap()
}

fn visits() -> [Visit; 3] {
    [(61_050, 5_600), (72_480, 4_300), (84_120, 2_900)].map(|(km, t)| Visit {
        odometer: Distance::from_whole_km(km),
        thickness: um(t),
        u: None,
        new_parts: false,
    })
}

fn look_ahead(visits: &[Visit]) -> Forecast {
    forecast(visits, um(2_000), um(82)).unwrap()
}

fn ten_points() -> Vec<Vec<Length>> {
    (0..10).map(|i| vec![um(22_010 + i % 3)]).collect()
}

fn measure_disc(points: &[Vec<Length>]) -> Thickness {
    thickness(points, &ThicknessConditions::default(), &gauge()).unwrap()
}

/// A vehicle of four corners, everything looked at and measured, with its journal.
struct Vehicle {
    journal: &'static [u8],
    job: Job,
    specs: Specs,
    register: Register,
}

impl Vehicle {
    fn stored() -> Self {
        let journal = include_bytes!("../data/jobs/HWY-0411.jsonl");
        let job = folded(journal);
        let specs = jobs::specs(&job.opening.as_ref().unwrap().sheet);
        Self {
            journal,
            job,
            specs,
            register: jobs::register(),
        }
    }

    fn judge(&self, job: &Job) -> Judgement {
        judge(&self.specs.case(job, &self.register))
    }
}

fn folded(journal: &[u8]) -> Job {
    let mut job = Job::default();
    for entry in &journal::read(journal).entries {
        entry.apply_to(&mut job);
    }
    job
}

/// The median time of one call, over batches of about a millisecond.
fn median<T>(mut call: impl FnMut() -> T) -> Duration {
    let once = Instant::now();
    black_box(call());
    let batch = (1_000_000 / once.elapsed().as_nanos().max(20)).clamp(1, 50_000) as u32;
    let mut times: Vec<Duration> = (0..101)
        .map(|_| {
            let start = Instant::now();
            for _ in 0..batch {
                black_box(call());
            }
            start.elapsed() / batch
        })
        .collect();
    times.sort();
    times[times.len() / 2]
}

fn ratios() {
    let (long, rings, history, points) = (ring(SWEEP), three_rings(), visits(), ten_points());
    let vehicle = Vehicle::stored();
    let pass = median(|| plain_pass(black_box(&long.points)));
    println!("plain pass over {SWEEP} numbers: {pass:?}; as multiples of it:");
    for (what, time) in [
        (
            "fit of a 4,000-point sweep",
            median(|| sweep(black_box(&long))),
        ),
        ("clocking with 3 rings", median(|| clock(black_box(&rings)))),
        (
            "forecast from 3 visits",
            median(|| look_ahead(black_box(&history))),
        ),
        (
            "thickness ring of 10 points",
            median(|| measure_disc(black_box(&points))),
        ),
        (
            "judging a complete vehicle",
            median(|| vehicle.judge(black_box(&vehicle.job))),
        ),
        (
            "the same from its journal",
            median(|| vehicle.judge(&folded(black_box(vehicle.journal)))),
        ),
    ] {
        println!(
            "  {what:28} {:8.2}  ({time:?})",
            time.as_secs_f64() / pass.as_secs_f64()
        );
    }
}

#[divan::bench]
fn plain_pass_over_4000(bencher: divan::Bencher) {
    let long = ring(SWEEP);
    bencher.bench(|| plain_pass(black_box(&long.points)));
}

#[divan::bench]
fn fit_of_4000(bencher: divan::Bencher) {
    let long = ring(SWEEP);
    bencher.bench(|| sweep(black_box(&long)));
}

#[divan::bench]
fn clocking_with_3_rings(bencher: divan::Bencher) {
    let rings = three_rings();
    bencher.bench(|| clock(black_box(&rings)));
}

#[divan::bench]
fn forecast_from_3_visits(bencher: divan::Bencher) {
    let history = visits();
    bencher.bench(|| look_ahead(black_box(&history)));
}

#[divan::bench]
fn thickness_of_10_points(bencher: divan::Bencher) {
    let points = ten_points();
    bencher.bench(|| measure_disc(black_box(&points)));
}

#[divan::bench]
fn judging_a_complete_vehicle(bencher: divan::Bencher) {
    let vehicle = Vehicle::stored();
    bencher.bench(|| vehicle.judge(black_box(&vehicle.job)));
}

fn main() {
    // `cargo test` runs benches once to see that they work; then ratios would only waste time.
    if std::env::args().any(|a| a == "--bench") {
        ratios();
    }
    divan::main();
}
