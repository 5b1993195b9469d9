//! What a job keeps of its events: readings, looks, sets of readings.

use std::collections::{BTreeMap, BTreeSet};

use chrono::{DateTime, FixedOffset};

use crate::job::event::{ReadingEvent, ZeroCheckEvent};
use crate::job::{Cure, Item, Observation, Override, Part, Phase, Place, Slot};
use crate::units::Length;

/// Who wrote an event, when, and as which one.
#[derive(Clone, Debug, PartialEq)]
pub struct Meta {
    /// Sequence number in the journal, from 1.
    pub seq: u64,
    /// When.
    pub at: DateTime<FixedOffset>,
    /// Who.
    pub by: String,
}

/// A reading that stands.
#[derive(Clone, Debug, PartialEq)]
pub struct Reading {
    /// Who and when.
    pub meta: Meta,
    /// What was read.
    pub event: ReadingEvent,
}

/// A look that stands.
#[derive(Clone, Debug, PartialEq)]
pub struct Seen {
    /// Who and when.
    pub meta: Meta,
    /// What was seen.
    pub observation: Observation,
}

/// A zero check that stands.
#[derive(Clone, Debug, PartialEq)]
pub struct ZeroCheck {
    /// Who and when.
    pub meta: Meta,
    /// The check.
    pub event: ZeroCheckEvent,
}

/// A part fitted.
#[derive(Clone, Debug, PartialEq)]
pub struct Fitted {
    /// Who and when.
    pub meta: Meta,
    /// Where.
    pub place: Place,
    /// What.
    pub part: Part,
    /// Batch, if known.
    pub batch: Option<String>,
}

/// Something that was done, or a part that was fitted.
#[derive(Clone, Debug, PartialEq)]
pub struct Done {
    /// Who and when.
    pub meta: Meta,
    /// Where.
    pub place: Place,
    /// What.
    pub cure: Cure,
    /// A note, or the part's batch.
    pub note: String,
}

/// A set of readings that was struck.
#[derive(Clone, Debug, PartialEq)]
pub struct StruckSet {
    /// As found or as left.
    pub phase: Phase,
    /// The readings as they were.
    pub take: Take,
    /// Who struck it and when.
    pub struck: Meta,
    /// Why.
    pub reason: String,
}

/// A verdict somebody set aside.
#[derive(Clone, Debug, PartialEq)]
pub struct OverrideAsked {
    /// Who and when.
    pub meta: Meta,
    /// Where.
    pub place: Place,
    /// What.
    pub item: Item,
    /// As found or as left.
    pub phase: Phase,
    /// The verdict it is to have.
    pub verdict: Override,
    /// Why.
    pub reason: String,
    /// Who else agreed.
    pub second_person: Option<String>,
}

/// One set of readings of an item: a ring, a pair of pads.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Take {
    /// Number of the set, from 1.
    pub number: u32,
    /// Readings by slot, in order of entry within a slot.
    pub slots: BTreeMap<Slot, Vec<Reading>>,
}

impl Take {
    /// The length read at a slot: its last reading.
    #[must_use]
    pub fn length(&self, slot: Slot) -> Option<Length> {
        self.slots
            .get(&slot)?
            .last()
            .map(|r| Length::from_nm(r.event.entered.value))
    }

    /// Every length of the slots `make(1)`, `make(2)`, … up to the first gap, all readings a slot.
    #[must_use]
    pub fn lengths(&self, make: impl Fn(u16) -> Slot) -> Vec<Vec<Length>> {
        (1..)
            .map_while(|n| self.slots.get(&make(n)))
            .map(|rs| {
                rs.iter()
                    .map(|r| Length::from_nm(r.event.entered.value))
                    .collect()
            })
            .collect()
    }

    /// All readings, in slot order.
    pub fn readings(&self) -> impl Iterator<Item = &Reading> {
        self.slots.values().flatten()
    }

    /// The sequence number of the set's first reading; 0 of an empty one.
    #[must_use]
    pub fn begun(&self) -> u64 {
        self.readings().map(|r| r.meta.seq).min().unwrap_or(0)
    }

    /// The latest reading of the set.
    #[must_use]
    pub fn last(&self) -> Option<&Reading> {
        self.readings().max_by_key(|r| r.meta.seq)
    }
}

/// A run-out ring with the clocking it was taken at.
#[derive(Clone, Debug, PartialEq)]
pub struct RunoutTake<'a> {
    /// The readings.
    pub take: &'a Take,
    /// As found or as left.
    pub phase: Phase,
    /// The disc's clocking.
    pub clocking: u8,
}

/// The final clicks of one wheel.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct WheelClicks {
    /// Earlier stages confirmed.
    pub stages: BTreeSet<u8>,
    /// Fasteners whose final click was confirmed, with the wrench.
    pub finals: BTreeMap<u8, String>,
    /// The second pass at full torque, with the wrench.
    pub second_pass: Option<String>,
    /// How far each fastener turned on the second pass, where noted.
    pub turned_deg: BTreeMap<u8, u16>,
}
