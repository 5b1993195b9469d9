//! The invented sheets.

use super::help::*;

/// A disc axle's new size, minimum, run-out, variation, pads' new size and minimum, in micrometres.
fn disc_axle(sheet: &Sheet, axle: &str) -> [Option<i64>; 6] {
    let axle = sheet.axle(axle).unwrap();
    let disc = axle.disc.as_ref().unwrap();
    let pads = axle.pads.as_ref().unwrap();
    [
        disc.new.as_ref().map(|figure| figure.value),
        disc.discard.as_ref().map(|figure| figure.value),
        disc.runout.as_ref().map(|runout| runout.tir()),
        disc.dtv_max.as_ref().map(|figure| figure.value),
        pads.new_friction(),
        pads.min_friction(),
    ]
    .map(|length| length.map(|length| length.nm() / 1_000))
}

#[test]
fn the_invented_sheets_hold_the_invented_figures() {
    for (id, axle, expected) in [
        (
            "merlock-dunling",
            "front",
            [26_000, 23_000, 80, 15, 12_000, 2_000],
        ),
        (
            "merlock-dunling",
            "rear",
            [12_000, 10_000, 80, 15, 11_000, 2_000],
        ),
        (
            "merlock-ternway",
            "front",
            [28_000, 26_000, 80, 15, 11_000, 2_000],
        ),
        (
            "merlock-ternway",
            "rear",
            [18_000, 16_000, 80, 15, 10_000, 2_000],
        ),
        (
            "aldercote-wrenfold",
            "front",
            [24_000, 22_000, 100, 15, 12_000, 2_000],
        ),
        (
            "aldercote-wrenfold",
            "rear",
            [10_000, 8_000, 100, 15, 10_000, 2_000],
        ),
    ] {
        assert_eq!(
            disc_axle(&sheet(id), axle),
            expected.map(Some),
            "{id} {axle}"
        );
    }
    let pindle = sheet("merlock-pindle");
    // The maker of the Pindle gives no figure for the thickness variation.
    let expected = [
        Some(20_000),
        Some(18_000),
        Some(60),
        None,
        Some(11_000),
        Some(2_000),
    ];
    assert_eq!(disc_axle(&pindle, "front"), expected);
    let rear = pindle.axle("rear").unwrap();
    assert_eq!(rear.brake, BrakeKind::Drum);
    let drum = rear.drum.as_ref().unwrap();
    let linings = rear.linings.as_ref().unwrap();
    assert_eq!(drum.new.as_ref().unwrap().value.to_string(), "203.000 mm");
    assert_eq!(drum.max.as_ref().unwrap().value.to_string(), "204.000 mm");
    assert_eq!(linings.new_friction().unwrap().to_string(), "4.500 mm");
    assert_eq!(linings.min_friction().unwrap().to_string(), "1.500 mm");
    let dunling = sheet("merlock-dunling");
    let machine_to = dunling.axles[0]
        .disc
        .as_ref()
        .unwrap()
        .machine_to
        .as_ref()
        .unwrap();
    assert_eq!(machine_to.value.to_string(), "23.600 mm");
    assert_eq!(
        dunling
            .retorque
            .unwrap()
            .distance
            .unwrap()
            .value
            .to_string(),
        "50 km"
    );
}

#[test]
fn the_invented_sheets_hold_wheels_torques_and_intervals() {
    for (id, class, fasteners, thread, torque, carrier, single_use, slide_pin) in [
        (
            "merlock-dunling",
            "N1",
            5,
            "M14",
            "140 N·m",
            None,
            false,
            None,
        ),
        (
            "merlock-ternway",
            "M1",
            5,
            "M14",
            "160 N·m",
            Some("105 N·m"),
            false,
            None,
        ),
        (
            "aldercote-wrenfold",
            "M1",
            5,
            "M12",
            "110 N·m",
            Some("90 N·m"),
            true,
            Some("30 N·m"),
        ),
        (
            "merlock-pindle",
            "M1",
            4,
            "M12",
            "100 N·m",
            None,
            false,
            None,
        ),
    ] {
        let sheet = sheet(id);
        assert_eq!(sheet.vehicle_class.as_deref(), Some(class), "{id}");
        assert_eq!(sheet.wheel.fasteners, fasteners, "{id}");
        assert_eq!(sheet.wheel.thread.as_deref(), Some(thread), "{id}");
        assert_eq!(
            sheet.wheel.torque.as_ref().unwrap().value.to_string(),
            torque,
            "{id}"
        );
        assert_eq!(sheet.fluid_grade.as_ref().unwrap().value, "DOT 4", "{id}");
        assert_eq!(
            sheet.service.distance.as_ref().unwrap().value.to_string(),
            "15000 km",
            "{id}"
        );
        assert_eq!(sheet.service.months, Some(12), "{id}");
        for axle in &sheet.axles {
            let float = axle.bearing_float_max.as_ref().unwrap();
            assert_eq!(float.value.to_string(), "0.050 mm", "{id} {}", axle.name);
            let calliper = axle.calliper.clone().unwrap_or_default();
            let torque = |fastener: &FastenerSpec| fastener.torque.value.to_string();
            assert_eq!(
                calliper.carrier.as_ref().map(torque).as_deref(),
                carrier,
                "{id}"
            );
            assert_eq!(
                calliper.carrier.is_some_and(|bolts| bolts.single_use),
                single_use,
                "{id}"
            );
            assert_eq!(
                calliper.slide_pin.as_ref().map(torque).as_deref(),
                slide_pin,
                "{id}"
            );
        }
    }
}

#[test]
fn each_demonstration_vehicle_finds_its_own_sheet_only() {
    for (vin, id) in [
        ("A0ZDL07V7NK001122", "merlock-dunling"),
        ("A0ZTN12S0MK000417", "merlock-ternway"),
        ("A0ZWR05C6LK004096", "aldercote-wrenfold"),
        ("A0ZPN08D9PK000733", "merlock-pindle"),
    ] {
        let fitting: Vec<String> = builtin_sheets()
            .iter()
            .map(|(file, text)| Sheet::parse(text, file).unwrap())
            .filter(|sheet| sheet.fits_vin(vin))
            .map(|sheet| sheet.id)
            .collect();
        assert_eq!(fitting, [id]);
    }
}
