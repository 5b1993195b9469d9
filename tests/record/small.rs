//! A small record of an axle with drums and two items, made without files.
#![allow(unreachable_pub, clippy::unwrap_used)] // shared by a test and a benchmark

use brakecorner::job::journal::{self, GENESIS};
use brakecorner::job::{Depth, Event, Item, Meta, Observation, Opening, Phase, Register};
use brakecorner::judge;
use brakecorner::record::freeze::{
    FORMAT, Record, SignerStatement, Snapshot, Snapshots, Stage, VERSION, journal_lines,
};
use brakecorner::record::key::SignerKey;
use brakecorner::units::{Distance, DistanceUnit};
use ssh_key::private::{Ed25519Keypair, PrivateKey};

/// Its signer's key.
pub fn key() -> PrivateKey {
    PrivateKey::from(Ed25519Keypair::from_seed(&[11; 32]))
}

fn snapshots() -> Snapshots {
    let sheet = "id = \"s\"\nname = \"S\"\nsource = \"own\"\ndate = 2026-01-12\nentered_by = \"Ruth Aldous\"\nchecked_by = \"Ilse Varga\"\n\
        [wheel]\nfasteners = 4\n[[axle]]\nname = \"front\"\nbrake = \"drum\"\n[axle.drum]\nmax_mm = 204.0\nnew_mm = 203.2\n";
    let schedule = "id = \"t\"\nname = \"T\"\n[quick]\ncorner = [\"hose\"]\n[full]\ncorner = [\"hose\", \"pipe\"]\n";
    Snapshots {
        sheet: Snapshot::of("s.toml", sheet),
        rules: Vec::new(),
        policy: Snapshot::of("p.toml", "id = \"p\"\n"),
        schedule: Snapshot::of("t.toml", schedule),
    }
}

/// Its journal.
pub fn lines() -> String {
    let opening = Opening {
        job: "T-1".into(),
        registration: String::new(),
        vin: "A0ZDL07V7NK001122".into(),
        odometer: Distance::from_whole_km(84_120),
        odometer_unit: DistanceUnit::Kilometre,
        complaint: String::new(),
        symptoms: vec![],
        from_words: Vec::new(),
        depth: Depth::Quick,
        schedule: "t".into(),
        sheet: "s".into(),
        rules: vec![],
        policy: "p".into(),
        class: "N1".into(),
        first_used: None,
        build: Default::default(),
        quote: String::new(),
    };
    let seen = Event::Seen {
        place: "FL".parse().unwrap(),
        item: Item::Hose,
        phase: Phase::AsFound,
        observation: Observation::Sound,
    };
    let mut prev = GENESIS.to_owned();
    let mut text = String::new();
    for (seq, event) in (1..).zip([Event::Opened(Box::new(opening)), seen]) {
        let meta = Meta {
            seq,
            at: "2026-03-02T08:41:20+00:00".parse().unwrap(),
            by: "Ilse Varga".into(),
        };
        let (line, digest) = journal::encode(&meta, &prev, &event).unwrap();
        text.push_str(&line);
        text.push('\n');
        prev = digest;
    }
    text
}

/// Its bytes, signed by nobody yet.
pub fn record() -> Vec<u8> {
    let text = lines();
    let contents = journal::read(text.as_bytes());
    let (job, register, snapshots) = (contents.fold(), Register::default(), snapshots());
    let specs = snapshots.read().unwrap();
    let judgement = judge::judge(&specs.case(&job, &register));
    let record = Record {
        format: FORMAT,
        version: VERSION,
        rules_version: judge::RULES_VERSION,
        program: "a test",
        job: "T-1",
        revision: 1,
        previous_revision: "",
        stage: Stage::AsFound,
        incomplete: "only a test",
        signed_at: "2026-03-02T09:00:00+00:00".parse().unwrap(),
        workshop: "Test Yard",
        signer: SignerStatement {
            principal: "Ilse Varga".into(),
            fingerprint: SignerKey::try_from(key().public_key())
                .unwrap()
                .fingerprint(),
            device: "dev-0123456789abcdef".into(),
            sequence: 1,
            previous: String::new(),
        },
        judgement: &judgement,
        instruments: &register,
        specifications: &snapshots,
        journal: journal_lines(&text, &contents).unwrap(),
    };
    record.to_bytes().unwrap()
}
