//! `spec confirm`: a rule was compared with the text it comes from.

use super::{Confirm, OnFile, Sort, on_file};
use crate::cli::error::{Exit, Failure, Hint as _};
use crate::cli::open::{person, style, workshop};
use crate::cli::{Globals, World};
use crate::shop::atomic;
use crate::spec::RulePack;

/// Marks one rule as compared with its text.
pub(super) fn run(
    confirm: &Confirm,
    globals: &Globals,
    world: &mut World<'_>,
) -> Result<Exit, Failure> {
    let shop = workshop(globals, world)?;
    let by = person(globals, world)?;
    let all = on_file(Some(&shop))?;
    let one = all
        .iter()
        .find(|one| one.sort == Sort::Rules && one.id() == confirm.pack)
        .ok_or_else(|| {
            let packs: Vec<&str> = all
                .iter()
                .filter(|one| one.sort == Sort::Rules)
                .map(OnFile::id)
                .collect();
            Failure::from(format!("there is no rule pack `{}`", confirm.pack))
                .hint(format!("there are: {}", packs.join(", ")))
        })?;
    let mut pack = RulePack::parse(&one.text, &one.file)
        .hint("`brakecorner spec check` lists every problem")?;
    if !pack.confirm(&confirm.rule, &by) {
        let rules = pack.rows.iter().map(|rule| rule.id.as_str());
        let rules: Vec<&str> = rules
            .chain(pack.defects.iter().map(|rule| rule.id.as_str()))
            .collect();
        return Err(
            Failure::from(format!("`{}` has no rule `{}`", confirm.pack, confirm.rule))
                .hint(format!("its rules are: {}", rules.join(", "))),
        );
    }
    let text = marked(&one.text, &confirm.rule, &by);
    // What is written must say exactly what was meant: the pack with this one mark.
    if RulePack::parse(&text, &one.file)? != pack {
        return Err(Failure::from(format!(
            "the rule `{}` cannot be marked in `{}`",
            confirm.rule, one.file
        ))
        .hint("add `checked_by` to the rule in the file by hand"));
    }
    let folder = shop.folder.join("specs").join("rules");
    std::fs::create_dir_all(&folder).hint("make the workshop's specs folder writable")?;
    let path = folder.join(&one.file);
    atomic::replace(&path, text.as_bytes())?;
    if globals.json {
        let value = serde_json::json!({"pack": confirm.pack, "rule": confirm.rule, "checked_by": by, "file": path});
        writeln!(world.out, "{value:#}")?;
    } else {
        let line = format!("{} {}: checked by {by}", confirm.pack, confirm.rule);
        writeln!(world.out, "{}", style(globals, world).text(&line))?;
    }
    Ok(Exit::Good)
}

/// The pack's text with a rule marked: the comments and the order of the file stay.
fn marked(text: &str, rule: &str, person: &str) -> String {
    let name = toml::Value::from(person).to_string();
    let id = toml::Value::from(rule).to_string();
    let mut out = String::new();
    let mut inside = false;
    for line in text.lines() {
        let bare = line.trim();
        if bare.starts_with('[') {
            inside = false;
        }
        // The mark a rule carries already is replaced.
        if inside && bare.starts_with("checked_by") {
            continue;
        }
        out.push_str(line);
        out.push('\n');
        let is_id = bare
            .strip_prefix("id")
            .and_then(|rest| rest.trim_start().strip_prefix('='))
            .is_some_and(|value| value.trim() == id);
        if is_id {
            inside = true;
            out.push_str(&format!("checked_by = {name}\n"));
        }
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::spec::builtin_rule_packs;

    #[test]
    fn a_rule_is_marked_once_and_nothing_else_changes() {
        let (file, text) = builtin_rule_packs()
            .iter()
            .find(|(file, _)| *file == "brake-fluid.toml")
            .unwrap();
        let mut pack = RulePack::parse(text, file).unwrap();
        let rule = pack.rows[0].id.clone();
        assert!(pack.rows[0].unconfirmed());
        let once = marked(text, &rule, "Ilse \"I\" Varga");
        let twice = marked(&once, &rule, "Tam Okoro");
        pack.confirm(&rule, "Tam Okoro");
        assert_eq!(RulePack::parse(&twice, file).unwrap(), pack);
        assert!(!RulePack::parse(&once, file).unwrap().rows[0].unconfirmed());
        assert_eq!(once.lines().count(), twice.lines().count());
    }
}
