//! What the hands do: what is fitted now, what later, and what stays.

use super::answer::RejetAnswer;
use super::moves::JetMove;
use super::words::{circuit, screw_name};
use crate::advice::ClipAdvice;
use crate::advice::rejet::setting::counts_alike;
use crate::notebook::fields::cylinder::{are_several, said_of_several};
use crate::notebook::fields::names::{in_words, visible};
use crate::notebook::{FieldSet, turns};
use crate::quantity::{fixed, nearly_equal, trimmed};
use crate::report::words::layout::{capital, signed};

/// What is done at the bike.
#[derive(Debug, Default)]
pub(super) struct Hands {
    /// What is fitted or turned now: "main 178 → 174".
    fit: Vec<String>,
    /// What is fitted later: "main 172, 170".
    then: Vec<String>,
    /// What stays: "pilot 52.5".
    stays: Vec<String>,
    /// What the box has nothing for, in words.
    lacks: Vec<String>,
    /// What is tried once the rest is right, in a sentence of its own.
    to_try: Option<String>,
    /// Why nothing is fitted, and the way out.
    stop: Option<String>,
}

impl Hands {
    /// What is done at a bike with several cylinders, by what is done at each of them. Where one of them must not run, none does.
    pub(super) fn of_all(all: &[(&str, Self)]) -> Self {
        let together = |of: fn(&Self) -> &Vec<String>| {
            let each: Vec<_> = all.iter().map(|(name, hands)| (*name, of(hands).clone())).collect();
            said_of_several(&each, |name, words| format!("{} {words}", of_which(name)))
        };
        let to_try: Vec<_> =
            all.iter().map(|(name, hands)| (*name, Vec::from_iter(hands.to_try.clone()))).collect();
        let to_try = said_of_several(&to_try, |name, words| format!("{}: {words}", of_which(name)));
        let mut fit = together(|hands| &hands.fit);
        fit.sort_by_key(|words| turn_of(words));
        Self {
            fit,
            then: together(|hands| &hands.then),
            stays: together(|hands| &hands.stays),
            lacks: together(|hands| &hands.lacks),
            to_try: (!to_try.is_empty()).then(|| to_try.join(" ")),
            stop: all.iter().find_map(|(_, hands)| hands.stop.clone()),
        }
    }

    /// What must not be run, in words; none where something can be fitted.
    pub(super) fn stop(&self) -> Option<&str> {
        self.stop.as_deref()
    }

    /// Whether the bike stays as it stands.
    pub(super) fn fits_nothing(&self) -> bool {
        self.fit.is_empty() && self.then.is_empty()
    }

    /// What the box has nothing for.
    pub(super) fn lacks(&self) -> &[String] {
        &self.lacks
    }

    /// Lines for the bike.
    pub(super) fn lines(&self, bike: &str) -> Vec<String> {
        let mut lines = Vec::new();
        match (self.fit.as_slice(), self.stays.as_slice()) {
            ([], []) => lines.push(format!("{bike}: no jets are written down")),
            ([], stays) => lines.push(format!("{bike}: LEAVE {}", stays.join(", "))),
            (fit, _) => lines.push(format!("{bike}: FIT {}", fit.join(", "))),
        }
        if !self.then.is_empty() {
            let each = if self.then.iter().any(|step| step.contains(',')) { ", each" } else { "," };
            lines.push(format!(
                "THEN {}{each} once plug and piston were read on the one before",
                self.then.join("; ")
            ));
        }
        lines.extend(self.to_try.iter().map(|words| format!("TRY {words}")));
        lines
    }

    /// "Pilot 52.5, clip 2 and needle n2 stay."; none where nothing does, or where nothing else is said.
    pub(super) fn stays(&self) -> Option<String> {
        let (last, others) = self.stays.split_last().filter(|_| !self.fit.is_empty())?;
        Some(match others {
            [] => format!("{} stays.", capital(last)),
            others => format!("{} and {last} stay.", capital(&others.join(", "))),
        })
    }
}

impl RejetAnswer<'_> {
    /// What the hands do.
    pub(super) fn hands(&self) -> Hands {
        let rejet = self.told.rejet;
        let mut hands = Hands::default();
        if rejet.lacks_a_main_jet() {
            hands.stop = Some(self.end_of_the_box());
            return hands;
        }
        for jet in &self.jets {
            self.jet(jet, &mut hands);
        }
        if let Some(needle) = self.fit.iter().find(|set| set.field == "jetting.needle") {
            let now = needle.now.as_deref().unwrap_or("none");
            hands.fit.push(format!("needle {} → {}", visible(now), visible(&needle.fit)));
        }
        self.clip_and_screw(&mut hands);
        if let Some(trim) = &self.injection {
            let percent = |trim: f64| format!("{} %", signed(trim, 1));
            let steps: Vec<f64> = trim.steps_percent.iter().map(|step| step.0).collect();
            let now = self.told.on_it.quantity("injection.trim");
            let now = now.map_or(trim.from_percent.0, |trim| 100.0 * trim.si());
            step("trim", (Some(now), &steps, trim.to_percent.0), percent, &mut hands);
        }
        hands.fit.extend(self.as_in_the_baseline());
        // Counted from the groove that goes back first, where it does.
        let goes_back = self.fit.iter().any(|set| set.field == "jetting.clip");
        let then = if goes_back { "then " } else { "" };
        hands.to_try = rejet.clip.worth_a_try().map(|words| format!("{then}{words}"));
        hands
    }

    fn clip_and_screw(&self, hands: &mut Hands) {
        let clip = match self.told.rejet.clip {
            ClipAdvice::NotComputed { .. } | ClipAdvice::Try { .. } => None,
            ClipAdvice::Stays { clip, .. } => Some(clip),
            ClipAdvice::Move { to, .. } => Some(to),
        };
        if let Some(clip) = clip {
            match self.differing("jetting.clip", f64::from(clip)) {
                Some(now) => hands.fit.push(format!("clip {} → {clip}", trimmed(now, 0))),
                None => hands.stays.push(format!("clip {clip}")),
            }
        }
        if let Some(screw) = &self.screw {
            let name = screw_name(screw.advice.screw);
            match self.differing(screw.field, screw.to_turns) {
                Some(now) => {
                    hands.fit.push(format!("{name} {} → {}", trimmed(now, 3), turns(screw.to_turns)));
                }
                None => hands.stays.push(format!("{name} {}", turns(screw.to_turns))),
            }
        }
    }

    fn jet(&self, jet: &JetMove<'_>, hands: &mut Hands) {
        let name = circuit(jet.circuit);
        let now = self.on_the_bike(jet);
        match (jet.advised, jet.exact.filter(|_| jet.series.is_none())) {
            (Some(advised), _) if self.told.on_it.quantity(jet.field).is_none() => {
                hands.fit.push(format!("{name} {} (what is in it is not written down)", trimmed(advised, 2)));
            }
            (Some(advised), _) if !self.counts_as_now(jet) => {
                let by = |fields: &FieldSet| {
                    let counts = fields.text(&format!("{}_numbered_by", jet.field));
                    counts.map(|counts| format!(" by {}", visible(counts))).unwrap_or_default()
                };
                hands.fit.push(format!(
                    "{name} {}{} → {}{}",
                    trimmed(now, 2),
                    by(self.told.on_it),
                    trimmed(jet.steps.first().copied().unwrap_or(advised), 2),
                    by(self.told.baseline_fields)
                ));
            }
            (Some(advised), _) => {
                step(name, (Some(now), jet.steps, advised), |size| trimmed(size, 2), hands);
            }
            (None, Some(exact)) => hands.fit.push(format!(
                "{name} {} → {} exactly, sizes not known",
                trimmed(now, 2),
                fixed(exact.0, 1)
            )),
            (None, None) => hands.lacks.push(format!("No {name} jet in the box is safe.")),
        }
    }

    /// Whether the number of a jet that is on the bike counts as the advised one does.
    fn counts_as_now(&self, jet: &JetMove<'_>) -> bool {
        counts_alike(self.told.baseline_fields, self.told.on_it, jet.field)
    }

    /// No main jet at hand is enough: what not to do, and the way out.
    fn end_of_the_box(&self) -> String {
        let (rejet, held) = (self.told.rejet, self.told.held);
        let largest = rejet.mains.last().map(|main| trimmed(main.size, 2)).unwrap_or_default();
        let of_the_ring = rejet.main().is_some_and(|jet| jet.exact.is_none());
        let (why, richer) = if of_the_ring {
            let why = "no main jet is enough, because the needle's ring lets no more through".to_owned();
            (why, "fit a thinner needle or a larger needle jet".to_owned())
        } else {
            let why = format!("your box ends at main {largest}, which is not enough");
            (why, format!("get a main jet larger than {largest} and add it to the box"))
        };
        let is_held = held.iter().any(|(hold, _)| hold.zone == "full");
        let way_out = if is_held {
            format!("Find out what made it lean and fix it; or {richer}.")
        } else {
            format!("{}.", capital(&richer))
        };
        format!("{}: {why}: do not run it. {way_out}", self.bike)
    }

    /// What else of the carburetor goes back to what the answer stands on.
    fn as_in_the_baseline(&self) -> Vec<String> {
        let clip = &self.told.rejet.clip;
        let clip_said = !matches!(clip, ClipAdvice::NotComputed { .. } | ClipAdvice::Try { .. });
        let said = |field: &str| {
            let of_its_number = |jet: &JetMove<'_>| {
                field.strip_prefix(jet.field).is_some_and(|rest| matches!(rest, "_numbered_by" | "_series"))
            };
            self.jets.iter().any(|jet| jet.field == field || !self.counts_as_now(jet) && of_its_number(jet))
                || self.screw.as_ref().is_some_and(|screw| screw.field == field)
                || field == "jetting.needle"
                || (field == "jetting.clip" && clip_said)
        };
        let rest = self.fit.iter().filter(|set| set.field.starts_with("jetting.") && !said(&set.field));
        rest.map(|set| {
            let name = set.field.trim_start_matches("jetting.").replace('_', " ");
            let is_set = self.told.to_set.iter().any(|(field, _)| *field == set.field);
            let whose =
                if is_set { format!("as in setup {}", self.baseline) } else { "as recorded".to_owned() };
            match set.now.as_deref().or(is_set.then_some("unknown")) {
                Some(now) => format!("{name} {} → {} {whose}", visible(now), visible(&set.fit)),
                None => format!("{name} {} {whose}", visible(&set.fit)),
            }
        })
        .collect()
    }

    /// What the bike has now in a field, where that is not what is advised.
    pub(super) fn differing(&self, field: &str, advised: f64) -> Option<f64> {
        let now = self.told.on_it.quantity(field)?.value();
        (!nearly_equal(now, advised)).then_some(now)
    }
}

/// A step that is fitted now, and those that are fitted later; or what stays.
fn step(
    name: &str,
    (now, steps, to): (Option<f64>, &[f64], f64),
    words: impl Fn(f64) -> String,
    hands: &mut Hands,
) {
    let first = steps.first().copied().unwrap_or(to);
    let stands = now.is_some_and(|now| nearly_equal(now, first));
    match now.map(&words) {
        Some(now) if stands => hands.stays.push(format!("{name} {now}")),
        Some(now) => hands.fit.push(format!("{name} {now} → {}", words(first))),
        None => hands.fit.push(format!("{name} {}", words(first))),
    }
    let later: Vec<String> = steps.iter().skip(1).map(|step| words(*step)).collect();
    if !later.is_empty() {
        hands.then.push(format!("{name} {}", later.join(", ")));
    }
}

/// At which cylinder something is done, or at which: "right", "cylinder 3", "cylinders 1, 2 and 4".
fn of_which(name: &str) -> String {
    if are_several(name) { format!("cylinders {}", visible(name)) } else { in_words(name) }
}

/// In which turn something is fitted at a machine with several cylinders: a richer main jet first, the screws last.
fn turn_of(words: &str) -> usize {
    let is_richer = || {
        let (from, to) = words.split_once(" → ")?;
        let number = |text: Option<&str>| text?.trim_end_matches(',').parse::<f64>().ok();
        Some(number(to.split(' ').next())? > number(from.rsplit(' ').next())?)
    };
    let names = |part: &str| words.split(' ').any(|word| word == part);
    match (names("main"), names("screw")) {
        (true, _) => usize::from(is_richer() != Some(true)),
        (_, true) => 3,
        _ => 2,
    }
}
