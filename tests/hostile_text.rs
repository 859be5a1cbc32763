//! HTML, formulas and control characters in cells arrive harmless in every output.

use crate::support::{Workplace, plain_log};

const NAME: &str = "<script>alert(1)</script>";

fn hostile_lab() -> Workplace {
    let log = String::from_utf8(plain_log("NAME", 40)).unwrap();
    let mut log = log.replace("NAME", NAME);
    log.push_str(&format!(
        "2026-03-02;{NAME};\u{1b}[2J\u{1b}]0;owned\u{7};=HYPERLINK(\"x\");<b>&\"';\u{202e}6.8\n"
    ));
    let events = format!(
        "date,cabinet,kind,what,effect\n2026-02-03,{NAME},maintenance,\"<img src=x onerror=alert(2)> \u{1b}[31m\",note\n"
    );
    Workplace::with(&[
        ("logs/a.csv", log.as_bytes()),
        ("events.csv", events.as_bytes()),
    ])
}

#[test]
fn nothing_hostile_reaches_the_terminal() {
    let place = hostile_lab();
    let review = place.review(&[]).expect(0);
    let intake = place.run(&["intake", "lab", "--now", crate::support::NOW]);
    for text in [
        &review.stdout,
        &review.stderr,
        &intake.stdout,
        &intake.stderr,
    ] {
        let bad = text
            .chars()
            .find(|c| (c.is_control() && *c != '\n') || *c == '\u{202e}');
        assert_eq!(bad, None, "{text}");
    }
}

#[test]
fn markup_is_text_in_html_and_svg() {
    let place = hostile_lab();
    place.review(&["--quiet"]).expect(0);
    let mut looked_at = 0;
    for file in place.files("out") {
        if file.ends_with(".html") || file.ends_with(".svg") {
            let text = place.read(&format!("out/{file}"));
            for bad in ["<script", "<img", "<b>&", "\u{1b}", "\u{202e}"] {
                assert!(!text.contains(bad), "{file} holds {bad:?}");
            }
            looked_at += 1;
        }
    }
    assert!(looked_at > 1);
    assert!(place.read("out/review.html").contains("&lt;script"));
}

#[test]
fn chart_files_stay_inside_the_output_folder() {
    let log = String::from_utf8(plain_log("NAME", 40)).unwrap();
    let log = log.replace("NAME", "../../escaped");
    let place = Workplace::with(&[("logs/a.csv", log.as_bytes())]);
    place.review(&["--quiet"]).expect(0);
    let outside: Vec<String> = place
        .files(".")
        .into_iter()
        .filter(|f| !f.starts_with("out/") && !f.starts_with("lab/"))
        .collect();
    assert_eq!(outside, Vec::<String>::new());
    assert!(place.files("out").iter().any(|f| f.starts_with("charts/")));
}
