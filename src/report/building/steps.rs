//! A build's check list as it is worked through.

use serde_json::{Value, json};

use crate::notebook::Step;
use crate::notebook::fields::names::visible;
use crate::report::building::build::step_json;
use crate::report::out::screen::Screen;
use crate::report::words::layout::{capital, count};
use crate::store::BuildRecord;

/// The list for a script, with what else should be known.
pub fn json(record: &BuildRecord, remarks: &[String]) -> Value {
    let steps = record.build.steps_in_order();
    json!({
        "engine": record.engine,
        "build": record.id,
        "open": record.build.open_steps(false).len(),
        "open_after_first_run": record.build.open_steps(true).len(),
        "steps": steps.into_iter().map(|(name, step)| step_json(name, step)).collect::<Vec<_>>(),
        "remarks": remarks,
    })
}

/// The list for a person: done steps short, open ones with what they say.
pub fn text(screen: &Screen, record: &BuildRecord, only_open: bool) -> String {
    let build = &record.build;
    let open = build.open_steps(false).len();
    let title = format!(
        "{}, {}, {}: {} open before it runs",
        record.engine,
        build.scope.words(),
        build.date.short(),
        count(open, "step")
    );
    let mut lines = vec![screen.strong(&title)];
    let mut list = None;
    for (name, step) in build.steps_in_order() {
        if only_open && !step.is_open() {
            continue;
        }
        if list != Some(&step.list) {
            lines.push(String::new());
            lines.push(list_title(step));
            list = Some(&step.list);
        }
        lines.push(screen.wrap(&step_line(name, step), 6));
        if let Some(caution) = step.caution.as_ref().filter(|_| step.is_open()) {
            lines.push(screen.wrap(&format!("      CAUTION: {}", visible(caution)), 6));
        }
    }
    lines.push(String::new());
    lines.push(screen.wrap(
        &format!(
            "Done: reedbook build tick {0} STEP --by NAME (--torque \"12 Nm\", --mark). Does not apply: --left-out \"why\".",
            record.engine
        ),
        2,
    ));
    lines.join("\n")
}

/// What became of some steps, and which comes next.
pub fn ticked(screen: &Screen, record: &BuildRecord, names: &[String], remarks: &[String]) -> String {
    let build = &record.build;
    let mut lines = Vec::new();
    for (name, step) in names.iter().filter_map(|name| build.steps.get_key_value(name)) {
        lines.push(screen.wrap(&step_line(name, step), 6));
    }
    let open = build.open_steps(false);
    let after = build.open_steps(true);
    let (left, then) = match (open.first(), after.first()) {
        (Some((name, step)), _) => {
            (format!("{} open before it runs", count(open.len(), "step")), Some((name, step)))
        }
        (None, Some((name, step))) => {
            let left = format!(
                "Nothing open before it runs, {} for after the first run",
                count(after.len(), "step")
            );
            (left, Some((name, step)))
        }
        (None, None) => ("Every step is done".to_owned(), None),
    };
    match then {
        Some((name, step)) => {
            lines.push(format!("{left}; next:"));
            lines.push(screen.wrap(&step_line(name, step), 6));
            lines.extend(
                step.caution
                    .as_ref()
                    .map(|caution| screen.wrap(&format!("      CAUTION: {}", visible(caution)), 6)),
            );
        }
        None => lines.push(format!("{left}.")),
    }
    lines.extend(remarks.iter().map(|remark| screen.wrap(&format!("note: {remark}"), 6)));
    lines.join("\n")
}

fn list_title(step: &Step) -> String {
    let name =
        step.list.as_deref().map_or_else(|| "own steps".to_owned(), |list| visible(list).replace('-', " "));
    capital(&name)
}

fn step_line(name: &str, step: &Step) -> String {
    let says = step.says.as_deref().map(visible).unwrap_or_default();
    if let Some(why) = &step.left_out {
        return format!("  --  {}: left out, {}", visible(name), visible(why));
    }
    let Some(done) = step.done else {
        let wants = match (step.wants_torque, step.wants_mark) {
            (true, true) => " [torque, mark]",
            (true, false) => " [torque]",
            (false, true) => " [mark]",
            (false, false) => "",
        };
        return format!("open  {}: {says}{wants}", visible(name));
    };
    let mut line = format!("  ok  {}: {}", visible(name), done.short());
    if let Some(by) = &step.by {
        line.push_str(&format!(" {}", visible(by)));
    }
    if let Some(torque) = &step.torque {
        line.push_str(&format!(", {torque}"));
    }
    if let Some(mark) = &step.mark {
        line.push_str(&format!(", {}", visible(mark)));
    }
    if let Some(note) = &step.note {
        line.push_str(&format!(", \"{}\"", visible(note)));
    }
    line
}

/// How a step is answered.
pub fn how_to_answer() -> String {
    "Enter: done.  + WORDS: done, with a note.  l: later.  x: does not apply.\n<: back.  A point alone: enough for now."
        .to_owned()
}

/// A step as it is asked for at a terminal.
pub fn question(screen: &Screen, (name, step): (&str, &Step), place: (usize, usize)) -> String {
    let says = step.says.as_deref().map(visible).unwrap_or_default();
    let mut text = screen.wrap(&format!("{} of {}  {}: {says}", place.0, place.1, visible(name)), 2);
    if let Some(caution) = &step.caution {
        text.push('\n');
        text.push_str(&screen.wrap(&format!("  CAUTION: {}", visible(caution)), 2));
    }
    text
}
