//! Where within a set of readings a value belongs.

use std::fmt;
use std::str::FromStr;

use serde::{Deserialize, Deserializer, Serialize, Serializer};

use super::{Corner, NameError};

/// Where within a set of readings a value belongs.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Slot {
    /// Point of a ring, from 1, in passing order.
    Point(u16),
    /// Back at stud 1.
    Return,
    /// Swept total of one turn.
    Swept,
    /// Lowest of a swept turn.
    Low,
    /// Highest of a swept turn.
    High,
    /// Temperature of the part.
    Temperature,
    /// Inner pad, 1 leading, 2 trailing.
    Inner(u16),
    /// Outer pad, 1 leading, 2 trailing.
    Outer(u16),
    /// Drum at its open edge.
    Open(u16),
    /// Drum at its closed edge.
    Closed(u16),
    /// Lining, 1 leading, 2 trailing.
    Lining(u16),
    /// The only value, or the n-th repeat of it.
    Value(u16),
    /// The wheel at a corner, for roller forces.
    At(Corner),
    /// The wheel at a corner locked on the rollers.
    Locked(Corner),
    /// Vehicle mass.
    Mass,
    /// Temperature of the gauge the part is read with.
    GaugeTemperature,
    /// Depth of a disc's outer face below its unworn lip.
    LipOuter(u16),
    /// Depth of its inner face below its unworn lip.
    LipInner(u16),
}

impl fmt::Display for Slot {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Point(n) => write!(f, "point {n}"),
            Self::Return => f.write_str("return"),
            Self::Swept => f.write_str("swept"),
            Self::Low => f.write_str("lowest"),
            Self::High => f.write_str("highest"),
            Self::Temperature => f.write_str("temperature"),
            Self::Inner(n) => write!(f, "inner {n}"),
            Self::Outer(n) => write!(f, "outer {n}"),
            Self::Open(n) => write!(f, "open {n}"),
            Self::Closed(n) => write!(f, "closed {n}"),
            Self::Lining(n) => write!(f, "lining {n}"),
            Self::Value(n) => write!(f, "value {n}"),
            Self::At(corner) => write!(f, "at {corner}"),
            Self::Locked(corner) => write!(f, "locked {corner}"),
            Self::Mass => f.write_str("mass"),
            Self::GaugeTemperature => f.write_str("gauge_temperature"),
            Self::LipOuter(n) => write!(f, "lip_outer {n}"),
            Self::LipInner(n) => write!(f, "lip_inner {n}"),
        }
    }
}

impl FromStr for Slot {
    type Err = NameError;

    fn from_str(text: &str) -> Result<Self, NameError> {
        let wrong = || NameError::Other {
            text: text.to_owned(),
            what: "a slot",
            expected: "`point 3`, `return`, `swept`, `inner 1`, `value 1` …",
        };
        let (word, rest) = text.split_once(' ').unwrap_or((text, ""));
        let number = || match rest.parse::<u16>() {
            Ok(n) if n > 0 && !rest.starts_with(['+', '0']) => Ok(n),
            _ => Err(wrong()),
        };
        Ok(match word {
            "point" => Self::Point(number()?),
            "return" if rest.is_empty() => Self::Return,
            "swept" if rest.is_empty() => Self::Swept,
            "lowest" if rest.is_empty() => Self::Low,
            "highest" if rest.is_empty() => Self::High,
            "temperature" if rest.is_empty() => Self::Temperature,
            "inner" => Self::Inner(number()?),
            "outer" => Self::Outer(number()?),
            "open" => Self::Open(number()?),
            "closed" => Self::Closed(number()?),
            "lining" => Self::Lining(number()?),
            "value" => Self::Value(number()?),
            "at" => Self::At(rest.parse()?),
            "locked" => Self::Locked(rest.parse()?),
            "mass" if rest.is_empty() => Self::Mass,
            "gauge_temperature" if rest.is_empty() => Self::GaugeTemperature,
            "lip_outer" => Self::LipOuter(number()?),
            "lip_inner" => Self::LipInner(number()?),
            _ => return Err(wrong()),
        })
    }
}

impl Serialize for Slot {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.collect_str(self)
    }
}

impl<'de> Deserialize<'de> for Slot {
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
    fn slots_read_back() {
        for slot in [
            Slot::Point(10),
            Slot::Return,
            Slot::Swept,
            Slot::Low,
            Slot::High,
            Slot::Temperature,
            Slot::Inner(1),
            Slot::Outer(2),
            Slot::Open(1),
            Slot::Closed(2),
            Slot::Lining(1),
            Slot::Value(3),
            Slot::At("RR".parse().unwrap()),
            Slot::Locked("FL".parse().unwrap()),
            Slot::Mass,
            Slot::GaugeTemperature,
            Slot::LipOuter(1),
            Slot::LipInner(2),
        ] {
            assert_eq!(slot.to_string().parse::<Slot>().unwrap(), slot);
        }
        for text in [
            "point 0", "point", "point -1", "point +1", "returns", "at XX", "",
        ] {
            assert!(text.parse::<Slot>().is_err(), "{text}");
        }
    }
}
