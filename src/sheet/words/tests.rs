//! The message files are complete, alike, short-sentenced and free of words that frighten.

use std::collections::{BTreeMap, BTreeSet};

use fluent_syntax::ast::{Entry, Expression, InlineExpression, Pattern, PatternElement};
use fluent_syntax::parser;

use super::phrases::{self, PREFIX};
use super::*;
use crate::job::Item;
use crate::judge::defect;

/// Every way a message can read, placeables as one word, and the arguments it uses.
fn readings(language: Language) -> BTreeMap<String, (Vec<String>, BTreeSet<String>)> {
    let resource = parser::parse(language.messages()).unwrap_or_else(|(_, errors)| {
        panic!("{language:?}: {errors:?}");
    });
    let mut all = BTreeMap::new();
    for entry in resource.body {
        let Entry::Message(message) = entry else {
            continue;
        };
        let mut arguments = BTreeSet::new();
        let pattern = message.value.expect("a message has a text");
        let texts = unfold(&pattern, &mut arguments);
        let before = all.insert(message.id.name.to_owned(), (texts, arguments));
        assert!(before.is_none(), "{} stands twice", message.id.name);
    }
    all
}

fn unfold(pattern: &Pattern<&str>, arguments: &mut BTreeSet<String>) -> Vec<String> {
    let mut texts = vec![String::new()];
    for element in &pattern.elements {
        let ends: Vec<String> = match element {
            PatternElement::TextElement { value } => vec![(*value).to_owned()],
            PatternElement::Placeable { expression } => match expression {
                Expression::Inline(inline) => {
                    if let InlineExpression::VariableReference { id } = inline {
                        arguments.insert(id.name.to_owned());
                    }
                    vec!["X".to_owned()]
                }
                Expression::Select { selector, variants } => {
                    if let InlineExpression::VariableReference { id } = selector {
                        arguments.insert(id.name.to_owned());
                    }
                    variants
                        .iter()
                        .flat_map(|v| unfold(&v.value, arguments))
                        .collect()
                }
            },
        };
        texts = texts
            .iter()
            .flat_map(|t| ends.iter().map(move |e| format!("{t}{e}")))
            .collect();
    }
    texts
}

#[test]
fn both_languages_have_the_same_messages_with_the_same_arguments() {
    let [en, de] = Language::ALL.map(readings);
    let names = |m: &BTreeMap<String, _>| m.keys().cloned().collect::<BTreeSet<String>>();
    assert_eq!(names(&en), names(&de));
    for (id, (_, arguments)) in &en {
        let german = &de[id].1;
        // A cause may be said without repeating a whole sentence of the findings.
        let fits = if id.starts_with(PREFIX) {
            german.is_subset(arguments)
        } else {
            german == arguments
        };
        assert!(fits, "{id}: {arguments:?}, {german:?}");
    }
    assert_eq!(ids(Language::En.messages()).len(), en.len());
}

/// What a customer reads: the causes are for the workshop's edition.
fn customers(language: Language) -> BTreeMap<String, (Vec<String>, BTreeSet<String>)> {
    let mut all = readings(language);
    all.retain(|id, _| !id.starts_with(PREFIX));
    all
}

/// The texts of several words in a source file, without its comments and tests, blanks as `{}`.
fn sentences_of_source(source: &str) -> BTreeSet<String> {
    let source = source.split("#[cfg(test)]").next().unwrap();
    let mut found = BTreeSet::new();
    let mut rest = source.chars().peekable();
    while let Some(c) = rest.next() {
        match c {
            '/' if rest.peek() == Some(&'/') => while rest.next_if(|c| *c != '\n').is_some() {},
            '"' => {
                let mut text = String::new();
                while let Some(c) = rest.next_if(|c| *c != '"') {
                    match c {
                        // A line broken in the source.
                        '\\' => while rest.next_if(|c| c.is_whitespace()).is_some() {},
                        '{' => {
                            while rest.next_if(|c| *c != '}').is_some() {}
                            text.push_str("{}");
                            rest.next();
                        }
                        c => text.push(c),
                    }
                }
                rest.next();
                if text.trim().contains(' ') {
                    found.insert(text);
                }
            }
            _ => {}
        }
    }
    found
}

#[test]
fn every_sentence_of_causes_and_overrides_is_known_in_every_language_and_none_is_left_over() {
    let source = [
        include_str!("../../judge/causes/mod.rs"),
        include_str!("../../judge/causes/pads.rs"),
        include_str!("../../judge/causes/disc.rs"),
        include_str!("../../judge/causes/others.rs"),
        include_str!("../../judge/overrides.rs"),
    ];
    let mut said: BTreeSet<String> = source.into_iter().flat_map(sentences_of_source).collect();
    assert!(said.len() > 200, "only {} sentences found", said.len());
    // Within other sentences: figures with their unit, and what overrides add to a verdict.
    for part in [
        "{} mm",
        "{} µm",
        ", {} agreed",
        "{} instead of {}, set by {}{}: {}",
        "{} {}.",
    ] {
        assert!(said.remove(part), "`{part}` is said no more");
    }
    // Reasons why a verdict cannot be made less severe, from other parts of the judgement.
    let fixed = [
        "it is beyond the limit of {}",
        "a vehicle that must not be driven is never called better",
        "the {} is still seized",
        "{} makes it a failure",
    ];
    said.extend(fixed.map(str::to_owned));
    let known: BTreeSet<String> = phrases::phrases()
        .iter()
        .map(|phrase| phrase.pieces.join("{}"))
        .collect();
    let missing: Vec<_> = said.difference(&known).collect();
    assert!(missing.is_empty(), "no `phrase-` message for {missing:#?}");
    let words = [
        "leading",
        "trailing",
        "front",
        "rear",
        "piston",
        "slide pin",
    ];
    let over: Vec<_> = known
        .difference(&said)
        .filter(|p| !words.contains(&p.as_str()))
        .collect();
    assert!(over.is_empty(), "nothing says {over:#?}");
}

#[test]
fn every_item_and_every_defect_has_its_words_and_none_is_left_over() {
    let en = readings(Language::En);
    let mut wanted = BTreeSet::new();
    for item in Item::ALL {
        let name = item.id().replace('.', "-");
        wanted.insert(format!("item-{name}"));
        for defect in defect::defects(*item) {
            wanted.insert(format!("defect-{name}-{}", defect.code));
        }
    }
    for id in &wanted {
        assert!(en.contains_key(id), "no message `{id}`");
    }
    for id in en
        .keys()
        .filter(|id| id.starts_with("item-") || id.starts_with("defect-"))
    {
        assert!(
            wanted.contains(id) || id == "defect-unknown",
            "`{id}` belongs to nothing"
        );
    }
}

/// Every message is used by the program: its id, or the part before the last variable end of it,
/// stands in the source.
#[test]
fn no_message_is_left_over() {
    let source = concat!(
        include_str!("../build/mod.rs"),
        include_str!("../build/corner.rs"),
        include_str!("../build/desk.rs"),
        include_str!("../build/distance.rs"),
        include_str!("../build/limits.rs"),
        include_str!("../build/quote.rs"),
        include_str!("../build/slip.rs"),
        include_str!("../build/sentence.rs"),
        include_str!("../build/technical.rs"),
        include_str!("../build/worksheet.rs"),
        include_str!("../forms.rs"),
        include_str!("../calendar.rs"),
    );
    // Built from a word of the data: places, items, verdicts and the like.
    let built = [
        "item-", "defect-", "label-", "verdict-", "proof-", "phase-", "depth-", "risk-", "month-",
        "part-", "deed-", "gate-", "place-", "title-", "whose-", "means-", "point-",
        // Matched with the judgement's sentences, see below.
        "phrase-",
    ];
    for id in readings(Language::En).keys() {
        let known =
            source.contains(&format!("\"{id}\"")) || built.iter().any(|b| id.starts_with(b));
        assert!(known, "`{id}` is used nowhere");
    }
}

fn sentences(text: &str) -> Vec<String> {
    let mut all = vec![String::new()];
    let mut rest = text.chars().peekable();
    while let Some(c) = rest.next() {
        all.last_mut().unwrap().push(c);
        let ends = matches!(c, '.' | '!' | '?' | ':' | ';')
            && rest.peek().is_none_or(|n| *n == ' ' || *n == '”');
        if ends {
            all.push(String::new());
        }
    }
    all.retain(|s| !s.trim().is_empty());
    all
}

// 18 words and the list of words: this project's own rule for plain language.
#[test]
fn no_sentence_has_more_than_eighteen_words() {
    for language in Language::ALL {
        for (id, (texts, _)) in customers(language) {
            for sentence in texts.iter().flat_map(|t| sentences(t)) {
                let words = sentence
                    .split_whitespace()
                    .filter(|w| w.chars().any(char::is_alphanumeric))
                    .count();
                assert!(words <= 18, "{language:?} {id}: {words} words: {sentence}");
            }
        }
    }
}

#[test]
fn no_message_frightens_or_gives_a_percentage_without_a_distance() {
    let banned = [
        (
            Language::En,
            &[
                "warp",
                "illegal",
                "dangerous",
                "deadly",
                "fatal",
                "kill",
                "unsafe",
                "%",
                "per cent",
            ][..],
        ),
        (
            Language::De,
            &[
                "verzogen",
                "illegal",
                "gefährlich",
                "lebensgefahr",
                "tödlich",
                "verboten",
                "%",
                "prozent",
            ][..],
        ),
    ];
    for (language, words) in banned {
        for (id, (texts, _)) in readings(language) {
            // A technician's cause compares two forces in per cent, and has no distance.
            let technical = id.starts_with(PREFIX);
            for text in texts {
                for word in words.iter().filter(|w| !(technical && **w == "%")) {
                    assert!(
                        !text.to_lowercase().contains(word),
                        "{language:?} {id}: {word}"
                    );
                }
            }
        }
    }
}

#[test]
fn plural_forms_follow_the_number() {
    let args = |days: u32| [("days", days.into()), ("km", "1 km".into())];
    let en = Words::of(Language::En);
    assert!(en.say("retorque-due", &args(1)).contains("within one day"));
    assert!(en.say("retorque-due", &args(7)).contains("within 7 days"));
    let de = Words::of(Language::De);
    assert!(de.say("retorque-due", &args(1)).contains("eines Tages"));
    assert!(de.say("retorque-due", &args(7)).contains("von 7 Tagen"));
}
