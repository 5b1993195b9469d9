//! What can be done about a finding, and what doing it covers.

use std::fmt;
use std::str::FromStr;

use serde::{Deserialize, Deserializer, Serialize, Serializer};

use super::{Item, NameError, Part, Place, Scope};

macro_rules! works {
    ($($name:ident $id:literal $scope:ident $words:literal;)*) => {
        /// A kind of work a quote can name.
        #[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
        pub enum Work {
            $(#[doc = concat!("`", $id, "`: ", $words, ".")] $name,)*
        }

        impl Work {
            /// Every kind.
            pub const ALL: &'static [Self] = &[$(Self::$name,)*];

            /// The word used in price lists and line ids.
            #[must_use]
            pub const fn id(self) -> &'static str {
                match self { $(Self::$name => $id,)* }
            }

            /// How much of the vehicle one line of it is about.
            #[must_use]
            pub const fn scope(self) -> Scope {
                match self { $(Self::$name => Scope::$scope,)* }
            }

            /// The work in plain words, without its place.
            #[must_use]
            pub const fn words(self) -> &'static str {
                match self { $(Self::$name => $words,)* }
            }
        }
    };
}

works! {
    DiscsPads "discs_pads" Axle "brake discs and pads, axle set";
    Pads "pads" Axle "brake pads, axle set";
    DrumsLinings "drums_linings" Axle "brake drums and linings, axle set";
    Linings "linings" Axle "brake linings, axle set";
    Reclock "reclock" Corner "clean the hub, turn the disc to its best position and measure";
    SlidePins "slide_pins" Corner "calliper slide-pin kit";
    Calliper "calliper" Corner "brake calliper";
    Hose "hose" Corner "brake hose";
    Pipe "pipe" Corner "brake pipe";
    SensorSpeed "sensor_speed" Corner "wheel-speed sensor";
    SensorWear "sensor_wear" Corner "pad-wear sensor";
    Springs "springs" Axle "springs and clips, axle set";
    Cylinder "cylinder" Axle "wheel cylinders, both sides";
    Bearing "bearing" Corner "wheel bearing";
    Fasteners "fasteners" Corner "wheel fasteners";
    Fluid "fluid" Vehicle "brake fluid change";
    Inspection "inspection" Vehicle "brake inspection";
    Repair "repair" Corner "find the cause and put it right";
}

impl FromStr for Work {
    type Err = NameError;

    fn from_str(text: &str) -> Result<Self, NameError> {
        Self::ALL
            .iter()
            .copied()
            .find(|work| work.id() == text)
            .ok_or_else(|| NameError::Other {
                text: text.to_owned(),
                what: "a kind of work",
                expected: "discs_pads, pads, drums_linings, linings, reclock, slide_pins, calliper, hose, pipe, sensor_speed, sensor_wear, springs, cylinder, bearing, fasteners, fluid, inspection or repair",
            })
    }
}

impl Work {
    /// Whether fitting `part` is a piece of this work.
    #[must_use]
    pub const fn fits(self, part: Part) -> bool {
        match self {
            Self::DiscsPads => matches!(part, Part::Disc | Part::Pads),
            Self::Pads => matches!(part, Part::Pads),
            Self::DrumsLinings => matches!(part, Part::Drum | Part::Linings),
            Self::Linings => matches!(part, Part::Linings),
            // Older journals record a calliper's slide pins as the calliper's part.
            Self::SlidePins => matches!(part, Part::Calliper | Part::SlidePins),
            Self::Calliper => matches!(part, Part::Calliper | Part::SlidePins),
            Self::Hose => matches!(part, Part::Hose),
            Self::Pipe => matches!(part, Part::Pipe),
            Self::Springs => matches!(part, Part::Springs),
            Self::Fasteners => matches!(part, Part::Fasteners),
            Self::SensorSpeed => matches!(part, Part::SensorSpeed),
            Self::SensorWear => matches!(part, Part::SensorWear),
            Self::Cylinder => matches!(part, Part::Cylinder),
            Self::Bearing => matches!(part, Part::Bearing),
            Self::Fluid => matches!(part, Part::Fluid),
            // To find the cause and put it right may want any of these.
            Self::Repair => matches!(part, Part::Wheel | Part::Cable | Part::Adjuster),
            Self::Reclock | Self::Inspection => false,
        }
    }

    /// The work that is done when a part is fitted and nobody said more.
    #[must_use]
    pub const fn of_part(part: Part) -> Self {
        match part {
            Part::Disc => Self::DiscsPads,
            Part::Pads => Self::Pads,
            Part::Linings => Self::Linings,
            Part::Drum => Self::DrumsLinings,
            Part::Hose => Self::Hose,
            Part::Calliper => Self::Calliper,
            Part::SensorSpeed => Self::SensorSpeed,
            Part::SensorWear => Self::SensorWear,
            Part::Cylinder => Self::Cylinder,
            Part::Bearing => Self::Bearing,
            Part::Fluid => Self::Fluid,
            Part::Pipe => Self::Pipe,
            Part::SlidePins => Self::SlidePins,
            Part::Springs => Self::Springs,
            Part::Fasteners => Self::Fasteners,
            Part::Wheel | Part::Cable | Part::Adjuster => Self::Repair,
        }
    }

    /// What parts of this work are judged by: an original line for it is supported by these items.
    #[must_use]
    pub const fn items(self) -> &'static [Item] {
        match self {
            Self::DiscsPads => &[
                Item::DiscThickness,
                Item::DiscSurface,
                Item::DiscVariation,
                Item::DiscRunout,
                Item::PadsThickness,
                Item::PadsCondition,
            ],
            Self::Pads => &[
                Item::PadsThickness,
                Item::PadsCondition,
                Item::PadsInnerOuter,
            ],
            Self::DrumsLinings => &[Item::DrumDiameter, Item::LiningsThickness],
            Self::Linings => &[Item::LiningsThickness],
            Self::Reclock => &[Item::DiscRunout],
            Self::SlidePins => &[Item::SlidePins],
            Self::Calliper => &[Item::Piston, Item::CalliperLeak],
            Self::Hose => &[Item::Hose],
            Self::Pipe => &[Item::Pipe],
            Self::SensorSpeed => &[Item::SensorSpeed],
            Self::SensorWear => &[Item::SensorWear],
            Self::Springs => &[Item::Springs],
            Self::Cylinder => &[Item::CylinderLeak],
            Self::Bearing => &[Item::BearingFloat],
            Self::Fasteners => &[Item::WheelFasteners],
            Self::Fluid => &[Item::FluidBoiling, Item::FluidLevel],
            Self::Inspection | Self::Repair => &[],
        }
    }
}

/// A line's id: where, and what is done there, as in `rear.discs_pads`.
///
/// # Examples
/// ```
/// use brakecorner::job::LineId;
/// let line: LineId = "rear.discs_pads".parse()?;
/// assert_eq!(line.words(), "rear axle: brake discs and pads, axle set");
/// assert!("RR.discs_pads".parse::<LineId>().is_err(), "discs are changed in pairs");
/// # Ok::<(), brakecorner::job::NameError>(())
/// ```
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct LineId {
    /// Where.
    pub place: Place,
    /// What.
    pub work: Work,
}

impl LineId {
    /// The line for a kind of work at a place, widened to what the work is sold for: pads at a
    /// corner are pads for the axle.
    #[must_use]
    pub const fn at(place: Place, work: Work) -> Self {
        let place = match (work.scope(), place) {
            (Scope::Axle, Place::Corner(corner)) => Place::Axle(corner.axle()),
            (Scope::Vehicle, _) => Place::Vehicle,
            _ => place,
        };
        Self { place, work }
    }

    /// The line in words.
    #[must_use]
    pub fn words(self) -> String {
        match self.place {
            Place::Vehicle => self.work.words().to_owned(),
            place => format!("{}: {}", place.in_words(), self.work.words()),
        }
    }

    /// Whether doing this line puts an item at a place right. What no work has among its items is put
    /// right by any line there, as what seizes a brake is by what frees it.
    #[must_use]
    pub fn mends(self, item: Item, place: Place) -> bool {
        let is_part_of = |work: &Work| work.items().contains(&item);
        let included = matches!(
            (self.work, item),
            (Work::Repair, _)
                | (Work::Calliper, Item::SlidePins)
                | (Work::DiscsPads | Work::Pads, Item::Springs)
        );
        let mends = included || is_part_of(&self.work) || !Work::ALL.iter().any(is_part_of);
        mends && holds(self.place, place)
    }

    /// Whether doing this line covers fitting a part at a place.
    #[must_use]
    pub fn covers(self, part: Part, fitted: Place) -> bool {
        self.work.fits(part) && holds(self.place, fitted)
    }
}

/// Whether a place lies inside another.
#[must_use]
pub fn holds(outer: Place, inner: Place) -> bool {
    match (outer, inner) {
        (Place::Vehicle, _) => true,
        (Place::Axle(axle), Place::Corner(corner)) => corner.axle() == axle,
        (outer, inner) => outer == inner,
    }
}

impl fmt::Display for LineId {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self.place {
            Place::Vehicle => f.write_str(self.work.id()),
            place => write!(f, "{place}.{}", self.work.id()),
        }
    }
}

impl FromStr for LineId {
    type Err = NameError;

    fn from_str(text: &str) -> Result<Self, NameError> {
        let text = text.trim();
        let (place, work) = match text.split_once('.') {
            Some((place, work)) => (place.parse()?, work.parse::<Work>()?),
            None => (Place::Vehicle, text.parse::<Work>()?),
        };
        let line = Self::at(place, work);
        // Repairs are named where the finding is, whatever that is.
        let scope = match place {
            Place::Corner(_) => Scope::Corner,
            Place::Axle(_) => Scope::Axle,
            Place::Vehicle => Scope::Vehicle,
        };
        if work != Work::Repair && scope != work.scope() {
            return Err(NameError::Other {
                text: text.to_owned(),
                what: "a line of a quote",
                expected: match work.scope() {
                    Scope::Axle => "an axle before this work, as in `rear.pads`",
                    Scope::Corner => "a corner before this work, as in `RR.slide_pins`",
                    Scope::Vehicle => "this work without a place, as in `fluid`",
                },
            });
        }
        Ok(line)
    }
}

impl Serialize for LineId {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.collect_str(self)
    }
}

impl<'de> Deserialize<'de> for LineId {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        String::deserialize(deserializer)?
            .parse()
            .map_err(serde::de::Error::custom)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_line_reads_back() {
        for work in Work::ALL {
            for place in ["FL", "3R", "front", "rear", "vehicle"] {
                let line = LineId::at(place.parse().unwrap(), *work);
                if *work == Work::Repair || line.to_string().parse::<LineId>().is_ok() {
                    assert_eq!(line.to_string().parse::<LineId>().unwrap(), line);
                }
            }
        }
        assert_eq!("fluid".parse::<LineId>().unwrap().place, Place::Vehicle);
        for text in [
            "",
            ".",
            "rear.",
            "rear.paint",
            "RL.pads",
            "rear.fluid",
            "rear pads",
        ] {
            assert!(text.parse::<LineId>().is_err(), "{text}");
        }
    }

    #[test]
    fn a_line_for_an_axle_covers_a_part_at_one_of_its_corners_and_not_elsewhere() {
        let line: LineId = "rear.discs_pads".parse().unwrap();
        let at = |place: &str| place.parse::<Place>().unwrap();
        assert!(line.covers(Part::Disc, at("RR")));
        assert!(line.covers(Part::Pads, at("rear")));
        assert!(!line.covers(Part::Disc, at("FR")));
        assert!(!line.covers(Part::Fluid, at("rear")));
        let pads: LineId = "rear.pads".parse().unwrap();
        assert!(!pads.covers(Part::Disc, at("rear")), "pads are no discs");
        let pins: LineId = "RR.slide_pins".parse().unwrap();
        assert!(
            !pins.covers(Part::Calliper, at("rear")),
            "one side is not both"
        );
    }
}
