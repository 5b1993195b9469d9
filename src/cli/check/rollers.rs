//! `check rollers`.

use std::collections::BTreeMap;

use chrono::NaiveDate;
use serde_json::{Value, json};

use super::error::{CheckError, Problems};
use super::report::Answer;
use crate::job::{Axle, Corner, Entered, Item, Quantity};
use crate::judge::check::{self, Rollers};
use crate::judge::{Finding, ItemVerdict, plausible};
use crate::measure::rollers::{
    AxleForces, Counted, DEFAULT_FORCE_ERROR, Percent, efficiency, imbalance,
};
use crate::spec::{Policy, RulePack, VehicleFacts, builtin_rule_packs};
use crate::units::{Force, ForceUnit};

const METHOD: &str = "imbalance (larger - smaller) / larger; efficiency sum of forces / weight, \
    compared directly";

const EXAMPLE: &str = "Example:\n\
\x20 brakecorner check rollers --service FL=3920,FR=3850,RL=2310,RR=1480 \\\n\
\x20   --parking RL=1510,RR=1390 --mass 1432 --rules gb --class M1 \\\n\
\x20   --first-used 2020-06-11\n\
\n\
is 35.93 % out of balance at the rear: FAIL; service 82.32 %, parking 20.65 %.";

/// Judge brake forces from a roller tester
///
/// Limits come from the rule pack chosen, by class and date of first use; without one there are none.
/// The first axle is taken as steered, the brakes as worked by two lines.
#[derive(Debug, clap::Args)]
#[command(
    after_help = EXAMPLE
)]
pub(super) struct Args {
    /// Service brake, a force a wheel: FL=…,FR=…,RL=…,RR=…
    #[arg(
        long,
        value_name = "CORNER=FORCE,…",
        required_unless_present = "parking"
    )]
    service: Option<String>,
    /// Parking brake, likewise
    #[arg(long, value_name = "CORNER=FORCE,…")]
    parking: Option<String>,
    /// Mass of the vehicle in kg
    #[arg(long, value_name = "KG", allow_hyphen_values = true)]
    mass: Option<String>,
    /// Mass for the parking brake where it differs
    #[arg(long, value_name = "KG", allow_hyphen_values = true)]
    parking_mass: Option<String>,
    /// Unit of forces without one
    #[arg(long, value_enum, default_value_t)]
    unit: UnitArg,
    /// Wheels that locked under the service brake
    #[arg(long, value_name = "CORNER,…")]
    locked: Option<String>,
    /// Wheels that locked under the parking brake
    #[arg(long, value_name = "CORNER,…")]
    parking_locked: Option<String>,
    /// Rule pack, such as gb or eu (can be repeated)
    #[arg(long, value_name = "NAME")]
    rules: Vec<String>,
    /// Class of the vehicle, such as M1 or N1
    #[arg(long, value_parser = crate::cli::facts::class, value_name = "CLASS")]
    class: Option<String>,
    /// Day of first use
    #[arg(long, value_name = "DATE")]
    first_used: Option<NaiveDate>,
    /// One line works every brake, so that the parking brake is the secondary brake too
    #[arg(long)]
    single_line: bool,
    /// Keep forces that look like a slip of the unit or the decimal mark
    #[arg(long)]
    confirm: bool,
}

/// A unit of force, as an option.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, clap::ValueEnum)]
enum UnitArg {
    /// Newton.
    #[default]
    #[value(name = "N", alias = "n")]
    Newton,
    /// Kilogram-force.
    Kgf,
    /// Pound-force.
    Lbf,
}

impl From<UnitArg> for ForceUnit {
    fn from(unit: UnitArg) -> Self {
        match unit {
            UnitArg::Newton => Self::Newton,
            UnitArg::Kgf => Self::KilogramForce,
            UnitArg::Lbf => Self::PoundForce,
        }
    }
}

type Axles = BTreeMap<Axle, AxleForces>;

/// One axle's answer.
struct AxleAnswer {
    axle: Axle,
    /// None when neither wheel showed a force.
    percent: Option<Percent>,
    counted: Counted,
    finding: Finding,
}

pub(super) fn answer(args: &Args) -> Result<Answer, CheckError> {
    let policy = Policy::builtin();
    let mut problems = Problems::default();
    let unit = args.unit.into();
    let service = axles(
        &mut problems,
        "--service",
        args.service.as_deref(),
        ("--locked", args.locked.as_deref()),
        unit,
    );
    let parking = axles(
        &mut problems,
        "--parking",
        args.parking.as_deref(),
        ("--parking-locked", args.parking_locked.as_deref()),
        unit,
    );
    let mass = mass(&mut problems, "--mass", args.mass.as_deref());
    let parking_mass = mass_or(&mut problems, args.parking_mass.as_deref(), mass);
    let packs = packs(&mut problems, &args.rules);
    let facts = VehicleFacts {
        class: args.class.clone(),
        first_used: args.first_used,
        braked_wheels: u32::try_from(2 * service.len()).ok().filter(|n| *n > 0),
        single_line: Some(args.single_line),
        ..VehicleFacts::default()
    };
    let mut answers = Vec::new();
    for (axle, forces) in &service {
        let facts = VehicleFacts {
            axle: Some(axle.to_string()),
            steered: Some(axle.number() == 1),
            ..facts.clone()
        };
        let by = Rollers {
            packs: &packs,
            policy: &policy,
            facts: &facts,
        };
        let Some((finding, counted)) = problems.take(check::imbalance(*axle, forces, &by)) else {
            continue;
        };
        answers.push(AxleAnswer {
            axle: *axle,
            percent: imbalance(forces.left, forces.right, DEFAULT_FORCE_ERROR).ok(),
            counted,
            finding,
        });
    }
    let by = Rollers {
        packs: &packs,
        policy: &policy,
        facts: &facts,
    };
    let service_brake = brake(&mut problems, Item::ServiceEfficiency, &service, mass, &by);
    let parking_brake = brake(
        &mut problems,
        Item::ParkingEfficiency,
        &parking,
        parking_mass,
        &by,
    );
    if !args.confirm {
        unlikely(&mut problems, "--service", (&service, mass), &service_brake);
        unlikely(
            &mut problems,
            "--parking",
            (&parking, parking_mass),
            &parking_brake,
        );
    }
    problems.finish(Some(()))?;
    let brakes = [service_brake, parking_brake];
    let findings: Vec<&Finding> = answers
        .iter()
        .map(|a| &a.finding)
        .chain(brakes.iter().flatten().map(|(_, finding)| finding))
        .collect();
    let mut answer = Answer::judged("brake forces", METHOD, &findings);
    if mass.is_none() && args.service.is_some() || parking_mass.is_none() && args.parking.is_some()
    {
        answer
            .reasons
            .push("no efficiency without a mass: add --mass".to_owned());
        if answer.verdict.is_none_or(|v| v != ItemVerdict::Fail) {
            answer.verdict = Some(ItemVerdict::NotInspected);
        }
    }
    describe(&mut answer, &answers, &brakes);
    answer.json = fields(&answers, &brakes);
    if packs.is_empty() {
        answer
            .notes
            .push("no rule pack chosen: add --rules, such as --rules gb".to_owned());
    }
    Ok(answer)
}

fn corner(problems: &mut Problems, option: &'static str, text: &str) -> Option<Corner> {
    let corner = text.trim().parse::<Corner>().map_err(|_| CheckError::Form {
        option,
        text: text.trim().to_owned(),
        form: "a corner: FL FR RL RR, a third axle 3L 3R",
    });
    problems.take(corner)
}

fn axles(
    problems: &mut Problems,
    option: &'static str,
    text: Option<&str>,
    (lock_option, locked): (&'static str, Option<&str>),
    unit: ForceUnit,
) -> Axles {
    let mut forces: BTreeMap<Corner, Force> = BTreeMap::new();
    for word in text.into_iter().flat_map(|t| t.split(',')) {
        let Some((name, force)) = word.split_once('=') else {
            problems.push(CheckError::Form {
                option,
                text: word.trim().to_owned(),
                form: "CORNER=FORCE, such as FL=3920",
            });
            continue;
        };
        let corner = corner(problems, option, name);
        let force =
            Force::parse(force.trim(), unit).map_err(|why| CheckError::Value { option, why });
        if let (Some(corner), Some(force)) = (corner, problems.take(force))
            && forces.insert(corner, force).is_some()
        {
            let key = corner.to_string();
            problems.push(CheckError::Twice { option, key });
        }
    }
    let locked: Vec<Corner> = locked
        .into_iter()
        .flat_map(|t| t.split(','))
        .filter_map(|word| corner(problems, lock_option, word))
        .collect();
    let names: std::collections::BTreeSet<Axle> = forces.keys().map(|c| c.axle()).collect();
    let mut axles = Axles::new();
    for axle in names {
        let [left, right] = axle.corners();
        match (forces.get(&left), forces.get(&right)) {
            (Some(l), Some(r)) => {
                axles.insert(
                    axle,
                    AxleForces {
                        left: *l,
                        right: *r,
                        left_locked: locked.contains(&left),
                        right_locked: locked.contains(&right),
                    },
                );
            }
            _ => problems.push(CheckError::Form {
                option,
                text: text.unwrap_or_default().to_owned(),
                form: "both wheels of each axle",
            }),
        }
    }
    axles
}

fn mass(problems: &mut Problems, option: &'static str, text: Option<&str>) -> Option<f64> {
    let read = Entered::read(text?, Quantity::Mass, "kg");
    let grams = problems
        .take(read.map_err(|why| CheckError::Value { option, why }))?
        .value;
    // Grams fit an f64 exactly up to 9·10^12 kg.
    #[allow(clippy::cast_precision_loss)]
    Some(grams as f64 / 1e3)
}

fn mass_or(
    problems: &mut Problems,
    text: Option<&str>,
    mass_of_service: Option<f64>,
) -> Option<f64> {
    match text {
        Some(_) => mass(problems, "--parking-mass", text),
        None => mass_of_service,
    }
}

fn packs(problems: &mut Problems, names: &[String]) -> Vec<RulePack> {
    let known = builtin_rule_packs();
    names
        .iter()
        .filter_map(|name| {
            let file = format!("{}.toml", name.trim().to_lowercase());
            let found = known.iter().find(|(known, _)| *known == file);
            let unknown = || CheckError::Unknown {
                what: "rule pack",
                name: name.clone(),
                known: known
                    .iter()
                    .map(|(file, _)| file.trim_end_matches(".toml"))
                    .collect::<Vec<_>>()
                    .join(", "),
            };
            let (file, text) = problems.take(found.ok_or_else(unknown))?;
            // The packs that ship with the program are read by its own tests.
            RulePack::parse(text, file).ok()
        })
        .collect()
}

fn brake(
    problems: &mut Problems,
    item: Item,
    axles: &Axles,
    mass: Option<f64>,
    by: &Rollers<'_>,
) -> Option<(Percent, Finding)> {
    let wheels: Vec<AxleForces> = axles.values().copied().collect();
    let forces: Vec<Force> = wheels.iter().flat_map(|a| [a.left, a.right]).collect();
    if forces.is_empty() {
        return None;
    }
    let percent = problems.take(efficiency(&forces, mass?, DEFAULT_FORCE_ERROR))?;
    Some((percent, check::efficiency(item, percent, axles, by)))
}

/// Asks about forces that no vehicle of this mass has, and about an axle that brakes ten times as
/// much as another.
fn unlikely(
    problems: &mut Problems,
    option: &'static str,
    (axles, mass): (&Axles, Option<f64>),
    brake: &Option<(Percent, Finding)>,
) {
    let forces: Vec<Force> = axles.values().flat_map(|a| [a.left, a.right]).collect();
    if let (Some(axle), 1, Some(_), "--service") = (axles.keys().next(), axles.len(), mass, option)
    {
        problems.push(CheckError::Unlikely {
            option,
            question: format!(
                "forces of the {axle} axle alone, half of the wheels or fewer: the efficiency of the service brake needs every wheel; add the others, or leave --mass out"
            ),
        });
    }
    let too_little = mass
        .filter(|_| option == "--service")
        .and_then(|mass| plausible::rollers_question(&forces, mass));
    let too_much = brake.as_ref().filter(|(percent, _)| percent.value > 100.0);
    let too_much = too_much.map(|(percent, _)| {
        format!(
            "these forces are {:.1} % of the weight, more than tyres hold; are forces, unit and mass right?",
            percent.value
        )
    });
    let sum = |forces: &AxleForces| forces.left.newtons() + forces.right.newtons();
    let sums = || axles.iter().map(|(axle, forces)| (axle, sum(forces)));
    let most = sums().max_by(|a, b| a.1.total_cmp(&b.1));
    let least = sums().min_by(|a, b| a.1.total_cmp(&b.1));
    let apart = most
        .zip(least)
        .filter(|((_, most), (_, least))| *most >= 10.0 * least);
    let apart = apart.map(|((more, most), (less, least))| {
        format!(
            "the {more} axle brakes with {most:.0} N and the {less} axle with {least:.0} N, ten times apart; a slipped decimal?"
        )
    });
    let questions = too_little.or(too_much).into_iter().chain(apart);
    for question in questions {
        problems.push(CheckError::Unlikely { option, question });
    }
}

fn describe(answer: &mut Answer, axles: &[AxleAnswer], brakes: &[Option<(Percent, Finding)>; 2]) {
    let limit = |finding: &Finding, word: &str| {
        finding.limit.map_or(String::new(), |limit| {
            format!(", {word} {} % ({})", limit.number(), finding.limit_source)
        })
    };
    for a in axles {
        let allowed = limit(&a.finding, "at most");
        let shown = a.percent.map_or_else(
            || "no force at either wheel".to_owned(),
            |percent| {
                let (value, u) = (percent.value, percent.u);
                format!("{value:.2} % out of balance (u {u:.2}){allowed}")
            },
        );
        answer.row(format!("{} axle", a.axle), shown);
    }
    for (name, brake) in ["service", "parking"].iter().zip(brakes) {
        if let Some((percent, finding)) = brake {
            let allowed = limit(finding, "at least");
            answer.row(
                *name,
                format!(
                    "{:.2} % of the weight (u {:.2}){allowed}",
                    percent.value, percent.u
                ),
            );
        }
    }
}

fn fields(axles: &[AxleAnswer], brakes: &[Option<(Percent, Finding)>; 2]) -> Value {
    let axles: Vec<Value> = axles
        .iter()
        .map(|a| {
            json!({
                "name": a.axle.to_string(),
                "imbalance_percent": a.percent.map(|percent| percent.value),
                "u_percent": a.percent.map(|percent| percent.u),
                "counted": a.counted == Counted::Yes,
                "not_counted_because": (a.counted != Counted::Yes).then_some(a.counted),
                "verdict": a.finding.verdict,
                "limit_percent": a.finding.limit.map(|l| l.number()),
                "limit_source": a.finding.limit.map(|_| &a.finding.limit_source),
            })
        })
        .collect();
    let [service, parking] = brakes;
    let value = |brake: &Option<(Percent, Finding)>| brake.as_ref().map(|(p, _)| p.value);
    let detail = |brake: &Option<(Percent, Finding)>| {
        brake.as_ref().map(|(percent, finding)| {
            json!({
                "verdict": finding.verdict,
                "u_percent": percent.u,
                "limit_percent": finding.limit.map(|l| l.number()),
                "limit_source": finding.limit.map(|_| &finding.limit_source),
            })
        })
    };
    json!({
        "axles": axles,
        "service_efficiency_percent": value(service),
        "parking_efficiency_percent": value(parking),
        "service": detail(service),
        "parking": detail(parking),
    })
}
