//! `instrument study`: a guided, blind repeat study, and what it says about gauge and people.

use std::path::{Path, PathBuf};

use super::ask::{ask, say};
use super::{Held, known};
use crate::cli::error::{Exit, Failure, Hint as _};
use crate::cli::open::{person, style, workshop};
use crate::cli::style::counted;
use crate::cli::{Globals, World};
use crate::job::{Entered, Instrument, Quantity, StudyEntry};
use crate::measure::study::{self, Study};
use crate::shop::atomic;
use crate::shop::folder::Workshop;
use crate::units::Length;
use crate::walk::practice::Dice;

/// Study how well an instrument and its people repeat
///
/// Several people measure the same few parts several times. The prompt names person and part in an
/// order nobody can foresee and shows no earlier reading; somebody else hands the parts over, best
/// with their marks turned away. The spread of the same hand on the same part (repeatability) and
/// between people is kept with the instrument, and the uncertainty of its readings uses it.
///
/// Every reading is on the disk before the next prompt; `quit` stops, `--resume FILE` goes on.
#[derive(Debug, clap::Args)]
#[command(
    after_help = "Examples:\n  brakecorner instrument study HW-M1 --people 'Ilse Varga,Tom Reed' --parts 5 --repeats 3\n  brakecorner instrument study HW-M1 --from readings.csv   # columns: part, person, reading"
)]
pub(super) struct Args {
    /// Its mark
    id: String,
    /// Who measures, separated by commas; otherwise you alone
    #[arg(long, value_delimiter = ',')]
    people: Vec<String>,
    /// How many parts
    #[arg(long, default_value_t = 5, value_parser = clap::value_parser!(u16).range(2..=50))]
    parts: u16,
    /// How often each person measures each part
    #[arg(long, default_value_t = 3, value_parser = clap::value_parser!(u16).range(2..=20))]
    repeats: u16,
    /// Take the readings from a CSV file with the columns part, person, reading
    #[arg(long, value_name = "FILE", conflicts_with_all = ["people", "resume"])]
    from: Option<PathBuf>,
    /// Go on with a study that was stopped
    #[arg(long, value_name = "FILE", conflicts_with = "people")]
    resume: Option<PathBuf>,
    /// Number the order is drawn from; otherwise the time
    #[arg(long)]
    seed: Option<u64>,
}

/// One reading of a study.
#[derive(Clone, Debug, PartialEq, Eq)]
struct Row {
    person: String,
    part: String,
    reading: String,
}

/// Who measures what, in which order.
#[derive(Clone, Debug, PartialEq, Eq)]
struct Plan {
    people: Vec<String>,
    parts: u16,
    repeats: u16,
    seed: u64,
}

impl Plan {
    /// Round by round, person by person, the parts in an order drawn anew each time.
    fn order(&self) -> Vec<(u16, &str, u16)> {
        let mut dice = Dice::new(self.seed);
        let mut order = Vec::new();
        for round in 1..=self.repeats {
            for person in &self.people {
                let mut parts: Vec<u16> = (1..=self.parts).collect();
                dice.shuffle(&mut parts);
                order.extend(parts.into_iter().map(|part| (round, person.as_str(), part)));
            }
        }
        order
    }

    /// The first line of the readings' file, from which a stopped study goes on.
    fn line(&self) -> String {
        format!(
            "# study parts={} repeats={} seed={} people={}",
            self.parts,
            self.repeats,
            self.seed,
            self.people.join(";")
        )
    }

    fn of_line(line: &str) -> Option<Self> {
        let rest = line.strip_prefix("# study parts=")?;
        let (parts, rest) = rest.split_once(" repeats=")?;
        let (repeats, rest) = rest.split_once(" seed=")?;
        let (seed, people) = rest.split_once(" people=")?;
        Some(Self {
            parts: parts.parse().ok().filter(|n| (2..=50).contains(n))?,
            repeats: repeats.parse().ok().filter(|n| (2..=20).contains(n))?,
            seed: seed.parse().ok()?,
            people: people.split(';').map(str::to_owned).collect(),
        })
    }
}

pub(super) fn run(args: &Args, globals: &Globals, world: &mut World<'_>) -> Result<Exit, Failure> {
    let by = person(globals, world)?;
    let shop = workshop(globals, world)?;
    let instrument = known(&shop.register()?, &args.id)?.clone();
    if !instrument.kind.measures_length() {
        return Err(Failure::from(format!(
            "{instrument} measures no length; a repeat study needs lengths"
        )));
    }
    let (rows, file) = match &args.from {
        Some(file) => {
            let path = world.folder.join(file);
            (read_rows(&path)?.1, path.display().to_string())
        }
        None => match guided(args, globals, world, &shop, &instrument, &by)? {
            Some(read) => read,
            None => return Ok(Exit::NoAnswer),
        },
    };
    let (people, table) = arranged(&rows, &instrument)?;
    let result = study::study(&table).hint(
        "every person measures every part the same number of times; two parts and two repeats at least",
    )?;
    let entry = entry(&instrument, world, by, people, &result, file);
    store(shop, &entry, &result)?;
    if globals.json {
        let value = serde_json::json!({"study": entry, "result": result});
        writeln!(world.out, "{value:#}")?;
    } else {
        show(globals, world, &entry, &result)?;
    }
    Ok(Exit::Good)
}

fn plan(args: &Args, world: &mut World<'_>, by: &str) -> Result<Plan, Failure> {
    let mut people: Vec<String> = args.people.iter().map(|p| p.trim().to_owned()).collect();
    if people.is_empty() {
        people.push(by.to_owned());
    }
    let odd = |name: &String| name.is_empty() || name.contains([';', '\n', '\r']);
    if people.iter().any(odd) {
        return Err(Failure::from("a person of the study has no usable name")
            .hint("names separated by commas, such as --people 'Ilse Varga,Tom Reed'"));
    }
    let mut once = people.clone();
    once.sort();
    once.dedup();
    if once.len() < people.len() {
        return Err(Failure::from("a person of the study is named twice"));
    }
    Ok(Plan {
        people,
        parts: args.parts,
        repeats: args.repeats,
        // The order only has to be unforeseen; the file keeps the number it was drawn from.
        seed: args
            .seed
            .unwrap_or_else(|| world.clock.now().timestamp().unsigned_abs()),
    })
}

/// Leads through a study; `None` when it was stopped.
fn guided(
    args: &Args,
    globals: &Globals,
    world: &mut World<'_>,
    shop: &Workshop,
    instrument: &Instrument,
    by: &str,
) -> Result<Option<(Vec<Row>, String)>, Failure> {
    let (plan, mut rows, path) = match &args.resume {
        Some(file) => {
            let path = world.folder.join(file);
            let (plan, rows) = read_rows(&path)?;
            let plan = plan.ok_or_else(|| {
                Failure::from(format!("`{}` is no study that was stopped", path.display()))
                    .hint("a file with all its readings is evaluated with `--from FILE`")
            })?;
            (plan, rows, path)
        }
        None => {
            let plan = plan(args, world, by)?;
            let stamp = world.clock.now().format("%Y%m%d-%H%M%S");
            let folder = shop.folder.join("studies");
            std::fs::create_dir_all(&folder).hint(format!("at {}", folder.display()))?;
            let safe: String = instrument
                .id
                .chars()
                .map(|c| {
                    if c.is_ascii_alphanumeric() || c == '-' {
                        c
                    } else {
                        '_'
                    }
                })
                .collect();
            let path = folder.join(format!("{safe}-{stamp}.csv"));
            atomic::write_new(&path, to_csv(&plan, &[])?.as_bytes())?;
            (plan, Vec::new(), path)
        }
    };
    let order = plan.order();
    let fits = rows.len() <= order.len()
        && rows
            .iter()
            .zip(&order)
            .all(|(row, (_, person, part))| row.person == *person && row.part == part.to_string());
    if !fits {
        return Err(Failure::from(format!(
            "the readings in `{}` do not follow the order of the study",
            path.display()
        )));
    }
    let quiet = globals.json;
    let style = style(globals, world);
    say(
        world,
        quiet,
        &style.text(&format!(
            "{instrument}: {} parts, {}, {}: {} readings. Somebody else hands over the part that is named; nobody sees earlier readings. `undo` takes back the last, `quit` stops.",
            plan.parts,
            counted(plan.people.len(), "person", "people"),
            counted(plan.repeats.into(), "round", "rounds"),
            order.len()
        )),
    )?;
    while let Some((round, person, part)) = order.get(rows.len()) {
        let question = format!(
            "{} of {} · round {round} · {person} · part {part} [{}] > ",
            rows.len() + 1,
            order.len(),
            instrument.unit
        );
        let line = ask(world, quiet, &style.text(&question))?;
        match line.as_deref() {
            None | Some("quit" | "q") => {
                say(
                    world,
                    quiet,
                    &format!(
                        "stopped after {} of {}; go on with: brakecorner instrument study {} --resume {}",
                        rows.len(),
                        order.len(),
                        instrument.id,
                        path.display()
                    ),
                )?;
                return Ok(None);
            }
            Some("") => {}
            Some("undo") => {
                rows.pop();
                atomic::replace(&path, to_csv(&plan, &rows)?.as_bytes())?;
            }
            Some(text) => match accepted(text, instrument) {
                Ok(()) => {
                    rows.push(Row {
                        person: (*person).to_owned(),
                        part: part.to_string(),
                        reading: text.to_owned(),
                    });
                    atomic::replace(&path, to_csv(&plan, &rows)?.as_bytes())?;
                }
                Err(why) => say(world, quiet, &style.text(&format!("  not taken: {why}")))?,
            },
        }
    }
    let below = path.strip_prefix(&shop.folder).unwrap_or(&path);
    Ok(Some((rows, below.display().to_string())))
}

fn accepted(text: &str, instrument: &Instrument) -> Result<(), String> {
    let entered = Entered::read(text, Quantity::Length, &instrument.unit)
        .map_err(|error| error.to_string())?;
    if instrument.covers(Length::from_nm(entered.value)) {
        Ok(())
    } else {
        Err(format!(
            "`{text}` is outside the range of {}, {} {}",
            instrument.id, instrument.range, instrument.unit
        ))
    }
}

fn to_csv(plan: &Plan, rows: &[Row]) -> Result<String, Failure> {
    let mut writer = csv::Writer::from_writer(Vec::new());
    writer.write_record(["part", "person", "reading"])?;
    for row in rows {
        writer.write_record([&row.part, &row.person, &row.reading])?;
    }
    let bytes = writer.into_inner().map_err(|error| error.to_string())?;
    Ok(format!("{}\n{}", plan.line(), String::from_utf8(bytes)?))
}

/// Largest file of readings that is taken: far beyond any study.
const LARGEST: u64 = 4 * 1024 * 1024;

fn read_rows(path: &Path) -> Result<(Option<Plan>, Vec<Row>), Failure> {
    let at = || format!("at {}", path.display());
    if std::fs::metadata(path).hint(at())?.len() > LARGEST {
        return Err(Failure::from(format!(
            "`{}` is larger than any study",
            path.display()
        )));
    }
    let text = std::fs::read_to_string(path).hint(at())?;
    let text = text.trim_start_matches('\u{feff}');
    let plan = text.lines().next().and_then(Plan::of_line);
    let mut reader = csv::ReaderBuilder::new()
        .comment(Some(b'#'))
        .trim(csv::Trim::All)
        .from_reader(text.as_bytes());
    let headers = reader.headers().hint(at())?.clone();
    let column = |name: &str| {
        headers
            .iter()
            .position(|header| header.eq_ignore_ascii_case(name))
            .ok_or_else(|| {
                Failure::from(format!("`{}` has no column `{name}`", path.display()))
                    .hint("columns: part, person, reading; one reading a line")
            })
    };
    let (part, person, reading) = (column("part")?, column("person")?, column("reading")?);
    let mut rows = Vec::new();
    for record in reader.records() {
        let record = record.hint(at())?;
        let field = |index: usize| record.get(index).unwrap_or_default().to_owned();
        rows.push(Row {
            part: field(part),
            person: field(person),
            reading: field(reading),
        });
    }
    Ok((plan, rows))
}

type Table = Vec<Vec<Vec<Length>>>;

/// Readings as parts × people × repeats, people in order of their first reading.
fn arranged(rows: &[Row], instrument: &Instrument) -> Result<(Vec<String>, Table), Failure> {
    let mut people: Vec<String> = Vec::new();
    let mut parts: Vec<&str> = Vec::new();
    for row in rows {
        if !people.contains(&row.person) {
            people.push(row.person.clone());
        }
        if !parts.contains(&row.part.as_str()) {
            parts.push(&row.part);
        }
    }
    let mut table: Table = vec![vec![Vec::new(); people.len()]; parts.len()];
    for (number, row) in (1..).zip(rows) {
        let at = format!(
            "reading {number} (part {}, {}): `{}`",
            row.part, row.person, row.reading
        );
        accepted(&row.reading, instrument).hint(&at)?;
        let entered = Entered::read(&row.reading, Quantity::Length, &instrument.unit).hint(at)?;
        let part = parts.iter().position(|part| *part == row.part);
        let person = people.iter().position(|person| *person == row.person);
        let cell = part
            .and_then(|part| table.get_mut(part))
            .zip(person)
            .and_then(|(part, person)| part.get_mut(person));
        if let Some(cell) = cell {
            cell.push(Length::from_nm(entered.value));
        }
    }
    Ok((people, table))
}

fn entry(
    instrument: &Instrument,
    world: &mut World<'_>,
    by: String,
    people: Vec<String>,
    result: &Study,
    readings: String,
) -> StudyEntry {
    let (parts, _, repeats) = result.shape;
    StudyEntry {
        instrument: instrument.id.clone(),
        at: world.clock.now(),
        by,
        parts,
        people,
        repeats,
        repeatability: result.repeatability.sd.to_string(),
        repeatability_low: result.repeatability.low.to_string(),
        repeatability_high: result.repeatability.high.to_string(),
        degrees_of_freedom: result.repeatability_dof,
        reproducibility: result
            .reproducibility
            .map(|spread| spread.sd.to_string())
            .unwrap_or_default(),
        per_person: result.per_person.iter().map(ToString::to_string).collect(),
        readings,
    }
}

/// Keeps the study, and puts its spreads where the uncertainty budget reads them.
fn store(shop: Workshop, entry: &StudyEntry, result: &Study) -> Result<(), Failure> {
    let mut held = Held::of(shop)?;
    known(&held.register, &entry.instrument)?;
    // No spread at all is what the display's step hides, not a spread of zero: what counted before
    // goes on counting.
    let known = result.repeatability.sd > Length::ZERO;
    if let Some(instrument) = held.register.get_mut(&entry.instrument).filter(|_| known) {
        instrument.repeatability.clone_from(&entry.repeatability);
        instrument.repeatability_dof = Some(result.repeatability_dof.max(1));
        instrument
            .reproducibility
            .clone_from(&entry.reproducibility);
    }
    held.register.studies.push(entry.clone());
    held.write()
}

/// What came out negative and counts as zero.
pub(in crate::cli) fn zeroed(result: &Study) -> Vec<String> {
    let all = [
        ("people", result.people_set_to_zero),
        ("parts", result.parts_set_to_zero),
    ];
    all.into_iter()
        .filter(|(_, zero)| *zero)
        .map(|(what, _)| {
            format!(
                "the {what}' own component came out negative, which no spread is: it counts as zero"
            )
        })
        .collect()
}

fn show(
    globals: &Globals,
    world: &mut World<'_>,
    entry: &StudyEntry,
    result: &Study,
) -> Result<(), Failure> {
    let style = style(globals, world);
    let um = |length: Length| format!("{:.1} µm", length.um());
    let s = result.repeatability;
    let mut lines = vec![
        format!(
            "{}: {} parts, {}, {} repeats",
            entry.instrument,
            entry.parts,
            counted(entry.people.len(), "person", "people"),
            entry.repeats
        ),
        format!(
            "repeatability (same hand, same part)  s = {}  (95 %: {} to {}, {} degrees of freedom)",
            um(s.sd),
            um(s.low),
            um(s.high),
            result.repeatability_dof
        ),
    ];
    if let Some(people) = result.reproducibility {
        lines.push(format!(
            "between people                        s = {}  (95 %: {} to {})",
            um(people.sd),
            um(people.low),
            um(people.high)
        ));
    }
    lines.push(format!(
        "gauge and people together             s = {}",
        um(result.gauge)
    ));
    lines.push(format!(
        "the parts' own spread                 s = {}",
        um(result.parts.sd)
    ));
    for (person, own) in entry.people.iter().zip(&result.per_person) {
        lines.push(format!("  {person}: s = {}", um(*own)));
    }
    lines.extend(zeroed(result));
    lines.push(if s.sd == Length::ZERO {
        format!(
            "every repeat was the same: the display's step hides the spread, which is not zero; the study is kept, and {} counts as before. Parts that differ less from the next step, or a finer display, would show it",
            entry.instrument
        )
    } else {
        format!(
            "kept: {} now counts with s = {} in every verdict from here on",
            entry.instrument, entry.repeatability
        )
    });
    for line in lines {
        say(world, false, &style.text(&line))?;
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;

    fn plan() -> Plan {
        Plan {
            people: vec!["Ilse Varga".into(), "Tom Reed".into()],
            parts: 5,
            repeats: 3,
            seed: 7,
        }
    }

    #[test]
    fn every_person_gets_every_part_once_a_round_in_an_order_of_its_own() {
        let plan = plan();
        let order = plan.order();
        assert_eq!(order.len(), 30);
        let rounds: Vec<Vec<u16>> = order
            .chunks(5)
            .map(|c| c.iter().map(|o| o.2).collect())
            .collect();
        for round in &rounds {
            let mut sorted = round.clone();
            sorted.sort_unstable();
            assert_eq!(sorted, [1, 2, 3, 4, 5]);
        }
        assert!(rounds.windows(2).any(|w| w[0] != w[1]), "{rounds:?}");
    }

    #[test]
    fn a_stopped_study_reads_its_plan_back() {
        assert_eq!(Plan::of_line(&plan().line()), Some(plan()));
        assert_eq!(Plan::of_line("part,person,reading"), None);
        assert_eq!(
            Plan::of_line("# study parts=1 repeats=3 seed=1 people=A"),
            None
        );
    }
}
