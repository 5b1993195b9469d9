//! `sign --stamp-request` and `--stamp`: a time-stamp of an authority on a revision's signature.
//!
//! The stamp is over the signature file: who has seen the signature has seen the record it is over.

use std::path::{Path, PathBuf};

use chrono::SecondsFormat;
use ssh_key::rand_core::{OsRng, RngCore as _};

use super::super::error::{Exit, Failure, Hint as _};
use super::super::open::workshop;
use super::super::verify::chosen_revision;
use super::super::{Globals, World};
use super::{Args, beside, file_name, signature_path, stamp_path};
use crate::record::stamp::{self, MAX_REPLY};
use crate::shop::atomic::{self, Access, Existing, NewFile};
use crate::shop::folder::Workshop;
use crate::shop::plain_file;

const LIMIT: u64 = MAX_REPLY as u64;

/// The workshop's file of certificates of trusted time-stamping authorities.
pub(in crate::cli) fn authorities_path(shop: &Path) -> PathBuf {
    shop.join("authorities.pem")
}

fn signature_of(shop: &Workshop, args: &Args) -> Result<(PathBuf, Vec<u8>), Failure> {
    let record = chosen_revision(shop, &args.job, args.revision)?;
    let signature = plain_file::read(&signature_path(&record), LIMIT)?;
    Ok((record, signature))
}

pub(super) fn request(
    args: &Args,
    globals: &Globals,
    world: &mut World<'_>,
) -> Result<Exit, Failure> {
    let shop = workshop(globals, world)?;
    let (record, signature) = signature_of(&shop, args)?;
    let mut nonce = [0; 8];
    OsRng.fill_bytes(&mut nonce);
    let der = stamp::request(&signature, nonce)?;
    let path = beside(&record, ".tsq");
    // A newer request replaces one that was never answered; its reply would no longer be taken.
    atomic::write_group(
        &[NewFile {
            path: &path,
            bytes: &der,
            existing: Existing::Replace,
            access: Access::Default,
        }],
        &mut atomic::no_hook,
    )?;
    if globals.json {
        let value = serde_json::json!({"job": args.job, "request": path});
        writeln!(world.out, "{value:#}")?;
    } else {
        writeln!(world.out, "wrote {}", path.display())?;
        writeln!(
            world.err,
            "send it to a time-stamping authority (content type application/timestamp-query), then\n  brakecorner sign {} --stamp REPLY.tsr --stamp-trust AUTHORITY.pem",
            args.job
        )?;
    }
    Ok(Exit::Good)
}

pub(super) fn keep(
    args: &Args,
    reply: &Path,
    globals: &Globals,
    world: &mut World<'_>,
) -> Result<Exit, Failure> {
    let shop = workshop(globals, world)?;
    let (record, signature) = signature_of(&shop, args)?;
    let reply = plain_file::read(&world.folder.join(reply), LIMIT)?;
    let request = plain_file::read_if_there(&beside(&record, ".tsq"), LIMIT)?;
    let trusted = match &args.stamp_trust {
        Some(path) => world.folder.join(path),
        None => authorities_path(&shop.folder),
    };
    let pem = plain_file::read(&trusted, 1 << 20)
        .hint("name the authority's certificates with --stamp-trust FILE, or put them into the workshop's authorities.pem")?;
    let stamp = stamp::check(&reply, request.as_deref(), &signature, &pem)
        .hint("the reply was not kept")?;
    let path = stamp_path(&record);
    atomic::write_new(&path, &reply).hint("the revision has a time-stamp already")?;
    let time = stamp.time.to_rfc3339_opts(SecondsFormat::AutoSi, true);
    if globals.json {
        let value = serde_json::json!({
            "job": args.job, "stamp": path, "time": time, "authority": stamp.authority,
            "accuracy_us": stamp.accuracy_us, "serial": stamp.serial
        });
        writeln!(world.out, "{value:#}")?;
    } else {
        let name = file_name(&record);
        writeln!(
            world.out,
            "the signature of {name} existed at {time}, says {}",
            stamp.authority
        )?;
        writeln!(
            world.err,
            "anyone can check it:\n  openssl ts -verify -data {name}.sig -in {name}.tsr -CAfile AUTHORITY.pem"
        )?;
    }
    Ok(Exit::Good)
}
