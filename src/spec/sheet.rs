//! Spec sheets: what the vehicle's maker says about its brakes, with the source of every number.

use serde::{Deserialize, Serialize};

use super::percent::Percent;
use super::problem::SpecProblems;
use super::sourced::Sourced;
use crate::units::{Angle, Distance, Length, Mounting, Torque, VehicleBuild};

/// A vehicle's specification, read once from its file.
///
/// Serialises to the snapshot that is frozen in a signed record, and reads back from it.
///
/// # Examples
///
/// ```
/// use brakecorner::spec::Sheet;
///
/// let text = r#"
/// id = "example-van"
/// name = "Example Van"
/// vin_patterns = ["A0ZEX*"]
/// source = "maker's data sheet"
///
/// [wheel]
/// fasteners = 5
///
/// [[axle]]
/// name = "front"
/// brake = "disc"
/// [axle.disc]
/// new_mm = 26.0
/// discard_mm = 22.4
/// "#;
/// let sheet = Sheet::parse(text, "example-van.toml")?;
/// let disc = sheet.axle("front").and_then(|axle| axle.disc.as_ref());
/// let discard = disc.and_then(|disc| disc.discard.as_ref());
/// assert_eq!(discard.map(|limit| limit.value.nm()), Some(22_400_000));
/// # Ok::<(), brakecorner::spec::SpecProblems>(())
/// ```
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct Sheet {
    /// Short name, unique within a workshop.
    pub id: String,
    /// Name for people.
    pub name: String,
    /// VIN patterns the sheet is for: `*` stands for any run of characters, `?` for any one.
    #[serde(default)]
    pub vin_patterns: Vec<String>,
    /// Vehicle class of the rule packs, such as `M1` or `N1`.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub vehicle_class: Option<String>,
    /// The axles from front to back; the first two are named `front` and `rear`.
    pub axles: Vec<AxleSpec>,
    /// Wheel fasteners.
    pub wheel: WheelSpec,
    /// What rules ask of the vehicle's build.
    #[serde(default, skip_serializing_if = "VehicleBuild::is_empty")]
    pub build: VehicleBuild,
    /// Grade of the brake fluid, such as `DOT 4`.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub fluid_grade: Option<Sourced<String>>,
    /// When the next service falls due.
    #[serde(default)]
    pub service: ServiceInterval,
    /// When the wheel fasteners are to be checked again.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub retorque: Option<RetorqueRule>,
}

/// One axle's brakes.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct AxleSpec {
    /// `front`, `rear`, `third`.
    pub name: String,
    /// Kind of the service brake.
    pub brake: BrakeKind,
    /// Whether the axle steers.
    pub steered: bool,
    /// How the brake is worked.
    #[serde(default)]
    pub actuation: Actuation,
    /// The disc.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub disc: Option<DiscSpec>,
    /// The drum; beside a disc it is the parking brake's.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub drum: Option<DrumSpec>,
    /// The disc's pads.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub pads: Option<FrictionSpec>,
    /// The drum's linings.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub linings: Option<FrictionSpec>,
    /// Largest axial play of the wheel bearing.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub bearing_float_max: Option<Sourced<Length>>,
    /// Fasteners of the calliper.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub calliper: Option<CalliperSpec>,
    /// Torque to clamp the disc with while run-out is measured.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub clamp_torque: Option<Sourced<Torque>>,
    /// Diameter at which the run-out limit holds.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub measuring_diameter: Option<Sourced<Length>>,
}

/// Kind of a service brake.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum BrakeKind {
    /// A disc brake.
    Disc {
        /// Whether the disc has two faces with vanes between them.
        vented: bool,
    },
    /// A drum brake.
    Drum,
}

/// What presses the brake on.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Actuation {
    /// Brake fluid.
    #[default]
    Hydraulic,
    /// Compressed air.
    Air,
    /// An electric motor.
    Electric,
}

/// A disc.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct DiscSpec {
    /// Thickness when new.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub new: Option<Sourced<Length>>,
    /// Thickness below which it must not be used.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub discard: Option<Sourced<Length>>,
    /// Thickness it may be machined to.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub machine_to: Option<Sourced<Length>>,
    /// Largest lateral run-out.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub runout: Option<RunoutSpec>,
    /// Largest thickness variation.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub dtv_max: Option<Sourced<Length>>,
}

/// A run-out limit with what its maker means by run-out.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct RunoutSpec {
    /// The figure as the maker prints it.
    pub max: Sourced<Length>,
    /// What the figure measures.
    pub definition: RunoutDefinition,
}

impl RunoutSpec {
    /// The limit as a total indicated reading; a half figure is doubled.
    #[must_use]
    pub fn tir(&self) -> Length {
        match self.definition {
            RunoutDefinition::Tir => self.max.value,
            RunoutDefinition::Half => self.max.value + self.max.value,
        }
    }
}

/// What a maker's run-out figure measures.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum RunoutDefinition {
    /// Highest minus lowest reading of a turn.
    #[default]
    Tir,
    /// Half of that: the deviation to either side.
    Half,
}

/// A drum.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct DrumSpec {
    /// Inside diameter when new.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub new: Option<Sourced<Length>>,
    /// Inside diameter above which it must not be used.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub max: Option<Sourced<Length>>,
    /// Largest ovality.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub ovality_max: Option<Sourced<Length>>,
}

/// Pads or linings.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct FrictionSpec {
    /// Thickness when new, on the sheet's basis.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub new: Option<Sourced<Length>>,
    /// Minimum thickness, on the sheet's basis.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub min: Option<Sourced<Length>>,
    /// Whether the figures include the backing plate. Without it the minimum cannot be used.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub basis: Option<FrictionBasis>,
    /// How the friction material is held.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub mounting: Option<Mounting>,
    /// Whether a shoe carries two pads.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub two_pad_shoe: Option<bool>,
}

impl FrictionSpec {
    /// The minimum of the friction material alone; `None` when it is not given or its basis is not.
    #[must_use]
    pub fn min_friction(&self) -> Option<Length> {
        Some(self.basis.as_ref()?.friction(self.min.as_ref()?.value))
    }

    /// The new thickness of the friction material alone; `None` when it is not given or its basis is not.
    #[must_use]
    pub fn new_friction(&self) -> Option<Length> {
        Some(self.basis.as_ref()?.friction(self.new.as_ref()?.value))
    }
}

/// What a friction thickness includes.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum FrictionBasis {
    /// The friction material alone.
    FrictionOnly,
    /// The friction material and the plate or shoe it sits on.
    WithPlate {
        /// Thickness of the plate.
        plate: Sourced<Length>,
    },
}

impl FrictionBasis {
    fn friction(&self, thickness: Length) -> Length {
        match self {
            Self::FrictionOnly => thickness,
            Self::WithPlate { plate } => thickness - plate.value,
        }
    }
}

/// Fasteners of a calliper.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct CalliperSpec {
    /// Bolts of the carrier.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub carrier: Option<FastenerSpec>,
    /// Bolts of the slide pins.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub slide_pin: Option<FastenerSpec>,
    /// Union of the hose.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub hose_union: Option<FastenerSpec>,
}

/// How a fastener is tightened.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct FastenerSpec {
    /// Torque.
    pub torque: Sourced<Torque>,
    /// Allowed deviation from the torque.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub tolerance: Option<Percent>,
    /// Angles to turn further after the torque, in order.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub angle_stages: Vec<Angle>,
    /// Whether it must be renewed each time it is undone.
    #[serde(default)]
    pub single_use: bool,
}

/// The fasteners of a wheel.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct WheelSpec {
    /// How many there are.
    pub fasteners: u8,
    /// Thread, such as `M14`.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub thread: Option<String>,
    /// Final torque.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub torque: Option<Sourced<Torque>>,
    /// Allowed deviation from the torque.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub tolerance: Option<Percent>,
    /// Stud with nut, or bolt.
    #[serde(default)]
    pub kind: FastenerKind,
    /// The maker's own order of tightening, by stud number from 1.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub order: Option<Vec<u8>>,
    /// Whether one fastener a wheel needs a locking key.
    #[serde(default)]
    pub locking_key: bool,
}

/// What holds a wheel.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum FastenerKind {
    /// Studs in the hub, with nuts.
    #[default]
    Stud,
    /// Bolts screwed into the hub.
    Bolt,
}

/// Distance and time between services, whichever comes first.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct ServiceInterval {
    /// Distance.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub distance: Option<Sourced<Distance>>,
    /// Months.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub months: Option<u32>,
}

/// When wheel fasteners are to be checked again, whichever comes first.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct RetorqueRule {
    /// Distance driven since.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub distance: Option<Sourced<Distance>>,
    /// Days since.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub days: Option<u32>,
}

impl Sheet {
    /// Reads a sheet from its text; `file_name` appears in messages only.
    ///
    /// # Errors
    /// [`SpecProblems`] with every problem of the file: broken TOML, unknown or missing keys, values
    /// of the wrong kind, and values that contradict each other, such as a limit above the new size.
    pub fn parse(text: &str, file_name: &str) -> Result<Self, SpecProblems> {
        super::sheet_read::parse(text, file_name)
    }

    /// The commented template of a sheet; it parses as it stands.
    #[must_use]
    pub const fn template() -> &'static str {
        include_str!("../../specs/vehicles/template.toml")
    }

    /// The axle of this name.
    #[must_use]
    pub fn axle(&self, name: &str) -> Option<&AxleSpec> {
        self.axles.iter().find(|axle| axle.name == name)
    }

    /// The axle a corner belongs to: `FL FR` the first, `RL RR` the second, `3L 3R` the third.
    #[must_use]
    pub fn axle_of_corner(&self, corner: &str) -> Option<&AxleSpec> {
        let index = match corner {
            "FL" | "FR" => 0,
            "RL" | "RR" => 1,
            _ => {
                let (number, side) = corner.split_at_checked(1)?;
                let number: usize = number.parse().ok()?;
                if number < 3 || !matches!(side, "L" | "R") {
                    return None;
                }
                number - 1
            }
        };
        self.axles.get(index)
    }

    /// Whether one of the sheet's patterns fits the VIN; letter case does not matter.
    #[must_use]
    pub fn fits_vin(&self, vin: &str) -> bool {
        self.vin_patterns
            .iter()
            .any(|pattern| super::find::pattern_fits(pattern, vin))
    }
}
