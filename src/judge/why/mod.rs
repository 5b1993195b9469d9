//! One verdict explained step by step: readings → corrections → statistic → uncertainty budget →
//! limit chain → decision, each with the section of the method it follows.
//!
//! Computes nothing of its own: the same readings go through the same models, and the finding is the
//! judgement's. Sections are those of `docs/method.md`.

mod forces;
mod forecast;
mod statistic;

use serde::Serialize;

use super::case::{Case, Measured};
use super::{Figure, Finding, Judgement, Results, disc, friction};
use crate::job::{InstrumentKind, Item, Kind, Observation, Phase, Place, Slot, Take};
use crate::measure::uncertainty::{Budget, Distribution};
use crate::measure::{conformity, drum, pad, runout};
use crate::units::{Length, Temperature};

/// A verdict with every step that led to it.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Explanation {
    /// Where.
    pub place: Place,
    /// What.
    pub item: Item,
    /// As found or as left.
    pub phase: Phase,
    /// The finding's own sentence.
    pub sentence: String,
    /// The steps in order.
    pub steps: Vec<Step>,
}

/// One step of an explanation.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Step {
    /// What is done.
    pub title: &'static str,
    /// Where the formula stands.
    pub method: &'static str,
    /// What is said about it, a line each.
    pub lines: Vec<String>,
    /// Column heads; empty when there is no table.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub head: Vec<&'static str>,
    /// Rows of the table.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub rows: Vec<Vec<String>>,
}

impl Step {
    const fn new(title: &'static str, method: &'static str) -> Self {
        Self {
            title,
            method,
            lines: Vec::new(),
            head: Vec::new(),
            rows: Vec::new(),
        }
    }

    fn line(mut self, line: impl Into<String>) -> Self {
        self.lines.push(line.into());
        self
    }
}

const NUMBERS: &str = "docs/method.md, 1 Numbers";
const UNCERTAINTY: &str = "docs/method.md, 2 Uncertainty";
const CONFORMITY: &str = "docs/method.md, 3 Conformity";
const DISC: &str = "docs/method.md, 4 Disc";
const RUNOUT: &str = "docs/method.md, 5 Run-out";
const PADS: &str = "docs/method.md, 7 Pads, drums, bearings";
const FORCES: &str = "docs/method.md, 9 Forces, fluid, pedal, torque";

/// The section a item's statistic follows.
const fn section(item: Item) -> &'static str {
    match item {
        Item::DiscThickness | Item::DiscVariation | Item::AxleDiscDifference => DISC,
        Item::DiscRunout => RUNOUT,
        Item::AxleImbalance
        | Item::ServiceEfficiency
        | Item::ParkingEfficiency
        | Item::FluidBoiling
        | Item::TorqueWheel
        | Item::TorqueCalliper
        | Item::PedalFirm => FORCES,
        _ => PADS,
    }
}

const WEAR: &str = "docs/method.md, 8 Wear and distance left";

/// Explains the verdicts of an item: as found, and as left where it differs. Empty when the item was
/// not judged there.
#[must_use]
pub fn explain(
    case: &Case<'_>,
    judgement: &Judgement,
    place: Place,
    item: Item,
) -> Vec<Explanation> {
    judgement
        .findings()
        .filter(|finding| (finding.place, finding.item) == (place, item))
        .map(|finding| one(case, finding))
        .collect()
}

fn one(case: &Case<'_>, finding: &Finding) -> Explanation {
    let steps = match finding.item.kind() {
        Kind::Look => vec![seen(case, finding), decision(case, finding)],
        Kind::Refit => vec![refit(finding), decision(case, finding)],
        Kind::Measure | Kind::Derived => {
            let mut steps = readings(case, finding);
            steps.extend(corrections(case, finding));
            steps.extend(statistic(case, finding));
            steps.extend(forecast::step(case, finding));
            steps.extend(uncertainty(case, finding));
            steps.push(limits(finding));
            steps.push(decision(case, finding));
            steps
        }
    };
    Explanation {
        place: finding.place,
        item: finding.item,
        phase: finding.phase,
        sentence: finding.sentence.clone(),
        steps,
    }
}

fn seen(case: &Case<'_>, finding: &Finding) -> Step {
    let mut step = Step::new("Seen", "no formula: looked at or felt");
    for (phase, seen) in case.job.looks(finding.place, finding.item) {
        // What was seen as left says nothing of how it came in.
        if finding.phase == Phase::AsFound && phase == Phase::AsLeft {
            continue;
        }
        let what = match &seen.observation {
            Observation::Sound => "sound".to_owned(),
            Observation::Defect { code, note } if note.is_empty() => format!("defect {code}"),
            Observation::Defect { code, note } => format!("defect {code}: {note}"),
            Observation::NotInspected { reason } => format!("not inspected: {reason}"),
        };
        step = step.line(format!("{what}, by {} at {}", seen.meta.by, seen.meta.at));
    }
    if step.lines.is_empty() {
        step = step.line("nothing was entered");
    }
    step
}

fn refit(finding: &Finding) -> Step {
    let step = Step::new("Confirmed", FORCES);
    match &finding.results {
        Some(Results::Fasteners {
            confirmed,
            expected,
        }) => step.line(format!("{confirmed} of {expected} fasteners")),
        _ => step,
    }
}

/// Where the readings of an item stand: place, item and kind of gauge.
const fn source(place: Place, item: Item) -> (Place, Item, InstrumentKind) {
    match item {
        Item::DiscThickness | Item::DiscVariation => {
            (place, Item::DiscThickness, InstrumentKind::Micrometer)
        }
        Item::PadsThickness | Item::PadsInnerOuter => {
            (place, Item::PadsThickness, InstrumentKind::PadGauge)
        }
        Item::LiningsThickness => (place, item, InstrumentKind::PadGauge),
        Item::DrumDiameter => (place, item, InstrumentKind::DrumGauge),
        Item::AxleImbalance => (
            Place::Vehicle,
            Item::ServiceEfficiency,
            InstrumentKind::RollerTester,
        ),
        Item::ServiceEfficiency | Item::ParkingEfficiency => {
            (place, item, InstrumentKind::RollerTester)
        }
        Item::FluidBoiling => (place, item, InstrumentKind::FluidTester),
        _ => (place, item, InstrumentKind::DialIndicator),
    }
}

/// The sets an item is judged from: one, or one a side for the axle's differences.
fn sources<'a>(case: &Case<'a>, finding: &Finding) -> Vec<(Place, Measured<'a>)> {
    let places: Vec<(Place, Item)> = match (finding.place, finding.item) {
        (Place::Axle(axle), Item::AxleDiscDifference) => axle
            .corners()
            .map(|c| (Place::Corner(c), Item::DiscThickness))
            .into(),
        (Place::Axle(axle), Item::AxlePadDifference) => axle
            .corners()
            .map(|c| (Place::Corner(c), Item::PadsThickness))
            .into(),
        (place, item) => vec![(place, item)],
    };
    places
        .into_iter()
        .filter_map(|(place, item)| {
            let (place, item, kind) = source(place, item);
            Some((place, case.measured(place, item, finding.phase, kind)?))
        })
        .collect()
}

fn readings(case: &Case<'_>, finding: &Finding) -> Vec<Step> {
    let sets = sources(case, finding);
    if sets.is_empty() {
        return vec![Step::new("Readings", NUMBERS).line("no reading was entered")];
    }
    sets.iter()
        .map(|(place, measured)| {
            let mut step = Step::new("Readings", NUMBERS);
            step.lines.push(format!(
                "{place}, set {}: exactly as given",
                measured.take.number
            ));
            step.head = vec!["slot", "as given", "unit", "instrument", "by", "remark"];
            step.rows = rows(measured.take);
            step
        })
        .collect()
}

fn rows(take: &Take) -> Vec<Vec<String>> {
    take.slots
        .iter()
        .flat_map(|(slot, readings)| readings.iter().map(move |reading| (slot, reading)))
        .map(|(slot, reading)| {
            let event = &reading.event;
            let remark = if event.confirmed {
                "asked about and confirmed"
            } else {
                ""
            };
            vec![
                slot.to_string(),
                event.entered.text.clone(),
                event.entered.unit.clone(),
                event.instrument.clone().unwrap_or_default(),
                reading.meta.by.clone(),
                remark.to_owned(),
            ]
        })
        .collect()
}

fn corrections(case: &Case<'_>, finding: &Finding) -> Vec<Step> {
    sources(case, finding)
        .iter()
        .map(|(place, measured)| correction(case, *place, finding.item, measured))
        .collect()
}

fn correction(case: &Case<'_>, place: Place, item: Item, measured: &Measured<'_>) -> Step {
    let thickness = matches!(
        item,
        Item::DiscThickness | Item::DiscVariation | Item::AxleDiscDifference
    );
    let mut step = Step::new("Corrections", section(item));
    let friction = matches!(
        item,
        Item::PadsThickness
            | Item::PadsInnerOuter
            | Item::AxlePadDifference
            | Item::LiningsThickness
    );
    let checked = friction && measured.zero_error != Length::ZERO;
    if !thickness && !checked && item != Item::DrumDiameter {
        return step.line(format!("{place}: none for this item"));
    }
    step = step.line(format!(
        "{place}: zero error of the gauge, subtracted: {}",
        measured.zero_error
    ));
    if !thickness {
        return step;
    }
    step = match disc::temperature(measured.take) {
        Some(celsius) => {
            let gauge = disc::celsius(measured.take, Slot::GaugeTemperature);
            let at = gauge.map_or_else(|| "taken as 20 °C".to_owned(), |t| format!("at {t}"));
            step.line(format!(
                "disc at {celsius}, gauge {at}: divided by 1 + {:.1}·10⁻⁶/K · ({:.1} K)",
                f64::from(case.policy.expansion_ppb.value) * 1e-3,
                celsius.celsius() - gauge.map_or(20.0, Temperature::celsius)
            ))
        }
        None => {
            let warmer = case.policy.temperature_unknown.value.celsius();
            step.line(format!(
                "no disc temperature was given: no correction; for proof the disc is taken as {warmer:.0} K ± {warmer:.0} K warmer than the gauge, never for being beyond"
            ))
        }
    };
    match disc::ring(case, measured) {
        Ok(ring) => {
            let points: Vec<String> = ring
                .points
                .iter()
                .map(|p| format!("{:.4}", p.mm()))
                .collect();
            let step = step.line(format!("corrected points, mm: {}", points.join(" ")));
            match ring.unlogged.filter(|_| item == Item::DiscThickness) {
                None => step,
                Some(unlogged) => step.line(format!(
                    "what must be proven: {:.4} mm, the thinnest point divided by 1 + {:.1}·10⁻⁶/K · {:.1} K",
                    unlogged.t_min.mm(),
                    f64::from(case.policy.expansion_ppb.value) * 1e-3,
                    unlogged.warmer_k
                )),
            }
        }
        Err(error) => step.line(format!("the ring cannot be evaluated: {error}")),
    }
}

fn statistic(case: &Case<'_>, finding: &Finding) -> Option<Step> {
    let mut step = Step::new("Statistic", section(finding.item));
    step.lines = finding.results.as_ref().map(statistic::lines)?;
    step.lines.extend(forces::statistic(case, finding));
    if let Some(value) = finding.value {
        step = step.line(format!("judged: {}", figure(value)));
    }
    Some(step)
}

fn uncertainty(case: &Case<'_>, finding: &Finding) -> Vec<Step> {
    let step = || Step::new("Uncertainty", UNCERTAINTY);
    match finding.item {
        Item::FluidBoiling => {
            return vec![step().line("none: a boiling point is compared directly")];
        }
        Item::PadsInnerOuter | Item::AxlePadDifference | Item::AxleDiscDifference => {
            return vec![
                step().line("none: a difference is compared with the policy's figure as it is"),
            ];
        }
        Item::AxleImbalance | Item::ServiceEfficiency | Item::ParkingEfficiency => {
            return forces::uncertainty(case, finding).into_iter().collect();
        }
        _ => {}
    }
    sources(case, finding)
        .iter()
        .map(|(_, measured)| match budget(case, finding.item, measured) {
            Some(budget) => table(step(), &budget),
            None => variation_step(case, finding, measured),
        })
        .collect()
}

/// The thickness variation is a difference with one gauge: two lines, and no budget.
fn variation_step(case: &Case<'_>, finding: &Finding, measured: &Measured<'_>) -> Step {
    let step = Step::new("Uncertainty", UNCERTAINTY);
    if finding.item != Item::DiscVariation {
        return step.line("the readings could not be evaluated");
    }
    let gauge = &measured.gauge;
    let u = finding
        .u
        .map_or(String::new(), |u| format!(" = {:.2} µm", u * 1e3));
    let ring = disc::ring(case, measured).ok();
    let short = ring.and_then(|ring| disc::short_error(case, measured, ring.dtv));
    let (formula, short) = short.map_or_else(Default::default, |a| {
        let error = format!(", a {:.1} µm over so short a span", a.um());
        (" ⊕ a/√3", error)
    });
    step.line(format!(
        "u = √2·√(s²/m + d²/12){formula}{u}, with s {:.1} µm and d {:.1} µm{short}: a difference with one gauge loses the systematic parts",
        gauge.repeatability.um(),
        gauge.resolution.um()
    ))
}

fn budget(case: &Case<'_>, item: Item, measured: &Measured<'_>) -> Option<Budget> {
    let last = |make: fn(u16) -> Slot| -> Vec<Length> {
        let lengths = measured.take.lengths(make);
        lengths.iter().filter_map(|r| r.last().copied()).collect()
    };
    let gauge = &measured.gauge;
    Some(match item {
        Item::DiscThickness => disc::ring(case, measured).ok()?.budget,
        Item::DiscRunout => {
            let ring = disc::runout_ring(measured.take, Some(case.sheet.wheel.fasteners));
            let gauge = disc::gauge_over(case, measured, disc::swing(&ring));
            runout::runout(&ring, &gauge).ok()?.budget
        }
        Item::BearingFloat => disc::end_float(case, measured).ok()?.budget,
        Item::PadsThickness => {
            let pads = friction::pad_readings(measured);
            pad::pads(&pads, gauge).ok()?.budget
        }
        Item::LiningsThickness => pad::lining(&last(Slot::Lining), gauge).ok()?.budget,
        Item::DrumDiameter => {
            drum::drum(&last(Slot::Open), &last(Slot::Closed), gauge)
                .ok()?
                .budget
        }
        _ => return None,
    })
}

fn table(mut step: Step, budget: &Budget) -> Step {
    step.head = vec![
        "contribution",
        "starts from, mm",
        "distribution",
        "sensitivity",
        "u, µm",
        "share, %",
    ];
    step.rows = budget
        .contributions
        .iter()
        .enumerate()
        .map(|(n, part)| {
            let share = budget
                .share(n)
                .map_or(String::new(), |s| format!("{:.1}", s * 100.0));
            vec![
                part.source.clone(),
                format!("{:.5}", part.half_width_or_sd_mm),
                distribution(part.distribution).to_owned(),
                format!("{:.3}", part.sensitivity),
                format!("{:.3}", part.u_mm * 1e3),
                share,
            ]
        })
        .collect();
    step.line(format!(
        "combined in quadrature: u = {:.2} µm",
        budget.combined_mm() * 1e3
    ))
}

const fn distribution(kind: Distribution) -> &'static str {
    match kind {
        Distribution::Rectangular => "rectangular, a/√3",
        Distribution::Normal => "standard deviation",
        Distribution::Resolution => "resolution, d/√12",
        Distribution::UShaped => "U-shaped, a/√2",
        Distribution::Triangular => "triangular, a/√6",
    }
}

fn figure(value: Figure) -> String {
    match value {
        Figure::Length(length) => format!("{:.4} mm", length.mm()),
        Figure::Percent(percent) => format!("{percent:.2} %"),
        Figure::Temperature(temperature) => temperature.to_string(),
    }
}

fn limits(finding: &Finding) -> Step {
    let mut step = Step::new(
        "Limits",
        "maker's figure or mark on the part, then rule pack, then policy; the strictest of maker and pack applies",
    );
    if finding.limits.is_empty() {
        return step.line(if finding.limit_source.is_empty() {
            "no maker's figure and no rule is on file; policy figures stand in the reasons below"
                .to_owned()
        } else {
            finding.limit_source.clone()
        });
    }
    step.head = vec!["limit", "whose", "applied"];
    step.rows = finding
        .limits
        .iter()
        .map(|limit| {
            let applied = if limit.not_applied.is_empty() {
                "yes".to_owned()
            } else {
                format!("no: {}", limit.not_applied)
            };
            vec![figure(limit.limit), limit.source.clone(), applied]
        })
        .collect();
    step
}

fn decision(case: &Case<'_>, finding: &Finding) -> Step {
    let mut step = Step::new("Decision", CONFORMITY);
    if let (Some(p), Some(_)) = (finding.conformance_probability, finding.limit) {
        step.lines.push(format!(
            "probability that the true value is inside the limit: {p:.4}, {}; proven in from {}, proven out to 0.05",
            conformity::in_words(p),
            case.policy.proof.value.share()
        ));
    }
    step.lines.extend(finding.reasons.iter().cloned());
    let urgency = finding
        .urgency
        .as_ref()
        .map_or(String::new(), |urgency| format!(", {urgency}"));
    step.lines.push(format!("{}{urgency}", finding.verdict));
    for shown in finding.overrides.iter().filter(|shown| !shown.stands) {
        step.lines.push(format!(
            "{} asked for {}, which does not stand: {}",
            shown.by, shown.to, shown.why_not
        ));
    }
    step
}
