//! Words with colour, and text made safe for a terminal.

use crate::judge::{ItemVerdict, Verdict};
use crate::sheet::ascii::ascii;

/// How results are dressed.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Style {
    /// Use colour.
    pub(crate) colour: bool,
    /// Plain ASCII.
    pub(crate) plain: bool,
}

impl Style {
    /// A verdict's word with its shape, in colour when wanted; never colour alone.
    pub(crate) fn verdict(self, verdict: ItemVerdict) -> String {
        let (code, shape, ascii) = match verdict {
            ItemVerdict::Pass => ("34", "●", "o"),
            ItemVerdict::Advise => ("36;1", "◐", "~"),
            ItemVerdict::Fail => ("35;1", "✕", "X"),
            ItemVerdict::NotInspected | ItemVerdict::NoLimit => ("2", "○", "?"),
        };
        self.dressed(
            code,
            if self.plain { ascii } else { shape },
            &verdict.to_string(),
        )
    }

    /// The verdict of a corner, an axle or the vehicle.
    pub(crate) fn overall(self, verdict: Verdict) -> String {
        let (code, shape, ascii) = match verdict {
            Verdict::Pass => ("34", "●", "o"),
            Verdict::Advise => ("36;1", "◐", "~"),
            Verdict::Incomplete => ("2", "○", "?"),
            Verdict::Fail => ("35;1", "✕", "X"),
        };
        self.dressed(
            code,
            if self.plain { ascii } else { shape },
            &verdict.to_string(),
        )
    }

    fn dressed(self, code: &str, shape: &str, word: &str) -> String {
        if self.colour {
            format!("\u{1b}[{code}m{shape} {word}\u{1b}[0m")
        } else {
            format!("{shape} {word}")
        }
    }

    /// Many lines made safe, line by line.
    pub(crate) fn sheet(self, text: &str) -> String {
        text.lines().map(|line| self.text(line) + "\n").collect()
    }

    /// Text of people and files made safe for a terminal: no control characters, no bidirectional
    /// overrides, and in plain mode ASCII.
    pub(crate) fn text(self, text: &str) -> String {
        let safe: String = text
            .chars()
            .map(|c| if hidden(c) { '\u{fffd}' } else { c })
            .collect();
        if self.plain {
            ascii(&safe).replace('\u{a0}', " ")
        } else {
            safe
        }
    }
}

/// A number with its noun: `1 entry`, `2 entries`.
pub(crate) fn counted(number: usize, one: &str, more: &str) -> String {
    format!("{number} {}", if number == 1 { one } else { more })
}

/// A line broken at blanks so that no piece is wider than 79 columns; what follows is indented as
/// the line itself is, and two more.
pub(crate) fn wrapped(line: &str) -> Vec<String> {
    const WIDTH: usize = 79;
    if line.chars().count() <= WIDTH {
        return vec![line.to_owned()];
    }
    let indent = line.chars().take_while(|c| *c == ' ').count();
    let hang = " ".repeat((indent + 2).min(20));
    let mut lines: Vec<String> = vec![" ".repeat(indent)];
    for word in line.split_whitespace() {
        let Some(last) = lines.last_mut() else { break };
        let fresh = last.trim().is_empty();
        if !fresh && last.chars().count() + 1 + word.chars().count() > WIDTH {
            lines.push(format!("{hang}{word}"));
        } else {
            if !fresh {
                last.push(' ');
            }
            last.push_str(word);
        }
    }
    lines
}

/// A question broken like any line, its answer typed behind the last piece.
pub(crate) fn wrapped_question(question: &str) -> String {
    let lines = wrapped(question.trim_end());
    let end = question
        .get(question.trim_end().len()..)
        .unwrap_or_default();
    lines.join("\n") + end
}

/// Characters that change what a terminal shows without being seen.
fn hidden(c: char) -> bool {
    c.is_control()
        || matches!(c, '\u{200e}' | '\u{200f}' | '\u{202a}'..='\u{202e}' | '\u{2066}'..='\u{2069}')
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn escape_sequences_and_direction_marks_never_reach_the_terminal() {
        let style = Style {
            colour: false,
            plain: false,
        };
        assert_eq!(style.text("a\u{1b}[2Jb\u{202e}c"), "a\u{fffd}[2Jb\u{fffd}c");
    }

    #[test]
    fn long_lines_are_broken_at_blanks_and_keep_their_indent() {
        let lines = wrapped(&format!("  caution: {}", "word ".repeat(30)));
        assert!(
            lines.iter().all(|line| line.chars().count() <= 79),
            "{lines:?}"
        );
        assert!(lines[0].starts_with("  caution: word") && lines[1].starts_with("    word"));
        assert_eq!(wrapped("short"), ["short"]);
    }

    #[test]
    fn without_colour_a_verdict_is_still_a_word_and_a_shape() {
        let style = Style {
            colour: false,
            plain: true,
        };
        assert_eq!(style.verdict(ItemVerdict::Fail), "X FAIL");
    }

    #[test]
    fn a_long_line_is_broken_between_words_and_loses_none() {
        let line = "slip: ".to_owned() + &"anvils ".repeat(40);
        let pieces = wrapped(&line);
        assert!(
            pieces.iter().all(|piece| piece.chars().count() <= 79),
            "{pieces:?}"
        );
        let words = |text: &str| text.split_whitespace().count();
        assert_eq!(
            pieces.iter().map(|piece| words(piece)).sum::<usize>(),
            words(&line)
        );
        assert_eq!(wrapped("  stud    1    2"), ["  stud    1    2"]);
    }
}
