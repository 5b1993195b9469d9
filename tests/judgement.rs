//! The decision table, row by row: just inside, at and just beyond each limit, and on either side of
//! its guard band; then what must hold for every job.
//!
//! The figures of the rows are the project's own defaults or common practice, those of the rule pack
//! stand in `specs/rules/gb.toml` with their clause. The guard band of 1.645 u is the one of
//! ISO 14253-1:2017 (secondary).

// A test may stop at the first thing it cannot read, and compares what was computed exactly.
#![allow(clippy::unwrap_used, clippy::panic, clippy::float_cmp)]

#[path = "scenario/jobs.rs"]
mod jobs;

#[path = "judgement/as_left.rs"]
mod as_left;
#[path = "judgement/bands.rs"]
mod bands;
#[path = "judgement/bench.rs"]
mod bench;
#[path = "judgement/cause_rows.rs"]
mod cause_rows;
#[path = "judgement/causes.rs"]
mod causes;
#[path = "judgement/changes.rs"]
mod changes;
#[path = "judgement/combinations.rs"]
mod combinations;
#[path = "judgement/entries.rs"]
mod entries;
#[path = "judgement/explained.rs"]
mod explained;
#[path = "judgement/gauges.rs"]
mod gauges;
#[path = "judgement/limits.rs"]
mod limits;
#[path = "judgement/looks.rs"]
mod looks;
#[path = "judgement/measured.rs"]
mod measured;
#[path = "judgement/overrides.rs"]
mod overrides;
#[path = "judgement/policy.rs"]
mod policy;
#[path = "judgement/properties.rs"]
mod properties;
#[path = "judgement/sets.rs"]
mod sets;
