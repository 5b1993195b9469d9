//! `check disc`.

use std::io::BufRead;

use serde_json::{Value, json};

use super::error::{CheckError, Problems};
use super::input::{Given, Like, Reader, Shared, oddities};
use super::report::{Answer, extend, gauge_words, mm, sure_fields, whose};
use crate::judge::check::{self, Bench};
use crate::judge::{Finding, ItemVerdict};
use crate::measure::MeasureError;
use crate::measure::conformity::Proof;
use crate::measure::disc::{self, Thickness, ThicknessConditions, thickness, wear_used};
use crate::measure::faces::{self, FaceWear, Skim, Taper, TwoIndicators};
use crate::measure::uncertainty::Gauge;
use crate::spec::Policy;
use crate::units::Length;

const METHOD: &str = "thinnest point, zero error and temperature taken out (JCGM 100); \
    conformance probability of JCGM 106; noise floor from the range of normal readings";

const EXAMPLE: &str = "Example:\n\
\x20 brakecorner check disc --limit 22 --nominal 24 --temperature 20 \\\n\
\x20   --readings \"22.021 22.018 22.010 22.004 22.006 22.012 22.017 22.020\"\n\
\n\
is inside its limit but not proven to be: ADVISE.";

/// Judge the thickness of a disc and its variation
///
/// Points in the order the marks pass, from stud 1, on one circle clear of the lip.
#[derive(Debug, clap::Args)]
#[command(
    after_help = EXAMPLE
)]
pub(super) struct Args {
    /// Micrometer readings; `-` = standard input
    #[arg(
        long,
        value_name = "LENGTHS",
        allow_hyphen_values = true,
        required_unless_present = "dial_outer"
    )]
    readings: Option<String>,
    /// Readings taken at each point, one point after the other
    #[arg(long, value_name = "N", default_value_t = 1)]
    readings_per_point: usize,
    /// Limit of the thickness variation
    #[arg(long, value_name = "LENGTH", allow_hyphen_values = true)]
    dtv_limit: Option<String>,
    /// Thickness a disc may be machined to
    #[arg(long, value_name = "LENGTH", allow_hyphen_values = true)]
    machine_to: Option<String>,
    /// Cut planned from each face, with --machine-to
    #[arg(long, value_name = "LENGTH", requires = "machine_to")]
    cut: Option<String>,
    /// A second ring, near the bore, for the taper
    #[arg(long, value_name = "LENGTHS", allow_hyphen_values = true)]
    inner_ring: Option<String>,
    /// Depths of the outer face below its lip; with --lip-inner and --nominal
    #[arg(long, value_name = "LENGTHS", allow_hyphen_values = true, requires_all = ["lip_inner", "nominal"])]
    lip_outer: Option<String>,
    /// Depths of the inner face below its lip
    #[arg(
        long,
        value_name = "LENGTHS",
        allow_hyphen_values = true,
        requires = "lip_outer"
    )]
    lip_inner: Option<String>,
    /// Outer of two opposed dial indicators over one turn: variation without a micrometer
    #[arg(
        long,
        value_name = "LENGTHS",
        allow_hyphen_values = true,
        requires = "dial_inner"
    )]
    dial_outer: Option<String>,
    /// Inner of two opposed dial indicators, plus towards the indicator
    #[arg(
        long,
        value_name = "LENGTHS",
        allow_hyphen_values = true,
        requires = "dial_outer"
    )]
    dial_inner: Option<String>,
    /// Temperature of the gauge; otherwise 20 °C
    #[arg(long, value_name = "TEMPERATURE", allow_hyphen_values = true)]
    gauge_temperature: Option<String>,
    /// Standard uncertainty of the zero check
    #[arg(long, value_name = "LENGTH")]
    zero_uncertainty: Option<String>,
    #[command(flatten)]
    shared: Shared,
}

/// What was asked for, read.
struct Asked {
    given: Given,
    gauge: Gauge,
    dtv_limit: Option<Length>,
    machine_to: Option<Length>,
    cut: Option<Length>,
}

/// What the models say.
#[derive(Default)]
struct Results {
    ring: Option<Thickness>,
    taper: Option<Taper>,
    lips: Option<FaceWear>,
    skim: Option<Skim>,
    dials: Option<(TwoIndicators, Length)>,
}

pub(super) fn answer(args: &Args, input: &mut dyn BufRead) -> Result<Answer, CheckError> {
    let policy = Policy::builtin();
    let mut reader = Reader::new(&args.shared, input);
    let given = reader.given(&args.shared);
    let readings = reader.maybe_lengths("--readings", args.readings.as_deref());
    let inner = reader.maybe_lengths("--inner-ring", args.inner_ring.as_deref());
    let gauge_steps = check::fine_gauge(&policy);
    let mut gauge = reader.gauge(&args.shared, gauge_steps);
    if let Some(u) = reader.length("--zero-uncertainty", args.zero_uncertainty.as_deref()) {
        gauge.zero_check = u;
    }
    let conditions = ThicknessConditions {
        zero_error: given.zero_error,
        disc_temperature: given.temperature,
        gauge_temperature: reader
            .temperature("--gauge-temperature", args.gauge_temperature.as_deref()),
        expansion_per_k: f64::from(policy.expansion_ppb.value) * 1e-9,
        ..ThicknessConditions::default()
    };
    let asked = Asked {
        dtv_limit: reader.positive("--dtv-limit", args.dtv_limit.as_deref()),
        machine_to: reader.positive("--machine-to", args.machine_to.as_deref()),
        cut: reader.length("--cut", args.cut.as_deref()),
        given,
        gauge,
    };
    check_limits(&mut reader, &asked);
    let mut results = Results::default();
    let mut notes = Vec::new();
    if let Some(readings) = &readings {
        reader.plausible("--readings", readings, &like(&given));
        let points = points(&mut reader.problems, readings, args.readings_per_point);
        let few = format!(
            "{} points tell too little of a disc: a quick ring has 4, a whole one two a stud",
            points.len()
        );
        reader.ask("--readings", (points.len() < 4).then_some(few));
        let ring = thickness(&points, &conditions, &asked.gauge).map_err(CheckError::from);
        results.ring = reader.problems.take(ring);
        notes = oddities(readings);
    }
    if let (Some(inner), Some(outer)) = (&inner, &results.ring) {
        let points: Vec<_> = inner.iter().map(|reading| vec![*reading]).collect();
        let taper = thickness(&points, &conditions, &asked.gauge)
            .and_then(|inner| faces::taper(outer, &inner, &asked.gauge));
        results.taper = reader.problems.take(taper);
    }
    read_lips(args, &mut reader, &asked, &mut results);
    read_dials(args, &mut reader, &asked, &mut results);
    if let (Some(ring), Some(machine_to)) = (&results.ring, asked.machine_to) {
        let cut = asked.cut.unwrap_or_default();
        let skim = faces::skim(ring.t_min, ring.u, cut, machine_to);
        results.skim = reader.problems.take(skim);
    }
    let given_something = results.ring.is_some() || results.dials.is_some();
    reader.problems.finish(given_something.then_some(()))?;
    if given.temperature.is_none() && results.ring.is_some() {
        notes.push(
            "no --temperature: the disc may be 15 K warmer or colder than the gauge".to_owned(),
        );
    }
    notes.extend(args.shared.idle(&[
        "limit",
        "nominal",
        "zero-error",
        "temperature",
        "complaint judder",
    ]));
    let mut answer = judged(&results, &asked, &policy);
    answer.notes.splice(0..0, notes);
    Ok(answer)
}

fn check_limits(reader: &mut Reader<'_>, asked: &Asked) {
    reader.limit_against_new(&asked.given, true);
    if let (Some(to), Some(limit)) = (asked.machine_to, asked.given.limit) {
        let question =
            format!("{to} is below the minimum {limit}: nobody machines to less than may run");
        reader.ask("--machine-to", (to < limit).then_some(question));
    }
    if let (Some(limit), Some(new)) = (asked.machine_to, asked.given.nominal) {
        reader.problems.check(limit < new, || {
            MeasureError::LimitBeyondNew {
                limit_name: "machine-to thickness",
                limit,
                side: "below",
                new,
            }
            .into()
        });
    }
}

const fn like(given: &Given) -> Like {
    Like {
        what: "disc thickness",
        worn: given.limit,
        largest: given.nominal,
        usual: (4, 60),
    }
}

/// Readings grouped by point.
fn points(problems: &mut Problems, readings: &[Length], each: usize) -> Vec<Vec<Length>> {
    let each_or_one = each.max(1);
    problems.check(each > 0, || {
        MeasureError::TooFew {
            what: "readings at a point",
            found: 0,
            needed: 1,
        }
        .into()
    });
    let whole = readings.len().div_ceil(each_or_one) * each_or_one;
    problems.check(whole == readings.len(), || {
        MeasureError::CountMismatch {
            what: "readings for whole points",
            found: readings.len(),
            expected: whole,
        }
        .into()
    });
    readings
        .chunks(each_or_one)
        .map(<[Length]>::to_vec)
        .collect()
}

fn read_lips(args: &Args, reader: &mut Reader<'_>, asked: &Asked, results: &mut Results) {
    let outer = reader.maybe_lengths("--lip-outer", args.lip_outer.as_deref());
    let inner = reader.maybe_lengths("--lip-inner", args.lip_inner.as_deref());
    if let (Some(outer), Some(inner), Some(new), Some(ring)) =
        (outer, inner, asked.given.nominal, &results.ring)
    {
        let lips = faces::lips(&outer, &inner, new, ring.t_mean);
        results.lips = reader.problems.take(lips);
    }
}

fn read_dials(args: &Args, reader: &mut Reader<'_>, asked: &Asked, results: &mut Results) {
    let outer = reader.maybe_lengths("--dial-outer", args.dial_outer.as_deref());
    let inner = reader.maybe_lengths("--dial-inner", args.dial_inner.as_deref());
    let (Some(outer), Some(inner)) = (outer, inner) else {
        return;
    };
    let gauge = &asked.gauge;
    let dials = faces::two_indicators(&outer, &inner, gauge, gauge);
    let floor = dials.as_ref().ok().and_then(|dials| {
        // Each point is the sum of two readings, so the noise is √2 times one's.
        let one = disc::dtv_floor(gauge, dials.points.len(), 1).ok()?;
        Length::from_mm(one.mm() * 2f64.sqrt())
    });
    results.dials = reader
        .problems
        .take(dials)
        .map(|dials| (dials, floor.unwrap_or_default()));
}

/// Thickness and its variation together.
fn judged(results: &Results, asked: &Asked, policy: &Policy) -> Answer {
    let zero = check::zero_caution(asked.given.zero_error, asked.gauge.resolution, policy);
    let cautions: Vec<String> = zero.into_iter().collect();
    let bench = Bench {
        cautions: &cautions,
        ..asked.given.bench(policy)
    };
    let dtv_bench = Bench {
        limit: asked.dtv_limit,
        ..bench
    };
    let thickness = results
        .ring
        .as_ref()
        .map(|ring| check::disc_thickness(ring, &bench));
    let variation = results.ring.as_ref().map(|ring| {
        check::disc_variation(
            (ring.dtv, ring.u_dtv),
            (ring.dtv_floor, ring.readings_per_point),
            &dtv_bench,
        )
    });
    let dials = results
        .dials
        .as_ref()
        .map(|(dials, floor)| check::disc_variation((dials.dtv, dials.u), (*floor, 1), &dtv_bench));
    let findings: Vec<&Finding> = [&thickness, &variation, &dials]
        .into_iter()
        .flatten()
        .collect();
    let method = format!("{METHOD}; {}", gauge_words(&asked.gauge));
    let mut answer = Answer::judged("disc", method, &findings);
    if let (Some(ring), Some(thickness), Some(variation)) = (&results.ring, &thickness, &variation)
    {
        describe_ring(&mut answer, ring, (thickness, variation), asked);
    } else {
        answer.json = json!({"t_min_mm": null, "t_mean_mm": null});
    }
    describe_faces(&mut answer, results);
    if let (Some((dials, floor)), Some(finding)) = (&results.dials, &dials) {
        describe_dials(&mut answer, dials, *floor, finding, results.ring.is_none());
    }
    answer
}

fn describe_ring(
    answer: &mut Answer,
    ring: &Thickness,
    (thickness, variation): (&Finding, &Finding),
    asked: &Asked,
) {
    let limit = asked.given.limit;
    let wear = asked
        .given
        .nominal
        .zip(limit)
        .and_then(|(new, limit)| wear_used(new, limit, ring.t_min).ok());
    let left = limit.map(|limit| ring.t_min - limit);
    answer.row(
        "thinnest",
        format!(
            "{} at point {} of {}, mean {}",
            mm(ring.t_min, 4),
            ring.t_min_point + 1,
            ring.points.len(),
            mm(ring.t_mean, 4)
        ),
    );
    if let (Some(limit), Some(left)) = (limit, left) {
        answer.row(
            "limit",
            format!("at least {}; left {}", mm(limit, 4), mm(left, 4)),
        );
    }
    if let Some(wear) = &wear {
        let percent = wear.wear_fraction * 100.0;
        answer.row(
            "worn",
            format!("{}, {percent:.1} % of what may wear", mm(wear.wear, 4)),
        );
    }
    answer.sure(thickness);
    let allowed = variation.limit.map(|limit| {
        format!(
            "; limit {:.1} µm ({})",
            limit.number() * 1e3,
            whose(variation)
        )
    });
    answer.row(
        "variation",
        format!(
            "{:.1} µm; a perfect disc shows up to {:.1} µm{}",
            ring.dtv.um(),
            ring.dtv_floor.um(),
            allowed.unwrap_or_default()
        ),
    );
    let order =
        |h: &Option<crate::measure::harmonic::Harmonic>| h.as_ref().map(|h| h.peak_to_peak.um());
    answer.json = json!({
        "t_min_mm": ring.t_min.mm(),
        "t_mean_mm": ring.t_mean.mm(),
        "t_min_point": ring.t_min_point + 1,
        "dtv_um": ring.dtv.um(),
        "dtv_floor_um": ring.dtv_floor.um(),
        "wear_mm": asked.given.nominal.map(|new| (new - ring.t_min).mm()),
        "wear_fraction": wear.map(|wear| wear.wear_fraction),
        "left_mm": left.map(Length::mm),
        "u_mm": ring.u.mm(),
        "readings_per_point": ring.readings_per_point,
    });
    extend(&mut answer.json, sure_fields(thickness));
    let mut more = variation_fields(variation, ring.u_dtv);
    extend(
        &mut more,
        [
            ("order1_um", json!(order(&ring.order1))),
            ("order2_um", json!(order(&ring.order2))),
        ],
    );
    extend(&mut answer.json, [("variation", more)]);
}

fn variation_fields(finding: &Finding, u: Length) -> Value {
    json!({
        "verdict": finding.verdict,
        "proof": finding.proof,
        "conformance_probability": finding.conformance_probability,
        "limit_um": finding.limit.map(|limit| limit.number() * 1e3),
        "u_um": u.um(),
    })
}

fn describe_faces(answer: &mut Answer, results: &Results) {
    if let Some(taper) = &results.taper {
        let u = taper.u.um();
        answer.row(
            "taper",
            format!("{} outside minus inside (u {u:.2} µm)", mm(taper.taper, 4)),
        );
        let fields = json!(taper.taper.mm());
        extend(
            &mut answer.json,
            [("taper_mm", fields), ("u_taper_mm", json!(taper.u.mm()))],
        );
    }
    if let Some(lips) = &results.lips {
        let closes = if lips.closes { "agree" } else { "do not agree" };
        answer.row(
            "faces",
            format!(
                "outer lost {}, inner {}; lips and micrometer {closes} ({})",
                mm(lips.outer, 3),
                mm(lips.inner, 3),
                mm(lips.closure, 3)
            ),
        );
        if !lips.closes {
            answer
                .notes
                .push("a wrong new size, a machined disc or a wrong lip reading".to_owned());
        }
        if lips.ratio.is_some_and(|ratio| ratio >= faces::FACE_RATIO) {
            answer
                .notes
                .push("one face wore much more than the other: look at pins and pads".to_owned());
        }
        let fields = json!({
            "outer_mm": lips.outer.mm(), "inner_mm": lips.inner.mm(),
            "closure_mm": lips.closure.mm(), "closes": lips.closes, "ratio": lips.ratio,
        });
        extend(&mut answer.json, [("faces", fields)]);
    }
    if let Some(skim) = &results.skim {
        let sentence = skim_words(skim);
        answer.row("skimming", sentence.clone());
        let fields = json!({
            "per_face_mm": skim.per_face.mm(), "after_mm": skim.after.mm(),
            "conformance_probability": skim.conformity.probability, "proof": skim.conformity.proof,
            "deepest_per_face_mm": skim.deepest_per_face.mm(), "sentence": sentence,
        });
        extend(&mut answer.json, [("skim", fields)]);
    }
}

fn skim_words(skim: &Skim) -> String {
    let deepest = mm(skim.deepest_per_face, 3);
    if skim.deepest_per_face == Length::ZERO {
        return "may not be skimmed: it is at the machine-to thickness or beyond".to_owned();
    }
    if skim.per_face == Length::ZERO {
        return format!("may be skimmed, by at most {deepest} a face");
    }
    let (cut, after) = (mm(skim.per_face, 3), mm(skim.after, 3));
    if skim.conformity.proof == Proof::ProvenIn && !skim.conformity.beyond {
        format!(
            "may be skimmed: after removing {cut} a face it has {after} (at most {deepest} a face)"
        )
    } else {
        format!(
            "may not be skimmed so far: after removing {cut} a face it has {after} (at most {deepest} a face)"
        )
    }
}

fn describe_dials(
    answer: &mut Answer,
    dials: &TwoIndicators,
    floor: Length,
    finding: &Finding,
    alone: bool,
) {
    answer.row(
        "two dials",
        format!(
            "variation {:.1} µm (u {:.2} µm, a perfect disc shows up to {:.1} µm)",
            dials.dtv.um(),
            dials.u.um(),
            floor.um()
        ),
    );
    let mut fields = variation_fields(finding, dials.u);
    extend(
        &mut fields,
        [
            ("dtv_um", json!(dials.dtv.um())),
            ("dtv_floor_um", json!(floor.um())),
            ("tir_outer_mm", json!(dials.tir_outer.mm())),
            ("tir_inner_mm", json!(dials.tir_inner.mm())),
        ],
    );
    if alone {
        let dtv = [
            ("dtv_um", json!(dials.dtv.um())),
            ("dtv_floor_um", json!(floor.um())),
        ];
        extend(&mut answer.json, dtv);
        extend(&mut answer.json, sure_fields(finding));
        answer.verdict = Some(ItemVerdict::clone(&finding.verdict));
    }
    extend(&mut answer.json, [("two_dials", fields)]);
}
