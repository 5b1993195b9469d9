//! Pictures in characters: where to measure. ASCII, so that every terminal shows them.

use crate::job::{Item, Slot};

/// Where a value is read, drawn.
#[must_use]
pub(super) const fn picture(item: Item, slot: Slot) -> &'static [&'static str] {
    match (item, slot) {
        (Item::DiscThickness, Slot::Temperature) => &[],
        (Item::DiscThickness, _) => DISC,
        (Item::DiscRunout, _) => DIAL,
        (Item::PadsThickness, _) => PADS,
        (Item::BearingFloat, _) => FLOAT,
        (Item::DrumDiameter, _) => DRUM,
        (Item::LiningsThickness, _) => LININGS,
        _ => &[],
    }
}

const DISC: &[&str] = &[
    "        lip | swept face          | bell",
    "            v                     v",
    "      ______#=====================#____",
    "        10 to 15 mm -->|",
    "                  anvil [>  <] anvil     both flat, clear of the lip",
    "      points: stud 1, half way, stud 2, ... in the order they pass",
];
const DIAL: &[&str] = &[
    "               ( o )  dial, zero at stud 1",
    "                 |    stylus square to the face",
    "      ___________v____  10 to 15 mm from the edge",
    "      disc, clamped with spacers; turn ONE way only",
    "      1 -> 1.5 -> 2 -> 2.5 -> ... -> back at 1",
];
const PADS: &[&str] = &[
    "      turning ->   leading end        trailing end",
    "                 +------------------------------+  backing plate: not measured",
    "                 |%%%%%%%% friction %%%%%%%%%%%%|  <- this thickness",
    "                 +------------------------------+",
    "      inner pad: vehicle side. outer pad: wheel side",
];
const FLOAT: &[&str] = &[
    "      dial on the hub face, along the axle:",
    "        ( o )--> |hub|  <== push ==> pull",
];
const DRUM: &[&str] = &[
    "      open edge            closed edge",
    "        |<--- 1 --->|        |<--- 1 --->|",
    "        and a second direction, a quarter turn on; clear of the lip",
];
const LININGS: &[&str] = &[
    "      shoe  ____________",
    "            %%%%%%%%%%%%  <- lining only, at its thinnest place",
];

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn pictures_fit_the_screen_and_any_terminal() {
        for item in Item::ALL {
            for line in picture(*item, Slot::Point(1)) {
                assert!(line.is_ascii() && line.len() <= 78, "{item}: {line}");
            }
        }
    }
}
