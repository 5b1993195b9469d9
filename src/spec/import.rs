//! Makes spec sheets from a table, one row a vehicle, by a mapping from sheet keys to columns.

use std::collections::BTreeMap;

use super::import_write::{Cell, write_sheet};
use super::lint::{Lint, Severity, read_and_lint};
use super::problem::{Place, Problem, ProblemKind, SpecProblems, nearest};
use super::reader::{Reader, Section};

/// A table brought in: the sheets it gave and the rows it did not.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Import {
    /// The sheets, in the table's order.
    pub sheets: Vec<ImportedSheet>,
    /// Every row that gave no sheet.
    pub refused: Vec<RefusedRow>,
}

/// A sheet made from a row.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct ImportedSheet {
    /// Line of the table the row starts on.
    pub line: u64,
    /// The sheet's id.
    pub id: String,
    /// Name to store it under.
    pub file_name: String,
    /// The sheet's text; it parses.
    pub text: String,
    /// What somebody should look at.
    pub warnings: Vec<Lint>,
}

/// A row that gave no sheet.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct RefusedRow {
    /// Line of the table the row starts on.
    pub line: u64,
    /// The id in the row, empty when there is none.
    pub id: String,
    /// Every reason, each naming the key and, where there is one, its column.
    pub reasons: Vec<String>,
}

/// How a table is read.
struct Mapping {
    delimiter: u8,
    decimal_comma: bool,
    /// Sheet key, such as `axle.front.disc.new_mm`, to column.
    columns: BTreeMap<String, String>,
    /// Sheet key to the text put into every sheet.
    constants: BTreeMap<String, String>,
}

/// Makes a sheet of every row of a table.
///
/// `mapping` is TOML: `[columns]` names the column of each sheet key, `[constants]` gives the same value
/// to every sheet, `delimiter` and `decimal` say how the table is written. Axles are addressed by name.
/// Every row either gives a sheet that parses or is refused with all of its reasons; cells left empty
/// are left out of the sheet.
///
/// # Errors
/// [`SpecProblems`] about the mapping, or about columns it names that the table does not have.
///
/// # Examples
///
/// ```
/// use brakecorner::spec::import;
///
/// let mapping = r#"
/// delimiter = ";"
/// decimal = ","
/// [columns]
/// id = "Code"
/// name = "Model"
/// wheel.fasteners = "Studs"
/// axle.front.disc.new_mm = "Disc new"
/// axle.front.disc.discard_mm = "Disc min"
/// [constants]
/// source = "fleet list"
/// axle.front.brake = "disc"
/// "#;
/// let table = "Code;Model;Studs;Disc new;Disc min\n\
///              van-a;Van A;5;26,0;23,0\n\
///              van-b;Van B;5;23,0;26,0\n";
/// let import = import(table, "fleet.csv", mapping, "fleet.toml")?;
/// assert_eq!(import.sheets[0].file_name, "van-a.toml");
/// assert_eq!(import.refused[0].line, 3);
/// assert_eq!(
///     import.refused[0].reasons,
///     ["axle.front.disc.discard_mm (column `Disc min`): the minimum 26.000 mm is not below the new \
///       size 23.000 mm; were the two swapped?"]
/// );
/// # Ok::<(), brakecorner::spec::SpecProblems>(())
/// ```
pub fn import(
    table: &str,
    table_name: &str,
    mapping: &str,
    mapping_name: &str,
) -> Result<Import, SpecProblems> {
    let reader = Reader::new(mapping, mapping_name);
    let read = read_mapping(&reader);
    let mapping = reader.conclude(read)?;
    let table = table.strip_prefix('\u{feff}').unwrap_or(table);
    let mut rows = csv::ReaderBuilder::new()
        .delimiter(mapping.delimiter)
        .flexible(true)
        .trim(csv::Trim::All)
        .from_reader(table.as_bytes());
    let header: Vec<String> = match rows.headers() {
        Ok(header) => header.iter().map(str::to_owned).collect(),
        Err(error) => return Err(table_problem(table_name, error.to_string())),
    };
    let columns = find_columns(&mapping, &header, mapping_name)?;
    let mut import = Import::default();
    for record in rows.records() {
        match record {
            Ok(record) => import.add_row(&mapping, &columns, &header, &record, table_name),
            Err(error) => {
                let line = error.position().map_or(0, csv::Position::line);
                let reasons = vec![error.to_string()];
                import.refused.push(RefusedRow {
                    line,
                    id: String::new(),
                    reasons,
                });
            }
        }
    }
    Ok(import)
}

fn table_problem(file: &str, message: String) -> SpecProblems {
    let place = Place { line: 1, column: 1 };
    let kind = ProblemKind::Contradiction { message };
    SpecProblems {
        problems: vec![Problem {
            file: file.to_owned(),
            place,
            key: String::new(),
            kind,
        }],
    }
}

fn read_mapping(reader: &Reader<'_>) -> Option<Mapping> {
    let document = reader.parse()?;
    let root = Section::root(reader, &document);
    let delimiters = [(",", b','), (";", b';'), ("\t", b'\t'), ("|", b'|')];
    let delimiter = root.word("delimiter", &delimiters).unwrap_or(b',');
    let decimal_comma = root
        .word("decimal", &[(".", false), (",", true)])
        .unwrap_or(false);
    if !root.has("columns") {
        root.missing("columns", "which column holds which key of a sheet");
    }
    let mapping = Mapping {
        delimiter,
        decimal_comma,
        columns: root
            .table("columns")
            .map(Section::leaves)
            .unwrap_or_default(),
        constants: root
            .table("constants")
            .map(Section::leaves)
            .unwrap_or_default(),
    };
    for key in mapping
        .constants
        .keys()
        .filter(|key| mapping.columns.contains_key(*key))
    {
        root.contradiction("constants", format!("`{key}` is a column and a constant"));
    }
    for key in mapping.columns.keys().chain(mapping.constants.keys()) {
        // The deepest key of a sheet is like `axle.front.calliper.carrier.torque_nm`.
        if key.split('.').count() > 5 || key.split('.').any(str::is_empty) {
            let known = key.chars().take(60).collect::<String>();
            root.contradiction("columns", format!("no sheet has a key like `{known}`"));
        }
    }
    if !mapping.columns.contains_key("id") {
        root.missing("columns.id", "each row's sheet needs an id of its own");
    }
    root.finish();
    Some(mapping)
}

/// The place of each key's column in a row.
fn find_columns(
    mapping: &Mapping,
    header: &[String],
    file: &str,
) -> Result<BTreeMap<String, usize>, SpecProblems> {
    let mut problems = Vec::new();
    let mut found = BTreeMap::new();
    for (key, column) in &mapping.columns {
        match header.iter().position(|name| name == column) {
            Some(at) => {
                found.insert(key.clone(), at);
            }
            None => problems.push(Problem {
                file: file.to_owned(),
                place: Place { line: 1, column: 1 },
                key: format!("columns.{key}"),
                kind: ProblemKind::UnknownWord {
                    found: column.clone(),
                    expected: format!("the table's columns: {}", header.join(", ")),
                    suggestion: nearest(column, header.iter().map(String::as_str)),
                },
            }),
        }
    }
    SpecProblems::from_list(problems).map_or(Ok(found), Err)
}

impl Import {
    fn add_row(
        &mut self,
        mapping: &Mapping,
        columns: &BTreeMap<String, usize>,
        header: &[String],
        record: &csv::StringRecord,
        table_name: &str,
    ) {
        let line = record.position().map_or(0, csv::Position::line);
        let cell = |at: &usize| record.get(*at).unwrap_or_default().to_owned();
        let id = columns.get("id").map(cell).unwrap_or_default();
        if record.len() != header.len() {
            let reason = format!("{} cells, the header has {}", record.len(), header.len());
            self.refused.push(RefusedRow {
                line,
                id,
                reasons: vec![reason],
            });
            return;
        }
        let mut cells: BTreeMap<String, Cell> = BTreeMap::new();
        for (key, text) in &mapping.constants {
            cells.insert(
                key.clone(),
                Cell {
                    text: text.clone(),
                    decimal_comma: false,
                },
            );
        }
        for (key, at) in columns {
            let text = cell(at);
            if !text.is_empty() {
                cells.insert(
                    key.clone(),
                    Cell {
                        text,
                        decimal_comma: mapping.decimal_comma,
                    },
                );
            }
        }
        let text = write_sheet(&cells, table_name, line);
        let file_name = format!("{id}.toml");
        let (sheet, lints) = read_and_lint(&text, &file_name);
        let (errors, warnings): (Vec<Lint>, Vec<Lint>) = lints
            .into_iter()
            .partition(|lint| lint.severity == Severity::Error);
        let axles: Vec<String> = sheet
            .into_iter()
            .flat_map(|sheet| sheet.axles)
            .map(|axle| axle.name)
            .collect();
        let mut reasons: Vec<String> = errors
            .iter()
            .map(|lint| reason(&lint.problem, &axles, mapping))
            .collect();
        if let Some(earlier) = self.sheets.iter().find(|sheet| sheet.id == id) {
            reasons.push(format!(
                "id: line {} of the table is called `{id}` too",
                earlier.line
            ));
        }
        if reasons.is_empty() {
            self.sheets.push(ImportedSheet {
                line,
                id,
                file_name,
                text,
                warnings,
            });
        } else {
            self.refused.push(RefusedRow { line, id, reasons });
        }
    }
}

/// A problem in the mapping's terms: axles by name, and the column the value came from.
fn reason(problem: &Problem, axles: &[String], mapping: &Mapping) -> String {
    let mut key = problem.key.clone();
    for (index, name) in axles.iter().enumerate() {
        key = key.replace(&format!("axle[{}]", index + 1), &format!("axle.{name}"));
    }
    // The lint names a figure without its unit.
    let with_unit = |known: &&String| {
        known.as_str() == key
            || known
                .strip_prefix(key.as_str())
                .is_some_and(|unit| unit.starts_with('_'))
    };
    let known = mapping.columns.keys().find(with_unit);
    let column = known.and_then(|known| mapping.columns.get(known));
    let key = known.unwrap_or(&key);
    match column {
        Some(column) => format!("{key} (column `{column}`): {}", problem.kind),
        None => format!("{key}: {}", problem.kind),
    }
}

#[cfg(test)]
mod tests {
    use super::super::Sheet;
    use super::*;

    const MAPPING: &str = r#"
delimiter = ";"
decimal = ","
[columns]
id = "Code"
name = "Model"
vin_patterns = "VIN"
wheel.fasteners = "Studs"
wheel.torque_nm = "Torque"
wheel.order = "Order"
axle.front.disc.new_mm = "F new"
axle.front.disc.discard_mm = "F min"
axle.front.disc.vented = "Vented"
axle.rear.brake = "Rear"
axle.rear.drum.max_mm = "Drum max"
axle.rear.drum.new_mm = "Drum new"
[constants]
source = "fleet list"
date = 2026-01-31
axle.front.brake = "disc"
service.distance_km = 15000
"#;

    const HEADER: &str =
        "Code;Model;VIN;Studs;Torque;Order;F new;F min;Vented;Rear;Drum max;Drum new\n";

    fn run(rows: &str) -> Import {
        import(
            &format!("{HEADER}{rows}"),
            "fleet.csv",
            MAPPING,
            "fleet.toml",
        )
        .unwrap()
    }

    #[test]
    fn a_row_becomes_a_sheet_that_parses_to_the_cells() {
        let found = run(
            "van-a;\"Van \"\"A\"\"; long\";A0ZA1* A0ZA2*;5;140;1-3-5-2-4;26,0;22,4;yes;drum;204,0;203,0\n",
        );
        assert_eq!(found.refused, []);
        let imported = &found.sheets[0];
        assert_eq!(
            (imported.line, imported.file_name.as_str()),
            (2, "van-a.toml")
        );
        let sheet = Sheet::parse(&imported.text, "van-a.toml").unwrap();
        assert_eq!(sheet.name, "Van \"A\"; long");
        assert_eq!(sheet.vin_patterns, ["A0ZA1*", "A0ZA2*"]);
        assert_eq!(sheet.wheel.order.as_deref(), Some(&[1, 3, 5, 2, 4][..]));
        let discard = sheet.axles[0]
            .disc
            .as_ref()
            .unwrap()
            .discard
            .as_ref()
            .unwrap();
        assert_eq!(discard.value.nm(), 22_400_000);
        assert_eq!(discard.source(), Some("fleet list"));
        assert_eq!(discard.origin.date.as_deref(), Some("2026-01-31"));
        assert_eq!(sheet.axles[1].name, "rear");
        assert!(
            imported
                .text
                .starts_with("# Imported from line 2 of fleet.csv.\n")
        );
    }

    #[test]
    fn every_refused_row_is_reported_with_all_of_its_reasons() {
        let found = run("van-a;Van A;A0ZA*;5;140;;26,0;23,0;yes;drum;204,0;203,0\n\
                         van-a;Van A again;A0ZB*;5;140;;26,0;23,0;yes;drum;204,0;203,0\n\
                         Van B;;A0ZB*;two;140;;23,0;26,0;maybe;drum;204,0;203,0\n\
                         van-c;Van C;A0ZC*;5\n");
        assert_eq!(found.sheets.len(), 1);
        let reasons: Vec<(u64, Vec<&str>)> = found
            .refused
            .iter()
            .map(|row| (row.line, row.reasons.iter().map(String::as_str).collect()))
            .collect();
        assert_eq!(
            reasons[0],
            (3, vec!["id: line 2 of the table is called `van-a` too"])
        );
        assert_eq!(reasons[1].0, 4);
        for expected in [
            "id (column `Code`): `Van B` may hold only lower-case letters, digits and hyphens",
            "name: missing; people choose the sheet by its name",
            "wheel.fasteners (column `Studs`): expected a whole number, found the text \"two\"",
            "axle.front.disc.vented (column `Vented`): expected true or false, found the text \"maybe\"",
            "axle.front.disc.discard_mm (column `F min`): the minimum 26.000 mm is not below the new size \
             23.000 mm; were the two swapped?",
        ] {
            let known = expected.replace("name: missing", "name (column `Model`): missing");
            assert!(
                reasons[1].1.contains(&known.as_str()),
                "{known}\nin {:#?}",
                reasons[1].1
            );
        }
        assert_eq!(reasons[1].1.len(), 5);
        assert_eq!(reasons[2], (5, vec!["4 cells, the header has 12"]));
    }

    #[test]
    fn a_thousands_separator_is_not_taken_for_a_decimal_mark() {
        let mapping = MAPPING.replace("decimal = \",\"", "decimal = \".\"");
        let row = "van-a;Van A;A0ZA*;5;1,140;;26.0;23.0;yes;drum;204.0;203.0\n";
        let found = import(
            &format!("{HEADER}{row}"),
            "fleet.csv",
            &mapping,
            "fleet.toml",
        )
        .unwrap();
        assert_eq!(
            found.refused[0].reasons,
            ["wheel.torque_nm (column `Torque`): expected a number, found the text \"1,140\""]
        );
    }

    #[test]
    fn a_mapping_that_does_not_fit_the_table_is_refused_with_suggestions() {
        let error = import("Code;Modell\n", "fleet.csv", MAPPING, "fleet.toml").unwrap_err();
        let lines: Vec<String> = error.problems.iter().map(Problem::to_string).collect();
        assert_eq!(lines.len(), 11, "{lines:#?}");
        assert!(lines.iter().any(|line| {
            line.contains("`columns.name`: `Model` is not one of")
                && line.ends_with("did you mean `Modell`?")
        }));
    }

    #[test]
    fn a_mapping_names_each_key_once_and_no_impossible_one() {
        let mapping = "[columns]\nid = \"a\"\n\"a.b.c.d.e.f\" = \"b\"\nname = \"c\"\n[constants]\nname = \"x\"\n";
        let error = import("a,b,c\n", "t.csv", mapping, "m.toml")
            .unwrap_err()
            .to_string();
        assert!(
            error.contains("`name` is a column and a constant"),
            "{error}"
        );
        assert!(
            error.contains("no sheet has a key like `a.b.c.d.e.f`"),
            "{error}"
        );
        let error = import("a\n", "t.csv", "", "m.toml")
            .unwrap_err()
            .to_string();
        assert!(error.contains("`columns`: missing"), "{error}");
    }
}
