//! Finds the sheet for a vehicle.

use super::sheet::Sheet;

/// What a search for a sheet gave.
#[derive(Clone, Debug, PartialEq)]
pub enum Match<'s> {
    /// Exactly one sheet fits.
    One(&'s Sheet),
    /// No sheet fits.
    None,
    /// Several fit, and somebody must choose; their ids, sorted.
    Ambiguous(Vec<String>),
}

/// What a sheet is looked for by.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum SheetQuery<'q> {
    /// The vehicle's identification number.
    Vin(&'q str),
    /// The sheet's id, or its name or a part of it, in any letter case.
    Name(&'q str),
}

/// Finds the sheet that fits; the workshop's own sheets go before the built-in ones.
///
/// A workshop sheet that fits hides every built-in one. Two that fit in the same place are never
/// chosen between: the answer is [`Match::Ambiguous`].
///
/// # Examples
///
/// ```
/// use brakecorner::spec::{Match, Sheet, SheetQuery, builtin_sheets, find_sheet};
///
/// let builtin: Vec<Sheet> =
///     builtin_sheets().iter().map(|(file, text)| Sheet::parse(text, file)).collect::<Result<_, _>>()?;
/// let found = find_sheet(&[], &builtin, SheetQuery::Vin("A0ZDL07V7NK001122"));
/// assert!(matches!(found, Match::One(sheet) if sheet.id == "merlock-dunling"));
/// let found = find_sheet(&[], &builtin, SheetQuery::Name("merlock"));
/// assert!(matches!(found, Match::Ambiguous(ids) if ids.len() == 3));
/// # Ok::<(), brakecorner::spec::SpecProblems>(())
/// ```
#[must_use]
pub fn find_sheet<'s>(
    workshop: &'s [Sheet],
    builtin: &'s [Sheet],
    query: SheetQuery<'_>,
) -> Match<'s> {
    match search(workshop, query) {
        Match::None => search(builtin, query),
        found => found,
    }
}

fn search<'s>(sheets: &'s [Sheet], query: SheetQuery<'_>) -> Match<'s> {
    match query {
        SheetQuery::Vin(vin) => choose(sheets.iter().filter(|sheet| sheet.fits_vin(vin))),
        SheetQuery::Name(name) => {
            let wanted = name.trim().to_lowercase();
            if wanted.is_empty() {
                return Match::None;
            }
            let exact = |sheet: &&Sheet| sheet.id == wanted || sheet.name.to_lowercase() == wanted;
            let part = |sheet: &&Sheet| {
                sheet.id.contains(&wanted) || sheet.name.to_lowercase().contains(&wanted)
            };
            match choose(sheets.iter().filter(exact)) {
                Match::None => choose(sheets.iter().filter(part)),
                found => found,
            }
        }
    }
}

fn choose<'s>(found: impl Iterator<Item = &'s Sheet>) -> Match<'s> {
    let found: Vec<&Sheet> = found.collect();
    match found.as_slice() {
        [] => Match::None,
        [one] => Match::One(one),
        several => {
            let mut ids: Vec<String> = several.iter().map(|sheet| sheet.id.clone()).collect();
            ids.sort();
            Match::Ambiguous(ids)
        }
    }
}

/// Whether `pattern` (`*` any run, `?` any one character) fits the whole of `vin`.
pub(super) fn pattern_fits(pattern: &str, vin: &str) -> bool {
    let upper = |text: &str| text.trim().to_ascii_uppercase().chars().collect::<Vec<_>>();
    let (pattern, vin) = (upper(pattern), upper(vin));
    // Greedy with one step back to the last star: linear in practice, never exponential.
    let (mut p, mut v) = (0, 0);
    let mut star: Option<(usize, usize)> = None;
    while let Some(wanted) = vin.get(v) {
        match pattern.get(p) {
            Some('*') => {
                star = Some((p, v));
                p += 1;
            }
            Some(c) if *c == '?' || c == wanted => {
                p += 1;
                v += 1;
            }
            _ => {
                let Some((star_p, star_v)) = star else {
                    return false;
                };
                star = Some((star_p, star_v + 1));
                p = star_p + 1;
                v = star_v + 1;
            }
        }
    }
    pattern.iter().skip(p).all(|c| *c == '*')
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn patterns_fit_whole_numbers_only() {
        for (pattern, vin, fits) in [
            ("A0ZDL*", "A0ZDL07V7NK001122", true),
            ("a0zdl*", "A0ZDL07V7NK001122", true),
            ("A0ZDL", "A0ZDL07V7NK001122", false),
            ("A0Z??07V*122", "A0ZDL07V7NK001122", true),
            ("*22", "A0ZDL07V7NK001122", true),
            ("*", "", true),
            ("", "A", false),
            ("?", "", false),
        ] {
            assert_eq!(pattern_fits(pattern, vin), fits, "{pattern} against {vin}");
        }
    }

    #[test]
    fn a_workshop_sheet_hides_a_built_in_one_and_two_are_ambiguous() {
        let sheet = |id: &str| Sheet {
            id: id.to_owned(),
            name: format!("{id} van"),
            vin_patterns: vec!["A0Z*".to_owned()],
            ..Sheet::default()
        };
        let (own, builtin) = ([sheet("own")], [sheet("built-in")]);
        let vin = SheetQuery::Vin("A0ZDL07V7NK001122");
        assert_eq!(find_sheet(&own, &builtin, vin), Match::One(&own[0]));
        assert_eq!(find_sheet(&[], &builtin, vin), Match::One(&builtin[0]));
        let two = [sheet("two"), sheet("one")];
        let expected = Match::Ambiguous(vec!["one".to_owned(), "two".to_owned()]);
        assert_eq!(find_sheet(&two, &builtin, vin), expected);
        assert_eq!(
            find_sheet(&two, &[], SheetQuery::Name("ONE")),
            Match::One(&two[1])
        );
        assert_eq!(find_sheet(&two, &[], SheetQuery::Name(" ")), Match::None);
    }
}
