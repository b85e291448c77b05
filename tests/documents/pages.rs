//! Every finding has a page that shows it, every page says what it should, and no text whatever makes the reader fall over.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, missing_docs)] // a test may fail loudly

use crate::reading;

use std::collections::BTreeSet;
use std::path::Path;

use proptest::prelude::*;
use reading::{Page, findings, invalid, valid};
use reedbook::notebook::{Code, DocumentKind, Finding};
use reedbook::report::worded;

fn shown(findings: &[Finding]) -> String {
    let lines = findings.iter().map(|finding| {
        let Finding { code, place, message, help } = finding;
        let help = worded(help);
        format!("  {} at line {:?}, field {:?}: {message} | {help}", code.name(), place.line, place.field)
    });
    lines.collect::<Vec<_>>().join("\n")
}

/// The code that a broken page is named after: the longest one that its name begins with.
fn code_of(page: &Page) -> Code {
    let named = |code: &Code| page.name == code.name() || page.name.starts_with(&format!("{}-", code.name()));
    let mut codes: Vec<_> = Code::ALL.into_iter().filter(named).collect();
    codes.sort_by_key(|code| code.name().len());
    codes.pop().unwrap_or_else(|| panic!("{} is named after no code", page.name))
}

#[test]
fn sound_pages_have_no_finding() {
    let pages = valid();
    for kind in DocumentKind::ALL {
        assert!(pages.iter().any(|page| page.kind == kind), "no sound page of a {}", kind.name());
    }
    let wrong: Vec<_> = pages
        .iter()
        .map(|page| (page, page.findings()))
        .filter(|(_, findings)| !findings.is_empty())
        .map(|(page, findings)| format!("{}:\n{}", page.name, shown(&findings)))
        .collect();
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

#[test]
fn no_code_lacks_a_page() {
    let shown: BTreeSet<_> = invalid().iter().map(|page| code_of(page).name()).collect();
    // What is cut short is so beside what was recorded, not by itself.
    let all = Code::ALL.into_iter().filter(|code| *code != Code::CutShort);
    assert_eq!(shown, all.map(Code::name).collect());
}

/// What is not as it should be in the one finding of a broken page.
fn complaint(page: &Page) -> Option<String> {
    let findings = page.findings();
    let [finding] = findings.as_slice() else {
        return Some(format!(
            "{}: {} findings instead of one:\n{}",
            page.name,
            findings.len(),
            shown(&findings)
        ));
    };
    let mut wrong = Vec::new();
    if finding.code != code_of(page) {
        wrong.push(format!("the code is {}", finding.code.name()));
    }
    if finding.place.line != page.line {
        wrong.push(format!("the line is {:?} instead of {:?}", finding.place.line, page.line));
    }
    let file = page.map.as_ref().map_or("page.toml".to_owned(), |map| format!("bikes/plover/{map}"));
    let own = ["bikes/plover/setup.toml", "engines/page/engine.toml"].map(Path::new);
    let there = finding.place.file == Path::new(&file)
        || (page.map.is_none() && own.contains(&finding.place.file.as_path()));
    if !there {
        wrong.push(format!("the file is {}", finding.place.file.display()));
    }
    if finding.place.field != page.field {
        wrong.push(format!("the field is {:?} instead of {:?}", finding.place.field, page.field));
    }
    for sentence in [&finding.message, &worded(&finding.help)] {
        if !is_sentence(sentence) {
            wrong.push(format!("not a sentence: {sentence:?}"));
        }
    }
    (!wrong.is_empty()).then(|| format!("{}: {}\n{}", page.name, wrong.join("; "), shown(&findings)))
}

/// One line of words with a period or a question mark at its end, and nothing in it that moves a terminal's cursor.
fn is_sentence(text: &str) -> bool {
    let ends = text.ends_with('.') || text.ends_with('?');
    ends && text.len() > 10
        && !text.contains(char::is_control)
        && !text.ends_with("..")
        && !text.contains("  ")
}

#[test]
fn each_broken_page_gives_the_one_finding_it_is_named_after() {
    let wrong: Vec<_> = invalid().iter().filter_map(complaint).collect();
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

#[test]
fn a_page_cut_off_anywhere_is_read() {
    let mut cut = 0;
    for page in valid() {
        for end in 0..page.bytes.len() {
            findings_of(&page, &page.bytes[..end]);
            cut += 1;
        }
    }
    assert!(cut > 5_000, "only {cut} places were tried");
}

fn findings_of(page: &Page, bytes: &[u8]) -> Vec<Finding> {
    findings(page.kind, bytes, page.imperial, Path::new("no such folder"))
}

#[test]
fn deep_nesting_is_read() {
    let deep = 2_000;
    let texts = [
        format!("extra = {}1{}", "[".repeat(deep), "]".repeat(deep)),
        format!("extra.{} = 1", vec!["a"; deep].join(".")),
        format!("[extra.{}]\nx = 1", vec!["a"; deep].join(".")),
        format!("extra = {}1{}", "{a=".repeat(deep), "}".repeat(deep)),
    ];
    for text in texts {
        for kind in DocumentKind::ALL {
            findings(kind, text.as_bytes(), false, Path::new("no such folder"));
        }
    }
}

/// Some line of some sound page, its value replaced.
fn line_with(page: &Page, line: usize, value: &str) -> String {
    let text = String::from_utf8_lossy(&page.bytes);
    let mut lines: Vec<_> = text.lines().map(str::to_owned).collect();
    let at = line % lines.len();
    if let Some((name, _)) = lines[at].clone().split_once('=') {
        lines[at] = format!("{name}= {value}");
    }
    lines.join("\n")
}

fn kinds() -> impl Strategy<Value = DocumentKind> {
    proptest::sample::select(DocumentKind::ALL.to_vec())
}

fn pages() -> impl Strategy<Value = Page> {
    proptest::sample::select(valid())
}

/// Values as people mistype them, and worse.
fn values() -> impl Strategy<Value = String> {
    let texts = prop_oneof![
        any::<String>(),
        "[-+]?[0-9é./, ]{1,8} ?[a-zA-Zµ°%\"/]{0,5}",
        "[\\x00-\\x1fa-z]{1,6}",
        "20[0-9]{2}-[0-9]{2}-[0-9]{2}[T ][0-9:]{4,8}[-+Z]?[0-9:é]{0,6}",
        "maps/[a-z./]{1,8}(\\.csv)?",
    ];
    prop_oneof![
        texts.prop_map(|text| toml::Value::String(text).to_string()),
        any::<f64>().prop_map(|number| number.to_string()),
        any::<i64>().prop_map(|number| number.to_string()),
        "[\\[\\]{}0-9a-z,=\" .]{0,12}",
    ]
}

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::with_cases(400) })]

    #[test]
    fn any_text_is_read(kind in kinds(), imperial in any::<bool>(), text in any::<String>()) {
        findings(kind, text.as_bytes(), imperial, Path::new("no such folder"));
    }

    #[test]
    fn any_bytes_are_read(kind in kinds(), bytes in proptest::collection::vec(any::<u8>(), 0..200)) {
        findings(kind, &bytes, false, Path::new("no such folder"));
    }

    #[test]
    fn a_page_read_as_another_kind_is_read(kind in kinds(), page in pages()) {
        findings(kind, &page.bytes, true, Path::new("no such folder"));
    }

    #[test]
    fn a_page_with_a_stray_byte_is_read(page in pages(), at in any::<usize>(), byte in any::<u8>()) {
        let mut bytes = page.bytes.clone();
        let at = at % bytes.len();
        bytes[at] = byte;
        findings_of(&page, &bytes);
    }

    /// Whatever stands behind an equals sign, what is found is told in sentences on lines that the page has.
    #[test]
    fn any_value_is_read_and_told(page in pages(), line in any::<usize>(), value in values()) {
        let text = line_with(&page, line, &value);
        for finding in findings_of(&page, text.as_bytes()) {
            prop_assert!(finding.place.line.is_none_or(|at| at >= 1 && at <= text.lines().count().max(1)), "{finding:?}");
            prop_assert!(!finding.message.contains(char::is_control), "{finding:?}");
            prop_assert!(finding.message.ends_with('.'), "{finding:?}");
        }
    }
}
