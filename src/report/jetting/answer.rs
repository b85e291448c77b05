//! The advice for other air or fuel: what to fit first, then why, then the cautions.

use serde_json::{Value as Json, json};

use crate::advice::foundation::{Ground, Nearness};
use crate::advice::held::Hold;
use crate::advice::learning::Floor;
use crate::advice::{ClipAdvice, JetAdvice, Method, Rejet, Screw, ScrewAdvice};
use crate::notebook::fields::names::visible;
use crate::notebook::{AirEntry, Circuit, FieldSet};
use crate::quantity::{fixed, nearly_equal, trimmed};
use crate::report::air::reading::rounded;
use crate::report::history::outing::air_json;
use crate::report::jetting::first;
use crate::report::jetting::record::RecordReport;
use crate::report::jetting::words::{circuit, clip_json, clip_words, jet_json, rich_or_lean, screw_name};
use crate::report::out::screen::Screen;
use crate::report::words::layout::{air_in_short, capital, signed, table};

/// Fuel that a throttle may lack of what a lean run asks for without a word: a tenth of a percent is the reckoning's own dust.
const HARDLY_SHORT: f64 = 0.001;

/// The advice with where it starts and where it leads.
pub struct RejetReport<'a> {
    /// The bike.
    pub bike: &'a str,
    /// Number of the setup it starts from.
    pub baseline: u32,
    /// The air of that setup and where it is from.
    pub baseline_air: &'a (AirEntry, String),
    /// The air it leads to.
    pub air: &'a AirEntry,
    /// The advice.
    pub rejet: &'a Rejet,
    /// The values of the files on disk: what the bike has now.
    pub now: &'a FieldSet,
    /// Why that setup is stood on.
    pub ground: Ground,
    /// The bike's last run, where it seized on another combination, in words.
    pub seized_elsewhere: Option<String>,
    /// What is questioned about the air that is asked for, in sentences.
    pub questioned: &'a [String],
    /// The runs that forbid going leaner, with the least fuel each leaves.
    pub held: &'a [(&'a Hold, Floor)],
    /// Fuel that the bike as it stands passes at each zone over the setup it starts from.
    pub left: &'a [(&'static str, f64)],
    /// What differs from the files on disk: what `--record` sets.
    pub to_set: &'a [(String, String)],
    /// What differs on the bike from the setup it starts from, in words; none where nothing does.
    pub moved_on: Option<String>,
    /// The field of its metering that differs there, so that the advice cannot be recorded.
    pub other_metering: Option<&'a str>,
    /// What else should be known.
    pub remarks: Vec<String>,
    /// The setup it was recorded as.
    pub recorded: Option<u32>,
    /// What the bike's own record says of it.
    pub record: RecordReport<'a>,
    /// Whether the numbers behind it are asked for.
    pub explain: bool,
}

impl RejetReport<'_> {
    /// For a script.
    pub fn json(&self) -> Json {
        let rejet = self.rejet;
        let factor = rejet.factor;
        let jets: Vec<_> = rejet.jets.iter().map(jet_json).collect();
        let mut answer = json!({
            "bike": self.bike,
            "baseline": self.baseline,
            "baseline_air": air_json(&self.baseline_air.0),
            "air": air_json(self.air),
            "factor": rounded(factor.total, 6),
            "factor_uncertainty": rejet.factor_uncertainty.map(|doubt| rounded(doubt, 6)),
            "parts": {
                "air": rounded(factor.air, 6),
                "dry_air": rounded(factor.dry_air, 6),
                "venturi": factor.venturi.map(|part| rounded(part, 6)),
                "box_correction": factor.box_correction.map(|part| rounded(part, 6)),
                "fuel_air": rounded(factor.fuel_air, 6),
                "lambda": rounded(factor.lambda, 6),
                "fuel_density": rounded(factor.fuel_density, 6),
                "oil": rounded(factor.oil, 6),
            },
            "jets": jets,
            "clip": clip_json(&rejet.clip),
            "screw": rejet.screw.as_ref().map(|screw| json!({
                "field": screw.field,
                "from_turns": screw.from_turns,
                "to_turns": screw.to_turns,
                "words": screw.words,
            })),
            "needle": rejet.needle.as_ref().map(|needle| json!({ "from": needle.from, "to": needle.to })),
            "injection_trim_percent": rejet.injection.as_ref().map(|advice| rounded(advice.trim_percent, 3)),
            "injection": rejet.injection.as_ref().map(|advice| json!({
                "from_percent": rounded(advice.from_percent, 2),
                "to_percent": rounded(advice.to_percent, 2),
                "size_percent": rounded(advice.size_percent, 2),
                "richer_percent": rounded(advice.richer_percent, 2),
                "leaner_percent": rounded(advice.leaner_percent, 2),
                "steps_percent": advice.steps.iter().map(|trim| rounded(*trim, 2)).collect::<Vec<_>>(),
                "words": advice.words,
            })),
            "fit": self.fit_json(),
            "then": self.then_json(),
            "held": first::held_json(self.held),
            "surprise": first::surprise_json(self.record.learned, self.record.evidence),
            "assignments": self.to_set.iter().map(|(field, value)| json!({ "field": field, "value": value })).collect::<Vec<_>>(),
            "recorded": self.recorded,
            "warnings": rejet.warnings,
            "remarks": self.questioned.iter().chain(&self.moved_on).chain(&self.remarks).collect::<Vec<_>>(),
            "cautions": rejet.cautions,
        });
        if let Some(members) = answer.as_object_mut() {
            for (name, value) in self.record.json(rejet) {
                members.insert(name.to_owned(), value);
            }
        }
        answer
    }

    /// For a person.
    pub fn text(&self, screen: &Screen) -> String {
        let rejet = self.rejet;
        let mut lines: Vec<String> =
            self.first().iter().map(|line| screen.strong(&screen.wrap(line, 2))).collect();
        lines.extend(self.moved_on.iter().map(|words| screen.wrap(words, 2)));
        lines.push(screen.wrap(
            &format!(
                "from setup {} in {} ({})",
                self.baseline,
                air_in_short(screen, &self.baseline_air.0),
                visible(&self.baseline_air.1)
            ),
            2,
        ));
        lines
            .push(screen.wrap(&format!("to {}: {}", air_in_short(screen, self.air), self.factor_words()), 2));
        lines.push(String::new());
        if let Some(sizes) = self.record.sizes(screen) {
            lines.extend([sizes, String::new()]);
        }
        lines.extend(self.record.lines().iter().map(|line| screen.wrap(line, 2)));
        let drifted = self.record.learned.and_then(|learned| first::drifted(learned, self.baseline));
        lines.extend(drifted.map(|line| screen.wrap(&line, 2)));
        lines.push(String::new());
        if !rejet.jets.is_empty() {
            lines.push(self.jets(screen));
        }
        lines.extend(self.other_moves().iter().map(|line| screen.wrap(line, 2)));
        if self.explain {
            lines.extend(self.record.explained(screen));
        }
        lines.push(String::new());
        let said =
            self.record.learned.and_then(|learned| learned.above_limit.as_ref()).map(|above| &above.words);
        let notes = rejet.warnings.iter().filter(|line| Some(*line) != said).chain(&self.remarks);
        lines.extend(notes.map(|line| screen.wrap(&format!("note: {line}"), 6)));
        lines.push(screen.wrap(&format!("CAUTION  {}", rejet.cautions.join(" ")), 9));
        let end = match (self.recorded, self.to_set.is_empty()) {
            (Some(number), _) if self.rejet.jets.iter().any(|jet| jet.steps.len() > 1) => format!(
                "Recorded as setup {number}, with the first step only: read plug and piston on it, and ask again."
            ),
            (Some(number), _) => format!("Recorded as setup {number}."),
            (None, _) if self.nothing_to_fit().is_some() => format!(
                "Not recorded, and --record would not: there is no {} jet to fit.",
                self.nothing_to_fit().unwrap_or_default()
            ),
            (None, _) if self.other_metering.is_some() => format!(
                "Not recorded, and --record would not: {} differs on the bike.",
                self.other_metering.unwrap_or_default()
            ),
            (None, true) if self.moved_on.is_some() => {
                "The bike has these jets and settings already: nothing to record.".into()
            }
            (None, true) => "The bike has this already: nothing to record.".into(),
            (None, false) => "Not recorded: the same line with --record makes it a change.".into(),
        };
        lines.push(screen.wrap(&end, 2));
        lines.join("\n")
    }

    /// What stands first: what forbids or explains, and what the hands do.
    fn first(&self) -> Vec<String> {
        let (learned, evidence) = (self.record.learned, self.record.evidence);
        let surprise =
            learned.zip(evidence).and_then(|(learned, evidence)| first::surprise(learned, evidence));
        let mut lines = self.questioned.to_vec();
        lines.extend(first::after_a_seizure(self.bike, self.held));
        lines.extend(self.seized_elsewhere.as_ref().map(|words| format!("{}: {words}", self.bike)));
        lines.extend(surprise);
        let above = learned.and_then(|learned| learned.above_limit.as_ref());
        let words = |stop: bool| above.filter(|above| above.stop == stop).map(|above| above.words.clone());
        lines.extend(words(true));
        lines.push(self.answer());
        lines.extend(words(false));
        lines.extend(self.short_of_held());
        lines.extend(first::why_nothing_leaner(self.bike, self.held));
        if self.ground.nearness() == Nearness::Another {
            lines.push(format!(
                "Reckoned from setup {}, which ran another combination: nothing was right on this one yet. Start rich.",
                self.baseline
            ));
        }
        lines
    }

    /// How far the bike as it stands would be off at a zone, percent of fuel; the setup's own where that cannot be said.
    fn if_left(&self, jet: &JetAdvice) -> f64 {
        let zone = match jet.circuit {
            Circuit::Main => "full",
            Circuit::Pilot => "idle",
            Circuit::Power => return jet.unchanged_percent,
        };
        let passes = self.left.iter().find(|(name, _)| *name == zone).map_or(1.0, |(_, fuel)| *fuel);
        100.0 * ((1.0 + jet.unchanged_percent / 100.0) * passes - 1.0)
    }

    /// The answer in one line: what to fit.
    fn answer(&self) -> String {
        let rejet = self.rejet;
        if rejet.lacks_a_main_jet() {
            return self.end_of_the_box();
        }
        let mut parts = Vec::new();
        for jet in &rejet.jets {
            parts.push(self.jet_in_short(jet));
            // The risk stands right behind the size it belongs to.
            parts.extend(self.record.risk().filter(|_| jet.circuit == Circuit::Main));
        }
        if let Some((_, needle)) = self.to_set.iter().find(|(field, _)| field == "jetting.needle") {
            let now = self.now.text("jetting.needle").unwrap_or("none");
            parts.push(format!("needle {} → {}", visible(now), visible(needle)));
        }
        let clip = match rejet.clip {
            ClipAdvice::NotComputed { .. } | ClipAdvice::Try { .. } => None,
            ClipAdvice::Stays { clip, .. } => Some(clip),
            ClipAdvice::Move { to, .. } => Some(to),
        };
        if let Some(clip) = clip
            && let Some(now) = self.differing("jetting.clip", f64::from(clip))
        {
            parts.push(format!("clip {} → {clip}", trimmed(now, 0)));
        }
        if let Some(screw) = &rejet.screw
            && let Some(now) = self.differing(screw.field, screw.to_turns)
        {
            let name = screw_name(screw.screw);
            parts.push(format!("{name} {} → {} turns", trimmed(now, 2), trimmed(screw.to_turns, 2)));
        }
        if let Some(advice) = &rejet.injection {
            let percent = |trim: f64| format!("{} %", signed(trim, 1));
            let (fit, then) = first_and_then(&advice.steps, advice.to_percent, percent);
            let now =
                self.now.quantity("injection.trim").map_or(advice.from_percent, |trim| 100.0 * trim.si());
            parts.push(format!("trim {} → {fit}{then}", percent(now)));
            parts.extend(self.record.risk());
        }
        parts.extend(self.as_in_the_baseline());
        parts.extend(rejet.clip.worth_a_try());
        if parts.is_empty() {
            parts.push("no jets are written down".to_owned());
        }
        format!("{}: {}", self.bike, parts.join(", "))
    }

    /// A throttle that was lean and gets less than that run asks for, whatever is fitted of the box.
    fn short_of_held(&self) -> Option<String> {
        let short = self.held.iter().filter_map(|(hold, floor)| {
            let zone = self.rejet.zones.iter().find(|zone| zone.zone == floor.zone)?;
            let short = 1.0 - zone.delivered / floor.least;
            (short > HARDLY_SHORT && !self.rejet.lacks_a_main_jet()).then_some((hold, short))
        });
        let (hold, short) = short.max_by(|a, b| a.1.total_cmp(&b.1))?;
        Some(format!(
            "The box has nothing richer for {}: it gets {} % less than the run of {} asks for there. Do not run it on that throttle; get a richer needle or a larger pilot jet.",
            first::zone_words(hold.zone),
            fixed(100.0 * short, 1),
            hold.outing.outing.date.short()
        ))
    }

    /// No main jet at hand is enough: what not to do, and the way out.
    fn end_of_the_box(&self) -> String {
        let largest = self.rejet.mains.last().map(|main| trimmed(main.size, 2)).unwrap_or_default();
        let of_the_ring = self.rejet.main().is_some_and(|jet| jet.exact.is_none());
        let (why, richer) = if of_the_ring {
            let why = "no main jet is enough, because the needle's ring lets no more through".to_owned();
            (why, "fit a thinner needle or a larger needle jet".to_owned())
        } else {
            let why = format!("your box ends at main {largest}, which is not enough");
            (why, format!("get a main jet larger than {largest} and add it to the box"))
        };
        let is_held = self.held.iter().any(|(hold, _)| hold.zone == "full");
        let way_out = if is_held {
            format!("Find out what made it lean and mend it; or {richer}.")
        } else {
            format!("{}.", capital(&richer))
        };
        format!("{}: {why}: do not run it. {way_out}", self.bike)
    }

    /// What else of the carburetor goes back to what the answer stands on.
    fn as_in_the_baseline(&self) -> Vec<String> {
        let clip_said = !matches!(self.rejet.clip, ClipAdvice::NotComputed { .. } | ClipAdvice::Try { .. });
        let said = |field: &str| {
            self.rejet.jets.iter().any(|jet| jet.field == field)
                || self.rejet.screw.as_ref().is_some_and(|screw| screw.field == field)
                || field == "jetting.needle"
                || (field == "jetting.clip" && clip_said)
        };
        let rest = self.to_set.iter().filter(|(field, _)| field.starts_with("jetting.") && !said(field));
        rest.map(|(field, value)| {
            let name = field.trim_start_matches("jetting.").replace('_', " ");
            let now = self.now.get(field).map_or_else(|| "unknown".to_owned(), crate::notebook::Value::text);
            format!("{name} {} → {} as in setup {}", visible(&now), visible(value), self.baseline)
        })
        .collect()
    }

    /// The circuit, main or pilot, for which no jet is advised; a power jet that has no series stays.
    pub fn nothing_to_fit(&self) -> Option<&'static str> {
        let decides = |jet: &&JetAdvice| jet.circuit != Circuit::Power && jet.advised.is_none();
        let jet = self.rejet.jets.iter().find(decides)?;
        Some(circuit(jet.circuit))
    }

    /// What the bike has now in a field, where that is not what is advised.
    fn differing(&self, field: &str, advised: f64) -> Option<f64> {
        let now = self.now.quantity(field)?.value();
        (!nearly_equal(now, advised)).then_some(now)
    }

    fn jet_in_short(&self, jet: &JetAdvice) -> String {
        let name = circuit(jet.circuit);
        let now = self.now.quantity(jet.field).map_or(jet.current, crate::quantity::Quantity::value);
        match (jet.advised, jet.exact.filter(|_| jet.series.is_none())) {
            (Some(advised), _) if self.now.quantity(jet.field).is_none() => {
                format!("{name} {} (what is in it is not written down)", trimmed(advised, 2))
            }
            (Some(advised), _) if nearly_equal(now, advised) => format!("{name} {} stays", trimmed(now, 2)),
            (Some(advised), _) => {
                let (fit, then) = first_and_then(&jet.steps, advised, |size| trimmed(size, 2));
                format!("{name} {} → {fit}{then}", trimmed(now, 2))
            }
            (None, Some(exact)) => {
                format!("{name} {} → {} exactly, sizes not known", trimmed(now, 2), fixed(exact, 1))
            }
            (None, None) => format!("no {name} jet in the box is safe"),
        }
    }

    /// The jet that is in the bike; the setup's own where that is not written down.
    fn on_the_bike(&self, jet: &JetAdvice) -> f64 {
        self.now.quantity(jet.field).map_or(jet.current, crate::quantity::Quantity::value)
    }

    /// What is to be done with the screw as it stands on the bike.
    fn screw_words(&self, screw: &ScrewAdvice) -> String {
        let Some(now) = self.differing(screw.field, screw.to_turns) else {
            return "stays".to_owned();
        };
        let turns = screw.to_turns - now;
        let (way, means) = match (turns > 0.0, screw.screw) {
            (true, Screw::Air) => ("out", "leaner"),
            (true, Screw::Fuel) => ("out", "richer"),
            (false, Screw::Air) => ("in", "richer"),
            (false, Screw::Fuel) => ("in", "leaner"),
        };
        format!("{way} {} turns: {means}", trimmed(turns.abs(), 2))
    }

    fn factor_words(&self) -> String {
        let factor = self.rejet.factor;
        let doubt = self
            .rejet
            .factor_uncertainty
            .map(|doubt| format!(" ± {} %", fixed(200.0 * doubt, 1)))
            .unwrap_or_default();
        let mut parts = vec![format!("oxygen {}", fixed(factor.dry_air, 3))];
        parts.extend(factor.venturi.map(|part| format!("venturi {}", fixed(part, 3))));
        parts.extend(factor.box_correction.map(|part| format!("the box itself {}", fixed(part, 3))));
        let named = [
            ("stoichiometric", factor.fuel_air),
            ("lambda", factor.lambda),
            ("fuel density", factor.fuel_density),
            ("oil", factor.oil),
        ];
        parts.extend(
            named
                .iter()
                .filter(|(_, part)| (part - 1.0).abs() > 5e-5)
                .map(|(name, part)| format!("{name} {}", fixed(*part, 3))),
        );
        format!("fuel × {}{doubt} ({})", fixed(factor.total, 3), parts.join(" × "))
    }

    fn jets(&self, screen: &Screen) -> String {
        let number = |value: Option<f64>| value.map_or_else(|| "-".to_owned(), |value| trimmed(value, 2));
        let rows = self
            .rejet
            .jets
            .iter()
            .map(|jet| {
                vec![
                    circuit(jet.circuit).to_owned(),
                    trimmed(self.on_the_bike(jet), 2),
                    number(jet.advised),
                    number(jet.richer),
                    number(jet.leaner),
                    jet.exact.map_or_else(|| "none".to_owned(), |exact| fixed(exact, 1)),
                    rich_or_lean(self.if_left(jet)),
                    jet.advised_percent.map(rich_or_lean).unwrap_or_default(),
                ]
            })
            .collect();
        // With a record the other columns are the record's, and this one stays theory's.
        let exact = if self.record.learned.is_some() { "theory" } else { "exact" };
        table(
            &["jet", "now", "fit", "richer", "leaner", exact, "if left", "if fitted"],
            rows,
            &[1, 2, 3, 4, 5],
            screen.width(),
        )
    }

    fn other_moves(&self) -> Vec<String> {
        let rejet = self.rejet;
        let mut lines: Vec<String> = rejet
            .jets
            .iter()
            .filter_map(|jet| match jet.method {
                Method::Series { exponent } => Some(format!(
                    "The main jet's area moves {} times as far as the fuel: the needle's annulus is in series with it.",
                    fixed(exponent, 2)
                )),
                _ => None,
            })
            .collect();
        if !rejet.jets.is_empty() {
            lines.push(clip_words(&rejet.clip));
        }
        if let Some(screw) = &rejet.screw {
            lines.push(format!(
                "{} {}; with it closed throttle is {}.",
                capital(screw_name(screw.screw)),
                self.screw_words(screw),
                rich_or_lean(screw.left_percent)
            ));
        }
        if let Some(advice) = &rejet.injection {
            lines.push(format!("Every cell {} %: {}", signed(advice.trim_percent, 1), advice.words));
            lines.push(format!(
                "One size, {} %, richer is a trim of {} %; one size leaner {} %.",
                trimmed(advice.size_percent, 1),
                signed(advice.richer_percent, 1),
                signed(advice.leaner_percent, 1)
            ));
        }
        lines
    }
}

/// What is fitted now, and what later where it goes in steps.
fn first_and_then(steps: &[f64], advised: f64, words: impl Fn(f64) -> String) -> (String, String) {
    match steps.split_first() {
        Some((first, later)) if !later.is_empty() => {
            let later: Vec<String> = later.iter().map(|step| words(*step)).collect();
            (
                words(*first),
                format!(
                    " (then {}, each once plug and piston were read on the one before)",
                    later.join(", ")
                ),
            )
        }
        _ => (words(advised), String::new()),
    }
}
