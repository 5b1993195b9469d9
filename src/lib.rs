//! Measurement, judgement and the signed record of a brake-corner inspection.
pub mod cli;
pub mod job;
pub mod judge;
pub mod measure;
pub mod record;
pub mod shop;
pub mod spec;
pub mod units;
pub mod walk;
