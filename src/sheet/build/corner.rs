//! The block of a corner, an axle or the vehicle: every item with its reading, limit and drawing.

use super::Material;
use super::limits::whose;
use super::sentence::{eased, limit, new_size, reading, sentences, toward};
use crate::job::{Item, Phase, Place};
use crate::judge::{Case, Figure, Finding, ItemVerdict, PlaceJudgement, Results, Verdict, worst};
use crate::sheet::chart::{self, Gauge, GaugeRow, Ring};
use crate::sheet::forms::{Forms, Toward, places};
use crate::sheet::model::{Block, ItemBlock, Photo, Picture};
use crate::spec::LimitBound;
use crate::units::Length;

/// Coverage factor of the drawn band: about 95 of 100 true values lie within (JCGM 100:2008, for a
/// normal distribution).
const BAND_FACTOR: f64 = 2.0;

pub(super) fn block(
    material: &Material<'_>,
    forms: &Forms,
    photos: &[Photo],
    place: Place,
    judged: &PlaceJudgement,
) -> Block {
    let case = material.case;
    let mut items = Vec::new();
    let mut looked = Vec::new();
    let speaking =
        |finding: &&Finding| material.state == Phase::AsLeft || finding.phase == Phase::AsFound;
    let shown: Vec<&Finding> = judged.items.iter().filter(speaking).collect();
    let verdict = match material.state {
        Phase::AsLeft => judged.verdict,
        Phase::AsFound => worst(shown.iter().map(|finding| finding.verdict)),
    };
    for (found, left) in pairs(&shown) {
        let telling = left.value.is_some()
            || eased(left)
            || left.verdict != ItemVerdict::Pass
            || found.is_some_and(|f| f.verdict != ItemVerdict::Pass);
        if telling {
            items.push(item_block(case, forms, found, left));
        } else {
            looked.push(forms.item(left.item));
        }
    }
    let here = |at: Place| at == place;
    let notes = case
        .job
        .notes
        .iter()
        .filter(|(_, at, ..)| here(*at))
        .map(|(.., text)| text.clone());
    let numbers = photos
        .iter()
        .zip(&case.job.photos)
        .filter(|(_, (_, at, ..))| here(*at));
    Block {
        code: place.to_string(),
        title: forms.place(place),
        verdict: forms.words.plain(if super::nothing_seen(&shown) {
            "verdict-not-inspected"
        } else {
            overall(verdict)
        }),
        tone: verdict.into(),
        items,
        looked,
        notes: notes.collect(),
        photos: numbers.map(|(photo, _)| photo.number).collect(),
    }
}

/// The verdict's message.
pub(super) const fn overall(verdict: Verdict) -> &'static str {
    match verdict {
        Verdict::Pass => "verdict-pass",
        Verdict::Advise => "verdict-advise",
        Verdict::Incomplete => "verdict-incomplete",
        Verdict::Fail => "verdict-fail",
    }
}

/// The item verdict's message.
pub(super) const fn verdict_id(verdict: ItemVerdict) -> &'static str {
    match verdict {
        ItemVerdict::Pass => "verdict-pass",
        ItemVerdict::Advise => "verdict-advise",
        ItemVerdict::Fail => "verdict-fail",
        ItemVerdict::NotInspected => "verdict-not-inspected",
        ItemVerdict::NoLimit => "verdict-no-limit",
    }
}

/// Each item once: the found finding where a later one replaces it, and the one that stands.
fn pairs<'f>(items: &[&'f Finding]) -> Vec<(Option<&'f Finding>, &'f Finding)> {
    let mut pairs: Vec<(Option<&Finding>, &Finding)> = Vec::new();
    for &finding in items {
        match pairs
            .iter_mut()
            .find(|(_, known)| known.item == finding.item)
        {
            Some(pair) if finding.phase == Phase::AsLeft => *pair = (Some(pair.1), finding),
            Some(pair) => pair.0 = Some(finding),
            None => pairs.push((None, finding)),
        }
    }
    pairs
}

fn item_block(
    case: &Case<'_>,
    forms: &Forms,
    found: Option<&Finding>,
    left: &Finding,
) -> ItemBlock {
    let silent = left.verdict == ItemVerdict::Pass && !eased(left);
    let whose = whose(case, left.place, left.item);
    let bounded = limit(forms, left).map(|limit| {
        let id = match whose.as_ref().map(|w| w.bound) {
            Some(LimitBound::AtLeast) => "at-least",
            _ => "at-most",
        };
        forms.words.say(id, &[("limit", limit.into())])
    });
    ItemBlock {
        id: left.item.id(),
        title: forms.title(left.item),
        verdict: forms.words.plain(verdict_id(left.verdict)),
        tone: left.verdict.into(),
        reading: reading(case, forms, left),
        found: found.map(|found| before(case, forms, found)),
        whose: bounded
            .is_some()
            .then(|| whose.as_ref().map(|w| w.words(forms)))
            .flatten(),
        limit: bounded,
        sentences: if silent {
            Vec::new()
        } else {
            sentences(case, forms, left)
        },
        picture: picture(case, forms, found, left),
    }
}

/// The found state in a few words: reading and verdict.
fn before(case: &Case<'_>, forms: &Forms, found: &Finding) -> String {
    let verdict = forms.words.plain(verdict_id(found.verdict));
    match reading(case, forms, found) {
        Some(reading) => format!("{reading}, {verdict}"),
        None => verdict,
    }
}

fn picture(
    case: &Case<'_>,
    forms: &Forms,
    found: Option<&Finding>,
    left: &Finding,
) -> Option<Picture> {
    // As found beside as left only where something was measured both times.
    let found = found.filter(|f| f.value.is_some() && f.results != left.results);
    let rows: Vec<&Finding> = found
        .into_iter()
        .chain(Some(left))
        .filter(|f| f.value.is_some())
        .collect();
    if rows.is_empty() {
        return None;
    }
    match left.item {
        Item::DiscThickness | Item::PadsThickness | Item::LiningsThickness | Item::DrumDiameter => {
            scale(case, forms, &rows, left)
        }
        Item::DiscRunout => Some(turn(case, forms, &rows, left)),
        _ => None,
    }
}

fn label(forms: &Forms, rows: &[&Finding], finding: &Finding) -> String {
    if rows.len() > 1 {
        forms.phase(finding.phase)
    } else {
        String::new()
    }
}

fn scale(case: &Case<'_>, forms: &Forms, rows: &[&Finding], left: &Finding) -> Option<Picture> {
    let applied = rows.iter().rev().find_map(|f| f.limit)?;
    let new = new_size(case, left.place, left.item);
    let shown_limit = forms.figure(applied, places(left.item), Toward::Nearest);
    let new_shown = new.map(|new| forms.length(new, places(left.item), Toward::Nearest));
    let title = forms.subject(left.place, left.item);
    let value = reading(case, forms, left).unwrap_or_default();
    let mut args = vec![
        ("title", title.into()),
        ("value", value.into()),
        ("limit", shown_limit.clone().into()),
    ];
    let alt = match &new_shown {
        Some(new) => {
            args.push(("new", new.clone().into()));
            forms.words.say("chart-gauge", &args)
        }
        None => forms.words.say("chart-gauge-no-new", &args),
    };
    let gauge = Gauge {
        limit: applied.number(),
        limit_shown: format!("{} {shown_limit}", forms.words.plain("label-limit")),
        new: new.map(Length::mm),
        new_shown: new_shown
            .map(|new| format!("{} {new}", forms.words.plain("label-new")))
            .unwrap_or_default(),
        rows: rows
            .iter()
            .map(|f| GaugeRow {
                label: label(forms, rows, f),
                value: f.value.map_or(0.0, Figure::number),
                band: f.u.unwrap_or(0.0) * BAND_FACTOR,
                shown: forms.figure(f.value.unwrap_or(applied), places(f.item), toward(f.item)),
                tone: f.verdict.into(),
            })
            .collect(),
        alt,
    };
    Some(chart::gauge(&gauge).into())
}

fn turn(case: &Case<'_>, forms: &Forms, rows: &[&Finding], left: &Finding) -> Picture {
    let rings: Vec<Ring> = rows
        .iter()
        .map(|f| {
            let points = match &f.results {
                Some(Results::Runout { points_mm, .. }) => points_mm.clone(),
                _ => Vec::new(),
            };
            Ring {
                label: label(forms, rows, f),
                points_mm: points,
                total_mm: f.value.map_or(0.0, Figure::number),
                shown: reading(case, forms, f).unwrap_or_default(),
                band_mm: f.u.unwrap_or(0.0) * BAND_FACTOR,
                tone: f.verdict.into(),
            }
        })
        .collect();
    let applied = left.limit.or_else(|| rows.iter().find_map(|f| f.limit));
    let shown = applied.map(|limit| forms.figure(limit, places(left.item), Toward::Nearest));
    let mut args = vec![
        ("title", forms.subject(left.place, left.item).into()),
        (
            "value",
            reading(case, forms, left).unwrap_or_default().into(),
        ),
    ];
    let (alt, words) = match &shown {
        Some(limit) => {
            args.push(("limit", limit.clone().into()));
            let words = format!("{} {limit}", forms.words.plain("label-limit"));
            (forms.words.say("chart-runout", &args), words)
        }
        None => (
            forms.words.say("chart-runout-no-limit", &args),
            String::new(),
        ),
    };
    let studs = case.sheet.wheel.fasteners;
    chart::unrolled(&rings, applied.map(Figure::number), &words, studs, &alt).into()
}
