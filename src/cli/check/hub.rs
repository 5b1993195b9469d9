//! `check hub`.

use std::io::BufRead;

use serde_json::json;

use super::error::CheckError;
use super::input::{Reader, Shared};
use super::report::{Answer, extend, gauge_words, mm, sure_fields};
use super::ring::RingArgs;
use crate::judge::check;
use crate::measure::hub::hub_face;
use crate::measure::runout::RunoutRing;
use crate::spec::Policy;
use crate::units::Angle;

const METHOD: &str = "a tilt grows with the radius: run-out · radius / radius";

const EXAMPLE: &str = "Example:\n\
\x20 brakecorner check hub --swept 0.028 --radius 62 --at-radius 130\n\
\n\
is 0.0587 mm at the disc.";

/// Scale the run-out of a hub face to another radius
///
/// Only a tilt grows with the radius; dirt and dents do not, so for a rough face the scaled value is
/// an upper estimate. With --limit the measured run-out is judged; without, nothing is.
#[derive(Debug, clap::Args)]
#[command(
    after_help = EXAMPLE
)]
pub(super) struct Args {
    /// Dial readings at the points; `-` = standard input
    #[arg(
        long,
        value_name = "LENGTHS",
        allow_hyphen_values = true,
        required_unless_present = "swept"
    )]
    readings: Option<String>,
    /// Highest minus lowest seen in one slow turn
    #[arg(long, value_name = "LENGTH", allow_hyphen_values = true)]
    swept: Option<String>,
    /// Radius the stylus ran on
    #[arg(long, value_name = "LENGTH", allow_hyphen_values = true)]
    radius: String,
    /// Radius wanted, such as the disc's
    #[arg(long, value_name = "LENGTH", allow_hyphen_values = true)]
    at_radius: String,
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
    let radius = reader.length("--radius", Some(&args.radius));
    let at_radius = reader.length("--at-radius", Some(&args.at_radius));
    reader.ask_radius("--radius", radius);
    reader.ask_radius("--at-radius", at_radius);
    let gauge = reader.gauge(&args.shared, check::fine_gauge(&policy));
    let (ring, notes) = options.ring(&mut reader, readings.clone().unwrap_or_default());
    let ring = RunoutRing { swept, ..ring };
    let result = match (readings, radius, at_radius) {
        (Some(_), Some(from), Some(to)) => reader.problems.take(hub_face(&ring, &gauge, from, to)),
        _ => None,
    };
    let result = reader.problems.finish(result)?;
    let method = format!("{METHOD}; {}", gauge_words(&gauge));
    let finding = check::hub_face(&result.runout, &given.bench(&policy));
    let judged = given.limit.is_some() || !result.runout.closing_ok;
    let mut answer = if judged {
        Answer::judged("hub face", method, &[&finding])
    } else {
        Answer::plain("hub face", method)
    };
    answer.row("run-out", mm(result.tir, 4));
    let u = result.u_scaled.um();
    answer.row(
        "scaled",
        format!(
            "{} at {at} (u {u:.2} µm)",
            mm(result.scaled, 4),
            at = args.at_radius
        ),
    );
    if let Some(high) = result.high_spot {
        answer.row("high spot", format!("{:.1}°", high.degrees()));
    }
    if judged {
        answer.sure(&finding);
    }
    answer.json = json!({
        "tir_mm": result.tir.mm(),
        "scaled_mm": result.scaled.mm(),
        "high_spot_deg": result.high_spot.map(Angle::degrees),
        "u_scaled_mm": result.u_scaled.mm(),
        "tilt_deg": result.tilt_deg,
    });
    if judged {
        extend(&mut answer.json, sure_fields(&finding));
    }
    answer.notes = notes;
    answer
        .notes
        .extend(args.shared.idle(&["limit", "complaint judder"]));
    Ok(answer)
}
