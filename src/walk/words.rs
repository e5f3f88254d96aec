//! The words that steps are spoken in: templates for each deduction and view, the built-in ones or a teacher's own.

use std::collections::BTreeMap;

use serde::Deserialize;

use super::step::{Deduction, View};

/// The built-in words, which also explain the format.
pub const BUILT_IN: &str = include_str!("words.toml");

/// Templates for names and sentences.
#[derive(Clone, Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Words {
    #[serde(default)]
    names: BTreeMap<String, String>,
    #[serde(default)]
    say: BTreeMap<String, String>,
}

/// Why a words file can't be used.
#[derive(Debug, thiserror::Error)]
#[non_exhaustive]
pub enum WordsError {
    /// It is no TOML, or has sections other than `[names]` and `[say]`.
    #[error("the words file can't be read: {0}")]
    Toml(#[from] toml::de::Error),
    /// A key that means nothing here.
    #[error("the words file has `{0}`, which names no deduction, deduction/view or name known here")]
    Key(String),
    /// A template with a name in braces that doesn't exist.
    #[error("the words for `{key}` use {{{name}}}, which is not known: the built-in words list what is")]
    Name {
        /// Whose template.
        key: String,
        /// The name in braces.
        name: String,
    },
}

/// What sentences may use.
pub(super) const SENTENCE: &[&str] = &[
    "cell",
    "cells",
    "digit",
    "digits",
    "house",
    "houses",
    "first",
    "last",
    "bases",
    "covers",
    "seen",
    "facts",
    "strikes",
    "corners",
    "rectangle",
    "line",
];

/// What names may use.
const NAME: &[&str] = &["n", "row", "column", "cell", "digit", "digits", "house"];

impl Default for Words {
    fn default() -> Self {
        toml::from_str(BUILT_IN).expect("the built-in words are checked by a test")
    }
}

impl Words {
    /// The built-in words with those of a TOML text in their place.
    ///
    /// # Errors
    /// Where the text is no TOML, has a key that names nothing, or a template with an unknown name in braces.
    pub fn read(text: &str) -> Result<Self, WordsError> {
        let own: Self = toml::from_str(text)?;
        let mut all = Self::default();
        for (key, template) in own.names {
            if !all.names.contains_key(&key) {
                return Err(WordsError::Key(key));
            }
            check(&key, &template, NAME)?;
            all.names.insert(key, template);
        }
        for (key, template) in own.say {
            let (deduction, view) = key.split_once('/').map_or((key.as_str(), None), |(deduction, view)| (deduction, Some(view)));
            if deduction.parse::<Deduction>().is_err() || view.is_some_and(|view| view.parse::<View>().is_err()) {
                return Err(WordsError::Key(key));
            }
            check(&key, &template, SENTENCE)?;
            // A teacher's sentence for a deduction stands for all its views, unless they have sentences of the teacher's own.
            if view.is_none() {
                all.say.retain(|known, _| !known.starts_with(&format!("{key}/")));
            }
            all.say.insert(key, template);
        }
        // Sentences for single views win over those for whole deductions, whatever their order: put them back.
        let again: Self = toml::from_str(text)?;
        all.say.extend(again.say);
        Ok(all)
    }

    /// The template of a name; empty for one that is not known.
    pub(super) fn name(&self, key: &str) -> &str {
        self.names.get(key).map_or("", String::as_str)
    }

    /// The template of a sentence: the view's own, else the deduction's.
    pub(super) fn sentence(&self, deduction: Deduction, view: View) -> &str {
        self.say.get(&format!("{deduction}/{view}")).or_else(|| self.say.get(deduction.name())).map_or("", String::as_str)
    }
}

fn check(key: &str, template: &str, known: &[&str]) -> Result<(), WordsError> {
    for part in template.split('{').skip(1) {
        let name = part.split('}').next().unwrap_or_default();
        if !known.contains(&name) {
            return Err(WordsError::Name { key: key.to_string(), name: name.to_string() });
        }
    }
    Ok(())
}

/// The template with each `{name}` filled in; a `[part]` is left out when a name within it has an empty value.
pub(super) fn fill(template: &str, value: &dyn Fn(&str) -> String) -> String {
    let mut text = String::new();
    let mut rest = template;
    while let Some(at) = rest.find('[') {
        text += &fill_plain(&rest[..at], value).0;
        let Some(end) = rest[at..].find(']') else { break };
        let (part, whole) = fill_plain(&rest[at + 1..at + end], value);
        if whole {
            text += &part;
        }
        rest = &rest[at + end + 1..];
    }
    text + &fill_plain(rest, value).0
}

/// The filled template, and whether every name had a value.
fn fill_plain(template: &str, value: &dyn Fn(&str) -> String) -> (String, bool) {
    let mut text = String::new();
    let mut whole = true;
    let mut parts = template.split('{');
    text += parts.next().unwrap_or_default();
    for part in parts {
        let (name, after) = part.split_once('}').unwrap_or((part, ""));
        let filled = value(name);
        whole &= !filled.is_empty();
        text += &filled;
        text += after;
    }
    (text, whole)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_built_in_words_have_a_sentence_for_every_deduction() {
        let words = Words::read(BUILT_IN).unwrap();
        for &deduction in Deduction::ALL {
            assert!(!words.sentence(deduction, View::InRow).is_empty(), "{deduction}");
        }
    }

    #[test]
    fn an_unknown_key_or_name_is_refused() {
        for text in ["[say]\n\"golden pair\" = \"x\"", "[say]\n\"full house\" = \"{colour}\"", "[names]\nsquare = \"x\"", "[other]\na = 1"]
        {
            assert!(Words::read(text).is_err(), "{text}");
        }
    }

    #[test]
    fn a_part_in_brackets_goes_with_its_names() {
        let value = |name: &str| if name == "a" { "one".to_string() } else { String::new() };
        assert_eq!(fill("x {a}[, {b}][ and {a}].", &value), "x one and one.");
    }
}
