//! The text form of a situation.
//!
//! ```text
//! @ NAME            a starting state: the commands below are run once and the folder is copied
//! = TITLE           a situation; what follows belongs to it
//! why: TEXT         why an examiner answers as the lines below say
//! use: STATE        what it starts from; nothing means an empty folder
//! omit: WORDS; …    commands of the states holding all these words are left out
//! $ COMMAND         run; `{A,B}` runs it for A and for B; `{folder}` is not known here
//! 1$ …   2$ …       two commands whose order must not matter: the situation is run both ways
//! ! CODE            the exit code of the command above, when it is not 0; `any` for any
//! * NAME            the commands of another state, without what that one starts from
//! | LINE            typed to the command above, or a line of the file above
//! > FILE            a file is written with the lines that follow
//! % FILE            … every `OLD => NEW` line that follows is replaced in it
//! ? WHAT = A / B    asked of `verdict J --json`; also `!=`, `~` and `!~` (holds, holds not), `= 5337 ± 1`
//! ~ TEXT   !~ TEXT  what the command above printed holds, or does not hold, this text
//! ```
//!
//! WHAT is `verdict`, `as_found`, `as_left`, `drive`, `drive.FIELD`, or `PLACE ITEM found|left`, with
//! `.FIELD` after it for one field of the finding. A finding reads `FAIL stop`, `PASS`, `absent` …

use std::collections::BTreeMap;

/// One step of a script.
#[derive(Clone, Debug)]
pub(crate) enum Step {
    Run {
        line: usize,
        args: Vec<String>,
        typed: String,
        /// Nothing means any.
        code: Option<i32>,
        /// 1 or 2 for the commands that change places, else 0.
        place: u8,
    },
    Include {
        state: String,
        /// The exit code of its commands, where another than theirs is allowed.
        code: Option<Option<i32>>,
    },
    Write {
        path: String,
        text: String,
    },
    Edit {
        line: usize,
        path: String,
        changes: Vec<(String, String)>,
    },
    Ask {
        line: usize,
        what: String,
        sign: String,
        value: String,
    },
    Says {
        line: usize,
        text: String,
        wanted: bool,
    },
}

/// A starting state or a situation.
#[derive(Clone, Debug, Default)]
pub(crate) struct Script {
    pub(crate) file: String,
    pub(crate) line: usize,
    pub(crate) title: String,
    pub(crate) why: String,
    pub(crate) uses: String,
    pub(crate) omit: Vec<Vec<String>>,
    pub(crate) steps: Vec<Step>,
}

impl Script {
    /// Whether two of its commands change places.
    pub(crate) fn swaps(&self) -> bool {
        self.steps
            .iter()
            .any(|step| matches!(step, Step::Run { place: 1.., .. }))
    }

    /// The steps with the two marked commands in each other's place.
    pub(crate) fn swapped(&self) -> Vec<Step> {
        let marked = |n: u8| {
            self.steps
                .iter()
                .filter(move |step| matches!(step, Step::Run { place, .. } if *place == n))
        };
        let (mut first, mut second) = (marked(1), marked(2));
        self.steps
            .iter()
            .filter_map(|step| match step {
                Step::Run { place: 1, .. } => second.next().cloned(),
                Step::Run { place: 2, .. } => first.next().cloned(),
                other => Some(other.clone()),
            })
            .collect()
    }
}

/// States by name, and situations in order.
#[derive(Debug, Default)]
pub(crate) struct Book {
    pub(crate) states: BTreeMap<String, Script>,
    pub(crate) situations: Vec<Script>,
}

impl Book {
    pub(crate) fn read(files: &[(String, String)]) -> Self {
        let mut book = Self::default();
        for (file, text) in files {
            book.take(file, text);
        }
        let parts: BTreeMap<String, Vec<Step>> = book
            .states
            .iter()
            .map(|(name, state)| (name.clone(), state.steps.clone()))
            .collect();
        for script in book.states.values_mut().chain(&mut book.situations) {
            script.steps = unfolded(&script.steps, &parts);
        }
        book
    }

    fn take(&mut self, file: &str, text: &str) {
        let mut open: Option<(bool, Script)> = None;
        for (line, text) in (1..).zip(text.lines()) {
            let at = || format!("{file}:{line}: {text}");
            let Some((mark, rest)) = split(text) else {
                continue;
            };
            if matches!(mark, "@" | "=") {
                self.close(open.take());
                let script = Script {
                    file: file.to_owned(),
                    line,
                    title: rest.to_owned(),
                    ..Script::default()
                };
                open = Some((mark == "@", script));
                continue;
            }
            let (_, script) = open.as_mut().unwrap_or_else(|| panic!("{}", at()));
            add(script, line, mark, rest).unwrap_or_else(|| panic!("{}", at()));
        }
        self.close(open);
    }

    fn close(&mut self, open: Option<(bool, Script)>) {
        match open {
            Some((true, state)) => {
                let name = state.title.clone();
                let known = self.states.insert(name, state);
                assert!(known.is_none(), "a state twice: {known:?}");
            }
            Some((false, situation)) => self.situations.push(situation),
            None => {}
        }
    }
}

/// Steps with the commands of other states in the places where these are named.
fn unfolded(steps: &[Step], parts: &BTreeMap<String, Vec<Step>>) -> Vec<Step> {
    let one = |step: &Step| match step {
        Step::Include { state, code: other } => {
            let part = parts.get(state);
            let part = part.unwrap_or_else(|| panic!("no state `{state}`"));
            let mut steps = unfolded(part, parts);
            for step in &mut steps {
                if let (Step::Run { code, .. }, Some(other)) = (step, other) {
                    *code = *other;
                }
            }
            steps
        }
        other => vec![other.clone()],
    };
    steps.iter().flat_map(one).collect()
}

/// The mark of a line and what stands after it; nothing for an empty line or a remark.
fn split(text: &str) -> Option<(&str, &str)> {
    let text = text.trim_end();
    if text.is_empty() || text.starts_with('#') {
        return None;
    }
    let (mark, rest) = text.split_once(' ').unwrap_or((text, ""));
    Some((mark, rest))
}

fn add(script: &mut Script, line: usize, mark: &str, rest: &str) -> Option<()> {
    match mark {
        "why:" => {
            if !script.why.is_empty() {
                script.why.push(' ');
            }
            script.why.push_str(rest);
        }
        "use:" => script.uses = rest.trim().to_owned(),
        "omit:" => {
            let words = |entry: &str| entry.split_whitespace().map(str::to_owned).collect();
            script.omit.extend(rest.split(';').map(words));
        }
        "$" | "1$" | "2$" => {
            let place = mark.trim_end_matches('$').parse().unwrap_or(0);
            for text in braces(rest) {
                script.steps.push(Step::Run {
                    line,
                    args: words(&text)?,
                    typed: String::new(),
                    code: Some(0),
                    place,
                });
            }
        }
        "!" => match script.steps.last_mut()? {
            Step::Run { code, .. } => *code = exit_code(rest)?,
            Step::Include { code, .. } => *code = Some(exit_code(rest)?),
            _ => return None,
        },
        "*" => script.steps.push(Step::Include {
            state: rest.trim().to_owned(),
            code: None,
        }),
        "|" => match script.steps.last_mut()? {
            Step::Run { typed: text, .. } | Step::Write { text, .. } => {
                text.push_str(rest);
                text.push('\n');
            }
            Step::Edit { changes, .. } => {
                let (old, new) = rest.split_once(" => ")?;
                changes.push((old.to_owned(), new.to_owned()));
            }
            _ => return None,
        },
        ">" => script.steps.push(Step::Write {
            path: rest.trim().to_owned(),
            text: String::new(),
        }),
        "%" => script.steps.push(Step::Edit {
            line,
            path: rest.trim().to_owned(),
            changes: Vec::new(),
        }),
        "?" => {
            let sign = ["!=", "=", "!~", "~"]
                .into_iter()
                .filter_map(|sign| Some((rest.find(&format!(" {sign} "))?, sign)))
                .min()?;
            script.steps.push(Step::Ask {
                line,
                what: rest[..sign.0].trim().to_owned(),
                sign: sign.1.to_owned(),
                value: rest[sign.0 + sign.1.len() + 2..].trim().to_owned(),
            });
        }
        "~" | "!~" => script.steps.push(Step::Says {
            line,
            text: rest.to_owned(),
            wanted: mark == "~",
        }),
        _ => return None,
    }
    Some(())
}

fn exit_code(text: &str) -> Option<Option<i32>> {
    match text.trim() {
        "any" => Some(None),
        number => number.parse().ok().map(Some),
    }
}

/// `a {b,c} d` as `a b d` and `a c d`.
fn braces(text: &str) -> Vec<String> {
    let parts = || {
        let (before, rest) = text.split_once('{')?;
        let (inside, after) = rest.split_once('}')?;
        Some((before, inside, after))
    };
    let Some((before, inside, after)) = parts() else {
        return vec![text.to_owned()];
    };
    inside
        .split(',')
        .flat_map(|one| braces(&format!("{before}{one}{after}")))
        .collect()
}

/// Words as a shell takes them, with double quotes alone.
pub(crate) fn words(text: &str) -> Option<Vec<String>> {
    let mut words = Vec::new();
    let (mut word, mut any, mut quoted) = (String::new(), false, false);
    for c in text.chars() {
        match c {
            '"' => (quoted, any) = (!quoted, true),
            ' ' if !quoted => {
                if any {
                    words.push(std::mem::take(&mut word));
                }
                any = false;
            }
            c => {
                word.push(c);
                any = true;
            }
        }
    }
    if any {
        words.push(word);
    }
    (!quoted).then_some(words)
}
