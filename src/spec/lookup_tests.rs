//! Tests of which limit applies.

#![allow(clippy::float_cmp)] // whole numbers, exact in binary

use super::{
    Authority, FrictionBasis, LimitBound, LimitSources, PartState, Percent, Policy, RuleClass,
    RulePack, RunoutDefinition, RunoutSpec, Sheet, Sourced, VehicleFacts, builtin_rule_packs,
    builtin_sheets, fluid_limits,
};
use crate::units::Length;

struct Bench {
    sheet: Sheet,
    packs: Vec<RulePack>,
    policy: Policy,
}

fn bench(sheet: &str, packs: &[&str]) -> Bench {
    let text = |files: &'static [(&'static str, &'static str)], id: &str| {
        let name = format!("{id}.toml");
        *files.iter().find(|(file, _)| *file == name).unwrap()
    };
    let (file, sheet) = text(builtin_sheets(), sheet);
    Bench {
        sheet: Sheet::parse(sheet, file).unwrap(),
        packs: packs
            .iter()
            .map(|id| {
                let (file, pack) = text(builtin_rule_packs(), id);
                RulePack::parse(pack, file).unwrap()
            })
            .collect(),
        policy: Policy::builtin(),
    }
}

impl Bench {
    fn facts(&self, axle: usize) -> VehicleFacts {
        VehicleFacts::of_sheet(&self.sheet).on_axle(&self.sheet.axles[axle])
    }

    fn sources<'a>(&'a self, facts: &'a VehicleFacts) -> LimitSources<'a> {
        LimitSources {
            sheet: Some(&self.sheet),
            packs: &self.packs,
            policy: &self.policy,
            facts,
        }
    }
}

fn mm(text: &str) -> Length {
    Length::parse(text, crate::units::LengthUnit::Millimetre).unwrap()
}

#[test]
fn a_maker_stricter_than_the_pack_is_applied_and_the_pack_still_tells_the_danger() {
    let bench = bench("aldercote-wrenfold", &["gb"]);
    let facts = bench.facts(1);
    let pads = bench.sources(&facts).pads();
    let applied = pads.applied.as_ref().unwrap();
    assert_eq!(
        (applied.value, &applied.authority),
        (mm("2"), &Authority::Maker)
    );
    assert_eq!(
        applied.source,
        "maker's data sheet, invented for the demonstration, sheet aldercote-wrenfold"
    );
    // 1.5 mm passes the pack's rule, less is dangerous (GB 1.1.13, read).
    assert_eq!(pads.class_of(mm("1.5")), None);
    assert_eq!(pads.class_of(mm("1.499999")), Some(RuleClass::Dangerous));
}

#[test]
fn policy_stands_in_for_variation_and_run_out_only() {
    let bench = bench("merlock-pindle", &["gb"]);
    let facts = bench.facts(0);
    let sources = bench.sources(&facts);
    let variation = sources.disc_variation();
    let applied = variation.applied.as_ref().unwrap();
    assert_eq!(
        (applied.value, &applied.authority),
        (mm("0.020"), &Authority::Policy)
    );
    assert!(!applied.may_fail());
    assert_eq!(
        applied.source,
        "workshop policy (common practice), no maker's figure"
    );
    // The maker's run-out figure puts the policy's aside.
    let runout = sources.disc_runout();
    assert_eq!(runout.applied.unwrap().value, mm("0.060"));
    assert_eq!(runout.others[0].limit.authority, Authority::Policy);
    assert!(!runout.others[0].in_force);

    let nothing = LimitSources {
        sheet: None,
        ..sources
    };
    assert!(nothing.disc_runout().applied.is_some());
    for chain in [
        nothing.disc_thickness(None),
        nothing.drum_diameter(None),
        nothing.bearing_float(),
        nothing.drum_ovality(),
    ] {
        assert_eq!(chain.applied, None);
        assert_eq!(
            chain.why_none().unwrap(),
            "no maker's figure and no rule is on file"
        );
    }
}

#[test]
fn the_stricter_of_mark_and_sheet_rules_and_the_difference_is_told() {
    let bench = bench("merlock-pindle", &[]);
    let (front, rear) = (bench.facts(0), bench.facts(1));
    for (mark, applied, differs) in [
        (None, "18.0", false),
        (Some("18.0"), "18.0", false),
        (Some("17.5"), "18.0", true),
        (Some("18.4"), "18.4", true),
    ] {
        let chain = bench.sources(&front).disc_thickness(mark.map(mm));
        assert_eq!(chain.applied.unwrap().value, mm(applied), "{mark:?}");
        assert_eq!(chain.mark_differs.is_some(), differs, "{mark:?}");
    }
    for (mark, applied) in [("203.5", "203.5"), ("204.5", "204.0")] {
        let chain = bench.sources(&rear).drum_diameter(Some(mm(mark)));
        assert_eq!(chain.applied.unwrap().value, mm(applied), "{mark}");
    }
    // A mark alone is a limit.
    let alone = LimitSources {
        sheet: None,
        ..bench.sources(&front)
    };
    let chain = alone.disc_thickness(Some(mm("18.4")));
    assert_eq!(chain.applied.unwrap().authority, Authority::CastMark);
    assert_eq!(chain.mark_differs, None);
}

#[test]
fn a_figure_for_either_side_is_doubled_and_says_so() {
    let mut bench = bench("merlock-pindle", &[]);
    let disc = bench.sheet.axles[0].disc.as_mut().unwrap();
    disc.runout = Some(RunoutSpec {
        max: Sourced::new(mm("0.030")).from_source("workshop manual"),
        definition: RunoutDefinition::Half,
    });
    let facts = bench.facts(0);
    let applied = bench.sources(&facts).disc_runout().applied.unwrap();
    assert_eq!(applied.value, mm("0.060"));
    assert_eq!(
        applied.source,
        "workshop manual, sheet merlock-pindle, given as 0.030 mm to either side, doubled"
    );
}

#[test]
fn a_minimum_with_plate_is_turned_into_friction_and_without_a_flag_it_is_not_used() {
    let mut bench = bench("merlock-pindle", &[]);
    let pads = bench.sheet.axles[0].pads.as_mut().unwrap();
    pads.min = Some(Sourced::new(mm("9.0")));
    pads.basis = Some(FrictionBasis::WithPlate {
        plate: Sourced::new(mm("5.5")),
    });
    let facts = bench.facts(0);
    let applied = bench.sources(&facts).pads().applied.unwrap();
    assert_eq!(applied.value, mm("3.5"));
    assert!(
        applied
            .source
            .ends_with("given as 9.000 mm with a plate of 5.500 mm")
    );

    bench.sheet.axles[0].pads.as_mut().unwrap().basis = None;
    let chain = bench.sources(&facts).pads();
    assert_eq!(chain.applied, None);
    assert_eq!(
        chain.why_none().unwrap(),
        "source not stated, sheet merlock-pindle: the sheet does not say whether the figure includes \
         the backing plate"
    );
}

#[test]
fn a_rule_that_does_not_apply_says_why() {
    let bench = bench("merlock-dunling", &["us-commercial", "un-r90-new-discs"]);
    let facts = VehicleFacts {
        part: PartState::New,
        ..bench.facts(0)
    };
    let pads = bench.sources(&facts).pads();
    assert_eq!(pads.applied.as_ref().unwrap().value, mm("2"));
    let whys: Vec<(bool, &str)> = pads
        .others
        .iter()
        .map(|other| (other.in_force, other.why.as_str()))
        .collect();
    assert_eq!(
        whys,
        [
            (true, "looser than the limit applied"),
            (false, "for axles that do not steer only"),
            (false, "for air brakes, not hydraulic"),
        ]
    );
    // A standard for new parts is shown and never judged by.
    let runout = bench.sources(&facts).disc_runout();
    assert_eq!(runout.applied.as_ref().unwrap().value, mm("0.080"));
    let whys: Vec<&str> = runout
        .others
        .iter()
        .map(|other| other.why.as_str())
        .collect();
    assert_eq!(
        whys,
        [
            "holds for a new part measured on its own, not on a vehicle",
            "for class M2, M3, N2, N3, O3, O4, not N1",
            "policy stands in only where neither maker nor rule pack gives a figure",
        ]
    );
}

#[test]
fn exactly_at_an_exclusive_limit_fails_and_wins_over_an_equal_inclusive_one() {
    let mut bench = bench("merlock-pindle", &["us-commercial"]);
    let pads = bench.sheet.axles[0].pads.as_mut().unwrap();
    pads.min = Some(Sourced::new(mm("1.6")));
    let facts = bench.facts(0);
    let chain = bench.sources(&facts).pads();
    let applied = chain.applied.as_ref().unwrap();
    assert!(
        matches!(&applied.authority, Authority::RulePack { rule, .. } if rule == "us-commercial-pads-steering")
    );
    assert!(!applied.permits(mm("1.6")));
    assert!(applied.permits(mm("1.600001")));
}

#[test]
fn efficiencies_follow_class_and_date_and_without_a_date_there_is_no_limit() {
    let bench = bench("aldercote-wrenfold", &["gb"]);
    let dated = VehicleFacts {
        first_used: chrono::NaiveDate::from_ymd_opt(2020, 6, 11),
        ..bench.facts(0)
    };
    let sources = bench.sources(&dated);
    let service = sources.service_efficiency();
    let applied = service.applied.as_ref().unwrap();
    assert_eq!(
        (applied.value.percent(), applied.bound),
        (58.0, LimitBound::AtLeast)
    );
    assert_eq!(
        service.class_of(Percent::from_thousandths(28_999)),
        Some(RuleClass::Dangerous)
    );
    assert_eq!(
        service.class_of(Percent::from_thousandths(57_999)),
        Some(RuleClass::Major)
    );
    assert_eq!(service.class_of(Percent::from_thousandths(58_000)), None);
    assert_eq!(
        sources
            .parking_efficiency()
            .applied
            .unwrap()
            .value
            .percent(),
        16.0
    );
    let imbalance = sources.imbalance();
    assert_eq!(imbalance.applied.as_ref().unwrap().value.percent(), 30.0);
    // The steered axle has the second line; 35.93 % is major, over 50 % dangerous.
    assert_eq!(
        imbalance.class_of(Percent::from_thousandths(35_930)),
        Some(RuleClass::Major)
    );
    assert_eq!(
        imbalance.class_of(Percent::from_thousandths(50_001)),
        Some(RuleClass::Dangerous)
    );

    let undated = bench.facts(0);
    let service = bench.sources(&undated).service_efficiency();
    assert_eq!(service.applied, None);
    assert!(
        service
            .why_none()
            .unwrap()
            .contains("not known: date of first use")
    );
}

#[test]
fn a_rule_for_the_other_side_is_set_aside() {
    let mut bench = bench("merlock-pindle", &["gb"]);
    bench.packs[0].rows[0].bound = super::Bound::Maximum;
    let facts = bench.facts(0);
    let pads = bench.sources(&facts).pads();
    assert_eq!(pads.applied.unwrap().authority, Authority::Maker);
    assert_eq!(
        pads.others[0].why,
        "limits the side of the value that nobody judges"
    );
    assert!(!pads.others[0].in_force);
}

#[test]
fn fluid_is_judged_by_the_wet_figure_of_its_grade() {
    let bench = bench("aldercote-wrenfold", &["gb", "brake-fluid"]);
    let facts = bench.facts(0);
    let applied = bench.sources(&facts).fluid_boiling().applied.unwrap();
    assert_eq!(applied.value.celsius(), 155.0);
    assert!(applied.unconfirmed());
    assert_eq!(fluid_limits(&bench.packs, "dot 6"), None);
    assert_eq!(fluid_limits(&[], "DOT 4"), None);
}
