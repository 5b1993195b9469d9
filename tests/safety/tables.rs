//! Tables over every item: every transition to "as left", and every two sets in both orders.

use crate::common::Yard;
use crate::run::{JOB, Runner, asked, lookup, run};
use crate::script::words;

/// One row of `transitions.txt`.
#[derive(Debug)]
pub(crate) struct Transition {
    state: String,
    place: String,
    item: String,
    found: Vec<String>,
    verdict: String,
    works: Vec<String>,
    left: Vec<String>,
}

pub(crate) fn transitions() -> Vec<Transition> {
    let mut state = String::new();
    let mut rows = Vec::new();
    for line in lines(include_str!("transitions.txt")) {
        if let Some(name) = line.strip_prefix("$ ") {
            name.clone_into(&mut state);
            continue;
        }
        let mut parts = line.split('|').map(str::trim);
        let head = words(parts.next().unwrap()).unwrap();
        let works = parts.next().unwrap_or_else(|| panic!("{line}"));
        let left = parts.next().unwrap_or("sound");
        let [item, found, verdict @ ..] = &head[..] else {
            panic!("{line}")
        };
        let look = found.starts_with(|c: char| c.is_ascii_lowercase()) && !found.contains('=');
        let place = match item.as_str() {
            item if item.starts_with("fluid.") || item.starts_with("brake.") => "vehicle",
            "cylinder.leak" | "drum.diameter" | "linings.thickness" => "RL",
            _ => "FL",
        };
        let found = if look {
            vec!["defect".to_owned(), found.clone()]
        } else {
            words(found).unwrap()
        };
        rows.push(Transition {
            state: state.clone(),
            place: place.to_owned(),
            item: item.clone(),
            found,
            verdict: verdict.join(" "),
            works: works
                .split(';')
                .map(|work| work.trim().to_owned())
                .filter(|work| work != "-")
                .collect(),
            left: words(left).unwrap(),
        });
    }
    rows
}

fn lines(text: &str) -> impl Iterator<Item = &str> {
    text.lines()
        .map(str::trim)
        .filter(|line| !line.is_empty() && !line.starts_with('#'))
}

fn log(yard: &Yard, place: &str, item: &str, values: &[String], options: &[&str]) -> Option<i32> {
    let mut args: Vec<String> = ["log", JOB, place, item].map(str::to_owned).into();
    args.extend_from_slice(values);
    args.extend(options.iter().map(|&option| option.to_owned()));
    // A disc's temperature is known, so that it decides nothing.
    if item == "disc.thickness" && !args.iter().any(|arg| arg == "--temperature") {
        args.extend(["--temperature", "20"].map(str::to_owned));
    }
    run(yard, &args, "").code
}

fn work(yard: &Yard, work: &str) -> Result<(), String> {
    let mut args: Vec<String> = ["work", JOB].map(str::to_owned).into();
    args.extend(words(work).unwrap());
    let said = run(yard, &args, "");
    if said.code == Some(0) {
        return Ok(());
    }
    let line = said.err.lines().next().unwrap_or_default().to_owned();
    Err(format!("`work {work}`: {line}"))
}

/// How grave a finding is.
fn rank(short: &str) -> u8 {
    match short.split_whitespace().collect::<Vec<_>>()[..] {
        ["PASS", ..] => 0,
        ["ADVISE", ..] => 1,
        ["FAIL", "stop"] => 4,
        ["FAIL", ..] => 3,
        _ => 2,
    }
}

/// Tries one row: what it is found to be, what it is as left without and with each cause.
pub(crate) fn tried(runner: &Runner<'_>, row: &Transition) -> Vec<String> {
    let mut wrong = Vec::new();
    let (place, item) = (row.place.as_str(), row.item.as_str());
    let what = |state: &str| format!("{place} {item} {state}");
    let name = format!("{place} {item} {}", row.found.join(" "));
    let mut fresh = || -> Option<Yard> {
        let yard = runner.yard(&row.state, &[]).unwrap();
        match log(&yard, place, item, &row.found, &["--confirm"]) {
            Some(0) => Some(yard),
            _ => {
                wrong.push(format!("{name}: is not taken by `log`"));
                None
            }
        }
    };
    let Some(yard) = fresh() else {
        return wrong;
    };
    let answer = asked(&yard);
    let found = lookup(&answer, &what("found"));
    let expected = |is: &str| {
        row.verdict
            .split(" / ")
            .any(|v| is == v || is.starts_with(&format!("{v} ")))
    };
    if !expected(&found) {
        wrong.push(format!("{name}: must be {}, is {found}", row.verdict));
    }
    // Never better than the table says, whatever the program makes of it as found.
    let stays = |yard: &Yard, cause: &str| {
        let answer = asked(yard);
        let left = lookup(&answer, &what("left"));
        let mut wrong = Vec::new();
        if !expected(&left) {
            wrong.push(format!(
                "{name}, {cause}: must stay {}, is {left}",
                row.verdict
            ));
        }
        let drive = lookup(&answer, "drive");
        let unfit = match rank(&row.verdict) {
            4 => drive != "no",
            3 => !matches!(drive.as_str(), "no" | "not_yet"),
            _ => false,
        };
        if unfit {
            wrong.push(format!("{name}, {cause}: it is driven: {drive}"));
        }
        wrong
    };
    if log(&yard, place, item, &row.left, &["--as-left"]) != Some(2) {
        wrong.push(format!(
            "{name}: as left without a cause is not asked about"
        ));
    }
    log(&yard, place, item, &row.left, &["--as-left", "--confirm"]);
    wrong.extend(stays(&yard, "no cause"));
    let elsewhere = if place == "vehicle" {
        "FL secured wire"
    } else {
        "FR secured wire"
    };
    let yard = runner.yard(&row.state, &[]).unwrap();
    log(&yard, place, item, &row.found, &["--confirm"]);
    match work(&yard, elsewhere) {
        Ok(()) => {
            log(&yard, place, item, &row.left, &["--as-left", "--confirm"]);
            wrong.extend(stays(&yard, "work elsewhere"));
        }
        Err(error) => wrong.push(format!("{name}: {error}")),
    }
    for cause in &row.works {
        let yard = runner.yard(&row.state, &[]).unwrap();
        log(&yard, place, item, &row.found, &["--confirm"]);
        if let Err(error) = work(&yard, cause) {
            wrong.push(format!("{name}: {error}"));
            continue;
        }
        let before = lookup(&asked(&yard), &what("left"));
        if rank(&before) < 2 {
            wrong.push(format!(
                "{name}, {cause}: before it is looked at again: {before}"
            ));
        }
        if log(&yard, place, item, &row.left, &["--as-left"]) != Some(0) {
            wrong.push(format!("{name}, {cause}: the new look is not taken"));
            continue;
        }
        let answer = asked(&yard);
        let left = lookup(&answer, &what("left"));
        if rank(&left) > 0 {
            wrong.push(format!("{name}, {cause}: must be PASS, is {left}"));
        }
        let found = lookup(&answer, &what("found"));
        if !expected(&found) {
            wrong.push(format!("{name}, {cause}: as found it became {found}"));
        }
    }
    wrong
}

/// Defect codes that `log` takes for the items of the table and the table does not have, and the other
/// way round.
pub(crate) fn codes_not_listed(runner: &Runner<'_>, rows: &[Transition]) -> Vec<String> {
    let mut wrong = Vec::new();
    let mut items: Vec<(&str, &str, &str)> = rows
        .iter()
        .map(|row| (row.item.as_str(), row.place.as_str(), row.state.as_str()))
        .collect();
    items.sort_unstable();
    items.dedup();
    for (item, place, state) in items {
        let yard = runner.yard(state, &[]).unwrap();
        let args = ["log", JOB, place, item, "defect", "no_such_defect"].map(str::to_owned);
        let said = run(&yard, &args, "");
        let text = said.err.split_whitespace().collect::<Vec<_>>().join(" ");
        let Some((_, list)) = text.split_once(&format!("defects of {item}: ")) else {
            continue;
        };
        for code in list.split(", ") {
            let code = code.split_whitespace().next().unwrap_or_default();
            let listed = |row: &&Transition| row.item == item && row.found[1..] == [code];
            if !rows.iter().any(|row| listed(&row)) {
                wrong.push(format!("{item} {code} is not in the table"));
            }
        }
    }
    wrong
}

/// A set of readings of `pairs.txt`.
#[derive(Clone, Debug)]
pub(crate) struct Set {
    kind: String,
    values: Vec<String>,
}

/// The sets of one item.
#[derive(Debug)]
pub(crate) struct Sets {
    state: String,
    place: String,
    item: String,
    sets: Vec<Set>,
}

pub(crate) fn pairs() -> Vec<Sets> {
    let mut all: Vec<Sets> = Vec::new();
    for line in lines(include_str!("pairs.txt")) {
        let list = words(line).unwrap();
        match (&list[..], all.last_mut()) {
            ([mark, state, place, item], _) if mark == "$" => all.push(Sets {
                state: state.clone(),
                place: place.clone(),
                item: item.clone(),
                sets: Vec::new(),
            }),
            ([kind, values @ ..], Some(sets)) => sets.sets.push(Set {
                kind: kind.clone(),
                values: values.to_vec(),
            }),
            _ => panic!("{line}"),
        }
    }
    all
}

/// A yard with gauges that are out of calibration beside the good ones.
fn with_old_gauges(runner: &Runner<'_>, state: &str) -> Yard {
    runner.yard(&format!("{state}-old-gauges"), &[]).unwrap()
}

/// Logs sets in their order; the finding in short.
fn of_sets(runner: &Runner<'_>, sets: &Sets, order: &[&Set]) -> String {
    let yard = with_old_gauges(runner, &sets.state);
    for set in order {
        log(&yard, &sets.place, &sets.item, &set.values, &["--confirm"]);
    }
    lookup(
        &asked(&yard),
        &format!("{} {} found", sets.place, sets.item),
    )
}

/// Every two sets of an item in both orders.
pub(crate) fn both_orders(runner: &Runner<'_>, sets: &Sets) -> Vec<String> {
    let name = format!("{} {}", sets.place, sets.item);
    let alone: Vec<String> = sets
        .sets
        .iter()
        .map(|set| of_sets(runner, sets, &[set]))
        .collect();
    let mut wrong = Vec::new();
    for (set, is) in sets.sets.iter().zip(&alone) {
        let right = match set.kind.as_str() {
            "good" => rank(is) == 0,
            "bad" => rank(is) >= 3,
            _ => (1..=2).contains(&rank(is)),
        };
        if !right {
            let values = set.values.join(" ");
            wrong.push(format!("{name} {values}: {} alone, is {is}", set.kind));
        }
    }
    for (a, first) in sets.sets.iter().enumerate() {
        for (b, second) in sets.sets.iter().enumerate().skip(a + 1) {
            let orders = [[first, second], [second, first]];
            let [there, back] = orders.map(|order| of_sets(runner, sets, &order));
            let pair = format!(
                "{name}, {} and {}",
                first.values.join(" "),
                second.values.join(" ")
            );
            let either = |kind: &str| first.kind == kind || second.kind == kind;
            // A doubt is settled by what comes after it, so there the order tells.
            if !either("doubt") && there != back {
                wrong.push(format!("{pair}: {there}, the other way round {back}"));
            }
            // The worst of them; what is short or doubtful adds nothing that a good set has not settled.
            let counts = |set: &Set, is: &String| match set.kind.as_str() {
                "short" | "doubt" => 0,
                _ => rank(is),
            };
            let worst = counts(first, &alone[a]).max(counts(second, &alone[b]));
            for is in [&there, &back] {
                if rank(is) < worst {
                    let alone = [&alone[a], &alone[b]];
                    wrong.push(format!("{pair}: {is}, alone they are {alone:?}"));
                }
            }
            // A doubt first and a good set after it: settled.
            let [doubt, good] = if first.kind == "doubt" {
                [first, second]
            } else {
                [second, first]
            };
            if doubt.kind == "doubt" && good.kind == "good" {
                let settled = of_sets(runner, sets, &[doubt, good]);
                if rank(&settled) != 0 {
                    wrong.push(format!("{pair}: the doubt is not settled: {settled}"));
                }
            }
        }
    }
    wrong
}
