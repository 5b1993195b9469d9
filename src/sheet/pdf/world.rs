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

/// The built-in fonts: DejaVu Sans (Latin, Greek, Cyrillic, Hebrew, Arabic, Armenian, signs), its
/// bold and monospaced forms, and Libertinus Serif.
static BUILT_IN: LazyLock<Vec<Font>> = LazyLock::new(|| {
    let own = [
        dejavu::sans::regular(),
        dejavu::sans::bold(),
        dejavu::sans_mono::regular(),
    ];
    let serif = typst_assets::fonts().filter(|data| {
        Font::new(Bytes::new(*data), 0)
            .is_some_and(|font| font.info().family.as_str() == "Libertinus Serif")
    });
    own.into_iter()
        .chain(serif)
        .flat_map(|data| Font::iter(Bytes::new(data)))
        .collect()
});

/// The built-in fonts and those of the workshop.
pub(super) fn fonts(own: &[Vec<u8>]) -> Vec<Font> {
    let own = own
        .iter()
        .flat_map(|data| Font::iter(Bytes::new(data.clone())));
    BUILT_IN.iter().cloned().chain(own).collect()
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
