//! Symptoms in a complaint's own words.

use std::collections::BTreeMap;

use serde::Deserialize;

use super::Symptom;

/// The words of one language that stand for a symptom.
#[derive(Clone, Debug, PartialEq, Eq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct SymptomWords {
    /// The language, such as `en`.
    pub language: String,
    /// The words of each symptom.
    symptoms: BTreeMap<String, Vec<String>>,
}

/// A symptom found in a complaint, and the words it was found by.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Named {
    /// The symptom.
    pub symptom: Symptom,
    /// The words of the complaint.
    pub words: String,
}

impl SymptomWords {
    /// Reads a list.
    ///
    /// # Errors
    /// What is wrong with the text, in a sentence.
    pub fn parse(text: &str) -> Result<Self, String> {
        let list: Self = toml::from_str(text).map_err(|error| error.message().to_owned())?;
        for name in list.symptoms.keys() {
            symptom(name).ok_or_else(|| format!("`{name}` is not a symptom"))?;
        }
        for word in list.symptoms.values().flatten() {
            if words_of(word).is_empty() {
                return Err(format!("`{word}` is no word"));
            }
        }
        Ok(list)
    }

    /// The symptoms a complaint names, each once, in the order of the complaint.
    ///
    /// A negation ("no judder") is not understood: taking a symptom is the safe side, for it asks for a
    /// deeper inspection and a stricter judgement.
    ///
    /// # Examples
    /// ```
    /// use brakecorner::job::{Symptom, SymptomWords};
    /// let list = SymptomWords::parse("language = \"en\"\n[symptoms]\njudder = [\"shak*\"]")?;
    /// let named = list.named_in("Steering wheel shakes at 100");
    /// assert_eq!((named[0].symptom, named[0].words.as_str()), (Symptom::Judder, "shakes"));
    /// # Ok::<(), String>(())
    /// ```
    #[must_use]
    pub fn named_in(&self, complaint: &str) -> Vec<Named> {
        let text = words_of(complaint);
        let mut found: Vec<(usize, Named)> = Vec::new();
        for (name, list) in &self.symptoms {
            let Some(symptom) = symptom(name) else {
                continue;
            };
            let places = list.iter().filter_map(|entry| find(&text, entry));
            if let Some((at, words)) = places.min() {
                found.push((at, Named { symptom, words }));
            }
        }
        found.sort_by_key(|(at, _)| *at);
        found.into_iter().map(|(_, named)| named).collect()
    }
}

fn symptom(name: &str) -> Option<Symptom> {
    serde_json::from_value(name.into()).ok()
}

/// The words of a text in lower case; a `*` stays with its word.
fn words_of(text: &str) -> Vec<String> {
    text.to_lowercase()
        .split(|c: char| !(c.is_alphanumeric() || c == '*'))
        .filter(|word| !word.trim_matches('*').is_empty())
        .map(str::to_owned)
        .collect()
}

/// Where an entry of a list stands first in a text, and the text's own words there.
fn find(text: &[String], entry: &str) -> Option<(usize, String)> {
    let entry = words_of(entry);
    let fits = |(word, wanted): (&String, &String)| match wanted.strip_suffix('*') {
        Some(stem) => word.starts_with(stem),
        None => word == wanted,
    };
    let at = text
        .windows(entry.len())
        .position(|window| window.iter().zip(&entry).all(fits))?;
    let words = text.get(at..at + entry.len())?.join(" ");
    Some((at, words))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::spec::builtin_words;

    fn named(complaint: &str) -> Vec<Symptom> {
        builtin_words()
            .iter()
            .flat_map(|(_, text)| SymptomWords::parse(text).unwrap().named_in(complaint))
            .map(|named| named.symptom)
            .collect()
    }

    #[test]
    fn words_of_the_trade_name_their_symptom() {
        for (complaint, symptom) in [
            ("Judder when braking", Symptom::Judder),
            ("wheel SHAKES at speed", Symptom::Judder),
            ("vibrates", Symptom::Judder),
            ("pulls left", Symptom::Pull),
            ("squeals when cold", Symptom::Squeal),
            ("it grinds", Symptom::Grinding),
            ("pedal feels spongy", Symptom::SoftPedal),
            ("soft pedal", Symptom::SoftPedal),
            ("brake lamp on", Symptom::WarningLamp),
            ("Lenkrad rubbelt beim Bremsen", Symptom::Judder),
            ("zieht nach rechts", Symptom::Pull),
            ("no judder any more", Symptom::Judder),
        ] {
            assert_eq!(named(complaint), [symptom], "{complaint}");
        }
        for complaint in ["annual inspection", "", "handbrake adjusted last year"] {
            assert!(named(complaint).is_empty(), "{complaint}");
        }
    }

    #[test]
    fn a_list_with_a_word_that_is_no_symptom_is_refused() {
        for text in [
            "language = \"en\"\n[symptoms]\nwobble = [\"a\"]",
            "language = \"en\"\n[symptoms]\njudder = [\"*\"]",
            "symptoms = 3",
        ] {
            assert!(SymptomWords::parse(text).is_err(), "{text}");
        }
    }
}
