//! `check fluid`.

use serde_json::json;

use super::error::{CheckError, Problems};
use super::report::Answer;
use crate::judge::check;
use crate::judge::plausible::boiling_question;
use crate::measure::MeasureError;
use crate::measure::fluid::Grade;
use crate::spec::{Policy, RulePack, builtin_rule_packs, fluid_limits};
use crate::units::Temperature;

const METHOD: &str = "boiling point compared directly with the wet minimum of its grade, and with \
    the middle of wet and dry";

const EXAMPLE: &str = "Example:\n\
\x20 brakecorner check fluid --grade DOT4 --boiling 171\n\
\n\
is above the wet minimum of 155 °C but below 192.5 °C, midway to the dry minimum\n\
of 230 °C: ADVISE.";

/// Judge the boiling point of brake fluid against its grade
///
/// Moisture in percent is only an indicator; the boiling point counts.
#[derive(Debug, clap::Args)]
#[command(
    after_help = EXAMPLE
)]
pub(super) struct Args {
    /// Grade: DOT3, DOT4, DOT5 or DOT5.1
    #[arg(long, value_name = "GRADE")]
    grade: String,
    /// Measured boiling point, °C unless it says F
    #[arg(long, value_name = "TEMPERATURE", allow_hyphen_values = true)]
    boiling: String,
}

pub(super) fn answer(args: &Args) -> Result<Answer, CheckError> {
    let policy = Policy::builtin();
    let mut problems = Problems::default();
    let grade = problems.take(args.grade.parse::<Grade>());
    let boiling = Temperature::parse(&args.boiling).map_err(|why| CheckError::Value {
        option: "--boiling",
        why,
    });
    let boiling = problems.take(boiling);
    let bare = args.boiling.trim().ends_with(|c: char| c.is_ascii_digit());
    if let Some(boiling) = boiling {
        // 310 without a unit may be a tester set to °F, and 310 °F is no fluid to drive with.
        let question = boiling_question(boiling).filter(|_| bare && boiling.celsius() > 300.0);
        if let Some(question) = question {
            problems.push(CheckError::UnitNeeded {
                option: "--boiling",
                question,
            });
        }
        let celsius = boiling.celsius();
        // Water boils at 100 °C; no fluid that is one boils below, and none above 400 °C.
        problems.check((50.0..=400.0).contains(&celsius), || {
            MeasureError::OutOfRange {
                what: "boiling point",
                value: celsius,
                low: 50.0,
                high: 400.0,
                unit: "°C",
            }
            .into()
        });
    }
    let (grade, boiling) = problems.finish(grade.zip(boiling))?;
    let packs: Vec<RulePack> = builtin_rule_packs()
        .iter()
        .filter(|(file, _)| *file == "brake-fluid.toml")
        .filter_map(|(file, text)| RulePack::parse(text, file).ok())
        .collect();
    let Some(limits) = fluid_limits(&packs, &grade.to_string()) else {
        return Err(CheckError::Unknown {
            what: "grade of brake fluid",
            name: grade.to_string(),
            known: "DOT3, DOT4, DOT5, DOT5.1".to_owned(),
        });
    };
    let finding = check::fluid(boiling, &limits, &packs, &policy);
    let mut answer = Answer::judged("brake fluid", METHOD, &[&finding]);
    answer.row("boils at", boiling.to_string());
    answer.row(
        "limit",
        format!(
            "at least {} in use ({})",
            limits.wet.value, finding.limit_source
        ),
    );
    answer.row(
        "new",
        format!("at least {}; midway {}", limits.dry.value, grade.midway()),
    );
    answer.json = json!({
        "grade": grade,
        "boiling_c": boiling.celsius(),
        "dry_min_c": limits.dry.value.celsius(),
        "wet_min_c": limits.wet.value.celsius(),
        "midway_c": grade.midway().celsius(),
    });
    Ok(answer)
}
