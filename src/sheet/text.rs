//! The documents as text, 80 columns.

use std::borrow::Cow;

use comfy_table::{ContentArrangement, Table, presets};

use super::ascii::ascii;
use super::chart;
use super::model::{
    Block, DistanceLine, Fact, Group, Happening, Head, ItemBlock, Quote, SheetModel,
    SignatureBlock, TagModel, Technical, WorkBlock, WorksheetModel,
};
use super::palette::Tone;

const WIDTH: usize = 78;

/// Whether only ASCII signs of this program's own are used.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Signs {
    /// Shapes and lines of Unicode.
    Unicode,
    /// ASCII.
    Ascii,
}

/// Draws the findings sheet.
#[must_use]
pub fn render(sheet: &SheetModel, signs: Signs) -> String {
    let mut out = Page::new(signs);
    out.head(&sheet.head);
    out.rule();
    out.wrapped(
        &format!("{} {}  ", out.shape(sheet.drive.tone), sheet.drive.question),
        &sheet.drive.answer,
    );
    for notice in &sheet.notices {
        out.wrapped("! ", notice);
    }
    for group in &sheet.groups {
        out.group(group);
    }
    if let Some(distance) = &sheet.distance {
        out.distance(&sheet.head, distance);
    }
    out.quote(&sheet.head, &sheet.quote);
    out.heading(sheet.head.label("corner"));
    for block in &sheet.blocks {
        out.block(&sheet.head, block);
    }
    if !sheet.photos.is_empty() {
        out.heading(sheet.head.label("photos"));
        for photo in &sheet.photos {
            out.wrapped("  ", &photo.caption);
            out.wrapped("    sha256 ", &photo.sha256);
        }
    }
    if let Some(technical) = &sheet.technical {
        out.technical(&sheet.head, technical);
    }
    if let Some(slip) = &sheet.slip {
        out.slip(&sheet.head, &slip.sentences);
    }
    out.signature(&sheet.head, &sheet.signature);
    out.heading(sheet.head.label("cautions"));
    out.wrapped("", &sheet.cautions.join(" "));
    out.text
}

/// Draws the re-torque slip.
#[must_use]
pub fn tag(tag: &TagModel, signs: Signs) -> String {
    let mut out = Page::new(signs);
    out.head(&tag.head);
    out.slip(&tag.head, &tag.slip.sentences);
    out.text
}

/// Draws the worksheet.
#[must_use]
pub fn worksheet(work: &WorksheetModel, signs: Signs) -> String {
    let mut out = Page::new(signs);
    out.head(&work.head);
    out.wrapped("", &work.hint);
    for page in &work.pages {
        out.heading(&page.title);
        for picture in page.ring.iter().chain(&page.star) {
            out.wrapped("  ", &picture.alt);
        }
        out.wrapped(
            &format!("  {}: ", work.head.label("torque")),
            &page.torque.join(" "),
        );
        for block in &page.blocks {
            out.work(&work.head, block);
        }
    }
    out.work(&work.head, &work.vehicle);
    out.heading(work.head.label("cautions"));
    out.wrapped("", &work.cautions.join(" "));
    out.text
}

/// Text of people and files made safe for a terminal or a printer: no control characters and no
/// marks that turn the direction of writing.
pub(crate) fn visible(c: char) -> char {
    match c {
        '\u{a0}' | '\n' | '\t' => ' ',
        '\u{200e}'
        | '\u{200f}'
        | '\u{061c}'
        | '\u{202a}'..='\u{202e}'
        | '\u{2066}'..='\u{2069}' => '\u{fffd}',
        c if c.is_control() => '\u{fffd}',
        c => c,
    }
}

struct Page {
    text: String,
    signs: Signs,
}

impl Page {
    const fn new(signs: Signs) -> Self {
        Self {
            text: String::new(),
            signs,
        }
    }

    const fn shape(&self, tone: Tone) -> &'static str {
        match (self.signs, tone) {
            (Signs::Ascii, tone) => tone.ascii(),
            (Signs::Unicode, Tone::Holds) => "●",
            (Signs::Unicode, Tone::Later) => "◐",
            (Signs::Unicode, Tone::Now) => "■",
            (Signs::Unicode, Tone::Unseen) => "○",
        }
    }

    fn line(&mut self, text: &str) {
        let safe: String = self.plain(text).chars().map(visible).collect();
        self.text.push_str(safe.trim_end());
        self.text.push('\n');
    }

    /// The text in the signs of this page.
    fn plain<'t>(&self, text: &'t str) -> Cow<'t, str> {
        match self.signs {
            Signs::Ascii => Cow::Owned(ascii(text)),
            Signs::Unicode => Cow::Borrowed(text),
        }
    }

    fn rule(&mut self) {
        let dash = if self.signs == Signs::Ascii {
            "-"
        } else {
            "─"
        };
        self.line(&dash.repeat(WIDTH));
    }

    fn heading(&mut self, title: &str) {
        self.line("");
        let title = self.plain(title).to_uppercase();
        self.line(&title);
    }

    /// Text broken at blanks, the first line led by `lead`, the others indented by it; a word
    /// longer than a line is broken.
    fn wrapped(&mut self, lead: &str, text: &str) {
        let text = &*self.plain(text);
        let led = lead.chars().count();
        // A long lead indents what follows only a little.
        let indent = if led > 20 && lead.trim_start().ends_with(": ") {
            6
        } else {
            led.min(WIDTH / 2)
        };
        let room = WIDTH - indent;
        let first = WIDTH.saturating_sub(led);
        let mut lines: Vec<String> = vec![String::new()];
        let mut add = |word: &str| {
            let long = word.chars().count();
            let room = if lines.len() == 1 { first } else { room };
            let Some(last) = lines.last_mut() else { return };
            if last.is_empty() {
                last.push_str(word);
            } else if last.chars().count() + 1 + long <= room {
                last.push(' ');
                last.push_str(word);
            } else {
                lines.push(word.to_owned());
            }
        };
        // Only blanks break a line: a number stays with its unit.
        for word in text.split([' ', '\n', '\t']).filter(|w| !w.is_empty()) {
            let chars: Vec<char> = word.chars().collect();
            for piece in chars.chunks(room.min(first).max(8)) {
                add(&piece.iter().collect::<String>());
            }
        }
        for (i, line) in lines.iter().enumerate() {
            if i == 0 {
                self.line(&format!("{lead}{line}"));
            } else {
                self.line(&format!("{}{line}", " ".repeat(indent)));
            }
        }
    }

    fn head(&mut self, head: &Head) {
        self.wrapped("", &head.title);
        let mut from = vec![head.workshop.clone()];
        from.extend(head.address.iter().cloned());
        self.wrapped("", &from.join(", "));
        self.facts(&head.facts);
    }

    fn facts(&mut self, facts: &[Fact]) {
        let wide = facts
            .iter()
            .map(|f| f.label.chars().count())
            .max()
            .unwrap_or(0);
        for fact in facts {
            let lead = format!("  {:wide$}  ", fact.label);
            let long = !fact.value.contains(' ');
            if long && lead.chars().count() + fact.value.chars().count() > WIDTH {
                // A digest is compared sign by sign: it stays on one line.
                self.line(lead.trim_end());
                self.wrapped("    ", &fact.value);
            } else {
                self.wrapped(&lead, &fact.value);
            }
        }
    }

    fn group(&mut self, group: &Group) {
        self.heading(&group.title);
        if group.lines.is_empty() {
            if !group.none.is_empty() {
                self.wrapped("  ", &group.none);
            }
            return;
        }
        for line in &group.lines {
            let mut text = Vec::new();
            if !line.subject.is_empty() {
                text.push(format!("{}.", line.subject));
            }
            text.extend(line.sentences.iter().cloned());
            text.extend(line.until.iter().cloned());
            self.wrapped(&format!("  {} ", self.shape(line.tone)), &text.join(" "));
        }
    }

    fn distance(&mut self, head: &Head, distance: &DistanceLine) {
        self.heading(head.label("distance"));
        let (today, service, marks) = &distance.numbers;
        let end = marks
            .iter()
            .map(|(at, _)| *at)
            .chain(*service)
            .max()
            .unwrap_or(*today);
        let mut all: Vec<(i64, char)> = vec![(*today, '|')];
        all.extend(service.map(|service| (service, 'S')));
        all.extend(marks.iter().rev().copied());
        self.line(&format!("  {}", chart::strip(*today, end, &all, WIDTH - 4)));
        for (fact, sign) in distance.ends.iter().zip(['|', 'S']) {
            self.wrapped(
                &format!("  {sign} "),
                &format!("{}: {}", fact.label, fact.value),
            );
        }
        for mark in &distance.marks {
            self.wrapped(
                &format!("  {} ", mark.letter),
                &format!("{}: {}", mark.at, mark.part),
            );
        }
    }

    fn quote(&mut self, head: &Head, quote: &Quote) {
        self.heading(head.label("quote"));
        if let Some(given) = &quote.given {
            self.wrapped("  ", &format!("{}: {given}", head.label("quote-given")));
        }
        if quote.lines.is_empty() {
            self.wrapped("  ", &quote.none);
        }
        for line in &quote.lines {
            let price = line.price.iter();
            let price: String = price
                .map(|p| format!(". {}: {p}", head.label("price")))
                .collect();
            self.wrapped("  * ", &format!("{}{price}", line.words));
            for (label, said) in [("if-not", &line.if_not), ("decided", &line.decided)] {
                if let Some(said) = said {
                    self.wrapped(&format!("    {}: ", head.label(label)), said);
                }
            }
            if line.decided.is_some() {
                continue;
            }
            self.line(&format!(
                "    {}:   {}   ·   {}   ·   {} ____________",
                head.label("choice"),
                head.label("do-it"),
                head.label("leave-it"),
                head.label("ask-me")
            ));
        }
        if !quote.lines.is_empty() {
            self.line(&format!(
                "  {}: ______________________________",
                head.label("signature-line")
            ));
        }
    }

    fn block(&mut self, head: &Head, block: &Block) {
        self.line("");
        let shape = self.shape(block.tone);
        self.wrapped("", &format!("{shape} {}: {}", block.title, block.verdict));
        for item in &block.items {
            self.item(head, item);
        }
        if !block.looked.is_empty() {
            self.wrapped(
                &format!("    {}: ", head.label("looked")),
                &format!("{}.", block.looked.join(", ")),
            );
        }
        for note in &block.notes {
            self.wrapped(&format!("    {}: ", head.label("notes")), note);
        }
        if !block.photos.is_empty() {
            let numbers: Vec<String> = block.photos.iter().map(ToString::to_string).collect();
            self.wrapped(
                &format!("    {}: ", head.label("photos")),
                &numbers.join(", "),
            );
        }
    }

    fn item(&mut self, head: &Head, item: &ItemBlock) {
        let mut text = vec![item.title.clone() + ":"];
        text.extend(item.reading.iter().map(|r| format!("{r},")));
        if let Some(limit) = &item.limit {
            let whose = item
                .whose
                .as_ref()
                .map(|w| format!(" ({w})"))
                .unwrap_or_default();
            text.push(format!("{limit}{whose},"));
        }
        text.push(format!("{}.", item.verdict));
        text.extend(
            item.found
                .iter()
                .map(|f| format!("[{}: {f}]", head.label("found"))),
        );
        self.wrapped(&format!("  {} ", self.shape(item.tone)), &text.join(" "));
    }

    fn table(&mut self, header: &[&str], rows: Vec<Vec<String>>) {
        let mut table = Table::new();
        let preset = if self.signs == Signs::Ascii {
            presets::ASCII_MARKDOWN
        } else {
            presets::UTF8_HORIZONTAL_ONLY
        };
        table
            .load_style(preset)
            .set_content_arrangement(ContentArrangement::Dynamic)
            .set_width(u16::try_from(WIDTH).unwrap_or(78))
            .set_header(header.iter().map(|h| (*h).to_owned()));
        for row in rows {
            table.add_row(
                row.iter()
                    .map(|cell| cell.chars().map(visible).collect::<String>()),
            );
        }
        for line in table.to_string().lines() {
            self.line(line);
        }
    }

    fn technical(&mut self, head: &Head, technical: &Technical) {
        self.heading(head.label("technical"));
        let rows = technical.rows.iter().map(|r| {
            vec![
                format!("{}, {}, {}", r.place, r.item, r.phase),
                r.reading.clone(),
                r.limit.clone(),
                r.uncertainty.clone(),
                r.probability.clone(),
                r.proof.clone(),
                r.verdict.clone(),
            ]
        });
        let header = [
            "item",
            "reading",
            "limit",
            "uncertainty",
            "probability",
            "proof",
            "verdict",
        ];
        self.table(&header.map(|name| head.label(name)), rows.collect());
        self.heading(head.label("readings"));
        for row in &technical.readings {
            let lead = format!(
                "  {}, {}, {} {}: ",
                row.place, row.item, row.phase, row.instrument
            );
            self.wrapped("  ", &format!("{} {}", lead.trim(), row.texts.join("  ")));
        }
        if !technical.causes.is_empty() {
            self.heading(head.label("causes"));
            for cause in &technical.causes {
                self.wrapped("  * ", &cause.cause);
                self.wrapped(
                    &format!("    {}: ", head.label("for")),
                    &cause.evidence_for.join("; "),
                );
                if !cause.against.is_empty() {
                    self.wrapped(
                        &format!("    {}: ", head.label("against")),
                        &cause.against.join("; "),
                    );
                }
                for (label, said) in [
                    ("next-test", &cause.next_test),
                    ("ruled-out", &cause.ruled_out_by),
                ] {
                    self.wrapped(&format!("    {}: ", head.label(label)), said);
                }
            }
        }
        self.happenings(head.label("overrides"), &technical.overrides);
        self.happenings(head.label("timeline"), &technical.timeline);
    }

    fn happenings(&mut self, title: &str, rows: &[Happening]) {
        if rows.is_empty() {
            return;
        }
        self.heading(title);
        for row in rows {
            let struck = if row.struck { "(--) " } else { "" };
            self.wrapped(
                "  ",
                &format!("{}, {}: {struck}{}", row.time, row.person, row.event),
            );
        }
    }

    fn slip(&mut self, head: &Head, sentences: &[String]) {
        self.line("");
        let cut = format!("- - {} ", head.label("cut"));
        let rest = WIDTH.saturating_sub(cut.chars().count());
        self.line(&format!("{cut}{}", "- ".repeat(rest / 2)));
        self.line(&head.label("retorque").to_uppercase());
        let names: Vec<String> = head.facts.iter().take(3).map(|f| f.value.clone()).collect();
        self.wrapped("  ", &names.join(", "));
        self.wrapped("  ", &sentences.join(" "));
        self.line(&"- ".repeat(WIDTH / 2));
    }

    fn signature(&mut self, head: &Head, signature: &SignatureBlock) {
        self.heading(head.label("signature"));
        self.wrapped("  ", &signature.sentence);
        self.facts(&signature.facts);
        if !signature.command.is_empty() {
            self.wrapped("  ", &signature.how);
            for line in &signature.command {
                self.line(&format!("  {line}"));
            }
        }
    }

    fn work(&mut self, head: &Head, block: &WorkBlock) {
        if block.rows.is_empty() {
            return;
        }
        self.line("");
        self.line(&format!("{} ({})", block.title, block.code));
        for row in &block.rows {
            let limit = if row.limit.is_empty() {
                String::new()
            } else {
                format!(", {}", row.limit)
            };
            let boxes: Vec<String> = row
                .boxes
                .iter()
                .map(|name| {
                    if name.is_empty() {
                        "_".repeat(30)
                    } else {
                        format!("{name} ________")
                    }
                })
                .collect();
            self.wrapped("  [ ] ", &format!("{}{limit}. {}:", row.title, row.hint));
            self.wrapped("      ", &boxes.join("  "));
        }
        self.wrapped(
            "  ",
            &format!(
                "{} brakecorner log {} {} …",
                head.label("worksheet-hint"),
                head.job,
                block.code
            ),
        );
    }
}
