//! Looks the limits of each item up in sheet, mark, rule packs and policy.

use super::limits::{Authority, Candidates, Limit, LimitBound, LimitChain, MarkDiffers};
use super::percent::Percent;
use super::policy::{Policy, PolicyValue};
use super::rules::{
    Applies, BrakeForm, Fact, PackScope, PartState, Rule, RulePack, RuleValue, VehicleFacts,
};
use super::sheet::{AxleSpec, BrakeKind, FrictionBasis, FrictionSpec, RunoutDefinition, Sheet};
use super::sourced::Sourced;
use crate::units::{Length, Temperature, VehicleBuild};

/// Everything a limit can come from, for one vehicle.
///
/// The axle is the one `facts.axle` names; see [`VehicleFacts::on_axle`].
///
/// # Examples
///
/// ```
/// use brakecorner::spec::{
///     Authority, LimitSources, Policy, RulePack, Sheet, VehicleFacts, builtin_rule_packs, builtin_sheets,
/// };
/// use brakecorner::units::Length;
///
/// let (file, text) = builtin_sheets().iter().find(|(f, _)| *f == "merlock-dunling.toml").unwrap();
/// let sheet = Sheet::parse(text, file)?;
/// let (file, text) = builtin_rule_packs().iter().find(|(f, _)| *f == "gb.toml").unwrap();
/// let packs = [RulePack::parse(text, file)?];
/// let policy = Policy::builtin();
/// let facts = VehicleFacts::of_sheet(&sheet).on_axle(&sheet.axles[1]);
/// let sources = LimitSources { sheet: Some(&sheet), packs: &packs, policy: &policy, facts: &facts };
///
/// // The maker asks for 2.0 mm, the rule pack for 1.5 mm: the stricter one is applied, and both hold.
/// let pads = sources.pads();
/// let applied = pads.applied.as_ref().unwrap();
/// assert_eq!((applied.value.nm(), &applied.authority), (2_000_000, &Authority::Maker));
/// assert_eq!(pads.others[0].why, "looser than the limit applied");
///
/// // A mark on the disc that differs from the sheet is reported, and the stricter of them applies.
/// let disc = sources.disc_thickness(Some(Length::from_nm(10_400_000)));
/// assert_eq!(disc.applied.unwrap().authority, Authority::CastMark);
/// assert_eq!(disc.mark_differs.unwrap().sheet.nm(), 10_000_000);
/// # Ok::<(), brakecorner::spec::SpecProblems>(())
/// ```
#[derive(Clone, Copy, Debug)]
pub struct LimitSources<'a> {
    /// The vehicle's spec sheet, if one is on file.
    pub sheet: Option<&'a Sheet>,
    /// The rule packs the workshop chose, in order of preference.
    pub packs: &'a [RulePack],
    /// The workshop's policy.
    pub policy: &'a Policy,
    /// What is known of the vehicle, the axle and the part.
    pub facts: &'a VehicleFacts,
}

/// Boiling points of a grade of brake fluid.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct FluidLimits {
    /// The grade.
    pub grade: String,
    /// Smallest boiling point when new.
    pub dry: Limit<Temperature>,
    /// Smallest boiling point in use.
    pub wet: Limit<Temperature>,
}

impl VehicleFacts {
    /// The facts a sheet states about the vehicle itself.
    #[must_use]
    pub fn of_sheet(sheet: &Sheet) -> Self {
        Self {
            class: sheet.vehicle_class.clone(),
            fluid_grade: sheet.fluid_grade.as_ref().map(|grade| grade.value.clone()),
            // Every axle of a sheet has a service brake on both wheels.
            braked_wheels: u32::try_from(2 * sheet.axles.len()).ok(),
            ..Self::default()
        }
        .built(&sheet.build)
    }

    /// The same vehicle with what is known of its build.
    #[must_use]
    pub fn built(self, build: &VehicleBuild) -> Self {
        Self {
            gross_mass_g: build.gross_mass_g.or(self.gross_mass_g),
            seats: build.seats.or(self.seats),
            passenger: build.passenger.or(self.passenger),
            chassis: build.chassis.or(self.chassis),
            single_line: build.single_line.or(self.single_line),
            mounting: build.mounting.or(self.mounting),
            two_pad_shoe: build.two_pad_shoe.or(self.two_pad_shoe),
            ..self
        }
    }

    /// The same vehicle, with what is not known of it taken from another.
    #[must_use]
    pub fn or(self, other: &Self) -> Self {
        Self {
            class: self.class.or_else(|| other.class.clone()),
            first_used: self.first_used.or(other.first_used),
            axle: self.axle.or_else(|| other.axle.clone()),
            steered: self.steered.or(other.steered),
            brake: self.brake.or(other.brake),
            actuation: self.actuation.or(other.actuation),
            mounting: self.mounting.or(other.mounting),
            two_pad_shoe: self.two_pad_shoe.or(other.two_pad_shoe),
            gross_mass_g: self.gross_mass_g.or(other.gross_mass_g),
            passenger: self.passenger.or(other.passenger),
            seats: self.seats.or(other.seats),
            chassis: self.chassis.or(other.chassis),
            braked_wheels: self.braked_wheels.or(other.braked_wheels),
            single_line: self.single_line.or(other.single_line),
            fluid_grade: self.fluid_grade.or_else(|| other.fluid_grade.clone()),
            part: self.part,
        }
    }

    /// The same vehicle's facts on one of its axles.
    #[must_use]
    pub fn on_axle(&self, axle: &AxleSpec) -> Self {
        let friction = match axle.brake {
            BrakeKind::Disc { .. } => &axle.pads,
            BrakeKind::Drum => &axle.linings,
        };
        let friction = friction.as_ref();
        Self {
            // What the sheet says of this axle is nearer to it than what is known of the vehicle.
            mounting: friction.and_then(|f| f.mounting).or(self.mounting),
            two_pad_shoe: friction.and_then(|f| f.two_pad_shoe).or(self.two_pad_shoe),
            axle: Some(axle.name.clone()),
            steered: Some(axle.steered),
            brake: Some(BrakeForm::from(axle.brake)),
            actuation: Some(axle.actuation),
            ..self.clone()
        }
    }
}

impl<'a> LimitSources<'a> {
    fn axle(&self) -> Option<&'a AxleSpec> {
        self.sheet?.axle(self.facts.axle.as_deref()?)
    }

    /// Minimum disc thickness; `mark` is the figure on the disc.
    #[must_use]
    pub fn disc_thickness(&self, mark: Option<Length>) -> LimitChain<Length> {
        let sheet = self
            .axle()
            .and_then(|axle| axle.disc.as_ref())
            .and_then(|disc| disc.discard.as_ref());
        self.with_mark(
            "disc.thickness",
            LimitBound::AtLeast,
            sheet,
            mark,
            "marked on the disc",
        )
    }

    /// Maximum drum diameter; `mark` is the figure on the drum.
    #[must_use]
    pub fn drum_diameter(&self, mark: Option<Length>) -> LimitChain<Length> {
        let sheet = self
            .axle()
            .and_then(|axle| axle.drum.as_ref())
            .and_then(|drum| drum.max.as_ref());
        self.with_mark(
            "drum.diameter",
            LimitBound::AtMost,
            sheet,
            mark,
            "marked on the drum",
        )
    }

    fn with_mark(
        &self,
        item: &str,
        bound: LimitBound,
        sheet: Option<&Sourced<Length>>,
        mark: Option<Length>,
        mark_source: &str,
    ) -> LimitChain<Length> {
        let mut candidates = Candidates::new(bound);
        if let Some(sheet) = sheet {
            candidates.bind(self.maker(sheet.value, bound, sheet, None));
        }
        if let Some(mark) = mark {
            candidates.bind(Limit::new(
                mark,
                bound,
                Authority::CastMark,
                mark_source.to_owned(),
            ));
        }
        self.add_rules(&mut candidates, item, None, length);
        let mut chain = candidates.choose();
        chain.mark_differs = match (mark, sheet.map(|sheet| sheet.value)) {
            (Some(mark), Some(sheet)) if mark != sheet => Some(MarkDiffers { mark, sheet }),
            _ => None,
        };
        chain
    }

    /// Maximum thickness variation; policy stands in where nobody gives a figure.
    #[must_use]
    pub fn disc_variation(&self) -> LimitChain<Length> {
        let sheet = self
            .axle()
            .and_then(|axle| axle.disc.as_ref())
            .and_then(|disc| disc.dtv_max.as_ref());
        let mut candidates = Candidates::new(LimitBound::AtMost);
        if let Some(sheet) = sheet {
            candidates.bind(self.maker(sheet.value, LimitBound::AtMost, sheet, None));
        }
        self.add_rules(&mut candidates, "disc.variation", None, length);
        candidates.stand_in(policy_limit(&self.policy.dtv_limit));
        candidates.choose()
    }

    /// Maximum run-out at the wheel, as total indicated reading; policy stands in where nobody gives a
    /// figure. A maker's figure defined as half is doubled.
    #[must_use]
    pub fn disc_runout(&self) -> LimitChain<Length> {
        let sheet = self
            .axle()
            .and_then(|axle| axle.disc.as_ref())
            .and_then(|disc| disc.runout.as_ref());
        let mut candidates = Candidates::new(LimitBound::AtMost);
        if let Some(runout) = sheet {
            let note = (runout.definition == RunoutDefinition::Half)
                .then(|| format!("given as {} to either side, doubled", runout.max.value));
            candidates.bind(self.maker(runout.tir(), LimitBound::AtMost, &runout.max, note));
        }
        self.add_rules(&mut candidates, "disc.runout", None, length);
        candidates.stand_in(policy_limit(&self.policy.runout_limit));
        candidates.choose()
    }

    /// Minimum thickness of the pads' friction material.
    #[must_use]
    pub fn pads(&self) -> LimitChain<Length> {
        self.friction(
            "pads.thickness",
            self.axle().and_then(|axle| axle.pads.as_ref()),
        )
    }

    /// Minimum thickness of the linings' friction material.
    #[must_use]
    pub fn linings(&self) -> LimitChain<Length> {
        self.friction(
            "linings.thickness",
            self.axle().and_then(|axle| axle.linings.as_ref()),
        )
    }

    fn friction(&self, item: &str, friction: Option<&FrictionSpec>) -> LimitChain<Length> {
        let mut candidates = Candidates::new(LimitBound::AtLeast);
        if let Some((friction, min)) = friction.and_then(|f| Some((f, f.min.as_ref()?))) {
            let note = match &friction.basis {
                Some(FrictionBasis::WithPlate { plate }) => Some(format!(
                    "given as {} with a plate of {}",
                    min.value, plate.value
                )),
                _ => None,
            };
            match friction.min_friction() {
                Some(value) => candidates.bind(self.maker(value, LimitBound::AtLeast, min, note)),
                None => candidates.set_aside(
                    self.maker(min.value, LimitBound::AtLeast, min, None),
                    "the sheet does not say whether the figure includes the backing plate",
                ),
            }
        }
        self.add_rules(&mut candidates, item, None, length);
        candidates.choose()
    }

    /// Maximum axial play of the wheel bearing.
    #[must_use]
    pub fn bearing_float(&self) -> LimitChain<Length> {
        let mut candidates = Candidates::new(LimitBound::AtMost);
        if let Some(sheet) = self.axle().and_then(|axle| axle.bearing_float_max.as_ref()) {
            candidates.bind(self.maker(sheet.value, LimitBound::AtMost, sheet, None));
        }
        self.add_rules(&mut candidates, "bearing.float", None, length);
        candidates.choose()
    }

    /// Maximum ovality of the drum.
    #[must_use]
    pub fn drum_ovality(&self) -> LimitChain<Length> {
        let mut candidates = Candidates::new(LimitBound::AtMost);
        let drum = self.axle().and_then(|axle| axle.drum.as_ref());
        if let Some(sheet) = drum.and_then(|drum| drum.ovality_max.as_ref()) {
            candidates.bind(self.maker(sheet.value, LimitBound::AtMost, sheet, None));
        }
        self.add_rules(&mut candidates, "drum.diameter", Some("ovality"), length);
        candidates.choose()
    }

    /// Maximum imbalance of the axle's brake forces.
    #[must_use]
    pub fn imbalance(&self) -> LimitChain<Percent> {
        self.rules_only("axle.imbalance", LimitBound::AtMost, percent)
    }

    /// Minimum service-brake efficiency.
    #[must_use]
    pub fn service_efficiency(&self) -> LimitChain<Percent> {
        self.rules_only("brake.service_efficiency", LimitBound::AtLeast, percent)
    }

    /// Minimum parking-brake efficiency.
    #[must_use]
    pub fn parking_efficiency(&self) -> LimitChain<Percent> {
        self.rules_only("brake.parking_efficiency", LimitBound::AtLeast, percent)
    }

    /// Minimum boiling point of the brake fluid in use, by the grade the facts name.
    #[must_use]
    pub fn fluid_boiling(&self) -> LimitChain<Temperature> {
        self.rules_only("fluid.boiling", LimitBound::AtLeast, temperature)
    }

    fn rules_only<T: Ord + Copy>(
        &self,
        item: &str,
        bound: LimitBound,
        convert: impl Fn(RuleValue) -> Option<T>,
    ) -> LimitChain<T> {
        let mut candidates = Candidates::new(bound);
        self.add_rules(&mut candidates, item, None, convert);
        candidates.choose()
    }

    fn maker(
        &self,
        value: Length,
        bound: LimitBound,
        figure: &Sourced<Length>,
        note: Option<String>,
    ) -> Limit<Length> {
        let sheet = self.sheet.map_or("", |sheet| sheet.id.as_str());
        let source = figure.source().unwrap_or("source not stated");
        let note = note.map_or_else(String::new, |note| format!(", {note}"));
        Limit::new(
            value,
            bound,
            Authority::Maker,
            format!("{source}, sheet {sheet}{note}"),
        )
    }

    fn add_rules<T: Ord + Copy>(
        &self,
        candidates: &mut Candidates<T>,
        item: &str,
        quantity: Option<&str>,
        convert: impl Fn(RuleValue) -> Option<T>,
    ) {
        for pack in self.packs {
            for (rule, applies) in pack.applicable_to(item, quantity, self.facts) {
                let Some(value) = convert(rule.value) else {
                    continue;
                };
                let limit = Limit::from_rule(value, pack, rule);
                match applies {
                    Applies::NotBecause(why) => candidates.set_aside(limit, why),
                    Applies::Unknown(facts) => {
                        candidates.set_aside(limit, Fact::not_known(&facts));
                    }
                    Applies::Yes if pack.scope == PackScope::NewPart => candidates.set_aside(
                        limit,
                        "holds for a new part measured on its own, not on a vehicle",
                    ),
                    Applies::Yes => candidates.bind(limit),
                }
            }
        }
    }
}

/// The boiling points of a grade, from the first pack that has both.
///
/// # Examples
///
/// ```
/// use brakecorner::spec::{RulePack, builtin_rule_packs, fluid_limits};
///
/// let packs: Vec<RulePack> = builtin_rule_packs()
///     .iter()
///     .map(|(file, text)| RulePack::parse(text, file))
///     .collect::<Result<_, _>>()?;
/// let dot4 = fluid_limits(&packs, "DOT4").unwrap();
/// assert_eq!((dot4.dry.value.celsius(), dot4.wet.value.celsius()), (230.0, 155.0));
/// assert!(dot4.wet.unconfirmed());
/// # Ok::<(), brakecorner::spec::SpecProblems>(())
/// ```
#[must_use]
pub fn fluid_limits(packs: &[RulePack], grade: &str) -> Option<FluidLimits> {
    let grade = super::sheet_read::fluid_grade(grade)?;
    packs.iter().find_map(|pack| {
        let limit = |part: PartState| {
            let facts = VehicleFacts {
                fluid_grade: Some(grade.to_owned()),
                part,
                ..VehicleFacts::default()
            };
            let rules = pack.applicable("fluid.boiling", &facts);
            let (rule, _) = rules
                .into_iter()
                .find(|(_, applies)| *applies == Applies::Yes)?;
            Some(Limit::from_rule(temperature(rule.value)?, pack, rule))
        };
        let (dry, wet) = (limit(PartState::New)?, limit(PartState::InService)?);
        Some(FluidLimits {
            grade: grade.to_owned(),
            dry,
            wet,
        })
    })
}

/// The rules of the packs about a quantity of an item, such as `pedal.firm` `travel_used`, that apply.
#[must_use]
pub fn rules_for<'p>(
    packs: &'p [RulePack],
    item: &str,
    quantity: Option<&str>,
    facts: &VehicleFacts,
) -> Vec<(&'p RulePack, &'p Rule)> {
    packs
        .iter()
        .flat_map(|pack| {
            let rules = pack.applicable_to(item, quantity, facts).into_iter();
            rules
                .filter(|(_, applies)| *applies == Applies::Yes)
                .map(move |(rule, _)| (pack, rule))
        })
        .collect()
}

fn policy_limit(figure: &PolicyValue<Length>) -> Limit<Length> {
    let source = format!("workshop policy ({})", figure.origin);
    Limit::new(figure.value, LimitBound::AtMost, Authority::Policy, source)
}

const fn length(value: RuleValue) -> Option<Length> {
    match value {
        RuleValue::Length(value) => Some(value),
        _ => None,
    }
}

const fn percent(value: RuleValue) -> Option<Percent> {
    match value {
        RuleValue::Percent(value) => Some(value),
        _ => None,
    }
}

const fn temperature(value: RuleValue) -> Option<Temperature> {
    match value {
        RuleValue::Temperature(value) => Some(value),
        _ => None,
    }
}
