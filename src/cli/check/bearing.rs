//! `check bearing`.

use std::io::BufRead;

use serde_json::json;

use super::error::CheckError;
use super::input::{Reader, Shared};
use super::report::{Answer, extend, gauge_words, mm, sure_fields};
use crate::judge::check;
use crate::measure::bearing::float;
use crate::spec::Policy;

const METHOD: &str = "largest of the push-and-pull cycles; conformance probability of JCGM 106";

const EXAMPLE: &str = "Example:\n\
\x20 brakecorner check bearing --readings \"0.008 0.010 0.009\" --limit 0.050\n\
\n\
has an end float of 0.010 mm: PASS.";

/// Judge the end float of a wheel bearing
///
/// One reading a push-and-pull cycle; the loosest cycle counts. Over its limit, run-out readings
/// mean nothing.
#[derive(Debug, clap::Args)]
#[command(
    after_help = EXAMPLE
)]
pub(super) struct Args {
    /// Travel of each cycle; `-` = standard input
    #[arg(long, value_name = "LENGTHS", allow_hyphen_values = true)]
    readings: String,
    #[command(flatten)]
    shared: Shared,
}

pub(super) fn answer(args: &Args, input: &mut dyn BufRead) -> Result<Answer, CheckError> {
    let policy = Policy::builtin();
    let mut reader = Reader::new(&args.shared, input);
    let given = reader.given(&args.shared);
    let readings = reader.lengths("--readings", &args.readings);
    let gauge = reader.gauge(&args.shared, check::fine_gauge(&policy));
    let result = match &readings {
        Some(readings) => reader.problems.take(float(readings, &gauge)),
        None => None,
    };
    let result = reader.problems.finish(result)?;
    let finding = check::bearing_float(&result, &given.bench(&policy));
    let method = format!("{METHOD}; {}", gauge_words(&gauge));
    let mut answer = Answer::judged("bearing end float", method, &[&finding]);
    answer.row("float", mm(result.float, 4));
    if readings.is_some_and(|r| r.len() > 1) {
        let (mean, spread) = (mm(result.mean, 4), mm(result.spread, 4));
        answer.row("cycles", format!("mean {mean}, spread {spread}"));
    }
    if let Some(limit) = given.limit {
        answer.row("limit", format!("at most {}", mm(limit, 4)));
    }
    answer.sure(&finding);
    answer.json = json!({
        "float_mm": result.float.mm(),
        "mean_mm": result.mean.mm(),
        "spread_mm": result.spread.mm(),
        "u_mm": result.u.mm(),
    });
    extend(&mut answer.json, sure_fields(&finding));
    answer.notes = args.shared.idle(&["limit"]);
    Ok(answer)
}
