//! OpenSSH's pattern lists: `*`, `?`, commas, and `!` for "but not".
//!
//! Source: ssh_config(5), PATTERNS (read).

/// Whether a text matches one pattern; `?` is one byte, as in OpenSSH.
///
/// Runs in pattern × text steps at worst: on a mismatch only the last `*` is tried again.
fn matches_one(pattern: &[u8], text: &[u8]) -> bool {
    let (mut p, mut t) = (0, 0);
    let mut retry: Option<(usize, usize)> = None;
    while let Some(&byte) = text.get(t) {
        match pattern.get(p) {
            Some(b'*') => {
                retry = Some((p + 1, t));
                p += 1;
                continue;
            }
            Some(&wanted) if wanted == b'?' || wanted == byte => {
                p += 1;
                t += 1;
                continue;
            }
            _ => {}
        }
        let Some((star, from)) = retry else {
            return false;
        };
        retry = Some((star, from + 1));
        (p, t) = (star, from + 1);
    }
    pattern
        .get(p..)
        .unwrap_or_default()
        .iter()
        .all(|&byte| byte == b'*')
}

/// Whether a list has a positive match and no negated one.
pub(crate) fn list_matches(list: &str, text: &str) -> bool {
    let mut positive = false;
    for pattern in list.split(',') {
        match pattern.strip_prefix('!') {
            Some(negated) if matches_one(negated.as_bytes(), text.as_bytes()) => return false,
            Some(_) => {}
            None => positive |= matches_one(pattern.as_bytes(), text.as_bytes()),
        }
    }
    positive
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn lists_match_as_the_manual_says() {
        let cases = [
            ("jo", "jo", true),
            ("jo", "joe", false),
            ("jo*", "joe", true),
            ("*", "", true),
            ("?", "", false),
            ("j?e", "joe", true),
            ("*@bench,bo", "jo@bench", true),
            ("*@bench,bo", "bo", true),
            ("*,!jo", "jo", false),
            ("!jo,*", "jo", false),
            ("!jo,*", "bo", true),
            ("!jo", "bo", false),
            ("a,,b", "", true),
            ("a*b*c", "a-bb-c", true),
            ("a*b*c", "a-bb-cd", false),
            ("JO", "jo", false),
        ];
        for (list, text, expected) in cases {
            assert_eq!(
                list_matches(list, text),
                expected,
                "`{list}` against `{text}`"
            );
        }
    }

    #[test]
    fn a_hostile_pattern_takes_no_exponential_time() {
        let pattern = "*a".repeat(2000);
        let text = "a".repeat(1999);
        assert!(!list_matches(&pattern, &text));
    }

    proptest::proptest! {
        #[test]
        fn agrees_with_the_plain_recursive_definition(p in "[a*?]{0,7}", t in "[ab]{0,8}") {
            fn plain(p: &[u8], t: &[u8]) -> bool {
                match (p.split_first(), t.split_first()) {
                    (None, None) => true,
                    (Some((b'*', rest)), None) => plain(rest, t),
                    (Some((b'*', rest)), Some((_, after))) => plain(rest, t) || plain(p, after),
                    (Some((c, rest)), Some((d, after))) => {
                        (*c == b'?' || c == d) && plain(rest, after)
                    }
                    _ => false,
                }
            }
            proptest::prop_assert_eq!(
                matches_one(p.as_bytes(), t.as_bytes()),
                plain(p.as_bytes(), t.as_bytes())
            );
        }
    }
}
