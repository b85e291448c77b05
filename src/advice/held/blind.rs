//! What a step leaves not known: a field of the mixture that is taken out or written down anew, one that cannot be reckoned, a
//! combination that is come back to. There the bike as it would stand is held against the runs, and not the step.

use super::combination::other_combination;
use super::hold::Reference;
use super::judge::{Case, Refusal};
use super::step::{EVERYWHERE, OF_MAIN, OF_NEEDLE, OF_PILOT};
use crate::notebook::compare;

/// Fields that a zone's fuel hangs on, with the zones.
const FED_BY: [(&str, &[&str]); 13] = [
    ("jetting.main", OF_MAIN),
    ("jetting.main_numbered_by", OF_MAIN),
    ("jetting.power_jet", OF_MAIN),
    ("jetting.needle", OF_NEEDLE),
    ("jetting.clip", OF_NEEDLE),
    ("jetting.shim", OF_NEEDLE),
    ("jetting.needle_jet", OF_NEEDLE),
    ("jetting.seat_to_needle_jet", OF_NEEDLE),
    ("jetting.pilot", OF_PILOT),
    ("jetting.pilot_numbered_by", OF_PILOT),
    ("jetting.air_screw", OF_PILOT),
    ("jetting.fuel_screw", OF_PILOT),
    ("injection.trim", EVERYWHERE),
];

/// Readings that are written down for the first time were most likely the same before.
const MEASURED_LATER: [&str; 3] = ["jetting.shim", "jetting.needle_jet", "jetting.seat_to_needle_jet"];

/// Fields that change the fuel by what is not reckoned.
const NOT_RECKONED: [(&str, &[&str]); 6] = [
    ("injection.fuel_pressure", EVERYWHERE),
    ("injection.flow", EVERYWHERE),
    ("injection.injectors", EVERYWHERE),
    ("injection.dead_time", EVERYWHERE),
    ("jetting.power_jet_from", OF_MAIN),
    ("jetting.power_jet_until", OF_MAIN),
];

impl Case<'_> {
    /// Whether the step cannot be reckoned from what is on the bike.
    pub(super) fn is_blind(&self) -> bool {
        let (before, after) = (&self.before.fields, &self.proposal.after.fields);
        let known = |field: &str| before.get(field).is_some() && after.get(field).is_some();
        let blind = |changed: &str| {
            NOT_RECKONED.iter().any(|(field, _)| *field == changed)
                || (FED_BY.iter().any(|(field, _)| *field == changed) && !known(changed))
        };
        !other_combination(before, after).is_empty()
            || compare(before, after).changes.iter().any(|change| blind(&change.field))
    }

    /// What a hold has against the bike as it would stand, where the step itself cannot be reckoned; and what is only to be said of it.
    pub(super) fn not_known(&self) -> (Option<Refusal>, Option<Refusal>) {
        let (mut refused, mut borne) = (None, None);
        if self.step.other_engine || self.holds.is_empty() {
            return (refused, borne);
        }
        let (before, after) = (&self.before.fields, &self.proposal.after.fields);
        let changed: Vec<String> =
            compare(before, after).changes.into_iter().map(|change| change.field).collect();
        let is_changed = |field: &str| changed.iter().any(|changed| changed == field);
        let half_known = |field: &str| before.get(field).is_none() || after.get(field).is_none();
        let come_back = !other_combination(before, after).is_empty();
        for zone in EVERYWHERE.iter().rev() {
            let touched = |list: &[(&'static str, &[&str])]| {
                list.iter()
                    .find(|(field, zones)| zones.contains(zone) && is_changed(field))
                    .map(|(field, _)| *field)
            };
            let blind: Vec<(&'static str, &[&str])> =
                FED_BY.into_iter().filter(|(field, _)| half_known(field)).collect();
            let blind = touched(&blind);
            let unreckoned = touched(&NOT_RECKONED);
            if blind.is_none() && unreckoned.is_none() && !come_back {
                continue;
            }
            match self.against(zone, blind.or(unreckoned), unreckoned.is_some()) {
                Some((hold, refusal)) if self.is_bearable(hold) => borne = borne.or(Some(refusal)),
                Some((_, refusal)) => {
                    refused = Some(refusal);
                    break;
                }
                None => {}
            }
        }
        (refused, borne)
    }

    /// What the runs that hold a zone have against the setup as it would be.
    fn against(
        &self,
        zone: &'static str,
        field: Option<&'static str>,
        unreckoned: bool,
    ) -> Option<(&super::Hold, Refusal)> {
        let after = Reference::of(self.proposal.after)?;
        // Said over what is on the bike, which may have less itself.
        let over_now = |hold: &super::Hold| {
            hold.least_over(Reference::of(self.before)?, self.proposal.air, &self.tables)
        };
        // Where the jets stay and what holds them has held all along, nothing is got round.
        let held_all_along = |hold: &super::Hold| {
            let same = |before: &super::Hold| (&before.outing.id, before.zone) == (&hold.outing.id, zone);
            field.is_none() && self.held_before.iter().any(same)
        };
        let of_zone = self.holds.holds.iter().filter(|hold| hold.zone == zone && !held_all_along(hold));
        of_zone.into_iter().find_map(|hold| {
            let least = hold.least_over(after, self.proposal.air, &self.tables);
            let named = field.unwrap_or("jetting").to_owned();
            let refusal = match least {
                _ if unreckoned => Some(Refusal {
                    field: named.clone(),
                    sentence: not_reckoned(&named, hold),
                    by_a_run: Some(hold.outing.id.clone()),
                }),
                Some(least) if least > 1.0 => Some(Refusal {
                    field: named,
                    sentence: self.held_words(hold, zone, over_now(hold)),
                    by_a_run: Some(hold.outing.id.clone()),
                }),
                None if field.is_some_and(|field| !self.is_measured_later(field)) => Some(Refusal {
                    field: named.clone(),
                    sentence: not_reckoned(&named, hold),
                    by_a_run: Some(hold.outing.id.clone()),
                }),
                _ => None,
            };
            Some((hold, refusal?))
        })
    }

    fn is_measured_later(&self, field: &str) -> bool {
        MEASURED_LATER.contains(&field) && self.before.fields.get(field).is_none()
    }
}

fn not_reckoned(field: &str, hold: &super::Hold) -> String {
    format!(
        "Nothing leaner after a lean run: the run of {} (\"{}\") holds, and what another {field} does to the fuel cannot be reckoned.",
        hold.outing.outing.date.day(),
        crate::notebook::fields::names::visible(&hold.words)
    )
}
