//! The worksheet to hang at the wheel before the job: what to do, its limits, room to write.

use super::limits::length_chain;
use super::{Material, head};
use crate::job::{Axle, Item, Kind, Place};
use crate::judge::Case;
use crate::measure::torque;
use crate::sheet::chart;
use crate::sheet::forms::{Forms, Toward, places};
use crate::sheet::model::{Form, WorkBlock, WorkPage, WorkRow, WorksheetModel};
use crate::spec::{BrakeKind, LimitBound};

/// The worksheet of a job.
#[must_use]
pub fn worksheet(material: &Material<'_>, form: Form) -> WorksheetModel {
    let forms = super::forms(form);
    let case = material.case;
    let mut axles =
        (1..=u8::try_from(case.sheet.axles.len()).unwrap_or(9)).filter_map(Axle::numbered);
    let pages = axles
        .by_ref()
        .map(|axle| page(case, &forms, axle))
        .collect();
    WorksheetModel {
        kind: "worksheet",
        head: head(material, &forms, form, "worksheet"),
        hint: forms.words.plain("work-hint"),
        pages,
        vehicle: work_block(case, &forms, Place::Vehicle, case.vehicle_items()),
        cautions: [
            "caution-stands",
            "caution-dust",
            "caution-hot",
            "caution-fluid",
            "caution-eject",
            "caution-torque",
            "caution-pedal",
            "caution-law",
        ]
        .map(|id| forms.words.plain(id))
        .to_vec(),
    }
}

fn page(case: &Case<'_>, forms: &Forms, axle: Axle) -> WorkPage {
    let mut blocks: Vec<WorkBlock> = axle
        .corners()
        .into_iter()
        .map(|corner| {
            work_block(
                case,
                forms,
                Place::Corner(corner),
                case.corner_items(corner),
            )
        })
        .collect();
    let own = work_block(case, forms, Place::Axle(axle), case.axle_items(axle));
    if !own.rows.is_empty() {
        blocks.push(own);
    }
    let studs = case.sheet.wheel.fasteners;
    let disc = case
        .sheet
        .axles
        .get(usize::from(axle.number()) - 1)
        .is_some_and(|spec| matches!(spec.brake, BrakeKind::Disc { .. }));
    let points = case.ring_points();
    let ring = disc.then(|| {
        let alt = forms
            .words
            .say("chart-ring", &[("points", points.to_string().into())]);
        chart::ring_positions(points, studs, &alt).into()
    });
    let order = case
        .sheet
        .wheel
        .order
        .clone()
        .or_else(|| torque::star_order(studs).ok());
    let star = order.map(|order| {
        let words: Vec<String> = order.iter().map(ToString::to_string).collect();
        let alt = forms
            .words
            .say("chart-star", &[("order", words.join(" ").into())]);
        chart::star_order(&order, &alt).into()
    });
    WorkPage {
        title: forms.place(Place::Axle(axle)),
        blocks,
        ring,
        star,
        torque: torque_words(case, forms),
    }
}

fn torque_words(case: &Case<'_>, forms: &Forms) -> Vec<String> {
    let Some(target) = &case.sheet.wheel.torque else {
        return vec![forms.words.plain("work-no-limit")];
    };
    let stages: Vec<f64> = case
        .policy
        .torque_stages
        .value
        .iter()
        .map(|p| f64::from(*p) / 100.0)
        .collect();
    let stages: Vec<String> = torque::stages(target.value, &stages)
        .into_iter()
        .map(|stage| forms.torque(stage))
        .collect();
    vec![
        forms
            .words
            .say("work-stages", &[("stages", stages.join(", ").into())]),
    ]
}

fn work_block(case: &Case<'_>, forms: &Forms, place: Place, items: Vec<Item>) -> WorkBlock {
    WorkBlock {
        code: place.to_string(),
        title: forms.place(place),
        rows: items
            .into_iter()
            .filter(|item| item.kind() != Kind::Derived)
            .map(|item| row(case, forms, place, item))
            .collect(),
    }
}

fn row(case: &Case<'_>, forms: &Forms, place: Place, item: Item) -> WorkRow {
    let words = &forms.words;
    let points = case.ring_points();
    let numbered = |count: u16| (1..=count).map(|n| n.to_string()).collect::<Vec<_>>();
    let range = |to: u16| {
        words.say(
            "work-readings",
            &[("from", "1".into()), ("to", to.to_string().into())],
        )
    };
    let pairs = |names: [&str; 4]| names.map(str::to_owned).to_vec();
    let (hint, boxes) = match item {
        Item::DiscThickness => {
            let mut boxes = numbered(points);
            boxes.push("°C".to_owned());
            (range(points), boxes)
        }
        Item::DiscRunout if full_ring(case) => {
            let mut boxes = numbered(points);
            boxes.push("1".to_owned());
            (range(points), boxes)
        }
        Item::DiscRunout => (
            words.plain("work-swept"),
            vec!["min".to_owned(), "max".to_owned()],
        ),
        Item::PadsThickness => (
            words.plain("work-inner-outer"),
            pairs(["i1", "i2", "o1", "o2"]),
        ),
        Item::DrumDiameter => (
            words.plain("work-open-closed"),
            pairs(["o1", "o2", "c1", "c2"]),
        ),
        Item::LiningsThickness => (
            words.plain("work-linings"),
            vec!["1".to_owned(), "2".to_owned()],
        ),
        _ if item.kind() == Kind::Look || item.kind() == Kind::Refit => {
            (words.plain("work-look"), vec![String::new()])
        }
        _ => (words.plain("work-value"), vec!["1".to_owned()]),
    };
    WorkRow {
        id: item.id(),
        title: forms.title(item),
        limit: limit(case, forms, place, item),
        hint,
        boxes,
    }
}

/// Whether the chosen depth reads a run-out ring, not only its sweep.
fn full_ring(case: &Case<'_>) -> bool {
    let depth = match case.depth() {
        crate::job::Depth::Quick => crate::spec::Depth::Quick,
        crate::job::Depth::Full => crate::spec::Depth::Full,
    };
    case.schedule.plan(depth).runout == crate::spec::RunoutReading::SweptAndRing
}

fn limit(case: &Case<'_>, forms: &Forms, place: Place, item: Item) -> String {
    let Some(chain) = length_chain(case, place, item) else {
        return String::new();
    };
    let Some(applied) = chain.applied else {
        return forms.words.plain("work-no-limit");
    };
    let id = match applied.bound {
        LimitBound::AtLeast => "at-least",
        LimitBound::AtMost => "at-most",
    };
    let value = forms.length(applied.value, places(item), Toward::Nearest);
    forms.words.say(id, &[("limit", value.into())])
}
