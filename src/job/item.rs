//! The one registry of what can be inspected; the same ids in `log`, JSON, schedules and policy.

use std::fmt;
use std::str::FromStr;

use serde::{Deserialize, Deserializer, Serialize, Serializer};

use super::NameError;

/// How much of the vehicle an item speaks for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Scope {
    /// One wheel station.
    Corner,
    /// Both ends of an axle.
    Axle,
    /// The whole vehicle.
    Vehicle,
}

/// How an item is answered.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Kind {
    /// Looked at or felt: sound, a defect, or not inspected.
    Look,
    /// Read from an instrument.
    Measure,
    /// Follows from the readings of other items; never entered.
    Derived,
    /// Confirmed while the wheels go back on.
    Refit,
}

macro_rules! items {
    ($($name:ident $id:literal $scope:ident $kind:ident $title:literal;)*) => {
        /// One thing that can be inspected.
        #[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
        pub enum Item {
            $(#[doc = concat!("`", $id, "`: ", $title, ".")] $name,)*
        }

        impl Item {
            /// Every item, in the order of the registry.
            pub const ALL: &'static [Self] = &[$(Self::$name,)*];

            /// The item's id, as in JSON and schedules.
            #[must_use]
            pub const fn id(self) -> &'static str {
                match self { $(Self::$name => $id,)* }
            }

            /// How much of the vehicle it speaks for.
            #[must_use]
            pub const fn scope(self) -> Scope {
                match self { $(Self::$name => Scope::$scope,)* }
            }

            /// How it is answered.
            #[must_use]
            pub const fn kind(self) -> Kind {
                match self { $(Self::$name => Kind::$kind,)* }
            }

            /// The item in the technician's words.
            #[must_use]
            pub const fn title(self) -> &'static str {
                match self { $(Self::$name => $title,)* }
            }
        }
    };
}

items! {
    WheelSeat "wheel.seat" Corner Look "wheel free on the hub";
    WheelFasteners "wheel.fasteners" Corner Look "wheel fasteners: count, seats, threads";
    Hose "hose" Corner Look "flexible hose, clip and bracket";
    Pipe "pipe" Corner Look "rigid pipe and unions";
    SensorSpeed "sensor.speed" Corner Look "wheel-speed sensor and connector";
    SensorWear "sensor.wear" Corner Look "pad-wear sensor and connector";
    CalliperLeak "calliper.leak" Corner Look "calliper, piston boot and unions dry";
    SlidePins "slide_pins" Corner Look "slide pins free, boots whole";
    Piston "piston" Corner Look "piston goes back, boot whole";
    Springs "springs" Corner Look "anti-rattle springs and abutment clips";
    BoltsWitness "bolts.witness" Corner Look "calliper and suspension bolts, witness marks";
    PadsCondition "pads.condition" Corner Look "pads: bonded, dry, free in the carrier";
    PadsThickness "pads.thickness" Corner Measure "pad friction thickness";
    PadsInnerOuter "pads.inner_outer" Corner Derived "inner pad against outer pad";
    DiscSurface "disc.surface" Corner Look "disc faces, both";
    BearingFloat "bearing.float" Corner Measure "wheel bearing end float";
    DiscRunout "disc.runout" Corner Measure "disc run-out at the wheel";
    DiscThickness "disc.thickness" Corner Measure "disc thickness";
    DiscVariation "disc.variation" Corner Derived "disc thickness variation";
    HubFace "hub.face" Corner Look "hub face under the disc";
    DrumDiameter "drum.diameter" Corner Measure "drum inside diameter";
    LiningsThickness "linings.thickness" Corner Measure "brake lining thickness";
    CylinderLeak "cylinder.leak" Corner Look "wheel cylinder dry";
    TorqueCalliper "torque.calliper" Corner Refit "calliper fasteners torqued";
    TorqueWheel "torque.wheel" Corner Refit "wheel fasteners torqued";
    AxleDiscDifference "axle.disc_difference" Axle Derived "left disc against right disc";
    AxlePadDifference "axle.pad_difference" Axle Derived "left pads against right pads";
    AxleImbalance "axle.imbalance" Axle Derived "brake force, left against right";
    FluidBoiling "fluid.boiling" Vehicle Measure "brake fluid boiling point";
    FluidLevel "fluid.level" Vehicle Look "brake fluid level and cap";
    ServiceEfficiency "brake.service_efficiency" Vehicle Measure "service brake efficiency";
    ParkingEfficiency "brake.parking_efficiency" Vehicle Measure "parking brake efficiency";
    PedalFirm "pedal.firm" Vehicle Refit "pedal firm before the vehicle moves";
}

impl Item {
    /// Whether a vehicle may be built without it, so that there is nothing to inspect: sensors,
    /// springs, and the slide pins a fixed calliper does not have.
    #[must_use]
    pub const fn may_be_absent(self) -> bool {
        matches!(
            self,
            Self::SensorSpeed | Self::SensorWear | Self::SlidePins | Self::Springs
        )
    }
}

impl fmt::Display for Item {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.id())
    }
}

impl FromStr for Item {
    type Err = NameError;

    fn from_str(text: &str) -> Result<Self, NameError> {
        Self::ALL
            .iter()
            .copied()
            .find(|item| item.id() == text)
            .ok_or_else(|| NameError::Item {
                text: text.to_owned(),
                suggestion: nearest(text),
            })
    }
}

/// The id closest to `text`, when at most three letters differ.
fn nearest(text: &str) -> Option<&'static str> {
    Item::ALL
        .iter()
        .map(|item| (strsim::levenshtein(text, item.id()), item.id()))
        .filter(|(distance, _)| *distance <= 3)
        .min()
        .map(|(_, id)| id)
}

impl Serialize for Item {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.serialize_str(self.id())
    }
}

impl<'de> Deserialize<'de> for Item {
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
    fn every_id_reads_back_and_is_unique() {
        for item in Item::ALL {
            assert_eq!(item.id().parse::<Item>().unwrap(), *item);
            assert_eq!(
                Item::ALL
                    .iter()
                    .filter(|other| other.id() == item.id())
                    .count(),
                1
            );
        }
    }

    #[test]
    fn a_slip_of_the_finger_is_met_with_the_nearest_item() {
        let error = "disc.thicknes".parse::<Item>().unwrap_err().to_string();
        assert_eq!(
            error,
            "`disc.thicknes` is not an item; did you mean `disc.thickness`?"
        );
        assert_eq!(
            "xyzzy".parse::<Item>().unwrap_err().to_string(),
            "`xyzzy` is not an item"
        );
    }
}
