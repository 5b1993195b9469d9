//! The words of a prompt: where you are, what is asked, what has been read so far.

use chrono::NaiveDate;

use super::caution::{BEGIN, REFIT, caution, why};
use super::{Part, Stage, Step, Walk, slots, steps};
use crate::job::{Corner, GateItem, Item, Phase, Place, Proceeding, SideNames, Slot, Take};
use crate::judge::states;
use crate::judge::{Case, defect};
use crate::sheet::chart::sparkline;
use crate::units::{Length, LengthUnit};

/// What to show before an answer is read.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Prompt {
    /// Lines above the prompt: heading, list, chart, caution.
    pub lines: Vec<String>,
    /// The prompt itself, at the start of the line the answer is typed on.
    pub ask: String,
}

impl Walk {
    /// What to show for a step. `day` is today, for calibrations.
    #[must_use]
    pub fn prompt(&self, case: &Case<'_>, step: &Step, day: NaiveDate, plain: bool) -> Prompt {
        if let Some(pending) = &self.pending {
            let ask = if !pending.apart.is_empty() {
                "yes takes both, a new value replaces it, no drops it > "
            } else if pending.past.is_some() {
                "past puts it right, yes keeps it, a new value replaces it, no drops it > "
            } else if let Some(crate::job::Event::Seen { .. }) = &pending.first {
                "yes replaces what was found, no leaves it as it is > "
            } else {
                "yes keeps it, a new value replaces it, no drops it > "
            };
            let asked = pending.questions.iter();
            return Prompt {
                lines: asked.map(|question| format!("? {question}")).collect(),
                ask: ask.to_owned(),
            };
        }
        if self.reason_for.is_some() {
            return reasons();
        }
        if let Some(mangled) = &self.mangled {
            let digits = super::layout::translated(mangled).unwrap_or_default();
            return Prompt {
                lines: vec![format!(
                    "? `{mangled}` looks like {digits} typed on another keyboard layout; take it so from now on?"
                )],
                ask: "yes or no > ".to_owned(),
            };
        }
        let mut prompt = Prompt {
            lines: Vec::new(),
            ask: "> ".to_owned(),
        };
        prompt.lines.push(self.heading(case, step));
        prompt
            .lines
            .extend(caution(step).map(|text| format!("  caution: {text}")));
        match step {
            Step::Look { place, item, phase } => look(case, *place, *item, *phase, &mut prompt),
            Step::Read {
                place,
                item,
                phase,
                slot,
            } => {
                self.show_read(case, *place, *item, *phase, *slot, plain, &mut prompt);
            }
            Step::Second { item, slot, .. } => {
                prompt.ask = format!("{}, read blind > ", slot_words(case, *item, *slot));
            }
            Step::Zero { .. } => prompt.ask = "reading on the standard > ".to_owned(),
            Step::Stage { .. } => {
                prompt.lines.extend(self.raised(case, step, day));
                prompt.ask = "all fasteners, star order: 1 = done > ".to_owned();
            }
            Step::Final { fastener, .. } => {
                prompt.ask = format!("click? type the fastener's number ({fastener}) > ");
            }
            Step::SecondPass { .. } => {
                prompt.ask = "every fastener clicked without turning: 1 = done > ".to_owned();
            }
            Step::Calliper { single_use, .. } => {
                let new = if *single_use { "new bolt, " } else { "" };
                prompt.ask = format!("{new}click: 1 = done > ");
            }
            Step::Gate(_) => prompt.ask = "yes, or no and why > ".to_owned(),
            Step::RoadTest => {
                prompt.ask =
                    "1 gone, 2 better, 3 same, 4 not tried; then the km driven > ".to_owned();
            }
        }
        prompt
    }

    fn heading(&self, case: &Case<'_>, step: &Step) -> String {
        let part = self.part(case).unwrap_or(Part::Refit);
        let all: Vec<Stage> = steps(case, part);
        let here: Vec<&Stage> = match step.corner() {
            Some(corner) => all
                .iter()
                .filter(|s| s.step.corner() == Some(corner))
                .collect(),
            None => all.iter().filter(|s| s.step.corner().is_none()).collect(),
        };
        let number = here
            .iter()
            .position(|stage| stage.step == *step)
            .map_or(0, |i| i + 1);
        let next = self.after(case, step).map_or(String::new(), |next| {
            let corner = next.corner().filter(|c| step.corner() != Some(*c));
            let place = corner.map_or(String::new(), |c| format!("{c} "));
            match step.about() {
                Some(about) if next.about() == Some(about) => String::new(),
                _ => format!("   (then {place}{})", title(case, &next)),
            }
        });
        // A step out of turn, such as a check after a fall, has no number in the row.
        let number = match number {
            0 => String::new(),
            number => format!("{number} of {} · ", here.len()),
        };
        let here = format!("{} · {number}{}", self.place_word(step), title(case, step));
        // What comes next is shown where the line has room for it.
        if here.chars().count() + next.chars().count() <= 79 {
            here + &next
        } else {
            here
        }
    }

    fn place_word(&self, step: &Step) -> String {
        match (step.corner(), step) {
            (Some(corner), _) if self.names == SideNames::LeftRight => corner.to_string(),
            (Some(corner), _) => format!("{corner} ({})", self.names.of(corner)),
            (None, Step::Zero { .. }) => "instruments".to_owned(),
            (None, Step::Gate(_)) => "before it moves".to_owned(),
            _ => "vehicle".to_owned(),
        }
    }

    #[allow(clippy::too_many_arguments)] // one screen line each
    fn show_read(
        &self,
        case: &Case<'_>,
        place: Place,
        item: Item,
        phase: Phase,
        slot: Slot,
        plain: bool,
        prompt: &mut Prompt,
    ) {
        let instrument = self.instrument(case, place, item);
        let unit = instrument.map_or("", |i| i.unit.as_str());
        let name = instrument.map_or("no instrument", |i| i.id.as_str());
        let take = states::set_at_hand(case, place, item, phase);
        let ring: Vec<Length> = take.map(ring_so_far).unwrap_or_default();
        if let Some(last) = ring.last() {
            let thinnest = match (item, ring.iter().min()) {
                (Item::DiscThickness, Some(thinnest)) => format!("  thinnest {thinnest}"),
                _ => String::new(),
            };
            prompt.lines.push(format!(
                "  so far {}  last {last}{thinnest}  spread {:.0} µm",
                sparkline(&ring, plain),
                spread(&ring).um()
            ));
        }
        prompt.lines.extend(limit_line(case, place, item));
        prompt.lines.extend(mate_line(case, place, item));
        let optional = slots(case, item).contains(&(slot, true));
        let pass = if optional { ", Enter = none" } else { "" };
        let from = match slot {
            Slot::Temperature => "°C".to_owned(),
            _ => format!("{name} {unit}"),
        };
        prompt.ask = format!("{} [{from}{pass}] > ", slot_words(case, item, slot));
    }
}

fn reasons() -> Prompt {
    let list = super::answer::REASONS
        .iter()
        .zip(1..)
        .map(|(text, n)| format!("  {n} {text}"));
    Prompt {
        lines: std::iter::once("Not inspected needs a reason:".to_owned())
            .chain(list)
            .collect(),
        ask: "number or words > ".to_owned(),
    }
}

fn look(case: &Case<'_>, place: Place, item: Item, phase: Phase, prompt: &mut Prompt) {
    let list: Vec<String> = defect::defects(item)
        .iter()
        .zip(1..)
        .map(|(defect, n)| format!("{n} {}", defect.words))
        .collect();
    prompt
        .lines
        .extend(list.iter().map(|line| format!("  {line}")));
    if phase == Phase::AsLeft
        && let Some(found) = case.job.seen(place, item, Phase::AsFound)
        && let crate::job::Observation::Defect { code, .. } = &found.observation
    {
        let words = defect::find(item, code).map_or(code.as_str(), |defect| defect.words);
        prompt.lines.push(format!("  as found: {words}"));
    }
    prompt.ask = "0 sound, number of the defect, - not inspected > ".to_owned();
}

/// The ring's points so far.
pub(super) fn ring_so_far(take: &Take) -> Vec<Length> {
    take.lengths(Slot::Point)
        .iter()
        .filter_map(|readings| readings.last().copied())
        .collect()
}

fn spread(ring: &[Length]) -> Length {
    match (ring.iter().min(), ring.iter().max()) {
        (Some(low), Some(high)) => *high - *low,
        _ => Length::ZERO,
    }
}

fn limit_line(case: &Case<'_>, place: Place, item: Item) -> Option<String> {
    let axle = case.axle(place.corner()?.axle())?;
    let (new, limit, word) = match item {
        Item::DiscThickness => {
            let disc = axle.disc.as_ref()?;
            (disc.new.as_ref(), disc.discard.as_ref()?, "minimum")
        }
        Item::PadsThickness => {
            let pads = axle.pads.as_ref()?;
            (pads.new.as_ref(), pads.min.as_ref()?, "minimum")
        }
        Item::LiningsThickness => {
            let linings = axle.linings.as_ref()?;
            (linings.new.as_ref(), linings.min.as_ref()?, "minimum")
        }
        Item::DrumDiameter => {
            let drum = axle.drum.as_ref()?;
            (drum.new.as_ref(), drum.max.as_ref()?, "maximum")
        }
        Item::DiscRunout => (None, &axle.disc.as_ref()?.runout.as_ref()?.max, "maximum"),
        Item::BearingFloat => (None, axle.bearing_float_max.as_ref()?, "maximum"),
        _ => return None,
    };
    let new = new
        .map(|new| format!("new {}, ", new.value))
        .unwrap_or_default();
    Some(format!("  {new}{word} {}", limit.value))
}

/// The same item at the other end of the axle, when it was measured.
fn mate_line(case: &Case<'_>, place: Place, item: Item) -> Option<String> {
    let mate = place.corner()?.mate();
    let take = case
        .job
        .judged_take(Place::Corner(mate), item, Phase::AsFound)?;
    let ring = ring_so_far(take);
    let words = match item {
        Item::DiscThickness => format!("thinnest {} as read", ring.iter().min()?),
        Item::DiscRunout if !ring.is_empty() => format!("spread {:.0} µm", spread(&ring).um()),
        _ => {
            let all = take
                .readings()
                .map(|r| Length::from_nm(r.event.entered.value));
            format!("smallest {}", all.min()?)
        }
    };
    Some(format!("  other side ({mate}): {words}"))
}

fn title(case: &Case<'_>, step: &Step) -> String {
    match step {
        Step::Zero { instrument } => {
            let known = case.register.get(instrument);
            let standard = known.map_or(String::new(), |i| super::reading::standard(i).1);
            format!("zero check of {instrument} ({standard})")
        }
        Step::Second { item, .. } => format!("{}, second reading", item.title()),
        Step::Look { item, phase, .. } | Step::Read { item, phase, .. } => match phase {
            Phase::AsFound => item.title().to_owned(),
            Phase::AsLeft => format!("{}, as left", item.title()),
        },
        Step::Stage { number, torque, .. } => format!("wheel fasteners, stage {number}: {torque}"),
        Step::Final {
            fastener, torque, ..
        } => {
            format!("wheel fastener {fastener}, final {torque}")
        }
        Step::SecondPass { torque, .. } => format!("second pass at {torque}"),
        Step::Calliper {
            proceeding,
            fastener,
            torque,
            ..
        } => {
            let what = match proceeding {
                Proceeding::CalliperCarrier => "carrier bolt",
                Proceeding::SlidePin => "slide pin",
                _ => "hose union",
            };
            format!("{what} {fastener}, {torque}")
        }
        Step::Gate(gate) => gate_title(*gate).to_owned(),
        Step::RoadTest => "road test: what became of the complaint".to_owned(),
    }
}

const fn gate_title(gate: GateItem) -> &'static str {
    gate.question()
}

/// The slot in the technician's words: `point 6 of 10, stud 3½`.
pub(super) fn slot_words(case: &Case<'_>, item: Item, slot: Slot) -> String {
    match slot {
        Slot::Point(n) => {
            let stud = n.div_ceil(2);
            let half = if n % 2 == 0 { "½" } else { "" };
            let of = case.ring_points();
            if of == 2 * u16::from(case.sheet.wheel.fasteners) {
                format!("{n} of {of}, stud {stud}{half}")
            } else {
                format!("{n} of {of}")
            }
        }
        Slot::Return => "back at stud 1".to_owned(),
        Slot::Swept => "swept: total, or lowest and highest".to_owned(),
        Slot::Temperature => "disc temperature".to_owned(),
        Slot::Inner(1) => "inner pad, leading end".to_owned(),
        Slot::Inner(_) => "inner pad, trailing end".to_owned(),
        Slot::Outer(1) => "outer pad, leading end".to_owned(),
        Slot::Outer(_) => "outer pad, trailing end".to_owned(),
        Slot::Lining(1) => "leading shoe".to_owned(),
        Slot::Lining(_) => "trailing shoe".to_owned(),
        Slot::Open(n) => format!("open edge, direction {n}"),
        Slot::Closed(n) => format!("closed edge, direction {n}"),
        other if item == Item::FluidBoiling => {
            let _ = other;
            "boiling point".to_owned()
        }
        Slot::Low => "lowest".to_owned(),
        Slot::High => "highest".to_owned(),
        _ => "reading".to_owned(),
    }
}

/// A length in the unit it was read in, with the digits of a gauge.
#[must_use]
pub(super) fn as_read(length: Length) -> String {
    format!(
        "{} mm",
        length
            .rounded(LengthUnit::Millimetre, 4)
            .trim_end_matches('0')
            .trim_end_matches('.')
    )
}

/// Lines for the start of a part of the job.
#[must_use]
pub fn opening_lines(part: Part) -> &'static [&'static str] {
    match part {
        Part::Found => BEGIN,
        Part::Left => &[],
        Part::Refit => REFIT,
    }
}

/// Why a step is done and how, with a picture where one helps.
#[must_use]
pub(super) fn why_lines(step: &Step) -> Vec<String> {
    let mut lines = vec![why(step).to_owned()];
    if let Step::Read { item, slot, .. } = step {
        lines.extend(
            super::picture::picture(*item, *slot)
                .iter()
                .map(|line| (*line).to_owned()),
        );
    }
    lines
}

/// The corners still open in a part, for `show`.
#[must_use]
pub(super) fn open_corners(case: &Case<'_>, part: Part) -> Vec<(Option<Corner>, usize, usize)> {
    let mut counts: Vec<(Option<Corner>, usize, usize)> = Vec::new();
    for stage in steps(case, part)
        .into_iter()
        .filter(|stage| !stage.optional)
    {
        let corner = stage.step.corner();
        let done = usize::from(stage.done);
        match counts.iter_mut().find(|(c, ..)| *c == corner) {
            Some((_, answered, all)) => {
                *answered += done;
                *all += 1;
            }
            None => counts.push((corner, done, 1)),
        }
    }
    counts
}
