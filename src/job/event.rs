//! The events a job is made of. A fact once written is never changed: a correction is a new event.

use chrono::NaiveDate;
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use super::desk::{Contact, QuoteEdit, QuoteLine, RefitPoint, RetorqueCheck, WrenchValue};
use super::{Axle, Corner, Deed, Item, Place, Slot};
use crate::units::{Distance, DistanceUnit, Torque, VehicleBuild};

/// One thing that happened, in the form it has in the journal.
///
/// Values stand in the base unit of their quantity (nm, mN, thousandths of a degree, mm of
/// distance) beside the text exactly as it was given.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(tag = "kind", rename_all = "snake_case")]
pub enum Event {
    /// The job was opened.
    Opened(Box<Opening>),
    /// A thickness from before this job: the start of a wear series, if the part is still the same.
    Earlier {
        /// The corner it was measured at.
        corner: Corner,
        /// The item measured.
        item: Item,
        /// The odometer then.
        odometer: Distance,
        /// The thinnest reading then.
        #[serde(rename = "nm")]
        thickness: crate::units::Length,
        /// Where it is known from.
        source: String,
        /// The day it was measured, if known.
        #[serde(skip_serializing_if = "Option::is_none", default)]
        date: Option<NaiveDate>,
        /// Whether the part was renewed since.
        #[serde(skip_serializing_if = "Since::is_same", default)]
        since: Since,
    },
    /// When the parts that are on a corner now were fitted, from before this job.
    FittedBefore {
        /// The corner.
        corner: Corner,
        /// The item that wears.
        item: Item,
        /// The odometer then.
        odometer: Distance,
        /// What they measured then; none = the size of a new part.
        #[serde(rename = "nm", skip_serializing_if = "Option::is_none", default)]
        thickness: Option<crate::units::Length>,
    },
    /// Facts of the vehicle that rules ask for, learned after the job was opened; what is empty says
    /// nothing.
    Facts {
        /// Vehicle class.
        #[serde(default, skip_serializing_if = "String::is_empty")]
        class: String,
        /// Date of first use.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        first_used: Option<NaiveDate>,
        /// What is known of its build.
        #[serde(default, skip_serializing_if = "VehicleBuild::is_empty")]
        build: VehicleBuild,
    },
    /// The clockings in which an axle's discs can be fitted, as the vehicle's file knows them.
    Clockings {
        /// The axle.
        axle: Axle,
        /// The clockings.
        possible: Vec<u8>,
    },
    /// The vehicle is built without an item at a corner: there is nothing to inspect.
    Absent {
        /// The corner.
        corner: Corner,
        /// The item it has not.
        item: Item,
        /// Who said so first.
        by: String,
        /// The day that was.
        on: NaiveDate,
    },
    /// An instrument was checked on its setting standard.
    ZeroCheck(ZeroCheckEvent),
    /// An instrument fell or was knocked: until it is checked again no reading of it can pass.
    Dropped {
        /// The instrument.
        instrument: String,
    },
    /// Another depth of the inspection was chosen after the job was opened.
    DepthChosen {
        /// The depth from here on.
        depth: Depth,
    },
    /// A value was read from an instrument.
    Reading(Box<ReadingEvent>),
    /// Something was looked at, or could not be.
    Seen {
        /// Where.
        place: Place,
        /// What.
        item: Item,
        /// As found or as left.
        phase: Phase,
        /// What was seen.
        #[serde(flatten)]
        observation: Observation,
    },
    /// A second person read the same value without seeing the first; evidence, not judged.
    Second {
        /// Where.
        place: Place,
        /// What.
        item: Item,
        /// As found or as left.
        phase: Phase,
        /// Which value.
        slot: Slot,
        /// The value.
        #[serde(flatten)]
        entered: Entered,
        /// The instrument it was read from.
        #[serde(skip_serializing_if = "Option::is_none", default)]
        instrument: Option<String>,
    },
    /// An optional value was passed over: it will not be read in this set.
    Passed {
        /// Where.
        place: Place,
        /// What.
        item: Item,
        /// As found or as left.
        phase: Phase,
        /// Which value.
        slot: Slot,
    },
    /// An earlier event was struck out; it stays readable.
    Struck {
        /// Sequence number of the event struck.
        target: u64,
        /// Why.
        reason: String,
        /// Who else agreed; needed once what is struck was signed for.
        #[serde(skip_serializing_if = "Option::is_none", default)]
        second_person: Option<String>,
    },
    /// The program asked about a value, and this was answered.
    Asked(Answered),
    /// A remark.
    Note {
        /// What it is about.
        place: Place,
        /// The item, when it is about one.
        #[serde(skip_serializing_if = "Option::is_none", default)]
        item: Option<Item>,
        /// The remark.
        text: String,
    },
    /// A picture was added to the job's folder.
    Photo {
        /// Where it was taken.
        place: Place,
        /// What it shows.
        item: Item,
        /// SHA-256 of the file, which is also its name under `photos/`.
        sha256: String,
        /// The file's name when it was given.
        name: String,
    },
    /// The limit cast or stamped on a disc or a drum was read.
    CastMark {
        /// Where.
        corner: Corner,
        /// The value as read.
        #[serde(flatten)]
        entered: Entered,
    },
    /// A part was replaced; the found readings of the old part no longer speak for the vehicle.
    Fitted {
        /// Where.
        place: Place,
        /// What was fitted.
        part: Part,
        /// Batch or lot number, if known.
        #[serde(skip_serializing_if = "Option::is_none", default)]
        batch: Option<String>,
    },
    /// Something was done that is no part fitted: cleaned, adjusted, tightened, turned.
    Work {
        /// Where.
        place: Place,
        /// What was done.
        #[serde(flatten)]
        deed: Deed,
        /// A note in free words.
        #[serde(default, skip_serializing_if = "String::is_empty")]
        note: String,
    },
    /// Somebody set a verdict aside; whether that may stand is for the judgement to say.
    Overridden {
        /// Where.
        place: Place,
        /// What.
        item: Item,
        /// As found or as left.
        phase: Phase,
        /// The verdict it is to have.
        verdict: Override,
        /// Why; never empty.
        reason: String,
        /// Who else agreed; needed for a less severe verdict.
        #[serde(skip_serializing_if = "Option::is_none", default)]
        second_person: Option<String>,
    },
    /// The road test answered the complaint.
    ComplaintAnswered {
        /// How.
        outcome: Complaint,
        /// Distance driven for it.
        distance: Distance,
    },
    /// A torque step of the refit.
    Torque(TorqueTask),
    /// A wrench was refused for a final torque; the step is asked again.
    TorqueRefused {
        /// Where.
        corner: Corner,
        /// The wrench.
        instrument: String,
        /// Why it does not count.
        reason: String,
    },
    /// A point of the list to clear before the vehicle moves.
    Gate {
        /// Which.
        gate: GateItem,
        /// Done, or not.
        done: bool,
        /// Reason when it was not done or does not apply.
        #[serde(skip_serializing_if = "String::is_empty", default)]
        reason: String,
    },
    /// The walk was left; this is the state the vehicle stands in.
    Left {
        /// On stands, lowered with the wheels hand-tight, torqued …
        vehicle: String,
    },
    /// Something about a person or the vehicle's identity is known; here stands its salted digest
    /// alone.
    Personal {
        /// What is known.
        field: PersonalField,
        /// SHA-256 of salt, field and value; see [`crate::shop::private`].
        sha256: String,
    },
    /// A revision was signed.
    Signed {
        /// Revision number.
        revision: u32,
        /// SHA-256 of the record file.
        sha256: String,
    },
    /// The quote the customer came in with, line by line; a later one replaces it.
    OriginalQuote {
        /// Its lines.
        lines: Vec<QuoteLine>,
    },
    /// The proposed quote was changed by hand.
    QuoteEdited(QuoteEdit),
    /// The customer was spoken to, or was not reached.
    Contact(Box<Contact>),
    /// A point of the refit was done, or not with a reason.
    RefitPoint {
        /// The wheel, for what is done a wheel.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        corner: Option<Corner>,
        /// Which point.
        point: RefitPoint,
        /// Done, or not.
        done: bool,
        /// Why not, or what was noted.
        #[serde(skip_serializing_if = "String::is_empty", default)]
        reason: String,
    },
    /// A torque wrench gave a value; the click itself is an event of its own.
    WrenchValue(WrenchValue),
    /// The wheels' torque was checked again after some distance.
    RetorqueChecked(Box<RetorqueCheck>),
}

impl Event {
    /// Whether a verdict may depend on it. What is said at the desk, remarks, photos and signatures
    /// change none.
    #[must_use]
    pub const fn is_judged(&self) -> bool {
        !matches!(
            self,
            Self::Asked(_)
                | Self::Note { .. }
                | Self::Photo { .. }
                | Self::Left { .. }
                | Self::Personal { .. }
                | Self::Signed { .. }
                | Self::OriginalQuote { .. }
                | Self::QuoteEdited(_)
                | Self::Contact(_)
                | Self::RetorqueChecked(_)
                | Self::Second { .. }
        )
    }

    /// The corner an event is of; none for what belongs to an axle, the vehicle or an instrument.
    #[must_use]
    pub fn corner(&self) -> Option<Corner> {
        match self {
            Self::Reading(reading) => reading.place.corner(),
            Self::Seen { place, .. }
            | Self::Second { place, .. }
            | Self::Passed { place, .. }
            | Self::Note { place, .. }
            | Self::Photo { place, .. }
            | Self::Fitted { place, .. }
            | Self::Work { place, .. } => place.corner(),
            Self::CastMark { corner, .. }
            | Self::TorqueRefused { corner, .. }
            | Self::Absent { corner, .. } => Some(*corner),
            Self::Torque(task) => Some(task.corner),
            Self::RefitPoint { corner, .. } => *corner,
            _ => None,
        }
    }
}

/// What a salted digest stands for.
#[derive(
    Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize, JsonSchema,
)]
#[serde(rename_all = "snake_case")]
pub enum PersonalField {
    /// The customer's name.
    Customer,
    /// The customer's telephone number.
    Telephone,
    /// The customer's address.
    Address,
    /// The vehicle identification number, for copies that must not show it.
    Vin,
    /// The registration plate, for copies that must not show it.
    Registration,
}

impl PersonalField {
    /// The field's word in the journal and in the digested text.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::Customer => "customer",
            Self::Telephone => "telephone",
            Self::Address => "address",
            Self::Vin => "vin",
            Self::Registration => "registration",
        }
    }
}

/// What is known when a job is opened.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Opening {
    /// Job number.
    pub job: String,
    /// Registration plate.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub registration: String,
    /// Vehicle identification number.
    pub vin: String,
    /// Odometer as read.
    pub odometer: Distance,
    /// Unit the odometer counts in.
    pub odometer_unit: DistanceUnit,
    /// The complaint in the customer's words.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub complaint: String,
    /// What the complaint is, in the trade's words.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub symptoms: Vec<Symptom>,
    /// Those of them that nobody named: they were taken from the complaint's words.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub from_words: Vec<Symptom>,
    /// How deep the inspection goes.
    pub depth: Depth,
    /// Work schedule to follow.
    pub schedule: String,
    /// Spec sheet used.
    pub sheet: String,
    /// Rule packs used.
    pub rules: Vec<String>,
    /// Workshop policy used.
    pub policy: String,
    /// Vehicle class for the rule packs.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub class: String,
    /// Date of first use for the rule packs.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub first_used: Option<NaiveDate>,
    /// What is known of the vehicle's build for the rule packs.
    #[serde(default, skip_serializing_if = "VehicleBuild::is_empty")]
    pub build: VehicleBuild,
    /// The original quote in words and money, as given.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub quote: String,
}

/// An instrument's check on its setting standard.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct ZeroCheckEvent {
    /// The instrument.
    pub instrument: String,
    /// The standard it was checked on, in words (`closed`, `25.000 mm rod`).
    pub standard: String,
    /// The reading on the standard, as given.
    pub entered: Entered,
    /// Reading minus standard.
    #[serde(rename = "zero_error_nm")]
    pub zero_error: crate::units::Length,
}

/// A value read from an instrument.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct ReadingEvent {
    /// Where.
    pub place: Place,
    /// What.
    pub item: Item,
    /// As found or as left.
    pub phase: Phase,
    /// Which set of readings of this item it belongs to, from 1.
    pub take: u32,
    /// Its place within the set.
    pub slot: Slot,
    /// The value.
    #[serde(flatten)]
    pub entered: Entered,
    /// The instrument it was read from.
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub instrument: Option<String>,
    /// Clocking of the disc on the hub, for run-out.
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub clocking: Option<u8>,
    /// Typed by hand or sent by a gauge.
    pub source: Source,
    /// The program asked about this value and it was confirmed.
    #[serde(skip_serializing_if = "std::ops::Not::not", default)]
    pub confirmed: bool,
}

/// A value as it was given and as it was understood.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Entered {
    /// Exactly as typed or received.
    pub text: String,
    /// The unit it was read in.
    pub unit: String,
    /// The value in the base unit of its quantity.
    pub value: i64,
}

/// Where a value came from.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum Source {
    /// Typed by hand.
    #[default]
    Typed,
    /// Sent by a gauge.
    Gauge,
}

/// A question of the program, and the answer to it.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Answered {
    /// Where.
    pub place: Place,
    /// What it is about.
    pub item: Item,
    /// Which reading.
    pub slot: Slot,
    /// The entry that raised it, exactly as given.
    pub entry: String,
    /// The question.
    pub question: String,
    /// The answer, exactly as given.
    pub answer: String,
    /// Whether the first entry was kept.
    pub kept: bool,
}

/// As found, or as left after work.
#[derive(
    Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize, JsonSchema,
)]
#[serde(rename_all = "snake_case")]
pub enum Phase {
    /// Before any repair.
    AsFound,
    /// After it.
    AsLeft,
}

/// What a look found.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(tag = "state", rename_all = "snake_case")]
pub enum Observation {
    /// Nothing wrong.
    Sound,
    /// A defect of the item's list.
    Defect {
        /// The defect's code.
        code: String,
        /// A note in free words.
        #[serde(default, skip_serializing_if = "String::is_empty")]
        note: String,
    },
    /// It could not be inspected.
    NotInspected {
        /// Why; never empty.
        reason: String,
    },
}

/// The verdict an override asks for.
#[derive(
    Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize, JsonSchema,
)]
#[serde(rename_all = "UPPERCASE")]
pub enum Override {
    /// PASS.
    Pass,
    /// ADVISE.
    Advise,
    /// FAIL.
    Fail,
}

/// How deep the inspection goes.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum Depth {
    /// Four points, swept run-out.
    Quick,
    /// Two points a fastener, full rings.
    #[default]
    Full,
}

/// What a complaint is, in the trade's words.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum Symptom {
    /// Shaking when braking.
    Judder,
    /// Pulling to one side.
    Pull,
    /// High noise.
    Squeal,
    /// Metal noise.
    Grinding,
    /// Soft or long pedal.
    SoftPedal,
    /// A lamp of the dashboard.
    WarningLamp,
}

/// What the road test said about the complaint.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum Complaint {
    /// Not there any more.
    Gone,
    /// Still there, less.
    Better,
    /// Unchanged.
    Same,
    /// No road test was made.
    NotTried,
}

/// Parts whose replacement voids found readings.
#[derive(
    Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize, JsonSchema,
)]
#[serde(rename_all = "snake_case")]
pub enum Part {
    /// Brake disc.
    Disc,
    /// Brake pads.
    Pads,
    /// Brake linings.
    Linings,
    /// Brake drum.
    Drum,
    /// Flexible hose.
    Hose,
    /// Brake pipe.
    Pipe,
    /// Calliper, or its slide pins in older journals.
    Calliper,
    /// A kit of slide pins and boots.
    SlidePins,
    /// Springs and clips.
    Springs,
    /// Wheel-speed sensor.
    SensorSpeed,
    /// Pad-wear sensor.
    SensorWear,
    /// Wheel cylinder.
    Cylinder,
    /// Wheel bearing.
    Bearing,
    /// Brake fluid, whole system.
    Fluid,
    /// Wheel fasteners.
    Fasteners,
    /// The wheel.
    Wheel,
    /// The parking brake's cable.
    Cable,
    /// The brake's adjuster.
    Adjuster,
}

/// A torque step that was done.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct TorqueTask {
    /// Where.
    pub corner: Corner,
    /// Wheel or calliper fasteners.
    pub proceeding: Proceeding,
    /// Fastener number, in star order 1 … n.
    pub fastener: u8,
    /// The wrench; empty for a stage done with a hand wrench, which measures nothing.
    #[serde(skip_serializing_if = "String::is_empty", default)]
    pub instrument: String,
    /// What the wrench was set to for a stage: more than the plan's where its range begins higher.
    #[serde(skip_serializing_if = "Option::is_none", default)]
    #[schemars(with = "Option<i64>")]
    pub set_to: Option<Torque>,
    /// How far it turned, in degrees, on a verification pass.
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub turned_deg: Option<u16>,
}

/// What became of a part since it was measured before this job.
#[derive(
    Clone,
    Copy,
    Debug,
    Default,
    PartialEq,
    Eq,
    PartialOrd,
    Ord,
    Hash,
    Serialize,
    Deserialize,
    JsonSchema,
)]
#[serde(rename_all = "snake_case")]
pub enum Since {
    /// It is the same part; readings without this answer were given for the same part.
    #[default]
    Same,
    /// A new one was fitted at this odometer.
    RenewedAt(Distance),
    /// Nobody knows.
    Unknown,
}

impl Since {
    /// Whether it is the same part.
    #[must_use]
    pub fn is_same(&self) -> bool {
        *self == Self::Same
    }
}

/// Which torque step.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum Proceeding {
    /// An earlier stage of the wheel, one key for the whole pass (`fastener` is the stage's number).
    WheelStage,
    /// The final click of one wheel fastener.
    WheelFinal,
    /// The second full pass at the final torque, one key for the pass.
    WheelSecondPass,
    /// A calliper carrier bolt.
    CalliperCarrier,
    /// A slide-pin bolt.
    SlidePin,
    /// A hose union.
    HoseUnion,
}

/// What must be clear before the vehicle moves (domain knowledge of the trade; own list).
#[derive(
    Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize, JsonSchema,
)]
#[serde(rename_all = "snake_case")]
pub enum GateItem {
    /// Pedal pumped until firm.
    PedalFirm,
    /// No leak with the pedal held.
    NoLeak,
    /// Fluid level right, cap on.
    FluidLevel,
    /// Electric parking brake out of its service mode.
    ParkingBrake,
    /// Tools and magnets counted.
    Tools,
    /// Locking-nut key back.
    LockingKey,
    /// Warning lamps as they should be.
    Lamps,
}

impl GateItem {
    /// Every point, in the order it is asked.
    pub const ALL: [Self; 7] = [
        Self::PedalFirm,
        Self::NoLeak,
        Self::FluidLevel,
        Self::ParkingBrake,
        Self::Tools,
        Self::LockingKey,
        Self::Lamps,
    ];

    /// The point as a question.
    #[must_use]
    pub const fn question(self) -> &'static str {
        match self {
            Self::PedalFirm => "pedal pumped until firm",
            Self::NoLeak => "no leak anywhere with the pedal held down",
            Self::FluidLevel => "fluid level between the marks, cap on",
            Self::ParkingBrake => "electric parking brake out of its service mode (or none fitted)",
            Self::Tools => "tools and magnets counted, none left on the vehicle",
            Self::LockingKey => "locking-nut key back in its place (or none used)",
            Self::Lamps => "brake and warning lamps as they should be",
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_event_keeps_its_form_in_the_journal() {
        let event = Event::Seen {
            place: "RL".parse().unwrap(),
            item: Item::SensorSpeed,
            phase: Phase::AsFound,
            observation: Observation::Defect {
                code: "damp".into(),
                note: String::new(),
            },
        };
        let text = serde_json::to_string(&event).unwrap();
        assert_eq!(
            text,
            r#"{"kind":"seen","place":"RL","item":"sensor.speed","phase":"as_found","state":"defect","code":"damp"}"#
        );
        assert_eq!(serde_json::from_str::<Event>(&text).unwrap(), event);
    }
}
