//! The drawn wheels, as they are shown.

use std::collections::BTreeSet;
use std::fmt::Write as _;

use brakecorner::measure::torque::star_order;
use brakecorner::walk::wheel;

/// Every wheel with its first two fasteners done and the third one next.
fn drawn() -> String {
    let mut text = String::new();
    for count in 3..=10u8 {
        let order = star_order(count).unwrap();
        let done: BTreeSet<u8> = order[..2].iter().copied().collect();
        let names: Vec<String> = order.iter().map(ToString::to_string).collect();
        writeln!(text, "{count} fasteners, order {}", names.join("-")).unwrap();
        for line in wheel(count, &done, Some(order[2])) {
            writeln!(text, "{line}").unwrap();
        }
        text.push('\n');
    }
    text
}

/// `BRAKECORNER_UPDATE=1 cargo test --test office wheels` writes the file anew; look at the change.
#[test]
fn wheels_of_3_to_10_fasteners_are_drawn_as_they_were_looked_at() {
    let file = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/data/wheels.txt");
    if std::env::var_os("BRAKECORNER_UPDATE").is_some() {
        std::fs::write(&file, drawn()).unwrap();
    }
    assert_eq!(drawn(), std::fs::read_to_string(&file).unwrap());
}

#[test]
fn every_fastener_of_every_wheel_is_on_the_drawing_once() {
    for count in 3..=10u8 {
        let all: BTreeSet<u8> = (1..=count).collect();
        let text = wheel(count, &all, None).join("\n");
        for fastener in 1..=count {
            assert_eq!(
                text.matches(&format!("({fastener})")).count(),
                1,
                "{count}: {fastener}\n{text}"
            );
        }
    }
}
