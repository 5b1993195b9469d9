//! Rule packs: published minimums with clause, edition and status, and when each applies.

use chrono::NaiveDate;
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use super::percent::Percent;
use super::problem::SpecProblems;
use super::sheet::Actuation;
use crate::units::{Chassis, Force, Length, Mounting, Temperature};

/// One jurisdiction's or standard's rules.
///
/// # Examples
///
/// ```
/// use brakecorner::spec::{Applies, BrakeForm, RulePack, VehicleFacts, builtin_rule_packs};
///
/// let packs: Vec<RulePack> = builtin_rule_packs()
///     .iter()
///     .map(|(file, text)| RulePack::parse(text, file))
///     .collect::<Result<_, _>>()?;
/// let gb = packs.iter().find(|pack| pack.id == "gb").unwrap();
/// let facts = VehicleFacts {
///     class: Some("M1".to_owned()),
///     brake: Some(BrakeForm::Disc),
///     ..VehicleFacts::default()
/// };
/// let pads = gb.applicable("pads.thickness", &facts);
/// assert!(matches!(&pads[..], [(rule, Applies::Yes)] if rule.value.to_string() == "1.500 mm"));
/// # Ok::<(), brakecorner::spec::SpecProblems>(())
/// ```
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct RulePack {
    /// Short name, such as `gb`.
    pub id: String,
    /// Name for people.
    pub name: String,
    /// Which edition of the text the rows were taken from.
    pub edition: String,
    /// What kind of limits the pack holds.
    #[serde(default)]
    pub scope: PackScope,
    /// Vehicles the pack is for. Choosing the pack does not make a vehicle one of them: what is not
    /// known of it is not known here either.
    #[serde(default)]
    pub vehicles: Conditions,
    /// The rules with a number.
    pub rows: Vec<Rule>,
    /// The rules about what is looked at.
    #[serde(default)]
    pub defects: Vec<DefectRule>,
    /// What the text says that is no rule, such as what is not in itself a failure.
    #[serde(default)]
    pub remarks: Vec<Remark>,
}

/// What kind of limits a pack holds.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum PackScope {
    /// Limits for vehicles in use: they decide verdicts.
    #[default]
    Inspection,
    /// Limits for a new part on its own, measured on a bench: shown, never judged by.
    NewPart,
    /// Grades of brake fluid.
    Fluid,
}

/// A rule with a number.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Rule {
    /// Short name, unique in the pack.
    pub id: String,
    /// Item the rule is about.
    pub item: String,
    /// What of the item is measured, when it is not the item's own value, such as `ovality`.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub quantity: Option<String>,
    /// Where in the text the rule stands.
    pub clause: String,
    /// How the rule came to be known.
    pub status: Status,
    /// Who compared the rule with the text for the workshop.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub checked_by: Option<String>,
    /// Whether the value is the smallest or the largest allowed.
    pub bound: Bound,
    /// The value.
    pub value: RuleValue,
    /// Whether a reading exactly at the value passes.
    pub at_limit_passes: bool,
    /// How grave it is to break the rule.
    pub class: RuleClass,
    /// When the rule applies.
    #[serde(default)]
    pub when: Conditions,
    /// What the rule does not count.
    #[serde(default)]
    pub exceptions: Exceptions,
    /// What a reader of the rule should know.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub note: Option<String>,
}

/// A rule about something looked at.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct DefectRule {
    /// Short name, unique in the pack.
    pub id: String,
    /// Item the rule is about.
    pub item: String,
    /// Defect codes the rule names.
    pub codes: Vec<String>,
    /// Where in the text the rule stands.
    pub clause: String,
    /// How the rule came to be known.
    pub status: Status,
    /// Who compared the rule with the text for the workshop.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub checked_by: Option<String>,
    /// How grave the defect is.
    pub class: RuleClass,
    /// When the rule applies.
    #[serde(default)]
    pub when: Conditions,
    /// The rule in plain words.
    pub sentence: String,
}

/// Something the text says about an item that is no rule to fail by.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Remark {
    /// Item it is about.
    pub item: String,
    /// Where in the text it stands.
    pub clause: String,
    /// How it came to be known.
    pub status: Status,
    /// The remark in plain words.
    pub text: String,
}

/// How a rule came to be known.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Status {
    /// Read in a copy of the text itself.
    Read,
    /// Read in another text that quotes it.
    Secondary,
    /// Known from memory.
    Memory,
}

impl Status {
    /// The word used in files: `read`, `secondary`, `memory`.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::Read => "read",
            Self::Secondary => "secondary",
            Self::Memory => "memory",
        }
    }
}

/// Which side of a value is allowed.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Bound {
    /// The value is the smallest allowed.
    Minimum,
    /// The value is the largest allowed.
    Maximum,
}

/// The value of a rule, in its unit.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum RuleValue {
    /// A length.
    Length(Length),
    /// A percentage.
    Percent(Percent),
    /// A temperature.
    Temperature(Temperature),
}

impl std::fmt::Display for RuleValue {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Self::Length(value) => value.fmt(f),
            Self::Percent(value) => value.fmt(f),
            Self::Temperature(value) => value.fmt(f),
        }
    }
}

/// How grave it is to break a rule; a later one is graver.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum RuleClass {
    /// To be mentioned.
    Advisory,
    /// The vehicle fails.
    Major,
    /// The vehicle is not to be driven.
    Dangerous,
}

/// Which axles a rule is for.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum AxleCondition {
    /// Every axle.
    #[default]
    Any,
    /// Axles that steer.
    Steering,
    /// Axles that do not.
    NonSteering,
}

/// Kind of a brake, for conditions.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum BrakeForm {
    /// Disc.
    Disc,
    /// Drum.
    Drum,
}

/// State of a part or of the fluid.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum PartState {
    /// Used.
    #[default]
    InService,
    /// New, out of its box or bottle.
    New,
}

/// When a rule applies; an empty condition always holds.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(default)]
pub struct Conditions {
    /// Vehicle classes; empty for every class.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub classes: Vec<String>,
    /// First used on this day or later.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub first_used_from: Option<NaiveDate>,
    /// First used before this day.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub first_used_before: Option<NaiveDate>,
    /// Axles.
    pub axle: AxleCondition,
    /// Kind of brake.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub brake: Option<BrakeForm>,
    /// What works the brake; empty for everything.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub actuation: Vec<Actuation>,
    /// How the friction material is held.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub mounting: Option<Mounting>,
    /// Whether the shoe carries two pads.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub two_pad_shoe: Option<bool>,
    /// Gross mass up to and including this, in grams.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub gross_mass_up_to_g: Option<u64>,
    /// Gross mass over this, in grams.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub gross_mass_over_g: Option<u64>,
    /// Whether the vehicle carries passengers.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub passenger: Option<bool>,
    /// Seats, the driver's included, up to and including this.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub seats_up_to: Option<u32>,
    /// More seats, the driver's included, than this.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub seats_over: Option<u32>,
    /// What the vehicle is built on.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub chassis: Option<Chassis>,
    /// The service brake acts on this many wheels or more.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub braked_wheels_from: Option<u32>,
    /// Whether one line works every brake.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub single_line: Option<bool>,
    /// Grade of the brake fluid.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub fluid_grade: Option<String>,
    /// State of the part or fluid.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub part: Option<PartState>,
}

/// What a rule does not count.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(default)]
pub struct Exceptions {
    /// The rule is not applied when the wheel with the lower effort locked.
    #[serde(skip_serializing_if = "std::ops::Not::not")]
    pub lower_wheel_locked: bool,
    /// The rule is not applied when the higher effort is not above this.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub higher_effort_up_to: Option<Force>,
    /// The rule is met when more than half of the system's wheels lock.
    #[serde(skip_serializing_if = "std::ops::Not::not")]
    pub met_when_half_lock: bool,
}

/// What is known of the vehicle, axle and part a rule is tried on.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(default)]
pub struct VehicleFacts {
    /// Vehicle class, such as `M1`.
    pub class: Option<String>,
    /// Day of first use.
    pub first_used: Option<NaiveDate>,
    /// Name of the axle.
    pub axle: Option<String>,
    /// Whether the axle steers.
    pub steered: Option<bool>,
    /// Kind of the axle's brake.
    pub brake: Option<BrakeForm>,
    /// What works the brake.
    pub actuation: Option<Actuation>,
    /// How the friction material is held.
    pub mounting: Option<Mounting>,
    /// Whether the shoe carries two pads.
    pub two_pad_shoe: Option<bool>,
    /// Gross mass in grams.
    pub gross_mass_g: Option<u64>,
    /// Whether the vehicle carries passengers.
    pub passenger: Option<bool>,
    /// Seats, the driver's included.
    pub seats: Option<u32>,
    /// What the vehicle is built on.
    pub chassis: Option<Chassis>,
    /// Wheels the service brake acts on.
    pub braked_wheels: Option<u32>,
    /// Whether one line works every brake.
    pub single_line: Option<bool>,
    /// Grade of the brake fluid.
    pub fluid_grade: Option<String>,
    /// State of the part or fluid.
    pub part: PartState,
}

/// Whether a rule applies.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Applies {
    /// It does.
    Yes,
    /// It does not, for this reason.
    NotBecause(String),
    /// It cannot be told, because these are not known.
    Unknown(Vec<Fact>),
}

/// A fact of a vehicle that rules ask for.
#[derive(
    Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize, JsonSchema,
)]
#[serde(rename_all = "snake_case")]
pub enum Fact {
    /// Vehicle class.
    Class,
    /// Day of first use.
    FirstUsed,
    /// Gross mass.
    GrossMass,
    /// Number of seats.
    Seats,
    /// Whether it carries passengers.
    Passenger,
    /// What it is built on.
    Chassis,
    /// Whether one line works every brake.
    SingleLine,
    /// How the friction material is held.
    Mounting,
    /// Whether a shoe carries two pads.
    TwoPadShoe,
    /// Whether the axle steers; a spec sheet says so.
    Steered,
    /// Kind of brake; a spec sheet says so.
    Brake,
    /// What works the brake; a spec sheet says so.
    Actuation,
    /// Wheels braked; a spec sheet says so.
    BrakedWheels,
    /// Grade of the fluid; a spec sheet says so.
    FluidGrade,
}

impl Fact {
    /// The fact in plain words.
    #[must_use]
    pub const fn words(self) -> &'static str {
        match self {
            Self::Class => "vehicle class",
            Self::FirstUsed => "date of first use",
            Self::GrossMass => "gross mass",
            Self::Seats => "number of seats",
            Self::Passenger => "whether it carries passengers",
            Self::Chassis => "what it is built on",
            Self::SingleLine => "whether one line works every brake",
            Self::Mounting => "how the lining is held",
            Self::TwoPadShoe => "number of pads on a shoe",
            Self::Steered => "whether the axle steers",
            Self::Brake => "kind of brake",
            Self::Actuation => "what works the brake",
            Self::BrakedWheels => "number of wheels braked",
            Self::FluidGrade => "fluid grade",
        }
    }

    /// `not known: ` and the facts.
    #[must_use]
    pub fn not_known(facts: &[Self]) -> String {
        let words: Vec<&str> = facts.iter().map(|fact| fact.words()).collect();
        format!("not known: {}", words.join(", "))
    }
}

impl RulePack {
    /// Reads a pack from its text; `file_name` appears in messages only.
    ///
    /// # Errors
    /// [`SpecProblems`] with every problem of the file: broken TOML, unknown or missing keys, values
    /// of the wrong kind, and rules that contradict each other.
    pub fn parse(text: &str, file_name: &str) -> Result<Self, SpecProblems> {
        super::rules_read::parse(text, file_name)
    }

    /// Reads a pack that is to be used or checked: beside what [`parse`](Self::parse) asks, it must say
    /// which vehicles it is for, and every row must be one that some vehicle reaches. `codes` are the
    /// defects that can be found at an item.
    ///
    /// # Errors
    /// [`SpecProblems`] likewise, and for unknown defects and rows that no vehicle reaches.
    pub fn parse_for_use(
        text: &str,
        file_name: &str,
        codes: &dyn Fn(&str) -> Vec<&'static str>,
    ) -> Result<Self, SpecProblems> {
        super::rules_read::parse_for_use(text, file_name, codes)
    }

    /// The rules about an item's own value, each with whether it applies and why not.
    #[must_use]
    pub fn applicable(&self, item: &str, facts: &VehicleFacts) -> Vec<(&Rule, Applies)> {
        self.applicable_to(item, None, facts)
    }

    /// The rules about a `quantity` of an item, such as the `ovality` of `drum.diameter`.
    #[must_use]
    pub fn applicable_to(
        &self,
        item: &str,
        quantity: Option<&str>,
        facts: &VehicleFacts,
    ) -> Vec<(&Rule, Applies)> {
        self.rows
            .iter()
            .filter(|rule| rule.item == item && rule.quantity.as_deref() == quantity)
            .map(|rule| (rule, self.applies(&rule.when, facts)))
            .collect()
    }

    /// The rule about a defect of an item that applies and is gravest, if the pack has one.
    #[must_use]
    pub fn defect(&self, item: &str, code: &str, facts: &VehicleFacts) -> Option<&DefectRule> {
        self.defects
            .iter()
            .filter(|rule| rule.item == item && rule.codes.iter().any(|known| known == code))
            .filter(|rule| self.applies(&rule.when, facts) == Applies::Yes)
            .max_by_key(|rule| rule.class)
    }

    /// Whether a condition of the pack's applies, the pack's own scope included: a condition known to
    /// fail decides, then everything that is not known.
    #[must_use]
    pub fn applies(&self, when: &Conditions, facts: &VehicleFacts) -> Applies {
        match (self.vehicles.try_on(facts), when.try_on(facts)) {
            (not @ Applies::NotBecause(_), _) | (_, not @ Applies::NotBecause(_)) => not,
            (Applies::Unknown(mut pack), Applies::Unknown(row)) => {
                pack.extend(row);
                pack.sort_unstable();
                pack.dedup();
                Applies::Unknown(pack)
            }
            (unknown @ Applies::Unknown(_), _) | (_, unknown @ Applies::Unknown(_)) => unknown,
            (Applies::Yes, Applies::Yes) => Applies::Yes,
        }
    }

    /// The conditions of every rule about an item: the numbers', then the defects'.
    pub(super) fn conditions_about<'p>(
        &'p self,
        item: &'p str,
    ) -> impl Iterator<Item = &'p Conditions> {
        let rows = self.rows.iter().filter(move |rule| rule.item == item);
        let defects = self.defects.iter().filter(move |rule| rule.item == item);
        rows.map(|rule| &rule.when)
            .chain(defects.map(|rule| &rule.when))
    }

    /// Records that `person` compared the rule or defect rule `id` with the text for the workshop.
    ///
    /// Returns whether the pack has such a rule.
    pub fn confirm(&mut self, id: &str, person: &str) -> bool {
        let rows = self
            .rows
            .iter_mut()
            .map(|rule| (&rule.id, &mut rule.checked_by));
        let defects = self
            .defects
            .iter_mut()
            .map(|rule| (&rule.id, &mut rule.checked_by));
        let mut found = false;
        for (rule_id, checked_by) in rows.chain(defects) {
            if rule_id == id {
                *checked_by = Some(person.to_owned());
                found = true;
            }
        }
        found
    }
}

impl Rule {
    /// Whether `unconfirmed` is to be printed beside the rule: its text was not read, and the
    /// workshop has not recorded that somebody checked it.
    #[must_use]
    pub fn unconfirmed(&self) -> bool {
        self.status != Status::Read && self.checked_by.is_none()
    }
}

impl DefectRule {
    /// Whether `unconfirmed` is to be printed beside the rule.
    #[must_use]
    pub fn unconfirmed(&self) -> bool {
        self.status != Status::Read && self.checked_by.is_none()
    }
}

impl From<super::sheet::BrakeKind> for BrakeForm {
    fn from(kind: super::sheet::BrakeKind) -> Self {
        match kind {
            super::sheet::BrakeKind::Disc { .. } => Self::Disc,
            super::sheet::BrakeKind::Drum => Self::Drum,
        }
    }
}
