//! `check pad`.

use std::io::BufRead;

use serde_json::json;

use super::error::CheckError;
use super::input::{Given, Like, Reader, Shared, zero_caution};
use super::report::{Answer, extend, gauge_words, mm, sure_fields};
use crate::judge::check::{self, Bench};
use crate::measure::disc::{Wear, wear_used};
use crate::measure::pad::{Friction, PadReadings, Pads, lining, pads};
use crate::measure::uncertainty::Gauge;
use crate::spec::Policy;
use crate::units::Length;

const METHOD: &str = "thinnest place of the friction material; conformance probability of JCGM 106";

const EXAMPLE: &str = "Example:\n\
\x20 brakecorner check pad --inner \"1.1 0.7\" --outer \"4.9 5.0\" --limit 2.0 --nominal 10\n\
\n\
has 0.7 mm left, and the inner pad is 4.2 mm thinner than the outer one: FAIL.";

/// Judge the pads of one wheel, or a drum's linings
///
/// Friction material only, backing plate excluded; leading end first.
#[derive(Debug, clap::Args)]
#[command(
    after_help = EXAMPLE
)]
pub(super) struct Args {
    /// Readings of the pad on the vehicle's side; `-` = standard input
    #[arg(
        long,
        value_name = "LENGTHS",
        allow_hyphen_values = true,
        requires = "outer",
        required_unless_present = "lining"
    )]
    inner: Option<String>,
    /// Readings of the pad on the wheel's side
    #[arg(
        long,
        value_name = "LENGTHS",
        allow_hyphen_values = true,
        requires = "inner"
    )]
    outer: Option<String>,
    /// Readings of a drum's lining, instead of pads
    #[arg(
        long,
        value_name = "LENGTHS",
        allow_hyphen_values = true,
        conflicts_with = "inner"
    )]
    lining: Option<String>,
    #[command(flatten)]
    shared: Shared,
}

pub(super) fn answer(args: &Args, input: &mut dyn BufRead) -> Result<Answer, CheckError> {
    let policy = Policy::builtin();
    let mut reader = Reader::new(&args.shared, input);
    let given = reader.given(&args.shared);
    reader.limit_against_new(&given, true);
    let mut answer = if let Some(text) = args.lining.as_deref() {
        of_lining(args, reader, &given, text, &policy)?
    } else {
        of_pads(args, reader, &given, &policy)?
    };
    let used = ["limit", "nominal", "zero-error"];
    answer.notes.extend(args.shared.idle(&used));
    Ok(answer)
}

/// Readings without the gauge's zero error, refused when they can only be in another unit.
fn readings(
    reader: &mut Reader<'_>,
    option: &'static str,
    text: Option<&str>,
    given: &Given,
) -> Option<Vec<Length>> {
    let readings = reader.maybe_lengths(option, text)?;
    // A pad worn to almost nothing is real, so nothing is too thin; only too thick betrays a slip.
    let thickest = given.nominal.unwrap_or(Length::from_nm(30_000_000));
    if let Some(most) = readings.iter().max()
        && *most > thickest + crate::measure::slips::ABOVE_NEW_ALLOWED
    {
        let like = Like {
            what: "friction thickness",
            worn: Some(given.limit.unwrap_or(Length::from_nm(1_000_000))),
            largest: Some(thickest),
            usual: (0, 30),
        };
        reader.plausible(option, &[*most], &like);
    }
    Some(readings.into_iter().map(|r| r - given.zero_error).collect())
}

fn of_pads(
    args: &Args,
    mut reader: Reader<'_>,
    given: &Given,
    policy: &Policy,
) -> Result<Answer, CheckError> {
    let inner = readings(&mut reader, "--inner", args.inner.as_deref(), given);
    let outer = readings(&mut reader, "--outer", args.outer.as_deref(), given);
    let gauge = reader.gauge(&args.shared, check::pad_gauge(policy));
    let result = match (&inner, &outer) {
        (Some(inner), Some(outer)) => {
            let readings = PadReadings {
                inner: inner.clone(),
                outer: outer.clone(),
            };
            reader.problems.take(pads(&readings, &gauge))
        }
        _ => None,
    };
    let result = reader.problems.finish(result)?;
    let cautions = Vec::from_iter(zero_caution(given, &gauge, policy));
    let bench = Bench {
        cautions: &cautions,
        ..given.bench(policy)
    };
    let thickness = check::pads(&result, &bench);
    let difference = check::pads_inner_outer(&result, &bench);
    let method = format!("{METHOD}; {}", gauge_words(&gauge));
    let mut answer = Answer::judged("pads", method, &[&thickness, &difference]);
    answer.row(
        "thinnest",
        format!(
            "{} (inner {}, outer {})",
            mm(result.min, 2),
            mm(result.inner_min, 2),
            mm(result.outer_min, 2)
        ),
    );
    common(&mut answer, given, result.min);
    answer.sure(&thickness);
    if let Some(taper) = result.taper {
        answer.row("taper", format!("{} leading minus trailing", mm(taper, 2)));
    }
    answer.row("inner - outer", mm(result.inner_outer, 2));
    answer.json = pad_fields(&result, given);
    extend(&mut answer.json, sure_fields(&thickness));
    answer
        .notes
        .extend(above_new(given, inner.iter().chain(&outer).flatten()));
    Ok(answer)
}

fn of_lining(
    args: &Args,
    mut reader: Reader<'_>,
    given: &Given,
    text: &str,
    policy: &Policy,
) -> Result<Answer, CheckError> {
    let values = readings(&mut reader, "--lining", Some(text), given);
    let gauge: Gauge = reader.gauge(&args.shared, check::pad_gauge(policy));
    let result = match &values {
        Some(values) => reader.problems.take(lining(values, &gauge)),
        None => None,
    };
    let result: Friction = reader.problems.finish(result)?;
    let cautions = Vec::from_iter(zero_caution(given, &gauge, policy));
    let bench = Bench {
        cautions: &cautions,
        ..given.bench(policy)
    };
    let finding = check::lining(&result, &bench);
    let method = format!("{METHOD}; {}", gauge_words(&gauge));
    let mut answer = Answer::judged("lining", method, &[&finding]);
    answer.row("thinnest", mm(result.min, 2));
    common(&mut answer, given, result.min);
    answer.sure(&finding);
    answer.json = json!({
        "min_mm": result.min.mm(),
        "taper_mm": result.taper.map(Length::mm),
        "inner_outer_mm": null,
        "wear_fraction": worn(given, result.min).map(|w| w.wear_fraction),
        "left_mm": given.limit.map(|limit| (result.min - limit).mm()),
        "u_mm": result.u.mm(),
    });
    extend(&mut answer.json, sure_fields(&finding));
    answer
        .notes
        .extend(above_new(given, values.iter().flatten()));
    Ok(answer)
}

fn worn(given: &Given, min: Length) -> Option<Wear> {
    wear_used(given.nominal?, given.limit?, min).ok()
}

fn common(answer: &mut Answer, given: &Given, min: Length) {
    if let Some(limit) = given.limit {
        let left = mm(min - limit, 2);
        answer.row("limit", format!("at least {}; left {left}", mm(limit, 2)));
    }
    if let Some(wear) = worn(given, min) {
        let percent = wear.wear_fraction * 100.0;
        answer.row(
            "worn",
            format!("{}, {percent:.1} % of what may wear", mm(wear.wear, 2)),
        );
    }
}

fn pad_fields(result: &Pads, given: &Given) -> serde_json::Value {
    json!({
        "min_mm": result.min.mm(),
        "inner_min_mm": result.inner_min.mm(),
        "outer_min_mm": result.outer_min.mm(),
        "taper_mm": result.taper.map(Length::mm),
        "inner_outer_mm": result.inner_outer.mm(),
        "wear_fraction": worn(given, result.min).map(|w| w.wear_fraction),
        "left_mm": given.limit.map(|limit| (result.min - limit).mm()),
        "u_mm": result.u.mm(),
    })
}

/// A pad thicker than new was perhaps read with its backing plate.
fn above_new<'r>(given: &Given, readings: impl Iterator<Item = &'r Length>) -> Option<String> {
    let new = given.nominal?;
    let thickest = *readings.max()?;
    let above = thickest > new + crate::measure::slips::ABOVE_NEW_ALLOWED;
    above.then(|| {
        format!("{thickest} is thicker than new ({new}): was the backing plate measured too?")
    })
}
