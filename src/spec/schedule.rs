//! Work schedules: which items are inspected at which depth, in which order, and how thoroughly.

use serde::{Deserialize, Serialize};

use super::items::{self, ITEMS, Scope};
use super::problem::SpecProblems;
use super::reader::{Reader, Section};
use super::rules::BrakeForm;
use super::sheet::BrakeKind;
use super::sheet_read::read_id;

/// How thoroughly a vehicle is inspected.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Depth {
    /// The short inspection.
    Quick,
    /// Everything; demanded by a judder or pull complaint.
    #[default]
    Full,
}

impl Depth {
    /// The word used in commands and files: `quick`, `full`.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::Quick => "quick",
            Self::Full => "full",
        }
    }
}

/// A schedule of work with its two depths.
///
/// # Examples
///
/// ```
/// use brakecorner::spec::{BrakeKind, Depth, Schedule, builtin_schedules};
///
/// let (file, text) = builtin_schedules()[0];
/// let schedule = Schedule::parse(text, file)?;
/// assert_eq!(schedule.plan(Depth::Full).points(5), 10);
/// let drum: Vec<&str> =
///     schedule.corner_items(Depth::Quick, BrakeKind::Drum).map(|item| item.item.as_str()).collect();
/// assert!(drum.contains(&"drum.diameter") && !drum.contains(&"disc.thickness"));
/// # Ok::<(), brakecorner::spec::SpecProblems>(())
/// ```
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Schedule {
    /// Short name, such as `routine`.
    pub id: String,
    /// Name for people.
    pub name: String,
    /// What the quick depth schedules.
    pub quick: DepthPlan,
    /// What the full depth schedules.
    pub full: DepthPlan,
    /// What is due after the work, before the vehicle is handed over, at either depth.
    pub refit: Vec<ScheduledItem>,
    /// Items that may be left out: not done, they are not part of the inspection.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub optional: Vec<ScheduledItem>,
}

/// What one depth schedules.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct DepthPlan {
    /// Items of each corner, in the order of work.
    pub corner: Vec<ScheduledItem>,
    /// Items of each axle.
    #[serde(default)]
    pub axle: Vec<ScheduledItem>,
    /// Items of the vehicle.
    #[serde(default)]
    pub vehicle: Vec<ScheduledItem>,
    /// Where disc thickness is read.
    pub thickness: ThicknessPoints,
    /// How run-out is read.
    pub runout: RunoutReading,
}

/// One item of a schedule.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct ScheduledItem {
    /// The item's id.
    pub item: String,
    /// The kind of brake it is for; none for every kind.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub brake: Option<BrakeForm>,
}

/// Where disc thickness is read.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum ThicknessPoints {
    /// At every stud and half way between.
    #[default]
    StudsAndBetween,
    /// At so many points, spread evenly.
    Evenly(u32),
}

/// How run-out is read.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum RunoutReading {
    /// The lowest and highest of one slow turn.
    Swept,
    /// That, and a ring of readings at the thickness points.
    #[default]
    SweptAndRing,
}

impl DepthPlan {
    /// Number of thickness points on a disc held by so many fasteners.
    ///
    /// Twice the fasteners, and twice that again where it would be fewer than 8, so that every stud
    /// and every half way point is among them.
    #[must_use]
    pub const fn points(&self, fasteners: u8) -> u32 {
        match self.thickness {
            ThicknessPoints::Evenly(points) => points,
            ThicknessPoints::StudsAndBetween => {
                let points = 2 * fasteners as u32;
                if points < 8 { 2 * points } else { points }
            }
        }
    }
}

impl Schedule {
    /// Reads a schedule from its text; `file_name` appears in messages only.
    ///
    /// # Errors
    /// [`SpecProblems`] with every problem of the file: broken TOML, unknown keys and items, items
    /// scheduled twice or in the wrong list.
    pub fn parse(text: &str, file_name: &str) -> Result<Self, SpecProblems> {
        let reader = Reader::new(text, file_name);
        let schedule = read(&reader);
        reader.conclude(schedule)
    }

    /// What a depth schedules.
    #[must_use]
    pub const fn plan(&self, depth: Depth) -> &DepthPlan {
        match depth {
            Depth::Quick => &self.quick,
            Depth::Full => &self.full,
        }
    }

    /// The items of a corner with this kind of brake, in the order of work.
    pub fn corner_items(
        &self,
        depth: Depth,
        brake: BrakeKind,
    ) -> impl Iterator<Item = &ScheduledItem> {
        for_brake(&self.plan(depth).corner, brake)
    }

    /// The items of an axle with this kind of brake.
    pub fn axle_items(
        &self,
        depth: Depth,
        brake: BrakeKind,
    ) -> impl Iterator<Item = &ScheduledItem> {
        for_brake(&self.plan(depth).axle, brake)
    }

    /// The items of the vehicle.
    pub fn vehicle_items(&self, depth: Depth) -> impl Iterator<Item = &ScheduledItem> {
        self.plan(depth).vehicle.iter()
    }
}

fn for_brake(items: &[ScheduledItem], brake: BrakeKind) -> impl Iterator<Item = &ScheduledItem> {
    let form = BrakeForm::from(brake);
    items
        .iter()
        .filter(move |item| item.brake.is_none_or(|wanted| wanted == form))
}

fn read(reader: &Reader<'_>) -> Option<Schedule> {
    let document = reader.parse()?;
    let root = Section::root(reader, &document);
    let schedule = Schedule {
        id: read_id(&root),
        name: root.required_text("name", "people choose the schedule by its name"),
        quick: read_depth(&root, "quick"),
        full: read_depth(&root, "full"),
        refit: read_items(&root, "refit", None),
        optional: read_items(&root, "optional", None),
    };
    for item in &schedule.optional {
        let plans = [&schedule.quick, &schedule.full].into_iter();
        let mut lists = plans.flat_map(|plan| [&plan.corner, &plan.axle, &plan.vehicle]);
        if !lists.any(|list| list.iter().any(|other| other.item == item.item)) {
            let why = format!("`{}` is scheduled at no depth", item.item);
            root.contradiction("optional", why);
        }
    }
    root.finish();
    Some(schedule)
}

fn read_depth(root: &Section<'_, '_>, key: &str) -> DepthPlan {
    let Some(section) = root.table(key) else {
        if !root.has(key) {
            root.missing(key, "a schedule has a quick and a full depth");
        }
        return DepthPlan::default();
    };
    let points = section.whole("thickness_points", 3..73);
    let runouts = [
        ("swept", RunoutReading::Swept),
        ("swept_and_ring", RunoutReading::SweptAndRing),
    ];
    let plan = DepthPlan {
        corner: read_items(&section, "corner", Some(Scope::Corner)),
        axle: read_items(&section, "axle", Some(Scope::Axle)),
        vehicle: read_items(&section, "vehicle", Some(Scope::Vehicle)),
        thickness: points.map_or(ThicknessPoints::StudsAndBetween, ThicknessPoints::Evenly),
        runout: section.word("runout", &runouts).unwrap_or_default(),
    };
    if plan.corner.is_empty() {
        section.missing("corner", "the items of a corner, in the order of work");
    }
    section.finish();
    plan
}

/// Reads a list of item ids; `disc:` or `drum:` before an id keeps it to that kind of brake.
fn read_items(section: &Section<'_, '_>, key: &str, scope: Option<Scope>) -> Vec<ScheduledItem> {
    let mut read: Vec<ScheduledItem> = Vec::new();
    for text in section.texts(key) {
        let (brake, id) = match text.split_once(':') {
            Some(("disc", id)) => (Some(BrakeForm::Disc), id),
            Some(("drum", id)) => (Some(BrakeForm::Drum), id),
            _ => (None, text.as_str()),
        };
        let known = items::find(id);
        match known {
            None => section.unknown_word(key, id, ITEMS.iter().map(|item| item.id)),
            Some(item) if scope.is_some_and(|scope| scope != item.scope) => {
                section.contradiction(key, format!("`{id}` does not belong to this list"));
            }
            Some(_) if read.iter().any(|other| other.item == id) => {
                section.contradiction(key, format!("`{id}` is scheduled twice"));
            }
            Some(_) => read.push(ScheduledItem {
                item: id.to_owned(),
                brake,
            }),
        }
    }
    read
}
