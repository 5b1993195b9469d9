//! `check pedal`.

use std::io::BufRead;

use serde_json::json;

use super::error::CheckError;
use super::input::Reader;
use super::report::{Answer, mm};
use crate::measure::pedal::{TRAVEL_LIMIT_PERCENT, travel};
use crate::units::Length;

const METHOD: &str = "travel used = (free − pressed)/free; it sinks when the height after the hold \
    is less than before";

const EXAMPLE: &str = "Example:\n\
\x20 brakecorner check pedal --free 130 --pressed 45 --after-hold 45\n\
\n\
uses 65.4 % of its travel and does not sink while held.";

/// Find how much of its travel a brake pedal uses, and whether it sinks
///
/// Heights above the floor: free, pressed with a moderate force, and after a hold of ten seconds.
/// 49 CFR 570.55 allows 80 % at 50 lbf (222 N) for vehicles over 10 000 lb, and no further drop in
/// 10 s at 125 lbf (556 N); for other vehicles the maker's figure counts. Exit code 1 when more
/// than that is used or the pedal sinks.
#[derive(Debug, clap::Args)]
#[command(after_help = EXAMPLE)]
pub(super) struct Args {
    /// Height of the pedal at rest
    #[arg(long, value_name = "LENGTH", allow_hyphen_values = true)]
    free: String,
    /// Height with the force on
    #[arg(long, value_name = "LENGTH", allow_hyphen_values = true)]
    pressed: String,
    /// Height after the hold
    #[arg(long, value_name = "LENGTH", allow_hyphen_values = true)]
    after_hold: Option<String>,
    /// Keep heights no pedal usually has
    #[arg(long)]
    confirm: bool,
}

pub(super) fn answer(args: &Args, input: &mut dyn BufRead) -> Result<Answer, CheckError> {
    let mut reader = Reader::bare(input);
    reader.confirm(args.confirm);
    let free = reader.length("--free", Some(&args.free));
    let pressed = reader.length("--pressed", Some(&args.pressed));
    let held = reader.length("--after-hold", args.after_hold.as_deref());
    let read = args.after_hold.is_none() || held.is_some();
    let heights = [("--pressed", pressed), ("--after-hold", held)];
    for (option, height) in heights {
        if let (Some(free), Some(height)) = (free, height) {
            reader
                .problems
                .check(height <= free, || CheckError::HigherThanFree {
                    option,
                    height,
                    free,
                });
        }
    }
    reader.ask("--free", free.and_then(odd_height));
    if let (Some(pressed), Some(held)) = (pressed, held) {
        let rises = held > pressed;
        let question = format!(
            "{held} is higher than {pressed} before the hold: a pedal under a steady force does not rise; was the force less?"
        );
        reader.ask("--after-hold", rises.then_some(question));
    }
    let result = match free.zip(pressed) {
        Some((free, pressed)) if read && reader.problems.is_empty() => {
            reader.problems.take(travel(free, pressed, held))
        }
        _ => None,
    };
    let result = reader.problems.finish(result)?;
    let mut answer = Answer::plain("brake pedal", METHOD);
    answer.row("travel used", format!("{:.1} %", result.used_percent));
    answer.row("reserve", mm(result.reserve, 1));
    let within = result.used_percent <= TRAVEL_LIMIT_PERCENT;
    if !within {
        answer.reasons.push(format!(
            "more than {TRAVEL_LIMIT_PERCENT} % of the travel (49 CFR 570.55(b), over 10 000 lb)"
        ));
    }
    match result.sinks {
        Some(true) => answer.reasons.push(
            "the pedal sinks while held: not to be driven before the leak, inside or out, is found"
                .to_owned(),
        ),
        Some(false) => answer.row("held", "does not sink"),
        None => answer
            .notes
            .push("not held: add --after-hold to know whether it sinks".to_owned()),
    }
    answer.good = within && result.sinks != Some(true);
    answer.json = json!({
        "used_percent": result.used_percent,
        "reserve_mm": result.reserve.mm(),
        "sinks": result.sinks,
        "limit_percent": TRAVEL_LIMIT_PERCENT,
        "limit_source": "49 CFR 570.55(b), over 10 000 lb",
    });
    Ok(answer)
}

/// The question a free height no vehicle has raises (own).
fn odd_height(free: Length) -> Option<String> {
    let (low, high) = (Length::from_nm(50_000_000), Length::from_nm(400_000_000));
    let odd = free > Length::ZERO && !(low..=high).contains(&free);
    odd.then(|| format!("{free} is no height of a free pedal, expected {low} to {high}"))
}
