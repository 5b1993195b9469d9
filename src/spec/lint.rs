//! Checks a spec sheet for what a person gets wrong when copying figures.

use std::fmt;

use super::problem::{Problem, SpecProblems};
use super::reader::Reader;
use super::sheet::Sheet;
use super::sheet_read;

/// How bad a finding of the lint is.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Severity {
    /// The sheet can be used, but somebody should look.
    Warning,
    /// The sheet is refused.
    Error,
}

impl fmt::Display for Severity {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::Warning => "warning",
            Self::Error => "error",
        })
    }
}

/// One finding about a sheet.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Lint {
    /// Whether the sheet is refused for it.
    pub severity: Severity,
    /// File, place, key and what is wrong.
    pub problem: Problem,
}

impl fmt::Display for Lint {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}: {}", self.severity, self.problem)
    }
}

/// Everything wrong or doubtful with a sheet, all at once, in the order of the file.
#[must_use]
pub fn lint(text: &str, file: &str) -> Vec<Lint> {
    read_and_lint(text, file).1
}

/// Reads a sheet as far as it goes, and everything wrong or doubtful with it.
pub(super) fn read_and_lint(text: &str, file: &str) -> (Option<Sheet>, Vec<Lint>) {
    let reader = Reader::new(text, file);
    let sheet = sheet_read::read(&reader);
    let problems = reader
        .problems()
        .map(|SpecProblems { problems }| problems)
        .unwrap_or_default();
    let mut lints: Vec<Lint> = problems
        .into_iter()
        .map(|problem| Lint {
            severity: Severity::Error,
            problem,
        })
        .collect();
    if let Some(sheet) = &sheet {
        lints.extend(super::lint_rules::findings(sheet, &reader));
    }
    lints.sort_by(|a, b| (a.problem.place, &a.problem.key).cmp(&(b.problem.place, &b.problem.key)));
    (sheet, lints)
}

#[cfg(test)]
mod tests {
    use super::*;

    const GOOD: &str = include_str!("../../specs/vehicles/merlock-dunling.toml");

    fn texts(text: &str) -> Vec<String> {
        lint(text, "s.toml").iter().map(Lint::to_string).collect()
    }

    /// The good sheet with one piece of its text replaced, and what the lint says then.
    fn changed(from: &str, to: &str) -> Vec<String> {
        assert!(GOOD.contains(from), "{from}");
        texts(&GOOD.replacen(from, to, 1))
    }

    #[test]
    fn the_built_in_sheets_and_the_template_are_clean() {
        for (file, text) in super::super::builtin_sheets() {
            assert_eq!(lint(text, file), [], "{file}");
        }
        assert_eq!(lint(Sheet::template(), "template.toml"), []);
    }

    #[test]
    fn each_slip_is_named_at_its_line_and_column() {
        for (from, to, expected) in [
            (
                "discard_mm = 23.0",
                "discrad_mm = 23.0",
                "error: s.toml:38:1: `axle[1].disc.discrad_mm`: unknown key; did you mean `discard_mm`?",
            ),
            (
                "discard_mm = 23.0",
                "discard_mm = 26.5",
                "error: s.toml:38:14: `axle[1].disc.discard`: the minimum 26.500 mm is not below the new \
                 size 26.000 mm; were the two swapped?",
            ),
            (
                "min_mm = 2.0",
                "min_mm = 12.0",
                "error: s.toml:47:10: `axle[1].pads.min`: the minimum 12.000 mm is not below the new size \
                 12.000 mm",
            ),
            (
                "runout_max_mm = 0.080",
                "runout_max_mm = 0.80",
                "warning: s.toml:40:17: `axle[1].disc.runout_max`: 0.800 mm is unusual; 0.015 mm to \
                 0.250 mm is usual; did you mean 0.080 mm (ten times too large)?",
            ),
            (
                "new_mm = 26.0",
                "new_mm = 1.024",
                "warning: s.toml:37:10: `axle[1].disc.new`: 1.024 mm is unusual; 6.000 mm to 60.000 mm is \
                 usual; did you mean 10.240 mm (ten times too small)?",
            ),
            (
                "torque_nm = 140",
                "torque_nm = 14",
                "warning: s.toml:16:13: `wheel.torque`: 14 N·m is unusual; 60 N·m to 800 N·m is usual; did \
                 you mean 140 N·m (ten times too small)?",
            ),
            (
                "basis = \"friction\"\n",
                "\n",
                "warning: s.toml:44:7: `axle[1].pads.basis`: say `basis = \"friction\"` or \
                 `\"with_plate\"`: until then the minimum is not used, and the item stays NO LIMIT",
            ),
            (
                "machine_to_mm = 23.6",
                "machine_to_mm = 22.6",
                "error: s.toml:39:17: `axle[1].disc.machine_to`: machining to 22.600 mm would go below the \
                 minimum 23.000 mm",
            ),
            (
                "dtv_max_mm = 0.015",
                "dtv_max_mm = \"1,5\"",
                "error: s.toml:42:14: `axle[1].disc.dtv_max_mm`: expected a number, found the text \"1,5\"",
            ),
            (
                "dtv_max_mm = 0.015",
                "dtv_max_mm = -0.015",
                "error: s.toml:42:14: `axle[1].disc.dtv_max_mm`: -0.015 is out of range; expected zero or \
                 more",
            ),
            (
                "runout_definition = \"tir\"",
                "runout_definition = \"tri\"",
                "error: s.toml:41:1: `axle[1].disc.runout_definition`: `tri` is not one of `tir`, `half`; \
                 did you mean `tir`?",
            ),
            (
                "fasteners = 5",
                "fasteners = 55",
                "error: s.toml:13:13: `wheel.fasteners`: 55 is out of range; expected a whole number from \
                 3 to 10",
            ),
            (
                "torque_nm = 140",
                "torque_nm = 140\ntorque_lbf_ft = 103",
                "error: s.toml:17:1: `wheel.torque_lbf_ft`: given twice, also as `wheel.torque_nm`; keep one",
            ),
            (
                "grade = \"DOT 4\"",
                "grade = \"DOT 44\"",
                "error: s.toml:23:1: `fluid.grade`: `DOT 44` is not one of `DOT 3`, `DOT 4`, `DOT 5`, \
                 `DOT 5.1`; did you mean `DOT 4`?",
            ),
            (
                "vin_patterns = [\"A0ZDL*\"]",
                "vin_patterns = [\"A0ZIL*\"]",
                "warning: s.toml:4:1: `vin_patterns`: `A0ZIL*` holds `I`, which no VIN holds",
            ),
            (
                "checked_by = \"Ilse Varga\"\n\n[wheel]\nfasteners = 5\nthread = \"M14\"\nkind = \"stud\"\n\
                 torque_nm = 140",
                "\n[wheel]\nfasteners = 5\ntorque_nm = { value = 140, source = \"\" }",
                "warning: s.toml:13:23: `wheel.torque`: no source; say where the figure was found",
            ),
        ] {
            let found = changed(from, to);
            assert!(
                found.iter().any(|line| line == expected),
                "expected {expected}\nfound {found:#?}"
            );
        }
    }

    #[test]
    fn a_limit_that_is_not_given_is_said_to_stay_without_one() {
        let text = "id = \"x\"\nname = \"X\"\nvin_patterns = \"A0Z*\"\nsource = \"s\"\n\
                    [wheel]\nfasteners = 5\n\
                    [[axle]]\nname = \"front\"\nbrake = \"disc\"\n[axle.disc]\nrunout_max_mm = 0.05\n\
                    [[axle]]\nname = \"rear\"\nbrake = \"drum\"\n[axle.drum]\nnew_mm = 200\n";
        assert_eq!(
            texts(text),
            [
                "warning: s.toml:5:2: `wheel.torque_nm`: no wheel torque is given; the refit cannot be \
                 checked against the maker's figure",
                "warning: s.toml:7:1: `axle[1].pads.min_mm`: not given; the item stays NO LIMIT",
                "warning: s.toml:10:7: `axle[1].disc.discard_mm`: not given; the item stays NO LIMIT",
                "warning: s.toml:11:17: `axle[1].disc.runout_definition`: say `runout_definition = \
                 \"tir\"` or `\"half\"`; until then it is taken as `tir`, the stricter",
                "warning: s.toml:12:1: `axle[2].linings.min_mm`: not given; the item stays NO LIMIT",
                "warning: s.toml:15:7: `axle[2].drum.max_mm`: not given; the item stays NO LIMIT",
            ]
        );
        assert!(Sheet::parse(text, "s.toml").is_ok());
    }

    #[test]
    fn every_problem_is_reported_at_once_in_the_order_of_the_file() {
        let text = GOOD
            .replace("fasteners = 5", "fasteners = 55")
            .replacen("new_mm = 26.0", "new_mm = 20.0", 1)
            .replacen("basis = \"friction\"", "base = \"friction\"", 1)
            .replace("max_mm = 0.080", "max_mm = \"wide\"");
        let lints = lint(&text, "s.toml");
        let places: Vec<u32> = lints.iter().map(|lint| lint.problem.place.line).collect();
        assert!(places.is_sorted(), "{places:?}");
        let errors = lints.iter().filter(|lint| lint.severity == Severity::Error);
        let keys: Vec<&str> = errors.map(|lint| lint.problem.key.as_str()).collect();
        assert_eq!(
            keys,
            [
                "wheel.fasteners",
                "axle[1].disc.discard",
                "axle[1].disc.machine_to",
                "axle[1].disc.runout_max_mm",
                "axle[1].pads.base",
                "axle[2].disc.runout_max_mm",
            ]
        );
        let problems = Sheet::parse(&text, "s.toml").unwrap_err().problems;
        assert_eq!(problems.len(), 6);
    }

    #[test]
    fn broken_toml_names_every_broken_line_and_nothing_else() {
        let found = texts("id = \nname = \"x\nwheel = [1, 2\n");
        assert!(found.len() >= 2, "{found:#?}");
        assert!(
            found
                .iter()
                .all(|line| line.contains("not readable as TOML")),
            "{found:#?}"
        );
        assert!(found[0].starts_with("error: s.toml:1:"), "{found:#?}");
    }

    #[test]
    fn an_empty_file_names_what_must_be_there() {
        let found = texts("");
        for key in ["`id`", "`name`", "`axle`", "`wheel`"] {
            assert!(
                found
                    .iter()
                    .any(|line| line.contains(&format!("s.toml:1:1: {key}: missing"))),
                "{key}: {found:#?}"
            );
        }
    }

    #[test]
    fn a_sheet_without_any_source_names_each_figure() {
        let text = GOOD.replace("source = ", "# ");
        let missing = texts(&text)
            .iter()
            .filter(|line| line.contains("no source"))
            .count();
        // Three of the vehicle, eight of the front axle, seven of the rear.
        assert_eq!(missing, 18);
    }
}
