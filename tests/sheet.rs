//! The findings sheet: what it says, that it says no more than the record, and that no text of a
//! person can break it.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)] // helpers of tests, outside a test function

mod common;

#[path = "sheet/commands.rs"]
mod commands;
#[path = "sheet/harm.rs"]
mod harm;
#[path = "sheet/jobs.rs"]
mod jobs;
#[path = "sheet/outside.rs"]
mod outside;
#[cfg(feature = "pdf")]
#[path = "sheet/pdf.rs"]
mod pdf;
#[path = "sheet/photos.rs"]
mod photos;
#[path = "sheet/record.rs"]
mod record;
#[path = "sheet/said.rs"]
mod said;

use std::collections::BTreeSet;

use brakecorner::job::journal::sha256_hex;
use brakecorner::job::{
    Corner, Depth, Entered, Event, Item, Job, Kind, Meta, Observation, Opening, Outcome, Phase,
    Place, ReadingEvent, Register, Slot, Source, Symptom,
};
use brakecorner::judge::{self, Case, defect};
use brakecorner::office::Leaving;
use brakecorner::sheet::forms::Units;
use brakecorner::sheet::model::Form;
use brakecorner::sheet::text::{self, Signs};
use brakecorner::sheet::words::Language;
use brakecorner::sheet::{
    self, Backing, Customer, Decided, Edition, Material, Offer, Paper, PhotoFile, SheetModel, html,
};
use brakecorner::spec::{
    Policy, RulePack, Schedule, Sheet, builtin_rule_packs, builtin_schedules, builtin_sheets,
};
use brakecorner::units::{Distance, DistanceUnit};
use common::Yard;
use proptest::prelude::*;

/// What a job is judged by, from the built-in files.
struct Bench {
    sheet: Sheet,
    packs: Vec<RulePack>,
    policy: Policy,
    schedule: Schedule,
    register: Register,
}

impl Bench {
    fn new() -> Self {
        let file = |files: &'static [(&'static str, &'static str)], part: &str| {
            let found = files.iter().find(|(name, _)| name.contains(part)).unwrap();
            (found.0, found.1)
        };
        let (name, text) = file(builtin_sheets(), "dunling");
        let sheet = Sheet::parse(text, name).unwrap();
        let (name, text) = file(builtin_rule_packs(), "gb");
        let packs = vec![RulePack::parse(text, name).unwrap()];
        let (name, text) = file(builtin_schedules(), "routine");
        Self {
            sheet,
            packs,
            policy: Policy::builtin(),
            schedule: Schedule::parse(text, name).unwrap(),
            register: Register::default(),
        }
    }

    fn case<'a>(&'a self, job: &'a Job) -> Case<'a> {
        Case {
            job,
            sheet: &self.sheet,
            packs: &self.packs,
            policy: &self.policy,
            schedule: &self.schedule,
            register: &self.register,
            assumed: None,
        }
    }

    /// The sheet of a job in every way it can be made.
    fn model(&self, job: &Job, extra: &Extra, form: Form) -> SheetModel {
        let case = self.case(job);
        let judgement = judge::judge(&case);
        sheet::sheet(&extra.material(&case, &judgement), form)
    }
}

/// What comes from beside the journal.
#[derive(Clone, Default)]
struct Extra {
    workshop: String,
    address: Vec<String>,
    photos: Vec<PhotoFile>,
    quote: Vec<Offer>,
}

impl Extra {
    fn material<'a>(&'a self, case: &'a Case<'a>, judgement: &'a judge::Judgement) -> Material<'a> {
        Material {
            case,
            judgement,
            workshop: &self.workshop,
            address: &self.address,
            customer: Customer::default(),
            backing: Backing::Unsigned,
            photos: self.photos.clone(),
            quote: self.quote.clone(),
            state: Phase::AsLeft,
        }
    }
}

fn opening() -> Opening {
    Opening {
        job: "T-1".into(),
        registration: "HW 11".into(),
        vin: "A0ZDL07V7NK001122".into(),
        odometer: Distance::from_whole_km(84_120),
        odometer_unit: DistanceUnit::Kilometre,
        complaint: String::new(),
        symptoms: vec![],
        from_words: Vec::new(),
        depth: Depth::Full,
        schedule: "routine".into(),
        sheet: "merlock-dunling".into(),
        rules: vec!["gb".into()],
        policy: "default".into(),
        class: "N1".into(),
        first_used: None,
        build: Default::default(),
        quote: String::new(),
    }
}

fn job_of(events: &[Event], by: &str) -> Job {
    let mut job = Job::default();
    for (seq, event) in (1..).zip(events) {
        let meta = Meta {
            seq,
            at: "2026-03-02T08:40:00+00:00".parse().unwrap(),
            by: by.to_owned(),
        };
        job.apply(&meta, event);
    }
    job
}

fn reading(corner: &str, item: Item, slot: Slot, um: i64) -> Event {
    Event::Reading(Box::new(ReadingEvent {
        place: corner.parse().unwrap(),
        item,
        phase: Phase::AsFound,
        take: 1,
        slot,
        entered: Entered {
            text: format!("{}.{:03}", um / 1000, um % 1000),
            unit: "mm".into(),
            value: um * 1000,
        },
        instrument: None,
        clocking: None,
        source: Source::Typed,
        confirmed: false,
    }))
}

fn form(edition: Edition) -> Form {
    Form {
        edition,
        ..Form::default()
    }
}
