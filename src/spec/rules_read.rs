//! Reads a rule pack from TOML.

use super::items::{self, ITEMS, Measured};
use super::problem::SpecProblems;
use super::reader::{Reader, Section};
use super::rules::{
    AxleCondition, Bound, BrakeForm, Conditions, DefectRule, Exceptions, PackScope, PartState,
    Remark, Rule, RuleClass, RulePack, RuleValue, Status,
};
use super::rules_reach::{Codes, Reach};
use super::sheet_read::{
    ACTUATIONS, CHASSIS, MOUNTINGS, class_words, fluid_grade, known_class, read_id,
};

pub(super) fn parse(text: &str, file: &str) -> Result<RulePack, SpecProblems> {
    let reader = Reader::new(text, file);
    let pack = read(&reader, None);
    reader.conclude(pack)
}

/// Reads a pack that is to be used: every row must be one that some vehicle reaches.
pub(super) fn parse_for_use(
    text: &str,
    file: &str,
    codes: &Codes<'_>,
) -> Result<RulePack, SpecProblems> {
    let reader = Reader::new(text, file);
    let pack = read(&reader, Some(codes));
    reader.conclude(pack)
}

fn read(reader: &Reader<'_>, codes: Option<&Codes<'_>>) -> Option<RulePack> {
    let document = reader.parse()?;
    let root = Section::root(reader, &document);
    let scope = root.word("scope", &SCOPES).unwrap_or_default();
    let vehicles = root
        .table("vehicles")
        .map(read_vehicles)
        .unwrap_or_default();
    if codes.is_some() && !root.has("vehicles") {
        root.missing(
            "vehicles",
            "a pack says which vehicles it is for, such as `classes = [\"M1\"]`, or `any = true`",
        );
    }
    let reach = Reach {
        scope,
        vehicles: &vehicles,
        codes,
    };
    let mut rows: Vec<Rule> = Vec::new();
    for section in root.tables("rule") {
        if let Some(rule) = read_rule(&section) {
            super::rules_check::compare(&section, &rows, &rule);
            reach.check_rule(&section, &rule);
            rows.push(rule);
        }
        section.finish();
    }
    let pack = RulePack {
        id: read_id(&root),
        name: root.required_text("name", "people choose the pack by its name"),
        edition: root.required_text("edition", "rules change; say which text was taken"),
        scope,
        defects: read_defects(&root, &rows, &reach),
        remarks: root
            .tables("remark")
            .into_iter()
            .filter_map(read_remark)
            .collect(),
        rows,
        vehicles,
    };
    if !root.has("rule") && !root.has("defect") {
        root.missing("rule", "a pack holds at least one rule");
    }
    root.finish();
    Some(pack)
}

const SCOPES: [(&str, PackScope); 3] = [
    ("inspection", PackScope::Inspection),
    ("new_part", PackScope::NewPart),
    ("fluid", PackScope::Fluid),
];

const STATUSES: [(&str, Status); 3] = [
    ("read", Status::Read),
    ("secondary", Status::Secondary),
    ("memory", Status::Memory),
];

const CLASSES: [(&str, RuleClass); 3] = [
    ("advisory", RuleClass::Advisory),
    ("major", RuleClass::Major),
    ("dangerous", RuleClass::Dangerous),
];

fn read_rule(section: &Section<'_, '_>) -> Option<Rule> {
    let id = section.required_text("id", "findings and confirmations name the rule");
    let item = read_item(section);
    let clause = section.required_text("clause", "a number without its clause cannot be checked");
    let status = required_word(
        section,
        "status",
        &STATUSES,
        "`read`, `secondary` or `memory`",
    );
    let class = required_word(
        section,
        "class",
        &CLASSES,
        "`advisory`, `major` or `dangerous`",
    );
    let at_limit = required_word(
        section,
        "at_limit",
        &[("passes", true), ("fails", false)],
        "say whether a reading exactly at the value passes",
    );
    let value = read_value(section);
    let (quantity, checked_by) = (section.text("quantity"), section.text("checked_by"));
    let note = section.text("note");
    let when = section
        .table("when")
        .map(read_conditions)
        .unwrap_or_default();
    let exceptions = section
        .table("except")
        .map(read_exceptions)
        .unwrap_or_default();
    let (bound, value) = value?;
    let item = item?;
    check_unit(section, &item, quantity.as_deref(), value);
    Some(Rule {
        id,
        item,
        quantity,
        clause,
        status: status?,
        checked_by,
        bound,
        value,
        at_limit_passes: at_limit?,
        class: class?,
        when,
        exceptions,
        note,
    })
}

fn required_word<E: Copy>(
    section: &Section<'_, '_>,
    key: &str,
    words: &[(&str, E)],
    why: &'static str,
) -> Option<E> {
    let word = section.word(key, words);
    if !section.has(key) {
        section.missing(key, why);
    }
    word
}

fn read_item(section: &Section<'_, '_>) -> Option<String> {
    let item = section.required_text("item", "a rule is about one inspection item");
    if item.is_empty() {
        return None;
    }
    if items::find(&item).is_none() {
        section.unknown_word("item", &item, ITEMS.iter().map(|item| item.id));
        return None;
    }
    Some(item)
}

/// Reads the one key that holds the rule's value: `minimum_…` or `maximum_…` with its unit.
fn read_value(section: &Section<'_, '_>) -> Option<(Bound, RuleValue)> {
    let side = |stem: &str, bound: Bound| {
        [
            section
                .length(stem)
                .map(|value| RuleValue::Length(value.value)),
            section
                .percent(stem)
                .map(|value| RuleValue::Percent(value.value)),
            section
                .temperature(stem)
                .map(|value| RuleValue::Temperature(value.value)),
        ]
        .into_iter()
        .flatten()
        .map(|value| (bound, value))
        .collect::<Vec<_>>()
    };
    let mut found = side("minimum", Bound::Minimum);
    found.extend(side("maximum", Bound::Maximum));
    match found.as_slice() {
        [one] => Some(*one),
        [] => {
            section.missing(
                "minimum_mm",
                "a rule has one value, as `minimum_` or `maximum_` and its unit",
            );
            None
        }
        several => {
            let message = format!(
                "the rule has {} values; write one rule for each",
                several.len()
            );
            section.contradiction("id", message);
            None
        }
    }
}

fn check_unit(section: &Section<'_, '_>, item: &str, quantity: Option<&str>, value: RuleValue) {
    let measured = items::find(item).map(|item| item.measured);
    // A quantity beside the item's own value may have a unit of its own.
    let fits = quantity.is_some()
        || matches!(
            (measured, value),
            (Some(Measured::Length), RuleValue::Length(_))
                | (Some(Measured::Percent), RuleValue::Percent(_))
                | (Some(Measured::Temperature), RuleValue::Temperature(_))
        );
    if !fits {
        let message = format!("`{item}` is not measured in the unit of {value}");
        section.contradiction("item", message);
    }
}

/// The vehicles of a pack: conditions, or `any = true` for every vehicle.
fn read_vehicles(section: Section<'_, '_>) -> Conditions {
    let any = section.flag("any").unwrap_or(false);
    let said = [
        "classes",
        "first_used_from",
        "first_used_before",
        "gross_mass_up_to_kg",
        "gross_mass_up_to_lb",
        "gross_mass_over_kg",
        "gross_mass_over_lb",
        "passenger",
        "seats_up_to",
        "seats_over",
        "chassis",
        "braked_wheels_from",
        "single_line",
    ];
    let says = said.into_iter().any(|key| section.has(key));
    if any && says {
        section.contradiction("any", "for any vehicle, yet a condition is given");
    } else if !any && !says {
        section.missing("any", "say `any = true`, or which vehicles the pack is for");
    }
    read_conditions(section)
}

fn read_conditions(section: Section<'_, '_>) -> Conditions {
    let classes = section.texts("classes");
    for class in &classes {
        if !known_class(class) {
            section.unknown_word("classes", class, class_words());
        }
    }
    let fluid = section.text("fluid_grade").map(|text| {
        fluid_grade(&text).map_or_else(
            || {
                section.contradiction("fluid_grade", format!("`{text}` is not a known grade"));
                text.clone()
            },
            str::to_owned,
        )
    });
    let axles = [
        ("any", AxleCondition::Any),
        ("steering", AxleCondition::Steering),
        ("non_steering", AxleCondition::NonSteering),
    ];
    let conditions = Conditions {
        classes,
        first_used_from: section.date("first_used_from"),
        first_used_before: section.date("first_used_before"),
        axle: section.word("axle", &axles).unwrap_or_default(),
        brake: section.word(
            "brake",
            &[("disc", BrakeForm::Disc), ("drum", BrakeForm::Drum)],
        ),
        actuation: section.words("actuation", &ACTUATIONS),
        mounting: section.word("mounting", &MOUNTINGS),
        two_pad_shoe: section.flag("two_pad_shoe"),
        gross_mass_up_to_g: section.mass("gross_mass_up_to"),
        gross_mass_over_g: section.mass("gross_mass_over"),
        passenger: section.flag("passenger"),
        seats_up_to: section.whole("seats_up_to", 1..1000),
        seats_over: section.whole("seats_over", 0..1000),
        chassis: section.word("chassis", &CHASSIS),
        braked_wheels_from: section.whole("braked_wheels_from", 1..100),
        single_line: section.flag("single_line"),
        fluid_grade: fluid,
        part: section.word(
            "part",
            &[
                ("in_service", PartState::InService),
                ("new", PartState::New),
            ],
        ),
    };
    if let (Some(from), Some(before)) = (conditions.first_used_from, conditions.first_used_before)
        && from >= before
    {
        let message = format!("no day is from {from} on and before {before}");
        section.contradiction("first_used_before", message);
    }
    if let (Some(over), Some(up_to)) = (conditions.gross_mass_over_g, conditions.gross_mass_up_to_g)
        && over >= up_to
    {
        let message = format!("no mass is over {over} g and up to {up_to} g");
        section.contradiction("gross_mass_over_kg", message);
    }
    section.finish();
    conditions
}

fn read_exceptions(section: Section<'_, '_>) -> Exceptions {
    let exceptions = Exceptions {
        lower_wheel_locked: section.flag("lower_wheel_locked").unwrap_or(false),
        higher_effort_up_to: section
            .force("higher_effort_up_to")
            .map(|force| force.value),
        met_when_half_lock: section.flag("met_when_half_lock").unwrap_or(false),
    };
    section.finish();
    exceptions
}

fn read_defects(root: &Section<'_, '_>, rows: &[Rule], reach: &Reach<'_>) -> Vec<DefectRule> {
    let mut defects: Vec<DefectRule> = Vec::new();
    for section in root.tables("defect") {
        let known = rows
            .iter()
            .map(|rule| &rule.id)
            .chain(defects.iter().map(|rule| &rule.id));
        let known: Vec<String> = known.cloned().collect();
        let Some(rule) = read_defect(section, &known, reach) else {
            continue;
        };
        defects.push(rule);
    }
    defects
}

fn read_defect(
    section: Section<'_, '_>,
    known: &[String],
    reach: &Reach<'_>,
) -> Option<DefectRule> {
    let id = section.required_text("id", "findings and confirmations name the rule");
    if known.contains(&id) {
        section.contradiction("id", format!("another rule is called `{id}` too"));
    }
    let item = read_item(&section);
    let codes = section.texts("codes");
    if codes.is_empty() {
        section.missing("codes", "the defects the rule names");
    }
    let clause = section.required_text("clause", "a rule without its clause cannot be checked");
    let status = required_word(
        &section,
        "status",
        &STATUSES,
        "`read`, `secondary` or `memory`",
    );
    let class = required_word(
        &section,
        "class",
        &CLASSES,
        "`advisory`, `major` or `dangerous`",
    );
    let checked_by = section.text("checked_by");
    let when = section
        .table("when")
        .map(read_conditions)
        .unwrap_or_default();
    let sentence = section.required_text("sentence", "the rule in plain words");
    if let Some(item) = &item {
        reach.check_defect(&section, item, &codes, &when);
    }
    section.finish();
    Some(DefectRule {
        id,
        item: item?,
        codes,
        clause,
        status: status?,
        checked_by,
        class: class?,
        when,
        sentence,
    })
}

fn read_remark(section: Section<'_, '_>) -> Option<Remark> {
    let item = read_item(&section);
    let clause = section.required_text("clause", "a remark without its clause cannot be checked");
    let status = required_word(
        &section,
        "status",
        &STATUSES,
        "`read`, `secondary` or `memory`",
    );
    let text = section.required_text("text", "the remark in plain words");
    section.finish();
    Some(Remark {
        item: item?,
        clause,
        status: status?,
        text,
    })
}
