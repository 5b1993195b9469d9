//! Reads a spec sheet from TOML.

use super::lint::Severity;
use super::problem::SpecProblems;
use super::reader::{Reader, Section};
use super::rules::VehicleFacts;
use super::sheet::{
    Actuation, AxleSpec, BrakeKind, CalliperSpec, DiscSpec, DrumSpec, FastenerKind, FastenerSpec,
    FrictionBasis, FrictionSpec, RetorqueRule, RunoutDefinition, RunoutSpec, ServiceInterval,
    Sheet, WheelSpec,
};
use super::sourced::Sourced;
use crate::units::{Angle, Chassis, Mounting, VEHICLE_CLASSES, VehicleBuild};

/// Axle names in the order of the axles.
pub(super) const AXLE_NAMES: [&str; 4] = ["front", "rear", "third", "fourth"];

pub(super) fn parse(text: &str, file: &str) -> Result<Sheet, SpecProblems> {
    let (sheet, lints) = super::lint::read_and_lint(text, file);
    let errors = lints
        .into_iter()
        .filter(|lint| lint.severity == Severity::Error);
    match (
        SpecProblems::from_list(errors.map(|lint| lint.problem).collect()),
        sheet,
    ) {
        (None, Some(sheet)) => Ok(sheet),
        (problems, _) => Err(problems.unwrap_or(SpecProblems {
            problems: Vec::new(),
        })),
    }
}

/// Reads the keys; what is missing or wrong is reported to `reader` and left empty.
pub(super) fn read(reader: &Reader<'_>) -> Option<Sheet> {
    let document = reader.parse()?;
    let root = Section::root(reader, &document);
    let sheet = Sheet {
        id: read_id(&root),
        name: root.required_text("name", "people choose the sheet by its name"),
        vin_patterns: root.texts("vin_patterns"),
        vehicle_class: root.text("vehicle_class").inspect(|class| {
            if !known_class(class) {
                root.unknown_word("vehicle_class", class, class_words());
            }
        }),
        build: read_build(&root),
        axles: read_axles(&root),
        wheel: read_wheel(&root),
        fluid_grade: root.table("fluid").and_then(read_fluid),
        service: root.table("service").map(read_service).unwrap_or_default(),
        retorque: root.table("retorque").map(read_retorque),
    };
    let facts = VehicleFacts::of_sheet(&sheet);
    if let Some(message) = facts.contradiction() {
        root.contradiction("vehicle_class", message);
    }
    root.finish();
    Some(sheet)
}

/// The vehicle classes rule packs know, spelt as they are there.
pub(super) fn class_words() -> impl Iterator<Item = &'static str> + Clone {
    VEHICLE_CLASSES.iter().map(|class| class.word)
}

/// Whether a word is one of them.
pub(super) fn known_class(word: &str) -> bool {
    class_words().any(|known| known == word)
}

/// The words for what a vehicle is built on.
pub(super) const CHASSIS: [(&str, Chassis); 2] = [
    ("passenger_car", Chassis::PassengerCar),
    ("truck_or_bus", Chassis::TruckOrBus),
];

/// The words for how friction material is held.
pub(super) const MOUNTINGS: [(&str, Mounting); 2] = [
    ("bonded", Mounting::Bonded),
    ("fastened", Mounting::Fastened),
];

fn read_build(root: &Section<'_, '_>) -> VehicleBuild {
    VehicleBuild {
        gross_mass_g: root.mass("gross_mass"),
        seats: root.whole("seats", 1..1000),
        passenger: root.flag("passenger"),
        chassis: root.word("chassis", &CHASSIS),
        single_line: root.flag("single_line"),
        // Said of each axle's pads and linings.
        mounting: None,
        two_pad_shoe: None,
    }
}

/// Names no file can have on some systems, whatever its ending.
const RESERVED_NAMES: [&str; 12] = [
    "con", "prn", "aux", "nul", "com1", "com2", "com3", "com4", "lpt1", "lpt2", "lpt3", "lpt4",
];

/// Reads an id: lower-case letters, digits and hyphens, since it also names files.
pub(super) fn read_id(root: &Section<'_, '_>) -> String {
    let id = root.required_text("id", "records and vehicles refer to it");
    let allowed = |c: char| c.is_ascii_lowercase() || c.is_ascii_digit() || c == '-';
    if !id.chars().all(allowed) {
        let message = format!("`{id}` may hold only lower-case letters, digits and hyphens");
        root.contradiction("id", message);
    }
    if RESERVED_NAMES.contains(&id.as_str()) {
        root.contradiction("id", format!("`{id}` cannot name a file on every system"));
    }
    id
}

fn read_axles(root: &Section<'_, '_>) -> Vec<AxleSpec> {
    let sections = root.tables("axle");
    if sections.is_empty() {
        root.missing("axle", "a sheet describes at least one axle");
    }
    let mut axles: Vec<AxleSpec> = Vec::new();
    for (index, section) in sections.into_iter().enumerate() {
        let expected = AXLE_NAMES.get(index).copied().unwrap_or("one axle fewer");
        let name = section.required_text("name", "`front`, `rear`, `third`");
        if !name.is_empty() && name != expected {
            let message = format!(
                "axle {} is named `{name}`, expected `{expected}`",
                index + 1
            );
            section.contradiction("name", message);
        }
        axles.push(read_axle(section, name, index == 0));
    }
    axles
}

fn read_axle(section: Section<'_, '_>, name: String, first: bool) -> AxleSpec {
    let kind = section.word("brake", &[("disc", false), ("drum", true)]);
    if !section.has("brake") {
        section.missing("brake", "`disc` or `drum`");
    }
    let drum_brake = kind.unwrap_or(false);
    let disc = section.table("disc").map(read_disc);
    let drum = section.table("drum").map(read_drum);
    if kind == Some(false) && disc.is_none() {
        section.missing("disc", "the axle's brake is a disc");
    }
    if drum_brake && drum.is_none() {
        section.missing("drum", "the axle's brake is a drum");
    }
    if drum_brake && disc.is_some() {
        section.contradiction(
            "disc",
            "the axle's brake is a drum, yet a disc is described",
        );
    }
    let vented = disc.as_ref().is_some_and(|(_, vented)| *vented);
    let axle = AxleSpec {
        name,
        brake: if drum_brake {
            BrakeKind::Drum
        } else {
            BrakeKind::Disc { vented }
        },
        steered: section.flag("steered").unwrap_or(first),
        actuation: section.word("actuation", &ACTUATIONS).unwrap_or_default(),
        disc: disc.map(|(disc, _)| disc),
        drum,
        pads: section.table("pads").map(read_friction),
        linings: section.table("linings").map(read_friction),
        bearing_float_max: section.length("bearing_float_max"),
        calliper: section.table("calliper").map(read_calliper),
        clamp_torque: section.torque("clamp_torque"),
        measuring_diameter: section.length("measuring_diameter"),
    };
    section.finish();
    axle
}

pub(super) const ACTUATIONS: [(&str, Actuation); 3] = [
    ("hydraulic", Actuation::Hydraulic),
    ("air", Actuation::Air),
    ("electric", Actuation::Electric),
];

fn read_disc(section: Section<'_, '_>) -> (DiscSpec, bool) {
    let vented = section.flag("vented").unwrap_or(false);
    let definition = section.word(
        "runout_definition",
        &[
            ("tir", RunoutDefinition::Tir),
            ("half", RunoutDefinition::Half),
        ],
    );
    let disc = DiscSpec {
        new: section.length("new"),
        discard: section.length("discard"),
        machine_to: section.length("machine_to"),
        runout: section.length("runout_max").map(|max| RunoutSpec {
            max,
            definition: definition.unwrap_or_default(),
        }),
        dtv_max: section.length("dtv_max"),
    };
    section.finish();
    (disc, vented)
}

fn read_drum(section: Section<'_, '_>) -> DrumSpec {
    let drum = DrumSpec {
        new: section.length("new"),
        max: section.length("max"),
        ovality_max: section.length("ovality_max"),
    };
    section.finish();
    drum
}

fn read_friction(section: Section<'_, '_>) -> FrictionSpec {
    let with_plate = section.word("basis", &[("friction", false), ("with_plate", true)]);
    let plate = section.length("plate");
    let basis = match (with_plate, plate) {
        (Some(false), None) => Some(FrictionBasis::FrictionOnly),
        (Some(true), Some(plate)) => Some(FrictionBasis::WithPlate { plate }),
        (Some(true), None) => {
            section.missing("plate_mm", "the figures include the backing plate");
            None
        }
        (Some(false), Some(_)) => {
            let message = "the figures are for the friction alone, yet a plate is given";
            section.contradiction("basis", message);
            None
        }
        (None, _) => None,
    };
    let friction = FrictionSpec {
        new: section.length("new"),
        min: section.length("min"),
        basis,
        mounting: section.word("mounting", &MOUNTINGS),
        two_pad_shoe: section.flag("two_pad_shoe"),
    };
    section.finish();
    friction
}

fn read_calliper(section: Section<'_, '_>) -> CalliperSpec {
    let calliper = CalliperSpec {
        carrier: section.table("carrier").and_then(read_fastener),
        slide_pin: section.table("slide_pin").and_then(read_fastener),
        hose_union: section.table("hose_union").and_then(read_fastener),
    };
    section.finish();
    calliper
}

fn read_fastener(section: Section<'_, '_>) -> Option<FastenerSpec> {
    let torque = section.torque("torque");
    if torque.is_none() && !section.has("torque_nm") && !section.has("torque_lbf_ft") {
        section.missing("torque_nm", "a fastener is described by its torque");
    }
    let tolerance = section
        .percent("tolerance")
        .map(|tolerance| tolerance.value);
    let angles = section
        .whole_list("angle_stages_deg", 1..721)
        .unwrap_or_default();
    let single_use = section.flag("single_use").unwrap_or(false);
    section.finish();
    let hundredths = |degrees: u32| Angle::from_centidegrees(i64::from(degrees) * 100);
    let angle_stages = angles.into_iter().map(hundredths).collect();
    torque.map(|torque| FastenerSpec {
        torque,
        tolerance,
        angle_stages,
        single_use,
    })
}

fn read_wheel(root: &Section<'_, '_>) -> WheelSpec {
    let Some(section) = root.table("wheel") else {
        if !root.has("wheel") {
            root.missing("wheel", "the studs are the protractor and must be torqued");
        }
        return WheelSpec::default();
    };
    if !section.has("fasteners") {
        section.missing("fasteners", "the studs are the protractor");
    }
    let narrow = |number: u32| u8::try_from(number).unwrap_or(0);
    let fasteners = section.whole("fasteners", 3..11).map_or(0, narrow);
    let order: Option<Vec<u8>> = section
        .whole_list("order", 1..11)
        .map(|order| order.into_iter().map(narrow).collect());
    if let Some(order) = &order {
        let mut sorted = order.clone();
        sorted.sort_unstable();
        if fasteners > 0 && !sorted.iter().copied().eq(1..=fasteners) {
            let message = format!("{order:?} does not name each of the {fasteners} studs once");
            section.contradiction("order", message);
        }
    }
    let wheel = WheelSpec {
        fasteners,
        thread: section.text("thread"),
        torque: section.torque("torque"),
        tolerance: section
            .percent("tolerance")
            .map(|tolerance| tolerance.value),
        kind: section
            .word(
                "kind",
                &[("stud", FastenerKind::Stud), ("bolt", FastenerKind::Bolt)],
            )
            .unwrap_or_default(),
        order,
        locking_key: section.flag("locking_key").unwrap_or(false),
    };
    section.finish();
    wheel
}

/// Grades of brake fluid a sheet may name.
pub(super) const FLUID_GRADES: [&str; 4] = ["DOT 3", "DOT 4", "DOT 5", "DOT 5.1"];

/// The registered spelling of a fluid grade: `dot4` is `DOT 4`.
#[must_use]
pub(super) fn fluid_grade(text: &str) -> Option<&'static str> {
    let plain = |grade: &str| grade.replace([' ', '-', '_'], "").to_ascii_uppercase();
    FLUID_GRADES
        .into_iter()
        .find(|grade| plain(grade) == plain(text))
}

fn read_fluid(section: Section<'_, '_>) -> Option<Sourced<String>> {
    let text = section.required_text("grade", "the boiling point is judged by the grade");
    let grade = fluid_grade(&text);
    if grade.is_none() && !text.is_empty() {
        section.unknown_word("grade", &text, FLUID_GRADES.into_iter());
    }
    let (origin, place) = (section.origin.clone(), section.place());
    section.finish();
    grade.map(|grade| Sourced {
        value: grade.to_owned(),
        origin,
        place,
    })
}

fn read_service(section: Section<'_, '_>) -> ServiceInterval {
    let service = ServiceInterval {
        distance: section.distance("distance"),
        months: section.whole("months", 1..121),
    };
    section.finish();
    service
}

fn read_retorque(section: Section<'_, '_>) -> RetorqueRule {
    let rule = RetorqueRule {
        distance: section.distance("distance"),
        days: section.whole("days", 1..366),
    };
    if rule.distance.is_none() && rule.days.is_none() {
        section.missing(
            "distance_km",
            "a rule names a distance, a number of days, or both",
        );
    }
    section.finish();
    rule
}
