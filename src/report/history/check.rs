//! The result of checking a garage.

use serde_json::{Value, json};

use crate::advice::check::GarageCheck;
use crate::notebook::fields::names::visible;
use crate::report::out::screen::Screen;
use crate::report::words::layout::count;

/// For a script.
pub fn json(check: &GarageCheck) -> Value {
    let findings: Vec<_> = check
        .findings
        .iter()
        .map(|finding| {
            json!({
                "code": finding.code.name(),
                "file": finding.place.file.to_string_lossy().replace('\\', "/"),
                "line": finding.place.line,
                "field": finding.place.field,
                "message": finding.message,
                "help": finding.help,
            })
        })
        .collect();
    json!({
        "sound": check.is_sound(),
        "files": check.files,
        "setups": check.setups,
        "findings": findings,
        "damaged_objects": check.damaged,
        "index_agrees": check.index_agrees,
        "unrecorded": check.unrecorded.iter().map(|one| json!({
            "file": one.file.to_string_lossy().replace('\\', "/"),
            "state": state(one.deleted),
            "help": one.help,
        })).collect::<Vec<_>>(),
        "remarks": check.remarks,
    })
}

/// What became of a file.
fn state(deleted: bool) -> &'static str {
    if deleted { "deleted" } else { "changed" }
}

/// For a person.
pub fn text(screen: &Screen, check: &GarageCheck) -> String {
    let mut lines = Vec::new();
    for finding in &check.findings {
        lines.push(screen.wrap(&finding.to_string(), 2));
        lines.push(screen.wrap(&format!("  way out: {}", finding.help), 4));
    }
    for object in &check.damaged {
        lines.push(format!("git object {object} is damaged: fetch it from a copy of the garage"));
    }
    if !check.index_agrees {
        lines.push(
            "the index is not what the files say: delete .git/reedbook/index.sqlite, it is built again"
                .into(),
        );
    }
    for one in &check.unrecorded {
        let file = visible(&one.file.to_string_lossy());
        let text = format!("note: {file} is {} on disk and not recorded. {}", state(one.deleted), one.help);
        lines.push(screen.wrap(&visible(&text), 6));
    }
    for remark in &check.remarks {
        lines.push(screen.wrap(&format!("note: {remark}"), 6));
    }
    let verdict = if check.is_sound() { "all sound" } else { "NOT SOUND" };
    lines.push(screen.strong(&format!(
        "{} and {} read, git's objects and the index checked: {verdict}.",
        count(check.files, "file"),
        count(check.setups, "setup")
    )));
    lines.join("\n")
}
