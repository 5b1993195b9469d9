//! `verdict`: judge a job from its readings.

use comfy_table::{ContentArrangement, Table, presets};

use super::error::{Exit, Failure};
use super::open::{JobFile, style};
use super::style::Style;
use super::{Globals, World};
use crate::job::{Item, Phase};
use crate::judge::{self, Finding, Judgement, PlaceJudgement, Urgency, Verdict};

/// Judge a job: PASS, ADVISE or FAIL for every item, with its reason
///
/// Exit code 0 when the vehicle leaves with PASS, 1 when with anything else.
#[derive(Debug, clap::Args)]
#[command(after_help = "Example:\n  brakecorner verdict HWY-0411")]
pub(super) struct Args {
    /// Job number
    job: String,
}

pub(super) fn run(args: &Args, globals: &Globals, world: &mut World<'_>) -> Result<Exit, Failure> {
    let file = JobFile::read(globals, world, &args.job)?;
    let judgement = judge::judge(&file.case());
    if globals.json {
        writeln!(world.out, "{:#}", serde_json::to_value(&judgement)?)?;
    } else {
        let text = render(&judgement, style(globals, world));
        world.out.write_all(text.as_bytes())?;
    }
    Ok(exit(judgement.verdict))
}

/// The exit code of a verdict.
pub(super) fn exit(verdict: Verdict) -> Exit {
    if verdict == Verdict::Pass {
        Exit::Good
    } else {
        Exit::NotGood
    }
}

/// The findings as a table a place and the reasons below.
pub(super) fn render(judgement: &Judgement, style: Style) -> String {
    let mut out = String::new();
    for (corner, judged) in &judgement.corners {
        section(&mut out, &corner.to_string(), judged, style);
    }
    for (axle, judged) in &judgement.axles {
        section(&mut out, &format!("{axle} axle"), judged, style);
    }
    section(&mut out, "vehicle", &judgement.vehicle, style);
    out.push_str(&format!(
        "{}: as found {}, as left {}\n",
        style.text(&judgement.job),
        style.overall(judgement.as_found),
        style.overall(judgement.as_left)
    ));
    out
}

fn section(out: &mut String, name: &str, judged: &PlaceJudgement, style: Style) {
    if judged.items.is_empty() {
        return;
    }
    out.push_str(&format!("{name}  {}\n", style.overall(judged.verdict)));
    let mut table = Table::new();
    table
        .load_style(presets::NOTHING)
        .set_content_arrangement(ContentArrangement::Disabled);
    let sound: Vec<&str> = judged
        .items
        .iter()
        .filter(|f| is_plain_pass(f))
        .map(|f| f.item.id())
        .collect();
    for finding in judged.items.iter().filter(|f| !is_plain_pass(f)) {
        table.add_row(row(finding, style));
    }
    if table.row_count() > 0 {
        out.push_str(&table.to_string());
        out.push('\n');
    }
    for line in wrapped("  sound: ", &sound) {
        out.push_str(&line);
        out.push('\n');
    }
    let reasons = judged
        .items
        .iter()
        .filter(|f| !is_plain_pass(f) && needs_reason(f));
    for finding in reasons {
        out.push_str(&format!("  > {}\n", style.text(&finding.sentence)));
        for reason in finding.reasons.iter().skip(1) {
            out.push_str(&format!("    also: {}\n", style.text(reason)));
        }
    }
    out.push('\n');
}

/// A look that passed says nothing a list of names does not say.
fn is_plain_pass(finding: &Finding) -> bool {
    finding.verdict == judge::ItemVerdict::Pass && finding.value.is_none()
}

fn needs_reason(finding: &Finding) -> bool {
    finding.verdict != judge::ItemVerdict::Pass
}

fn row(finding: &Finding, style: Style) -> Vec<String> {
    let phase = if finding.phase == Phase::AsLeft {
        "left"
    } else {
        "found"
    };
    let number = |value: f64| match finding.item {
        Item::AxleImbalance | Item::ServiceEfficiency | Item::ParkingEfficiency => {
            format!("{value:.2}")
        }
        Item::FluidBoiling => format!("{value:.0}"),
        Item::DiscVariation | Item::DiscRunout | Item::DiscThickness => format!("{value:.4}"),
        _ => format!("{value:.3}"),
    };
    let value = finding.value.map_or(String::new(), |v| {
        style.text(&format!("{} {}", number(v.number()), v.unit()))
    });
    let limit = finding
        .limit
        .map_or(String::new(), |l| format!("limit {}", number(l.number())));
    let sure = finding
        .conformance_probability
        .map_or(String::new(), |p| format!("p {p:.3}"));
    let urgency = finding
        .urgency
        .as_ref()
        .map_or(String::new(), Urgency::to_string);
    let verdict = style.verdict(finding.verdict);
    vec![
        format!(" {}", finding.item),
        phase.to_owned(),
        value,
        limit,
        sure,
        verdict,
        urgency,
    ]
}

/// Words joined by blanks, broken before column 78.
fn wrapped(lead: &str, words: &[&str]) -> Vec<String> {
    let mut lines: Vec<String> = Vec::new();
    for word in words {
        match lines.last_mut() {
            Some(line) if line.len() + 1 + word.len() <= 78 => {
                line.push(' ');
                line.push_str(word);
            }
            Some(_) => lines.push(format!("{}{word}", " ".repeat(lead.len()))),
            None => lines.push(format!("{lead}{word}")),
        }
    }
    lines
}
