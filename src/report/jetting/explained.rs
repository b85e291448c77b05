//! The numbers behind an answer that learned: what `--explain` adds.

use super::first;
use super::record::{RecordAnswer, judged_words, percent, percent_trimmed};
use crate::advice::learning::posterior::Chances;
use crate::advice::learning::{Foretold, LearnedAnswer, Pooled, Witness, ZoneAnswer};
use crate::notebook::fields::names::visible;
use crate::quantity::fixed;
use crate::report::out::screen::Screen;
use crate::report::words::layout::{day, table};

impl RecordAnswer<'_> {
    /// Every number behind the answer.
    pub(super) fn explained(&self, screen: &Screen) -> Vec<String> {
        let mut lines = vec![String::new(), "The numbers".to_owned()];
        lines.extend(self.exponents().into_iter().map(|line| screen.wrap(&line, 2)));
        if let Some(learned) = self.told.learned {
            lines.extend(first::change(learned).map(|line| screen.wrap(&line, 2)));
            lines.extend(self.price_table(learned, screen));
        }
        if let Some(table) = self.zone_table(screen) {
            lines.extend([String::new(), table]);
        }
        if let Some(table) = self.outing_table(screen) {
            lines.extend([String::new(), table]);
        }
        if let Some(evidence) = self.told.evidence {
            lines.extend(evidence.silent.iter().map(|(record, why)| {
                screen.wrap(&format!("  not heard: {}, {}.", day(record.outing.date), visible(why)), 4)
            }));
        }
        lines
    }

    fn exponents(&self) -> Vec<String> {
        let theory = self.told.adviser.shape.theory();
        let what = if self.told.injected { "trim" } else { "main jet's number" };
        let mut lines = vec![format!(
            "Exponent, percent of the {what} for one percent of fuel: theory {} ± {}.",
            fixed(theory.mean, 2),
            fixed(theory.sd, 2)
        )];
        let record = self.told.learned.and(self.told.adviser.record.as_ref());
        let Some(full) = record.and_then(|record| record.zone("full")) else {
            return lines;
        };
        lines.extend(self.garage().map(|pooled| {
            let start = self.told.adviser.shape.in_numbers(pooled.exponent);
            format!(
                "With {}, the same carburetor on another bike of the garage, it starts from {} ± {}.",
                pooled.bikes.join(", "),
                fixed(start.mean, 2),
                fixed(start.sd, 2)
            )
        }));
        lines.push(format!(
            "As learned: {} ± {}.",
            fixed(self.exponent.mean.0, 2),
            fixed(self.exponent.sd.0, 2)
        ));
        let (width, scatter) = (full.posterior.half_width(), full.posterior.scatter());
        lines.push(format!(
            "\"Right\" reaches ±{} % of fuel, and the verdicts scatter by {} %.",
            fixed(100.0 * width.mean, 1),
            fixed(100.0 * scatter.mean, 1)
        ));
        lines.extend(self.told.foretold.and_then(foretold_words));
        lines
    }

    /// What the exponent started from, by the garage's other bikes.
    pub(super) fn garage(&self) -> Option<&Pooled> {
        self.told.adviser.record.as_ref()?.garage.as_ref()
    }

    /// The choice: what each size would cost.
    fn price_table(&self, learned: &LearnedAnswer, screen: &Screen) -> Vec<String> {
        if learned.priced.is_empty() {
            return Vec::new();
        }
        let fit = self.sizes.iter().find(|size| size.advised).map(|size| size.size);
        let rows = first::prices(learned, fit, self.told.injected);
        let head = [if self.told.injected { "trim" } else { "main" }, "lean", "right", "rich", "costs", ""];
        let words = "The choice: of the sizes that are allowed, the one that costs least. A slightly rich day costs 1, a clearly rich one 2, a lean one more, changing a jet a little ([record] of configs/assumptions.toml); here the tuner's own liking is doubted too.";
        vec![String::new(), screen.wrap(words, 2), table(&head, rows, &[0, 1, 2, 3, 4], screen.width())]
    }

    fn zone_table(&self, screen: &Screen) -> Option<String> {
        let learned = self.told.learned?;
        let chance = |zone: &ZoneAnswer, of: fn(&Chances) -> f64| {
            zone.chances.as_ref().map_or_else(|| "-".to_owned(), |chances| percent(of(chances)))
        };
        let rows = learned
            .zones
            .iter()
            .map(|zone| {
                vec![
                    zone.zone.replace('_', " "),
                    zone.verdicts.to_string(),
                    fixed(zone.weight, 1),
                    percent(zone.weight_of_record),
                    chance(zone, |chances| chances.lean),
                    chance(zone, |chances| chances.right),
                    chance(zone, |chances| chances.rich),
                    if zone.rules { percent_trimmed(zone.limit) } else { "young".to_owned() },
                ]
            })
            .collect();
        let head = ["throttle", "outings", "count as", "record", "lean", "right", "rich", "limit"];
        Some(table(&head, rows, &[1, 2, 3, 4, 5, 6, 7], screen.width()))
    }

    fn outing_table(&self, screen: &Screen) -> Option<String> {
        let evidence = self.told.evidence.filter(|evidence| !evidence.witnesses.is_empty())?;
        let rows = evidence
            .witnesses
            .iter()
            .map(|witness| {
                let full = witness.of("full");
                vec![
                    witness.outing.outing.date.day(),
                    witness.setup.to_string(),
                    fixed(witness.factor, 3),
                    full.map_or_else(|| "-".to_owned(), |verdict| fixed(verdict.delivered, 3)),
                    full.map_or("-", |verdict| judged_words(verdict.judged)).to_owned(),
                    percent(witness.weight.total),
                    because(witness),
                ]
            })
            .collect();
        let head = ["outing", "setup", "wanted", "delivered", "full", "alike", "because"];
        let table = table(&head, rows, &[1, 2, 3, 5], screen.width());
        let words = "Wanted and delivered are fuel over the baseline's in its own air: above 1 is more. Alike is what the run's bike shares with the bike as it stands: other parts share less, and what was long ago.";
        Some(format!("{}\n{table}", screen.wrap(words, 2)))
    }
}

/// How well the verdicts were foretold, each without itself.
fn foretold_words(foretold: &[Foretold]) -> Option<String> {
    let number = u32::try_from(foretold.len()).ok().filter(|number| *number > 1)?;
    let mean = |of: fn(&Foretold) -> f64| foretold.iter().map(of).sum::<f64>() / f64::from(number);
    let learned = mean(|one| Foretold::given(one.judged, one.learned));
    let theory = mean(|one| Foretold::given(one.judged, one.theory));
    Some(format!(
        "Each verdict left out in turn: the others gave what came a chance of {} on average, theory alone {}.",
        percent(learned),
        percent(theory)
    ))
}

/// Why an outing counts what it counts.
fn because(witness: &Witness) -> String {
    let sign = witness.sign.as_ref().map(|sign| format!("notes say \"{}\"", visible(sign)));
    let weight = Some(witness.weight.words()).filter(|words| !words.is_empty());
    sign.into_iter().chain(weight).collect::<Vec<_>>().join("; ")
}
