//! The defects a look may find, with their grade: the visual rows of the decision table.
//!
//! Grades are common practice (cp) or this project's own (own) unless a rule is named; a workshop
//! may be stricter in its policy. The urgency of a FAIL is `before_handover` unless the condition
//! means the vehicle must not be driven.

use crate::job::Item;
use crate::spec::{RulePack, SpecProblems};

/// How grave a defect is.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Grade {
    /// ADVISE.
    Advise,
    /// FAIL, to be put right before handover.
    Fail,
    /// FAIL, not to be driven.
    Stop,
}

/// One defect of an item's list.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Defect {
    /// Code for `log` and the journal.
    pub code: &'static str,
    /// The defect in plain words.
    pub words: &'static str,
    /// How grave it is.
    pub grade: Grade,
}

const fn defect(code: &'static str, words: &'static str, grade: Grade) -> Defect {
    Defect { code, words, grade }
}

use Grade::{Advise, Fail, Stop};

const SEAT: &[Defect] = &[
    defect("partly", "wheel partly seized on the hub", Advise),
    defect("hard", "wheel seized hard on the hub", Advise),
    defect("worn", "wheel seat or register worn or corroded", Advise),
];
const FASTENERS: &[Defect] = &[
    defect("loose", "wheel fastener found loose", Stop),
    defect("missing", "wheel fastener missing", Stop),
    defect("thread", "wheel fastener thread damaged", Fail),
    defect(
        "differs",
        "one wheel fastener differs from the others",
        Advise,
    ),
    defect("rust", "wheel fastener corroded", Advise),
];
const HOSE: &[Defect] = &[
    defect("leak", "hose leaking", Stop),
    defect("cords", "hose worn to the cords", Stop),
    defect("bulge", "hose bulging", Fail),
    defect("twisted", "hose twisted or kinked", Fail),
    defect("porous", "hose porous", Fail),
    defect("flattened", "hose flattened", Fail),
    defect("likely_to_fail", "hose likely to fail soon", Fail),
    defect("ferrule", "hose end badly corroded", Fail),
    defect("cracks", "hose cracked on the surface", Advise),
    defect("chafe", "hose chafed, cords not showing", Advise),
    defect("bracket", "hose clip or bracket loose", Advise),
    defect("touching", "hose touching another part", Advise),
    defect("unsupported", "hose not held by its bracket", Advise),
];
const PIPE: &[Defect] = &[
    defect("leak", "pipe or union leaking", Stop),
    defect(
        "deep",
        "pipe wall corroded or chafed by more than a third",
        Fail,
    ),
    defect("cracked", "pipe cracked", Fail),
    defect("flattened", "pipe flattened", Fail),
    defect("likely_to_fail", "pipe likely to fail soon", Fail),
    defect("loose", "pipe likely to come off or be damaged", Fail),
    defect("rust", "pipe rusted on the surface", Advise),
    defect("support", "pipe clip missing", Advise),
    defect(
        "chafe",
        "pipe chafed, less than a third of its wall",
        Advise,
    ),
];
const SENSOR: &[Defect] = &[
    defect("cut", "sensor wire cut or shorted", Fail),
    defect("fault", "sensor fault confirmed by its lamp", Fail),
    defect("missing", "speed sensor missing", Fail),
    defect("damaged", "speed sensor damaged", Fail),
    defect("lamp_dead", "anti-lock warning lamp does not work", Fail),
    defect("damp", "sensor connector damp or corroded", Advise),
    defect("chafe", "sensor wire chafed", Advise),
    defect("clip", "sensor clip loose", Advise),
];
const WEAR_SENSOR: &[Defect] = &[
    defect("cut", "pad-wear sensor wire cut or shorted", Fail),
    defect("lamp", "pad-wear lamp on", Advise),
    defect("damp", "pad-wear sensor connector damp or corroded", Advise),
    defect("chafe", "pad-wear sensor wire chafed", Advise),
    defect("clip", "pad-wear sensor clip loose", Advise),
];
const LEAK: &[Defect] = &[
    defect("leak", "brake fluid leaking", Stop),
    defect(
        "affects",
        "calliper or cylinder so cracked or loose that it brakes worse",
        Stop,
    ),
    defect(
        "no_reserve",
        "calliper or cylinder at the end of its travel and brakes worse",
        Stop,
    ),
    defect(
        "likely_to_crack",
        "calliper or cylinder so corroded that it may crack",
        Fail,
    ),
    defect("cracked", "calliper or cylinder cracked", Fail),
    defect("insecure", "calliper or cylinder loose", Fail),
    defect("corroded", "calliper or cylinder badly corroded", Fail),
    defect(
        "over_travel",
        "calliper or cylinder travels too far and wants adjusting",
        Fail,
    ),
    defect("damp", "damp, source unclear", Advise),
];
const PINS: &[Defect] = &[
    defect("seized", "slide pin seized", Fail),
    defect("stiff", "slide pin stiff", Advise),
    defect("dry", "slide pin dry", Advise),
    defect("boot", "slide pin boot torn", Advise),
];
const PISTON: &[Defect] = &[
    defect("seized", "piston seized", Fail),
    defect("stiff", "piston stiff", Advise),
    defect("boot", "piston boot torn", Advise),
];
const SPRINGS: &[Defect] = &[
    defect(
        "missing",
        "spring or clip missing where a pad can bind or fall",
        Fail,
    ),
    defect("weak", "spring or clip weak", Advise),
    defect("jacked", "clip lifted by rust", Advise),
];
const BOLTS: &[Defect] = &[
    defect("loose", "calliper or suspension bolt loosened", Fail),
    defect("fresh", "fresh marks on a bolt: recent work", Advise),
    defect("broken", "witness mark broken", Advise),
];
const PADS: &[Defect] = &[
    defect("metal", "pad worn to metal on metal", Stop),
    defect("missing", "pad missing", Stop),
    defect("lifting", "friction material lifting from its plate", Fail),
    defect("soaked", "pad soaked with fluid or grease", Fail),
    defect("contaminated", "pad dirty with oil or grease", Fail),
    defect("cracked", "pad cracked through", Fail),
    defect("wrong", "wrong pad fitted", Fail),
    defect("wrongly_mounted", "pad wrongly mounted", Fail),
    defect("rivet_cracks", "pad cracked to its rivet holes", Fail),
    defect("stuck", "pad not free in the carrier", Advise),
    defect("glazed", "pad glazed", Advise),
    defect("chips", "pad chipped at its edge", Advise),
    defect(
        "worn_to_indicator",
        "pad worn to its wear indicator",
        Advise,
    ),
    defect("taper", "pad worn on a slant", Advise),
];
const DISC: &[Defect] = &[
    defect("insecure", "disc loose on the hub", Stop),
    defect("missing", "disc missing", Stop),
    defect(
        "crack",
        "disc cracked to its edge, through its face, or at its holes",
        Fail,
    ),
    defect("scored_deep", "disc scored deeper than 1.5 mm", Fail),
    defect("rusted", "disc rusted over most of a face", Fail),
    defect("contaminated", "disc wet with oil or grease", Fail),
    defect("crazing", "fine heat cracks on the disc's surface", Advise),
    defect("scored", "disc scored 0.5 to 1.5 mm deep", Advise),
    defect("band", "rusty band on the disc's face", Advise),
    defect("blue", "disc blue from heat", Advise),
    defect("lip", "high lip on the disc's edge", Advise),
    defect("uneven", "uneven contact over the disc's face", Advise),
    defect("hot_spots", "hot spots on the disc's face", Advise),
    defect(
        "inner_face",
        "inner face worn or rusted more than the outer",
        Advise,
    ),
    defect("obviously_worn", "disc obviously worn", Advise),
];
const HUB: &[Defect] = &[
    defect("rust", "rust on the hub face", Advise),
    defect("dirt", "dirt or a flake on the hub face", Advise),
    defect("burr", "burr on the hub face", Advise),
];
const BEARING: &[Defect] = &[
    defect("rough", "wheel bearing rough", Fail),
    defect("clear_play", "clear play in the wheel bearing", Fail),
    defect("play", "slight play in the wheel bearing", Advise),
];
const LEVEL: &[Defect] = &[
    defect("low_leak", "fluid below minimum with a leak", Fail),
    defect("not_visible", "no fluid to be seen in the reservoir", Fail),
    defect("well_below", "fluid well below minimum", Fail),
    defect("contaminated", "fluid in the reservoir dirty", Fail),
    defect("low", "fluid below minimum", Advise),
    defect("cap", "fluid cap damaged or loose", Advise),
];
const PEDAL: &[Defect] = &[
    defect("not_firm", "pedal not firm", Fail),
    defect("sinks", "pedal sinks under a steady force", Fail),
];
const FLUID: &[Defect] = &[
    defect("wrong", "wrong grade of brake fluid", Fail),
    defect("contaminated", "brake fluid contaminated", Fail),
];

const LININGS: &[Defect] = &[
    defect("missing", "lining missing", Stop),
    defect("lifting", "lining coming off its shoe", Fail),
    defect("soaked", "lining soaked with fluid or grease", Fail),
    defect("contaminated", "lining dirty with oil or grease", Fail),
    defect("rivet_cracks", "lining cracked to its rivet holes", Fail),
    defect("wrongly_mounted", "lining wrongly mounted", Fail),
    defect(
        "worn_to_indicator",
        "lining worn to its wear indicator",
        Advise,
    ),
];
const DRUM: &[Defect] = &[
    defect("insecure", "drum loose on the hub", Stop),
    defect("missing", "drum missing", Stop),
    defect("crack", "drum cracked", Fail),
    defect("contaminated", "drum wet with oil or grease", Fail),
    defect("obviously_worn", "drum obviously worn", Advise),
];
const EFFORT: &[Defect] = &[
    defect("weak", "a wheel brakes too little", Fail),
    defect("grabs", "a wheel's brake grabs", Fail),
    defect("binds", "a wheel brakes without the pedal", Fail),
    defect("lag", "a wheel's brake acts late", Advise),
    defect(
        "fluctuates",
        "a wheel's force rises and falls within a turn",
        Advise,
    ),
];

/// What the program itself finds from forces, as rule packs name it: a wheel that was rolled and does
/// not brake, a parking brake that acts on one wheel of an axle. Nobody enters these.
const FOUND_FROM_FORCES: &[(Item, &str)] = &[
    (Item::AxleImbalance, "no_effort"),
    (Item::ParkingEfficiency, "one_sided"),
];

/// Reads a rule pack that is to be used or checked: it may name only defects that can be found.
///
/// # Errors
/// [`SpecProblems`] with every problem of the file.
pub fn read_pack(text: &str, file_name: &str) -> Result<RulePack, SpecProblems> {
    RulePack::parse_for_use(text, file_name, &|item| {
        item.parse().map(codes).unwrap_or_default()
    })
}

/// Every defect a rule pack may name for an item: what can be entered, and what the program finds.
#[must_use]
pub fn codes(item: Item) -> Vec<&'static str> {
    let found = FOUND_FROM_FORCES.iter().filter(|(of, _)| *of == item);
    let entered = defects(item).iter().map(|defect| defect.code);
    entered.chain(found.map(|(_, code)| *code)).collect()
}

/// The defects an item may show, gravest first; empty for items that are only measured.
#[must_use]
pub const fn defects(item: Item) -> &'static [Defect] {
    match item {
        Item::WheelSeat => SEAT,
        Item::WheelFasteners => FASTENERS,
        Item::Hose => HOSE,
        Item::Pipe => PIPE,
        Item::SensorSpeed => SENSOR,
        Item::SensorWear => WEAR_SENSOR,
        Item::CalliperLeak | Item::CylinderLeak => LEAK,
        Item::SlidePins => PINS,
        Item::Piston => PISTON,
        Item::Springs => SPRINGS,
        Item::BoltsWitness => BOLTS,
        Item::PadsCondition => PADS,
        Item::DiscSurface => DISC,
        Item::HubFace => HUB,
        Item::BearingFloat => BEARING,
        Item::FluidLevel => LEVEL,
        Item::PedalFirm => PEDAL,
        Item::FluidBoiling => FLUID,
        Item::LiningsThickness => LININGS,
        Item::DrumDiameter => DRUM,
        Item::ServiceEfficiency => EFFORT,
        _ => &[],
    }
}

/// The defect with this code in an item's list.
#[must_use]
pub fn find(item: Item, code: &str) -> Option<Defect> {
    defects(item)
        .iter()
        .copied()
        .find(|defect| defect.code == code)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::job::Kind;
    use crate::spec::builtin_rule_packs;

    #[test]
    fn every_row_of_a_built_in_pack_is_reached_by_some_vehicle() {
        for (file, text) in builtin_rule_packs() {
            if let Err(problems) = read_pack(text, file) {
                panic!("{problems}");
            }
        }
    }

    #[test]
    fn rows_that_no_vehicle_reaches_and_defects_nobody_finds_are_refused() {
        let head =
            "id = \"p\"\nname = \"P\"\nedition = \"1\"\n[vehicles]\nclasses = [\"M1\", \"N3\"]\n";
        let number = |item: &str, rest: &str| {
            format!(
                "{head}[[rule]]\nid = \"r\"\nitem = \"{item}\"\nclause = \"1\"\nstatus = \"read\"\nclass = \"major\"\nat_limit = \"passes\"\n{rest}\n"
            )
        };
        let looked = |item: &str, code: &str, when: &str| {
            format!(
                "{head}[[defect]]\nid = \"d\"\nitem = \"{item}\"\ncodes = [\"{code}\"]\nclause = \"1\"\nstatus = \"read\"\nclass = \"major\"\nsentence = \"s\"\n{when}\n"
            )
        };
        let pads = "minimum_mm = 1.5";
        let service = "minimum_percent = 50";
        let when = |conditions: &str, value: &str| format!("{value}\nwhen = {{ {conditions} }}");
        for (text, wanted) in [
            (number("pads.thickness", pads), None),
            (
                number("pads.thickness", "maximum_mm = 1.5"),
                Some("never reached"),
            ),
            (
                number("wheel.seat", "quantity = \"rim\"\nmaximum_mm = 1"),
                Some("no limit is looked up"),
            ),
            (
                number("pads.thickness", &when("brake = \"drum\"", pads)),
                Some("no vehicle meets"),
            ),
            (
                number("pads.thickness", &when("classes = [\"N1\"]", pads)),
                Some("no vehicle meets"),
            ),
            (
                number("pads.thickness", &when("part = \"new\"", pads)),
                Some("no vehicle meets"),
            ),
            (
                number(
                    "pads.thickness",
                    &when("gross_mass_over_kg = 3500, passenger = false", pads),
                ),
                None,
            ),
            (
                number(
                    "pads.thickness",
                    &when("classes = [\"N3\"], gross_mass_up_to_kg = 12000", pads),
                ),
                Some("no vehicle meets"),
            ),
            (
                number(
                    "pads.thickness",
                    &when("classes = [\"M1\"], seats_over = 9", pads),
                ),
                Some("no vehicle meets"),
            ),
            (
                number(
                    "pads.thickness",
                    &when("classes = [\"M1\"], passenger = false", pads),
                ),
                Some("no vehicle meets"),
            ),
            (
                number(
                    "brake.service_efficiency",
                    &when("axle = \"steering\"", service),
                ),
                Some("no vehicle meets"),
            ),
            (
                number(
                    "brake.service_efficiency",
                    &when("braked_wheels_from = 9", service),
                ),
                Some("no vehicle meets"),
            ),
            (
                number(
                    "brake.service_efficiency",
                    &when("braked_wheels_from = 8", service),
                ),
                None,
            ),
            (looked("hose", "leak", ""), None),
            (looked("hose", "leek", ""), Some("did you mean `leak`?")),
            (looked("disc.thickness", "leak", ""), Some("has no defects")),
            (
                looked("disc.surface", "crack", "when = { brake = \"drum\" }"),
                Some("no vehicle meets"),
            ),
            (looked("axle.imbalance", "no_effort", ""), None),
            (
                looked("hose", "leak", "").replace("classes = [\"M1\", \"N3\"]", ""),
                Some("any = true"),
            ),
            (
                looked("hose", "leak", "").replace("[vehicles]\nclasses = [\"M1\", \"N3\"]\n", ""),
                Some("which vehicles it is for"),
            ),
        ] {
            let found = read_pack(&text, "p.toml").err().map(|p| p.to_string());
            match (wanted, &found) {
                (None, None) => {}
                (Some(wanted), Some(found)) if found.contains(wanted) => {}
                _ => panic!("{wanted:?} of\n{text}\n{found:?}"),
            }
        }
    }

    #[test]
    fn every_look_has_a_list_and_no_code_is_a_number_or_twice() {
        for item in Item::ALL {
            let list = defects(*item);
            assert!(item.kind() != Kind::Look || !list.is_empty(), "{item}");
            for defect in list {
                assert!(
                    defect.code.starts_with(|c: char| c.is_ascii_lowercase()),
                    "{item}"
                );
                assert_eq!(
                    find(*item, defect.code),
                    Some(*defect),
                    "{item}: {}",
                    defect.code
                );
            }
            assert!(
                list.is_sorted_by(|a, b| a.grade >= b.grade),
                "{item}: gravest first"
            );
        }
    }
}
