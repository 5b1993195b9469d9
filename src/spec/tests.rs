//! Tests that concern the specification layer as a whole.

use proptest::prelude::*;

use super::*;
use crate::units::Length;

fn pack(rules: &str) -> Result<RulePack, SpecProblems> {
    let head = "id = \"p\"\nname = \"P\"\nedition = \"first\"\n";
    RulePack::parse(&format!("{head}{rules}"), "p.toml")
}

fn rule(id: &str, rest: &str) -> String {
    format!("[[rule]]\nid = \"{id}\"\nclause = \"1\"\nstatus = \"read\"\n{rest}\n")
}

const PADS: &str = "item = \"pads.thickness\"\nclass = \"major\"\nat_limit = \"passes\"";

fn problems(rules: &str) -> Vec<String> {
    let problems = pack(rules).unwrap_err().problems;
    problems.iter().map(Problem::to_string).collect()
}

#[test]
fn a_pack_that_contradicts_itself_is_refused_with_both_values() {
    let two = |a: &str, b: &str| problems(&format!("{}{}", rule("a", a), rule("b", b)));
    let minimum = |mm: &str| format!("{PADS}\nminimum_mm = {mm}");
    assert_eq!(
        two(&minimum("1.5"), &minimum("2.0")),
        [
            "p.toml:13:1: `rule[2].id`: 2.000 mm `b` contradicts 1.500 mm `a` of the same conditions and class"
        ]
    );
    assert_eq!(
        two(&minimum("1.5"), &format!("{PADS}\nmaximum_mm = 1.0")),
        [
            "p.toml:13:1: `rule[2].id`: at least 1.500 mm (`a`) and at most 1.000 mm (`b`): nothing passes"
        ]
    );
    let dangerous = minimum("2.0").replace("major", "dangerous");
    assert_eq!(
        two(&minimum("1.5"), &dangerous),
        [
            "p.toml:13:1: `rule[2].id`: dangerous at 2.000 mm (`b`) would be reached before major at 1.500 mm \
          (`a`)"
        ]
    );
    let same_id = format!(
        "{}{}",
        rule("a", &minimum("1.5")),
        rule("a", "item = \"hose\"")
    );
    assert!(
        problems(&same_id)
            .iter()
            .any(|line| line.contains("`rule[2].class`: missing"))
    );
}

#[test]
fn rules_for_different_vehicles_do_not_contradict() {
    let when = |classes: &str, mm: &str| {
        format!("{PADS}\nminimum_mm = {mm}\nwhen = {{ classes = {classes} }}")
    };
    let rules = format!(
        "{}{}",
        rule("a", &when("[\"M1\"]", "1.5")),
        rule("b", &when("[\"N1\"]", "2.0"))
    );
    assert_eq!(pack(&rules).unwrap().rows.len(), 2);
}

#[test]
fn every_fault_of_a_pack_is_named_at_once() {
    let rules = rule(
        "a",
        "item = \"pad.thickness\"\nclass = \"mayor\"\nat_limit = \"passes\"\nminimum_mm = 1.5\nminimum_in = 0.1\n\
         when = { classes = [\"M7\"], first_used_from = 2012-01-01, first_used_before = 2010-01-01 }",
    );
    let found = problems(&format!("scope = \"inspections\"\n{rules}"));
    for expected in [
        "p.toml:4:1: `scope`: `inspections` is not one of `inspection`, `new_part`, `fluid`; did you mean \
         `inspection`?",
        "p.toml:9:1: `rule[1].item`: `pad.thickness` is not one of ",
        "p.toml:10:1: `rule[1].class`: `mayor` is not one of `advisory`, `major`, `dangerous`; did you mean \
         `major`?",
        "p.toml:13:1: `rule[1].minimum_in`: given twice, also as `rule[1].minimum_mm`; keep one",
        "p.toml:14:10: `rule[1].when.classes`: `M7` is not one of `M1`",
        "p.toml:14:58: `rule[1].when.first_used_before`: no day is from 2012-01-01 on and before 2010-01-01",
    ] {
        assert!(
            found.iter().any(|line| line.starts_with(expected)),
            "{expected}\nin {found:#?}"
        );
    }
    assert_eq!(found.len(), 6, "{found:#?}");
}

#[test]
fn a_value_in_the_wrong_unit_for_its_item_is_refused() {
    let found = problems(&rule("a", &format!("{PADS}\nminimum_percent = 30")));
    assert_eq!(
        found,
        ["p.toml:8:1: `rule[1].item`: `pads.thickness` is not measured in the unit of 30 %"]
    );
}

#[test]
fn a_pack_without_rules_is_refused() {
    assert_eq!(
        problems(""),
        ["p.toml:1:1: `rule`: missing; a pack holds at least one rule"]
    );
}

#[test]
fn numbers_are_read_from_the_text_and_never_through_binary_floating_point() {
    for (text, nm) in [
        ("22.4", 22_400_000),
        ("0.1", 100_000),
        ("22.400001", 22_400_001),
        ("1_0.5", 10_500_000),
        ("\"22.4\"", 22_400_000),
        ("22", 22_000_000),
    ] {
        let policy = Policy::parse(&format!("[pads]\nplan_mm = {text}\n"), "p.toml").unwrap();
        assert_eq!(policy.pads_plan.value.nm(), nm, "{text}");
    }
    for text in [
        "1e1", "inf", "nan", "0x10", "\"22,4\"", "\"3 mm\"", "-1.0", "true", "99999999",
    ] {
        let text = format!("[pads]\nplan_mm = {text}\n");
        assert!(
            Policy::parse(&text, "p.toml").is_err(),
            "{text} was accepted"
        );
    }
}

#[test]
fn inches_and_pound_feet_are_exact() {
    let policy = Policy::parse("[pads]\nplan_in = 0.125\n", "p.toml").unwrap();
    assert_eq!(policy.pads_plan.value.nm(), 3_175_000);
}

#[test]
fn a_policy_that_contradicts_itself_is_refused() {
    let text = "[disc]\ndtv_advise_mm = 0.03\n[torque]\nstages_percent = [60, 30]\n\
                [decision]\nproof_percent = 100\n";
    let lines: Vec<String> = Policy::parse(text, "p.toml")
        .unwrap_err()
        .problems
        .iter()
        .map(Problem::to_string)
        .collect();
    assert_eq!(
        lines,
        [
            "p.toml:2:1: `disc.dtv_advise_mm`: 0.030 mm is above 0.020 mm, which should come later",
            "p.toml:4:1: `torque.stages_percent`: [60, 30] does not rise to 100",
            "p.toml:6:1: `decision.proof_percent`: 100 % is not between 50 % and 100 %",
        ]
    );
}

#[test]
fn a_policy_lists_its_figures_in_words() {
    let list = Policy::builtin().list();
    let value = |wanted: &str| {
        let found = list
            .iter()
            .find(|(table, stem, _, _)| format!("{table}.{stem}") == wanted);
        found
            .map(|(_, _, value, origin)| format!("{value}, {origin}"))
            .unwrap()
    };
    assert_eq!(value("disc.left_advise"), "0.300 mm, program's default");
    assert_eq!(value("disc.dtv_limit"), "0.020 mm, common practice");
    assert_eq!(
        value("gauges.temperature_unknown"),
        "15 K, program's default"
    );
    assert_eq!(
        value("torque.stages_percent"),
        "30, 60, 100, program's default"
    );
    assert_eq!(
        value("record.countersign_required"),
        "no, program's default"
    );
    assert_eq!(value("decision.proof"), "95 %, published");
}

#[test]
fn a_policy_keeps_the_reason_of_the_workshop() {
    let text = "[pads]\nplan_mm = { value = 4.0, source = \"island roads, long winters\" }\n";
    let policy = Policy::parse(text, "p.toml").unwrap();
    assert_eq!(
        policy.pads_plan.origin.to_string(),
        "workshop's choice: island roads, long winters"
    );
}

#[test]
fn a_schedule_with_unknown_misplaced_or_repeated_items_is_refused() {
    let text = "id = \"s\"\nname = \"S\"\n[quick]\ncorner = [\"hose\", \"disk:pads.thickness\"]\n\
                [full]\ncorner = [\"hose\", \"hose\", \"fluid.boiling\"]\n";
    let lines: Vec<String> = Schedule::parse(text, "s.toml")
        .unwrap_err()
        .problems
        .iter()
        .map(Problem::to_string)
        .collect();
    assert_eq!(lines.len(), 3, "{lines:#?}");
    assert!(
        lines[0].starts_with("s.toml:4:1: `quick.corner`: `disk:pads.thickness` is not one of")
    );
    assert_eq!(
        lines[2],
        "s.toml:6:1: `full.corner`: `fluid.boiling` does not belong to this list"
    );
    assert_eq!(
        lines[1],
        "s.toml:6:1: `full.corner`: `hose` is scheduled twice"
    );
}

#[test]
fn everything_frozen_in_a_record_reads_back_the_same() {
    for (file, text) in builtin_sheets()
        .iter()
        .chain([&("template.toml", Sheet::template())])
    {
        let sheet = Sheet::parse(text, file).unwrap();
        let frozen = serde_json::to_string(&sheet).unwrap();
        let again: Sheet = serde_json::from_str(&frozen).unwrap();
        assert_eq!(again, sheet, "{file}");
        assert_eq!(serde_json::to_string(&again).unwrap(), frozen, "{file}");
    }
    for (file, text) in builtin_rule_packs() {
        let pack = RulePack::parse(text, file).unwrap();
        let frozen = serde_json::to_string(&pack).unwrap();
        assert_eq!(
            serde_json::from_str::<RulePack>(&frozen).unwrap(),
            pack,
            "{file}"
        );
    }
    let policy = Policy::builtin();
    let frozen = serde_json::to_string(&policy).unwrap();
    assert_eq!(serde_json::from_str::<Policy>(&frozen).unwrap(), policy);
    let (file, text) = builtin_schedules()[0];
    let schedule = Schedule::parse(text, file).unwrap();
    let frozen = serde_json::to_string(&schedule).unwrap();
    assert_eq!(serde_json::from_str::<Schedule>(&frozen).unwrap(), schedule);
}

#[test]
fn a_value_with_its_own_source_does_not_borrow_another_ones_checker() {
    let text = Sheet::template().replacen(
        "discard_mm = 23.0",
        "discard_mm = { value = 23.0, source = \"cast on the disc\", date = 2026-03-02 }",
        1,
    );
    let sheet = Sheet::parse(&text, "s.toml").unwrap();
    let disc = sheet.axles[0].disc.as_ref().unwrap();
    let origin = &disc.discard.as_ref().unwrap().origin;
    assert_eq!(origin.source.as_deref(), Some("cast on the disc"));
    assert_eq!(origin.date.as_deref(), Some("2026-03-02"));
    assert_eq!(origin.checked_by, None);
    assert_eq!(
        disc.new.as_ref().unwrap().origin.checked_by.as_deref(),
        Some("B. Person")
    );
}

#[test]
fn corners_belong_to_axles() {
    let sheet = Sheet::parse(Sheet::template(), "template.toml").unwrap();
    let name = |corner: &str| sheet.axle_of_corner(corner).map(|axle| axle.name.as_str());
    for (corner, axle) in [
        ("FL", Some("front")),
        ("FR", Some("front")),
        ("RL", Some("rear")),
        ("RR", Some("rear")),
        ("3L", None),
        ("0L", None),
        ("", None),
        ("é", None),
    ] {
        assert_eq!(name(corner), axle, "{corner}");
    }
}

/// Pieces of sheets, packs and policies, so that random texts reach beyond the syntax.
fn piece() -> impl Strategy<Value = String> {
    const WORDS: &[&str] = &[
        "id",
        "name",
        "source",
        "axle",
        "wheel",
        "rule",
        "disc",
        "pads",
        "min_mm",
        "new_mm",
        "basis",
        "brake",
        "value",
        "when",
        "item",
        "quick",
        "corner",
        "columns",
        "plan_mm",
        "[",
        "]",
        "[[",
        "]]",
        "{",
        "}",
        "=",
        ",",
        ".",
        "\n",
        "\"",
        "\"\"\"",
        "'",
        "#",
        "0.08",
        "1e999",
        "-",
        "2026-03-02",
        "true",
        "\"disc\"",
        "\"pads.thickness\"",
        "\u{feff}",
        "\r\n",
        "é",
        "\u{0}",
    ];
    prop_oneof![
        proptest::sample::select(WORDS).prop_map(str::to_owned),
        ".{0,6}"
    ]
}

proptest! {
    #[test]
    fn no_text_panics_any_reader(pieces in proptest::collection::vec(piece(), 0..40)) {
        let text = pieces.concat();
        let _ = lint(&text, "f");
        let _ = RulePack::parse(&text, "f");
        let _ = Policy::parse(&text, "f");
        let _ = Schedule::parse(&text, "f");
        let _ = import(&text, "f", "columns.id = \"id\"", "m");
        let _ = import("id,name\na,b\n", "f", &text, "m");
    }

    /// A good sheet with a piece cut out or put in never panics, and its problems name a place in it.
    #[test]
    fn a_damaged_sheet_is_read_or_refused_with_places(at in 0usize..1600, cut in 0usize..30, put in piece()) {
        let mut text: Vec<char> = include_str!("../../specs/vehicles/template.toml").chars().collect();
        let from = at.min(text.len());
        let to = (from + cut).min(text.len());
        text.splice(from..to, put.chars());
        let text: String = text.into_iter().collect();
        let lines = text.split('\n').count();
        for lint in lint(&text, "f") {
            let place = lint.problem.place;
            prop_assert!(place.line >= 1 && place.column >= 1, "{lint}");
            prop_assert!(place.line as usize <= lines, "{lint}");
        }
    }

    #[test]
    fn the_strictest_limit_in_force_is_applied(
        maker in proptest::option::of(1_000i64..4_000),
        rules in proptest::collection::vec((1_000i64..4_000, any::<bool>()), 0..4),
        reading in 1_000i64..4_000,
    ) {
        let packs: Vec<RulePack> = rules
            .iter()
            .enumerate()
            .map(|(n, (um, passes))| {
                let at_limit = if *passes { "passes" } else { "fails" };
                let rule = rule("r", &format!(
                    "item = \"pads.thickness\"\nclass = \"major\"\nat_limit = \"{at_limit}\"\nminimum_um = {um}"
                ));
                RulePack::parse(&format!("id = \"p{n}\"\nname = \"P\"\nedition = \"1\"\n{rule}"), "p").unwrap()
            })
            .collect();
        let mut sheet = Sheet::parse(Sheet::template(), "t").unwrap();
        sheet.axles[0].pads.as_mut().unwrap().min =
            maker.map(|um| Sourced::new(Length::from_nm(um * 1_000)));
        let policy = Policy::builtin();
        let facts = VehicleFacts::of_sheet(&sheet).on_axle(&sheet.axles[0]);
        let sources = LimitSources { sheet: Some(&sheet), packs: &packs, policy: &policy, facts: &facts };
        let chain = sources.pads();
        prop_assert_eq!(chain.applied.is_some(), maker.is_some() || !rules.is_empty());
        prop_assert_eq!(chain.in_force().count(), usize::from(maker.is_some()) + rules.len());
        // A reading the applied limit permits is permitted by every limit in force.
        let reading = Length::from_nm(reading * 1_000);
        if let Some(applied) = &chain.applied {
            let all = chain.in_force().all(|limit| limit.permits(reading));
            prop_assert_eq!(applied.permits(reading), all);
        }
    }
}
