//! Record a brake-corner inspection, judge it, and leave a signed record anyone can verify.
//!
//! A technician with the wheels off logs readings; this library computes from them, judges every
//! item PASS, ADVISE or FAIL with its reason, and freezes readings, limits and verdicts in a record
//! that stock tools can check. It is usable without the command line.
//!
//! # Where everything is
//!
//! An arrow between layers only points down this list; each may use those named.
//!
//! | module | holds | may use |
//! |---|---|---|
//! | [`cli`] | one file a command; the only place that prints, prompts, reads the clock | all below |
//! | [`walk`] | the guided walk: steps, prompts, what an answer means | office, judge, job |
//! | [`sheet`] | the findings sheet as a model, and its forms | office, judge, job |
//! | `archive` | many workshops' records on PostgreSQL (feature `archive`) | record, office |
//! | [`record`] | freeze, sign, verify | judge, job |
//! | [`shop`] | the workshop folder on disk: journals, instruments, keys | job, spec |
//! | [`office`] | quote, decisions, what blocks a signature, due list, history | judge, job |
//! | [`judge`] | readings and limits in, findings out | measure, spec, job |
//! | [`job`] | what happened: events, their fold, the journal's lines | units |
//! | [`spec`] | spec sheets, rule packs, policy, schedules; which limit applies | units |
//! | [`measure`] | models: disc, run-out, clocking, pads, wear, uncertainty … | units |
//! | [`units`] | quantities that compare exactly | — |
//!
//! Data flows one way: readings are facts that are never changed; thickness, verdict, forecast and
//! sheet are pure functions of the journal and the limits frozen with it. So a verdict ten years
//! old can be recomputed, and a crash loses at most the keystroke not yet confirmed.
//!
//! # Example: is this disc within limits?
//!
//! ```
//! use brakecorner::measure::conformity::{Bound, Proof, conformity};
//! use brakecorner::measure::disc::{GREY_IRON_EXPANSION, ThicknessConditions, thickness};
//! use brakecorner::measure::uncertainty::Gauge;
//! use brakecorner::units::{Length, LengthUnit, Temperature};
//!
//! let read = |text| Length::parse(text, LengthUnit::Millimetre);
//! let ring = ["8.017", "8.015", "8.009", "8.006", "8.006", "8.008", "8.011", "8.016"];
//! let mut points = Vec::new();
//! for text in ring {
//!     points.push(vec![read(text)?]);
//! }
//! let gauge = Gauge {
//!     mpe: read("0.004")?,
//!     resolution: read("0.001")?,
//!     repeatability: read("0.001")?,
//!     zero_check: read("0.001")?,
//!     repeatability_dof: None,
//! };
//! // The disc is at 34 °C just after a drive, and reads thick.
//! let conditions = ThicknessConditions {
//!     zero_error: read("0.001")?,
//!     disc_temperature: Some(Temperature::parse("34")?),
//!     gauge_temperature: None,
//!     expansion_per_k: GREY_IRON_EXPANSION,
//!     ..ThicknessConditions::default()
//! };
//! let disc = thickness(&points, &conditions, &gauge)?;
//! assert_eq!(disc.t_min.rounded(LengthUnit::Millimetre, 4), "8.0037");
//!
//! let answer = conformity(disc.t_min, disc.u, Bound::AtLeast(read("8.000")?));
//! assert_eq!(answer.proof, Proof::NotProven); // above the limit, but not proven to be
//! # Ok::<(), Box<dyn std::error::Error>>(())
//! ```

#[cfg(feature = "archive")]
pub mod archive;
pub mod cli;
pub mod job;
pub mod judge;
pub mod measure;
pub mod office;
pub mod record;
pub mod sheet;
pub mod shop;
pub mod spec;
pub mod units;
pub mod walk;
