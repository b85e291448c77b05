//! What the bike's own record says of the jetting: the chances of each size first, then who spoke, then the numbers.

use serde_json::{Value as Json, json};

use super::air::rounded;
use super::layout::{count, day, table};
use super::screen::Screen;
use crate::advice::learning::posterior::Chances;
use crate::advice::learning::verdicts::Judged;
use crate::advice::learning::{
    Adviser, Evidence, Foretold, LearnedAnswer, SizeChance, TestRun, VERDICTS_TO_RULE, Witness, ZoneAnswer,
};
use crate::advice::rejet::Rejet;
use crate::notebook::names::visible;
use crate::quantity::{fixed, trimmed};

/// A run that leaves more than this part of the doubt is not worth a jet (common practice, no source).
const TELLS_LITTLE: f64 = 0.9;

/// Fuel, and air, that differ by less than this are the same to a tuner, ln (common practice, no source).
const SAME_FUEL: f64 = 0.01;

/// Outings named where the whole list was not asked for.
const NAMED: usize = 4;

/// The record beside the advice.
pub struct RecordReport<'a> {
    /// What it says; none where no outing speaks.
    pub learned: Option<&'a LearnedAnswer>,
    /// The model it was computed with.
    pub adviser: &'a Adviser,
    /// The outings; none where the record was not asked.
    pub evidence: Option<&'a Evidence>,
    /// What theory alone would fit at full throttle.
    pub theory: Option<f64>,
    /// The verdicts foretold one by one, where the numbers are asked for.
    pub foretold: Option<&'a [Foretold]>,
    /// Whether the bike is injected, so that a size is a trim.
    pub injected: bool,
    /// Whether a lean run forbids going leaner.
    pub is_held: bool,
}

impl RecordReport<'_> {
    /// The risk in the line that a mechanic reads first: "lean risk 3 % (limit 5 %)".
    pub(super) fn risk(&self) -> Option<String> {
        let learned = self.learned?;
        let risk = learned.lean_risk?;
        Some(format!("lean risk {} (limit {})", percent(risk), percent_trimmed(learned.limit?)))
    }

    /// The chances of each size.
    pub(super) fn sizes(&self, screen: &Screen) -> Option<String> {
        let learned = self.learned.filter(|learned| !learned.sizes.is_empty())?;
        let head = if self.injected { "trim" } else { "main" };
        let rows = learned.sizes.iter().map(|size| self.size_row(size)).collect();
        Some(table(&[head, "lean", "right", "rich", ""], rows, &[0, 1, 2, 3], screen.width()))
    }

    fn size_row(&self, size: &SizeChance) -> Vec<String> {
        vec![
            self.size(size.size),
            percent(size.chances.lean),
            percent(size.chances.right),
            percent(size.chances.rich),
            if size.advised { "<- fit".to_owned() } else { String::new() },
        ]
    }

    /// Who spoke and how much it is worth, as sentences.
    pub(super) fn lines(&self) -> Vec<String> {
        let Some(evidence) = self.evidence else {
            return vec!["Theory alone, as asked: the bike's outings were not looked at, and the risk of lean is not known. Start at least one size richer.".to_owned()];
        };
        let Some(learned) = self.learned else {
            return vec![
                "Theory alone: no judged outing speaks of this jetting, so the risk of lean is not known. Start at least one size richer."
                    .to_owned(),
            ];
        };
        let mut lines = self.at_full_throttle(learned, evidence);
        lines.extend(learned.test_run.map(|run| self.run_words(run)));
        lines.extend(learned.zones.iter().filter_map(|zone| self.lean_elsewhere(zone)));
        lines.extend(disagreement(evidence));
        lines.extend(evidence.witnesses.iter().filter_map(|witness| {
            let sign = witness.sign.as_ref()?;
            Some(format!(
                "The outing of {} is taken as lean, because its notes say \"{}\"; `reedbook outing edit` mends the notes.",
                witness.outing.outing.date.short(),
                visible(sign)
            ))
        }));
        lines
    }

    /// What to say of another zone that stays leaner than the limit.
    fn lean_elsewhere(&self, zone: &ZoneAnswer) -> Option<String> {
        let chances = zone
            .chances
            .filter(|chances| zone.zone != "full" && zone.rules && chances.lean > zone.limit + 0.005)?;
        let way_out = if self.injected { "; --cells works it into the map by throttle" } else { "" };
        Some(format!(
            "{} is then lean with a chance of {} (limit {}){way_out}.",
            super::layout::capital(&zone.zone.replace('_', " ")),
            percent(chances.lean),
            percent_trimmed(zone.limit)
        ))
    }

    /// Which run to make next, where one run tells anything.
    fn run_words(&self, run: TestRun) -> String {
        let doubt = fixed(100.0 * run.doubt, 1);
        if run.doubt_after > TELLS_LITTLE * run.doubt {
            return format!("The right fuel is known to ±{doubt} %: no single run would tell much more.");
        }
        format!(
            "One run on {} judged at full throttle would tell most: the right fuel is known to ±{doubt} %, and would be to ±{} %.",
            self.size(run.size),
            fixed(100.0 * run.doubt_after, 1)
        )
    }

    fn at_full_throttle(&self, learned: &LearnedAnswer, evidence: &Evidence) -> Vec<String> {
        let Some(full) = learned.zones.iter().find(|zone| zone.zone == "full") else {
            return vec![
                "No outing was judged at full throttle: the main jet is theory's, and its risk of lean is not known."
                    .to_owned(),
            ];
        };
        let theory =
            self.theory.map(|size| format!(" Theory alone: {}.", self.size(size))).unwrap_or_default();
        let verb = if full.verdicts == 1 { "counts" } else { "count" };
        let mark = if evidence.mark.is_some() { ", and the proven mark as one more" } else { "" };
        let mut lines = vec![format!(
            "Record {}, theory {}: {} at full throttle {verb} as {}{mark}.{theory}",
            percent(learned.weight_of_record),
            percent(1.0 - learned.weight_of_record),
            count(full.verdicts, "outing"),
            fixed(full.weight, 1),
        )];
        lines.extend(learned.right.map(|(right, low, high)| {
            format!(
                "Right here: {}, with 90 % between {} and {}.",
                self.size_in_tenths(right),
                self.size_in_tenths(low),
                self.size_in_tenths(high)
            )
        }));
        lines.extend(full.chances.filter(|chances| chances.rich > 0.5 && !self.is_held).map(|chances| {
            format!(
                "It is rich with a chance of {}: the limit of lean asks for that while so little is known, or while the outings disagree.",
                percent(chances.rich)
            )
        }));
        if full.weight < VERDICTS_TO_RULE {
            lines.push("So young a record knows little of how this engine follows other air: that is still theory's.".to_owned());
        }
        lines.extend(super::rejet_first::trust(learned));
        let mut heard: Vec<&Witness> = evidence.of("full").map(|(witness, _)| witness).collect();
        heard.sort_by(|a, b| b.weight.total.total_cmp(&a.weight.total));
        let named: Vec<String> = heard
            .iter()
            .take(NAMED)
            .map(|witness| {
                format!(
                    "{} on setup {} ({})",
                    witness.outing.outing.date.short(),
                    witness.setup,
                    percent(witness.weight.total)
                )
            })
            .collect();
        lines.push(format!("Heard most: {}.", named.join(", ")));
        lines
    }

    /// What theory and record have in a card or a plan, in a sentence or two. `greatest` is the greatest risk of lean at full throttle
    /// of all that is shown; none where nothing is fitted.
    pub fn in_short(&self, greatest: Option<f64>) -> String {
        let full = self.learned.and_then(|learned| {
            let full = learned.zones.iter().find(|zone| zone.zone == "full")?;
            Some((learned, full))
        });
        match (self.evidence, full) {
            (None, _) => "Theory alone, as asked: the risk of lean is not known.".to_owned(),
            (Some(_), None) => {
                "Theory alone at full throttle: no judged outing speaks of it, so the risk of lean is not known."
                    .to_owned()
            }
            (Some(_), Some((learned, full))) => format!(
                "{} In the air of the baseline {} of this is record: {} that count as {}.",
                greatest_risk(greatest, full.limit),
                percent(learned.weight_of_record),
                count(full.verdicts, "outing"),
                fixed(full.weight, 1)
            ),
        }
    }

    fn size_in_tenths(&self, size: f64) -> String {
        if self.injected { format!("{} %", super::layout::signed(size, 1)) } else { fixed(size, 1) }
    }

    fn size(&self, size: f64) -> String {
        if self.injected { format!("{} %", super::layout::signed(size, 1)) } else { trimmed(size, 2) }
    }

    /// Every number behind the answer.
    pub(super) fn explained(&self, screen: &Screen) -> Vec<String> {
        let mut lines = vec![String::new(), "The numbers".to_owned()];
        lines.extend(self.exponents().into_iter().map(|line| screen.wrap(&line, 2)));
        if let Some(learned) = self.learned {
            lines.extend(super::rejet_first::change(learned).map(|line| screen.wrap(&line, 2)));
            lines.extend(self.price_table(learned, screen));
        }
        if let Some(table) = self.zone_table(screen) {
            lines.extend([String::new(), table]);
        }
        if let Some(table) = self.outing_table(screen) {
            lines.extend([String::new(), table]);
        }
        if let Some(evidence) = self.evidence {
            lines.extend(evidence.silent.iter().map(|(record, why)| {
                screen.wrap(&format!("  not heard: {}, {}.", day(record.outing.date), visible(why)), 4)
            }));
        }
        lines
    }

    fn exponents(&self) -> Vec<String> {
        let theory = self.adviser.shape.theory();
        let what = if self.injected { "trim" } else { "main jet's number" };
        let mut lines = vec![format!(
            "Exponent, percent of the {what} for one percent of fuel: theory {} ± {}.",
            fixed(theory.mean, 2),
            fixed(theory.sd, 2)
        )];
        let (Some(learned), Some(full)) =
            (self.learned, self.adviser.record.as_ref().and_then(|record| record.zone("full")))
        else {
            return lines;
        };
        lines.push(format!(
            "As learned: {} ± {}.",
            fixed(learned.exponent.mean, 2),
            fixed(learned.exponent.sd, 2)
        ));
        let (width, scatter) = (full.posterior.half_width(), full.posterior.scatter());
        lines.push(format!(
            "\"Right\" reaches ±{} % of fuel, and the verdicts scatter by {} %.",
            fixed(100.0 * width.mean, 1),
            fixed(100.0 * scatter.mean, 1)
        ));
        lines.extend(self.foretold.and_then(foretold_words));
        lines
    }

    /// The choice: what each size would cost.
    fn price_table(&self, learned: &LearnedAnswer, screen: &Screen) -> Vec<String> {
        if learned.priced.is_empty() {
            return Vec::new();
        }
        let fit = learned.sizes.iter().find(|size| size.advised).map(|size| size.size);
        let rows = super::rejet_first::prices(learned, fit, self.injected);
        let head = [if self.injected { "trim" } else { "main" }, "lean", "right", "rich", "costs", ""];
        let words = "The choice: of the sizes that are allowed, the one that costs least. A slightly rich day costs 1, a clearly rich one 2, a lean one more, changing a jet a little ([record] of configs/assumptions.toml); here the tuner's own liking is doubted too.";
        vec![String::new(), screen.wrap(words, 2), table(&head, rows, &[0, 1, 2, 3, 4], screen.width())]
    }

    fn zone_table(&self, screen: &Screen) -> Option<String> {
        let learned = self.learned?;
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
        let evidence = self.evidence.filter(|evidence| !evidence.witnesses.is_empty())?;
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

    /// The members that the record adds to the JSON of a rejet.
    pub(super) fn json(&self, rejet: &Rejet) -> Vec<(&'static str, Json)> {
        let exponent = self.learned.map_or_else(|| self.adviser.shape.theory(), |learned| learned.exponent);
        let sizes: Vec<Json> =
            self.learned.map(|learned| learned.sizes.iter().map(size_json).collect()).unwrap_or_default();
        let zones: Vec<Json> = rejet
            .zones
            .iter()
            .map(|zone| {
                let heard = self
                    .learned
                    .and_then(|learned| learned.zones.iter().find(|heard| heard.zone == zone.zone));
                let chances = heard.and_then(|heard| heard.chances);
                json!({
                    "zone": zone.zone,
                    "if_left_percent": rounded(zone.left_percent, 2),
                    "if_fitted_percent": rounded(zone.fitted_percent, 2),
                    "verdicts": heard.map_or(0, |heard| heard.verdicts),
                    "p_lean": chances.map(|chances| rounded(chances.lean, 4)),
                    "p_right": chances.map(|chances| rounded(chances.right, 4)),
                    "p_rich": chances.map(|chances| rounded(chances.rich, 4)),
                })
            })
            .collect();
        vec![
            ("sizes", json!(sizes)),
            (
                "lean_risk",
                json!(self.learned.and_then(|learned| learned.lean_risk).map(|risk| rounded(risk, 4))),
            ),
            (
                "lean_risk_limit",
                json!(self.learned.and_then(|learned| learned.limit).map(|limit| rounded(limit, 4))),
            ),
            (
                "evidence",
                json!({
                    "outings": self.learned.map_or(0, |learned| learned.outings),
                    "weight_of_record": rounded(self.learned.map_or(0.0, |learned| learned.weight_of_record), 4),
                }),
            ),
            ("exponent", json!({ "mean": rounded(exponent.mean, 4), "sd": rounded(exponent.sd, 4) })),
            ("theory_size", json!(self.theory)),
            (
                "right_size",
                json!(self.learned.and_then(|learned| learned.right).map(|(right, low, high)| json!({
                    "mean": rounded(right, 2), "low": rounded(low, 2), "high": rounded(high, 2)
                }))),
            ),
            (
                "test_run",
                json!(self.learned.and_then(|learned| learned.test_run).map(|run| json!({
                "size": run.size, "doubt": rounded(run.doubt, 5), "doubt_after": rounded(run.doubt_after, 5)
            }))),
            ),
            ("zones", json!(zones)),
            ("heard", json!(self.heard_json())),
        ]
    }

    fn heard_json(&self) -> Vec<Json> {
        let witnesses = self.evidence.map(|evidence| evidence.witnesses.as_slice()).unwrap_or_default();
        witnesses
            .iter()
            .map(|witness| {
                json!({
                    "outing": witness.outing.id,
                    "setup": witness.setup,
                    "factor": rounded(witness.factor, 5),
                    "weight": rounded(witness.weight.total, 4),
                    "why": witness.weight.words(),
                    "verdicts": witness.verdicts.iter().map(|verdict| json!({
                        "zone": verdict.zone,
                        "judged": judged_words(verdict.judged),
                        "delivered": rounded(verdict.delivered, 5),
                    })).collect::<Vec<_>>(),
                })
            })
            .collect()
    }
}

fn size_json(size: &SizeChance) -> Json {
    json!({
        "size": size.size,
        "p_lean": rounded(size.chances.lean, 4),
        "p_right": rounded(size.chances.right, 4),
        "p_rich": rounded(size.chances.rich, 4),
    })
}

/// What to say of two outings that cannot both be right: one setup in as good as the same air, once lean and once rich.
fn disagreement(evidence: &Evidence) -> Option<String> {
    let mut heard: Vec<_> = evidence.of("full").collect();
    // The newest pair is the one that somebody still remembers.
    heard.reverse();
    let side = |judged: Judged| match judged {
        Judged::Lean | Judged::SlightlyLean => -1,
        Judged::Right => 0,
        Judged::SlightlyRich | Judged::Rich => 1,
    };
    let (one, other) = heard.iter().enumerate().find_map(|(at, (one, said))| {
        let other = heard.iter().skip(at + 1).find(|(other, heard)| {
            side(said.judged) * side(heard.judged) < 0
                && one.setup == other.setup
                && (said.delivered / heard.delivered).ln().abs() < SAME_FUEL
                && (one.factor / other.factor).ln().abs() < SAME_FUEL
        });
        other.map(|(other, _)| (one, other))
    })?;
    Some(format!(
        "The outings of {} and {} disagree, one lean and one rich on the same setup in the same air: check what was written down.",
        other.outing.outing.date.short(),
        one.outing.outing.date.short()
    ))
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

pub(super) fn judged_words(judged: Judged) -> &'static str {
    match judged {
        Judged::Lean => "lean",
        Judged::SlightlyLean => "slightly lean",
        Judged::Right => "right",
        Judged::SlightlyRich => "slightly rich",
        Judged::Rich => "rich",
    }
}

/// A chance in whole percent, never shown as certain: "<1 %", "23 %", ">99 %".
pub(super) fn percent(chance: f64) -> String {
    match 100.0 * chance {
        low if low > 0.0 && low < 0.5 => "<1 %".to_owned(),
        high if high < 100.0 && high > 99.5 => ">99 %".to_owned(),
        other => format!("{} %", fixed(other, 0)),
    }
}

/// The greatest risk of lean of all that is shown, beside the limit; said of no more than that.
fn greatest_risk(greatest: Option<f64>, limit: f64) -> String {
    let limit_words = percent_trimmed(limit);
    // Upward: what is said is not to be exceeded.
    let up = |risk: f64| format!("{} %", trimmed((1000.0 * risk).ceil() / 10.0, 1));
    match greatest {
        None => "The risk of lean at full throttle is not known of anything here.".to_owned(),
        Some(risk) if risk <= limit => format!(
            "At full throttle the risk of lean is {} at most in all that stands here (limit {limit_words}).",
            up(risk)
        ),
        Some(risk) => format!(
            "At full throttle the risk of lean goes up to {}, above the limit of {limit_words}: what is on the bike may stay, and a record that contradicts itself is not answered with ever more fuel.",
            up(risk)
        ),
    }
}

/// A limit as the tuner wrote it.
fn percent_trimmed(chance: f64) -> String {
    format!("{} %", trimmed(100.0 * chance, 1))
}
