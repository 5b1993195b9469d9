//! `check runout`.

use std::io::BufRead;

use serde_json::{Value, json};

use super::error::CheckError;
use super::input::{Reader, Shared, all_the_same};
use super::report::{Answer, extend, gauge_words, mm, sure_fields, whose};
use super::ring::RingArgs;
use crate::judge::check;
use crate::measure::hub::scale;
use crate::measure::runout::{HarmonicFit, Runout, RunoutRing, least_seen, runout};
use crate::measure::uncertainty::Gauge;
use crate::spec::Policy;
use crate::units::Length;

const METHOD: &str = "swept run-out, else the larger of max - min and the fitted tilt (least \
    squares); conformance probability of JCGM 106";

const EXAMPLE: &str = "Example:\n\
\x20 brakecorner check runout --closing --limit 0.080 --complaint judder \\\n\
\x20   --readings \"0.000 0.001 -0.019 -0.054 -0.090 -0.108 -0.106 -0.087 -0.048\n\
\x20     -0.015 0.000\"\n\
\n\
shows 0.109 mm between the points and a fitted tilt of 0.1155 mm with its high\n\
spot at 15.6°: FAIL.";

/// Judge the lateral run-out of a disc
///
/// Points in the order the marks pass the stylus, from stud 1. Where no --limit is given, workshop
/// policy stands in, which may advise but never fails.
#[derive(Debug, clap::Args)]
#[command(
    after_help = EXAMPLE
)]
pub(super) struct Args {
    /// Dial readings at the points; `-` = standard input
    #[arg(long, value_name = "LENGTHS", allow_hyphen_values = true)]
    readings: Option<String>,
    /// Highest minus lowest seen in one slow turn
    #[arg(long, value_name = "LENGTH", allow_hyphen_values = true)]
    swept: Option<String>,
    /// Number of wheel fasteners, to see uneven clamping
    #[arg(long, value_name = "N")]
    fasteners: Option<u8>,
    /// Radius the stylus ran on; with --at-radius
    #[arg(long, value_name = "LENGTH", requires = "at_radius")]
    radius: Option<String>,
    /// Radius the limit holds for; the judged value is scaled to it
    #[arg(long, value_name = "LENGTH", requires = "radius")]
    at_radius: Option<String>,
    #[command(flatten)]
    ring: RingArgs,
    #[command(flatten)]
    shared: Shared,
}

pub(super) fn answer(args: &Args, input: &mut dyn BufRead) -> Result<Answer, CheckError> {
    let policy = Policy::builtin();
    let mut reader = Reader::new(&args.shared, input);
    let given = reader.given(&args.shared);
    let options = args.ring.read(&mut reader);
    let readings = match args.readings.as_deref() {
        Some(text) => reader.lengths("--readings", text),
        None => Some(Vec::new()),
    };
    // Whether 0.030 or 0.03 was written says nothing of the gauge's step.
    let swept = reader.length("--swept", args.swept.as_deref());
    let radii = (
        reader.positive("--radius", args.radius.as_deref()),
        reader.positive("--at-radius", args.at_radius.as_deref()),
    );
    reader.ask_radius("--radius", radii.0);
    reader.ask_radius("--at-radius", radii.1);
    let gauge = reader.gauge(&args.shared, check::fine_gauge(&policy));
    if let (Some(points), Some(fasteners)) = (&readings, args.fasteners) {
        options.ask_return(&mut reader, "--readings", points, fasteners);
    }
    let (ring, mut notes) = options.ring(&mut reader, readings.clone().unwrap_or_default());
    let ring = RunoutRing {
        swept,
        fasteners: args.fasteners,
        ..ring
    };
    let result = match readings {
        Some(_) => reader
            .problems
            .take(runout(&ring, &gauge).map_err(CheckError::from)),
        None => None,
    };
    if let Some(result) = &result
        && result.swept_below_points
        && !reader.confirmed()
    {
        reader.problems.push(CheckError::SweptBelowPoints {
            swept: result.swept.unwrap_or_default(),
            points: result.tir.unwrap_or_default(),
        });
    }
    let scaled = match (&result, radii) {
        (Some(result), (Some(from), Some(to))) => {
            let value = reader.problems.take(scale(result.judged, from, to));
            value.zip(reader.problems.take(scale(result.u, from, to)))
        }
        _ => None,
    };
    let result = reader.problems.finish(result)?;
    let judged = scaled.unwrap_or((result.judged, result.u));
    let finding = check::disc_runout(&result, judged, &given.bench(&policy));
    let method = format!("{METHOD}; {}", gauge_words(&gauge));
    let mut answer = Answer::judged("disc run-out", method, &[&finding]);
    describe(&mut answer, &result, judged, scaled.is_some(), &gauge);
    if let Some(limit) = finding.limit {
        answer.row(
            "limit",
            format!("{:.4} mm ({})", limit.number(), whose(&finding)),
        );
    }
    answer.sure(&finding);
    answer.json = fields(&result, judged, scaled.map(|s| s.0));
    extend(&mut answer.json, sure_fields(&finding));
    answer.notes.append(&mut notes);
    answer.notes.extend(
        all_the_same(&ring.points, 4).map(|same| format!("{same} Does the stylus touch the face?")),
    );
    answer.notes.extend(points_note(&ring, args.fasteners));
    answer
        .notes
        .extend(args.shared.idle(&["limit", "complaint judder"]));
    Ok(answer)
}

fn describe(
    answer: &mut Answer,
    result: &Runout,
    judged: (Length, Length),
    scaled: bool,
    gauge: &Gauge,
) {
    if let Some(swept) = result.swept {
        answer.row("swept", mm(swept, 4));
    }
    if let Some(tir) = result.tir {
        answer.row("points", format!("{} between the points", mm(tir, 4)));
    }
    if let Some(fit) = &result.fit {
        answer.row(
            "fitted tilt",
            format!(
                "{} (u {:.2} µm), high spot {:.1}° (u {:.1}°)",
                mm(fit.peak_to_peak, 4),
                fit.u_peak_to_peak.um(),
                fit.high_spot.degrees(),
                fit.u_high_spot.degrees()
            ),
        );
        let orders = [("twice a turn", fit.order2), ("a fastener", fit.order_n)];
        let parts: Vec<String> = orders
            .iter()
            .filter_map(|(name, part)| Some(format!("{name} {}", mm((*part)?, 4))))
            .chain([format!("not tilt {}", mm(fit.residual, 4))])
            .collect();
        answer.row("rest", parts.join(", "));
    }
    if let Some(error) = result.closing_error {
        let allowed = crate::measure::runout::CLOSING_ALLOWED.max(gauge.resolution);
        answer.row("closing", format!("{} (allowed ±{allowed})", mm(error, 4)));
    }
    let at = if scaled { " at the other radius" } else { "" };
    answer.row("judged", format!("{}{at}", mm(judged.0, 4)));
}

fn fields(result: &Runout, judged: (Length, Length), scaled: Option<Length>) -> Value {
    json!({
        "tir_mm": result.tir.map(Length::mm),
        "swept_mm": result.swept.map(Length::mm),
        "judged_mm": judged.0.mm(),
        "closing_error_mm": result.closing_error.map(Length::mm),
        "closing_ok": result.closing_ok,
        "fit": result.fit.as_ref().map(fit_fields),
        "scaled_mm": scaled.map(Length::mm),
        "u_mm": judged.1.mm(),
    })
}

/// The fit of a ring.
fn fit_fields(fit: &HarmonicFit) -> Value {
    json!({
        "peak_to_peak_mm": fit.peak_to_peak.mm(),
        "high_spot_deg": fit.high_spot.degrees(),
        "order2_mm": fit.order2.map(Length::mm),
        "order_n_mm": fit.order_n.map(Length::mm),
        "residual_mm": fit.residual.mm(),
        "u_peak_to_peak_mm": fit.u_peak_to_peak.mm(),
        "u_high_spot_deg": fit.u_high_spot.degrees(),
    })
}

/// What this many points can miss.
fn points_note(ring: &RunoutRing, fasteners: Option<u8>) -> Vec<String> {
    let mut notes = Vec::new();
    let points = ring.points.len();
    if let Some(least) = least_seen(points)
        && ring.angles.is_none()
    {
        notes.push(format!(
            "{points} points see at least {:.1} % of a pure tilt",
            least * 100.0
        ));
    }
    if let Some(n) = fasteners
        && points > 0
        && points < 2 * usize::from(n)
    {
        notes.push(format!(
            "{points} points cannot show what comes once a fastener; {} would",
            2 * usize::from(n)
        ));
    }
    notes
}
