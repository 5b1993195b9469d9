//! Photos of a job, as they lie in its folder.

use crate::job::journal::sha256_hex;

/// A photo's file.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct PhotoFile {
    /// The digest it is recorded under.
    pub sha256: String,
    /// Its bytes.
    pub bytes: Vec<u8>,
}

impl PhotoFile {
    /// Whether the bytes are those that were recorded.
    #[must_use]
    pub fn is_the_recorded_one(&self) -> bool {
        sha256_hex(&self.bytes) == self.sha256
    }

    /// `jpg` or `png` by the first bytes; none for anything else.
    #[must_use]
    pub fn format(&self) -> Option<&'static str> {
        if self.bytes.starts_with(&[0xff, 0xd8, 0xff]) {
            Some("jpg")
        } else if self.bytes.starts_with(b"\x89PNG\r\n\x1a\n") {
            Some("png")
        } else {
            None
        }
    }
}
