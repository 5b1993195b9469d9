//! Measurement, judgement and the signed record of a brake-corner inspection.
pub mod shop;
pub mod units;
