//! A quick look over a record's JSON: one pass that is sure of what it accepts, and says where the
//! members stand.
//!
//! Accepts only what [`super::canonical::check_json`] accepts, and not all of it: where the spelling
//! is unusual (escaped keys, exponents, surrogates) or something is wrong, it gives up, and the
//! careful reader decides and finds the words. So it can be quick and still nothing depends on it.

use super::canonical::Limits;

/// The top-level members of a record in their order, each with its value's text.
#[derive(Debug, PartialEq, Eq)]
pub(super) struct Outline<'a> {
    /// Name and text of every member except the journal.
    pub(super) members: Vec<(&'a str, &'a str)>,
    /// The texts of the journal's elements.
    pub(super) journal: Option<Vec<&'a str>>,
}

/// Looks over a text; `None` if it is refused or unusual.
pub(super) fn outline<'a>(bytes: &'a [u8], limits: &Limits) -> Option<Outline<'a>> {
    if bytes.len() > limits.bytes {
        return None;
    }
    let text = std::str::from_utf8(bytes).ok()?;
    let mut scan = Scan {
        text,
        bytes,
        at: 0,
        values: 0,
        most_values: limits.values,
        deepest: limits.depth.min(MOST_DEPTH),
        keys: Vec::with_capacity(64),
    };
    scan.space();
    let outline = scan.record()?;
    scan.space();
    (scan.at == bytes.len()).then_some(outline)
}

/// Where the careful reader stops at the latest.
const MOST_DEPTH: usize = 126;

/// Most digits a number may have and still be far from what floating point holds.
const MOST_DIGITS: usize = 300;

/// Up to so many keys are compared one by one; more are sorted.
const FEW: usize = 24;

struct Scan<'a> {
    text: &'a str,
    bytes: &'a [u8],
    at: usize,
    values: usize,
    most_values: usize,
    deepest: usize,
    /// Keys of all open objects, the outermost first.
    keys: Vec<&'a str>,
}

impl<'a> Scan<'a> {
    fn peek(&self) -> Option<u8> {
        self.bytes.get(self.at).copied()
    }

    fn take(&mut self, wanted: u8) -> Option<()> {
        (self.peek()? == wanted).then(|| self.at += 1)
    }

    fn space(&mut self) {
        while matches!(self.peek(), Some(b' ' | b'\n' | b'\t' | b'\r')) {
            self.at += 1;
        }
    }

    /// Counts a value, as the careful reader does.
    fn count(&mut self) -> Option<()> {
        self.values += 1;
        (self.values <= self.most_values).then_some(())
    }

    fn record(&mut self) -> Option<Outline<'a>> {
        self.count()?;
        let mut outline = Outline {
            members: Vec::with_capacity(20),
            journal: None,
        };
        self.object(1, |scan, key| {
            if key == "journal" && scan.peek() == Some(b'[') {
                scan.count()?;
                let mut lines = Vec::with_capacity(128);
                scan.array(2, |scan| {
                    lines.push(scan.spanned(2)?);
                    Some(())
                })?;
                outline.journal = Some(lines);
            } else {
                let value = scan.spanned(1)?;
                outline.members.push((key, value));
            }
            Some(())
        })?;
        Some(outline)
    }

    /// A value inside `depth` arrays and objects, and its text.
    fn spanned(&mut self, depth: usize) -> Option<&'a str> {
        let from = self.at;
        self.value(depth)?;
        self.text.get(from..self.at)
    }

    fn value(&mut self, depth: usize) -> Option<()> {
        self.count()?;
        match self.peek()? {
            b'"' => self.string().map(drop),
            b'{' => self.object(depth + 1, |scan, _| scan.value(depth + 1)),
            b'[' => self.array(depth + 1, |scan| scan.value(depth + 1)),
            b't' => self.word(b"true"),
            b'f' => self.word(b"false"),
            b'n' => self.word(b"null"),
            _ => self.number(),
        }
    }

    fn word(&mut self, word: &[u8]) -> Option<()> {
        let rest = self.bytes.get(self.at..)?;
        rest.starts_with(word).then(|| self.at += word.len())
    }

    fn array(&mut self, depth: usize, mut item: impl FnMut(&mut Self) -> Option<()>) -> Option<()> {
        self.take(b'[')?;
        if depth > self.deepest {
            return None;
        }
        self.space();
        if self.take(b']').is_some() {
            return Some(());
        }
        loop {
            item(self)?;
            self.space();
            if self.take(b']').is_some() {
                return Some(());
            }
            self.take(b',')?;
            self.space();
        }
    }

    fn object(
        &mut self,
        depth: usize,
        mut member: impl FnMut(&mut Self, &'a str) -> Option<()>,
    ) -> Option<()> {
        self.take(b'{')?;
        if depth > self.deepest {
            return None;
        }
        self.space();
        if self.take(b'}').is_some() {
            return Some(());
        }
        let first = self.keys.len();
        loop {
            let (key, plain) = self.string()?;
            if !plain {
                return None;
            }
            self.key(first, key)?;
            self.space();
            self.take(b':')?;
            self.space();
            member(self, key)?;
            self.space();
            if self.take(b'}').is_some() {
                break;
            }
            self.take(b',')?;
            self.space();
        }
        let mine = self.keys.get_mut(first..)?;
        if mine.len() > FEW {
            mine.sort_unstable();
            if mine.windows(2).any(|pair| pair.first() == pair.last()) {
                return None;
            }
        }
        self.keys.truncate(first);
        Some(())
    }

    /// Notes a key of the object whose keys start at `first`; refuses one that is there.
    fn key(&mut self, first: usize, key: &'a str) -> Option<()> {
        let mine = self.keys.get(first..)?;
        if mine.len() < FEW && mine.contains(&key) {
            return None;
        }
        self.keys.push(key);
        Some(())
    }

    /// A text without its quotes, as written; and whether it holds no escape.
    fn string(&mut self) -> Option<(&'a str, bool)> {
        self.take(b'"')?;
        let from = self.at;
        let mut plain = true;
        loop {
            self.at += ordinary(self.bytes.get(self.at..)?);
            match self.peek()? {
                b'"' => {
                    let text = self.text.get(from..self.at)?;
                    self.at += 1;
                    return Some((text, plain));
                }
                b'\\' => {
                    plain = false;
                    self.escape()?;
                }
                _ => return None,
            }
        }
    }

    fn escape(&mut self) -> Option<()> {
        match self.bytes.get(self.at + 1)? {
            b'"' | b'\\' | b'/' | b'b' | b'f' | b'n' | b'r' | b't' => {
                self.at += 2;
                Some(())
            }
            b'u' => {
                let digits = self.text.get(self.at + 2..self.at + 6)?;
                if !digits.bytes().all(|digit| digit.is_ascii_hexdigit()) {
                    return None;
                }
                let code = u32::from_str_radix(digits, 16).ok()?;
                // Half a surrogate pair is the careful reader's concern.
                char::from_u32(code)?;
                self.at += 6;
                Some(())
            }
            _ => None,
        }
    }

    fn number(&mut self) -> Option<()> {
        let from = self.at;
        let _ = self.take(b'-');
        match self.peek()? {
            b'0' => self.at += 1,
            b'1'..=b'9' => self.digits(),
            _ => return None,
        }
        if self.take(b'.').is_some() {
            if !self.peek()?.is_ascii_digit() {
                return None;
            }
            self.digits();
        }
        // An exponent, or a second digit after a leading zero, is nothing that may follow.
        let over = self
            .peek()
            .is_some_and(|byte| byte.is_ascii_alphanumeric() || matches!(byte, b'.' | b'-' | b'+'));
        (!over && self.at - from <= MOST_DIGITS).then_some(())
    }

    fn digits(&mut self) {
        while self.peek().is_some_and(|byte| byte.is_ascii_digit()) {
            self.at += 1;
        }
    }
}

/// How many bytes at the start are neither a quote, a backslash nor a control character.
fn ordinary(bytes: &[u8]) -> usize {
    const ONES: u64 = u64::from_ne_bytes([0x01; 8]);
    const HIGH: u64 = u64::from_ne_bytes([0x80; 8]);
    // Eight bytes at a time; a high bit set in the result marks such a byte. Bytes above it in the
    // word may be marked wrongly, so only the lowest mark counts.
    let zeros = |word: u64| word.wrapping_sub(ONES) & !word & HIGH;
    let quotes = u64::from_ne_bytes([b'"'; 8]);
    let backslashes = u64::from_ne_bytes([b'\\'; 8]);
    let spaces = u64::from_ne_bytes([0x20; 8]);
    let mut passed = 0;
    let mut chunks = bytes.chunks_exact(8);
    for chunk in &mut chunks {
        let mut eight = [0; 8];
        eight.copy_from_slice(chunk);
        let word = u64::from_le_bytes(eight);
        let control = word.wrapping_sub(spaces) & !word & HIGH;
        let marks = zeros(word ^ quotes) | zeros(word ^ backslashes) | control;
        if marks != 0 {
            return passed + (marks.trailing_zeros() / 8) as usize;
        }
        passed += 8;
    }
    let special = |byte: &u8| matches!(byte, b'"' | b'\\' | 0..0x20);
    let rest = chunks.remainder();
    passed + rest.iter().position(special).unwrap_or(rest.len())
}

#[cfg(test)]
mod tests {
    use super::super::canonical::{check_json, parse_json};
    use super::*;

    fn look(text: &str) -> Option<Outline<'_>> {
        outline(text.as_bytes(), &Limits::default())
    }

    #[test]
    fn members_and_lines_come_out_as_they_are_written() {
        let text = " {\"a\" : [1, {\"x\":\"q\\\"\"}] ,\n\"journal\":[ {\"v\":1} ,{\"v\": -2.50}], \"b\":null} \n";
        let found = look(text).unwrap();
        assert_eq!(
            found.members,
            [("a", "[1, {\"x\":\"q\\\"\"}]"), ("b", "null")]
        );
        assert_eq!(found.journal.unwrap(), ["{\"v\":1}", "{\"v\": -2.50}"]);
    }

    #[test]
    fn what_is_refused_or_unusual_is_left_to_the_careful_reader() {
        for text in [
            "",
            "[]",
            "{\"a\":1,\"a\":2}",
            "{\"b\":{\"a\":1,\"c\":2,\"a\":2}}",
            "{\"journal\":[],\"journal\":[]}",
            "{\"\\u0061\":1}",
            "{\"a\":01}",
            "{\"a\":1e3}",
            "{\"a\":-}",
            "{\"a\":.5}",
            "{\"a\":1.}",
            "{\"a\":\"\\ud800\"}",
            "{\"a\":\"\\x\"}",
            "{\"a\":\"\t\"}",
            "{\"a\":tru}",
            "{\"a\":1,}",
            "{\"a\":[1,]}",
            "{\"a\":1} x",
            "{\"a\":\"",
            "{\"a\"",
        ] {
            assert!(look(text).is_none(), "{text}");
        }
        let many: String = (0..40).map(|n| format!("\"k{n}\":1,")).collect();
        assert!(look(&format!("{{{many}\"last\":1}}")).is_some());
        assert!(look(&format!("{{{many}\"k7\":1}}")).is_none());
        let digits = format!("{{\"a\":{}}}", "9".repeat(400));
        assert!(look(&digits).is_none());
    }

    #[test]
    fn depth_and_number_of_values_stop_where_the_careful_reader_stops() {
        for levels in [62, 63, 64, 65] {
            let text = format!("{{\"a\":{}{}}}", "[".repeat(levels), "]".repeat(levels));
            let careful = check_json(text.as_bytes(), &Limits::default()).is_ok();
            assert_eq!(look(&text).is_some(), careful, "{levels}");
        }
        for values in [3, 4, 5] {
            let limits = Limits {
                values,
                ..Limits::default()
            };
            let text = "{\"a\":[1,2]}";
            let careful = check_json(text.as_bytes(), &limits).is_ok();
            assert_eq!(
                outline(text.as_bytes(), &limits).is_some(),
                careful,
                "{values}"
            );
        }
    }

    #[test]
    fn every_byte_is_told_apart_at_every_place_of_a_word() {
        for byte in 0..=255u8 {
            for place in 0..20 {
                let mut text = [b'x'; 20];
                text[place] = byte;
                let special = matches!(byte, b'"' | b'\\' | 0..0x20);
                let expected = if special { place } else { 20 };
                assert_eq!(ordinary(&text), expected, "byte {byte} at {place}");
            }
        }
    }

    proptest::proptest! {
        #[test]
        fn it_accepts_only_what_the_careful_reader_accepts_and_reads_alike(
            text in r#"\{("(a|b|journal|c\\n|)":( ?[\[\]{},:"ab0-9.e\\nu-]{0,12}|\[1,"x"\]|\{"a":0\}|-?[0-9.]{1,4}),? ?){0,4}\}"#
        ) {
            if let Some(found) = look(&text) {
                let value = parse_json(text.as_bytes(), &Limits::default()).unwrap();
                for (key, raw) in &found.members {
                    let again: serde_json::Value = serde_json::from_str(raw).unwrap();
                    proptest::prop_assert_eq!(&value[*key], &again);
                }
                let lines = found.journal.iter().flatten().count();
                let listed = value.get("journal").and_then(|j| j.as_array()).map_or(0, Vec::len);
                proptest::prop_assert_eq!(lines, if found.journal.is_some() { listed } else { 0 });
            }
        }
    }
}
