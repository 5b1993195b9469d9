//! The verdicts of a job's items in one text: cheap to keep and to read back for every job of a
//! workshop, where a map would be a hundred small texts a job.

use serde::{Deserialize, Serialize};

use crate::judge::ItemVerdict;

/// Verdicts by place and item, as in `FL disc.thickness`.
///
/// # Examples
/// ```
/// use brakecorner::judge::ItemVerdict;
/// use brakecorner::office::Verdicts;
/// let mut verdicts = Verdicts::default();
/// verdicts.insert("FL hose", ItemVerdict::Advise);
/// assert_eq!(verdicts.get("FL hose"), Some(ItemVerdict::Advise));
/// assert_eq!(verdicts.get("L hose"), None);
/// ```
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(transparent)]
pub struct Verdicts(String);

const LETTERS: [(char, ItemVerdict); 5] = [
    ('P', ItemVerdict::Pass),
    ('A', ItemVerdict::Advise),
    ('F', ItemVerdict::Fail),
    ('N', ItemVerdict::NotInspected),
    ('L', ItemVerdict::NoLimit),
];

impl Verdicts {
    /// Sets the verdict of an item.
    pub fn insert(&mut self, key: &str, verdict: ItemVerdict) {
        let letter = LETTERS
            .iter()
            .find(|(_, known)| *known == verdict)
            .map_or('N', |(letter, _)| *letter);
        if let Some(at) = self.place(key) {
            self.0.replace_range(at..=at, &letter.to_string());
        } else {
            self.0.push_str(&format!("|{key}={letter}"));
        }
    }

    /// The verdict of an item.
    #[must_use]
    pub fn get(&self, key: &str) -> Option<ItemVerdict> {
        let letter = self.0.get(self.place(key)?..)?.chars().next()?;
        LETTERS
            .iter()
            .find(|(known, _)| *known == letter)
            .map(|(_, verdict)| *verdict)
    }

    /// Where an item's letter stands.
    fn place(&self, key: &str) -> Option<usize> {
        let wanted = format!("|{key}=");
        self.0.find(&wanted).map(|at| at + wanted.len())
    }
}

impl FromIterator<(String, ItemVerdict)> for Verdicts {
    fn from_iter<I: IntoIterator<Item = (String, ItemVerdict)>>(pairs: I) -> Self {
        pairs
            .into_iter()
            .fold(Self::default(), |mut all, (key, verdict)| {
                all.insert(&key, verdict);
                all
            })
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::job::Item;

    #[test]
    fn every_item_at_every_corner_reads_back_and_is_replaced_in_place() {
        let mut verdicts = Verdicts::default();
        let keys: Vec<String> = ["FL", "FR", "3L", "front", "vehicle"]
            .iter()
            .flat_map(|place| Item::ALL.iter().map(move |item| format!("{place} {item}")))
            .collect();
        for round in 0..2 {
            for (n, key) in keys.iter().enumerate() {
                verdicts.insert(key, LETTERS[(n + round) % 5].1);
            }
            for (n, key) in keys.iter().enumerate() {
                assert_eq!(verdicts.get(key), Some(LETTERS[(n + round) % 5].1), "{key}");
            }
        }
        assert_eq!(verdicts.0.matches('|').count(), keys.len());
        assert_eq!(verdicts.get(""), None);
    }
}
