//! Likely causes: what a pattern of findings is consistent with, what speaks for and against it,
//! what would change one's mind, and the next test.
//!
//! Advice, never a verdict: causes are computed after every verdict is settled and touch none.
//! Source: common practice. A row is shown only when the readings and looks of the job hold its
//! pattern; what nobody looked at is evidence for nothing.

mod disc;
mod others;
mod pads;

use serde::Serialize;

use super::case::Case;
use super::{Finding, ItemVerdict, Judgement, Results};
use crate::job::{Axle, Corner, InstrumentKind, Item, Observation, Phase, Place, Symptom};
use crate::measure::pad::{self, Pads};
use crate::units::Length;

/// A likely cause with its evidence.
#[derive(Clone, Debug, PartialEq, Serialize, schemars::JsonSchema)]
pub struct Cause {
    /// Where it would be.
    pub place: Place,
    /// What it would be.
    pub cause: String,
    /// What speaks for it.
    #[serde(rename = "for")]
    pub evidence: Vec<String>,
    /// What speaks against it.
    pub against: Vec<String>,
    /// What to do next to find out.
    pub next_test: String,
    /// What that test would have to show for the cause to be ruled out.
    pub ruled_out_by: String,
    #[serde(skip)]
    weight: i32,
}

impl Cause {
    fn new(place: Place, cause: &str, next_test: &str, ruled_out_by: &str) -> Self {
        Self {
            place,
            cause: cause.to_owned(),
            evidence: Vec::new(),
            against: Vec::new(),
            next_test: next_test.to_owned(),
            ruled_out_by: ruled_out_by.to_owned(),
            weight: 0,
        }
    }

    /// Adds evidence for the cause: 2 for what nearly names it, 1 for what fits.
    fn says(mut self, weight: i32, evidence: impl Into<String>) -> Self {
        self.evidence.push(evidence.into());
        self.weight += weight;
        self
    }

    /// The same, when there is such evidence.
    fn says_if(self, weight: i32, evidence: Option<String>) -> Self {
        match evidence {
            Some(evidence) => self.says(weight, evidence),
            None => self,
        }
    }

    /// Adds what speaks against it, when there is something.
    fn but_if(mut self, against: Option<String>) -> Self {
        if let Some(against) = against {
            self.against.push(against);
            self.weight -= 1;
        }
        self
    }
}

/// The likely causes of what a job found, the strongest first.
pub(super) fn causes(case: &Case<'_>, judgement: &Judgement) -> Vec<Cause> {
    let evidence = Evidence { case, judgement };
    let mut causes = Vec::new();
    for corner in case.corners() {
        causes.extend(pads::at_corner(&evidence, corner));
        causes.extend(disc::at_corner(&evidence, corner));
        causes.extend(others::at_corner(&evidence, corner));
    }
    for axle in case.axles() {
        causes.extend(pads::at_axle(&evidence, axle));
        causes.extend(others::at_axle(&evidence, axle));
    }
    causes.extend(others::at_vehicle(&evidence));
    // A stable sort: equals stay in the order of the walk around the vehicle.
    causes.sort_by_key(|cause| std::cmp::Reverse(cause.weight));
    causes
}

/// What the job holds, as the rows ask for it. Everything is as found.
struct Evidence<'a> {
    case: &'a Case<'a>,
    judgement: &'a Judgement,
}

impl Evidence<'_> {
    fn found(&self, place: Place, item: Item) -> Option<&Finding> {
        // Asked for hundreds of times: straight to the place, without a list of what stands.
        let items = match place {
            Place::Corner(corner) => &self.judgement.corners.get(&corner)?.items,
            Place::Axle(axle) => &self.judgement.axles.get(&axle)?.items,
            Place::Vehicle => &self.judgement.vehicle.items,
        };
        items
            .iter()
            .find(|finding| finding.phase == Phase::AsFound && finding.item == item)
    }

    fn verdict(&self, place: Place, item: Item) -> Option<ItemVerdict> {
        self.found(place, item).map(|finding| finding.verdict)
    }

    /// Whether the item was judged and is not good.
    fn is_off(&self, place: Place, item: Item) -> bool {
        matches!(
            self.verdict(place, item),
            Some(ItemVerdict::Advise | ItemVerdict::Fail)
        )
    }

    fn passes(&self, place: Place, item: Item) -> bool {
        self.verdict(place, item) == Some(ItemVerdict::Pass)
    }

    fn results(&self, place: Place, item: Item) -> Option<&Results> {
        self.found(place, item)?.results.as_ref()
    }

    fn defect(&self, corner: Corner, item: Item) -> Option<&str> {
        self.case
            .defect_code(Place::Corner(corner), item, Phase::AsFound)
    }

    fn has(&self, corner: Corner, item: Item, codes: &[&str]) -> bool {
        self.defect(corner, item)
            .is_some_and(|code| codes.contains(&code))
    }

    /// The defect in the list's words, when it is one of these.
    fn seen(&self, corner: Corner, item: Item, codes: &[&str]) -> Option<String> {
        let code = self
            .defect(corner, item)
            .filter(|code| codes.contains(code))?;
        super::defect::find(item, code).map(|defect| format!("{}, at {corner}", defect.words))
    }

    /// Says that something was looked at and is sound.
    fn sound(&self, corner: Corner, item: Item, words: &str) -> Option<String> {
        let seen = self
            .case
            .job
            .seen(Place::Corner(corner), item, Phase::AsFound)?;
        (seen.observation == Observation::Sound).then(|| format!("{words}, at {corner}"))
    }

    fn complains(&self, symptom: Symptom) -> bool {
        self.case.complains(symptom, Phase::AsFound)
    }

    fn pads(&self, corner: Corner) -> Option<Pads> {
        let place = Place::Corner(corner);
        let case = self.case;
        let measured = case.measured(
            place,
            Item::PadsThickness,
            Phase::AsFound,
            InstrumentKind::PadGauge,
        )?;
        pad::pads(&super::friction::pad_readings(&measured), &measured.gauge).ok()
    }

    /// Imbalance of an axle in percent, and its weaker side.
    fn imbalance(&self, axle: Axle) -> Option<(f64, Corner)> {
        let Results::Percent { percent, .. } =
            self.results(Place::Axle(axle), Item::AxleImbalance)?
        else {
            return None;
        };
        let take =
            self.case
                .job
                .judged_take(Place::Vehicle, Item::ServiceEfficiency, Phase::AsFound)?;
        let forces = super::vehicle::forces(take);
        let weaker = axle.corners().into_iter().min_by_key(|c| forces.get(c))?;
        Some((*percent, weaker))
    }

    /// Says that a corner is the weaker one by far, on the rollers.
    fn weak(&self, corner: Corner) -> Option<String> {
        let (percent, weaker) = self.imbalance(corner.axle())?;
        (weaker == corner && percent > NOTABLE_IMBALANCE)
            .then(|| format!("{corner} brakes {percent:.1} % less than {}", corner.mate()))
    }

    /// Says that the axle's forces are alike.
    fn balanced(&self, axle: Axle) -> Option<String> {
        let (percent, _) = self.imbalance(axle)?;
        (percent <= NOTABLE_IMBALANCE / 2.0)
            .then(|| format!("the {axle} axle's forces differ by {percent:.1} % only"))
    }
}

/// Imbalance from which forces are called different, in percent (common practice).
const NOTABLE_IMBALANCE: f64 = 20.0;

/// A length in a sentence, tenths of a millimetre.
fn tenths(length: Length) -> String {
    format!("{:.1} mm", length.mm())
}

/// A length in a sentence, whole micrometres.
fn micrometres(mm: f64) -> String {
    format!("{:.0} µm", mm * 1e3)
}
