//! What the bike has otherwise than the setup that an advice stands on.

use crate::notebook::fields::names::visible;
use crate::notebook::{FieldSet, Value};

/// Fields named where more differ.
const NAMED: usize = 4;

/// What the bike has in a field, and what a setup had there: "ignition.base 1.9 mm (setup 38: 1.15 mm)"; of a map only that it is another.
pub fn has_and_had(field: &str, baseline: u32, (then, now): (&FieldSet, &FieldSet)) -> String {
    let value = |set: &FieldSet| set.get(field).map(Value::text);
    match (value(then), value(now)) {
        (had, has) if had == has => format!("another {field} than setup {baseline}"),
        (had, has) => {
            let has = has.map_or_else(|| format!("no {field}"), |has| format!("{field} {}", visible(&has)));
            format!(
                "{has} (setup {baseline}: {})",
                visible(&had.unwrap_or_else(|| "not written down".to_owned()))
            )
        }
    }
}

/// What the bike has otherwise than a setup in fields that an advice does not set, and what to do about it; none where nothing differs.
pub fn bike_differs(
    (bike, baseline): (&str, u32),
    ran_lean: bool,
    fields: &[String],
    sets: (&FieldSet, &FieldSet),
) -> Option<String> {
    let named: Vec<String> =
        fields.iter().take(NAMED).map(|field| has_and_had(field, baseline, sets)).collect();
    let more = match fields.len().saturating_sub(NAMED) {
        0 => String::new(),
        more => format!(" and {more} more, which `reedbook compare {bike} {baseline}` shows"),
    };
    let back = if ran_lean {
        String::new()
    } else {
        format!(" Or put setup {baseline} back: `reedbook rollback {bike} {baseline}`.")
    };
    (!fields.is_empty()).then(|| {
        format!(
            "Reckoned for setup {baseline}, and the bike has {}{more}: for that it is a guess. Start rich, read plug and piston, and log the run; once one was right, the advice stands on it.{back}",
            named.join(", ")
        )
    })
}
