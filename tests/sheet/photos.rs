//! Photos on the sheet.

use super::jobs::*;
use super::*;

#[test]
fn photos_stand_in_the_page_and_a_missing_or_changed_one_is_said_to_be() {
    let bench = Bench::new();
    let (job, mut extra) = with_photos(vec![png(), JPEG.to_vec(), b"GIF89a".to_vec()]);
    let model = bench.model(&job, &extra, form(Edition::Customer));
    let page = html::render(&model);
    assert_eq!(
        page.matches("<img src=\"data:image/png;base64,iVBORw0KGgo")
            .count(),
        1
    );
    assert_eq!(
        page.matches("<img src=\"data:image/jpeg;base64,/9j/")
            .count(),
        1
    );
    assert!(page.contains("Photo 3 cannot be shown"), "{page}");
    extra.photos[0].bytes.push(0);
    extra.photos.remove(1);
    let page = html::render(&bench.model(&job, &extra, form(Edition::Customer)));
    assert!(
        !page.contains("<img")
            && page.contains("Photo 1 is not in the job")
            && page.contains("Photo 2 is not in")
    );
}

/// What a telephone writes into a photo, in the forms it does: an EXIF block with place, camera and
/// serial number, an XMP packet, a comment, a second picture after the end.
fn with_metadata(jpeg: &[u8], turned: u8) -> Vec<u8> {
    // Little-endian TIFF: orientation, maker, and a GPS directory with a latitude of 51° 30′ 12″.
    let mut tiff = b"II\x2a\0\x08\0\0\0\x03\0".to_vec();
    tiff.extend(b"\x0f\x01\x02\0\x10\0\0\0\x32\0\0\0"); // Make, 16 letters at 50
    tiff.extend([0x12, 1, 3, 0, 1, 0, 0, 0, turned, 0, 0, 0]);
    tiff.extend(b"\x25\x88\x04\0\x01\0\0\0\x42\0\0\0"); // GPS directory at 66
    tiff.extend([0; 4]);
    assert_eq!(tiff.len(), 50);
    tiff.extend(b"SERIAL-90210-AB\0");
    tiff.extend(b"\x02\0\x01\0\x02\0\x02\0\0\0N\0\0\0"); // north
    tiff.extend(b"\x02\0\x05\0\x03\0\0\0\x60\0\0\0\0\0\0\0"); // latitude, three fractions at 96
    assert_eq!(tiff.len(), 96);
    for (number, parts) in [(51u32, 1u32), (30, 1), (12, 1)] {
        tiff.extend(number.to_le_bytes());
        tiff.extend(parts.to_le_bytes());
    }
    let segment = |mark: u8, head: &[u8], body: &[u8]| {
        let length = u16::try_from(2 + head.len() + body.len()).unwrap();
        [&[0xff, mark], &length.to_be_bytes()[..], head, body].concat()
    };
    [
        &jpeg[..2],
        &segment(0xe1, b"Exif\0\0", &tiff),
        &segment(
            0xe1,
            b"http://ns.adobe.com/xap/1.0/\0",
            b"<x>SERIAL-90210</x>",
        ),
        &segment(0xed, b"Photoshop 3.0\0", b"SERIAL-90210"),
        &segment(0xfe, b"", b"a comment of SERIAL-90210"),
        &jpeg[2..],
        b"and a film of SERIAL-90210",
    ]
    .concat()
}

/// The file in a page's only picture.
fn shown(page: &str) -> Vec<u8> {
    use base64ct::Encoding as _;
    let (_, after) = page.split_once(";base64,").unwrap();
    let (coded, _) = after.split_once('"').unwrap();
    base64ct::Base64::decode_vec(coded).unwrap()
}

fn gps(file: &[u8]) -> Option<String> {
    let exif = exif::Reader::new()
        .read_from_container(&mut std::io::Cursor::new(file))
        .ok()?;
    let latitude = exif.get_field(exif::Tag::GPSLatitude, exif::In::PRIMARY)?;
    Some(latitude.display_value().to_string())
}

fn holds(bytes: &[u8], text: &str) -> bool {
    bytes.windows(text.len()).any(|w| w == text.as_bytes())
}

#[test]
fn a_photos_place_and_serial_number_go_into_no_sheet_and_its_picture_does() {
    let bench = Bench::new();
    let original = with_metadata(JPEG, 6);
    assert_eq!(gps(&original).as_deref(), Some("51 deg 30 min 12 sec"));
    assert!(holds(&original, "SERIAL-90210"));
    let (job, extra) = with_photos(vec![original.clone()]);
    let model = bench.model(&job, &extra, form(Edition::Customer));
    let file = shown(&html::render(&model));
    assert_eq!(gps(&file), None);
    assert!(!holds(&file, "SERIAL"));
    // The coded picture is the same, byte for byte, up to its end.
    let from_tables = |file: &[u8]| {
        let start = file.windows(2).position(|w| w == [0xff, 0xdb]).unwrap();
        let end = file.windows(2).rposition(|w| w == [0xff, 0xd9]).unwrap();
        file[start..end].to_vec()
    };
    assert!(from_tables(&file) == from_tables(JPEG));
    // It is still shown the right way up, and that is all the file says of itself.
    let exif = exif::Reader::new()
        .read_from_container(&mut std::io::Cursor::new(&file))
        .unwrap();
    let said: Vec<String> = exif.fields().map(|f| f.tag.to_string()).collect();
    assert_eq!(said, ["Orientation"]);
    #[cfg(feature = "pdf")]
    {
        let pdf = super::pdf::print(&model, None).unwrap();
        assert!(holds(&pdf, "/DCTDecode") && !holds(&pdf, "SERIAL"));
    }
    // The file that is signed for is the one the job's folder has.
    assert_eq!(extra.photos[0].bytes, original);
    assert!(extra.photos[0].is_the_recorded_one());
}

#[test]
fn a_png_is_shown_without_the_words_in_it() {
    let bench = Bench::new();
    let mut file = png();
    let words = b"tEXtLocation\0SERIAL-90210";
    let length = u32::try_from(words.len() - 4).unwrap().to_be_bytes();
    let chunk = [&length[..], words, &crc(words).to_be_bytes()].concat();
    // After the header: 8 bytes of signature, 25 of the first chunk.
    file.splice(33..33, chunk);
    let (job, extra) = with_photos(vec![file]);
    let page = html::render(&bench.model(&job, &extra, form(Edition::Customer)));
    assert!(shown(&page) == png());
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(512))]

    #[test]
    fn no_file_that_begins_like_a_photo_stops_a_sheet_and_what_is_bare_stays_as_it_is(
        head in prop::sample::select(vec![&b"\xff\xd8\xff"[..], b"\x89PNG\r\n\x1a\n"]),
        cut in 0usize..2800,
        noise in prop::collection::vec(any::<(usize, u8)>(), 0..8),
        junk in prop::collection::vec(any::<u8>(), 0..80),
        real in any::<bool>(),
    ) {
        let mut bytes = if real { with_metadata(JPEG, 3) } else { [head, &junk].concat() };
        bytes.truncate(cut.max(4));
        for (at, byte) in noise {
            let at = at % bytes.len();
            bytes[at] = byte;
        }
        let file = PhotoFile { sha256: sha256_hex(&bytes), bytes };
        if let Some(bare) = file.bare() {
            let again = PhotoFile { sha256: String::new(), bytes: bare.bytes.clone() };
            prop_assert_eq!(again.bare(), Some(bare));
        }
    }
}
