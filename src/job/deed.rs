//! What was done at the vehicle, and which finding it may lift.
//!
//! Measuring again repairs nothing: an item that was not good as found is better as left only when
//! something was done that may have cured it. This is the one list of what may cure what; any other
//! word lifts nothing. The rows are common practice of the trade; that nothing else counts is this
//! project's own rule.

use std::fmt;
use std::str::FromStr;

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use super::{Event, Item, NameError, Part, Place, Symptom};

/// Work that was done, apart from fitting a part.
#[derive(
    Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize, JsonSchema,
)]
#[serde(tag = "deed", rename_all = "snake_case")]
pub enum Deed {
    /// The hub's face was cleaned under the disc.
    CleanedHub,
    /// The wheel's seat and register were cleaned and treated.
    CleanedSeat,
    /// A sensor's connector was cleaned and dried.
    CleanedConnector,
    /// The slide pins were taken out, cleaned, greased and move freely.
    CleanedSlidePins,
    /// The pads' abutments and clips were cleaned.
    CleanedAbutments,
    /// The disc's faces were cleaned of grease, oil or rust.
    CleanedDisc,
    /// The disc was turned on its hub.
    Reclocked {
        /// The clocking it has now.
        clocking: u8,
    },
    /// The disc was machined.
    MachinedDisc,
    /// The drum was machined.
    MachinedDrum,
    /// A union of pipe or hose was tightened.
    TightenedUnion,
    /// Calliper or suspension bolts were tightened to their torque.
    TightenedBolts,
    /// The wheel's fasteners were tightened.
    TightenedFasteners,
    /// The brake's adjuster was set.
    AdjustedBrake,
    /// The parking brake's cable or adjuster was set.
    AdjustedParking,
    /// The bearing was adjusted.
    AdjustedBearing,
    /// The piston was freed and goes back.
    FreedPiston,
    /// The hose was put back into its clip or bracket.
    SecuredHose,
    /// The pipe was put back into its clips.
    SecuredPipe,
    /// A sensor's wire or clip was secured.
    SecuredWire,
    /// The fluid was topped up, its cap closed.
    ToppedUpFluid,
    /// The brakes were bled.
    BledBrakes,
    /// Wet or rusty discs were driven or braked clean before the roller run.
    ConditionedDiscs,
    /// The pedal was held down, and nothing leaked.
    HeldPedal,
}

impl fmt::Display for Cure {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Fitted(part) => write!(f, "fitted {}", part.word()),
            Self::Did(deed) => deed.fmt(f),
        }
    }
}

/// What may cure a finding.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Cure {
    /// A part was fitted.
    Fitted(Part),
    /// Something was done.
    Did(Deed),
}

/// What is wrong with an item: a defect of its list, or a value that was measured.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Fault<'a> {
    /// A defect, by its code.
    Defect(&'a str),
    /// The value.
    Value,
}

/// Whether a cure lifts a fault.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Lift {
    /// It does not.
    Never,
    /// It may, once the item was looked at or measured again.
    MayLift,
    /// It may, once the pedal was held after it and nothing leaked.
    AfterPedalHeld,
    /// It may, once the refit's step "hub and seats ready" is done.
    AfterSeatsReady,
}

/// What doing something means for what was measured or seen of an item before.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Effect {
    /// It has nothing to do with the item.
    Untouched,
    /// The item may be better now; until it is looked at again, what was found stands.
    Worked,
    /// What was found belongs to something that is not there any more.
    Void,
}

const DEEDS: &[(Deed, &str)] = &[
    (Deed::CleanedHub, "cleaned hub"),
    (Deed::CleanedSeat, "cleaned seat"),
    (Deed::CleanedConnector, "cleaned connector"),
    (Deed::CleanedSlidePins, "cleaned slide_pins"),
    (Deed::CleanedAbutments, "cleaned abutments"),
    (Deed::CleanedDisc, "cleaned disc"),
    (Deed::MachinedDisc, "machined disc"),
    (Deed::MachinedDrum, "machined drum"),
    (Deed::TightenedUnion, "tightened union"),
    (Deed::TightenedBolts, "tightened bolts"),
    (Deed::TightenedFasteners, "tightened fasteners"),
    (Deed::AdjustedBrake, "adjusted brake"),
    (Deed::AdjustedParking, "adjusted parking"),
    (Deed::AdjustedBearing, "adjusted bearing"),
    (Deed::FreedPiston, "freed piston"),
    (Deed::SecuredHose, "secured hose"),
    (Deed::SecuredPipe, "secured pipe"),
    (Deed::SecuredWire, "secured wire"),
    (Deed::ToppedUpFluid, "topped_up fluid"),
    (Deed::BledBrakes, "bled brakes"),
    (Deed::ConditionedDiscs, "conditioned discs"),
    (Deed::HeldPedal, "held pedal"),
];

impl Deed {
    /// Every deed with the two words it is entered by, but for the turning of a disc.
    pub fn all() -> impl Iterator<Item = (Self, &'static str)> {
        DEEDS.iter().copied()
    }

    /// The deed's word in the journal, without what belongs to it.
    #[must_use]
    pub fn word(self) -> String {
        match self {
            Self::Reclocked { .. } => "reclocked".to_owned(),
            deed => deed.to_string().replace(' ', "_"),
        }
    }
}

impl fmt::Display for Deed {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        if let Self::Reclocked { clocking } = self {
            return write!(f, "reclocked {clocking}");
        }
        let words = DEEDS.iter().find(|(deed, _)| deed == self);
        f.write_str(words.map_or("", |(_, words)| words))
    }
}

impl FromStr for Deed {
    type Err = NameError;

    fn from_str(text: &str) -> Result<Self, NameError> {
        let text = text.split_whitespace().collect::<Vec<_>>().join(" ");
        if let Some(clocking) = text.strip_prefix("reclocked ") {
            return match clocking.parse() {
                Ok(clocking) => Ok(Self::Reclocked { clocking }),
                Err(_) => Err(NameError::Other {
                    text: clocking.to_owned(),
                    what: "a clocking",
                    expected: "the number of the stud beside the disc's mark, as in `reclocked 3`",
                }),
            };
        }
        let known = DEEDS.iter().find(|(_, words)| *words == text);
        known.map(|(deed, _)| *deed).ok_or(NameError::Other {
            text,
            what: "a piece of work",
            expected: "`fitted PART`, `reclocked K`, `cleaned hub|seat|connector|slide_pins|abutments|disc`, `machined disc|drum`, `tightened union|bolts|fasteners`, `adjusted brake|parking|bearing`, `freed piston`, `secured hose|pipe|wire`, `topped_up fluid`, `bled brakes`, `held pedal` or `conditioned discs`",
        })
    }
}

impl Part {
    /// The part's word in commands, journal and JSON.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::Disc => "disc",
            Self::Pads => "pads",
            Self::Linings => "linings",
            Self::Drum => "drum",
            Self::Hose => "hose",
            Self::Pipe => "pipe",
            Self::Calliper => "calliper",
            Self::SlidePins => "slide_pins",
            Self::Springs => "springs",
            Self::SensorSpeed => "sensor_speed",
            Self::SensorWear => "sensor_wear",
            Self::Cylinder => "cylinder",
            Self::Bearing => "bearing",
            Self::Fluid => "fluid",
            Self::Fasteners => "fasteners",
            Self::Wheel => "wheel",
            Self::Cable => "cable",
            Self::Adjuster => "adjuster",
        }
    }

    /// Every part.
    pub const ALL: [Self; 18] = [
        Self::Disc,
        Self::Pads,
        Self::Linings,
        Self::Drum,
        Self::Hose,
        Self::Pipe,
        Self::Calliper,
        Self::SlidePins,
        Self::Springs,
        Self::SensorSpeed,
        Self::SensorWear,
        Self::Cylinder,
        Self::Bearing,
        Self::Fluid,
        Self::Fasteners,
        Self::Wheel,
        Self::Cable,
        Self::Adjuster,
    ];

    /// Whether fitting the part makes void what was measured or seen of an item before.
    #[must_use]
    pub const fn voids(self, item: Item) -> bool {
        match self {
            Self::Disc => matches!(
                item,
                Item::DiscSurface | Item::DiscRunout | Item::DiscThickness | Item::DiscVariation
            ),
            Self::Pads => matches!(
                item,
                Item::PadsCondition | Item::PadsThickness | Item::PadsInnerOuter
            ),
            Self::Linings => matches!(item, Item::LiningsThickness),
            Self::Drum => matches!(item, Item::DrumDiameter),
            Self::Hose => matches!(item, Item::Hose),
            Self::Pipe => matches!(item, Item::Pipe),
            Self::Calliper => {
                matches!(item, Item::SlidePins | Item::Piston | Item::CalliperLeak)
            }
            Self::SlidePins => matches!(item, Item::SlidePins),
            Self::Springs => matches!(item, Item::Springs),
            Self::SensorSpeed => matches!(item, Item::SensorSpeed),
            Self::SensorWear => matches!(item, Item::SensorWear),
            Self::Cylinder => matches!(item, Item::CylinderLeak),
            Self::Bearing => matches!(item, Item::BearingFloat | Item::DiscRunout),
            Self::Fluid => matches!(item, Item::FluidBoiling),
            Self::Fasteners => matches!(item, Item::WheelFasteners),
            Self::Wheel => matches!(item, Item::WheelSeat),
            Self::Cable | Self::Adjuster => false,
        }
    }
}

impl FromStr for Part {
    type Err = NameError;

    fn from_str(text: &str) -> Result<Self, NameError> {
        Self::ALL
            .into_iter()
            .find(|part| part.word() == text)
            .ok_or_else(|| NameError::Other {
                text: text.to_owned(),
                what: "a part",
                expected: "disc, pads, linings, drum, hose, pipe, calliper, slide_pins, springs, sensor_speed, sensor_wear, cylinder, bearing, fluid, fasteners, wheel, cable or adjuster",
            })
    }
}

impl Cure {
    /// Reads what was done from its two words; what follows them is a note, or a part's batch.
    ///
    /// # Errors
    /// [`NameError`] when the words are no work this program knows.
    pub fn read(words: &str) -> Result<(Self, String), NameError> {
        let mut words = words.split_whitespace();
        let (verb, object) = (words.next().unwrap_or(""), words.next().unwrap_or(""));
        let cure = if verb == "fitted" {
            Self::Fitted(object.parse()?)
        } else {
            Self::Did(format!("{verb} {object}").parse()?)
        };
        Ok((cure, words.collect::<Vec<_>>().join(" ")))
    }

    /// The event that says it was done at a place.
    #[must_use]
    pub fn event(self, place: Place, note: String) -> Event {
        match self {
            Self::Fitted(part) => Event::Fitted {
                place,
                part,
                batch: (!note.is_empty()).then_some(note),
            },
            Self::Did(deed) => Event::Work { place, deed, note },
        }
    }

    /// Whether this may have cured a fault of an item.
    ///
    /// Source: common practice; decided by this project that nothing else counts.
    ///
    /// # Examples
    /// ```
    /// use brakecorner::job::{Cure, Deed, Fault, Item, Lift, Part};
    /// let hub = Cure::Did(Deed::CleanedHub);
    /// assert_eq!(hub.lifts(Item::DiscRunout, Fault::Value), Lift::MayLift);
    /// assert_eq!(hub.lifts(Item::DiscThickness, Fault::Value), Lift::Never);
    /// let union = Cure::Did(Deed::TightenedUnion);
    /// assert_eq!(union.lifts(Item::Hose, Fault::Defect("leak")), Lift::AfterPedalHeld);
    /// assert_eq!(Cure::Fitted(Part::Hose).lifts(Item::Hose, Fault::Defect("leak")), Lift::MayLift);
    /// ```
    #[must_use]
    pub fn lifts(self, item: Item, fault: Fault<'_>) -> Lift {
        let may = |may: bool| if may { Lift::MayLift } else { Lift::Never };
        match self {
            // What is gone with the old part cannot be wrong any more.
            Self::Fitted(part) if part.voids(item) => Lift::MayLift,
            Self::Fitted(part) => may(fitting_lifts(part, item, fault)),
            Self::Did(Deed::TightenedUnion)
                if matches!(
                    item,
                    Item::Hose | Item::Pipe | Item::CalliperLeak | Item::CylinderLeak
                ) && matches!(fault, Fault::Defect("leak" | "damp")) =>
            {
                Lift::AfterPedalHeld
            }
            Self::Did(Deed::CleanedSeat)
                if item == Item::WheelSeat && matches!(fault, Fault::Defect("partly" | "hard")) =>
            {
                Lift::AfterSeatsReady
            }
            Self::Did(deed) => may(deed_lifts(deed, item, fault)),
        }
    }

    /// Whether a wheel was off for it, so that what was torqued before it no longer holds.
    #[must_use]
    pub const fn takes_wheel_off(self) -> bool {
        match self {
            Self::Fitted(part) => !matches!(part, Part::Fluid | Part::Cable),
            Self::Did(deed) => !matches!(
                deed,
                Deed::TightenedFasteners
                    | Deed::AdjustedParking
                    | Deed::ToppedUpFluid
                    | Deed::BledBrakes
                    | Deed::ConditionedDiscs
                    | Deed::HeldPedal
            ),
        }
    }

    /// Whether the pedal is to be pumped and held again after it.
    #[must_use]
    pub const fn moves_the_pedal(self) -> bool {
        match self {
            Self::Fitted(part) => !matches!(
                part,
                Part::SensorSpeed
                    | Part::SensorWear
                    | Part::Fasteners
                    | Part::Wheel
                    | Part::Cable
                    | Part::Bearing
            ),
            Self::Did(deed) => matches!(
                deed,
                Deed::CleanedSlidePins
                    | Deed::CleanedAbutments
                    | Deed::Reclocked { .. }
                    | Deed::MachinedDisc
                    | Deed::MachinedDrum
                    | Deed::TightenedUnion
                    | Deed::AdjustedBrake
                    | Deed::FreedPiston
                    | Deed::BledBrakes
            ),
        }
    }

    /// What this means for what was measured or seen of an item before it.
    #[must_use]
    pub fn effect(self, item: Item) -> Effect {
        let void = match self {
            Self::Fitted(part) => part.voids(item),
            Self::Did(Deed::Reclocked { .. }) => item == Item::DiscRunout,
            Self::Did(Deed::MachinedDisc) => Part::Disc.voids(item),
            Self::Did(Deed::MachinedDrum) => Part::Drum.voids(item),
            Self::Did(_) => false,
        };
        if void {
            return Effect::Void;
        }
        let defects = CURABLE.iter().copied().map(Fault::Defect);
        let mut faults = std::iter::once(Fault::Value).chain(defects);
        if faults.any(|fault| self.lifts(item, fault) != Lift::Never) {
            Effect::Worked
        } else {
            Effect::Untouched
        }
    }
}

impl Symptom {
    /// The items at which what causes the symptom shows (common practice).
    #[must_use]
    pub const fn shows_at(self) -> &'static [Item] {
        match self {
            Self::Judder => &[
                Item::DiscRunout,
                Item::DiscVariation,
                Item::DiscSurface,
                Item::HubFace,
                Item::BearingFloat,
                Item::DrumDiameter,
            ],
            Self::Pull => &[
                Item::AxleImbalance,
                Item::Hose,
                Item::SlidePins,
                Item::Piston,
                Item::PadsCondition,
                Item::PadsThickness,
                Item::LiningsThickness,
            ],
            Self::Squeal | Self::Grinding => &[
                Item::PadsCondition,
                Item::PadsThickness,
                Item::DiscSurface,
                Item::DiscThickness,
                Item::Springs,
                Item::SlidePins,
                Item::LiningsThickness,
                Item::DrumDiameter,
                Item::BearingFloat,
            ],
            Self::SoftPedal => &[
                Item::PedalFirm,
                Item::FluidBoiling,
                Item::FluidLevel,
                Item::Hose,
                Item::Pipe,
                Item::CalliperLeak,
                Item::CylinderLeak,
                Item::ServiceEfficiency,
            ],
            Self::WarningLamp => &[
                Item::SensorSpeed,
                Item::SensorWear,
                Item::FluidLevel,
                Item::PadsThickness,
            ],
        }
    }
}

/// The defects something other than a new part of the item's own may cure; a test keeps it whole.
const CURABLE: &[&str] = &[
    "band",
    "bracket",
    "broken",
    "burr",
    "cap",
    "chafe",
    "clip",
    "contaminated",
    "damp",
    "dirt",
    "dry",
    "fault",
    "fresh",
    "hard",
    "insecure",
    "jacked",
    "lamp",
    "leak",
    "lip",
    "loose",
    "low",
    "no_reserve",
    "not_visible",
    "over_travel",
    "partly",
    "rust",
    "rusted",
    "scored",
    "scored_deep",
    "seized",
    "stiff",
    "stuck",
    "support",
    "touching",
    "uneven",
    "unsupported",
    "well_below",
];

/// What moves or holds the brake: fitting one of these may change what the rollers show.
const fn is_brake(part: Part) -> bool {
    matches!(
        part,
        Part::Calliper
            | Part::SlidePins
            | Part::Cylinder
            | Part::Pads
            | Part::Linings
            | Part::Disc
            | Part::Drum
            | Part::Hose
            | Part::Fluid
            | Part::Adjuster
            | Part::Cable
    )
}

fn fitting_lifts(part: Part, item: Item, fault: Fault<'_>) -> bool {
    match item {
        Item::AxleImbalance | Item::ServiceEfficiency => is_brake(part) && part != Part::Cable,
        Item::ParkingEfficiency => is_brake(part),
        // New pads bring their sensor's lamp out, a kit its springs.
        Item::SensorWear => part == Part::Pads && fault == Fault::Defect("lamp"),
        // A leak at a union goes with the part on either side of it.
        Item::Hose => part == Part::Pipe && fault == Fault::Defect("leak"),
        Item::Pipe => part == Part::Hose && fault == Fault::Defect("leak"),
        Item::FluidLevel => part == Part::Fluid,
        Item::CalliperLeak => part == Part::Hose,
        Item::CylinderLeak => part == Part::Pipe,
        Item::HubFace => part == Part::Bearing,
        Item::BoltsWitness => part == Part::Calliper,
        Item::PedalFirm => matches!(
            part,
            Part::Calliper
                | Part::Cylinder
                | Part::Hose
                | Part::Pipe
                | Part::Fluid
                | Part::Adjuster
        ),
        _ => false,
    }
}

fn deed_lifts(deed: Deed, item: Item, fault: Fault<'_>) -> bool {
    let one_of = |codes: &[&str]| matches!(fault, Fault::Defect(code) if codes.contains(&code));
    match (deed, item) {
        (Deed::CleanedHub | Deed::Reclocked { .. } | Deed::MachinedDisc, Item::DiscRunout)
        | (Deed::MachinedDisc, Item::DiscVariation | Item::DiscThickness)
        | (Deed::MachinedDrum, Item::DrumDiameter)
        | (Deed::AdjustedBearing, Item::BearingFloat)
        | (Deed::BledBrakes | Deed::AdjustedBrake, Item::PedalFirm) => true,
        (
            Deed::AdjustedBrake | Deed::BledBrakes | Deed::CleanedSlidePins,
            Item::AxleImbalance | Item::ServiceEfficiency,
        )
        | (
            Deed::AdjustedParking | Deed::AdjustedBrake | Deed::CleanedSlidePins,
            Item::ParkingEfficiency,
        )
        | (
            Deed::ConditionedDiscs,
            Item::AxleImbalance | Item::ServiceEfficiency | Item::ParkingEfficiency,
        ) => true,
        (Deed::CleanedHub, Item::HubFace) => one_of(&["rust", "dirt", "burr"]),
        (Deed::CleanedConnector, Item::SensorSpeed) => one_of(&["damp", "fault"]),
        (Deed::CleanedConnector, Item::SensorWear) => one_of(&["damp"]),
        (Deed::SecuredWire, Item::SensorSpeed | Item::SensorWear) => one_of(&["chafe", "clip"]),
        (Deed::CleanedSlidePins, Item::SlidePins) => one_of(&["seized", "stiff", "dry"]),
        (Deed::FreedPiston, Item::Piston) => one_of(&["seized", "stiff"]),
        (Deed::CleanedAbutments, Item::PadsCondition) => one_of(&["stuck"]),
        (Deed::CleanedAbutments, Item::Springs) => one_of(&["jacked"]),
        (Deed::CleanedDisc | Deed::ConditionedDiscs, Item::DiscSurface) => {
            one_of(&["contaminated", "rusted", "band"])
        }
        (Deed::MachinedDisc, Item::DiscSurface) => one_of(&[
            "scored_deep",
            "scored",
            "rusted",
            "band",
            "lip",
            "uneven",
            "contaminated",
        ]),
        (Deed::TightenedBolts, Item::BoltsWitness) => true,
        (Deed::TightenedFasteners, Item::WheelFasteners) => one_of(&["loose"]),
        (Deed::SecuredHose, Item::Hose) => one_of(&["bracket", "touching", "unsupported"]),
        (Deed::SecuredPipe, Item::Pipe) => one_of(&["support", "loose"]),
        (Deed::ToppedUpFluid, Item::FluidLevel) => {
            one_of(&["low", "cap", "well_below", "not_visible"])
        }
        (Deed::AdjustedBrake, Item::CalliperLeak | Item::CylinderLeak) => {
            one_of(&["over_travel", "no_reserve"])
        }
        (Deed::TightenedBolts, Item::CalliperLeak | Item::CylinderLeak) => one_of(&["insecure"]),
        _ => false,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_deed_and_every_part_reads_back_and_keeps_its_form() {
        for (deed, words) in Deed::all() {
            assert_eq!(words.parse::<Deed>().unwrap(), deed);
            assert_eq!(deed.to_string(), words);
        }
        let turned = Deed::Reclocked { clocking: 3 };
        assert_eq!("reclocked  3".parse::<Deed>().unwrap(), turned);
        assert_eq!(
            serde_json::to_string(&turned).unwrap(),
            r#"{"deed":"reclocked","clocking":3}"#
        );
        for part in Part::ALL {
            assert_eq!(part.word().parse::<Part>().unwrap(), part);
            assert_eq!(serde_json::to_value(part).unwrap(), part.word());
        }
        for text in [
            "",
            "reclocked",
            "reclocked x",
            "reclocked -1",
            "painted hub",
            "hub",
        ] {
            assert!(text.parse::<Deed>().is_err(), "{text}");
        }
    }

    #[test]
    fn wear_is_lifted_by_a_part_or_by_machining_and_by_nothing_else() {
        for item in [
            Item::DiscThickness,
            Item::PadsThickness,
            Item::LiningsThickness,
            Item::DrumDiameter,
        ] {
            for (deed, words) in Deed::all() {
                let machined = matches!(
                    (deed, item),
                    (Deed::MachinedDisc, Item::DiscThickness)
                        | (Deed::MachinedDrum, Item::DrumDiameter)
                );
                let lifts = Cure::Did(deed).lifts(item, Fault::Value) != Lift::Never;
                assert_eq!(lifts, machined, "{words}: {item}");
            }
        }
    }

    #[test]
    fn a_leak_is_lifted_by_a_part_or_by_a_union_and_the_pedal_held_after_it() {
        let leak = Fault::Defect("leak");
        for item in [
            Item::Hose,
            Item::Pipe,
            Item::CalliperLeak,
            Item::CylinderLeak,
        ] {
            for (deed, words) in Deed::all() {
                let lift = Cure::Did(deed).lifts(item, leak);
                let expected = if deed == Deed::TightenedUnion {
                    Lift::AfterPedalHeld
                } else {
                    Lift::Never
                };
                assert_eq!(lift, expected, "{words}: {item}");
            }
        }
    }
}
