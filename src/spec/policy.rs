//! The workshop's policy: planning figures and defaults, each with where it comes from.
//!
//! A policy never makes a part fail: a figure of the policy may turn PASS into ADVISE, choose a
//! default, or ask a question. FAIL needs a maker's figure or a rule pack's.

use serde::{Deserialize, Serialize};

use super::percent::Percent;
use super::problem::SpecProblems;
use super::reader::{Reader, Section};
use super::sourced::Sourced;
use crate::units::{Distance, Length, Temperature};

/// Where a policy's figure comes from.
#[derive(Clone, Debug, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum PolicyOrigin {
    /// This program's own default.
    Own,
    /// Common practice in the trade, with no single source.
    CommonPractice,
    /// A published text; which one stands in the policy's file.
    Published,
    /// The workshop's own choice, with its reason if one is given.
    Workshop(Option<String>),
}

impl PolicyOrigin {
    fn from_source(source: Option<&str>) -> Self {
        match source {
            Some("own") => Self::Own,
            Some("common practice") => Self::CommonPractice,
            Some("published") => Self::Published,
            other => Self::Workshop(other.map(str::to_owned)),
        }
    }
}

impl std::fmt::Display for PolicyOrigin {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Self::Own => f.write_str("program's default"),
            Self::CommonPractice => f.write_str("common practice"),
            Self::Published => f.write_str("published"),
            Self::Workshop(None) => f.write_str("workshop's choice"),
            Self::Workshop(Some(reason)) => write!(f, "workshop's choice: {reason}"),
        }
    }
}

/// A figure of the policy with its origin.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct PolicyValue<T> {
    /// The figure.
    pub value: T,
    /// Where it comes from.
    pub origin: PolicyOrigin,
}

/// Types a policy can hold, how each is read from a table and printed.
trait PolicyType: Sized {
    fn read(section: &Section<'_, '_>, stem: &str) -> Option<Sourced<Self>>;
    fn print(&self) -> String;
}

macro_rules! policy_type {
    ($type:ty, $method:ident, $print:expr) => {
        impl PolicyType for $type {
            fn read(section: &Section<'_, '_>, stem: &str) -> Option<Sourced<Self>> {
                section.$method(stem)
            }

            fn print(&self) -> String {
                let print: fn(&Self) -> String = $print;
                print(self)
            }
        }
    };
}

policy_type!(Length, length, ToString::to_string);
policy_type!(Percent, percent, ToString::to_string);
policy_type!(Distance, distance, ToString::to_string);
// A half-width is a difference, so kelvin and not a point of the Celsius scale.
policy_type!(Temperature, temperature_difference, |k| k
    .to_string()
    .replace("°C", "K"));
policy_type!(u32, sourced_whole, ToString::to_string);
policy_type!(bool, sourced_flag, |flag| if *flag { "yes" } else { "no" }
    .to_owned());
policy_type!(Vec<u32>, sourced_wholes, |list| {
    list.iter()
        .map(ToString::to_string)
        .collect::<Vec<_>>()
        .join(", ")
});

/// Declares the policy once: field, type, table and key of the file, default, origin.
macro_rules! policy {
    ($($(#[$doc:meta])* $field:ident: $type:ty = $table:literal . $stem:literal, $default:expr, $origin:ident;)*) => {
        /// Every figure of a policy.
        ///
        /// Never a source of FAIL; see the module's documentation.
        ///
        /// # Examples
        ///
        /// ```
        /// use brakecorner::spec::Policy;
        ///
        /// let policy = Policy::parse("[pads]\nplan_mm = 3.5\n", "policy.toml")?;
        /// assert_eq!(policy.pads_plan.value.nm(), 3_500_000);
        /// assert_eq!(policy.pads_plan.origin.to_string(), "workshop's choice");
        /// // What the file leaves out keeps its default.
        /// assert_eq!(policy.disc_left_advise, Policy::builtin().disc_left_advise);
        /// # Ok::<(), brakecorner::spec::SpecProblems>(())
        /// ```
        #[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
        pub struct Policy {
            /// Short name of the policy.
            pub id: String,
            $($(#[$doc])* pub $field: PolicyValue<$type>,)*
        }

        impl Policy {
            /// The program's defaults, the same as the policy file that ships with it.
            #[must_use]
            pub fn builtin() -> Self {
                Self {
                    id: "default".to_owned(),
                    $($field: PolicyValue { value: $default, origin: PolicyOrigin::$origin },)*
                }
            }

            /// Lays what the tables hold over the defaults.
            fn overlay(&mut self, tables: &Tables<'_, '_>) {
                $(tables.read($table, $stem, &mut self.$field);)*
            }

            /// Every figure as table, key without its unit, value in words and origin, in the file's order.
            #[must_use]
            pub fn list(&self) -> Vec<(&'static str, &'static str, String, PolicyOrigin)> {
                vec![$((
                    $table,
                    $stem,
                    self.$field.value.print(),
                    self.$field.origin.clone(),
                ),)*]
            }
        }

        /// The tables of a policy file.
        const TABLES: &[&str] = &[$($table),*];
    };
}

/// The tables present in a file, each opened once.
struct Tables<'r, 't>(Vec<(&'static str, Section<'r, 't>)>);

impl Tables<'_, '_> {
    fn read<T: PolicyType>(&self, table: &str, stem: &str, field: &mut PolicyValue<T>) {
        let Some((_, section)) = self.0.iter().find(|(name, _)| *name == table) else {
            return;
        };
        if let Some(found) = T::read(section, stem) {
            let origin = PolicyOrigin::from_source(found.source());
            *field = PolicyValue {
                value: found.value,
                origin,
            };
        }
    }
}

const fn um(micrometres: i64) -> Length {
    Length::from_nm(micrometres * 1_000)
}

const fn percent(whole: i64) -> Percent {
    Percent::from_thousandths(whole * 1_000)
}

policy! {
    /// Disc: ADVISE when less than this is left above the limit.
    disc_left_advise: Length = "disc"."left_advise", um(300), Own;
    /// Thickness variation: the limit where the maker gives none.
    dtv_limit: Length = "disc"."dtv_limit", um(20), CommonPractice;
    /// Thickness variation: ADVISE above this.
    dtv_advise: Length = "disc"."dtv_advise", um(10), CommonPractice;
    /// Thickness variation: ADVISE above this while a judder complaint is open.
    dtv_advise_judder: Length = "disc"."dtv_advise_judder", um(8), CommonPractice;
    /// Run-out at the wheel: the limit where the maker gives none.
    runout_limit: Length = "disc"."runout_limit", um(100), CommonPractice;
    /// Run-out at the wheel: ADVISE above this while a judder complaint is open.
    runout_advise_judder: Length = "disc"."runout_advise_judder", um(50), CommonPractice;
    /// Run-out at the wheel: ADVISE when the second-order part is above this, peak to peak.
    runout_order2_advise: Length = "disc"."runout_order2_advise", um(20), CommonPractice;
    /// Run-out ring: a closing error above this, or above one division, asks for the ring again.
    runout_closing: Length = "disc"."runout_closing", um(5), Own;
    /// Scoring of a disc's face: ADVISE from this depth.
    scoring_advise: Length = "disc"."scoring_advise", um(500), Own;
    /// Scoring of a disc's face: severe above this depth.
    scoring_severe: Length = "disc"."scoring_severe", um(1_500), Own;
    /// Discs of an axle: ADVISE when their minimums differ by more than this.
    disc_left_right: Length = "disc"."left_right", um(500), Own;

    /// Pads: ADVISE at this thickness or less.
    pads_plan: Length = "pads"."plan", um(3_000), CommonPractice;
    /// Pads of a wheel: ADVISE when inner and outer minimum differ by more than this.
    pads_inner_outer: Length = "pads"."inner_outer", um(2_000), Own;
    /// Pads of an axle: ADVISE when left and right minimum differ by more than this.
    pads_left_right: Length = "pads"."left_right", um(2_000), Own;
    /// Pads and linings: standard uncertainty of a new thickness that nobody measured.
    pads_new_uncertainty: Length = "pads"."new_uncertainty", um(300), Own;
    /// Pads and linings: below this share of the maker's minimum the vehicle is not to be driven.
    friction_stop: Percent = "pads"."stop", percent(50), Own;
    /// Drum linings: ADVISE at the limit plus this, or less.
    linings_margin: Length = "linings"."margin", um(500), Own;

    /// A statute's figure: ADVISE nearer to it than this share of it, or than 1.645 u if that is more.
    rollers_margin: Percent = "rollers"."margin", percent(5), Own;

    /// Fluid: ADVISE below the point this far from the wet to the dry boiling point.
    fluid_advise: Percent = "fluid"."advise", percent(50), Own;

    /// Torque: stages in percent of the target.
    torque_stages: Vec<u32> = "torque"."stages_percent", vec![30, 60, 100], Own;
    /// Torque: whether a full second pass at the target follows.
    torque_second_pass: bool = "torque"."second_pass", true, Own;
    /// Torque: whether a second person must check the final torque.
    torque_second_person: bool = "torque"."second_person", false, Own;
    /// Torque: tolerance where the sheet gives none.
    torque_tolerance: Percent = "torque"."tolerance", percent(5), Own;
    /// Re-torque: distance where the sheet gives none.
    retorque_distance: Distance = "torque"."retorque_distance", Distance::from_whole_km(50), CommonPractice;
    /// Re-torque: days where the sheet gives none.
    retorque_days: u32 = "torque"."retorque_days", 7, Own;
    /// Re-torque: ADVISE when a fastener turned further than this many degrees.
    retorque_turned_deg: u32 = "torque"."retorque_turned_deg", 10, Own;

    /// Gauges: repeatability of a reading while the instrument has no study of its own.
    gauge_repeatability: Length = "gauges"."repeatability", um(3), Own;
    /// Gauges: standard uncertainty of a zero check without repeats.
    zero_check_uncertainty: Length = "gauges"."zero_check_uncertainty", um(1), Own;
    /// Gauges: allowed zero error of an instrument that reads finer than 0.01 mm.
    zero_error_fine: Length = "gauges"."zero_error_fine", um(2), Own;
    /// Gauges: allowed zero error of an instrument that reads 0.01 mm or coarser.
    zero_error_coarse: Length = "gauges"."zero_error_coarse", um(5), Own;
    /// Temperature: half-width of a temperature that was given.
    temperature_given: Temperature = "gauges"."temperature_given", Temperature::from_millidegrees(1_000), Own;
    /// Temperature: half-width of a temperature that was not given.
    temperature_unknown: Temperature = "gauges"."temperature_unknown", Temperature::from_millidegrees(15_000), Own;
    /// Expansion of the disc, in 1e-9 per kelvin.
    expansion_ppb: u32 = "gauges"."expansion_ppb_per_k", 11_400, Published;
    /// Half-width of the expansion, in 1e-9 per kelvin.
    expansion_half_width_ppb: u32 = "gauges"."expansion_half_width_ppb_per_k", 600, Published;

    /// Decision: a reading is proven in at this conformance probability or more.
    proof: Percent = "decision"."proof", percent(95), Published;
    /// Forecast: one-sided confidence of the lower bound that plans are made by.
    forecast_confidence: Percent = "decision"."forecast_confidence", percent(90), Own;
    /// Forecast: by how much faster a part may wear from now on, which the lower bound allows for.
    forecast_pace: Percent = "decision"."forecast_pace", percent(25), Own;

    /// Entry: ask when a reading differs from its neighbours in the ring by more than this.
    ask_neighbour: Length = "questions"."neighbour", um(300), Own;
    /// Entry: ask when a reading exceeds the new size by more than this.
    ask_above_new: Length = "questions"."above_new", um(500), Own;

    /// Service: distance to the next one where the sheet gives none.
    service_distance: Distance = "service"."distance", Distance::from_whole_km(15_000), Own;
    /// Service: months to the next one where the sheet gives none.
    service_months: u32 = "service"."months", 12, Own;

    /// Desk: the customer is called when a quote rises by more than this share.
    call_rise: Percent = "desk"."call_rise", percent(0), Own;
    /// Desk: the customer is called when a line is added, whatever it costs.
    call_on_added_line: bool = "desk"."call_on_added_line", true, Own;
    /// Record: whether a second person must countersign.
    countersign_required: bool = "record"."countersign_required", false, Own;
}

impl Default for Policy {
    fn default() -> Self {
        Self::builtin()
    }
}

impl Policy {
    /// Reads a policy; what the text leaves out keeps the program's default.
    ///
    /// # Errors
    /// [`SpecProblems`] with every problem of the file: broken TOML, unknown keys, wrong values, and
    /// figures that contradict each other.
    pub fn parse(text: &str, file_name: &str) -> Result<Self, SpecProblems> {
        let reader = Reader::new(text, file_name);
        let policy = read(&reader);
        reader.conclude(policy)
    }
}

fn read(reader: &Reader<'_>) -> Option<Policy> {
    let document = reader.parse()?;
    let root = Section::root(reader, &document);
    let mut policy = Policy::builtin();
    policy.id = root.text("id").unwrap_or_else(|| "workshop".to_owned());
    let mut names: Vec<&'static str> = Vec::new();
    for table in TABLES {
        if !names.contains(table) {
            names.push(table);
        }
    }
    let opened = names
        .into_iter()
        .filter_map(|name| root.table(name).map(|table| (name, table)));
    let tables = Tables(opened.collect());
    policy.overlay(&tables);
    contradictions(&policy, &tables);
    for (_, section) in tables.0 {
        section.finish();
    }
    root.finish();
    Some(policy)
}

fn contradictions(policy: &Policy, tables: &Tables<'_, '_>) {
    let report = |table: &str, key: &str, message: String| {
        if let Some((_, section)) = tables.0.iter().find(|(name, _)| *name == table) {
            section.contradiction(key, message);
        }
    };
    let ordered = [
        (
            "disc",
            "dtv_advise_mm",
            &policy.dtv_advise,
            &policy.dtv_limit,
        ),
        (
            "disc",
            "dtv_advise_judder_mm",
            &policy.dtv_advise_judder,
            &policy.dtv_advise,
        ),
        (
            "disc",
            "runout_advise_judder_mm",
            &policy.runout_advise_judder,
            &policy.runout_limit,
        ),
        (
            "disc",
            "scoring_advise_mm",
            &policy.scoring_advise,
            &policy.scoring_severe,
        ),
        (
            "gauges",
            "zero_error_fine_mm",
            &policy.zero_error_fine,
            &policy.zero_error_coarse,
        ),
    ];
    for (table, key, low, high) in ordered {
        if low.value > high.value {
            report(
                table,
                key,
                format!(
                    "{} is above {}, which should come later",
                    low.value, high.value
                ),
            );
        }
    }
    let stages = &policy.torque_stages.value;
    if stages.last() != Some(&100) || !stages.is_sorted() {
        report(
            "torque",
            "stages_percent",
            format!("{stages:?} does not rise to 100"),
        );
    }
    for (key, share) in [
        ("proof_percent", &policy.proof),
        ("forecast_confidence_percent", &policy.forecast_confidence),
    ] {
        if share.value <= percent(50) || share.value >= percent(100) {
            report(
                "decision",
                key,
                format!("{} is not between 50 % and 100 %", share.value),
            );
        }
    }
}
