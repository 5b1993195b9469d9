//! Measurement, judgement and the signed record of a brake-corner inspection.
pub mod record;
pub mod shop;
pub mod units;
