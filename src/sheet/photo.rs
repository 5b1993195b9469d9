//! Photos of a job: as they lie in its folder, and as they may be handed out.
//!
//! A photo carries more than the picture: where it was taken, the camera's serial number, a second
//! picture, a film. The file in the job's folder keeps all of it, because its digest is signed; a
//! sheet gets the picture alone.

use img_parts::jpeg::{Jpeg, JpegSegment, markers};
use img_parts::png::Png;
use img_parts::{Bytes, ImageEXIF as _};

use crate::job::journal::sha256_hex;

/// A photo's file.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct PhotoFile {
    /// The digest it is recorded under.
    pub sha256: String,
    /// Its bytes.
    pub bytes: Vec<u8>,
}

/// A picture with nothing else in its file.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Bare {
    /// `jpg` or `png`.
    pub format: &'static str,
    /// The file.
    pub bytes: Vec<u8>,
}

impl PhotoFile {
    /// Whether the bytes are those that were recorded.
    #[must_use]
    pub fn is_the_recorded_one(&self) -> bool {
        sha256_hex(&self.bytes) == self.sha256
    }

    /// The picture without place, time, camera, comments, previews or anything after its end; none
    /// when the file is neither JPEG nor PNG.
    ///
    /// Pixels and colours are not touched. Which way up it is shown is kept.
    #[must_use]
    pub fn bare(&self) -> Option<Bare> {
        if self.bytes.starts_with(&[0xff, 0xd8, 0xff]) {
            Some(Bare {
                format: "jpg",
                bytes: bare_jpeg(&self.bytes)?,
            })
        } else if self.bytes.starts_with(b"\x89PNG\r\n\x1a\n") {
            Some(Bare {
                format: "png",
                bytes: bare_png(&self.bytes)?,
            })
        } else {
            None
        }
    }
}

/// Chunks of a PNG that make its picture; the others tell of its making, or are not known.
const PNG_CHUNKS: [&[u8; 4]; 12] = [
    b"IHDR", b"PLTE", b"IDAT", b"IEND", b"tRNS", b"gAMA", b"cHRM", b"sRGB", b"iCCP", b"sBIT",
    b"pHYs", b"bKGD",
];

fn bare_png(bytes: &[u8]) -> Option<Vec<u8>> {
    let mut png = Png::from_bytes(Bytes::copy_from_slice(bytes)).ok()?;
    let turned = png.exif().and_then(|exif| orientation(&exif));
    png.chunks_mut()
        .retain(|chunk| PNG_CHUNKS.iter().any(|kind| **kind == chunk.kind()));
    if let Some(turned) = turned {
        png.set_exif(Some(Bytes::from(upright(turned))));
    }
    Some(png.encoder().bytes().to_vec())
}

fn bare_jpeg(bytes: &[u8]) -> Option<Vec<u8>> {
    let mut jpeg = Jpeg::from_bytes(Bytes::copy_from_slice(bytes)).ok()?;
    let turned = jpeg.exif().and_then(|exif| orientation(&exif));
    let mut seen_scan = false;
    let segments = std::mem::take(jpeg.segments_mut());
    let mut kept: Vec<JpegSegment> = Vec::new();
    for segment in segments.into_iter().filter(makes_the_picture) {
        if segment.has_entropy() {
            seen_scan = true;
            let contents = segment.contents().clone();
            let head = segment.marker();
            let whole = segment.encoder().bytes();
            let entropy = whole.get(4 + contents.len()..)?;
            let scans = Bytes::from(to_the_end(entropy));
            kept.push(JpegSegment::new_with_entropy(head, contents, scans));
        } else if segment.marker() == markers::APP0 {
            // Version and density, without the preview that may follow.
            let mut head = segment.contents().get(..12)?.to_vec();
            head.extend([0, 0]);
            kept.push(JpegSegment::new_with_contents(markers::APP0, head.into()));
        } else {
            kept.push(segment);
        }
    }
    if !seen_scan {
        return None;
    }
    *jpeg.segments_mut() = kept;
    if let Some(turned) = turned {
        jpeg.set_exif(Some(Bytes::from(upright(turned))));
    }
    Some(jpeg.encoder().bytes().to_vec())
}

/// Whether a segment belongs to the picture: no comment, and of the application's segments only
/// JFIF, Adobe's colour transform and a colour profile.
fn makes_the_picture(segment: &JpegSegment) -> bool {
    let contents = segment.contents();
    match segment.marker() {
        markers::APP0 => contents.starts_with(b"JFIF\0"),
        markers::APP2 => contents.starts_with(b"ICC_PROFILE\0"),
        markers::APP14 => contents.starts_with(b"Adobe"),
        markers::APP1..=markers::APP15 | markers::COM => false,
        _ => true,
    }
}

/// The coded picture up to its end mark, without segments of others between its scans, and nothing
/// of what follows.
///
/// Source: ITU-T T.81, B.1.1.2 and B.2.1 (from memory): a byte 0xFF in coded data is followed by 0,
/// a restart mark, or the mark of the next segment.
fn to_the_end(coded: &[u8]) -> Vec<u8> {
    let mut out = Vec::with_capacity(coded.len());
    let mut rest = coded;
    loop {
        let Some(at) = rest.iter().position(|byte| *byte == 0xff) else {
            out.extend_from_slice(rest);
            break;
        };
        let (data, from_mark) = rest.split_at(at);
        out.extend_from_slice(data);
        match from_mark {
            [_, 0x00 | 0xd0..=0xd7, after @ ..] => {
                out.extend(from_mark.iter().take(2));
                rest = after;
            }
            [_, 0xff, ..] => rest = from_mark.get(1..).unwrap_or_default(),
            [_, markers::EOI, ..] | [_] | [] => break,
            [_, mark, after @ ..] => {
                let length = match after {
                    [high, low, ..] => usize::from(u16::from_be_bytes([*high, *low])),
                    _ => break,
                };
                let Some((segment, next)) = after.split_at_checked(length.max(2)) else {
                    break;
                };
                if !matches!(*mark, markers::APP0..=markers::APP15 | markers::COM) {
                    out.extend([0xff, *mark]);
                    out.extend_from_slice(segment);
                }
                rest = next;
            }
        }
    }
    out.extend([0xff, markers::EOI]);
    out
}

/// Which way up the camera was held, 2 to 8; none when it was upright or is not said.
fn orientation(exif: &[u8]) -> Option<u8> {
    let exif = exif::Reader::new().read_raw(exif.to_vec()).ok()?;
    let field = exif.get_field(exif::Tag::Orientation, exif::In::PRIMARY)?;
    let turned = u8::try_from(field.value.get_uint(0)?).ok()?;
    (2..=8).contains(&turned).then_some(turned)
}

/// An EXIF block that says which way up, and nothing else. Source: TIFF 6.0, 2 (from memory).
fn upright(turned: u8) -> Vec<u8> {
    let mut block = b"II\x2a\0\x08\0\0\0\x01\0".to_vec();
    block.extend(b"\x12\x01\x03\0\x01\0\0\0");
    block.extend([turned, 0, 0, 0, 0, 0, 0, 0]);
    block
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_stands_after_the_picture_or_between_its_scans_is_left_out() {
        let coded = [
            1, 2, 0xff, 0x00, 3, 0xff, 0xd0, 4, // coded, a restart
            0xff, 0xe1, 0, 5, b'g', b'p', b's', // somebody else's segment
            0xff, 0xc4, 0, 4, 0xff, 0xd9, // a table that looks like the end
            0xff, 0xff, 0xd9, // fill, the end
            b'f', b'i', b'l', b'm',
        ];
        let wanted = [
            1, 2, 0xff, 0x00, 3, 0xff, 0xd0, 4, 0xff, 0xc4, 0, 4, 0xff, 0xd9, 0xff, 0xd9,
        ];
        assert_eq!(to_the_end(&coded), wanted);
        assert_eq!(to_the_end(&[7, 0xff]), [7, 0xff, 0xd9]);
        assert_eq!(to_the_end(&[0xff, 0xc4, 0xff, 0xff, 1]), [0xff, 0xd9]);
    }

    #[test]
    fn the_block_that_says_which_way_up_reads_back() {
        for turned in 2..=8 {
            assert_eq!(orientation(&upright(turned)), Some(turned));
        }
        assert_eq!(orientation(&upright(1)), None);
        assert_eq!(orientation(b"nothing"), None);
    }
}
