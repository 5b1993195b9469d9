//! The bytes of a record: digests, and a JSON reader that trusts nothing.
//!
//! A record is somebody else's file. The reader bounds its size, depth and number of values, and
//! refuses what two readers could understand differently: a key given twice, bytes that are not
//! UTF-8, text after the end.

use std::borrow::Cow;
use std::cell::RefCell;
use std::collections::HashSet;
use std::io::{self, Read};
use std::marker::PhantomData;

use serde::de::{DeserializeSeed, Deserializer, MapAccess, SeqAccess, Visitor};
use serde_json::{Map, Number, Value};
use sha2::{Digest, Sha256, Sha512};

use crate::record::wire::shown;

/// How much a record may ask of its reader.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Limits {
    /// Longest file, in bytes.
    pub bytes: usize,
    /// Deepest nesting of arrays and objects; more than 126 is treated as 126, where the parser
    /// itself stops.
    pub depth: usize,
    /// Most values (numbers, texts, arrays, objects …) in one file. A value takes up to 100 times
    /// the memory of its shortest text, so the size alone bounds too little.
    pub values: usize,
}

impl Limits {
    /// 64 MiB, 64 levels, one million values: far above any job, and well within a laptop.
    pub const DEFAULT: Self = Self {
        bytes: 64 << 20,
        depth: 64,
        values: 1_000_000,
    };
}

impl Default for Limits {
    /// [`Limits::DEFAULT`].
    fn default() -> Self {
        Self::DEFAULT
    }
}

/// Why bytes were not read as a record's JSON.
#[derive(Debug, thiserror::Error)]
#[non_exhaustive]
pub enum JsonError {
    /// The file is longer than the limit; reading stopped there.
    #[error("longer than the limit of {limit} bytes")]
    TooLong {
        /// The limit in bytes.
        limit: usize,
    },
    /// The file could not be read to its end.
    #[error("cannot be read to its end")]
    Read(#[source] io::Error),
    /// The bytes are not UTF-8.
    #[error("not UTF-8 from byte {offset} on")]
    NotUtf8 {
        /// The first byte that is not, counted from 0.
        offset: usize,
    },
    /// Arrays and objects are nested too deeply.
    #[error("nested more than {limit} levels deep at line {line}, column {column}")]
    TooDeep {
        /// The most levels accepted.
        limit: usize,
        /// Line, from 1.
        line: usize,
        /// Column the parser had reached, from 1.
        column: usize,
    },
    /// There are too many values.
    #[error("more than {limit} values, reached at line {line}, column {column}")]
    TooMany {
        /// The most values accepted.
        limit: usize,
        /// Line, from 1.
        line: usize,
        /// Column the parser had reached, from 1.
        column: usize,
    },
    /// An object has the same key twice.
    #[error("key `{key}` is given twice, again at line {line}, column {column}")]
    DuplicateKey {
        /// The key, made safe to show.
        key: String,
        /// Line of the second one, from 1.
        line: usize,
        /// Column the parser had reached, from 1.
        column: usize,
    },
    /// Not JSON.
    #[error("not JSON")]
    Syntax(#[source] serde_json::Error),
}

/// SHA-256 as 64 lower-case hex digits.
///
/// # Examples
///
/// ```
/// use brakecorner::record::canonical::sha256_hex;
///
/// // source: FIPS 180-4, the one-block message "abc" (from memory)
/// assert!(sha256_hex(b"abc").starts_with("ba7816bf8f01cfea"));
/// ```
#[must_use]
pub fn sha256_hex(bytes: &[u8]) -> String {
    hex(&Sha256::digest(bytes))
}

/// SHA-512 as 128 lower-case hex digits.
#[must_use]
pub fn sha512_hex(bytes: &[u8]) -> String {
    hex(&Sha512::digest(bytes))
}

/// SHA-256 of a stream as 64 lower-case hex digits, in constant memory: for photos.
///
/// # Errors
///
/// What the stream reports.
pub fn sha256_hex_of(mut stream: impl Read) -> io::Result<String> {
    let mut hash = Sha256::new();
    io::copy(&mut stream, &mut hash)?;
    Ok(hex(&hash.finalize()))
}

/// Lower-case hex digits.
#[must_use]
pub fn hex(bytes: &[u8]) -> String {
    let digit = |value: u8| {
        char::from(if value < 10 {
            b'0' + value
        } else {
            b'a' + value - 10
        })
    };
    bytes
        .iter()
        .flat_map(|byte| [digit(byte >> 4), digit(byte & 15)])
        .collect()
}

/// Reads a stream up to the limit and one byte beyond, so a huge file costs no more than that.
///
/// # Errors
///
/// [`JsonError::TooLong`] with the limit, or [`JsonError::Read`].
pub fn read_bounded(stream: impl Read, limit: usize) -> Result<Vec<u8>, JsonError> {
    let most = u64::try_from(limit).unwrap_or(u64::MAX).saturating_add(1);
    let mut bytes = Vec::new();
    stream
        .take(most)
        .read_to_end(&mut bytes)
        .map_err(JsonError::Read)?;
    if bytes.len() > limit {
        Err(JsonError::TooLong { limit })
    } else {
        Ok(bytes)
    }
}

/// Reads one JSON value strictly.
///
/// Keys keep their order. Whole numbers beyond 64 bits become floating point, as in every
/// mainstream reader; a type that wants a whole number refuses them.
///
/// # Errors
///
/// A [`JsonError`] naming the limit or the place.
///
/// # Examples
///
/// ```
/// use brakecorner::record::canonical::{JsonError, Limits, parse_json};
///
/// let twice = br#"{"verdict": "FAIL", "verdict": "PASS"}"#;
/// assert!(matches!(
///     parse_json(twice, &Limits::default()),
///     Err(JsonError::DuplicateKey { .. })
/// ));
/// ```
pub fn parse_json(bytes: &[u8], limits: &Limits) -> Result<Value, JsonError> {
    read(bytes, limits)
}

/// Checks that bytes are strict JSON, without building a value.
///
/// Accepts exactly what [`parse_json`] accepts.
///
/// # Errors
///
/// As [`parse_json`].
pub fn check_json(bytes: &[u8], limits: &Limits) -> Result<(), JsonError> {
    read(bytes, limits)
}

fn read<B: Build>(bytes: &[u8], limits: &Limits) -> Result<B, JsonError> {
    if bytes.len() > limits.bytes {
        return Err(JsonError::TooLong {
            limit: limits.bytes,
        });
    }
    let text = std::str::from_utf8(bytes).map_err(|error| JsonError::NotUtf8 {
        offset: error.valid_up_to(),
    })?;
    let state = RefCell::new(State {
        values: 0,
        fault: None,
    });
    let seed = Strict {
        limits,
        depth: 0,
        state: &state,
        built: PhantomData,
    };
    let mut reader = serde_json::Deserializer::from_str(text);
    let read = seed
        .deserialize(&mut reader)
        .and_then(|value| reader.end().map(|()| value));
    read.map_err(|error| locate(error, state.into_inner().fault, limits))
}

/// What is made of the JSON that is read: a value, or nothing.
trait Build: Sized {
    type Members: Default;
    fn scalar(value: impl FnOnce() -> Value) -> Self;
    fn array(items: Vec<Self>) -> Self;
    fn put(object: &mut Self::Members, key: &str, value: Self);
    fn object(object: Self::Members) -> Self;
}

impl Build for Value {
    type Members = Map<String, Self>;

    fn scalar(value: impl FnOnce() -> Value) -> Self {
        value()
    }

    fn array(items: Vec<Self>) -> Self {
        Self::Array(items)
    }

    fn put(object: &mut Self::Members, key: &str, value: Self) {
        object.insert(key.to_owned(), value);
    }

    fn object(object: Self::Members) -> Self {
        Self::Object(object)
    }
}

impl Build for () {
    type Members = ();

    fn scalar(_: impl FnOnce() -> Value) -> Self {}

    fn array(_: Vec<Self>) -> Self {}

    fn put((): &mut Self::Members, _: &str, (): Self) {}

    fn object((): Self::Members) -> Self {}
}

/// The keys of one object: a short list is searched, a long one hashed.
#[derive(Default)]
struct Keys<'de> {
    few: Vec<Cow<'de, str>>,
    many: HashSet<Cow<'de, str>>,
}

impl<'de> Keys<'de> {
    const FEW: usize = 32;

    /// Adds a key; false if it was there.
    fn add(&mut self, key: Cow<'de, str>) -> bool {
        if self.many.is_empty() {
            if self.few.contains(&key) {
                return false;
            }
            self.few.push(key);
            if self.few.len() > Self::FEW {
                self.many = self.few.drain(..).collect();
            }
            return true;
        }
        self.many.insert(key)
    }
}

/// Reads a key without copying it, where it has no escapes.
struct Key;

impl<'de> DeserializeSeed<'de> for Key {
    type Value = Cow<'de, str>;

    fn deserialize<D: Deserializer<'de>>(self, deserializer: D) -> Result<Self::Value, D::Error> {
        deserializer.deserialize_str(self)
    }
}

impl<'de> Visitor<'de> for Key {
    type Value = Cow<'de, str>;

    fn expecting(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str("a key")
    }

    fn visit_borrowed_str<E>(self, key: &'de str) -> Result<Self::Value, E> {
        Ok(Cow::Borrowed(key))
    }

    fn visit_str<E>(self, key: &str) -> Result<Self::Value, E> {
        Ok(Cow::Owned(key.to_owned()))
    }
}

/// What went wrong beside the parser's own complaints; serde's errors carry only text.
enum Fault {
    Deep,
    Many,
    Twice(String),
}

struct State {
    values: usize,
    fault: Option<Fault>,
}

fn locate(error: serde_json::Error, fault: Option<Fault>, limits: &Limits) -> JsonError {
    let (line, column) = (error.line(), error.column());
    match fault {
        Some(Fault::Deep) => JsonError::TooDeep {
            limit: limits.depth.min(PARSER_DEPTH),
            line,
            column,
        },
        Some(Fault::Many) => JsonError::TooMany {
            limit: limits.values,
            line,
            column,
        },
        Some(Fault::Twice(key)) => JsonError::DuplicateKey { key, line, column },
        None => JsonError::Syntax(error),
    }
}

/// The parser's own recursion limit is 128; we stop before it so that the error is ours.
const PARSER_DEPTH: usize = 126;

struct Strict<'a, B> {
    limits: &'a Limits,
    depth: usize,
    state: &'a RefCell<State>,
    built: PhantomData<B>,
}

// Derived, these would ask the same of what is built.
impl<B> Clone for Strict<'_, B> {
    fn clone(&self) -> Self {
        *self
    }
}

impl<B> Copy for Strict<'_, B> {}

impl<B> Strict<'_, B> {
    fn fail<E: serde::de::Error>(self, fault: Fault) -> E {
        self.state.borrow_mut().fault = Some(fault);
        E::custom("refused")
    }

    fn deeper<E: serde::de::Error>(mut self) -> Result<Self, E> {
        self.depth += 1;
        if self.depth > self.limits.depth.min(PARSER_DEPTH) {
            return Err(self.fail(Fault::Deep));
        }
        Ok(self)
    }
}

impl<'de, B: Build> DeserializeSeed<'de> for Strict<'_, B> {
    type Value = B;

    fn deserialize<D: Deserializer<'de>>(self, deserializer: D) -> Result<B, D::Error> {
        let values = {
            let mut state = self.state.borrow_mut();
            state.values += 1;
            state.values
        };
        if values > self.limits.values {
            return Err(self.fail(Fault::Many));
        }
        deserializer.deserialize_any(self)
    }
}

impl<'de, B: Build> Visitor<'de> for Strict<'_, B> {
    type Value = B;

    fn expecting(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str("a JSON value")
    }

    fn visit_unit<E>(self) -> Result<B, E> {
        Ok(B::scalar(|| Value::Null))
    }

    fn visit_bool<E>(self, value: bool) -> Result<B, E> {
        Ok(B::scalar(|| Value::Bool(value)))
    }

    fn visit_i64<E>(self, value: i64) -> Result<B, E> {
        Ok(B::scalar(|| Value::from(value)))
    }

    fn visit_u64<E>(self, value: u64) -> Result<B, E> {
        Ok(B::scalar(|| Value::from(value)))
    }

    fn visit_f64<E: serde::de::Error>(self, value: f64) -> Result<B, E> {
        match Number::from_f64(value) {
            Some(number) => Ok(B::scalar(|| Value::Number(number))),
            None => Err(E::custom("number is not finite")),
        }
    }

    fn visit_str<E>(self, value: &str) -> Result<B, E> {
        Ok(B::scalar(|| Value::String(value.to_owned())))
    }

    fn visit_seq<A: SeqAccess<'de>>(self, mut items: A) -> Result<B, A::Error> {
        let inner = self.deeper()?;
        let mut array = Vec::new();
        while let Some(item) = items.next_element_seed(inner)? {
            array.push(item);
        }
        Ok(B::array(array))
    }

    fn visit_map<A: MapAccess<'de>>(self, mut entries: A) -> Result<B, A::Error> {
        let inner = self.deeper()?;
        let mut keys = Keys::default();
        let mut object = B::Members::default();
        while let Some(key) = entries.next_key_seed(Key)? {
            if !keys.add(key.clone()) {
                return Err(self.fail(Fault::Twice(shown(key.as_bytes()))));
            }
            B::put(&mut object, &key, entries.next_value_seed(inner)?);
        }
        Ok(B::object(object))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn parse(text: &str) -> Result<Value, JsonError> {
        parse_json(text.as_bytes(), &Limits::default())
    }

    #[test]
    fn digests_match_the_published_examples() {
        // source: FIPS 180-4 examples for "abc" (from memory)
        assert_eq!(
            sha256_hex(b"abc"),
            "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad"
        );
        assert_eq!(
            sha512_hex(b"abc"),
            "ddaf35a193617abacc417349ae20413112e6fa4e89a97ea20a9eeee64b55d39a\
             2192992a274fc1a836ba3c23a3feebbd454d4423643ce80e2a9ac94fa54ca49f"
        );
        assert_eq!(sha256_hex_of(&b"abc"[..]).unwrap(), sha256_hex(b"abc"));
    }

    #[test]
    fn ordinary_json_reads_as_the_library_reads_it() {
        let text = r#"{"b":[1,-2,3.5,true,null,"\u00e4"],"a":{"c":""}}"#;
        assert_eq!(
            parse(text).unwrap(),
            serde_json::from_str::<Value>(text).unwrap()
        );
    }

    #[test]
    fn a_key_given_twice_is_refused_even_when_spelled_differently() {
        for text in [r#"{"a":1,"a":1}"#, r#"{"x":[{"a":1,"\u0061":2}]}"#] {
            let error = parse(text).unwrap_err();
            assert!(
                matches!(&error, JsonError::DuplicateKey { key, .. } if key == "a"),
                "{error}"
            );
        }
    }

    #[test]
    fn a_key_given_twice_among_many_is_found() {
        let mut text = String::from("{");
        for n in 0..100 {
            text.push_str(&format!("\"k{n}\":1,"));
        }
        let once = format!("{text}\"last\":1}}");
        let twice = format!("{text}\"k7\":1}}");
        assert!(check_json(once.as_bytes(), &Limits::default()).is_ok());
        assert!(matches!(
            check_json(twice.as_bytes(), &Limits::default()),
            Err(JsonError::DuplicateKey { .. })
        ));
    }

    #[test]
    fn nesting_stops_at_the_limit_and_names_it() {
        let nested = |n: usize| format!("{}{}", "[".repeat(n), "]".repeat(n));
        assert!(parse(&nested(64)).is_ok());
        let error = parse(&nested(65)).unwrap_err();
        assert!(
            matches!(
                error,
                JsonError::TooDeep {
                    limit: 64,
                    line: 1,
                    ..
                }
            ),
            "{error}"
        );
        let deep = Limits {
            depth: 100_000,
            ..Limits::default()
        };
        let error = parse_json("[".repeat(1_000_000).as_bytes(), &deep).unwrap_err();
        assert!(
            matches!(error, JsonError::TooDeep { limit: 126, .. }),
            "{error}"
        );
        let object = "{\"a\":".repeat(100_000);
        assert!(matches!(
            parse(&object),
            Err(JsonError::TooDeep { limit: 64, .. })
        ));
    }

    #[test]
    fn invalid_utf8_is_located() {
        let error = parse_json(b"{\"a\": \"\xff\"}", &Limits::default()).unwrap_err();
        assert!(matches!(error, JsonError::NotUtf8 { offset: 7 }), "{error}");
    }

    #[test]
    fn too_many_values_are_refused() {
        let limits = Limits {
            values: 3,
            ..Limits::default()
        };
        assert!(parse_json(b"[1,2]", &limits).is_ok());
        assert!(matches!(
            parse_json(b"[1,2,3]", &limits),
            Err(JsonError::TooMany { limit: 3, .. })
        ));
    }

    #[test]
    fn text_after_the_value_and_numbers_beyond_range_are_refused() {
        for text in [
            "{} {}",
            "1e999",
            "",
            "\u{feff}{}",
            "[1,]",
            "{\"a\":\"\\ud800\"}",
            "NaN",
        ] {
            assert!(matches!(parse(text), Err(JsonError::Syntax(_))), "{text}");
        }
    }

    #[test]
    fn a_stream_longer_than_the_limit_is_cut_there() {
        let endless = io::repeat(b'[');
        assert!(matches!(
            read_bounded(endless, 1000),
            Err(JsonError::TooLong { limit: 1000 })
        ));
        assert_eq!(read_bounded(&b"12345"[..], 5).unwrap(), b"12345");
    }

    proptest::proptest! {
        #[test]
        fn arbitrary_bytes_give_a_value_or_an_error(bytes: Vec<u8>) {
            let _ = parse_json(&bytes, &Limits::default());
        }

        #[test]
        fn checking_accepts_exactly_what_reading_accepts(text in r#"[\[\]{},:"a0-9 .e\\-]{0,40}"#) {
            let check = check_json(text.as_bytes(), &Limits::default());
            proptest::prop_assert_eq!(check.is_ok(), parse(&text).is_ok());
        }

        #[test]
        fn what_the_strict_reader_accepts_the_plain_one_reads_alike(text in r#"[\[\]{},:"a0-9 .e-]{0,40}"#) {
            if let Ok(value) = parse(&text) {
                proptest::prop_assert_eq!(value, serde_json::from_str::<Value>(&text).unwrap());
            }
        }
    }
}
