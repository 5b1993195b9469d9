//! The due list as a calendar any program reads (RFC 5545).

use chrono::{DateTime, FixedOffset, Utc};
use icalendar::{Calendar, Component, Event, EventLike};

use super::due::{DueKind, DueRow};

/// The calendar of a due list: one event a row that has a day; UIDs stay the same from export to
/// export, so that a calendar updates instead of filling up.
///
/// Source: RFC 5545 (read): `VERSION`, `PRODID`, `UID`, `DTSTAMP`, `DTSTART`, CRLF, lines folded at
/// 75 octets.
#[must_use]
pub fn calendar(rows: &[DueRow], now: DateTime<FixedOffset>) -> String {
    let mut calendar = Calendar::empty();
    calendar.append_property(("VERSION", "2.0"));
    calendar.append_property(("PRODID", "-//brakecorner//due//EN"));
    for row in rows {
        calendar.extend(event(row, now));
    }
    calendar.to_string()
}

fn event(row: &DueRow, now: DateTime<FixedOffset>) -> Option<Event> {
    let date = row.date?;
    let mut event = Event::new();
    event
        .uid(&uid(row))
        .timestamp(now.with_timezone(&Utc))
        .summary(&title(row))
        .description(&describe(row));
    match row.time {
        Some(time) => event.starts(time.with_timezone(&Utc)),
        // A day without an end lasts that day; an end on the same day is not allowed (3.6.1).
        None => event.starts(date),
    };
    Some(event.done())
}

fn title(row: &DueRow) -> String {
    let vehicle = if row.vehicle.is_empty() {
        &row.subject
    } else {
        &row.vehicle
    };
    format!("{}: {vehicle}", row.kind.words())
}

fn describe(row: &DueRow) -> String {
    let mut lines = vec![row.what.clone()];
    if row.kind != DueKind::Calibration {
        lines.push(format!("job {} at {}", row.subject, row.shop));
    }
    lines.extend(row.km.map(|km| format!("at {km} km")));
    if !row.basis.is_empty() {
        lines.push(row.basis.clone());
    }
    lines.join("\n")
}

/// The same for the same thing due, whenever it is written.
fn uid(row: &DueRow) -> String {
    let part = match row.kind {
        DueKind::Wear => row.what.split(" may reach").next().unwrap_or_default(),
        DueKind::Declined => row.what.as_str(),
        _ => "",
    };
    let text = format!("{}\n{}\n{:?}\n{part}", row.shop, row.subject, row.kind);
    let digest = crate::job::journal::sha256_hex(text.as_bytes());
    format!("{}@brakecorner", digest.get(..32).unwrap_or(&digest))
}
