//! Checks a set of sheets: each by itself, and all of them against each other.

use super::lint::{Lint, Severity, read_and_lint};
use super::problem::{Place, Problem, ProblemKind};
use super::sheet::Sheet;

/// Everything wrong or doubtful with a set of sheets, given as file name and text.
///
/// Beside each file's own lint: two sheets of the same id, and VIN patterns of two sheets that fit the
/// same vehicle, so that a match would have to ask. The order is that of the files, then of the places.
///
/// # Examples
///
/// ```
/// use brakecorner::spec::{builtin_sheets, check};
///
/// assert!(check(builtin_sheets()).is_empty());
/// ```
#[must_use]
pub fn check(files: &[(&str, &str)]) -> Vec<Lint> {
    let mut lints = Vec::new();
    let mut seen: Vec<(&str, Sheet)> = Vec::new();
    for (file, text) in files {
        let (sheet, mut own) = read_and_lint(text, file);
        if let Some(sheet) = sheet {
            for (other_file, other) in &seen {
                own.extend(against(file, &sheet, other_file, other));
            }
            seen.push((file, sheet));
        }
        lints.append(&mut own);
    }
    lints
}

fn against(file: &str, sheet: &Sheet, other_file: &str, other: &Sheet) -> Vec<Lint> {
    let mut lints = Vec::new();
    let mut add = |severity, key: &str, kind| {
        let problem = Problem {
            file: file.to_owned(),
            place: Place { line: 1, column: 1 },
            key: key.to_owned(),
            kind,
        };
        lints.push(Lint { severity, problem });
    };
    if !sheet.id.is_empty() && sheet.id == other.id {
        let message = format!("{other_file} is called `{}` too", other.id);
        add(
            Severity::Error,
            "id",
            ProblemKind::Contradiction { message },
        );
    }
    for pattern in &sheet.vin_patterns {
        if let Some(theirs) = other
            .vin_patterns
            .iter()
            .find(|theirs| overlap(pattern, theirs))
        {
            let message = format!(
                "`{pattern}` and `{theirs}` of sheet `{}` fit the same vehicles; a match by VIN will ask",
                other.id
            );
            add(
                Severity::Warning,
                "vin_patterns",
                ProblemKind::Doubt { message },
            );
        }
    }
    lints
}

/// Whether some text fits both patterns.
fn overlap(a: &str, b: &str) -> bool {
    let upper = |text: &str| text.trim().to_ascii_uppercase().chars().collect::<Vec<_>>();
    let (a, b) = (upper(a), upper(b));
    // reach[j]: some text fits both the first i characters of `a` and the first j of `b`.
    let mut reach = vec![false; b.len() + 1];
    if let Some(start) = reach.first_mut() {
        *start = true;
    }
    spread_stars(&mut reach, &b);
    for x in &a {
        let mut next = vec![false; b.len() + 1];
        if *x == '*' {
            // The star takes nothing, or goes on taking what `b` asks for.
            let mut open = false;
            for (to, from) in next.iter_mut().zip(&reach) {
                open |= *from;
                *to = open;
            }
        } else {
            for (j, y) in b.iter().enumerate() {
                let from = reach.get(j).copied().unwrap_or(false);
                let stays = *y == '*' && reach.get(j + 1).copied().unwrap_or(false);
                let steps = from && (*x == '?' || *y == '?' || x == y || *y == '*');
                if let Some(to) = next.get_mut(j + 1) {
                    *to |= stays || steps;
                }
            }
        }
        spread_stars(&mut next, &b);
        reach = next;
    }
    reach.last().copied().unwrap_or(false)
}

/// A star of `b` may take nothing.
fn spread_stars(reach: &mut [bool], b: &[char]) {
    for (j, y) in b.iter().enumerate() {
        let from = reach.get(j).copied().unwrap_or(false);
        if *y == '*'
            && from
            && let Some(to) = reach.get_mut(j + 1)
        {
            *to = true;
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::spec::find::pattern_fits;

    #[test]
    fn overlapping_patterns_are_found() {
        for (a, b, same) in [
            ("A0Z*", "A0ZDL*", true),
            ("A0ZDL*", "A0ZTN*", false),
            ("A0Z??07*", "A0ZDL*", true),
            ("*1", "*2", false),
            ("*1", "2*", true),
            ("", "", true),
            ("*", "", true),
            ("?", "", false),
            ("A*C", "AB*", true),
            ("A?", "?B", true),
        ] {
            assert_eq!(overlap(a, b), same, "{a} and {b}");
            assert_eq!(overlap(b, a), same, "{b} and {a}");
        }
    }

    proptest::proptest! {
        /// Reference: every text of up to four letters, tried one by one.
        #[test]
        fn overlap_agrees_with_trying_every_short_text(a in "[AB?*]{0,4}", b in "[AB?*]{0,4}") {
            let mut texts = vec![String::new()];
            for length in 0..8usize {
                let longer: Vec<String> = texts
                    .iter()
                    .filter(|text| text.len() == length)
                    .flat_map(|text| [format!("{text}A"), format!("{text}B")])
                    .collect();
                texts.extend(longer);
            }
            let found = texts.iter().any(|text| pattern_fits(&a, text) && pattern_fits(&b, text));
            proptest::prop_assert_eq!(overlap(&a, &b), found);
        }
    }

    #[test]
    fn two_sheets_for_the_same_vehicles_are_reported() {
        let (file, text) = super::super::builtin_sheets()[0];
        let lints = check(&[(file, text), ("copy.toml", text)]);
        let texts: Vec<String> = lints.iter().map(Lint::to_string).collect();
        assert_eq!(
            texts,
            [
                "error: copy.toml:1:1: `id`: aldercote-wrenfold.toml is called `aldercote-wrenfold` too",
                "warning: copy.toml:1:1: `vin_patterns`: `A0ZWR*` and `A0ZWR*` of sheet \
                 `aldercote-wrenfold` fit the same vehicles; a match by VIN will ask",
            ]
        );
    }
}
