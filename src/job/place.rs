//! Where on the vehicle something was seen or measured.

use std::fmt;
use std::str::FromStr;

use serde::{Deserialize, Deserializer, Serialize, Serializer};

use super::NameError;

/// Left or right, as seen from the driver's seat facing forward.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Side {
    /// Left.
    Left,
    /// Right.
    Right,
}

impl Side {
    /// The other side of the axle.
    #[must_use]
    pub const fn mate(self) -> Self {
        match self {
            Self::Left => Self::Right,
            Self::Right => Self::Left,
        }
    }
}

/// How the sides are called: by left and right, or by the kerb.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum SideNames {
    /// Left and right.
    #[default]
    LeftRight,
    /// Nearside and offside where traffic keeps left: the nearside is the left one.
    NearsideLeft,
    /// Nearside and offside where traffic keeps right: the nearside is the right one.
    NearsideRight,
}

impl SideNames {
    /// The corner in these words, `front nearside`.
    #[must_use]
    pub fn of(self, corner: Corner) -> String {
        let nearside = match self {
            Self::LeftRight => return corner.in_words(),
            Self::NearsideLeft => Side::Left,
            Self::NearsideRight => Side::Right,
        };
        let side = if corner.side() == nearside {
            "nearside"
        } else {
            "offside"
        };
        match corner.axle().number() {
            1 | 2 => format!("{} {side}", corner.axle()),
            n => format!("axle {n} {side}"),
        }
    }
}

/// An axle, counted from the front: 1 is the front axle.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Axle(u8);

impl Axle {
    /// The front axle.
    pub const FRONT: Self = Self(1);
    /// The second axle, called rear.
    pub const REAR: Self = Self(2);

    /// The axle with this number, 1 to 9.
    #[must_use]
    pub const fn numbered(number: u8) -> Option<Self> {
        if number >= 1 && number <= 9 {
            Some(Self(number))
        } else {
            None
        }
    }

    /// The axle's number, 1 for the front.
    #[must_use]
    pub const fn number(self) -> u8 {
        self.0
    }

    /// The corner on one side of the axle.
    #[must_use]
    pub const fn corner(self, side: Side) -> Corner {
        Corner { axle: self, side }
    }

    /// Both corners, left first.
    #[must_use]
    pub const fn corners(self) -> [Corner; 2] {
        [self.corner(Side::Left), self.corner(Side::Right)]
    }
}

impl fmt::Display for Axle {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self.0 {
            1 => f.write_str("front"),
            2 => f.write_str("rear"),
            n => write!(f, "{n}"),
        }
    }
}

impl FromStr for Axle {
    type Err = NameError;

    fn from_str(text: &str) -> Result<Self, NameError> {
        match text.trim().to_ascii_lowercase().as_str() {
            "front" | "f" => Ok(Self::FRONT),
            "rear" | "r" => Ok(Self::REAR),
            other => other
                .parse::<u8>()
                .ok()
                .and_then(Self::numbered)
                .ok_or_else(|| NameError::Axle(text.to_owned())),
        }
    }
}

/// One wheel station, written `FL`, `FR`, `RL`, `RR`; a third axle continues `3L`, `3R`.
///
/// # Examples
/// ```
/// use brakecorner::job::Corner;
/// let corner: Corner = "fr".parse()?;
/// assert_eq!(corner.to_string(), "FR");
/// assert_eq!(corner.mate().to_string(), "FL");
/// # Ok::<(), brakecorner::job::NameError>(())
/// ```
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Corner {
    axle: Axle,
    side: Side,
}

impl Corner {
    /// The axle this corner belongs to.
    #[must_use]
    pub const fn axle(self) -> Axle {
        self.axle
    }

    /// The side it is on.
    #[must_use]
    pub const fn side(self) -> Side {
        self.side
    }

    /// The corner at the other end of the axle.
    #[must_use]
    pub const fn mate(self) -> Self {
        self.axle.corner(self.side.mate())
    }

    /// The corner in plain words, `front left`.
    #[must_use]
    pub fn in_words(self) -> String {
        let side = match self.side {
            Side::Left => "left",
            Side::Right => "right",
        };
        match self.axle.0 {
            1 | 2 => format!("{} {side}", self.axle),
            n => format!("axle {n} {side}"),
        }
    }
}

impl fmt::Display for Corner {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let side = match self.side {
            Side::Left => 'L',
            Side::Right => 'R',
        };
        match self.axle.0 {
            1 => write!(f, "F{side}"),
            2 => write!(f, "R{side}"),
            n => write!(f, "{n}{side}"),
        }
    }
}

impl FromStr for Corner {
    type Err = NameError;

    fn from_str(text: &str) -> Result<Self, NameError> {
        let wrong = || NameError::Corner(text.to_owned());
        let upper = text.trim().to_ascii_uppercase();
        let mut letters = upper.chars();
        let (Some(axle), Some(side), None) = (letters.next(), letters.next(), letters.next())
        else {
            return Err(wrong());
        };
        let axle = match axle {
            'F' | '1' => Axle::FRONT,
            'R' | '2' => Axle::REAR,
            digit => digit
                .to_digit(10)
                .and_then(|d| u8::try_from(d).ok())
                .and_then(Axle::numbered)
                .ok_or_else(wrong)?,
        };
        match side {
            'L' => Ok(axle.corner(Side::Left)),
            'R' => Ok(axle.corner(Side::Right)),
            _ => Err(wrong()),
        }
    }
}

/// A corner, an axle, or the whole vehicle.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Place {
    /// One wheel station.
    Corner(Corner),
    /// Both ends of one axle.
    Axle(Axle),
    /// The whole vehicle.
    Vehicle,
}

impl Place {
    /// The corner, if the place is one.
    #[must_use]
    pub const fn corner(self) -> Option<Corner> {
        match self {
            Self::Corner(corner) => Some(corner),
            _ => None,
        }
    }

    /// The place in plain words.
    #[must_use]
    pub fn in_words(self) -> String {
        match self {
            Self::Corner(corner) => corner.in_words(),
            Self::Axle(axle) => format!("{axle} axle"),
            Self::Vehicle => "vehicle".to_owned(),
        }
    }
}

impl fmt::Display for Place {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Corner(corner) => corner.fmt(f),
            Self::Axle(axle) => axle.fmt(f),
            Self::Vehicle => f.write_str("vehicle"),
        }
    }
}

impl FromStr for Place {
    type Err = NameError;

    fn from_str(text: &str) -> Result<Self, NameError> {
        if text.eq_ignore_ascii_case("vehicle") {
            return Ok(Self::Vehicle);
        }
        if matches!(text.to_ascii_lowercase().as_str(), "front" | "rear")
            || (text.len() == 1 && text.parse::<Axle>().is_ok() && text.parse::<u8>().is_ok())
        {
            return text.parse().map(Self::Axle);
        }
        text.parse().map(Self::Corner)
    }
}

macro_rules! as_text {
    ($($name:ty),*) => {$(
        impl Serialize for $name {
            fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
                serializer.collect_str(self)
            }
        }

        impl<'de> Deserialize<'de> for $name {
            fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
                String::deserialize(deserializer)?.parse().map_err(serde::de::Error::custom)
            }
        }
    )*};
}
as_text!(Corner, Axle, Place);

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_corner_and_axle_reads_back() {
        for number in 1..=9 {
            let axle = Axle::numbered(number).unwrap();
            assert_eq!(axle.to_string().parse::<Axle>().unwrap(), axle);
            for corner in axle.corners() {
                assert_eq!(corner.to_string().parse::<Corner>().unwrap(), corner);
                assert_eq!(
                    corner.to_string().parse::<Place>().unwrap(),
                    Place::Corner(corner)
                );
                assert_eq!(corner.mate().mate(), corner);
            }
            assert_eq!(
                axle.to_string().parse::<Place>().unwrap(),
                Place::Axle(axle)
            );
        }
    }

    #[test]
    fn nearside_is_the_kerbs_side_of_the_road() {
        let corner: Corner = "FL".parse().unwrap();
        assert_eq!(SideNames::NearsideLeft.of(corner), "front nearside");
        assert_eq!(SideNames::NearsideRight.of(corner), "front offside");
        assert_eq!(SideNames::LeftRight.of(corner), "front left");
    }

    #[test]
    fn an_unknown_corner_is_named_with_the_known_ones() {
        let error = "XL".parse::<Corner>().unwrap_err().to_string();
        assert!(
            error.contains("`XL`") && error.contains("FL, FR, RL, RR"),
            "{error}"
        );
    }
}
