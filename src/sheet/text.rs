//! The sheet as text, 80 columns.

use super::{Line, Mark, SheetModel};

const WIDTH: usize = 78;

/// Draws the sheet.
#[must_use]
pub fn render(sheet: &SheetModel) -> String {
    let mut out = Page::default();
    out.line(&format!(
        "{}   findings of job {}",
        sheet.workshop, sheet.job
    ));
    let date = sheet.date.map(|date| date.to_string()).unwrap_or_default();
    out.line(&format!("{date}   {}   VIN {}", sheet.vehicle, sheet.vin));
    let plate = if sheet.registration.is_empty() {
        String::new()
    } else {
        format!("{}   ", sheet.registration)
    };
    out.line(&format!(
        "{plate}{} km   {} depth   by {}",
        sheet.odometer_km,
        sheet.depth,
        sheet.people.join(", ")
    ));
    out.rule();
    out.wrapped("May it be driven? ", &sheet.may_it_be_driven);
    out.group("BEFORE IT MOVES", &sheet.before_it_moves);
    out.group(
        "BEFORE A DISTANCE OR A DATE, OR TO WATCH",
        &sheet.before_later,
    );
    out.group("PUT RIGHT IN THIS VISIT (as found:)", &sheet.put_right);
    out.group("NOT SEEN", &sheet.not_seen);
    if !sheet.holds.is_empty() {
        out.line("");
        out.wrapped("HOLDS: ", &sheet.holds.join(", "));
    }
    out.distance_line(
        sheet.odometer_km,
        &sheet.distance_line,
        sheet.next_service_km,
    );
    if let Some((km, days)) = sheet.retorque {
        out.rule();
        out.wrapped(
            "Wheel fasteners: ",
            &format!(
                "have them checked at {} again by {km} km or within {days} days, whichever is first. Never slackened first.",
                sheet.wheel_torque
            ),
        );
    }
    out.rule();
    match &sheet.signature {
        None => out.line("NOT SIGNED: this sheet has no signed record behind it."),
        Some(signature) => {
            out.line(&format!(
                "Signed by {} at {}, revision {}",
                signature.signer, signature.signed_at, signature.revision
            ));
            out.line(&format!("  sha256 {}", signature.sha256));
            out.line(&format!("  key {}", signature.fingerprint));
            out.line("  check: ssh-keygen -Y verify -f signers -I NAME -n brakecorner-record \\");
            out.line(&format!(
                "    -s record-{0}.json.sig < record-{0}.json",
                signature.revision
            ));
        }
    }
    out.wrapped(
        "",
        "This sheet records an inspection and measurements made on the day. It is no statutory inspection certificate. Brakes can fail from causes not visible at inspection. The maker's instructions and local law come first.",
    );
    out.0
}

#[derive(Default)]
struct Page(String);

impl Page {
    fn line(&mut self, text: &str) {
        self.0.push_str(text);
        self.0.push('\n');
    }

    fn rule(&mut self) {
        self.line(&"-".repeat(WIDTH));
    }

    /// Text broken at blanks, the first line led by `lead`, the others indented by it.
    fn wrapped(&mut self, lead: &str, text: &str) {
        let indent = " ".repeat(lead.chars().count());
        let mut line = lead.to_owned();
        for word in text.split_whitespace() {
            let full = line.chars().count() + 1 + word.chars().count() > WIDTH;
            if full && line.trim() != lead.trim() {
                self.line(line.trim_end());
                line.clone_from(&indent);
            }
            line.push_str(word);
            line.push(' ');
        }
        self.line(line.trim_end());
    }

    fn group(&mut self, title: &str, lines: &[Line]) {
        if lines.is_empty() {
            return;
        }
        self.line("");
        self.line(title);
        for line in lines {
            let until = line
                .until
                .as_ref()
                .map(|until| format!(" [{until}]"))
                .unwrap_or_default();
            self.wrapped("  * ", &format!("{}{until}", line.sentence));
        }
    }

    /// A ruler from today's odometer to the next service, with the wearing parts on it.
    fn distance_line(&mut self, from: i64, marks: &[Mark], service: Option<i64>) {
        let end = marks.iter().map(|mark| mark.km).chain(service).max();
        let Some(end) = end.filter(|end| *end > from && !marks.is_empty()) else {
            return;
        };
        let span = end - from;
        let width = i64::try_from(WIDTH - 4).unwrap_or(70);
        let column =
            |km: i64| usize::try_from((km - from).clamp(0, span) * width / span).unwrap_or(0);
        self.line("");
        self.line(
            "Distance until a part may reach its limit (earliest, 90 % sure it holds longer):",
        );
        let mut ruler = vec!['-'; WIDTH - 3];
        let mut put = |km: i64, mark: char| {
            if let Some(cell) = ruler.get_mut(column(km)) {
                *cell = mark;
            }
        };
        put(from, '|');
        if let Some(service) = service {
            put(service, 'S');
        }
        let mut sorted: Vec<&Mark> = marks.iter().collect();
        sorted.sort_by_key(|mark| mark.km);
        for (mark, letter) in sorted.iter().zip('a'..='z') {
            put(mark.km, letter);
        }
        self.line(&format!("  {}", ruler.into_iter().collect::<String>()));
        self.line(&format!("  | today {from} km"));
        for (mark, letter) in sorted.iter().zip('a'..='z') {
            self.line(&format!("  {letter} {} km: {}", mark.km, mark.part));
        }
        if let Some(service) = service {
            self.line(&format!("  S next service {service} km"));
        }
    }
}
