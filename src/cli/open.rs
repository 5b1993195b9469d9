//! Opens what a command works on: the workshop, a job, and what the job is judged by.

use std::collections::BTreeMap;
use std::path::{Path, PathBuf};

use super::error::{Failure, Hint as _};
use super::style::Style;
use super::{Globals, World};
use crate::job::journal::Contents;
use crate::job::{Event, Item, Job, Meta, Opening, Phase, Place, Register};
use crate::judge::{self, Case, ItemVerdict, Judgement, defect};
use crate::record::freeze::{Snapshot, Snapshots, Specs};
use crate::shop::folder::Workshop;
use crate::shop::journal::{Journal, JournalError};
use crate::shop::records::{Astray, LastRecord};
use crate::spec::{
    Match, Policy, Schedule, Sheet, SheetQuery, SpecProblems, builtin_policies, builtin_rule_packs,
    builtin_schedules, builtin_sheets, find_sheet,
};

/// The style results are printed in.
pub(crate) fn style(globals: &Globals, world: &World<'_>) -> Style {
    Style {
        colour: world.colour(globals.color),
        plain: globals.plain,
    }
}

/// The workshop a command works in.
pub(crate) fn workshop(globals: &Globals, world: &World<'_>) -> Result<Workshop, Failure> {
    match workshops(globals, world)?.as_slice() {
        [one] => Ok(one.clone()),
        several => Err(Failure::from(format!(
            "this command works in one workshop; `--shop` was given {} times",
            several.len()
        ))
        .hint("`due` and `history` look at several")),
    }
}

/// The workshops a command looks at: every `--shop`, else the one the current folder lies in.
pub(crate) fn workshops(globals: &Globals, world: &World<'_>) -> Result<Vec<Workshop>, Failure> {
    let mut shops: Vec<Workshop> = Vec::new();
    for folder in &globals.shop {
        let shop = Workshop::open(&world.folder.join(folder)).hint(NO_SHOP)?;
        // The same folder twice is one workshop.
        let same = |s: &Workshop| {
            std::fs::canonicalize(&s.folder).ok() == std::fs::canonicalize(&shop.folder).ok()
        };
        if !shops.iter().any(same) {
            shops.push(shop);
        }
    }
    if shops.is_empty() {
        shops.push(Workshop::find(&world.folder).hint(NO_SHOP)?);
    }
    Ok(shops)
}

const NO_SHOP: &str = "make one with `brakecorner init DIR`, name it with `--shop DIR`, or begin with `brakecorner demo`";

/// Who works: `--by`, else the name in the user's settings.
pub(crate) fn person(globals: &Globals, world: &World<'_>) -> Result<String, Failure> {
    let name = match &globals.by {
        Some(name) => name.clone(),
        None => {
            let path = user_path(world);
            let text = std::fs::read_to_string(path).unwrap_or_default();
            text.lines().next().unwrap_or_default().to_owned()
        }
    };
    let name = name.trim().to_owned();
    if name.is_empty() {
        return Err(Failure::from("nobody is named for this entry")
            .hint("add `--by \"Your Name\"`, or make your key once with `brakecorner key new --by \"Your Name\"`"));
    }
    Ok(name)
}

/// Where the user's own name is kept.
pub(crate) fn user_path(world: &World<'_>) -> PathBuf {
    world.config_folder().join("user")
}

/// The texts a job is judged by, from the workshop's own files before the built-in ones.
pub(crate) struct Library {
    /// The workshop's own stand first.
    sheets: Vec<SpecFile>,
    packs: Vec<SpecFile>,
    policies: Vec<SpecFile>,
    schedules: Vec<SpecFile>,
}

/// One specification: its file, and its text or why that cannot be read.
struct SpecFile {
    file: String,
    text: Result<String, String>,
    own: bool,
}

type BuiltIn = &'static [(&'static str, &'static str)];

fn collect(shop: &Workshop, kind: &str, built_in: BuiltIn) -> Result<Vec<SpecFile>, Failure> {
    let own = shop.own_specs(kind)?.into_iter().map(|one| SpecFile {
        file: format!("{}.toml", one.name),
        text: one
            .text
            .map_err(|error| Failure::from(error).chain().join(": ")),
        own: true,
    });
    let built_in = built_in.iter().map(|(file, text)| SpecFile {
        file: (*file).to_owned(),
        text: Ok((*text).to_owned()),
        own: false,
    });
    Ok(own.chain(built_in).collect())
}

const SPEC_CHECK: &str = "`brakecorner spec check` lists every problem; the workshop's own files lie in its specs folder";

impl SpecFile {
    fn id(&self) -> &str {
        self.file.trim_end_matches(".toml")
    }

    fn text(&self) -> Result<&str, Failure> {
        match &self.text {
            Ok(text) => Ok(text),
            Err(why) => Err(Failure::from(why.clone()).hint(SPEC_CHECK)),
        }
    }

    fn snapshot(&self) -> Result<Snapshot, Failure> {
        Ok(Snapshot::of(&self.file, self.text()?))
    }

    /// Why the file cannot be used; `None` when it can.
    fn fault(&self, read: impl Fn(&str, &str) -> Option<SpecProblems>) -> Option<String> {
        match &self.text {
            Ok(text) => read(text, &self.file).map(|problems| problems.to_string()),
            Err(why) => Some(why.clone()),
        }
    }

    fn sheet_fault(&self) -> Option<String> {
        self.fault(|text, file| Sheet::parse(text, file).err())
    }

    /// Whether a sheet that does not read seems to be for a vehicle: its id or one of the patterns
    /// written in it fits. It must not be passed over in silence for another that fits too.
    fn seems_for(&self, query: SheetQuery<'_>) -> bool {
        let text = self.text.as_deref().unwrap_or_default();
        let written = |key: &str| {
            let lines = text
                .lines()
                .filter(|line| line.trim_start().starts_with(key));
            let values: Vec<&str> = lines
                .flat_map(|line| line.split('"').skip(1).step_by(2))
                .collect();
            values
        };
        match query {
            SheetQuery::Vin(vin) => Sheet {
                vin_patterns: written("vin_patterns")
                    .into_iter()
                    .map(str::to_owned)
                    .collect(),
                ..Sheet::default()
            }
            .fits_vin(vin),
            SheetQuery::Name(name) => {
                self.id() == name.trim() || written("id").contains(&name.trim())
            }
        }
    }
}

fn named<'a>(files: &'a [SpecFile], id: &str, what: &str) -> Result<&'a SpecFile, Failure> {
    files.iter().find(|file| file.id() == id).ok_or_else(|| {
        let known: Vec<&str> = files.iter().map(SpecFile::id).collect();
        Failure::from(format!("there is no {what} `{id}`"))
            .hint(format!("there are: {}", known.join(", ")))
    })
}

impl Library {
    pub(crate) fn of(shop: &Workshop) -> Result<Self, Failure> {
        Ok(Self {
            sheets: collect(shop, "vehicles", builtin_sheets())?,
            packs: collect(shop, "rules", builtin_rule_packs())?,
            policies: collect(shop, "policy", builtin_policies())?,
            schedules: collect(shop, "schedules", builtin_schedules())?,
        })
    }

    /// Every text, in a fixed order.
    pub(crate) fn texts(&self) -> impl Iterator<Item = &str> {
        [&self.sheets, &self.packs, &self.policies, &self.schedules]
            .into_iter()
            .flatten()
            .flat_map(|one| [one.file.as_str(), one.text.as_deref().unwrap_or_default()])
    }

    /// Says which of the workshop's own files cannot be used: jobs that do not need them go on.
    pub(crate) fn warn_unread(&self, world: &mut World<'_>) -> Result<(), Failure> {
        let own =
            |files: &'static str, list: &[SpecFile], fault: fn(&SpecFile) -> Option<String>| {
                let bad = list.iter().filter(|one| one.own).filter_map(fault);
                let first = |fault: String| fault.lines().next().unwrap_or_default().to_owned();
                bad.map(|fault| format!("{files}: {}", first(fault)))
                    .collect::<Vec<_>>()
            };
        let mut faults = own("sheets", &self.sheets, SpecFile::sheet_fault);
        faults.extend(own("rule packs", &self.packs, |one| {
            one.fault(|text, file| defect::read_pack(text, file).err())
        }));
        faults.extend(own("policies", &self.policies, |one| {
            one.fault(|text, file| Policy::parse(text, file).err())
        }));
        faults.extend(own("schedules", &self.schedules, |one| {
            one.fault(|text, file| Schedule::parse(text, file).err())
        }));
        for fault in faults {
            writeln!(
                world.err,
                "warning: a file in specs is passed over, {fault}; `brakecorner spec check` lists every problem"
            )?;
        }
        Ok(())
    }

    /// The sheet that fits a VIN, or has a name; the workshop's own go before the built-in ones.
    /// Where several fit, a terminal is asked.
    pub(crate) fn sheet_for(
        &self,
        world: &mut World<'_>,
        vin: &str,
        name: Option<&str>,
    ) -> Result<String, Failure> {
        let query = name.map_or(SheetQuery::Vin(vin), SheetQuery::Name);
        let (mut own, mut built_in) = (Vec::new(), Vec::new());
        for one in &self.sheets {
            match one.text().map(|text| Sheet::parse(text, &one.file)) {
                Ok(Ok(sheet)) if one.own => own.push(sheet),
                Ok(Ok(sheet)) => built_in.push(sheet),
                Ok(Err(problems)) if one.seems_for(query) => return Err(problems).hint(SPEC_CHECK),
                Err(failure) if one.seems_for(query) => return Err(failure),
                Ok(Err(_)) | Err(_) => {}
            }
        }
        let what = name.map_or_else(|| format!("VIN {vin}"), |name| format!("the name `{name}`"));
        match find_sheet(&own, &built_in, query) {
            Match::One(sheet) => Ok(sheet.id.clone()),
            Match::None => Err(Failure::from(format!("no spec sheet fits {what}"))
                .hint("name one with `--sheet`, or put the vehicle's sheet into the workshop's specs folder")),
            Match::Ambiguous(ids) => choose(world, &what, ids),
        }
    }

    /// A sheet by its id.
    pub(crate) fn sheet(&self, id: &str) -> Result<Sheet, Failure> {
        let one = self.sheet_file(id)?;
        Ok(Sheet::parse(one.text()?, &one.file)?)
    }

    /// The snapshots of what a job names. A rule pack with rows that no vehicle reaches is not used.
    pub(crate) fn snapshots(&self, opening: &Opening) -> Result<Snapshots, Failure> {
        let pack = |id: &String| -> Result<Snapshot, Failure> {
            let one = named(&self.packs, id, "rule pack")?;
            if one.own {
                defect::read_pack(one.text()?, &one.file).hint(SPEC_CHECK)?;
            }
            one.snapshot()
        };
        Ok(Snapshots {
            sheet: self.sheet_file(&opening.sheet)?.snapshot()?,
            rules: opening.rules.iter().map(pack).collect::<Result<_, _>>()?,
            policy: named(&self.policies, &opening.policy, "policy")?.snapshot()?,
            schedule: named(&self.schedules, &opening.schedule, "schedule")?.snapshot()?,
        })
    }

    /// A sheet's file by the id written in it, which need not be its file name. One that seems to be
    /// it and does not read is not passed over.
    fn sheet_file(&self, id: &str) -> Result<&SpecFile, Failure> {
        let is = |one: &&SpecFile| {
            let text = one.text.as_deref().unwrap_or_default();
            match Sheet::parse(text, &one.file) {
                Ok(sheet) => sheet.id == id,
                Err(_) => one.seems_for(SheetQuery::Name(id)),
            }
        };
        match self.sheets.iter().find(is) {
            Some(file) => Ok(file),
            None => named(&self.sheets, id, "spec sheet"),
        }
    }
}

/// Asks which of several sheets is meant; without a terminal nothing is chosen.
fn choose(world: &mut World<'_>, what: &str, ids: Vec<String>) -> Result<String, Failure> {
    if world.input_is_terminal {
        writeln!(world.err, "several spec sheets fit {what}:")?;
        for (number, id) in (1..).zip(&ids) {
            writeln!(world.err, "  {number} {id}")?;
        }
        write!(world.err, "? which one (number) ")?;
        world.err.flush()?;
        let mut line = String::new();
        world.input.read_line(&mut line)?;
        let number: Option<usize> = line.trim().parse().ok();
        if let Some(id) = number.and_then(|n| ids.get(n.checked_sub(1)?)) {
            return Ok(id.clone());
        }
    }
    Err(Failure::from(format!(
        "several spec sheets fit {what}: {}",
        ids.join(", ")
    ))
    .hint("choose one with `--sheet`"))
}

/// A job with everything it is judged by.
pub(crate) struct JobFile {
    pub(crate) shop: Workshop,
    pub(crate) folder: PathBuf,
    pub(crate) job: Job,
    pub(crate) snapshots: Snapshots,
    pub(crate) specs: Specs,
    pub(crate) register: Register,
    /// The last signed record beside the journal.
    last_record: Option<LastRecord>,
    /// Entries that were signed are not in the journal any more.
    pub(crate) astray: bool,
    /// What today's sheets, packs and policy would judge otherwise than the signed record.
    pub(crate) differs_today: Vec<Differs>,
}

/// A verdict that today's figures would give otherwise than the record that was signed.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) struct Differs {
    pub(crate) place: Place,
    pub(crate) item: Item,
    pub(crate) signed: ItemVerdict,
    pub(crate) today: ItemVerdict,
}

impl std::fmt::Display for Differs {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(
            f,
            "{} {} is {} by the figures it was signed with, and would be {} by today's",
            self.place, self.item, self.signed, self.today
        )
    }
}

fn differing(then: &Judgement, today: &Judgement) -> Vec<Differs> {
    let standing = |judgement: &Judgement| -> BTreeMap<(Place, Item), ItemVerdict> {
        let left = judgement.standing(Phase::AsLeft);
        left.map(|f| ((f.place, f.item), f.verdict)).collect()
    };
    let today = standing(today);
    let other = |((place, item), signed): ((Place, Item), ItemVerdict)| {
        let today = *today.get(&(place, item))?;
        (today != signed).then_some(Differs {
            place,
            item,
            signed,
            today,
        })
    };
    standing(then).into_iter().filter_map(other).collect()
}

impl JobFile {
    /// Opens a job to read it; works in a read-only folder. A journal that has lost what was signed
    /// is told and read all the same.
    pub(crate) fn read(
        globals: &Globals,
        world: &mut World<'_>,
        job: &str,
    ) -> Result<Self, Failure> {
        let shop = workshop(globals, world)?;
        let path = journal_path(&shop, job)?;
        let contents = Journal::peek(&path).map_err(|error| journal_failure(error, &shop, job))?;
        warn_torn(world, &contents);
        let (last_record, astray) = last_record(&path);
        let loss = astray.as_ref().is_some_and(Astray::is_loss);
        if let Some(astray) = astray {
            let hint = astray_hint(&astray, job);
            let what = Failure::from(astray).chain().join(": ");
            // A closed error stream must not stop the work.
            let _ = writeln!(world.err, "warning: {what}\nhint: {hint}");
        }
        let mut file = Self {
            last_record,
            astray: loss,
            ..Self::with(shop, folder_of(&path), contents.into_job(), job, world)?
        };
        file.judge_as_signed()?;
        for differs in &file.differs_today {
            // A closed error stream must not stop the work.
            let _ = writeln!(world.err, "note: {differs}");
        }
        Ok(file)
    }

    /// Opens a job to write to it. Nothing is added to a journal that has lost what was signed.
    pub(crate) fn write(
        globals: &Globals,
        world: &mut World<'_>,
        job: &str,
    ) -> Result<(Self, Journal), Failure> {
        let shop = workshop(globals, world)?;
        let path = journal_path(&shop, job)?;
        let (journal, opened) =
            Journal::open(&path).map_err(|error| journal_failure(error, &shop, job))?;
        if let Some(torn) = opened.torn {
            note_torn(world, torn.bytes);
        }
        let (last_record, astray) = last_record(&path);
        if let Some(astray) = astray.filter(Astray::is_loss) {
            let hint = astray_hint(&astray, job);
            return Err(Failure::from(astray).hint(hint).hint("nothing was written"));
        }
        let folded = Job::of_entries(opened.entries);
        let file = Self {
            last_record,
            ..Self::with(shop, folder_of(&path), folded, job, world)?
        };
        Ok((file, journal))
    }

    fn with(
        shop: Workshop,
        folder: PathBuf,
        job: Job,
        name: &str,
        world: &mut World<'_>,
    ) -> Result<Self, Failure> {
        let Some(opening) = &job.opening else {
            return Err(Failure::from(format!("job `{name}` was never opened"))
                .hint(format!("open it with `brakecorner job open {name} …`")));
        };
        let library = Library::of(&shop)?;
        library.warn_unread(world)?;
        let snapshots = library.snapshots(opening)?;
        let specs = snapshots.read()?;
        // A verdict, and so a record, depends on the instruments, not on all of their history.
        let register = shop.register()?.for_judging();
        Ok(Self {
            shop,
            folder,
            job,
            snapshots,
            specs,
            register,
            last_record: None,
            astray: false,
            differs_today: Vec::new(),
        })
    }

    /// The job with further events, as if somebody had written them; they need no clock.
    pub(crate) fn as_if_written(&self, by: &str, events: &[Event]) -> Job {
        let mut job = self.job.clone();
        let at = job.log().last().map(|(meta, ..)| meta.at);
        for event in events {
            let meta = Meta {
                seq: job.last_seq + 1,
                at: at.unwrap_or_default(),
                by: by.to_owned(),
            };
            job.take(meta, event.clone());
        }
        job
    }

    /// Judges a job that was signed, and in which nothing was logged since that a verdict depends on,
    /// by what it was signed with: sheet, packs, policy, schedule and instruments. Not for those who
    /// measure: they need things as they are.
    pub(crate) fn judge_as_signed(&mut self) -> Result<(), Failure> {
        let Some(last) = &self.last_record else {
            return Ok(());
        };
        let Some((register, signed)) = last.frozen(&self.job) else {
            return Ok(());
        };
        let register = register.clone();
        if self.snapshots != *signed {
            let specs = signed.read()?;
            let today = judge::verdicts(&self.case());
            let then = judge::verdicts(&specs.case(&self.job, &register));
            self.differs_today = differing(&then, &today);
            self.snapshots = signed.clone();
            self.specs = specs;
        }
        self.register = register;
        Ok(())
    }

    /// The instruments a job was signed with, for the next revision of it: it is signed by today's sheet,
    /// packs and policy, and what the register says today changes no reading taken before.
    pub(crate) fn instruments_as_signed(&mut self) {
        let last = self.last_record.as_ref();
        if let Some((register, _)) = last.and_then(|last| last.frozen(&self.job)) {
            self.register.clone_from(register);
        }
    }

    /// The last signed revision and the reason why it was signed unfinished, if it was.
    pub(crate) fn unfinished(&self) -> Option<(u32, &str)> {
        let last = self.last_record.as_ref()?;
        (!last.incomplete.is_empty()).then_some((last.revision, last.incomplete.as_str()))
    }

    /// The case to judge.
    pub(crate) fn case(&self) -> Case<'_> {
        self.specs.case(&self.job, &self.register)
    }

    /// Appends events, flushed to the disk, and takes them in.
    pub(crate) fn append(
        &mut self,
        journal: &mut Journal,
        world: &mut World<'_>,
        by: &str,
        events: &[Event],
    ) -> Result<(), Failure> {
        let entries = journal
            .append(world.clock.now(), by, events)
            .map_err(write_failure)?;
        for entry in entries {
            entry.move_into(&mut self.job);
        }
        Ok(())
    }
}

fn folder_of(journal: &Path) -> PathBuf {
    journal.parent().unwrap_or(Path::new(".")).to_owned()
}

/// The last record beside a journal, and how the journal disagrees with it.
fn last_record(journal: &Path) -> (Option<LastRecord>, Option<Astray>) {
    match LastRecord::of(&folder_of(journal)) {
        Ok(last) => {
            let astray = last.as_ref().and_then(|last| last.stands_in(journal).err());
            (last, astray)
        }
        Err(astray) => (None, Some(astray)),
    }
}

fn astray_hint(astray: &Astray, job: &str) -> String {
    if astray.is_loss() {
        format!(
            "bring journal.jsonl back from a backup before anything is entered; the record holds every line up to its signature; `brakecorner verify {job}` and `brakecorner audit` check the records"
        )
    } else {
        format!("`brakecorner verify {job}` says what is wrong with it")
    }
}

fn journal_path(shop: &Workshop, job: &str) -> Result<PathBuf, Failure> {
    shop.journal_path(job)
        .hint("job numbers look like HWY-0411")
}

pub(crate) fn write_failure(error: JournalError) -> Failure {
    Failure::from(error).hint(
        "free some space or make the folder writable, then go on: everything confirmed before is safe",
    )
}

pub(crate) fn journal_failure(error: JournalError, shop: &Workshop, job: &str) -> Failure {
    match error {
        JournalError::Missing { .. } => {
            Failure::from(format!("there is no job `{job}` in `{}`", shop.folder.display()))
                .hint(format!("`brakecorner job list` shows the jobs; `brakecorner job open {job} …` makes one"))
        }
        damaged @ JournalError::Damaged { .. } => Failure::from(damaged)
            .hint("nothing was changed; keep the file as it is and compare it with the last signed record or a backup"),
        other => Failure::from(other),
    }
}

fn warn_torn(world: &mut World<'_>, contents: &Contents) {
    if let Some(torn) = contents.torn {
        note_torn(world, torn.bytes);
    }
}

fn note_torn(world: &mut World<'_>, bytes: usize) {
    // A closed error stream must not stop the work.
    let _ = writeln!(
        world.err,
        "note: the journal ends in {bytes} bytes of an entry that was never confirmed; the next entry sets them aside in journal.torn"
    );
}
