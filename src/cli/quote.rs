//! `quote`: whether the first quote stands, and the talk about the revised one.

use super::ask::{Talk, still_to_come, time};
use super::error::{Exit, Failure, Hint as _};
use super::open::{JobFile, person, style};
use super::style::wrapped;
use super::visits;
use super::{Globals, World};
use crate::job::{Contact, Event, Means, Money, Outcome, QuoteEdit, QuoteLine};
use crate::judge;
use crate::office::{self, Action, Quote, QuotedLine, talk};
use crate::shop::journal::Journal;
use crate::shop::prices;

/// Compare the findings with the first quote, change it, talk about it
///
/// Lines come from the findings and are priced from `prices.toml` in the workshop's folder; a price
/// that was quoted is kept until somebody sets another.
#[derive(Debug, clap::Args)]
#[command(
    after_help = "Examples:\n  brakecorner quote HWY-0423\n  brakecorner quote HWY-0423 --set rear.discs_pads=286.00\n  brakecorner quote HWY-0423 --call"
)]
pub(super) struct Args {
    /// Job number
    job: String,
    /// Write down a line of the first quote: "rear pads 118.00" (can be repeated; replaces the earlier)
    #[arg(long, value_name = "LINE PRICE")]
    original: Vec<String>,
    /// Add a line: rear.pads, rear.pads=96.00, or "wiper blades=12.00" (can be repeated)
    #[arg(long, value_name = "LINE[=PRICE]")]
    add: Vec<String>,
    /// Take a line off (can be repeated)
    #[arg(long, value_name = "LINE")]
    drop: Vec<String>,
    /// Set a line's price (can be repeated)
    #[arg(long, value_name = "LINE=PRICE")]
    set: Vec<String>,
    /// Print the words to say on the telephone, line by line, and take the answers
    #[arg(long)]
    call: bool,
    /// Who is spoken to, by part and not by name
    #[arg(long, value_name = "WHO", default_value = "the customer")]
    with: String,
    /// As comma-separated values
    #[arg(long, conflicts_with_all = ["json", "call"])]
    csv: bool,
}

pub(super) fn run(args: &Args, globals: &Globals, world: &mut World<'_>) -> Result<Exit, Failure> {
    let edits = !args.original.is_empty()
        || !args.add.is_empty()
        || !args.drop.is_empty()
        || !args.set.is_empty();
    if edits || args.call {
        let by = person(globals, world)?;
        let (mut file, mut journal) = JobFile::write(globals, world, &args.job)?;
        file.judge_as_signed()?;
        let events = changes(args, &file)?;
        if !events.is_empty() {
            file.append(&mut journal, world, &by, &events)?;
        }
        if args.call {
            call(args, globals, world, &mut file, &mut journal, &by)?;
        }
        return show(args, globals, world, &file);
    }
    let file = JobFile::read(globals, world, &args.job)?;
    show(args, globals, world, &file)
}

/// The quote of a job as it stands now.
pub(super) fn of(file: &JobFile) -> Result<Quote, Failure> {
    let case = file.case();
    let judgement = judge::judge(&case);
    office::possible(&case, &judgement, Action::Quote).map_err(|missing| {
        Failure::from(format!("no quote yet: {}", missing.join("; "))).hint(format!(
            "inspect it with `brakecorner walk {}`",
            judgement.job
        ))
    })?;
    let prices = prices::read(&file.shop)
        .hint("amounts are texts, as in fixed = \"286.00\"; nothing was changed")?;
    Ok(office::quote(&case, &judgement, &prices))
}

/// The edits of a command line as events; a line that does not exist is named with the known ones.
fn changes(args: &Args, file: &JobFile) -> Result<Vec<Event>, Failure> {
    let mut events = Vec::new();
    if !args.original.is_empty() {
        let mut lines: Vec<QuoteLine> = Vec::new();
        for text in &args.original {
            let line = office::read_line(text)
                .ok_or_else(|| Failure::from("an empty line is no line of a quote"))?;
            if let Some(price) = malformed_price(text) {
                price.parse::<Money>().hint("an amount looks like 118.00")?;
            }
            if lines.iter().any(|known| known.line == line.line) {
                return Err(Failure::from(format!(
                    "the line `{}` is given twice",
                    line.line
                )));
            }
            lines.push(line);
        }
        events.push(Event::OriginalQuote { lines });
    }
    for text in &args.add {
        let (words, price) = match text.rsplit_once('=') {
            Some((words, price)) => {
                let price: Money = price.parse().hint("an amount looks like 96.00")?;
                (words.trim(), Some(price))
            }
            None => (text.trim(), None),
        };
        if words.is_empty() {
            return Err(Failure::from("an empty line is no line of a quote"));
        }
        let line = office::line_of_words(words);
        let words = match line.parse::<office::LineId>() {
            Ok(id) if words == line => id.words(),
            _ => words.to_owned(),
        };
        events.push(Event::QuoteEdited(QuoteEdit::Add(QuoteLine {
            line,
            words,
            price,
        })));
    }
    if args.drop.is_empty() && args.set.is_empty() {
        return Ok(events);
    }
    let quote = of(file)?;
    let mut known: Vec<String> = quote.lines.iter().map(|l| l.line.clone()).collect();
    known.extend(events.iter().filter_map(|event| match event {
        Event::QuoteEdited(QuoteEdit::Add(line)) => Some(line.line.clone()),
        _ => None,
    }));
    for line in &args.drop {
        known_line(&known, line)?;
        let line = line.clone();
        events.push(Event::QuoteEdited(QuoteEdit::Drop { line }));
    }
    for text in &args.set {
        let (line, price) = text.rsplit_once('=').ok_or_else(|| {
            Failure::from(format!("`{text}` sets no price"))
                .hint("expected LINE=PRICE, as in rear.pads=96.00")
        })?;
        known_line(&known, line.trim())?;
        let price: Money = price.parse().hint("an amount looks like 96.00")?;
        let line = line.trim().to_owned();
        events.push(Event::QuoteEdited(QuoteEdit::Set { line, price }));
    }
    Ok(events)
}

/// The last word of a first quote's line when it was meant as an amount and is none.
fn malformed_price(text: &str) -> Option<&str> {
    let last = text.rsplit([' ', '=']).next()?;
    let meant = last.starts_with(|c: char| c.is_ascii_digit() || matches!(c, '-' | '−'));
    meant.then_some(last)
}

/// Refuses a line the quote does not have.
pub(super) fn known_line(known: &[String], line: &str) -> Result<(), Failure> {
    if known.iter().any(|k| k == line) {
        return Ok(());
    }
    let near = known
        .iter()
        .max_by(|a, b| strsim::jaro(a, line).total_cmp(&strsim::jaro(b, line)))
        .filter(|k| strsim::jaro(k, line) > 0.8)
        .map(|k| format!("; did you mean `{k}`?"))
        .unwrap_or_default();
    let list = if known.is_empty() {
        "the quote has no lines".to_owned()
    } else {
        format!("the quote has: {}", known.join(", "))
    };
    Err(Failure::from(format!("the quote has no line `{line}`{near}")).hint(list))
}

/// Lines that want an answer: offered, and unanswered or dearer than what was answered.
fn open_lines(quote: &Quote, file: &JobFile) -> Vec<QuotedLine> {
    let answers = office::answers(&file.job);
    let unanswered = |l: &&QuotedLine| {
        answers
            .get(&l.line)
            .is_none_or(|said| l.price > said.answer.offered.price)
    };
    quote.offered().filter(unanswered).cloned().collect()
}

fn call(
    args: &Args,
    globals: &Globals,
    world: &mut World<'_>,
    file: &mut JobFile,
    journal: &mut Journal,
    by: &str,
) -> Result<(), Failure> {
    let quote = of(file)?;
    if !quote.without_price.is_empty() {
        return Err(
            Failure::from(format!("no price for {}", quote.without_price.join(", "))).hint(
                format!("set it with `brakecorner quote {} --set LINE=PRICE`, or enter it in prices.toml", args.job),
            ),
        );
    }
    let talk = Talk {
        style: style(globals, world),
        quiet: globals.json,
    };
    let currency = file.shop.settings.currency.clone();
    for line in talk::opening_words(&quote, &currency) {
        talk.say(world, &line)?;
    }
    let contact = |answers, call_back, words| Contact {
        with: args.with.clone(),
        means: Means::Telephone,
        reached: true,
        words,
        answers,
        call_back,
        ceiling: None,
    };
    let lines = open_lines(&quote, file);
    for (index, line) in (1..).zip(&lines) {
        talk.say(world, "")?;
        for words in talk::line_words(line, &currency) {
            talk.say(world, &words)?;
        }
        let Some(said) = answer(
            &talk,
            world,
            &format!("{index} of {} {}", lines.len(), line.line),
        )?
        else {
            talk.say(
                world,
                "the answers so far are written down; the rest is open",
            )?;
            return Ok(());
        };
        let caution = said.0 != Outcome::Yes && line.cures_fail();
        let mut read = false;
        if caution {
            talk.say(world, talk::CAUTION)?;
            read = talk
                .yes_no(world, "caution read out? yes or no > ")?
                .is_some_and(|(yes, _)| yes);
        }
        // Each answer is on the disk before the next line is spoken about.
        let event = contact(vec![talk::answered(line, said, read)], None, String::new());
        file.append(journal, world, by, &[Event::Contact(Box::new(event))])?;
    }
    finish_call(&talk, world, file, journal, by, &contact)
}

/// Asks until a line is answered; silence is not consent. `None` when the input ended.
fn answer(
    talk: &Talk,
    world: &mut World<'_>,
    about: &str,
) -> Result<Option<(Outcome, Option<chrono::NaiveDate>, String)>, Failure> {
    loop {
        let Some(text) = talk.ask(world, &format!("{about}: yes, no or later > "))? else {
            return Ok(None);
        };
        let read = talk::read_answer(&text)
            .map_err(Failure::from)
            .and_then(|read| {
                still_to_come(read.1, world.clock.today())?;
                Ok(read)
            });
        match read {
            Ok(read) => return Ok(Some(read)),
            Err(failure) => talk.say(world, &format!("  {}", failure.chain().join(": ")))?,
        }
    }
}

type MakeContact<'a> = dyn Fn(
        Vec<crate::job::LineAnswer>,
        Option<chrono::DateTime<chrono::FixedOffset>>,
        String,
    ) -> Contact
    + 'a;

fn finish_call(
    talk: &Talk,
    world: &mut World<'_>,
    file: &mut JobFile,
    journal: &mut Journal,
    by: &str,
    contact: &MakeContact<'_>,
) -> Result<(), Failure> {
    talk.say(world, "")?;
    let words = talk.ask(world, "anything said worth keeping (empty for nothing) > ")?;
    let mut back = None;
    while let Some(text) = talk.ask(
        world,
        "call back when (2026-03-04 16:00, empty for never) > ",
    )? {
        if text.is_empty() {
            break;
        }
        match time(&text, world.clock.now()) {
            Ok(at) => {
                back = Some(at);
                break;
            }
            Err(failure) => talk.say(world, &format!("  {}", failure.chain().join(": ")))?,
        }
    }
    let words = words.unwrap_or_default();
    if !words.is_empty() || back.is_some() || file.job.contacts.is_empty() {
        let event = Event::Contact(Box::new(contact(Vec::new(), back, words)));
        file.append(journal, world, by, &[event])?;
    }
    Ok(())
}

fn show(
    args: &Args,
    globals: &Globals,
    world: &mut World<'_>,
    file: &JobFile,
) -> Result<Exit, Failure> {
    let quote = of(file)?;
    let before = visits::reopened(&file.shop, &file.job)?;
    if globals.json {
        let mut value = serde_json::to_value(&quote)?;
        if let Some(map) = value.as_object_mut() {
            map.insert("left_before".into(), serde_json::to_value(&before)?);
            map.insert("drive".into(), serde_json::to_value(drive_of(file))?);
        }
        writeln!(world.out, "{value:#}")?;
    } else if args.csv {
        csv(&quote, world)?;
    } else {
        let style = style(globals, world);
        let text = render(&quote, &before, &file.shop.settings.currency);
        world.out.write_all(style.sheet(&text).as_bytes())?;
        writeln!(world.out, "{}", drive_of(file))?;
    }
    Ok(Exit::Good)
}

/// Whether the vehicle may be driven, by its findings as they stand now.
fn drive_of(file: &JobFile) -> office::Drive {
    let case = file.case();
    office::drive(&case, &judge::judge(&case), crate::job::Phase::AsLeft)
}

fn csv(quote: &Quote, world: &mut World<'_>) -> Result<(), Failure> {
    let mut writer = csv::Writer::from_writer(Vec::new());
    writer.write_record([
        "line", "words", "state", "original", "price", "answer", "because", "leaving",
    ])?;
    for line in &quote.lines {
        let because: Vec<String> = line
            .because
            .iter()
            .map(|b| format!("{} {} {}", b.place, b.item, b.verdict))
            .collect();
        let amount = |money: Option<Money>| money.map(|m| m.to_string()).unwrap_or_default();
        writer.write_record([
            &line.line,
            &line.words,
            &line.state.words(),
            &amount(line.original),
            &amount(line.price),
            &line.answer.map_or(String::new(), |a| a.word().to_owned()),
            &because.join("; "),
            &line.leaving.map_or_else(String::new, |l| l.to_string()),
        ])?;
    }
    let bytes = writer
        .into_inner()
        .map_err(|error| Failure::from(error.to_string()))?;
    world.out.write_all(&bytes)?;
    Ok(())
}

fn render(quote: &Quote, before: &[office::Reopened], currency: &str) -> String {
    let mut out = String::new();
    let mut line = |text: String| {
        out.push_str(&text);
        out.push('\n');
    };
    for question in before {
        line(format!("left before: {}", question.question));
    }
    line(format!("{}: {}", quote.job, quote.standing.words()));
    let unit = |amount: Money| format!("{amount} {currency}").trim_end().to_owned();
    let first = quote.original_total.map_or_else(|| "none".to_owned(), unit);
    let now = quote.total.map_or_else(
        || "cannot be said".to_owned(),
        |t| format!("{} (without tax {}, tax {})", unit(t.gross), t.net, t.tax),
    );
    line(format!("first quote {first}, now {now}"));
    if !quote.lines.iter().all(|l| l.answer.is_none()) {
        let agreed = quote
            .agreed
            .map_or_else(|| "cannot be said".to_owned(), |t| unit(t.gross));
        line(format!("agreed {agreed}"));
    }
    for (offered, heading) in [(true, ""), (false, "no longer part of it:")] {
        let lines: Vec<&QuotedLine> = quote
            .lines
            .iter()
            .filter(|l| l.offered() == offered)
            .collect();
        if !lines.is_empty() && !heading.is_empty() {
            line(heading.to_owned());
        }
        for quoted in lines {
            quoted_line(quoted, &mut line);
        }
    }
    if !quote.not_inspected.is_empty() {
        let list = format!("not inspected: {}", quote.not_inspected.join(", "));
        wrapped(&list).into_iter().for_each(&mut line);
    }
    if !quote.without_price.is_empty() {
        line(format!(
            "no price for {}: set it with --set LINE=PRICE, or enter it in prices.toml",
            quote.without_price.join(", ")
        ));
    }
    if let Some(ceiling) = quote.ceiling {
        line(format!(
            "agreed: up to {} more without a call; used {}, left {}",
            ceiling.limit, ceiling.used, ceiling.left
        ));
    }
    if !quote.begun {
        line("whether work may go on cannot be said yet: nothing was inspected".to_owned());
    } else if quote.call.is_empty() {
        line("work may go on: policy asks for no call".to_owned());
    } else {
        line("call the customer before work goes on:".to_owned());
        for reason in &quote.call {
            line(format!("  - {reason}"));
        }
    }
    out
}

fn quoted_line(quoted: &QuotedLine, line: &mut impl FnMut(String)) {
    let price = quoted
        .price
        .map_or_else(|| "no price".to_owned(), |p| p.to_string());
    let answer = quoted
        .answer
        .map_or_else(String::new, |a| format!("  [{}]", a.word()));
    line(format!(
        "  {:18} {:>10}  {}{answer}",
        quoted.line,
        price,
        quoted.state.words()
    ));
    line(format!("      {}", quoted.words));
    for because in &quoted.because {
        line(format!("      {} {}", because.verdict, because.sentence));
    }
    for note in &quoted.notes {
        line(format!("      {note}"));
    }
    if let Some(leaving) = quoted.leaving.filter(|_| quoted.offered()) {
        line(format!("      {leaving}"));
    }
}

/// The revised quote for the customer's sheet: price, what leaving a line means, what was decided.
///
/// A job nobody made a quote for has none on its sheet; nor has one whose price list does not read,
/// which is said.
pub(super) fn for_sheet(
    shop: &crate::shop::folder::Workshop,
    case: &judge::Case<'_>,
    judgement: &judge::Judgement,
) -> Result<Vec<crate::sheet::Offer>, Failure> {
    let desk = case.job.original_quote.is_some()
        || !case.job.quote_edits.is_empty()
        || !case.job.contacts.is_empty();
    if !desk {
        return Ok(Vec::new());
    }
    let prices = prices::read(shop)?;
    let quote = office::quote(case, judgement, &prices);
    let answers = office::answers(case.job);
    let currency = &shop.settings.currency;
    let line = |quoted: &QuotedLine| {
        let said = answers.get(&quoted.line);
        // What was answered was answered at that price.
        let price = said.and_then(|s| s.answer.offered.price).or(quoted.price);
        crate::sheet::Offer {
            words: quoted.words.clone(),
            price: price.map(|p| format!("{p} {currency}").trim_end().to_owned()),
            leaving: quoted.leaving,
            cures: quoted.because.iter().map(|b| (b.place, b.item)).collect(),
            decided: said.map(decided),
        }
    };
    let shown = |l: &&QuotedLine| l.offered() || answers.contains_key(&l.line);
    Ok(quote.lines.iter().filter(shown).map(line).collect())
}

/// What was decided, when, by which means; a caution that was read out stands beside it.
fn decided(said: &office::Answer) -> crate::sheet::Decided {
    let means = match serde_json::to_value(said.means) {
        Ok(serde_json::Value::String(word)) => word,
        _ => said.means.words().to_owned(),
    };
    crate::sheet::Decided {
        outcome: said.answer.outcome,
        at: said.meta.at,
        means,
        ask_again: said.answer.until,
        caution_read: said.answer.caution_read,
    }
}
