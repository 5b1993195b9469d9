//! Finds rules of one pack that cannot both be right.

use super::reader::Section;
use super::rules::{AxleCondition, Bound, Rule, RuleValue};

/// Compares a rule with the ones before it and reports what contradicts.
pub(super) fn compare(section: &Section<'_, '_>, earlier: &[Rule], rule: &Rule) {
    for other in earlier {
        if other.id == rule.id {
            section.contradiction("id", format!("another rule is called `{}` too", rule.id));
        }
        if other.item != rule.item || other.quantity != rule.quantity || !overlap(other, rule) {
            continue;
        }
        if let Some(message) = contradiction(other, rule) {
            section.contradiction("id", message);
        }
    }
}

/// Whether the two apply to the same vehicles; only rules with equal conditions, the axle apart,
/// are compared, because overlapping windows are a legitimate way to make a rule stricter.
fn overlap(a: &Rule, b: &Rule) -> bool {
    let axles = a.when.axle == b.when.axle
        || a.when.axle == AxleCondition::Any
        || b.when.axle == AxleCondition::Any;
    let mut same = a.when.clone();
    same.axle = b.when.axle;
    axles && same == b.when
}

fn contradiction(a: &Rule, b: &Rule) -> Option<String> {
    let (x, y) = (comparable(a.value), comparable(b.value));
    if x.0 != y.0 {
        return Some(format!(
            "`{}` has {}, `{}` has {}: two units",
            a.id, a.value, b.id, b.value
        ));
    }
    if a.bound != b.bound {
        let (least, most) = if a.bound == Bound::Minimum {
            (a, b)
        } else {
            (b, a)
        };
        return (comparable(least.value).1 > comparable(most.value).1).then(|| {
            format!(
                "at least {} (`{}`) and at most {} (`{}`): nothing passes",
                least.value, least.id, most.value, most.id
            )
        });
    }
    if a.class == b.class && a.when.axle == b.when.axle {
        let equal = x == y && a.at_limit_passes == b.at_limit_passes;
        let what = if equal {
            "says the same again as"
        } else {
            "contradicts"
        };
        return Some(format!(
            "{} `{}` {what} {} `{}` of the same conditions and class",
            b.value, b.id, a.value, a.id
        ));
    }
    let (graver, lighter) = if a.class > b.class { (a, b) } else { (b, a) };
    (graver.class > lighter.class && stricter(graver, lighter)).then(|| {
        format!(
            "{:?} at {} (`{}`) would be reached before {:?} at {} (`{}`)",
            graver.class, graver.value, graver.id, lighter.class, lighter.value, lighter.id
        )
        .to_lowercase()
    })
}

/// Whether `a` is broken before `b`.
fn stricter(a: &Rule, b: &Rule) -> bool {
    let (x, y) = (comparable(a.value).1, comparable(b.value).1);
    match a.bound {
        Bound::Minimum => x > y,
        Bound::Maximum => x < y,
    }
}

/// Unit and magnitude of a value.
fn comparable(value: RuleValue) -> (u8, i64) {
    match value {
        RuleValue::Length(value) => (0, value.nm()),
        RuleValue::Percent(value) => (1, value.thousandths()),
        RuleValue::Temperature(value) => (2, value.millidegrees()),
    }
}
