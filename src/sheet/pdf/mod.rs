//! The documents as PDF, laid out by typst as a library with its own fonts.
//!
//! The page is described by a template, ours or the workshop's, which is given the model as
//! `/sheet.json` and nothing else: no file of the computer, no network, no clock. The file is
//! tagged and follows PDF/UA-1 and PDF/A-2a; the same model gives the same bytes.

mod glyphs;
mod world;

use chrono::{DateTime, Datelike as _, FixedOffset, Timelike as _, Utc};
use serde_json::Value;
use typst::diag::SourceDiagnostic;
use typst::foundations::{Datetime, Smart};
use typst_layout::PagedDocument;
use typst_pdf::{PdfOptions, PdfStandard, PdfStandards, Timestamp};

use super::model::{Head, Photo};
use world::Desk;

/// The built-in template.
pub const TEMPLATE: &str = include_str!("sheet.typ");

/// Why a PDF could not be made.
#[derive(Debug, thiserror::Error)]
#[non_exhaustive]
pub enum PdfError {
    /// The model has no JSON form.
    #[error("the sheet has no JSON form")]
    Json(#[from] serde_json::Error),
    /// The template does not work.
    #[error("the template cannot be laid out: {}", joined(.0))]
    Template(Vec<Fault>),
    /// The pages cannot be written as PDF.
    #[error("the pages cannot be written as PDF: {}", joined(.0))]
    Export(Vec<Fault>),
}

/// What is wrong, and in which line of the template.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Fault {
    /// The line, counted from 1; none when it is not one line's.
    pub line: Option<usize>,
    /// What is wrong, and what may help.
    pub words: String,
}

impl std::fmt::Display for Fault {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        if let Some(line) = self.line {
            write!(f, "line {line}: ")?;
        }
        f.write_str(&self.words)
    }
}

fn joined(faults: &[Fault]) -> String {
    let faults: Vec<String> = faults.iter().map(Fault::to_string).collect();
    faults.join("; ")
}

/// What a PDF is made of.
#[derive(Debug)]
pub struct Job<'a> {
    /// The model as JSON.
    pub model: Value,
    /// Its head.
    pub head: &'a Head,
    /// Photos, referred to by their number.
    pub photos: &'a [Photo],
    /// A template to use in place of ours.
    pub template: Option<&'a str>,
    /// Font files beside ours, for writing that they lack.
    pub fonts: &'a [Vec<u8>],
}

/// Lays out a document and writes it as PDF.
///
/// Signs that no font has are shown as `□`, and the last page names them; a photo that cannot be
/// read is left out and the page says so. Neither loses the sheet.
///
/// # Errors
/// [`PdfError::Template`] when the template does not work, which ours does for every model.
pub fn render(job: &Job<'_>) -> Result<Vec<u8>, PdfError> {
    match attempt(job, true) {
        Err(_) if !job.photos.is_empty() => attempt(job, false),
        done => done,
    }
}

fn attempt(job: &Job<'_>, with_photos: bool) -> Result<Vec<u8>, PdfError> {
    let mut model = job.model.clone();
    if !with_photos && let Some(Value::Array(photos)) = model.get_mut("photos") {
        for photo in photos {
            if let Some(photo) = photo.as_object_mut() {
                photo.insert("format".to_owned(), Value::Null);
            }
        }
    }
    let fonts = world::fonts(job.fonts);
    let missing = glyphs::replace(&mut model, &fonts);
    if let Some(object) = model.as_object_mut() {
        object.insert("replaced".to_owned(), Value::String(missing));
    }
    let photos = if with_photos { job.photos } else { &[] };
    let desk = Desk::new(
        job.template.unwrap_or(TEMPLATE),
        serde_json::to_vec(&model)?,
        photos,
        fonts,
        job.head.as_of.map(|at| at.date_naive()),
    );
    let warned = typst::compile::<PagedDocument>(&desk);
    let document = warned
        .output
        .map_err(|e| PdfError::Template(faults(&desk, &e)))?;
    let options = PdfOptions {
        ident: Smart::Custom(format!("brakecorner {} {}", job.head.title, job.head.job)),
        creator: Smart::Custom(Some("brakecorner".to_owned())),
        timestamp: job.head.as_of.and_then(timestamp),
        standards: PdfStandards::new(&[PdfStandard::Ua_1, PdfStandard::A_2a]).map_err(|e| {
            PdfError::Export(vec![Fault {
                line: None,
                words: e.message().to_string(),
            }])
        })?,
        ..PdfOptions::default()
    };
    typst_pdf::pdf(&document, &options).map_err(|e| PdfError::Export(faults(&desk, &e)))
}

/// The errors with the lines of the template they are in.
fn faults(desk: &Desk, errors: &[SourceDiagnostic]) -> Vec<Fault> {
    errors
        .iter()
        .map(|error| {
            let hints: Vec<String> = error.hints.iter().map(|hint| hint.v.to_string()).collect();
            let words = if hints.is_empty() {
                error.message.to_string()
            } else {
                format!("{} ({})", error.message, hints.join("; "))
            };
            Fault {
                line: desk.line(error.span),
                words,
            }
        })
        .collect()
}

fn timestamp(at: DateTime<FixedOffset>) -> Option<Timestamp> {
    let utc = at.with_timezone(&Utc);
    let part = |n: u32| u8::try_from(n).ok();
    let datetime = Datetime::from_ymd_hms(
        utc.year(),
        part(utc.month())?,
        part(utc.day())?,
        part(utc.hour())?,
        part(utc.minute())?,
        part(utc.second())?,
    )?;
    Some(Timestamp::new_utc(datetime))
}
