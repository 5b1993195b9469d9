//! `check torque`.

use serde_json::{Value, json};

use super::error::{CheckError, Problems};
use super::report::Answer;
use crate::measure::torque::{
    AngleStage, Pass, WrenchCover, crowfoot, plan, stage_setting, star_order, tolerance,
    wrench_covers,
};
use crate::spec::Policy;
use crate::units::{Angle, Length, LengthUnit, Torque};

const METHOD: &str = "opposite fastener next (odd counts: about half way round), in stages, then a \
    second round at full torque";

const EXAMPLE: &str = "Example:\n\
\x20 brakecorner check torque --fasteners 5 --target \"140 N·m\" --tool-range 40-200\n\
\n\
tightens to 42, 84 and 140 N·m, each time in the order 1 3 5 2 4.";

/// Plan the tightening of a wheel: stages, order, tool, re-torque
///
/// The maker's order and torque win. Exit code 1 when the wrench given cannot be trusted with the
/// target.
#[derive(Debug, clap::Args)]
#[command(
    after_help = EXAMPLE
)]
pub(super) struct Args {
    /// Number of fasteners
    #[arg(long, value_name = "N")]
    fasteners: u8,
    /// Final torque; N·m unless it says lbf·ft, lbf·in or kgf·m
    #[arg(long, value_name = "TORQUE", allow_hyphen_values = true)]
    target: String,
    /// Range of the wrench
    #[arg(long, value_name = "LOW-HIGH")]
    tool_range: Option<String>,
    /// Stages in percent of the target, each more than the one before, the last 100
    #[arg(long, value_name = "PERCENT …")]
    stages: Option<String>,
    /// Angle to turn further after the target torque, where the maker gives one
    #[arg(long, value_name = "DEGREES", allow_hyphen_values = true)]
    angle: Option<String>,
    /// Length of the wrench from its drive to the hand, with --extension
    #[arg(
        long,
        value_name = "LENGTH",
        allow_hyphen_values = true,
        requires = "extension"
    )]
    arm: Option<String>,
    /// Length a crowfoot in line with the wrench adds
    #[arg(
        long,
        value_name = "LENGTH",
        allow_hyphen_values = true,
        requires = "arm"
    )]
    extension: Option<String>,
}

/// The options, computed.
#[derive(Default)]
struct Plan {
    target: Torque,
    order: Vec<u8>,
    passes: Vec<Pass>,
    tool: Option<Tool>,
    angle: Option<AngleStage>,
    /// Lengths of wrench and crowfoot.
    crowfoot: Option<(Length, Length)>,
}

/// The wrench's range, and whether it may do the last stage.
struct Tool {
    low: Torque,
    high: Torque,
    cover: WrenchCover,
}

impl Plan {
    /// What to set the wrench to for a stage, where a crowfoot makes it another figure.
    fn set_for(&self, stage: Torque) -> Option<Torque> {
        let (arm, extension) = self.crowfoot?;
        crowfoot(stage, arm, extension).ok()
    }

    /// What the wrench shows at a stage.
    fn shown_at(&self, stage: Torque) -> Torque {
        self.set_for(stage).unwrap_or(stage)
    }

    /// What a wrench of this range is set to for a stage below it.
    fn raised(&self, stage: Torque) -> Option<Torque> {
        let (tool, shown) = (self.tool.as_ref()?, self.shown_at(stage));
        let set = stage_setting(shown, self.shown_at(self.target), (tool.low, tool.high))?;
        (set != shown).then_some(set)
    }

    /// What to set the wrench to where that is not the stage's own figure.
    fn set_to(&self, stage: Torque) -> Option<Torque> {
        self.raised(stage).or_else(|| self.set_for(stage))
    }
}

pub(super) fn answer(args: &Args) -> Result<Answer, CheckError> {
    let policy = Policy::builtin();
    let mut problems = Problems::default();
    let target = torque(&mut problems, "--target", &args.target);
    let fractions = fractions(&mut problems, args.stages.as_deref(), &policy);
    let range = args
        .tool_range
        .as_deref()
        .and_then(|text| range(&mut problems, text));
    let angle = args.angle.as_deref().and_then(|text| {
        let angle = Angle::parse(text).map_err(|why| CheckError::Value {
            option: "--angle",
            why,
        });
        problems.take(angle)
    });
    let arm = length(&mut problems, "--arm", args.arm.as_deref());
    let extension = length(&mut problems, "--extension", args.extension.as_deref());
    let Some(target) = target else {
        problems.take(star_order(args.fasteners));
        problems.finish(None::<()>)?;
        return Ok(Answer::plain("torque", METHOD));
    };
    let mut result = Plan {
        target,
        passes: problems
            .take(plan(target, &fractions, args.fasteners))
            .unwrap_or_default(),
        ..Plan::default()
    };
    if problems.is_empty() {
        result.order = problems
            .take(star_order(args.fasteners))
            .unwrap_or_default();
        result.angle = angle.and_then(|angle| problems.take(AngleStage::new(target, angle)));
        result.crowfoot = arm.zip(extension);
        if let Some((arm, extension)) = result.crowfoot {
            problems.take(crowfoot(target, arm, extension));
        }
        result.tool = range.and_then(|(low, high)| {
            let cover = problems.take(wrench_covers(result.shown_at(target), low, high))?;
            Some(Tool { low, high, cover })
        });
    }
    problems.finish(Some(()))?;
    Ok(described(&result, &policy))
}

fn torque(problems: &mut Problems, option: &'static str, text: &str) -> Option<Torque> {
    let read = Torque::parse(text).map_err(|why| CheckError::Value { option, why });
    problems.take(read)
}

fn length(problems: &mut Problems, option: &'static str, text: Option<&str>) -> Option<Length> {
    let read = Length::parse(text?, LengthUnit::Millimetre)
        .map_err(|why| CheckError::Value { option, why });
    problems.take(read)
}

fn fractions(problems: &mut Problems, text: Option<&str>, policy: &Policy) -> Vec<f64> {
    let stages = policy.torque_stages.value.iter();
    let usual = stages.map(|percent| f64::from(*percent) / 100.0).collect();
    let Some(text) = text else {
        return usual;
    };
    let mut before = 0.0;
    let mut fractions = Vec::new();
    for word in text.split([' ', ',']).filter(|word| !word.is_empty()) {
        let percent = word.trim_end_matches('%').parse::<f64>();
        let percent = percent.map_err(|_| CheckError::Form {
            option: "--stages",
            text: word.to_owned(),
            form: "percents of the target, such as 30 60 100",
        });
        let Some(percent) = problems.take(percent) else {
            return usual;
        };
        if percent.is_nan() || percent <= before || percent > 100.0 {
            problems.push(CheckError::Stages(format!("{percent} % after {before} %")));
            return usual;
        }
        before = percent;
        fractions.push(percent / 100.0);
    }
    if !fractions.is_empty() && before < 100.0 {
        problems.push(CheckError::Stages(format!("the last is {before} %")));
        return usual;
    }
    fractions
}

fn range(problems: &mut Problems, text: &str) -> Option<(Torque, Torque)> {
    let form = || CheckError::Form {
        option: "--tool-range",
        text: text.to_owned(),
        form: "LOW-HIGH, such as 40-200",
    };
    let ends = text.split_once(['-', '\u{2013}']).ok_or_else(form);
    let (low, high) = problems.take(ends)?;
    let high_torque = torque(problems, "--tool-range", high)?;
    // `40-200 lbf·ft` means both ends.
    let unit: String = high.chars().skip_while(|c| !c.is_alphabetic()).collect();
    let low = if low.chars().any(char::is_alphabetic) {
        low.to_owned()
    } else {
        format!("{} {unit}", low.trim())
    };
    Some((torque(problems, "--tool-range", &low)?, high_torque))
}

fn described(plan: &Plan, policy: &Policy) -> Answer {
    let mut answer = Answer::plain("torque", METHOD);
    // The policy's share of the target, exact in mN·m.
    let share = policy.torque_tolerance.value.thousandths();
    let allowed = Torque::from_mnm(plan.target.mnm().saturating_mul(share) / 100_000);
    answer.row(
        "target",
        format!(
            "{} ±{allowed} (policy where no maker's figure is on file)",
            plan.target
        ),
    );
    let stages: Vec<Torque> = plan
        .passes
        .iter()
        .filter(|pass| !pass.verification)
        .map(|pass| pass.torque)
        .collect();
    for (i, pass) in plan.passes.iter().enumerate() {
        let order: Vec<String> = pass.order.iter().map(u8::to_string).collect();
        let again = if pass.verification {
            ", nothing should turn any more"
        } else {
            ""
        };
        let set = plan
            .set_to(pass.torque)
            .map_or_else(String::new, |set| format!(", wrench set to {set}"));
        answer.row(
            format!("pass {}", i + 1),
            format!("{}{set}: {}{again}", pass.torque, order.join(" ")),
        );
    }
    if let Some(stage) = &plan.angle {
        answer.row(
            "then turn",
            format!(
                "{} further ({} quarter turns)",
                stage.angle,
                stage.quarter_turns()
            ),
        );
    }
    let set = plan.set_for(plan.target);
    if let Some(set) = set {
        answer.row(
            "set wrench to",
            format!("{set} at the end, with the crowfoot in line with it"),
        );
    }
    let tool = plan.tool.as_ref().map(|tool| {
        let at = plan.shown_at(plan.target);
        tool_reasons(&mut answer, at, tool.cover);
        (tolerance(at, tool.high), tool.cover)
    });
    if let Some((error, _)) = tool {
        answer.row("wrench", format!("±{error} at this setting (usual class)"));
    }
    let retorque = (policy.retorque_distance.value, policy.retorque_days.value);
    answer.row(
        "re-torque",
        format!("after {} or {} days", retorque.0, retorque.1),
    );
    answer.json = json!({
        "target_nm": plan.target.nm(),
        "stages_nm": stages.iter().map(|t| t.nm()).collect::<Vec<_>>(),
        "order": plan.order,
        "passes": plan.passes.iter().map(|pass| pass_fields(plan, pass)).collect::<Vec<_>>(),
        "tolerance_nm": allowed.nm(),
        "retorque": {"distance_km": retorque.0.km(), "days": retorque.1},
        "tool": tool.map(|(error, cover)| json!({"cover": cover, "tolerance_nm": error.nm()})),
        "angle_deg": plan.angle.as_ref().map(|stage| stage.angle.degrees()),
        "set_nm": set.map(Torque::nm),
    });
    let earlier = stages.iter().filter(|stage| **stage != plan.target); // the last has its reason
    answer.notes.extend(earlier.filter_map(|stage| {
        Some(format!(
            "{} is below the wrench's range: that pass is done at its lower end, {}, or with a hand wrench, unmeasured",
            plan.shown_at(*stage),
            plan.raised(*stage)?
        ))
    }));
    answer
        .notes
        .push("final torque with a torque wrench, never the power tool".to_owned());
    answer
}

fn tool_reasons(answer: &mut Answer, at: Torque, cover: WrenchCover) {
    let reason = match cover {
        WrenchCover::Covered => return,
        WrenchCover::BelowCalibration => {
            format!(
                "{at} is below 20 % of the wrench's maximum, where it is not calibrated: take a smaller one"
            )
        }
        WrenchCover::OutOfRange => format!("{at} is outside the wrench's range: take another one"),
    };
    answer.good = false;
    answer.reasons.push(reason);
}

fn pass_fields(plan: &Plan, pass: &Pass) -> Value {
    json!({
        "torque_nm": pass.torque.nm(),
        "set_nm": plan.set_to(pass.torque).map(Torque::nm),
        "order": pass.order,
        "verification": pass.verification,
    })
}
