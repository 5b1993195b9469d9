//! `spec`: spec sheets, rule packs, policies and schedules: list, show, check, bring in, confirm.

mod confirm;
mod show;

use std::path::{Path, PathBuf};

use clap::Subcommand;
use comfy_table::{ContentArrangement, Table, presets};

use super::error::{Exit, Failure};
use super::open::{style, workshop};
use super::{Globals, World};
use crate::judge::defect;
use crate::shop::atomic;
use crate::shop::folder::Workshop;
use crate::spec::{
    self, Lint, Place, Policy, Problem, ProblemKind, RulePack, Schedule, Severity, Sheet,
    builtin_policies, builtin_rule_packs, builtin_schedules, builtin_sheets,
};

/// List, show, check and bring in spec sheets, rule packs and policies
#[derive(Debug, clap::Args)]
pub(super) struct Args {
    #[command(subcommand)]
    action: Action,
}

#[derive(Debug, Subcommand)]
enum Action {
    List(List),
    Show(Show),
    Check(Check),
    Import(Import),
    Template(Template),
    Confirm(Confirm),
}

/// List what is on file: the workshop's own first, then the built-in
#[derive(Debug, clap::Args)]
#[command(after_help = "Example:\n  brakecorner spec list")]
struct List {}

/// Show a sheet, rule pack, policy or schedule with the source of every number
///
/// A name that fits several asks which one.
#[derive(Debug, clap::Args)]
#[command(
    after_help = "Examples:\n  brakecorner spec show merlock-dunling\n  brakecorner spec show --vin A0ZDL07V7NK001122\n  brakecorner spec show gb"
)]
struct Show {
    /// Name, or a part of it
    #[arg(required_unless_present = "vin")]
    name: Option<String>,
    /// The sheet that fits this VIN
    #[arg(long, value_name = "VIN", conflicts_with = "name")]
    vin: Option<String>,
}

/// Check files for what people get wrong, all problems at once
///
/// Without files: everything in the workshop's specs folder. Says nothing when all is well; exit
/// code 1 when something is wrong, 2 when a file cannot be read or is no TOML.
#[derive(Debug, clap::Args)]
#[command(after_help = "Example:\n  brakecorner spec check specs/van.toml")]
struct Check {
    /// Files to check
    files: Vec<PathBuf>,
}

/// Bring many sheets in from a table
///
/// The mapping file says which column holds which value. Rows that cannot be used are refused with
/// all their reasons; nothing on file is overwritten.
#[derive(Debug, clap::Args)]
#[command(after_help = "Example:\n  brakecorner spec import fleet.csv --map fleet.toml")]
struct Import {
    /// The table
    table: PathBuf,
    /// The mapping
    #[arg(long, value_name = "FILE")]
    map: PathBuf,
    /// Say what would be written, and write nothing
    #[arg(long)]
    dry_run: bool,
}

/// Print a commented sheet to fill in
#[derive(Debug, clap::Args)]
#[command(after_help = "Example:\n  brakecorner spec template > specs/my-van.toml")]
struct Template {}

/// Record that you compared a rule with the text it comes from
///
/// The pack is copied into the workshop's specs folder, where the rule is marked with your name;
/// `unconfirmed` is no longer printed beside it.
#[derive(Debug, clap::Args)]
#[command(
    after_help = "Example:\n  brakecorner spec confirm brake-fluid dot4-wet --by \"Ilse Varga\""
)]
struct Confirm {
    /// Rule pack
    pack: String,
    /// Rule's id
    rule: String,
}

pub(super) fn run(args: &Args, globals: &Globals, world: &mut World<'_>) -> Result<Exit, Failure> {
    match &args.action {
        Action::List(_) => run_list(globals, world),
        Action::Show(args) => show::run(args, globals, world),
        Action::Check(check) => run_check(check, globals, world),
        Action::Import(import) => run_import(import, globals, world),
        Action::Template(_) => {
            world.out.write_all(Sheet::template().as_bytes())?;
            Ok(Exit::Good)
        }
        Action::Confirm(args) => confirm::run(args, globals, world),
    }
}

/// What kind of specification a file is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Sort {
    Sheet,
    Rules,
    Policy,
    Schedule,
}

impl Sort {
    const ALL: [Self; 4] = [Self::Sheet, Self::Rules, Self::Policy, Self::Schedule];

    const fn word(self) -> &'static str {
        match self {
            Self::Sheet => "sheet",
            Self::Rules => "rules",
            Self::Policy => "policy",
            Self::Schedule => "schedule",
        }
    }

    const fn folder(self) -> &'static str {
        match self {
            Self::Sheet => "vehicles",
            Self::Rules => "rules",
            Self::Policy => "policy",
            Self::Schedule => "schedules",
        }
    }

    const fn built_in(self) -> &'static [(&'static str, &'static str)] {
        match self {
            Self::Sheet => builtin_sheets(),
            Self::Rules => builtin_rule_packs(),
            Self::Policy => builtin_policies(),
            Self::Schedule => builtin_schedules(),
        }
    }

    /// The id and the name written in a text; `None` when it does not read.
    fn names(self, text: &str, file: &str) -> Option<(String, String)> {
        match self {
            Self::Sheet => Sheet::parse(text, file).ok().map(|s| (s.id, s.name)),
            Self::Rules => RulePack::parse(text, file).ok().map(|p| (p.id, p.name)),
            Self::Policy => Policy::parse(text, file)
                .ok()
                .map(|p| (p.id, String::new())),
            Self::Schedule => Schedule::parse(text, file).ok().map(|s| (s.id, s.name)),
        }
    }

    /// Everything wrong with a text.
    fn problems(self, text: &str, file: &str) -> Vec<Problem> {
        let found = match self {
            Self::Sheet => return Vec::new(),
            Self::Rules => defect::read_pack(text, file).err(),
            Self::Policy => Policy::parse(text, file).err(),
            Self::Schedule => Schedule::parse(text, file).err(),
        };
        found.map(|found| found.problems).unwrap_or_default()
    }
}

/// One specification on file.
#[derive(Clone, Debug)]
struct OnFile {
    sort: Sort,
    file: String,
    text: String,
    own: bool,
    /// Id and name; `None` when it does not read.
    names: Option<(String, String)>,
    /// Why there is no text of it.
    unread: Option<String>,
}

impl OnFile {
    fn id(&self) -> &str {
        match &self.names {
            Some((id, _)) => id,
            None => self.file.trim_end_matches(".toml"),
        }
    }

    const fn origin(&self) -> &'static str {
        if self.own { "workshop" } else { "built in" }
    }
}

/// Everything on file; without a workshop, what is built in.
fn on_file(shop: Option<&Workshop>) -> Result<Vec<OnFile>, Failure> {
    let mut all = Vec::new();
    for sort in Sort::ALL {
        let own = match shop {
            Some(shop) => shop.own_specs(sort.folder())?,
            None => Vec::new(),
        };
        let own = own
            .into_iter()
            .map(|one| (format!("{}.toml", one.name), one.text, true));
        let built_in = sort
            .built_in()
            .iter()
            .map(|(file, text)| ((*file).to_owned(), Ok((*text).to_owned()), false));
        for (file, text, own) in own.chain(built_in) {
            let (text, unread) = match text {
                Ok(text) => (text, None),
                Err(error) => (String::new(), Some(Failure::from(error).chain().join(": "))),
            };
            let names = sort.names(&text, &file);
            all.push(OnFile {
                sort,
                file,
                text,
                own,
                names,
                unread,
            });
        }
    }
    Ok(all)
}

/// The workshop, if there is one; built-in files can be looked at without.
fn perhaps_shop(globals: &Globals, world: &World<'_>) -> Result<Option<Workshop>, Failure> {
    match workshop(globals, world) {
        Ok(shop) => Ok(Some(shop)),
        Err(failure) if !globals.shop.is_empty() => Err(failure),
        Err(_) => Ok(None),
    }
}

fn run_list(globals: &Globals, world: &mut World<'_>) -> Result<Exit, Failure> {
    let shop = perhaps_shop(globals, world)?;
    let all = on_file(shop.as_ref())?;
    if globals.json {
        let rows: Vec<_> = all
            .iter()
            .map(|one| {
                serde_json::json!({
                    "kind": one.sort.word(), "id": one.id(),
                    "name": one.names.as_ref().map(|(_, name)| name),
                    "origin": one.origin(), "reads": one.names.is_some(),
                })
            })
            .collect();
        writeln!(world.out, "{:#}", serde_json::Value::from(rows))?;
        return Ok(Exit::Good);
    }
    let style = style(globals, world);
    let mut table = plain_table();
    for one in &all {
        let name = match &one.names {
            Some((_, name)) => name.clone(),
            None => "does not read: brakecorner spec check".to_owned(),
        };
        let cells = [one.sort.word(), one.id(), one.origin(), &name];
        table.add_row(cells.map(|cell| style.text(cell)));
    }
    write_table(world, &table)?;
    Ok(Exit::Good)
}

fn plain_table() -> Table {
    let mut table = Table::new();
    table
        .load_style(presets::NOTHING)
        .set_content_arrangement(ContentArrangement::Disabled);
    table
}

fn write_table(world: &mut World<'_>, table: &Table) -> Result<(), Failure> {
    for line in table.to_string().lines() {
        writeln!(world.out, "{}", line.trim_end())?;
    }
    Ok(())
}

fn read(world: &World<'_>, path: &Path) -> Result<String, Failure> {
    let path = world.folder.join(path);
    std::fs::read_to_string(&path).map_err(|error| {
        Failure::from(format!("cannot read `{}`: {error}", path.display()))
            .hint("give the path of a text file")
    })
}

/// What a file is: by the folder it lies in, else by the tables it holds.
fn sort_of(path: &Path, text: &str) -> Sort {
    let folder = path.parent().and_then(Path::file_name).unwrap_or_default();
    let by_folder = Sort::ALL
        .into_iter()
        .find(|sort| folder == std::ffi::OsStr::new(sort.folder()));
    by_folder.unwrap_or_else(|| {
        let has = |key: &str| text.lines().any(|line| line.trim_start().starts_with(key));
        if has("[[rule]]") || has("[[defect]]") || has("edition") {
            Sort::Rules
        } else if has("[quick]") || has("[full]") {
            Sort::Schedule
        } else if has("[[axle]]") || has("[wheel]") || has("vin_patterns") {
            Sort::Sheet
        } else if has("[disc]") || has("[pads]") || has("[gauges]") || has("[rollers]") {
            Sort::Policy
        } else {
            Sort::Sheet
        }
    })
}

fn run_check(check: &Check, globals: &Globals, world: &mut World<'_>) -> Result<Exit, Failure> {
    let mut files: Vec<(Sort, String, String)> = Vec::new();
    let mut unread = Vec::new();
    if check.files.is_empty() {
        let shop = workshop(globals, world)?;
        for one in on_file(Some(&shop))?.into_iter().filter(|one| one.own) {
            match one.unread {
                Some(message) => unread.push(Lint {
                    severity: Severity::Error,
                    problem: Problem {
                        file: one.file,
                        place: Place { line: 1, column: 1 },
                        key: String::new(),
                        kind: ProblemKind::Syntax { message },
                    },
                }),
                None => files.push((one.sort, one.file, one.text)),
            }
        }
    }
    for path in &check.files {
        let text = read(world, path)?;
        files.push((sort_of(path, &text), path.display().to_string(), text));
    }
    let mut lints = lints(&files);
    lints.extend(unread);
    let wrong = lints.iter().any(|lint| lint.severity == Severity::Error);
    if globals.json {
        let rows: Vec<_> = lints
            .iter()
            .map(|lint| {
                serde_json::json!({
                    "severity": lint.severity.to_string(), "file": lint.problem.file,
                    "line": lint.problem.place.line, "column": lint.problem.place.column,
                    "key": lint.problem.key, "message": lint.to_string(),
                })
            })
            .collect();
        let value = serde_json::json!({"files": files.len(), "lints": rows});
        writeln!(world.out, "{value:#}")?;
    } else {
        let style = style(globals, world);
        for lint in &lints {
            writeln!(world.out, "{}", style.text(&lint.to_string()))?;
        }
    }
    let unreadable = lints
        .iter()
        .any(|lint| matches!(lint.problem.kind, ProblemKind::Syntax { .. }));
    Ok(if unreadable {
        Exit::NoAnswer
    } else if wrong {
        Exit::NotGood
    } else {
        Exit::Good
    })
}

/// Everything wrong or doubtful, sheets against each other too.
fn lints(files: &[(Sort, String, String)]) -> Vec<Lint> {
    let sheets: Vec<(&str, &str)> = files
        .iter()
        .filter(|(sort, ..)| *sort == Sort::Sheet)
        .map(|(_, file, text)| (file.as_str(), text.as_str()))
        .collect();
    let mut lints = spec::check(&sheets);
    for (sort, file, text) in files {
        lints.extend(sort.problems(text, file).into_iter().map(|problem| Lint {
            severity: Severity::Error,
            problem,
        }));
    }
    lints
}

fn run_import(import: &Import, globals: &Globals, world: &mut World<'_>) -> Result<Exit, Failure> {
    let shop = workshop(globals, world)?;
    let (table, mapping) = (read(world, &import.table)?, read(world, &import.map)?);
    let brought = spec::import(
        &table,
        &import.table.display().to_string(),
        &mapping,
        &import.map.display().to_string(),
    )?;
    let folder = shop.folder.join("specs");
    let mut refused: Vec<(u64, String, Vec<String>)> = brought
        .refused
        .into_iter()
        .map(|row| (row.line, row.id, row.reasons))
        .collect();
    let mut written = Vec::new();
    for sheet in brought.sheets {
        let path = folder.join(&sheet.file_name);
        if path.exists() {
            let reason = format!("`{}` exists already and was left as it is", path.display());
            refused.push((sheet.line, sheet.id, vec![reason]));
            continue;
        }
        if !import.dry_run {
            atomic::write_new(&path, sheet.text.as_bytes())?;
        }
        written.push(sheet);
    }
    refused.sort();
    if globals.json {
        let value = serde_json::json!({
            "dry_run": import.dry_run,
            "sheets": written.iter().map(|s| serde_json::json!({
                "line": s.line, "id": s.id, "file": s.file_name,
                "warnings": s.warnings.iter().map(ToString::to_string).collect::<Vec<_>>(),
            })).collect::<Vec<_>>(),
            "refused": refused.iter().map(|(line, id, reasons)| serde_json::json!({
                "line": line, "id": id, "reasons": reasons,
            })).collect::<Vec<_>>(),
        });
        writeln!(world.out, "{value:#}")?;
    } else {
        let style = style(globals, world);
        let word = if import.dry_run {
            "would write"
        } else {
            "wrote"
        };
        for sheet in &written {
            let line = format!("{word} specs/{} (line {})", sheet.file_name, sheet.line);
            writeln!(world.out, "{}", style.text(&line))?;
            for warning in &sheet.warnings {
                writeln!(world.out, "  {}", style.text(&warning.to_string()))?;
            }
        }
        for (line, id, reasons) in &refused {
            let head = format!("refused line {line} {id}:");
            writeln!(world.out, "{}", style.text(&head))?;
            for reason in reasons {
                writeln!(world.out, "  {}", style.text(reason))?;
            }
        }
    }
    Ok(if refused.is_empty() {
        Exit::Good
    } else {
        Exit::NotGood
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_file_is_known_by_its_folder_or_its_tables() {
        for sort in Sort::ALL {
            for (file, text) in sort.built_in() {
                assert_eq!(sort_of(Path::new(file), text), sort, "{file}");
                let path = Path::new("specs").join(sort.folder()).join(file);
                assert_eq!(sort_of(&path, ""), sort, "{file}");
            }
        }
    }
}
