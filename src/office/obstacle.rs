//! What stands in the way of the final signature, and cannot be signed over.

use std::fmt;

use serde::Serialize;

use super::decision::{answers, fitting_authorised};
use super::propose::propose;
use crate::job::{
    Corner, GateItem, Item, Job, Kind, Observation, Outcome, Part, Phase, Place, Proceeding,
    RefitPoint,
};
use crate::judge::{Case, Finding, ItemVerdict, Judgement, calliper_fasteners};

/// One thing that blocks the final signature.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
#[serde(tag = "obstacle", rename_all = "snake_case")]
#[non_exhaustive]
pub enum Obstacle {
    /// A FAIL that nobody has decided about.
    FailWithoutOutcome {
        /// Where.
        place: Place,
        /// What.
        item: Item,
        /// The finding.
        sentence: String,
    },
    /// A FAIL the customer left, without the caution having been read out.
    CautionNotRead {
        /// Where.
        place: Place,
        /// What.
        item: Item,
        /// The line that was declined.
        line: String,
    },
    /// A FAIL whose cure was agreed and has not been done, or did not cure it.
    AgreedNotDone {
        /// Where.
        place: Place,
        /// What.
        item: Item,
        /// The line that was agreed.
        line: String,
    },
    /// A line the customer left, and an item behind it that is better as left all the same.
    DeclinedButDone {
        /// Where.
        place: Place,
        /// What.
        item: Item,
        /// The line that was declined.
        line: String,
    },
    /// A part was fitted that the customer has not agreed to.
    NotAuthorised {
        /// Where.
        place: Place,
        /// The part.
        part: Part,
    },
    /// Wheel fasteners without their final click.
    WheelNotConfirmed {
        /// The wheel.
        corner: Corner,
        /// Fasteners that are missing.
        fasteners: Vec<u8>,
    },
    /// Earlier stages of a wheel's torque that were not confirmed.
    StageNotConfirmed {
        /// The wheel.
        corner: Corner,
    },
    /// The second pass at full torque is not confirmed.
    SecondPassOpen {
        /// The wheel.
        corner: Corner,
    },
    /// A calliper fastener that was undone and is not confirmed.
    CalliperNotConfirmed {
        /// The corner.
        corner: Corner,
        /// Which kind.
        proceeding: Proceeding,
        /// Its number.
        fastener: u8,
    },
    /// The workshop wants a second person's check, and there is none by another person.
    SecondPersonMissing,
    /// A point of the before-it-moves list is open.
    GateOpen {
        /// Which.
        gate: GateItem,
    },
}

impl fmt::Display for Obstacle {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::FailWithoutOutcome { sentence, .. } => {
                write!(f, "FAIL without an outcome: {sentence}")
            }
            Self::CautionNotRead { place, item, line } => write!(
                f,
                "{place} {item}: `{line}` was declined without the caution being read out"
            ),
            Self::AgreedNotDone { place, item, line } => write!(
                f,
                "{place} {item}: `{line}` is agreed, and the item still fails as left"
            ),
            Self::DeclinedButDone { place, item, line } => write!(
                f,
                "{place} {item}: `{line}` was declined, and the item is no longer as it was found: log the customer's yes if it was agreed to after all, or look at it again as left"
            ),
            Self::NotAuthorised { place, part } => write!(
                f,
                "{place}: {} fitted, and the customer has not agreed to it",
                part_word(*part)
            ),
            Self::WheelNotConfirmed { corner, fasteners } => {
                let list: Vec<String> = fasteners.iter().map(ToString::to_string).collect();
                write!(
                    f,
                    "{corner}: a fastener's torque is not confirmed (wheel fastener {})",
                    list.join(", ")
                )
            }
            Self::StageNotConfirmed { corner } => {
                write!(f, "{corner}: an earlier torque stage is not confirmed")
            }
            Self::SecondPassOpen { corner } => write!(
                f,
                "{corner}: the second pass at full torque is not confirmed"
            ),
            Self::CalliperNotConfirmed {
                corner,
                proceeding,
                fastener,
            } => write!(
                f,
                "{corner}: a fastener's torque is not confirmed ({} {fastener})",
                proceeding_word(*proceeding)
            ),
            Self::SecondPersonMissing => f.write_str(
                "a second person has not checked the final torque, as this workshop wants",
            ),
            Self::GateOpen { gate } => write!(f, "before it moves: {}", gate.question()),
        }
    }
}

impl Obstacle {
    /// The command that closes it.
    #[must_use]
    pub fn closed_by(&self, job: &str) -> String {
        match self {
            Self::FailWithoutOutcome { place, .. } => format!(
                "brakecorner work {job} {place} …  for what was done, or brakecorner quote {job} --call"
            ),
            Self::CautionNotRead { line, .. } => {
                format!("brakecorner contact {job} --no {line} --caution")
            }
            Self::AgreedNotDone { place, .. } => {
                format!("brakecorner work {job} {place} …  then brakecorner walk {job} --part left")
            }
            Self::DeclinedButDone { line, .. } => format!("brakecorner contact {job} --yes {line}"),
            Self::NotAuthorised { .. } => format!("brakecorner contact {job} --yes LINE"),
            Self::WheelNotConfirmed { .. }
            | Self::StageNotConfirmed { .. }
            | Self::SecondPassOpen { .. }
            | Self::CalliperNotConfirmed { .. }
            | Self::SecondPersonMissing
            | Self::GateOpen { .. } => format!("brakecorner refit {job}"),
        }
    }
}

/// A part in plain words.
#[must_use]
pub(crate) const fn part_word(part: Part) -> &'static str {
    match part {
        Part::Disc => "disc",
        Part::Pads => "pads",
        Part::Linings => "linings",
        Part::Drum => "drum",
        Part::Hose => "hose",
        Part::Calliper => "calliper",
        Part::SensorSpeed => "wheel-speed sensor",
        Part::SensorWear => "pad-wear sensor",
        Part::Cylinder => "wheel cylinder",
        Part::Bearing => "wheel bearing",
        Part::Fluid => "brake fluid",
        Part::Pipe => "brake pipe",
        Part::SlidePins => "slide-pin kit",
        Part::Springs => "springs and clips",
        Part::Fasteners => "wheel fasteners",
        Part::Wheel => "wheel",
        Part::Cable => "parking-brake cable",
        Part::Adjuster => "brake adjuster",
    }
}

const fn proceeding_word(proceeding: Proceeding) -> &'static str {
    match proceeding {
        Proceeding::WheelStage => "stage",
        Proceeding::WheelFinal => "wheel fastener",
        Proceeding::WheelSecondPass => "second pass",
        Proceeding::CalliperCarrier => "carrier bolt",
        Proceeding::SlidePin => "slide-pin bolt",
        Proceeding::HoseUnion => "hose union",
    }
}

/// Everything that blocks the final signature; empty when nothing does.
///
/// Shape: decided FAILs, unauthorised work, torque, the before-it-moves list, in that order. A
/// reason cannot sign over any of them.
///
/// # Examples
/// ```
/// # fn demo(case: &brakecorner::judge::Case<'_>) {
/// let judgement = brakecorner::judge::judge(case);
/// for obstacle in brakecorner::office::signing_obstacles(case, &judgement) {
///     println!("{obstacle}");
/// }
/// # }
/// ```
#[must_use]
pub fn signing_obstacles(case: &Case<'_>, judgement: &Judgement) -> Vec<Obstacle> {
    let mut all = undecided(case, judgement);
    all.extend(declined_but_done(case, judgement));
    all.extend(unauthorised(case.job));
    for corner in corners(case) {
        callipers(case, corner, &mut all);
    }
    for corner in corners(case) {
        wheel(case, corner, &mut all);
    }
    if case.policy.torque_second_person.value && !second_person(case.job) {
        all.push(Obstacle::SecondPersonMissing);
    }
    let closed = |gate: &GateItem| case.job.gates.get(gate).is_some_and(|(done, _)| *done);
    all.extend(
        GateItem::ALL
            .into_iter()
            .filter(|gate| !closed(gate))
            .map(|gate| Obstacle::GateOpen { gate }),
    );
    all
}

fn corners(case: &Case<'_>) -> impl Iterator<Item = Corner> + use<> {
    Job::corners_of(u8::try_from(case.sheet.axles.len()).unwrap_or(2))
}

/// Standing FAILs that no decision of the customer covers.
fn undecided(case: &Case<'_>, judgement: &Judgement) -> Vec<Obstacle> {
    let failing: Vec<&Finding> = judgement
        .standing(Phase::AsLeft)
        .filter(|f| f.verdict == ItemVerdict::Fail)
        .collect();
    if failing.is_empty() {
        return Vec::new();
    }
    let proposed = propose(case, judgement);
    let answers = answers(case.job);
    failing
        .into_iter()
        .filter_map(|finding| {
            let (place, item) = (finding.place, finding.item);
            let said: Vec<_> = proposed
                .iter()
                .filter(|p| p.cures(place, item))
                .filter_map(|p| Some((p.line.to_string(), answers.get(&p.line.to_string())?)))
                .collect();
            let left = |(_, a): &&(String, &super::Answer)| a.answer.outcome != Outcome::Yes;
            if said.iter().filter(left).any(|(_, a)| a.answer.caution_read) {
                return None;
            }
            Some(match (said.iter().find(left), said.first()) {
                (Some((line, _)), _) => Obstacle::CautionNotRead {
                    place,
                    item,
                    line: line.clone(),
                },
                (None, Some((line, _))) => Obstacle::AgreedNotDone {
                    place,
                    item,
                    line: line.clone(),
                },
                (None, None) => Obstacle::FailWithoutOutcome {
                    place,
                    item,
                    sentence: finding.sentence.clone(),
                },
            })
        })
        .collect()
}

/// Items that are better as left, though every line behind them was declined. A number that was only
/// advised on may come out better the second time without any work; a look does not.
fn declined_but_done(case: &Case<'_>, judgement: &Judgement) -> Vec<Obstacle> {
    let answers = answers(case.job);
    if answers.is_empty() {
        return Vec::new();
    }
    let proposed = propose(case, judgement);
    let better = |left: &&Finding| {
        let found = judgement
            .standing(Phase::AsFound)
            .find(|found| (found.place, found.item) == (left.place, left.item));
        let Some(found) = found else { return false };
        if left.item.kind() == Kind::Look {
            let seen = case.job.seen(left.place, left.item, Phase::AsLeft);
            let sound = seen.is_some_and(|seen| seen.observation == Observation::Sound);
            return sound && matches!(found.verdict, ItemVerdict::Fail | ItemVerdict::Advise);
        }
        let better = matches!(left.verdict, ItemVerdict::Pass | ItemVerdict::Advise);
        found.verdict == ItemVerdict::Fail && better
    };
    judgement
        .standing(Phase::AsLeft)
        .filter(|left| case.job.touched(left.place, left.item, Phase::AsLeft))
        .filter(better)
        .filter_map(|left| {
            let lines = proposed.iter().filter(|p| p.cures(left.place, left.item));
            let said: Vec<_> = lines
                .map(|p| p.line.to_string())
                .filter_map(|line| Some((answers.get(&line)?.answer.outcome, line)))
                .collect();
            let agreed = said.iter().any(|(outcome, _)| *outcome == Outcome::Yes)
                || case.job.agreed_to_mend(left.item, left.place);
            let (_, line) = said.into_iter().next().filter(|_| !agreed)?;
            Some(Obstacle::DeclinedButDone {
                place: left.place,
                item: left.item,
                line,
            })
        })
        .collect()
}

/// Parts fitted that no agreed line covers.
fn unauthorised(job: &Job) -> Vec<Obstacle> {
    let mut seen = Vec::new();
    for fitted in &job.fitted {
        let this = Obstacle::NotAuthorised {
            place: fitted.place,
            part: fitted.part,
        };
        if !fitting_authorised(job, fitted.part, fitted.place) && !seen.contains(&this) {
            seen.push(this);
        }
    }
    seen
}

fn callipers(case: &Case<'_>, corner: Corner, all: &mut Vec<Obstacle>) {
    for (proceeding, _, count) in calliper_fasteners(case, corner) {
        for fastener in 1..=count {
            let mine = (corner, proceeding, fastener);
            let done = case
                .job
                .callipers
                .iter()
                .any(|(c, p, n, _)| (*c, *p, *n) == mine);
            if !done {
                all.push(Obstacle::CalliperNotConfirmed {
                    corner,
                    proceeding,
                    fastener,
                });
            }
        }
    }
}

fn wheel(case: &Case<'_>, corner: Corner, all: &mut Vec<Obstacle>) {
    // Without a torque on the sheet there is nothing to confirm; the judgement says INCOMPLETE.
    if case.sheet.wheel.torque.is_none() {
        return;
    }
    let wheel = case.job.wheels.get(&corner);
    let fasteners: Vec<u8> = (1..=case.sheet.wheel.fasteners)
        .filter(|n| !wheel.is_some_and(|w| w.finals.contains_key(n)))
        .collect();
    let stages = case.policy.torque_stages.value.iter().filter(|p| **p < 100);
    let wanted = u8::try_from(stages.count()).unwrap_or(u8::MAX);
    if !(1..=wanted).all(|n| wheel.is_some_and(|w| w.stages.contains(&n))) {
        all.push(Obstacle::StageNotConfirmed { corner });
    }
    if !fasteners.is_empty() {
        all.push(Obstacle::WheelNotConfirmed { corner, fasteners });
    }
    let passed = wheel.is_some_and(|w| w.second_pass.is_some());
    if case.policy.torque_second_pass.value && !passed {
        all.push(Obstacle::SecondPassOpen { corner });
    }
}

/// Whether somebody other than who torqued the wheels has checked them, after they were torqued.
fn second_person(job: &Job) -> bool {
    let checked = job.refit_points.get(&(None, RefitPoint::SecondPerson));
    match (checked, &job.wheels_torqued) {
        (Some((meta, true, _)), Some(torqued)) => {
            let hands = job.log().filter(|(_, event, struck)| {
                !struck && matches!(event, crate::job::Event::Torque(_))
            });
            let same = |by: &str| by.eq_ignore_ascii_case(&meta.by);
            meta.seq > torqued.seq && !hands.map(|(m, ..)| m.by.as_str()).any(same)
        }
        _ => false,
    }
}
