//! Runs scripts through the program, each in a folder of its own.

use std::collections::HashMap;
use std::path::PathBuf;
use std::sync::atomic::{AtomicUsize, Ordering};
use std::sync::{Arc, Mutex, OnceLock};

use serde_json::Value;

use crate::common::{Said, Yard, copy};
use crate::script::{Book, Script, Step};

/// The job every situation is about.
pub(crate) const JOB: &str = "J";

/// A yard that a script has made, or how it failed; made once.
type Made = Arc<OnceLock<Result<(tempfile::TempDir, PathBuf), String>>>;

/// Runs scripts on starting states, each of which is made once.
pub(crate) struct Runner<'a> {
    book: &'a Book,
    states: Mutex<HashMap<String, Made>>,
}

impl<'a> Runner<'a> {
    pub(crate) fn new(book: &'a Book) -> Self {
        Self {
            book,
            states: Mutex::default(),
        }
    }

    /// Runs a situation, both ways where two commands are marked; what did not come as expected.
    pub(crate) fn situation(&self, situation: &Script) -> Vec<String> {
        let mut wrong = self.once(situation, &situation.steps);
        if situation.swaps() {
            let other = self.once(situation, &situation.swapped());
            wrong.extend(other.into_iter().map(|w| format!("(other order) {w}")));
        }
        wrong
    }

    fn once(&self, situation: &Script, steps: &[Step]) -> Vec<String> {
        match self.yard(&situation.uses, &situation.omit) {
            Ok(yard) => play(&yard, steps),
            Err(error) => vec![error],
        }
    }

    /// A yard in a named state, without the commands to be left out.
    pub(crate) fn yard(&self, state: &str, omit: &[Vec<String>]) -> Result<Yard, String> {
        let yard = Yard::empty();
        if state.is_empty() {
            return Ok(yard);
        }
        let script = self.book.states.get(state);
        let script = script.ok_or_else(|| format!("there is no state `{state}`"))?;
        let left_out = |step: &Step| match step {
            Step::Run { args, .. } => omit
                .iter()
                .any(|words| words.iter().all(|word| args.contains(word))),
            _ => false,
        };
        let key = format!("{state} {omit:?}");
        let made = self.states.lock().unwrap().entry(key).or_default().clone();
        let made = made.get_or_init(|| {
            let steps: Vec<Step> = script
                .steps
                .iter()
                .filter(|step| !left_out(step))
                .cloned()
                .collect();
            let yard = self.yard(&script.uses, omit)?;
            match play(&yard, &steps).first() {
                Some(error) => Err(format!("state {state}: {error}")),
                None => {
                    let kept = tempfile::tempdir().map_err(|e| e.to_string())?;
                    let path = kept.path().to_owned();
                    copy(yard.root(), &path);
                    Ok((kept, path))
                }
            }
        });
        match made {
            Ok((_, path)) => {
                copy(path, yard.root());
                Ok(yard)
            }
            Err(error) => Err(error.clone()),
        }
    }
}

/// Plays steps in a yard; what did not come as expected. A command that ends otherwise than it
/// should ends the script: what comes after it would say nothing.
pub(crate) fn play(yard: &Yard, steps: &[Step]) -> Vec<String> {
    let mut wrong = Vec::new();
    let mut last: Option<Said> = None;
    let mut verdict: Option<Value> = None;
    for step in steps {
        match step {
            Step::Run {
                line,
                args,
                typed,
                code,
                ..
            } => {
                let before = journal(yard);
                let said = run(yard, args, typed);
                if code.is_some() && said.code != *code {
                    let words = said.err.trim().replace('\n', "\n      ");
                    let command = args.join(" ");
                    wrong.push(format!(
                        "line {line}: `{command}` must end with {}, ended with {}\n      {words}",
                        shown(*code),
                        shown(said.code)
                    ));
                    return wrong;
                }
                if said.code == Some(2) && journal(yard) != before {
                    wrong.push(format!("line {line}: refused, but the journal has grown"));
                }
                (last, verdict) = (Some(said), None);
            }
            Step::Include { .. } => {} // unfolded when the book was read
            Step::Write { path, text } => {
                let path = yard.root().join(path);
                std::fs::create_dir_all(path.parent().unwrap()).unwrap();
                std::fs::write(path, text).unwrap();
                verdict = None;
            }
            Step::Edit {
                line,
                path,
                changes,
            } => {
                let path = yard.root().join(path);
                let mut text = std::fs::read_to_string(&path).unwrap();
                for (old, new) in changes {
                    if !text.contains(old) {
                        wrong.push(format!("line {line}: the file does not hold `{old}`"));
                    }
                    text = text.replace(old, new);
                }
                std::fs::write(path, text).unwrap();
                verdict = None;
            }
            Step::Ask {
                line,
                what,
                sign,
                value,
            } => {
                let json = verdict.get_or_insert_with(|| {
                    let json = asked(yard);
                    wrong.extend(overdriven(&json).map(|w| format!("line {line}: {w}")));
                    json
                });
                let actual = lookup(json, what);
                if !holds(&actual, sign, value) {
                    wrong.push(format!(
                        "line {line}: {what} must be {sign} {value}, is {actual}{}",
                        because(json, what)
                    ));
                }
            }
            Step::Says { line, text, wanted } => {
                let said = last.as_ref().map(|s| format!("{}\n{}", s.out, s.err));
                let said = said.unwrap_or_default();
                // Lines are wrapped for people; blanks are one.
                let flat = |text: &str| text.split_whitespace().collect::<Vec<_>>().join(" ");
                if flat(&said)
                    .to_lowercase()
                    .contains(&flat(text).to_lowercase())
                    != *wanted
                {
                    let must = if *wanted { "must" } else { "must not" };
                    let said: String = said.chars().take(600).collect();
                    wrong.push(format!("line {line}: {must} say `{text}`, said:\n{said}"));
                }
            }
        }
    }
    wrong
}

fn shown(code: Option<i32>) -> String {
    code.map_or_else(|| "a signal".to_owned(), |code| code.to_string())
}

fn journal(yard: &Yard) -> Option<Vec<u8>> {
    std::fs::read(yard.path(&format!("jobs/{JOB}/journal.jsonl"))).ok()
}

/// Runs one command; `--by` of its own replaces the usual person.
pub(crate) fn run(yard: &Yard, args: &[String], typed: &str) -> Said {
    let args: Vec<&str> = args.iter().map(String::as_str).collect();
    yard.typed(&args, typed)
}

/// The answer of `verdict --json`, or what it said instead.
pub(crate) fn asked(yard: &Yard) -> Value {
    let said = yard.run(&["verdict", JOB, "--json"]);
    serde_json::from_str(&said.out).unwrap_or_else(|_| Value::from(said.err))
}

/// Whether an answer lets the vehicle be driven against its own findings.
fn overdriven(json: &Value) -> Option<String> {
    let drive = json["drive"]["answer"].as_str()?;
    let groups = ["corners", "axles"]
        .into_iter()
        .filter_map(|group| json[group].as_object())
        .flat_map(|group| group.values())
        .chain([&json["vehicle"]]);
    for group in groups {
        let items = group["items"].as_array().into_iter().flatten();
        let items: Vec<&Value> = items.collect();
        for finding in &items {
            // As left, a later finding stands in the place of the found one.
            let later =
                |other: &&&Value| other["item"] == finding["item"] && other["phase"] == "as_left";
            if finding["phase"] == "as_found" && items.iter().any(|other| later(&other)) {
                continue;
            }
            let allowed: &[&str] = match short(finding).as_str() {
                "FAIL stop" => &["no"],
                fail if fail.starts_with("FAIL") => &["no", "not_yet"],
                _ => continue,
            };
            if !allowed.contains(&drive) {
                let (item, said) = (&finding["item"], short(finding));
                return Some(format!(
                    "the driving answer is {drive}, and {item} is {said}"
                ));
            }
        }
    }
    None
}

/// A finding in short: its verdict and urgency.
pub(crate) fn finding<'v>(
    json: &'v Value,
    place: &str,
    item: &str,
    state: &str,
) -> Option<&'v Value> {
    let group = match place {
        "vehicle" => &json["vehicle"],
        "front" | "rear" | "3" => &json["axles"][place],
        corner => &json["corners"][corner],
    };
    let items = group["items"].as_array()?;
    let of = |phase: &str| {
        items
            .iter()
            .find(|f| f["item"] == item && f["phase"] == phase)
    };
    match state {
        "left" => of("as_left").or_else(|| of("as_found")),
        _ => of("as_found"),
    }
}

fn short(finding: &Value) -> String {
    let verdict = finding["verdict"].as_str().unwrap_or("?");
    let urgency = match &finding["urgency"] {
        Value::String(word) => word.clone(),
        Value::Object(fields) => match fields.get("kind").and_then(Value::as_str) {
            Some(kind) => kind.to_owned(),
            None => "by".to_owned(),
        },
        _ => String::new(),
    };
    format!("{verdict} {urgency}").trim().to_owned()
}

fn plain(value: &Value) -> String {
    match value {
        Value::String(text) => text.clone(),
        Value::Null => "absent".to_owned(),
        other => other.to_string(),
    }
}

/// What an answer says about `what`.
pub(crate) fn lookup(json: &Value, what: &str) -> String {
    let words: Vec<&str> = what.split_whitespace().collect();
    match words[..] {
        [place, item, state] => {
            let (state, field) = state.split_once('.').unwrap_or((state, ""));
            match finding(json, place, item, state) {
                None => "absent".to_owned(),
                Some(found) if field.is_empty() => short(found),
                Some(found) => plain(&field.split('.').fold(found.clone(), |v, f| v[f].clone())),
            }
        }
        ["drive"] => plain(&json["drive"]["answer"]),
        [path] => plain(&path.split('.').fold(json.clone(), |v, f| v[f].clone())),
        _ => panic!("what is `{what}`?"),
    }
}

/// Whether an answer is as asked for.
fn holds(actual: &str, sign: &str, value: &str) -> bool {
    if let Some((middle, half)) = value.split_once(" ± ") {
        let numbers: Option<[f64; 3]> = [actual, middle, half]
            .iter()
            .map(|text| text.parse().ok())
            .collect::<Option<Vec<f64>>>()
            .and_then(|list| list.try_into().ok());
        return numbers.is_some_and(|[is, middle, half]| (is - middle).abs() <= half);
    }
    let one = |want: &str| {
        actual == want
            || (actual.starts_with(&format!("{want} ")) && want.chars().all(|c| !c.is_lowercase()))
    };
    let any = value.split(" / ").map(str::trim).any(one);
    match sign {
        "=" => any,
        "!=" => !any,
        "~" => actual.contains(value),
        _ => !actual.contains(value),
    }
}

/// Why the program answered as it did, for the list of what is wrong.
fn because(json: &Value, what: &str) -> String {
    let words: Vec<&str> = what.split_whitespace().collect();
    let said = match words[..] {
        [place, item, state] => {
            let state = state.split('.').next().unwrap_or_default();
            finding(json, place, item, state).map(|f| plain(&f["sentence"]))
        }
        _ if what.starts_with("drive") => Some(plain(&json["drive"]["because"])),
        _ => json.as_str().map(str::to_owned),
    };
    said.map(|said| format!("\n      ({})", said.chars().take(400).collect::<String>()))
        .unwrap_or_default()
}

/// Does all the work on as many threads as there are cores, and hands back what each gave, in order.
pub(crate) fn on_threads<T: Sync, R: Send>(work: &[T], one: impl Fn(&T) -> R + Sync) -> Vec<R> {
    let next = AtomicUsize::new(0);
    let results = Mutex::new(Vec::new());
    let threads = std::thread::available_parallelism().map_or(2, usize::from);
    std::thread::scope(|scope| {
        for _ in 0..threads {
            scope.spawn(|| {
                loop {
                    let index = next.fetch_add(1, Ordering::Relaxed);
                    let Some(task) = work.get(index) else { break };
                    let result = one(task);
                    results.lock().unwrap().push((index, result));
                }
            });
        }
    });
    let mut results = results.into_inner().unwrap();
    results.sort_by_key(|(index, _)| *index);
    results.into_iter().map(|(_, result)| result).collect()
}
