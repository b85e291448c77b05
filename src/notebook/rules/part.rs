//! Rules of a part's history: it is in one engine at a time, comes out after it went in, and its hours only grow.

use std::path::Path;

use crate::notebook::documents::part::{Deed, Part, PartEvent, at_cylinder};
use crate::notebook::fields::cylinder::wrong_name;
use crate::notebook::fields::finding::{Code, Finding};
use crate::notebook::fields::names;
use crate::notebook::fields::value::FieldSet;
use crate::notebook::rules::Rules;

/// Looks at a part.
pub fn of_part(file: &Path, fields: &FieldSet, part: &Part) -> Vec<Finding> {
    let mut rules = Rules::of(file, fields);
    rules.names(part);
    for (name, event) in &part.events {
        rules.what_an_event_needs(name, event);
    }
    rules.in_order(part);
    rules.into_findings()
}

impl Rules<'_> {
    fn event(&mut self, code: Code, (name, field): (&str, &str), message: &str, help: &str) {
        let at = format!("events.{name}.{field}");
        let anchor = if self.fields.get(&at).is_some() { at.clone() } else { format!("events.{name}.did") };
        self.find(code, &at, &anchor, message, help);
    }

    /// Names of kinds and engines are kept to what a name may be.
    fn names(&mut self, part: &Part) {
        let kind = names::check(&part.kind).err().map(|error| ("kind".to_owned(), error));
        let engines = part.events.iter().filter_map(|(name, event)| {
            let error = names::check(event.engine.as_deref()?).err()?;
            Some((format!("events.{name}.engine"), error))
        });
        let fits = part.fits.iter().filter_map(|name| Some(("fits".to_owned(), names::check(name).err()?)));
        for (name, event) in &part.events {
            if let Some((message, help)) = event.cylinder.as_deref().and_then(wrong_name) {
                self.event(Code::BadName, (name, "cylinder"), &message, &help);
            }
        }
        for (field, error) in kind.into_iter().chain(engines.chain(fits).collect::<Vec<_>>()) {
            self.find(Code::BadName, &field, &field, &error.to_string(), &error.help());
        }
    }

    fn what_an_event_needs(&mut self, name: &str, event: &PartEvent) {
        let did = event.did.word();
        let mut pair = |field: &str, is_there: bool, wanted: bool, why: &str| {
            if is_there == wanted {
                return;
            }
            if wanted {
                let message = format!("The event {name} says {did} and not {why}.");
                self.event(
                    Code::MissingField,
                    (name, field),
                    &message,
                    &format!("Add {field} to the event, or fix what it says was done."),
                );
            } else {
                let message = format!("The event {name} says {did}: it has no {field}.");
                self.event(Code::Contradiction, (name, field), &message, &format!("Take {field} out."));
            }
        };
        pair("engine", event.engine.is_some(), event.did == Deed::Fitted, "into which engine");
        if event.did != Deed::Fitted {
            pair("cylinder", event.cylinder.is_some(), false, "");
        }
        pair("ran", event.ran.is_some(), event.did == Deed::Ran, "how long");
        pair("how", event.how.is_some(), event.did == Deed::Failed, "how it failed");
        if event.usable.is_some() && !matches!(event.did, Deed::Removed | Deed::Inspected) {
            let message = format!(
                "The event {name} says {did}: whether the part is usable belongs to removed or inspected."
            );
            self.event(
                Code::Contradiction,
                (name, "usable"),
                &message,
                "Take usable out, or add an event that says inspected.",
            );
        }
        if event.did == Deed::Renewed && event.hours.is_some() {
            let message = format!("The event {name} says renewed: its hours count from 0 from here on.");
            let help = "Take hours out; what it had run before stands in an event that says inspected.";
            self.event(Code::Contradiction, (name, "hours"), &message, help);
        }
    }

    fn in_order(&mut self, part: &Part) {
        let mut place: Option<(&str, &PartEvent)> = None;
        let mut gone: Option<&PartEvent> = None;
        let mut counted: Option<&PartEvent> = None;
        for (name, event) in part.events_in_order() {
            let day = event.date.day();
            match (event.did, place, gone) {
                (Deed::Renewed, _, _) => {
                    gone = None;
                    counted = None;
                }
                (_, _, Some(end)) if !event.did.takes_out() || event.did == Deed::Removed => {
                    let message = format!(
                        "The part {} on {} and is {} on {day}.",
                        end.did.word(),
                        end.date.day(),
                        event.did.word()
                    );
                    self.event(
                        Code::Contradiction,
                        (name, "did"),
                        &message,
                        "Fix the dates; a part that was rebuilt has an event that says renewed.",
                    );
                }
                (Deed::Fitted, Some((_, since)), _) => {
                    let moved = event.engine == since.engine && event.cylinder != since.cylinder;
                    let places = if moved { "places" } else { "engines" };
                    let message = format!(
                        "The part is fitted to {} on {day}, and has been in {} since {}: it cannot be in two {places} at once.",
                        at_cylinder(
                            event.engine.as_deref().unwrap_or("an engine"),
                            event.cylinder.as_deref()
                        ),
                        at_cylinder(since.engine.as_deref().unwrap_or("another"), since.cylinder.as_deref()),
                        since.date.day()
                    );
                    self.event(
                        Code::Contradiction,
                        (name, "did"),
                        &message,
                        "Add the event that took it out before, or fix the dates.",
                    );
                }
                (Deed::Removed, None, _) => {
                    let message = format!("The part is removed on {day} and was in no engine then.");
                    self.event(
                        Code::Contradiction,
                        (name, "did"),
                        &message,
                        "Add the event that fitted it before, or fix the dates.",
                    );
                }
                _ => {}
            }
            match event.did {
                Deed::Fitted => place = Some((name, event)),
                did if did.takes_out() => place = None,
                _ => {}
            }
            if matches!(event.did, Deed::Failed | Deed::Retired) {
                gone = Some(event);
            }
            if let Some(hours) = &event.hours {
                if let Some((before, known)) = counted.and_then(|known| Some((known, known.hours.as_ref()?)))
                    && hours.si() < known.si()
                {
                    let message = format!(
                        "The part's hours go backwards: {known} on {}, {hours} on {day}.",
                        before.date.day()
                    );
                    self.event(Code::Contradiction, (name, "hours"), &message, "Hours are the part's whole hours and only grow; a part that was rebuilt has an event that says renewed.");
                }
                counted = Some(event);
            }
        }
    }
}
