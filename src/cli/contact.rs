//! `contact`: what was said to the customer, and what the customer decided.

use chrono::NaiveDate;

use super::ask::{still_to_come, time};
use super::error::{Exit, Failure, Hint as _};
use super::open::{JobFile, person, style};
use super::{Globals, World, quote};
use crate::job::{Contact, Event, LineAnswer, Means, Money, Outcome};
use crate::office::{self, Quote, talk};

/// Log a talk with the customer and the decision on every line
///
/// Without options it shows the talks so far. Nothing is ever deleted: a mind changed is a new
/// entry. Names and numbers do not belong into the journal; say who by part.
#[derive(Debug, clap::Args)]
#[command(
    after_help = "Examples:\n  brakecorner contact HWY-0423 --yes rear.discs_pads --yes RR.slide_pins --no fluid --caution\n  brakecorner contact HWY-0423 --not-reached --call-back \"2026-03-04 16:00\""
)]
pub(super) struct Args {
    /// Job number
    job: String,
    /// Who was spoken to, by part and not by name
    #[arg(long, value_name = "WHO", default_value = "the customer")]
    with: String,
    /// How: telephone, in_person, message, email
    #[arg(long, value_parser = means, default_value = "telephone", value_name = "MEANS")]
    means: Means,
    /// What was said, in plain words
    #[arg(long, value_name = "WORDS", default_value = "")]
    said: String,
    /// A line the customer wants done (can be repeated)
    #[arg(long, value_name = "LINE")]
    yes: Vec<String>,
    /// A line the customer leaves; a reason may follow: LINE:REASON (can be repeated)
    #[arg(long, value_name = "LINE[:REASON]")]
    no: Vec<String>,
    /// A line the customer puts off, with a date if one was said: LINE:2026-04-30 (can be repeated)
    #[arg(long, value_name = "LINE[:DATE]")]
    later: Vec<String>,
    /// The caution about what is left was read out
    #[arg(long)]
    caution: bool,
    /// Nobody was reached
    #[arg(long, conflicts_with_all = ["yes", "no", "later", "ceiling"])]
    not_reached: bool,
    /// When to call again
    #[arg(long, value_name = "TIME")]
    call_back: Option<String>,
    /// Agreed: up to this much more without calling
    #[arg(long, value_name = "AMOUNT", allow_hyphen_values = true)]
    ceiling: Option<String>,
    /// Lines done inside the amount agreed before, without asking (can be repeated)
    #[arg(long, value_name = "LINE", conflicts_with_all = ["yes", "no", "later", "ceiling", "not_reached"])]
    under_ceiling: Vec<String>,
}

fn means(text: &str) -> Result<Means, String> {
    match text {
        "telephone" | "phone" => Ok(Means::Telephone),
        "in_person" | "in-person" => Ok(Means::InPerson),
        "message" => Ok(Means::Message),
        "email" | "e-mail" => Ok(Means::Email),
        _ => Err("expected telephone, in_person, message or email".to_owned()),
    }
}

impl Args {
    fn writes(&self) -> bool {
        self.not_reached
            || self.call_back.is_some()
            || self.ceiling.is_some()
            || !(self.said.is_empty()
                && self.yes.is_empty()
                && self.no.is_empty()
                && self.later.is_empty()
                && self.under_ceiling.is_empty())
    }
}

pub(super) fn run(args: &Args, globals: &Globals, world: &mut World<'_>) -> Result<Exit, Failure> {
    if !args.writes() {
        let file = JobFile::read(globals, world, &args.job)?;
        return show(globals, world, &file);
    }
    let by = person(globals, world)?;
    let (mut file, mut journal) = JobFile::write(globals, world, &args.job)?;
    file.judge_as_signed()?;
    let answers = answers(args, &file, world.clock.today())?;
    let ceiling: Option<Money> = match &args.ceiling {
        Some(text) => Some(text.parse().hint("an amount looks like 150.00")?),
        None => None,
    };
    let now = world.clock.now();
    let call_back = match &args.call_back {
        Some(text) => Some(time(text, now)?),
        None => None,
    };
    let unread = answers
        .iter()
        .filter(|a| a.outcome != Outcome::Yes && !a.caution_read)
        .map(|a| a.offered.line.clone())
        .collect::<Vec<_>>();
    let contact = Contact {
        with: args.with.clone(),
        means: if args.under_ceiling.is_empty() {
            args.means
        } else {
            Means::PreAuthorised
        },
        reached: !args.not_reached,
        words: args.said.clone(),
        answers,
        call_back,
        ceiling,
    };
    file.append(
        &mut journal,
        world,
        &by,
        &[Event::Contact(Box::new(contact))],
    )?;
    remind(world, &file, &unread)?;
    show(globals, world, &file)
}

/// A FAIL that was left without the caution: said at once, not only at the signature.
fn remind(world: &mut World<'_>, file: &JobFile, unread: &[String]) -> Result<(), Failure> {
    if unread.is_empty() {
        return Ok(());
    }
    let quote = quote::of(file)?;
    for line in unread.iter().filter_map(|line| quote.line(line)) {
        if line.cures_fail() {
            writeln!(
                world.err,
                "note: {} fails; read out the caution and log it again with --caution, or the job cannot be signed:\n  \"{}\"",
                line.line,
                talk::CAUTION
            )?;
        }
    }
    Ok(())
}

fn answers(args: &Args, file: &JobFile, today: NaiveDate) -> Result<Vec<LineAnswer>, Failure> {
    let asked = [&args.yes, &args.no, &args.later, &args.under_ceiling];
    if asked.iter().all(|lines| lines.is_empty()) {
        return Ok(Vec::new());
    }
    let quote = quote::of(file)?;
    let known: Vec<String> = quote.lines.iter().map(|l| l.line.clone()).collect();
    let mut answers: Vec<LineAnswer> = Vec::new();
    let mut push = |text: &str, outcome: Outcome| -> Result<(), Failure> {
        let (line, rest) = match text.split_once(':') {
            Some((line, rest)) => (line.trim(), rest.trim()),
            None => (text.trim(), ""),
        };
        quote::known_line(&known, line)?;
        if answers.iter().any(|a| a.offered.line == line) {
            return Err(Failure::from(format!("`{line}` has two answers")));
        }
        let Some(quoted) = quote.line(line) else {
            return Ok(());
        };
        if outcome == Outcome::Yes && quoted.price.is_none() {
            return Err(Failure::from(format!(
                "no price for {line}: a yes to an unknown price is no yes"
            ))
            .hint(format!(
                "`brakecorner quote {} --set {line}=PRICE` first",
                args.job
            )));
        }
        let a_day =
            "a day looks like 2026-04-30, as in --later fluid:2026-04-30; nothing was logged";
        let read = talk::read_answer(&format!("{} {rest}", outcome.word())).hint(a_day)?;
        if outcome == Outcome::Later && !rest.is_empty() && read.1.is_none() {
            return Err(Failure::from(format!("`{rest}` is no day to ask again on")).hint(a_day));
        }
        still_to_come(read.1, today)?;
        let caution = args.caution && outcome != Outcome::Yes;
        answers.push(talk::answered(quoted, read, caution));
        Ok(())
    };
    for line in &args.yes {
        push(line, Outcome::Yes)?;
    }
    for line in &args.no {
        push(line, Outcome::No)?;
    }
    for line in &args.later {
        push(line, Outcome::Later)?;
    }
    for line in &args.under_ceiling {
        push(line, Outcome::Yes)?;
    }
    if !args.under_ceiling.is_empty() {
        within_ceiling(&answers, &quote)?;
    }
    Ok(answers)
}

/// Refuses lines that cost more than what is left of the ceiling.
fn within_ceiling(answers: &[LineAnswer], quote: &Quote) -> Result<(), Failure> {
    let Some(ceiling) = quote.ceiling else {
        return Err(Failure::from("no amount was agreed before")
            .hint("agree one with `contact JOB --ceiling AMOUNT`, or ask about the line"));
    };
    let wanted: Money = answers.iter().filter_map(|a| a.offered.price).sum();
    if wanted > ceiling.left {
        return Err(Failure::from(format!(
            "{wanted} is more than what is left of the amount agreed before: {} of {}",
            ceiling.left, ceiling.limit
        ))
        .hint("call the customer"));
    }
    Ok(())
}

fn show(globals: &Globals, world: &mut World<'_>, file: &JobFile) -> Result<Exit, Failure> {
    let case = file.case();
    let judgement = crate::judge::judge(&case);
    let state = office::state(&case, &judgement);
    let obstacles = office::signing_obstacles(&case, &judgement);
    if globals.json {
        let contacts: Vec<serde_json::Value> = file
            .job
            .contacts
            .iter()
            .map(|(meta, contact)| {
                let mut value = serde_json::to_value(contact).unwrap_or_default();
                if let Some(map) = value.as_object_mut() {
                    map.insert("at".into(), meta.at.to_rfc3339().into());
                    map.insert("by".into(), meta.by.clone().into());
                }
                value
            })
            .collect();
        let value = serde_json::json!({
            "job": judgement.job, "state": state, "contacts": contacts,
            "ceiling": office::ceiling(&file.job),
            "declined": office::declined(&case, &judgement),
        });
        writeln!(world.out, "{value:#}")?;
        return Ok(Exit::Good);
    }
    let style = style(globals, world);
    let mut say = |text: String| writeln!(world.out, "{}", style.text(&text));
    for (meta, contact) in &file.job.contacts {
        let reached = if contact.reached { "" } else { ", not reached" };
        say(format!(
            "{} {} {} {}{reached}",
            meta.at.format("%Y-%m-%d %H:%M"),
            meta.by,
            contact.with,
            contact.means.words()
        ))?;
        if !contact.words.is_empty() {
            say(format!("  \"{}\"", contact.words))?;
        }
        for answer in &contact.answers {
            say(format!("  {}", answer_words(answer)))?;
        }
        if let Some(ceiling) = contact.ceiling {
            say(format!("  agreed: up to {ceiling} more without a call"))?;
        }
        if let Some(back) = contact.call_back {
            say(format!("  call back {}", back.format("%Y-%m-%d %H:%M %:z")))?;
        }
    }
    if file.job.contacts.is_empty() {
        say("nobody was spoken to yet".to_owned())?;
    }
    say(format!("{}: {state}", judgement.job))?;
    let decisions = obstacles.iter().filter(|o| {
        matches!(
            o,
            office::Obstacle::FailWithoutOutcome { .. }
                | office::Obstacle::CautionNotRead { .. }
                | office::Obstacle::DeclinedButDone { .. }
                | office::Obstacle::NotAuthorised { .. }
        )
    });
    for obstacle in decisions {
        say(format!("  open: {obstacle}"))?;
    }
    Ok(Exit::Good)
}

fn answer_words(answer: &LineAnswer) -> String {
    let price = answer
        .offered
        .price
        .map_or_else(|| "no price".to_owned(), |p| p.to_string());
    let mut text = format!(
        "{} {} ({price})",
        answer.outcome.word(),
        answer.offered.line
    );
    if let Some(until) = answer.until {
        text.push_str(&format!(", ask again on {until}"));
    }
    if !answer.reason.is_empty() {
        text.push_str(&format!(", \"{}\"", answer.reason));
    }
    if answer.caution_read {
        text.push_str(", caution read out");
    }
    text
}
