//! No text of a person can break a sheet.

use super::jobs::harmful;
use super::*;

fn hidden(c: char) -> bool {
    (c.is_control() && c != '\n')
        || matches!(c, '\u{200e}' | '\u{200f}' | '\u{202a}'..='\u{202e}' | '\u{2066}'..='\u{2069}')
}

#[test]
fn harm_in_any_text_stays_text_in_html_and_on_the_terminal() {
    let (job, extra) = harmful();
    let bench = Bench::new();
    for language in Language::ALL {
        for edition in [Edition::Customer, Edition::Workshop] {
            let model = bench.model(
                &job,
                &extra,
                Form {
                    language,
                    edition,
                    ..Form::default()
                },
            );
            let page = html::render(&model);
            assert!(
                !page.contains("<script") && !page.contains("<img"),
                "{language:?}"
            );
            assert!(
                page.matches("&lt;script&gt;alert(1)&lt;/script&gt;")
                    .count()
                    >= 12
            );
            assert_eq!(page.chars().find(|c| hidden(*c)), None);
            assert!(page.contains(&format!("<html lang=\"{}\">", language.tag())));
            let text = text::render(&model, Signs::Unicode);
            assert_eq!(text.chars().find(|c| hidden(*c)), None);
            let wide = text.lines().find(|line| line.chars().count() > 80);
            assert_eq!(wide, None);
        }
    }
}
