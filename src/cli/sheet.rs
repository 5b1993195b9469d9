//! `sheet`: the findings sheet for the customer, the worksheet, the re-torque slip.

use std::path::{Path, PathBuf};

use clap::ValueEnum;

use super::error::{Exit, Failure, Hint as _};
use super::open::{JobFile, style};
use super::verify::{Place, check_file, read_signers, revision_of, revisions};
use super::{Globals, World};
use crate::job::{Event, Job, PersonalField, Phase, Register};
use crate::judge::{self, Case, Judgement};
use crate::record::freeze::{ReadRecord, Specs, Stage};
use crate::sheet::forms::Units;
use crate::sheet::text::{self, Signs};
use crate::sheet::words::Language;
use crate::sheet::{
    self, Backing, Customer, Edition, Form, Material, Paper, PhotoFile, Signature, calendar, html,
};
use crate::shop::folder::Workshop;
use crate::shop::private::Private;

/// Print the findings sheet a customer understands
///
/// Also the worksheet to hang at the wheel before the job, the re-torque slip alone, and a calendar
/// file with what falls due. Without `-o` the document goes to standard output.
#[derive(Debug, clap::Args)]
#[command(
    after_help = "Examples:\n  brakecorner sheet HWY-0411\n  brakecorner sheet HWY-0411 --as pdf -o HWY-0411.pdf\n  brakecorner sheet HWY-0411 --worksheet --as html --open"
)]
pub(super) struct Args {
    /// Job number
    #[arg(required_unless_present = "template_default")]
    job: Option<String>,
    /// Form of the document; by default that of the file's name, else text
    #[arg(long = "as", value_enum, value_name = "FORM")]
    form: Option<FormArg>,
    /// Whom it is for
    #[arg(long = "for", value_enum, default_value_t, value_name = "WHOM")]
    edition: EditionArg,
    /// Paper of PDF and printed HTML
    #[arg(long, value_enum, value_name = "PAPER")]
    paper: Option<PaperArg>,
    /// Large print
    #[arg(long)]
    large: bool,
    /// Language of the document
    #[arg(long, value_enum, value_name = "LANGUAGE")]
    lang: Option<LanguageArg>,
    /// Units of the document
    #[arg(long, value_enum, value_name = "UNITS")]
    units: Option<UnitsArg>,
    /// The job as it was signed in this revision, instead of as it is now
    #[arg(long, value_name = "N")]
    revision: Option<u32>,
    /// Write to this file instead of the terminal; a file that exists is left alone
    #[arg(short, long, value_name = "FILE")]
    output: Option<PathBuf>,
    /// Show the document in the program the system has for it
    #[arg(long)]
    open: bool,
    /// The worksheet to hang at the wheel before the job
    #[arg(long, group = "kind")]
    worksheet: bool,
    /// The re-torque slip alone
    #[arg(long, group = "kind")]
    tag: bool,
    /// A calendar file with re-torque and next inspection
    #[arg(long, group = "kind", conflicts_with_all = ["form", "template"])]
    calendar: bool,
    /// Lay out the PDF by this template instead of ours
    #[arg(long, value_name = "FILE")]
    template: Option<PathBuf>,
    /// Print our PDF template, to begin one's own from
    #[arg(long, conflicts_with_all = ["job", "kind", "template"])]
    template_default: bool,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
enum FormArg {
    Text,
    Html,
    Pdf,
}

#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, ValueEnum)]
enum EditionArg {
    #[default]
    Customer,
    Workshop,
}

#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, ValueEnum, serde::Deserialize)]
#[serde(rename_all = "lowercase")]
enum PaperArg {
    #[default]
    A4,
    Letter,
}

#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, ValueEnum, serde::Deserialize)]
#[serde(rename_all = "lowercase")]
enum LanguageArg {
    /// English
    #[default]
    En,
    /// German
    De,
}

#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, ValueEnum, serde::Deserialize)]
#[serde(rename_all = "lowercase")]
enum UnitsArg {
    /// mm, km, N·m, °C
    #[default]
    Metric,
    /// in, mi, lbf·ft, °F
    Imperial,
}

impl Args {
    /// The command's choices, else those of the workshop's sheet.toml.
    fn model_form(&self, shop: &Workshop, settings: &Settings) -> Form {
        Form {
            sides: shop.settings.sides,
            language: match self.lang.or(settings.language).unwrap_or_default() {
                LanguageArg::En => Language::En,
                LanguageArg::De => Language::De,
            },
            units: match self.units.or(settings.units).unwrap_or_default() {
                UnitsArg::Metric => Units::Metric,
                UnitsArg::Imperial => Units::Imperial,
            },
            edition: match self.edition {
                EditionArg::Customer => Edition::Customer,
                EditionArg::Workshop => Edition::Workshop,
            },
            paper: match self.paper.or(settings.paper).unwrap_or_default() {
                PaperArg::A4 => Paper::A4,
                PaperArg::Letter => Paper::Letter,
            },
            large: self.large,
        }
    }

    fn form(&self) -> FormArg {
        let by_name = self
            .output
            .as_deref()
            .and_then(Path::extension)
            .and_then(|e| e.to_str());
        let by_name = match by_name {
            Some("html" | "htm") => Some(FormArg::Html),
            Some("pdf") => Some(FormArg::Pdf),
            _ => None,
        };
        self.form.or(by_name).unwrap_or(if self.template.is_some() {
            FormArg::Pdf
        } else {
            FormArg::Text
        })
    }
}

/// How a workshop writes its sheets unless the command says otherwise: `sheet.toml` in its folder.
#[derive(Debug, Default, serde::Deserialize)]
#[serde(deny_unknown_fields, default)]
struct Settings {
    language: Option<LanguageArg>,
    units: Option<UnitsArg>,
    paper: Option<PaperArg>,
}

impl Settings {
    fn of(shop: &Workshop) -> Result<Self, Failure> {
        let path = shop.folder.join("sheet.toml");
        match std::fs::read_to_string(&path) {
            Ok(text) => crate::shop::folder::parse_toml(&text, &path)
                .hint("it may hold `language`, `units` and `paper`, with the words of `brakecorner sheet --help`"),
            Err(error) if error.kind() == std::io::ErrorKind::NotFound => Ok(Self::default()),
            Err(error) => Err(Failure::from(error).hint(format!("at {}", path.display()))),
        }
    }
}

pub(super) fn run(args: &Args, globals: &Globals, world: &mut World<'_>) -> Result<Exit, Failure> {
    let Some(job) = &args.job else {
        return print_template(world);
    };
    let file = JobFile::read(globals, world, job)?;
    let subject = Subject::of(file, args.revision)?;
    let case = subject.specs.case(&subject.job, &subject.register);
    let judgement = judge::judge(&case);
    let material = material(&subject, &case, &judgement)?;
    let (content, ending) = content(args, globals, world, &subject, &material)?;
    deliver(args, world, job, &content, ending)
}

/// The job a sheet is about: as it is now, or as it was signed.
struct Subject {
    shop: Workshop,
    folder: PathBuf,
    job: Job,
    specs: Specs,
    register: Register,
    backing: Backing,
    state: Phase,
}

impl Subject {
    fn of(file: JobFile, revision: Option<u32>) -> Result<Self, Failure> {
        let Some(revision) = revision else {
            let backing = backing(&file)?;
            return Ok(Self {
                shop: file.shop,
                folder: file.folder,
                job: file.job,
                specs: file.specs,
                register: file.register,
                backing,
                state: Phase::AsLeft,
            });
        };
        let path = file.folder.join(format!("record-{revision}.json"));
        let all = revisions(&file.folder);
        if !all.contains(&path) {
            return Err(Failure::from(format!(
                "there is no revision {revision}; the job has {}",
                all.len()
            ))
            .hint("`brakecorner verify JOB` lists the signed revisions"));
        }
        let (record, signature) = signed(&file.shop, &path)?;
        let signature = signature.ok_or_else(|| {
            Failure::from(format!("revision {revision} does not verify"))
                .hint("`brakecorner verify JOB` says what is wrong with it")
        })?;
        Ok(Self {
            state: match record.stage {
                Stage::AsFound => Phase::AsFound,
                Stage::Final => Phase::AsLeft,
            },
            job: record.journal().fold(),
            specs: record.specifications.read()?,
            register: record.instruments,
            shop: file.shop,
            folder: file.folder,
            backing: Backing::Signed(signature),
        })
    }
}

/// The last signed revision, if it verifies, and whether the journal has gone on since.
fn backing(file: &JobFile) -> Result<Backing, Failure> {
    let Some(path) = revisions(&file.folder).pop() else {
        return Ok(Backing::Unsigned);
    };
    if file.astray {
        return Ok(Backing::Lost {
            revision: revision_of(&path).unwrap_or_default(),
        });
    }
    let (_, signature) = signed(&file.shop, &path)?;
    let known = |signature: &Signature| {
        let signed = file.job.signed.last();
        signed == Some(&(signature.revision, signature.sha256.clone()))
    };
    let Some(signature) = signature.filter(known) else {
        return Ok(Backing::Unsigned);
    };
    // A strike stands in no log, but it has its number.
    let last = file.job.log().last();
    let signed_last = last.is_some_and(|(meta, event, _)| {
        matches!(event, Event::Signed { .. }) && meta.seq == file.job.last_seq
    });
    Ok(if !file.differs_today.is_empty() {
        let otherwise = file.differs_today.iter().map(|d| (d.place, d.item));
        Backing::OtherToday {
            signature,
            otherwise: otherwise.collect(),
        }
    } else if signed_last {
        Backing::Signed(signature)
    } else {
        Backing::ChangedSince(signature)
    })
}

/// A record and, if it verifies, its signature.
fn signed(shop: &Workshop, path: &Path) -> Result<(ReadRecord, Option<Signature>), Failure> {
    let signers = read_signers(Some(&shop.signers_path()))?;
    let place = Place {
        signers: signers.as_ref(),
        ..Place::default()
    };
    let (examined, bytes) = check_file(path, &place)?;
    let found = examined.verification;
    let record = match examined.record {
        Some(record) => *record,
        // It is no record of ours: the reader says why.
        None => serde_json::from_slice(&bytes).hint(format!("at {}", path.display()))?,
    };
    let good = found.good().then(|| Signature {
        revision: record.revision,
        sha256: found.sha256,
        signer: record.signer.principal.clone(),
        fingerprint: record.signer.fingerprint.clone(),
        signed_at: record.signed_at,
        incomplete: record.incomplete.clone(),
    });
    Ok((record, good))
}

fn material<'a>(
    subject: &'a Subject,
    case: &'a Case<'a>,
    judgement: &'a Judgement,
) -> Result<Material<'a>, Failure> {
    Ok(Material {
        case,
        judgement,
        workshop: &subject.shop.settings.name,
        address: &subject.shop.settings.address,
        customer: customer(subject)?,
        backing: subject.backing.clone(),
        photos: photos(subject),
        quote: super::quote::for_sheet(&subject.shop, case, judgement)?,
        state: subject.state,
    })
}

/// The customer's name from beside the record, if it is the one the record has the digest of.
fn customer(subject: &Subject) -> Result<Customer, Failure> {
    let field = PersonalField::Customer;
    let recorded = subject.job.personal.get(&field);
    let private = Private::read(&subject.folder)
        .hint("`brakecorner job forget JOB` deletes the customer's data for good")?
        .unwrap_or_default();
    Ok(match (private.fields.get(&field), recorded) {
        (Some(name), Some(digest)) if name.digest(field) == *digest => {
            Customer::Given(name.value.clone())
        }
        (Some(_), _) => Customer::Differs,
        (None, Some(_)) => Customer::Deleted,
        (None, None) => Customer::NotGiven,
    })
}

/// Largest photo that is put on a sheet.
const LARGEST_PHOTO: u64 = 24 * 1024 * 1024;

/// The job's photos that can be read; a missing one is named on the sheet.
fn photos(subject: &Subject) -> Vec<PhotoFile> {
    let folder = subject.folder.join("photos");
    let names = subject.job.photos.iter().map(|(.., sha256, _)| sha256);
    names
        // A recorded digest names a file; nothing else may.
        .filter(|sha256| sha256.len() == 64 && sha256.chars().all(|c| c.is_ascii_hexdigit()))
        .filter_map(|sha256| {
            let path = folder.join(sha256);
            let len = std::fs::metadata(&path).ok()?.len();
            (len <= LARGEST_PHOTO).then_some(())?;
            Some(PhotoFile {
                sha256: sha256.clone(),
                bytes: std::fs::read(path).ok()?,
            })
        })
        .collect()
}

fn content(
    args: &Args,
    globals: &Globals,
    world: &World<'_>,
    subject: &Subject,
    material: &Material<'_>,
) -> Result<(Vec<u8>, &'static str), Failure> {
    let form = args.model_form(&subject.shop, &Settings::of(&subject.shop)?);
    if args.calendar {
        let tag = sheet::tag(material, form);
        return Ok((calendar::calendar(material, &tag, form).into_bytes(), "ics"));
    }
    let style = style(globals, world);
    let signs = if style.plain {
        Signs::Ascii
    } else {
        Signs::Unicode
    };
    let document = if args.worksheet {
        let model = sheet::worksheet(material, form);
        Document {
            text: text::worksheet(&model, signs),
            html: Box::new({
                let model = model.clone();
                move || html::worksheet(&model)
            }),
            json: serde_json::to_value(&model)?,
            head: model.head,
            photos: Vec::new(),
        }
    } else if args.tag {
        let model = sheet::tag(material, form);
        Document {
            text: text::tag(&model, signs),
            html: Box::new({
                let model = model.clone();
                move || html::tag(&model)
            }),
            json: serde_json::to_value(&model)?,
            head: model.head,
            photos: Vec::new(),
        }
    } else {
        let model = sheet::sheet(material, form);
        Document {
            text: text::render(&model, signs),
            html: Box::new({
                let model = model.clone();
                move || html::render(&model)
            }),
            json: serde_json::to_value(&model)?,
            head: model.head,
            photos: model.photos,
        }
    };
    if globals.json {
        return Ok((format!("{:#}\n", document.json).into_bytes(), "json"));
    }
    Ok(match args.form() {
        FormArg::Text => (style.sheet(&document.text).into_bytes(), "txt"),
        FormArg::Html => ((document.html)().into_bytes(), "html"),
        FormArg::Pdf => (pdf(args, world, &document, &subject.shop)?, "pdf"),
    })
}

/// A document in its forms; HTML and PDF are made when asked for.
struct Document {
    text: String,
    html: Box<dyn Fn() -> String>,
    json: serde_json::Value,
    #[cfg_attr(not(feature = "pdf"), allow(dead_code))]
    head: sheet::model::Head,
    #[cfg_attr(not(feature = "pdf"), allow(dead_code))]
    photos: Vec<sheet::model::Photo>,
}

#[cfg(feature = "pdf")]
fn pdf(
    args: &Args,
    world: &World<'_>,
    document: &Document,
    shop: &Workshop,
) -> Result<Vec<u8>, Failure> {
    use crate::sheet::pdf;
    let template = match &args.template {
        Some(path) => {
            let path = world.folder.join(path);
            Some(std::fs::read_to_string(&path).hint(format!("at {}", path.display()))?)
        }
        None => None,
    };
    let fonts = own_fonts(shop)?;
    let job = pdf::Job {
        model: document.json.clone(),
        head: &document.head,
        photos: &document.photos,
        template: template.as_deref(),
        fonts: &fonts,
    };
    pdf::render(&job)
        .map_err(|error| at_line(args, error))
        .hint("`brakecorner sheet --template-default` prints a template that works; docs/sheet.md describes what it is given")
}

/// What is wrong with a workshop's template, as FILE:LINE.
#[cfg(feature = "pdf")]
fn at_line(args: &Args, error: crate::sheet::pdf::PdfError) -> Failure {
    use crate::sheet::pdf::PdfError;
    let (Some(path), PdfError::Template(faults) | PdfError::Export(faults)) =
        (&args.template, &error)
    else {
        return Failure::from(error);
    };
    let said: Vec<String> = faults
        .iter()
        .map(|fault| {
            let line = fault.line.map_or(String::new(), |line| format!(":{line}"));
            format!("{}{line}: {}", path.display(), fault.words)
        })
        .collect();
    Failure::from(said.join("\n"))
}

/// Fonts the workshop keeps in `fonts/`, for writing that ours lack; in the order of their names,
/// so that the same folder gives the same pages.
#[cfg(feature = "pdf")]
fn own_fonts(shop: &Workshop) -> Result<Vec<Vec<u8>>, Failure> {
    let Ok(entries) = std::fs::read_dir(shop.folder.join("fonts")) else {
        return Ok(Vec::new());
    };
    let mut paths: Vec<PathBuf> = entries
        .filter_map(|entry| Some(entry.ok()?.path()))
        .collect();
    paths.retain(|path| {
        let ending = path
            .extension()
            .and_then(|e| e.to_str())
            .map(str::to_ascii_lowercase);
        matches!(ending.as_deref(), Some("ttf" | "otf" | "ttc"))
    });
    paths.sort();
    paths
        .iter()
        .map(|path| std::fs::read(path).hint(format!("at {}", path.display())))
        .collect()
}

#[cfg(not(feature = "pdf"))]
fn pdf(_: &Args, _: &World<'_>, _: &Document, _: &Workshop) -> Result<Vec<u8>, Failure> {
    Err(Failure::from("this program was built without PDF")
        .hint("use `--as html` and print it, or build with the feature `pdf`"))
}

#[cfg(feature = "pdf")]
fn print_template(world: &mut World<'_>) -> Result<Exit, Failure> {
    world
        .out
        .write_all(crate::sheet::pdf::TEMPLATE.as_bytes())?;
    Ok(Exit::Good)
}

#[cfg(not(feature = "pdf"))]
fn print_template(_: &mut World<'_>) -> Result<Exit, Failure> {
    Err(Failure::from("this program was built without PDF").hint("build with the feature `pdf`"))
}

fn deliver(
    args: &Args,
    world: &mut World<'_>,
    job: &str,
    content: &[u8],
    ending: &str,
) -> Result<Exit, Failure> {
    let path = match &args.output {
        Some(path) => Some(world.folder.join(path)),
        None if args.open => Some(shown_at(world, job, ending)),
        None => None,
    };
    match path {
        Some(path) => {
            if args.output.is_some() {
                crate::shop::atomic::write_new(&path, content)
                    .hint("choose another name; nothing is overwritten")?;
            } else {
                crate::shop::atomic::replace(&path, content)?;
            }
            writeln!(world.err, "wrote {}", path.display())?;
            if args.open {
                open_with_system(&path)?;
            }
        }
        None if ending == "pdf" && world.out_is_terminal => {
            return Err(Failure::from("a PDF is not for a terminal")
                .hint("name a file with `-o FILE`, or add `--open`"));
        }
        None => world.out.write_all(content)?,
    }
    Ok(Exit::Good)
}

/// Where a document lies that is only to be looked at.
fn shown_at(world: &World<'_>, job: &str, ending: &str) -> PathBuf {
    let folder = world
        .var("TMPDIR")
        .map_or_else(std::env::temp_dir, PathBuf::from);
    folder.join(format!("brakecorner-{job}.{ending}"))
}

/// Hands a file to the program the system has for it.
fn open_with_system(path: &Path) -> Result<(), Failure> {
    let program = if cfg!(windows) {
        "explorer"
    } else if cfg!(target_os = "macos") {
        "open"
    } else {
        "xdg-open"
    };
    std::process::Command::new(program)
        .arg(path)
        .stdin(std::process::Stdio::null())
        .spawn()
        .map(|_| ())
        .hint(format!(
            "`{program}` is what opens files on this system; open {} by hand",
            path.display()
        ))
}
