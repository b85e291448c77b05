//! What was recorded by a change or a rollback, and what is to be done at the bike.

use serde_json::{Value as Json, json};

use crate::advice::held::Judgement;
use crate::advice::standing::SinceOuting;
use crate::notebook::fields::names::visible;
use crate::notebook::restoring::plan::at_the_bike;
use crate::notebook::{Value, section_of};
use crate::quantity::fixed;
use crate::report::history::compare::{changes_json, changes_text, maps_json};
use crate::report::history::outing::air_json;
use crate::report::out::screen::Screen;
use crate::report::words::layout::{air_in_short, first_line};
use crate::store::{Recorded, RolledBack, SetupRecord};

/// A change for a script.
pub fn change_json(recorded: &Recorded, since: Option<&SinceOuting>, judgement: &Judgement) -> Json {
    json!({
        "bike": recorded.setup.bike,
        "new": recorded.setup.number,
        "before": recorded.before,
        "commit": recorded.setup.commit,
        "date": recorded.setup.date.to_string(),
        "why": recorded.setup.why,
        "air": recorded.setup.air.as_ref().map(air_json),
        "changes": changes_json(&recorded.comparison),
        "maps": maps_json(&recorded.comparison),
        "sections_since_outing": since.map(|since| since.sections.clone()),
        "remarks": recorded.remarks,
        "cautions": told(judgement),
        "held": held(judgement),
        "despite": recorded.setup.despite,
    })
}

/// A change for a person.
pub fn change_text(
    screen: &Screen,
    recorded: &Recorded,
    since: Option<&SinceOuting>,
    judgement: &Judgement,
) -> String {
    let setup = &recorded.setup;
    let mut lines = first_of_all(screen, judgement, recorded);
    lines.push(screen.strong(&format!(
        "{}: setup {} recorded, {}",
        setup.bike,
        setup.number,
        setup.date.short()
    )));
    let air = setup.air.as_ref().map(|air| format!(" [{}]", air_in_short(screen, air))).unwrap_or_default();
    lines.push(screen.wrap(&format!("  {}{air}", first_line(&setup.why)), 2));
    lines.push(String::new());
    match recorded.before {
        Some(before) => {
            let sides = (format!("setup {before}"), format!("setup {}", setup.number));
            lines.push(changes_text(screen, &recorded.comparison, (&sides.0, &sides.1)));
        }
        None => lines.push(screen.wrap(&first_setup(recorded), 2)),
    }
    if let Some(since) = since {
        lines.push(String::new());
        lines.push(screen.wrap(&since.words(), 2));
    }
    lines.extend(recorded.remarks.iter().map(|remark| screen.wrap(&format!("note: {remark}"), 6)));
    lines.join("\n")
}

/// Nothing is left to do when what came back is on the bike already, or was only words.
fn nothing_to_do(back: &RolledBack) -> String {
    let only_words = back.plan.applied.iter().all(|change| section_of(&change.field) == "notes");
    if only_words {
        "  nothing: only notes came back".into()
    } else {
        format!("  nothing more: the part from setup {} is on", back.to.number)
    }
}

/// A setup goes lean in denser air than it was right in.
fn denser_air(back: &RolledBack) -> Option<String> {
    let then = back.air.as_ref()?.0.air().ok()?;
    let now = back.air_now.as_ref()?.air().ok()?;
    let percent = 100.0 * (now.dry_density() / then.dry_density() - 1.0);
    (percent > 0.5).then(|| {
        format!(
            "CAUTION  The air is {} % denser than the air this setup was right in: it will run lean. Rejet first.",
            fixed(percent, 1)
        )
    })
}

/// What can hurt in a step, before anything else is said of it: `!!` for what must not be run like that, `!` for the rest.
fn first_of_all(screen: &Screen, judgement: &Judgement, recorded: &Recorded) -> Vec<String> {
    let line = |urgent: bool, sentence: &str| {
        let (sign, indent) = if urgent { ("!!", 3) } else { ("!", 2) };
        screen.strong(&screen.wrap(&format!("{sign} {}", visible(sentence)), indent))
    };
    let mut lines: Vec<String> =
        judgement.told.iter().map(|told| line(told.urgent, &told.sentence)).collect();
    lines.extend(judgement.refused.iter().map(|refused| line(true, &refused.sentence)));
    let despite = recorded.setup.despite.as_ref();
    lines.extend(despite.map(|why| screen.wrap(&format!("   done despite that: {}", visible(why)), 3)));
    lines
}

/// What a step does that can hurt, for a script.
fn told(judgement: &Judgement) -> Vec<&str> {
    judgement.told.iter().map(|told| told.sentence.as_str()).collect()
}

/// What spoke against it, for a script.
fn held(judgement: &Judgement) -> Vec<&str> {
    judgement.refused.iter().map(|refused| refused.sentence.as_str()).collect()
}

/// The first setup is not listed field by field: it is all new.
fn first_setup(recorded: &Recorded) -> String {
    let mut sections: Vec<(&str, usize)> = Vec::new();
    for change in &recorded.comparison.changes {
        let section = section_of(&change.field);
        match sections.iter_mut().find(|(known, _)| *known == section) {
            Some((_, count)) => *count += 1,
            None => sections.push((section, 1)),
        }
    }
    let parts: Vec<_> = sections.iter().map(|(section, count)| format!("{section} {count}")).collect();
    format!("Values written down: {}.", parts.join(", "))
}

/// A rollback for a script.
pub fn rollback_json(back: &RolledBack, since: Option<&SinceOuting>, judgement: &Judgement) -> Json {
    let applied: Vec<_> = back
        .plan
        .applied
        .iter()
        .map(|change| {
            json!({
                "field": change.field,
                "old": change.old.as_ref().map(Value::text),
                "new": change.new.as_ref().map(Value::text),
            })
        })
        .collect();
    let still_different: Vec<_> = back
        .plan
        .still_different
        .iter()
        .map(|one| {
            json!({
                "field": one.field,
                "now": one.now.as_ref().map(Value::text),
                "then": one.then.as_ref().map(Value::text),
                "sentence": one.sentence,
            })
        })
        .collect();
    json!({
        "bike": back.recorded.setup.bike,
        "from": back.recorded.before,
        "to": back.to.number,
        "new": back.recorded.setup.number,
        "applied": applied,
        "maps": maps_json(&back.recorded.comparison),
        "still_different": still_different,
        "at_the_bike": at_the_bike(&back.plan),
        "commit": back.recorded.setup.commit,
        "sections_since_outing": since.map(|since| since.sections.clone()),
        "remarks": back.recorded.remarks,
        "cautions": told(judgement),
        "held": held(judgement),
        "despite": back.recorded.setup.despite,
    })
}

/// Edits that were dropped, for a script: nothing was recorded.
pub fn dropped_json(to: &SetupRecord) -> Json {
    json!({
        "bike": to.bike,
        "from": to.number,
        "to": to.number,
        "new": null,
        "applied": [],
        "maps": [],
        "still_different": [],
        "at_the_bike": [],
        "commit": null,
        "sections_since_outing": null,
        "remarks": [],
        "cautions": [],
        "held": [],
        "despite": null,
    })
}

/// Edits that were dropped, for a person.
pub fn dropped_text(to: &SetupRecord) -> String {
    format!("{}: edits dropped; the files are as in setup {} again", to.bike, to.number)
}

/// A rollback for a person; it ends with what to do at the bike.
pub fn rollback_text(
    screen: &Screen,
    back: &RolledBack,
    since: Option<&SinceOuting>,
    judgement: &Judgement,
) -> String {
    let setup = &back.recorded.setup;
    let before = back.recorded.before.map(|number| format!(" (setup {number} is kept)")).unwrap_or_default();
    let sections = match back.only.as_slice() {
        [] => String::new(),
        [several @ .., last] if !several.is_empty() => format!("{} and {last} ", several.join(", ")),
        only => format!("{} ", only.join(", ")),
    };
    let mut lines = first_of_all(screen, judgement, &back.recorded);
    let its_air = |indent: &str| {
        let (air, source) = back.air.as_ref()?;
        let known = format!("{} ({})", air_in_short(screen, air), visible(source));
        let text = format!(
            "{indent}Its air: {known}. For other air: reedbook rejet {} --baseline {}",
            setup.bike, back.to.number
        );
        Some(screen.wrap(&text, indent.len() + 2))
    };
    // Beside what can hurt stands the air in which it did not.
    let first = !judgement.told.is_empty();
    lines.extend(its_air("  ").filter(|_| first));
    lines.push(screen.strong(&screen.wrap(
        &format!(
            "{}: {sections}back to setup {}, recorded as setup {}{before}",
            setup.bike, back.to.number, setup.number
        ),
        2,
    )));
    lines.extend(its_air("").filter(|_| !first));
    if let Some(since) = since {
        lines.push(screen.wrap(&since.words(), 2));
    }
    lines.extend(back.recorded.remarks.iter().map(|remark| screen.wrap(&format!("note: {remark}"), 6)));
    if !back.plan.still_different.is_empty() {
        lines.push(String::new());
        lines.push(format!("Still different from setup {}:", back.to.number));
        lines.extend(
            back.plan.still_different.iter().map(|one| screen.wrap(&format!("  {}", one.sentence), 4)),
        );
    }
    lines.push(String::new());
    lines.push(screen.strong("To do at the bike:"));
    let to_do = at_the_bike(&back.plan);
    if to_do.is_empty() {
        lines.push(nothing_to_do(back));
    }
    lines.extend(to_do.iter().map(|line| screen.wrap(&format!("  {line}"), 4)));
    lines.extend(denser_air(back).map(|line| screen.strong(&screen.wrap(&line, 9))));
    lines.join("\n")
}
