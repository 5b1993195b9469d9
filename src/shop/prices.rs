//! The workshop's price list, `prices.toml`.

use std::io;
use std::path::PathBuf;

use super::folder::Workshop;
use crate::office::{PriceError, PriceList};

/// Why the price list could not be used.
#[derive(Debug, thiserror::Error)]
#[non_exhaustive]
pub enum PricesError {
    /// The file could not be read.
    #[error("cannot read `{}`", path.display())]
    Io {
        /// The file.
        path: PathBuf,
        /// Why not.
        source: io::Error,
    },
    /// The file does not hold a price list.
    #[error("`{}` does not read", path.display())]
    List {
        /// The file.
        path: PathBuf,
        /// What is wrong with it.
        source: PriceError,
    },
}

/// Where a workshop's prices stand.
#[must_use]
pub fn path(shop: &Workshop) -> PathBuf {
    shop.folder.join("prices.toml")
}

/// Reads a workshop's prices; a workshop without the file has none.
///
/// # Errors
/// [`PricesError`] naming the file and every figure that does not read.
pub fn read(shop: &Workshop) -> Result<PriceList, PricesError> {
    let path = path(shop);
    match std::fs::read_to_string(&path) {
        Ok(text) => PriceList::parse(&text).map_err(|source| PricesError::List { path, source }),
        Err(error) if error.kind() == io::ErrorKind::NotFound => Ok(PriceList {
            decimals: 2,
            ..PriceList::default()
        }),
        Err(source) => Err(PricesError::Io { path, source }),
    }
}
