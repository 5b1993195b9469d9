//! `check shim`.

use std::io::BufRead;

use serde_json::{Value, json};

use super::error::CheckError;
use super::input::{Reader, Shared};
use super::report::{Answer, gauge_words, mm};
use super::ring::RingArgs;
use crate::judge::check;
use crate::measure::MeasureError;
use crate::measure::runout::{RunoutRing, runout};
use crate::measure::shim::{Face, IdealShim, Shim, ShimChoice, ShimSetup, ideal, shim};
use crate::measure::uncertainty::Gauge;
use crate::spec::Policy;
use crate::units::{Angle, Length};

const METHOD: &str = "taper = run-out · flange / measured diameter; sizes and bolt holes searched \
    together for the smallest run-out left";

const EXAMPLE: &str = "Example:\n\
\x20 brakecorner check shim --tir 0.10 --high-spot 0 --diameter 280 --flange 150 \\\n\
\x20   --holes 5 --sizes \"0.04 0.05 0.06\"\n\
\n\
needs a taper of 0.0536 mm, 1.23 minutes of arc, its thick edge at 180°.";

/// Find the tapered correction plate for an assembled run-out
///
/// Only where the vehicle's maker permits one, and one a hub. Give the assembled ring, or its
/// run-out and high spot.
#[derive(Debug, clap::Args)]
#[command(
    after_help = EXAMPLE
)]
pub(super) struct Args {
    /// Dial readings of the assembled ring; `-` = standard input
    #[arg(long, value_name = "LENGTHS", allow_hyphen_values = true, conflicts_with_all = ["tir", "high_spot"], required_unless_present = "tir")]
    readings: Option<String>,
    /// Run-out of the assembled tilt, instead of readings
    #[arg(
        long,
        value_name = "LENGTH",
        allow_hyphen_values = true,
        requires = "high_spot"
    )]
    tir: Option<String>,
    /// Its high spot from stud 1
    #[arg(
        long,
        value_name = "DEGREES",
        allow_hyphen_values = true,
        requires = "tir"
    )]
    high_spot: Option<String>,
    /// Diameter the stylus ran on
    #[arg(long, value_name = "LENGTH", allow_hyphen_values = true)]
    diameter: String,
    /// Diameter of the flange the plate lies on
    #[arg(long, value_name = "LENGTH", allow_hyphen_values = true)]
    flange: String,
    /// Thickness differences the plates come in; `-` = standard input
    #[arg(
        long,
        value_name = "LENGTHS",
        allow_hyphen_values = true,
        requires = "holes"
    )]
    sizes: Option<String>,
    /// Bolt holes
    #[arg(long, value_name = "N")]
    holes: Option<u8>,
    /// Face the stylus ran on
    #[arg(long, value_enum, default_value_t)]
    face: FaceArg,
    #[command(flatten)]
    ring: RingArgs,
    #[command(flatten)]
    shared: Shared,
}

/// A face, as an option.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, clap::ValueEnum)]
enum FaceArg {
    /// The wheel's side.
    #[default]
    Outboard,
    /// The vehicle's side.
    Inboard,
}

/// What the run-out is.
struct Tilt {
    ring: RunoutRing,
    tir: Length,
    high_spot: Angle,
    measured: bool,
}

pub(super) fn answer(args: &Args, input: &mut dyn BufRead) -> Result<Answer, CheckError> {
    let policy = Policy::builtin();
    let mut reader = Reader::new(&args.shared, input);
    let face = match args.face {
        FaceArg::Outboard => Face::Outboard,
        FaceArg::Inboard => Face::Inboard,
    };
    let given = reader.given(&args.shared);
    let mut notes = Vec::new();
    let options = args.ring.read(&mut reader);
    let readings = reader.maybe_lengths("--readings", args.readings.as_deref());
    let gauge = reader.gauge(&args.shared, check::fine_gauge(&policy));
    let tilt = match readings {
        Some(readings) => {
            let (ring, mut more) = options.ring(&mut reader, readings);
            notes.append(&mut more);
            measured(&mut reader, ring, &gauge)
        }
        None => stated(args, &mut reader),
    };
    let diameter = reader.length("--diameter", Some(&args.diameter));
    let flange = reader.length("--flange", Some(&args.flange));
    let sizes = reader.maybe_lengths("--sizes", args.sizes.as_deref());
    let (plate, found) = match (&tilt, diameter, flange) {
        (Some(tilt), Some(diameter), Some(flange)) => {
            let plate = ideal(tilt.tir, tilt.high_spot, diameter, flange, face);
            let plate = reader.problems.take(plate);
            let setup = sizes.zip(args.holes).map(|(sizes, holes)| ShimSetup {
                holes,
                measured_diameter: diameter,
                plate_diameter: flange,
                sizes,
                face,
            });
            // Diameters are checked by both; the search only when the ideal plate exists.
            let found = setup
                .filter(|_| plate.is_some())
                .and_then(|setup| reader.problems.take(shim(&tilt.ring, &setup, &gauge)));
            (plate, found)
        }
        _ => (None, None),
    };
    let plate = reader.problems.finish(plate)?;
    let measured = tilt.as_ref().is_some_and(|tilt| tilt.measured);
    let method = if measured {
        format!("{METHOD}; {}", gauge_words(&gauge))
    } else {
        METHOD.to_owned()
    };
    let mut answer = Answer::plain("correction plate", method);
    if let Some(tilt) = &tilt {
        let high = tilt.high_spot.degrees();
        answer.row(
            "run-out",
            format!("{}, high spot {high:.1}°", mm(tilt.tir, 4)),
        );
    }
    describe(&mut answer, &plate, found.as_ref());
    answer.json = fields(&plate, found.as_ref(), measured);
    if let (Some(found), Some(_)) = (&found, given.limit)
        && let Some(best) = found.best
        && measured
    {
        let finding = check::predicted_runout(best.residual, found.u, &given.bench(&policy));
        answer.verdict = Some(finding.verdict);
        answer.reasons.extend(finding.reasons.iter().cloned());
    }
    if found.as_ref().is_some_and(|found| found.best.is_none()) {
        answer.good = false;
        answer
            .reasons
            .push("no plate of these sizes is better than none".to_owned());
    }
    answer.notes = notes;
    answer
        .notes
        .push("only where the vehicle's maker permits it, and one plate a hub".to_owned());
    let used: &[&str] = if measured {
        &["limit", "complaint judder"]
    } else {
        &[]
    };
    answer.notes.extend(args.shared.idle(used));
    Ok(answer)
}

fn measured(reader: &mut Reader<'_>, ring: RunoutRing, gauge: &Gauge) -> Option<Tilt> {
    let result = reader.problems.take(runout(&ring, gauge))?;
    let fit = result.fit?;
    Some(Tilt {
        tir: fit.peak_to_peak,
        high_spot: fit.high_spot,
        measured: true,
        ring,
    })
}

/// A run-out that was stated and not measured here: the ring that such a tilt would show.
fn stated(args: &Args, reader: &mut Reader<'_>) -> Option<Tilt> {
    let tir = reader.length("--tir", args.tir.as_deref());
    let high_spot = reader.angle("--high-spot", args.high_spot.as_deref());
    let (tir, high_spot) = tir.zip(high_spot)?;
    if tir < Length::ZERO {
        let what = "--tir".to_owned();
        reader
            .problems
            .push(MeasureError::Negative { what, value: tir });
        return None;
    }
    let points = (0..8i32).filter_map(|i| {
        let angle = (f64::from(i) * 45.0 - high_spot.degrees()).to_radians();
        Length::from_mm(0.5 * tir.mm() * libm::cos(angle))
    });
    Some(Tilt {
        ring: RunoutRing {
            points: points.collect(),
            ..RunoutRing::default()
        },
        tir,
        high_spot: high_spot.wrapped(),
        measured: false,
    })
}

fn describe(answer: &mut Answer, plate: &IdealShim, found: Option<&Shim>) {
    answer.row(
        "ideal plate",
        format!(
            "taper {} ({:.2} minutes of arc), thick edge at {:.1}°",
            mm(plate.taper, 4),
            plate.arc_minutes,
            plate.thick_at.degrees()
        ),
    );
    let Some(found) = found else { return };
    for choice in &found.choices {
        let mark = if found.best.as_ref() == Some(choice) {
            "  <- best"
        } else {
            ""
        };
        answer.row(
            mm(choice.size, 3),
            format!(
                "thick edge at stud {} leaves {}{mark}",
                choice.stud,
                mm(choice.residual, 4)
            ),
        );
    }
}

fn choice_fields(choice: &ShimChoice) -> Value {
    json!({
        "size_mm": choice.size.mm(),
        "hole": choice.stud,
        "residual_mm": choice.residual.mm(),
    })
}

fn fields(plate: &IdealShim, found: Option<&Shim>, measured: bool) -> Value {
    let choices: Vec<Value> = found
        .map(|found| found.choices.iter().map(choice_fields).collect())
        .unwrap_or_default();
    json!({
        "ideal": {
            "taper_mm": plate.taper.mm(),
            "thick_at_deg": plate.thick_at.degrees(),
            "arc_minutes": plate.arc_minutes,
        },
        "choices": choices,
        "best": found.and_then(|found| found.best).as_ref().map(choice_fields),
        "u_mm": found.filter(|_| measured).map(|found| found.u.mm()),
    })
}
