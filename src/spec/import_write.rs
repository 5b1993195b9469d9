//! Writes an imported sheet as TOML.

use std::collections::BTreeMap;

use super::sheet_read::AXLE_NAMES;

/// A cell of the table, or a constant of the mapping.
pub(super) struct Cell {
    pub(super) text: String,
    pub(super) decimal_comma: bool,
}

/// A table of the sheet being written.
#[derive(Default)]
struct Node {
    values: BTreeMap<String, String>,
    tables: BTreeMap<String, Node>,
}

impl Node {
    fn insert(&mut self, path: &[&str], value: String) {
        match path {
            [] => {}
            [key] => {
                self.values.insert((*key).to_owned(), value);
            }
            [table, rest @ ..] => {
                self.tables
                    .entry((*table).to_owned())
                    .or_default()
                    .insert(rest, value);
            }
        }
    }

    fn write(&self, out: &mut String, path: &str) {
        for (key, value) in &self.values {
            out.push_str(&format!("{} = {value}\n", quoted_key(key)));
        }
        for (key, table) in &self.tables {
            let key = quoted_key(key);
            let path = if path.is_empty() {
                key
            } else {
                format!("{path}.{key}")
            };
            out.push_str(&format!("\n[{path}]\n"));
            table.write(out, &path);
        }
    }
}

/// The sheet's text; what is wrong with a cell is left for the sheet's own reader to find.
pub(super) fn write_sheet(cells: &BTreeMap<String, Cell>, table: &str, line: u64) -> String {
    let mut root = Node::default();
    for (key, cell) in cells {
        let path: Vec<&str> = key.split('.').collect();
        root.insert(&path, value(key, cell));
    }
    let axles = root.tables.remove("axle").unwrap_or_default();
    let mut text = format!("# Imported from line {line} of {}.\n", one_line(table));
    root.write(&mut text, "");
    let place = |name: &str| AXLE_NAMES.iter().position(|known| *known == name);
    let mut named: Vec<(&String, &Node)> = axles.tables.iter().collect();
    named.sort_by_key(|(name, _)| (place(name).unwrap_or(AXLE_NAMES.len()), name.as_str()));
    for (name, axle) in named {
        text.push_str(&format!("\n[[axle]]\nname = {}\n", quoted(name)));
        axle.write(&mut text, "axle");
    }
    text
}

/// Keys whose values are whole numbers without a unit.
const WHOLE_KEYS: [&str; 3] = ["fasteners", "months", "days"];

/// Keys whose values are yes or no.
const FLAG_KEYS: [&str; 4] = ["vented", "steered", "single_use", "locking_key"];

/// Endings of keys whose values are numbers.
const NUMBER_ENDINGS: [&str; 8] = [
    "_mm", "_um", "_in", "_nm", "_lbf_ft", "_km", "_mi", "_percent",
];

fn value(key: &str, cell: &Cell) -> String {
    let last = key.rsplit('.').next().unwrap_or(key);
    let text = cell.text.trim();
    match last {
        "vin_patterns" => list(
            text.split([' ', '|'])
                .filter(|part| !part.is_empty())
                .map(quoted),
        ),
        "order" | "angle_stages_deg" => {
            let parts = text.split([' ', '-', '|']).filter(|part| !part.is_empty());
            list(parts.map(|part| number(part, false)))
        }
        _ if FLAG_KEYS.contains(&last) => flag(text),
        _ if WHOLE_KEYS.contains(&last) => number(text, false),
        _ if NUMBER_ENDINGS.iter().any(|ending| last.ends_with(ending)) => {
            number(text, cell.decimal_comma)
        }
        _ => quoted(text),
    }
}

fn list(parts: impl Iterator<Item = String>) -> String {
    format!("[{}]", parts.collect::<Vec<_>>().join(", "))
}

fn flag(text: &str) -> String {
    match text.to_lowercase().as_str() {
        "yes" | "y" | "true" | "1" | "x" => "true".to_owned(),
        "no" | "n" | "false" | "0" => "false".to_owned(),
        _ => quoted(text),
    }
}

/// A number as TOML writes it; anything else stays a text and is refused by the sheet's reader. A
/// decimal comma is read as one only where the mapping says so: `1,234` may mean a thousand.
fn number(text: &str, decimal_comma: bool) -> String {
    let text = if decimal_comma {
        text.replacen(',', ".", 1)
    } else {
        text.to_owned()
    };
    let (whole, fraction) = text.split_once('.').unwrap_or((&text, "0"));
    let digits = |part: &str| !part.is_empty() && part.bytes().all(|b| b.is_ascii_digit());
    // TOML takes no leading zeros.
    let short = whole == "0" || !whole.starts_with('0');
    if digits(whole) && digits(fraction) && short {
        text
    } else {
        format!("\"{}\"", escape(&text))
    }
}

fn quoted(text: &str) -> String {
    format!("\"{}\"", escape(text))
}

fn quoted_key(key: &str) -> String {
    let bare = |c: char| c.is_ascii_alphanumeric() || matches!(c, '_' | '-');
    if !key.is_empty() && key.chars().all(bare) {
        key.to_owned()
    } else {
        quoted(key)
    }
}

/// The inside of a TOML basic string.
fn escape(text: &str) -> String {
    let mut escaped = String::with_capacity(text.len());
    for c in text.chars() {
        match c {
            '"' => escaped.push_str("\\\""),
            '\\' => escaped.push_str("\\\\"),
            c if c.is_control() => escaped.push_str(&format!("\\u{:04X}", u32::from(c))),
            c => escaped.push(c),
        }
    }
    escaped
}

fn one_line(text: &str) -> String {
    text.chars().filter(|c| !c.is_control()).collect()
}
