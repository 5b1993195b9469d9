//! The command, on the demonstration's jobs.

use super::*;

#[test]
fn the_demonstrations_sheet_says_what_the_customer_must_know() {
    let yard = Yard::demo();
    let sheet = |args: &[&str]| {
        yard.run(&[&["sheet"], args].concat())
            .ends(0)
            .out
            .replace('\u{a0}', " ")
    };
    let page = sheet(&["HWY-0411"]);
    for words in [
        "May it be driven?  Yes.",
        "Rear left, pad thickness. We measured 2.9 mm. The maker allows no less",
        "Before 90 791 km on the odometer.",
        "b 91 605 km: Rear right, pad thickness",
        "Signed by              Ilse Varga",
        "ssh-keygen -Y verify -f signers -I \"Ilse Varga\"",
        "“annual brake inspection 58.00”",
        "Do it by 84 170 km",
    ] {
        assert!(page.contains(words), "{words}\n{page}");
    }
    assert!(
        page.lines().all(|line| line.chars().count() <= 80),
        "{page}"
    );
    // Lines break where there is room.
    let flat = |page: String| page.split_whitespace().collect::<Vec<_>>().join(" ");
    let german = flat(sheet(&["HWY-0411", "--lang", "de"]));
    assert!(
        german.contains("Gemessen haben wir 2,9 mm.")
            && german.contains("Vor dem Stand 90 791 km."),
        "{german}"
    );
    let imperial = flat(sheet(&["HWY-0411", "--units", "imperial"]));
    // 2.9 mm = 0.114 in, 84 120 km = 52 269 mi, 140 N·m = 103 lbf·ft: by hand, rounded down.
    for words in ["0.11 in", "52 269 mi", "103 lbf·ft"] {
        assert!(imperial.contains(words), "{words}\n{imperial}");
    }
    let plain = yard.run(&["--plain", "sheet", "HWY-0429"]).ends(0).out;
    assert!(
        plain.contains("(?) Rear left, brake hose.") && !plain.contains('○'),
        "{plain}"
    );
    let stop = sheet(&["HWY-0423", "--revision", "1"]);
    assert!(
        stop.contains("No. Do not drive it before") && stop.contains("Revision               1"),
        "{stop}"
    );
    // As found the wheels are not back on yet: nothing is said of their fasteners' torque.
    assert!(stop.contains("State        as found") && !stop.contains("fasteners are confirmed"));
}

#[test]
fn a_journal_that_went_on_after_the_signature_is_not_signed() {
    let yard = Yard::demo();
    yard.run(&["log", "HWY-0411", "RL", "hose", "sound"])
        .ends(0);
    let page = yard.run(&["sheet", "HWY-0411"]).ends(0).out;
    assert!(page.contains("Not signed. No signed record"), "{page}");
    assert!(!page.contains("ssh-keygen"));
    // The revision itself still is.
    let page = yard
        .run(&["sheet", "HWY-0411", "--revision", "2"])
        .ends(0)
        .out;
    assert!(page.contains("A signed record stands behind"), "{page}");
    assert!(
        yard.run(&["sheet", "HWY-0411", "--revision", "9"])
            .ends(2)
            .err
            .contains("no revision 9")
    );
}

#[test]
fn the_calendar_is_the_same_for_the_same_record_and_well_formed() {
    let yard = Yard::demo();
    let once = yard.run(&["sheet", "HWY-0411", "--calendar"]).ends(0).out;
    assert_eq!(
        once,
        yard.run(&["sheet", "HWY-0411", "--calendar"]).ends(0).out
    );
    for line in [
        "BEGIN:VCALENDAR\r\n",
        "UID:HWY-0411-retorque@brakecorner.invalid\r\n",
        "DTSTART;VALUE=DATE:20260309\r\n",
        "UID:HWY-0411-service@brakecorner.invalid\r\n",
        "DTSTART;VALUE=DATE:20270302\r\n",
        "DTSTAMP:20260302T",
    ] {
        assert!(once.contains(line), "{line}\n{once}");
    }
    // RFC 5545, 3.1: lines of at most 75 octets, ended by CR LF.
    assert!(
        once.split("\r\n")
            .all(|line| line.len() <= 75 && !line.contains('\n')),
        "{once}"
    );
}

#[test]
fn the_worksheet_has_every_scheduled_item_with_its_limit_and_a_box_a_reading() {
    let yard = Yard::demo();
    let page = yard
        .run(&["sheet", "HWY-0411", "--worksheet"])
        .ends(0)
        .out
        .replace('\u{a0}', " ");
    for words in [
        "Order of tightening: 1 3 5 2 4.",
        "Measuring points 1 to 10, in turning order from stud 1.",
        "42 N·m, 84 N·m, 140 N·m, then once more at full torque",
        "Disc thickness, at least 23.00 mm. Readings 1 to 10:",
        "Disc wobble, at most 0.080 mm.",
        "brakecorner log HWY-0411 RR",
    ] {
        assert!(page.contains(words), "{words}\n{page}");
    }
    let work = yard
        .run(&["sheet", "HWY-0411", "--worksheet", "--json"])
        .ends(0)
        .json();
    assert_eq!(
        work["pages"].as_array().unwrap().len(),
        2,
        "one page an axle"
    );
    let drum = yard.run(&["sheet", "HWY-0429", "--worksheet"]).ends(0).out;
    assert!(drum.contains("Drum diameter") && drum.contains("Lowest and highest of one slow turn"));
}

#[test]
fn nothing_is_overwritten_and_a_pdf_is_named_by_its_ending() {
    let yard = Yard::demo();
    yard.run(&["sheet", "HWY-0411", "-o", "a.pdf"]).ends(0);
    assert!(
        std::fs::read(yard.root().join("a.pdf"))
            .unwrap()
            .starts_with(b"%PDF-")
    );
    yard.run(&["sheet", "HWY-0411", "-o", "a.pdf"]).ends(2);
    yard.run(&["sheet", "HWY-0411", "-o", "a.html"]).ends(0);
    assert!(
        std::fs::read_to_string(yard.root().join("a.html"))
            .unwrap()
            .starts_with("<!DOCTYPE html>")
    );
    assert!(
        yard.run(&["sheet", "--template-default"])
            .ends(0)
            .out
            .contains("json(\"/sheet.json\")")
    );
}
