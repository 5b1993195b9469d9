//! The words in which rules tell vehicles apart: class, mass, seats, how it is built.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use super::UnitError;

/// How friction material is held.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum Mounting {
    /// Glued.
    Bonded,
    /// Riveted or bolted.
    Fastened,
}

/// What a vehicle is built on.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum Chassis {
    /// The chassis of a passenger car.
    PassengerCar,
    /// The chassis of a lorry or a bus.
    TruckOrBus,
}

/// What is known of a vehicle's build that rules ask for; an empty fact is not known.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(default, deny_unknown_fields)]
pub struct VehicleBuild {
    /// Gross mass in grams.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub gross_mass_g: Option<u64>,
    /// Seats, the driver's included.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub seats: Option<u32>,
    /// Whether the vehicle carries passengers.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub passenger: Option<bool>,
    /// What it is built on.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub chassis: Option<Chassis>,
    /// Whether one line works every brake, so that the parking brake is the secondary brake too.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub single_line: Option<bool>,
    /// How the friction material is held, where the spec sheet does not say.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub mounting: Option<Mounting>,
    /// Whether a shoe carries two pads, where the spec sheet does not say.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub two_pad_shoe: Option<bool>,
}

impl VehicleBuild {
    /// Whether nothing is known.
    #[must_use]
    pub fn is_empty(&self) -> bool {
        *self == Self::default()
    }

    /// What is known here, and where nothing is, what `other` knows.
    ///
    /// # Examples
    /// ```
    /// use brakecorner::units::VehicleBuild;
    /// let sheet = VehicleBuild { seats: Some(5), single_line: Some(false), ..VehicleBuild::default() };
    /// let entered = VehicleBuild { seats: Some(7), ..VehicleBuild::default() };
    /// let known = entered.or(&sheet);
    /// assert_eq!((known.seats, known.single_line), (Some(7), Some(false)));
    /// ```
    #[must_use]
    pub fn or(&self, other: &Self) -> Self {
        Self {
            gross_mass_g: self.gross_mass_g.or(other.gross_mass_g),
            seats: self.seats.or(other.seats),
            passenger: self.passenger.or(other.passenger),
            chassis: self.chassis.or(other.chassis),
            single_line: self.single_line.or(other.single_line),
            mounting: self.mounting.or(other.mounting),
            two_pad_shoe: self.two_pad_shoe.or(other.two_pad_shoe),
        }
    }
}

/// What a vehicle class says by its definition.
///
/// The categories of UNECE and the EU (M passengers, N goods, O trailers), from memory: the resolution
/// itself was not read.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct VehicleClass {
    /// The word, such as `M1`.
    pub word: &'static str,
    /// Whether it carries passengers.
    pub passenger: bool,
    /// Gross mass over this, in grams.
    pub mass_over_g: Option<u64>,
    /// Gross mass up to and including this, in grams.
    pub mass_up_to_g: Option<u64>,
    /// Fewest seats, the driver's included.
    pub seats_from: Option<u32>,
    /// Most seats, the driver's included.
    pub seats_up_to: Option<u32>,
}

const fn class(
    word: &'static str,
    (mass_over_kg, mass_up_to_kg): (u64, u64),
    seats: (u32, u32),
) -> VehicleClass {
    const fn grams(kg: u64) -> Option<u64> {
        if kg == 0 { None } else { Some(kg * 1000) }
    }
    const fn seat(number: u32) -> Option<u32> {
        if number == 0 { None } else { Some(number) }
    }
    VehicleClass {
        word,
        passenger: seats.0 != 0 || seats.1 != 0,
        mass_over_g: grams(mass_over_kg),
        mass_up_to_g: grams(mass_up_to_kg),
        seats_from: seat(seats.0),
        seats_up_to: seat(seats.1),
    }
}

/// Every vehicle class the rule packs know: eight seats besides the driver's part M1 from M2 and M3;
/// no mass is part of M1, no seats of N and O. 0 stands for no bound.
pub const VEHICLE_CLASSES: [VehicleClass; 10] = [
    class("M1", (0, 0), (0, 9)),
    class("M2", (0, 5_000), (10, 0)),
    class("M3", (5_000, 0), (10, 0)),
    class("N1", (0, 3_500), (0, 0)),
    class("N2", (3_500, 12_000), (0, 0)),
    class("N3", (12_000, 0), (0, 0)),
    class("O1", (0, 750), (0, 0)),
    class("O2", (750, 3_500), (0, 0)),
    class("O3", (3_500, 10_000), (0, 0)),
    class("O4", (10_000, 0), (0, 0)),
];

impl VehicleClass {
    /// The class of this word, in any letter case.
    ///
    /// # Examples
    /// ```
    /// use brakecorner::units::VehicleClass;
    /// assert_eq!(VehicleClass::find("n1").map(|class| class.word), Some("N1"));
    /// assert_eq!(VehicleClass::find("N11"), None);
    /// ```
    #[must_use]
    pub fn find(word: &str) -> Option<&'static Self> {
        VEHICLE_CLASSES
            .iter()
            .find(|class| class.word.eq_ignore_ascii_case(word.trim()))
    }

    /// The words of every class, for messages.
    #[must_use]
    pub fn words() -> String {
        let words: Vec<&str> = VEHICLE_CLASSES.iter().map(|class| class.word).collect();
        words.join(", ")
    }

    /// What of a build this class cannot have; `None` when they agree.
    #[must_use]
    pub fn contradicts(&self, build: &VehicleBuild) -> Option<String> {
        let kg = |grams: u64| kilograms(grams);
        if let Some(mass) = build.gross_mass_g {
            let over = self.mass_over_g.filter(|over| mass <= *over);
            let up_to = self.mass_up_to_g.filter(|up_to| mass > *up_to);
            if let Some(over) = over {
                return Some(format!(
                    "class {} is over {}, and the gross mass is {}",
                    self.word,
                    kg(over),
                    kg(mass)
                ));
            }
            if let Some(up_to) = up_to {
                return Some(format!(
                    "class {} is up to {}, and the gross mass is {}",
                    self.word,
                    kg(up_to),
                    kg(mass)
                ));
            }
        }
        if let Some(seats) = build.seats {
            if let Some(most) = self.seats_up_to.filter(|most| seats > *most) {
                return Some(format!(
                    "class {} has {most} seats at most, the driver's included, and {seats} are given",
                    self.word
                ));
            }
            if let Some(fewest) = self.seats_from.filter(|fewest| seats < *fewest) {
                return Some(format!(
                    "class {} has {fewest} seats or more, the driver's included, and {seats} are given",
                    self.word
                ));
            }
        }
        let carries = build.passenger.filter(|carries| *carries != self.passenger);
        carries.map(|carries| {
            let word = |passenger| if passenger { "passengers" } else { "goods" };
            format!(
                "class {} carries {}, and {} are given",
                self.word,
                word(self.passenger),
                word(carries)
            )
        })
    }
}

/// A mass in grams: whole kilograms (`3500`, `3500 kg`) or whole pounds (`10000 lb`).
///
/// 1 lb = 453.59237 g exactly (NIST SP 811, B.8); masses only sort vehicles, so whole grams do.
///
/// # Errors
/// [`UnitError`] for what is no such number.
///
/// # Examples
/// ```
/// use brakecorner::units::mass_g;
/// assert_eq!(mass_g("3500 kg").unwrap(), 3_500_000);
/// assert_eq!(mass_g("10000lb").unwrap(), 4_535_924);
/// assert!(mass_g("heavy").is_err() && mass_g("-3").is_err());
/// ```
pub fn mass_g(text: &str) -> Result<u64, UnitError> {
    let bare = text.trim();
    let (number, pounds) = match bare.strip_suffix("lb") {
        Some(number) => (number, true),
        None => (bare.strip_suffix("kg").unwrap_or(bare), false),
    };
    let number: u64 = number
        .trim()
        .parse::<u32>()
        .map_err(|_| UnitError::NotANumber {
            text: text.to_owned(),
            example: "3500 or 10000 lb",
        })?
        .into();
    let hundred_thousandths = if pounds { 45_359_237 } else { 100_000_000 };
    Ok((number * hundred_thousandths + 50_000) / 100_000)
}

/// Grams in kilograms, as short as they are exact.
#[must_use]
pub fn kilograms(grams: u64) -> String {
    let text = format!("{}.{:03}", grams / 1000, grams % 1000);
    format!("{} kg", text.trim_end_matches('0').trim_end_matches('.'))
}
