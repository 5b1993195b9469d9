//! The sheet's model: everything on it, in the customer's language, ready to be laid out.
//!
//! The same model is drawn as text, HTML and PDF, so the three cannot say different things. A
//! workshop's own template is given it as JSON; `docs/sheet.md` describes the fields.

use std::collections::BTreeMap;

use chrono::{DateTime, FixedOffset, NaiveDate};
use serde::Serialize;

use super::chart::Drawing;
use super::palette::Tone;
use super::words::Language;
use crate::job::{Item, Outcome, Place};
use crate::office::Leaving;

/// Version of the model's form.
pub const SCHEMA: u32 = 1;

/// Whom a sheet is for.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash, Serialize)]
#[serde(rename_all = "lowercase")]
pub enum Edition {
    /// The customer.
    #[default]
    Customer,
    /// The workshop: with readings, uncertainty, causes, overrides and a timeline.
    Workshop,
}

/// The paper a sheet is laid out for.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash, Serialize)]
#[serde(rename_all = "lowercase")]
pub enum Paper {
    /// 210 mm × 297 mm.
    #[default]
    A4,
    /// 8.5 in × 11 in.
    Letter,
}

/// How a document is to be made.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Form {
    /// Language.
    pub language: Language,
    /// Units.
    pub units: super::forms::Units,
    /// Whom it is for.
    pub edition: Edition,
    /// Paper.
    pub paper: Paper,
    /// Large print.
    pub large: bool,
    /// How the sides are called.
    pub sides: crate::job::SideNames,
}

/// What the sheet knows of the customer, who is never in the record itself.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub enum Customer {
    /// No name was given when the job was opened.
    #[default]
    NotGiven,
    /// The name, which agrees with its digest in the record.
    Given(String),
    /// A name was given and has been deleted since.
    Deleted,
    /// A name lies in the job's folder that is not the one the record has the digest of.
    Differs,
}

/// What the three documents have in common.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Head {
    /// [`SCHEMA`].
    pub schema: u32,
    /// Language tag.
    pub language: &'static str,
    /// Paper.
    pub paper: Paper,
    /// Large print.
    pub large: bool,
    /// The document's title.
    pub title: String,
    /// Job number.
    pub job: String,
    /// The workshop's name.
    pub workshop: String,
    /// Its address.
    pub address: Vec<String>,
    /// Vehicle, date and the like.
    pub facts: Vec<Fact>,
    /// The time the content is from: of the signature, else of the last entry.
    pub as_of: Option<DateTime<FixedOffset>>,
    /// Words of headings and columns, by name.
    pub labels: BTreeMap<String, String>,
    /// Colours as `#rrggbb`: `ink`, `soft`, `panel`, and one a tone.
    pub palette: BTreeMap<&'static str, String>,
    /// The shapes of the four tones as SVG, by the tone's word.
    pub icons: BTreeMap<&'static str, String>,
}

impl Head {
    /// A label by its name; the name itself when there is none.
    #[must_use]
    pub fn label<'a>(&'a self, name: &'a str) -> &'a str {
        self.labels.get(name).map_or(name, String::as_str)
    }
}

/// A name and its value.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Fact {
    /// The name.
    pub label: String,
    /// The value.
    pub value: String,
}

/// A drawing with its words.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Picture {
    /// What it shows, in words.
    pub alt: String,
    /// The drawing as SVG.
    pub svg: String,
    /// Width in points.
    pub width: f64,
    /// The shapes, for other forms of drawing.
    #[serde(skip)]
    pub drawing: Drawing,
}

impl From<Drawing> for Picture {
    fn from(drawing: Drawing) -> Self {
        Self {
            alt: drawing.alt.clone(),
            svg: super::chart::svg(&drawing),
            width: drawing.width,
            drawing,
        }
    }
}

/// One line of a group.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Line {
    /// Place and part.
    pub subject: String,
    /// What was found, what the limit is, why it matters.
    pub sentences: Vec<String>,
    /// Until when.
    pub until: Option<String>,
    /// The tone of its mark.
    pub tone: Tone,
}

/// One of the groups.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Group {
    /// `now`, `later`, `holds`, `unseen`, `put_right` or `declined`.
    pub id: &'static str,
    /// Heading.
    pub title: String,
    /// Tone.
    pub tone: Tone,
    /// Lines.
    pub lines: Vec<Line>,
    /// What to say when there are none.
    pub none: String,
}

/// May it be driven.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Drive {
    /// The question.
    pub question: String,
    /// The answer.
    pub answer: String,
    /// Tone.
    pub tone: Tone,
}

/// A wearing part on the distance line.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Mark {
    /// Its letter on the line.
    pub letter: char,
    /// The part.
    pub part: String,
    /// Odometer at which it may reach its limit, the earliest.
    pub at: String,
}

/// The distance line.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct DistanceLine {
    /// The ruler.
    pub picture: Picture,
    /// The parts on it, nearest first.
    pub marks: Vec<Mark>,
    /// Today and the next service in words.
    pub ends: Vec<Fact>,
    /// The numbers behind it: today, service and marks on the odometer, for the text form.
    #[serde(skip)]
    pub numbers: (i64, Option<i64>, Vec<(i64, char)>),
}

/// What the desk offers, to become a line of the quote.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Offer {
    /// What would be done, in the workshop's words.
    pub words: String,
    /// Price, with its currency.
    pub price: Option<String>,
    /// What leaving it means; none when there is nothing to say.
    pub leaving: Option<Leaving>,
    /// The findings it would cure.
    pub cures: Vec<(Place, Item)>,
    /// What the customer said to it.
    pub decided: Option<Decided>,
}

/// What the customer said to a line.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Decided {
    /// The answer.
    pub outcome: Outcome,
    /// When.
    pub at: DateTime<FixedOffset>,
    /// By which means, as the journal names it: `telephone`.
    pub means: String,
    /// When to ask again.
    pub ask_again: Option<NaiveDate>,
    /// Whether the caution about leaving it was read out.
    pub caution_read: bool,
}

/// A line of the quote, as printed.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct QuoteLine {
    /// What would be done.
    pub words: String,
    /// Price, with its currency.
    pub price: Option<String>,
    /// What happens if it is not done.
    pub if_not: Option<String>,
    /// What was decided, when, by which means.
    pub decided: Option<String>,
}

/// The quote.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Quote {
    /// The original quote as given, if one was.
    pub given: Option<String>,
    /// Said when there are no lines.
    pub none: String,
    /// The lines to decide on.
    pub lines: Vec<QuoteLine>,
}

/// One item of a corner, an axle or the vehicle.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct ItemBlock {
    /// The item's id.
    pub id: &'static str,
    /// The part.
    pub title: String,
    /// The verdict's word.
    pub verdict: String,
    /// Its tone.
    pub tone: Tone,
    /// The value as it is left, if there is one.
    pub reading: Option<String>,
    /// The value as found, where it differs, with its verdict.
    pub found: Option<String>,
    /// The limit.
    pub limit: Option<String>,
    /// Whose limit it is.
    pub whose: Option<String>,
    /// What to say about it; empty for what simply holds.
    pub sentences: Vec<String>,
    /// The drawing to scale.
    pub picture: Option<Picture>,
}

/// A corner, an axle, or the vehicle.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Block {
    /// `FL`, `front`, `vehicle` and so on.
    pub code: String,
    /// The place in words.
    pub title: String,
    /// The verdict's word.
    pub verdict: String,
    /// Its tone.
    pub tone: Tone,
    /// Items with a value, a defect, or a reason.
    pub items: Vec<ItemBlock>,
    /// What was looked at and is sound.
    pub looked: Vec<String>,
    /// Remarks of the technician.
    pub notes: Vec<String>,
    /// Numbers of the photos taken here.
    pub photos: Vec<usize>,
}

/// A photo.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Photo {
    /// Its number on the sheet, from 1.
    pub number: usize,
    /// What it shows.
    pub caption: String,
    /// `jpg`, `png`, or none when the file is missing, not the one recorded, or no picture.
    pub format: Option<&'static str>,
    /// SHA-256 as recorded.
    pub sha256: String,
    /// The picture's bytes, without what else its file held.
    #[serde(skip)]
    pub bytes: Vec<u8>,
}

/// A finding with its numbers.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
#[allow(missing_docs)] // the columns of a table, named as on the sheet
pub struct TechnicalRow {
    pub place: String,
    pub item: String,
    pub phase: String,
    pub reading: String,
    pub limit: String,
    pub whose: String,
    pub uncertainty: String,
    pub probability: String,
    pub proof: String,
    pub verdict: String,
}

/// Readings of one set, as entered.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
#[allow(missing_docs)]
pub struct ReadingsRow {
    pub place: String,
    pub item: String,
    pub phase: String,
    pub instrument: String,
    pub texts: Vec<String>,
}

/// A likely cause.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct CauseRow {
    /// The cause.
    pub cause: String,
    /// What speaks for it.
    #[serde(rename = "for")]
    pub evidence_for: Vec<String>,
    /// What speaks against it.
    pub against: Vec<String>,
    /// What to test next.
    pub next_test: String,
    /// What that test would have to show for the cause to be ruled out.
    pub ruled_out_by: String,
}

/// Something that happened.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Happening {
    /// When.
    pub time: String,
    /// Who.
    pub person: String,
    /// What.
    pub event: String,
    /// Whether it was struck out later.
    pub struck: bool,
}

/// What only the workshop's edition has.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Technical {
    /// Findings with their numbers.
    pub rows: Vec<TechnicalRow>,
    /// Readings as entered.
    pub readings: Vec<ReadingsRow>,
    /// Likely causes.
    pub causes: Vec<CauseRow>,
    /// Questions answered and entries struck out.
    pub overrides: Vec<Happening>,
    /// What happened, in order.
    pub timeline: Vec<Happening>,
}

/// The slip to tear off.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Slip {
    /// What to do, by when, how.
    pub sentences: Vec<String>,
    /// Odometer at which it is due, in whole km.
    #[serde(skip)]
    pub due_km: Option<i64>,
    /// Day by which it is due.
    #[serde(skip)]
    pub due: Option<NaiveDate>,
}

/// The signed revision a sheet shows.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Signature {
    /// Revision number.
    pub revision: u32,
    /// SHA-256 of the record.
    pub sha256: String,
    /// Who signed.
    pub signer: String,
    /// Fingerprint of the key.
    pub fingerprint: String,
    /// When.
    pub signed_at: DateTime<FixedOffset>,
    /// Why something was missing when it was signed all the same; else empty.
    pub incomplete: String,
}

/// What stands behind a sheet.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub enum Backing {
    /// No signed record.
    #[default]
    Unsigned,
    /// A signed revision, which says the same.
    Signed(Signature),
    /// A signed revision, and entries made after it.
    ChangedSince(Signature),
    /// A signed revision, which says the same as this sheet, though the workshop's figures of today would
    /// judge these otherwise.
    OtherToday {
        /// The signed revision.
        signature: Signature,
        /// What would be judged otherwise.
        otherwise: Vec<(Place, Item)>,
    },
    /// A signed revision that holds entries which are gone from the job.
    Lost {
        /// Its number.
        revision: u32,
    },
}

impl Backing {
    /// The revision that says the same as the sheet.
    #[must_use]
    pub const fn signed(&self) -> Option<&Signature> {
        match self {
            Self::Signed(signature) => Some(signature),
            _ => None,
        }
    }
}

/// The signature and how to check it.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct SignatureBlock {
    /// Whether a signed record stands behind the sheet.
    pub signed: bool,
    /// That, in words.
    pub sentence: String,
    /// Signer, digest, key.
    pub facts: Vec<Fact>,
    /// How to check it, or to print what was signed, in words.
    pub how: String,
    /// The command to type, a line each.
    pub command: Vec<String>,
    /// QR code of job number, revision and digest.
    pub qr: Option<Picture>,
}

/// The findings sheet.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct SheetModel {
    /// `sheet`.
    pub kind: &'static str,
    /// Title, vehicle, words.
    #[serde(flatten)]
    pub head: Head,
    /// Whom it is for.
    pub edition: Edition,
    /// May it be driven.
    pub drive: Drive,
    /// What the record itself must tell on the first page: signed unfinished, changed since.
    pub notices: Vec<String>,
    /// The groups, in order.
    pub groups: Vec<Group>,
    /// The distance line, when there is a forecast.
    pub distance: Option<DistanceLine>,
    /// The quote.
    pub quote: Quote,
    /// Corners, then axles, then the vehicle.
    pub blocks: Vec<Block>,
    /// Photos.
    pub photos: Vec<Photo>,
    /// The workshop's part.
    pub technical: Option<Technical>,
    /// The re-torque slip, once every wheel is torqued.
    pub slip: Option<Slip>,
    /// The signature.
    pub signature: SignatureBlock,
    /// Cautions.
    pub cautions: Vec<String>,
}

/// The re-torque slip alone.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct TagModel {
    /// `tag`.
    pub kind: &'static str,
    /// Title, vehicle, words.
    #[serde(flatten)]
    pub head: Head,
    /// The slip.
    pub slip: Slip,
}

/// One thing to do at a wheel, with room to write.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct WorkRow {
    /// The item's id.
    pub id: &'static str,
    /// The part.
    pub title: String,
    /// Its limit, or empty.
    pub limit: String,
    /// What to write, in words.
    pub hint: String,
    /// Names of the boxes to write into; one without a name for a look.
    pub boxes: Vec<String>,
}

/// The work at one corner, an axle or the vehicle.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct WorkBlock {
    /// Code for `log`.
    pub code: String,
    /// The place in words.
    pub title: String,
    /// What to do, in order.
    pub rows: Vec<WorkRow>,
}

/// One page of the worksheet: an axle.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct WorkPage {
    /// The axle.
    pub title: String,
    /// Its corners, then the axle's own items.
    pub blocks: Vec<WorkBlock>,
    /// Where the ring's readings are taken; none on a drum brake.
    pub ring: Option<Picture>,
    /// Order of tightening.
    pub star: Option<Picture>,
    /// Torque and its stages.
    pub torque: Vec<String>,
}

/// The worksheet to hang at the wheel.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct WorksheetModel {
    /// `worksheet`.
    pub kind: &'static str,
    /// Title, vehicle, words.
    #[serde(flatten)]
    pub head: Head,
    /// That it is no record, and how its numbers get in.
    pub hint: String,
    /// An axle a page.
    pub pages: Vec<WorkPage>,
    /// The whole vehicle.
    pub vehicle: WorkBlock,
    /// Cautions.
    pub cautions: Vec<String>,
}
