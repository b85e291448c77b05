//! What the bike has otherwise than the setup that an advice stands on.

use crate::notebook::fields::names::visible;
use crate::notebook::{FieldSet, Value};

/// Fields named where more differ.
const NAMED: usize = 4;

/// What the bike has otherwise than a setup in fields that an advice does not set, and what to do about it; none where nothing differs.
pub fn bike_differs(
    (bike, baseline): (&str, u32),
    fields: &[String],
    (then, now): (&FieldSet, &FieldSet),
) -> Option<String> {
    let value = |set: &FieldSet, field: &str| set.get(field).map(Value::text);
    let named = fields.iter().take(NAMED).map(|field| {
        let had = value(then, field).unwrap_or_else(|| "not written down".to_owned());
        let has = value(now, field);
        let has = has.map_or_else(|| format!("no {field}"), |has| format!("{field} {}", visible(&has)));
        format!("{has} (setup {baseline}: {})", visible(&had))
    });
    let named: Vec<String> = named.collect();
    let more = match fields.len().saturating_sub(NAMED) {
        0 => String::new(),
        more => format!(" and {more} more, which `reedbook compare {bike} {baseline}` shows"),
    };
    (!fields.is_empty()).then(|| {
        format!(
            "Reckoned for setup {baseline}, and the bike has {}{more}: for that it is a guess. Start rich, read plug and piston, and log the run; once one was right, the advice stands on it. Or put setup {baseline} back: `reedbook rollback {bike} {baseline}`.",
            named.join(", ")
        )
    })
}
