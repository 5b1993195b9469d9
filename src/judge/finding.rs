//! One judged item: the verdict with its reading, its limit, whose limit it is, and how sure.

use serde::ser::SerializeMap;
use serde::{Serialize, Serializer};

use chrono::{DateTime, FixedOffset};

use super::overrides::OverrideShown;
use super::state::{Cured, JudgedSet};
use super::{ItemVerdict, Urgency};
use crate::job::{Item, Phase, Place};
use crate::measure::conformity::Proof;
use crate::spec::Fact;
use crate::units::{Length, Temperature};

/// A number with its unit, as it is stored and shown.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Figure {
    /// A length.
    Length(Length),
    /// A percentage, quantised to 1e-6.
    Percent(f64),
    /// A temperature.
    Temperature(Temperature),
}

impl Figure {
    /// The number in its unit.
    #[must_use]
    pub fn number(self) -> f64 {
        match self {
            Self::Length(length) => length.mm(),
            Self::Percent(percent) => percent,
            Self::Temperature(temperature) => temperature.celsius(),
        }
    }

    /// The number with its unit.
    pub(super) fn in_words(self) -> String {
        match self {
            Self::Length(length) => length.to_string(),
            other => format!("{:.2} {}", other.number(), other.unit()),
        }
    }

    /// The unit's symbol.
    #[must_use]
    pub const fn unit(self) -> &'static str {
        match self {
            Self::Length(_) => "mm",
            Self::Percent(_) => "%",
            Self::Temperature(_) => "°C",
        }
    }
}

/// What was computed for an item; the field names are those of the `check` commands.
///
/// Lengths are in millimetres unless the name says otherwise, angles in degrees.
#[derive(Clone, Debug, PartialEq, Serialize, schemars::JsonSchema)]
#[serde(untagged)]
#[allow(missing_docs)] // the names are the fixed JSON interface and say what they are
pub enum Results {
    Thickness {
        t_min_mm: f64,
        t_min_point: usize,
        t_mean_mm: f64,
        points_mm: Vec<f64>,
        #[serde(skip_serializing_if = "Option::is_none")]
        left_mm: Option<f64>,
        #[serde(skip_serializing_if = "Option::is_none")]
        wear_mm: Option<f64>,
        #[serde(skip_serializing_if = "Option::is_none")]
        wear_fraction: Option<f64>,
        u_um: f64,
        #[serde(skip_serializing_if = "Option::is_none")]
        forecast: Option<ForecastResults>,
        #[serde(skip_serializing_if = "Option::is_none", flatten)]
        faces: Option<FaceResults>,
    },
    Variation {
        dtv_um: f64,
        dtv_floor_um: f64,
        u_um: f64,
        readings_per_point: usize,
        #[serde(skip_serializing_if = "Option::is_none")]
        order1_um: Option<f64>,
        #[serde(skip_serializing_if = "Option::is_none")]
        order2_um: Option<f64>,
    },
    Runout {
        #[serde(skip_serializing_if = "Option::is_none")]
        tir_mm: Option<f64>,
        #[serde(skip_serializing_if = "Option::is_none")]
        swept_mm: Option<f64>,
        judged_mm: f64,
        #[serde(skip_serializing_if = "Option::is_none")]
        closing_error_mm: Option<f64>,
        #[serde(skip_serializing_if = "Option::is_none", flatten)]
        fit: Option<FitResults>,
        points_mm: Vec<f64>,
        clocking: u8,
        u_um: f64,
    },
    Friction {
        min_mm: f64,
        #[serde(skip_serializing_if = "Option::is_none")]
        left_mm: Option<f64>,
        #[serde(skip_serializing_if = "Option::is_none")]
        taper_mm: Option<f64>,
        #[serde(skip_serializing_if = "Option::is_none")]
        inner_outer_mm: Option<f64>,
        #[serde(skip_serializing_if = "Option::is_none")]
        wear_fraction: Option<f64>,
        u_um: f64,
        forecast: ForecastResults,
    },
    Drum {
        max_mm: f64,
        ovality_mm: f64,
        #[serde(skip_serializing_if = "Option::is_none")]
        bell_mouth_mm: Option<f64>,
        #[serde(skip_serializing_if = "Option::is_none")]
        left_mm: Option<f64>,
        u_um: f64,
    },
    Float {
        float_mm: f64,
        u_um: f64,
    },
    Difference {
        difference_mm: f64,
    },
    Percent {
        percent: f64,
        #[serde(skip_serializing_if = "Option::is_none")]
        u_percent: Option<f64>,
        counted: bool,
    },
    Fluid {
        boiling_c: f64,
        dry_min_c: f64,
        wet_min_c: f64,
    },
    Fasteners {
        confirmed: usize,
        expected: usize,
    },
}

/// What each face of a disc has lost, from the depths below its lips.
#[derive(Clone, Debug, PartialEq, Serialize, schemars::JsonSchema)]
#[allow(missing_docs)]
pub struct FaceResults {
    pub lip_outer_mm: f64,
    pub lip_inner_mm: f64,
    pub lip_closure_mm: f64,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub face_ratio: Option<f64>,
}

impl From<&crate::measure::faces::FaceWear> for FaceResults {
    fn from(faces: &crate::measure::faces::FaceWear) -> Self {
        Self {
            lip_outer_mm: faces.outer.mm(),
            lip_inner_mm: faces.inner.mm(),
            lip_closure_mm: faces.closure.mm(),
            face_ratio: faces.ratio,
        }
    }
}

/// The first-harmonic fit of a run-out ring.
#[derive(Clone, Debug, PartialEq, Serialize, schemars::JsonSchema)]
#[allow(missing_docs)]
pub struct FitResults {
    pub peak_to_peak_mm: f64,
    pub high_spot_deg: f64,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub order2_mm: Option<f64>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub order_n_mm: Option<f64>,
    pub residual_mm: f64,
    pub u_peak_to_peak_mm: f64,
    pub u_high_spot_deg: f64,
}

/// A wear forecast, or why there is none.
#[derive(Clone, Debug, PartialEq, Serialize, schemars::JsonSchema)]
#[serde(untagged)]
#[allow(missing_docs)]
pub enum ForecastResults {
    Known {
        rate_mm_per_1000km: f64,
        distance_left_km: i64,
        distance_left_lower_km: i64,
        method: String,
        #[serde(skip_serializing_if = "std::ops::Not::not")]
        accelerating: bool,
    },
    None {
        no_forecast: String,
    },
}

impl ForecastResults {
    /// Whether the part wears much faster than before.
    #[must_use]
    pub const fn accelerates(&self) -> bool {
        matches!(
            self,
            Self::Known {
                accelerating: true,
                ..
            }
        )
    }
}

/// A limit as it was applied or passed over.
#[derive(Clone, Debug, PartialEq, Serialize, schemars::JsonSchema)]
pub struct LimitShown {
    /// The limit.
    #[serde(serialize_with = "number")]
    #[schemars(with = "f64")]
    pub limit: Figure,
    /// Its unit.
    pub unit: &'static str,
    /// Whose it is and where it stands.
    pub source: String,
    /// Why it was not the one applied; empty for the applied one.
    #[serde(skip_serializing_if = "String::is_empty")]
    pub not_applied: String,
}

fn number<S: Serializer>(figure: &Figure, serializer: S) -> Result<S::Ok, S::Error> {
    serializer.serialize_f64(figure.number())
}

/// Which set of readings: how it was entered, and its number.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) struct SetId {
    /// As found or as left.
    pub(crate) phase: Phase,
    /// The set's number.
    pub(crate) take: u32,
}

/// One of several sets of readings of an item.
#[derive(Clone, Debug, PartialEq, Serialize, schemars::JsonSchema)]
pub struct SetShown {
    /// How it was entered.
    pub phase: Phase,
    /// The set's number.
    pub set: u32,
    /// The value it shows.
    #[serde(serialize_with = "maybe_number")]
    #[schemars(with = "Option<f64>")]
    pub value: Option<Figure>,
    /// The verdict it alone gives.
    #[schemars(with = "ItemVerdict")]
    pub verdict: ItemVerdict,
    /// Who took it.
    pub by: String,
    /// When its last reading was taken.
    pub at: DateTime<FixedOffset>,
    /// Whether it counts: no surer one settles its doubt.
    pub stands: bool,
}

/// A set of readings or a look that failed and was struck.
#[derive(Clone, Debug, PartialEq, Serialize, schemars::JsonSchema)]
pub struct Struck {
    /// The value it showed.
    #[serde(serialize_with = "maybe_number")]
    #[schemars(with = "Option<f64>")]
    pub value: Option<Figure>,
    /// The defect it showed, by its code.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub defect: Option<String>,
    /// Who had entered it.
    pub by: String,
    /// Who struck it.
    pub struck_by: String,
    /// Why.
    pub reason: String,
}

impl SetShown {
    /// A judged set.
    pub(super) fn of(set: &JudgedSet<'_>, stands: bool) -> Self {
        let last = set.take.last();
        Self {
            phase: set.phase,
            set: set.take.number,
            value: set.finding.value,
            verdict: set.finding.verdict,
            by: last.map(|last| last.meta.by.clone()).unwrap_or_default(),
            at: last.map(|last| last.meta.at).unwrap_or_default(),
            stands,
        }
    }
}

fn maybe_number<S: Serializer>(figure: &Option<Figure>, serializer: S) -> Result<S::Ok, S::Error> {
    figure.map(Figure::number).serialize(serializer)
}

/// Something nobody entered that would decide a verdict; asked for, never guessed.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Ask {
    /// How warm the disc was when it was measured.
    DiscTemperature,
    /// A fact of the vehicle that rules ask for.
    Fact(Fact),
}

impl std::fmt::Display for Ask {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Self::DiscTemperature => f.write_str(
                "how warm was the disc? A warm one reads thick, and its temperature would decide: log it",
            ),
            Self::Fact(fact) => write!(f, "not known: {}; it would decide", fact.words()),
        }
    }
}

/// One judged item.
#[derive(Clone, Debug, PartialEq)]
pub struct Finding {
    /// The item.
    pub item: Item,
    /// Where.
    pub place: Place,
    /// As found or as left.
    pub phase: Phase,
    /// The judgement.
    pub verdict: ItemVerdict,
    /// How sure.
    pub proof: Option<Proof>,
    /// How soon something must be done, for ADVISE and FAIL.
    pub urgency: Option<Urgency>,
    /// The value that was judged.
    pub value: Option<Figure>,
    /// The limit that was applied.
    pub limit: Option<Figure>,
    /// Whose limit it is.
    pub limit_source: String,
    /// Every limit looked at, the applied one first.
    pub limits: Vec<LimitShown>,
    /// Standard uncertainty of the value, in its unit.
    pub u: Option<f64>,
    /// Probability that the true value is inside the limit.
    pub conformance_probability: Option<f64>,
    /// What was computed.
    pub results: Option<Results>,
    /// Why the verdict is what it is, one sentence each.
    pub reasons: Vec<String>,
    /// What was found, what the limit is and whose, in one plain sentence.
    pub sentence: String,
    /// The numbers in one line.
    pub technical: String,
    /// What somebody asked this verdict to be instead, and whether that stands.
    pub overrides: Vec<OverrideShown>,
    /// Every set of readings of the state, when there is more than one.
    pub sets: Vec<SetShown>,
    /// What failed and was struck.
    pub struck: Vec<Struck>,
    /// The set of readings that was judged.
    pub(crate) set: Option<SetId>,
    /// The verdict it would have without what is only doubt of the readings.
    pub(crate) firm: ItemVerdict,
    /// Whether the readings were not all there.
    pub(crate) partial: bool,
    /// What was entered as left and is better without a cause, so that what was found stands.
    pub(crate) unexplained: bool,
    /// It was cured by something that counts once the refit has shown it: a union once the pedal was
    /// held, a seat once it is said to be ready.
    pub(crate) cure_pending: bool,
    /// What nobody entered and would decide.
    pub asks: Vec<Ask>,
    /// Why no override may make it less severe; empty when one may.
    pub(crate) fixed: String,
    /// Whether an override may not make it a PASS.
    pub(crate) no_pass: bool,
}

impl Finding {
    /// A finding without a value: NOT INSPECTED with its reason.
    #[must_use]
    pub(crate) fn not_inspected(place: Place, item: Item, phase: Phase, reason: String) -> Self {
        Self {
            item,
            place,
            phase,
            verdict: ItemVerdict::NotInspected,
            firm: ItemVerdict::NotInspected,
            proof: None,
            urgency: None,
            value: None,
            limit: None,
            limit_source: String::new(),
            limits: Vec::new(),
            u: None,
            conformance_probability: None,
            results: None,
            sentence: format!(
                "{}: not inspected: {reason}.",
                super::words::subject(place, item)
            ),
            technical: String::new(),
            reasons: vec![reason],
            overrides: Vec::new(),
            sets: Vec::new(),
            struck: Vec::new(),
            set: None,
            partial: false,
            unexplained: false,
            cure_pending: false,
            asks: Vec::new(),
            fixed: String::new(),
            no_pass: false,
        }
    }

    /// The facts of the vehicle that would decide and nobody entered.
    pub fn missing_facts(&self) -> impl Iterator<Item = Fact> {
        self.asks.iter().filter_map(|ask| match ask {
            Ask::Fact(fact) => Some(*fact),
            Ask::DiscTemperature => None,
        })
    }

    /// The same with no limit: whether rules apply that would make another verdict of it hangs on what
    /// is not known of the vehicle.
    pub(super) fn undecided(mut self, facts: &[Fact], verdicts: &[ItemVerdict]) -> Self {
        let mut words: Vec<String> = verdicts.iter().map(ItemVerdict::to_string).collect();
        words.sort_unstable();
        let reason = format!(
            "{}; it hangs on that whether this is {}",
            Fact::not_known(facts),
            words.join(" or ")
        );
        let what = super::words::subject(self.place, self.item);
        let value = self
            .value
            .map(|value| format!("{}; ", value.in_words()))
            .unwrap_or_default();
        self.sentence = format!(
            "{what}: {value}{} ({reason}).",
            super::words::verdict_words(ItemVerdict::NoLimit)
        );
        self.verdict = ItemVerdict::NoLimit;
        self.firm = ItemVerdict::NoLimit;
        self.proof = None;
        self.urgency = None;
        self.reasons.insert(0, reason);
        self.asks.extend(facts.iter().map(|fact| Ask::Fact(*fact)));
        self
    }

    /// Shows the sets of readings of which this one, the one at `judged`, is the worst that stands.
    pub(super) fn tell_sets(&mut self, sets: Vec<SetShown>, judged: usize) {
        let values: Vec<String> = sets
            .iter()
            .enumerate()
            .filter_map(|(at, set)| {
                let value = set.value?;
                let standing = if at == judged {
                    "judged"
                } else if set.stands {
                    "stands"
                } else {
                    "settled"
                };
                Some(format!("{} ({standing})", value.in_words()))
            })
            .collect();
        if values.len() > 1 {
            let settled = sets.iter().any(|set| !set.stands);
            let rule = if settled {
                "a surer later set settles a doubt; of the others the worst stands"
            } else {
                "the worst stands"
            };
            self.reasons.push(format!(
                "{} sets of readings: {}; {rule}",
                sets.len(),
                values.join(", ")
            ));
        }
        self.sets = sets;
    }

    /// Worsens a PASS to ADVISE because of doubt that another set could settle.
    pub(super) fn doubt(&mut self, reason: String) {
        if self.verdict == ItemVerdict::Pass {
            self.verdict = ItemVerdict::Advise;
            self.urgency = Some(Urgency::Watch);
        }
        self.reasons.push(reason);
    }

    /// Keeps the verdict and urgency of what was found: what was entered since is better, and nothing
    /// was logged that may have cured it, or a step that belongs to it is still to be done.
    pub(super) fn hold(&mut self, found: &Self, said: &Self, cured: Cured) {
        self.verdict = found.verdict;
        self.urgency.clone_from(&found.urgency);
        let now = said
            .value
            .map_or_else(|| said.verdict.to_string(), Figure::in_words);
        if cured == Cured::OnceHeldOrReady {
            self.cure_pending = true;
            self.reasons.push(format!(
                "as left it is better ({now}); that counts once the pedal was held and nothing leaks, or the refit says that hub and seats are ready"
            ));
            return;
        }
        self.unexplained = true;
        self.reasons.push(format!(
            "as left it was entered better ({now}), and nothing was logged that may have put it right: what was found stands; what was done?"
        ));
    }

    /// What was worked on and not looked at since: not known, unless it is a failure still.
    pub(super) fn not_seen_since_work(&mut self) {
        self.verdict = ItemVerdict::NotInspected;
        self.urgency = None;
        self.reasons.insert(
            0,
            "it was worked on and not looked at or measured since".to_owned(),
        );
    }

    /// Not known until entered again: the set or look that failed was struck.
    pub(super) fn open_after_strike(&mut self) {
        self.verdict = ItemVerdict::NotInspected;
        self.firm = ItemVerdict::NotInspected;
        self.urgency = None;
        self.reasons.insert(
            0,
            "what failed here was struck and not looked at or measured since".to_owned(),
        );
    }

    /// Whether this is a surer finding without doubt, of something that was only in doubt as found.
    pub(super) fn settles_doubt_of(&self, found: &Self) -> bool {
        let surer = match (self.u, found.u) {
            _ if found.no_pass => true,
            (Some(mine), Some(theirs)) => mine < theirs,
            _ => false,
        };
        found.firm == ItemVerdict::Pass
            && found.verdict != found.firm
            && self.verdict == self.firm
            && surer
    }

    /// Shows what failed and was struck.
    pub(super) fn tell_struck(&mut self, struck: Struck) {
        let what = match (&struck.value, &struck.defect) {
            (Some(value), _) => value.in_words(),
            (None, Some(code)) => format!("defect {code}"),
            (None, None) => String::new(),
        };
        self.reasons.push(format!(
            "struck, though it failed: {what} by {}; struck by {}: {}",
            struck.by, struck.struck_by, struck.reason
        ));
        self.struck.push(struck);
    }

    /// Whether the value stands at its limit or past it.
    #[must_use]
    pub fn at_limit(&self) -> bool {
        let (Some(value), Some(limit)) = (self.value, self.limit) else {
            return false;
        };
        let room = match self.item {
            Item::DiscThickness
            | Item::PadsThickness
            | Item::LiningsThickness
            | Item::ServiceEfficiency
            | Item::ParkingEfficiency
            | Item::FluidBoiling => value.number() - limit.number(),
            _ => limit.number() - value.number(),
        };
        room <= 0.0
    }

    /// Whether nothing but doubt of the readings speaks against it.
    #[must_use]
    pub fn is_doubt_only(&self) -> bool {
        self.verdict != self.firm && self.firm == ItemVerdict::Pass
    }

    /// Whether it was entered better as left, without anything that may have made it so; what was
    /// found stands then.
    #[must_use]
    pub const fn is_unexplained(&self) -> bool {
        self.unexplained
    }

    /// Whether two findings say the same, apart from the phase they speak of.
    #[must_use]
    pub(crate) fn same_but_for_phase(&self, other: &Self) -> bool {
        let as_other = Self {
            phase: other.phase,
            ..self.clone()
        };
        as_other == *other
    }
}

impl Serialize for Finding {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        let mut map = serializer.serialize_map(None)?;
        map.serialize_entry("item", &self.item)?;
        map.serialize_entry("phase", &self.phase)?;
        map.serialize_entry("verdict", &self.verdict)?;
        map.serialize_entry("proof", &self.proof)?;
        map.serialize_entry("urgency", &self.urgency.as_ref().map(Urgency::word))?;
        if let Some(Urgency::By { km, date }) = &self.urgency {
            map.serialize_entry("by_km", km)?;
            map.serialize_entry("by_date", date)?;
        }
        map.serialize_entry("value", &self.value.map(Figure::number))?;
        map.serialize_entry("unit", &self.value.map(Figure::unit))?;
        map.serialize_entry("limit", &self.limit.map(Figure::number))?;
        map.serialize_entry("limit_source", &self.limit_source)?;
        map.serialize_entry("u", &self.u)?;
        map.serialize_entry("conformance_probability", &self.conformance_probability)?;
        map.serialize_entry("sentence", &self.sentence)?;
        map.serialize_entry("technical", &self.technical)?;
        map.serialize_entry("reasons", &self.reasons)?;
        map.serialize_entry("limits", &self.limits)?;
        map.serialize_entry("results", &self.results)?;
        if !self.overrides.is_empty() {
            map.serialize_entry("overrides", &self.overrides)?;
        }
        if !self.sets.is_empty() {
            map.serialize_entry("sets", &self.sets)?;
        }
        if !self.struck.is_empty() {
            map.serialize_entry("struck", &self.struck)?;
        }
        if self.unexplained {
            map.serialize_entry("unexplained", &true)?;
        }
        let facts: Vec<Fact> = self.missing_facts().collect();
        if !facts.is_empty() {
            map.serialize_entry("missing_facts", &facts)?;
        }
        map.end()
    }
}
