//! How many sound vehicles go out, and how many with one true defect look better than it.
//!
//! `cargo bench --bench fleets` draws every vehicle anew from fixed seeds and prints the rates;
//! `FLEET=500` makes a smaller fleet. Nothing is timed here.

#![allow(clippy::print_stdout, clippy::unwrap_used, unreachable_pub)]

#[path = "../safety/answer.rs"]
#[allow(dead_code)]
mod answer;
#[path = "../safety/fleet.rs"]
mod fleet;
#[path = "../scenario/jobs.rs"]
mod jobs;

use std::collections::BTreeMap;

use fleet::Defect;

fn percent(part: usize, whole: usize) -> f64 {
    100.0 * part as f64 / whole as f64
}

fn main() {
    let size = std::env::var("FLEET").ok().and_then(|n| n.parse().ok());
    let size: u64 = size.unwrap_or(4_000);
    let sound = fleet::sound(0..size);
    let out = sound.passed + sound.advised;
    println!("sound vehicles          {:>6}", sound.vehicles);
    println!(
        "  PASS                  {:>6}  {:5.1} %",
        sound.passed,
        percent(sound.passed, sound.vehicles)
    );
    println!(
        "  true advice           {:>6}  {:5.1} %",
        sound.advised,
        percent(sound.advised, sound.vehicles)
    );
    println!(
        "  went out              {:>6}  {:5.1} %",
        out,
        percent(out, sound.vehicles)
    );
    let mut why: BTreeMap<&str, usize> = BTreeMap::new();
    for item in sound.held_up.iter().flat_map(|(_, items)| items) {
        *why.entry(item.id()).or_default() += 1;
    }
    for (item, count) in why {
        println!("  held up by {item:<26} {count:>6}");
    }
    println!();
    println!("one true defect                            vehicles  better than it");
    let each = (size / 20).max(40);
    let (mut all, mut wrong) = (0, 0);
    for defect in Defect::ALL {
        let (drawn, better) = fleet::defective(defect, 0..each);
        println!(
            "{:<44} {drawn:>6} {:>6}",
            format!("{defect:?}"),
            better.len()
        );
        (all, wrong) = (all + drawn, wrong + better.len());
    }
    println!("{:<44} {all:>6} {wrong:>6}", "together");
}
