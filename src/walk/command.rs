//! One line, one answer: what a typed or sent line means.

use crate::job::Corner;

/// What a line says.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Line {
    /// Nothing, or only white space.
    Empty,
    /// Values, or a digit of a list: begins like a number.
    Values(Vec<String>),
    /// A single minus: not inspected; the reason follows, or is asked for.
    NotInspected(String),
    /// A command word with its rest.
    Command(Command),
    /// A word that is no command.
    Unknown(String),
    /// A word that begins several commands.
    Ambiguous(String, Vec<&'static str>),
}

/// Words that work at every prompt.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Command {
    /// Strike one's own last entry at the corner at hand, or at the corner named.
    Undo(String),
    /// Strike the ring that is being taken and begin it again.
    Redo,
    /// The item cannot be inspected, for this reason.
    Skip(String),
    /// A remark.
    Note(String),
    /// Go to a corner.
    Go(Corner),
    /// Show where things stand.
    Show,
    /// Say why this step is done, and how.
    Why,
    /// List the commands.
    Help,
    /// Stop here; the walk goes on later.
    Quit,
    /// Use another instrument.
    Use(String),
    /// A part was fitted: `fitted RL pads 12345`.
    Fitted(String),
    /// Something was done: `work RR cleaned seat`.
    Work(String),
    /// The limit cast on this disc or drum.
    Cast(String),
    /// Answer the step before this one anew.
    Back,
    /// Take one point of the ring again.
    Retake(String),
    /// Add a photo: a path, or the newest of the inbox.
    Photo(String),
    /// Who holds the gauge from now on; empty for the next person.
    Who(String),
    /// A second person reads the last value blind.
    Second,
    /// A streaming dial gives one slow turn.
    Sweep,
    /// The dial passed its zero: the value put right is meant.
    Past,
    /// An instrument fell; empty for the one at hand.
    Dropped(String),
    /// Yes.
    Yes,
    /// No, with an optional reason.
    No(String),
}

/// Every command word.
pub const WORDS: &[&str] = &[
    "back", "cast", "dropped", "fitted", "go", "help", "no", "note", "past", "photo", "quit",
    "redo", "retake", "second", "show", "skip", "sweep", "undo", "use", "who", "why", "work",
    "yes",
];

/// Reads a line. Words may be shortened while they stay unambiguous; a line that begins with a
/// digit, a sign or a decimal mark is never a command.
///
/// # Examples
/// ```
/// use brakecorner::walk::{Command, Line, read_line};
/// assert_eq!(read_line("24,308 24.309"), Line::Values(vec!["24,308".into(), "24.309".into()]));
/// assert_eq!(read_line("u"), Line::Ambiguous("u".into(), vec!["undo", "use"]));
/// assert_eq!(read_line("und"), Line::Command(Command::Undo(String::new())));
/// ```
#[must_use]
pub fn read_line(line: &str) -> Line {
    let line = line.trim();
    if line.is_empty() {
        return Line::Empty;
    }
    if let Some(rest) = line.strip_prefix('-')
        && (rest.is_empty() || rest.starts_with([' ', '\t']))
    {
        return Line::NotInspected(rest.trim().to_owned());
    }
    // One key of the numeric pad: the other person takes the gauge.
    if line == "*" {
        return Line::Command(Command::Who(String::new()));
    }
    let begins_number =
        |c: char| c.is_ascii_digit() || matches!(c, '+' | '-' | '.' | ',' | '/' | '\u{2212}');
    if line.starts_with(begins_number) {
        return Line::Values(values(line));
    }
    let (word, rest) = line.split_once(char::is_whitespace).unwrap_or((line, ""));
    let word = word.to_lowercase();
    let rest = rest.trim().to_owned();
    let exact = WORDS.iter().find(|known| **known == word).copied();
    let matching: Vec<&str> = WORDS
        .iter()
        .copied()
        .filter(|w| w.starts_with(&word))
        .collect();
    let word = match (exact, word.as_str(), matching.as_slice()) {
        (Some(word), ..) => word,
        // "n" answers a question; "note" needs its own letters.
        (None, "n", _) => "no",
        (None, _, [one]) => one,
        (None, _, []) => return Line::Unknown(line.to_owned()),
        (None, _, many) => return Line::Ambiguous(word, many.to_vec()),
    };
    Line::Command(match word {
        "undo" => Command::Undo(rest),
        "redo" => Command::Redo,
        "skip" => Command::Skip(rest),
        "note" => Command::Note(rest),
        "show" => Command::Show,
        "why" => Command::Why,
        "help" => Command::Help,
        "quit" => Command::Quit,
        "use" => Command::Use(rest),
        "fitted" => Command::Fitted(rest),
        "work" => Command::Work(rest),
        "cast" => Command::Cast(rest),
        "back" => Command::Back,
        "retake" => Command::Retake(rest),
        "photo" => Command::Photo(rest),
        "who" => Command::Who(rest),
        "second" => Command::Second,
        "sweep" => Command::Sweep,
        "past" => Command::Past,
        "dropped" => Command::Dropped(rest),
        "yes" => Command::Yes,
        "no" => Command::No(rest),
        _ => match rest.parse() {
            Ok(corner) => Command::Go(corner),
            Err(_) => return Line::Unknown(line.to_owned()),
        },
    })
}

/// The command of a line where free words are an answer too: its word in full, and nothing behind
/// a word that takes nothing.
///
/// # Examples
/// ```
/// use brakecorner::walk::{Command, command_among_words};
/// assert_eq!(command_among_words("undo"), Some(Command::Undo(String::new())));
/// assert_eq!(command_among_words("note wheels in the rack"), Some(Command::Note("wheels in the rack".into())));
/// assert_eq!(command_among_words("second bay, on stands"), None);
/// assert_eq!(command_among_words("not moved"), None);
/// ```
#[must_use]
pub fn command_among_words(line: &str) -> Option<Command> {
    let (word, rest) = line
        .trim()
        .split_once(char::is_whitespace)
        .unwrap_or((line.trim(), ""));
    if !WORDS.contains(&word.to_lowercase().as_str()) {
        return None;
    }
    let Line::Command(command) = read_line(line) else {
        return None;
    };
    let takes_more = matches!(
        command,
        Command::Undo(_)
            | Command::Skip(_)
            | Command::Note(_)
            | Command::Go(_)
            | Command::Use(_)
            | Command::Fitted(_)
            | Command::Cast(_)
            | Command::Retake(_)
            | Command::Photo(_)
            | Command::Who(_)
            | Command::Dropped(_)
    );
    (takes_more || rest.trim().is_empty()).then_some(command)
}

/// The values of a line: separated by blanks, a unit may follow its number after a blank, and a
/// lone slash stands for itself.
pub(crate) fn values(line: &str) -> Vec<String> {
    let mut values: Vec<String> = Vec::new();
    for token in line.replace('/', " / ").split_whitespace() {
        let unit = token.starts_with(|c: char| c.is_alphabetic() || matches!(c, 'µ' | '°' | '"'));
        match values.last_mut() {
            Some(last) if unit && last != "/" => {
                last.push(' ');
                last.push_str(token);
            }
            _ => values.push(token.to_owned()),
        }
    }
    values
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn a_unit_stays_with_its_number_and_a_slash_stands_alone() {
        assert_eq!(
            read_line("0.8665 in 22.01mm"),
            Line::Values(vec!["0.8665 in".into(), "22.01mm".into()])
        );
        assert_eq!(
            read_line("5.2 5.1/5.4 5.4"),
            Line::Values(["5.2", "5.1", "/", "5.4", "5.4"].map(String::from).to_vec())
        );
    }

    #[test]
    fn a_minus_alone_means_not_inspected_and_a_negative_reading_stays_a_reading() {
        assert_eq!(
            read_line("- shield in the way"),
            Line::NotInspected("shield in the way".into())
        );
        assert_eq!(read_line("-0.019"), Line::Values(vec!["-0.019".into()]));
    }

    #[test]
    fn words_may_be_shortened_while_unambiguous() {
        assert_eq!(
            read_line("sk broken"),
            Line::Command(Command::Skip("broken".into()))
        );
        assert_eq!(read_line("Q"), Line::Command(Command::Quit));
        assert_eq!(read_line("n"), Line::Command(Command::No(String::new())));
        assert_eq!(
            read_line("go fr"),
            Line::Command(Command::Go("FR".parse().unwrap()))
        );
        assert!(matches!(read_line("s"), Line::Ambiguous(_, words) if words.contains(&"show")));
        assert!(matches!(read_line("banana"), Line::Unknown(_)));
    }

    proptest! {
        #[test]
        fn no_reading_is_ever_taken_for_a_command(
            number in "[-+]?[0-9]{1,3}([.,][0-9]{0,4})?( ?(mm|in))?"
        ) {
            let line = read_line(&number);
            prop_assert!(matches!(line, Line::Values(_)), "{:?}", line);
        }

        #[test]
        fn no_line_panics(line in ".{0,60}") {
            let _ = read_line(&line);
        }
    }
}
