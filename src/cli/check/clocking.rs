//! `check clocking`.

use std::io::BufRead;

use serde_json::{Value, json};

use super::error::CheckError;
use super::input::{Reader, Shared, words};
use super::report::{Answer, gauge_words, mm};
use super::ring::RingArgs;
use crate::judge::check;
use crate::measure::MeasureError;
use crate::measure::clocking::{ClockedRing, Clocking, Lead, Predicted, Share, clocking};
use crate::spec::Policy;
use crate::units::Length;

const METHOD: &str = "V(k) = H + D·e^(ikβ) by weighted least squares; recommended is the smallest \
    predicted run-out among the possible clockings";

const EXAMPLE: &str = "Example, a hub with 31 µm at 40° and a disc with 27 µm at 55°:\n\
\x20 brakecorner check clocking --holes 5 \\\n\
\x20   --at \"0: 0.00000 0.01722 0.01288 -0.01137 -0.04626\n\
\x20     -0.07847 -0.09569 -0.09134 -0.06710 -0.03221\" \\\n\
\x20   --at \"2: 0.00000 0.00689 0.01182 0.01292 0.00977\n\
\x20     0.00356 -0.00332 -0.00826 -0.00936 -0.00621\"\n\
\n\
predicts 115.0, 84.3, 22.6, 50.5 and 102.0 µm for clockings 0 to 4: clocking 2,\n\
the mark beside the second stud to pass after stud 1.";

/// Tell hub and disc apart, and find where the disc should sit
///
/// One --at for each ring: the clocking, a colon, the readings. Clocking k = the disc's own mark is
/// beside the k-th stud to pass the stylus after stud 1. Exit code 0 when a clocking is recommended
/// and the last ring agrees with the ones before; with --limit, when the predicted run-out passes.
#[derive(Debug, clap::Args)]
#[command(
    after_help = EXAMPLE
)]
pub(super) struct Args {
    /// Bolt holes
    #[arg(long, value_name = "N")]
    holes: u8,
    /// A ring: clocking, colon, readings (can be repeated, in the order they were taken)
    #[arg(long, value_name = "K: LENGTHS", required = true)]
    at: Vec<String>,
    /// Clockings that are possible; otherwise all
    #[arg(long, value_name = "K,K,…")]
    only: Option<String>,
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
    let mut notes = Vec::new();
    let mut rings = Vec::new();
    for text in &args.at {
        let Some((k, readings)) = clocked(&mut reader, text) else {
            continue;
        };
        options.ask_return(&mut reader, "--at", &readings, args.holes);
        let (ring, mut more) = options.ring(&mut reader, readings);
        notes.append(&mut more);
        rings.push(ClockedRing { clocking: k, ring });
    }
    let only = args
        .only
        .as_deref()
        .and_then(|text| only(&mut reader, text));
    let gauge = reader.gauge(&args.shared, check::fine_gauge(&policy));
    let result = if rings.len() == args.at.len() {
        let result = clocking(args.holes, &rings, only.as_deref(), &gauge);
        reader.problems.take(result)
    } else {
        check_holes(&mut reader, args.holes);
        None
    };
    let result = reader.problems.finish(result)?;
    let mut answer = Answer::plain("clocking", format!("{METHOD}; {}", gauge_words(&gauge)));
    describe(&mut answer, &result);
    answer.json = fields(&result);
    if let Some(refusal) = &result.refused {
        answer.good = false;
        answer.reasons.push(refusal.to_string());
    }
    if let Some(closure) = result.closure.filter(|closure| !closure.agrees) {
        answer.good = false;
        answer.reasons.push(format!(
            "the last ring is {} off its prediction, {:.1} times its uncertainty: dirt under the disc, a wrong mark, or numbers that run backwards; clean, mark and measure again",
            mm(closure.disagreement, 4),
            closure.ratio
        ));
    }
    if let (Some(best), Some(_)) = (best(&result), given.limit) {
        let (tir, u) = (best.tir.unwrap_or_default(), best.u.unwrap_or_default());
        let finding = check::predicted_runout(tir, u, &given.bench(&policy));
        answer.verdict = Some(finding.verdict);
        answer.reasons.extend(finding.reasons.iter().cloned());
    }
    answer.notes = notes;
    answer
        .notes
        .extend(args.shared.idle(&["limit", "complaint judder"]));
    Ok(answer)
}

fn clocked(reader: &mut Reader<'_>, text: &str) -> Option<(u8, Vec<Length>)> {
    let form = || CheckError::Form {
        option: "--at",
        text: text.chars().take(40).collect(),
        form: "CLOCKING: READINGS, such as 2: 0.000 0.010 …",
    };
    let Some((k, readings)) = text.split_once(':') else {
        reader.problems.push(form());
        return None;
    };
    let k = k.trim().parse::<u8>();
    let readings = reader.lengths("--at", readings);
    let k = reader.problems.take(k.map_err(|_| form()));
    k.zip(readings)
}

fn only(reader: &mut Reader<'_>, text: &str) -> Option<Vec<u8>> {
    let list: Vec<_> = text
        .split(',')
        .flat_map(words)
        .filter_map(|word| {
            let number = word.parse::<u8>().map_err(|_| CheckError::Form {
                option: "--only",
                text: word.clone(),
                form: "a clocking, such as 0,2",
            });
            reader.problems.take(number)
        })
        .collect();
    Some(list)
}

fn check_holes(reader: &mut Reader<'_>, found: u8) {
    reader.problems.check((3..=10).contains(&found), || {
        MeasureError::FastenerCount {
            what: "holes",
            found,
        }
        .into()
    });
}

fn best(result: &Clocking) -> Option<&Predicted> {
    let best = result.best?;
    result.clockings.iter().find(|c| c.holes == best)
}

fn describe(answer: &mut Answer, result: &Clocking) {
    let lead = match result.lead {
        Some(Lead::Hub) => "; the hub leads",
        Some(Lead::Disc) => "; the disc leads",
        _ => "",
    };
    for (name, share, lead) in [("hub", &result.hub, ""), ("disc", &result.disc, lead)] {
        if let Some(share) = share {
            answer.row(
                name,
                format!(
                    "{} (u {:.2} µm), high spot {:.1}°{lead}",
                    mm(share.tir, 4),
                    share.u.um(),
                    share.high_spot.degrees()
                ),
            );
        }
    }
    for clocking in &result.clockings {
        let mut text = match (clocking.tir, clocking.u) {
            (Some(tir), Some(u)) => format!("{} (u {:.2} µm)", mm(tir, 4), u.um()),
            _ => "not known".to_owned(),
        };
        if let Some(measured) = clocking.measured {
            text.push_str(&format!(", measured {}", mm(measured, 4)));
        }
        if !clocking.possible {
            text.push_str(", not possible");
        }
        if result.best == Some(clocking.holes) {
            text.push_str("  <- recommended");
        }
        answer.row(format!("clocking {}", clocking.holes), text);
    }
    if let Some(closure) = &result.closure {
        answer.row(
            "closure",
            format!("{} off the prediction", mm(closure.disagreement, 4)),
        );
    }
}

fn share_fields(share: &Share) -> Value {
    json!({
        "tir_mm": share.tir.mm(),
        "high_spot_deg": share.high_spot.degrees(),
        "u_mm": share.u.mm(),
        "u_high_spot_deg": share.u_high_spot.degrees(),
    })
}

fn fields(result: &Clocking) -> Value {
    let clockings: Vec<Value> = result
        .clockings
        .iter()
        .map(|c| {
            json!({
                "holes": c.holes,
                "tir_mm": c.tir.map(Length::mm),
                "u_mm": c.u.map(Length::mm),
                "measured_mm": c.measured.map(Length::mm),
                "possible": c.possible,
            })
        })
        .collect();
    json!({
        "hub": result.hub.as_ref().map(share_fields),
        "disc": result.disc.as_ref().map(share_fields),
        "lead": result.lead,
        "clockings": clockings,
        "best_holes": result.best,
        "closure_mm": result.closure.map(|c| c.disagreement.mm()),
        "closure_agrees": result.closure.map(|c| c.agrees),
        "reach_mm": result.reach.map(|(low, high)| [low.mm(), high.mm()]),
        "refused": result.refused.is_some(),
    })
}
