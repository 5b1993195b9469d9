//! What every table of values needs.

pub(crate) use std::collections::BTreeSet;

pub(crate) use brakecorner::job::Item;
pub(crate) use brakecorner::spec::{
    Actuation, Applies, AxleCondition, Bound, BrakeForm, BrakeKind, Chassis, Conditions, Depth,
    Fact, FastenerSpec, Mounting, PackScope, PartState, Policy, PolicyOrigin, Rule, RuleClass,
    RulePack, RuleValue, RunoutReading, Schedule, Sheet, Status, VehicleFacts, builtin_policies,
    builtin_rule_packs, builtin_schedules, builtin_sheets, items,
};

pub(crate) fn packs() -> Vec<RulePack> {
    builtin_rule_packs()
        .iter()
        .map(|(file, text)| RulePack::parse(text, file).unwrap())
        .collect()
}

pub(crate) fn pack(id: &str) -> RulePack {
    packs().into_iter().find(|pack| pack.id == id).unwrap()
}

pub(crate) fn sheet(id: &str) -> Sheet {
    let file = format!("{id}.toml");
    let (file, text) = builtin_sheets()
        .iter()
        .find(|(name, _)| *name == file)
        .unwrap();
    Sheet::parse(text, file).unwrap()
}

/// The pack's numbers are exactly the expected ones, no row more and none less. A row reads
/// `id | item | bound and value | at the limit | class | clause | status`.
pub(crate) fn assert_rows(pack: &RulePack, expected: &[&str]) {
    let wanted: BTreeSet<String> = expected.iter().map(|row| (*row).to_owned()).collect();
    let found: BTreeSet<String> = pack.rows.iter().map(describe).collect();
    let missing: Vec<_> = wanted.difference(&found).collect();
    let extra: Vec<_> = found.difference(&wanted).collect();
    assert!(
        missing.is_empty() && extra.is_empty(),
        "missing {missing:#?}\nextra {extra:#?}"
    );
    assert_eq!(pack.rows.len(), expected.len());
}

pub(crate) fn describe(rule: &Rule) -> String {
    let item = match &rule.quantity {
        Some(quantity) => format!("{} {quantity}", rule.item),
        None => rule.item.clone(),
    };
    let bound = if rule.bound == Bound::Minimum {
        ">="
    } else {
        "<="
    };
    let at_limit = if rule.at_limit_passes {
        "passes"
    } else {
        "fails"
    };
    let class = match rule.class {
        RuleClass::Advisory => "advisory",
        RuleClass::Major => "major",
        RuleClass::Dangerous => "dangerous",
    };
    let status = match rule.status {
        Status::Read => "R",
        Status::Secondary => "S",
        Status::Memory => "M",
    };
    let (id, value, clause) = (&rule.id, rule.value, &rule.clause);
    format!("{id} | {item} | {bound} {value} | {at_limit} | {class} | {clause} | {status}")
}

pub(crate) fn when(pack: &RulePack, id: &str) -> Conditions {
    pack.rows
        .iter()
        .find(|rule| rule.id == id)
        .unwrap()
        .when
        .clone()
}

/// The rules of an item that apply, by id.
pub(crate) fn applying(pack: &RulePack, item: &str, facts: &VehicleFacts) -> Vec<String> {
    pack.applicable(item, facts)
        .into_iter()
        .filter(|(_, applies)| *applies == Applies::Yes)
        .map(|(rule, _)| rule.id.clone())
        .collect()
}

pub(crate) fn used(class: &str, first_used: &str) -> VehicleFacts {
    VehicleFacts {
        class: Some(class.to_owned()),
        first_used: Some(first_used.parse().unwrap()),
        ..VehicleFacts::default()
    }
}

pub(crate) const NONE: [&str; 0] = [];
