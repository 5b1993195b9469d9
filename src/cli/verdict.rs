//! `verdict`: judge a job from its readings.

use comfy_table::{ContentArrangement, Table, presets};

use super::error::{Exit, Failure, Hint as _};
use super::open::{JobFile, person, style};
use super::style::Style;
use super::{Globals, World, facts};
use crate::job::{Event, Item, Override, Phase, Place};
use crate::judge::{self, Cause, Finding, Judgement, PlaceJudgement, Urgency, Verdict, why};
use crate::office::{self, Drive};
use crate::sheet::chart::sparkline;
use crate::units::Length;

/// Judge a job: PASS, ADVISE or FAIL for every item, with its reason
///
/// Exit code 0 when the vehicle leaves with PASS, 1 when with anything else. `--why` explains one
/// verdict step by step, as found and as left, and ends with 0 when all it explained is PASS.
/// `--override` sets one aside: a more severe one with a reason, a less severe
/// one with a reason and a second person, and never below a maker's or a rule pack's limit.
#[derive(Debug, clap::Args)]
#[command(
    after_help = "Examples:\n  brakecorner verdict HWY-0411\n  brakecorner verdict HWY-0423 --why disc.thickness RR\n  brakecorner verdict HWY-0411 --override RL:hose --to FAIL --reason \"chafed nearly through\""
)]
pub(super) struct Args {
    /// Job number
    job: String,
    /// Explain this item's verdict: ITEM, and the corner, axle or `vehicle` when it is not the only one
    #[arg(long, num_args = 1..=2, value_names = ["ITEM", "PLACE"], conflicts_with = "over")]
    why: Vec<String>,
    /// Set a verdict aside: PLACE:ITEM, such as RL:hose
    #[arg(long = "override", value_name = "PLACE:ITEM", requires_all = ["to", "reason"])]
    over: Option<String>,
    /// The verdict to set: PASS, ADVISE or FAIL
    #[arg(long, value_parser = wanted, value_name = "VERDICT", requires = "over")]
    to: Option<Override>,
    /// Why
    #[arg(long, value_name = "WORDS", requires = "over")]
    reason: Option<String>,
    /// The second person who agrees; needed for a less severe verdict
    #[arg(long, value_name = "NAME", requires = "over")]
    second: Option<String>,
    /// The verdict as left after the work: the only one to explain, or the one to set
    #[arg(long)]
    as_left: bool,
}

fn wanted(text: &str) -> Result<Override, String> {
    serde_json::from_value(text.to_uppercase().into())
        .map_err(|_| "expected PASS, ADVISE or FAIL".to_owned())
}

pub(super) fn run(args: &Args, globals: &Globals, world: &mut World<'_>) -> Result<Exit, Failure> {
    if let Some(about) = &args.over {
        return run_override(args, about, globals, world);
    }
    let file = JobFile::read(globals, world, &args.job)?;
    let judgement = judge::judge(&file.case());
    if args.as_left && args.why.is_empty() {
        return Err(Failure::from("--as-left goes with --why or --override")
            .hint("without them both states are shown, as found and as left"));
    }
    if !args.why.is_empty() {
        return run_why(args, &file, &judgement, globals, world);
    }
    if globals.json {
        let mut value = answered(&file, &judgement)?;
        if let (Some((revision, reason)), Some(map)) = (file.unfinished(), value.as_object_mut()) {
            let said = serde_json::json!({"revision": revision, "reason": reason});
            map.insert("signed_unfinished".to_owned(), said);
        }
        writeln!(world.out, "{value:#}")?;
    } else {
        let style = style(globals, world);
        let drive = office::drive(&file.case(), &judgement, Phase::AsLeft);
        let text = render(&judgement, &drive, style);
        world.out.write_all(text.as_bytes())?;
        let missing = judgement.standing(Phase::AsLeft);
        let missing = missing.flat_map(|finding| finding.missing_facts());
        if let Some(how) = facts::how(&args.job, missing) {
            writeln!(world.err, "note: {}", style.text(&how))?;
        }
        if let Some((revision, reason)) = file.unfinished() {
            let reason = style.text(reason);
            writeln!(
                world.out,
                "revision {revision} was signed unfinished: {reason}"
            )?;
        }
    }
    Ok(exit(judgement.verdict))
}

/// The judgement and whether the vehicle may be driven, as one JSON answer.
fn answered(file: &JobFile, judgement: &Judgement) -> Result<serde_json::Value, Failure> {
    let mut value = serde_json::to_value(judgement)?;
    let drive = office::drive(&file.case(), judgement, Phase::AsLeft);
    if let Some(map) = value.as_object_mut() {
        map.insert("drive".to_owned(), serde_json::to_value(drive)?);
    }
    Ok(value)
}

/// Where an item was judged; the only place when none is named.
fn places(judgement: &Judgement, item: Item, named: Option<&String>) -> Result<Place, Failure> {
    let mut places: Vec<Place> = judgement
        .findings()
        .filter(|finding| finding.item == item)
        .map(|finding| finding.place)
        .collect();
    places.dedup();
    let list = places
        .iter()
        .map(Place::to_string)
        .collect::<Vec<_>>()
        .join(", ");
    if let Some(text) = named {
        let place: Place = text
            .parse()
            .hint("corners are FL FR RL RR; axles front and rear; or vehicle")?;
        if places.contains(&place) {
            return Ok(place);
        }
        let error = Failure::from(format!("`{item}` was not judged at `{place}` in this job"));
        return Err(if list.is_empty() {
            error.hint(
                "it is not scheduled for this brake at this depth, and nothing was entered for it",
            )
        } else {
            error.hint(format!("it was judged at: {list}"))
        });
    }
    match places.as_slice() {
        [] => Err(
            Failure::from(format!("`{item}` was not judged in this job")).hint(
                "it is not scheduled for this brake at this depth, and nothing was entered for it",
            ),
        ),
        [place] => Ok(*place),
        _ => Err(
            Failure::from(format!("`{item}` was judged at several places"))
                .hint(format!("name one of: {list}")),
        ),
    }
}

fn run_why(
    args: &Args,
    file: &JobFile,
    judgement: &Judgement,
    globals: &Globals,
    world: &mut World<'_>,
) -> Result<Exit, Failure> {
    let text = args.why.first().map_or("", String::as_str);
    let item: Item = text.parse().hint("for example: --why disc.thickness RR")?;
    let place = places(judgement, item, args.why.get(1))?;
    let mut explained = why::explain(&file.case(), judgement, place, item);
    // What was not measured again leaves as it was found.
    let again = explained.iter().any(|one| one.phase == Phase::AsLeft);
    let wanted = |phase: Phase| !(args.as_left && again) || phase == Phase::AsLeft;
    explained.retain(|explanation| wanted(explanation.phase));
    let worst = judge::worst(
        judgement
            .findings()
            .filter(|finding| (finding.place, finding.item) == (place, item))
            .filter(|finding| wanted(finding.phase))
            .map(|finding| finding.verdict),
    );
    if globals.json {
        writeln!(world.out, "{:#}", serde_json::to_value(&explained)?)?;
        return Ok(exit(worst));
    }
    let style = style(globals, world);
    for explanation in &explained {
        world
            .out
            .write_all(explain_text(explanation, style).as_bytes())?;
    }
    Ok(exit(worst))
}

fn explain_text(explanation: &why::Explanation, style: Style) -> String {
    let phase = if explanation.phase == Phase::AsLeft {
        "as left"
    } else {
        "as found"
    };
    let mut out = format!("{} {}, {phase}\n", explanation.place, explanation.item);
    out.push_str(&format!("  {}\n\n", style.text(&explanation.sentence)));
    for (number, step) in (1..).zip(&explanation.steps) {
        let head = format!("{number}. {}  ({})", step.title, step.method);
        out.push_str(&style.text(&head));
        out.push('\n');
        for line in &step.lines {
            out.push_str(&format!("   {}\n", style.text(line)));
        }
        if !step.rows.is_empty() {
            let mut table = Table::new();
            table
                .load_style(presets::NOTHING)
                .set_content_arrangement(ContentArrangement::Disabled);
            table.set_header(step.head.iter().map(|cell| style.text(cell)));
            for row in &step.rows {
                table.add_row(row.iter().map(|cell| style.text(cell)));
            }
            for line in table.to_string().lines() {
                out.push_str(&format!("  {}\n", line.trim_end()));
            }
        }
        out.push('\n');
    }
    out
}

/// Writes an override down, if it will stand.
fn run_override(
    args: &Args,
    about: &str,
    globals: &Globals,
    world: &mut World<'_>,
) -> Result<Exit, Failure> {
    let form = "as in --override RL:hose --to FAIL --reason \"chafed nearly through\"";
    let (place, item) = about
        .split_once(':')
        .ok_or_else(|| Failure::from(format!("`{about}` names no verdict")).hint(form))?;
    let place: Place = place.parse().hint(form)?;
    let item: Item = item.parse().hint(form)?;
    let by = person(globals, world)?;
    let (Some(verdict), Some(reason)) = (args.to, &args.reason) else {
        return Err(Failure::from("an override needs a verdict and a reason").hint(form));
    };
    let event = Event::Overridden {
        place,
        item,
        phase: if args.as_left {
            Phase::AsLeft
        } else {
            Phase::AsFound
        },
        verdict,
        reason: reason.trim().to_owned(),
        second_person: args.second.as_ref().map(|name| name.trim().to_owned()),
    };
    let (mut file, mut journal) = JobFile::write(globals, world, &args.job)?;
    file.judge_as_signed()?;
    tried(&file, &by, &event)?;
    file.append(&mut journal, world, &by, &[event])?;
    let judgement = judge::judge(&file.case());
    if globals.json {
        writeln!(world.out, "{:#}", answered(&file, &judgement)?)?;
    } else {
        let drive = office::drive(&file.case(), &judgement, Phase::AsLeft);
        let text = render(&judgement, &drive, style(globals, world));
        world.out.write_all(text.as_bytes())?;
    }
    Ok(exit(judgement.verdict))
}

/// Tries an override on a copy of the job: one that will not stand is not written.
fn tried(file: &JobFile, by: &str, event: &Event) -> Result<(), Failure> {
    let job = file.as_if_written(by, std::slice::from_ref(event));
    let judgement = judge::judge(&file.specs.case(&job, &file.register));
    let listed = judgement.overrides.last();
    match listed.and_then(|listed| listed.shown.as_ref()) {
        Some(shown) if shown.stands => Ok(()),
        Some(shown) => Err(Failure::from(format!(
            "the override was not written: {}",
            shown.why_not
        ))
        .hint("a less severe verdict needs `--second NAME`, and never lifts a maker's or a rule pack's limit")),
        None => Err(Failure::from("the override was not written: nothing is judged there")
            .hint("`brakecorner verdict JOB` lists what is; `--as-left` is for the state after the work")),
    }
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
pub(super) fn render(judgement: &Judgement, drive: &Drive, style: Style) -> String {
    let mut out = String::new();
    for (corner, judged) in &judgement.corners {
        section(&mut out, &corner.to_string(), judged, style);
    }
    for (axle, judged) in &judgement.axles {
        section(&mut out, &format!("{axle} axle"), judged, style);
    }
    section(&mut out, "vehicle", &judgement.vehicle, style);
    likely(&mut out, &judgement.causes, style);
    set_aside(&mut out, judgement, style);
    if !judgement.not_part.is_empty() {
        out.push_str("not part of this inspection\n");
        for one in &judgement.not_part {
            let line = format!("{} {}: {}", one.place, one.item, one.why);
            out.push_str(&format!("  {}\n", style.text(&line)));
        }
        out.push('\n');
    }
    out.push_str(&format!("{}\n", style.text(&drive.to_string())));
    out.push_str(&format!(
        "{}: as found {}, as left {}\n",
        style.text(&judgement.job),
        style.overall(judgement.as_found),
        style.overall(judgement.as_left)
    ));
    out
}

/// The strongest causes, with what speaks for and against them and how to find out.
fn likely(out: &mut String, causes: &[Cause], style: Style) {
    if causes.is_empty() {
        return;
    }
    out.push_str("likely causes (advice, no verdict)\n");
    for cause in causes {
        out.push_str(&format!(
            "  {}: consistent with: {}\n",
            cause.place,
            style.text(&cause.cause)
        ));
        for (word, list) in [("for", &cause.evidence), ("against", &cause.against)] {
            for evidence in list {
                out.push_str(&format!("    {word}: {}\n", style.text(evidence)));
            }
        }
        out.push_str(&format!(
            "    to find out: {}\n",
            style.text(&cause.next_test)
        ));
    }
    out.push('\n');
}

/// Every verdict somebody set aside.
fn set_aside(out: &mut String, judgement: &Judgement, style: Style) {
    if judgement.overrides.is_empty() {
        return;
    }
    out.push_str("overrides\n");
    for listed in &judgement.overrides {
        let line = match &listed.shown {
            None => "nothing is judged there any more".to_owned(),
            Some(shown) => {
                let second = shown
                    .second_person
                    .as_ref()
                    .map_or(String::new(), |person| format!(" with {person}"));
                let stands = if shown.stands {
                    String::new()
                } else {
                    format!("; does not stand: {}", shown.why_not)
                };
                format!(
                    "{} to {} by {}{second}: {}{stands}",
                    shown.from, shown.to, shown.by, shown.reason
                )
            }
        };
        out.push_str(&format!(
            "  {} {}: {}\n",
            listed.place,
            listed.item,
            style.text(&line)
        ));
    }
    out.push('\n');
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
    // What was put right has two findings, and both belong in the table.
    let is_twice = |finding: &Finding| {
        let same = judged.items.iter().filter(|f| f.item == finding.item);
        same.count() > 1
    };
    let sound: Vec<&str> = judged
        .items
        .iter()
        .filter(|f| is_plain_pass(f) && !is_twice(f))
        .map(|f| f.item.id())
        .collect();
    let rows = judged.items.iter();
    for finding in rows.filter(|f| !is_plain_pass(f) || is_twice(f)) {
        table.add_row(row(finding, style));
    }
    if table.row_count() > 0 {
        out.push_str(&table.to_string());
        out.push('\n');
    }
    for finding in &judged.items {
        if let Some(line) = turn(finding, style) {
            out.push_str(&line);
        }
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

/// A ring's run-out over one turn, a bar a point, drawn as on the sheet.
fn turn(finding: &Finding, style: Style) -> Option<String> {
    let Some(judge::Results::Runout { points_mm, .. }) = &finding.results else {
        return None;
    };
    let points: Vec<Length> = points_mm
        .iter()
        .filter_map(|mm| Length::from_mm(*mm))
        .collect();
    (points.len() > 1).then(|| {
        let phase = if finding.phase == Phase::AsLeft {
            "left"
        } else {
            "found"
        };
        let drawn = sparkline(&points, style.plain);
        format!("  {} {phase}, over one turn: {drawn}\n", finding.item)
    })
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
