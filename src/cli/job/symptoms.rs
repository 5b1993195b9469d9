//! The symptoms of a complaint: those named, and those its words stand for.

use super::{Open, Wanted};
use crate::cli::World;
use crate::cli::error::{Failure, Hint as _};
use crate::job::{Event, Place, Symptom, SymptomWords};
use crate::shop::folder::Workshop;
use crate::spec::builtin_words;

/// What a complaint comes to.
pub(super) struct Complaint {
    pub(super) symptoms: Vec<Symptom>,
    /// Those nobody named.
    pub(super) from_words: Vec<Symptom>,
    /// Words that somebody said are no symptom.
    pub(super) refused: Vec<Event>,
}

/// The symptoms named, and those in the complaint's words: asked on a terminal, taken without one.
/// A symptom too many costs a deeper look; one too few judges the vehicle without its complaint.
pub(super) fn of_complaint(
    open: &Open,
    shop: &Workshop,
    world: &mut World<'_>,
) -> Result<Complaint, Failure> {
    let refuses = open.symptom.contains(&Wanted::None);
    if refuses && open.symptom.len() > 1 {
        return Err(Failure::from("--symptom none stands alone")
            .hint("name the symptoms, or refuse them all; nothing was written"));
    }
    let mut complaint = Complaint {
        symptoms: Vec::new(),
        from_words: Vec::new(),
        refused: Vec::new(),
    };
    for wanted in &open.symptom {
        if let Wanted::Symptom(symptom) = wanted
            && !complaint.symptoms.contains(symptom)
        {
            complaint.symptoms.push(*symptom);
        }
    }
    for list in lists(shop)? {
        for named in list.named_in(&open.complaint) {
            if complaint.symptoms.contains(&named.symptom) {
                continue;
            }
            let word = word(named.symptom);
            let question = format!("the complaint says `{}`: is it {word}?", named.words);
            let answer = match refuses {
                true => Some(false),
                false => asked(&question, open.confirm, world)?,
            };
            if answer == Some(false) {
                let by = if refuses { "--symptom none" } else { "no" };
                complaint.refused.push(Event::Note {
                    place: Place::Vehicle,
                    item: None,
                    text: format!("asked: {question}; answered: {by}"),
                });
                continue;
            }
            complaint.symptoms.push(named.symptom);
            if answer.is_none() {
                complaint.from_words.push(named.symptom);
                writeln!(
                    world.err,
                    "note: the complaint says `{}`: taken as {word}, from words, because that is the safe side, also behind a `no` or `not`; --symptom none refuses it",
                    named.words
                )?;
            }
        }
    }
    Ok(complaint)
}

/// The workshop's own lists, then the built-in ones.
fn lists(shop: &Workshop) -> Result<Vec<SymptomWords>, Failure> {
    let own = shop.own_specs("words")?;
    let built_in = builtin_words().iter().map(|(_, text)| (*text).to_owned());
    let own = own.into_iter().map(|one| {
        let name = one.name;
        SymptomWords::parse(&one.text?)
            .map_err(|why| Failure::from(format!("specs/words/{name}.toml: {why}")))
            .hint("correct it, or move it away; nothing was written")
    });
    let built_in = built_in.map(|text| SymptomWords::parse(&text).map_err(Failure::from));
    own.chain(built_in).collect()
}

fn word(symptom: Symptom) -> String {
    let value = serde_json::to_value(symptom).ok();
    let word = value.as_ref().and_then(serde_json::Value::as_str);
    word.unwrap_or_default().to_owned()
}

/// Asks on a terminal; `None` when nobody said yes or no.
fn asked(question: &str, yes: bool, world: &mut World<'_>) -> Result<Option<bool>, Failure> {
    if yes || !world.input_is_terminal {
        return Ok(None);
    }
    write!(
        world.err,
        "? {question} (yes/no; without an answer it is taken) "
    )?;
    world.err.flush()?;
    let mut line = String::new();
    world.input.read_line(&mut line)?;
    Ok(match line.trim().to_lowercase().as_str() {
        "y" | "yes" => Some(true),
        "n" | "no" => Some(false),
        _ => None,
    })
}
