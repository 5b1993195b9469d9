//! The findings sheet: one model, from which text, HTML and PDF are drawn.
//!
//! [`build`] makes the model of a judged job, in the customer's language; [`text`], [`html`] and
//! (with the feature `pdf`) [`pdf`] lay it out. Nothing here reads a clock, a file or the
//! environment, and nothing is said that the record does not hold.

pub mod ascii;
pub mod build;
pub mod calendar;
pub mod chart;
pub mod forms;
pub mod html;
pub mod model;
pub mod palette;
#[cfg(feature = "pdf")]
pub mod pdf;
mod photo;
pub mod text;
pub mod words;

pub use build::{Material, sheet, tag, worksheet};
pub use model::{
    Backing, Customer, Decided, Edition, Form, Offer, Paper, SheetModel, Signature, TagModel,
    WorksheetModel,
};
pub use photo::{Bare, PhotoFile};
