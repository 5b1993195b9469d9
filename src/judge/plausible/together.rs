//! Everything there is to ask about entries of one item: the one function behind every prompt.

use super::{
    Known, again_question, beyond_gauge, boiling_question, cast_question, double_send,
    entry_question, heat_question, known, question, rollers_question, sign_question, split_entry,
    warm_gauge_question,
};
use crate::job::{Corner, Entered, Instrument, Item, Phase, Place, Quantity, Slot, Source, Take};
use crate::judge::Case;
use crate::spec::BrakeKind;
use crate::units::{Force, Length, Temperature};

/// What entries are of, and what they were read with.
#[derive(Clone, Copy, Debug)]
pub struct About<'a> {
    /// Where.
    pub place: Place,
    /// What.
    pub item: Item,
    /// As found or as left.
    pub phase: Phase,
    /// Clocking of the disc on the hub, for run-out.
    pub clocking: Option<u8>,
    /// The instrument the values come from, when one is known.
    pub instrument: Option<&'a Instrument>,
}

/// One value as it was given.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Entry<'a> {
    /// Where in its set it belongs.
    pub slot: Slot,
    /// Exactly as typed or sent.
    pub text: &'a str,
    /// What was understood, in the base unit of its quantity.
    pub value: i64,
    /// Whether a gauge sent it.
    pub from_gauge: bool,
    /// Milliseconds since the entry before it, where somebody timed them.
    pub gap_ms: Option<u64>,
}

impl<'a> Entry<'a> {
    /// A value typed by hand.
    #[must_use]
    pub fn typed(slot: Slot, entered: &'a Entered) -> Self {
        Self {
            slot,
            text: &entered.text,
            value: entered.value,
            from_gauge: false,
            gap_ms: None,
        }
    }

    const fn length(&self) -> Length {
        Length::from_nm(self.value)
    }
}

/// The entries a set of readings holds already, in the order they were given.
#[must_use]
pub fn entries_of(take: &Take) -> Vec<Entry<'_>> {
    let mut readings: Vec<_> = take.readings().collect();
    readings.sort_by_key(|reading| reading.meta.seq);
    readings
        .into_iter()
        .map(|reading| Entry {
            from_gauge: reading.event.source == Source::Gauge,
            ..Entry::typed(reading.event.slot, &reading.event.entered)
        })
        .collect()
}

/// A question about one of the entries.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Raised {
    /// Which of the entries, counted from 0.
    pub entry: usize,
    /// Its slot.
    pub slot: Slot,
    /// The question.
    pub question: String,
}

/// Every question that `entries` raise, given after those `before` them in the same set.
///
/// One entry may raise several; they come in the order of the entries. An empty `before` means a set
/// of its own, and a set beside an earlier one of the same item is asked about.
///
/// # Examples
/// ```
/// use brakecorner::judge::plausible::{Entry, run_together};
/// // A line that is no number may be two of them.
/// let (question, [one, two]) = run_together("24.30824.309").unwrap();
/// assert!(question.contains("was Enter lost"));
/// assert_eq!((one.as_str(), two.as_str()), ("24.308", "24.309"));
/// ```
#[must_use]
pub fn questions(
    case: &Case<'_>,
    about: About<'_>,
    before: &[Entry<'_>],
    entries: &[Entry<'_>],
) -> Vec<Raised> {
    let friction = before.iter().filter(|entry| is_friction(entry.slot));
    let mut of_part = Known {
        fellows: friction.map(Entry::length).collect(),
        mate: of_mate(case, about),
        ..known(case, about.place, about.item)
    };
    let mut so_far: Vec<Entry<'_>> = before.to_vec();
    let mut raised = Vec::new();
    for (index, entry) in entries.iter().enumerate() {
        let mut ask = |question: Option<String>| {
            raised.extend(question.map(|question| Raised {
                entry: index,
                slot: entry.slot,
                question,
            }));
        };
        if so_far.is_empty() {
            ask(measured_already(case, about));
            ask(other_brake(case, about.place, about.item));
            ask(turned(case, about));
        }
        ask(of_text(entry, &so_far));
        // What cannot be a size of the part need not be held against the gauge too.
        let of_value = of_value(about.item, entry, &so_far, &of_part);
        // A value that is doubted itself is no measure for its fellows.
        if of_value.is_none() && is_friction(entry.slot) {
            of_part.fellows.push(entry.length());
        }
        ask(of_value.or_else(|| beyond_gauge(case, about, entry)));
        so_far.push(*entry);
        if index + 1 == entries.len() {
            ask(of_set(case, about.item, entry, &so_far));
        }
    }
    raised
}

/// The question a text raises that is no number, because it is two of them; with both.
#[must_use]
pub fn run_together(text: &str) -> Option<(String, [String; 2])> {
    let (one, two) = split_entry(text)?;
    let question = entry_question(text, &[])?;
    Some((question, [one, two]))
}

/// The question an item raises that a brake of the sheet's kind does not have.
#[must_use]
pub fn other_brake(case: &Case<'_>, place: Place, item: Item) -> Option<String> {
    let disc = match item {
        Item::DrumDiameter | Item::LiningsThickness | Item::CylinderLeak => false,
        Item::PadsThickness
        | Item::PadsCondition
        | Item::DiscThickness
        | Item::DiscRunout
        | Item::DiscSurface
        | Item::CalliperLeak
        | Item::SlidePins
        | Item::Piston => true,
        _ => return None,
    };
    let corner = place.corner()?;
    let is_disc = matches!(case.axle(corner.axle())?.brake, BrakeKind::Disc { .. });
    let has = if is_disc { "disc" } else { "drum" };
    (is_disc != disc).then(|| {
        format!("the sheet has a {has} brake at {corner}, which has no {item}; is it the right corner and the right sheet?")
    })
}

/// The question a ring raises that was taken at another clocking than the disc has, as far as anybody
/// said: turning it is work, and undoes the calliper.
fn turned(case: &Case<'_>, about: About<'_>) -> Option<String> {
    let given = about.clocking.filter(|_| about.item == Item::DiscRunout)?;
    let corner = about.place.corner()?;
    let now = case.clocking_now(corner)?;
    (given != now).then(|| {
        format!("the disc at {corner} is at clocking {now} as far as was logged, and this ring is of clocking {given}; was it turned? `work … reclocked {given}` says so")
    })
}

/// The question the mark read on a corner's disc or drum raises beside its sheet.
#[must_use]
pub fn mark_question(case: &Case<'_>, corner: Corner, mark: Length) -> Option<String> {
    let axle = case.axle(corner.axle())?;
    let is_disc = matches!(axle.brake, BrakeKind::Disc { .. });
    let item = if is_disc {
        Item::DiscThickness
    } else {
        Item::DrumDiameter
    };
    let part = known(case, Place::Corner(corner), item);
    cast_question(mark, part.new, part.limit, !is_disc)
}

/// A set beside an earlier one. Who names the clocking takes a further ring on purpose.
fn measured_already(case: &Case<'_>, about: About<'_>) -> Option<String> {
    let corner = about.place.corner()?;
    let again = case
        .job
        .takes(about.place, about.item, about.phase)
        .any(|take| take.readings().next().is_some());
    (again && about.clocking.is_none()).then(|| again_question(corner, about.item))
}

/// The smallest reading of the same item at the other end of the axle in this state.
fn of_mate(case: &Case<'_>, about: About<'_>) -> Option<Length> {
    let mate = Place::Corner(about.place.corner()?.mate());
    let take = case.job.judged_take(mate, about.item, about.phase)?;
    let values = entries_of(take).into_iter();
    values
        .filter(|entry| is_friction(entry.slot))
        .map(|entry| entry.length())
        .min()
}

const fn is_friction(slot: Slot) -> bool {
    matches!(slot, Slot::Inner(_) | Slot::Outer(_) | Slot::Lining(_))
}

/// What the text and its timing say, before the value is looked at.
fn of_text(entry: &Entry<'_>, before: &[Entry<'_>]) -> Option<String> {
    if matches!(entry.slot, Slot::Locked(_)) {
        return None;
    }
    if matches!(entry.slot, Slot::Temperature | Slot::GaugeTemperature) {
        let decimals = entry.text.rsplit_once(['.', ',']);
        let decimals = decimals.map_or(0, |(_, after)| after.trim().len());
        return (decimals >= 2).then(|| {
            format!(
                "{0} looks like a thickness, and a temperature is asked; is it {0} °C?",
                entry.text
            )
        });
    }
    let like: Vec<&Entry<'_>> = before
        .iter()
        .filter(|other| std::mem::discriminant(&other.slot) == std::mem::discriminant(&entry.slot))
        .collect();
    if let Some(last) = like.last()
        && let Some(gap) = entry.gap_ms
        && double_send(last.text, entry.text, gap, entry.from_gauge)
    {
        return Some(format!(
            "{} came twice within {gap} ms; did the gauge send it twice?",
            entry.text
        ));
    }
    let texts: Vec<&str> = like.iter().map(|other| other.text).collect();
    entry_question(entry.text, &texts)
}

fn of_value(
    item: Item,
    entry: &Entry<'_>,
    before: &[Entry<'_>],
    of_part: &Known,
) -> Option<String> {
    let temperature = Temperature::from_millidegrees(entry.value);
    match entry.slot {
        Slot::Temperature => return heat_question(temperature),
        Slot::GaugeTemperature => return warm_gauge_question(temperature),
        _ => {}
    }
    match Quantity::of(item, entry.slot) {
        Quantity::Length => {
            let known = Known {
                ring: ring(before),
                ..of_part.clone()
            };
            question(item, entry.slot, entry.length(), &known)
        }
        Quantity::Temperature => boiling_question(Temperature::from_millidegrees(entry.value)),
        Quantity::Force | Quantity::Mass | Quantity::Flag => None,
    }
}

/// What shows only when a set is whole: a lost sign, forces in another unit.
fn of_set(case: &Case<'_>, item: Item, last: &Entry<'_>, entries: &[Entry<'_>]) -> Option<String> {
    match item {
        Item::DiscRunout => {
            let points = ring(entries);
            let whole =
                last.slot == Slot::Return || points.len() == usize::from(case.ring_points());
            let ends = matches!(last.slot, Slot::Return | Slot::Point(_));
            (whole && ends).then(|| sign_question(&points)).flatten()
        }
        Item::ServiceEfficiency | Item::ParkingEfficiency => {
            let mut forces = std::collections::BTreeMap::new();
            let mut mass = None;
            for entry in entries {
                match entry.slot {
                    Slot::At(corner) => {
                        forces.insert(corner, Force::from_mn(entry.value));
                    }
                    Slot::Mass => mass = Some(entry.value),
                    _ => {}
                }
            }
            // Half of the wheels' forces give half of the efficiency: nothing to ask yet.
            let whole = match item {
                Item::ServiceEfficiency => case.corners().all(|c| forces.contains_key(&c)),
                _ => forces.len() >= 2,
            };
            let forces: Vec<Force> = forces.into_values().collect();
            // Grams fit an f64 exactly up to 9·10^12 kg.
            #[allow(clippy::cast_precision_loss)]
            let mass_kg = mass? as f64 / 1e3;
            whole.then(|| rollers_question(&forces, mass_kg)).flatten()
        }
        _ => None,
    }
}

/// The last reading of each point of a ring, in order.
fn ring(entries: &[Entry<'_>]) -> Vec<Length> {
    let mut points = std::collections::BTreeMap::new();
    for entry in entries {
        if let Slot::Point(n) = entry.slot {
            points.insert(n, entry.length());
        }
    }
    points.into_values().collect()
}
