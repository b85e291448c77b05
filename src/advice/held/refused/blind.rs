//! What a step leaves not known: a field of the mixture that is taken out or written down anew, one that cannot be reckoned, a
//! combination that is come back to. There the bike as it would stand is held against the runs, and not the step.

use super::super::combination::other_combination;
use super::super::hold::Reference;
use super::super::said::{Refusal, Told};
use super::case::Case;
use crate::notebook::fields::meaning::{Fuelling, Hurts, Reach};
use crate::notebook::{Combination, compare};

/// A changed field that fuel hangs on, and the throttles it reaches.
#[derive(Debug, Clone)]
struct Blind {
    field: String,
    at: Reach,
    turn: u16,
    why: Why,
}

/// Why what it does is not known.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Why {
    /// It was written down anew or taken out.
    HalfKnown,
    /// The same, but what it was before was most likely what it is.
    MeasuredLater,
    /// It cannot be reckoned.
    NotReckoned,
    /// It is another one, and it matters where the circuits cannot say what it does: a needle that nobody measured.
    NotSaid,
}

impl Case<'_> {
    /// Whether the step cannot be reckoned from what is on the bike.
    pub(in crate::advice::held) fn is_blind(&self) -> bool {
        !other_combination(&self.before.fields, &self.proposal.after.fields).is_empty()
            || !self.blind_fields().is_empty()
    }

    /// The changed fields of which it is not known what they do to the fuel: those of the wide throttles first, and as they are set.
    fn blind_fields(&self) -> Vec<Blind> {
        let (before, after) = (&self.before.fields, &self.proposal.after.fields);
        let mut blind: Vec<Blind> = compare(before, after)
            .changes
            .into_iter()
            .filter_map(|change| {
                let meaning = Combination::meaning(&change.field)?;
                let half_known = change.old.is_none() || change.new.is_none();
                let (at, why) = match meaning.fuel {
                    Fuelling::NotReckoned(at) if change.old.is_some() => (at, Why::NotReckoned),
                    Fuelling::MeasuredLater(at) | Fuelling::NotReckoned(at) if change.old.is_none() => {
                        (at, Why::MeasuredLater)
                    }
                    Fuelling::HalfKnown(at) | Fuelling::MeasuredLater(at) if half_known => {
                        (at, Why::HalfKnown)
                    }
                    Fuelling::HalfKnown(at) | Fuelling::MeasuredLater(at)
                        if meaning.hurts == Hurts::Harmless =>
                    {
                        (at, Why::NotSaid)
                    }
                    _ => return None,
                };
                Some(Blind { field: change.field, at, turn: meaning.hands.turn, why })
            })
            .collect();
        blind.sort_by_key(|blind| (blind.at, blind.turn));
        blind
    }

    /// What is to be said of another throttle body, dead time, compensation: it gives more or less fuel, and nobody can say how much.
    pub(in crate::advice::held) fn not_to_be_reckoned(&self) -> Option<Told> {
        let of_fuel = |blind: &&Blind| blind.why == Why::NotReckoned && blind.at == Reach::Everywhere;
        let blind = self.blind_fields().into_iter().find(|blind| of_fuel(&blind))?;
        let name = blind.field.rsplit('.').next().unwrap_or_default().replace('_', " ");
        let sentence = format!(
            "What another {name} does to the fuel cannot be reckoned, less or more: start rich, and read plug and piston before it is held open."
        );
        Some(Told::of(false, sentence))
    }

    /// A changed field of which nobody can say what it does to the fuel at a zone.
    pub(in crate::advice::held) fn blind_at(&self, zone: &str) -> Option<String> {
        let blind = self.blind_fields();
        let is_said = self.step.fuel_at(zone).is_some();
        let matters = |blind: &&Blind| {
            let known = blind.why == Why::MeasuredLater || (is_said && blind.why != Why::NotReckoned);
            !known && blind.at.zones().contains(&zone)
        };
        blind.iter().find(matters).map(|blind| blind.field.clone())
    }

    /// What a hold has against the bike as it would stand, where the step itself cannot be reckoned; and what is only to be said of it.
    pub(in crate::advice::held) fn not_known(&self) -> (Option<Refusal>, Option<Refusal>) {
        let (mut refused, mut borne) = (None, None);
        if self.step.other_engine || self.holds.is_empty() {
            return (refused, borne);
        }
        let (before, after) = (&self.before.fields, &self.proposal.after.fields);
        let come_back = !other_combination(before, after).is_empty();
        let blind = self.blind_fields();
        for zone in Reach::Everywhere.zones().iter().rev() {
            let is_said = self.step.fuel_at(zone).is_some();
            let of_zone =
                |blind: &&Blind| blind.at.zones().contains(zone) && !(is_said && blind.why == Why::NotSaid);
            let half_known = blind.iter().filter(of_zone).find(|blind| blind.why != Why::NotReckoned);
            let unreckoned = blind.iter().filter(of_zone).find(|blind| blind.why == Why::NotReckoned);
            if half_known.is_none() && unreckoned.is_none() && !come_back {
                continue;
            }
            match self.against(zone, half_known.or(unreckoned), unreckoned.is_some()) {
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
        field: Option<&Blind>,
        unreckoned: bool,
    ) -> Option<(&super::super::Hold, Refusal)> {
        let after = Reference::of(self.proposal.after)?;
        // Said over what is on the bike, which may have less itself.
        let over_now = |hold: &super::super::Hold| {
            hold.least_over(Reference::of(self.before)?, self.proposal.air, &self.tables)
        };
        // Where the jets stay and what holds them has held all along, nothing is got round.
        let held_all_along = |hold: &super::super::Hold| {
            let same =
                |before: &super::super::Hold| (&before.outing.id, before.zone) == (&hold.outing.id, zone);
            field.is_none() && self.held_before.iter().any(same)
        };
        let of_zone = self.holds.holds.iter().filter(|hold| hold.zone == zone && !held_all_along(hold));
        of_zone.into_iter().find_map(|hold| {
            let least = hold.least_over(after, self.proposal.air, &self.tables);
            let named = field.map_or("jetting", |blind| blind.field.as_str()).to_owned();
            let refusal = match least {
                // A first reading changes nothing at the bike.
                _ if !unreckoned && field.is_some_and(|blind| blind.why == Why::MeasuredLater) => None,
                _ if unreckoned => {
                    Some(Refusal::of(named.clone(), not_reckoned(&named, hold)).by(hold.run_name()))
                }
                Some(least) if least > 1.0 => {
                    Some(Refusal::of(named, self.held_words(hold, zone, over_now(hold))).by(hold.run_name()))
                }
                None if field.is_some() => {
                    Some(Refusal::of(named.clone(), not_reckoned(&named, hold)).by(hold.run_name()))
                }
                _ => None,
            };
            Some((hold, refusal?))
        })
    }
}

fn not_reckoned(field: &str, hold: &super::super::Hold) -> String {
    format!(
        "Nothing leaner after a lean run: the run of {} (\"{}\") holds, and what another {field} does to the fuel cannot be reckoned.",
        hold.outing.outing.date.day(),
        crate::notebook::fields::names::visible(&hold.words)
    )
}
