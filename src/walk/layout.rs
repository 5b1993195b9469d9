//! A gauge that types like a keyboard, on a computer set to another keyboard's layout.

/// The signs an AZERTY layout gives for the digit keys, the point and the minus.
const SIGNS: [(char, char); 13] = [
    ('&', '1'),
    ('é', '2'),
    ('"', '3'),
    ('\'', '4'),
    ('(', '5'),
    ('-', '6'),
    ('è', '7'),
    ('_', '8'),
    ('ç', '9'),
    ('à', '0'),
    (';', '.'),
    (':', '.'),
    (')', '-'),
];

/// The digits a line would be, if every character of it is a digit's sign and at least two of them
/// are signs no reading ever has.
///
/// # Examples
/// `éç;"àè` came from the keys `29.307`.
#[must_use]
pub(super) fn translated(line: &str) -> Option<String> {
    let line = line.trim();
    let digits: String = line
        .chars()
        .map(|c| {
            SIGNS
                .iter()
                .find(|(sign, _)| *sign == c)
                .map(|(_, digit)| *digit)
        })
        .collect::<Option<_>>()?;
    let telling = line
        .chars()
        .filter(|c| !matches!(c, '-' | ';' | ':' | '"'))
        .count();
    (telling >= 2).then_some(digits)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn digits_typed_on_another_layout_are_recognised() {
        assert_eq!(translated("éç;\"àè").as_deref(), Some("29.307"));
        assert_eq!(translated("éç;éç").as_deref(), Some("29.29"));
    }

    #[test]
    fn readings_commands_and_remarks_are_not() {
        for line in [
            "24.308", "-0.019", "-", "quit", "note é", "", ";;", "--", "5;6",
        ] {
            assert_eq!(translated(line), None, "{line}");
        }
    }
}
