//! Lines spelled exactly as this program spells them, read by their places without a JSON parser.
//!
//! This is only quicker. It accepts nothing the JSON reader would refuse and understands nothing
//! otherwise: wherever a byte is not where this program puts it, it gives up and the line is read as
//! JSON. Both digests are computed here as there.

use chrono::{DateTime, FixedOffset, NaiveDate};
use sha2::{Digest as _, Sha256};

use super::{Entry, VERSION, hex_into};
use crate::job::{
    Axle, Entered, Event, Meta, Observation, Phase, Place, ReadingEvent, Side, Source,
};

/// `,"sum":"` with 64 digits and `"}`.
const TAIL: usize = 8 + 64 + 2;

/// The entry of a line that is good in every way and spelled as this program spells it.
pub(super) fn decode(
    line: &[u8],
    expected_seq: u64,
    expected_prev: &str,
    digest: &mut String,
) -> Option<Entry> {
    let end = line.len().checked_sub(TAIL)?;
    let (body, tail) = line.split_at_checked(end)?;
    let sum = tail.strip_prefix(br#","sum":""#)?.strip_suffix(br#""}"#)?;
    let mut cursor = Cursor(std::str::from_utf8(body).ok()?);
    cursor.literal(r#"{"v":"#)?;
    (cursor.number()? == i64::from(VERSION)).then_some(())?;
    cursor.literal(r#","seq":"#)?;
    let seq = u64::try_from(cursor.number()?).ok()?;
    cursor.literal(r#","at":""#)?;
    let at = time(cursor.string()?)?;
    cursor.literal(r#","by":""#)?;
    let by = cursor.string()?;
    cursor.literal(r#","prev":""#)?;
    let prev = cursor.string()?;
    cursor.literal(r#","event":"#)?;
    if prev != expected_prev || seq != expected_seq {
        return None;
    }
    let mut hasher = Sha256::new();
    hasher.update(body);
    hex_into(&hasher.clone().finalize(), digest);
    if digest.as_bytes() != sum {
        return None;
    }
    hasher.update(tail);
    hex_into(&hasher.finalize(), digest);
    let event = event(cursor.0).or_else(|| serde_json::from_str(cursor.0).ok())?;
    Some(Entry {
        meta: Meta {
            seq,
            at,
            by: by.to_owned(),
        },
        event: Some(event),
        kind: String::new(),
    })
}

/// The rest of a text, from front to back.
struct Cursor<'a>(&'a str);

impl<'a> Cursor<'a> {
    fn literal(&mut self, text: &str) -> Option<()> {
        self.0 = self.0.strip_prefix(text)?;
        Some(())
    }

    /// Whether a text comes next; if it does, it is passed.
    fn passes(&mut self, text: &str) -> bool {
        self.literal(text).is_some()
    }

    /// A string up to its closing quote, when nothing in it is escaped.
    fn string(&mut self) -> Option<&'a str> {
        let end = self
            .0
            .bytes()
            .position(|byte| byte == b'"' || byte == b'\\' || byte < 0x20)?;
        let (text, rest) = self.0.split_at_checked(end)?;
        self.0 = rest.strip_prefix('"')?;
        Some(text)
    }

    /// A whole number as JSON spells it.
    fn number(&mut self) -> Option<i64> {
        let sign = usize::from(self.0.starts_with('-'));
        let digits = self.0.get(sign..)?.bytes();
        let count = digits.take_while(u8::is_ascii_digit).count();
        let (text, rest) = self.0.split_at_checked(sign + count)?;
        let digits = text.get(sign..)?;
        if rest.starts_with(['.', 'e', 'E']) || (digits.starts_with('0') && text != "0") {
            return None;
        }
        self.0 = rest;
        text.parse().ok()
    }
}

/// `2026-03-02T08:41:20+00:00`, and no other spelling of a time.
fn time(text: &str) -> Option<DateTime<FixedOffset>> {
    let bytes: &[u8; 25] = text.as_bytes().try_into().ok()?;
    let [
        y1,
        y2,
        y3,
        y4,
        b'-',
        o1,
        o2,
        b'-',
        d1,
        d2,
        b'T',
        h1,
        h2,
        b':',
        m1,
        m2,
        b':',
        s1,
        s2,
        sign,
        z1,
        z2,
        b':',
        w1,
        w2,
    ] = *bytes
    else {
        return None;
    };
    let digit = |byte: u8| byte.is_ascii_digit().then(|| u32::from(byte - b'0'));
    let two = |tens: u8, ones: u8| Some(10 * digit(tens)? + digit(ones)?);
    let year = i32::try_from(100 * two(y1, y2)? + two(y3, y4)?).ok()?;
    let day = NaiveDate::from_ymd_opt(year, two(o1, o2)?, two(d1, d2)?)?;
    let local = day.and_hms_opt(two(h1, h2)?, two(m1, m2)?, two(s1, s2)?)?;
    let (hours, minutes) = (two(z1, z2)?, two(w1, w2)?);
    if hours > 23 || minutes > 59 {
        return None;
    }
    let seconds = i32::try_from(3600 * hours + 60 * minutes).ok()?;
    let zone = match sign {
        b'+' => FixedOffset::east_opt(seconds)?,
        b'-' => FixedOffset::west_opt(seconds)?,
        _ => return None,
    };
    local.and_local_timezone(zone).single()
}

/// The two kinds of events a journal is mostly made of.
fn event(text: &str) -> Option<Event> {
    let mut cursor = Cursor(text);
    if cursor.passes(r#"{"kind":"reading","place":""#) {
        return reading(cursor);
    }
    cursor.literal(r#"{"kind":"seen","place":""#)?;
    let place = place(cursor.string()?)?;
    cursor.literal(r#","item":""#)?;
    let item = cursor.string()?.parse().ok()?;
    let phase = phase(&mut cursor)?;
    (cursor.0 == r#","state":"sound"}"#).then_some(Event::Seen {
        place,
        item,
        phase,
        observation: Observation::Sound,
    })
}

fn reading(mut cursor: Cursor<'_>) -> Option<Event> {
    let place = place(cursor.string()?)?;
    cursor.literal(r#","item":""#)?;
    let item = cursor.string()?.parse().ok()?;
    let phase = phase(&mut cursor)?;
    cursor.literal(r#","take":"#)?;
    let take = u32::try_from(cursor.number()?).ok()?;
    cursor.literal(r#","slot":""#)?;
    let slot = cursor.string()?.parse().ok()?;
    cursor.literal(r#","text":""#)?;
    let text = cursor.string()?.to_owned();
    cursor.literal(r#","unit":""#)?;
    let unit = cursor.string()?.to_owned();
    cursor.literal(r#","value":"#)?;
    let value = cursor.number()?;
    let instrument = match cursor.passes(r#","instrument":""#) {
        true => Some(cursor.string()?.to_owned()),
        false => None,
    };
    let clocking = match cursor.passes(r#","clocking":"#) {
        true => Some(u8::try_from(cursor.number()?).ok()?),
        false => None,
    };
    cursor.literal(r#","source":""#)?;
    let source = match cursor.string()? {
        "typed" => Source::Typed,
        "gauge" => Source::Gauge,
        _ => return None,
    };
    let confirmed = cursor.passes(r#","confirmed":true"#);
    (cursor.0 == "}").then(|| {
        Event::Reading(Box::new(ReadingEvent {
            place,
            item,
            phase,
            take,
            slot,
            entered: Entered { text, unit, value },
            instrument,
            clocking,
            source,
            confirmed,
        }))
    })
}

fn phase(cursor: &mut Cursor<'_>) -> Option<Phase> {
    cursor.literal(r#","phase":""#)?;
    match cursor.string()? {
        "as_found" => Some(Phase::AsFound),
        "as_left" => Some(Phase::AsLeft),
        _ => None,
    }
}

fn place(text: &str) -> Option<Place> {
    let corner = match text {
        "FL" => Axle::FRONT.corner(Side::Left),
        "FR" => Axle::FRONT.corner(Side::Right),
        "RL" => Axle::REAR.corner(Side::Left),
        "RR" => Axle::REAR.corner(Side::Right),
        other => return other.parse().ok(),
    };
    Some(Place::Corner(corner))
}

#[cfg(test)]
mod tests {
    use super::super::{GENESIS, decode_any, encode};
    use super::*;
    use crate::job::{Item, Slot};
    use proptest::prelude::*;

    fn line(event: &Event, by: &str, seconds: i64) -> Vec<u8> {
        let meta = Meta {
            seq: 1,
            at: DateTime::from_timestamp(seconds, 0)
                .unwrap()
                .with_timezone(&FixedOffset::east_opt(3600 * (seconds % 14) as i32).unwrap()),
            by: by.to_owned(),
        };
        encode(&meta, GENESIS, event).unwrap().0.into_bytes()
    }

    fn reading_event() -> impl Strategy<Value = Event> {
        let texts = (
            ".{0,8}",
            ".{0,4}",
            any::<i64>(),
            proptest::option::of(".{0,6}"),
        );
        let places = prop_oneof![
            Just("FL"),
            Just("RR"),
            Just("3L"),
            Just("front"),
            Just("vehicle")
        ];
        (
            texts,
            places,
            0..Item::ALL.len(),
            0u16..30,
            any::<[bool; 3]>(),
            any::<u32>(),
        )
            .prop_map(
                |((text, unit, value, instrument), place, item, n, [left, gauge, asked], take)| {
                    Event::Reading(Box::new(ReadingEvent {
                        place: place.parse().unwrap(),
                        item: Item::ALL[item],
                        phase: if left { Phase::AsLeft } else { Phase::AsFound },
                        take,
                        slot: if n == 0 { Slot::Return } else { Slot::Point(n) },
                        entered: Entered { text, unit, value },
                        instrument,
                        clocking: (n % 3 == 0).then_some(7),
                        source: if gauge { Source::Gauge } else { Source::Typed },
                        confirmed: asked,
                    }))
                },
            )
    }

    #[test]
    fn a_plain_reading_and_a_sound_look_need_no_json_reader() {
        let text =
            r#"{"kind":"seen","place":"FL","item":"hose","phase":"as_found","state":"sound"}"#;
        assert_eq!(event(text), serde_json::from_str(text).ok());
        let text = r#"{"kind":"reading","place":"RL","item":"disc.thickness","phase":"as_left","take":2,"slot":"point 3","text":"24,308","unit":"mm","value":-24308000,"instrument":"M1","source":"gauge","confirmed":true}"#;
        assert!(event(text).is_some());
        assert_eq!(event(text), serde_json::from_str(text).ok());
        for odd in [
            text.replace("-24308000", "-24308000.0"),
            text.replace("-24308000", "007"),
            text.replace("-24308000", "-0"),
            text.replace("24,308", "24\\u002c308"),
            text.replace(r#""take":2,"#, r#""take":2, "#),
            format!("{text} "),
        ] {
            assert_eq!(event(&odd), None, "{odd}");
        }
    }

    #[test]
    fn times_in_another_spelling_are_left_to_the_other_reader() {
        assert!(time("2026-03-02T08:41:20+05:30").is_some());
        for odd in [
            "2026-03-02T08:41:20Z",
            "2026-03-02 08:41:20+00:00",
            "2026-02-30T08:41:20+00:00",
            "2026-03-02T08:41:60+00:00",
            "2026-03-02T08:41:20+24:00",
            "2026-03-02T08:41:20.5+00:0",
            "",
        ] {
            assert_eq!(time(odd), None, "{odd}");
        }
    }

    proptest! {
        #[test]
        fn both_readers_understand_the_same(event in reading_event(), by in ".{0,9}", seconds in 0i64..4_000_000_000) {
            let line = line(&event, &by, seconds);
            let (mut one, mut two) = (String::new(), String::new());
            let slow = decode_any(&line, 1, GENESIS, &mut two).unwrap();
            prop_assert_eq!(slow.event.as_ref(), Some(&event));
            if let Some(quick) = decode(&line, 1, GENESIS, &mut one) {
                prop_assert_eq!(&quick, &slow);
                prop_assert_eq!(one, two);
            }
        }

        #[test]
        fn what_the_quick_reader_takes_the_other_takes_too(event in reading_event(), at in any::<prop::sample::Index>(), byte in any::<u8>()) {
            // A changed line with its digest made anew: the spelling alone is on trial.
            let mut line = line(&event, "Ilse Varga", 1_772_440_880);
            let end = line.len() - TAIL;
            let at = at.index(end);
            line[at] = byte;
            let sum = super::super::sha256_hex(&line[..end]);
            line.truncate(end);
            line.extend_from_slice(format!(r#","sum":"{sum}"}}"#).as_bytes());
            let (mut one, mut two) = (String::new(), String::new());
            if let Some(quick) = decode(&line, 1, GENESIS, &mut one) {
                let slow = decode_any(&line, 1, GENESIS, &mut two);
                prop_assert_eq!(slow.as_ref(), Ok(&quick));
                prop_assert_eq!(one, two);
            }
        }
    }
}
