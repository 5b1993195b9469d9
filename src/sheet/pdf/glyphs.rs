//! Signs the fonts lack are shown as `□`, so that they never cost the sheet.

use std::collections::BTreeSet;

use serde_json::Value;
use typst::text::Font;

use crate::sheet::text::visible;

/// Longest run of signs without a place to break a line.
const LONGEST_WORD: usize = 40;

/// Replaces what no font can show in every text of a model; returns the code points replaced.
pub(super) fn replace(model: &mut Value, fonts: &[Font]) -> String {
    let has = |c: char| super::world::has(fonts, c);
    let mut missing = BTreeSet::new();
    walk(model, "", &mut |text, key| {
        let drawn = key == "svg";
        let mut out = String::with_capacity(text.len());
        for c in text.chars() {
            let shown = match visible(c) {
                // A no-break space keeps number and unit together; typst has its own space for it.
                ' ' if c == '\u{a0}' => '\u{a0}',
                // Marks without a form of their own need no glyph.
                c if matches!(c, '\u{200b}'..='\u{200d}' | '\u{2060}' | '\u{ad}') => c,
                '\u{fffd}' => {
                    missing.insert(c);
                    '□'
                }
                shown if has(shown) => shown,
                _ => {
                    missing.insert(c);
                    '□'
                }
            };
            out.push(shown);
        }
        if drawn { out } else { breakable(&out) }
    });
    let points: Vec<String> = missing
        .iter()
        .map(|c| format!("U+{:04X}", u32::from(*c)))
        .collect();
    points.join(" ")
}

/// Whether every sign of a model's texts is one of these.
pub(super) fn all(model: &Value, has: &dyn Fn(char) -> bool) -> bool {
    match model {
        Value::String(text) => text.chars().all(|c| {
            let c = visible(c);
            c == '\u{a0}' || has(c)
        }),
        Value::Array(items) => items.iter().all(|item| all(item, has)),
        Value::Object(fields) => fields.values().all(|field| all(field, has)),
        _ => true,
    }
}

fn walk(value: &mut Value, key: &str, change: &mut impl FnMut(&str, &str) -> String) {
    match value {
        Value::String(text) => *text = change(text, key),
        Value::Array(items) => {
            for item in items {
                walk(item, key, change);
            }
        }
        Value::Object(fields) => {
            for (key, field) in fields.iter_mut() {
                // Icons are drawings too, under their tone's word.
                let key = if key == "icons" || is_icon(field) {
                    "svg"
                } else {
                    key.as_str()
                };
                walk(field, key, change);
            }
        }
        _ => {}
    }
}

fn is_icon(value: &Value) -> bool {
    value
        .as_str()
        .is_some_and(|text| text.starts_with("<svg xmlns=\"http://www.w3.org/2000/svg\""))
}

/// Gives long words places where a line may break; what is compared sign by sign stays whole.
fn breakable(text: &str) -> String {
    let compared =
        |word: &str| word.starts_with("SHA256:") || word.chars().all(|c| c.is_ascii_hexdigit());
    let long = |word: &str| {
        let length = word.chars().count();
        length > LONGEST_WORD && !(length <= 64 && compared(word))
    };
    if !text.split(' ').any(long) {
        return text.to_owned();
    }
    let words = text.split(' ').map(|word| {
        if !long(word) {
            return word.to_owned();
        }
        let mut out = String::new();
        for (i, c) in word.chars().enumerate() {
            if i > 0 && i % 10 == 0 {
                out.push('\u{200b}');
            }
            out.push(c);
        }
        out
    });
    words.collect::<Vec<_>>().join(" ")
}
