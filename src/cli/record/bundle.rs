//! `record bundle`: everything somebody else needs to check a job, in one file.

use std::collections::BTreeMap;
use std::ffi::OsString;
use std::io::Cursor;
use std::path::{Path, PathBuf};

use super::super::error::{Exit, Failure, Hint as _};
use super::super::open::workshop;
use super::super::sign::{
    authorities_path, beside, compare_photo, countersignature_path, signature_path, stamp_path,
};
use super::super::verify::{LIMIT, Place, check_file, read_signers, revisions};
use super::super::{Clock, Globals, World, run as run_command};
use crate::record::freeze::ReadRecord;
use crate::record::sshsig::{COUNTERSIGN_NAMESPACE, NAMESPACE};
use crate::shop::folder::Workshop;
use crate::shop::{atomic, plain_file};

/// Put records, signatures, signers, photos and the findings sheet into one file
///
/// A plain tar file with a README that needs nothing but stock commands to check everything in it.
/// The customer's name, telephone number and address are not in it; VIN and plate are.
#[derive(Debug, clap::Args)]
#[command(after_help = "Example:\n  brakecorner record bundle HWY-0411 -o HWY-0411.tar")]
pub(super) struct Bundle {
    /// Job number
    job: String,
    /// File to write; JOB.tar unless given
    #[arg(short, long, value_name = "FILE")]
    output: Option<PathBuf>,
}

/// A revision in the bundle, as its README describes it.
struct Revision {
    name: String,
    sha256: String,
    record: ReadRecord,
    countersigner: Option<String>,
    stamped: bool,
}

pub(super) fn run(
    args: &Bundle,
    globals: &Globals,
    world: &mut World<'_>,
) -> Result<Exit, Failure> {
    let shop = workshop(globals, world)?;
    let folder = shop
        .job_folder(&args.job)
        .hint("job numbers look like HWY-0411")?;
    let mut files: BTreeMap<String, Vec<u8>> = BTreeMap::new();
    let revisions = collect(&shop, &folder, &args.job, &mut files)?;
    let sheet = sheet(&shop, &args.job, world)?;
    files.insert("sheet.txt".to_owned(), sheet);
    let readme = readme(&shop, &args.job, &revisions, &files);
    files.insert("README.txt".to_owned(), readme.into_bytes());
    let time = revisions
        .last()
        .map_or(0, |last| last.record.signed_at.timestamp());
    let tar = tar(&args.job, &files, u64::try_from(time).unwrap_or(0))?;
    let default = || PathBuf::from(format!("{}.tar", args.job));
    let path = world
        .folder
        .join(args.output.clone().unwrap_or_else(default));
    atomic::write_new(&path, &tar).hint("choose another file with -o")?;
    if globals.json {
        let names: Vec<&String> = files.keys().collect();
        let value = serde_json::json!({"job": args.job, "bundle": path, "files": names});
        writeln!(world.out, "{value:#}")?;
    } else {
        writeln!(
            world.out,
            "wrote {} with {} files; README.txt in it says how to check them",
            path.display(),
            files.len()
        )?;
    }
    Ok(Exit::Good)
}

/// Gathers the signed files; refuses what does not verify.
fn collect(
    shop: &Workshop,
    folder: &Path,
    job: &str,
    files: &mut BTreeMap<String, Vec<u8>>,
) -> Result<Vec<Revision>, Failure> {
    let signers = read_signers(Some(&shop.signers_path()))?;
    let place = Place {
        signers: signers.as_ref(),
        whole_job: true,
        ..Place::default()
    };
    let mut found = Vec::new();
    for path in revisions(folder) {
        let (examined, bytes) = check_file(&path, &place)?;
        let name = file_name(&path);
        let Some(record) = examined.record.filter(|_| examined.verification.good()) else {
            return Err(
                Failure::from(format!("`{name}` is not valid; no bundle was made"))
                    .hint(format!("`brakecorner verify {job}` shows every stage")),
            );
        };
        for side in [
            signature_path(&path),
            countersignature_path(&path),
            stamp_path(&path),
            beside(&path, ".tsq"),
        ] {
            if let Some(bytes) = plain_file::read_if_there(&side, LIMIT)? {
                files.insert(file_name(&side), bytes);
            }
        }
        for (_, _, _, sha256, _) in &record.journal().fold().photos {
            let photo = compare_photo(folder, sha256).hint("restore the photo, then repeat")?;
            let bytes = plain_file::read(&photo, u64::MAX)?;
            files.insert(format!("photos/{}", file_name(&photo)), bytes);
        }
        files.insert(name.clone(), bytes);
        found.push(Revision {
            stamped: files.contains_key(&format!("{name}.tsr")),
            name,
            sha256: examined.verification.sha256,
            record: *record,
            countersigner: examined.verification.countersigner,
        });
    }
    if found.is_empty() {
        return Err(Failure::from(format!("job `{job}` has no signed record"))
            .hint(format!("sign it with `brakecorner sign {job}`")));
    }
    for path in [
        shop.signers_path(),
        shop.folder.join("revoked"),
        authorities_path(&shop.folder),
    ] {
        if let Some(bytes) = plain_file::read_if_there(&path, LIMIT)? {
            files.insert(file_name(&path), bytes);
        }
    }
    Ok(found)
}

fn file_name(path: &Path) -> String {
    path.file_name()
        .unwrap_or_default()
        .to_string_lossy()
        .into_owned()
}

/// The findings sheet, as the `sheet` command prints it without colour.
fn sheet(shop: &Workshop, job: &str, world: &mut World<'_>) -> Result<Vec<u8>, Failure> {
    let args: Vec<OsString> = vec![
        "brakecorner".into(),
        "--shop".into(),
        shop.folder.clone().into(),
        "--color".into(),
        "never".into(),
        "sheet".into(),
        job.into(),
    ];
    let (mut input, mut out, mut err) = (Cursor::new(Vec::new()), Vec::new(), Vec::new());
    let mut inner = World {
        clock: Clock::Told {
            next: world.clock.now(),
            step: chrono::Duration::zero(),
        },
        input: &mut input,
        out: &mut out,
        err: &mut err,
        out_is_terminal: false,
        input_is_terminal: false,
        env: world.env.clone(),
        folder: world.folder.clone(),
    };
    match run_command(args, &mut inner) {
        Exit::NoAnswer => Err(Failure::from(format!(
            "the findings sheet could not be made: {}",
            String::from_utf8_lossy(&err).trim_end()
        ))),
        _ => Ok(out),
    }
}

/// A name as one word of a command line, whatever characters it has: these lines are copied into
/// somebody else's terminal.
pub(in crate::cli) fn quoted(name: &str) -> String {
    let harmless = |c: char| c.is_alphanumeric() || " .,-_'@+".contains(c);
    if name.chars().all(harmless) {
        format!("\"{name}\"")
    } else {
        format!("'{}'", name.replace('\'', "'\\''"))
    }
}

fn readme(
    shop: &Workshop,
    job: &str,
    revisions: &[Revision],
    files: &BTreeMap<String, Vec<u8>>,
) -> String {
    let revoked = if files.contains_key("revoked") {
        " -r revoked"
    } else {
        ""
    };
    let mut text = format!(
        "Brake inspection, job {job}, {}\n\n\
         How to check it\n\
         ---------------\n\
         Nothing of ours is needed: `ssh-keygen` is part of OpenSSH, which comes with Linux, macOS\n\
         and Windows 10 and later. Open a terminal in this folder. Every line must answer `Good`.\n{}",
        shop.settings.name,
        if revisions.iter().any(|revision| revision.stamped) {
            "A line with `openssl` must answer `Verification: OK`; OpenSSL comes with most systems too.\n"
        } else {
            ""
        }
    );
    for revision in revisions {
        let record = &revision.record;
        let name = &revision.name;
        let signer = quoted(&record.signer.principal);
        text.push_str(&format!(
            "\nRevision {}, signed by {} at {}:\n\n    \
             ssh-keygen -Y verify -f signers{revoked} -I {signer} -n {NAMESPACE} -O verify-time={} -s {name}.sig < {name}\n",
            record.revision,
            record.signer.principal,
            record.signed_at.to_rfc3339(),
            record.signed_at.to_utc().format("%Y%m%d%H%M%SZ"),
        ));
        if let Some(second) = &revision.countersigner {
            text.push_str(&format!(
                "\n    ssh-keygen -Y verify -f signers{revoked} -I {} -n {COUNTERSIGN_NAMESPACE} -O verify-time={} -s {name}.countersign.sig < {name}\n",
                quoted(second),
                record.signed_at.to_utc().format("%Y%m%d%H%M%SZ"),
            ));
        }
        if revision.stamped {
            text.push_str(&format!(
                "\n    openssl ts -verify -data {name}.sig -in {name}.tsr -CAfile authorities.pem\n"
            ));
        }
        text.push_str(&format!("\n  Its SHA-256 is\n    {}\n", revision.sha256));
        if !record.previous_revision.is_empty() {
            text.push_str(&format!(
                "  and it names the revision before it as\n    {}\n",
                record.previous_revision
            ));
        }
    }
    text.push_str(
        "\nCompare these with what `sha256sum record-1.json` prints (`certutil -hashfile record-1.json\n\
         SHA256` on Windows, `shasum -a 256 record-1.json` on macOS).\n",
    );
    if files.keys().any(|name| name.starts_with("photos/")) {
        text.push_str(
            "\nA photo's file name is its own SHA-256, and the record names it: `sha256sum photos/*` must\n\
             print the same digits twice on every line.\n",
        );
    }
    text.push_str(
        "\nWhat it proves\n\
         --------------\n\
         That somebody who held the signer's key signed exactly these bytes, which hold every reading\n\
         as it was entered, the limits and where they come from, and the verdicts. It does not prove\n\
         that a reading is true, nor, without a time-stamp, that the signer's clock was right. The\n\
         file `signers` came with this bundle, so it vouches for nothing by itself: ask the workshop,\n\
         by a way you trust, whether the fingerprints (`SHA256:…`) that the commands print are theirs.\n\
         \n\
         The records are text: open them in any editor. `sheet.txt` is the summary the customer got;\n\
         it is not signed itself.\n",
    );
    text
}

/// A plain tar file: one folder, files in order of their names, no owner, one time.
fn tar(job: &str, files: &BTreeMap<String, Vec<u8>>, time: u64) -> Result<Vec<u8>, Failure> {
    let mut builder = tar::Builder::new(Vec::new());
    for (name, bytes) in files {
        let mut header = tar::Header::new_ustar();
        header.set_size(bytes.len() as u64);
        header.set_mode(0o644);
        header.set_mtime(time);
        builder.append_data(&mut header, format!("{job}/{name}"), bytes.as_slice())?;
    }
    Ok(builder.into_inner()?)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_name_never_becomes_a_command() {
        assert_eq!(quoted("Ilse Varga"), "\"Ilse Varga\"");
        assert_eq!(quoted("Séan O'Dea"), "\"Séan O'Dea\"");
        assert_eq!(quoted("$(reboot)"), "'$(reboot)'");
        assert_eq!(quoted("`reboot`'; x"), "'`reboot`'\\''; x'");
    }
}
