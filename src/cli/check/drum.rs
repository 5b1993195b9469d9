//! `check drum`.

use std::io::BufRead;

use serde_json::json;

use super::error::CheckError;
use super::input::{Given, Like, Reader, Shared, zero_caution};
use super::report::{Answer, extend, gauge_words, mm, sure_fields};
use crate::judge::check::{self, Bench};
use crate::measure::drum::drum;
use crate::spec::Policy;
use crate::units::Length;

const METHOD: &str = "largest diameter of both ends; ovality within one end; conformance \
    probability of JCGM 106";

const EXAMPLE: &str = "Example:\n\
\x20 brakecorner check drum --open \"203.31 203.29\" --closed \"203.27 203.26\" \\\n\
\x20   --limit 204 --nominal 203\n\
\n\
has 0.69 mm left, is 0.02 mm oval and 0.035 mm wider at its open end: PASS.";

/// Judge the inside diameter of a brake drum
///
/// Two or more directions at the open end, and at the closed end where it can be reached.
#[derive(Debug, clap::Args)]
#[command(
    after_help = EXAMPLE
)]
pub(super) struct Args {
    /// Diameters at the open end; `-` = standard input
    #[arg(long, value_name = "LENGTHS", allow_hyphen_values = true)]
    open: String,
    /// Diameters at the closed end
    #[arg(long, value_name = "LENGTHS", allow_hyphen_values = true)]
    closed: Option<String>,
    #[command(flatten)]
    shared: Shared,
}

pub(super) fn answer(args: &Args, input: &mut dyn BufRead) -> Result<Answer, CheckError> {
    let policy = Policy::builtin();
    let mut reader = Reader::new(&args.shared, input);
    let given = reader.given(&args.shared);
    reader.limit_against_new(&given, false);
    let open = reader.lengths("--open", &args.open);
    let closed = match args.closed.as_deref() {
        Some(text) => reader.lengths("--closed", text),
        None => Some(Vec::new()),
    };
    let gauge = reader.gauge(&args.shared, check::drum_gauge(&policy));
    let result = match (open, closed) {
        (Some(open), Some(closed)) => {
            reader.plausible("--open", &open, &like(&given));
            let end = |readings: &[Length]| -> Vec<Length> {
                readings.iter().map(|r| *r - given.zero_error).collect()
            };
            reader
                .problems
                .take(drum(&end(&open), &end(&closed), &gauge))
        }
        _ => None,
    };
    let result = reader.problems.finish(result)?;
    let cautions = Vec::from_iter(zero_caution(&given, &gauge, &policy));
    let bench = Bench {
        cautions: &cautions,
        ..given.bench(&policy)
    };
    let finding = check::drum(&result, &bench);
    let left = given.limit.map(|limit| limit - result.max);
    let fraction = given.limit.zip(given.nominal).map(|(limit, new)| {
        let used = (result.max - new).mm() / (limit - new).mm();
        libm::round(used * 1e6) / 1e6
    });
    let method = format!("{METHOD}; {}", gauge_words(&gauge));
    let mut answer = Answer::judged("drum", method, &[&finding]);
    answer.row("largest", mm(result.max, 3));
    if let (Some(limit), Some(left)) = (given.limit, left) {
        answer.row(
            "limit",
            format!("at most {}; left {}", mm(limit, 3), mm(left, 3)),
        );
    }
    answer.sure(&finding);
    answer.row("ovality", mm(result.ovality, 3));
    if let Some(bell) = result.bell_mouth {
        answer.row("bell-mouth", format!("{} open minus closed", mm(bell, 3)));
    }
    answer.json = json!({
        "max_mm": result.max.mm(),
        "ovality_mm": result.ovality.mm(),
        "bell_mouth_mm": result.bell_mouth.map(Length::mm),
        "left_mm": left.map(Length::mm),
        "wear_fraction": fraction,
        "u_mm": result.u.mm(),
    });
    extend(&mut answer.json, sure_fields(&finding));
    answer.notes = args.shared.idle(&["limit", "nominal", "zero-error"]);
    Ok(answer)
}

/// A drum grows: the new size is the small end, the limit the large one.
const fn like(given: &Given) -> Like {
    Like {
        what: "drum diameter",
        worn: given.nominal,
        largest: given.limit,
        usual: (100, 700),
    }
}
