//! Parts in words and for scripts: what one has run, where it is, when it is due, and the list of them.

use serde_json::{Value, json};

use crate::advice::parts::{By, Count, Reached, Standing, State};
use crate::notebook::fields::names::visible;
use crate::notebook::{Condition, Deed};
use crate::quantity::{fixed, trimmed};
use crate::report::air::reading::rounded;
use crate::report::out::screen::Screen;
use crate::report::words::layout::{first_line, table};
use crate::store::PartRecord;

/// A part with how it stands.
pub struct Kept {
    /// Its record.
    pub record: PartRecord,
    /// How it stands.
    pub standing: Standing,
}

/// Hours for reading at arm's length: tenths, and hundredths under one hour.
pub fn hours(value: f64) -> String {
    format!("{} h", trimmed(value, if value.abs() < 0.995 { 2 } else { 1 }))
}

/// Hours that a part has run: "12.5 h", "at least 12.5 h", "not known".
pub(super) fn run(count: &Count) -> String {
    at_least_hours(count.hours_h, count.hours_at_least)
}

pub(super) fn at_least_hours(value: f64, at_least: bool) -> String {
    match (at_least, value > 1e-6) {
        (true, false) => "not known".to_owned(),
        (true, true) => format!("at least {}", hours(value)),
        (false, _) => hours(value),
    }
}

/// So much of what a limit goes by: "10 h", "1 start", "30 days".
pub(super) fn amount(by: By, value: f64) -> String {
    let counted = |one: &str| {
        let number = fixed(value.floor(), 0);
        if number == "1" { format!("1 {one}") } else { format!("{number} {one}s") }
    };
    match by {
        By::Hours | By::Look => hours(value),
        By::Starts => counted("start"),
        By::Days | By::Date => counted("day"),
    }
}

/// Where a limit is: "10 h", "40 starts", "2027-03-01", "look: 5 h".
pub(super) fn limit(reached: &Reached) -> String {
    match (reached.by, reached.day) {
        (_, Some(day)) => day.day(),
        (By::Look, _) => format!("look: {}", hours(reached.limit)),
        (by, None) => amount(by, reached.limit),
    }
}

/// What is left of a limit: "5.8 h left", "at most 5.8 h left", "2.5 h over", "not known".
pub(super) fn left(reached: &Reached) -> String {
    let left = reached.left();
    if reached.is_over() {
        let over = amount(reached.by, (-left).max(0.0));
        return if reached.at_least { format!("at least {over} over") } else { format!("{over} over") };
    }
    if reached.at_least && reached.run <= 1e-6 && reached.day.is_none() {
        return "not known".to_owned();
    }
    let left = amount(reached.by, left);
    if reached.at_least { format!("at most {left} left") } else { format!("{left} left") }
}

/// Where a part is: "cicada (moth)", "granite (bench)", "on the shelf", "failed".
pub(super) fn place(standing: &Standing) -> String {
    match (&standing.engine, &standing.bike, standing.gone) {
        (_, _, Some(did)) => did.word().to_owned(),
        (Some(engine), Some(bike), None) => format!("{engine} ({bike})"),
        (Some(engine), None, None) => format!("{engine} (bench)"),
        (None, _, None) => match standing.condition {
            Condition::Unusable(_) => "on the shelf, not usable".to_owned(),
            _ => "on the shelf".to_owned(),
        },
    }
}

/// "due at 10 h (5.8 h left), to be looked at after 5 h (0.8 h left)".
pub(super) fn next_due(standing: &Standing) -> String {
    let look = standing.limits.iter().find(|(_, limit)| limit.by == By::Look).map(|(_, limit)| limit);
    let change = standing.change().map(|(_, reached)| {
        let verb = if reached.is_over() { "was due" } else { "due" };
        let word = if reached.day.is_some() { "by" } else { "at" };
        format!("{verb} {word} {} ({})", limit(reached), left(reached))
    });
    let look = look.map(|look| {
        let verb = if look.is_over() { "was to be looked at" } else { "to be looked at" };
        format!("{verb} {} after the last look ({})", hours(look.limit), left(look))
    });
    let said: Vec<_> = [change, look].into_iter().flatten().collect();
    if said.is_empty() { "no limit set".to_owned() } else { said.join(", ") }
}

/// A part on one line: "piston-7: 4.2 h run, in cicada (moth), due at 10 h (5.8 h left)."
pub fn line(standing: &Standing) -> String {
    let run = if standing.hours_unknown() {
        "hours not known".to_owned()
    } else {
        format!("{} run", run(&standing.count))
    };
    let place = match (&standing.engine, standing.gone) {
        (_, Some(_)) | (None, None) => place(standing),
        _ => format!("in {}", place(standing)),
    };
    if standing.gone.is_some() || matches!(standing.condition, Condition::Unusable(_)) {
        return format!("{}: {run}, {place}.", standing.part);
    }
    format!("{}: {run}, {place}, {}.", standing.part, next_due(standing))
}

/// What was done, how the part stands now, and what else should be known.
pub fn done(screen: &Screen, head: Option<&str>, kept: &Kept, remarks: &[String]) -> String {
    let mut lines: Vec<String> = head.map(|head| screen.strong(&screen.wrap(head, 2))).into_iter().collect();
    lines.push(screen.wrap(&line(&kept.standing), 2));
    lines.extend(remarks.iter().map(|remark| screen.wrap(&format!("note: {remark}"), 6)));
    lines.join("\n")
}

/// A part that failed: with how many hours, and what to do before the engine runs again.
pub fn failed(screen: &Screen, kept: &Kept, how: &str, count: &Count, engine: Option<&str>) -> String {
    let place = engine.map(|engine| format!(", in {engine}")).unwrap_or_default();
    let hours = match run(count).as_str() {
        "not known" => "its hours are not known".to_owned(),
        hours => format!("with {hours} on it"),
    };
    let head = format!("{} failed, {hours}{place}: {}", kept.record.name, first_line(how));
    let caution = "Caution: find the cause before this engine is started again. Pieces and dust go everywhere: look \
                   over cylinder, head, ports, crank and every bearing, and change what they may have marked. Go by \
                   the machine's manual; where you are not sure, let a qualified mechanic look.";
    let record = format!("Its hours are kept in the record of the kind {}.", kept.record.part.kind);
    [screen.strong(&screen.wrap(&head, 2)), screen.wrap(&record, 2), screen.strong(&screen.wrap(caution, 9))]
        .join("\n")
}

/// Parts as a list, by kind and name.
pub fn list(screen: &Screen, parts: &[Kept], left_out: usize, filtered: bool) -> String {
    let mut lines = Vec::new();
    if parts.is_empty() {
        lines.push(match (filtered, left_out) {
            (true, _) => "No part in use is like that.".to_owned(),
            (false, 0) => "No parts yet. Take one in: reedbook part add NAME --kind KIND".to_owned(),
            (false, _) => "No part is in use.".to_owned(),
        });
    } else {
        let mut sorted: Vec<_> = parts.iter().collect();
        sorted
            .sort_by(|a, b| (&a.standing.kind, &a.standing.part).cmp(&(&b.standing.kind, &b.standing.part)));
        let mut rows = Vec::new();
        let mut kind = None;
        for kept in sorted {
            if kind != Some(&kept.standing.kind) {
                rows.push(vec![visible(&kept.standing.kind)]);
                kind = Some(&kept.standing.kind);
            }
            rows.push(list_row(kept));
        }
        lines.push(one_line_each(screen, &["part", "where", "has run", "due at", "state"], rows, &[1]));
    }
    if left_out > 0 {
        let more = match left_out {
            1 => "One more failed or is retired".to_owned(),
            several => format!("{several} more failed or are retired"),
        };
        lines.push(screen.wrap(&format!("{more}: --all lists them too."), 2));
    }
    lines.join("\n")
}

fn list_row(kept: &Kept) -> Vec<String> {
    let standing = &kept.standing;
    let of_no_use = standing.gone.is_some() || matches!(standing.condition, Condition::Unusable(_));
    let of_use = |text: String| if of_no_use { String::new() } else { text };
    vec![
        format!("  {}", standing.part),
        match (&standing.engine, standing.gone) {
            (Some(engine), _) => engine.clone(),
            (None, Some(_)) => place(standing),
            (None, None) if matches!(standing.condition, Condition::Unusable(_)) => {
                "shelf, not usable".to_owned()
            }
            (None, None) => "shelf".to_owned(),
        },
        run(&standing.count),
        of_use(standing.first().map_or_else(String::new, limit)),
        of_use(standing.words().to_owned()),
    ]
}

/// A table of which every row stays on one line. The longest of the columns that may gives way at its end; a part's name, by
/// which it is called in commands, only where that is not enough, and then in its midst.
pub(super) fn one_line_each(
    screen: &Screen,
    head: &[&str],
    mut rows: Vec<Vec<String>>,
    gives_way: &[usize],
) -> String {
    const LEAST: usize = 7;
    let long = |text: &str| text.chars().count();
    let wide = |rows: &[Vec<String>], column: usize| {
        let cells = rows.iter().filter_map(|row| row.get(column)).map(|cell| long(cell));
        cells.chain(head.get(column).map(|cell| long(cell))).max().unwrap_or(0)
    };
    loop {
        let widths: Vec<usize> = (0..head.len()).map(|column| wide(&rows, column)).collect();
        // A blank on each side of a column, none before the first.
        let whole = widths.iter().sum::<usize>() + (2 * head.len()).saturating_sub(1);
        let may = |column: &usize| widths[*column] > LEAST;
        let longest = gives_way.iter().copied().filter(may).max_by_key(|column| widths[*column]);
        let column = longest.or_else(|| Some(0).filter(may));
        let Some(column) = column.filter(|_| whole > screen.width()) else { break };
        for cell in rows.iter_mut().filter_map(|row| row.get_mut(column)) {
            *cell = shortened(cell, widths[column] - 1, column != 0);
        }
    }
    table(head, rows, &[], screen.width())
}

/// A text of at most so many letters, its midst or its end left out.
fn shortened(text: &str, most: usize, at_the_end: bool) -> String {
    if text.chars().count() <= most {
        return text.to_owned();
    }
    let letters: Vec<char> = text.chars().filter(|letter| *letter != '…').collect();
    let kept = most.saturating_sub(1);
    let last = if at_the_end { 0 } else { kept / 2 };
    let (first, last) = (&letters[..kept - last], &letters[letters.len() - last..]);
    first.iter().chain(&['…']).chain(last).collect()
}

/// What a part has run, for a script.
pub(super) fn count_json(count: &Count) -> Value {
    json!({
        "hours": rounded(count.hours_h, 4),
        "hours_at_least": count.hours_at_least,
        "starts": rounded(count.starts, 0),
        "starts_at_least": count.starts_at_least,
        "outings": count.outings,
        "outings_without_hours": count.outings_without_hours,
        "first_fitted": count.first_fitted.map(|date| date.to_string()),
        "last_look": count.last_look.map(|date| date.to_string()),
        "since_look_hours": rounded(count.since_look_h, 4),
        "since_look_at_least": count.since_look_at_least,
    })
}

/// One limit, for a script.
pub(super) fn limit_json(state: State, reached: &Reached) -> Value {
    json!({
        "by": reached.by.word(),
        "limit": rounded(reached.limit, 4),
        "run": rounded(reached.run, 4),
        "run_at_least": reached.at_least,
        "left": rounded(reached.left(), 4),
        "left_at_most": reached.at_least,
        "day": reached.day.map(|day| day.day()),
        "state": state.words(Some(reached.by)),
        "source": reached.source.words(),
    })
}

/// How a part stands, for a script.
pub(super) fn standing_json(standing: &Standing) -> Value {
    json!({
        "part": standing.part,
        "kind": standing.kind,
        "engine": standing.engine,
        "bike": standing.bike,
        "gone": standing.gone.map(Deed::word),
        "usable": match standing.condition {
            Condition::Fine => Some(true),
            Condition::Asked(_) => None,
            Condition::Unusable(_) => Some(false),
        },
        "count": count_json(&standing.count),
        "state": standing.words(),
        "limits": standing.limits.iter().map(|(state, reached)| limit_json(*state, reached)).collect::<Vec<_>>(),
    })
}

/// A part, for a script.
pub fn json(kept: &Kept) -> Value {
    let mut answer = standing_json(&kept.standing);
    let part = &kept.record.part;
    answer["title"] = json!(part.title);
    answer["number"] = json!(part.number);
    answer["fits"] = json!(part.fits);
    answer["for_bore"] = json!(part.for_bore.as_ref().map(ToString::to_string));
    answer["notes"] = json!(part.notes);
    answer["file"] = json!(kept.record.file.to_string_lossy().replace('\\', "/"));
    answer
}

/// What was done to a part, for a script.
pub fn done_json(kept: &Kept, remarks: &[String]) -> Value {
    json!({ "part": json(kept), "remarks": remarks })
}
