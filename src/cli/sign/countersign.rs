//! `sign --countersign`: a second person's signature on the same bytes.

use super::super::error::{Exit, Failure, Hint as _};
use super::super::key::{Pen, read_signers};
use super::super::open::{person, workshop};
use super::super::record::quoted;
use super::super::verify::{Place, check_file, chosen_revision};
use super::super::{Globals, World};
use super::{Args, countersignature_path, file_name};
use crate::record::sshsig::COUNTERSIGN_NAMESPACE;
use crate::record::verify::{Outcome, same_person};
use crate::shop::atomic::{self, AtomicError};
use crate::shop::plain_file;

pub(super) fn run(args: &Args, globals: &Globals, world: &mut World<'_>) -> Result<Exit, Failure> {
    let shop = workshop(globals, world)?;
    let by = person(globals, world)?;
    let path = chosen_revision(&shop, &args.job, args.revision)?;
    let signers = read_signers(&shop.signers_path())?;
    let place = Place {
        signers: signers.as_ref(),
        ..Place::default()
    };
    let (examined, bytes) = check_file(&path, &place)?;
    let found = examined.verification;
    // A missing countersignature is what is being put right; everything else must be good.
    let bad = found
        .stages
        .iter()
        .find(|stage| stage.outcome == Outcome::Bad && stage.stage != "countersignature");
    if let Some(stage) = bad {
        return Err(Failure::from(format!(
            "`{}` is not valid ({}: {}); it was not countersigned",
            path.display(),
            stage.stage,
            stage.detail
        ))
        .hint(format!(
            "`brakecorner verify {}` shows every stage",
            args.job
        )));
    }
    let Some(record) = examined.record else {
        return Err(Failure::from(format!(
            "`{}` is of a newer version; it was not countersigned",
            path.display()
        ))
        .hint("use the version of brakecorner that signed it"));
    };
    let second = "a second person countersigns, with a key of their own: use --by NAME";
    if same_person(&by, &record.signer.principal) {
        return Err(
            Failure::from(format!("{by} signed this record and cannot countersign it"))
                .hint(second),
        );
    }
    let pen = Pen::of(world, &by)?;
    if pen.public().fingerprint() == record.signer.fingerprint {
        return Err(Failure::from("the record was signed with this very key").hint(second));
    }
    let now = world.clock.now();
    pen.may_sign(&by, signers.as_ref(), COUNTERSIGN_NAMESPACE, now)?;
    // It will be checked at the record's time, since it carries none of its own.
    pen.may_sign(
        &by,
        signers.as_ref(),
        COUNTERSIGN_NAMESPACE,
        record.signed_at,
    )
    .map_err(|failure| {
        failure.hint("the countersigner must have been a signer when the record was signed")
    })?;
    let armour = pen.sign(&bytes, COUNTERSIGN_NAMESPACE)?;
    let target = countersignature_path(&path);
    match atomic::write_new(&target, armour.as_bytes()) {
        Ok(()) => {}
        Err(AtomicError::Exists { .. }) if plain_file::read(&target, 1 << 16).is_ok() => {
            return Err(Failure::from(format!(
                "revision {} is countersigned already",
                record.revision
            ))
            .hint(format!("`brakecorner verify {}` says by whom", args.job)));
        }
        Err(error) => return Err(error.into()),
    }
    let (examined, _) = check_file(&path, &place)?;
    if !examined.verification.good() {
        // Never leave behind what does not hold.
        std::fs::remove_file(&target).hint(format!("remove `{}`", target.display()))?;
        let why = examined.verification.first_bad().map_or_else(
            || "it cannot be checked".to_owned(),
            |stage| format!("{}: {}", stage.stage, stage.detail),
        );
        return Err(Failure::from(format!("not countersigned: {why}")));
    }
    if globals.json {
        let value = serde_json::json!({
            "job": args.job, "revision": record.revision, "countersignature": target,
            "countersigner": by
        });
        writeln!(world.out, "{value:#}")?;
    } else {
        let name = file_name(&path);
        writeln!(
            world.out,
            "{by} countersigned revision {} of {}",
            record.revision, args.job
        )?;
        writeln!(
            world.err,
            "anyone can check it:\n  ssh-keygen -Y verify -f signers -I {} -n {COUNTERSIGN_NAMESPACE} -s {name}.countersign.sig < {name}",
            quoted(&by)
        )?;
    }
    Ok(Exit::Good)
}
