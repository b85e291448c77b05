//! The advice for a person: what to fit first, then why, then the cautions.

use super::answer::RejetAnswer;
use super::first;
use super::moves::{JetMove, ScrewMove};
use super::words::{circuit, clip_words, rich_or_lean, screw_name};
use crate::advice::foundation::Nearness;
use crate::advice::{ClipAdvice, Screw};
use crate::notebook::Circuit;
use crate::notebook::fields::names::visible;
use crate::quantity::{Quantity, fixed, nearly_equal, trimmed};
use crate::report::out::screen::Screen;
use crate::report::words::layout::{capital, signed, table};

/// Fuel that a throttle may lack of what a lean run asks for without a word: a tenth of a percent is the reckoning's own dust.
const HARDLY_SHORT: f64 = 0.001;

impl RejetAnswer<'_> {
    /// For a person.
    pub fn text(&self, screen: &Screen) -> String {
        let told = &self.told;
        let mut lines: Vec<String> =
            self.first().iter().map(|line| screen.strong(&screen.wrap(line, 2))).collect();
        lines.extend(told.moved_on.iter().map(|words| screen.wrap(words, 2)));
        lines.push(screen.wrap(
            &format!(
                "from setup {} in {} ({}){}",
                self.baseline,
                self.baseline_air.in_short(screen),
                visible(&told.baseline_air.1),
                self.had()
            ),
            2,
        ));
        lines.push(screen.wrap(&format!("to {}: {}", self.air.in_short(screen), self.factor_words()), 2));
        lines.push(String::new());
        if let Some(sizes) = self.record.size_table(screen) {
            lines.extend([sizes, String::new()]);
        }
        lines.extend(self.record.lines().iter().map(|line| screen.wrap(line, 2)));
        let drifted = told.record.learned.and_then(|learned| first::drifted(learned, self.baseline));
        lines.extend(drifted.map(|line| screen.wrap(&line, 2)));
        lines.push(String::new());
        if !self.jets.is_empty() {
            lines.push(self.jet_table(screen));
        }
        lines.extend(self.other_moves().iter().map(|line| screen.wrap(line, 2)));
        if told.explain {
            lines.extend(self.record.explained(screen));
        }
        lines.push(String::new());
        let said =
            told.record.learned.and_then(|learned| learned.above_limit.as_ref()).map(|above| &above.words);
        let notes = self.warnings.iter().filter(|line| Some(*line) != said).chain(&told.remarks);
        lines.extend(notes.map(|line| screen.wrap(&format!("note: {line}"), 6)));
        lines.push(screen.wrap(&format!("CAUTION  {}", self.cautions.join(" ")), 9));
        lines.push(screen.wrap(&self.end(), 2));
        lines.join("\n")
    }

    /// What the setup it starts from had, where the bike has something else that the advice sets: everything else that is said counts
    /// from the bike.
    fn had(&self) -> String {
        let (then, now) = (self.told.baseline_fields, self.told.now);
        let jets = self.jets.iter().map(|jet| jet.field);
        let screw = self.screw.iter().map(|screw| screw.field);
        let set = jets.chain(["jetting.needle", "jetting.clip"]).chain(screw).chain(["injection.trim"]);
        let others = set.filter_map(|field| {
            let (had, has) = (then.get(field)?, now.get(field)?);
            let name = field.split('.').next_back().unwrap_or_default().replace('_', " ");
            (!had.same_as(has)).then(|| format!("{name} {}", visible(&had.text())))
        });
        let others: Vec<String> = others.collect();
        if others.is_empty() { String::new() } else { format!("; it had {}", others.join(", ")) }
    }

    /// Whether it is recorded, and what else would do that.
    fn end(&self) -> String {
        let told = &self.told;
        match (self.recorded, self.fit.is_empty()) {
            (Some(number), _) if self.jets.iter().any(|jet| jet.steps.len() > 1) => format!(
                "Recorded as setup {number}, with the first step only: read plug and piston on it, and ask again."
            ),
            (Some(number), _) => format!("Recorded as setup {number}."),
            (None, _) if told.nothing_to_fit().is_some() => format!(
                "Not recorded, and --record would not: there is no {} jet to fit.",
                told.nothing_to_fit().unwrap_or_default()
            ),
            (None, _) if told.other_metering.is_some() => format!(
                "Not recorded, and --record would not: {} differs on the bike.",
                told.other_metering.unwrap_or_default()
            ),
            (None, true) if told.moved_on.is_some() => {
                "The bike has these jets and settings already: nothing to record.".into()
            }
            (None, true) => "The bike has this already: nothing to record.".into(),
            (None, false) => "Not recorded: the same line with --record makes it a change.".into(),
        }
    }

    /// What stands first: what forbids or explains, and what the hands do.
    fn first(&self) -> Vec<String> {
        let told = &self.told;
        let learned = told.record.learned;
        let mut lines = told.questioned.to_vec();
        lines.extend(first::after_a_seizure(self.bike, told.held));
        lines.extend(told.seized_elsewhere.as_ref().map(|words| format!("{}: {words}", self.bike)));
        lines.extend(self.record.surprise());
        let above = learned.and_then(|learned| learned.above_limit.as_ref());
        let words = |stop: bool| above.filter(|above| above.stop == stop).map(|above| above.words.clone());
        lines.extend(words(true));
        lines.push(self.in_one_line());
        lines.extend(words(false));
        lines.extend(self.short_of_held());
        lines.extend(first::why_nothing_leaner(self.bike, told.held));
        if told.ground.nearness() == Nearness::Another {
            lines.push(format!(
                "Reckoned from setup {}, which ran another combination: nothing was right on this one yet. Start rich.",
                self.baseline
            ));
        }
        lines
    }

    /// How far the bike as it stands would be off at a zone, percent of fuel; the setup's own where that cannot be said.
    fn if_left(&self, jet: &JetMove<'_>) -> f64 {
        let zone = match jet.circuit {
            Circuit::Main => "full",
            Circuit::Pilot => "idle",
            Circuit::Power => return jet.unchanged_percent.0,
        };
        let passes = self.told.left.iter().find(|(name, _)| *name == zone).map_or(1.0, |(_, fuel)| *fuel);
        100.0 * ((1.0 + jet.unchanged_percent.0 / 100.0) * passes - 1.0)
    }

    /// The answer in one line: what to fit.
    fn in_one_line(&self) -> String {
        let rejet = self.told.rejet;
        if rejet.lacks_a_main_jet() {
            return self.end_of_the_box();
        }
        let mut parts = Vec::new();
        for jet in &self.jets {
            parts.push(self.jet_in_short(jet));
            // The risk stands right behind the size it belongs to.
            parts.extend(self.record.risk().filter(|_| jet.circuit == Circuit::Main));
        }
        if let Some(needle) = self.fit.iter().find(|set| set.field == "jetting.needle") {
            let now = needle.now.as_deref().unwrap_or("none");
            parts.push(format!("needle {} → {}", visible(now), visible(needle.fit)));
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
        if let Some(screw) = &self.screw
            && let Some(now) = self.differing(screw.field, screw.to_turns)
        {
            let name = screw_name(screw.advice.screw);
            parts.push(format!("{name} {} → {} turns", trimmed(now, 2), trimmed(screw.to_turns, 2)));
        }
        if let Some(trim) = &self.injection {
            let percent = |trim: f64| format!("{} %", signed(trim, 1));
            let steps: Vec<f64> = trim.steps_percent.iter().map(|step| step.0).collect();
            let (fit, then) = first_and_then(&steps, trim.to_percent.0, percent);
            let now = self.told.now.quantity("injection.trim");
            let now = now.map_or(trim.from_percent.0, |trim| 100.0 * trim.si());
            parts.push(format!("trim {} → {fit}{then}", percent(now)));
            parts.extend(self.record.risk());
        }
        parts.extend(self.as_in_the_baseline());
        // Counted from the groove that goes back first, where it does.
        let goes_back = self.fit.iter().any(|set| set.field == "jetting.clip");
        let then = if goes_back { "then " } else { "" };
        parts.extend(rejet.clip.worth_a_try().map(|words| format!("{then}{words}")));
        if parts.is_empty() {
            parts.push("no jets are written down".to_owned());
        }
        format!("{}: {}", self.bike, parts.join(", "))
    }

    /// A throttle that was lean and gets less than that run asks for, whatever is fitted of the box.
    fn short_of_held(&self) -> Option<String> {
        let (rejet, held) = (self.told.rejet, self.told.held);
        let short = held.iter().filter_map(|(hold, floor)| {
            let zone = rejet.zones.iter().find(|zone| zone.zone == floor.zone)?;
            let short = 1.0 - zone.delivered / floor.least;
            (short > HARDLY_SHORT && !rejet.lacks_a_main_jet()).then_some((hold, short))
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
            format!("Find out what made it lean and mend it; or {richer}.")
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
            self.jets.iter().any(|jet| jet.field == field)
                || self.screw.as_ref().is_some_and(|screw| screw.field == field)
                || field == "jetting.needle"
                || (field == "jetting.clip" && clip_said)
        };
        let rest = self.fit.iter().filter(|set| set.field.starts_with("jetting.") && !said(set.field));
        rest.map(|set| {
            let name = set.field.trim_start_matches("jetting.").replace('_', " ");
            let now = set.now.as_deref().unwrap_or("unknown");
            format!("{name} {} → {} as in setup {}", visible(now), visible(set.fit), self.baseline)
        })
        .collect()
    }

    /// What the bike has now in a field, where that is not what is advised.
    fn differing(&self, field: &str, advised: f64) -> Option<f64> {
        let now = self.told.now.quantity(field)?.value();
        (!nearly_equal(now, advised)).then_some(now)
    }

    fn jet_in_short(&self, jet: &JetMove<'_>) -> String {
        let name = circuit(jet.circuit);
        let now = self.on_the_bike(jet);
        match (jet.advised, jet.exact.filter(|_| jet.series.is_none())) {
            (Some(advised), _) if self.told.now.quantity(jet.field).is_none() => {
                format!("{name} {} (what is in it is not written down)", trimmed(advised, 2))
            }
            (Some(advised), _) if nearly_equal(now, advised) => format!("{name} {} stays", trimmed(now, 2)),
            (Some(advised), _) => {
                let (fit, then) = first_and_then(jet.steps, advised, |size| trimmed(size, 2));
                format!("{name} {} → {fit}{then}", trimmed(now, 2))
            }
            (None, Some(exact)) => {
                format!("{name} {} → {} exactly, sizes not known", trimmed(now, 2), fixed(exact.0, 1))
            }
            (None, None) => format!("no {name} jet in the box is safe"),
        }
    }

    /// The jet that is in the bike; the setup's own where that is not written down.
    fn on_the_bike(&self, jet: &JetMove<'_>) -> f64 {
        self.told.now.quantity(jet.field).map_or(jet.current, Quantity::value)
    }

    /// What is to be done with the screw as it stands on the bike.
    fn screw_words(&self, screw: &ScrewMove<'_>) -> String {
        let Some(now) = self.differing(screw.field, screw.to_turns) else {
            return "stays".to_owned();
        };
        let turns = screw.to_turns - now;
        let (way, means) = match (turns > 0.0, screw.advice.screw) {
            (true, Screw::Air) => ("out", "leaner"),
            (true, Screw::Fuel) => ("out", "richer"),
            (false, Screw::Air) => ("in", "richer"),
            (false, Screw::Fuel) => ("in", "leaner"),
        };
        format!("{way} {} turns: {means}", trimmed(turns.abs(), 2))
    }

    fn factor_words(&self) -> String {
        let factor = &self.parts;
        let doubt = self
            .factor_uncertainty
            .map(|doubt| format!(" ± {} %", fixed(200.0 * doubt.0, 1)))
            .unwrap_or_default();
        let mut parts = vec![format!("oxygen {}", fixed(factor.dry_air.0, 3))];
        parts.extend(factor.venturi.map(|part| format!("venturi {}", fixed(part.0, 3))));
        parts.extend(factor.box_correction.map(|part| format!("the box itself {}", fixed(part.0, 3))));
        let named = [
            ("stoichiometric", factor.fuel_air.0),
            ("lambda", factor.lambda.0),
            ("fuel density", factor.fuel_density.0),
            ("oil", factor.oil.0),
        ];
        parts.extend(
            named
                .iter()
                .filter(|(_, part)| (part - 1.0).abs() > 5e-5)
                .map(|(name, part)| format!("{name} {}", fixed(*part, 3))),
        );
        format!("fuel × {}{doubt} ({})", fixed(self.factor.0, 3), parts.join(" × "))
    }

    fn jet_table(&self, screen: &Screen) -> String {
        let number = |value: Option<f64>| value.map_or_else(|| "-".to_owned(), |value| trimmed(value, 2));
        let rows = self
            .jets
            .iter()
            .map(|jet| {
                vec![
                    circuit(jet.circuit).to_owned(),
                    trimmed(self.on_the_bike(jet), 2),
                    number(jet.advised),
                    number(jet.richer),
                    number(jet.leaner),
                    jet.exact.map_or_else(|| "none".to_owned(), |exact| fixed(exact.0, 1)),
                    rich_or_lean(self.if_left(jet)),
                    jet.advised_percent.map(|percent| rich_or_lean(percent.0)).unwrap_or_default(),
                ]
            })
            .collect();
        // With a record the other columns are the record's, and this one stays theory's.
        let exact = if self.told.record.learned.is_some() { "theory" } else { "exact" };
        table(
            &["jet", "now", "fit", "richer", "leaner", exact, "if left", "if fitted"],
            rows,
            &[1, 2, 3, 4, 5],
            screen.width(),
        )
    }

    fn other_moves(&self) -> Vec<String> {
        let in_series = self.jets.iter().filter_map(|jet| jet.area_exponent);
        let mut lines: Vec<String> = in_series
            .map(|exponent| {
                format!(
                    "The main jet's area moves {} times as far as the fuel: the needle's annulus is in series with it.",
                    fixed(exponent, 2)
                )
            })
            .collect();
        if !self.jets.is_empty() {
            let now = self.told.now.quantity("jetting.clip").map(Quantity::value);
            lines.push(clip_words(&self.told.rejet.clip, now));
        }
        if let Some(screw) = &self.screw {
            lines.push(format!(
                "{} {}; with it closed throttle is {}.",
                capital(screw_name(screw.advice.screw)),
                self.screw_words(screw),
                rich_or_lean(screw.advice.left_percent)
            ));
        }
        if let Some(trim) = &self.injection {
            let now = self.told.now.quantity("injection.trim");
            let now = now.map_or(trim.from_percent.0, |trim| 100.0 * trim.si());
            let wanted = (100.0 + trim.from_percent.0) * (1.0 + trim.trim_percent / 100.0);
            let change = 100.0 * (wanted / (100.0 + now) - 1.0);
            lines.push(format!("Every cell {} %: {}", signed(change, 1), trim.words));
            lines.push(format!(
                "One size, {} %, richer is a trim of {} %; one size leaner {} %.",
                trimmed(trim.size_percent.0, 1),
                signed(trim.richer_percent.0, 1),
                signed(trim.leaner_percent.0, 1)
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
