//! The vehicles a workshop knows: identity, corner layout, possible clockings, plates, visits.
//!
//! One file a vehicle, `vehicles/VIN.toml`: learned once, asked never again, and editable by hand.

use std::collections::BTreeMap;
use std::fmt;
use std::path::PathBuf;

use chrono::NaiveDate;
use serde::{Deserialize, Serialize};

use super::folder::{ShopError, Workshop, io_error, parse_toml, write_toml};
use crate::job::{Corner, Event, Item};
use crate::units::{Distance, VehicleBuild};

/// Why a vehicle's file could not be used.
#[derive(Debug, thiserror::Error)]
#[non_exhaustive]
pub enum VehicleError {
    /// The number cannot be a file name.
    #[error("`{0}` is no vehicle identification number; expected 1 to 17 letters and digits")]
    Vin(String),
    /// The file speaks of another vehicle.
    #[error("`{}` says VIN {found}, expected {expected}", path.display())]
    OtherVehicle {
        /// The file.
        path: PathBuf,
        /// The VIN in it.
        found: String,
        /// The VIN it is named for.
        expected: String,
    },
    /// The folder or a file in it could not be used.
    #[error(transparent)]
    Shop(#[from] ShopError),
}

/// A vehicle as the workshop knows it.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Vehicle {
    /// Vehicle identification number.
    pub vin: String,
    /// Vehicle class for the rule packs, such as `M1`.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub class: String,
    /// Date of first use.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub first_used: Option<NaiveDate>,
    /// Spec sheet used.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub sheet: String,
    /// Fasteners a wheel.
    #[serde(default)]
    pub fasteners: u8,
    /// A remark of the workshop.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub note: String,
    /// What is known of its build for the rule packs.
    #[serde(default, skip_serializing_if = "VehicleBuild::is_empty")]
    pub build: VehicleBuild,
    /// Clockings the disc can be fitted in, by axle; an axle that is not here was not asked about.
    #[serde(default, skip_serializing_if = "BTreeMap::is_empty")]
    pub clockings: BTreeMap<String, Vec<u8>>,
    /// Items it is built without, by corner.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub absent: Vec<Absent>,
    /// The axles from the front: name and kind of brake.
    #[serde(default, rename = "axle", skip_serializing_if = "Vec::is_empty")]
    pub axles: Vec<AxleLayout>,
    /// Plates it carried, the latest last.
    #[serde(default, rename = "plate", skip_serializing_if = "Vec::is_empty")]
    pub plates: Vec<PlateSeen>,
    /// Visits, in order.
    #[serde(default, rename = "visit", skip_serializing_if = "Vec::is_empty")]
    pub visits: Vec<VehicleVisit>,
}

/// An item a vehicle is built without, as somebody said.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Absent {
    /// The corner.
    pub corner: Corner,
    /// The item.
    pub item: Item,
    /// Who said so.
    pub by: String,
    /// The day.
    pub on: NaiveDate,
}

impl Absent {
    /// The same as an event of a job.
    #[must_use]
    pub fn event(&self) -> Event {
        Event::Absent {
            corner: self.corner,
            item: self.item,
            by: self.by.clone(),
            on: self.on,
        }
    }
}

impl fmt::Display for Absent {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let Self {
            corner,
            item,
            by,
            on,
        } = self;
        write!(f, "{corner} {item} (said by {by} on {on})")
    }
}

/// One axle of a vehicle.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct AxleLayout {
    /// `front`, `rear`, `third`.
    pub name: String,
    /// `disc` or `drum`.
    pub brake: String,
}

/// A plate and when it was seen first.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct PlateSeen {
    /// The plate.
    pub plate: String,
    /// The day it was seen first on this vehicle.
    pub since: NaiveDate,
    /// The day it was seen on another vehicle; empty while it is this one's.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub until: Option<NaiveDate>,
}

/// A visit of a vehicle.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct VehicleVisit {
    /// The job.
    pub job: String,
    /// The day.
    pub date: NaiveDate,
    /// The odometer, in whole kilometres.
    pub odometer_km: i64,
}

impl Vehicle {
    /// The plate it carries, if one is known.
    #[must_use]
    pub fn plate(&self) -> Option<&str> {
        self.plates
            .iter()
            .rev()
            .find(|seen| seen.until.is_none())
            .map(|seen| seen.plate.as_str())
    }

    /// The last visit before a job.
    #[must_use]
    pub fn last_visit(&self, job: &str) -> Option<&VehicleVisit> {
        self.visits.iter().rev().find(|visit| visit.job != job)
    }

    /// Takes a plate into the history; the one before it ends that day.
    pub fn carries(&mut self, plate: &str, day: NaiveDate) {
        if plate.trim().is_empty() || self.plate().is_some_and(|known| same_plate(known, plate)) {
            return;
        }
        self.gives_up(day);
        self.plates.push(PlateSeen {
            plate: plate.trim().to_owned(),
            since: day,
            until: None,
        });
    }

    /// Ends the plate it carries.
    pub fn gives_up(&mut self, day: NaiveDate) {
        for seen in self.plates.iter_mut().filter(|seen| seen.until.is_none()) {
            seen.until = Some(day);
        }
    }

    /// Takes a visit into the history; a job is one visit.
    pub fn visited(&mut self, job: &str, date: NaiveDate, odometer: Distance) {
        self.visits.retain(|visit| visit.job != job);
        self.visits.push(VehicleVisit {
            job: job.to_owned(),
            date,
            odometer_km: odometer.mm().div_euclid(1_000_000),
        });
    }
}

/// Whether two plates are the same; blanks, hyphens and letter case do not count.
///
/// # Examples
/// ```
/// use brakecorner::shop::vehicles::same_plate;
/// assert!(same_plate("hw 12-345", "HW12345"));
/// assert!(!same_plate("", ""));
/// ```
#[must_use]
pub fn same_plate(a: &str, b: &str) -> bool {
    let bare = |text: &str| {
        let letters = text.chars().filter(|c| c.is_alphanumeric());
        letters.flat_map(char::to_uppercase).collect::<String>()
    };
    let (a, b) = (bare(a), bare(b));
    !a.is_empty() && a == b
}

impl Workshop {
    /// A vehicle's file, whether it exists or not.
    ///
    /// # Errors
    /// [`VehicleError::Vin`] if the number cannot be a file name.
    pub fn vehicle_path(&self, vin: &str) -> Result<PathBuf, VehicleError> {
        let fine = (1..=17).contains(&vin.len()) && vin.chars().all(|c| c.is_ascii_alphanumeric());
        if fine {
            let name = format!("{}.toml", vin.to_ascii_uppercase());
            Ok(self.folder.join("vehicles").join(name))
        } else {
            Err(VehicleError::Vin(vin.to_owned()))
        }
    }

    /// A vehicle, if the workshop knows it.
    ///
    /// # Errors
    /// [`VehicleError`] if the number cannot be a file name, the file does not read, or it speaks of
    /// another vehicle.
    pub fn vehicle(&self, vin: &str) -> Result<Option<Vehicle>, VehicleError> {
        let path = self.vehicle_path(vin)?;
        let text = match std::fs::read_to_string(&path) {
            Ok(text) => text,
            Err(error) if error.kind() == std::io::ErrorKind::NotFound => return Ok(None),
            Err(error) => return Err(io_error("read", &path)(error).into()),
        };
        let vehicle: Vehicle = parse_toml(&text, &path)?;
        if vehicle.vin.eq_ignore_ascii_case(vin) {
            return Ok(Some(vehicle));
        }
        Err(VehicleError::OtherVehicle {
            path,
            found: vehicle.vin,
            expected: vin.to_owned(),
        })
    }

    /// Every vehicle the workshop knows, by VIN; one that does not read is there as its error.
    ///
    /// # Errors
    /// [`VehicleError::Shop`] if the folder cannot be read.
    #[allow(clippy::type_complexity)] // a name and what became of it
    pub fn vehicles(&self) -> Result<Vec<(String, Result<Vehicle, VehicleError>)>, VehicleError> {
        let folder = self.folder.join("vehicles");
        if !folder.is_dir() {
            return Ok(Vec::new());
        }
        let mut vins = Vec::new();
        for entry in std::fs::read_dir(&folder).map_err(io_error("read", &folder))? {
            let path = entry.map_err(io_error("read", &folder))?.path();
            if path.extension().is_some_and(|ending| ending == "toml") {
                let stem = path.file_stem().unwrap_or_default();
                vins.push(stem.to_string_lossy().into_owned());
            }
        }
        vins.sort();
        Ok(vins
            .into_iter()
            .filter_map(|vin| match self.vehicle(&vin) {
                Ok(Some(vehicle)) => Some((vin, Ok(vehicle))),
                Ok(None) => None,
                Err(error) => Some((vin, Err(error))),
            })
            .collect())
    }

    /// Writes a vehicle's file, whole or not at all.
    ///
    /// # Errors
    /// [`VehicleError`] if the number cannot be a file name or the system refuses.
    pub fn write_vehicle(&self, vehicle: &Vehicle) -> Result<(), VehicleError> {
        let path = self.vehicle_path(&vehicle.vin)?;
        let folder = self.folder.join("vehicles");
        std::fs::create_dir_all(&folder).map_err(io_error("create", &folder))?;
        Ok(write_toml(&path, vehicle)?)
    }

    /// The vehicle that carries a plate, other than the one with this VIN.
    ///
    /// # Errors
    /// [`VehicleError::Shop`] if the folder cannot be read.
    pub fn plate_elsewhere(&self, plate: &str, vin: &str) -> Result<Option<Vehicle>, VehicleError> {
        let others = self
            .vehicles()?
            .into_iter()
            .filter_map(|(_, vehicle)| vehicle.ok());
        Ok(others
            .filter(|vehicle| !vehicle.vin.eq_ignore_ascii_case(vin))
            .find(|vehicle| {
                vehicle
                    .plate()
                    .is_some_and(|known| same_plate(known, plate))
            }))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::shop::folder::Settings;

    fn shop() -> (tempfile::TempDir, Workshop) {
        let root = tempfile::tempdir().unwrap();
        let settings = Settings {
            name: "Test Yard".into(),
            address: vec![],
            currency: String::new(),
            rules: vec![],
            policy: "default".into(),
            schedule: "routine".into(),
            sides: Default::default(),
        };
        let shop = Workshop::create(&root.path().join("shop"), settings).unwrap();
        (root, shop)
    }

    fn day(d: u32) -> NaiveDate {
        NaiveDate::from_ymd_opt(2026, 3, d).unwrap()
    }

    #[test]
    fn a_vehicle_reads_back_as_it_was_written() {
        let (_root, shop) = shop();
        let mut vehicle = Vehicle {
            vin: "A0ZTN12S0MK000417".into(),
            class: "M1".into(),
            sheet: "merlock-ternway".into(),
            fasteners: 5,
            clockings: BTreeMap::from([("front".into(), vec![0, 1, 2, 3, 4])]),
            axles: vec![AxleLayout {
                name: "front".into(),
                brake: "disc".into(),
            }],
            ..Vehicle::default()
        };
        vehicle.carries("HW 417", day(3));
        vehicle.visited("HWY-0417", day(3), Distance::from_whole_km(118_460));
        shop.write_vehicle(&vehicle).unwrap();
        assert_eq!(
            shop.vehicle("a0ztn12s0mk000417").unwrap(),
            Some(vehicle.clone())
        );
        assert_eq!(shop.vehicle("A0ZTN12S0MK000418").unwrap(), None);
        assert_eq!(shop.vehicles().unwrap().len(), 1);
    }

    #[test]
    fn a_plate_has_one_vehicle_at_a_time_and_a_history() {
        let (_root, shop) = shop();
        let mut old = Vehicle {
            vin: "A0ZTN12S0MK000417".into(),
            ..Vehicle::default()
        };
        old.carries("HW 1", day(1));
        old.carries("hw-1", day(2));
        assert_eq!(old.plates.len(), 1, "the same plate is no news");
        shop.write_vehicle(&old).unwrap();
        let found = shop.plate_elsewhere("HW1", "A0ZTN12S0MK000418").unwrap();
        assert_eq!(found.map(|v| v.vin), Some(old.vin.clone()));
        assert_eq!(shop.plate_elsewhere("HW1", &old.vin).unwrap(), None);
        old.carries("HW 2", day(4));
        assert_eq!(old.plate(), Some("HW 2"));
        assert_eq!(old.plates[0].until, Some(day(4)));
        shop.write_vehicle(&old).unwrap();
        assert_eq!(
            shop.plate_elsewhere("HW1", "A0ZTN12S0MK000418").unwrap(),
            None
        );
    }

    #[test]
    fn a_number_cannot_leave_its_folder_and_a_file_must_name_its_vehicle() {
        let (_root, shop) = shop();
        for vin in ["", "..", "A/B", "A0ZTN12S0MK000417X", "ä"] {
            assert!(
                matches!(shop.vehicle(vin), Err(VehicleError::Vin(_))),
                "{vin}"
            );
        }
        let path = shop.vehicle_path("A0ZTN12S0MK000417").unwrap();
        std::fs::write(&path, "vin = \"A0ZDL07V7NK001122\"\n").unwrap();
        assert!(matches!(
            shop.vehicle("A0ZTN12S0MK000417"),
            Err(VehicleError::OtherVehicle { .. })
        ));
        std::fs::write(&path, "vin = \"A0ZTN12S0MK000417\"\ncolour = 3\n").unwrap();
        let error = shop.vehicle("A0ZTN12S0MK000417").unwrap_err();
        assert!(matches!(
            error,
            VehicleError::Shop(ShopError::Syntax { .. })
        ));
        assert!(shop.vehicles().unwrap()[0].1.is_err());
    }
}
