//! The documents as HTML: one file, no script, nothing fetched.

use maud::{DOCTYPE, Markup, PreEscaped, html};

use super::model::{
    Block, DistanceLine, Edition, Fact, Group, Happening, Head, ItemBlock, Paper, Photo, Picture,
    Quote, SheetModel, SignatureBlock, TagModel, Technical, WorkBlock, WorkPage, WorksheetModel,
};
use super::palette::{self, Tone, hex};
use super::text::visible;

/// Lays out the findings sheet.
#[must_use]
pub fn render(sheet: &SheetModel) -> String {
    let head = &sheet.head;
    let body = html! {
        (title(head, (sheet.edition == Edition::Workshop).then(|| head.label("edition-workshop"))))
        main {
            section.drive.(sheet.drive.tone.word()) {
                h2 { (icon(head, sheet.drive.tone)) (sheet.drive.question) }
                p { (sheet.drive.answer) }
                @for notice in &sheet.notices { p { strong { bdi { (notice) } } } }
            }
            @for group in &sheet.groups { (group_of(head, group)) }
            @if let Some(distance) = &sheet.distance { (distance_of(head, distance)) }
            (quote_of(head, &sheet.quote))
            section.corners {
                h2 { (head.label("corner")) }
                p.soft { (head.label("band")) }
                @for block in &sheet.blocks { (block_of(head, block)) }
            }
            @if !sheet.photos.is_empty() { (photos_of(head, &sheet.photos)) }
            @if let Some(technical) = &sheet.technical { (technical_of(head, technical)) }
            @if let Some(slip) = &sheet.slip { (slip_of(head, &slip.sentences)) }
            (signature_of(head, &sheet.signature))
            section {
                h2 { (head.label("cautions")) }
                ul { @for caution in &sheet.cautions { li { (caution) } } }
            }
        }
    };
    page(head, &body)
}

/// Lays out the re-torque slip.
#[must_use]
pub fn tag(tag: &TagModel) -> String {
    let body = html! {
        (title(&tag.head, None))
        main { (slip_of(&tag.head, &tag.slip.sentences)) }
    };
    page(&tag.head, &body)
}

/// Lays out the worksheet, an axle a printed page.
#[must_use]
pub fn worksheet(work: &WorksheetModel) -> String {
    let head = &work.head;
    let body = html! {
        (title(head, None))
        main {
            p { (work.hint) }
            @for page in &work.pages { (work_page(head, page)) }
            section.work { (work_block(head, &work.vehicle)) }
            section {
                h2 { (head.label("cautions")) }
                ul { @for caution in &work.cautions { li { (caution) } } }
            }
        }
    };
    page(head, &body)
}

fn page(head: &Head, body: &Markup) -> String {
    let document = html! {
        (DOCTYPE)
        html lang=(head.language) {
            head {
                meta charset="utf-8";
                meta name="viewport" content="width=device-width, initial-scale=1";
                meta http-equiv="Content-Security-Policy" content="default-src 'none'; style-src 'unsafe-inline'; img-src data:";
                title { (head.title) }
                style { (PreEscaped(style(head))) }
            }
            body { (body) }
        }
    };
    // No text of a person may turn the direction of writing or hide anything.
    let safe = |c: char| {
        if c == '\n' || c == '\u{a0}' {
            c
        } else {
            visible(c)
        }
    };
    document.into_string().chars().map(safe).collect()
}

fn title(head: &Head, edition: Option<&str>) -> Markup {
    html! {
        header {
            p.workshop { strong { (head.workshop) } @for line in &head.address { br; (line) } }
            h1 { (head.title) }
            @if let Some(edition) = edition { p.soft { (edition) } }
            (facts(&head.facts))
        }
    }
}

fn facts(facts: &[Fact]) -> Markup {
    html! {
        dl { @for fact in facts { div { dt { (fact.label) } dd { bdi { (fact.value) } } } } }
    }
}

fn icon(head: &Head, tone: Tone) -> Markup {
    html! { (PreEscaped(head.icons.get(tone.word()).map_or("", String::as_str))) " " }
}

fn picture(picture: &Picture) -> Markup {
    html! { (PreEscaped(&picture.svg)) }
}

fn group_of(head: &Head, group: &Group) -> Markup {
    html! {
        section.group.(group.tone.word()) {
            h2 { (icon(head, group.tone)) (group.title) }
            @if group.lines.is_empty() { p { (group.none) } }
            @else {
                ul {
                    @for line in &group.lines {
                        li {
                            @if !line.subject.is_empty() { strong { (line.subject) "." } " " }
                            @for sentence in &line.sentences { bdi { (sentence) } " " }
                            @if let Some(until) = &line.until { strong.until { (until) } }
                        }
                    }
                }
            }
        }
    }
}

fn distance_of(head: &Head, distance: &DistanceLine) -> Markup {
    html! {
        section {
            h2 { (head.label("distance")) }
            div.wide { (picture(&distance.picture)) }
            (facts(&distance.ends))
            ul.marks {
                @for mark in &distance.marks { li { strong { (mark.letter) } " " (mark.at) ": " (mark.part) } }
            }
        }
    }
}

fn quote_of(head: &Head, quote: &Quote) -> Markup {
    html! {
        section {
            h2 { (head.label("quote")) }
            @if let Some(given) = &quote.given { p { (head.label("quote-given")) ": " bdi { (given) } } }
            @if quote.lines.is_empty() { p { (quote.none) } }
            @for line in &quote.lines {
                div.decide {
                    p { bdi { (line.words) } @if let Some(price) = &line.price { " " strong { (head.label("price")) ": " (price) } } }
                    @if let Some(if_not) = &line.if_not { p { (head.label("if-not")) ": " bdi { (if_not) } } }
                    @if line.decided.is_none() { p.choice {
                        span.soft { (head.label("choice")) ":" }
                        span { (head.label("do-it")) } span { (head.label("leave-it")) } span { (head.label("ask-me")) " ________" }
                    } }
                    @if let Some(decided) = &line.decided { p { (head.label("decided")) ": " bdi { (decided) } } }
                }
            }
            @if !quote.lines.is_empty() { p.sign { (head.label("signature-line")) ": ____________________" } }
        }
    }
}

fn block_of(head: &Head, block: &Block) -> Markup {
    html! {
        article.(block.tone.word()) {
            h3 { (icon(head, block.tone)) (block.title) ": " (block.verdict) }
            div.items { @for item in block.items.iter().filter(|i| !brief(i)) { (item_of(head, item)) } }
            div.items.brief { @for item in block.items.iter().filter(|i| brief(i)) { (item_of(head, item)) } }
            @if !block.looked.is_empty() { p { (head.label("looked")) ": " (block.looked.join(", ")) "." } }
            @for note in &block.notes { p { (head.label("notes")) ": " bdi { (note) } } }
            @if !block.photos.is_empty() {
                p { (head.label("photos")) ": " (block.photos.iter().map(ToString::to_string).collect::<Vec<_>>().join(", ")) }
            }
        }
    }
}

/// Whether an item is said in two lines: it holds and has no drawing.
fn brief(item: &ItemBlock) -> bool {
    item.picture.is_none() && item.sentences.is_empty()
}

fn item_of(head: &Head, item: &ItemBlock) -> Markup {
    html! {
        div.item.(item.tone.word()) {
            h4 { (icon(head, item.tone)) (item.title) ": " (item.verdict) }
            @if item.reading.is_some() || item.limit.is_some() {
                p {
                    @if let Some(reading) = &item.reading { strong { (reading) } }
                    @if let Some(limit) = &item.limit {
                        @if item.reading.is_some() { ", " }
                        (limit)
                        @if let Some(whose) = &item.whose { " (" (whose) ")" }
                    }
                }
            }
            @if let Some(found) = &item.found { p { (head.label("found")) ": " (found) } }
            @if let Some(drawing) = &item.picture { (picture(drawing)) }
            @if !item.sentences.is_empty() { p { @for sentence in &item.sentences { bdi { (sentence) } " " } } }
        }
    }
}

fn photos_of(head: &Head, photos: &[Photo]) -> Markup {
    html! {
        section.photos {
            h2 { (head.label("photos")) }
            @for photo in photos {
                figure {
                    @if let Some(data) = data_uri(photo) { img src=(data) alt=(photo.caption); }
                    figcaption { (photo.caption) }
                }
            }
        }
    }
}

fn data_uri(photo: &Photo) -> Option<String> {
    use base64ct::{Base64, Encoding as _};
    let kind = match photo.format? {
        "jpg" => "jpeg",
        other => other,
    };
    Some(format!(
        "data:image/{kind};base64,{}",
        Base64::encode_string(&photo.bytes)
    ))
}

fn technical_of(head: &Head, technical: &Technical) -> Markup {
    let columns = [
        "item",
        "phase",
        "reading",
        "limit",
        "whose",
        "uncertainty",
        "probability",
        "proof",
        "verdict",
    ];
    html! {
        section.technical {
            h2 { (head.label("technical")) }
            (table(head, &columns, technical.rows.iter().map(|r| vec![
                format!("{}, {}", r.place, r.item), r.phase.clone(), r.reading.clone(), r.limit.clone(), r.whose.clone(),
                r.uncertainty.clone(), r.probability.clone(), r.proof.clone(), r.verdict.clone(),
            ]).collect()))
            h3 { (head.label("readings")) }
            (table(head, &["item", "phase", "instrument", "reading"], technical.readings.iter().map(|r| vec![
                format!("{}, {}", r.place, r.item), r.phase.clone(), r.instrument.clone(), r.texts.join("  "),
            ]).collect()))
            @if !technical.causes.is_empty() {
                h3 { (head.label("causes")) }
                (table(head, &["cause", "for", "against", "next-test"], technical.causes.iter().map(|c| vec![
                    c.cause.clone(), c.evidence_for.join("; "), c.against.join("; "), format!("{}. {}: {}", c.next_test, head.label("ruled-out"), c.ruled_out_by),
                ]).collect()))
            }
            (happenings(head, "overrides", &technical.overrides))
            (happenings(head, "timeline", &technical.timeline))
        }
    }
}

fn happenings(head: &Head, title: &str, rows: &[Happening]) -> Markup {
    html! {
        @if !rows.is_empty() {
            h3 { (head.label(title)) }
            (table(head, &["time", "person", "event"], rows.iter().map(|r| vec![
                r.time.clone(), r.person.clone(), if r.struck { format!("(--) {}", r.event) } else { r.event.clone() },
            ]).collect()))
        }
    }
}

/// A table that becomes a list of cards on a narrow screen.
fn table(head: &Head, columns: &[&str], rows: Vec<Vec<String>>) -> Markup {
    html! {
        table {
            thead { tr { @for column in columns { th scope="col" { (head.label(column)) } } } }
            tbody {
                @for row in rows {
                    tr { @for (cell, column) in row.iter().zip(columns) { td data-label=(head.label(column)) { bdi { (cell) } } } }
                }
            }
        }
    }
}

fn slip_of(head: &Head, sentences: &[String]) -> Markup {
    html! {
        section.slip {
            p.cut { "- - " (head.label("cut")) " - -" }
            h2 { (head.label("retorque")) }
            p { strong { (head.facts.iter().take(3).map(|f| f.value.as_str()).collect::<Vec<_>>().join(", ")) } }
            p { @for sentence in sentences { (sentence) " " } }
        }
    }
}

fn signature_of(head: &Head, signature: &SignatureBlock) -> Markup {
    html! {
        section.signature {
            h2 { (head.label("signature")) }
            p { strong { (signature.sentence) } }
            @if let Some(qr) = &signature.qr { div.qr { (picture(qr)) } }
            @if !signature.facts.is_empty() { (facts(&signature.facts)) }
            @if !signature.command.is_empty() {
                @if signature.signed { h3 { (head.label("check")) } }
                p { (signature.how) }
                p.command { @for line in &signature.command { code { (line) } br; } }
            }
        }
    }
}

fn work_page(head: &Head, page: &WorkPage) -> Markup {
    html! {
        section.work {
            h2 { (page.title) }
            div.drawings {
                @if let Some(ring) = &page.ring { figure { (picture(ring)) figcaption { (head.label("positions")) } } }
                @if let Some(star) = &page.star { figure { (picture(star)) figcaption { (head.label("order")) } } }
                @for words in &page.torque { p { strong { (head.label("torque")) ": " } (words) } }
            }
            @for block in &page.blocks { (work_block(head, block)) }
        }
    }
}

fn work_block(head: &Head, block: &WorkBlock) -> Markup {
    html! {
        @if !block.rows.is_empty() {
            h3 { (block.title) " (" (block.code) ")" }
            @for row in &block.rows {
                div.row {
                    p { strong { (row.title) } @if !row.limit.is_empty() { ", " (row.limit) } ". " span.soft { (row.hint) } }
                    p.boxes { @for name in &row.boxes { span.box.long[name.is_empty()] { (name) } } }
                }
            }
            p.soft { (head.label("worksheet-hint")) " " code { "brakecorner log " (head.job) " " (block.code) " …" } }
        }
    }
}

fn style(head: &Head) -> String {
    let tones: String = Tone::ALL
        .into_iter()
        .map(|tone| format!(".{0}{{--tone:{1}}}", tone.word(), hex(tone.ink())))
        .collect();
    let paper = match head.paper {
        Paper::A4 => "A4",
        Paper::Letter => "letter",
    };
    let size = if head.large { "150%" } else { "100%" };
    format!(
        "{tones}:root{{--ink:{};--soft:{};--panel:{};font-size:{size}}}@page{{size:{paper};margin:15mm}}{}",
        hex(palette::INK),
        hex(palette::SOFT),
        hex(palette::PANEL),
        include_str!("sheet.css")
    )
}
