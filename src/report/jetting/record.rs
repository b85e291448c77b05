//! What the bike's own record says of the jetting: the chances of each size first, then who spoke, then the numbers.

use serde_json::{Value as Json, json};

use crate::advice::learning::verdicts::Judged;
use crate::advice::learning::{
    Adviser, Evidence, Foretold, LearnedAnswer, SizeChance, TestRun, VERDICTS_TO_RULE, Witness, ZoneAnswer,
};
use crate::advice::rejet::Rejet;
use crate::quantity::{fixed, trimmed};
use crate::report::air::reading::rounded;
use crate::report::jetting::words;
use crate::report::out::screen::Screen;
use crate::report::words::layout::{count, table};

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
        lines.extend(words::lean_by_notes(evidence));
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
            crate::report::words::layout::capital(&zone.zone.replace('_', " ")),
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
        lines.extend(crate::report::jetting::first::trust(learned));
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
        if self.injected {
            format!("{} %", crate::report::words::layout::signed(size, 1))
        } else {
            fixed(size, 1)
        }
    }

    fn size(&self, size: f64) -> String {
        if self.injected {
            format!("{} %", crate::report::words::layout::signed(size, 1))
        } else {
            trimmed(size, 2)
        }
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
            (
                "exponent",
                json!({
                    "mean": rounded(exponent.mean, 4),
                    "sd": rounded(exponent.sd, 4),
                    "with_bikes": self.garage().map_or(&[] as &[String], |pooled| &pooled.bikes),
                }),
            ),
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
pub(super) fn percent_trimmed(chance: f64) -> String {
    format!("{} %", trimmed(100.0 * chance, 1))
}
