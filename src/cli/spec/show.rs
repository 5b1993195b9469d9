//! `spec show`: one file with the source of every number.

use super::{OnFile, Show, Sort, on_file, perhaps_shop, plain_table, write_table};
use crate::cli::error::{Exit, Failure};
use crate::cli::open::style;
use crate::cli::style::Style;
use crate::cli::{Globals, World};
use crate::spec::{self, Policy, RulePack, Schedule, Sheet};

/// Shows one file.
pub(super) fn run(show: &Show, globals: &Globals, world: &mut World<'_>) -> Result<Exit, Failure> {
    let shop = perhaps_shop(globals, world)?;
    let all = on_file(shop.as_ref())?;
    let one = pick(show, &all, world)?.clone();
    let style = style(globals, world);
    if globals.json {
        writeln!(world.out, "{:#}", as_json(&one)?)?;
        return Ok(Exit::Good);
    }
    writeln!(
        world.out,
        "{}",
        style.text(&format!(
            "# {} {}, {} ({})",
            one.sort.word(),
            one.id(),
            one.origin(),
            one.file
        ))
    )?;
    match one.sort {
        Sort::Rules => show_pack(&RulePack::parse(&one.text, &one.file)?, style, world)?,
        Sort::Policy => show_policy(&Policy::parse(&one.text, &one.file)?, style, world)?,
        Sort::Sheet | Sort::Schedule => {
            world.out.write_all(style.sheet(&one.text).as_bytes())?;
        }
    }
    Ok(Exit::Good)
}

fn as_json(one: &OnFile) -> Result<serde_json::Value, Failure> {
    Ok(match one.sort {
        Sort::Sheet => serde_json::to_value(Sheet::parse(&one.text, &one.file)?)?,
        Sort::Rules => serde_json::to_value(RulePack::parse(&one.text, &one.file)?)?,
        Sort::Policy => serde_json::to_value(Policy::parse(&one.text, &one.file)?)?,
        Sort::Schedule => serde_json::to_value(Schedule::parse(&one.text, &one.file)?)?,
    })
}

/// The one file that is meant. The workshop's own hide the built-in ones of the same id; several
/// that fit are asked about.
fn pick<'a>(show: &Show, all: &'a [OnFile], world: &mut World<'_>) -> Result<&'a OnFile, Failure> {
    let what = show
        .vin
        .as_deref()
        .or(show.name.as_deref())
        .unwrap_or_default();
    let hidden = |one: &OnFile| {
        !one.own
            && all
                .iter()
                .any(|other| other.own && other.sort == one.sort && other.id() == one.id())
    };
    let seen: Vec<&OnFile> = all.iter().filter(|one| !hidden(one)).collect();
    let matching: Vec<&OnFile> = match &show.vin {
        Some(vin) => {
            let fits = |one: &&&OnFile| {
                one.sort == Sort::Sheet
                    && Sheet::parse(&one.text, &one.file).is_ok_and(|sheet| sheet.fits_vin(vin))
            };
            let fitting: Vec<&OnFile> = seen.iter().filter(fits).copied().collect();
            let own: Vec<&OnFile> = fitting.iter().filter(|one| one.own).copied().collect();
            if own.is_empty() { fitting } else { own }
        }
        None => {
            let wanted = what.trim().to_lowercase();
            let exact: Vec<&OnFile> = seen
                .iter()
                .filter(|one| one.id() == wanted)
                .copied()
                .collect();
            let part = |one: &&&OnFile| {
                one.id().contains(&wanted)
                    || one
                        .names
                        .as_ref()
                        .is_some_and(|(_, name)| name.to_lowercase().contains(&wanted))
            };
            if exact.is_empty() && !wanted.is_empty() {
                seen.iter().filter(part).copied().collect()
            } else {
                exact
            }
        }
    };
    match matching[..] {
        [one] => Ok(one),
        [] => Err(Failure::from(format!("nothing on file fits `{what}`"))
            .hint("`brakecorner spec list` shows what there is")),
        _ => ask_which(what, &matching, world),
    }
}

fn ask_which<'a>(
    what: &str,
    matching: &[&'a OnFile],
    world: &mut World<'_>,
) -> Result<&'a OnFile, Failure> {
    let labels: Vec<String> = matching
        .iter()
        .map(|one| format!("{} {}", one.sort.word(), one.id()))
        .collect();
    if world.input_is_terminal {
        writeln!(world.err, "`{what}` fits several:")?;
        for (number, label) in (1..).zip(&labels) {
            writeln!(world.err, "  {number} {label}")?;
        }
        write!(world.err, "? which one (number) ")?;
        world.err.flush()?;
        let mut line = String::new();
        world.input.read_line(&mut line)?;
        let number: Option<usize> = line.trim().parse().ok();
        if let Some(one) = number.and_then(|n| matching.get(n.checked_sub(1)?)) {
            return Ok(one);
        }
    }
    Err(
        Failure::from(format!("`{what}` fits several: {}", labels.join(", ")))
            .hint("give the whole name"),
    )
}

fn show_pack(pack: &RulePack, style: Style, world: &mut World<'_>) -> Result<(), Failure> {
    writeln!(
        world.out,
        "{}",
        style.text(&format!("{}; {}", pack.name, pack.edition))
    )?;
    let mut table = plain_table();
    table.set_header([
        "rule",
        "item",
        "limit",
        "at the limit",
        "class",
        "clause",
        "status",
    ]);
    for rule in &pack.rows {
        let bound = match rule.bound {
            spec::Bound::Minimum => "at least",
            spec::Bound::Maximum => "at most",
        };
        let item = match &rule.quantity {
            Some(quantity) => format!("{} ({quantity})", rule.item),
            None => rule.item.clone(),
        };
        let at_limit = if rule.at_limit_passes {
            "passes"
        } else {
            "fails"
        };
        let row = [
            rule.id.clone(),
            item,
            format!("{bound} {}", rule.value),
            at_limit.to_owned(),
            format!("{:?}", rule.class).to_lowercase(),
            rule.clause.clone(),
            status(rule.status, rule.checked_by.as_deref(), rule.unconfirmed()),
        ];
        table.add_row(row.map(|cell| style.text(&cell)));
    }
    for rule in &pack.defects {
        let row = [
            rule.id.clone(),
            rule.item.clone(),
            rule.codes.join(", "),
            String::new(),
            format!("{:?}", rule.class).to_lowercase(),
            rule.clause.clone(),
            status(rule.status, rule.checked_by.as_deref(), rule.unconfirmed()),
        ];
        table.add_row(row.map(|cell| style.text(&cell)));
    }
    write_table(world, &table)?;
    for remark in &pack.remarks {
        let line = format!("{} ({}): {}", remark.item, remark.clause, remark.text);
        writeln!(world.out, "{}", style.text(&line))?;
    }
    Ok(())
}

fn status(status: spec::Status, checked_by: Option<&str>, unconfirmed: bool) -> String {
    match (checked_by, unconfirmed) {
        (Some(person), _) => format!("{}, checked by {person}", status.word()),
        (None, true) => format!("{}, unconfirmed", status.word()),
        (None, false) => status.word().to_owned(),
    }
}

fn show_policy(policy: &Policy, style: Style, world: &mut World<'_>) -> Result<(), Failure> {
    let mut table = plain_table();
    for (section, key, value, origin) in policy.list() {
        let row = [format!("{section}.{key}"), value, origin.to_string()];
        table.add_row(row.map(|cell| style.text(&cell)));
    }
    write_table(world, &table)
}
