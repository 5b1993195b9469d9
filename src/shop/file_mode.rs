//! Who may read a secret file: the one place where Unix and other systems differ on it.

use std::fs::{File, OpenOptions};
use std::io;

/// Makes a file to be created readable by its owner alone.
///
/// Unix: mode 0600 from the moment it exists. Elsewhere a file in the user's own configuration
/// folder inherits that folder's access list, and nothing is set here.
pub(crate) fn owner_only(options: &mut OpenOptions) {
    #[cfg(unix)]
    {
        use std::os::unix::fs::OpenOptionsExt;
        options.mode(0o600);
    }
    #[cfg(not(unix))]
    let _ = options;
}

/// The mode of an open file if somebody beside its owner has any access to it.
///
/// Unix: `Some(mode)` when one of the lower six permission bits is set. Elsewhere always `None`.
pub(crate) fn too_open(file: &File) -> io::Result<Option<u32>> {
    #[cfg(unix)]
    {
        use std::os::unix::fs::PermissionsExt;
        let mode = file.metadata()?.permissions().mode() & 0o7777;
        Ok((mode & 0o077 != 0).then_some(mode))
    }
    #[cfg(not(unix))]
    {
        let _ = file;
        Ok(None)
    }
}
