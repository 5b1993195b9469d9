//! The customer's words: one Fluent message file a language, and nothing in any other place.

use std::collections::BTreeMap;

use fluent::{FluentArgs, FluentBundle, FluentResource, FluentValue};
use unic_langid::LanguageIdentifier;

mod phrases;
#[cfg(test)]
mod tests;

pub use phrases::blanks;

/// The languages a sheet can be written in.
#[derive(
    Clone, Copy, Debug, Default, PartialEq, Eq, Hash, serde::Serialize, serde::Deserialize,
)]
pub enum Language {
    /// English.
    #[default]
    #[serde(rename = "en")]
    En,
    /// German.
    #[serde(rename = "de")]
    De,
}

impl Language {
    /// Every language.
    pub const ALL: [Self; 2] = [Self::En, Self::De];

    /// The language's tag, as in `lang` attributes.
    #[must_use]
    pub const fn tag(self) -> &'static str {
        match self {
            Self::En => "en",
            Self::De => "de",
        }
    }

    /// The language's message file.
    #[must_use]
    pub const fn messages(self) -> &'static str {
        match self {
            Self::En => include_str!("en.ftl"),
            Self::De => include_str!("de.ftl"),
        }
    }

    /// The sign between whole numbers and decimals.
    #[must_use]
    pub const fn decimal_mark(self) -> char {
        match self {
            Self::En => '.',
            Self::De => ',',
        }
    }
}

/// What a message is given.
#[derive(Clone, Debug)]
pub enum Arg {
    /// A text, shown as it is.
    Text(String),
    /// A count, which chooses the plural form.
    Count(u32),
}

impl From<&str> for Arg {
    fn from(text: &str) -> Self {
        Self::Text(text.to_owned())
    }
}

impl From<String> for Arg {
    fn from(text: String) -> Self {
        Self::Text(text)
    }
}

impl From<u32> for Arg {
    fn from(count: u32) -> Self {
        Self::Count(count)
    }
}

/// The messages of one language, ready to be filled in.
pub struct Words {
    language: Language,
    bundle: FluentBundle<FluentResource>,
    ids: Vec<String>,
}

impl std::fmt::Debug for Words {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.debug_struct("Words")
            .field("language", &self.language)
            .finish_non_exhaustive()
    }
}

impl Words {
    /// Reads the messages of a language.
    ///
    /// # Examples
    /// ```
    /// use brakecorner::sheet::words::{Language, Words};
    /// let words = Words::of(Language::De);
    /// assert_eq!(words.say("measured", &[("value", "22,1 mm".into())]), "Gemessen haben wir 22,1 mm.");
    /// ```
    #[must_use]
    pub fn of(language: Language) -> Self {
        let tag: LanguageIdentifier = language.tag().parse().unwrap_or_default();
        let mut bundle = FluentBundle::new(vec![tag]);
        bundle.set_use_isolating(false);
        let _ = bundle.add_builtins();
        // A line that does not read is left out; a test finds it.
        let resource = match FluentResource::try_new(language.messages().to_owned()) {
            Ok(resource) | Err((resource, _)) => resource,
        };
        let _ = bundle.add_resource(resource);
        Self {
            language,
            bundle,
            ids: ids(language.messages()),
        }
    }

    /// The language.
    #[must_use]
    pub const fn language(&self) -> Language {
        self.language
    }

    /// A message filled in; its id when there is no such message.
    #[must_use]
    pub fn say(&self, id: &str, args: &[(&str, Arg)]) -> String {
        let Some(pattern) = self
            .bundle
            .get_message(id)
            .and_then(|message| message.value())
        else {
            return id.to_owned();
        };
        let mut given = FluentArgs::new();
        for (name, value) in args {
            let value = match value {
                Arg::Text(text) => FluentValue::from(text.clone()),
                Arg::Count(count) => FluentValue::from(*count),
            };
            given.set(*name, value);
        }
        let mut errors = Vec::new();
        self.bundle
            .format_pattern(pattern, Some(&given), &mut errors)
            .into_owned()
    }

    /// A message without anything to fill in.
    #[must_use]
    pub fn plain(&self, id: &str) -> String {
        self.say(id, &[])
    }

    /// A message, if there is one.
    #[must_use]
    pub fn find(&self, id: &str, args: &[(&str, Arg)]) -> Option<String> {
        self.bundle.has_message(id).then(|| self.say(id, args))
    }

    /// Every label, by its name without `label-`.
    #[must_use]
    pub fn labels(&self) -> BTreeMap<String, String> {
        self.ids
            .iter()
            .filter_map(|id| Some((id.strip_prefix("label-")?.to_owned(), self.plain(id))))
            .collect()
    }
}

/// Names of the messages of a file: what stands before `=` at the beginning of a line.
fn ids(messages: &str) -> Vec<String> {
    messages
        .lines()
        .filter(|line| line.starts_with(|c: char| c.is_ascii_alphabetic()))
        .filter_map(|line| Some(line.split_once('=')?.0.trim().to_owned()))
        .collect()
}
