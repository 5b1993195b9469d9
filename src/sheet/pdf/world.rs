//! All that a template can see: itself, the model, the photos, the fonts.

use std::sync::LazyLock;

use chrono::{Datelike as _, NaiveDate};
use typst::diag::{FileError, FileResult};
use typst::foundations::{Bytes, Datetime, Duration};
use typst::syntax::{DiagSpan, FileId, RootedPath, Source, VirtualPath, VirtualRoot};
use typst::text::{Font, FontBook};
use typst::utils::LazyHash;
use typst::{Library, LibraryExt as _, World, WorldExt as _};

use crate::sheet::model::Photo;

/// DejaVu Sans (Latin, Greek, Cyrillic, Hebrew, Arabic, Armenian, signs), its bold and monospaced
/// forms: all that our template asks for.
static SANS: LazyLock<Vec<Font>> = LazyLock::new(|| {
    let own = [
        dejavu::sans::regular(),
        dejavu::sans::bold(),
        dejavu::sans_mono::regular(),
    ];
    own.into_iter()
        .flat_map(|data| Font::iter(Bytes::new(data)))
        .collect()
});

/// How many of the library's fonts are Libertinus Serif; they come first, a test looks.
const SERIFS: usize = 6;

/// Libertinus Serif, for signs the others lack and for a workshop's template. Reading a font costs
/// time and memory, so it is read when there is need of it.
static SERIF: LazyLock<Vec<Font>> = LazyLock::new(|| {
    typst_assets::fonts()
        .take(SERIFS)
        .flat_map(|data| Font::iter(Bytes::new(data)))
        .collect()
});

/// The fonts for a text: the built-in ones it needs, and those of the workshop.
pub(super) fn fonts(
    own: &[Vec<u8>],
    every: bool,
    text: impl Fn(&dyn Fn(char) -> bool) -> bool,
) -> Vec<Font> {
    let own = own
        .iter()
        .flat_map(|data| Font::iter(Bytes::new(data.clone())));
    let enough = !every && text(&|c| has(&SANS, c));
    let serif: &[Font] = if enough { &[] } else { &SERIF };
    SANS.iter().chain(serif).cloned().chain(own).collect()
}

/// Whether one of the fonts has a sign.
pub(super) fn has(fonts: &[Font], c: char) -> bool {
    c.is_ascii_graphic()
        || c == ' '
        || fonts
            .iter()
            .any(|font| font.info().coverage.contains(u32::from(c)))
}

pub(super) struct Desk {
    library: LazyHash<Library>,
    book: LazyHash<FontBook>,
    fonts: Vec<Font>,
    main: Source,
    files: Vec<(FileId, Bytes)>,
    today: Option<NaiveDate>,
}

fn id(path: &str) -> Option<FileId> {
    let path = VirtualPath::new(path).ok()?;
    Some(RootedPath::new(VirtualRoot::Project, path).intern())
}

impl Desk {
    pub(super) fn new(
        template: &str,
        model: Vec<u8>,
        photos: &[Photo],
        fonts: Vec<Font>,
        today: Option<NaiveDate>,
    ) -> Self {
        let mut files: Vec<(FileId, Bytes)> = Vec::new();
        files.extend(id("/sheet.json").map(|id| (id, Bytes::new(model))));
        for photo in photos.iter().filter(|photo| photo.format.is_some()) {
            let file = id(&format!("/photo-{}", photo.number));
            files.extend(file.map(|id| (id, Bytes::new(photo.bytes.clone()))));
        }
        let main = match id("/main.typ") {
            Some(id) => Source::new(id, template.to_owned()),
            None => Source::detached(template),
        };
        Self {
            library: LazyHash::new(Library::default()),
            book: LazyHash::new(FontBook::from_fonts(&fonts)),
            fonts,
            main,
            files,
            today,
        }
    }

    /// The line of the template something is in, counted from 1.
    pub(super) fn line(&self, span: DiagSpan) -> Option<usize> {
        let start = self.range(span)?.start;
        (span.id() == Some(self.main.id()))
            .then(|| self.main.lines().byte_to_line(start))
            .flatten()
            .map(|line| line + 1)
    }
}

impl World for Desk {
    fn library(&self) -> &LazyHash<Library> {
        &self.library
    }

    fn book(&self) -> &LazyHash<FontBook> {
        &self.book
    }

    fn main(&self) -> FileId {
        self.main.id()
    }

    fn source(&self, id: FileId) -> FileResult<Source> {
        if id == self.main.id() {
            Ok(self.main.clone())
        } else {
            Err(FileError::AccessDenied)
        }
    }

    fn file(&self, id: FileId) -> FileResult<Bytes> {
        let known = self.files.iter().find(|(known, _)| *known == id);
        known
            .map(|(_, bytes)| bytes.clone())
            .ok_or(FileError::AccessDenied)
    }

    fn font(&self, index: usize) -> Option<Font> {
        self.fonts.get(index).cloned()
    }

    fn today(&self, _offset: Option<Duration>) -> Option<Datetime> {
        let today = self.today?;
        Datetime::from_ymd(
            today.year(),
            u8::try_from(today.month()).ok()?,
            u8::try_from(today.day()).ok()?,
        )
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_librarys_first_fonts_are_the_serif_and_no_other_is() {
        let family = |data: &'static [u8]| {
            let font = Font::new(Bytes::new(data), 0).unwrap();
            font.info().family.as_str().to_owned()
        };
        let serif: Vec<bool> = typst_assets::fonts()
            .map(|data| family(data) == "Libertinus Serif")
            .collect();
        let wanted: Vec<bool> = (0..serif.len()).map(|n| n < SERIFS).collect();
        assert_eq!(serif, wanted);
    }

    #[test]
    fn the_serif_is_read_only_for_what_the_others_lack() {
        let of = |text: &'static str| fonts(&[], false, |has| text.chars().all(has)).len();
        assert_eq!(of("22.0 mm × π, µm, Ω, Ж, ש, م, ●"), SANS.len());
        // A long s with a stroke is in the serif alone.
        assert_eq!(of("\u{1e9c}\u{a7f7}\u{1f12f}"), SANS.len() + SERIFS);
        assert_eq!(fonts(&[], true, |_| true).len(), SANS.len() + SERIFS);
    }
}
