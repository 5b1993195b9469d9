//! The record's JSON Schema, generated from the types that read and write it.
//!
//! What a schema cannot say (that digests fit, that signatures hold, that a verdict follows from the
//! readings) is what [`super::verify`] is for.

use std::borrow::Cow;
use std::collections::BTreeMap;

use schemars::transform::{RecursiveTransform, Transform};
use schemars::{JsonSchema, Schema, SchemaGenerator, generate::SchemaSettings};
use serde_json::{Value, json};

use super::freeze::{FORMAT, REDACTED_FORMAT, ReadRecord, VERSION};
use crate::job::{Axle, Corner, Event, Item, Money, Place, Slot};
use crate::judge::{
    Cause, ItemVerdict, LimitShown, NotPart, OverrideListed, OverrideShown, Results, SetShown,
    Struck, Verdict,
};
use crate::measure::conformity::Proof;
use crate::units::{Distance, DistanceUnit, Length};

/// A line of the journal, as [`crate::job::journal`] writes it.
#[derive(JsonSchema)]
#[schemars(deny_unknown_fields)]
#[allow(dead_code)] // only its form is wanted
pub(crate) struct JournalLine {
    /// Version of the line's form.
    v: u32,
    /// Number of the line, from 1.
    seq: u64,
    /// When it was written, by the writer's clock.
    at: chrono::DateTime<chrono::FixedOffset>,
    /// Who wrote it.
    by: String,
    /// SHA-256 of the line before; 64 zeros in the first.
    prev: String,
    /// What happened.
    event: Event,
    /// SHA-256 of the line up to here.
    sum: String,
}

/// One judged item, as [`crate::judge::Finding`] is written.
#[derive(JsonSchema)]
#[schemars(deny_unknown_fields)]
#[allow(dead_code)]
struct FindingForm {
    /// The item's id.
    item: String,
    /// As found or as left.
    phase: crate::job::Phase,
    /// The judgement.
    verdict: ItemVerdict,
    /// How sure it is.
    proof: Option<Proof>,
    /// How soon something must be done.
    urgency: Option<String>,
    /// Odometer in whole kilometres by which something must be done.
    #[schemars(skip_serializing_if = "Option::is_none")]
    by_km: Option<i64>,
    /// Day by which something must be done.
    #[schemars(skip_serializing_if = "Option::is_none")]
    by_date: Option<chrono::NaiveDate>,
    /// The value that was judged, in its unit.
    value: Option<f64>,
    /// The unit.
    unit: Option<String>,
    /// The limit that was applied, in the same unit.
    limit: Option<f64>,
    /// Whose limit it is.
    limit_source: String,
    /// Standard uncertainty of the value, in its unit.
    u: Option<f64>,
    /// Probability that the true value is inside the limit.
    conformance_probability: Option<f64>,
    /// What was found, in one plain sentence.
    sentence: String,
    /// The numbers in one line.
    technical: String,
    /// Why the verdict is what it is.
    reasons: Vec<String>,
    /// Every limit looked at.
    limits: Vec<LimitShown>,
    /// What was computed.
    results: Option<Results>,
    /// Overrides of this finding.
    #[schemars(skip_serializing_if = "Vec::is_empty")]
    overrides: Vec<OverrideShown>,
    /// Every set of readings of the state, when there is more than one.
    #[schemars(skip_serializing_if = "Vec::is_empty")]
    sets: Vec<SetShown>,
    /// What failed and was struck.
    #[schemars(skip_serializing_if = "Vec::is_empty")]
    struck: Vec<Struck>,
    /// Whether it was entered better as left without a cause.
    #[schemars(skip_serializing_if = "std::ops::Not::not")]
    unexplained: bool,
    /// Facts of the vehicle that would decide and nobody entered.
    #[schemars(skip_serializing_if = "Vec::is_empty")]
    missing_facts: Vec<crate::spec::Fact>,
}

/// The judgement of one place.
#[derive(JsonSchema)]
#[schemars(deny_unknown_fields)]
#[allow(dead_code)]
struct PlaceForm {
    /// The worst item in the state the vehicle leaves in.
    verdict: Verdict,
    /// Every finding.
    items: Vec<FindingForm>,
}

/// The judgement of the job, as [`crate::judge::Judgement`] is written.
#[derive(JsonSchema)]
#[schemars(deny_unknown_fields)]
#[allow(dead_code)]
pub(crate) struct JudgementForm {
    /// Job number.
    job: String,
    /// The state the vehicle leaves in.
    verdict: Verdict,
    /// The state it came in.
    as_found: Verdict,
    /// The state it leaves in.
    as_left: Verdict,
    /// By corner.
    corners: BTreeMap<String, PlaceForm>,
    /// By axle.
    axles: BTreeMap<String, PlaceForm>,
    /// The vehicle's own items.
    vehicle: PlaceForm,
    /// What is no part of the inspection, and why.
    #[schemars(skip_serializing_if = "Vec::is_empty")]
    not_part: Vec<NotPart>,
    /// Likely causes, the best supported first.
    causes: Vec<Cause>,
    /// Every override that was asked for.
    overrides: Vec<OverrideListed>,
    /// How deep the inspection went.
    depth: crate::job::Depth,
}

/// The record's JSON Schema (draft 2020-12).
///
/// # Examples
/// ```
/// let schema = brakecorner::record::schema::schema();
/// assert_eq!(schema["properties"]["version"]["const"], 1);
/// ```
#[must_use]
pub fn schema() -> Value {
    // As it is written: what is left out when empty may be missing, everything else is there.
    let generator = SchemaSettings::draft2020_12()
        .for_serialize()
        .into_generator();
    let mut schema = generator.into_root_schema_for::<ReadRecord>();
    RecursiveTransform(Digests).transform(&mut schema);
    if let Some(root) = schema.as_object_mut() {
        root.insert("title".to_owned(), json!("brakecorner record"));
        if let Some(properties) = root.get_mut("properties").and_then(Value::as_object_mut) {
            properties.insert(
                "format".to_owned(),
                json!({"enum": [FORMAT, REDACTED_FORMAT], "description": "The word every record begins with."}),
            );
            properties.insert(
                "version".to_owned(),
                json!({"const": VERSION, "description": "Version of the record's form."}),
            );
        }
    }
    schema.to_value()
}

/// Says of every text that holds a digest what a digest looks like.
struct Digests;

impl Transform for Digests {
    fn transform(&mut self, schema: &mut Schema) {
        const ALWAYS: [&str; 6] = [
            "sha256",
            "prev",
            "sum",
            "record_sha256",
            "opening_line_sha256",
            "head",
        ];
        const OR_EMPTY: [&str; 2] = ["previous", "previous_revision"];
        let properties = schema
            .as_object_mut()
            .and_then(|object| object.get_mut("properties"))
            .and_then(Value::as_object_mut);
        for (name, property) in properties.into_iter().flatten() {
            let pattern = if ALWAYS.contains(&name.as_str()) {
                "^[0-9a-f]{64}$"
            } else if OR_EMPTY.contains(&name.as_str()) {
                "^([0-9a-f]{64})?$"
            } else {
                continue;
            };
            if let Some(property) = property.as_object_mut()
                && property.get("type") == Some(&json!("string"))
            {
                property.insert("pattern".to_owned(), json!(pattern));
            }
        }
    }
}

/// Types that are written by hand: their name, and the schema of what they are written as.
macro_rules! written_as {
    ($($type:ty, $name:literal, $schema:expr;)*) => {$(
        impl JsonSchema for $type {
            fn schema_name() -> Cow<'static, str> {
                $name.into()
            }

            fn json_schema(_: &mut SchemaGenerator) -> Schema {
                Schema::try_from($schema).unwrap_or_default()
            }
        }
    )*};
}

written_as! {
    Axle, "Axle", json!({"type": "string", "pattern": "^(front|rear|[3-9])$", "description": "front, rear; a third axle is 3."});
    Corner, "Corner", json!({"type": "string", "pattern": "^(F|R|[1-9][0-9]*)[LR]$", "description": "FL FR RL RR; a third axle continues 3L 3R."});
    Place, "Place", json!({"type": "string", "minLength": 1, "description": "A corner, an axle, or the vehicle."});
    Slot, "Slot", json!({"type": "string", "minLength": 1, "description": "Where within a set of readings a value belongs."});
    Item, "Item", json!({"enum": Item::ALL.iter().map(ToString::to_string).collect::<Vec<_>>(), "description": "The item's id."});
    Money, "Money", json!({"type": "string", "pattern": r"^[0-9]{1,9}(\.[0-9]{1,3})?$", "description": "An exact amount in the workshop's currency."});
    Length, "Length", json!({"type": "integer", "description": "Whole nanometres."});
    Distance, "Distance", json!({"type": "integer", "description": "Whole millimetres."});
    DistanceUnit, "DistanceUnit", json!({"enum": ["km", "mi"]});
}
