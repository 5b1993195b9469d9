//! `check study`.

use std::io::BufRead;

use serde_json::{Value, json};

use super::error::CheckError;
use super::input::{Reader, Shared, words};
use super::report::Answer;
use crate::cli::instrument::study::zeroed;
use crate::cli::style::counted;
use crate::measure::study::{Spread, study};
use crate::units::Length;

const METHOD: &str = "two-way crossed analysis of variance with interaction, which is pooled when \
    its F has p > 0.25; exact and modified large-sample 95 % intervals";

const EXAMPLE: &str = "Example, three parts measured twice by two people:\n\
\x20 brakecorner check study --part \"0.010 0.012 / 0.020 0.018\" \\\n\
\x20   --part \"0.030 0.031 / 0.033 0.036\" --part \"0.050 0.049 / 0.048 0.051\"\n\
\n\
has a repeatability of 1.53 µm, a reproducibility of 3.49 µm and a part spread\n\
of 17.13 µm.";

/// Find how well a gauge and its people repeat
///
/// One --part for each part: what the first person read, a slash, what the second read, and so on;
/// every person reads every part equally often. With one person there is no slash and no
/// reproducibility. `instrument study` guides a blind one and keeps its result.
#[derive(Debug, clap::Args)]
#[command(after_help = EXAMPLE)]
pub(super) struct Args {
    /// Readings of one part, people separated by / (can be repeated)
    #[arg(
        long,
        value_name = "LENGTHS / …",
        required = true,
        allow_hyphen_values = true
    )]
    part: Vec<String>,
    #[command(flatten)]
    shared: Shared,
}

pub(super) fn answer(args: &Args, input: &mut dyn BufRead) -> Result<Answer, CheckError> {
    let mut reader = Reader::new(&args.shared, input);
    let mut parts: Vec<Vec<Vec<Length>>> = Vec::new();
    for text in &args.part {
        let Some(text) = reader.text("--part", text) else {
            continue;
        };
        let people = text.split('/');
        let cells: Vec<_> = people.map(|cell| cell_of(&mut reader, cell)).collect();
        parts.extend(cells.into_iter().collect::<Option<Vec<_>>>());
    }
    let result = if parts.len() == args.part.len() {
        reader.problems.take(study(&parts))
    } else {
        None
    };
    let result = reader.problems.finish(result)?;
    let (a, b, r) = result.shape;
    let mut answer = Answer::plain("repeat study", METHOD);
    let people = counted(b, "person", "people");
    answer.row("shape", format!("{a} parts × {people} × {r} readings"));
    answer.row("repeatability", words_of(&result.repeatability));
    if let Some(people) = &result.reproducibility {
        answer.row("between people", words_of(people));
    }
    answer.row("gauge", um(result.gauge));
    answer.row("parts", words_of(&result.parts));
    for (i, own) in result.per_person.iter().enumerate() {
        if b > 1 {
            answer.row(format!("person {}", i + 1), um(*own));
        }
    }
    answer.notes.extend(zeroed(&result));
    if result.repeatability.sd == Length::ZERO {
        answer.notes.push(
            "every repeat was the same: the display's step hides the spread, which is not zero"
                .to_owned(),
        );
    }
    if result.parts.low <= result.gauge {
        answer.notes.push(format!(
            "the parts differ by hardly more than the gauge spreads ({}): take parts further apart",
            um(result.gauge)
        ));
    }
    answer.json = json!({
        "parts": a, "people": b, "repeats": r,
        "repeatability": spread(&result.repeatability),
        "repeatability_dof": result.repeatability_dof,
        "reproducibility": result.reproducibility.as_ref().map(spread),
        "gauge_um": result.gauge.um(),
        "part_spread": spread(&result.parts),
        "per_person_um": result.per_person.iter().map(|own| own.um()).collect::<Vec<_>>(),
        "interaction_pooled": result.pooled,
        "people_set_to_zero": result.people_set_to_zero,
        "parts_set_to_zero": result.parts_set_to_zero,
    });
    answer.notes.extend(args.shared.idle(&[]));
    Ok(answer)
}

/// What one person read of one part.
fn cell_of(reader: &mut Reader<'_>, text: &str) -> Option<Vec<Length>> {
    if words(text).is_empty() {
        reader.problems.push(CheckError::Form {
            option: "--part",
            text: text.trim().to_owned(),
            form: "readings of one person; between two slashes there is none",
        });
        return None;
    }
    reader.lengths("--part", text)
}

fn um(length: Length) -> String {
    format!("{:.2} µm", length.um())
}

fn words_of(spread: &Spread) -> String {
    let (low, high) = (spread.low.um(), spread.high.um());
    format!("{} (95 %: {low:.2} to {high:.2} µm)", um(spread.sd))
}

fn spread(spread: &Spread) -> Value {
    json!({"sd_um": spread.sd.um(), "low_um": spread.low.um(), "high_um": spread.high.um()})
}
