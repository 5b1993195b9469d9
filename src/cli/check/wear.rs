//! `check wear`.

use std::io::BufRead;

use serde_json::json;

use super::error::CheckError;
use super::input::{Reader, Shared, words};
use super::report::{Answer, extend, mm, sure_fields};
use crate::judge::ItemVerdict;
use crate::judge::check;
use crate::measure::MeasureError;
use crate::measure::slips::ABOVE_NEW_ALLOWED;
use crate::measure::uncertainty::{Budget, Contribution, Distribution, Gauge};
use crate::measure::wear::{Forecast, NoForecast, Visit, forecast, forecast_one_visit};
use crate::spec::Policy;
use crate::units::{Distance, DistanceUnit, Length};

const METHOD: &str = "straight line through the visits, one-sided 90 % lower bound by inverse \
    prediction (Fieller), divided by 1.25 for a change of pace";
const ONE_VISIT: &str = "wear since fitting over the distance since, one-sided 90 % lower bound, \
    divided by 1.25 for a change of pace";

const EXAMPLE: &str = "Example:\n\
\x20 brakecorner check wear --visits \"61050:5.6 72480:4.3 84120:2.9\" --limit 2.0 \\\n\
\x20   --mpe 0.1 --resolution 0.1 --repeatability 0.05\n\
\n\
wears 0.11705 mm per 1000 km; the middle is 7796 km, but plan by 5337 km.";

/// Forecast how far a part may still go
///
/// One word a visit: odometer, colon, thinnest place; `:new` after it marks newly fitted parts. The
/// planning figure is the lower bound, never the middle. With one visit, --fitted-at and --nominal
/// say where the wear began. Exit code 1 when no forecast can be made.
#[derive(Debug, clap::Args)]
#[command(
    after_help = EXAMPLE
)]
pub(super) struct Args {
    /// Visits in the order they happened; `-` = standard input
    #[arg(long, value_name = "ODOMETER:LENGTH …", allow_hyphen_values = true)]
    visits: String,
    /// Unit of odometer readings: km or mi
    #[arg(long, value_name = "UNIT", default_value = "km")]
    distance_unit: String,
    /// Odometer at which the parts of a single visit were fitted; needs --nominal
    #[arg(long, value_name = "ODOMETER", requires = "nominal")]
    fitted_at: Option<String>,
    /// Standard uncertainty of the new size [default: 0.3 mm]
    #[arg(long, value_name = "LENGTH")]
    nominal_uncertainty: Option<String>,
    /// Distance to the next service [default: 15000 km]
    #[arg(long, value_name = "DISTANCE")]
    service: Option<String>,
    #[command(flatten)]
    shared: Shared,
}

/// The options, read.
struct Asked {
    visits: Vec<Visit>,
    fitted: Option<(Distance, Length, Length)>,
    limit: Option<Length>,
    u: Length,
    service: Distance,
    /// The clock's unit.
    unit: DistanceUnit,
}

pub(super) fn answer(args: &Args, input: &mut dyn BufRead) -> Result<Answer, CheckError> {
    let policy = Policy::builtin();
    let mut reader = Reader::new(&args.shared, input);
    let given = reader.given(&args.shared);
    reader.limit_against_new(&given, true);
    let asked = read(args, &mut reader, &policy, given.limit, given.nominal);
    let pace = policy.forecast_pace.value;
    let outlook = asked
        .as_ref()
        .map(|asked| Ok(outlook(asked)?.at_another_pace(pace.share())));
    if let Some(Err(why)) = &outlook {
        bad_input(&mut reader, why);
    }
    let asked = reader.problems.finish(asked)?;
    let outlook = outlook.unwrap_or(Err(NoForecast::NoReading));
    let bench = given.bench(&policy);
    let last = asked.visits.last();
    let (odometer, now) = last.map_or_else(Default::default, |v| (v.odometer, v.thickness));
    let known = outlook.as_ref().ok().filter(|_| asked.limit.is_some());
    let finding = check::wear((now, asked.u), known, odometer, asked.service, &bench);
    let method = if asked.fitted.is_some() {
        ONE_VISIT
    } else {
        METHOD
    };
    let mut answer = Answer::judged("wear", method, &[&finding]);
    let left = asked.limit.map(|limit| now - limit);
    answer.row("now", mm(now, 2));
    if let (Some(limit), Some(left)) = (asked.limit, left) {
        answer.row(
            "limit",
            format!("at least {}; left {}", mm(limit, 2), mm(left, 2)),
        );
    }
    answer.sure(&finding);
    answer.json = json!({
        "rate_mm_per_1000km": outlook.as_ref().ok().map(|f| f.rate_mm_per_1000km),
        "left_mm": left.map(Length::mm),
        "distance_left_km": known.map(|f| whole_km(f.distance_left)),
        "distance_left_lower_km": known.map(|f| whole_km(f.distance_left_lower)),
        "method": outlook.as_ref().ok().map(|f| check::method_words(f.method)),
        "visits": outlook.as_ref().ok().map(|f| f.visits),
        "u_mm": asked.u.mm(),
        "refused": outlook.as_ref().err().map(ToString::to_string),
    });
    extend(&mut answer.json, sure_fields(&finding));
    match &outlook {
        Ok(forecast) => describe(
            &mut answer,
            forecast,
            (odometer, asked.unit),
            known.is_some(),
        ),
        Err(why) => refuse(&mut answer, why),
    }
    answer.notes.extend(args.shared.idle(&["limit", "nominal"]));
    Ok(answer)
}

fn read(
    args: &Args,
    reader: &mut Reader<'_>,
    policy: &Policy,
    limit: Option<Length>,
    nominal: Option<Length>,
) -> Option<Asked> {
    let unit = args.distance_unit.parse().map_err(|why| CheckError::Value {
        option: "--distance-unit",
        why,
    });
    let unit = reader.problems.take(unit).unwrap_or_default();
    let visits = visits(reader, &args.visits, unit);
    let gauge = reader.gauge(&args.shared, check::pad_gauge(policy));
    let u = reader
        .problems
        .take(gauge.validate())
        .map(|()| standard_uncertainty(&gauge));
    let fitted_at = distance(reader, "--fitted-at", args.fitted_at.as_deref(), unit);
    let u_new = reader.positive("--nominal-uncertainty", args.nominal_uncertainty.as_deref());
    let service = distance(reader, "--service", args.service.as_deref(), unit);
    if let Some(service) = service {
        reader
            .problems
            .check(service > Distance::ZERO, || CheckError::Form {
                option: "--service",
                text: args.service.clone().unwrap_or_default(),
                form: "a distance ahead, such as 15000",
            });
    }
    if let (Some(visits), Some(new)) = (&visits, nominal) {
        for visit in visits {
            let above = visit.thickness > new + ABOVE_NEW_ALLOWED;
            let question = above.then(|| {
                let (thickness, new) = (mm(visit.thickness, 2), mm(new, 2));
                format!(
                    "{thickness} is thicker than the new part, {new}; is a decimal mark missing?"
                )
            });
            reader.ask("--visits", question);
        }
    }
    Some(Asked {
        visits: visits?,
        fitted: fitted_at
            .zip(nominal)
            .map(|(at, new)| (at, new, u_new.unwrap_or(policy.pads_new_uncertainty.value))),
        limit,
        u: u?,
        service: service.unwrap_or(policy.service_distance.value),
        unit,
    })
}

/// `a/√3 ⊕ s ⊕ d/√12`, as for a single thickness reading.
fn standard_uncertainty(gauge: &Gauge) -> Length {
    let line = |value: Length, kind| Contribution::new("", value.mm(), kind, 1.0, None);
    let budget = Budget {
        contributions: vec![
            line(gauge.mpe, Distribution::Rectangular),
            line(gauge.repeatability, Distribution::Normal),
            line(gauge.resolution, Distribution::Resolution),
        ],
    };
    budget.combined()
}

fn distance(
    reader: &mut Reader<'_>,
    option: &'static str,
    text: Option<&str>,
    unit: DistanceUnit,
) -> Option<Distance> {
    let read = Distance::parse(text?, unit).map_err(|why| CheckError::Value { option, why });
    reader.problems.take(read)
}

fn visits(reader: &mut Reader<'_>, text: &str, unit: DistanceUnit) -> Option<Vec<Visit>> {
    let text = reader.text("--visits", text)?;
    let words = words(&text);
    let visits: Vec<Visit> = words
        .iter()
        .filter_map(|word| visit(reader, word, unit))
        .collect();
    (visits.len() == words.len()).then_some(visits)
}

fn visit(reader: &mut Reader<'_>, word: &str, unit: DistanceUnit) -> Option<Visit> {
    let mut parts = word.split(':');
    let (odometer, thickness, mark) = (parts.next(), parts.next(), parts.next());
    let new_parts = mark == Some("new");
    let formed = thickness.is_some() && (mark.is_none() || new_parts) && parts.next().is_none();
    reader.problems.check(formed, || CheckError::Form {
        option: "--visits",
        text: word.to_owned(),
        form: "ODOMETER:LENGTH or ODOMETER:LENGTH:new, such as 61050:5.6",
    });
    if !formed {
        return None;
    }
    let odometer = distance(reader, "--visits", odometer, unit);
    let thickness = reader.one_reading("--visits", thickness?);
    let thickness = thickness.filter(|&value| {
        reader.problems.check(value >= Length::ZERO, || {
            let what = format!("thickness of visit `{word}`");
            MeasureError::Negative { what, value }.into()
        });
        value >= Length::ZERO
    });
    Some(Visit {
        odometer: odometer?,
        thickness: thickness?,
        u: None,
        new_parts,
    })
}

fn outlook(asked: &Asked) -> Result<Forecast, NoForecast> {
    // Without a limit the rate is still an answer; it does not depend on the limit.
    let limit = asked.limit.unwrap_or_default();
    match (asked.fitted, asked.visits.as_slice()) {
        (Some((at, new, u_new)), [visit]) => {
            forecast_one_visit(at, new, u_new, visit, limit, asked.u)
        }
        _ => forecast(&asked.visits, limit, asked.u),
    }
}

/// A number that cannot be is no refusal but bad input.
fn bad_input(reader: &mut Reader<'_>, why: &NoForecast) {
    match why {
        NoForecast::Negative { what, value } => {
            let (what, value) = ((*what).to_owned(), *value);
            reader.problems.push(MeasureError::Negative { what, value });
        }
        NoForecast::NotPositive { what, value } => {
            let (what, value) = ((*what).to_owned(), *value);
            reader
                .problems
                .push(MeasureError::NotPositive { what, value });
        }
        NoForecast::NoReading => reader.problems.push(MeasureError::TooFew {
            what: "visits",
            found: 0,
            needed: 1,
        }),
        NoForecast::Several(all) => all.iter().for_each(|one| bad_input(reader, one)),
        _ => {}
    }
}

fn describe(
    answer: &mut Answer,
    forecast: &Forecast,
    (odometer, unit): (Distance, DistanceUnit),
    limit_known: bool,
) {
    answer.row(
        "rate",
        format!("{:.5} mm per 1000 km", forecast.rate_mm_per_1000km),
    );
    if limit_known {
        let (lower, middle) = (forecast.distance_left_lower, forecast.distance_left);
        answer.row(
            "plan by",
            format!(
                "{} left at the least (90 %), odometer {}",
                shown(lower, unit),
                shown(odometer + lower, unit)
            ),
        );
        answer.row(
            "middle",
            format!("{}, not for planning", shown(middle, unit)),
        );
    }
    answer.row("evidence", check::method_words(forecast.method));
    if forecast.accelerating {
        answer
            .notes
            .push("the newest stretch wears much faster than before: does it drag?".to_owned());
    }
}

/// No forecast: the question is not answered, though a part beyond its limit still fails.
fn refuse(answer: &mut Answer, why: &NoForecast) {
    answer.good = false;
    answer.reasons.push(why.to_string());
    if answer.verdict != Some(ItemVerdict::Fail) {
        answer.verdict = Some(ItemVerdict::NotInspected);
    }
    if matches!(why, NoForecast::StartUnknown) {
        answer
            .notes
            .push("add earlier visits, or --fitted-at and --nominal".to_owned());
    }
}

/// A distance in the unit of the vehicle's clock, rounded down.
fn shown(distance: Distance, unit: DistanceUnit) -> String {
    let km = whole_km(distance);
    match unit {
        DistanceUnit::Kilometre => format!("{km} km"),
        DistanceUnit::Mile => format!("{} mi ({km} km)", distance.mm().div_euclid(unit.mm())),
    }
}

const fn whole_km(distance: Distance) -> i64 {
    distance.mm().div_euclid(1_000_000)
}
