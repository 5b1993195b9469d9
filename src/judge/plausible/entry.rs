//! Slips that show in the text itself or in its timing, before any value is understood.

/// Two readings that ran together because Enter was lost: `24.30824.309`.
///
/// # Examples
/// ```
/// use brakecorner::judge::plausible::split_entry;
/// assert_eq!(split_entry("24.30824.309"), Some(("24.308".into(), "24.309".into())));
/// assert_eq!(split_entry("24.308"), None);
/// ```
#[must_use]
pub fn split_entry(text: &str) -> Option<(String, String)> {
    let text = text.trim();
    let is_mark = |c: char| c == '.' || c == ',';
    let plain = text.chars().all(|c| c.is_ascii_digit() || is_mark(c));
    let marks: Vec<usize> = text.match_indices(is_mark).map(|(at, _)| at).collect();
    let [first, second] = marks[..] else {
        return None;
    };
    // Both readings of a gauge have the same form: as many digits before the mark in each.
    let whole = first;
    let cut = second.checked_sub(whole)?;
    if !plain || whole == 0 || cut <= first {
        return None;
    }
    let (one, two) = text.split_at_checked(cut)?;
    Some((one.to_owned(), two.to_owned()))
}

/// The question the text of an entry raises beside those before it, if any: two readings run
/// together, or a digit lost or doubled.
///
/// # Examples
/// ```
/// use brakecorner::judge::plausible::entry_question;
/// let ring = ["24.308", "24.309"];
/// assert!(entry_question("24.30824.309", &ring).unwrap().contains("two readings"));
/// assert!(entry_question("24.3008", &ring).unwrap().contains("doubled"));
/// assert_eq!(entry_question("24.310", &ring), None);
/// ```
#[must_use]
pub fn entry_question(text: &str, before: &[&str]) -> Option<String> {
    let text = text.trim();
    if let Some((one, two)) = split_entry(text) {
        return Some(format!(
            "{text} looks like two readings, {one} and {two}: was Enter lost between them?"
        ));
    }
    // A gauge always sends the same form; a person may type as many digits as they like, so two
    // entries of the same form must have gone before.
    let form = |text: &str| {
        let digits = text.trim().trim_start_matches(['-', '+']);
        let (whole, rest) = digits.split_once(['.', ','])?;
        Some((whole.len(), rest.len()))
    };
    let (whole, places) = form(before.last()?)?;
    let steady = before.len() >= 2
        && before
            .iter()
            .all(|t| form(t).is_some_and(|(_, p)| p == places));
    let (whole_now, places_now) = form(text)?;
    if !steady || (whole, places) == (whole_now, places_now) || places < 2 {
        return None;
    }
    let doubled = text
        .as_bytes()
        .windows(2)
        .any(|pair| matches!(pair, [a, b] if a == b && a.is_ascii_digit()));
    if places_now > places && doubled {
        Some(format!(
            "{text} has one digit more than the readings before it: was one doubled?"
        ))
    } else if places_now < places && whole_now < whole {
        Some(format!(
            "{text} has fewer digits than the readings before it: was one lost?"
        ))
    } else {
        None
    }
}

/// Whether a gauge sent the same value twice for one press of its button.
///
/// `gap_ms` is the time since the value before. 400 ms is shorter than anybody moves a gauge (common
/// practice). A typed value is never taken for a second sending.
///
/// # Examples
/// ```
/// use brakecorner::judge::plausible::double_send;
/// assert!(double_send("24.308", "24.308", 120, true));
/// assert!(!double_send("24.308", "24.308", 900, true));
/// assert!(!double_send("24.308", "24.308", 120, false));
/// ```
#[must_use]
pub fn double_send(before: &str, now: &str, gap_ms: u64, from_gauge: bool) -> bool {
    const MOVED_MS: u64 = 400;
    from_gauge && gap_ms < MOVED_MS && before.trim() == now.trim()
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn runs_of_two_readings_are_cut_where_both_have_the_same_form() {
        for (text, parts) in [
            ("22.1322.12", Some(("22.13", "22.12"))),
            ("5.25.1", Some(("5.2", "5.1"))),
            ("0,0040,008", Some(("0,004", "0,008"))),
            ("..", None),
            ("1.2.3.4", None),
            ("24.308", None),
            ("2x.308", None),
        ] {
            let parts = parts.map(|(a, b)| (a.to_owned(), b.to_owned()));
            assert_eq!(split_entry(text), parts, "{text}");
        }
    }

    proptest! {
        #[test]
        fn no_text_panics_and_two_readings_come_apart_again(
            any in ".{0,40}", a in 10u32..100, b in 10u32..100, x in 0u32..1000, y in 0u32..1000
        ) {
            let _ = split_entry(&any);
            let _ = entry_question(&any, &["24.308", "24.309"]);
            let (one, two) = (format!("{a}.{x:03}"), format!("{b}.{y:03}"));
            prop_assert_eq!(split_entry(&format!("{one}{two}")), Some((one, two)));
        }
    }
}
