//! `--plain`: whatever a command prints, it prints in ASCII.

use std::io::{self, Write};

use crate::sheet::ascii::ascii;

/// A stream whose text goes on in ASCII; a sign cut by the end of a write waits for its rest.
pub(super) struct Plain<'a> {
    to: &'a mut dyn Write,
    rest: Vec<u8>,
}

impl<'a> Plain<'a> {
    pub(super) fn new(to: &'a mut dyn Write) -> Self {
        let rest = Vec::new();
        Self { to, rest }
    }
}

impl Write for Plain<'_> {
    fn write(&mut self, bytes: &[u8]) -> io::Result<usize> {
        self.rest.extend_from_slice(bytes);
        let whole = match std::str::from_utf8(&self.rest) {
            Ok(_) => self.rest.len(),
            Err(error) if error.error_len().is_none() => error.valid_up_to(),
            Err(_) => self.rest.len(),
        };
        let text: Vec<u8> = self.rest.drain(..whole).collect();
        let text = ascii(&String::from_utf8_lossy(&text)).replace('\u{a0}', " ");
        self.to.write_all(text.as_bytes())?;
        Ok(bytes.len())
    }

    fn flush(&mut self) -> io::Result<()> {
        self.to.flush()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_sign_cut_in_two_comes_out_whole_and_in_ascii() {
        let mut got = Vec::new();
        let mut plain = Plain::new(&mut got);
        for byte in "20 µm …\n".as_bytes() {
            plain.write_all(&[*byte]).unwrap();
        }
        plain.flush().unwrap();
        assert_eq!(String::from_utf8(got).unwrap(), "20 um ...\n");
    }
}
