//! The workshop folder on disk: journal files, instruments, keys, vehicles.
//!
//! The lowest layer that touches files. Still reads no clock and no environment: the command line
//! passes the time, the person and the folders in.

pub mod agent_socket;
pub mod atomic;
pub mod chain;
mod file_mode;
pub mod folder;
pub mod gauge;
pub mod index;
pub mod journal;
pub mod keys;
pub mod lease;
pub mod lock;
pub mod photos;
pub mod plain_file;
pub mod prices;
pub mod private;
pub mod records;
pub mod vehicles;

use std::io;
use std::path::Path;

/// Makes a folder's entries durable, where the system can.
pub(crate) fn sync_folder(folder: &Path) -> io::Result<()> {
    let folder = if folder.as_os_str().is_empty() {
        Path::new(".")
    } else {
        folder
    };
    // Windows cannot open a folder as a file; there the rename itself is durable.
    if cfg!(unix) {
        std::fs::File::open(folder)?.sync_all()
    } else {
        Ok(())
    }
}
