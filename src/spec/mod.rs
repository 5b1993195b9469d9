//! Specifications: spec sheets, rule packs, policy, schedules, and which limit applies.
//!
//! Knows what the files under `specs/` mean and where every number came from. Takes texts, never
//! reads a file, a clock or the environment, and judges nothing: it hands out limits with their
//! authority, and the layers above compare readings with them.

mod builtin;
mod check;
mod conditions;
mod figures;
mod find;
mod import;
mod import_write;
pub mod items;
mod limits;
mod lint;
mod lint_rules;
mod lookup;
mod percent;
mod policy;
mod problem;
mod quantities;
mod reader;
mod rules;
mod rules_check;
mod rules_reach;
mod rules_read;
mod schedule;
mod scope;
mod sheet;
mod sheet_read;
mod sourced;

pub use crate::units::{Chassis, Mounting};
pub use builtin::{
    builtin_policies, builtin_rule_packs, builtin_schedules, builtin_sheets, builtin_words,
};
pub use check::check;
pub use find::{Match, SheetQuery, find_sheet};
pub use import::{Import, ImportedSheet, RefusedRow, import};
pub use limits::{Authority, Limit, LimitBound, LimitChain, MarkDiffers, OtherLimit};
pub use lint::{Lint, Severity, lint};
pub use lookup::{FluidLimits, LimitSources, fluid_limits, rules_for};
pub use percent::Percent;
pub use policy::{Policy, PolicyOrigin, PolicyValue};
pub use problem::{Place, Problem, ProblemKind, SpecProblems};
pub use rules::{
    Applies, AxleCondition, Bound, BrakeForm, Conditions, DefectRule, Exceptions, Fact, PackScope,
    PartState, Remark, Rule, RuleClass, RulePack, RuleValue, Status, VehicleFacts,
};
pub use schedule::{Depth, DepthPlan, RunoutReading, Schedule, ScheduledItem, ThicknessPoints};
pub use scope::{possible, unknown_facts};
pub use sheet::{
    Actuation, AxleSpec, BrakeKind, CalliperSpec, DiscSpec, DrumSpec, FastenerKind, FastenerSpec,
    FrictionBasis, FrictionSpec, RetorqueRule, RunoutDefinition, RunoutSpec, ServiceInterval,
    Sheet, WheelSpec,
};
pub use sourced::{Origin, Sourced};

#[cfg(test)]
mod lookup_tests;
#[cfg(test)]
mod tests;
