//! The SSH wire format: big-endian numbers and length-prefixed strings.
//!
//! Source: RFC 4251, section 5. Every length is checked against what is left, so a hostile length
//! can neither panic nor make the program reserve memory.

/// What was missing when a blob ended too early.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[error("ends inside its {field}: {need} bytes needed at byte {offset}, {left} left")]
pub struct WireError {
    /// The field that was being read.
    pub field: &'static str,
    /// Where in the blob the field starts.
    pub offset: usize,
    /// How many bytes the field claims.
    pub need: usize,
    /// How many bytes are there.
    pub left: usize,
}

/// Reads fields from the front of a blob.
#[derive(Clone, Debug)]
pub(crate) struct WireReader<'a> {
    rest: &'a [u8],
    length: usize,
}

impl<'a> WireReader<'a> {
    pub(crate) fn new(blob: &'a [u8]) -> Self {
        Self {
            rest: blob,
            length: blob.len(),
        }
    }

    /// Bytes not read yet.
    pub(crate) fn left(&self) -> usize {
        self.rest.len()
    }

    pub(crate) fn bytes(
        &mut self,
        field: &'static str,
        need: usize,
    ) -> Result<&'a [u8], WireError> {
        let (head, tail) = self.rest.split_at_checked(need).ok_or(WireError {
            field,
            offset: self.length - self.rest.len(),
            need,
            left: self.rest.len(),
        })?;
        self.rest = tail;
        Ok(head)
    }

    fn array<const N: usize>(&mut self, field: &'static str) -> Result<[u8; N], WireError> {
        let mut array = [0; N];
        array.copy_from_slice(self.bytes(field, N)?);
        Ok(array)
    }

    pub(crate) fn byte(&mut self, field: &'static str) -> Result<u8, WireError> {
        self.array::<1>(field).map(|[byte]| byte)
    }

    pub(crate) fn u32(&mut self, field: &'static str) -> Result<u32, WireError> {
        self.array(field).map(u32::from_be_bytes)
    }

    pub(crate) fn u64(&mut self, field: &'static str) -> Result<u64, WireError> {
        self.array(field).map(u64::from_be_bytes)
    }

    /// A length-prefixed string, which in this format is any bytes.
    pub(crate) fn string(&mut self, field: &'static str) -> Result<&'a [u8], WireError> {
        let length = self.u32(field)?;
        self.bytes(field, usize::try_from(length).unwrap_or(usize::MAX))
    }
}

/// Appends a length-prefixed string; longer than the format's 4 GiB cannot happen to what we write.
pub(crate) fn put_string(out: &mut Vec<u8>, bytes: &[u8]) {
    let length = u32::try_from(bytes.len()).unwrap_or(u32::MAX);
    out.extend_from_slice(&length.to_be_bytes());
    out.extend_from_slice(bytes);
}

/// Foreign bytes made safe to show: at most 40 characters, controls escaped.
pub(crate) fn shown(bytes: &[u8]) -> String {
    let text = String::from_utf8_lossy(bytes);
    let mut shown: String = text.chars().take(40).flat_map(char::escape_debug).collect();
    if text.chars().nth(40).is_some() {
        shown.push('…');
    }
    shown
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_length_beyond_the_blob_is_an_error_not_an_allocation() {
        let mut reader = WireReader::new(&[0xff, 0xff, 0xff, 0xff, 1, 2]);
        let error = reader.string("namespace").unwrap_err();
        assert_eq!((error.offset, error.need, error.left), (4, 0xffff_ffff, 2));
    }

    #[test]
    fn a_string_reads_back_and_leaves_the_rest() {
        let mut out = Vec::new();
        put_string(&mut out, b"abc");
        out.push(7);
        let mut reader = WireReader::new(&out);
        assert_eq!(reader.string("a").unwrap(), b"abc");
        assert_eq!(reader.byte("b").unwrap(), 7);
        assert_eq!(reader.left(), 0);
    }
}
